package colour

import (
	"math"

	"github.com/lucasb-eyer/go-colorful"
)

// Lab is a CIE 1976 L*a*b* value, L* from 0 to 100 for what is not lighter than the white.
type Lab struct{ L, A, B float64 }

// Lab returns c against the given white (CIE 15:2018, 8.2.1).
func (c XYZ) Lab(white XYZ) Lab {
	l, a, b := colorful.XyzToLabWhiteRef(c.X, c.Y, c.Z, [3]float64{white.X, white.Y, white.Z})
	return Lab{100 * l, 100 * a, 100 * b}
}

// XYZ returns c against the given white, in the unit of the white.
func (c Lab) XYZ(white XYZ) XYZ {
	x, y, z := colorful.LabToXyzWhiteRef(c.L/100, c.A/100, c.B/100, [3]float64{white.X, white.Y, white.Z})
	return XYZ{x, y, z}
}

// Chroma returns C*ab.
func (c Lab) Chroma() float64 { return math.Hypot(c.A, c.B) }

// Hue returns h_ab in degrees, in [0,360). Greys have none: a* and b* of 0 give 0.
func (c Lab) Hue() float64 {
	h := math.Atan2(c.B, c.A) * 180 / math.Pi
	if h < 0 {
		h += 360
	}
	if h >= 360 { // a b* just below 0
		return 0
	}
	return h
}
