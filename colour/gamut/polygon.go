package gamut

import (
	"math"

	"example.org/plumb/colour"
)

// A Polygon is a convex area of the diagram u', v' by its corners in either order round it.
type Polygon []colour.UV

// Triangle returns the chromaticities that a space's primaries make.
func Triangle(s *colour.Space) Polygon {
	m := s.Matrix()
	var p Polygon
	for j := range 3 {
		p = append(p, colour.XYZ{X: m[0][j], Y: m[1][j], Z: m[2][j]}.UV())
	}
	return p
}

// Area returns the area, 0 or more.
func (p Polygon) Area() float64 { return math.Abs(p.turn()) / 2 }

// turn is twice the area, below 0 for corners that run clockwise.
func (p Polygon) turn() float64 {
	var sum float64
	for i, a := range p {
		b := p[(i+1)%len(p)]
		sum += float64(a.U*b.V) - float64(a.V*b.U)
	}
	return sum
}

// Common returns what lies in both (Sutherland and Hodgman, "Reentrant polygon clipping", Communications of the ACM 17, 1974). It is empty when
// nothing does.
func (p Polygon) Common(q Polygon) Polygon {
	turn := q.turn()
	if turn == 0 || len(q) < 3 || len(p) < 3 {
		return nil
	}
	for i, a := range q {
		b := q[(i+1)%len(q)]
		inside := func(c colour.UV) float64 {
			return math.Copysign(1, turn) * (float64((b.U-a.U)*(c.V-a.V)) - float64((b.V-a.V)*(c.U-a.U)))
		}
		var kept Polygon
		for j, c := range p {
			d := p[(j+1)%len(p)]
			s, t := inside(c), inside(d)
			if s >= 0 {
				kept = append(kept, c)
			}
			if (s > 0 && t < 0) || (s < 0 && t > 0) {
				k := s / (s - t)
				kept = append(kept, colour.UV{U: c.U + float64(k*(d.U-c.U)), V: c.V + float64(k*(d.V-c.V))})
			}
		}
		p = kept
	}
	return p
}

// ByArea compares two areas of chromaticities.
func ByArea(own, reference Polygon) Cover {
	return cover(own.Area(), reference.Area(), own.Common(reference).Area())
}
