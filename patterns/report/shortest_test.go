package report

import (
	"math"
	"testing"

	"example.org/plumb/patterns/psychophysics"
)

// The shortest interval is about the central one where an estimate is even, and reaches to the end where most of it lies there; it holds what it says,
// and the mean.
func TestShortest(t *testing.T) {
	const n = 2000
	estimate := func(at func(p float64) float64) psychophysics.Estimate {
		var values, weights []float64
		for i := range n {
			values, weights = append(values, min(at((float64(i)+0.5)/n), 100)), append(weights, 1)
		}
		return psychophysics.NewEstimate(values, weights)
	}
	normal := func(p float64) float64 { return math.Sqrt2 * math.Erfinv(2*p-1) }
	for _, c := range []struct {
		name string
		of   psychophysics.Estimate
		hi   float64 // 0 for that of the central one
	}{
		{"even", estimate(func(p float64) float64 { return 50 + 8*normal(p) }), 0},
		{"half at the end", estimate(func(p float64) float64 { return 100 + 8*normal(p) }), 100},
		{"nearly all at the end", estimate(func(p float64) float64 { return 114 + 9*normal(p) }), 100},
		{"nine in ten at the end, and the rest far below", estimate(func(p float64) float64 { return 20 + 1000*max(p-0.08, 0) }), 100},
	} {
		lo, hi := shortest(c.of, 0.9)
		from, to := c.of.Interval(0.9)
		mean := c.of.Mean()
		if hi-lo > to-from+1e-6 && from <= mean && mean <= to || lo > mean || hi < mean {
			t.Errorf("%s: %.2f to %.2f with a mean of %.2f, central %.2f to %.2f", c.name, lo, hi, mean, from, to)
		}
		if held := c.of.Within(lo, hi); held < 0.895 {
			t.Errorf("%s: %.2f to %.2f holds %.3f", c.name, lo, hi, held)
		}
		if c.hi == 0 && (math.Abs(lo-from) > 0.8 || math.Abs(hi-to) > 0.8) || c.hi > 0 && math.Abs(hi-c.hi) > 1e-6 {
			t.Errorf("%s: %.2f to %.2f, central %.2f to %.2f", c.name, lo, hi, from, to)
		}
		if c.name == "half at the end" && lo < from+1 {
			t.Errorf("%s: from %.2f on, the central one from %.2f", c.name, lo, from)
		}
	}
}
