// Package patterns paints still test patterns as code values, the same bytes on every platform.
//
// A pattern knows no colour, no screen and no viewer: what light a code makes, and what an eye sees of it, belongs to other packages.
// It works in integers, 8 bits a channel; every pixel it sets is opaque.
package patterns

import "image"

// A Pattern paints a still image.
//
// Paint sets every pixel of dst inside r, and no other, to an opaque code value.
// The image is laid out over dst.Rect, so painting it in bands gives the bytes that painting it at once gives.
// The part of r outside dst.Rect is left out; an empty rectangle paints nothing.
// Equal patterns paint equal bytes on every platform: Paint may not use floating point beyond +, -, *, / and Sqrt.
// Fields out of range are drawn as the nearest thing in range, as each type says.
type Pattern interface {
	Paint(dst *image.RGBA, r image.Rectangle)
}

// Render paints p at the given size in pixels, laid out from (0, 0). A negative size counts as 0.
func Render(p Pattern, width, height int) *image.RGBA {
	dst := image.NewRGBA(image.Rectangle{Max: image.Point{X: max(width, 0), Y: max(height, 0)}})
	p.Paint(dst, dst.Rect)
	return dst
}
