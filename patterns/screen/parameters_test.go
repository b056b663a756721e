package screen_test

import (
	"math"
	"testing"

	"example.org/plumb/patterns/screen"
)

// The formula of Tone, written out once more.
func slow(t screen.Tone, v float64) float64 {
	if t.Squeezed {
		v = math.Min(math.Max((255*v-16)/219, 0), 1)
	}
	knots := append(append([]float64{0}, t.Knots[:]...), 0)
	rest := 0.0
	for k := range knots {
		rest += knots[k] * math.Max(0, 1-math.Abs(v*8-float64(k))) // a hat over each knot
	}
	u := v - t.S*math.Sin(2*math.Pi*v) + rest
	light := func(u float64) float64 { return math.Pow(math.Max(u*(1-t.Offset)+t.Offset, 0), t.Gamma) }
	return (light(u) - light(0)) / (light(1) - light(0))
}

func TestToneAgainstItsFormula(t *testing.T) {
	for _, tone := range []screen.Tone{
		{Gamma: 2.2}, {Gamma: 1.8, Offset: 0.1}, {Gamma: 2.6, Offset: -0.1}, {Gamma: 2.2, S: 0.1}, {Gamma: 2.2, S: -0.05, Squeezed: true},
		{Gamma: 2.3, Offset: 0.02, S: 0.03, Knots: [screen.Knots]float64{0.01, -0.02, 0.03, 0, 0.01, -0.01, 0.02}},
	} {
		for i := range 1001 {
			v := float64(i) / 1000
			if got, want := tone.Light(v), slow(tone, v); math.Abs(got-want) > 1e-12 {
				t.Fatalf("%+v at %g: %.15f, want %.15f", tone, v, got, want)
			}
		}
		theta := append([]float64{tone.Gamma, tone.Offset, tone.S}, tone.Knots[:]...)
		if got := screen.ToneOf(append(theta, 7, 8)); !tone.Squeezed && got != tone {
			t.Errorf("%v reads as %+v", theta, got)
		}
	}
}

// ITU-R BT.709 and BT.2100 put narrow-range black and white of 8 bits at 16 and 235.
func TestSqueeze(t *testing.T) {
	for _, c := range []struct{ code, want float64 }{{0, 0}, {16, 0}, {235, 1}, {255, 1}, {125.5, 0.5}} {
		if got := screen.Squeeze(c.code / 255); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("code %g becomes %g, want %g", c.code, got, c.want)
		}
	}
}

// Parameters that are no curve leave numbers, or at worst no number, and never a panic.
func TestStrangeTones(t *testing.T) {
	strange := []float64{0, -1, 1, 1e9, -1e9, math.Inf(1), math.NaN()}
	for _, gamma := range strange {
		for _, offset := range strange {
			for _, s := range strange {
				theta := make([]float64, screen.ToneParams)
				theta[0], theta[1], theta[2], theta[5] = gamma, offset, s, s
				grad := make([]float64, screen.ToneParams)
				for _, v := range []float64{0, 0.125, 0.5, 1} {
					screen.ToneLight(theta, v, grad)
				}
				tone := screen.ToneOf(theta)
				screen.Aims[0].Judge().Departure(tone.Light)
			}
		}
	}
	if g := (screen.Tone{}).Light(0.5); math.IsNaN(g) || g < 0 || g > 1 {
		t.Errorf("the zero Tone has light %g", g)
	}
}
