package colour

import "testing"

// The matrix of ICC.1 annex E with its printed inverse, and adaptations between whites as colour libraries and ICC profiles have them, to the
// digits of the file.
func TestBradford(t *testing.T) {
	var v struct{ Matrix, Inverse, D65ToD50, D50ToD65, D65ToICC Matrix }
	load(t, "bradford.json", &v)
	if v.Matrix != bradford {
		t.Errorf("the matrix is %v, want %v", bradford, v.Matrix)
	}
	if m, ok := bradford.Inverse(); !ok || apart(m, v.Inverse) > 0.51e-7 {
		t.Errorf("the inverse is %v, want %v", m, v.Inverse)
	}
	d65, d50 := D65.XYZ(1), D50.XYZ(1)
	for name, c := range map[string]struct {
		from, to XYZ
		want     Matrix
	}{
		"D65 to D50":       {d65, d50, v.D65ToD50},
		"D50 to D65":       {d50, d65, v.D50ToD65},
		"D65 to ICC's D50": {d65, iccD50, v.D65ToICC},
	} {
		if d := apart(Bradford(c.from, c.to), c.want); d > 1e-10 {
			t.Errorf("%s: %v off: %v", name, d, Bradford(c.from, c.to))
		}
		if d := apartXYZ(Bradford(c.from, c.to).Apply(c.from), c.to); d > 1e-15 {
			t.Errorf("%s: the white lands %v off", name, d)
		}
		if d := apart(Bradford(c.from, c.to).Times(Bradford(c.to, c.from)), Matrix{{1}, {0, 1}, {0, 0, 1}}); d > 1e-14 {
			t.Errorf("%s: there and back is %v off", name, d)
		}
	}
}

func TestInverse(t *testing.T) {
	if _, ok := (Matrix{{1, 2, 3}, {2, 4, 6}, {0, 1, 0}}).Inverse(); ok {
		t.Error("a singular matrix has an inverse")
	}
	if _, ok := (Matrix{}).Inverse(); ok {
		t.Error("the zero matrix has an inverse")
	}
}
