package check

import (
	"image"
	"math"
	"math/rand/v2"

	"example.org/plumb/patterns"
	"example.org/plumb/patterns/psychophysics"
)

// A stripe is a line match of black and white, or of black and one channel, whose tone curve is that of grey with another exponent: light(v) =
// grey(v)·v^e. Both e and what makes lines look lighter than they are are sums of parameters.
type stripe struct {
	share     float64                // of the lines that are lit
	grey, log float64                // of the plain code: the grey's light, and the logarithm of the signal
	exponent  [stripeBends]float64   // how often each of the first parameters counts in e
	offset    [stripeOffsets]float64 // and each that follows in the log light of lines over plain
	noise     float64                // relative to that of grey lines
}

const stripeBends, stripeOffsets = 4, 5

// stripeDifference predicts the log light of lines over plain, in units of the noise of grey lines.
func stripeDifference(theta []float64, s stripe, grad []float64) float64 {
	e, offset := 0.0, 0.0
	for i, w := range s.exponent {
		e += float64(w * theta[i])
	}
	for i, w := range s.offset {
		offset += float64(w * theta[stripeBends+i])
		grad[stripeBends+i] = w / s.noise
	}
	light := s.grey * math.Exp(float64(e*s.log))
	for i, w := range s.exponent {
		grad[i] = -w * s.log * light / (light + pedestal) / s.noise
	}
	return (math.Log((s.share+pedestal)/(light+pedestal)) + offset) / s.noise
}

// unusedPrior stands where a check has fewer parameters than a stripe has room for: nothing depends on them.
var unusedPrior = psychophysics.Prior{Scale: 1}

// Priors that channels and places share. The exponent of all of them may differ from that of the grey curve, which is itself an estimate, and where the
// sitting has none, is a guess. The others are those of the tone check.
var (
	stripeCommon = psychophysics.Prior{Scale: 0.06, Freedom: 4}
	stripeBias   = psychophysics.Prior{Scale: 0.03}
	stripeSide   = psychophysics.Prior{Scale: 0.015}
)

// stripeNoises are candidates of the noise of grey lines, with their prior probabilities, as for the tone check.
func stripeNoises() (noises, prior []float64) {
	noises = []float64{0.012, 0.018, 0.027, 0.04, 0.06, 0.09, 0.135, 0.2}
	for _, s := range noises {
		z := math.Log(s/0.05) / 0.7
		prior = append(prior, math.Exp(-z*z/2))
	}
	return noises, prior
}

// stripeReferences are the shares of lit lines. Fewer lit lines match a darker grey, where an exponent makes more of a difference: at 1/4 three times
// that at 1/2.
var stripeReferences = []mix{{0, 255, 1, 4}, {0, 255, 1, 3}, {0, 255, 1, 2}}

// stripes is what the checks of channels and of places share: line matches of a few kinds.
type stripes struct {
	priors []psychophysics.Prior
	fit    *psychophysics.Comparison[stripe]
	of     func(kind int) stripe // weights and noise of a kind of match, but for the preference for a side
	side   int                   // index of the preference for a side among offsets
	heard
	references []mix
	used       map[stripeKind]int
}

type stripeKind struct{ kind, lit, of int }

func newStripes(degree float64, bends, offsets []psychophysics.Prior, outputs func(theta, out []float64, jacobian [][]float64), count int, of func(kind int) stripe) *stripes {
	priors := make([]psychophysics.Prior, stripeBends+stripeOffsets)
	for i := range priors {
		priors[i] = unusedPrior
	}
	copy(priors, bends)
	copy(priors[stripeBends:], offsets)
	noises, prior := stripeNoises()
	p := &stripes{priors: priors, of: of, side: len(offsets) - 1, heard: unheard(), references: fine(stripeReferences, degree), used: map[stripeKind]int{}}
	p.fit = psychophysics.NewComparison(psychophysics.Model[stripe]{
		Priors: priors, Difference: stripeDifference, Outputs: outputs, OutCount: count, Noises: noises, NoisePrior: prior, Lapse: lapse, Slip: slip,
	})
	return p
}

// stripe is a match of some kind as the estimator sees it.
func (p *stripes) stripe(kind int, m mix, plain int, plainLeft bool) stripe {
	s := p.of(kind)
	s.share = float64(m.lit) / float64(m.of)
	s.grey, s.log = min(max(p.curve[plain], 1e-6), 1), math.Log(float64(plain)/255)
	s.offset[p.side] = 1
	if plainLeft {
		s.offset[p.side] = -1
	}
	return s
}

// Plain codes that are surely darker and surely lighter than lines of which a half are lit: on any screen these match a code between 130 and 210.
const stripeDark, stripeLight = 80, 232

