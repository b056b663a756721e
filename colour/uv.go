package colour

import "math"

// UV is a CIE 1976 chromaticity u', v' (CIE 15:2018, 8.1).
type UV struct{ U, V float64 }

// XY returns the same chromaticity in x, y.
func (c UV) XY() XY {
	d := float64(6*c.U) - float64(16*c.V) + 12
	return XY{9 * c.U / d, 4 * c.V / d}
}

// Distance returns the straight distance in the u', v' diagram, about equally visible everywhere in it.
func (c UV) Distance(d UV) float64 { return math.Hypot(c.U-d.U, c.V-d.V) }
