package check

import (
	"math"

	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// ToneBound returns the least rms error of L*, over the levels of screen.Steps, that any estimator of a tone curve could reach on average from settings
// and comparisons of the references of this check: the Bayesian Cramér-Rao bound. The design is the best that greedy choice finds when it knows the curve.
// noise and bias are the viewer's, as SDs of log light.
func ToneBound(t screen.Tone, noise, bias float64, settings, comparisons int) float64 {
	theta := make([]float64, lineParams)
	theta[0], theta[1], theta[2] = t.Gamma, t.Offset, t.S
	copy(theta[3:], t.Knots[:])
	priors := linePriors()
	priors[biasAt] = psychophysics.Prior{Scale: bias}
	var candidates []match
	var light [256]float64
	for c := range light {
		light[c] = screen.ToneLight(theta, float64(c)/255, nil)
	}
	for _, m := range references {
		share := float64(m.lit) / float64(m.of)
		plain := nearest(&light, float64((1-share)*light[m.a])+float64(share*light[m.b]))
		for _, sign := range []float64{1, -1} {
			candidates = append(candidates, match{float64(m.a) / 255, float64(m.b) / 255, share, float64(plain) / 255, sign, 1}, match{float64(m.a) / 255, float64(m.b) / 255, share, float64(plain) / 255, sign, -1})
		}
	}
	return psychophysics.Bound(theta, priors, candidates, curve(screen.ToneLight).difference, curve(screen.ToneLight).outputs, screen.Steps-2, screen.Steps, noise, lapse, settings, comparisons)
}

// NearEndBound returns the least SD of the natural logarithm of a threshold after n judgements among 9 cells, each at its best place: the sweat factor
// (Taylor and Creelman 1967) over n, with the prior's information added. slope is that of seeing over the logarithm of code values, guess rate 1/9.
func NearEndBound(slope float64, n int, prior float64) float64 {
	best := 0.0
	for x := -1.5; x < 1.5; x += 0.001 {
		p := psychophysics.Weibull(math.Exp(x), slope, lapse, 9)
		const h = 1e-4
		d := (psychophysics.Weibull(math.Exp(x+h), slope, lapse, 9) - psychophysics.Weibull(math.Exp(x-h), slope, lapse, 9)) / (2 * h)
		best = math.Max(best, d*d/(p*(1-p)))
	}
	return 1 / math.Sqrt(float64(n)*best+1/(prior*prior))
}
