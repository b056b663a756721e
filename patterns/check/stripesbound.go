package check

import "example.org/plumb/patterns/psychophysics"

// bound returns the bound on a procedure that has seen nothing, whose viewer has the given noise of grey lines, log light, on a screen at the middle of
// the priors.
func (p *stripes) bound(kinds int, outputs func(theta, out []float64, jacobian [][]float64), count int, noise float64, settings, comparisons int) float64 {
	theta := make([]float64, len(p.priors))
	var candidates []stripe
	for kind := range kinds {
		for _, m := range p.references {
			plain := nearest(&p.curve, float64(m.lit)/float64(m.of))
			candidates = append(candidates, p.stripe(kind, m, plain, false), p.stripe(kind, m, plain, true))
		}
	}
	return psychophysics.Bound(theta, p.priors, candidates, stripeDifference, outputs, count, count, noise, lapse, settings, comparisons)
}

// ChannelsBound returns the least rms error of gamma, over red, green and blue, that any estimator could reach on average from settings and
// comparisons of lines in single channels: the Bayesian Cramér-Rao bound, under the priors of the check. noise is the SD of the viewer's matches of grey lines, log light.
func ChannelsBound(noise float64, settings, comparisons int) float64 {
	p := newChannels(0)
	return p.bound(3, channelOutputs, 3, noise, settings, comparisons)
}

// AngleBound is the same for the shift of gamma between the bottom and the top of the frame.
func AngleBound(noise float64, settings, comparisons int) float64 {
	p := newAngle(0)
	return p.bound(2, angleOutputs, 1, noise, settings, comparisons)
}
