package patterns

import "image"

const (
	// rampWidth is in hundredths of the frame's width, rampHeight and rampGap are in hundredths of its height.
	rampWidth  = 90
	rampHeight = 30
	rampGap    = 10
	// leastBits and mostBits are the depths that a coarse ramp can have.
	leastBits = 5
	mostBits  = 8
)

// Ramps is two wide ramps one above the other on a ground, both running slowly from the code From at the left to To at the right, both ends
// included and nothing dithered. One is native: pixel i of n + 1 has the code (From*(n-i) + To*i)/n rounded to the nearest, halves up. The
// other is coarse: each code of the native one is replaced by the nearest of the 2^Bits levels that stand equally far apart from 0 to 255,
// those levels themselves being rounded to whole codes. There are no ties in either rounding. Bits below 5 counts as 5 and above 8 as 8, where both
// ramps are equal.
type Ramps struct {
	From, To  uint8
	Bits      int
	CoarseTop bool
	Ground    uint8
}

// RampRects is the two ramps of [Ramps] laid out over bounds, in device pixels: each 90 % of the width and 30 % of the height of bounds, 10 %
// of the height between them, every length rounded down, and both centred together. They are empty where bounds are too small.
func RampRects(bounds image.Rectangle) (top, bottom image.Rectangle) {
	if bounds.Empty() {
		return image.Rectangle{}, image.Rectangle{}
	}
	w, h, gap := rampWidth*bounds.Dx()/100, rampHeight*bounds.Dy()/100, rampGap*bounds.Dy()/100
	x, y := bounds.Min.X+(bounds.Dx()-w)/2, bounds.Min.Y+(bounds.Dy()-2*h-gap)/2
	if w == 0 || h == 0 {
		return image.Rectangle{}, image.Rectangle{}
	}
	top = image.Rect(x, y, x+w, y+h)
	return top, top.Add(image.Pt(0, h+gap))
}

// coarse is the nearest to a code of the levels of so many bits.
func coarse(code uint8, bits int) uint8 {
	last := 1<<min(max(bits, leastBits), mostBits) - 1
	level := (2*int(code)*last + 255) / (2 * 255)
	return uint8((2*level*255 + last) / (2 * last))
}

// Paint implements [Pattern].
func (p Ramps) Paint(dst *image.RGBA, r image.Rectangle) {
	r = r.Intersect(dst.Rect)
	native, rough := RampRects(dst.Rect)
	if p.CoarseTop {
		native, rough = rough, native
	}
	var levels [256]uint8
	for c := range levels {
		levels[c] = coarse(uint8(c), p.Bits)
	}
	key := func(y int) uint8 {
		switch {
		case y >= native.Min.Y && y < native.Max.Y:
			return 1
		case y >= rough.Min.Y && y < rough.Max.Y:
			return 2
		}
		return 0
	}
	rows(dst, r, key, func(y int) {
		run(dst, r, y, r.Min.X, r.Max.X, p.Ground)
		left, n := native.Min.X, native.Dx()-1
		switch key(y) {
		case 1:
			columns(dst, r.Intersect(native), y, func(x int) uint8 { return between(p.From, p.To, x-left, n) })
		case 2:
			columns(dst, r.Intersect(rough), y, func(x int) uint8 { return levels[between(p.From, p.To, x-left, n)] })
		}
	})
}
