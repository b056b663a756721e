package check

import (
	"image"
	"math"
	"math/rand/v2"
	"sync"

	"example.org/plumb/colour"
	"example.org/plumb/colour/difference"
	"example.org/plumb/patterns"
	"example.org/plumb/patterns/psychophysics"
)

// reachGround is the code around the four squares of a colour beyond sRGB, constant so that nothing jumps between trials.
const reachGround = 60

// reachPrimaries are the colours asked about. The blue of Display P3 is only 1.4 ΔE00 beyond that of sRGB: no viewer can judge it.
var reachPrimaries = [2]string{"red", "green"}

// reachShares are how far marks lie from the primary of sRGB (0) to that of Display P3 (1), by mixing light.
var reachShares = [4]float64{0.25, 0.5, 0.75, 1}

// reachStimuli is how many marks there are: every share of red, then of green.
const reachStimuli = len(reachPrimaries) * len(reachShares)

// reachDark is how much of a square's light its mark has in practice and catch trials, which any screen and any eye shows.
const reachDark = 0.5

// beyond returns the signal in Display P3 of the mix of a primary of sRGB with that of Display P3, the latter having the given share of the light.
func beyond(primary int, share float64) colour.RGB {
	var pure [2]colour.RGB
	pure[0], pure[1] = colour.RGB{R: 1}, colour.RGB{G: 1}
	near := colour.DisplayP3.Light(colour.DisplayP3.RGB(colour.SRGB.XYZ(pure[primary])))
	far := pure[primary]
	mixed := func(n, f float64) float64 { return float64((1-share)*n) + float64(share*f) }
	return colour.DisplayP3.Signal(colour.RGB{R: mixed(near.R, far.R), G: mixed(near.G, far.G), B: mixed(near.B, far.B)})
}

// p3Codes rounds a signal to code values.
func p3Codes(c colour.RGB) [3]uint8 {
	code := func(v float64) uint8 { return uint8(math.Floor(float64(min(max(v, 0), 1)*255) + 0.5)) }
	return [3]uint8{code(c.R), code(c.G), code(c.B)}
}

// colourful is the CIEDE2000 between a primary of sRGB and what lies beyond it by a share, both against white.
func colourful(primary int, share float64) float64 {
	return difference.CIEDE2000(colour.DisplayP3.Lab(beyond(primary, share)), colour.DisplayP3.Lab(beyond(primary, 0)))
}

const (
	// reachHalf and reachSpread are the CIEDE2000 that a typical viewer sees half of the time between patches with a shared edge, and its SD. Other
	// viewers have both in proportion. The magnitudes are judgement; no people have been measured.
	reachHalf, reachSpread = 1.3, 0.6

	reachSteps = 21 // hypotheses of how far a primary reaches, 0 to 1

	// Prior probabilities, ours: that a screen or its browser stops at sRGB, and that it shows all of Display P3. What is left lies between, with
	// two primaries that differ by reachApart at one SD.
	reachNone, reachAll = 0.40, 0.35
	reachApart          = 0.25

	// reachBlind is the prior probability of a viewer who sees no difference between these reds and greens on any screen: 8 % of men and 0.4 % of
	// women are born with some deficiency of red and green (Birch 2012).
	reachBlind = 0.04
)

// reachTable is what every procedure of the colour range shares.
type reachTable struct {
	grid   *psychophysics.Grid
	least  []float64 // by hypothesis: the lesser of both primaries' reach
	pair   []int     // by hypothesis: reach of red and of green in steps, red·reachSteps + green
	unseen []bool    // by hypothesis: the viewer is blind to these colours

	chance func(stimulus, hypothesis int) float64 // probability of the right answer; stimuli are the shares of red, then of green
}

func reachAt(step int) float64 { return float64(step) / (reachSteps - 1) }

