package patterns

import "image"

// Pair is two plain squares side by side on a ground, where [Match] has them.
type Pair struct {
	Left, Right, Ground uint8
	Side                int
}

// Paint implements [Pattern].
func (p Pair) Paint(dst *image.RGBA, r image.Rectangle) {
	r = r.Intersect(dst.Rect)
	left, right := MatchRects(dst.Rect, p.Side)
	inside := func(y int) bool { return y >= left.Min.Y && y < left.Max.Y }
	rows(dst, r, func(y int) uint8 {
		if inside(y) {
			return 1
		}
		return 0
	}, func(y int) {
		run(dst, r, y, r.Min.X, r.Max.X, p.Ground)
		if inside(y) {
			run(dst, r, y, left.Min.X, left.Max.X, p.Left)
			run(dst, r, y, right.Min.X, right.Max.X, p.Right)
		}
	})
}
