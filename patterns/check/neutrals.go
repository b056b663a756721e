package check

import (
	"image"
	"math"
	"math/rand/v2"
	"slices"

	"example.org/plumb/patterns"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// A tinge is a plain grey beside lines of black and white as the estimator of one axis sees it.
type tinge struct {
	v      float64 // signal of the grey
	offset float64 // tint that the offsets of red and blue give it along the axis, u'v'
	fade   float64 // how much less of a tint is seen at its light, 0 to 1
	side   float64 // +1 plain on the left, -1 on the right
}

// Parameters of a tinge: those of the screen's tint along the axis, then these.
const (
	tingeBiasAt = screen.TintParams + iota // how much more tinted plain looks than lines, u'v'
	tingeSideAt                            // how much more tinted the left looks, in the unit of the noise
	tingeParams
)

// tingeDifference predicts how much more tinted plain looks than the lines, which carry the screen's own white.
func tingeDifference(theta []float64, s tinge, grad []float64) float64 {
	tint := screen.TintAt(theta, s.v, grad)
	for i := range screen.TintParams {
		grad[i] *= s.fade
	}
	grad[tingeBiasAt], grad[tingeSideAt] = s.fade, s.side
	return float64(s.fade*(tint+s.offset+theta[tingeBiasAt])) + float64(s.side*theta[tingeSideAt])
}

// tintLevels are the levels of screen.Steps at which a tint counts: from screen.TintFrom to below white, where it is 0 by definition.
var tintLevels = func() []float64 {
	var levels []float64
	for i := range screen.Steps - 1 {
		if v := screen.Signal(i); v >= screen.TintFrom {
			levels = append(levels, v)
		}
	}
	return levels
}()

// tingeOutputs are the tints at tintLevels.
func tingeOutputs(theta []float64, out []float64, jacobian [][]float64) {
	for i, v := range tintLevels {
		clear(jacobian[i])
		out[i] = screen.TintAt(theta, v, jacobian[i])
	}
}

// A trim is one idea of how well greys are adjusted: what it makes likely of slope and knots along either axis, as SDs in u'v', and its
// probability beforehand; ours. A mixture of a well adjusted screen and free ones lets the greatest tint be near zero, which a single wide
// prior does not, and the two free ones together have the tails of Student's t with some 4 degrees of freedom. Strong tints come of channels whose gammas
// differ, which is the slope; the knots are what is left.
type trim struct{ slope, knots, prior float64 }

// scale returns the SD of one of the parameters of a tint.
func (t trim) scale(i int) float64 {
	if i == 0 {
		return t.slope
	}
	return t.knots
}

var trims = [...]trim{
	{0.0007, 0.0005, 0.58},
	{0.0032, 0.0010, 0.24},
	{0.0130, 0.0015, 0.18},
}

// trimAgree is how much of the weight of two axes goes to both being well adjusted or neither, the rest to one alone: with it a screen that is well adjusted
// along one axis is so along the other with 0.72, and one that is not is so with 0.43. Ours.
const trimAgree = 0.65

// trimPrior is the probability beforehand of one of trims along the first axis and another along the second, up to a constant: all sum to 1.008.
func trimPrior(i, j int) float64 {
	if (i == 0) == (j == 0) {
		return 2 * trimAgree * trims[i].prior * trims[j].prior
	}
	return 2 * (1 - trimAgree) * trims[i].prior * trims[j].prior
}

// tintNoise is the SD of a typical viewer's noise along each axis, u'v', and tintBias that of the bias between lines and plain. Assumed: no people
// have been measured.
var (
	tintNoise = [2]float64{0.002, 0.0034}
	tintBias  = [2]float64{0.001, 0.0015}
)

// noiseSteps are the candidates of the viewer's noise, in units of the typical one's.
var noiseSteps = []float64{0.35, 0.5, 0.7, 1, 1.4, 2, 2.8, 4, 6}

// noiseWidth is the SD of their logarithm.
const noiseWidth = 0.45

// blind is the probability beforehand that a viewer does not see an axis at all, and answers it by chance. About 1 man in 12 sees
// reds and greens differently (Birch 2012); who does not see blues and yellows is far rarer, and what is left there is for one who answers
// anything at all. Ours.
var blind = [2]float64{0.12, 0.04}

// unseenNoise is what the noise of such a viewer is given as, in units of the typical one's.
const unseenNoise = 20

// A tintAxis is what is learned along one axis.
type tintAxis struct {
	fits   [len(trims)]*psychophysics.Comparison[tinge]
	base   [len(trims)]float64 // their log evidence before any answer
	noise  float64             // a typical viewer's, u'v'
	blind  float64             // probability beforehand that the viewer does not see it; one of blind
	taught int                 // answers that were no "can't tell"
	asked  int

	watched, saw int // obvious tints that were answered, and answered rightly
	// While a tint is sought, the offset of the last answer, u'v', and whether it left the plain side more tinted than the lines.
	code  int // at which it is sought; 0 before the first answer
	match mix
	at    float64
	more  bool
	found bool
}

func tingeModel(axis int, t trim) psychophysics.Model[tinge] {
	priors := make([]psychophysics.Prior, tingeParams)
	for i := range screen.TintParams {
		priors[i].Scale = t.scale(i)
	}
	priors[tingeBiasAt].Scale = tintBias[axis]
	priors[tingeSideAt].Scale = 0.4 * tintNoise[axis]
	noises, prior := make([]float64, len(noiseSteps)), make([]float64, len(noiseSteps))
	for i, n := range noiseSteps {
		z := math.Log(n) / noiseWidth
		noises[i], prior[i] = n*tintNoise[axis], math.Exp(-z*z/2)
	}
	return psychophysics.Model[tinge]{
		Priors: priors, Difference: tingeDifference, Outputs: tingeOutputs, OutCount: len(tintLevels),
		Noises: noises, NoisePrior: prior, Lapse: lapse,
	}
}

// designer is the place in trims of the idea by which the viewer's noise is taken while stimuli are chosen: the widest does not take tints for noise.
const designer = 2

// neutrals is the procedure of the neutrals check in one sitting.
type neutrals struct {
	axes   [2]*tintAxis
	levels []mix
	used   map[mix]int
	last   int           // the axis asked about last
	run    int           // how often in a row
	told   *foretoldTint // what a profile says; nil where the sitting is not held against one
	heard
}

func beginNeutrals(p Plan) procedure { return newNeutrals(p.Degree).expecting(p.Expect) }

func newNeutrals(degree float64) *neutrals {
	p := &neutrals{used: map[mix]int{}, heard: unheard(), levels: fine(neutralReferences, degree)}
	for i := range p.axes {
		a := &tintAxis{noise: tintNoise[i], blind: blind[i]}
		for k, t := range trims {
			a.fits[k] = psychophysics.NewComparison(tingeModel(i, t))
			a.base[k] = a.fits[k].Evidence()
		}
		p.axes[i] = a
	}
	return p
}

// neutralReferences are the lines of references that are black and white alone, and so neutral by construction.
var neutralReferences = func() []mix {
	var all []mix
	for _, m := range references {
		if m.a == 0 && m.b == 255 {
			all = append(all, m)
		}
	}
	return all
}()

// shade returns how the grey of a code is seen: its signal, and how much less of a tint shows at its light. The noise of tints grows in the dark, below
// some 20 cd/m², by 1 + sqrt(5/L); L is taken as on a screen of 160 cd/m², and because nobody knows it the rule sets in by degrees from 60 to 20.
func (p *neutrals) shade(code int) (v, fade float64) {
	l := 160 * max(p.curve[code], least)
	return float64(code) / 255, 1 / (1 + float64(min(max((60-l)/40, 0), 1)*math.Sqrt(5/l)))
}

// plain returns the code of the grey that is as light as lines, and whether it is sure to part from black and from white.
func (p *neutrals) plain(m mix) (code int, ok bool) {
	code = nearest(&p.curve, float64(m.lit)/float64(m.of))
	return code, code > p.lo && code < p.hi
}

// tint returns the tint, along both axes, that offsets of red and blue codes give a grey.
func (p *neutrals) tint(code, red, blue int) [2]float64 {
	log := func(c int) float64 { return math.Log(max(p.curve[min(max(c, 0), 255)], least)) }
	g := log(code)
	pink, yellow := screen.HueOf(log(code+red)-g, log(code+blue)-g)
	return [2]float64{pink, yellow}
}

// offsets returns the offsets of red and blue codes that give a grey most nearly a tint.
func (p *neutrals) offsets(code int, want [2]float64) (red, blue int) {
	r, b := screen.Ratio(want[0], want[1])
	lo, hi := max(1, p.lo+1), min(254, p.hi-1)
	within := func(c int) int { return min(max(c, lo, code-mostOffset), hi, code+mostOffset) }
	r0, b0 := nearest(&p.curve, p.curve[code]*math.Exp(r)), nearest(&p.curve, p.curve[code]*math.Exp(b))
	best := math.Inf(1)
	for dr := -1; dr <= 1; dr++ {
		for db := -1; db <= 1; db++ {
			x, y := within(r0+dr)-code, within(b0+db)-code
			t := p.tint(code, x, y)
			e := 0.0
			for i := range t {
				d := (t[i] - want[i]) / tintNoise[i]
				e += float64(d * d)
			}
			if e < best-1e-9 {
				best, red, blue = e, x, y
			}
		}
	}
	return red, blue
}

// mostOffset is the greatest offset of a channel, code values.
const mostOffset = 100

// Every easyTintEvery-th judgement of an axis is easyTint noises off, and one more whenever a strong tint may be none because the viewer may not see the axis.
const (
	easyTintEvery = 9
	easyTint      = 2
)

// The first answers along an axis seek its tint at one level: while they are alike the next question goes bracket beyond neutral, to where greys of screens
// that are not well adjusted begin, then twice as far, up to mostBracket noises of a typical viewer. Questions near what is believed would creep towards a
// strong tint; and where there is none, an obvious answer shows that the viewer sees the axis. To halve what is left between the last two costs more
// answers than it saves.
const (
	bracket     = 0.007 // u'v'
	mostBracket = 10
)

// seek returns the offset, in u'v', at which the tint of an axis is sought next, where a noise is spread there.
func (a *tintAxis) seek(spread float64) float64 {
	if a.code == 0 {
		return 0
	}
	offset := min(max(bracket, 2*math.Abs(a.at)), mostBracket*spread)
	if a.more {
		return -offset
	}
	return offset
}

// sought takes an answer in while a tint is sought.
func (a *tintAxis) sought(offset, spread float64, more, first bool) {
	a.found = !first && more != a.more || math.Abs(offset) > 0.9*mostBracket*spread
	a.at, a.more = offset, more
}

// obviousTint is the tint of practice and catch trials, u'v'.
const obviousTint = 0.02

func (p *neutrals) choose(k Kind, n int, left bool, r *rand.Rand) Stimulus {
	if k == Practice || k == Catch {
		return p.obvious(n%2, left, r)
	}
	if p.told != nil && p.axes[0].found && p.axes[1].found {
		return p.told.choose(p, left, r)
	}
	side := -1.0
	if left {
		side = 1
	}
	type state struct {
		chance  float64             // that the axis is not seen
		weights [len(trims)]float64 // of trims, if it is
		modes   [len(trims)][]float64
		gains   [len(trims)]*psychophysics.Gain[tinge]
		spread  float64
	}
	var now [2]state
	for i, a := range p.axes {
		s := &now[i]
		logs, chance := a.likely()
		var all [len(trims)]float64 // weights of trims whether it is seen or not
		for k, f := range a.fits {
			s.modes[k], s.gains[k] = f.Mode(), f.Gain()
			prior := math.Log(trims[k].prior)
			all[k], s.weights[k] = prior+logs[k], prior+f.Evidence()-a.base[k]
		}
		probabilities(all[:])
		probabilities(s.weights[:])
		for k, w := range all {
			s.chance += float64(w * chance[k])
		}
		s.spread = a.fits[designer].Spread()
	}
	// mean is the posterior mean, for one who sees the axis, of something that every trim has an idea of. Answers by chance are the same wherever is asked:
	// questions are for one who sees.
	mean := func(s *state, of func(mode []float64) float64) float64 {
		sum := 0.0
		for k, w := range s.weights {
			sum += float64(w * of(s.modes[k]))
		}
		return sum
	}
	// place lays out a question that is z noises off along an axis and neutral along the other.
	place := func(axis, code int, z float64) (red, blue int, x tinge) {
		v, fade := p.shade(code)
		var want [2]float64
		for i := range now {
			want[i] = -mean(&now[i], func(mode []float64) float64 { return screen.TintAt(mode, v, nil) + mode[tingeBiasAt] })
		}
		s, a := &now[axis], p.axes[axis]
		if a.found {
			want[axis] += (z*s.spread - float64(side*mean(s, func(mode []float64) float64 { return mode[tingeSideAt] }))) / fade
		} else {
			want[axis] = a.seek(tintNoise[axis] / fade)
		}
		red, blue = p.offsets(code, want)
		return red, blue, tinge{v, p.tint(code, red, blue)[axis], fade, side}
	}
	best, at, atAxis, atCode := -1.0, p.levels[0], p.last, 128
	for axis := range p.axes {
		if p.run == 1 && axis != p.last || p.run >= 4 && axis == p.last {
			continue
		}
		a := p.axes[axis]
		for _, m := range p.levels {
			code, ok := p.plain(m)
			if !ok {
				continue
			}
			if a.code != 0 && !a.found && m != a.match {
				if _, ok := p.plain(a.match); ok { // else it is sought at another level
					continue
				}
			}
			_, _, x := place(axis, code, 0)
			v := 0.0
			for k, w := range now[axis].weights {
				v += float64(w * now[axis].gains[k].Compare(x))
			}
			v /= 1 + 0.02*float64(p.used[m]) // spread: each may carry an error of its own
			if v > best+1e-9*math.Max(1e-6, math.Abs(best)) {
				best, at, atAxis, atCode = v, m, axis, code
			}
		}
	}
	z := 0.0
	if a := p.axes[atAxis]; a.found {
		s := &now[atAxis]
		// As long as the viewer may not see the axis, its tint is taken for less by that share. An easy answer that is right halves the odds of it.
		doubt := 0.0
		for _, v := range tintLevels {
			t := s.chance * mean(s, func(mode []float64) float64 { return screen.TintAt(mode, v, nil) })
			doubt += float64(t * t)
		}
		if a.asked%easyTintEvery == easyTintEvery-1 || doubt > 4*best {
			// On the side of neutral, where an answer also tells a strong tint from none.
			v, fade := p.shade(atCode)
			t := fade * mean(s, func(mode []float64) float64 { return screen.TintAt(mode, v, nil) + mode[tingeBiasAt] })
			back := t < 0
			if math.Abs(t) < tintNoise[atAxis] {
				back = r.Uint64()&1 == 0
			}
			if z = easyTint; back {
				z = -z
			}
		}
	}
	red, blue, _ := place(atAxis, atCode, z)
	return Stimulus{
		Ground: lineGround, A: at.a, B: at.b, Lit: at.lit, Of: at.of, Columns: r.Uint64()&1 == 0,
		Plain: uint8(atCode), PlainLeft: left, Hue: screen.Hues[atAxis], Red: red, Blue: blue,
	}
}

func (p *neutrals) obvious(axis int, left bool, r *rand.Rand) Stimulus {
	code := 110 + r.IntN(60)
	var want [2]float64
	want[axis] = obviousTint
	if r.Uint64()&1 == 0 {
		want[axis] = -obviousTint
	}
	red, blue := p.offsets(code, want)
	return Stimulus{Ground: lineGround, Left: uint8(code), Right: uint8(code), PlainLeft: left, Hue: screen.Hues[axis], Red: red, Blue: blue}
}

func (p *neutrals) pattern(s Stimulus, bounds image.Rectangle, degree float64) patterns.Pattern {
	side := patterns.MatchSide(bounds, degree)
	if s.Of == 0 {
		pair := patterns.Pair{Left: s.Left, Right: s.Right, Ground: s.Ground, Side: side}
		if s.PlainLeft {
			pair.RightTint = [2]int8{int8(s.Red), int8(s.Blue)}
		} else {
			pair.LeftTint = [2]int8{int8(s.Red), int8(s.Blue)}
		}
		return pair
	}
	return patterns.Match{
		Lines: patterns.Mix{A: s.A, B: s.B, Lit: s.Lit, Of: s.Of, Columns: s.Columns},
		Plain: s.Plain, Ground: s.Ground, Side: side, PlainLeft: s.PlainLeft, Red: int8(s.Red), Blue: int8(s.Blue),
	}
}

func (p *neutrals) ask(s Stimulus, _ Kind, bounds image.Rectangle, degree float64) (Task, string, []Choice) {
	left, right := patterns.MatchRects(bounds, patterns.MatchSide(bounds, degree))
	choices := []Choice{{"ArrowLeft", "left", left}, {"ArrowRight", "right", right}}
	if s.Hue == screen.BlueYellow {
		return Yellower, "Which side is yellower, less blue?", choices
	}
	return Pinker, "Which side is pinker, less green?", choices
}

// hueAxis returns the place of a hue in screen.Hues, or -1.
func hueAxis(h screen.Hue) int {
	for i, v := range screen.Hues {
		if v == h {
			return i
		}
	}
	return -1
}

func (p *neutrals) right(s Stimulus, response int) bool {
	axis := hueAxis(s.Hue)
	if axis < 0 {
		return false
	}
	more := p.tint(int(s.Left), s.Red, s.Blue)[axis] > 0 // the tinted side is the pinker or the yellower
	return response == 0 && s.PlainLeft != more || response == 1 && s.PlainLeft == more
}

// watch takes in whether an obvious tint was seen: it tells a viewer who sees the axis from one who answers by chance.
func (p *neutrals) watch(j Judgement) {
	axis := hueAxis(j.Stimulus.Hue)
	if axis < 0 || j.Response == CantTell {
		return
	}
	p.axes[axis].watched++
	if j.Right {
		p.axes[axis].saw++
	}
}

func (p *neutrals) record(j Judgement) error {
	s := j.Stimulus
	axis := hueAxis(s.Hue)
	known := false
	for _, m := range neutralReferences {
		known = known || m == mix{s.A, s.B, s.Lit, s.Of}
	}
	fits := func(offset int) bool {
		c := int(s.Plain) + offset
		return -mostOffset <= offset && offset <= mostOffset && c > 0 && c < 255
	}
	if axis < 0 || !known || !fits(0) || !fits(s.Red) || !fits(s.Blue) || s.Ground != lineGround || s.Channel != 0 || s.At != 0 ||
		j.Kind != Trial || j.Response < CantTell || j.Response > 1 {
		return errForeign
	}
	a := p.axes[axis]
	if axis != p.last {
		p.run = 0
	}
	p.last, p.run = axis, p.run+1
	a.asked++
	p.used[mix{s.A, s.B, s.Lit, s.Of}]++
	if j.Response == CantTell {
		return nil
	}
	v, fade := p.shade(int(s.Plain))
	x := tinge{v, p.tint(int(s.Plain), s.Red, s.Blue)[axis], fade, -1}
	if s.PlainLeft {
		x.side = 1
	}
	share := 0.0 // of the answer that plain is the pinker or the yellower
	if (j.Response == 0) == s.PlainLeft {
		share = 1
	}
	a.taught++
	if !a.found {
		first := a.code == 0
		if first {
			a.code, a.match = int(s.Plain), mix{s.A, s.B, s.Lit, s.Of}
		}
		a.sought(x.offset, tintNoise[axis]/fade, share == 1, first)
	}
	for _, f := range a.fits {
		if err := f.Record(x, share); err != nil {
			return err
		}
	}
	if p.told != nil {
		return p.told.record(axis, p.told.tinge(axis, int(s.Plain), s.Red, s.Blue, x), share)
	}
	return nil
}

// A NeutralsResult is what the neutrals check found. All tints are in u'v', pinker and yellower positive.
type NeutralsResult struct {
	Tint   psychophysics.Estimate    // greatest distance of a grey from the screen's own white; see screen.Tint.Greatest
	Noise  [2]psychophysics.Estimate // of the viewer along each of screen.Hues, in units of the typical one's
	Blind  [2]float64                // probability that the answers along an axis came by chance
	Levels []TintLevel               // ascending

	// Draws are from the posterior, but for an axis that was not seen, which may be anything there: no "holds" may come of believing in it. Likely are the
	// same, with what was not seen as it is believed beforehand: for what is expected of a screen, not for verdicts.
	Draws, Likely []screen.Tint
	Weights       []float64 // of either, which sum to 1
}

// A TintLevel is the tint of one grey along each of screen.Hues.
type TintLevel struct {
	Signal float64
	Tint   [2]psychophysics.Estimate
}

// tintDraws is how many screens are drawn from the posterior.
const tintDraws = 1000

// likely returns the log of the probability of the answers along the axis under each of trims, up to a constant, and how probable it then is that
// they came by chance.
func (a *tintAxis) likely() (logs, chance [len(trims)]float64) {
	for k, f := range a.fits {
		logs[k], chance[k] = a.sees(f.Evidence(), a.base[k])
	}
	return logs, chance
}

// sees takes in that a viewer may not see the axis at all, given the log evidence of one who does, and what it was before any answer: it returns the log of
// the probability of the answers, and how probable it then is that they came by chance.
func (a *tintAxis) sees(known, base float64) (log, chance float64) {
	random := math.Log(a.blind) - float64(a.taught+a.watched)*math.Ln2
	seeing := math.Log1p(-a.blind) + known - base + float64(a.saw)*math.Log1p(-lapse/2) + float64(a.watched-a.saw)*math.Log(lapse/2)
	log = either(seeing, random)
	return log, math.Exp(random - log)
}

// either is the logarithm of the sum of two numbers that are given by theirs.
func either(a, b float64) float64 {
	top := max(a, b)
	if math.IsInf(top, -1) {
		return top
	}
	return top + math.Log(math.Exp(a-top)+math.Exp(b-top))
}

// pool returns n equally weighted draws of the tint along the axis under one of trims, in random order, as Draws and as Likely have them.
func (a *tintAxis) pool(r *rand.Rand, k, n int, chance float64) (all, likely [][]float64) {
	if n == 0 {
		return nil, nil
	}
	all = make([][]float64, 0, n)
	if seeing := n - int(math.Round(chance*float64(n))); seeing > 0 {
		thetas, _, weights := a.fits[k].Sample(r, seeing)
		u, before := r.Float64(), 0.0
		for i, w := range weights {
			before += w * float64(seeing)
			for float64(len(all))+u < before && len(all) < seeing {
				all = append(all, thetas[i])
			}
		}
		for len(all) < seeing { // the last bits of a sum
			all = append(all, thetas[seeing-1])
		}
	}
	likely = slices.Clone(all)
	for len(all) < n {
		wide, own := make([]float64, screen.TintParams), make([]float64, screen.TintParams)
		for i := range wide {
			z := r.NormFloat64()
			wide[i], own[i] = trims[len(trims)-1].scale(i)*z, trims[k].scale(i)*z
		}
		all, likely = append(all, wide), append(likely, own)
	}
	r.Shuffle(n, func(i, j int) {
		all[i], all[j] = all[j], all[i]
		likely[i], likely[j] = likely[j], likely[i]
	})
	return all, likely
}

func (p *neutrals) result(r *rand.Rand) NeutralsResult {
	t := NeutralsResult{Draws: make([]screen.Tint, 0, tintDraws), Likely: make([]screen.Tint, 0, tintDraws), Weights: make([]float64, tintDraws)}
	var logs, chance [2][len(trims)]float64
	for axis, a := range p.axes {
		logs[axis], chance[axis] = a.likely()
	}
	var joint [len(trims)][len(trims)]float64
	best, sum := math.Inf(-1), 0.0
	for i := range joint {
		for j := range joint {
			joint[i][j] = math.Log(trimPrior(i, j)) + logs[0][i] + logs[1][j]
			best = max(best, joint[i][j])
		}
	}
	for i := range joint {
		for j := range joint {
			joint[i][j] = math.Exp(joint[i][j] - best)
			sum += joint[i][j]
		}
	}
	type pair struct{ i, j int }
	var pairs []pair
	var counts [2][len(trims)]int
	var weights [2][len(trims)]float64
	u, before := r.Float64(), 0.0
	for i := range joint {
		for j := range joint {
			w := joint[i][j] / sum
			weights[0][i] += w
			weights[1][j] += w
			before += w * tintDraws
			for float64(len(pairs))+u < before && len(pairs) < tintDraws {
				pairs = append(pairs, pair{i, j})
				counts[0][i]++
				counts[1][j]++
			}
		}
	}
	for len(pairs) < tintDraws { // the last bits of a sum
		pairs = append(pairs, pairs[0])
		counts[0][pairs[0].i]++
		counts[1][pairs[0].j]++
	}
	var pools, likely [2][len(trims)][][]float64
	for axis, a := range p.axes {
		var noises, masses []float64
		for k, f := range a.fits {
			pools[axis][k], likely[axis][k] = a.pool(r, k, counts[axis][k], chance[axis][k])
			e := f.Noise()
			for i, m := range e.Mass {
				noises, masses = append(noises, e.At[i]/a.noise), append(masses, m*weights[axis][k]*(1-chance[axis][k]))
			}
			t.Blind[axis] += weights[axis][k] * chance[axis][k]
		}
		t.Noise[axis] = psychophysics.NewEstimate(append(noises, unseenNoise), append(masses, t.Blind[axis]))
	}
	for _, at := range pairs {
		var d, l screen.Tint
		for axis, k := range [2]int{at.i, at.j} {
			from := [2]*[][]float64{&pools[axis][k], &likely[axis][k]}
			copy(d[axis][:], (*from[0])[0])
			copy(l[axis][:], (*from[1])[0])
			for _, pool := range from {
				*pool = (*pool)[1:]
			}
		}
		t.Draws, t.Likely = append(t.Draws, d), append(t.Likely, l)
	}
	values := make([]float64, tintDraws)
	for i := range t.Draws {
		t.Weights[i], values[i] = 1.0/tintDraws, t.Draws[i].Greatest()
	}
	t.Tint = psychophysics.NewEstimate(values, t.Weights)
	for _, v := range tintLevels {
		l := TintLevel{Signal: v}
		for axis := range l.Tint {
			for i := range t.Draws {
				values[i] = screen.TintAt(t.Draws[i][axis][:], v, nil)
			}
			l.Tint[axis] = psychophysics.NewEstimate(values, t.Weights)
		}
		t.Levels = append(t.Levels, l)
	}
	return t
}

// UnseenNeutrals returns what is believed of greys before any judgement.
func UnseenNeutrals(r *rand.Rand) NeutralsResult { return newNeutrals(0).result(r) }