// reachSeen is the probability of the right answer of four to a difference, under a threshold relative to the typical one.
func reachSeen(d, threshold float64) float64 {
	return 0.25 + float64(0.75*(1-lapse)*psychophysics.Normal((d-float64(reachHalf*threshold))/(reachSpread*threshold)))
}

var reachShared = sync.OnceValue(func() *reachTable {
	t := new(reachTable)
	var prior, threshold []float64
	thresholds := logSpan(0.35, 5, 8)
	weights := make([]float64, len(thresholds))
	sum := 0.0
	for i, k := range thresholds {
		z := math.Log(k) / 0.5
		weights[i] = math.Pow(1+z*z/4, -2.5) // Student's t, 4 degrees of freedom
		sum += weights[i]
	}
	pairs, between := make([]float64, reachSteps*reachSteps), 0.0
	for i := range pairs {
		z := (reachAt(i/reachSteps) - reachAt(i%reachSteps)) / reachApart
		pairs[i] = math.Exp(-z * z / 2)
		between += pairs[i]
	}
	for i := range pairs {
		pairs[i] *= (1 - reachNone - reachAll) / between
	}
	pairs[0] += reachNone
	pairs[len(pairs)-1] += reachAll
	for i, mass := range pairs {
		lesser := reachAt(min(i/reachSteps, i%reachSteps))
		for k, w := range weights {
			prior, threshold = append(prior, mass*(1-reachBlind)*w/sum), append(threshold, thresholds[k])
			t.least, t.pair, t.unseen = append(t.least, lesser), append(t.pair, i), append(t.unseen, false)
		}
		prior, threshold = append(prior, mass*reachBlind), append(threshold, 0)
		t.least, t.pair, t.unseen = append(t.least, lesser), append(t.pair, i), append(t.unseen, true)
	}
	// By primary, mark and reach: what is shown of the mark, which the screen cuts at its reach.
	var shown [len(reachPrimaries)][len(reachShares)][reachSteps]float64
	for p := range shown {
		for s, share := range reachShares {
			for r := range reachSteps {
				shown[p][s][r] = colourful(p, min(share, reachAt(r)))
			}
		}
	}
	t.chance = func(s, h int) float64 {
		if t.unseen[h] {
			return 0.25
		}
		primary, mark := s/len(reachShares), s%len(reachShares)
		step := t.pair[h] / reachSteps
		if primary == 1 {
			step = t.pair[h] % reachSteps
		}
		return reachSeen(shown[primary][mark][step], threshold[h])
	}
	t.grid = psychophysics.NewGrid(prior, reachStimuli, t.chance)
	return t
})

// reach is the procedure of the colour range in one sitting: which of four squares holds a mark of a colour beyond sRGB? Its frames are in Display P3.
//
// A hypothesis is how far red and how far green reach, what lies further being cut off there; the viewer's threshold; and whether the viewer
// is blind to these colours. Marks not seen speak against the reach only as far as the viewer could have seen them.
type reach struct {
	*reachTable
	grid *psychophysics.Grid
}

func beginReach(Plan) procedure { return newReach() }

func newReach() *reach {
	t := reachShared()
	return &reach{t, t.grid.Clone()}
}

// wide reports that the bytes of the frames are colours of Display P3.
func (p *reach) wide() bool { return true }

func (p *reach) choose(k Kind, n int, _ bool, r *rand.Rand) Stimulus {
	s := Stimulus{Ground: reachGround, Cell: r.IntN(4)}
	switch k {
	case Trial:
		at := p.grid.LeastVariance(p.least)
		s.Primary, s.Reach = reachPrimaries[at/len(reachShares)], reachShares[at%len(reachShares)]
	case Practice:
		s.Primary = reachPrimaries[n%2]
	default:
		s.Primary = reachPrimaries[r.IntN(2)]
	}
	return s
}

// reachPrimary returns the index of a primary, or -1.
func reachPrimary(name string) int {
	for i, p := range reachPrimaries {
		if p == name {
			return i
		}
	}
	return -1
}

