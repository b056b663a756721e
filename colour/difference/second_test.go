package difference

import (
	"encoding/json"
	"math"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/testdata"
)

// A second opinion of two libraries, written by .ci/oracle: colorjs.io and culori, on neighbours in a list of random codes of sRGB, to 9 decimals.
//
// Left alone the two disagree about CIEDE2000 by up to 25 % and 6.0 on these pairs, since colorjs.io judges against D50 after Bradford and culori
// against D65; the program gives both L*a*b* against D65. colorjs.io has no CIE94. Nothing may differ by more than half of the last decimal.
func TestSecondOpinion(t *testing.T) {
	data, err := testdata.FS.ReadFile("colour/second-opinion.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Colours []struct {
			RGB             [3]float64
			Colorjs, Culori struct{ E76, E94, E2000 float64 }
		}
	}
	if err := json.Unmarshal(data, &file); err != nil {
		t.Fatal(err)
	}
	n := len(file.Colours)
	if n != 300 {
		t.Fatalf("%d colours, want 300", n)
	}
	lab := func(i int) colour.Lab {
		c := file.Colours[i%n].RGB
		return colour.SRGB.Lab(colour.RGB{R: c[0] / 255, G: c[1] / 255, B: c[2] / 255})
	}
	worst := map[string]float64{}
	for i, v := range file.Colours {
		p, q := lab(i), lab(i+1)
		for name, d := range map[string]float64{
			"colorjs.io CIE76":     CIE76(p, q) - v.Colorjs.E76,
			"colorjs.io CIEDE2000": CIEDE2000(p, q) - v.Colorjs.E2000,
			"culori CIE76":         CIE76(p, q) - v.Culori.E76,
			"culori CIE94":         CIE94(p, q) - v.Culori.E94,
			"culori CIEDE2000":     CIEDE2000(p, q) - v.Culori.E2000,
		} {
			worst[name] = max(worst[name], math.Abs(d))
		}
	}
	for name, d := range worst {
		if d > 0.51e-9 {
			t.Errorf("%s: %.2g apart", name, d)
		}
	}
}
