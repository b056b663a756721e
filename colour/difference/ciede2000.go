package difference

import (
	"math"

	"example.org/plumb/colour"
)

// CIEDE2000 is ΔE00 (CIE 142-2001) with kL, kC and kH of 1, by the numbered equations of Sharma, Wu and Dalal, "The CIEDE2000
// Color-Difference Formula: Implementation Notes, Supplementary Test Data, and Mathematical Observations", Color Research and
// Application 30 (2005). It is the same both ways round.
//
// The formula jumps where the mean hue does, at hues 180° apart. Hues within 1e-9 rad of that count as exactly 180° apart, so that rounding
// does not choose the side: pair 10 of the paper lies there.
func CIEDE2000(p, q colour.Lab) float64 {
	const full = 2 * math.Pi

	mean := (p.Chroma() + q.Chroma()) / 2
	g := 1 + float64(0.5*(1-fade(mean)))
	p.A, q.A = g*p.A, g*q.A
	cp, cq := p.Chroma(), q.Chroma()
	hp, hq := hue(p), hue(q)

	// Equations 8 to 11 and 14: differences and means of lightness, chroma and hue. The paper treats a pair with a grey apart; there ΔH' is 0, and
	// with it all that the mean hue goes into, so nothing is left to treat.
	dl, dc, dh := q.L-p.L, cq-cp, hq-hp
	l, c, h := (p.L+q.L)/2, (cp+cq)/2, (hp+hq)/2
	if math.Abs(dh) > math.Pi+1e-9 {
		dh -= math.Copysign(full, dh)
		if hp+hq < full {
			h += math.Pi
		} else {
			h -= math.Pi
		}
	}
	dH := 2 * math.Sqrt(float64(cp*cq)) * math.Sin(dh/2)

	// Equations 15 to 21: the weights.
	t := 1 - float64(0.17*math.Cos(h-degrees(30))) + float64(0.24*math.Cos(2*h)) +
		float64(0.32*math.Cos(float64(3*h)+degrees(6))) - float64(0.20*math.Cos(float64(4*h)-degrees(63)))
	turn := degrees(30) * math.Exp(-sq((h-degrees(275))/degrees(25)))
	l50 := sq(l - 50)
	sl := 1 + 0.015*l50/math.Sqrt(20+l50)
	sc := 1 + float64(0.045*c)
	sh := 1 + float64(0.015*c*t)
	rt := -math.Sin(2*turn) * 2 * fade(c)

	// Equation 22. The cross term may take the sum of next to nothing just below 0.
	x, y, z := dl/sl, dc/sc, dH/sh
	return math.Sqrt(max(sq(x)+sq(y)+sq(z)+float64(rt*y*z), 0))
}

// fade is the root of C⁷/(C⁷+25⁷) of equations 4 and 19.
func fade(c float64) float64 {
	c7 := sq(c*c*c) * c
	const full = 25 * 25 * 25 * 25 * 25 * 25 * 25
	return math.Sqrt(c7 / (c7 + full))
}

// hue is equation 7, in radians in [0,2π]; 0 for a grey.
func hue(c colour.Lab) float64 {
	h := math.Atan2(c.B, c.A)
	if h < 0 {
		h += 2 * math.Pi
	}
	return h
}

func degrees(d float64) float64 { return d * math.Pi / 180 }
