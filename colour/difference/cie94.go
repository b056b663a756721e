package difference

import (
	"math"

	"example.org/plumb/colour"
)

// CIE94 is ΔE*94 (CIE 116-1995) with the weights of the graphic arts: kL 1, K1 0.045, K2 0.015. The first value is the standard that the
// second is judged against: exchanging them changes the result.
func CIE94(standard, sample colour.Lab) float64 {
	c := standard.Chroma()
	dl := standard.L - sample.L
	dc := c - sample.Chroma()
	// ΔH² is what is left of the distance; rounding may take it just below 0.
	dh2 := max(sq(standard.A-sample.A)+sq(standard.B-sample.B)-sq(dc), 0)
	sc := 1 + float64(0.045*c)
	sh := 1 + float64(0.015*c)
	return math.Sqrt(sq(dl) + sq(dc/sc) + dh2/sq(sh))
}
