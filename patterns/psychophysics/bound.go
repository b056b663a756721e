package psychophysics

import "math"

// Bound returns the Bayesian Cramér-Rao bound on the root mean square error of a model's outputs at theta, averaged over count (of which those that are
// not outputs are known exactly): the trace of the outputs' covariance under the information of priors, settings and comparisons. Each is taken at
// the candidate that lowers the trace most. Heavy-tailed priors count by their variance. A comparison at its best point, a difference of 0, carries
// (1-lapse)² 2/π of a setting's information over 1 - 0.
func Bound[S any](theta []float64, priors []Prior, candidates []S, difference func([]float64, S, []float64) float64,
	outputs func([]float64, []float64, [][]float64), outCount, count int, noise, lapse float64, settings, comparisons int) float64 {
	n := len(priors)
	precision := newMatrix(n)
	for i, p := range priors {
		v := p.Scale * p.Scale
		if p.Freedom > 2 {
			v *= p.Freedom / (p.Freedom - 2)
		}
		precision.a[i*n+i] = 1 / v
	}
	jacobian := make([][]float64, outCount)
	for i := range jacobian {
		jacobian[i] = make([]float64, n)
	}
	outputs(theta, make([]float64, outCount), jacobian)
	grads := make([][]float64, len(candidates))
	for i, c := range candidates {
		grads[i] = make([]float64, n)
		difference(theta, c, grads[i])
	}
	trace := 0.0
	for step := 0; step <= settings+comparisons; step++ {
		w := 1 / (noise * noise)
		if step >= settings {
			k := (1 - lapse) * normalDensity(0) / noise
			w = 4 * k * k
		}
		root := newMatrix(n)
		copy(root.a, precision.a)
		if _, ok := root.cholesky(); !ok {
			panic("psychophysics: internal error: precision is not positive definite")
		}
		through := make([][]float64, outCount) // jacobian times covariance
		trace = 0
		for i, row := range jacobian {
			through[i] = append([]float64(nil), row...)
			root.forward(through[i])
			for _, v := range through[i] {
				trace += v * v
			}
			root.backward(through[i])
		}
		if step == settings+comparisons {
			break
		}
		best, at := -1.0, 0
		for i, g := range grads {
			work := append([]float64(nil), g...)
			root.forward(work)
			variance, shared := 0.0, 0.0
			for _, v := range work {
				variance += v * v
			}
			for _, row := range through {
				dot := 0.0
				for j, v := range row {
					dot += v * g[j]
				}
				shared += dot * dot
			}
			if v := shared / (1/w + variance); v > best {
				best, at = v, i
			}
		}
		precision.outer(grads[at], w)
	}
	return math.Sqrt(trace / float64(count))
}
