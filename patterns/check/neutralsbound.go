package check

import (
	"math"
	"math/rand/v2"

	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// NeutralsBound returns the least rms error of tint, u'v', over tintLevels and both of screen.Hues, that any estimator could reach on average over the
// screens of trims from comparisons of plain greys with lines. It is the greater of two bounds, for both hold:
//
//   - the Bayesian Cramér-Rao bound (Van Trees 1968; see psychophysics.Bound) of one who is told which of trims a screen is of along either axis, to whom each
//     comparison tells no more than at its best place;
//   - what Bayes' rule leaves to one who is not told, but is shown by how much plain and lines differ to the viewer instead of only which is the more (see
//     psychophysics.MixtureError), and is told of which trims the screen is along the other axis.
//
// Both are told the noise, that the viewer sees either axis, and a curve of 2.2, and share the comparisons out between the axes as is best. Information
// alone is no better bound for one who is not told: that of the mixture is nearly that of the narrowest of trims, on whose screens it falls short.
// noise is the SD of the viewer's comparisons along each axis in the light, bias that of how much more tinted plain looks than lines, u'v'.
func NeutralsBound(noise, bias [2]float64, comparisons int) float64 {
	return max(neutralsTold(noise, bias, comparisons), neutralsUntold(noise, bias, comparisons, 1))
}

// NeutralsSweat returns what the second of these bounds would be if a comparison told as much of any tint as it does of one that it is asked right at, (1-lapse)² 2/π of
// what a difference that is shown tells: the sweat factor (Taylor and Creelman 1967) at work under the prior. Nothing is known to reach it, but that is not proven:
// it is no bound.
func NeutralsSweat(noise, bias [2]float64, comparisons int) float64 {
	return neutralsUntold(noise, bias, comparisons, (1-lapse)*(1-lapse)*2/math.Pi)
}

// tingePart is a normal prior of the parameters of a tinge along an axis, and its probability.
func tingePart(k int, weight, noise, bias float64) psychophysics.Part {
	p := psychophysics.Part{Weight: weight, Scales: make([]float64, tingeParams)}
	for i := range screen.TintParams {
		p.Scales[i] = trims[k].scale(i)
	}
	p.Scales[tingeBiasAt], p.Scales[tingeSideAt] = bias, 0.4*noise
	return p
}

// tinges are what plain greys beside every level of lines can be asked at.
func tinges() []tinge {
	p := newNeutrals(0)
	var all []tinge
	for _, m := range p.levels {
		v, fade := p.shade(nearest(&p.curve, float64(m.lit)/float64(m.of)))
		all = append(all, tinge{v, 0, fade, 1}, tinge{v, 0, fade, -1})
	}
	return all
}

// normalPriors are the priors of one part.
func normalPriors(p psychophysics.Part) []psychophysics.Prior {
	priors := make([]psychophysics.Prior, len(p.Scales))
	for i, s := range p.Scales {
		priors[i].Scale = s
	}
	return priors
}

func neutralsTold(noise, bias [2]float64, comparisons int) float64 {
	candidates := tinges()
	var left [2][len(trims)][]float64 // mean square error after so many comparisons
	for axis := range left {
		for k := range trims {
			priors := normalPriors(tingePart(k, 1, noise[axis], bias[axis]))
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

// untoldDraws is how many screens and viewers the error of one who is not told is averaged over, for each of trims of the other axis. It scatters by 1 %.
const untoldDraws = 1000

// neutralsUntold is the bound of one who is not told of which of trims a screen is, where a comparison tells worth, 0 to 1, of what a difference that is shown
// tells. The stimuli are those that are best for one of trims, and those of the three that leave the least error.
func neutralsUntold(noise, bias [2]float64, comparisons int, worth float64) float64 {
	candidates := tinges()
	shares := 0.0
	for i := range trims {
		for j := range trims {
			shares += trimPrior(i, j)
		}
	}
	left := func(axis, n int) float64 { // mean square error along an axis after so many comparisons
		least := math.Inf(1)
		for of := range trims {
			priors := normalPriors(tingePart(of, 1, noise[axis], bias[axis]))
			stimuli := psychophysics.Design(make([]float64, tingeParams), priors, candidates, tingeDifference, tingeOutputs, len(tintLevels), noise[axis], n)
			sum := 0.0
			for other := range trims {
				var parts []psychophysics.Part
				all := 0.0
				for k := range trims {
					w := trimPrior(k, other)
					if axis == 1 {
						w = trimPrior(other, k)
					}
					parts = append(parts, tingePart(k, w, noise[axis], bias[axis]))
					all += w
				}
				r := rand.New(rand.NewPCG(uint64(axis), uint64(other)))
				sum += all / shares * psychophysics.MixtureError(parts, stimuli, tingeDifference, tingeOutputs, len(tintLevels), noise[axis]/math.Sqrt(worth), untoldDraws, r)
			}
			least = min(least, sum)
		}
		return least
	}
	// The error falls ever less from one comparison to the next, so from the middle on the best split is where it is not improved upon.
	at := comparisons / 2
	split := func(n int) float64 { return (left(0, n) + left(1, comparisons-n)) / float64(len(screen.Hues)) }
	best := split(at)
	for _, step := range []int{1, -1} {
		for n := at + step; n >= 0 && n <= comparisons; n += step {
			e := split(n)
			if e >= best {
				break
			}
			best = e
		}
	}
	return math.Sqrt(best)
}
