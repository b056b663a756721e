package check

import (
	"math/rand/v2"

	"example.org/plumb/patterns/psychophysics"
)

// AngleShift is the tolerance of the shift of gamma between the bottom and the top of a screen; ours, that of gamma itself: a judgement by eye can claim
// nothing below it.
const AngleShift = 0.15

// anglePrior is what is believed of the shift beforehand; ours.
var anglePrior = psychophysics.Prior{Scale: 0.1, Freedom: 4}

// angle is the procedure of the viewing angle: the same line match at the top and at the bottom of the frame. What makes lines look lighter than they are
// is the same in both, and so is how much light a place has: neither counts.
type angle struct{ *stripes }

func beginAngle(p Plan) procedure { return newAngle(p.Degree) }

func newAngle(degree float64) *angle {
	return &angle{newStripes(degree,
		[]psychophysics.Prior{anglePrior, stripeCommon},
		[]psychophysics.Prior{stripeBias, stripeSide},
		angleOutputs, 1, angleStripe)}
}

// angleStripe is of kind 0 at the top and 1 at the bottom.
func angleStripe(kind int) stripe {
	s := stripe{noise: 1}
	s.exponent[0], s.exponent[1] = float64(kind)-0.5, 1
	s.offset[0] = 1
	return s
}

func angleOutputs(theta, out []float64, jacobian [][]float64) {
	clear(jacobian[0])
	out[0], jacobian[0][0] = theta[0], 1
}

// choose has a match at the top and at the bottom in turns of two, so that at both places either side is plain as often.
func (p *angle) choose(k Kind, n int, left bool, r *rand.Rand) Stimulus {
	place := n / 2 % 2
	if k == Practice || k == Catch { // few
		place = n % 2
	}
	s, _ := p.stripes.choose(k, n, left, []int{place}, r)
	s.At = 2*place - 1
	return s
}

func (p *angle) record(j Judgement) error {
	if at := j.Stimulus.At; at != -1 && at != 1 || j.Stimulus.Channel != 0 {
		return errForeign
	}
	return p.learn(j, (j.Stimulus.At+1)/2)
}

// An AngleResult is what the same matches at the top and at the bottom of the frame found.
type AngleResult struct {
	Shift psychophysics.Estimate // effective gamma at the bottom less that at the top, the places being two thirds of the frame's height apart
	Noise psychophysics.Estimate // SD of the viewer's matches, log light

	Draws   []float64 // draws from the posterior: the shift
	Weights []float64 // their weights, which sum to 1
}

func (p *angle) result(r *rand.Rand) AngleResult {
	thetas, _, weights := p.fit.Sample(r, samples)
	shift := make([]float64, len(thetas))
	for i, theta := range thetas {
		shift[i] = theta[0]
	}
	v := AngleResult{Shift: psychophysics.NewEstimate(shift, weights), Noise: p.fit.Noise(), Weights: evenly(StripeDraws)}
	for _, i := range resampled(weights, StripeDraws, r) {
		v.Draws = append(v.Draws, shift[i])
	}
	return v
}
