package screen

import (
	"math"
	"sync"

	"example.org/plumb/colour"
	"example.org/plumb/colour/transfer"
)

// leastBeyond is what counts as in sRGB still: the edge that rounding can push a colour over in a channel that is as good as grey.
const leastBeyond = 0.01

// Beyond returns how far the colour of 8-bit Display P3 codes lies from sRGB, as Possible.Reach: 0 for what sRGB holds, 1 at the edge of Display P3, and
// between them the share of light of the primaries of Display P3 in the primaries that are just enough. Codes are rounded; a colour that would lie in sRGB if each code were
// one nearer to grey is not beyond it.
func Beyond(r, g, b uint8) float64 {
	// A third of the sum is grey enough; no code passes it.
	mean := (int(r) + int(g) + int(b) + 1) / 3
	inner := func(c uint8) float64 {
		v := int(c)
		switch {
		case v > mean:
			v--
		case v < mean:
			v++
		}
		return p3Light()[v]
	}
	c := colour.XYZ{X: inner(r), Y: inner(g), Z: inner(b)}
	if inside(c, leastBeyond) {
		return 0
	}
	lo, hi := leastBeyond, 1.0 // not inside, inside
	for range 12 {
		if at := (lo + hi) / 2; inside(c, at) {
			hi = at
		} else {
			lo = at
		}
	}
	return hi
}

var p3Light = sync.OnceValue(func() *[256]float64 {
	t := new([256]float64)
	for c := range t {
		t[c] = transfer.SRGB{}.Light(float64(c) / 255)
	}
	return t
})

// sRGBInP3 is the primaries of sRGB as light of those of Display P3, in columns.
var sRGBInP3 = sync.OnceValue(func() (m [3][3]float64) {
	for j, pure := range [3]colour.RGB{{R: 1}, {G: 1}, {B: 1}} {
		c := colour.DisplayP3.Light(colour.DisplayP3.RGB(colour.SRGB.XYZ(pure)))
		m[0][j], m[1][j], m[2][j] = c.R, c.G, c.B
	}
	return m
})

// inside reports whether light of Display P3's primaries, as X, Y and Z, can be mixed of primaries that have a share of them and else those of sRGB. White is the same for all.
func inside(c colour.XYZ, share float64) bool {
	m := sRGBInP3()
	for i := range m {
		for j := range m[i] {
			m[i][j] *= 1 - share
			if i == j {
				m[i][j] += share
			}
		}
	}
	// By Cramer's rule, without the determinant, which is above 0 for all shares.
	det := func(a, b, c [3]float64) float64 {
		return float64(a[0]*(float64(b[1]*c[2])-float64(b[2]*c[1]))) - float64(b[0]*(float64(a[1]*c[2])-float64(a[2]*c[1]))) + float64(c[0]*(float64(a[1]*b[2])-float64(a[2]*b[1])))
	}
	column := func(j int) [3]float64 { return [3]float64{m[0][j], m[1][j], m[2][j]} }
	v := [3]float64{c.X, c.Y, c.Z}
	least := math.Inf(1)
	for j := range 3 {
		cols := [3][3]float64{column(0), column(1), column(2)}
		cols[j] = v
		least = min(least, det(cols[0], cols[1], cols[2]))
	}
	return least >= -1e-9
}
