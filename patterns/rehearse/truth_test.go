package main

import (
	"encoding/csv"
	"math"
	"strconv"
	"testing"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/testdata"
)

// The first code that differs from black by one, two or four steps of the GSDF, over whites, contrasts, rooms and curves. first goes on between codes,
// so the table's code is the next whole one. Blacks under 0.054 cd/m² lie where the GSDF begins: the table has a step of 0.0048 cd/m² there, the
// derivative of the standard's equation is 0.0054 and falls to 0.0046 within a step, and codes may differ by one.
func TestFirstVisibleCodes(t *testing.T) {
	f, err := testdata.FS.Open("screens/visible.csv")
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	curves := map[string]display.Tone{
		"gamma2.2": {Curve: display.Gamma, Gamma: 2.2}, "gamma2.4": {Curve: display.Gamma, Gamma: 2.4}, "sRGB": {Curve: display.SRGB},
	}
	checked := 0
	for _, row := range rows[1:] {
		number := func(i int) float64 {
			v, err := strconv.ParseFloat(row[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		d := display.Default()
		d.White.Luminance = number(0)
		d.Black = number(0) / number(1)
		d.Room = display.Room{Lux: number(2) * math.Pi / 0.01, Reflectance: 0.01}
		d.Tone = []display.Tone{curves[row[3]]}
		m := d.Model()
		for i, k := range []float64{1, 2, 4} {
			at := first(&m, observer.Kind{Threshold: k}, 0, 1)
			slack := 0.0
			if d.Black+m.Veil() < 0.054 {
				slack = 1
			} else {
				checked++
			}
			if got, want := math.Ceil(at-1e-9), number(4+i); math.Abs(got-want) > slack {
				t.Errorf("%v at %g steps: code %g (%.3f), want %g", row, k, got, at, want)
			}
		}
	}
	if checked < 450 {
		t.Fatalf("only %d codes were checked", checked)
	}
}

// On a screen whose light is proportional to the code, the first visible code is the threshold over the light of a code, between codes too.
func TestFirstIsLinearBetweenCodes(t *testing.T) {
	d := display.Default()
	d.Tone = []display.Tone{{Curve: display.Gamma, Gamma: 1}}
	m := d.Model()
	for _, k := range []float64{3, 50, 260} {
		kind := observer.Kind{Threshold: k}
		want := observer.Threshold(kind, m.Grey(0)) * 255 / (160 - 0.16)
		if got := first(&m, kind, 0, 1); !near(got, want, 1e-9) {
			t.Errorf("threshold %g: code %.6f, want %.6f", k, got, want)
		}
	}
}

// Ends of the scale on screens that lose them.
func TestFirstBeyondCrushAndClip(t *testing.T) {
	expert, _ := observer.KindByName("expert")
	d := display.Default()
	d.Crush, d.Clip = 20, 230
	m := d.Model()
	if at := first(&m, expert, 0, 1); at <= 20 || at > 21 {
		t.Errorf("crushed up to 20, the first visible code is %.3f", at)
	}
	if at := first(&m, expert, 255, -1); at <= 25 || at > 26 {
		t.Errorf("clipped from 230, the first visible step is %.3f", at)
	}
	if a, b := plateau(&m, 0, 1), plateau(&m, 255, -1); a != 20 || b != 25 {
		t.Errorf("plateaus of %d and %d steps, want 20 and 25", a, b)
	}
	d.Crush, d.Clip = 0, 255
	whole := d.Model()
	if a, b := plateau(&whole, 0, 1), plateau(&whole, 255, -1); a != 0 || b != 0 {
		t.Errorf("plateaus of %d and %d steps on a whole screen", a, b)
	}
	d.Crush = 254
	black := d.Model()
	if at := first(&black, observer.Kind{Threshold: 100}, 0, 1); at != 200 {
		t.Errorf("on a screen without light the first visible code is %g", at)
	}
	// The reference tells of 16 or 17 where a full signal is taken for limited.
	limited := display.Default()
	limited.Range = display.FullAsLimited
	l := limited.Model()
	if p := plateau(&l, 0, 1); p != 16 {
		t.Errorf("a full signal taken for limited loses %d codes", p)
	}
}

// Truths of screens that are plain to see.
func TestKnown(t *testing.T) {
	aim := screen.Aims[0]
	typical, _ := observer.KindByName("typical")
	tone := func(gamma, s float64) []display.Tone {
		return []display.Tone{{Curve: display.Gamma, Gamma: gamma, S: s}}
	}
	for _, c := range []struct {
		name                         string
		change                       func(d *display.Description)
		shadows, highlights, toneful report.Verdict
	}{
		{"ordinary", func(d *display.Description) {}, report.Holds, report.Holds, report.Holds},
		{"crushed", func(d *display.Description) { d.Crush = 30 }, report.Off, report.Holds, report.Holds},
		{"clipped", func(d *display.Description) { d.Clip = 225 }, report.Holds, report.Off, report.Holds},
		{"dark", func(d *display.Description) { d.Tone = tone(2.6, 0) }, report.Holds, report.Holds, report.Off},
		{"bright", func(d *display.Description) { d.Tone = tone(1.8, 0) }, report.Holds, report.Holds, report.Off},
		{"bent", func(d *display.Description) { d.Tone = tone(2.2, 0.09) }, report.Off, report.Holds, report.Off},
		{"sunlit", func(d *display.Description) { d.Room = display.Room{Lux: 20000, Reflectance: 0.03} }, report.Off, report.Holds, report.Holds}, // near white a veil adds little
		{"of few bits", func(d *display.Description) { d.Bits = 7 }, report.Holds, report.Holds, report.Holds},
		{"mixed up", func(d *display.Description) { d.Range = display.FullAsLimited }, report.Off, report.Off, report.Off},
	} {
		d := display.Default()
		c.change(&d)
		k := known(d, typical, aim)
		for a, want := range map[check.Aspect]report.Verdict{check.Shadows: c.shadows, check.Highlights: c.highlights, check.Tone: c.toneful} {
			if k.verdicts[a] != want {
				t.Errorf("%s: %s %s, want %s; %v", c.name, a, k.verdicts[a], want, k.quantities)
			}
		}
		light := report.Holds
		if c.shadows == report.Off || c.highlights == report.Off || c.toneful == report.Off {
			light = report.Off
		}
		if k.uses[report.Light] != light || k.uses[2] == report.Holds || light == report.Off && k.uses[2] != report.Off {
			t.Errorf("%s: purposes %v", c.name, k.uses)
		}
		if k.score < 0 || k.score > 100+1e-9 || c.name == "ordinary" && k.score < 99.999 || c.name == "bright" && k.score > 60 {
			t.Errorf("%s: score %.2f", c.name, k.score)
		}
	}
	k := known(display.Default(), typical, aim)
	if g := k.quantities[screen.Gamma]; !near(g, 2.2, 0.002) { // linear between codes
		t.Errorf("gamma %g", g)
	}
	if k.rms(k.lightness[:]) != 0 {
		t.Error("a curve departs from itself")
	}
	other := append([]float64(nil), k.lightness[:]...)
	for i := range other {
		other[i] += 3
	}
	if r := k.rms(other); !near(r, 3, 1e-12) {
		t.Errorf("3 L* off everywhere is an rms error of %g", r)
	}
}

func TestSpread(t *testing.T) {
	d := display.Default()
	gamma := func(g float64) display.Tone { return display.Tone{Curve: display.Gamma, Gamma: g} }
	d.Tone = []display.Tone{gamma(2.3), gamma(2.2), gamma(2.15)}
	if r, b := spread(d); !near(r, 0.1, 1e-12) || !near(b, -0.05, 1e-12) {
		t.Errorf("red %g, blue %g", r, b)
	}
	d.Tone = d.Tone[:1]
	if r, b := spread(d); r != 0 || b != 0 {
		t.Errorf("one curve: red %g, blue %g", r, b)
	}
	d.Tone = []display.Tone{gamma(2.3), {Curve: display.SRGB}, gamma(2.2)}
	if r, b := spread(d); r != 0 || b != 0 {
		t.Errorf("mixed curves: red %g, blue %g", r, b)
	}
}

// Half of the mixture is within the tolerances, every screen can be, and the same seed is the same screen.
func TestMixture(t *testing.T) {
	typical, _ := observer.KindByName("typical")
	good, n := 0, 120
	names := map[string]bool{}
	for seed := range n {
		d := random(uint64(seed), typical)
		if err := d.Validate(); err != nil {
			t.Fatal(err)
		}
		if again := random(uint64(seed), typical); again.Tone[1].Gamma != d.Tone[1].Gamma || again.White != d.White || again.Crush != d.Crush {
			t.Fatalf("seed %d makes two screens", seed)
		}
		names[d.Name] = true
		ok := true
		for _, v := range known(d, typical, screen.Aims[0]).verdicts {
			ok = ok && v == report.Holds
		}
		if ok {
			good++
		}
	}
	if good < 41 || good > 79 { // binomial, 3.5 SD
		t.Errorf("%d of %d screens are within the tolerances", good, n)
	}
	if len(names) != n {
		t.Errorf("%d names for %d screens", len(names), n)
	}
}
