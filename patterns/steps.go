package patterns

import "image"

// maxSteps is beyond the pixels of any side, so that no product here leaves 64 bits.
const maxSteps = 1 << 16

// GreySteps is a row of equal grey bars from one code to another, both ends included: bar k of n = Steps - 1 has the code
// (From*(n-k) + To*k)/n rounded to the nearest, halves up. Bars differ by at most a pixel in width. They run from left to right, or
// from top to bottom if Vertical. Fewer than 2 steps count as 2, more than 65536 as 65536.
type GreySteps struct {
	From, To uint8
	Steps    int
	Vertical bool
}

// Code is the code of bar k; k beyond an end is the bar at that end.
func (g GreySteps) Code(k int) uint8 {
	n := g.steps() - 1
	return between(g.From, g.To, min(max(k, 0), n), n)
}

func (g GreySteps) steps() int { return min(max(g.Steps, 2), maxSteps) }

// Paint implements [Pattern].
func (g GreySteps) Paint(dst *image.RGBA, r image.Rectangle) {
	r = r.Intersect(dst.Rect)
	if g.Vertical {
		top, h := dst.Rect.Min.Y, dst.Rect.Dy()
		down(dst, r, func(y int) uint8 { return g.at(y-top, h) })
		return
	}
	left, w := dst.Rect.Min.X, dst.Rect.Dx()
	across(dst, r, func(x int) uint8 { return g.at(x-left, w) })
}

// at is the code at pixel i of a side of n: bar k starts at pixel n*k/Steps, rounded down.
func (g GreySteps) at(i, n int) uint8 { return g.Code(((i+1)*g.steps() - 1) / n) }
