package patterns

import "image"

// Pair is two plain squares, grey or nearly so, side by side on a ground, where [Match] has them.
type Pair struct {
	Left, Right, Ground uint8
	Side                int

	// At is where the squares sit: see [MatchRectsAt].
	At int8
	// LeftTint and RightTint move the red and the blue of a square away from its grey: its colour is grey + tint[0], grey,
	// grey + tint[1], each cut to 0 to 255.
	LeftTint, RightTint [2]int8
}

// Paint implements [Pattern].
func (p Pair) Paint(dst *image.RGBA, r image.Rectangle) {
	r = r.Intersect(dst.Rect)
	left, right := MatchRectsAt(dst.Rect, p.Side, int(p.At))
	inside := func(y int) bool { return y >= left.Min.Y && y < left.Max.Y }
	rows(dst, r, func(y int) uint8 {
		if inside(y) {
			return 1
		}
		return 0
	}, func(y int) {
		run(dst, r, y, r.Min.X, r.Max.X, p.Ground)
		if inside(y) {
			colour(dst, r, y, left.Min.X, left.Max.X, tinted(p.Left, p.LeftTint[0], p.LeftTint[1]))
			colour(dst, r, y, right.Min.X, right.Max.X, tinted(p.Right, p.RightTint[0], p.RightTint[1]))
		}
	})
}
