package psychophysics

import (
	"errors"
	"math"
)

// A Grid is a posterior over a finite set of hypotheses, each of which predicts how likely a right answer is to each stimulus. It is the
// method of QUEST+ (Watson 2017, J Vision 17(3):10) for two outcomes.
type Grid struct {
	mass []float64   // probability of each hypothesis
	p    [][]float64 // by stimulus and hypothesis: probability of outcome 1
}

// NewGrid returns a grid with the given prior over hypotheses, which need not be normalised. p returns the probability of outcome 1 to a
// stimulus under a hypothesis, both by index.
func NewGrid(prior []float64, stimuli int, p func(stimulus, hypothesis int) float64) *Grid {
	g := &Grid{mass: append([]float64(nil), prior...), p: make([][]float64, stimuli)}
	normalise(g.mass)
	for s := range g.p {
		g.p[s] = make([]float64, len(prior))
		for i := range prior {
			g.p[s][i] = p(s, i)
		}
	}
	return g
}

// Clone returns a grid that learns on its own. It shares the tables of g, which never change.
func (g *Grid) Clone() *Grid {
	return &Grid{mass: append([]float64(nil), g.mass...), p: g.p}
}

// normalise scales m to sum 1 and returns the sum it had.
func normalise(m []float64) float64 {
	sum := 0.0
	for _, v := range m {
		sum += v
	}
	for i := range m {
		m[i] /= sum
	}
	return sum
}

// binary is the entropy, in nats, of an outcome of probability p.
func binary(p float64) float64 {
	h := 0.0
	if p > 0 {
		h -= float64(p * math.Log(p))
	}
	if q := 1 - p; q > 0 {
		h -= float64(q * math.Log(q))
	}
	return h
}

// Record learns from an outcome to a stimulus. share is the probability that the outcome was 1: 1 for a right answer, 0 for a wrong one, and
// 1/n for a viewer who could not tell among n, which counts as the guess it would have been. It returns an error, and learns nothing, if
// the stimulus is none or no hypothesis allows the outcome.
func (g *Grid) Record(stimulus int, share float64) error {
	if stimulus < 0 || stimulus >= len(g.p) {
		return errors.New("psychophysics: no such stimulus")
	}
	if !(share >= 0 && share <= 1) {
		return errors.New("psychophysics: share of outcome 1 must lie in 0 to 1")
	}
	next := make([]float64, len(g.mass))
	sum := 0.0
	for i, m := range g.mass {
		p := g.p[stimulus][i]
		next[i] = m * (float64(share*p) + float64((1-share)*(1-p)))
		sum += next[i]
	}
	if !(sum > 0) {
		return errors.New("psychophysics: no hypothesis allows this outcome")
	}
	for i := range next {
		next[i] /= sum
	}
	g.mass = next
	return nil
}

// Gain returns the information, in nats, that the outcome to a stimulus is expected to give: the entropy of the posterior now less the
// expected entropy after it.
func (g *Grid) Gain(stimulus int) float64 {
	mean, inner := 0.0, 0.0
	p := g.p[stimulus]
	for i, m := range g.mass {
		mean += float64(m * p[i])
		inner += float64(m * binary(p[i]))
	}
	return binary(mean) - inner
}

// LeastEntropy returns the stimulus that leaves the least expected entropy.
func (g *Grid) LeastEntropy() int {
	return first(len(g.p), func(s int) float64 { return g.Gain(s) })
}

// LeastVariance returns the stimulus that leaves the least expected variance of a quantity, given by its value under each hypothesis. For two
// outcomes the expected fall of the variance is Cov(p, quantity)² / (P(1-P)), exactly.
func (g *Grid) LeastVariance(quantity []float64) int {
	mean := 0.0
	for i, m := range g.mass {
		mean += float64(m * quantity[i])
	}
	return first(len(g.p), func(s int) float64 {
		right, cov := 0.0, 0.0
		p := g.p[s]
		for i, m := range g.mass {
			w := float64(m * p[i])
			right += w
			cov += float64(w * (quantity[i] - mean))
		}
		if right <= 0 || right >= 1 {
			return 0
		}
		return float64(cov*cov) / float64(right*(1-right))
	})
}

// first returns the lowest index whose gain is the greatest, near ties included.
func first(n int, gain func(int) float64) int {
	best, at := math.Inf(-1), 0
	for s := range n {
		if v := gain(s); v > best+near*math.Max(1, math.Abs(best)) || s == 0 {
			best, at = v, s
		}
	}
	return at
}

// Mass returns the probability of each hypothesis. The caller must not change it.
func (g *Grid) Mass() []float64 { return g.mass }

// Estimate returns the posterior of a quantity, given by its value under each hypothesis.
func (g *Grid) Estimate(quantity []float64) Estimate { return NewEstimate(quantity, g.mass) }
