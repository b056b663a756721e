package check

import (
	"image"
	"math"
	"math/rand/v2"
	"sync"

	"example.org/plumb/patterns"
	"example.org/plumb/patterns/psychophysics"
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

	steps      []int      // stimuli, code values from the ground
	thresholds []float64  // hypotheses of the natural threshold, steps
	spread     float64    // scale of the threshold's prior, natural log
	middle     float64    // median of the threshold's prior
	crushes    int        // hypotheses of the crush run from 0 to this
	whole      float64    // prior probability of no crush
	mismatch   int        // the crush that a range mismatch makes
	mixed      [2]float64 // where a range mismatch puts the first step seen
	slopes     []float64  // hypotheses of the slope over steps
	weights    []float64  // their prior probabilities
	power      float64    // light over step near the end, for where within a step the threshold is crossed
}

// lapse is how often a viewer is taken to answer without looking. Held fixed: a short sitting cannot estimate it, and 0.03 is within the
// 0 to 0.06 that Wichmann and Hill 2001 give (from memory).
const lapse = 0.03

var shadows = &nearEnd{
	aspect: Shadows, ground: 0, obvious: 80, task: "Which cell holds a square?",
	steps:      append(span(1, 40), 44, 48, 56, 64),
	thresholds: logSpan(0.5, 60, 44), middle: 4.7, spread: 0.48,
	crushes: 40, whole: 0.6, mismatch: 16, mixed: [2]float64{16, 23}, // light rises anew from 16
	// Detection rises with the 2.5th power of the luminance difference (2 to 3.5); near black light rises with the code's power 1 (sRGB) to 2.4.
	slopes: []float64{2.5, 4, 5.5}, weights: []float64{0.15, 0.25, 0.6}, power: 2.2,
}

var highlights = &nearEnd{
	aspect: Highlights, ground: 255, obvious: 100, task: "Which cell holds a square?",
	steps:      append(span(1, 40), 48, 56, 64),
	thresholds: logSpan(0.3, 20, 40), middle: 1.65, spread: 0.26,
	crushes: 40, whole: 0.6, mismatch: 20, mixed: [2]float64{19, 23},
	slopes: []float64{2, 2.5, 3.2}, weights: []float64{0.25, 0.5, 0.25}, power: 1,
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

// first returns the step at which a threshold is crossed under a crush. Within the first step beyond a crush it lies where light, which rises with
// the given power, reaches the threshold.
func (c *nearEnd) first(crush int, threshold float64) float64 {
	edge := float64(crush + 1)
	if threshold >= edge {
		return threshold
	}
	if crush == 0 {
		return threshold
	}
	return float64(crush) + math.Pow(threshold/edge, c.power)
}

// cells is the procedure of one such check in one sitting.
type cells struct {
	c       *nearEnd
	grid    *psychophysics.Grid
	first   []float64 // by hypothesis
	log     []float64 // its logarithm
	crushed []float64 // by hypothesis: the crush
	parted  int       // what parts returns; 0 until it is asked for
}

// fresh returns a procedure that has seen nothing. The tables of a check are made once: all its procedures share them.
var fresh = map[*nearEnd]func() *cells{
	shadows:    sync.OnceValue(shadows.table),
	highlights: sync.OnceValue(highlights.table),
}

func (c *nearEnd) begin() *cells {
	p := *fresh[c]()
	p.grid = p.grid.Clone()
	return &p
}

func (c *nearEnd) table() *cells {
	p := &cells{c: c}
	var prior []float64
	type hypothesis struct {
		crush            int
		threshold, slope float64
	}
	var all []hypothesis
	for k := 0; k <= c.crushes; k++ {
		mass := c.whole
		if k > 0 {
			mass = (1 - c.whole) * 0.75 / float64(c.crushes)
			if d := k - c.mismatch; d >= -1 && d <= 1 {
				mass += (1 - c.whole) * 0.25 / 3
			}
		}
		for _, t := range c.thresholds {
			z := math.Log(t/c.middle) / c.spread
			for i, b := range c.slopes {
				prior = append(prior, mass*c.weights[i]*math.Pow(1+z*z/4, -2.5)) // Student's t, 4 degrees of freedom
				all = append(all, hypothesis{k, t, b})
				f := c.first(k, t)
				p.first, p.log, p.crushed = append(p.first, f), append(p.log, math.Log(f)), append(p.crushed, float64(k))
			}
		}
	}
	// Seeing depends on the threshold and the slope alone, wherever the crush ends: one row of them serves all.
	row := len(c.thresholds) * len(c.slopes)
	seen := make([][]float64, len(c.steps))
	for s, step := range c.steps {
		seen[s] = make([]float64, row)
		for i, h := range all[:row] {
			seen[s][i] = psychophysics.Weibull(float64(step)/h.threshold, h.slope, lapse, 9)
		}
	}
	unseen := psychophysics.Weibull(0, 1, lapse, 9)
	p.grid = psychophysics.NewGrid(prior, len(c.steps), func(s, i int) float64 {
		if c.steps[s] <= all[i].crush {
			return unseen
		}
		return seen[s][i%row]
	})
	return p
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

func (p *cells) ask(_ Stimulus, bounds image.Rectangle, _ float64) (string, []Choice) {
	choices := make([]Choice, 9)
	for i := range choices {
		choices[i] = Choice{cellKeys[i], cellLabels[i], patterns.CellRect(bounds, i)}
	}
	return p.c.task, choices
}

func (p *cells) right(s Stimulus, response int) bool { return response == s.Cell }

func (p *cells) record(j Judgement) error {
	if s := j.Stimulus; s.Ground != p.c.ground || s.Cell < 0 || s.Cell > 8 || j.Response < CantTell || j.Response > 8 {
		return errForeign
	}
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
		return shadows.begin().result()
	}
	return highlights.begin().result()
}

// A NearEnd is what shadows or highlights found.
type NearEnd struct {
	First    psychophysics.Estimate // the first step from the ground that is seen, code values
	Crush    psychophysics.Estimate // steps from the ground that look like the ground on any viewer's screen
	Mismatch float64                // probability that the first step lies where a range mismatch puts it
}

func (p *cells) result() NearEnd {
	n := NearEnd{First: p.grid.Estimate(p.first), Crush: p.grid.Estimate(p.crushed)}
	for i, m := range p.grid.Mass() {
		if p.c.mixed[0] <= p.first[i] && p.first[i] <= p.c.mixed[1] {
			n.Mismatch += m
		}
	}
	return n
}
