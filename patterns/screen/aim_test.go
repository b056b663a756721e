package screen_test

import (
	"math"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/colour/difference"
	"example.org/plumb/colour/transfer"
	"example.org/plumb/patterns/screen"
)

// The slow twin of Judge: CIEDE2000 between greys, level by level, against the nearest of all greys that the aim allows.
func TestDepartureAgainstCIEDE2000(t *testing.T) {
	compared := 0
	for _, a := range screen.Aims {
		j := a.Judge()
		for _, tone := range []screen.Tone{
			{Gamma: 1.8}, {Gamma: 1.98}, {Gamma: 2.02}, {Gamma: 2.25}, {Gamma: 2.34}, {Gamma: 2.37}, {Gamma: 2.39}, {Gamma: 2.57}, {Gamma: 2.6}, {Gamma: 2.2, S: 0.08}, {Gamma: 2.2, Offset: 0.05}, {Gamma: 2.3, Offset: -0.06},
			{Gamma: 2.2, Knots: [screen.Knots]float64{0, 0.01, -0.02}}, {Gamma: 2.2, Squeezed: true},
		} {
			worst := 0.0
			for i := range screen.Steps {
				v := float64(i) / 20
				l := 116*math.Cbrt(max(tone.Light(v), 0)) - 16 // CIE 15:2018
				if y := tone.Light(v); y <= 216.0/24389 {
					l = 24389.0 / 27 * max(y, 0)
				}
				near := math.Inf(1)
				lo, hi := math.Inf(1), math.Inf(-1)
				for _, c := range a.Curves {
					k := screen.Lightness(c.Light(v))
					lo, hi = min(lo, k), max(hi, k)
				}
				for s := range 2001 {
					k := lo + (hi-lo)*float64(s)/2000
					near = min(near, difference.CIEDE2000(colour.Lab{L: l}, colour.Lab{L: k}))
				}
				worst = max(worst, near)
			}
			d, gamma, margin := j.Departure(tone.Light)
			if math.Abs(d-worst) > 5e-3 {
				t.Errorf("%s, %+v: departure %.4f, by CIEDE2000 %.4f", a.ID, tone, d, worst)
			}
			if want := screen.EffectiveGamma(tone.Light); gamma != want {
				t.Errorf("%s, %+v: gamma %g, want %g", a.ID, tone, gamma, want)
			}
			lo, hi := j.Allowed()
			if inside := lo <= gamma && gamma <= hi && d <= screen.DepartureTolerance; inside != (margin <= 1) {
				t.Errorf("%s, %+v: gamma %g of %g to %g and departure %g, but the margin is %g", a.ID, tone, gamma, lo, hi, d, margin)
			}
			compared++
		}
	}
	if compared == 0 {
		t.Fatal("no aim was compared")
	}
}

// The usual aim is met by both its curves and by what lies between, and left by what lies beyond.
func TestTheUsualAimIsABand(t *testing.T) {
	j := screen.Aims[0].Judge()
	between := func(v float64) float64 { return (transfer.SRGB{}.Light(v) + transfer.Power(2.2).Light(v)) / 2 }
	if d, _, m := j.Departure(between); d > 1e-9 || m > 1e-9 {
		t.Errorf("between the curves: departure %g, margin %g", d, m)
	}
	for _, g := range []float64{1.9, 2.0, 2.45, 2.6} {
		if _, _, m := j.Departure(power(g)); m <= 1 {
			t.Errorf("gamma %g: margin %g", g, m)
		}
	}
	if _, _, m := j.Departure(power(2.3)); m >= 1 {
		t.Errorf("gamma 2.3: margin %g", m)
	}
}

func TestAims(t *testing.T) {
	if len(screen.Aims) == 0 {
		t.Fatal("no aims")
	}
	for _, a := range screen.Aims {
		if got, ok := screen.AimByID(a.ID); !ok || got.Name != a.Name || a.Name == "" || a.Text == "" || len(a.Curves) == 0 {
			t.Errorf("aim %q: %+v", a.ID, got)
		}
		lo, hi := a.Gamma()
		if !(1.5 < lo && lo <= hi && hi < 3) {
			t.Errorf("aim %q has gamma %g to %g", a.ID, lo, hi)
		}
		if lo, hi := a.Band(0); lo != 0 || hi != 0 {
			t.Errorf("aim %q: black is L* %g to %g", a.ID, lo, hi)
		}
		if lo, hi := a.Band(1); math.Abs(lo-100) > 1e-9 || math.Abs(hi-100) > 1e-9 {
			t.Errorf("aim %q: white is L* %g to %g", a.ID, lo, hi)
		}
	}
	for _, id := range []string{"", "Usual", "gamma 2.2", "usual "} {
		if _, ok := screen.AimByID(id); ok {
			t.Errorf("there is an aim %q", id)
		}
	}
}

// No aim at all allows nothing.
func TestTheZeroAimClaimsNothing(t *testing.T) {
	var a screen.Aim
	if _, _, m := a.Judge().Departure(power(2.2)); !(m > 1) && !math.IsNaN(m) {
		t.Errorf("without an aim the margin is %g", m)
	}
}
