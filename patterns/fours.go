package patterns

import "image"

// foursShare is the side of a square of [Fours] in hundredths of the frame's shorter side. Four of them fill a fifth of a square frame and less of any
// other: strong colour on a large area disturbs some people.
const foursShare = 22

// Fours is four equal squares in two rows of two on a ground, each filled with Base; one of them holds a mark like the letter H in the colour
// Mark. Cell counts from 0 at the top left, row by row; with any other number no square is marked. Colours are red, green, blue.
type Fours struct {
	Ground     uint8
	Base, Mark [3]uint8
	Cell       int
}

// FoursRect is a square of [Fours] laid out over bounds, in device pixels: its side is 22 % of the shorter side of bounds, rounded down, with half a
// side, rounded down but at least a pixel, between neighbours; the four are centred together in bounds. It is empty for a cell that
// is not 0 to 3, and where bounds are too small.
func FoursRect(bounds image.Rectangle, cell int) image.Rectangle {
	side := foursSide(bounds)
	if side == 0 || cell < 0 || cell > 3 {
		return image.Rectangle{}
	}
	step := side + max(1, side/2)
	all := centred(bounds, side+step)
	x, y := all.Min.X+cell%2*step, all.Min.Y+cell/2*step
	return image.Rect(x, y, x+side, y+side)
}

// FoursMark is the square that the mark of [Fours] fills, in device pixels, in the middle of the square of its cell and about half as wide: five
// strokes, a stroke being a tenth of that square's side, rounded to the nearest but at least a pixel. Both legs are a stroke wide and five
// high, the bar between them is a stroke high. It is cut to its square, and empty where that is.
func FoursMark(bounds image.Rectangle, cell int) image.Rectangle {
	r := FoursRect(bounds, cell)
	if r.Empty() {
		return r
	}
	return centred(r, 5*foursStroke(r.Dx())).Intersect(r)
}

func foursSide(bounds image.Rectangle) int {
	if bounds.Empty() {
		return 0
	}
	return foursShare * min(bounds.Dx(), bounds.Dy()) / 100
}

func foursStroke(side int) int { return max(1, (side+5)/10) }

// Paint implements [Pattern].
func (f Fours) Paint(dst *image.RGBA, r image.Rectangle) {
	r = r.Intersect(dst.Rect)
	first, last := FoursRect(dst.Rect, 0), FoursRect(dst.Rect, 3)
	square := FoursRect(dst.Rect, f.Cell)
	stroke := foursStroke(square.Dx())
	mark := centred(square, 5*stroke)
	bar := mark.Inset(2 * stroke)
	band := r.Intersect(square)
	key := func(y int) uint8 {
		switch {
		case y >= band.Min.Y && y < band.Max.Y && y >= bar.Min.Y && y < bar.Max.Y:
			return 3
		case y >= band.Min.Y && y < band.Max.Y && y >= mark.Min.Y && y < mark.Max.Y:
			return 2
		case y >= first.Min.Y && y < first.Max.Y || y >= last.Min.Y && y < last.Max.Y:
			return 1
		}
		return 0
	}
	rows(dst, r, key, func(y int) {
		run(dst, r, y, r.Min.X, r.Max.X, f.Ground)
		k := key(y)
		if k >= 1 {
			colour(dst, r, y, first.Min.X, first.Max.X, f.Base)
			colour(dst, r, y, last.Min.X, last.Max.X, f.Base)
		}
		switch k {
		case 2:
			colour(dst, band, y, mark.Min.X, mark.Min.X+stroke, f.Mark)
			colour(dst, band, y, mark.Max.X-stroke, mark.Max.X, f.Mark)
		case 3:
			colour(dst, band, y, mark.Min.X, mark.Max.X, f.Mark)
		}
	})
}
