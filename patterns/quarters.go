package patterns

import "image"

// quartersShare is the side of the square of [Quarters] in hundredths of the frame's shorter side: large enough that a step of one code has
// a long border, small enough that the ground frames it on all sides.
const quartersShare = 72

// Quarters is a square on a ground, cut in four quadrants that abut without a line between: one has the code Patch, the others Base. Cell
// counts from 0 at the top left, row by row; with any other number no quadrant differs.
type Quarters struct {
	Ground, Base, Patch uint8
	Cell                int
}

// QuarterRect is a quadrant of [Quarters] laid out over bounds, in device pixels. The four quadrants are equal squares and tile the square in
// the middle of bounds whose side is 72 % of the shorter side of bounds, rounded down to an even number. It is empty for a
// cell that is not 0 to 3, and where bounds are too small.
func QuarterRect(bounds image.Rectangle, cell int) image.Rectangle {
	return grid(quarters(bounds), 2, 2, cell)
}

// quarters is the square of all four quadrants.
func quarters(bounds image.Rectangle) image.Rectangle {
	if bounds.Empty() {
		return image.Rectangle{}
	}
	return centred(bounds, quartersShare*min(bounds.Dx(), bounds.Dy())/200*2)
}

// Paint implements [Pattern].
func (q Quarters) Paint(dst *image.RGBA, r image.Rectangle) {
	r = r.Intersect(dst.Rect)
	all, patch := quarters(dst.Rect), QuarterRect(dst.Rect, q.Cell)
	key := func(y int) uint8 {
		switch {
		case y >= patch.Min.Y && y < patch.Max.Y:
			return 2
		case y >= all.Min.Y && y < all.Max.Y:
			return 1
		}
		return 0
	}
	rows(dst, r, key, func(y int) {
		run(dst, r, y, r.Min.X, r.Max.X, q.Ground)
		k := key(y)
		if k >= 1 {
			run(dst, r, y, all.Min.X, all.Max.X, q.Base)
		}
		if k == 2 {
			run(dst, r, y, patch.Min.X, patch.Max.X, q.Patch)
		}
	})
}
