package psychophysics

import (
	"math"
	"math/rand/v2"
)

// A Part is one normal distribution about 0 of a mixture: its probability, up to a constant, and the SD of each parameter, all independent.
type Part struct {
	Weight float64
	Scales []float64
}

// MixtureError returns the least mean square error of the outputs, averaged over them, that any estimator can reach who is not told of which part the
// parameters of a linear model are, after settings of the given stimuli with a noise: the variance that Bayes' rule leaves, averaged over draws parameters
// and settings. Parts are drawn from in proportion to their weights. A setting tells whatever a comparison of the same stimulus would, at
// any offset chosen beforehand: the answer follows from which side of the offset it lies on. So no comparisons, however they are chosen, do better.
func MixtureError[S any](parts []Part, stimuli []S, difference func([]float64, S, []float64) float64, outputs func([]float64, []float64, [][]float64),
	outCount int, noise float64, draws int, r *rand.Rand) float64 {
	n := len(parts[0].Scales)
	theta := make([]float64, n)
	jacobian := make([][]float64, outCount)
	for i := range jacobian {
		jacobian[i] = make([]float64, n)
	}
	outputs(theta, make([]float64, outCount), jacobian)
	grads := make([][]float64, len(stimuli))
	for i, s := range stimuli {
		grads[i] = make([]float64, n)
		difference(theta, s, grads[i])
	}
	// The covariance under each part is the same whatever was set.
	type posterior struct {
		root     matrix
		log      float64   // of the weight, but for what depends on the settings
		variance []float64 // of the outputs
		share    float64   // of the weights
		mean     []float64 // of the parameters
	}
	after, sum := make([]posterior, len(parts)), 0.0
	for k, p := range parts {
		a := posterior{root: newMatrix(n), mean: make([]float64, n), variance: make([]float64, outCount), share: p.Weight, log: math.Log(p.Weight)}
		sum += p.Weight
		for i, s := range p.Scales {
			a.root.a[i*n+i] = 1 / (s * s)
			a.log -= math.Log(s)
		}
		for _, g := range grads {
			a.root.outer(g, 1/(noise*noise))
		}
		logdet, ok := a.root.cholesky()
		if !ok {
			panic("psychophysics: internal error: precision is not positive definite")
		}
		a.log -= logdet / 2
		for i, row := range jacobian {
			work := append([]float64(nil), row...)
			a.root.forward(work)
			for _, v := range work {
				a.variance[i] += v * v
			}
		}
		after[k] = a
	}
	total := 0.0
	pull, weights := make([]float64, n), make([]float64, len(parts))
	at, upto := 0, after[0].share/sum
	for d := range draws {
		for upto < (float64(d)+0.5)/float64(draws) && at < len(parts)-1 {
			at++
			upto += after[at].share / sum
		}
		for i, s := range parts[at].Scales {
			theta[i] = s * r.NormFloat64()
		}
		clear(pull)
		for _, g := range grads {
			y := noise * r.NormFloat64()
			for i, v := range g {
				y += v * theta[i]
			}
			for i, v := range g {
				pull[i] += v * y / (noise * noise)
			}
		}
		best := math.Inf(-1)
		for k := range after {
			a := &after[k]
			copy(a.mean, pull)
			a.root.forward(a.mean)
			weights[k] = a.log
			for _, v := range a.mean {
				weights[k] += v * v / 2
			}
			a.root.backward(a.mean)
			best = max(best, weights[k])
		}
		all := 0.0
		for k, l := range weights {
			weights[k] = math.Exp(l - best)
			all += weights[k]
		}
		for i, row := range jacobian {
			first, second := 0.0, 0.0
			for k := range after {
				m := 0.0
				for j, v := range row {
					m += v * after[k].mean[j]
				}
				w := weights[k] / all
				first += w * m
				second += w * (m*m + after[k].variance[i])
			}
			total += second - first*first
		}
	}
	return total / float64(draws*outCount)
}
