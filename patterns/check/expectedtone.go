package check

import (
	"math"
	"slices"

	"example.org/plumb/colour"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// Of a sitting that is held against a profile, line matches keep to codes from foretoldLo to foretoldHi beside black and white: nobody has looked where the
// ends are lost.
const foretoldLo, foretoldHi = 40, 235

// A supposition is one idea of a screen whose profile is known.
type supposition int

const (
	isLoaded supposition = iota // as the profile has it, with its correction
	isBare                      // as the profile has it, without
	between                     // anything from one to the other and beyond: no correction, half of it, or twice
	suppositions
)

// mixPrior is what each supposition believes of how much of the correction is at work, from 0 to 1.
var mixPrior = [suppositions]psychophysics.Prior{
	isLoaded: {Location: 1, Scale: 1e-3},
	isBare:   {Location: 0, Scale: 1e-3},
	between:  {Location: 0.5, Scale: 0.8},
}

// How a screen departs from its profile: the profile's own error, 1 ΔE00 or so, and what the screen has drifted since. SDs, of the exponent of light, of S and of
// the remainder of the signal; ours.
const (
	slackExponent  = 0.015
	slackS         = 0.003
	slackRemainder = 0.0025
)

// foretoldBias is how much lighter lines look than they are, log light, of viewers who vary more than is taken elsewhere: a bias would pass for a correction.
// Normal, for with heavy tails a bias of 20 % explained any screen. Ours.
var foretoldBias = psychophysics.Prior{Scale: 0.045}

// foretoldGamma is the scale of gamma of a screen that is something else: another mode, or a correction twice, is farther off than screens usually are. Ours.
const foretoldGamma = 0.4

// Parameters of a foretold curve, in the places that a Tone has its own.
const (
	exponentAt = 0 // by how much the exponent of light departs from 1
	mixAt      = 1 // how much of the correction is at work
)

// domain is the power in whose root expected light is straight between knots: nearly so for any screen, which keeps the interpolation exact to 0.1 %.
const domain = 2.2

// foretold is light over signals, to the power 1/domain.
type foretold [Knots]float64

func foretell(light *[Knots]float64) (f foretold) {
	for i, l := range light {
		f[i] = math.Pow(l, 1/domain)
	}
	return f
}

// at returns the value at a signal in 0 to 1 and its slope.
func (f *foretold) at(v float64) (value, slope float64) {
	place := min(max(v, 0), 1) * (Knots - 1)
	k := min(int(place), Knots-2)
	d := f[k+1] - f[k]
	return f[k] + float64((place-float64(k))*d), d * (Knots - 1)
}

// light returns the light at a signal in 0 to 1.
func (f *foretold) light(v float64) float64 {
	s, _ := f.at(v)
	return math.Pow(s, domain)
}

// grey returns the light of equal codes: the channels by their share of white's luminance, that of sRGB.
func grey(channels *[3][Knots]float64) (sum [Knots]float64) {
	m := colour.SRGB.Matrix()
	for i := range sum {
		for c, light := range channels {
			sum[i] += float64(m[1][c] * light[i])
		}
		sum[i] = min(sum[i], 1)
	}
	return sum
}

// A passage goes from the curve without the correction to that with it.
type passage struct{ bare, loaded foretold }

// light is a curve: the mixture of both, with slack.
func (p *passage) light(theta []float64, v float64, grad []float64) float64 {
	if grad != nil {
		clear(grad[:screen.ToneParams])
	}
	if v <= 0 || v >= 1 {
		return max(0, min(v, 1))
	}
	sine := math.Sin(2 * math.Pi * v)
	u := v - float64(theta[2]*sine)
	place := v * (screen.Knots + 1)
	k := int(place) // the knots left and right of v are k-1 and k, counted from 0
	part := place - float64(k)
	if k > 0 {
		u += float64((1 - part) * theta[2+k])
	}
	if k < screen.Knots {
		u += float64(part * theta[3+k])
	}
	bare, bareSlope := p.bare.at(u)
	loaded, loadedSlope := p.loaded.at(u)
	mix := theta[mixAt]
	s := bare + float64(mix*(loaded-bare))
	slope := bareSlope + float64(mix*(loadedSlope-bareSlope))
	if s < 1e-3 {
		return math.Pow(1e-3, domain)
	}
	exponent := domain * (1 + max(theta[exponentAt], -0.5))
	light := math.Pow(s, exponent)
	if grad != nil {
		by := light * exponent / s // by s
		grad[exponentAt] = light * domain * math.Log(s)
		grad[mixAt] = by * (loaded - bare)
		d := by * slope // by u
		grad[2] = -d * sine
		if k > 0 {
			grad[2+k] = float64(d * (1 - part))
		}
		if k < screen.Knots {
			grad[3+k] = float64(d * part)
		}
	}
	return light
}

// mixOutput is how much of the correction is at work.
func mixOutput(at int) func(theta, out []float64, jacobian [][]float64) {
	return func(theta, out []float64, jacobian [][]float64) {
		clear(jacobian[0])
		out[0], jacobian[0][at] = theta[at], 1
	}
}

// foretoldTone is what line matches learn of the suppositions.
type foretoldTone struct {
	passage
	apart   bool // the curves with the correction and without differ so much that an eye may tell
	fits    [suppositions]*psychophysics.Comparison[match]
	base    [suppositions]float64 // their log evidence before any answer
	unknown [families]float64     // that of the families of curves
	asked   int
}

// orientation is +1 where the next lines are rows, -1 where they are columns: as many of both, so that a screen on which they differ is noticed.
func (t *foretoldTone) orientation() float64 { return 1 - 2*float64(t.asked/2%2) }

// foretoldReferences are further references: the fewer of the lines are lit, the more two curves differ where the plain side matches.
var foretoldReferences = func() []mix {
	m := []mix{{0, 255, 1, 5}, {0, 255, 1, 6}}
	for _, b := range []uint8{200, 150} {
		for of := 4; of <= 6; of++ {
			m = append(m, mix{0, b, 1, of})
		}
	}
	return m
}()

// expecting holds line matches against what a profile says, nil for none.
func (p *lines) expecting(e *Expected, degree float64) *lines {
	if e == nil {
		return p
	}
	loaded, bare := grey(&e.Loaded), grey(&e.Bare)
	t := &foretoldTone{passage: passage{foretell(&bare), foretell(&loaded)}}
	t.apart = e.Apart().Lightness >= alikeLightness
	for i := range p.fits {
		m := lineModel(i)
		m.Priors[biasAt] = foretoldBias
		m.Priors[0].Scale = foretoldGamma
		p.fits[i] = psychophysics.NewComparison(m)
		t.unknown[i] = p.fits[i].Evidence()
	}
	for i := range t.fits {
		m := lineModel(plainly)
		m.Priors[biasAt] = foretoldBias
		m.Difference = curve(t.light).difference
		m.Outputs, m.OutCount = mixOutput(mixAt), 1
		m.Priors[exponentAt] = psychophysics.Prior{Scale: slackExponent}
		m.Priors[mixAt] = mixPrior[i]
		m.Priors[2] = psychophysics.Prior{Scale: slackS}
		for k := 3; k < screen.ToneParams; k++ {
			m.Priors[k].Scale = slackRemainder
		}
		t.fits[i] = psychophysics.NewComparison(m)
		t.base[i] = t.fits[i].Evidence()
	}
	p.references = fine(slices.Concat(references, foretoldReferences), degree)
	p.told = t
	p.hear(context{lo: 0, hi: 255})
	return p
}

func (t *foretoldTone) record(m match, k Kind, step, share float64) error {
	t.asked++
	for _, f := range t.fits {
		if k == Setting {
			f.Set(m, step)
		} else if err := f.Record(m, share); err != nil {
			return err
		}
	}
	return nil
}

// curve returns the light of grey codes as a supposition has it best.
func (t *foretoldTone) curve(of supposition) *[256]float64 {
	mode := t.fits[of].Mode()
	var c [256]float64
	for i := range c {
		c[i] = t.light(mode, float64(i)/255, nil)
	}
	return &c
}

// ideas are the suppositions, and the free family of tone curves: what questions are to tell apart.
const ideas = int(suppositions) + 1

// idea returns what was learned under one of ideas, how probable the answers are under it, and its curve.
func (t *foretoldTone) idea(p *lines, i int) (fit *psychophysics.Comparison[match], log float64, curve *[256]float64) {
	if i == int(suppositions) {
		fit = p.fits[plainly]
		return fit, fit.Evidence() - t.unknown[plainly], p.curve(plainly)
	}
	fit = t.fits[i]
	return fit, fit.Evidence() - t.base[i], t.curve(supposition(i))
}

// doubt is the least probability that an idea has while questions are chosen: what looks settled is asked about once more.
const doubt = 0.03

// doubted turns logarithms into probabilities, none less than doubt.
func doubted(p []float64) {
	probabilities(p)
	for i := range p {
		p[i] = (p[i] + doubt) / (1 + doubt*float64(len(p)))
	}
}

// search finds the comparison whose answer is expected to tell most of the ideas apart. Where a search by what is between them asks for what both sides
// would look alike, which leaves a viewer's noise open, this one asks for what one idea has lighter and the other darker.
func (t *foretoldTone) search(p *lines) lineChoice {
	sign := t.orientation()
	var gains [ideas]*psychophysics.Gain[match]
	var curves [ideas]*[256]float64
	var bias [ideas]float64
	odds := [...]float64{math.Log(loadedPrior), math.Log(barePrior), math.Log(neitherPrior / 2), math.Log(neitherPrior / 2)}
	for i := range ideas {
		fit, log, curve := t.idea(p, i)
		odds[i] += log
		gains[i], curves[i], bias[i] = fit.Gain(), curve, fit.Mode()[biasAt]
	}
	doubted(odds[:])
	best := lineChoice{-1, p.references[0], sign, 128, curves[between], t.fits[between].Spread()}
	for _, m := range p.references {
		if p.lost(m.a) || p.lost(m.b) {
			continue
		}
		share := float64(m.lit) / float64(m.of)
		var alike [ideas]int // codes of the grey that is as light
		for i, c := range curves {
			target := float64((1-share)*c[m.a]) + float64(share*c[m.b])
			alike[i] = nearest(c, (target+pedestal)*math.Exp(bias[i])-pedestal)
		}
		for i := range ideas {
			for j := range i {
				plain := (alike[i] + alike[j]) / 2
				if plain <= p.lo || plain >= p.hi {
					continue
				}
				x := match{float64(m.a) / 255, float64(m.b) / 255, share, float64(plain) / 255, sign, 0}
				var chances [ideas]float64
				for k, g := range gains {
					chances[k] = g.Chance(x)
				}
				v := information(odds[:], chances[:]) / (1 + 0.05*float64(p.used[m]))
				if v > best.gain+1e-9 {
					best.gain, best.at, best.plain = v, m, plain
				}
			}
		}
	}
	return best
}

// information is how much an answer is expected to tell of which idea is so, in nats, given their odds, which need not sum to 1, and how probable each
// makes the answer.
func information(odds, chances []float64) float64 {
	entropy := func(p float64) float64 {
		if p <= 0 || p >= 1 {
			return 0
		}
		return -p*math.Log(p) - (1-p)*math.Log1p(-p)
	}
	sum, whole, parts := 0.0, 0.0, 0.0
	for i, w := range odds {
		sum += w
		whole += float64(w * chances[i])
		parts += float64(w * entropy(chances[i]))
	}
	return entropy(whole/sum) - parts/sum
}
