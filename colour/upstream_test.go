package colour

import (
	"math"
	"testing"

	"github.com/lucasb-eyer/go-colorful"
)

// Known upstream behaviour of go-colorful v1.4.1: the reasons that only XyzToLabWhiteRef and LabToXyzWhiteRef are called. When one of these
// fails after an update, upstream has changed: read what it does now, then change or drop the check.

// CIEDE2000 is only offered on sRGB colours, so a pair given in L*a*b* makes a round trip through sRGB, and hues exactly 180° apart fall on the
// wrong side: pair 10 of Sharma, Wu and Dalal (2005) is published as 7.1792.
func TestUpstreamCIEDE2000(t *testing.T) {
	p, q := colorful.Lab(0.50, 0.0249, -0.00001), colorful.Lab(0.50, -0.0249, 0.00001)
	if d := 100 * p.DistanceCIEDE2000(q); math.Abs(d-7.2195) > 1e-4 {
		t.Errorf("known upstream behaviour has changed: pair 10 is %.4f, was 7.2195", d)
	}
}

// Its D65 is not the white of its own sRGB matrix, so greys are tinted: white has a* -0.0025 and b* -0.0139.
func TestUpstreamWhite(t *testing.T) {
	_, a, b := colorful.Color{R: 1, G: 1, B: 1}.Lab()
	if math.Abs(100*a+0.0025) > 1e-4 || math.Abs(100*b+0.0139) > 1e-4 {
		t.Errorf("known upstream behaviour has changed: white has a* %.4f, b* %.4f, was -0.0025, -0.0139", 100*a, 100*b)
	}
	// The matrix itself is right.
	x, y, z := colorful.LinearRgbToXyz(1, 1, 1)
	if d := apartXYZ(XYZ{x, y, z}, D65.XYZ(1)); d > 1e-15 {
		t.Errorf("its matrix is %v off D65", d)
	}
}

// FastLinearRgb of black is not black.
func TestUpstreamFast(t *testing.T) {
	if r, _, _ := (colorful.Color{}).FastLinearRgb(); math.Abs(r-0.0033) > 1e-4 {
		t.Errorf("known upstream behaviour has changed: black is %.4f, was 0.0033", r)
	}
}

// RGB255 wraps what is outside of the gamut.
func TestUpstreamWrap(t *testing.T) {
	if r, g, _ := (colorful.Color{R: 1.2, G: -0.1}).RGB255(); r != 50 || g != 231 {
		t.Errorf("known upstream behaviour has changed: 1.2, -0.1 is %d, %d, was 50, 231", r, g)
	}
}

// LabToHcl loses the hue where a* equals b* or either is 0, at any chroma.
func TestUpstreamHue(t *testing.T) {
	for _, c := range []Lab{{0.5, 0.3, 0.3}, {0.5, 0, 0.3}, {0.5, 0, -0.3}} {
		if h, _, _ := colorful.LabToHcl(c.L, c.A, c.B); h != 0 {
			t.Errorf("known upstream behaviour has changed: the hue of %v is %v, was 0", c, h)
		}
	}
}
