package check

import (
	"math"
	"math/rand/v2"

	"example.org/plumb/colour"
	"example.org/plumb/patterns/screen"
)

// mostHue is the largest offset of red or blue of a trial, in codes.
const mostHue = 40

// Tints of practice, u'v' along each axis: four times the noise of a typical viewer and more, beyond any tint that a panel has over its area.
var obviousTints = [len(screen.Hues)]float64{0.02, 0.03}

// Where tints are asked about, the questions come round again after evenRun judgements, tintRun of which are about each axis: a third is about tints.
// They come in runs, so that the viewer need not change the question every time.
const evenRun, tintRun = 12, 2

// tintedTrials is how many trials come round so: a whole number of evenRun, what every long sitting asks. What is asked after is about light alone, on which a
// verdict rests.
const tintedTrials = 2 * evenRun

// turn returns which axis the nth trial is about, -1 for light, and how many of that sort came before it.
func (e *evenness) turn(n int) (axis, count int) {
	if e.tints[0] == nil {
		return -1, n
	}
	lights := evenRun - tintRun*len(e.tints)
	if n >= tintedTrials {
		return -1, n - tintedTrials/evenRun*tintRun*len(e.tints)
	}
	round, at := n/evenRun, n%evenRun
	if at < lights {
		return -1, round*lights + at
	}
	at -= lights
	return at / tintRun, round*tintRun + at%tintRun
}

// hues returns the tint that a spot adds where the eye looks, along both axes, u'v'.
func (e *evenness) hues(delta, red, blue int) [len(screen.Hues)]float64 {
	green := e.raised(delta)
	pink, yellow := screen.HueOf(e.raised(delta+red)-green, e.raised(delta+blue)-green)
	return [...]float64{pink, yellow}
}

// redBlue is what red and blue give to the light of white.
var redBlue = func() [2]float64 {
	m := colour.SRGB.Matrix()
	sum := m[1][0] + m[1][1] + m[1][2]
	return [2]float64{m[1][0] / sum, m[1][2] / sum}
}()

// tint returns the codes that add a tint along one axis and none along the other, and raise the log light by as much as given.
func (e *evenness) tint(axis int, want, light float64) (delta, red, blue int) {
	var both [len(screen.Hues)]float64
	both[axis] = want
	r, b := screen.Ratio(both[0], both[1])
	delta = e.raise(light-float64(redBlue[0]*r)-float64(redBlue[1]*b), mostRaise(e.grid))
	// Red is rounded first, and blue then to the tint that is nearest to what is wanted.
	green := e.raised(delta)
	best := math.Inf(1)
	for c := -mostHue; c <= mostHue; c++ {
		if off := math.Abs(e.raised(delta+c) - green - r); off < best-1e-9 {
			best, red = off, c
		}
	}
	best = math.Inf(1)
	for c := -mostHue; c <= mostHue; c++ {
		h := e.hues(delta, red, c)
		if off := screen.Length(h[0]-both[0], h[1]-both[1]); off < best-1e-12 {
			best, blue = off, c
		}
	}
	return delta, red, blue
}

// tinted returns a trial about an axis, off by so many of the viewer's SDs from a match. The place is made as light as the middle, as far as is known,
// because a difference of light would distract.
func (e *evenness) tinted(axis int, off float64) Stimulus {
	f := e.tints[axis]
	place, match := f.next(func(want float64) float64 {
		return e.hues(e.tint(axis, want, 0))[axis]
	})
	s := Stimulus{Ground: evenGround, Grid: e.grid, Place: f.places[place], Hue: screen.Hues[axis]}
	s.Delta, s.Red, s.Blue = e.tint(axis, match+float64(off*f.spread()), -e.light.expected(place))
	return s
}

// obviousTint returns a tint that nobody who looks can miss.
func (e *evenness) obviousTint(axis int, r *rand.Rand) Stimulus {
	f := e.tints[axis]
	place, want := r.IntN(len(f.places)), obviousTints[axis]
	if r.Uint64()&1 == 0 {
		want = -want
	}
	s := Stimulus{Ground: evenGround, Grid: e.grid, Place: f.places[place], Hue: screen.Hues[axis]}
	s.Delta, s.Red, s.Blue = e.tint(axis, want, -e.light.expected(place))
	return s
}

// tintScales are of light's kind, and normal: so few judgements about tints are made that tails of Student's t would not be drawn well.
var tintScales = []scale{
	{share: 0.5, spread: 0.0012, tilt: 0.0009, second: 0.0005, own: 0.0005},
	{share: 0.5, spread: 0.004, tilt: 0.003, second: 0.0015, own: 0.0012},
}

// How tints vary over the places of a screen, and how viewers see it: common panels have 0.002 to 0.010 u'v' from place to place. Ours.
var tintSurfaces = [len(screen.Hues)]surfaceModel{
	{
		scales: tintScales,
		noises: []float64{0.0016, 0.0023, 0.0032, 0.0045, 0.0064, 0.009, 0.0128}, usual: 0.004, between: 0.5,
		rim: 0.0005, side: 0.0006, gain: 0.06, near: 0.0015,
	},
	{
		scales: tintScales,
		noises: []float64{0.0027, 0.0038, 0.0054, 0.0076, 0.0108, 0.0152, 0.0215}, usual: 0.0068, between: 0.5,
		rim: 0.0005, side: 0.001, gain: 0.06, near: 0.0015,
	},
}
