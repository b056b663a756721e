package patterns_test

import (
	"image"
	"testing"

	"example.org/plumb/patterns"
)

// codes is the greys of the row y of img, x from r.Min.X up to r.Max.X.
func codes(t *testing.T, img *image.RGBA, r image.Rectangle, y int) []uint8 {
	t.Helper()
	var all []uint8
	for x := r.Min.X; x < r.Max.X; x++ {
		c := img.RGBAAt(x, y)
		if c != grey(c.R) {
			t.Fatalf("(%d, %d) is %v", x, y, c)
		}
		all = append(all, c.R)
	}
	return all
}

// TestLevelsOfCoarseRamps holds the ramp from 0 to 255 against the usual integer formulas that widen 5 and 6 bits to 8, (527*l + 23)/64 and
// (259*l + 33)/64 (from memory), and against repeating the upper bit of 7 bits.
func TestLevelsOfCoarseRamps(t *testing.T) {
	widen := map[int]func(l int) int{
		5: func(l int) int { return (527*l + 23) >> 6 },
		6: func(l int) int { return (259*l + 33) >> 6 },
		7: func(l int) int { return l<<1 | l>>6 },
		8: func(l int) int { return l },
	}
	for bits := -1; bits <= 10; bits++ {
		depth := min(max(bits, 5), 8)
		for _, top := range []bool{false, true} {
			img := patterns.Render(patterns.Ramps{From: 0, To: 255, Bits: bits, CoarseTop: top, Ground: 9}, 2000, 100)
			coarse, native := patterns.RampRects(img.Rect)
			if !top {
				coarse, native = native, coarse
			}
			rough, fine := codes(t, img, coarse, coarse.Min.Y), codes(t, img, native, native.Max.Y-1)
			seen := map[uint8]bool{}
			for i, c := range rough {
				seen[c] = true
				if i > 0 && (c < rough[i-1] || fine[i] < fine[i-1] || fine[i]-fine[i-1] > 1) {
					t.Fatalf("%d bits: at %d from %d to %d, natively from %d to %d", bits, i, rough[i-1], c, fine[i-1], fine[i])
				}
				for l := range 1 << depth {
					level := widen[depth](l)
					if abs(level-int(fine[i])) < abs(int(c)-int(fine[i])) {
						t.Fatalf("%d bits: %d became %d, %d is nearer", bits, fine[i], c, level)
					}
				}
			}
			if len(seen) != 1<<depth {
				t.Errorf("%d bits: %d levels", bits, len(seen))
			}
			for l := range 1 << depth {
				if !seen[uint8(widen[depth](l))] {
					t.Errorf("%d bits: no level %d", bits, widen[depth](l))
				}
			}
			if fine[0] != 0 || fine[len(fine)-1] != 255 {
				t.Errorf("from %d to %d", fine[0], fine[len(fine)-1])
			}
		}
	}
}

// TestRampsMeetTheirEnds: both ends are there, whichever way the ramps run, and the ways are mirrors.
func TestRampsMeetTheirEnds(t *testing.T) {
	up := patterns.Render(patterns.Ramps{From: 30, To: 95, Bits: 6, Ground: 9}, 641, 100)
	down := patterns.Render(patterns.Ramps{From: 95, To: 30, Bits: 6, Ground: 9}, 641, 100)
	top, bottom := patterns.RampRects(up.Rect)
	a, b := codes(t, up, top, top.Min.Y), codes(t, down, top, top.Max.Y-1)
	if a[0] != 30 || a[len(a)-1] != 95 {
		t.Errorf("from %d to %d", a[0], a[len(a)-1])
	}
	ties := 0
	for i := range a {
		if c := b[len(b)-1-i]; c != a[i] {
			ties++
		}
	}
	if ties > 0 {
		t.Errorf("%d codes differ on the way back", ties)
	}
	if c := codes(t, up, bottom, bottom.Min.Y); c[0] != 28 || c[len(c)-1] != 93 { // levels 7 of 63 is 28.3, 23 is 93.1
		t.Errorf("coarsely from %d to %d", c[0], c[len(c)-1])
	}
}

func abs(n int) int { return max(n, -n) }
