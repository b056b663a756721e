package psychophysics

import "math"

// Chance returns how probable it is under what is known that the first of s is called the greater.
func (g *Gain[S]) Chance(s S) float64 {
	m, v, _ := g.rate(s)
	return Signed(m, math.Sqrt(float64(g.noise*g.noise)+v), g.c.model.Lapse)
}
