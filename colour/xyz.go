package colour

// XYZ is a tristimulus value; relative, with Y 1 at the white, or absolute in cd/m².
type XYZ struct{ X, Y, Z float64 }

// Add returns the sum of two lights.
func (c XYZ) Add(d XYZ) XYZ { return XYZ{c.X + d.X, c.Y + d.Y, c.Z + d.Z} }

// Scale returns c with k times the light.
func (c XYZ) Scale(k float64) XYZ { return XYZ{k * c.X, k * c.Y, k * c.Z} }

// XY returns the chromaticity. Black has none: the zero XYZ gives the zero XY.
func (c XYZ) XY() XY {
	sum := c.X + c.Y + c.Z
	if sum == 0 {
		return XY{}
	}
	return XY{c.X / sum, c.Y / sum}
}

// UV returns the CIE 1976 chromaticity. Black has none: the zero XYZ gives the zero UV.
func (c XYZ) UV() UV {
	sum := c.X + float64(15*c.Y) + float64(3*c.Z)
	if sum == 0 {
		return UV{}
	}
	return UV{4 * c.X / sum, 9 * c.Y / sum}
}
