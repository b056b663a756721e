package gamut

import (
	"cmp"
	"fmt"
	"math"

	"example.org/plumb/colour"
)

// A Solid is the body of L*a*b* values that a device of three channels makes, by its surface. Make it with NewSolid or OfSpace; the zero value is empty.
type Solid struct {
	lines []line // in order of their places
	size  float64
}

// A line along L* through a place of a grid over a*, b* is inside the body in some intervals.
type line struct {
	at     [2]int
	inside []interval
}

func order(p, q [2]int) int { return cmp.Or(cmp.Compare(p[0], q[0]), cmp.Compare(p[1], q[1])) }

type interval struct{ from, to float64 }

const (
	facets = 32  // along each edge of the cube of signals
	pace   = 1.0 // between lines, in a* and b*
	shift  = 0.4142135623730951
	// What is farther than this in a* or b* is no colour that a profile can mean, and would make the grid large.
	farthest = 400
	// Places to look at, over all triangles. Spaces as wide as all colours need 400 000; a table of noise would need thousands of millions.
	folds = 1.5e6
)

// NewSolid samples the six faces of the cube of signals, 33 by 33 on each, and takes the surface as flat between the samples. lab gives L*a*b* of
// signals in [0,1]; for volumes to be compared all must be against one white. It is an error when a value is not finite or farther than 400 from grey.
func NewSolid(lab func(colour.RGB) (colour.Lab, error)) (*Solid, error) {
	found := map[[2]int][]crossing{}
	work := 0
	for axis := range 3 {
		for side := range 2 {
			var p [facets + 1][facets + 1]colour.Lab
			for i := range p {
				for j := range p[i] {
					var s [3]float64
					s[axis], s[(axis+1)%3], s[(axis+2)%3] = float64(side), float64(i)/facets, float64(j)/facets
					c, err := lab(colour.RGB{R: s[0], G: s[1], B: s[2]})
					if err != nil {
						return nil, fmt.Errorf("gamut: %w", err)
					}
					if !(math.Abs(c.A) <= farthest && math.Abs(c.B) <= farthest && math.Abs(c.L) <= farthest) {
						return nil, fmt.Errorf("gamut: signal %v gives L* %.4g, a* %.4g, b* %.4g, which is no colour of a device", s, c.L, c.A, c.B)
					}
					p[i][j] = c
				}
			}
			for i := range facets {
				for j := range facets {
					a, b, c, d := p[i][j], p[i+1][j], p[i+1][j+1], p[i][j+1]
					if side == 0 { // seen from outside, the other way round
						b, d = d, b
					}
					if work += cross(found, a, b, c) + cross(found, a, c, d); work > folds {
						return nil, fmt.Errorf("gamut: the surface folds over itself too often for the colours of a device")
					}
				}
			}
		}
	}
	s := &Solid{lines: make([]line, 0, len(found))}
	// In order of place, for sums to come out alike each time.
	low, high := [2]int{farthest, farthest}, [2]int{-farthest, -farthest}
	for at := range found {
		for i := range 2 {
			low[i], high[i] = min(low[i], at[i]), max(high[i], at[i])
		}
	}
	for i := low[0]; i <= high[0]; i++ {
		for j := low[1]; j <= high[1]; j++ {
			all := found[[2]int{i, j}]
			// There are two as a rule.
			for m := 1; m < len(all); m++ {
				for n := m; n > 0 && all[n].l < all[n-1].l; n-- {
					all[n], all[n-1] = all[n-1], all[n]
				}
			}
			var inside []interval
			winding, from := 0, 0.0
			for _, c := range all {
				if winding == 0 {
					from = c.l
				}
				if winding += c.sign; winding == 0 {
					inside = append(inside, interval{from, c.l})
				}
			}
			if winding == 0 && len(inside) > 0 {
				s.lines = append(s.lines, line{[2]int{i, j}, inside})
			}
		}
	}
	for _, l := range s.lines {
		for _, v := range l.inside {
			s.size += v.to - v.from
		}
	}
	s.size *= pace * pace
	return s, nil
}

// OfSpace returns the body of a space in the profile connection space of ICC.1: adapted from its white to D50 by linear Bradford.
func OfSpace(s *colour.Space) *Solid {
	white := colour.XYZ{X: 0.9642, Y: 1, Z: 0.8249}
	to := colour.Bradford(s.White(), white)
	b, err := NewSolid(func(c colour.RGB) (colour.Lab, error) { return to.Apply(s.XYZ(c)).Lab(white), nil })
	if err != nil {
		panic(err) // a space of real primaries is finite
	}
	return b
}

// Volume returns the volume in units of L*a*b*.
func (s *Solid) Volume() float64 { return s.size }

// Common returns the volume of what lies in both.
func (s *Solid) Common(t *Solid) float64 {
	var sum float64
	for i, j := 0, 0; i < len(s.lines) && j < len(t.lines); {
		p, q := s.lines[i], t.lines[j]
		switch c := order(p.at, q.at); {
		case c < 0:
			i++
			continue
		case c > 0:
			j++
			continue
		}
		for _, v := range p.inside {
			for _, w := range q.inside {
				sum += max(0, min(v.to, w.to)-max(v.from, w.from))
			}
		}
		i++
		j++
	}
	return sum * pace * pace
}

// ByVolume compares two bodies of colours.
func ByVolume(own, reference *Solid) Cover {
	return cover(own.size, reference.size, own.Common(reference))
}

// A crossing is where a line along L* meets the surface: +1 where it enters.
type crossing struct {
	l    float64
	sign int
}

// cross adds the crossings of a triangle, whose corners run anticlockwise for who looks from outside in a right-handed a*, b*, L*, or all
// clockwise. It returns how many places it looked at.
func cross(found map[[2]int][]crossing, p, q, r colour.Lab) (places int) {
	area := edge(p, q, r.A, r.B)
	if area == 0 {
		return 0
	}
	sign := 1
	if area < 0 {
		q, r, area, sign = r, q, -area, -1
	}
	index := func(v float64) float64 { return (v - shift) / pace }
	fromA, toA := int(math.Ceil(index(min(p.A, q.A, r.A)))), int(math.Floor(index(max(p.A, q.A, r.A))))
	fromB, toB := int(math.Ceil(index(min(p.B, q.B, r.B)))), int(math.Floor(index(max(p.B, q.B, r.B))))
	for i := fromA; i <= toA; i++ {
		for j := fromB; j <= toB; j++ {
			a, b := float64(i)*pace+shift, float64(j)*pace+shift
			u, v, w := edge(q, r, a, b), edge(r, p, a, b), edge(p, q, a, b)
			// A line through an edge belongs to one of the two triangles that share it.
			if (u > 0 || u == 0 && owns(q, r)) && (v > 0 || v == 0 && owns(r, p)) && (w > 0 || w == 0 && owns(p, q)) {
				at := [2]int{i, j}
				found[at] = append(found[at], crossing{(u*p.L + v*q.L + w*r.L) / area, sign})
			}
		}
	}
	return max(toA-fromA+1, 0) * max(toB-fromB+1, 0)
}

// edge is above 0 for a point to the left of the way from p to q. It is the same but for its sign from q to p, to the last bit.
func edge(p, q colour.Lab, a, b float64) float64 {
	if p.A > q.A || p.A == q.A && p.B > q.B {
		return -edge(q, p, a, b)
	}
	return float64((q.A-p.A)*(b-p.B)) - float64((q.B-p.B)*(a-p.A))
}

func owns(p, q colour.Lab) bool { return p.B < q.B || p.B == q.B && p.A > q.A }
