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
	Tint       float64                      `json:"tint"`      // rms error of grey tint, u'v'
	Places     float64                      `json:"places"`    // rms error of evenness over places, log light
	RightBits  share                        `json:"rightBits"` // how often the mean depth is nearest to the true one
	Outcomes   map[string]outcome           `json:"outcomes"`
	Clear      map[string]outcome           `json:"clear"`  // of purposes, on screens that are not within 0.83 to 1.20 of a tolerance
	Faults     map[string]int               `json:"faults"` // how often each was named
	Score      quantity                     `json:"score"`
	Parts      map[string]float64           `json:"parts,omitempty"` // rms error of the score with parts of what was found replaced by the truth
}

// aspectOf is the aspect whose judgements a quantity rests on.
func aspectOf(q screen.Quantity) check.Aspect {
	switch q {
	case screen.FirstVisible:
		return check.Shadows
	case screen.FirstBelow:
		return check.Highlights
	case screen.GreyTint:
		return check.Neutrals
	case screen.Bits:
		return check.Smoothness
	case screen.Unevenness, screen.FieldTint:
		return check.Evenness
	case screen.Reach:
		return check.ColourRange
	}
	return check.Tone
}

// sum sums results up.
func sum(viewer, length string, results []result) summary {
	s := summary{Viewer: viewer, Length: length, Sittings: len(results), Quantities: map[screen.Quantity]quantity{}, Outcomes: map[string]outcome{}, Clear: map[string]outcome{}, Faults: map[string]int{}}
	type tally struct {
		n, inside     int
		spent         int
		square, error float64
	}
	quantities, score, parts := map[screen.Quantity]*tally{}, &tally{}, map[string]float64{}
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
	counts, clear := map[string]*count{}, map[string]*count{}
	note := func(counts map[string]*count, name string, truth, said report.Verdict, spent int) {
		c := counts[name]
		if c == nil {
			c = &count{}
			counts[name] = c
		}
		c.n++
		c.spent += spent
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
	tints, tintSquare, fields, fieldSquare, depths, deep := 0, 0.0, 0, 0.0, 0, 0
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
			for name, v := range r.Parts {
				parts[name] += (v - r.Score.Truth) * (v - r.Score.Truth)
			}
		}
		for name, truth := range r.Truth {
			if truth != report.Holds && truth != report.Off {
				continue
			}
			said, ok := r.Verdicts[name]
			if !ok {
				said = r.Purposes[name]
			}
			if said == report.NotChecked {
				continue
			}
			note(counts, name, truth, said, r.Spent[check.Aspect(name)])
			if m, ok := r.Margins[name]; ok && (m < 0.83 || m > 1.20) {
				note(clear, name, truth, said, 0)
			}
		}
		for _, f := range r.Faults {
			s.Faults[f]++
		}
		if r.Places != nil {
			fields++
			fieldSquare += *r.Places * *r.Places
		}
		if f, ok := r.Estimates[screen.Bits]; ok {
			depths++
			if math.Abs(f.Mean-f.Truth) < 0.5 {
				deep++
			}
		}
		if r.Tint != nil {
			tints++
			tintSquare += *r.Tint * *r.Tint
		}
	}
	s.Void = newShare(void, len(results))
	for q, t := range quantities {
		s.Quantities[q] = close(t)
	}
	s.Score = close(score)
	for name, square := range parts {
		if s.Parts == nil {
			s.Parts = map[string]float64{}
		}
		s.Parts[name] = math.Sqrt(square / float64(score.n))
	}
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
	if fields > 0 {
		s.Places = math.Sqrt(fieldSquare / float64(fields))
	}
	s.RightBits = newShare(deep, depths)
	if tints > 0 {
		s.Tint = math.Sqrt(tintSquare / float64(tints))
	}
	for _, part := range []struct {
		from map[string]*count
		to   map[string]outcome
	}{{counts, s.Outcomes}, {clear, s.Clear}} {
		for name, c := range part.from {
			part.to[name] = outcome{
				newShare(c.falseHolds, c.n), newShare(c.falseHolds, c.off), newShare(c.falseOff, c.n), newShare(c.falseOff, c.holds), newShare(c.unsure, c.n),
				float64(c.spent) / float64(c.n),
			}
		}
	}
	return s
}
