package check

import (
	"math/rand/v2"

	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// Possibles returns n screens drawn from all that is believed after a sitting, each as likely as the others. What was not asked about is drawn from its
// prior, so that it widens what follows instead of being assumed away. Aspects are drawn apart, and then screens that are sound in all of them are taken
// as much more often as Together has it.
func (r Results) Possibles(aim screen.Aim, n int, random *rand.Rand) []screen.Possible {
	return r.possibles(aim, n, sound, random)
}

// possibles is Possibles with sound screens taken more often by a factor of odds.
func (r Results) possibles(aim screen.Aim, n int, odds float64, random *rand.Rand) []screen.Possible {
	tone := r.Tone
	if tone == nil {
		v := UnseenTone(aim, random)
		tone = &v
	}
	ranges := r.Ranges
	if ranges == ([screen.Ranges]float64{}) {
		ranges = screen.RangePrior
	}
	dark, light := r.Shadows, r.Highlights
	if dark == nil {
		v := Unseen(Shadows)
		dark = &v
	}
	if light == nil {
		v := Unseen(Highlights)
		light = &v
	}
	var curves [screen.Ranges]picker
	for i, w := range tone.Weights {
		curves[tone.Ranges[i]].add(i, w)
	}
	var depths [screen.Ranges]psychophysics.Estimate
	if r.Smoothness != nil {
		depths = r.Smoothness.By
	} else {
		depths = UnseenSmoothness(random).By
	}
	neutral := r.Neutrals
	if neutral == nil {
		v := UnseenNeutrals(random)
		neutral = &v
	}
	var tints picker
	for i, w := range neutral.Weights {
		tints.add(i, w)
	}
	var fields, reaches picker
	if r.Evenness != nil {
		for i, w := range r.Evenness.Weights {
			fields.add(i, w)
		}
	}
	if r.Reach != nil {
		for i, w := range r.Reach.Weights {
			reaches.add(i, w)
		}
	}
	var uneven []screen.Field
	if r.Evenness == nil { // draws of a prior are equally likely
		uneven = UnseenEvenness(random).Draws
	}
	var unreached [][2]float64
	if r.Reach == nil {
		unreached = UnseenReach(random).Draws
	}
	judge := aim.Judge()
	all := make([]screen.Possible, 0, n)
	for len(all) < n {
		var p screen.Possible
		p.Range = screen.Range(which(ranges[:], random))
		// A range of which no curve was drawn is so unlikely that any curve will do.
		if at, ok := curves[p.Range].pick(random); ok {
			p.Tone = tone.Tones[at]
		} else {
			p.Tone = tone.Tones[random.IntN(len(tone.Tones))]
		}
		p.Crush = int(value(dark.Crush[p.Range], random))
		p.Clip = 255 - int(value(light.Crush[p.Range], random))
		p.Bits = int(value(depths[p.Range], random))
		if at, ok := tints.pick(random); ok {
			p.Tint = neutral.Likely[at]
		}
		if at, ok := fields.pick(random); ok {
			p.Field = r.Evenness.Draws[at]
		} else if len(uneven) > 0 {
			p.Field = uneven[random.IntN(len(uneven))]
		}
		if at, ok := reaches.pick(random); ok {
			p.Reach = min(r.Reach.Draws[at][0], r.Reach.Draws[at][1])
		} else if len(unreached) > 0 {
			d := unreached[random.IntN(len(unreached))]
			p.Reach = min(d[0], d[1])
		}
		if isSound(&p, judge) || random.Float64()*odds < 1 {
			all = append(all, p)
		}
	}
	return all
}

// Means returns the weights, which sum to 1, that screens of Possibles have where a mean is told of them rather than a verdict: screens that are sound in all
// have more than in Possibles, which is careful.
func Means(all []screen.Possible, aim screen.Aim) []float64 {
	judge := aim.Judge()
	weights, sum := make([]float64, len(all)), 0.0
	for i := range all {
		weights[i] = 1
		if isSound(&all[i], judge) {
			weights[i] = soundMean / float64(sound)
		}
		sum += weights[i]
	}
	for i := range weights {
		weights[i] /= sum
	}
	return weights
}

// isSound reports whether a possible screen is within every tolerance for colour.
func isSound(p *screen.Possible, judge *screen.Judge) bool {
	for _, t := range Uses[Colour].Needs {
		if !soundIn(p, judge, t) {
			return false
		}
	}
	return true
}

// soundIn reports whether a possible screen is within a tolerance; of shadows and highlights, whether what is lost alone stays within.
func soundIn(p *screen.Possible, judge *screen.Judge, t Tolerance) bool {
	var v float64
	switch t.Quantity {
	case screen.FirstVisible:
		v = float64(p.Crush + 1)
	case screen.FirstBelow:
		v = float64(256 - p.Clip)
	case screen.ToneMargin:
		_, _, v = judge.Departure(p.Tone.Curve())
	case screen.GreyTint:
		v = p.Tint.Greatest()
	case screen.Bits:
		v = float64(p.Bits)
	case screen.Unevenness:
		v = p.Field.Worst()
	}
	return t.Lo <= v && v <= t.Hi
}

// A picker draws indices by weight.
type picker struct {
	at  []int
	sum []float64 // of weights up to and with this one
}

func (p *picker) add(i int, w float64) {
	if w <= 0 {
		return
	}
	before := 0.0
	if n := len(p.sum); n > 0 {
		before = p.sum[n-1]
	}
	p.at, p.sum = append(p.at, i), append(p.sum, before+w)
}

func (p *picker) pick(r *rand.Rand) (int, bool) {
	if len(p.at) == 0 {
		return 0, false
	}
	u := r.Float64() * p.sum[len(p.sum)-1]
	lo, hi := 0, len(p.sum)-1
	for lo < hi {
		if mid := (lo + hi) / 2; p.sum[mid] < u {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return p.at[lo], true
}

// which draws an index by probabilities that sum to 1.
func which(p []float64, r *rand.Rand) int {
	u := r.Float64()
	for i, v := range p {
		if u -= v; u < 0 {
			return i
		}
	}
	return 0
}

// value draws one value of an estimate, 0 of one that knows nothing.
func value(e psychophysics.Estimate, r *rand.Rand) float64 {
	if len(e.At) == 0 {
		return 0
	}
	return e.At[min(which(e.Mass, r), len(e.At)-1)]
}
