package difference

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/testdata"
)

type sharma struct {
	pair int
	p, q colour.Lab
	want float64
}

// pairs are the 34 of table 1 of Sharma, Wu and Dalal (2005), Color Research and Application 30, 21-30.
func pairs(t *testing.T) []sharma {
	t.Helper()
	_, rows := testdata.Table(t, "colour/ciede2000.csv")
	var all []sharma
	for _, row := range rows {
		var n [8]float64
		for i := range n {
			n[i] = testdata.Number(t, row[i])
		}
		all = append(all, sharma{int(n[0]), colour.Lab{L: n[1], A: n[2], B: n[3]}, colour.Lab{L: n[4], A: n[5], B: n[6]}, n[7]})
	}
	if len(all) != 34 {
		t.Fatalf("%d pairs, want 34", len(all))
	}
	return all
}

func TestCIEDE2000(t *testing.T) {
	for _, v := range pairs(t) {
		// To the 4 decimals printed.
		if d := CIEDE2000(v.p, v.q); math.Abs(d-v.want) > 0.51e-4 {
			t.Errorf("pair %d: %.6f, want %.4f", v.pair, d, v.want)
		}
		if d := CIEDE2000(v.q, v.p); math.Abs(d-v.want) > 0.51e-4 {
			t.Errorf("pair %d exchanged: %.6f, want %.4f", v.pair, d, v.want)
		}
	}
}

// Rounding of the size that a trip through XYZ leaves does not move the pair with hues exactly 180° apart.
func TestCIEDE2000Opposite(t *testing.T) {
	w := colour.D65.XYZ(1)
	for _, v := range pairs(t) {
		p, q := v.p.XYZ(w).Lab(w), v.q.XYZ(w).Lab(w)
		if d := CIEDE2000(p, q); math.Abs(d-v.want) > 0.51e-4 {
			t.Errorf("pair %d through XYZ: %.6f, want %.4f", v.pair, d, v.want)
		}
	}
}

// By hand from the definitions.
func TestCIE76(t *testing.T) {
	if d := CIE76(colour.Lab{L: 50, A: 2, B: -3}, colour.Lab{L: 52, A: 5, B: 3}); d != 7 {
		t.Errorf("%v, want 7", d)
	}
}

// By hand from CIE 116-1995: chroma 5 and 10 on one hue, then a pure difference of hue, then greys.
func TestCIE94(t *testing.T) {
	for _, v := range []struct {
		standard, sample colour.Lab
		want             float64
	}{
		{colour.Lab{L: 50, A: 3, B: 4}, colour.Lab{L: 50, A: 6, B: 8}, 5 / 1.225},
		{colour.Lab{L: 50, A: 6, B: 8}, colour.Lab{L: 50, A: 3, B: 4}, 5 / 1.45}, // the standard's chroma counts
		{colour.Lab{L: 50, A: 10}, colour.Lab{L: 50, B: 10}, math.Sqrt(200) / 1.15},
		{colour.Lab{L: 50}, colour.Lab{L: 53}, 3},
		{colour.Lab{L: 50}, colour.Lab{L: 53, A: 4}, 5}, // a grey standard weighs nothing
	} {
		if d := CIE94(v.standard, v.sample); math.Abs(d-v.want) > 1e-13 {
			t.Errorf("%v, %v: %v, want %v", v.standard, v.sample, d, v.want)
		}
	}
}

func TestProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	draw := func() colour.Lab {
		return colour.Lab{L: 100 * r.Float64(), A: 200*r.Float64() - 100, B: 200*r.Float64() - 100}
	}
	for range 20000 {
		p, q := draw(), draw()
		if r.IntN(2) == 0 { // close ones too
			q = colour.Lab{L: p.L + r.NormFloat64(), A: p.A + r.NormFloat64(), B: p.B + r.NormFloat64()}
		}
		for name, f := range map[string]func(p, q colour.Lab) float64{"CIE76": CIE76, "CIE94": CIE94, "CIEDE2000": CIEDE2000} {
			d := f(p, q)
			if !(d >= 0) || math.IsInf(d, 0) {
				t.Fatalf("%s(%v, %v) = %v", name, p, q, d)
			}
			if same := f(p, p); same != 0 {
				t.Fatalf("%s(%v, itself) = %v", name, p, same)
			}
			if back := f(q, p); name != "CIE94" && math.Abs(back-d) > 1e-11 {
				t.Fatalf("%s(%v, %v) = %v, and exchanged %v", name, p, q, d, back)
			}
		}
	}
}

func BenchmarkCIEDE2000(b *testing.B) {
	p, q := colour.Lab{L: 50, A: 2.6772, B: -79.7751}, colour.Lab{L: 50, A: 0, B: -82.7485}
	for b.Loop() {
		CIEDE2000(p, q)
	}
}
