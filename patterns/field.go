package patterns

import (
	"image"
	"math"
	"math/bits"
)

// Field is a bare flat ground with, in the middle of one place of a grid that is not drawn, a soft spot: Delta codes up (or down, below
// 0) at its middle, falling to nothing at the circle that touches the place's nearer sides. At the distance d from the middle of a spot of
// radius R the ground is raised by Delta*(1 - d*d/(R*R))^2 codes, rounded to the nearest: level at the middle and at the rim. Place
// counts from 0 at the top left, row by row; a number outside the grid shows no spot.
//
// Neighbouring pixels differ by one code at most: to keep that so in a small frame, Delta is cut to half the radius in pixels. A spot beyond
// code 0 or 255 is cut flat there. [Field.Peak] tells what is drawn.
type Field struct {
	Ground     uint8
	Rows, Cols int
	Place      int
	Delta      int8
}

// FieldPlace is a place of the grid of [Field] laid out over bounds; the places tile bounds. It is empty if the grid has no such place.
func FieldPlace(bounds image.Rectangle, rows, cols, place int) image.Rectangle {
	return grid(bounds, rows, cols, place)
}

// Peak is the code at the middle of the spot of a field laid out over bounds, and Ground if there is no spot.
func (f Field) Peak(bounds image.Rectangle) uint8 {
	_, top := f.spot(bounds)
	return f.code(top)
}

// spot is the place of the spot and its height in codes, without sign.
func (f Field) spot(bounds image.Rectangle) (image.Rectangle, int) {
	p := FieldPlace(bounds, f.Rows, f.Cols, f.Place)
	top := int(f.Delta)
	if top < 0 {
		top = -top
	}
	return p, min(top, min(p.Dx(), p.Dy())/4)
}

// code is the ground moved by k codes in the direction of Delta.
func (f Field) code(k int) uint8 {
	if f.Delta < 0 {
		k = -k
	}
	return uint8(min(max(int(f.Ground)+k, 0), 255))
}

// Paint implements [Pattern].
func (f Field) Paint(dst *image.RGBA, r image.Rectangle) {
	r = r.Intersect(dst.Rect)
	same(dst, r, func(y int) { run(dst, r, y, r.Min.X, r.Max.X, f.Ground) })
	p, top := f.spot(dst.Rect)
	if top == 0 {
		return
	}
	// Lengths from here on are in half pixels, from the middle of the place to the middle of a pixel, so that they are whole numbers.
	radius := min(p.Dx(), p.Dy())
	square := uint64(radius) * uint64(radius)
	var reach [129]int // the greatest squared distance at which the spot is k codes high
	for k := 1; k <= top; k++ {
		reach[k] = int(square - level(square, uint64(k), uint64(top)))
	}
	band := r.Intersect(p)
	for y := band.Min.Y; y < band.Max.Y; y++ {
		above := y > band.Min.Y
		if mirror := p.Min.Y + p.Max.Y - 1 - y; mirror < y {
			if above = false; mirror >= band.Min.Y {
				copyRow(dst, band, y, mirror)
				continue
			}
		} else if above {
			copyRow(dst, band, y, y-1)
		}
		f.rings(dst, band, p, y, reach[:top+1], above)
	}
}

// rings paints row y of the spot, ring by ring from the rim inwards, on the bare ground; or, in the upper half, on a copy of the row above,
// where each ring has only grown.
//
//go:noinline
func (f Field) rings(dst *image.RGBA, band, p image.Rectangle, y int, reach []int, above bool) {
	mid := p.Min.X + p.Max.X - 1
	v := 2*y + 1 - p.Min.Y - p.Max.Y
	for k := 1; k < len(reach); k++ {
		from, to := half(reach[k]-v*v, mid)
		if from >= to {
			return
		}
		in, out := to, to // the part that the row above has already
		if above {
			if a, b := half(reach[k]-(v-2)*(v-2), mid); a < b {
				in, out = a, b
			}
		}
		c := f.code(k)
		run(dst, band, y, from, in, c)
		run(dst, band, y, out, to, c)
	}
}

// half is the run of columns x with (2x - mid)^2 <= n, empty if there are none.
func half(n, mid int) (from, to int) {
	if n < 0 {
		return 0, 0
	}
	m := root(n)
	return (mid - m + 1) >> 1, (mid+m)>>1 + 1
}

// root is the square root of n, rounded down.
func root(n int) int {
	m := int(math.Sqrt(float64(n)))
	for m*m > n {
		m--
	}
	for (m+1)*(m+1) <= n {
		m++
	}
	return m
}

// level is the least s with top*(s/square)^2 >= k - 1/2, that is 2*top*s*s >= (2k-1)*square*square, 1 <= k <= top <= 128.
// square is below 2^32: a place of 65536 pixels a side holds no frame.
func level(square, k, top uint64) uint64 {
	high, low := bits.Mul64(square*square, 2*k-1)
	lo, hi := uint64(0), square // hi always reaches the level
	for lo < hi {
		s := lo + (hi-lo)/2
		if h, l := bits.Mul64(s*s, 2*top); h > high || h == high && l >= low {
			hi = s
		} else {
			lo = s + 1
		}
	}
	return lo
}
