package patterns

import "image"

// patchShare is the side of a patch in hundredths of the frame's shorter side: two thirds of a cell, so that neighbouring patches
// stay well apart.
const patchShare = 22

// Cells is a ground in three rows of three cells, not drawn, with a square patch in the middle of one of them: for near black
// the ground is 0, for near white 255. Cell counts from 0 at the top left, row by row; any other number shows no patch.
type Cells struct {
	Ground, Patch uint8
	Cell          int
}

// CellRect is the whole of a cell of [Cells] laid out over bounds, which is what may be tapped; the nine cells tile bounds.
// It is empty for a cell that is not 0 to 8.
func CellRect(bounds image.Rectangle, cell int) image.Rectangle { return grid(bounds, 3, 3, cell) }

// CellPatch is the square of the patch of [Cells] laid out over bounds: 22 % of the shorter side of bounds, rounded down but at
// least a pixel, in the middle of its cell. It is empty where the cell is.
func CellPatch(bounds image.Rectangle, cell int) image.Rectangle {
	c := CellRect(bounds, cell)
	if c.Empty() {
		return image.Rectangle{}
	}
	return centred(c, max(1, patchShare*min(bounds.Dx(), bounds.Dy())/100))
}

// centred is the square of the given side in the middle of r.
func centred(r image.Rectangle, side int) image.Rectangle {
	x, y := r.Min.X+(r.Dx()-side)/2, r.Min.Y+(r.Dy()-side)/2
	return image.Rect(x, y, x+side, y+side)
}

// Paint implements [Pattern].
func (c Cells) Paint(dst *image.RGBA, r image.Rectangle) {
	r = r.Intersect(dst.Rect)
	p := CellPatch(dst.Rect, c.Cell)
	rows(dst, r, func(y int) uint8 {
		if y >= p.Min.Y && y < p.Max.Y {
			return 1
		}
		return 0
	}, func(y int) {
		run(dst, r, y, r.Min.X, r.Max.X, c.Ground)
		if y >= p.Min.Y && y < p.Max.Y {
			run(dst, r, y, p.Min.X, p.Max.X, c.Patch)
		}
	})
}
