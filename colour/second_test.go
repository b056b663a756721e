package colour

import (
	"math"
	"testing"
)

// A second opinion of two libraries, written by .ci/oracle: colorjs.io and culori, on random codes of sRGB, to 9 decimals. All three take the same
// whites and derive their matrices from the same chromaticities, so nothing may differ by more than half of the last decimal.
func TestSecondOpinion(t *testing.T) {
	type opinion struct{ Lab, Lab50, XYZ, P3 [3]float64 }
	var file struct {
		Versions map[string]string
		Colours  []struct {
			RGB             [3]float64
			Colorjs, Culori opinion
		}
	}
	load(t, "second-opinion.json", &file)
	if len(file.Colours) != 300 || file.Versions["colorjs.io"] == "" || file.Versions["culori"] == "" {
		t.Fatalf("%d colours of %v", len(file.Colours), file.Versions)
	}
	d50 := D50.XYZ(1)
	toD50 := Bradford(D65.XYZ(1), d50)
	worst := map[string]float64{}
	for _, v := range file.Colours {
		c := RGB{v.RGB[0] / 255, v.RGB[1] / 255, v.RGB[2] / 255}
		xyz, lab := SRGB.XYZ(c), SRGB.Lab(c)
		p3 := DisplayP3.RGB(xyz)
		lab50 := toD50.Apply(xyz).Lab(d50)
		note := func(name string, got, want [3]float64) {
			for i := range 3 {
				worst[name] = max(worst[name], math.Abs(got[i]-want[i]))
			}
		}
		for name, o := range map[string]opinion{"colorjs.io": v.Colorjs, "culori": v.Culori} {
			note(name+" XYZ", [3]float64{xyz.X, xyz.Y, xyz.Z}, o.XYZ)
			note(name+" Lab", [3]float64{lab.L, lab.A, lab.B}, o.Lab)
			note(name+" Display P3", [3]float64{p3.R, p3.G, p3.B}, o.P3)
		}
		note("colorjs.io Lab against D50", [3]float64{lab50.L, lab50.A, lab50.B}, v.Colorjs.Lab50)
	}
	for name, d := range worst {
		if d > 0.51e-9 {
			t.Errorf("%s: %.2g apart", name, d)
		}
	}
}
