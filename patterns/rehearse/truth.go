package main

import (
	"image/color"
	"math"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
)

// A truth is what a sitting should have found, by plain formulas from the described screen and the kind of viewer, without noise.
type truth struct {
	quantities map[screen.Quantity]float64
	verdicts   map[check.Aspect]report.Verdict
	uses       []report.Verdict // by check.Uses
	margins    []float64        // by check.Uses: the greatest of its quantities over their tolerances; 1 is at a limit
	lightness  [screen.Steps]float64
	greys      [screen.Steps][2]float64 // tint along screen.Hues, u'v'
	places     []float64                // log light over the middle, row by row
	score      float64
	shown      report.Shown // what the score is of
}

// known works out the truth of a screen for a kind of viewer under a plan.
func known(d display.Description, kind observer.Kind, plan check.Plan) truth {
	aim, _ := screen.AimByID(plan.Aim)
	m := d.Model()
	// Crush, clip and coarse steps are aspects of their own: tone and tint are what they would be without them.
	smooth := d
	smooth.Crush, smooth.Clip, smooth.Bits = 0, 255, 8
	plain := smooth.Model()
	light := curve(&plain)
	t := truth{quantities: map[screen.Quantity]float64{}, verdicts: map[check.Aspect]report.Verdict{}}
	q := t.quantities
	q[screen.FirstVisible] = first(&m, kind, 0, 1)
	q[screen.FirstBelow] = first(&m, kind, 255, -1)
	q[screen.Departure], q[screen.Gamma], q[screen.ToneMargin] = aim.Judge().Departure(light)
	q[screen.GreyTint] = tint(&plain)
	q[screen.Bits] = float64(min(d.Bits, 8))
	grid := 3
	if plan.Length == check.Long {
		grid = 5
	}
	t.places = places(&plain, grid)
	q[screen.Unevenness] = greatest(t.places)
	q[screen.Reach] = reached(d)
	for i := range screen.Steps {
		t.lightness[i] = screen.Lightness(light(screen.Signal(i)))
		t.greys[i][0], t.greys[i][1] = hues(&plain, screen.Signal(i))
	}
	for _, a := range check.Aspects {
		if n, ok := check.Strictest(a, aim); ok {
			t.verdicts[a] = judged(q[n.Quantity], n)
		}
	}
	t.verdicts[check.Handling] = report.Off
	if d.Managed {
		t.verdicts[check.Handling] = report.Holds
	}
	for use := range check.Uses {
		v, margin := report.Holds, 0.0
		for _, n := range check.Needs(use, aim) {
			if judged(q[n.Quantity], n) == report.Off {
				v = report.Off
			}
			margin = max(margin, over(q[n.Quantity], n))
		}
		if use == check.Colour && !d.Managed {
			v, margin = report.Off, 2
		}
		t.uses, t.margins = append(t.uses, v), append(t.margins, margin)
	}
	shown := report.Shown{}
	crush, clip := plateau(&m, 0, 1), 255-plateau(&m, 255, -1)
	for c := range 256 {
		for i := range 3 {
			shown.Light[i][c] = channel(&m, i, uint8(c))
		}
	}
	shown.Hides = func(r, g, b uint8) bool {
		c := int(max(r, g, b))
		return c > 0 && c <= crush || c >= clip && c < 255
	}
	t.shown, t.score = shown, report.Intended(aim).Score(shown)
	return t
}

func judged(q float64, t check.Tolerance) report.Verdict {
	if t.Lo <= q && q <= t.Hi {
		return report.Holds
	}
	return report.Off
}

// over is a quantity over its tolerance; of a quantity that must reach a limit, twice where it falls short and half where it does not.
func over(q float64, t check.Tolerance) float64 {
	if t.Lo == 0 {
		return q / t.Hi
	}
	if q < t.Lo {
		return 2
	}
	return 0.5
}

// channel is the light of one channel (0 red, 1 green, 2 blue) at a code, relative to its own at codes 0 and 255.
func channel(m *display.Model, i int, code uint8) float64 {
	y := func(c uint8) float64 {
		var rgb [3]uint8
		rgb[i] = c
		return m.Luminance(rgb[0], rgb[1], rgb[2])
	}
	return (y(code) - y(0)) / (y(255) - y(0))
}

