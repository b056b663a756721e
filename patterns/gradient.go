package patterns

import "image"

// Gradient runs slowly from one code to another, both ends included and nothing dithered: pixel i of a side of n + 1 has the code
// (From*(n-i) + To*i)/n rounded to the nearest, halves up. It runs from left to right, or from top to bottom if Vertical.
// A side of one pixel has From.
type Gradient struct {
	From, To uint8
	Vertical bool
}

// Paint implements [Pattern].
func (g Gradient) Paint(dst *image.RGBA, r image.Rectangle) {
	r = r.Intersect(dst.Rect)
	if g.Vertical {
		top, n := dst.Rect.Min.Y, dst.Rect.Dy()-1
		down(dst, r, func(y int) uint8 { return between(g.From, g.To, y-top, n) })
		return
	}
	left, n := dst.Rect.Min.X, dst.Rect.Dx()-1
	across(dst, r, func(x int) uint8 { return between(g.From, g.To, x-left, n) })
}
