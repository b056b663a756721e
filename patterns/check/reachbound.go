package check

import "math"

// ReachBound returns the least rms error of the reach (the lesser of both primaries') that any choice of n marks and any estimator could reach on average
// over the screens and viewers of the prior: every order of marks and answers is followed through (backward induction), and the best mark
// taken each time. The work grows fast with n: 4 takes a moment, 6 some
// seconds.
func ReachBound(n int) float64 {
	p := newReach()
	prior := p.grid.Mass()
	right := make([][]float64, reachStimuli)
	for s := range right {
		right[s] = make([]float64, len(prior))
		for h := range prior {
			right[s][h] = p.chance(s, h)
		}
	}
	known := map[[2 * reachStimuli]uint8]float64{}
	masses := make([][]float64, n+1)
	for i := range masses {
		masses[i] = make([]float64, len(prior))
	}
	copy(masses[0], prior)
	var seen [2 * reachStimuli]uint8 // right and wrong answers to each mark
	var least func(depth int) float64
	least = func(depth int) float64 {
		mass := masses[depth]
		var v float64 // probability of the answers times the variance that is left
		if depth == n {
			sum, first, second := 0.0, 0.0, 0.0
			for h, m := range mass {
				sum += m
				first += m * p.least[h]
				second += m * p.least[h] * p.least[h]
			}
			v = second - first*first/sum
		} else {
			v = math.Inf(1)
			for s := range reachStimuli {
				left := 0.0
				for answer := range 2 {
					seen[2*s+answer]++
					if v, ok := known[seen]; ok {
						left += v
					} else {
						next := masses[depth+1]
						for h, m := range mass {
							q := right[s][h]
							if answer == 1 {
								q = 1 - q
							}
							next[h] = m * q
						}
						left += least(depth + 1)
					}
					seen[2*s+answer]--
				}
				v = min(v, left)
			}
		}
		known[seen] = v
		return v
	}
	return math.Sqrt(least(0))
}
