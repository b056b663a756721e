package psychophysics

import (
	"cmp"
	"math"
	"slices"
)

// An Estimate is a discrete posterior over one quantity: Mass[i] is the probability that it lies near At[i]. At ascends and Mass sums to 1.
// The zero Estimate knows nothing.
type Estimate struct {
	At   []float64
	Mass []float64
}

// NewEstimate returns the estimate that gives value[i] the weight[i] ≥ 0, which need not be sorted, distinct or normalised. Without any
// weight it returns the zero Estimate.
func NewEstimate(value, weight []float64) Estimate {
	order := make([]int, 0, len(value))
	sum := 0.0
	for i, w := range weight {
		if w > 0 {
			order = append(order, i)
			sum += w
		}
	}
	if sum == 0 {
		return Estimate{}
	}
	slices.SortFunc(order, func(a, b int) int { // equal values stay in their order; a stable sort takes twice as long
		if c := cmp.Compare(value[a], value[b]); c != 0 {
			return c
		}
		return a - b
	})
	var e Estimate
	for _, i := range order {
		if n := len(e.At); n > 0 && e.At[n-1] == value[i] {
			e.Mass[n-1] += weight[i] / sum
			continue
		}
		e.At = append(e.At, value[i])
		e.Mass = append(e.Mass, weight[i]/sum)
	}
	return e
}

// Mean returns the posterior mean, or NaN for the zero Estimate.
func (e Estimate) Mean() float64 {
	if len(e.At) == 0 {
		return math.NaN()
	}
	m := 0.0
	for i, p := range e.Mass {
		m += float64(p * e.At[i])
	}
	return m
}

// SD returns the standard uncertainty in the sense of JCGM 100:2008 (GUM), or NaN for the zero Estimate.
func (e Estimate) SD() float64 {
	if len(e.At) == 0 {
		return math.NaN()
	}
	m, v := e.Mean(), 0.0
	for i, p := range e.Mass {
		d := e.At[i] - m
		v += float64(p * float64(d*d))
	}
	return math.Sqrt(v)
}

// Quantile returns the value below which the probability p lies, 0 < p < 1. Half of each mass is taken to lie below its own value, and the
// cumulative probability is linear between values.
func (e Estimate) Quantile(p float64) float64 {
	if len(e.At) == 0 {
		return math.NaN()
	}
	before, last := 0.0, math.Inf(-1) // cumulative probability at the last value
	for i, m := range e.Mass {
		here := before + m/2
		if i > 0 {
			here = last + (e.Mass[i-1]+m)/2
		}
		if here >= p {
			if i == 0 {
				return e.At[0]
			}
			return e.At[i-1] + float64((e.At[i]-e.At[i-1])*((p-last)/(here-last)))
		}
		last = here
	}
	return e.At[len(e.At)-1]
}

// Interval returns the central credible interval that holds the given probability, 0 < probability < 1.
func (e Estimate) Interval(probability float64) (lo, hi float64) {
	tail := (1 - probability) / 2
	return e.Quantile(tail), e.Quantile(1 - tail)
}

// Within returns the probability that the quantity lies in lo to hi, both included.
func (e Estimate) Within(lo, hi float64) float64 {
	sum := 0.0
	for i, p := range e.Mass {
		if lo <= e.At[i] && e.At[i] <= hi {
			sum += p
		}
	}
	return sum
}
