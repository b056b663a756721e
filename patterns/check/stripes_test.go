package check

import (
	"image"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/psychophysics"
)

// smallFrame is a small frame on which every pattern of these checks fits.
var smallFrame = image.Rect(0, 0, 360, 300)

// stripeRandom is a generator for tests of line matches.
func stripeRandom(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0x737472697065)) }

// drawFrom is a value drawn from a prior.
func drawFrom(p psychophysics.Prior, r *rand.Rand) float64 {
	z := r.NormFloat64()
	if p.Freedom > 0 {
		chi := 0.0
		for range int(p.Freedom) {
			x := r.NormFloat64()
			chi += x * x
		}
		z *= math.Sqrt(p.Freedom / chi)
	}
	return p.Location + p.Scale*z
}

// drawNoise is a noise drawn from its prior.
func drawNoise(noises, prior []float64, r *rand.Rand) float64 {
	sum := 0.0
	for _, p := range prior {
		sum += p
	}
	u := r.Float64() * sum
	for i, p := range prior {
		if u -= p; u < 0 {
			return noises[i]
		}
	}
	return noises[0]
}

// striped is a check of line matches, and how it names a kind of match.
type striped struct {
	procedure
	s    *stripes
	kind func(Stimulus) int
}

func stripedChannels() (striped, *channels) {
	p := newChannels(0)
	return striped{p, p.stripes, func(s Stimulus) int { return s.Channel - 1 }}, p
}

func stripedAngle() (striped, *angle) {
	p := newAngle(0)
	return striped{p, p.stripes, func(s Stimulus) int { return (s.At + 1) / 2 }}, p
}

// truth draws the parameters of a screen and a viewer from the priors.
func (p striped) truth(r *rand.Rand) []float64 {
	theta := make([]float64, len(p.s.priors))
	for i, prior := range p.s.priors {
		theta[i] = drawFrom(prior, r)
	}
	return theta
}

// answer lets a viewer who answers by the law that the estimator takes for true make settings and comparisons. Of every two in a row one has the plain side
// on the left, as sittings have it: were it the first always, what a place or a channel is would be mixed up with the preference for a side.
func (p striped) answer(t *testing.T, theta []float64, noise float64, settings, comparisons int, r *rand.Rand) {
	t.Helper()
	grad := make([]float64, len(theta))
	see := func(s Stimulus) float64 {
		return stripeDifference(theta, p.s.stripe(p.kind(s), mix{s.A, s.B, s.Lit, s.Of}, int(s.Plain), s.PlainLeft), grad)
	}
	flip := false
	left := func(i int) bool {
		if i%2 == 0 {
			flip = r.IntN(2) == 0
		}
		return flip != (i%2 == 0)
	}
	for i := range settings {
		s := p.choose(Setting, i, left(i), r)
		want, best, at := noise*r.NormFloat64(), math.Inf(1), s.Plain
		for c := 1; c < 255; c++ { // the code that comes nearest
			s.Plain = uint8(c)
			if d := math.Abs(see(s) - want); d < best {
				best, at = d, s.Plain
			}
		}
		s.Plain = at
		if err := p.record(Judgement{Kind: Setting, Stimulus: s}); err != nil {
			t.Fatal(err)
		}
	}
	for i := range comparisons {
		s := p.choose(Trial, i, left(i), r)
		lines := r.Float64() < psychophysics.Signed(see(s), noise, lapse)
		j := Judgement{Kind: Trial, Stimulus: s, Response: 1}
		if lines != s.PlainLeft {
			j.Response = 0
		}
		if err := p.record(j); err != nil {
			t.Fatal(err)
		}
	}
}

// watch lets a virtual viewer sit through settings and comparisons of frames.
func (p striped) watch(t *testing.T, v *observer.Viewer, settings, comparisons int, r *rand.Rand) {
	t.Helper()
	render := func(s Stimulus) *image.RGBA {
		return patterns.Render(p.pattern(s, smallFrame, 0), smallFrame.Dx(), smallFrame.Dy())
	}
	for i := range settings {
		s := p.choose(Setting, i, i%2 == 0, r)
		_, _, choices := p.ask(s, Setting, smallFrame, 0)
		for range 100 {
			by := v.Adjust(render(s), choices[0].Rect, choices[2].Rect)
			if by == 0 {
				break
			}
			s.Plain = uint8(min(max(int(s.Plain)+by, 1), 254))
		}
		if err := p.record(Judgement{Kind: Setting, Stimulus: s}); err != nil {
			t.Fatal(err)
		}
	}
	for i := range comparisons {
		s := p.choose(Trial, i, i%2 == 0, r)
		_, _, choices := p.ask(s, Trial, smallFrame, 0)
		if err := p.record(Judgement{Kind: Trial, Stimulus: s, Response: v.Lighter(render(s), choices[0].Rect, choices[1].Rect)}); err != nil {
			t.Fatal(err)
		}
	}
}

