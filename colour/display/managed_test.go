package display

import (
	"image/color"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"example.org/plumb/colour"
)

// exact is a screen that a browser can know wholly: a curve of sRGB, 1 cd/m², no black and no room.
const exact = `"white":{"luminance":1},"black":0,"room":{"lux":0},"tone":[{"curve":"srgb"}]`

func signal(c color.RGBA) colour.RGB {
	return colour.RGB{R: float64(c.R) / 255, G: float64(c.G) / 255, B: float64(c.B) / 255}
}

// A managed screen shows what it can show of Display P3 as colour.DisplayP3 has it, to the rounding of its codes; one with these primaries all of it.
func TestLightP3Managed(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	m := model(t, `{`+exact+`,"primaries":"p3","managed":true}`)
	for range 2000 {
		c := color.RGBA{uint8(r.IntN(256)), uint8(r.IntN(256)), uint8(r.IntN(256)), 255}
		if to := m.FromP3(c); to != c {
			t.Fatalf("%v is sent as %v to a screen of the same primaries", c, to)
		}
		got, want := m.LightP3(c), colour.DisplayP3.XYZ(signal(c))
		if !near(got.X, want.X, 1e-12) || !near(got.Y, want.Y, 1e-12) || !near(got.Z, want.Z, 1e-12) {
			t.Fatalf("%v is %v, want %v", c, got, want)
		}
	}
	// Wider primaries show it too, but between codes: half a code is at most 0.0045 of a channel's light.
	m = model(t, `{`+exact+`,"primaries":[[0.708,0.292],[0.170,0.797],[0.131,0.046]],"managed":true}`)
	apart := 0.0
	for range 2000 {
		c := color.RGBA{uint8(r.IntN(256)), uint8(r.IntN(256)), uint8(r.IntN(256)), 255}
		got, want := m.LightP3(c), colour.DisplayP3.XYZ(signal(c))
		d := max(math.Abs(got.X-want.X), math.Abs(got.Y-want.Y), math.Abs(got.Z-want.Z))
		if d > 0.005 {
			t.Fatalf("%v is %v, want %v", c, got, want)
		}
		apart = max(apart, m.LightP3(c).UV().Distance(m.Light(c).UV()))
	}
	if apart < 0.02 {
		t.Errorf("a wide screen is sent the codes as they are: %v apart at most", apart)
	}
}

// Where the browser does not manage colours, or says sRGB, the codes are sRGB's, by way of colour's spaces.
func TestLightP3AsSRGB(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 4))
	for _, text := range []string{`"primaries":"p3","managed":false`, `"primaries":"srgb","managed":true`, `"primaries":"srgb","managed":false`, `"primaries":"adobe","managed":false`, `"primaries":"srgb"`} {
		white := `"white":{"luminance":1},`
		if !strings.Contains(text, "managed") { // a screen said to be sRGB is sent its codes whatever its white
			white = `"white":{"luminance":1,"xy":[0.3457,0.3585]},`
		}
		m := model(t, `{`+white+text+`}`)
		for range 500 {
			c := color.RGBA{uint8(r.IntN(256)), uint8(r.IntN(256)), uint8(r.IntN(256)), 255}
			v := colour.SRGB.RGB(colour.DisplayP3.XYZ(signal(c)))
			code := func(v float64) uint8 { return uint8(math.Round(min(max(v, 0), 1) * 255)) }
			want := color.RGBA{code(v.R), code(v.G), code(v.B), 255}
			if got := m.FromP3(c); got != want {
				t.Fatalf("%s: %v is sent as %v, want %v", text, c, got, want)
			}
			if m.LightP3(c) != m.Light(want) {
				t.Fatalf("%s: %v is %v", text, c, m.LightP3(c))
			}
		}
		// Full red and green of Display P3 are outside of sRGB and clip to its own; red is 1.0931, -0.2267, -0.1501 in CSS Color 4.
		for _, c := range []color.RGBA{{R: 255, A: 255}, {G: 255, A: 255}} {
			if got := m.FromP3(c); got != c {
				t.Errorf("%s: %v is sent as %v", text, c, got)
			}
		}
	}
	// The red of sRGB in Display P3 is 0.9175, 0.2003, 0.1386 (CSS Color 4, from memory).
	m := model(t, `{"managed":false}`)
	if got := m.FromP3(color.RGBA{234, 51, 35, 255}); got.R < 254 || got.G > 3 || got.B > 3 {
		t.Errorf("the red of sRGB is sent as %v", got)
	}
}

// White goes to white where the screen's differs from D65, and red keeps the chromaticity it has against the white.
func TestLightP3OtherWhite(t *testing.T) {
	m := model(t, `{"white":{"luminance":1,"xy":[0.3457,0.3585]},"black":0,"room":{"lux":0},"tone":[{"curve":"srgb"}],"primaries":"adobe","managed":true}`)
	if c := m.FromP3(color.RGBA{255, 255, 255, 255}); c != (color.RGBA{255, 255, 255, 255}) {
		t.Errorf("white is sent as %v", c)
	}
	c := color.RGBA{200, 140, 110, 255}
	want := colour.Bradford(colour.D65.XYZ(1), colour.D50.XYZ(1)).Apply(colour.DisplayP3.XYZ(signal(c)))
	if got := m.LightP3(c); !near(got.X, want.X, 0.005) || !near(got.Y, want.Y, 0.005) || !near(got.Z, want.Z, 0.005) {
		t.Errorf("%v is %v, want %v", c, got, want)
	}
}
