package check

import (
	"image"
	"math"
	"math/rand/v2"

	"example.org/plumb/patterns"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// A mix is a reference for line matches: of every Of lines Lit have code B and the others A.
type mix struct {
	a, b    uint8
	lit, of int
}

// references is the union of lines of black and white at 1/8 to 7/8 and of halves and thirds between any two of these greys. With all of them
// the bound on a curve with S-shape is 0.29 ΔL* at 40 judgements; with halves of black and white alone it stays above 4.
var references = func() []mix {
	var m []mix
	for lit := 1; lit < 8; lit++ {
		of := 8
		for n := lit; n%2 == 0 && of%2 == 0; n /= 2 {
			of /= 2
		}
		m = append(m, mix{0, 255, lit * of / 8, of})
	}
	for _, b := range []uint8{255, 200, 150, 110, 80, 55} {
		for _, a := range []uint8{0, 64, 96, 128, 190} {
			for _, share := range [][2]int{{1, 3}, {1, 2}, {2, 3}} {
				n := mix{min(a, b), max(a, b), share[0], share[1]}
				if n.b-n.a < 24 || n == (mix{0, 255, 1, 2}) { // too close to teach, or already there
					continue
				}
				m = append(m, n)
			}
		}
	}
	return m
}()

// coarsest is the lowest fundamental of lines, in cycles per degree, that is shown where the viewing distance is known. Lines fuse at about 45; coarser
// ones are compared as textures, and worse the coarser they are. Ours.
const coarsest = 8

// coarse is the most lines to a period of the references.
const coarse = 8

// lineGround is the code around a line match: middle lightness on an sRGB screen, constant so that nothing jumps between trials.
const lineGround = 119

// pedestal is the light of black that the estimator assumes when it predicts a contrast, relative to white. It cancels in a match and only sets
// how fast a mismatch is seen in the darkest greys.
const pedestal = 0.004

// slip is how often a viewer is taken to let a setting go before it matches; ours. Without it one slip bends a whole curve.
const slip = 0.02

// A match is a line match as the estimator sees it; signals from 0 to 1.
type match struct {
	a, b, share, plain float64
	sign               float64 // orientation: +1 rows, -1 columns
	side               float64 // +1 lines on the left, -1 on the right
}

// Parameters of a line match: those of the tone curve, then these.
const (
	biasAt   = screen.ToneParams + iota // how much lighter lines look than they are, log light
	orientAt                            // half of log light of row lines over column lines
	sideAt                              // how much lighter the left looks, log light
	lineParams
)

// least keeps the logarithm of a curve that dips below its own black finite.
const least = 1e-4

// A curve is one of the families of tone curves: screen.ToneLight or screen.ToeLight.
type curve func(theta []float64, v float64, grad []float64) float64

// difference predicts the log light of lines over plain.
func (light curve) difference(theta []float64, m match, grad []float64) float64 {
	var da, db, dc [screen.ToneParams]float64
	ga := light(theta, m.a, da[:])
	gb := light(theta, m.b, db[:])
	gc := light(theta, m.plain, dc[:])
	lines := max(float64((1-m.share)*ga)+float64(m.share*gb)+pedestal, least)
	plain := max(gc+pedestal, least)
	for i := range da {
		grad[i] = float64((float64((1-m.share)*da[i])+float64(m.share*db[i]))/lines) - float64(dc[i]/plain)
	}
	grad[biasAt], grad[orientAt], grad[sideAt] = 1, m.sign, m.side
	return math.Log(lines/plain) + theta[biasAt] + float64(m.sign*theta[orientAt]) + float64(m.side*theta[sideAt])
}

// outputs are L* at the levels between black and white.
func (light curve) outputs(theta []float64, out []float64, jacobian [][]float64) {
	for i := range out {
		row := jacobian[i]
		clear(row)
		y := light(theta, screen.Signal(i+1), row)
		out[i] = screen.Lightness(y)
		slope := 24389.0 / 27 // CIE 15:2018, below (6/29)³
		if y > 216.0/24389 {
			slope = 116.0 / 3 / math.Pow(y, 2.0/3)
		}
		for j := range screen.ToneParams {
			row[j] *= slope
		}
	}
}

// The priors are wide and heavy-tailed, so that a strange screen is found and not explained away. Their scales are ours: factory displays gather near
// 2.2 (± 0.1), web volunteers' near 2.36 with an offset of -0.04 (Moroney and Beretta 2010); a remainder of 0.8 % of the signal keeps the
// interval honest under a smooth wobble.
func linePriors() []psychophysics.Prior {
	p := make([]psychophysics.Prior, lineParams)
	p[0] = psychophysics.Prior{Location: 2.2, Scale: 0.15, Freedom: 4}
	p[1] = psychophysics.Prior{Location: 0, Scale: 0.009, Freedom: 4}
	p[2] = psychophysics.Prior{Location: 0, Scale: 0.014, Freedom: 4}
	for i := 3; i < screen.ToneParams; i++ {
		p[i] = psychophysics.Prior{Scale: 0.0045}
	}
	p[biasAt] = psychophysics.Prior{Scale: 0.03} // between viewers; see observer.Kinds
	p[orientAt] = psychophysics.Prior{Scale: 0.008, Freedom: 4}
	p[sideAt] = psychophysics.Prior{Scale: 0.015}
	return p
}

// The families of tone curves that the answers are weighed under. Each has a fit of its own.
const (
	plainly    = iota // gamma, offset and S about a power
	toed              // the same about the sRGB curve
	neat              // little but gamma, about a power
	neatlyToed        // little but gamma, about the sRGB curve
	squeezed          // a power, on a screen that takes a full-range signal for limited
	lifted            // a power, on a screen that shows a limited-range signal as full
	families
)

// kin says of each family under which range of the screen it stands, and how probable it is there beforehand: a quarter of the curves have the foot of sRGB,
// and half of the screens depart by hardly more than their gamma. Without the neat ones the greatest of many small departures that nobody asked
// about looks worse than it is. Ours.
var kin = [families]struct {
	of    screen.Range
	share float64
}{
	plainly: {screen.Full, 0.375}, toed: {screen.Full, 0.125}, neat: {screen.Full, 0.375}, neatlyToed: {screen.Full, 0.125},
	squeezed: {screen.Squeezed, 1}, lifted: {screen.Lifted, 1},
}

// hasToe reports whether the curves of a family have the foot of the sRGB curve.
func hasToe(family int) bool { return family == toed || family == neatlyToed }

// liftedOffset is the offset that a limited-range signal shown as full has relative to its own black and white: codes 16 to 235.
const liftedOffset = 16.0 / 235

// lines is the procedure of the tone check in one sitting.
type lines struct {
	fits       [families]*psychophysics.Comparison[match] // the same answers
	references []mix
	used       map[mix]int
	lo, hi     int           // codes that part from black and from white
	told       *foretoldTone // what a profile says; nil where the sitting is not held against one
}

// squeezedLo and squeezedHi are codes that no screen which squeezes parts from black and white: without these signs the hypothesis waits for the result.
const squeezedLo, squeezedHi = 15, 240

// squeeze is a match as it looks on a screen that takes a full-range signal for limited.
func (m match) squeeze() match {
	m.a, m.b, m.plain = screen.Squeeze(m.a), screen.Squeeze(m.b), screen.Squeeze(m.plain)
	return m
}

// lineNoises are the candidates of a viewer's noise in line matches, log light; their prior is log-normal about 0.045.
var lineNoises = []float64{0.012, 0.018, 0.027, 0.04, 0.06, 0.09, 0.135, 0.2}

// noisePrior returns a log-normal prior over noises.
func noisePrior(noises []float64, middle, spread float64) []float64 {
	prior := make([]float64, len(noises))
	for i, s := range noises {
		z := math.Log(s/middle) / spread
		prior[i] = math.Exp(-z * z / 2)
	}
	return prior
}

// lineModel is the model of line matches under a family of curves.
func lineModel(family int) psychophysics.Model[match] {
	light, priors := curve(screen.ToneLight), linePriors()
	if hasToe(family) {
		light = screen.ToeLight
		priors[0].Scale = 0.12 // a curve that has the foot mostly has the rest too
	}
	switch family {
	case neat, neatlyToed:
		priors[1].Scale, priors[2].Scale = 0.003, 0.003
		for i := 3; i < screen.ToneParams; i++ {
			priors[i].Scale = 0.001
		}
	case lifted:
		priors[1] = psychophysics.Prior{Location: liftedOffset, Scale: 0.006, Freedom: 4}
	}
	return psychophysics.Model[match]{
		Priors: priors, Difference: light.difference, Outputs: light.outputs, OutCount: screen.Steps - 2,
		Noises: lineNoises, NoisePrior: noisePrior(lineNoises, 0.045, 0.6), Lapse: lapse, Slip: slip,
	}
}

func beginLines(degree float64) *lines {
	p := &lines{used: map[mix]int{}, references: fine(references, degree)}
	for i := range p.fits {
		p.fits[i] = psychophysics.NewComparison(lineModel(i))
	}
	p.hear(context{lo: 0, hi: 255})
	return p
}

// fine returns the references whose lines melt where so many device pixels go to a degree of what is seen, 0 when not known.
func fine(references []mix, degree float64) []mix {
	var kept, finest []mix
	for _, m := range references {
		if degree <= 0 || degree/float64(m.of) >= coarsest {
			kept = append(kept, m)
		}
		if m.of == 2 {
			finest = append(finest, m)
		}
	}
	if len(kept) == 0 { // too near for any
		return finest
	}
	return kept
}

const easyEvery = 6 // every 6th comparison is easy: it shows the viewer's noise, without which a noisy viewer looks like a sure one

// easy is how far from the match an easy comparison is, in units of the noise.
const easy = 1.6

// choose picks a stimulus of the given kind; n counts the judgements of that kind so far, and left says on which side the plain or the lighter
// patch is to be.
func (p *lines) choose(k Kind, n int, left bool, r *rand.Rand) Stimulus {
	if k == Practice || k == Catch {
		// Two plain greys, whose order is sure whatever the curve: 24 codes apart, some 25 % of light.
		s := Stimulus{Ground: lineGround}
		lo := uint8(90 + r.IntN(90))
		s.Left, s.Right = lo, lo+24
		if left {
			s.Left, s.Right = s.Right, s.Left
		}
		return s
	}
	if p.told != nil && p.told.apart && k == Trial && n%2 == 1 {
		return p.stimulus(p.told.search(p), k, 0, left, r)
	}
	return p.stimulus(p.search(k), k, n, left, r)
}

// A lineChoice is the match that is expected to teach most.
type lineChoice struct {
	gain  float64 // expected fall of the variance of what is learned, less where the lines were shown before
	at    mix
	sign  float64
	plain int           // code of the grey that should be as light
	curve *[256]float64 // light of grey codes as best known
	noise float64       // of the viewer
}

// search finds it among the comparisons, or the settings.
func (p *lines) search(k Kind) lineChoice {
	family := plainly
	if p.lo >= squeezedLo && p.hi <= squeezedHi && p.fits[squeezed].Evidence()+math.Log(screen.RangePrior[screen.Squeezed]) > p.fits[plainly].Evidence() {
		family = squeezed
	}
	fit, curve, signs := p.fits[family], p.curve(family), []float64{1, -1}
	if p.told != nil && p.told.apart {
		family, fit, curve, signs = plainly, p.told.fits[between], p.told.curve(between), []float64{p.told.orientation()}
	}
	gain, mode := fit.Gain(), fit.Mode()
	best := lineChoice{-1, p.references[0], 1, 0, curve, fit.Spread()}
	for _, m := range p.references {
		target := float64((1-float64(m.lit)/float64(m.of))*curve[m.a]) + float64(float64(m.lit)/float64(m.of)*curve[m.b])
		target = (target+pedestal)*math.Exp(mode[biasAt]) - pedestal
		plain := nearest(curve, target)
		if plain <= p.lo || plain >= p.hi || p.lost(m.a) || p.lost(m.b) {
			continue
		}
		for _, sign := range signs {
			x := match{float64(m.a) / 255, float64(m.b) / 255, float64(m.lit) / float64(m.of), float64(plain) / 255, sign, 0}
			if family == squeezed {
				x = x.squeeze()
			}
			var v float64
			if k == Setting {
				v = gain.Set(x)
			} else {
				v = gain.Compare(x)
			}
			v /= 1 + 0.05*float64(p.used[m]) // spread over references: each may carry an error of its own
			if v > best.gain+1e-9*math.Max(1, math.Abs(best.gain)) {
				best.gain, best.at, best.sign, best.plain = v, m, sign, plain
			}
		}
	}
	return best
}

// stimulus lays a choice out: now and then a comparison is easy, and a setting begins well away from the match, on either side.
func (p *lines) stimulus(c lineChoice, k Kind, n int, left bool, r *rand.Rand) Stimulus {
	if k == Trial && n%easyEvery == easyEvery-1 {
		off := easy * c.noise
		if r.Uint64()&1 == 0 {
			off = -off
		}
		target := (c.curve[c.plain]+pedestal)*math.Exp(off) - pedestal
		c.plain = min(max(nearest(c.curve, target), p.lo+1), p.hi-1)
	}
	if k == Setting {
		off := 12 + r.IntN(14)
		if r.Uint64()&1 == 0 {
			off = -off
		}
		c.plain = min(max(c.plain+off, p.lo+1), p.hi-1)
	}
	return Stimulus{
		Ground: lineGround, A: c.at.a, B: c.at.b, Lit: c.at.lit, Of: c.at.of, Columns: c.sign < 0, Plain: uint8(c.plain), PlainLeft: left,
	}
}

// hear tells the procedure which codes part from black and from white: codes outside are neither shown plain nor in lines, but for 0 and 255.
func (p *lines) hear(c context) {
	p.lo, p.hi = c.lo, c.hi
	if p.told != nil { // nobody looked at the ends
		p.lo, p.hi = max(p.lo, foretoldLo), min(p.hi, foretoldHi)
	}
}

func (p *lines) lost(code uint8) bool {
	return code != 0 && int(code) <= p.lo || code != 255 && int(code) >= p.hi
}

// curve returns the light of grey codes at the mode of a family.
func (p *lines) curve(family int) *[256]float64 {
	mode := p.fits[family].Mode()
	var c [256]float64
	for i := range c {
		v := float64(i) / 255
		if family == squeezed {
			v = screen.Squeeze(v)
		}
		if hasToe(family) {
			c[i] = screen.ToeLight(mode, v, nil)
			continue
		}
		c[i] = screen.ToneLight(mode, v, nil)
	}
	return &c
}

// likeliest returns the light of grey codes at the mode of the likeliest family.
func (p *lines) likeliest() *[256]float64 {
	at, best := plainly, math.Inf(-1)
	for family, k := range kin {
		if l := math.Log(screen.RangePrior[k.of]*k.share) + p.fits[family].Evidence(); l > best+1e-9 {
			at, best = family, l
		}
	}
	return p.curve(at)
}

// ranges returns the log of the probability of the answers under each range of the screen, up to a constant.
func (p *lines) ranges() [screen.Ranges]float64 {
	_, logs := p.weighed()
	return logs
}

// weighed returns how probable each family is under its range, and the log of the probability of the answers under each range, up to a constant.
func (p *lines) weighed() (shares [families]float64, logs [screen.Ranges]float64) {
	var each [families]float64
	for i := range logs {
		logs[i] = math.Inf(-1)
	}
	for family, k := range kin {
		each[family] = p.fits[family].Evidence() + math.Log(k.share)
		most := max(logs[k.of], each[family])
		logs[k.of] = most + math.Log(math.Exp(logs[k.of]-most)+math.Exp(each[family]-most))
	}
	for family, k := range kin {
		shares[family] = math.Exp(each[family] - logs[k.of])
	}
	return shares, logs
}

// nearest returns the code from 1 to 254 whose light on an ascending curve is nearest to target.
func nearest(curve *[256]float64, target float64) int {
	lo, hi := 1, 254
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; curve[mid] < target {
			lo = mid
		} else {
			hi = mid
		}
	}
	if target-curve[lo] < curve[hi]-target {
		return lo
	}
	return hi
}

