// Package observer simulates viewers in the psychophysical sense: a virtual viewer sees the light that a display model makes of painted pixels, adds noise, and answers.
//
// It knows the kind of question and where to look, nothing of what was meant to be there. The magnitudes are assumptions; no people have been measured.
// Viewers do not adapt: a white that drifts to neutral while it is looked at is not simulated, nor is glare in the eye.
package observer

import (
	"image"
	"math"
	"math/rand/v2"
	"time"

	"example.org/plumb/colour"
	"example.org/plumb/colour/display"
	"example.org/plumb/colour/transfer"
)

const (
	slope    = 2.5 // of detection over luminance difference; Weibull, range in the literature 2 to 3.5
	sideBias = 0.3 // SD over sittings of the preference for one side, in units of the noise
	farSide  = 0.3 // the part of that preference which is left between places far apart
	learning = 0.3 // how much noisier the first match of a sitting is, falling with matches seen
	learned  = 6.0 // matches over which that falls to 1/e
	turns    = 4   // a viewer who has overshot this often takes what is there

	fresh = 12 * time.Minute // after which a viewer is tired
	tired = 1.5              // how much more often a tired viewer guesses
)

// CantTell is the answer of a viewer who saw nothing.
const CantTell = -1

// A Viewer is one virtual viewer in front of one screen, for one sitting. Answers count from 0, in the order of the regions asked about.
type Viewer struct {
	kind    Kind
	screen  *display.Model
	vision  colour.Matrix // from light to linear sRGB as seen
	r       *rand.Rand
	bias    float64 // log light that lines seem to have more
	side    float64 // preference for the left, in units of noise
	matches int
	spent   time.Duration

	tinted bool       // whether what follows is drawn
	tint   [2]float64 // u'v' by which lines seem pinker, and yellower
	tints  int

	setting   bool
	criterion float64 // noise of the setting under way
	heading   int     // last step of the setting under way
	turns     int     // how often it has turned round
}

// New returns a viewer of a kind before a screen. All that is random comes from r. A vision that is not known is the normal one.
func New(k Kind, screen *display.Model, r *rand.Rand) *Viewer {
	v := &Viewer{kind: k, screen: screen, r: r}
	m, ok := Deficiency(k.Vision, k.Severity)
	if !ok {
		v.kind.Vision = ""
	}
	v.vision = m.Times(colour.SRGB.Inverse())
	v.bias = k.LineBias * r.NormFloat64()
	v.side = sideBias * r.NormFloat64()
	return v
}

// Again returns a viewer who sits down once more: how lines seem to that viewer comes from person, which is to be in the same state each time, and all that
// differs from sitting to sitting from r.
func Again(k Kind, screen *display.Model, person, r *rand.Rand) *Viewer {
	v := New(k, screen, r)
	v.bias = k.LineBias * person.NormFloat64()
	v.drawTint(person)
	return v
}

// Time draws how long the viewer takes for an answer. Once the times drawn add to more than 12 minutes the viewer guesses 1.5 times as
// often; time that a caller adds of its own does not tire.
func (v *Viewer) Time() time.Duration {
	d := time.Duration(v.kind.Seconds * math.Exp(0.3*v.r.NormFloat64()) * float64(time.Second))
	v.spent += d
	return d
}

// lapse is how often the viewer guesses by now.
func (v *Viewer) lapse() float64 {
	if v.spent > fresh {
		return math.Min(tired*v.kind.Lapse, 1)
	}
	return v.kind.Lapse
}

// Odd looks for the cell whose middle differs from its border, and returns its index, or CantTell.
func (v *Viewer) Odd(frame *image.RGBA, cells []image.Rectangle) int {
	best, at := 0.0, 0
	for i, c := range cells {
		near, edge := parts(c) // what is seen is the patch's border, on both sides of which the screen is as even
		ground := v.lookAt(frame, edge, centre(near)).Y
		d := math.Abs(v.light(frame, near)-ground) / Threshold(v.kind, ground)
		if d > best {
			best, at = d, i
		}
	}
	return v.find(len(cells), at, seen(best))
}

// parts returns where a viewer looks in a cell: a square in the middle, and a corner.
func parts(c image.Rectangle) (middle, corner image.Rectangle) {
	side := min(c.Dx(), c.Dy())
	mid := centre(c)
	return image.Rectangle{mid, mid}.Inset(-max(1, side/8)), image.Rectangle{c.Min, c.Min.Add(image.Pt(max(1, side/16), max(1, side/16)))}
}