// obvious checks that a virtual viewer without lapses answers practice and catch trials right.
func (p striped) obvious(t *testing.T, d display.Description, r *rand.Rand) {
	t.Helper()
	kind, _ := observer.KindByName("casual")
	kind.Lapse = 0
	m := d.Model()
	v := observer.New(kind, &m, r)
	for i := range 24 {
		k := []Kind{Practice, Catch}[i/3%2]
		s := p.choose(k, i, i%2 == 0, r)
		_, _, choices := p.ask(s, k, smallFrame, 0)
		got := v.Lighter(patterns.Render(p.pattern(s, smallFrame, 0), smallFrame.Dx(), smallFrame.Dy()), choices[0].Rect, choices[1].Rect)
		if !p.right(s, got) || p.right(s, 1-got) || p.right(s, CantTell) {
			t.Errorf("%+v answered with %d", s, got)
		}
	}
}

// The slopes are those of finite differences.
func TestStripeDifference(t *testing.T) {
	r := stripeRandom(1)
	for _, p := range []striped{procedureOf(stripedChannels()), procedureOf(stripedAngle())} {
		for range 20 {
			theta := p.truth(r)
			s := p.choose(Trial, 3*r.IntN(9), r.IntN(2) == 0, r)
			x := p.s.stripe(p.kind(s), mix{s.A, s.B, s.Lit, s.Of}, 40+r.IntN(200), s.PlainLeft)
			grad, other := make([]float64, len(theta)), make([]float64, len(theta))
			stripeDifference(theta, x, grad)
			for i := range theta {
				const h = 1e-5
				up, down := append([]float64(nil), theta...), append([]float64(nil), theta...)
				up[i] += h
				down[i] -= h
				want := (stripeDifference(up, x, other) - stripeDifference(down, x, other)) / (2 * h)
				if math.Abs(grad[i]-want) > 1e-6*max(1, math.Abs(want)) {
					t.Fatalf("slope %d is %.8f, by differences %.8f", i, grad[i], want)
				}
			}
		}
	}
}

func procedureOf[A, B any](a A, _ B) A { return a }

// What neither procedure can have asked is refused and teaches nothing.
func TestStripesRefuse(t *testing.T) {
	for _, p := range []striped{procedureOf(stripedChannels()), procedureOf(stripedAngle())} {
		r := stripeRandom(2)
		good := Judgement{Kind: Trial, Stimulus: p.choose(Trial, 0, true, r), Response: 1}
		if err := p.record(good); err != nil {
			t.Fatal(err)
		}
		for name, spoil := range map[string]func(*Judgement){
			"ground": func(j *Judgement) { j.Stimulus.Ground++ }, "channel": func(j *Judgement) { j.Stimulus.Channel = 4 }, "channel below": func(j *Judgement) { j.Stimulus.Channel = -1 },
			"at": func(j *Judgement) { j.Stimulus.At = 2 }, "at below": func(j *Judgement) { j.Stimulus.At = -2 }, "both": func(j *Judgement) { j.Stimulus.At, j.Stimulus.Channel = 1, 1 },
			"neither": func(j *Judgement) { j.Stimulus.At, j.Stimulus.Channel = 0, 0 }, "lines": func(j *Judgement) { j.Stimulus.Lit, j.Stimulus.Of = 7, 8 },
			"no lines": func(j *Judgement) { j.Stimulus.Of = 0 }, "columns": func(j *Judgement) { j.Stimulus.Columns = true }, "plain": func(j *Judgement) { j.Stimulus.Plain = 0 },
			"white": func(j *Judgement) { j.Stimulus.Plain = 255 }, "codes": func(j *Judgement) { j.Stimulus.B = 254 }, "response": func(j *Judgement) { j.Response = 2 },
			"response below": func(j *Judgement) { j.Response = -2 }, "kind": func(j *Judgement) { j.Kind = Practice }, "setting": func(j *Judgement) { j.Kind = Setting },
		} {
			j := good
			spoil(&j)
			if p.record(j) == nil {
				t.Errorf("%s: taken", name)
			}
		}
		if n := p.s.fit.Count(); n != 1 {
			t.Errorf("%d judgements have taught something, want 1", n)
		}
		j := good
		j.Response = CantTell
		if err := p.record(j); err != nil || p.s.fit.Count() != 1 {
			t.Errorf("can't tell: %v, %d judgements", err, p.s.fit.Count())
		}
	}
}

