package check

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/plumb/patterns/screen"
)

// The odds of all together are sound times those of the product, sure things stay sure, and more is never less.
func TestTogether(t *testing.T) {
	last := -1.0
	for _, p := range []float64{0, 0.01, 0.3, 0.5, 0.82, 0.99, 1} {
		got := Together(p)
		if p < 1 && math.Abs(got/(1-got)-sound*p/(1-p)) > 1e-12 {
			t.Errorf("odds of %g became %g", p/(1-p), got/(1-got))
		}
		if p == 1 && got != 1 {
			t.Errorf("a sure thing became %g", got)
		}
		if got <= last {
			t.Errorf("%g gives %g, less gave %g", p, got, last)
		}
		last = got
	}
}

// The odds of screens that are sound in all are sound times what they are where aspects are drawn apart.
func TestPossiblesAreSoundTogether(t *testing.T) {
	const n = 6000
	aim := screen.Aims[0]
	judge := aim.Judge()
	share := func(all []screen.Possible) float64 {
		k := 0.0
		for i := range all {
			if isSound(&all[i], judge) {
				k++
			}
		}
		return k / float64(len(all))
	}
	random := func() *rand.Rand { return rand.New(rand.NewPCG(5, 6)) }
	apart, together := share(Results{}.possibles(aim, n, 1, random())), share(Results{}.Possibles(aim, n, random()))
	want := Together(apart)
	if spread := math.Sqrt(want * (1 - want) / n * (1 + sound)); math.Abs(together-want) > 4*spread || want-apart < 6*spread {
		t.Errorf("%.4f are sound, %.4f where aspects are drawn apart; want %.4f", together, apart, want)
	}
	bad := screen.Possible{Tone: screen.Tone{Gamma: 2.2}, Clip: 255, Bits: 8}
	if !isSound(&bad, judge) {
		t.Error("a perfect screen is not sound")
	}
	for name, spoil := range map[string]func(p *screen.Possible){
		"crush": func(p *screen.Possible) { p.Crush = 12 },
		"clip":  func(p *screen.Possible) { p.Clip = 245 },
		"gamma": func(p *screen.Possible) { p.Tone.Gamma = 2.6 },
		"tint":  func(p *screen.Possible) { p.Tint[1][0] = 0.012 },
		"bits":  func(p *screen.Possible) { p.Bits = 7 },
		"field": func(p *screen.Possible) {
			p.Field = screen.Field{Rows: 3, Cols: 3, Log: []float64{-0.2, 0, 0, 0, 0, 0, 0, 0, 0}}
		},
	} {
		p := bad
		spoil(&p)
		if isSound(&p, judge) {
			t.Errorf("%s: sound", name)
		}
	}
}
