package check

import (
	"image"
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"example.org/plumb/colour/transfer"
	"example.org/plumb/patterns"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// The codes a that are compared with a + 1. Below them light of a room hides a step and above them a step is too small (1.2 to 1.5 JND).
const stepFrom, stepTo = 24, 113

// smoothGround is the code around quadrants and ramps: near the middle of those compared, and constant so that nothing jumps between trials.
const smoothGround = 60

// smoothObvious is how many codes the odd quadrant differs by in practice and catch trials: at 5 bits it is still one step of 8 codes at least.
const smoothObvious = 12

// mostRepeats is how often one pair of codes, or one pair of ramps, may be asked about: one that a panel shows in its own way is not to decide.
const mostRepeats = 2

// The screen that steps are reckoned on, cd/m². Another one makes all steps larger or smaller by about the same, which the viewer's threshold takes up.
const (
	smoothWhite = 160
	smoothBlack = 0.16
	smoothVeil  = 0.3
)

// seeing is the slope of seeing a step over its size: detection rises with the 2.5th power (2 to 3.5 in the literature).
const seeing = 2.5

const leastDepth, depths = 5, 4 // bits 5 to 8; 9 and more cannot be told from 8 with codes of 8

// depthPrior is the prior probability of 5, 6, 7 and 8 bits; ours. The eye that learns nothing leaves 8 bits and 7 at least undecided.
var depthPrior = [depths]float64{1.0 / 6, 1.0 / 6, 1.0 / 6, 1.0 / 2}

// smoothGammas are how steep the tone curve may be (3.2 is what an S-shape makes of the dark half), which changes the steps' sizes along the scale; with their prior probabilities. Ours.
var (
	smoothGammas     = [...]float64{1.9, 2.2, 2.6, 3.2}
	smoothGammaPrior = [...]float64{0.2, 0.45, 0.22, 0.13}
)

// smoothThresholds are the steps, in JNDs of the GSDF (DICOM PS3.14), that a viewer may see 63 % of the time; the prior is Student's t (4 degrees of
// freedom) of the logarithm about 1.7 with a scale of 0.5; ours. The last stands for one who sees nothing, or does not look: without it guesses
// would pass for steps that the screen does not make.
var smoothThresholds = append(logSpan(0.6, 8, 24), smoothBlind)

const smoothThreshold, smoothSpread, smoothBlind, smoothBlindPrior = 1.7, 0.5, 1000, 0.1

// A ramp is one question about two ramps.
type ramp struct {
	from, to uint8
	bits     int // of the coarse one
}

var ramps = func() []ramp {
	var all []ramp
	for _, span := range [][2]uint8{{32, 96}, {50, 114}, {78, 114}} {
		for _, bits := range []int{7, 6, 5} {
			all = append(all, ramp{span[0], span[1], bits})
		}
	}
	return all
}()

// How ramps are told apart is an assumption: edges that run through a ramp are rampFaint times harder to see than those between plain
// quadrants; of two rough ramps the rougher is found with a noise of rampNoise of the logarithm of the steps; and an answer is taken for a guess
// rampLapse of the time, so that a viewer who sees ramps in another way cannot mislead far.
const rampFaint, rampNoise, rampLapse = 1.5, 0.3, 0.1

// depthSignal returns the signal, 0 to 1, that a code has behind the range and a depth of so many bits.
func depthSignal(code int, r screen.Range, bits int) float64 {
	top := float64(int(1)<<bits - 1)
	return math.Floor(float64(r.Send(float64(code)/255)*top)+0.5) / top
}

// depthLight returns the light of every code in cd/m².
func depthLight(r screen.Range, bits int, gamma float64) *[256]float64 {
	var light [256]float64
	for c := range light {
		light[c] = smoothBlack + smoothVeil + float64((smoothWhite-smoothBlack)*math.Pow(depthSignal(c, r, bits), gamma))
	}
	return &light
}

// jnds returns how many JNDs of the GSDF two lights are apart.
func jnds(a, b float64) float64 { return math.Abs(b-a) / transfer.GSDFStep(min(a, b)) }

// roughness returns the step, in JNDs, that a place on a ramp lies at on average, of the ramp whose code c is shown as level(c).
func (m ramp) roughness(light *[256]float64, level func(c uint8) uint8) float64 {
	sum, square := 0.0, 0.0
	for c := m.from; c < m.to; c++ {
		s := jnds(light[level(c)], light[level(c+1)])
		sum += s
		square += float64(s * s)
	}
	if sum == 0 {
		return 0
	}
	return square / sum
}

// level is what patterns.Ramps makes of a code in the coarse ramp.
func (m ramp) level(c uint8) uint8 {
	last := 1<<m.bits - 1
	l := (2*int(c)*last + 255) / 510
	return uint8((2*l*255 + last) / (2 * last))
}

// told returns the probability that the native ramp, whose steps are of so many JNDs, is called the smoother.
func told(native, coarse, threshold float64) float64 {
	see := func(s float64) float64 { return -math.Expm1(-math.Pow(s/(rampFaint*threshold), seeing)) }
	a, b, both := see(coarse), see(native), 0.5
	if native > 0 && coarse > 0 {
		both = psychophysics.Normal(math.Log(coarse/native) / rampNoise)
	}
	p := float64(a*(1-b)) + float64(a*b*both) + 0.5*(1-a)*(1-b)
	return rampLapse/2 + float64((1-rampLapse)*p)
}

// A smoothTable is what every procedure of smoothness shares: hypotheses and what they predict. Hypotheses are ordered by depth, range, gamma and
// threshold, the last running fastest.
type smoothTable struct {
	prior []float64
	p     [][]float64 // by stimulus (pairs from stepFrom on, then ramps) and hypothesis: probability of the right or the native one
}

const smoothPairs = stepTo - stepFrom + 1

// smoothAt returns the depth (0 for 5 bits), the range and the threshold of a hypothesis.
func smoothAt(i int) (depth int, r screen.Range, threshold float64) {
	t := len(smoothThresholds)
	row := t * len(smoothGammas)
	return i / (row * int(screen.Ranges)), screen.Range(i / row % int(screen.Ranges)), smoothThresholds[i%t]
}

var smoothFresh = shared[smoothTable]{make: newSmoothTable}

func newSmoothTable(breath func()) *smoothTable {
	t := &smoothTable{p: make([][]float64, smoothPairs+len(ramps))}
	n := depths * int(screen.Ranges) * len(smoothGammas) * len(smoothThresholds)
	for s := range t.p {
		t.p[s] = make([]float64, 0, n)
	}
	thresholds, sum := make([]float64, len(smoothThresholds)), 0.0
	blind := len(smoothThresholds) - 1
	for i, v := range smoothThresholds[:blind] {
		z := math.Log(v/smoothThreshold) / smoothSpread
		thresholds[i] = math.Pow(1+z*z/4, -2.5)
		sum += thresholds[i]
	}
	for i := range thresholds[:blind] {
		thresholds[i] *= (1 - smoothBlindPrior) / sum
	}
	thresholds[blind] = smoothBlindPrior
	for depth := range depths {
		for r := range screen.Ranges {
			for gi, gamma := range smoothGammas {
				light := depthLight(r, leastDepth+depth, gamma)
				for _, w := range thresholds {
					t.prior = append(t.prior, depthPrior[depth]*screen.RangePrior[r]*smoothGammaPrior[gi]*w)
				}
				breath()
				var steps [smoothPairs]float64
				for s := range steps {
					steps[s] = jnds(light[stepFrom+s], light[stepFrom+s+1])
					if like := slices.Index(steps[:s], steps[s]); like >= 0 { // at few bits many are alike
						t.p[s] = append(t.p[s], t.p[like][len(t.p[s]):]...)
						continue
					}
					for _, v := range smoothThresholds {
						t.p[s] = append(t.p[s], psychophysics.Weibull(steps[s]/v, seeing, lapse, 4))
					}
				}
				for i, m := range ramps {
					native, coarse := m.roughness(light, func(c uint8) uint8 { return c }), m.roughness(light, m.level)
					for _, v := range smoothThresholds {
						t.p[smoothPairs+i] = append(t.p[smoothPairs+i], told(native, coarse, v))
					}
				}
			}
		}
	}
	return t
}

// smoothness is the procedure of the smoothness check in one sitting.
type smoothness struct {
	*smoothTable
	mass   []float64              // probability of each hypothesis
	used   []int                  // by stimulus
	lo, hi int                    // codes that surely part from black and from white
	others [screen.Ranges]float64 // what the other checks make of each range's prior probability
}

func beginSmoothness(p Plan) *smoothness {
	t := smoothFresh.get(breathless)
	return &smoothness{smoothTable: t, mass: append([]float64(nil), t.prior...), used: make([]int, len(t.p)), hi: 255, others: [screen.Ranges]float64{1, 1, 1}}
}

// hear leaves codes out that are lost in black or white: what they do not show is no matter of depth.
func (p *smoothness) hear(c context) {
	p.lo, p.hi = c.lo, c.hi
	if c.ranges == ([screen.Ranges]float64{}) { // nothing was said
		return
	}
	for r, prior := range screen.RangePrior {
		p.others[r] = c.ranges[r] / prior
	}
}

// gain returns how much, in nats, the answer to a stimulus is expected to tell of the depth and of the range of the screen, as far as the other checks
// have left that open: under each range other steps are missing.
func (p *smoothness) gain(s int) float64 {
	row := p.p[s]
	n := len(row) / depths / int(screen.Ranges) // hypotheses of one depth and one range
	whole, inner, total := 0.0, 0.0, 0.0
	for class := range depths * int(screen.Ranges) {
		mass, right := 0.0, 0.0
		for i := class * n; i < (class+1)*n; i++ {
			mass += p.mass[i]
			right += float64(p.mass[i] * row[i])
		}
		if mass > 0 {
			w := p.others[class%int(screen.Ranges)]
			inner += float64(w * mass * coin(right/mass))
			whole += float64(w * right)
			total += float64(w * mass)
		}
	}
	return coin(whole/total) - inner/total
}

// coin is the entropy, in nats, of an outcome of probability p.
func coin(p float64) float64 {
	if p <= 0 || p >= 1 {
		return 0
	}
	return -float64(p*math.Log(p)) - float64((1-p)*math.Log1p(-p))
}

// best returns the stimulus, quadrants or ramps, that tells most and may be asked about, or -1.
func (p *smoothness) best() int {
	best, at := 0.0, -1
	for s := range p.p {
		lo, hi := stepFrom+s, stepFrom+s+1
		if s >= smoothPairs {
			lo, hi = int(ramps[s-smoothPairs].from), int(ramps[s-smoothPairs].to)
		}
		if p.used[s] >= mostRepeats || lo <= p.lo || hi >= p.hi {
			continue
		}
		if v := p.gain(s); at < 0 || v > best+1e-9 {
			best, at = v, s
		}
	}
	return at
}

func (p *smoothness) choose(k Kind, _ int, left bool, r *rand.Rand) Stimulus {
	cell := r.IntN(4)
	if k != Trial {
		a := uint8(80 + r.IntN(20))
		return Stimulus{Ground: smoothGround, Left: a, Patch: a + smoothObvious, Cell: cell}
	}
	s := p.best()
	switch {
	case s < 0: // nothing is left: the last pair
		s = smoothPairs - 1
	case s >= smoothPairs:
		m := ramps[s-smoothPairs]
		return Stimulus{Ground: smoothGround, A: m.from, B: m.to, Bits: m.bits, PlainLeft: left}
	}
	a := uint8(stepFrom + s)
	return Stimulus{Ground: smoothGround, Left: a, Patch: a + 1, Cell: cell}
}

func (p *smoothness) pattern(s Stimulus, _ image.Rectangle, _ float64) patterns.Pattern {
	if s.Bits != 0 {
		return patterns.Ramps{From: s.A, To: s.B, Bits: s.Bits, CoarseTop: s.PlainLeft, Ground: s.Ground}
	}
	return patterns.Quarters{Ground: s.Ground, Base: s.Left, Patch: s.Patch, Cell: s.Cell}
}

// The keys of four quadrants lie as they do, left of the keyboard.
var quarterKeys = [4]string{"KeyQ", "KeyW", "KeyA", "KeyS"}

var quarterLabels = [4]string{"top left", "top right", "bottom left", "bottom right"}

func (p *smoothness) ask(s Stimulus, _ Kind, bounds image.Rectangle, _ float64) (Task, string, []Choice) {
	if s.Bits != 0 {
		top, bottom := patterns.RampRects(bounds)
		return Smoother, "Which ramp is smoother?", []Choice{{"ArrowUp", "the upper", top}, {"ArrowDown", "the lower", bottom}}
	}
	choices := make([]Choice, 4)
	for i := range choices {
		choices[i] = Choice{quarterKeys[i], quarterLabels[i], patterns.QuarterRect(bounds, i)}
	}
	return OddQuadrant, "Which quadrant differs?", choices
}

func (p *smoothness) right(s Stimulus, response int) bool {
	if s.Bits != 0 {
		return response == 0 && !s.PlainLeft || response == 1 && s.PlainLeft
	}
	return response == s.Cell
}

func (p *smoothness) record(j Judgement) error {
	s := j.Stimulus
	at, choices := -1, 4
	switch {
	case j.Kind != Trial:
	case s.Bits != 0:
		choices = 2
		for i, m := range ramps {
			if s == (Stimulus{Ground: smoothGround, A: m.from, B: m.to, Bits: m.bits, PlainLeft: s.PlainLeft}) {
				at = smoothPairs + i
			}
		}
	case s.Left >= stepFrom && s.Left <= stepTo && s.Cell >= 0 && s.Cell < 4 && s == (Stimulus{Ground: smoothGround, Left: s.Left, Patch: s.Left + 1, Cell: s.Cell}):
		at = int(s.Left) - stepFrom
	}
	if at < 0 || j.Response < CantTell || j.Response >= choices {
		return errForeign
	}
	share := 0.0
	switch {
	case j.Response == CantTell:
		share = 1 / float64(choices)
	case p.right(s, j.Response):
		share = 1
	}
	p.used[at]++
	sum := 0.0
	for i, m := range p.mass {
		right := p.p[at][i]
		p.mass[i] = m * (float64(share*right) + float64((1-share)*(1-right)))
		sum += p.mass[i]
	}
	for i := range p.mass { // sum is above 0: every hypothesis lets any answer happen
		p.mass[i] /= sum
	}
	return nil
}

// byRange returns the probability of each range.
func (p *smoothness) byRange() (mass [screen.Ranges]float64) {
	for i, m := range p.mass {
		_, r, _ := smoothAt(i)
		mass[r] += m
	}
	return mass
}

// ranges returns the log of the probability of the answers under each range of the screen, up to a constant.
func (p *smoothness) ranges() [screen.Ranges]float64 {
	mass := p.byRange()
	for r := range mass {
		mass[r] = math.Log(max(mass[r], 1e-300)) - math.Log(screen.RangePrior[r])
	}
	return mass
}

// smoothDraws is how many draws a SmoothnessResult holds.
const smoothDraws = 400

// A SmoothnessResult is what the smoothness check found.
type SmoothnessResult struct {
	Bits      psychophysics.Estimate                // effective depth; At is of 5, 6, 7 and 8, where 8 stands for more too
	By        [screen.Ranges]psychophysics.Estimate // the same under each range of the screen
	Missing   psychophysics.Estimate                // of the 255 steps between codes, how many cannot be seen because both codes are sent alike
	Threshold psychophysics.Estimate                // the step that the viewer sees 63 % of the time, JNDs of the GSDF on a screen of 160 cd/m², if steps are seen at all
	Blind     float64                               // probability that the viewer sees no step, or does not look

	Draws   []int          // of effective depth, from the posterior; in no order
	Ranges  []screen.Range // the range under which each was drawn
	Weights []float64      // their weights, which sum to 1
}

// missing counts the codes that are sent as the next one is.
func missing(r screen.Range, bits int) int {
	n := 0
	for c := range 255 {
		if depthSignal(c, r, bits) == depthSignal(c+1, r, bits) {
			n++
		}
	}
	return n
}

// smoothMissing is missing by range and depth.
var smoothMissing = sync.OnceValue(func() (m [screen.Ranges][depths]float64) {
	for r := range m {
		for d := range depths {
			m[r][d] = float64(missing(screen.Range(r), leastDepth+d))
		}
	}
	return m
})

// result returns what was found, the ranges of the screen having the given probabilities. They need not sum to 1; if all are 0, those that the
// answers give together with screen.RangePrior are taken.
func (p *smoothness) result(ranges [screen.Ranges]float64, r *rand.Rand) SmoothnessResult {
	had := p.byRange()
	total := 0.0
	for _, w := range ranges {
		total += w
	}
	if !(total > 0) {
		ranges, total = had, 1
	}
	var joint [screen.Ranges][depths]float64 // sums to 1
	var threshold, seen []float64
	blind := 0.0
	var by [screen.Ranges][depths]float64
	for i, m := range p.mass {
		d, at, t := smoothAt(i)
		by[at][d] += m
		m *= ranges[at] / total / max(had[at], 1e-300)
		joint[at][d] += m
		if t == smoothBlind {
			blind += m
			continue
		}
		threshold, seen = append(threshold, t), append(seen, m)
	}
	v := SmoothnessResult{Threshold: psychophysics.NewEstimate(threshold, seen), Blind: blind}
	var bits, lost, weight []float64
	all := make([]float64, depths)
	for d := range all {
		all[d] = float64(leastDepth + d)
	}
	for at := range joint {
		v.By[at] = psychophysics.NewEstimate(all, by[at][:])
		for d, m := range joint[at] {
			bits, lost, weight = append(bits, all[d]), append(lost, smoothMissing()[at][d]), append(weight, m)
		}
	}
	v.Bits, v.Missing = psychophysics.NewEstimate(bits, weight), psychophysics.NewEstimate(lost, weight)
	// One draw in each equal share of the probability, so that the draws are as the posterior is; then shuffled, for they are joined with others'.
	u, sum, i := r.Float64(), weight[0], 0
	for n := range smoothDraws {
		for i < len(weight)-1 && sum < (float64(n)+u)/smoothDraws {
			i++
			sum += weight[i]
		}
		v.Draws = append(v.Draws, leastDepth+i%depths)
		v.Ranges = append(v.Ranges, screen.Range(i/depths))
		v.Weights = append(v.Weights, 1.0/smoothDraws)
	}
	r.Shuffle(smoothDraws, func(a, b int) {
		v.Draws[a], v.Draws[b] = v.Draws[b], v.Draws[a]
		v.Ranges[a], v.Ranges[b] = v.Ranges[b], v.Ranges[a]
	})
	return v
}

// UnseenSmoothness returns what is believed of smoothness before any judgement.
func UnseenSmoothness(r *rand.Rand) SmoothnessResult {
	return beginSmoothness(Plan{}).result(screen.RangePrior, r)
}
