package main

import (
	"encoding/json"
	"io"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
)

// A possible screen with every part as it truly is scores what the true one does, and one with none is as it was.
func TestPartsAreTheTruth(t *testing.T) {
	kind, _ := observer.KindByName("typical")
	aim, _ := screen.AimByID("usual")
	intent := report.Intended(aim)
	var apart int
	for seed := range uint64(20) {
		plan := standard(40 + seed)
		want := known(random(40+seed, kind, plan), kind, plan)
		for _, p := range (check.Results{}).Possibles(aim, 4, rand.New(rand.NewPCG(seed, 1))) {
			shown := report.ShownBy(&p)
			if got := intent.Score(want.into(shown, true, true, true)); math.Abs(got-want.score) > 1e-9 {
				t.Errorf("seed %d: with all true %g, truly %g", 40+seed, got, want.score)
			}
			if got, was := intent.Score(want.into(shown, false, false, false)), intent.Score(shown); math.Abs(got-was) > 1e-9 {
				t.Errorf("seed %d: with nothing true %g, was %g", 40+seed, got, was)
			}
			tone, tint := want.into(shown, false, false, true), want.into(shown, false, true, false)
			if tone.Light[1] != want.shown.Light[1] || tint.Light[1] != shown.Light[1] {
				t.Errorf("seed %d: the grey is not the one asked for", 40+seed)
			}
			if c := 128; want.shown.Light[1][c] > 0 && math.Abs(tint.Light[0][c]/tint.Light[1][c]-want.shown.Light[0][c]/want.shown.Light[1][c]) > 1e-9 {
				t.Errorf("seed %d: the tint is not the true one", 40+seed)
			}
			if intent.Score(tone) != intent.Score(tint) {
				apart++
			}
		}
	}
	if apart < 40 {
		t.Errorf("tone and tint are alike on all but %d", apart)
	}
}

func TestPartsArePrinted(t *testing.T) {
	var out strings.Builder
	if err := run([]string{"-random", "2", "-seed", "11", "-length", "short", "-parts"}, &out, io.Discard); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	var last struct{ Summary summary }
	if err := json.Unmarshal([]byte(lines[2]), &last); err != nil {
		t.Fatal(err)
	}
	squares := map[string]float64{}
	for _, l := range lines[:2] {
		var r result
		if err := json.Unmarshal([]byte(l), &r); err != nil {
			t.Fatal(err)
		}
		for name, v := range r.Parts {
			squares[name] += (v - r.Score.Truth) * (v - r.Score.Truth) / 2
		}
	}
	for _, p := range replaced {
		if got := last.Summary.Parts[p.name]; squares[p.name] == 0 && p.name == "nothing" || math.Abs(got-math.Sqrt(squares[p.name])) > 1e-9 {
			t.Errorf("%s: %g, of the sittings %g", p.name, got, math.Sqrt(squares[p.name]))
		}
	}
	if len(last.Summary.Parts) != len(replaced) {
		t.Errorf("%v", slices.Sorted(maps.Keys(last.Summary.Parts)))
	}
}
