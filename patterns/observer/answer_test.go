package observer_test

import (
	"image"
	"math/rand/v2"
	"testing"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns"
	"example.org/plumb/patterns/observer"
)

// An answer to a task is what the viewer's own method gives, with the same chances; a task that nobody knows, or that lacks regions, has none.
func TestAnswer(t *testing.T) {
	m := display.Default().Model()
	kind, _ := observer.KindByName("typical")
	frame := patterns.Render(patterns.Pair{Left: 120, Right: 124, Ground: 119, Side: 72, RightTint: [2]int8{2, -3}}, 320, 240)
	left, right := patterns.MatchRects(frame.Rect, 72)
	pair := []image.Rectangle{left, right}
	for task, direct := range map[string]func(v *observer.Viewer) int{
		"odd cell":       func(v *observer.Viewer) int { return v.Odd(frame, pair) },
		"odd quadrant":   func(v *observer.Viewer) int { return v.Different(frame, pair) },
		"mark":           func(v *observer.Viewer) int { return v.OddColour(frame, pair, true) },
		"lighter":        func(v *observer.Viewer) int { return v.Lighter(frame, left, right) },
		"pinker":         func(v *observer.Viewer) int { return v.Tinted(frame, left, right, observer.PinkGreen) },
		"yellower":       func(v *observer.Viewer) int { return v.Tinted(frame, left, right, observer.BlueYellow) },
		"smoother":       func(v *observer.Viewer) int { return v.Smoother(frame, left, right) },
		"place lighter":  func(v *observer.Viewer) int { return v.FarLighter(frame, left, right) },
		"place pinker":   func(v *observer.Viewer) int { return v.FarTinted(frame, left, right, observer.PinkGreen) },
		"place yellower": func(v *observer.Viewer) int { return v.FarTinted(frame, left, right, observer.BlueYellow) },
	} {
		viewer := func(seed uint64) *observer.Viewer { return observer.New(kind, &m, rand.New(rand.NewPCG(seed, 3))) }
		for seed := range uint64(40) {
			want := direct(viewer(seed))
			if got, known := viewer(seed).Answer(task, frame, pair, true); !known || got != want {
				t.Fatalf("%s, seed %d: %d, %v, want %d", task, seed, got, known, want)
			}
		}
	}
	v := observer.New(kind, &m, rand.New(rand.NewPCG(1, 3)))
	for _, task := range []string{"", "set", "white pinker", "Lighter"} {
		if at, known := v.Answer(task, frame, pair, false); known || at != observer.CantTell {
			t.Errorf("%q: %d, %v", task, at, known)
		}
	}
	if at, known := v.Answer("lighter", frame, pair[:1], false); known || at != observer.CantTell {
		t.Errorf("one region: %d, %v", at, known)
	}
}
