package patterns_test

import (
	"image/color"
	"testing"

	"example.org/plumb/patterns"
)

// TestTintsOfMatches has by hand what the four kinds of pixel are: plain, dark line, lit line, ground.
func TestTintsOfMatches(t *testing.T) {
	for _, c := range []struct {
		red, blue int8
		channel   uint8
		plain     color.RGBA
		dark, lit color.RGBA
	}{
		{0, 0, 0, color.RGBA{188, 188, 188, 255}, color.RGBA{8, 8, 8, 255}, color.RGBA{248, 248, 248, 255}},
		{7, -3, 0, color.RGBA{195, 188, 185, 255}, color.RGBA{8, 8, 8, 255}, color.RGBA{248, 248, 248, 255}},
		{127, -128, 0, color.RGBA{255, 188, 60, 255}, color.RGBA{8, 8, 8, 255}, color.RGBA{248, 248, 248, 255}},
		{7, -3, 1, color.RGBA{195, 0, 0, 255}, color.RGBA{8, 0, 0, 255}, color.RGBA{248, 0, 0, 255}},
		{7, -3, 2, color.RGBA{0, 188, 0, 255}, color.RGBA{0, 8, 0, 255}, color.RGBA{0, 248, 0, 255}},
		{7, -3, 3, color.RGBA{0, 0, 185, 255}, color.RGBA{0, 0, 8, 255}, color.RGBA{0, 0, 248, 255}},
		{7, -3, 4, color.RGBA{195, 188, 185, 255}, color.RGBA{8, 8, 8, 255}, color.RGBA{248, 248, 248, 255}},
	} {
		for _, columns := range []bool{false, true} {
			m := patterns.Match{
				Lines: patterns.Mix{A: 8, B: 248, Lit: 1, Of: 2, Columns: columns}, Plain: 188, Ground: 119, Side: 20,
				PlainLeft: true, Red: c.red, Blue: c.blue, Channel: c.channel,
			}
			got := map[color.RGBA]int{}
			img := patterns.Render(m, 60, 40)
			for i := range 60 * 40 {
				got[img.RGBAAt(i%60, i/60)]++
			}
			for want, n := range map[color.RGBA]int{c.plain: 400, c.dark: 200, c.lit: 200, grey(119): 1600} {
				if got[want] != n {
					t.Errorf("%+v: %d pixels are %v, want %d", m, got[want], want, n)
				}
			}
			if at := img.RGBAAt(15, 20); at != c.plain {
				t.Errorf("%+v: the plain side is %v", m, at)
			}
		}
	}
}

func TestTintsOfPairs(t *testing.T) {
	p := patterns.Pair{Left: 100, Right: 250, Ground: 119, Side: 20, LeftTint: [2]int8{9, -4}, RightTint: [2]int8{-50, 6}}
	img := patterns.Render(p, 60, 40)
	if got, want := img.RGBAAt(15, 20), (color.RGBA{109, 100, 96, 255}); got != want {
		t.Errorf("left is %v, want %v", got, want)
	}
	if got, want := img.RGBAAt(45, 20), (color.RGBA{200, 250, 255, 255}); got != want {
		t.Errorf("right is %v, want %v", got, want)
	}
	if got := img.RGBAAt(2, 2); got != grey(119) {
		t.Errorf("the ground is %v", got)
	}
}
