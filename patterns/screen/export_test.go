package screen

import "example.org/plumb/colour"

var Greys = greys

// Shifted is the quick way to tell whether two colours are more than Shift apart, and whether it can.
func Shifted(p, q colour.Lab) (shifted, known bool) {
	s := func(c colour.Lab) []sketch { return []sketch{{c.L, c.A, c.B, c.Chroma()}} }
	told := []uint8{apart}
	compare(told, s(p), s(q))
	return told[0] == apart, told[0] != open
}

// Sketch is the quick way to CIE L*a*b* of light of sRGB's channels; Lab is the exact one.
func Sketch(r, g, b float64) colour.Lab {
	t := newSketcher()
	var s [1]sketch
	t.sketch(s[:], []uint32{0}, &[256]float64{r}, &[256]float64{g}, &[256]float64{b})
	return colour.Lab{L: s[0].l, A: s[0].a, B: s[0].b}
}

func Lab(r, g, b float64) colour.Lab {
	t := newSketcher()
	return t.lab(r, g, b)
}

const SketchError, LeastT, MostT = sketchError, leastT, mostT
