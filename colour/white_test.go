package colour

import (
	"math"
	"testing"
)

// CIE 15:2018: D50 and D65 in five digits of x, y, in XYZ of Y 100, and in u', v'. The whites here have four digits of x, y, which is why the
// last digits of XYZ may differ.
func TestWhites(t *testing.T) {
	type white struct{ XY, XYZ, UV []float64 }
	var cie map[string]white
	load(t, "whites.json", &cie)
	for name, w := range map[string]XY{"D50": D50, "D65": D65} {
		v, ok := cie[name]
		if !ok {
			t.Fatalf("no vectors of %s", name)
		}
		five, xyz, uv := XY{v.XY[0], v.XY[1]}, XYZ{v.XYZ[0], v.XYZ[1], v.XYZ[2]}, UV{v.UV[0], v.UV[1]}
		if d := math.Hypot(w.X-five.X, w.Y-five.Y); d > 4e-5 {
			t.Errorf("%s: %v is %v from CIE 15, %v", name, w, d, five)
		}
		if d := apartXYZ(w.XYZ(100), xyz); d > 0.03 {
			t.Errorf("%s: XYZ %v is %.4f from CIE 15, %v", name, w.XYZ(100), d, xyz)
		}
		if d := apartXYZ(five.XYZ(100), xyz); d > 0.01 { // five digits give the two decimals
			t.Errorf("%s: XYZ %v of five digits is %.4f from CIE 15, %v", name, five.XYZ(100), d, xyz)
		}
		if d := five.UV().Distance(uv); d > 1e-6 {
			t.Errorf("%s: u', v' %v, want %v", name, five.UV(), uv)
		}
	}
	// CSS Color 4 prints its two whites from the same digits.
	if d := apartXYZ(D65.XYZ(1), XYZ{0.95045592705, 1, 1.08905775076}); d > 1e-11 {
		t.Errorf("D65 is %v", D65.XYZ(1))
	}
	if d := apartXYZ(D50.XYZ(1), XYZ{0.96429567643, 1, 0.82510460251}); d > 1e-11 {
		t.Errorf("D50 is %v", D50.XYZ(1))
	}
}

func TestChromaticities(t *testing.T) {
	for _, c := range []XY{D50, D65, {0.64, 0.33}, {0.3, 0.6}, {0.15, 0.06}, {1.0 / 3, 1.0 / 3}} {
		light := c.XYZ(80)
		if light.Y != 80 {
			t.Errorf("%v.XYZ(80) has Y %v", c, light.Y)
		}
		if d := light.XY(); math.Hypot(d.X-c.X, d.Y-c.Y) > 1e-15 {
			t.Errorf("%v: XYZ and back is %v", c, d)
		}
		if d := c.UV().XY(); math.Hypot(d.X-c.X, d.Y-c.Y) > 1e-15 {
			t.Errorf("%v: u', v' and back is %v", c, d)
		}
		if d := light.UV().Distance(c.UV()); d > 1e-15 {
			t.Errorf("%v: u', v' by XYZ and by x, y are %v apart", c, d)
		}
	}
	// Equal energy is u' 4/19, v' 9/19.
	if d := (XYZ{1, 1, 1}).UV().Distance(UV{4.0 / 19, 9.0 / 19}); d > 1e-15 {
		t.Errorf("equal energy is %v off", d)
	}
	if (XYZ{}).XY() != (XY{}) || (XYZ{}).UV() != (UV{}) || (XY{}).XYZ(1) != (XYZ{}) {
		t.Error("black has a chromaticity")
	}
}
