package patterns

import "image"

// Match is a line match: two abutting squares, centred together on a ground, one of lines and the other of a plain grey or nearly so.
// The lines count from their square's own first row or column, so that a match looks the same wherever it stands. Side is in device pixels; a
// Side that does not fit is cut as [MatchRectsAt] says.
type Match struct {
	Lines     Mix
	Plain     uint8
	Ground    uint8
	Side      int
	PlainLeft bool

	// Red and Blue tint the plain square: its colour is Plain + Red, Plain, Plain + Blue, each cut to 0 to 255.
	Red, Blue int8
	// Channel 1, 2 or 3 leaves both squares only their red, green or blue, the other two channels being 0; the ground stays grey. Any
	// other number leaves all three.
	Channel uint8
	// At is where the squares sit: see [MatchRectsAt].
	At int8
}

// MatchRects is [MatchRectsAt] in the middle.
func MatchRects(bounds image.Rectangle, side int) (left, right image.Rectangle) {
	return MatchRectsAt(bounds, side, 0)
}

// MatchRectsAt is the two squares of the given side, in device pixels, side by side and centred together in bounds if at is 0. Below 0 their
// middle is at a sixth of the height of bounds, above 0 at five sixths, or as near as they can come without leaving bounds: each the mirror
// of the other. A side for which bounds have no room is cut to the greatest that fits; below 0 it counts as 0.
func MatchRectsAt(bounds image.Rectangle, side, at int) (left, right image.Rectangle) {
	side = max(0, min(side, bounds.Dx()/2, bounds.Dy()))
	x, y := bounds.Min.X+bounds.Dx()/2, bounds.Min.Y+(bounds.Dy()-side)/2
	margin := max(0, (bounds.Dy()-3*side)/6)
	switch {
	case at < 0:
		y = bounds.Min.Y + margin
	case at > 0:
		y = bounds.Max.Y - margin - side
	}
	return image.Rect(x-side, y, x, y+side), image.Rect(x, y, x+side, y+side)
}

const (
	// lineShare and lineDegrees bound a patch of fine lines, because stripes disturb some people: at most a tenth of
	// the frame, and 8 degrees a side. The project's own rule, on the side of caution; no standard's wording.
	lineShare   = 10
	lineDegrees = 8
	// period is the least multiple of the periods 2, 3, 4 and 8, so that a square holds each of them whole.
	period = 24
	// leastSide is the least side that is of use.
	leastSide = 2 * period
)

// MatchSide is the greatest side in device pixels for a [Match] laid out over bounds: a multiple of 24, of which both squares fit, the lines
// at most a tenth of the area of bounds and at most 8 degrees of visual angle a side. degree is the number of device pixels to a degree;
// 0, or what is no number above 0, is unknown and leaves the rule on angles out. The side is 0 if not even 48 is allowed.
func MatchSide(bounds image.Rectangle, degree float64) int {
	if bounds.Empty() {
		return 0
	}
	side := min(bounds.Dx()/2, bounds.Dy(), root(bounds.Dx()*bounds.Dy()/lineShare))
	if widest := lineDegrees * degree; degree > 0 && widest < float64(side) {
		side = int(widest)
	}
	if side < leastSide {
		return 0
	}
	return side / period * period
}

// Paint implements [Pattern].
func (m Match) Paint(dst *image.RGBA, r image.Rectangle) {
	r = r.Intersect(dst.Rect)
	lines, plain := MatchRectsAt(dst.Rect, m.Side, int(m.At))
	if m.PlainLeft {
		lines, plain = plain, lines
	}
	flat := only(tinted(m.Plain, m.Red, m.Blue), m.Channel)
	inside := func(y int) bool { return y >= lines.Min.Y && y < lines.Max.Y }
	rows(dst, r, func(y int) uint8 {
		switch {
		case !inside(y):
			return 0
		case !m.Lines.Columns && m.Lines.lit(y-lines.Min.Y):
			return 2
		}
		return 1
	}, func(y int) {
		run(dst, r, y, r.Min.X, r.Max.X, m.Ground)
		if !inside(y) {
			return
		}
		colour(dst, r, y, plain.Min.X, plain.Max.X, flat)
		if m.Lines.Columns {
			m.Lines.columns(dst, r.Intersect(lines), y, lines.Min.X, m.Channel)
		} else {
			v := m.Lines.At(y - lines.Min.Y)
			colour(dst, r, y, lines.Min.X, lines.Max.X, only([3]uint8{v, v, v}, m.Channel))
		}
	})
}
