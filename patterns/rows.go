package patterns

import "image"

// rows paints the rows of r, which must lie inside dst.Rect. Rows of equal key are equal over r: paint is called for the first of each,
// the others are copied from the latest, which is still in the cache.
func rows(dst *image.RGBA, r image.Rectangle, key func(y int) uint8, paint func(y int)) {
	if r.Empty() {
		return
	}
	var latest [256]struct {
		y    int
		have bool
	}
	for y := r.Min.Y; y < r.Max.Y; y++ {
		l := &latest[key(y)]
		if l.have {
			copyRow(dst, r, y, l.y)
		} else {
			paint(y)
		}
		l.y, l.have = y, true
	}
}

// same paints rows that are all equal.
func same(dst *image.RGBA, r image.Rectangle, paint func(y int)) {
	rows(dst, r, func(int) uint8 { return 0 }, paint)
}

func copyRow(dst *image.RGBA, r image.Rectangle, to, from int) {
	n := 4 * r.Dx()
	t, f := dst.PixOffset(r.Min.X, to), dst.PixOffset(r.Min.X, from)
	copy(dst.Pix[t:t+n], dst.Pix[f:f+n])
}

// run sets the pixels of row y from x0 up to x1, as far as they lie inside r, to the grey v.
func run(dst *image.RGBA, r image.Rectangle, y, x0, x1 int, v uint8) {
	colour(dst, r, y, x0, x1, [3]uint8{v, v, v})
}

// colour sets the pixels of row y from x0 up to x1, as far as they lie inside r, to c: red, green, blue.
func colour(dst *image.RGBA, r image.Rectangle, y, x0, x1 int, c [3]uint8) {
	x0, x1 = max(x0, r.Min.X), min(x1, r.Max.X)
	if x0 >= x1 || y < r.Min.Y || y >= r.Max.Y {
		return
	}
	i := dst.PixOffset(x0, y)
	fill(dst.Pix[i:i+4*(x1-x0)], c[0], c[1], c[2])
}

// fill sets pix, whole pixels and at least one, to one opaque colour. It doubles what it has, because copy is one instruction
// in WebAssembly and a loop over pixels is not; it is its own function because a browser swaps in its optimised code at a call,
// not in the middle of a loop.
//
//go:noinline
func fill(pix []uint8, r, g, b uint8) {
	pix[0], pix[1], pix[2], pix[3] = r, g, b, 255
	for n := 4; n < len(pix); n *= 2 {
		copy(pix[n:], pix[:n])
	}
}

// across paints the columns of r: column x has the grey at(x).
func across(dst *image.RGBA, r image.Rectangle, at func(x int) uint8) {
	same(dst, r, func(y int) { columns(dst, r, y, at) })
}

// columns sets row y of r, column x to the grey at(x), a run of equal greys at a time.
//
//go:noinline
func columns(dst *image.RGBA, r image.Rectangle, y int, at func(x int) uint8) {
	for x := r.Min.X; x < r.Max.X; {
		from, v := x, at(x)
		for x++; x < r.Max.X && at(x) == v; x++ {
		}
		run(dst, r, y, from, x, v)
	}
}

// down paints the rows of r: row y has the grey at(y).
func down(dst *image.RGBA, r image.Rectangle, at func(y int) uint8) {
	rows(dst, r, at, func(y int) { run(dst, r, y, r.Min.X, r.Max.X, at(y)) })
}

// between is the code k of n steps on the way from one code to another, 0 <= k <= n, rounded to the nearest with halves up, so that
// the way back has the same codes. n = 0 is the first code.
func between(from, to uint8, k, n int) uint8 {
	if n <= 0 {
		return from
	}
	return uint8((2*(int(from)*(n-k)+int(to)*k) + n) / (2 * n))
}

// grid is place i of a grid of rows by columns that divides bounds, row by row from the top left; sides differ by at most a pixel.
// It is empty where there is no such place.
func grid(bounds image.Rectangle, rows, cols, i int) image.Rectangle {
	if rows < 1 || cols < 1 || i < 0 || i/cols >= rows || bounds.Empty() {
		return image.Rectangle{}
	}
	y, x := i/cols, i%cols
	w, h := bounds.Dx(), bounds.Dy()
	return image.Rect(w*x/cols, h*y/rows, w*(x+1)/cols, h*(y+1)/rows).Add(bounds.Min)
}
