package check

import (
	"math"
	"math/rand/v2"

	"example.org/plumb/patterns/screen"
)

// A CorrectionResult is what a sitting found of a profile's correction: probabilities that sum to 1.
type CorrectionResult struct {
	Loaded  float64 // that the screen is as the profile has it, with its correction
	Bare    float64 // that it is as the profile has it, but without the correction
	Neither float64 // that it is something else

	Tints float64 // part of Neither: that the tones are as the profile has them, with the correction or without, and the tints of greys are not
	Alike bool    // with the correction and without, the screen should look so nearly the same that no eye can tell
	Apart Apart
}

// What is believed of a correction beforehand, and, of a screen that is as its profile has it neither with nor without, what is off: tones and tints alike, tones
// alone (another mode, a correction that is loaded twice), or tints alone (an aged screen). Ours: with tones alone at 0.1 typical viewers took a screen in another mode for
// one whose correction is not loaded in 5 of 100 sittings.
const (
	loadedPrior  = 0.54
	barePrior    = 0.36
	neitherPrior = 0.10

	bothOff  = 0.2
	tonesOff = 0.3
	tintsOff = 0.5
)

// Within these a screen is still as its profile has it: the profile's own error and some drift. L*, at levels that are asked about, and u'v', from code 64 up. Ours.
const (
	nearLightness = 2.0
	nearTint      = 0.004
)

// strayPrior is like trimPrior, of tints that are off: a screen whose greys are something else is hardly well adjusted along both axes.
func strayPrior(i, j int) float64 {
	if i == 0 && j == 0 {
		return 0
	}
	p := trimPrior(i, j)
	if i == len(trims)-1 {
		p *= strayMore
	}
	if j == len(trims)-1 {
		p *= strayMore
	}
	return p
}

const strayMore = 3

// Correction returns what is known so far about the correction of the plan's Expect, and false where the sitting does not ask.
func (s *Sitting) Correction() (CorrectionResult, bool) {
	if s.plan.Expect == nil {
		return CorrectionResult{}, false
	}
	return s.supposed(s.Results()), true
}

// evidence is the log of the probability of the answers to one check where the correction is loaded, where it is not, and where the screen is something else, and the
// probability that something else is so near to the first, or to the second, as to be it.
type evidence struct {
	logs [3]float64
	near [2]float64
}

// supposed weighs the suppositions, given what the checks found.
func (s *Sitting) supposed(r Results) CorrectionResult {
	v := CorrectionResult{Apart: s.plan.Expect.Apart()}
	v.Alike = v.Apart.Alike()
	var tone, tint, stray evidence
	if p, ok := s.procedures[Tone].(*lines); ok && r.Tone != nil {
		tone = p.foretold(r.Tone, glances)
	}
	if p, ok := s.procedures[Neutrals].(*neutrals); ok && r.Neutrals != nil {
		tint, stray = p.foretold(r.Neutrals)
	}
	ln := math.Log
	all := [...]struct {
		log          float64
		loaded, bare float64 // parts of it that are
		tints        bool    // the tones are as the profile has them
	}{
		{ln(loadedPrior) + tone.logs[0] + tint.logs[0], 1, 0, false},
		{ln(barePrior) + tone.logs[1] + tint.logs[1], 0, 1, false},
		{ln(neitherPrior*bothOff) + tone.logs[2] + tint.logs[2], tone.near[0] * tint.near[0], tone.near[1] * tint.near[1], false},
		{ln(neitherPrior*tonesOff/2) + tone.logs[2] + tint.logs[0], tone.near[0], 0, false},
		{ln(neitherPrior*tonesOff/2) + tone.logs[2] + tint.logs[1], 0, tone.near[1], false},
		{ln(neitherPrior*tintsOff/2) + tone.logs[0] + stray.logs[2], stray.near[0], 0, true},
		{ln(neitherPrior*tintsOff/2) + tone.logs[1] + stray.logs[2], 0, stray.near[1], true},
	}
	logs := make([]float64, len(all))
	for i, a := range all {
		logs[i] = a.log
	}
	probabilities(logs)
	for i, a := range all {
		if sum := a.loaded + a.bare; sum > 1 {
			a.loaded, a.bare = a.loaded/sum, a.bare/sum
		}
		v.Loaded += float64(logs[i] * a.loaded)
		v.Bare += float64(logs[i] * a.bare)
		if a.tints {
			v.Tints += float64(logs[i] * (1 - a.loaded - a.bare))
		}
	}
	v.Neither = max(0, 1-v.Loaded-v.Bare)
	return v
}

// partway is how probable it is that a screen whose tones are something else lies on the way from without the correction to with it, or beyond: half of a correction, or
// twice. Else it may be anything. Ours.
const partway = 0.4

