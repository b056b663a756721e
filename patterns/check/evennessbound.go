package check

import (
	"math"

	"example.org/plumb/patterns/psychophysics"
)

// EvennessBound returns the least rms error of log light, over the places of a grid that are not the middle, that any estimator could reach on average
// from comparisons of places with the middle: the Bayesian Cramér-Rao bound of an estimator that is told of which scale of lightSurface the
// screen is. grid is the places in a row and in a column, 3 or 5. noise is the SD of the viewer's comparisons, bias that of how much the rim
// seems to have more, log light.
func EvennessBound(grid int, noise, bias float64, comparisons int) float64 {
	m := lightSurface
	m.rim = bias
	f := newSurface(grid, &m)
	sum := 0.0
	for _, s := range m.scales {
		priors := m.priors(s, len(f.places))
		theta := make([]float64, len(priors))
		candidates := make([]spot, len(f.places))
		for i, p := range priors {
			theta[i] = p.Location
		}
		for p := range candidates {
			candidates[p] = spot{p, -f.value(theta, p)}
		}
		b := psychophysics.Bound(theta, priors, candidates, f.difference, f.outputs, len(f.places), len(f.places), noise, lapse, 0, comparisons)
		sum += float64(s.share * float64(b*b))
	}
	return math.Sqrt(sum)
}
