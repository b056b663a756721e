package screen_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/colour/difference"
	"example.org/plumb/colour/transfer"
	"example.org/plumb/patterns/screen"
)

func TestToneGradients(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for n := range 300 {
		theta := make([]float64, screen.ToneParams)
		theta[0], theta[1], theta[2] = 1.6+r.Float64(), (r.Float64()-0.5)*0.06, r.Float64()*0.1
		for i := 3; i < len(theta); i++ {
			theta[i] = r.NormFloat64() * 0.01
		}
		v := r.Float64()
		if n%10 == 0 {
			v = float64(n/10%9) / 8 // on a knot
		}
		grad := make([]float64, screen.ToneParams)
		if screen.ToneLight(theta, v, grad) < 1e-3 {
			continue // near the toe's kink
		}
		for i := range theta {
			const h = 1e-6
			up, down := append([]float64(nil), theta...), append([]float64(nil), theta...)
			up[i] += h
			down[i] -= h
			want := (screen.ToneLight(up, v, nil) - screen.ToneLight(down, v, nil)) / (2 * h)
			if math.Abs(grad[i]-want) > 1e-5*math.Max(1, math.Abs(want)) {
				t.Fatalf("v %g theta %v: derivative %d is %g, numerically %g", v, theta, i, grad[i], want)
			}
		}
	}
}

func TestToneEndsAtBlackAndWhite(t *testing.T) {
	for _, tone := range []screen.Tone{{Gamma: 2.2}, {Gamma: 1.8, Offset: 0.05}, {Gamma: 2.6, Offset: -0.05, S: 0.1}} {
		if b, w := tone.Light(0), tone.Light(1); b != 0 || math.Abs(w-1) > 1e-12 {
			t.Errorf("%+v: black %g, white %g", tone, b, w)
		}
	}
}

// Apparent gamma of the sRGB curve by line level runs from 2.19 to 2.27 (computed from IEC 61966-2-1); the slope over all levels lies between.
func TestEffectiveGamma(t *testing.T) {
	if g := screen.EffectiveGamma(transfer.Power(2.2).Light); math.Abs(g-2.2) > 1e-12 {
		t.Errorf("a power of 2.2 has %g", g)
	}
	if g := screen.EffectiveGamma(transfer.SRGB{}.Light); g < 2.0 || g > 2.27 {
		t.Errorf("sRGB has %g", g)
	} else {
		t.Logf("sRGB has %.3f", g)
	}
	for _, a := range screen.Aims {
		j := a.Judge()
		for _, c := range a.Curves {
			if d, _, m := j.Departure(c.Light); d > 1e-9 || m > 1e-9 {
				t.Errorf("%s: its own curve departs by %g, margin %g", a.ID, d, m)
			}
		}
	}
	d, g, m := screen.Aims[0].Judge().Departure(transfer.Power(2.5).Light)
	t.Logf("2.5 under the usual aim: %.2f ΔE00, gamma %.2f, margin %.2f", d, g, m)
}

func TestGreysAreCIEDE2000(t *testing.T) {
	for p := 0.0; p <= 100; p += 3.7 {
		for q := 0.0; q <= 100; q += 4.1 {
			want := difference.CIEDE2000(colour.Lab{L: p}, colour.Lab{L: q})
			if got := screen.Greys(p, q); math.Abs(got-want) > 1e-12 {
				t.Fatalf("L* %g and %g: %g, CIEDE2000 %g", p, q, got, want)
			}
		}
	}
}

// An offset or a signal next to nothing has derivatives that are numbers.
func TestToneNextToNothing(t *testing.T) {
	for _, offset := range []float64{0, 5e-324, 8.7e-315, 1e-200, 1e-99, -1e-315} {
		for _, light := range []func([]float64, float64, []float64) float64{screen.ToneLight, screen.ToeLight} {
			theta, grad := make([]float64, screen.ToneParams), make([]float64, screen.ToneParams)
			theta[0], theta[1] = 2.2, offset
			for _, v := range []float64{1e-320, 1e-12, 0.004, 0.5} {
				y := light(theta, v, grad)
				for i, g := range append(grad, y) {
					if math.IsNaN(g) || math.IsInf(g, 0) {
						t.Errorf("offset %g, signal %g: value %d is %g", offset, v, i, g)
					}
				}
			}
		}
	}
}
