package check

import (
	"image"
	"math"
	"math/rand/v2"

	"example.org/plumb/colour"
	"example.org/plumb/patterns"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// References that a white can be held against.
const (
	Paper       = "paper"  // a sheet of paper under a lamp of a known light
	OtherScreen = "screen" // a second screen that is trusted and shows white
)

// WhiteTolerance is the distance in u'v' of a white from a reference that counts as off; ours. A reference is itself uncertain by about 0.005, and so is
// what one viewer sees of two lights of different spectra: nothing below is to be claimed by eye.
const WhiteTolerance = 0.02

// whiteGround is the code around the white field, constant so that nothing jumps between trials.
const whiteGround = lineGround

// whiteShare is the height of the field in hundredths of the frame's shorter side, and half its width.
const whiteShare = 30

// whiteObvious is how far practice and catch trials move the field, u'v': beyond any screen in use.
const whiteObvious = 0.05

// whiteYellow is how much noisier yellower or bluer is than pinker or greener: the short-wave cones.
const whiteYellow = 1.7

// leastWhite is the lowest code of a channel of the field.
const leastWhite = 130

var (
	// whitePrior is what is believed beforehand of the distance from the reference along each axis, u'v'. From D65 to 7500 K is 0.01; ours.
	whitePrior = psychophysics.Prior{Scale: 0.01, Freedom: 4}
	// whiteBias is how far the reference may be from what it is taken for, and this viewer's match from the standard observer's: each 0.005 in length,
	// which makes 0.005 along each of two axes. It stays however many judgements there are.
	whiteBias = psychophysics.Prior{Scale: 0.005}
)

// A whiteMatch is a field beside the reference as the estimator sees it.
type whiteMatch struct {
	axis  int     // index of screen.Hues
	moved float64 // tint of the field against the screen's own white along the axis, u'v'
}

// whitePriors are those of the offset along both axes, then of the biases.
var whitePriors = []psychophysics.Prior{whitePrior, whitePrior, whiteBias, whiteBias}

// whiteDifference predicts how much pinker or yellower the field is than the reference, u'v' and in units of the noise of pinker.
func whiteDifference(theta []float64, m whiteMatch, grad []float64) float64 {
	noise := 1.0
	if m.axis == 1 {
		noise = whiteYellow
	}
	clear(grad)
	grad[m.axis], grad[2+m.axis] = 1/noise, 1/noise
	return (theta[m.axis] + theta[2+m.axis] + m.moved) / noise
}

func whiteOutputs(theta, out []float64, jacobian [][]float64) {
	for i := range out {
		clear(jacobian[i])
		out[i], jacobian[i][i] = theta[i], 1
	}
}

// white is the procedure of white against a reference in one sitting. The viewer says on which side of the reference a field of white lies; the field is
// moved until neither.
type white struct {
	reference string
	fit       *psychophysics.Comparison[whiteMatch]
	heard
}

func beginWhite(p Plan) procedure { return newWhite(p.Reference) }

func newWhite(reference string) *white {
	var noises, prior []float64
	for _, s := range []float64{0.002, 0.003, 0.0045, 0.0065, 0.0095, 0.014, 0.02, 0.03} {
		z := math.Log(s/0.006) / 0.5
		noises, prior = append(noises, s), append(prior, math.Exp(-z*z/2))
	}
	p := &white{reference: reference, heard: unheard()}
	p.fit = psychophysics.NewComparison(psychophysics.Model[whiteMatch]{
		Priors:     whitePriors,
		Difference: whiteDifference, Outputs: whiteOutputs, OutCount: 2, Noises: noises, NoisePrior: prior, Lapse: lapse,
	})
	return p
}

// whiteCodes returns the field's codes when red and blue differ from green by so many: the greatest of the three is 255.
func whiteCodes(red, blue int) (r, g, b int) {
	g = 255 - max(red, blue, 0)
	return g + red, g, g + blue
}

// whiteStep is how far a unit of ln(X/Y) and of ln(Y/Z) goes in u'v': what screen.HueOf has for red and for blue alone, over what these do to the logarithms.
var whiteStep = func() [2]float64 {
	m, w := colour.SRGB.Matrix(), colour.SRGB.White()
	pink, _ := screen.HueOf(1, 0)
	_, yellow := screen.HueOf(0, 1)
	return [2]float64{pink / (m[0][0]/w.X - m[1][0]/w.Y), yellow / (m[1][2]/w.Y - m[2][2]/w.Z)}
}()

// moved returns the tint of the field against the screen's own white along both axes, u'v'. Unlike screen.HueOf it holds for strong tints too.
func (p *white) moved(red, blue int) [2]float64 {
	r, g, b := whiteCodes(red, blue)
	w := colour.SRGB.White()
	c := colour.SRGB.Matrix().Apply(colour.XYZ{X: p.curve[r], Y: p.curve[g], Z: p.curve[b]})
	x, y, z := math.Log(max(c.X/w.X, 1e-6)), math.Log(max(c.Y/w.Y, 1e-6)), math.Log(max(c.Z/w.Z, 1e-6))
	return [2]float64{whiteStep[0] * (x - y), whiteStep[1] * (y - z)}
}

// codes returns by how many codes red and blue differ from green in the field whose tint is nearest to the one asked for.
func (p *white) codes(pink, yellow float64) (red, blue int) {
	w := colour.SRGB.White()
	c := colour.SRGB.Inverse().Apply(colour.XYZ{X: w.X * math.Exp(pink/whiteStep[0]), Y: w.Y, Z: w.Z * math.Exp(-yellow/whiteStep[1])})
	top := max(c.X, c.Y, c.Z) // red, green and blue light
	code := func(light float64) int {
		light /= top
		if light > (1+p.curve[254])/2 {
			return 255
		}
		return max(nearest(&p.curve, light), leastWhite)
	}
	r, g, b := code(c.X), code(c.Y), code(c.Z)
	return r - g, b - g
}

func (p *white) choose(k Kind, n int, _ bool, r *rand.Rand) Stimulus {
	axis := n % 2
	var aim [2]float64
	if k == Trial {
		mode := p.fit.Mode()
		for i := range aim {
			aim[i] = -(mode[i] + mode[2+i])
		}
		if n%(2*easyEvery) >= 2*easyEvery-2 { // two in twelve, one on either axis
			off := easy * p.fit.Spread()
			if axis == 1 {
				off *= whiteYellow
			}
			if r.Uint64()&1 == 0 {
				off = -off
			}
			aim[axis] += off
		}
	} else {
		if k == Catch {
			axis = r.IntN(2)
		}
		aim[axis] = whiteObvious
		if r.Uint64()&1 == 0 {
			aim[axis] = -whiteObvious
		}
	}
	s := Stimulus{Ground: whiteGround, Hue: screen.Hues[axis]}
	s.Red, s.Blue = p.codes(aim[0], aim[1])
	return s
}

func (p *white) side(bounds image.Rectangle) int {
	return whiteShare * min(bounds.Dx(), bounds.Dy()) / 100
}

// pattern is two squares that abut and are alike: one field.
func (p *white) pattern(s Stimulus, bounds image.Rectangle, _ float64) patterns.Pattern {
	_, green, _ := whiteCodes(s.Red, s.Blue)
	tint := [2]int8{int8(s.Red), int8(s.Blue)}
	return patterns.Pair{Left: uint8(green), Right: uint8(green), LeftTint: tint, RightTint: tint, Ground: s.Ground, Side: p.side(bounds)}
}

func (p *white) ask(s Stimulus, _ Kind, bounds image.Rectangle, _ float64) (Task, string, []Choice) {
	than := "the reference"
	switch p.reference {
	case Paper:
		than = "the paper"
	case OtherScreen:
		than = "the other screen"
	}
	left, right := patterns.MatchRects(bounds, p.side(bounds))
	if s.Hue == screen.BlueYellow {
		return RefYellower, "Is this screen yellower or bluer than " + than + "?", []Choice{{"ArrowLeft", "yellower", left}, {"ArrowRight", "bluer", right}}
	}
	return RefPinker, "Is this screen pinker or greener than " + than + "?", []Choice{{"ArrowLeft", "pinker", left}, {"ArrowRight", "greener", right}}
}

// whiteAxis returns the index of the axis of a stimulus, or -1.
func whiteAxis(h screen.Hue) int {
	for i, v := range screen.Hues {
		if v == h {
			return i
		}
	}
	return -1
}

// right is for practice and catch trials.
func (p *white) right(s Stimulus, response int) bool {
	up := p.moved(s.Red, s.Blue)[max(whiteAxis(s.Hue), 0)] > 0
	return response == 0 && up || response == 1 && !up
}

func (p *white) record(j Judgement) error {
	s := j.Stimulus
	axis := whiteAxis(s.Hue)
	const most = 255 - leastWhite
	if axis < 0 || j.Kind != Trial || s.Ground != whiteGround || s.Red < -most || s.Red > most || s.Blue < -most || s.Blue > most ||
		s.Red-s.Blue > most || s.Blue-s.Red > most || j.Response < CantTell || j.Response > 1 {
		return errForeign
	}
	share := 1.0 // the field was called pinker or yellower
	switch j.Response {
	case CantTell:
		share = 0.5
	case 1:
		share = 0
	}
	return p.fit.Record(whiteMatch{axis, p.moved(s.Red, s.Blue)[axis]}, share)
}

// WhiteDraws is how many whites are drawn from the posterior.
const WhiteDraws = 400

// A WhiteResult is what the comparison of white with a reference found. What is not known of the reference and of this viewer's eye is in it.
type WhiteResult struct {
	Pink, Yellow psychophysics.Estimate // how much pinker and yellower the screen's white is than the reference, u'v'; see screen.Hues
	Offset       psychophysics.Estimate // the distance between them, u'v'
	Noise        psychophysics.Estimate // SD of the viewer's comparisons of pinker or greener, u'v'

	Draws   [][2]float64 // draws from the posterior: pink, yellow
	Weights []float64    // their weights, which sum to 1
}

func (p *white) result(r *rand.Rand) WhiteResult {
	thetas, _, weights := p.fit.Sample(r, samples)
	pink, yellow, offset := make([]float64, len(thetas)), make([]float64, len(thetas)), make([]float64, len(thetas))
	for i, theta := range thetas {
		pink[i], yellow[i], offset[i] = theta[0], theta[1], screen.Length(theta[0], theta[1])
	}
	v := WhiteResult{Noise: p.fit.Noise(), Weights: evenly(WhiteDraws)}
	v.Pink, v.Yellow, v.Offset = psychophysics.NewEstimate(pink, weights), psychophysics.NewEstimate(yellow, weights), psychophysics.NewEstimate(offset, weights)
	for _, i := range resampled(weights, WhiteDraws, r) {
		v.Draws = append(v.Draws, [2]float64{pink[i], yellow[i]})
	}
	return v
}
