package observer_test

import (
	"encoding/json"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/patterns"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/testdata"
)

// The maps that Machado, Oliveira and Fernandes (2009) publish, at their severities and straight between them.
func TestDeficiencies(t *testing.T) {
	data, err := testdata.FS.ReadFile("observer/machado2009.json")
	if err != nil {
		t.Fatal(err)
	}
	var published struct{ Protan, Deutan, Tritan []colour.Matrix }
	if err := json.Unmarshal(data, &published); err != nil {
		t.Fatal(err)
	}
	for vision, table := range map[string][]colour.Matrix{observer.Protan: published.Protan, observer.Deutan: published.Deutan, observer.Tritan: published.Tritan} {
		if len(table) != 11 {
			t.Fatalf("%s: %d severities, want 11", vision, len(table))
		}
		for i, want := range table {
			severity := float64(i) / 10
			got, ok := observer.Deficiency(vision, severity)
			if !ok || apart(got, want) > 1e-9 {
				t.Errorf("%s %v: %v, want %v", vision, severity, got, want)
			}
			for _, row := range got {
				if math.Abs(row[0]+row[1]+row[2]-1) > 1.5e-6 {
					t.Errorf("%s %v: row %v does not leave grey", vision, severity, row)
				}
			}
			if i == 0 {
				continue
			}
			got, _ = observer.Deficiency(vision, severity-0.03)
			for r := range 3 {
				for c := range 3 {
					if d := got[r][c] - (0.3*table[i-1][r][c] + 0.7*want[r][c]); math.Abs(d) > 1e-9 {
						t.Errorf("%s %v: entry %d, %d is %v off the line", vision, severity-0.03, r, c, d)
					}
				}
			}
		}
		for out, in := range map[float64]float64{-1: 0, 2: 1} {
			a, _ := observer.Deficiency(vision, out)
			b, _ := observer.Deficiency(vision, in)
			if a != b {
				t.Errorf("%s: severity %v is not held to %v", vision, out, in)
			}
		}
	}
	if m, ok := observer.Deficiency("", 0.7); !ok || m != (colour.Matrix{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}) {
		t.Errorf("normal vision is %v, %v", m, ok)
	}
	if _, ok := observer.Deficiency("monochrome", 1); ok {
		t.Error("there is a vision monochrome")
	}
}

func apart(m, n colour.Matrix) float64 {
	d := 0.0
	for r := range 3 {
		for c := range 3 {
			d = max(d, math.Abs(m[r][c]-n[r][c]))
		}
	}
	return d
}

// Light at which a deficiency sees a patch on a ground, by the published map and nothing of the viewer's code: linear sRGB in and out, cut off at 0.
func deficient(t *testing.T, light colour.XYZ, vision string, severity float64) colour.XYZ {
	t.Helper()
	m, ok := observer.Deficiency(vision, severity)
	if !ok {
		t.Fatalf("no vision %q", vision)
	}
	l := m.Apply(colour.SRGB.Inverse().Apply(light))
	return colour.SRGB.Matrix().Apply(colour.XYZ{X: max(l.X, 0), Y: max(l.Y, 0), Z: max(l.Z, 0)})
}

// How often viewers with each vision call the redder of two patches pinker, and the bluer one bluer: by the formula, through the map.
func TestTintsOfDeficiencies(t *testing.T) {
	n := many(2000)
	m := model()
	left, right := patterns.MatchRects(frame, side)
	rate := map[string]float64{}
	for _, name := range []string{"typical", "protan", "deutan", "deuteranomalous"} {
		k := kind(t, name)
		for axis, c := range []color.RGBA{{131, 127, 128, 255}, {127, 127, 120, 255}} {
			dst := pair(c, color.RGBA{127, 127, 127, 255})
			a, b := deficient(t, m.Light(c), k.Vision, k.Severity), deficient(t, m.Light(color.RGBA{127, 127, 127, 255}), k.Vision, k.Severity)
			count := 0
			for i := range n {
				if observer.New(k, m, rand.New(rand.NewPCG(uint64(axis), uint64(i)))).Tinted(dst, left, right, axis) == 0 {
					count++
				}
			}
			noise := 1.3 * k.Tint * []float64{1, 1.7}[axis]
			p := k.Lapse/2 + (1-k.Lapse)*normal((observer.Tint(a, axis)-observer.Tint(b, axis))/(noise*math.Sqrt(1.09)))
			binomial(t, name, count, n, p)
			if axis == observer.PinkGreen {
				rate[name] = float64(count) / float64(n)
			}
		}
	}
	if !(rate["typical"] > 0.8 && rate["protan"] < 0.65 && rate["deutan"] < 0.65 && rate["deuteranomalous"] < rate["typical"]) {
		t.Errorf("the redder patch is called pinker %v", rate)
	}
}