func (p *lines) pattern(s Stimulus, bounds image.Rectangle, degree float64) patterns.Pattern {
	side := patterns.MatchSide(bounds, degree)
	if s.Of == 0 {
		return patterns.Pair{Left: s.Left, Right: s.Right, Ground: s.Ground, Side: side}
	}
	return patterns.Match{
		Lines: patterns.Mix{A: s.A, B: s.B, Lit: s.Lit, Of: s.Of, Columns: s.Columns},
		Plain: s.Plain, Ground: s.Ground, Side: side, PlainLeft: s.PlainLeft,
	}
}

func (p *lines) ask(s Stimulus, k Kind, bounds image.Rectangle, degree float64) (Task, string, []Choice) {
	left, right := patterns.MatchRects(bounds, patterns.MatchSide(bounds, degree))
	if k != Setting {
		return Lighter, "Which side is lighter?", []Choice{{"ArrowLeft", "left", left}, {"ArrowRight", "right", right}}
	}
	plain, lined := left, right // the first two choices change the plain side; the lines are what it is to match
	if !s.PlainLeft {
		plain, lined = lined, plain
	}
	return Set, "Make the plain side match the lines", []Choice{{"ArrowUp", "lighter", plain}, {"ArrowDown", "darker", plain}, {"Enter", "they match", lined}}
}

