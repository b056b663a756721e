package check

import (
	"image"
	"math"
	"math/rand/v2"

	"example.org/plumb/patterns"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// nearEnd is a check of 9 cells near one end of the scale: which of them holds a patch that differs from the ground by some codes?
//
// A hypothesis is a crush (how many steps from the end look like the end), the viewer's natural threshold and the slope of seeing, in code
// values. What is estimated is the first step seen: the natural threshold, or where the crush ends if that is further.
type nearEnd struct {
	aspect  Aspect
	ground  uint8
	obvious int // step of practice and catch trials, code values from the ground
	task    string

	steps      []int     // stimuli, code values from the ground
	thresholds []float64 // hypotheses of the natural threshold, steps
	spread     float64   // scale of the threshold's prior, natural log
	middle     float64   // median of the threshold's prior
	crushes    int       // hypotheses of the crush run from 0 to this
	whole      float64   // prior probability of no crush
	squeezed   float64   // steps that a full-range signal loses where it is taken for limited
	lifted     float64   // median of the threshold's prior where a limited-range signal is shown as full
	slopes     []float64 // hypotheses of the slope over steps
	weights    []float64 // their prior probabilities
	shift      []float64 // of each: its median threshold over the middle one. Where light rises slowly with the code, seeing is shallow and begins early
	power      float64   // light over step near the end, for where within a step the threshold is crossed
}

// lapse is how often a viewer is taken to answer without looking. Held fixed: a short sitting cannot estimate it, and 0.03 is within the
// 0 to 0.06 that Wichmann and Hill 2001 give (from memory).
const lapse = 0.03

var shadows = &nearEnd{
	aspect: Shadows, ground: 0, obvious: 80, task: "Which cell holds a square?",
	steps:      append(span(1, 40), 44, 48, 56, 64),
	thresholds: logSpan(0.5, 60, 44), middle: 4.7, spread: 0.48,
	crushes: 40, whole: 0.6,
	squeezed: 16, lifted: 1.3, // there black is not black, and one code more is seen
	// Detection rises with the 2.5th power of the luminance difference (2 to 3.5); near black light rises with the code's power 1 (sRGB) to 2.4.
	slopes: []float64{2.5, 4, 5.5}, weights: []float64{0.15, 0.25, 0.6}, shift: []float64{0.35, 0.8, 1.05}, power: 2.2,
}

var highlights = &nearEnd{
	aspect: Highlights, ground: 255, obvious: 100, task: "Which cell holds a square?",
	steps:      append(span(1, 40), 48, 56, 64),
	thresholds: logSpan(0.3, 20, 40), middle: 1.65, spread: 0.26,
	crushes: 40, whole: 0.6,
	squeezed: 20, lifted: 1.9, // there a code makes less of a difference
	slopes: []float64{2, 2.5, 3.2}, weights: []float64{0.25, 0.5, 0.25}, shift: []float64{1, 1, 1}, power: 1,
}

func span(lo, hi int) []int {
	var s []int
	for v := lo; v <= hi; v++ {
		s = append(s, v)
	}
	return s
}

// logSpan returns n values from lo to hi, equally spaced in their logarithm.
func logSpan(lo, hi float64, n int) []float64 {
	s := make([]float64, n)
	for i := range s {
		s[i] = lo * math.Exp(math.Log(hi/lo)*float64(i)/float64(n-1))
	}
	return s
}

// first returns the step at which a threshold is crossed under a crush, 1 or more. Within the first step beyond a crush it lies where light, which rises
// with the given power, reaches the threshold.
func (c *nearEnd) first(crush int, threshold float64) float64 {
	threshold = max(threshold, 1) // there is no step below the first
	edge := float64(crush + 1)
	if threshold >= edge {
		return threshold
	}
	if crush == 0 {
		return threshold
	}
	return float64(crush) + math.Pow(threshold/edge, c.power)
}

// cells is the procedure of one such check in one sitting. Practice needs nothing but the check; the rest is made when it is asked for.
type cells struct {
	c       *nearEnd
	grid    *psychophysics.Grid // nil until then
	first   []float64           // by hypothesis
	log     []float64           // its logarithm
	crushed []float64           // by hypothesis: the crush
	ranged  []screen.Range
	parted  int // what parts returns; 0 until it is asked for
}

// fresh is, of each check, a procedure that has seen nothing: all its procedures share its tables.
var fresh = map[*nearEnd]*shared[cells]{
	shadows:    {make: shadows.table},
	highlights: {make: highlights.table},
}

func (c *nearEnd) begin() *cells { return &cells{c: c} }

// know makes what answers are held against, if it is not there.
func (p *cells) know(breath func()) {
	if p.grid == nil {
		*p = *fresh[p.c].get(breath)
		p.grid = p.grid.Clone()
	}
}

// believed is how much a natural threshold with a slope, by its place, is believed beforehand, up to a constant: Student's t of the threshold's logarithm, 4 degrees of freedom.
func (c *nearEnd) believed(threshold float64, slope int, middle float64) float64 {
	z := math.Log(threshold/(middle*c.shift[slope])) / c.spread
	return c.weights[slope] * math.Pow(1+z*z/4, -2.5)
}

func (c *nearEnd) table(breath func()) *cells {
	p := &cells{c: c}
	var prior []float64
	type hypothesis struct {
		offset           float64 // steps from which light changes
		threshold, slope float64
		row              int // of seen
	}
	var all []hypothesis
	// add takes in every threshold and slope under a crush, with the given probability in all.
	add := func(r screen.Range, crush int, mass, middle float64) {
		from, sum := len(prior), 0.0
		for ti, t := range c.thresholds {
			for i, b := range c.slopes {
				h := hypothesis{threshold: t, slope: b, row: ti*len(c.slopes) + i}
				f := c.first(crush, t)
				switch r {
				case screen.Squeezed: // light changes anew where the signal is no longer cut off, and faster by 255/219
					h.offset = c.squeezed
					f = c.squeezed + t*219/255
				default:
					h.offset = -float64(crush) // marks a crush: what is beyond it has the light it always had
				}
				w := c.believed(t, i, middle)
				prior, sum = append(prior, w), sum+w
				all = append(all, h)
				p.first, p.log, p.crushed = append(p.first, f), append(p.log, math.Log(f)), append(p.crushed, float64(crush))
				p.ranged = append(p.ranged, r)
			}
		}
		for i := from; i < len(prior); i++ {
			prior[i] *= mass / sum
		}
	}
	for k := 0; k <= c.crushes; k++ {
		mass := c.whole
		if k > 0 {
			mass = (1 - c.whole) / float64(c.crushes)
		}
		add(screen.Full, k, mass*screen.RangePrior[screen.Full], c.middle)
	}
	add(screen.Squeezed, int(c.squeezed), screen.RangePrior[screen.Squeezed], c.middle)
	add(screen.Lifted, 0, screen.RangePrior[screen.Lifted], c.lifted)
	// Seeing depends on the threshold and the slope alone, wherever the crush ends: one row of them serves all of a full range.
	row := len(c.thresholds) * len(c.slopes)
	seen := make([][]float64, len(c.steps))
	for s, step := range c.steps {
		seen[s] = make([]float64, row)
		for i, h := range all[:row] {
			seen[s][i] = psychophysics.Weibull(float64(step)/h.threshold, h.slope, lapse, 9)
		}
	}
	unseen := psychophysics.Weibull(0, 1, lapse, 9)
	breath()
	p.grid = psychophysics.NewGrid(prior, len(c.steps), func(s, i int) float64 {
		if i == 0 {
			breath()
		}
		h, step := all[i], float64(c.steps[s])
		switch {
		case h.offset > 0:
			return psychophysics.Weibull((step-h.offset)*255/219/h.threshold, h.slope, lapse, 9)
		case step <= -h.offset:
			return unseen
		}
		return seen[s][h.row]
	})
	return p
}

// ranges returns the log of the probability of the answers under each range of the screen.
func (p *cells) ranges() [screen.Ranges]float64 {
	p.know(breathless)
	var mass [screen.Ranges]float64
	for i, m := range p.grid.Mass() {
		mass[p.ranged[i]] += m
	}
	for r := range mass {
		mass[r] = math.Log(max(mass[r], 1e-300)) - math.Log(screen.RangePrior[r])
	}
	return mass
}

func (p *cells) code(step int) uint8 {
	if p.c.ground == 0 {
		return uint8(step)
	}
	return p.c.ground - uint8(step)
}

func (p *cells) choose(k Kind, _ int, _ bool, r *rand.Rand) Stimulus {
	step := p.c.obvious
	if k == Trial {
		p.know(breathless)
		step = p.c.steps[p.grid.LeastVariance(p.log)]
	}
	return Stimulus{Ground: p.c.ground, Patch: p.code(step), Cell: r.IntN(9)}
}

func (p *cells) pattern(s Stimulus, _ image.Rectangle, _ float64) patterns.Pattern {
	return patterns.Cells{Ground: s.Ground, Patch: s.Patch, Cell: s.Cell}
}

// The keys of the nine cells lie as the cells do, left of the keyboard.
var cellKeys = [9]string{"KeyQ", "KeyW", "KeyE", "KeyA", "KeyS", "KeyD", "KeyZ", "KeyX", "KeyC"}

var cellLabels = [9]string{"top left", "top", "top right", "left", "middle", "right", "bottom left", "bottom", "bottom right"}

func (p *cells) ask(_ Stimulus, _ Kind, bounds image.Rectangle, _ float64) (Task, string, []Choice) {
	choices := make([]Choice, 9)
	for i := range choices {
		choices[i] = Choice{cellKeys[i], cellLabels[i], patterns.CellRect(bounds, i)}
	}
	return OddCell, p.c.task, choices
}

func (p *cells) right(s Stimulus, response int) bool { return response == s.Cell }

func (p *cells) record(j Judgement) error {
	if s := j.Stimulus; s.Ground != p.c.ground || s.Cell < 0 || s.Cell > 8 || j.Response < CantTell || j.Response > 8 {
		return errForeign
	}
	p.know(breathless)
	step := int(j.Stimulus.Patch)
	if p.c.ground != 0 {
		step = int(p.c.ground) - step
	}
	at := -1
	for i, v := range p.c.steps {
		if v == step {
			at = i
		}
	}
	share := 0.0
	switch j.Response {
	case j.Stimulus.Cell:
		share = 1
	case CantTell:
		share = 1.0 / 9
	}
	p.parted = 0
	return p.grid.Record(at, share)
}

// parts returns a code so far from the ground that it surely parts from it (95 %).
func (p *cells) parts() int {
	if p.parted == 0 {
		p.know(breathless)
		p.parted = int(math.Ceil(p.grid.Estimate(p.first).Quantile(0.95)))
		if p.c.ground != 0 {
			p.parted = int(p.c.ground) - p.parted
		}
	}
	return p.parted
}

// Unseen returns what is believed of shadows or highlights before any judgement.
func Unseen(a Aspect) NearEnd {
	if a == Shadows {
		return shadows.begin().result(screen.RangePrior)
	}
	return highlights.begin().result(screen.RangePrior)
}

// A NearEnd is what shadows or highlights found.
type NearEnd struct {
	First psychophysics.Estimate                // the first step from the ground that is seen, code values
	Crush [screen.Ranges]psychophysics.Estimate // under each range: steps from the ground that look like the ground on any viewer's screen
}

// result returns what was found, the ranges of the screen having the given probabilities.
func (p *cells) result(ranges [screen.Ranges]float64) NearEnd {
	p.know(breathless)
	var had [screen.Ranges]float64
	mass := append([]float64(nil), p.grid.Mass()...)
	for i, m := range mass {
		had[p.ranged[i]] += m
	}
	var by [screen.Ranges][]float64
	for r := range by {
		by[r] = make([]float64, len(mass))
	}
	for i, m := range mass {
		r := p.ranged[i]
		by[r][i] = m
		mass[i] = m * ranges[r] / max(had[r], 1e-300)
	}
	n := NearEnd{First: psychophysics.NewEstimate(p.first, mass)}
	for r := range by {
		n.Crush[r] = psychophysics.NewEstimate(p.crushed, by[r])
	}
	return n
}