func centre(r image.Rectangle) image.Point { return r.Min.Add(image.Pt(r.Dx()/2, r.Dy()/2)) }

// seen is how often a luminance difference of so many thresholds is seen.
func seen(d float64) float64 { return -math.Expm1(-math.Pow(d, slope)) }

// find returns the answer of a viewer who would see with probability p that the one at stands out of n. Who sees nothing says so half of the time
// and else guesses; who mostly clicks never says so.
func (v *Viewer) find(n, at int, p float64) int {
	if n == 0 {
		return CantTell
	}
	if v.r.Float64() < v.lapse() {
		return v.r.IntN(n)
	}
	if v.r.Float64() < p {
		return at
	}
	if v.r.IntN(2) == 0 && v.kind.Lapse < 0.5 {
		return CantTell
	}
	return v.r.IntN(n)
}

// Threshold returns the luminance difference, in cd/m², that a kind of viewer sees 63 % of the time on a ground of the given luminance.
func Threshold(k Kind, ground float64) float64 {
	return k.Threshold * transfer.GSDFStep(math.Max(ground, 0.05))
}

// Lighter returns 0 if the left and 1 if the right region looks lighter.
func (v *Viewer) Lighter(frame *image.RGBA, left, right image.Rectangle) int {
	d, noise := v.difference(frame, left, right)
	return v.compare(d, noise)
}

// compare returns 0 if d with noise added is above 0, and else 1.
func (v *Viewer) compare(d, noise float64) int {
	if v.r.Float64() < v.lapse() {
		return v.r.IntN(2)
	}
	if d+noise*v.r.NormFloat64() > 0 {
		return 0
	}
	return 1
}

// FarLighter returns 0 if a and 1 if b looks lighter, the two being far apart on the screen. Noise is the kind's Far; lines have no bias here, and of the
// preference for a side (for the upper place where one is above the other) little is left.
func (v *Viewer) FarLighter(frame *image.RGBA, a, b image.Rectangle) int {
	d := math.Log(v.light(frame, a)) - math.Log(v.light(frame, b))
	return v.compare(d+farSide*v.side*v.kind.Far*before(a, b), v.kind.Far)
}

// before is 1 where a is left of b, or above it in the same column, and -1 the other way round; 0 in the same place.
func before(a, b image.Rectangle) float64 {
	switch {
	case a.Min == b.Min:
		return 0
	case a.Min.X < b.Min.X, a.Min.X == b.Min.X && a.Min.Y < b.Min.Y:
		return 1
	}
	return -1
}

// Adjust looks at a plain patch that is being set to match lines: 1 to make it lighter, -1 to make it darker, 0 when it matches. The viewer holds
// one criterion until it matches.
func (v *Viewer) Adjust(frame *image.RGBA, plain, lines image.Rectangle) int {
	d, noise := v.difference(frame, plain, lines)
	if !v.setting {
		v.setting, v.heading, v.turns, v.criterion = true, 0, 0, noise*v.r.NormFloat64()
	}
	if v.r.Float64() < v.lapse()/4 {
		v.setting = false
		return 0
	}
	d += v.criterion
	step := 1
	if d > 0 {
		step = -1
	}
	if v.kind.Lapse > 0.5 {
		step = v.r.IntN(3) - 1
	} else if step == -v.heading {
		v.turns++
	}
	if v.kind.Lapse <= 0.5 && (math.Abs(d) < 0.006 || v.turns >= turns) {
		step = 0
	}
	if step == 0 {
		v.setting = false
	}
	v.heading = step
	return step
}

// difference returns by how much a seems lighter than b, in log light, and the noise of the comparison.
func (v *Viewer) difference(frame *image.RGBA, a, b image.Rectangle) (d, noise float64) {
	meet := centre(a.Union(b)) // neighbours are compared where they meet
	d = math.Log(v.lookAt(frame, a, meet).Y) - math.Log(v.lookAt(frame, b, meet).Y)
	noise = v.kind.Plain
	la, lb := lined(frame, a), lined(frame, b)
	if la || lb {
		noise = v.kind.Lines * unlearned(v.matches)
		v.matches++
	}
	if la {
		d += v.bias
	}
	if lb {
		d -= v.bias
	}
	if a.Min.X < b.Min.X {
		d += v.side * noise
	} else {
		d -= v.side * noise
	}
	return d, noise
}

// unlearned is how much noisier a comparison is after so many of its kind.
func unlearned(n int) float64 { return 1 + float64(learning*math.Exp(-float64(n)/learned)) }
