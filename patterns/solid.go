package patterns

import "image"

// Solid is one colour all over.
type Solid struct{ R, G, B uint8 }

// Grey is the solid with all three channels at v.
func Grey(v uint8) Solid { return Solid{v, v, v} }

// Paint implements [Pattern].
func (s Solid) Paint(dst *image.RGBA, r image.Rectangle) {
	r = r.Intersect(dst.Rect)
	same(dst, r, func(y int) {
		i := dst.PixOffset(r.Min.X, y)
		fill(dst.Pix[i:i+4*r.Dx()], s.R, s.G, s.B)
	})
}
