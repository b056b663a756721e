package difference

import (
	"math"

	"example.org/plumb/colour"
)

// CIE76 is the straight distance in L*a*b*, ΔE*ab (CIE 15:2018, 8.2.1).
func CIE76(p, q colour.Lab) float64 {
	return math.Sqrt(sq(p.L-q.L) + sq(p.A-q.A) + sq(p.B-q.B))
}