func (p *reach) pattern(s Stimulus, _ image.Rectangle, _ float64) patterns.Pattern {
	primary := max(reachPrimary(s.Primary), 0)
	base := beyond(primary, 0)
	mark := beyond(primary, s.Reach)
	if s.Reach == 0 { // practice and catch
		l := colour.DisplayP3.Light(base)
		mark = colour.DisplayP3.Signal(colour.RGB{R: reachDark * l.R, G: reachDark * l.G, B: reachDark * l.B})
	}
	return patterns.Fours{Ground: s.Ground, Base: p3Codes(base), Mark: p3Codes(mark), Cell: s.Cell}
}

// The keys of four squares lie as the squares do, left of the keyboard.
var reachKeys = [4]string{"KeyQ", "KeyW", "KeyA", "KeyS"}

var reachLabels = [4]string{"top left", "top right", "bottom left", "bottom right"}

func (p *reach) ask(_ Stimulus, _ Kind, bounds image.Rectangle, _ float64) (Task, string, []Choice) {
	choices := make([]Choice, 4)
	for i := range choices {
		choices[i] = Choice{reachKeys[i], reachLabels[i], patterns.FoursRect(bounds, i)}
	}
	return Mark, "Which square holds a letter?", choices
}

func (p *reach) right(s Stimulus, response int) bool { return response == s.Cell }

func (p *reach) record(j Judgement) error {
	s := j.Stimulus
	primary, mark := reachPrimary(s.Primary), -1
	for i, v := range reachShares {
		if v == s.Reach {
			mark = i
		}
	}
	if j.Kind != Trial || s.Ground != reachGround || primary < 0 || mark < 0 || s.Cell < 0 || s.Cell > 3 || j.Response < CantTell || j.Response > 3 {
		return errForeign
	}
	share := 0.0
	switch j.Response {
	case s.Cell:
		share = 1
	case CantTell:
		share = 0.25
	}
	return p.grid.Record(primary*len(reachShares)+mark, share)
}

// ReachDraws is how many screens are drawn from the posterior of the colour range.
const ReachDraws = 400

// A ReachResult is what the colour range found: how far colours go from the primary of sRGB (0) to that of Display P3 (1), browser, connection and
// screen together. A screen whose primaries are wider than sRGB, and which shows every colour as if it had none, has a reach of 0.
type ReachResult struct {
	Red, Green psychophysics.Estimate
	Reach      psychophysics.Estimate // the lesser of the two, which a whole screen can claim

	// Unseen is the probability that the viewer sees no mark of these colours on any screen, as some with a deficiency of red and green do. Where it
	// is not small, marks that were not seen say little of the screen.
	Unseen float64

	Draws   [][2]float64 // draws from the posterior: red, green
	Weights []float64    // their weights, which sum to 1
}

func (p *reach) result(r *rand.Rand) ReachResult {
	red, green := make([]float64, len(p.pair)), make([]float64, len(p.pair))
	var v ReachResult
	pairs := make([]float64, reachSteps*reachSteps)
	for i, m := range p.grid.Mass() {
		red[i], green[i] = reachAt(p.pair[i]/reachSteps), reachAt(p.pair[i]%reachSteps)
		pairs[p.pair[i]] += m
		if p.unseen[i] {
			v.Unseen += m
		}
	}
	v.Red, v.Green, v.Reach = p.grid.Estimate(red), p.grid.Estimate(green), p.grid.Estimate(p.least)
	for _, i := range resampled(pairs, ReachDraws, r) {
		v.Draws = append(v.Draws, [2]float64{reachAt(i / reachSteps), reachAt(i % reachSteps)})
	}
	v.Weights = evenly(ReachDraws)
	return v
}

// UnseenReach returns what is believed of the colour range before any judgement.
func UnseenReach(r *rand.Rand) ReachResult { return newReach().result(r) }
