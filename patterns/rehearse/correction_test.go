package main

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
)

// What the profile of a calibrated screen says is about what the screen does, with its correction and without, and something else is far from both.
func TestCalibratedScreens(t *testing.T) {
	smooth := func(d display.Description) display.Model {
		d.Crush, d.Clip, d.Bits = 0, 255, 8
		return d.Model()
	}
	lightness := func(m *display.Model, light func(v float64) float64) (most float64) {
		for i := range screen.Steps {
			v := screen.Signal(i)
			most = max(most, math.Abs(screen.Lightness(curve(m)(v))-screen.Lightness(light(v))))
		}
		return most
	}
	says := func(channels *[3][check.Knots]float64) func(v float64) float64 { // green, straight between knots
		return func(v float64) float64 {
			k := min(int(v*(check.Knots-1)), check.Knots-2)
			part := v*(check.Knots-1) - float64(k)
			return (1-part)*channels[1][k] + part*channels[1][k+1]
		}
	}
	seen := map[string]int{}
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 0x636f7272))
		c := calibrate(r)
		if err := c.expect.Validate(); err != nil {
			t.Fatal(err)
		}
		odd, mode := c.strange(r)
		seen[mode]++
		l, b, o := smooth(c.loaded(c.native)), smooth(c.bare(c.native)), smooth(odd)
		if off := lightness(&l, says(&c.expect.Loaded)); off > 3.5 {
			t.Errorf("seed %d: with its correction the screen is %.1f L* from its profile", seed, off)
		}
		if off := lightness(&b, says(&c.expect.Bare)); off > 3.5 {
			t.Errorf("seed %d: without its correction the screen is %.1f L* from its profile", seed, off)
		}
		if off := lightness(&l, curve(&b)); off < 1.5 {
			t.Errorf("seed %d: the correction changes %.1f L*", seed, off)
		}
		if !unlike(odd, c.loaded(c.native)) || !unlike(odd, c.bare(c.native)) {
			t.Errorf("seed %d: %s is like one of the two", seed, mode)
		}
		if math.Abs(o.Normalised(128)-l.Normalised(128)) > 0.5 {
			t.Errorf("seed %d: %s is no screen", seed, mode)
		}
	}
	for _, mode := range modes {
		if seen[mode] < 4 {
			t.Errorf("%s was drawn %d times", mode, seen[mode])
		}
	}
}

// Of screens with a native gamma that is at least 0.2 off, loaded is told from not loaded in 95 of 100 sittings, and what is said is wrong in 2 at most.
func TestCorrectionIsToldApart(t *testing.T) {
	n := 16
	if testing.Short() {
		n = 5
	}
	kind, _ := observer.KindByName("typical")
	all := corrections(n, 900, []observer.Kind{kind}, 47)
	if len(all) != n*len(states) {
		t.Fatalf("%d sittings", len(all))
	}
	both := count(all, func(t told) bool { return t.State != states[2] })
	if both.sittings != 2*n || both.told < atLeast(2*n, 0.95) || both.wrong > atMost(2*n, 0.02) {
		t.Errorf("loaded and not loaded: %+v", both)
	}
	odd := count(all, func(t told) bool { return t.State == states[2] })
	if odd.sittings != n || odd.told < n/2 || odd.wrong > atMost(n, 0.02) {
		t.Errorf("neither: %+v", odd)
	}
	for _, s := range all {
		if p := s.Loaded + s.Bare + s.Neither; math.Abs(p-1) > 1e-9 || s.Seconds > 330 || s.Judgements < 40 {
			t.Errorf("%+v", s)
		}
	}
}

func TestCorrectionTable(t *testing.T) {
	var out, errs bytes.Buffer
	if err := run([]string{"-correction", "-random", "1", "-seed", "7"}, &out, &errs); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	for i := range 6 {
		var s told
		d := json.NewDecoder(strings.NewReader(lines[i]))
		d.DisallowUnknownFields()
		if err := d.Decode(&s); err != nil {
			t.Fatalf("line %d: %v", i, err)
		}
	}
	if !strings.HasPrefix(lines[6], "| screen | viewer |") || !strings.HasPrefix(lines[7], "|---|") {
		t.Errorf("no head:\n%s", out.String())
	}
	for _, row := range []string{"| loaded | all | 2 |", "| loaded | typical | 1 |", "| not loaded | strained | 1 |", "| neither | all | 2 |", "| neither: "} {
		if !strings.Contains(out.String(), row) {
			t.Errorf("no row %q in\n%s", row, out.String())
		}
	}
	var again bytes.Buffer
	if err := run([]string{"-correction", "-random", "1", "-seed", "7", "-summary"}, &again, &errs); err != nil {
		t.Fatal(err)
	}
	if want := strings.Join(lines[6:], "\n") + "\n"; again.String() != want {
		t.Errorf("the table alone is\n%s\nand was\n%s", again.String(), want)
	}
}

func TestCorrectionTakesNothingElse(t *testing.T) {
	for _, flag := range [][]string{{"-fixed"}, {"-bounds"}, {"-parts"}, {"-sittings", "3"}, {"-screen", "testdata/none.json"}} {
		var out bytes.Buffer
		if err := run(append([]string{"-correction"}, flag...), &out, &out); err == nil || !strings.Contains(err.Error(), "-correction takes") {
			t.Errorf("%v: %v", flag, err)
		}
	}
}

func TestCountTakesWordsForTruth(t *testing.T) {
	all := []told{
		{State: "loaded", Said: report.IsLoaded}, {State: "loaded", Said: report.NotLoaded, Void: true}, {State: "neither", Said: report.LoadUnknown},
		{State: "neither", Said: report.Neither}, {State: "not loaded", Said: report.NotLoaded},
	}
	if n := count(all, func(told) bool { return true }); n != (tally{sittings: 5, told: 3, open: 1, wrong: 1, void: 1}) {
		t.Errorf("%+v", n)
	}
}