func (p *lines) right(s Stimulus, response int) bool {
	return response == 0 && s.Left > s.Right || response == 1 && s.Right > s.Left
}

func (p *lines) record(j Judgement) error {
	s := j.Stimulus
	if s.Of < 1 || s.Of > coarse || s.Lit < 0 || s.Lit > s.Of || j.Response < CantTell || j.Response > 1 || j.Kind == Setting && j.Response != 0 {
		return errForeign
	}
	m := match{float64(s.A) / 255, float64(s.B) / 255, float64(s.Lit) / float64(s.Of), float64(s.Plain) / 255, 1, 1}
	if s.Columns {
		m.sign = -1
	}
	if s.PlainLeft {
		m.side = -1
	}
	p.used[mix{s.A, s.B, s.Lit, s.Of}]++
	step, share := oneCode(s), linesLighter(j)
	for i, f := range p.fits {
		x := m
		if i == squeezed {
			x = m.squeeze()
		}
		if j.Kind == Setting {
			f.Set(x, step)
		} else if err := f.Record(x, share); err != nil {
			return err
		}
	}
	if p.told != nil {
		return p.told.record(m, j.Kind, step, share)
	}
	return nil
}

// oneCode is a step of the plain side by one code, as a share of its light.
func oneCode(s Stimulus) float64 { return 2.2 / math.Max(float64(s.Plain), 8) }

