package colour

// Whites, as chromaticities. The digits matter: a D65 of other digits than a space's own white leaves that space's greys tinted. D65.XYZ(1)
// is the relative white.
var (
	// D50 is the white of the graphic arts: x 0.3457, y 0.3585, four digits as in CSS Color 4. CIE 15:2018 has five, 0.34567 and 0.35850;
	// the profile connection space of ICC.1 rounds its XYZ to 0.9642, 1, 0.8249, which is no exact multiple of either.
	D50 = XY{0.3457, 0.3585}

	// D65 is the white of sRGB, Display P3 and Adobe RGB (1998): x 0.3127, y 0.3290, four digits as in IEC 61966-2-1. CIE 15:2018 has five,
	// 0.31272 and 0.32903.
	D65 = XY{0.3127, 0.3290}
)
