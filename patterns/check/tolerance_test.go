package check

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// The odds of all together are sound times those of the product, sure things stay sure, and more is never less.
func TestTogether(t *testing.T) {
	last := -1.0
	for _, p := range []float64{0, 0.01, 0.3, 0.5, 0.82, 0.99, 1} {
		got := Together(p)
		if p < 1 && math.Abs(got/(1-got)-sound*p/(1-p)) > 1e-12/(1-p) {
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

// What is known of one need among all is what it is among possible screens that are drawn so: its own odds where the others surely fail, more where they hold.
func TestAmong(t *testing.T) {
	const n = 200_000
	r := rand.New(rand.NewPCG(7, 8))
	for _, c := range []struct{ own, others float64 }{{0.8, 0.9}, {0.5, 0.9}, {0.8, 0.3}, {0.05, 0.95}, {0.9, 0}} {
		hold, all := 0.0, 0.0
		for range n {
			one, rest := r.Float64() < c.own, r.Float64() < c.others
			if one && rest || r.Float64()*sound < 1 {
				all++
				if one {
					hold++
				}
			}
		}
		got, want := Among(c.own, c.own*c.others), hold/all
		if spread := math.Sqrt(want * (1 - want) / all); math.Abs(got-want) > 4*spread {
			t.Errorf("%g with others at %g: %.4f, drawn %.4f", c.own, c.others, got, want)
		}
	}
	if v := Among(1, 1); v != 1 {
		t.Errorf("a sure thing among sure things became %g", v)
	}
	if v := Among(0, 0); v != 0 {
		t.Errorf("an impossible one became %g", v)
	}
}

// Where a need was not asked about, nothing speaks for the others.
func TestProduct(t *testing.T) {
	for _, aim := range screen.Aims {
		for use := range Uses {
			p, want := screen.Profile{}, 1.0
			for _, need := range Needs(use, aim) {
				p[need.Quantity] = psychophysics.NewEstimate([]float64{(need.Lo + min(need.Hi, 10)) / 2, 2e9}, []float64{0.9, 0.1})
				want *= 0.9
			}
			if v := Product(p, use, aim); math.Abs(v-want) > 1e-12 {
				t.Errorf("%s, %s: %g, want %g", aim.ID, Uses[use].Name, v, want)
			}
			for _, need := range Needs(use, aim) {
				e := p[need.Quantity]
				delete(p, need.Quantity)
				if v := Product(p, use, aim); v != 0 {
					t.Errorf("%s, %s: without %s it is %g", aim.ID, Uses[use].Name, need.Quantity, v)
				}
				p[need.Quantity] = e
			}
		}
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
	// Where a mean is told they are soundMean times.
	all := Results{}.Possibles(aim, n, random())
	mean, sum := 0.0, 0.0
	for i, w := range Means(all, aim) {
		if sum += w; isSound(&all[i], judge) {
			mean += w
		}
	}
	if got, want := mean/(1-mean)/(together/(1-together)), float64(soundMean)/sound; math.Abs(got/want-1) > 1e-9 || math.Abs(sum-1) > 1e-9 {
		t.Errorf("odds of sound screens are %g times those of the draws, want %g; weights sum to %g", got, want, sum)
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
