package patterns

import "image"

// maxPeriod is beyond the lines of any frame, so that no product here leaves 64 bits.
const maxPeriod = 1 << 30

// Mix is lines one device pixel thick, which an eye far enough away sees as one grey: of every Of lines Lit have the code B and the others
// A, spread as evenly as whole lines can be. The lines are rows, counted from the top; or columns, counted from the left, if Columns.
// Of below 1 counts as 1 and above 2^30 as 2^30, Lit below 0 as 0 and above Of as Of.
//
// Fine stripes disturb some people: what a viewer looks at is a [Match], whose lines fill no more than [MatchSide] allows.
type Mix struct {
	A, B    uint8
	Lit, Of int
	Columns bool
}

// At is the code of line i; i may be negative.
func (m Mix) At(i int) uint8 {
	if m.lit(i) {
		return m.B
	}
	return m.A
}

// lit tells whether line i has B: Lit*i/Of, rounded down, has just grown (Bresenham 1965, "Algorithm for computer control of a
// digital plotter").
func (m Mix) lit(i int) bool {
	of := m.period()
	lit := min(max(m.Lit, 0), of)
	i %= of
	if i < 0 {
		i += of
	}
	return (i+1)*lit/of > i*lit/of
}

func (m Mix) period() int { return min(max(m.Of, 1), maxPeriod) }

// Paint implements [Pattern].
func (m Mix) Paint(dst *image.RGBA, r image.Rectangle) {
	r = r.Intersect(dst.Rect)
	if m.Columns {
		same(dst, r, func(y int) { m.columns(dst, r, y, dst.Rect.Min.X, 0) })
		return
	}
	top := dst.Rect.Min.Y
	down(dst, r, func(y int) uint8 { return m.At(y - top) })
}

// columns sets row y of r, which must lie inside dst.Rect, to lines that count from column first, lit in one channel
// as [only] says: one period, and then copies of it.
func (m Mix) columns(dst *image.RGBA, r image.Rectangle, y, first int, channel uint8) {
	if r.Empty() {
		return
	}
	n := min(m.period(), r.Dx())
	columns(dst, image.Rect(r.Min.X, y, r.Min.X+n, y+1), y, func(x int) uint8 { return m.At(x - first) })
	i := dst.PixOffset(r.Min.X, y)
	pix := dst.Pix[i : i+4*r.Dx()]
	if channel != 0 {
		for i := 0; i < 4*n; i += 4 {
			c := only([3]uint8(pix[i:i+3]), channel)
			copy(pix[i:], c[:])
		}
	}
	for n *= 4; n < len(pix); n *= 2 {
		copy(pix[n:], pix[:n])
	}
}
