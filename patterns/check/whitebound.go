package check

import "example.org/plumb/patterns/psychophysics"

// WhiteBound returns the least rms error of a white along one axis, u'v', over both axes, that any estimator could reach on average from n comparisons with a
// reference: the Bayesian Cramér-Rao bound, under the priors of the check. noise is the SD of the viewer's comparisons of pinker or greener, u'v'.
func WhiteBound(noise float64, n int) float64 {
	return psychophysics.Bound(make([]float64, len(whitePriors)), whitePriors, []whiteMatch{{axis: 0}, {axis: 1}}, whiteDifference, whiteOutputs, 2, 2, noise, lapse, 0, n)
}
