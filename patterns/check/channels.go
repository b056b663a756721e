package check

import (
	"math/rand/v2"

	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// ChannelSpread is the tolerance of the largest difference between the gammas of two channels; ours. A difference of 0.2 of red, or of 0.125 of blue,
// tints the middle grey by the tolerance of neutrals, which are the finer test: this check only bears them out.
const ChannelSpread = 0.25

// channelNoise is how much noisier matches in one channel are than in grey, for red, green and blue: red and green lines lack contrast in part, blue ones
// are blurred by the eye. Judgement.
var channelNoise = [3]float64{1.2, 1.2, 2}

// channelPrior is what is believed of how much a channel's gamma differs from the common one, channelBias of how much lighter its lines look than grey
// ones do beyond what they are; ours.
var (
	channelPrior = psychophysics.Prior{Scale: 0.09, Freedom: 4}
	channelBias  = psychophysics.Prior{Scale: 0.01}
)

// channels is the procedure of line matches in one channel at a time.
type channels struct{ *stripes }

func beginChannels(p Plan) procedure { return newChannels(p.Degree) }

func newChannels(degree float64) *channels {
	return &channels{newStripes(degree,
		[]psychophysics.Prior{channelPrior, channelPrior, channelPrior, stripeCommon},
		[]psychophysics.Prior{channelBias, channelBias, channelBias, stripeBias, stripeSide},
		channelOutputs, 3, channelStripe)}
}

func channelStripe(channel int) stripe {
	s := stripe{noise: channelNoise[channel]}
	s.exponent[channel], s.exponent[3] = 1, 1
	s.offset[channel], s.offset[3] = 1, 1
	return s
}

// channelOutputs are how much each channel's gamma differs from grey's.
func channelOutputs(theta, out []float64, jacobian [][]float64) {
	for i := range out {
		clear(jacobian[i])
		out[i] = theta[i] + theta[3]
		jacobian[i][i], jacobian[i][3] = 1, 1
	}
}

func (p *channels) choose(k Kind, n int, left bool, r *rand.Rand) Stimulus {
	among := []int{0, 1, 2}
	if k == Setting {
		among = among[n%3 : n%3+1]
	}
	s, channel := p.stripes.choose(k, n, left, among, r)
	s.Channel = 1 + channel
	return s
}

func (p *channels) record(j Judgement) error {
	if c := j.Stimulus.Channel; c < 1 || c > 3 || j.Stimulus.At != 0 {
		return errForeign
	}
	return p.learn(j, j.Stimulus.Channel-1)
}

// StripeDraws is how many screens are drawn from the posterior of channels and of the viewing angle.
const StripeDraws = 400

// A ChannelsResult is what line matches in single channels found.
type ChannelsResult struct {
	Gamma  [3]psychophysics.Estimate // effective gamma of red, green and blue; see screen.EffectiveGamma
	Spread psychophysics.Estimate    // the largest difference between two of them
	Noise  psychophysics.Estimate    // SD of the viewer's matches of grey lines, log light

	Draws   [][3]float64 // draws from the posterior: gamma of red, green, blue
	Weights []float64    // their weights, which sum to 1
}

func (p *channels) result(r *rand.Rand) ChannelsResult {
	grey := screen.EffectiveGamma(func(v float64) float64 { // straight between codes
		c := min(int(v*255), 254)
		part := v*255 - float64(c)
		return float64((1-part)*p.curve[c]) + float64(part*p.curve[c+1])
	})
	thetas, _, weights := p.fit.Sample(r, samples)
	v := ChannelsResult{Noise: p.fit.Noise()}
	all, spread := make([][3]float64, len(thetas)), make([]float64, len(thetas))
	var gamma [3][]float64
	for i, theta := range thetas {
		d := &all[i]
		for c := range d {
			// The slope of a sum is the sum of the slopes: an exponent adds to the effective gamma as it is.
			d[c] = grey + theta[c] + theta[3]
			gamma[c] = append(gamma[c], d[c])
		}
		spread[i] = max(d[0], d[1], d[2]) - min(d[0], d[1], d[2])
	}
	for _, i := range resampled(weights, StripeDraws, r) {
		v.Draws = append(v.Draws, all[i])
	}
	v.Weights = evenly(StripeDraws)
	for c := range 3 {
		v.Gamma[c] = psychophysics.NewEstimate(gamma[c], weights)
	}
	v.Spread = psychophysics.NewEstimate(spread, weights)
	return v
}
