package psychophysics

import "math"

// Bound returns the Bayesian Cramér-Rao bound (Van Trees 1968) on the root mean square error of a model's outputs at theta, averaged over count (of which those
// that are not outputs are known exactly): the trace of the outputs' covariance under the information of priors, settings and comparisons. All parameters
// are unknown, those that are no outputs too. The noise of the viewer is taken as known: an answer to a difference of 0 depends on no noise, so to have it
// found out adds nothing to the bound, though it does to the error.
//
// A prior of Student's t with f degrees of freedom has the information (f+1)/(f+3) over its scale's square. A comparison carries most where both alternatives
// look alike: (1-lapse)² 2/π of a setting's information over 1 - 0, wherever a procedure asks. How all that information is shared out among candidates, in
// parts of answers too, is chosen as is best. The trace is convex in the shares, so its slope at any of them bounds it from below for all, those of procedures that choose
// in the light of answers included; that bound is returned, and is within 0.1 % of the best.
func Bound[S any](theta []float64, priors []Prior, candidates []S, difference func([]float64, S, []float64) float64,
	outputs func([]float64, []float64, [][]float64), outCount, count int, noise, lapse float64, settings, comparisons int) float64 {
	q := ask(theta, priors, candidates, difference, outputs, outCount)
	k := (1 - lapse) * normalDensity(0) / noise
	whole := float64(settings)/(noise*noise) + float64(comparisons)*4*k*k
	if whole == 0 {
		trace, _ := q.trace(q.prior)
		return math.Sqrt(trace / float64(count))
	}
	share := make([]float64, len(candidates))
	for i := range share {
		share[i] = whole / float64(len(share))
	}
	information := newMatrix(len(priors))
	bound := 0.0
	for range 2000 {
		copy(information.a, q.prior.a)
		for i, g := range q.grads {
			information.outer(g, share[i])
		}
		trace, falls := q.trace(information)
		most, mean, sum := 0.0, 0.0, 0.0
		for i, f := range falls {
			most, mean = max(most, f), mean+share[i]*f/whole
		}
		bound = max(bound, trace-whole*(most-mean))
		if trace-bound < 1e-3*trace {
			break
		}
		// Multiplicative steps towards the best shares (Silvey, Titterington and Torsney 1978).
		for i, f := range falls {
			share[i] *= math.Sqrt(f)
			sum += share[i]
		}
		for i := range share {
			share[i] *= whole / sum
		}
	}
	return math.Sqrt(bound / float64(count))
}

// Design returns the candidates, in the order of greedy choice, at which so many settings lower the summed variance of the outputs.
func Design[S any](theta []float64, priors []Prior, candidates []S, difference func([]float64, S, []float64) float64,
	outputs func([]float64, []float64, [][]float64), outCount int, noise float64, settings int) []S {
	q := ask(theta, priors, candidates, difference, outputs, outCount)
	var chosen []S
	for range settings {
		best, at := math.Inf(1), 0
		for i, g := range q.grads {
			information := newMatrix(len(priors))
			copy(information.a, q.prior.a)
			information.outer(g, 1/(noise*noise))
			if trace, _ := q.trace(information); trace < best {
				best, at = trace, i
			}
		}
		q.prior.outer(q.grads[at], 1/(noise*noise))
		chosen = append(chosen, candidates[at])
	}
	return chosen
}

// An asking is what candidates can tell of a model's outputs.
type asking struct {
	prior    matrix      // information of the priors
	jacobian [][]float64 // of the outputs
	grads    [][]float64 // of each candidate
}

func ask[S any](theta []float64, priors []Prior, candidates []S, difference func([]float64, S, []float64) float64,
	outputs func([]float64, []float64, [][]float64), outCount int) asking {
	n := len(priors)
	q := asking{prior: newMatrix(n), jacobian: make([][]float64, outCount), grads: make([][]float64, len(candidates))}
	for i, p := range priors {
		v := 1 / (p.Scale * p.Scale)
		if p.Freedom > 0 {
			v *= (p.Freedom + 1) / (p.Freedom + 3)
		}
		q.prior.a[i*n+i] = v
	}
	for i := range q.jacobian {
		q.jacobian[i] = make([]float64, n)
	}
	outputs(theta, make([]float64, outCount), q.jacobian)
	for i, c := range candidates {
		q.grads[i] = make([]float64, n)
		difference(theta, c, q.grads[i])
	}
	return q
}

// trace returns the summed variance of the outputs under an information, and by how much it falls for more of each candidate's.
func (q asking) trace(information matrix) (trace float64, falls []float64) {
	root := newMatrix(information.n)
	copy(root.a, information.a)
	if _, ok := root.cholesky(); !ok {
		panic("psychophysics: internal error: precision is not positive definite")
	}
	falls = make([]float64, len(q.grads))
	through := make([]float64, information.n) // a row of the jacobian times the covariance
	for _, row := range q.jacobian {
		copy(through, row)
		root.forward(through)
		for _, v := range through {
			trace += v * v
		}
		root.backward(through)
		for i, g := range q.grads {
			dot := 0.0
			for j, v := range through {
				dot += v * g[j]
			}
			falls[i] += dot * dot
		}
	}
	return trace, falls
}
