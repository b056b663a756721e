package main

import (
	"math"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
)

// A share is a count among others, with the 95 % interval of its rate (Wilson 1927), in per cent.
type share struct {
	Count int     `json:"count"`
	Of    int     `json:"of"`
	Rate  float64 `json:"rate"`
	Lo    float64 `json:"lo"`
	Hi    float64 `json:"hi"`
}

func newShare(count, of int) share {
	s := share{Count: count, Of: of}
	if of == 0 {
		return s
	}
	const z = 1.96
	n, p := float64(of), float64(count)/float64(of)
	mid := (p + z*z/(2*n)) / (1 + z*z/n)
	half := z / (1 + z*z/n) * math.Sqrt(p*(1-p)/n+z*z/(4*n*n))
	s.Rate, s.Lo, s.Hi = 100*p, 100*(mid-half), 100*(mid+half)
	if count == 0 {
		s.Lo = 0 // exactly
	}
	if count == of {
		s.Hi = 100
	}
	return s
}

// A quantity is how well one quantity was estimated over the sittings that are not void.
type quantity struct {
	RMS      float64 `json:"rms"`
	Bias     float64 `json:"bias"`
	Coverage share   `json:"coverage"` // of the 90 % interval
	// Judgements is the mean number spent on the aspect that the quantity belongs to; 0 for a score, which rests on all.
	Judgements float64 `json:"judgements,omitempty"`
}

// An outcome is how verdicts fell, over sittings that are not void and whose truth is known.
type outcome struct {
	FalseHolds      share   `json:"falseHolds"`      // said holds, truth off; of all
	FalseHoldsOfOff share   `json:"falseHoldsOfOff"` // the same, of those whose truth is off
	FalseOff        share   `json:"falseOff"`
	FalseOffOfHolds share   `json:"falseOffOfHolds"`
	Unsure          share   `json:"unsure"`
	Judgements      float64 `json:"judgements,omitempty"` // mean spent
}

// A reach is the rms error of tone curves after so many judgements, beside the least it could be; L*.
type reach struct {
	RMS   float64 `json:"rms"`
	Bound float64 `json:"bound"`
	Ratio float64 `json:"ratio"`
}

// A summary is over all sittings of a run.
type summary struct {
	Viewer     string                       `json:"viewer"`
	Length     string                       `json:"length"`
	Sittings   int                          `json:"sittings"`
	Void       share                        `json:"void"`
	Judgements float64                      `json:"judgements"`
	Seconds    float64                      `json:"seconds"`
	Quantities map[screen.Quantity]quantity `json:"quantities"`
	Lightness  float64                      `json:"lightness"` // rms error of tone curves, L*
	After      map[int]reach                `json:"after,omitempty"`
	Outcomes   map[string]outcome           `json:"outcomes"`
	Score      quantity                     `json:"score"`
}

// aspectOf is the aspect whose judgements a quantity rests on.
func aspectOf(q screen.Quantity) check.Aspect {
	switch q {
	case screen.FirstVisible:
		return check.Shadows
	case screen.FirstBelow:
		return check.Highlights
	}
	return check.Tone
}

// sum sums results up.
func sum(viewer, length string, results []result) summary {
	s := summary{Viewer: viewer, Length: length, Sittings: len(results), Quantities: map[screen.Quantity]quantity{}, Outcomes: map[string]outcome{}}
	type tally struct {
		n, inside     int
		spent         int
		square, error float64
	}
	quantities, score := map[screen.Quantity]*tally{}, &tally{}
	add := func(t *tally, value, truth float64, inside bool) {
		d := value - truth
		t.n, t.square, t.error = t.n+1, t.square+d*d, t.error+d
		if inside {
			t.inside++
		}
	}
	close := func(t *tally) quantity {
		n := math.Max(float64(t.n), 1)
		return quantity{math.Sqrt(t.square / n), t.error / n, newShare(t.inside, t.n), float64(t.spent) / n}
	}
	type count struct{ n, off, holds, falseHolds, falseOff, unsure, spent int }
	counts := map[string]*count{}
	void, curves, square := 0, 0, 0.0
	after, bound, looks := map[int]float64{}, map[int]float64{}, map[int]float64{}
	for _, r := range results {
		s.Judgements += float64(r.Judgements) / float64(len(results))
		s.Seconds += float64(r.Seconds) / float64(len(results))
		if r.Void {
			void++
			continue
		}
		for q, f := range r.Estimates {
			if quantities[q] == nil {
				quantities[q] = &tally{}
			}
			add(quantities[q], f.Mean, f.Truth, f.Inside)
			quantities[q].spent += r.Spent[aspectOf(q)]
		}
		if r.Lightness != nil {
			curves++
			square += *r.Lightness * *r.Lightness
		}
		for n, v := range r.After {
			after[n] += v * v
			bound[n] += r.Bound[n] * r.Bound[n]
			looks[n]++
		}
		if r.Score != nil {
			add(score, r.Score.Value, r.Score.Truth, r.Score.Inside)
		}
		for name, truth := range r.Truth {
			if truth != report.Holds && truth != report.Off {
				continue
			}
			said, ok := r.Verdicts[name]
			if !ok {
				said = r.Purposes[name]
			}
			c := counts[name]
			if c == nil {
				c = &count{}
				counts[name] = c
			}
			c.n++
			c.spent += r.Spent[check.Aspect(name)]
			if truth == report.Off {
				c.off++
			} else {
				c.holds++
			}
			switch {
			case said == report.Unsure:
				c.unsure++
			case said == report.Holds && truth == report.Off:
				c.falseHolds++
			case said == report.Off && truth == report.Holds:
				c.falseOff++
			}
		}
	}
	s.Void = newShare(void, len(results))
	for q, t := range quantities {
		s.Quantities[q] = close(t)
	}
	s.Score = close(score)
	if curves > 0 {
		s.Lightness = math.Sqrt(square / float64(curves))
	}
	for n, k := range looks {
		if s.After == nil {
			s.After = map[int]reach{}
		}
		v, b := math.Sqrt(after[n]/k), math.Sqrt(bound[n]/k)
		s.After[n] = reach{v, b, v / b}
	}
	for name, c := range counts {
		s.Outcomes[name] = outcome{
			newShare(c.falseHolds, c.n), newShare(c.falseHolds, c.off), newShare(c.falseOff, c.n), newShare(c.falseOff, c.holds), newShare(c.unsure, c.n),
			float64(c.spent) / float64(c.n),
		}
	}
	return s
}
