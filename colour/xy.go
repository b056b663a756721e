package colour

// XY is a CIE 1931 chromaticity x, y.
type XY struct{ X, Y float64 }

// XYZ returns the light of this chromaticity and the given Y. With y 0 no light has it but black, which is returned.
func (c XY) XYZ(y float64) XYZ {
	if c.Y == 0 {
		return XYZ{}
	}
	return XYZ{c.X / c.Y * y, y, (1 - c.X - c.Y) / c.Y * y}
}

// UV returns the same chromaticity in u', v'.
func (c XY) UV() UV {
	d := 3 - float64(2*c.X) + float64(12*c.Y)
	return UV{4 * c.X / d, 9 * c.Y / d}
}
