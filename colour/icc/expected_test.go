package icc

import (
	"math"
	"slices"
	"testing"

	"example.org/plumb/colour"
)

// panel is the profile of a display of given curves, with a correction of 1024 entries for all three channels; nil: none.
func panel(t *testing.T, class string, curve, level func(float64) float64) *Profile {
	t.Helper()
	m := colour.Bradford(colour.SRGB.White(), D50).Times(colour.SRGB.Matrix())
	k := making{major: 4, class: class, space: "RGB ", pcs: "XYZ ", parts: []part{{"desc", desc("a panel")}, {"wtpt", xyzTag(D50)}}}
	for i, n := range []string{"r", "g", "b"} {
		k.parts = append(k.parts, part{n + "XYZ", xyzTag(colour.XYZ{X: m[0][i], Y: m[1][i], Z: m[2][i]})}, part{n + "TRC", curv(ramp(4096, curve)...)})
	}
	if level != nil {
		k.parts = append(k.parts, part{"vcgt", be("vcgt", uint32(0), uint32(0), uint16(1), uint16(1024), uint16(2), ramp(1024, level))})
	}
	p, err := Read(k.bytes())
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestResponses(t *testing.T) {
	power := func(g float64) func(float64) float64 { return func(s float64) float64 { return math.Pow(s, g) } }
	for name, c := range map[string]struct {
		curve, level func(float64) float64
		loaded, bare func(float64) float64
		within       float64 // of light
	}{
		"none needed":      {power(2.2), power(1), power(2.2), power(2.2), 1e-3},
		"a darker panel":   {power(2.2), power(2.2 / 2.6), power(2.2), power(2.6), 1e-3},
		"a lighter panel":  {power(2.2), power(2.2 / 1.8), power(2.2), power(1.8), 1e-3},
		"white held back":  {power(2.2), func(s float64) float64 { return 0.7 * math.Pow(s, 2.2/2.4) }, power(2.2), power(2.4), 2e-3},
		"black held up":    {power(2.2), func(s float64) float64 { return 0.1 + 0.9*s }, power(2.2), func(s float64) float64 { return math.Pow(max(s-0.1, 0)/0.9, 2.2) }, 2e-3},
		"a profile's foot": {func(s float64) float64 { return 0.05 + 0.9*s*s }, power(1), power(2), power(2), 1e-3},
	} {
		loaded, bare, err := panel(t, "mntr", c.curve, c.level).Responses()
		if err != nil {
			t.Fatal(err)
		}
		for i := range 3 {
			var l, b [52]float64
			loaded[i].Light(l[:])
			bare[i].Light(b[:])
			for k := range l {
				s := float64(k) / 51
				if math.Abs(l[k]-c.loaded(s)) > c.within || math.Abs(b[k]-c.bare(s)) > c.within {
					t.Errorf("%s: channel %d at %.3f: %.5f and %.5f, want %.5f and %.5f", name, i, s, l[k], b[k], c.loaded(s), c.bare(s))
				}
			}
		}
	}
	// Corrections that no one should have written still give curves that do not fall.
	for name, level := range map[string]func(float64) float64{
		"falling":  func(s float64) float64 { return 1 - s*0.9 },
		"flat":     func(float64) float64 { return 0.5 },
		"jagged":   func(s float64) float64 { return math.Abs(math.Sin(40*s)) * s },
		"too high": func(s float64) float64 { return 2 * s },
	} {
		loaded, bare, err := panel(t, "mntr", power(2.2), level).Responses()
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for i := range 3 {
			for _, r := range []Response{loaded[i], bare[i]} {
				var l [52]float64
				r.Light(l[:])
				if !slices.IsSorted(l[:]) || l[0] != 0 || l[51] != 1 || slices.ContainsFunc(l[:], math.IsNaN) {
					t.Errorf("%s: %v", name, l)
				}
			}
		}
	}
	for name, p := range map[string]*Profile{
		"no correction":     panel(t, "mntr", power(2.2), nil),
		"no display":        panel(t, "scnr", power(2.2), power(1)),
		"a dark display":    panel(t, "mntr", func(float64) float64 { return 0.5 }, power(1)),
		"a correction to 0": panel(t, "mntr", power(2.2), func(float64) float64 { return 0 }),
	} {
		if _, _, err := p.Responses(); err == nil {
			t.Errorf("%s: responds", name)
		}
	}
	l := []float64{1, 1, 1}
	if (Response{}).Light(l); !slices.Equal(l, []float64{0, 0, 0}) {
		t.Errorf("the zero response gives %v", l)
	}
}
