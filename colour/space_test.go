package colour

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/plumb/colour/transfer"
)

var spaces = map[string]*Space{"srgb": SRGB, "p3": DisplayP3, "adobe": AdobeRGB}

// iccD50 is the white of the profile connection space, ICC.1.
var iccD50 = XYZ{0.9642, 1, 0.8249}

// Matrices as their standards print them, to the digits printed, and as derived from the chromaticities apart from this package.
func TestMatrices(t *testing.T) {
	var v map[string]struct{ Printed, PrintedInverse, Amendment1Inverse, Derived, Inverse, D50 *Matrix }
	load(t, "spaces.json", &v)
	if len(v) != len(spaces) {
		t.Fatalf("vectors of %d spaces, want %d", len(v), len(spaces))
	}
	toICC := Bradford(D65.XYZ(1), iccD50)
	for name, s := range spaces {
		for _, c := range []struct {
			what      string
			got       Matrix
			want      *Matrix
			tolerance float64
		}{
			{"derived", s.Matrix(), v[name].Derived, 0.51e-10},
			{"inverse", s.Inverse(), v[name].Inverse, 0.51e-10},
			{"by Bradford to D50", toICC.Times(s.Matrix()), v[name].D50, 0.51e-8},
			// IEC 61966-2-1 and Adobe RGB (1998) round along the way, so half a digit is not enough.
			{"printed", s.Matrix(), v[name].Printed, map[string]float64{"srgb": 5e-5, "adobe": 0.51e-5}[name]},
			{"printed inverse", s.Inverse(), v[name].PrintedInverse, 4e-4},
			{"inverse of amendment 1", s.Inverse(), v[name].Amendment1Inverse, 4e-4},
		} {
			if c.want == nil {
				if c.what == "derived" {
					t.Fatalf("%s: no vectors", name)
				}
				continue
			}
			if d := apart(c.got, *c.want); d > c.tolerance {
				t.Errorf("%s, %s: %v off: %v", name, c.what, d, c.got)
			}
		}
	}
}

// Codes of IEC 61966-2-1 in XYZ (8 decimals), in L*a*b* against D65 and, by Bradford, against ICC's D50 (5 decimals), computed apart from this package.
func TestSRGBColours(t *testing.T) {
	adapt := Bradford(D65.XYZ(1), iccD50)
	for _, v := range vectors(t, "srgb.csv") {
		c := RGB{v[0] / 255, v[1] / 255, v[2] / 255}
		xyz := SRGB.XYZ(c)
		if d := apartXYZ(xyz, XYZ{v[3], v[4], v[5]}); d > 0.51e-8 {
			t.Errorf("%v: XYZ %v, %v off", v[:3], xyz, d)
		}
		if d := apartLab(SRGB.Lab(c), Lab{v[6], v[7], v[8]}); d > 0.51e-5 {
			t.Errorf("%v: Lab %v, %v off", v[:3], SRGB.Lab(c), d)
		}
		if d := apartLab(adapt.Apply(xyz).Lab(iccD50), Lab{v[9], v[10], v[11]}); d > 0.51e-5 {
			t.Errorf("%v: Lab against D50 %v, %v off", v[:3], adapt.Apply(xyz).Lab(iccD50), d)
		}
	}
}

// The transfer functions: Adobe RGB (1998) prints an exponent of 2 51/256, code 128 computed apart from this package; the other two are of sRGB.
func TestTransfers(t *testing.T) {
	for name, want := range map[string]float64{"srgb": 0.2158605, "p3": 0.2158605, "adobe": 0.21963795} {
		v := 128.0 / 255
		if c := spaces[name].Light(RGB{v, v, v}); max(math.Abs(c.R-want), math.Abs(c.G-want), math.Abs(c.B-want)) > 0.51e-8 {
			t.Errorf("%s: code 128 is %v, want %v", name, c, want)
		}
		if c := spaces[name].Signal(RGB{want, want, want}); max(math.Abs(c.R-v), math.Abs(c.G-v), math.Abs(c.B-v)) > 1e-8 {
			t.Errorf("%s: light %v is %v, want %v", name, want, c, v)
		}
	}
}

func TestGreysAreNeutral(t *testing.T) {
	for name, s := range spaces {
		for i := range 1001 {
			v := float64(i) / 1000
			c := s.Lab(RGB{v, v, v})
			if math.Abs(c.A) > 1e-9 || math.Abs(c.B) > 1e-9 {
				t.Fatalf("%s: grey %v is %v", name, v, c)
			}
		}
		if c := s.Lab(RGB{1, 1, 1}); math.Abs(c.L-100) > 1e-12 {
			t.Errorf("%s: white is %v", name, c)
		}
		if d := apartXYZ(s.XYZ(RGB{1, 1, 1}), s.White()); d > 1e-15 {
			t.Errorf("%s: white is %v off", name, d)
		}
	}
}

func TestRoundTrips(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for name, s := range spaces {
		for range 2000 {
			// A little outside of the gamut too.
			c := RGB{r.Float64()*1.4 - 0.2, r.Float64()*1.4 - 0.2, r.Float64()*1.4 - 0.2}
			xyz := s.XYZ(c)
			back := s.RGB(xyz)
			// The knees of the transfer function of sRGB leave a gap of 3e-8 in light, 4e-7 in signal.
			if d := max(math.Abs(back.R-c.R), math.Abs(back.G-c.G), math.Abs(back.B-c.B)); d > 4e-7 {
				t.Fatalf("%s: %v comes back as %v", name, c, back)
			}
			if d := apartXYZ(xyz.Lab(s.White()).XYZ(s.White()), xyz); d > 1e-14 {
				t.Fatalf("%s: %v is %v off after Lab and back", name, xyz, d)
			}
		}
	}
}

// The red of Display P3 in sRGB, as CSS Color 4 has it: what is below 0 is mirrored.
func TestOutsideGamut(t *testing.T) {
	c := SRGB.RGB(DisplayP3.XYZ(RGB{1, 0, 0}))
	want := RGB{1.0931, -0.2267, -0.1501}
	if max(math.Abs(c.R-want.R), math.Abs(c.G-want.G), math.Abs(c.B-want.B)) > 0.51e-4 {
		t.Errorf("red of Display P3 is %.5v in sRGB, want %v", c, want)
	}
}

func TestNewSpaceRefuses(t *testing.T) {
	r, g, b := XY{0.64, 0.33}, XY{0.3, 0.6}, XY{0.15, 0.06}
	for name, c := range map[string][4]XY{
		"on a line":          {{0.2, 0.2}, {0.3, 0.3}, {0.4, 0.4}, D65},
		"twice the same":     {r, r, b, D65},
		"white beyond red":   {r, g, b, {0.7, 0.25}},
		"white beyond green": {r, g, b, {0.2, 0.7}},
		"white beyond blue":  {r, g, b, {0.1, 0.05}},
		"beyond green, blue": {r, g, b, {0.1, 0.3}},   // negative red
		"beyond red, blue":   {r, g, b, {0.4, 0.1}},   // negative green
		"beyond red, green":  {r, g, b, {0.55, 0.43}}, // negative blue
		"white on the edge":  {r, g, b, r},
		"y of 0":             {r, g, {0.15, 0}, D65},
		"negative y":         {r, g, {0.15, -0.1}, D65},
		"not a number":       {r, g, {0.15, math.NaN()}, D65},
		"x not a number":     {r, g, {math.NaN(), 0.06}, D65},
		"no white":           {r, g, b, {}},
	} {
		if _, err := NewSpace(c[0], c[1], c[2], c[3], transfer.SRGB{}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}
