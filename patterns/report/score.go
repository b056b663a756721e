package report

import (
	"math/rand/v2"
	"sync"

	"example.org/plumb/colour"
	"example.org/plumb/colour/difference"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// between is at how many places of an aim's band of curves a colour is compared: both ends, and the middle.
const between = 3

// An Intent is the content with what it should look like under an aim: Lab relative to white. It is worked out once for many screens.
type Intent struct {
	colours []Colour
	lab     [][between]colour.Lab
	same    bool // the aim has one curve
}

var intents sync.Map // of *Intent, by the id of an aim

// Intended returns the content under an aim.
func Intended(aim screen.Aim) *Intent {
	if v, ok := intents.Load(aim.ID); ok {
		return v.(*Intent)
	}
	n := &Intent{colours: Colours(), same: len(aim.Curves) == 1}
	matrix, white := colour.SRGB.Matrix(), colour.SRGB.White()
	for _, c := range n.colours {
		var lab [between]colour.Lab
		for k := range lab {
			share := float64(k) / (between - 1)
			light := func(code uint8) float64 {
				v := float64(code) / 255
				first, last := aim.Curves[0].Light(v), aim.Curves[len(aim.Curves)-1].Light(v)
				return float64((1-share)*first) + float64(share*last)
			}
			lab[k] = matrix.Apply(colour.XYZ{X: light(c.R), Y: light(c.G), Z: light(c.B)}).Lab(white)
		}
		n.lab = append(n.lab, lab)
	}
	intents.Store(aim.ID, n)
	return n
}

// A Shown is a screen as scores see it: the light of each channel by code, relative to own black and white, and what is lost.
type Shown struct {
	Light [3][256]float64 // of red, green and blue
	Hides func(r, g, b uint8) bool
}

// ShownBy returns a possible screen as scores see it.
func ShownBy(p *screen.Possible) Shown {
	return Shown{Light: *p.Lights(), Hides: p.Hides}
}

// Score returns the share, 0 to 100, of the content that a screen shows within CIEDE2000 2.5 of the aim, relative to its own white, and not lost to
// crush or clip: a colour is lost where all its channels look black, or one looks full that is not. White, primaries and brightness are not in it,
// because no eye can judge them without a reference; channels are mixed as on an sRGB screen.
func (n *Intent) Score(s Shown) float64 {
	matrix, white := colour.SRGB.Matrix(), colour.SRGB.White()
	total := 0.0
	for i, c := range n.colours {
		if s.Hides(c.R, c.G, c.B) {
			continue
		}
		lab := matrix.Apply(colour.XYZ{X: s.Light[0][c.R], Y: s.Light[1][c.G], Z: s.Light[2][c.B]}).Lab(white)
		want := &n.lab[i]
		for k := range want {
			if k > 0 && n.same {
				break
			}
			if difference.CIEDE2000(lab, want[k]) <= screen.Shift {
				total += c.Weight
				break
			}
		}
	}
	return 100 * total
}

// scoreDraws is how many possible screens a score is taken over.
const scoreDraws = 250

// score returns the posterior of the score over possible screens, with a breath after each.
func score(possible []screen.Possible, aim screen.Aim, breath func()) psychophysics.Estimate {
	n := Intended(aim)
	scores := make([]float64, len(possible))
	for i := range possible {
		scores[i] = n.Score(ShownBy(&possible[i]))
		breath()
	}
	return psychophysics.NewEstimate(scores, check.Means(possible, aim))
}

// tails is in how many places a shortest interval is looked for.
const tails = 40

// shortest returns the shortest interval that holds a probability, with the mean in it. Many a score lies at its upper end, 100, where a central interval
// would leave half of what it may leave out to nothing, and hold too much.
func shortest(e psychophysics.Estimate, probability float64) (lo, hi float64) {
	lo, hi = e.Interval(probability)
	const end = 1e-9 // quantiles lie between 0 and 1
	for i := range tails + 1 {
		below := (1 - probability) * float64(i) / tails
		from, to := e.Quantile(max(below, end)), e.Quantile(min(below+probability, 1-end))
		if to-from < hi-lo-1e-9 {
			lo, hi = from, to
		}
	}
	mean := e.Mean()
	return min(lo, mean), max(hi, mean)
}

// possible draws the screens that scores and faults are taken over.
func possible(found check.Results, aim screen.Aim, seed uint64) []screen.Possible {
	return found.Possibles(aim, scoreDraws, rand.New(rand.NewPCG(seed, 0x73636f7265)))
}