func FuzzStripes(f *testing.F) {
	f.Add(1, 0, 1, 2, 1, uint8(180), uint8(lineGround), true)
	f.Add(0, -1, 1, 4, 0, uint8(1), uint8(lineGround), false)
	f.Fuzz(func(t *testing.T, channel, at, lit, of, response int, plain, ground uint8, setting bool) {
		s := Stimulus{Ground: ground, B: 255, Lit: lit, Of: of, Plain: plain, Channel: channel, At: at}
		j := Judgement{Kind: Trial, Stimulus: s, Response: response}
		if setting {
			j.Kind = Setting
		}
		c, a := newChannels(0), newAngle(0)
		if c.record(j) == nil {
			if v := c.result(stripeRandom(3)); !(v.Spread.Mean() >= 0) {
				t.Fatalf("%+v: a spread of %g", s, v.Spread.Mean())
			}
		}
		if a.record(j) == nil {
			if v := a.result(stripeRandom(3)); math.IsNaN(v.Shift.Mean()) {
				t.Fatalf("%+v: no shift", s)
			}
		}
		c.pattern(s, smallFrame, 0)
	})
}

// Lines that are too coarse where the viewer sits are left out, and codes that do not part from black and white are not shown; a curve that was heard
// moves what is shown to where it matches.
func TestStripesHear(t *testing.T) {
	for _, c := range []struct {
		degree float64
		most   int
	}{{0, 4}, {160, 4}, {25, 3}, {10, 2}} {
		p, widest, r := newChannels(c.degree), 0, stripeRandom(4)
		for i := range 12 {
			s := p.choose(Trial, i%5, false, r)
			widest = max(widest, s.Of)
			if err := p.record(Judgement{Kind: Trial, Stimulus: s, Response: i % 2}); err != nil {
				t.Fatal(err)
			}
		}
		if widest != c.most {
			t.Errorf("%g pixels to a degree: a line in %d, want %d", c.degree, widest, c.most)
		}
	}
	p := newAngle(0)
	a, b := p.stripe(0, stripeReferences[0], 100, false), p.stripe(0, stripeReferences[0], 100, true)
	if a.offset[p.side] != 1 || b.offset[p.side] != -1 {
		t.Errorf("a preference for the left counts %g for lines there and %g against", a.offset[p.side], b.offset[p.side])
	}
	var curve [256]float64
	for i := range curve {
		curve[i] = math.Pow(float64(i)/255, 1.6)
	}
	p.hear(context{lo: 20, hi: 250, curve: &curve})
	s := p.choose(Trial, 0, false, stripeRandom(5))
	if want := math.Pow(float64(s.Lit)/float64(s.Of), 1/1.6) * 255; math.Abs(float64(s.Plain)-want) > 2 {
		t.Errorf("%d of %d lines match a plain %d, want %.0f", s.Lit, s.Of, s.Plain, want)
	}
	p.hear(context{lo: 130, hi: 250, curve: &curve})
	if s := p.choose(Trial, 0, false, stripeRandom(5)); s.Plain <= 130 {
		t.Errorf("a plain %d is shown, which may look black", s.Plain)
	}
}

func BenchmarkStripeStep(b *testing.B) {
	r := stripeRandom(6)
	p := newChannels(0)
	for i := 0; b.Loop(); i++ {
		if i%24 == 0 {
			p = newChannels(0)
		}
		s := p.choose(Trial, i, false, r)
		if err := p.record(Judgement{Kind: Trial, Stimulus: s, Response: r.IntN(2)}); err != nil {
			b.Fatal(err)
		}
	}
}
