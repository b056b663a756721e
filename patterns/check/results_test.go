package check_test

import (
	"image"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// ranging are the checks whose answers bear on the range of the screen.
var ranging = []check.Aspect{check.Shadows, check.Highlights, check.Tone, check.Smoothness}

// rangesFrom is the slow twin of Results.Ranges: the prior times what each check alone says.
func rangesFrom(s *check.Sitting, from ...check.Aspect) [screen.Ranges]float64 {
	p, sum := screen.RangePrior, 0.0
	for _, a := range from {
		logs, ok := check.RangesOf(s, a)
		if !ok {
			continue
		}
		for r := range p {
			p[r] *= math.Exp(logs[r] - logs[0])
		}
	}
	for _, v := range p {
		sum += v
	}
	for r := range p {
		p[r] /= sum
	}
	return p
}

func expert(t *testing.T, d display.Description, seed uint64) func(check.Presentation, *image.RGBA) string {
	t.Helper()
	kind, ok := observer.KindByName("expert")
	if !ok {
		t.Fatal("no expert")
	}
	m := d.Model()
	return answer(observer.New(kind, &m, rand.New(rand.NewPCG(seed, 3))))
}

// What the checks say of the range, each alone and together, at screens of every range.
func TestRanges(t *testing.T) {
	for at, of := range map[screen.Range]display.Range{screen.Full: display.Full, screen.Squeezed: display.FullAsLimited, screen.Lifted: display.LimitedAsFull} {
		d := display.Default()
		d.Range = of
		s := begin(t, only(plan(check.Long, 80+uint64(at)), ranging...))
		sit(t, s, expert(t, d, 80), nil)
		r := s.Results()
		whole := rangesFrom(s, all()...)
		for i, p := range r.Ranges {
			if math.Abs(p-whole[i]) > 1e-9 {
				t.Errorf("%v: %v, by each alone %v", at, r.Ranges, whole)
			}
		}
		told := 0
		for _, a := range ranging {
			p := rangesFrom(s, a)
			t.Logf("%v, by %s alone: %.3f", at, a, p)
			if p[at] > screen.RangePrior[at] {
				told++
			}
			if at != screen.Lifted && p[at] < screen.RangePrior[at]*0.75 || at == screen.Lifted && p[at] < screen.RangePrior[at]/8 { // which they hardly see
				t.Errorf("%v, by %s alone: %.3f", at, a, p)
			}
		}
		t.Logf("%v together: %.3f", at, r.Ranges)
		if least := map[screen.Range]float64{screen.Full: 0.9, screen.Squeezed: 0.95, screen.Lifted: 0.1}[at]; r.Ranges[at] < least || told < 2 {
			t.Errorf("%v: %.3f, and %d checks point to it", at, r.Ranges, told)
		}
	}
}

// Sample moments of draws agree with what an estimate says, within five of their own standard errors and a little for what is drawn from draws.
func agree(t *testing.T, what string, values []float64, e psychophysics.Estimate, floor float64) {
	t.Helper()
	mean, square := 0.0, 0.0
	for _, v := range values {
		mean += v / float64(len(values))
	}
	for _, v := range values {
		square += (v - mean) * (v - mean) / float64(len(values))
	}
	sd, n := math.Sqrt(square), float64(len(values))
	want, spread := e.Mean(), e.SD()
	if d := math.Abs(mean - want); d > 5*max(spread, sd)/math.Sqrt(min(n, 400))+floor {
		t.Errorf("%s: draws have a mean of %.4f, the estimate %.4f (SD %.4f)", what, mean, want, spread)
	}
	if math.Abs(sd-spread) > 0.25*spread+floor {
		t.Errorf("%s: draws have an SD of %.4f, the estimate %.4f", what, sd, spread)
	}
}

// collect is one value of every possible screen.
func collect(all []screen.Possible, of func(p *screen.Possible) float64) (values []float64) {
	for i := range all {
		values = append(values, of(&all[i]))
	}
	return values
}

// mixed is an estimate under all ranges.
func mixed(by [screen.Ranges]psychophysics.Estimate, ranges [screen.Ranges]float64) psychophysics.Estimate {
	var at, mass []float64
	for r, e := range by {
		for i, m := range e.Mass {
			at, mass = append(at, e.At[i]), append(mass, m*ranges[r])
		}
	}
	return psychophysics.NewEstimate(at, mass)
}

// Possible screens are drawn from what the checks found: one by one their quantities have the mean and the spread that the results have, but for sound ones
// being taken more often.
func TestPossiblesAgreeWithResults(t *testing.T) {
	const n = 3000
	aim := screen.Aims[0]
	squeezed := display.Default()
	squeezed.Range = display.FullAsLimited
	for name, d := range map[string]display.Description{"ordinary": display.Default(), "squeezed": squeezed} {
		s := begin(t, plan(check.Standard, 90))
		sit(t, s, expert(t, d, 90), nil)
		r := s.Results()
		all := check.PossiblesApart(r, aim, n, rand.New(rand.NewPCG(9, 9)))
		if len(all) != n {
			t.Fatalf("%d screens", len(all))
		}
		counts := [screen.Ranges]float64{}
		for i := range all {
			p := &all[i]
			counts[p.Range]++
			if p.Tone.Squeezed != (p.Range == screen.Squeezed) {
				t.Fatalf("%s: a screen of range %v has the curve %+v", name, p.Range, p.Tone)
			}
			if p.Range == screen.Squeezed && (p.Crush != 16 || p.Clip != 255-20) || p.Range == screen.Lifted && (p.Crush != 0 || p.Clip != 255) {
				t.Fatalf("%s: a screen of range %v loses codes to %d and from %d", name, p.Range, p.Crush, p.Clip)
			}
			if p.Bits < 5 || p.Bits > 8 || p.Reach < 0 || p.Reach > 1 || len(p.Field.Log) != 9 || p.Field.Log[4] != 0 {
				t.Fatalf("%s: %+v", name, p)
			}
		}
		for at, c := range counts {
			if want := r.Ranges[at]; math.Abs(c/n-want) > 5*math.Sqrt(want*(1-want)/n)+1e-3 {
				t.Errorf("%s: %g of %d are %v, want %.4f", name, c, n, screen.Range(at), want)
			}
		}
		rare := 0.05
		if name == "squeezed" { // a few draws of another range have other ends
			rare = 0.3
		}
		if name == "squeezed" && counts[screen.Squeezed] < n*9/10 {
			t.Errorf("of a squeezed screen only %g of %d draws are squeezed", counts[screen.Squeezed], n)
		}
		agree(t, name+" gamma", collect(all, func(p *screen.Possible) float64 { return screen.EffectiveGamma(p.Tone.Light) }), r.Tone.Gamma, 0.003)
		agree(t, name+" crush", collect(all, func(p *screen.Possible) float64 { return float64(p.Crush) }), mixed(r.Shadows.Crush, r.Ranges), rare)
		agree(t, name+" clip", collect(all, func(p *screen.Possible) float64 { return float64(255 - p.Clip) }), mixed(r.Highlights.Crush, r.Ranges), rare)
		agree(t, name+" bits", collect(all, func(p *screen.Possible) float64 { return float64(p.Bits) }), r.Smoothness.Bits, 0.02)
		var tints []float64 // what was not seen is as it is believed beforehand, not as verdicts have it
		for i := range r.Neutrals.Likely {
			tints = append(tints, r.Neutrals.Likely[i].Greatest())
		}
		agree(t, name+" tint", collect(all, func(p *screen.Possible) float64 { return p.Tint.Greatest() }), psychophysics.NewEstimate(tints, r.Neutrals.Weights), 1e-4)
		agree(t, name+" unevenness", collect(all, func(p *screen.Possible) float64 { return p.Field.Worst() }), r.Evenness.Worst, 0.002)
		agree(t, name+" reach", collect(all, func(p *screen.Possible) float64 { return p.Reach }), r.Reach.Reach, 0.01)
	}
}

// What was not asked about is at its prior: of what a sitting left out, and of no sitting at all.
func TestPossiblesOfWhatWasNotAsked(t *testing.T) {
	const n = 3000
	aim := screen.Aims[0]
	random := func() *rand.Rand { return rand.New(rand.NewPCG(5, 6)) }
	tone, dark, light := check.UnseenTone(aim, random()), check.Unseen(check.Shadows), check.Unseen(check.Highlights)
	bits, tints := check.UnseenSmoothness(random()), check.UnseenNeutrals(random())
	fields, reach := check.UnseenEvenness(random()), check.UnseenReach(random())
	s := begin(t, only(plan(check.Short, 1)))
	for name, r := range map[string]check.Results{"no results": {}, "nothing asked": s.Results()} {
		all := r.Possibles(aim, n, random())
		counts := [screen.Ranges]float64{}
		for _, p := range all {
			counts[p.Range]++
		}
		for at, c := range counts {
			if want := screen.RangePrior[at]; math.Abs(c/n-want) > 5*math.Sqrt(want*(1-want)/n) {
				t.Errorf("%s: %g of %d are %v, want %.4f", name, c, n, screen.Range(at), want)
			}
		}
		agree(t, name+": gamma", collect(all, func(p *screen.Possible) float64 { return screen.EffectiveGamma(p.Tone.Light) }), tone.Gamma, 0.01)
		agree(t, name+": crush", collect(all, func(p *screen.Possible) float64 { return float64(p.Crush) }), mixed(dark.Crush, screen.RangePrior), 0.05)
		agree(t, name+": clip", collect(all, func(p *screen.Possible) float64 { return float64(255 - p.Clip) }), mixed(light.Crush, screen.RangePrior), 0.05)
		agree(t, name+": bits", collect(all, func(p *screen.Possible) float64 { return float64(p.Bits) }), bits.Bits, 0.02)
		agree(t, name+": tint", collect(all, func(p *screen.Possible) float64 { return p.Tint.Greatest() }), tints.Tint, 5e-4)
		agree(t, name+": unevenness", collect(all, func(p *screen.Possible) float64 { return p.Field.Worst() }), fields.Worst, 0.02)
		agree(t, name+": reach", collect(all, func(p *screen.Possible) float64 { return p.Reach }), reach.Reach, 0.02)
	}
}

// A profile has what was found and nothing else.
func TestProfile(t *testing.T) {
	want := map[check.Aspect][]screen.Quantity{
		check.Shadows: {screen.FirstVisible}, check.Highlights: {screen.FirstBelow}, check.Neutrals: {screen.GreyTint}, check.Smoothness: {screen.Bits},
		check.Tone:     {screen.Gamma, screen.Departure, screen.ToneMargin, screen.RowsColumns, screen.Noise},
		check.Evenness: {screen.Unevenness, screen.FieldTint}, check.ColourRange: {screen.Reach}, check.White: {screen.WhiteOffset}, check.Channels: nil, check.Angle: nil,
	}
	for a, quantities := range want {
		p := only(plan(check.Long, 2), a)
		p.Reference = check.Paper
		s := begin(t, p)
		if got := s.Results().Profile(); len(got) > 0 {
			t.Errorf("%s: %v before any judgement", a, got)
		}
		sit(t, s, newRule(2).key, nil)
		got := s.Results().Profile()
		for _, q := range quantities {
			if e, ok := got[q]; !ok || len(e.At) == 0 || len(e.At) != len(e.Mass) || math.IsNaN(e.Mean()) {
				t.Errorf("%s has no %s", a, q)
			}
		}
		if len(got) != len(quantities) {
			t.Errorf("%s has %v, want %v", a, got, quantities)
		}
	}
}
