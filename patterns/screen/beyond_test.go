package screen_test

import (
	"math"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/patterns/screen"
)

func p3(c colour.RGB) (r, g, b uint8) {
	code := func(v float64) uint8 { return uint8(math.Round(255 * min(max(v, 0), 1))) }
	return code(c.R), code(c.G), code(c.B)
}

// A colour that is mixed of a primary of sRGB and that of Display P3 lies as far out as the light it has of the latter, within what rounding can move it.
func TestBeyondIsTheShareOfLight(t *testing.T) {
	for name, pure := range map[string]colour.RGB{"red": {R: 1}, "green": {G: 1}} {
		near := colour.DisplayP3.Light(colour.DisplayP3.RGB(colour.SRGB.XYZ(pure)))
		last := -1.0
		for i := range 11 {
			share := float64(i) / 10
			mixed := colour.RGB{
				R: (1-share)*near.R + share*pure.R, G: (1-share)*near.G + share*pure.G, B: (1-share)*near.B + share*pure.B,
			}
			got := screen.Beyond(p3(colour.DisplayP3.Signal(mixed)))
			if math.Abs(got-share) > 0.12 || got < last {
				t.Errorf("%s, %.1f: %.3f", name, share, got)
			}
			last = got
		}
		if got := screen.Beyond(p3(pure)); got < 0.9 {
			t.Errorf("%s of Display P3: %.3f", name, got)
		}
	}
}

// What sRGB holds is not beyond it, however its codes in Display P3 are rounded.
func TestNothingOfSRGBIsBeyond(t *testing.T) {
	n := 0
	for r := 0; r < 256; r += 15 {
		for g := 0; g < 256; g += 15 {
			for b := 0; b < 256; b += 15 {
				c := colour.DisplayP3.RGB(colour.SRGB.XYZ(colour.RGB{R: float64(r) / 255, G: float64(g) / 255, B: float64(b) / 255}))
				if got := screen.Beyond(p3(c)); got != 0 {
					t.Errorf("%d, %d, %d: %.4f", r, g, b, got)
				}
				n++
			}
		}
	}
	if n != 18*18*18 {
		t.Errorf("%d colours", n)
	}
}

func BenchmarkBeyond(b *testing.B) {
	for i := 0; b.Loop(); i++ {
		screen.Beyond(uint8(i), 255, 0)
	}
}
