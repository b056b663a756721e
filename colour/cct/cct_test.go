package cct

import (
	"math"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/testdata"
)

// rows returns the rows of a table, of which there are at least so many.
func rows(t *testing.T, name string, least int) [][]string {
	t.Helper()
	_, all := testdata.Table(t, "colour/"+name)
	if len(all) < least {
		t.Fatalf("%s: %d rows, want %d", name, len(all), least)
	}
	return all
}

func TestThePlanckianLocus(t *testing.T) {
	for _, r := range rows(t, "planck.csv", 25) {
		k, want := testdata.Number(t, r[0]), colour.XY{X: testdata.Number(t, r[1]), Y: testdata.Number(t, r[2])}
		p := planck(k)
		got := colour.UV{U: p.u, V: p.v * 1.5}.XY()
		if math.Abs(got.X-want.X) > 4e-6 || math.Abs(got.Y-want.Y) > 4e-6 {
			t.Errorf("%v K: %.6f, want %v", k, got, want)
		}
		if k == Least {
			continue
		}
		// The temperature found of a radiator is its own; at the violet end six decimals are worth several kelvin.
		c, err := Planckian(want)
		if err != nil {
			t.Errorf("%v K: %v", k, err)
		} else if math.Abs(c.Kelvin-k) > max(2, k*k/1e6*0.02) || math.Abs(c.Duv) > 4e-6 {
			t.Errorf("%v K: found %.2f K, %.7f from the locus", k, c.Kelvin, c.Duv)
		}
	}
}

func TestPlanckianAgainstExactValues(t *testing.T) {
	for _, r := range rows(t, "cct.csv", 9) {
		c, err := Planckian(colour.XY{X: testdata.Number(t, r[1]), Y: testdata.Number(t, r[2])})
		if err != nil {
			t.Errorf("%s: %v", r[0], err)
			continue
		}
		// The values have one decimal of a kelvin and five of Duv.
		if k, d := testdata.Number(t, r[3]), testdata.Number(t, r[4]); math.Abs(c.Kelvin-k) > 0.5 || math.Abs(c.Duv-d) > 2e-5 {
			t.Errorf("%s: %.2f K, Duv %.6f; want %v K, %v", r[0], c.Kelvin, c.Duv, k, d)
		}
	}
}

func TestDaylight(t *testing.T) {
	for _, r := range rows(t, "daylight.csv", 13) {
		k := testdata.Number(t, r[0])
		c, err := Daylight(k)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(c.X-testdata.Number(t, r[1])) > 1e-9 || math.Abs(c.Y-testdata.Number(t, r[2])) > 1e-9 {
			t.Errorf("%v K: %.9f, want %v", k, c, r[1:3])
		}
		n, err := NearestDaylight(c)
		if k == 4000 || k == 25000 {
			if err == nil {
				t.Errorf("%v K: the end of the locus gave %v", k, n)
			}
		} else if err != nil || math.Abs(n.Kelvin-k) > 0.2 || math.Abs(n.Duv) > 1e-7 {
			t.Errorf("%v K: nearest daylight is %v, %v", k, n, err)
		}
	}
	for _, k := range []float64{3999, 25001, math.NaN()} {
		if c, err := Daylight(k); err == nil {
			t.Errorf("%v K: %v", k, c)
		}
	}
}

// A white moved off a locus along its normal keeps its temperature, and the distance tells how far and to which side.
func TestDistance(t *testing.T) {
	for _, k := range []float64{2500, 5000, 6504, 9300, 15000} {
		for _, d := range []float64{-0.02, -0.003, 0.003, 0.02} {
			p, q := planck(k), planck(k*1.0001)
			n := math.Hypot(q.u-p.u, q.v-p.v)
			green := uv{p.u + d*(q.v-p.v)/n, p.v - d*(q.u-p.u)/n}
			if (d > 0) != (green.v > p.v) {
				t.Fatalf("%v K: the normal points to the wrong side", k)
			}
			c, err := Planckian(colour.UV{U: green.u, V: green.v * 1.5}.XY())
			if err != nil {
				t.Errorf("%v K %+v: %v", k, d, err)
				continue
			}
			if math.Abs(c.Kelvin-k) > k*1e-4 || math.Abs(c.Duv-d) > 1e-6 {
				t.Errorf("%v K %+v: found %.3f K, %.7f", k, d, c.Kelvin, c.Duv)
			}
		}
	}
}

func TestWhatIsNoWhite(t *testing.T) {
	for _, c := range []colour.XY{{}, {X: 0.64, Y: 0.33}, {X: 0.15, Y: 0.06}, {X: 0.3, Y: 0.6}, {X: math.NaN(), Y: 0.3}, {X: 1, Y: -1}, {X: math.Inf(1), Y: 1}} {
		if k, err := Planckian(c); err == nil {
			t.Errorf("%v: Planckian gave %v", c, k)
		}
		if k, err := NearestDaylight(c); err == nil {
			t.Errorf("%v: NearestDaylight gave %v", c, k)
		}
	}
	// A candle's white is one, but nowhere near daylight's locus.
	if k, err := NearestDaylight(colour.XY{X: 0.5267, Y: 0.4133}); err == nil {
		t.Errorf("2000 K: nearest daylight %v", k)
	}
}

// Single wavelengths lie where CIE 15 has them, to its four places.
func TestTheSpectralLocus(t *testing.T) {
	want := map[int]colour.XY{380: {X: .1741, Y: .0050}, 460: {X: .1440, Y: .0297}, 500: {X: .0082, Y: .5384}, 520: {X: .0743, Y: .8338}, 560: {X: .3731, Y: .6245}, 600: {X: .6270, Y: .3725}, 700: {X: .7347, Y: .2653}}
	list := Spectral()
	seen := 0
	for i, l := range list {
		if l.Nanometres != 380+5*i {
			t.Fatalf("place %d has %d nm", i, l.Nanometres)
		}
		if w, ok := want[l.Nanometres]; ok {
			seen++
			if math.Abs(l.XY.X-w.X) > 6e-5 || math.Abs(l.XY.Y-w.Y) > 6e-5 {
				t.Errorf("%d nm: %.5f, want %v", l.Nanometres, l.XY, w)
			}
		}
	}
	if seen != len(want) || list[len(list)-1].Nanometres != 700 {
		t.Errorf("%d of %d wavelengths are there, up to %d nm", seen, len(want), list[len(list)-1].Nanometres)
	}
}