// linesLighter is the share of the answer "the lines are lighter" in a comparison: 1, 0, or ½ of a viewer who could not tell.
func linesLighter(j Judgement) float64 {
	switch {
	case j.Response == CantTell:
		return 0.5
	case (j.Response == 0) == j.Stimulus.PlainLeft:
		return 0
	}
	return 1
}

// Draws is how many curves are drawn from the posterior.
const Draws = 1500

// A ToneResult is what the tone check found.
type ToneResult struct {
	Gamma, Departure, Margin, RowsColumns, Noise psychophysics.Estimate

	Tones   []screen.Tone  // draws from the posterior
	Ranges  []screen.Range // the range under which each was drawn
	Weights []float64      // their weights, which sum to 1
}

// result returns what was found from about n draws, the ranges of the screen having the given probabilities.
func (p *lines) result(aim screen.Aim, ranges [screen.Ranges]float64, n int, r *rand.Rand) ToneResult {
	judge := aim.Judge()
	t := ToneResult{Noise: p.fits[plainly].Noise()}
	shares, _ := p.weighed()
	var gamma, departure, margin, orient []float64
	for family, share := range shares {
		of := kin[family].of
		share *= ranges[of]
		k := int(math.Round(share * float64(n)))
		if k == 0 {
			continue
		}
		thetas, _, weights := p.fits[family].Sample(r, k)
		for i, theta := range thetas {
			tone := screen.ToneOf(theta)
			tone.Squeezed, tone.Toe = family == squeezed, hasToe(family)
			d, g, m := judge.Departure(tone.Curve())
			departure, gamma, margin = append(departure, d), append(gamma, g), append(margin, m)
			orient = append(orient, 2*theta[orientAt])
			t.Tones, t.Ranges, t.Weights = append(t.Tones, tone), append(t.Ranges, of), append(t.Weights, weights[i]*share)
		}
	}
	t.Gamma = psychophysics.NewEstimate(gamma, t.Weights)
	t.Departure = psychophysics.NewEstimate(departure, t.Weights)
	t.Margin = psychophysics.NewEstimate(margin, t.Weights)
	t.RowsColumns = psychophysics.NewEstimate(orient, t.Weights)
	return t
}

// UnseenTone returns what is believed of a tone curve before any judgement.
func UnseenTone(aim screen.Aim, r *rand.Rand) ToneResult {
	return beginLines(0).result(aim, screen.RangePrior, Draws, r)
}