// choose picks a match of one of the kinds, and returns which.
func (p *stripes) choose(k Kind, n int, left bool, kinds []int, r *rand.Rand) (Stimulus, int) {
	s := Stimulus{Ground: lineGround, B: 255, PlainLeft: left}
	if k == Practice || k == Catch {
		s.Lit, s.Of = 1, 2
		base := uint8(stripeDark)
		if r.Uint64()&1 == 0 {
			base = stripeLight
		}
		s.Plain = base + uint8(r.IntN(12))
		at := n % len(kinds)
		if k == Catch {
			at = r.IntN(len(kinds))
		}
		return s, kinds[at]
	}
	gain := p.fit.Gain()
	mode := p.fit.Mode()
	best, at, atPlain, atKind := -1.0, p.references[0], 1, kinds[0]
	var bent [256]float64
	for _, kind := range kinds {
		one := p.bend(kind, mode, &bent)
		offset := 0.0
		for i, w := range one.offset {
			offset += float64(w * mode[stripeBends+i])
		}
		for _, m := range p.references {
			target := (float64(m.lit)/float64(m.of)+pedestal)*math.Exp(offset) - pedestal
			plain := nearest(&bent, target)
			if plain <= p.lo || plain >= p.hi {
				continue
			}
			x := p.stripe(kind, m, plain, left)
			v := gain.Compare(x)
			if k == Setting {
				v = gain.Set(x)
			}
			v /= 1 + 0.05*float64(p.used[stripeKind{kind, m.lit, m.of}]) // spread: each may carry an error of its own
			if v > best+1e-9*math.Max(1, math.Abs(best)) {
				best, at, atPlain, atKind = v, m, plain, kind
			}
		}
	}
	if k == Trial && n%easyEvery == easyEvery-1 {
		one := p.bend(atKind, mode, &bent)
		off := easy * p.fit.Spread() * one.noise
		if r.Uint64()&1 == 0 {
			off = -off
		}
		atPlain = min(max(nearest(&bent, (bent[atPlain]+pedestal)*math.Exp(off)-pedestal), p.lo+1), p.hi-1)
	}
	if k == Setting { // begin well away, on either side
		off := 12 + r.IntN(14)
		if r.Uint64()&1 == 0 {
			off = -off
		}
		atPlain = min(max(atPlain+off, p.lo+1), p.hi-1)
	}
	s.Lit, s.Of, s.Plain = at.lit, at.of, uint8(min(max(atPlain, 1), 254))
	return s, atKind
}

// bend sets the light of every code of a kind under the parameters.
func (p *stripes) bend(kind int, theta []float64, bent *[256]float64) stripe {
	one := p.of(kind)
	e := 0.0
	for i, w := range one.exponent {
		e += float64(w * theta[i])
	}
	for c := 1; c < 256; c++ {
		bent[c] = p.curve[c] * math.Exp(float64(e*math.Log(float64(c)/255)))
	}
	return one
}

func (p *stripes) pattern(s Stimulus, bounds image.Rectangle, degree float64) patterns.Pattern {
	return patterns.Match{
		Lines: patterns.Mix{A: s.A, B: s.B, Lit: s.Lit, Of: s.Of, Columns: s.Columns},
		Plain: s.Plain, Ground: s.Ground, Side: patterns.MatchSide(bounds, degree), PlainLeft: s.PlainLeft, Channel: uint8(s.Channel), At: int8(s.At),
	}
}

func (p *stripes) ask(s Stimulus, k Kind, bounds image.Rectangle, degree float64) (Task, string, []Choice) {
	left, right := patterns.MatchRectsAt(bounds, patterns.MatchSide(bounds, degree), s.At)
	if k != Setting {
		return Lighter, "Which side is lighter?", []Choice{{"ArrowLeft", "left", left}, {"ArrowRight", "right", right}}
	}
	plain, lined := left, right
	if !s.PlainLeft {
		plain, lined = lined, plain
	}
	return Set, "Make the plain side match the lines", []Choice{{"ArrowUp", "lighter", plain}, {"ArrowDown", "darker", plain}, {"Enter", "they match", lined}}
}

// right is for practice and catch trials.
func (p *stripes) right(s Stimulus, response int) bool {
	lighter := 1 // the right side
	if (s.Plain >= stripeLight) == s.PlainLeft {
		lighter = 0
	}
	return response == lighter
}

// learn takes in a judgement of a match of some kind.
func (p *stripes) learn(j Judgement, kind int) error {
	s := j.Stimulus
	known := false
	for _, m := range stripeReferences {
		known = known || m == mix{s.A, s.B, s.Lit, s.Of}
	}
	if !known || j.Kind != Trial && j.Kind != Setting || j.Kind == Setting && j.Response != 0 || s.Ground != lineGround || s.Columns || s.Plain < 1 || s.Plain > 254 || j.Response < CantTell || j.Response > 1 {
		return errForeign
	}
	p.used[stripeKind{kind, s.Lit, s.Of}]++
	x := p.stripe(kind, mix{s.A, s.B, s.Lit, s.Of}, int(s.Plain), s.PlainLeft)
	if j.Kind == Setting {
		p.fit.Set(x, oneCode(s)/x.noise)
		return nil
	}
	return p.fit.Record(x, linesLighter(j))
}

// samples is how many parameter vectors estimates rest on where tails are heavy: of those drawn few count for much there.
const samples = 1500

// resampled returns n indices, each as often as its weight has it and in an order that means nothing, by systematic resampling.
func resampled(weights []float64, n int, r *rand.Rand) []int {
	all := make([]int, n)
	order := r.Perm(n) // so that neighbours in other checks' draws do not go with neighbours here
	at, sum, start := 0, weights[0], r.Float64()
	for i, place := range order {
		u := (float64(i) + start) / float64(n)
		for sum < u && at < len(weights)-1 {
			at++
			sum += weights[at]
		}
		all[place] = at
	}
	return all
}

// evenly returns n equal weights.
func evenly(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		w[i] = 1 / float64(n)
	}
	return w
}
