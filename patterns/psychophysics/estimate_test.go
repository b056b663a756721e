package psychophysics_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"example.org/plumb/patterns/psychophysics"
)

func near(a, b, tolerance float64) bool { return math.Abs(a-b) <= tolerance }

func TestEstimate(t *testing.T) {
	for _, c := range []struct {
		name          string
		value, weight []float64
		at, mass      []float64
	}{
		{"sorted", []float64{1, 2, 4}, []float64{0.2, 0.3, 0.5}, []float64{1, 2, 4}, []float64{0.2, 0.3, 0.5}},
		{"unsorted", []float64{4, 1, 2}, []float64{5, 2, 3}, []float64{1, 2, 4}, []float64{0.2, 0.3, 0.5}},
		{"duplicates", []float64{2, 1, 2, 1}, []float64{1, 1, 1, 1}, []float64{1, 2}, []float64{0.5, 0.5}},
		{"zero weights", []float64{9, 1, 3, -7}, []float64{0, 1, 3, 0}, []float64{1, 3}, []float64{0.25, 0.75}},
		{"weights that are no numbers", []float64{9, 1}, []float64{math.NaN(), 1}, []float64{1}, []float64{1}},
		{"one", []float64{7}, []float64{3}, []float64{7}, []float64{1}},
	} {
		e := psychophysics.NewEstimate(c.value, c.weight)
		if !slices.Equal(e.At, c.at) || !slices.EqualFunc(e.Mass, c.mass, func(a, b float64) bool { return near(a, b, 1e-15) }) {
			t.Errorf("%s: %v, want %v %v", c.name, e, c.at, c.mass)
		}
	}
}

// By hand: masses 0.2, 0.3, 0.5 at 1, 2, 4 put the cumulative probabilities 0.1, 0.35, 0.75 at these values.
func TestQuantile(t *testing.T) {
	e := psychophysics.NewEstimate([]float64{1, 2, 4}, []float64{2, 3, 5})
	for _, c := range []struct{ p, want float64 }{
		{0.05, 1}, {0.1, 1}, {0.225, 1.5}, {0.35, 2}, {0.55, 3}, {0.75, 4}, {0.95, 4},
	} {
		if got := e.Quantile(c.p); !near(got, c.want, 1e-12) {
			t.Errorf("quantile %g is %g, want %g", c.p, got, c.want)
		}
	}
	if lo, hi := e.Interval(0.55); !near(lo, 1.5, 1e-12) || !near(hi, 4, 1e-12) {
		t.Errorf("the middle 55 %% is %g to %g, want 1.5 to 4", lo, hi)
	}
	if m, sd := e.Mean(), e.SD(); !near(m, 2.8, 1e-12) || !near(sd, math.Sqrt(0.2*1.8*1.8+0.3*0.8*0.8+0.5*1.2*1.2), 1e-12) {
		t.Errorf("mean %g, SD %g", m, sd)
	}
	for _, c := range []struct{ lo, hi, want float64 }{{1, 4, 1}, {1, 2, 0.5}, {2, 2, 0.3}, {1.1, 1.9, 0}, {math.Inf(-1), 3, 0.5}, {4, 1, 0}} {
		if got := e.Within(c.lo, c.hi); !near(got, c.want, 1e-12) {
			t.Errorf("within %g to %g is %g, want %g", c.lo, c.hi, got, c.want)
		}
	}
}

// A fine grid of a normal has the quantiles of the normal: 1.6449 and 1.9600 are in every table of it.
func TestIntervalOfANormal(t *testing.T) {
	var x, w []float64
	for i := -600; i <= 600; i++ {
		z := float64(i) / 100
		x, w = append(x, 3+2*z), append(w, math.Exp(-z*z/2))
	}
	e := psychophysics.NewEstimate(x, w)
	for _, c := range []struct{ p, z float64 }{{0.9, 1.6449}, {0.95, 1.9600}, {0.5, 0.6745}} {
		lo, hi := e.Interval(c.p)
		if !near(lo, 3-2*c.z, 2e-3) || !near(hi, 3+2*c.z, 2e-3) {
			t.Errorf("%g: %g to %g, want %g to %g", c.p, lo, hi, 3-2*c.z, 3+2*c.z)
		}
	}
}

// Quantiles never fall as the probability rises, and stay between the values.
func TestQuantileAscends(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 200 {
		n := 1 + r.IntN(12)
		x, w := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i], w[i] = math.Round(4*r.NormFloat64()), r.Float64()*float64(r.IntN(2))
		}
		e := psychophysics.NewEstimate(x, w)
		if len(e.At) == 0 {
			continue
		}
		last := math.Inf(-1)
		for p := 0.01; p < 1; p += 0.01 {
			q := e.Quantile(p)
			if q < last || q < e.At[0] || q > e.At[len(e.At)-1] {
				t.Fatalf("%v: quantile %g is %g after %g", e, p, q, last)
			}
			last = q
		}
	}
}

func TestTheZeroEstimateKnowsNothing(t *testing.T) {
	zeros := []psychophysics.Estimate{
		{},
		psychophysics.NewEstimate(nil, nil),
		psychophysics.NewEstimate([]float64{1, 2}, []float64{0, 0}),
		psychophysics.NewEstimate([]float64{1}, []float64{math.NaN()}),
		psychophysics.NewEstimate([]float64{1}, []float64{-1}),
	}
	for _, e := range zeros {
		lo, hi := e.Interval(0.9)
		for _, v := range []float64{e.Mean(), e.SD(), e.Quantile(0.5), lo, hi} {
			if !math.IsNaN(v) {
				t.Errorf("%v claims %g", e, v)
			}
		}
		if e.Within(math.Inf(-1), math.Inf(1)) != 0 {
			t.Errorf("%v claims to lie somewhere", e)
		}
	}
}

func TestFormsAtTheirEnds(t *testing.T) {
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"Weibull at nothing", psychophysics.Weibull(0, 2.5, 0.03, 9), 1.0 / 9},
		{"Weibull below nothing", psychophysics.Weibull(-3, 2.5, 0.03, 9), 1.0 / 9},
		{"Weibull at the threshold", psychophysics.Weibull(1, 3.5, 0, 4), 0.25 + 0.75*(1-1/math.E)},
		{"Weibull far above", psychophysics.Weibull(math.Inf(1), 2.5, 0.03, 9), 1.0/9 + 8.0/9*0.97},
		{"Weibull with one choice", psychophysics.Weibull(1, 2, 0, 1), 1},
		{"signed at equality", psychophysics.Signed(0, 0.3, 0.05), 0.5},
		{"signed far above", psychophysics.Signed(math.Inf(1), 0.3, 0.04), 0.98},
		{"signed far below", psychophysics.Signed(math.Inf(-1), 0.3, 0.04), 0.02},
		{"signed at one SD", psychophysics.Signed(0.3, 0.3, 0), 0.8413447460685429}, // any table of the normal
		{"normal", psychophysics.Normal(-1.959963984540054), 0.025},
	} {
		if !near(c.got, c.want, 1e-12) {
			t.Errorf("%s: %g, want %g", c.name, c.got, c.want)
		}
	}
}
