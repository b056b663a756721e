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
//
// All this holds for each channel by itself: green has Delta, red has Delta + Red and blue Delta + Blue.
type Field struct {
	Ground     uint8
	Rows, Cols int
	Place      int
	Delta      int8

	// Red and Blue tint the spot: at its middle the red code is moved by Red more than Delta, the blue code by Blue more.
	Red, Blue int8
	// Marks puts a small plain dot in the very middle of Place and of the middle place of the grid, Rows/2 rows down and Cols/2 columns to the
	// right, so that a viewer knows which two places are meant. A dot is a square of side 1/200 of the shorter side of the frame, rounded down
	// but at least 2 pixels and never beyond its place; it is 24 codes darker than the ground if that is above 40, else 24 lighter.
	Marks bool
}

const (
	// markShare is the part of the frame's shorter side that a mark of [Field] is wide.
	markShare = 200
	// markStep is how far a mark is from the ground, in codes, and markGround the highest ground that has lighter marks.
	markStep   = 24
	markGround = 40
)

// FieldPlace is a place of the grid of [Field] laid out over bounds, in device pixels; the places tile bounds. It is empty if the grid has no such
// place.
func FieldPlace(bounds image.Rectangle, rows, cols, place int) image.Rectangle {
	return grid(bounds, rows, cols, place)
}

// FieldSpot is where an observer looks to judge a place of [Field] laid out over bounds, in device pixels: the square in the middle of the place
// whose side is a quarter of the place's shorter side, rounded down but at least a pixel. A mark is small in its midst. It is empty
// where the place is.
func FieldSpot(bounds image.Rectangle, rows, cols, place int) image.Rectangle {
	p := FieldPlace(bounds, rows, cols, place)
	if p.Empty() {
		return image.Rectangle{}
	}
	return centred(p, max(1, min(p.Dx(), p.Dy())/4))
}

// Peak is the green code at the middle of the spot of a field laid out over bounds, that is the code of all channels of a spot without a
// tint; and Ground if there is no spot. Marks are left out.
func (f Field) Peak(bounds image.Rectangle) uint8 {
	return moved(f.Ground, steepest(FieldPlace(bounds, f.Rows, f.Cols, f.Place), int(f.Delta)))
}

// steepest is the nearest to delta that a spot in the place p may have at its middle.
func steepest(p image.Rectangle, delta int) int {
	most := max(0, min(p.Dx(), p.Dy())/4)
	return min(max(delta, -most), most)
}

// A ring is what a spot has from a distance inwards, up to the next ring.
type ring struct {
	reach  int // the greatest squared distance, in half pixels
	colour [3]uint8
}

// mostRings is for three channels, each moved by the sum of two numbers down to -128.
const mostRings = 3 * 256

// Paint implements [Pattern].
func (f Field) Paint(dst *image.RGBA, r image.Rectangle) {
	r = r.Intersect(dst.Rect)
	same(dst, r, func(y int) { run(dst, r, y, r.Min.X, r.Max.X, f.Ground) })
	f.spot(dst, r)
	if f.Marks {
		f.mark(dst, r, f.Place)
		f.mark(dst, r, f.Rows/2*f.Cols+f.Cols/2)
	}
}

// mark paints the dot of a place, if the grid has it.
func (f Field) mark(dst *image.RGBA, r image.Rectangle, place int) {
	p := FieldPlace(dst.Rect, f.Rows, f.Cols, place)
	if p.Empty() {
		return
	}
	v := f.Ground + markStep
	if f.Ground > markGround {
		v = f.Ground - markStep
	}
	dot := centred(p, max(2, min(dst.Rect.Dx(), dst.Rect.Dy())/markShare)).Intersect(p)
	for y := dot.Min.Y; y < dot.Max.Y; y++ {
		run(dst, r, y, dot.Min.X, dot.Max.X, v)
	}
}

// spot paints the spot on the bare ground.
func (f Field) spot(dst *image.RGBA, r image.Rectangle) {
	p := FieldPlace(dst.Rect, f.Rows, f.Cols, f.Place)
	delta := [3]int{int(f.Delta) + int(f.Red), int(f.Delta), int(f.Delta) + int(f.Blue)}
	for i := range delta {
		delta[i] = steepest(p, delta[i])
	}
	var all [mostRings]ring
	some := rings(&all, f.Ground, p, delta)
	if len(some) == 0 {
		return
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
		paintRings(dst, band, p.Min.X+p.Max.X-1, y, 2*y+1-p.Min.Y-p.Max.Y, some, above)
	}
}

// rings lists the rings of a spot in the place p, from the rim inwards, each reaching less far than the one before; delta is what each channel is
// moved at the middle. Lengths are in half pixels, from the middle of the place to the middle of a pixel, so that they are whole numbers.
func rings(all *[mostRings]ring, ground uint8, p image.Rectangle, delta [3]int) []ring {
	radius := uint64(min(p.Dx(), p.Dy()))
	square := radius * radius
	var top, done, next [3]int // how many rings a channel has, how many of them are listed, the reach of the next one
	reach := func(i int) int {
		if done[i] == top[i] {
			return -1
		}
		return int(square - level(square, uint64(done[i]+1), uint64(top[i])))
	}
	for i, d := range delta {
		top[i] = max(d, -d)
		next[i] = reach(i)
	}
	c := [3]uint8{ground, ground, ground}
	n := 0
	for {
		far := max(next[0], next[1], next[2])
		if far < 0 {
			return all[:n]
		}
		for i := range next {
			if next[i] != far {
				continue
			}
			done[i]++
			if delta[i] < 0 {
				c[i] = moved(ground, -done[i])
			} else {
				c[i] = moved(ground, done[i])
			}
			next[i] = reach(i)
		}
		all[n] = ring{far, c}
		n++
	}
}

// paintRings paints row y of a spot, v half pixels below its middle, ring by ring from the rim inwards, on the bare ground; or, in the upper
// half, on a copy of the row above, where each ring has only grown. mid is twice the middle column.
//
//go:noinline
func paintRings(dst *image.RGBA, band image.Rectangle, mid, y, v int, rings []ring, above bool) {
	for _, k := range rings {
		from, to := half(k.reach-v*v, mid)
		if from >= to {
			return
		}
		in, out := to, to // the part that the row above has already
		if above {
			if a, b := half(k.reach-(v-2)*(v-2), mid); a < b {
				in, out = a, b
			}
		}
		colour(dst, band, y, from, in, k.colour)
		colour(dst, band, y, out, to, k.colour)
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

// level is the least s with top*(s/square)^2 >= k - 1/2, that is 2*top*s*s >= (2k-1)*square*square, 1 <= k <= top <= 256.
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
