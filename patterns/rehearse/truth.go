package main

import (
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
	uses       []report.Verdict // by report.Uses; not checked where a need has no check
	lightness  [screen.Steps]float64
	score      float64
}

// known works out the truth of a screen for a kind of viewer under an aim.
func known(d display.Description, kind observer.Kind, aim screen.Aim) truth {
	m := d.Model()
	// Crush, clip and coarse steps are aspects of their own: the tone curve is what it would be without them.
	smooth := d
	smooth.Crush, smooth.Clip, smooth.Bits = 0, 255, 8
	plain := smooth.Model()
	light := curve(&plain)
	t := truth{quantities: map[screen.Quantity]float64{}, verdicts: map[check.Aspect]report.Verdict{}}
	t.quantities[screen.FirstVisible] = first(&m, kind, 0, 1)
	t.quantities[screen.FirstBelow] = first(&m, kind, 255, -1)
	departure, gamma, margin := aim.Judge().Departure(light)
	t.quantities[screen.Gamma], t.quantities[screen.Departure], t.quantities[screen.ToneMargin] = gamma, departure, margin
	for i := range screen.Steps {
		t.lightness[i] = screen.Lightness(light(screen.Signal(i)))
	}
	for i, u := range report.Uses {
		v := report.Holds
		for _, n := range u.Needs {
			ok := report.Off
			if q := t.quantities[n.Quantity]; n.Lo <= q && q <= n.Hi {
				ok = report.Holds
			}
			if i == report.Light {
				t.verdicts[n.Aspect] = ok
			}
			if ok == report.Off {
				v = report.Off
			}
		}
		if v == report.Holds && len(u.Also) > 0 {
			v = report.NotChecked
		}
		t.uses = append(t.uses, v)
	}
	shown := report.Shown{Light: light, Crush: plateau(&m, 0, 1), Clip: 255 - plateau(&m, 255, -1)}
	shown.Red, shown.Blue = spread(d)
	t.score = shown.Score(aim)
	return t
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

// first is how many codes from an end the light difference reaches what the viewer sees 63 % of the time, linear between codes; 200 if it does not.
func first(m *display.Model, kind observer.Kind, end, by int) float64 {
	ground := m.Grey(uint8(end))
	need := observer.Threshold(kind, ground)
	last := 0.0
	for n := 1; n <= 200; n++ {
		d := math.Abs(m.Grey(uint8(end+by*n)) - ground)
		if d >= need {
			return float64(n-1) + (need-last)/(d-last)
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

// spread is by how much the gammas of red and blue differ from green's, for curves of the kind "gamma"; 0 for others.
func spread(d display.Description) (red, blue float64) {
	if len(d.Tone) != 3 {
		return 0, 0
	}
	for _, t := range d.Tone {
		if t.Curve != display.Gamma {
			return 0, 0
		}
	}
	g := d.Tone[1].Gamma
	return d.Tone[0].Gamma - g, d.Tone[2].Gamma - g
}
