package check

import (
	"math"

	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// NeutralsBound returns the least rms error of tint, u'v', over tintLevels and both of screen.Hues, that any estimator could reach on average over the
// screens of trims from comparisons of plain greys with lines: the Bayesian Cramér-Rao bound (Van Trees 1968; see psychophysics.Bound) of an estimator that
// is told which of trims a screen is of along either axis, the noise, and a curve of 2.2, and shares the comparisons out between the axes as is best then.
// noise is the SD of the viewer's comparisons along each axis in the light, bias that of how much more tinted plain looks than lines, u'v'.
func NeutralsBound(noise, bias [2]float64, comparisons int) float64 {
	p := newNeutrals(0)
	var left [2][len(trims)][]float64 // mean square error after so many comparisons
	for axis := range left {
		for k, t := range trims {
			priors := tingeModel(axis, t).Priors
			priors[tingeBiasAt].Scale = bias[axis]
			priors[tingeSideAt].Scale = 0.4 * noise[axis]
			var candidates []tinge
			for _, m := range p.levels {
				v, fade := p.shade(nearest(&p.curve, float64(m.lit)/float64(m.of)))
				candidates = append(candidates, tinge{v, 0, fade, 1}, tinge{v, 0, fade, -1})
			}
			// The model is linear: its information is the same whatever the tint.
			for n := range comparisons + 1 {
				b := psychophysics.Bound(make([]float64, tingeParams), priors, candidates, tingeDifference, tingeOutputs, len(tintLevels), len(tintLevels), noise[axis], lapse, 0, n)
				left[axis][k] = append(left[axis][k], float64(b*b))
			}
		}
	}
	sum, shares := 0.0, 0.0
	for i := range trims {
		for j := range trims {
			best := math.Inf(1)
			for n := range comparisons + 1 {
				best = min(best, left[0][i][n]+left[1][j][comparisons-n])
			}
			sum += trimPrior(i, j) * best / float64(len(screen.Hues))
			shares += trimPrior(i, j)
		}
	}
	return math.Sqrt(sum / shares)
}