// tint is the greatest distance in u'v' of a grey from the screen's own white, as a viewer sees both, over the levels that are judged.
func tint(m *display.Model) float64 {
	white, worst := m.White().UV(), 0.0
	for i := range screen.Steps {
		if v := screen.Signal(i); v >= screen.TintFrom {
			c := uint8(math.Round(255 * v))
			grey := m.Light(color.RGBA{c, c, c, 255}).UV()
			worst = max(worst, math.Hypot(grey.U-white.U, grey.V-white.V))
		}
	}
	return worst
}

// hues is the tint of the grey of a signal along both of screen.Hues, against white.
func hues(m *display.Model, v float64) (pink, yellow float64) {
	c := uint8(math.Round(255 * v))
	g, w := m.Light(color.RGBA{c, c, c, 255}), m.White()
	at := func(axis int) float64 { return observer.Tint(g, axis) - observer.Tint(w, axis) }
	return at(observer.PinkGreen), at(observer.BlueYellow)
}

// tinted is the root mean square error of the tint of greys, over the levels that are judged and both axes.
func (t truth) tinted(n *check.NeutralsResult) float64 {
	sum, k := 0.0, 0.0
	for _, l := range n.Levels {
		i := int(math.Round(l.Signal * (screen.Steps - 1)))
		for axis := range 2 {
			d := l.Tint[axis].Mean() - t.greys[i][axis]
			sum, k = sum+d*d, k+1
		}
	}
	return math.Sqrt(sum / max(k, 1))
}

// places is the log light of each place of a grid over the middle, at code 128, row by row.
func places(m *display.Model, grid int) []float64 {
	grey := color.RGBA{128, 128, 128, 255}
	at := func(i int) float64 { return (float64(i) + 0.5) / float64(grid) }
	middle := m.LightAt(grey, 0.5, 0.5).Y
	var all []float64
	for i := range grid {
		for j := range grid {
			all = append(all, math.Log(m.LightAt(grey, at(j), at(i)).Y/middle))
		}
	}
	return all
}

// greatest is the greatest absolute value.
func greatest(v []float64) float64 {
	worst := 0.0
	for _, x := range v {
		worst = max(worst, math.Abs(x))
	}
	return worst
}

// uneven is the root mean square error of the places of the screen, the middle left out, log light.
func (t truth) uneven(e *check.EvennessResult) float64 {
	sum := 0.0
	for i, place := range e.Places {
		d := place.Mean() - t.places[i]
		sum += d * d
	}
	return math.Sqrt(sum / float64(len(e.Places)-1))
}

// reached is how far a screen and its browser go from sRGB to Display P3, in red or green, whichever is less.
func reached(d display.Description) float64 {
	if d.Managed && d.Primaries.Name == "p3" {
		return 1
	}
	return 0
}

// rms is the root mean square error of a tone curve, L* over the levels of screen.Steps.
func (t truth) rms(lightness []float64) float64 {
	sum := 0.0
	for i, l := range lightness {
		d := l - t.lightness[i]
		sum += d * d
	}
	return math.Sqrt(sum / float64(len(lightness)))
}

// curve is the screen's grey tone curve relative to its own black and white, linear between codes.
func curve(m *display.Model) func(v float64) float64 {
	return func(v float64) float64 {
		c := v * 255
		lo := min(int(c), 254)
		part := c - float64(lo)
		return float64((1-part)*m.Normalised(uint8(lo))) + float64(part*m.Normalised(uint8(lo+1)))
	}
}

// first is how many codes from an end, 1 or more, the light difference reaches what the viewer sees 63 % of the time, linear between codes; 200 if it does
// not.
func first(m *display.Model, kind observer.Kind, end, by int) float64 {
	ground := m.Grey(uint8(end))
	need := observer.Threshold(kind, ground)
	last := 0.0
	for n := 1; n <= 200; n++ {
		d := math.Abs(m.Grey(uint8(end+by*n)) - ground)
		if d >= need {
			return max(1, float64(n-1)+(need-last)/(d-last))
		}
		last = d
	}
	return 200
}

// plateau is how many codes next to an end have the light of the end.
func plateau(m *display.Model, end, by int) int {
	for n := 1; n < 256; n++ {
		if math.Abs(m.Grey(uint8(end+by*n))-m.Grey(uint8(end))) > 1e-9 {
			return n - 1
		}
	}
	return 255
}
