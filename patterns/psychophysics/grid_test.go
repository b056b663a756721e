package psychophysics_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"example.org/plumb/patterns/psychophysics"
)

// A table is the probability of outcome 1, by stimulus and hypothesis.
type table [][]float64

// toss makes a grid of random probabilities, some of them 0 and 1, and the same as plain tables.
func toss(r *rand.Rand) (*psychophysics.Grid, []float64, table) {
	stimuli, hypotheses := 1+r.IntN(8), 2+r.IntN(9)
	prior, p := make([]float64, hypotheses), make(table, stimuli)
	for i := range prior {
		prior[i] = 0.01 + r.Float64()
	}
	for s := range p {
		p[s] = make([]float64, hypotheses)
		for i := range p[s] {
			p[s][i] = min(max(1.2*r.Float64()-0.1, 0), 1)
		}
	}
	return psychophysics.NewGrid(prior, stimuli, func(s, i int) float64 { return p[s][i] }), prior, p
}

// after is Bayes's rule, written out: the posterior and the probability of the outcome.
func after(mass, p []float64, outcome int) ([]float64, float64) {
	post, sum := make([]float64, len(mass)), 0.0
	for i, m := range mass {
		post[i] = m * p[i]
		if outcome == 0 {
			post[i] = m * (1 - p[i])
		}
		sum += post[i]
	}
	for i := range post {
		if sum > 0 {
			post[i] /= sum
		}
	}
	return post, sum
}

func entropy(mass []float64) float64 {
	h := 0.0
	for _, m := range mass {
		if m > 0 {
			h -= m * math.Log(m)
		}
	}
	return h
}

func variance(mass, quantity []float64) float64 {
	mean, v := 0.0, 0.0
	for i, m := range mass {
		mean += m * quantity[i]
	}
	for i, m := range mass {
		v += m * (quantity[i] - mean) * (quantity[i] - mean)
	}
	return v
}

// The slow twin of Gain and of both choices: every outcome's posterior, its entropy and its variance, weighed by the outcome's probability.
func TestGridAgainstBothOutcomes(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	checked := 0
	for range 300 {
		g, _, p := toss(r)
		quantity := make([]float64, len(p[0]))
		for i := range quantity {
			quantity[i] = r.NormFloat64()
		}
		for range 3 { // before any answer, and after some
			leftEntropy, leftVariance := make([]float64, len(p)), make([]float64, len(p))
			for s := range p {
				for outcome := range 2 {
					post, sum := after(g.Mass(), p[s], outcome)
					leftEntropy[s] += sum * entropy(post)
					leftVariance[s] += sum * variance(post, quantity)
				}
				if want := entropy(g.Mass()) - leftEntropy[s]; !near(g.Gain(s), want, 1e-12) {
					t.Fatalf("stimulus %d: gain %g, by both outcomes %g", s, g.Gain(s), want)
				}
			}
			if got, best := g.LeastEntropy(), slices.Min(leftEntropy); leftEntropy[got] > best+1e-8 {
				t.Fatalf("stimulus %d leaves %g nats, the best leaves %g", got, leftEntropy[got], best)
			}
			if got, best := g.LeastVariance(quantity), slices.Min(leftVariance); leftVariance[got] > best+1e-8 {
				t.Fatalf("stimulus %d leaves a variance of %g, the best leaves %g", got, leftVariance[got], best)
			}
			s, outcome := r.IntN(len(p)), r.IntN(2)
			want, sum := after(g.Mass(), p[s], outcome)
			if err := g.Record(s, float64(outcome)); err != nil {
				if sum > 0 {
					t.Fatal(err)
				}
				continue
			}
			for i, m := range g.Mass() {
				if !near(m, want[i], 1e-12) {
					t.Fatalf("hypothesis %d has %g, by Bayes's rule %g", i, m, want[i])
				}
			}
			checked++
		}
	}
	if checked < 500 {
		t.Fatalf("only %d posteriors were compared", checked)
	}
}

// "Can't tell" among n is the mixture of the right and the wrong answers that guessing would give.
func TestGridLearnsFromAGuess(t *testing.T) {
	p := []float64{0.2, 0.5, 0.9}
	g := psychophysics.NewGrid([]float64{1, 1, 2}, 1, func(_, i int) float64 { return p[i] })
	if err := g.Record(0, 1.0/9); err != nil {
		t.Fatal(err)
	}
	var want []float64
	sum := 0.0
	for i, m := range []float64{0.25, 0.25, 0.5} {
		want = append(want, m*(p[i]/9+(1-p[i])*8/9))
		sum += want[i]
	}
	for i, m := range g.Mass() {
		if !near(m, want[i]/sum, 1e-15) {
			t.Errorf("hypothesis %d has %g, want %g", i, m, want[i]/sum)
		}
	}
}

func TestTiesGoToTheFirst(t *testing.T) {
	p := []float64{0.3, 0.8}
	for _, wobble := range []float64{0, 1e-15, 1e-13} {
		g := psychophysics.NewGrid([]float64{1, 1}, 5, func(s, i int) float64 {
			if s == 0 {
				return 0.5 // teaches nothing
			}
			return p[i] + float64(s*(2*i-1))*wobble // later ones a little better
		})
		if got := g.LeastEntropy(); got != 1 {
			t.Errorf("wobble %g: entropy takes stimulus %d, want the first of the equal ones", wobble, got)
		}
		if got := g.LeastVariance([]float64{0, 1}); got != 1 {
			t.Errorf("wobble %g: variance takes stimulus %d, want the first of the equal ones", wobble, got)
		}
	}
}

func TestGridRefuses(t *testing.T) {
	g := psychophysics.NewGrid([]float64{1, 2}, 2, func(s, _ int) float64 { return float64(s) })
	before := slices.Clone(g.Mass())
	for _, c := range []struct {
		stimulus int
		share    float64
		want     string
	}{
		{-1, 1, "psychophysics: no such stimulus"},
		{2, 1, "psychophysics: no such stimulus"},
		{0, -0.1, "psychophysics: share of outcome 1 must lie in 0 to 1"},
		{0, 1.1, "psychophysics: share of outcome 1 must lie in 0 to 1"},
		{0, math.NaN(), "psychophysics: share of outcome 1 must lie in 0 to 1"},
		{0, 1, "psychophysics: no hypothesis allows this outcome"},
		{1, 0, "psychophysics: no hypothesis allows this outcome"},
	} {
		if err := g.Record(c.stimulus, c.share); err == nil || err.Error() != c.want {
			t.Errorf("stimulus %d, share %g: %v, want %s", c.stimulus, c.share, err, c.want)
		}
	}
	if !slices.Equal(g.Mass(), before) {
		t.Errorf("a refused answer moved the grid from %v to %v", before, g.Mass())
	}
}

func TestCloneLearnsAlone(t *testing.T) {
	p := []float64{0.2, 0.7}
	g := psychophysics.NewGrid([]float64{1, 1}, 1, func(_, i int) float64 { return p[i] })
	c := g.Clone()
	if err := c.Record(0, 1); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(g.Mass(), []float64{0.5, 0.5}) {
		t.Errorf("the clone's answer moved the original to %v", g.Mass())
	}
	if !near(c.Mass()[1], 7.0/9, 1e-15) {
		t.Errorf("the clone has %v", c.Mass())
	}
	if err := g.Record(0, 0); err != nil {
		t.Fatal(err)
	}
	if !near(c.Mass()[1], 7.0/9, 1e-15) {
		t.Errorf("the original's answer moved the clone to %v", c.Mass())
	}
}