// foretold returns the evidence of line matches, given what they found.
func (p *lines) foretold(r *ToneResult, n int) evidence {
	t := p.told
	e := evidence{logs: [3]float64{t.fits[isLoaded].Evidence() - t.base[isLoaded], t.fits[isBare].Evidence() - t.base[isBare], math.Inf(-1)}}
	for family, k := range kin {
		e.logs[2] = either(e.logs[2], math.Log((1-partway)*k.share*screen.RangePrior[k.of])+p.fits[family].Evidence()-t.unknown[family])
	}
	on := math.Log(partway) + t.fits[between].Evidence() - t.base[between]
	e.logs[2] = either(e.logs[2], on)
	share := math.Exp(on - e.logs[2]) // of what is something else
	var levels, loaded, bare []float64
	for i := range screen.Steps {
		if v := screen.Signal(i); v*255 >= foretoldLo && v*255 <= foretoldHi {
			levels, loaded, bare = append(levels, v), append(loaded, screen.Lightness(t.loaded.light(v))), append(bare, screen.Lightness(t.bare.light(v)))
		}
	}
	take := func(weight float64, light func(v float64) float64) {
		off, without := 0.0, 0.0
		for k, v := range levels {
			l := screen.Lightness(light(v))
			off, without = max(off, math.Abs(l-loaded[k])), max(without, math.Abs(l-bare[k]))
		}
		e.count(weight, off/nearLightness, without/nearLightness)
	}
	sum := 0.0
	for _, w := range r.Weights {
		sum += w
	}
	for i, tone := range r.Tones {
		take((1-share)*r.Weights[i]/sum, tone.Curve())
	}
	thetas, _, weights := t.fits[between].Sample(rand.New(rand.NewPCG(uint64(n), 0x6f6e20746865)), n)
	for i, theta := range thetas {
		take(share*weights[i], func(v float64) float64 { return t.light(theta, v, nil) })
	}
	return e
}

// count takes a draw in that is so far from both, in units of what is near.
func (e *evidence) count(weight, off, without float64) {
	switch {
	case off < 1 && off <= without:
		e.near[0] += weight
	case without < 1:
		e.near[1] += weight
	}
}

// foretold returns the evidence of neutrals, given what they found, and the same where what is not foretold is off for sure.
func (p *neutrals) foretold(r *NeutralsResult) (any, stray evidence) {
	t := p.told
	var unknown [2][len(trims)]float64
	for axis, a := range p.axes {
		for i := range isBare + 1 {
			l, _ := a.sees(t.fits[axis][i].Evidence(), t.base[axis][i])
			any.logs[i] += l
		}
		unknown[axis], _ = a.likely()
	}
	any.logs[2], stray.logs[2] = math.Inf(-1), math.Inf(-1)
	whole := 0.0
	for i := range trims {
		for j := range trims {
			l := unknown[0][i] + unknown[1][j]
			any.logs[2] = either(any.logs[2], math.Log(trimPrior(i, j))+l)
			if w := strayPrior(i, j); w > 0 {
				whole += w
				stray.logs[2] = either(stray.logs[2], math.Log(w)+l)
			}
		}
	}
	stray.logs[2] -= math.Log(whole)
	for i := range r.Draws {
		off, without := 0.0, 0.0
		for _, v := range tintLevels {
			code := int(255*v + 0.5)
			pink, yellow := r.Draws[i].At(v)
			l, b := tintOf(&t.loaded, code, 0, 0), tintOf(&t.bare, code, 0, 0)
			off, without = max(off, screen.Length(pink-l[0], yellow-l[1])), max(without, screen.Length(pink-b[0], yellow-b[1]))
		}
		any.count(r.Weights[i], off/nearTint, without/nearTint)
	}
	stray.near = any.near
	return any, stray
}

// known is how surely the correction must be known before a sitting turns to other things.
const known = 0.98

// longer is how much longer than planned a sitting goes on that cannot tell yet, seconds.
const longer = 75

// telling returns the check whose next round is expected to tell most of the correction, or none where that is known, or nothing would tell.
func (s *Sitting) telling() Aspect {
	if s.plan.Expect == nil || !s.counted(Tone) || !s.counted(Neutrals) {
		return ""
	}
	r := Results{Ranges: s.ranges(nil)}
	s.find(&r, Tone, glances)
	s.find(&r, Neutrals, glances)
	c := s.supposed(r)
	if c.Alike || max(c.Loaded, c.Bare, c.Neither) > known {
		return ""
	}
	left := (s.plan.budget() - lasting(s.slots)).Seconds() + longer
	last := s.slots[len(s.slots)-1].check
	fits := func(a Aspect) bool {
		round := float64(rounds[a]+s.catches(a)) * slot{a, Trial}.seconds()
		if a != last {
			round += turning(a, true)
		}
		return round <= left
	}
	// Tones tell the two apart; whether it is something else lies with either, and what was asked about less comes sooner.
	first := Neutrals
	tones := (c.Neither - c.Tints + unnoticed) / float64(1+s.beyond(Tone))
	tints := (c.Tints + unnoticed) / float64(1+s.beyond(Neutrals))
	if s.procedure(Tone).(*lines).told.apart && min(c.Loaded, c.Bare) > 1-known || tones > tints {
		first = Tone
	}
	if fits(first) {
		return first
	}
	return ""
}

// unnoticed is the probability with which something is off in a check that nothing speaks of so far, while rounds are planned.
const unnoticed = 0.02

// beyond is how many rounds of a check were asked beyond what every sitting asks for.
func (s *Sitting) beyond(a Aspect) int {
	n, _ := s.plan.asks(a)
	return (s.asked[slot{a, Trial}] - n.trials) / rounds[a]
}
