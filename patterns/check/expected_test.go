package check_test

import (
	"encoding/json"
	"image"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/observer"
)

// expected is a profile of a screen with powers for red, green and blue, with its correction and without.
func expected(loaded, bare [3]float64) *check.Expected {
	e := &check.Expected{Profile: "studio left", Digest: strings.Repeat("0a", 32)}
	for i := range 3 {
		for k := range check.Knots {
			v := float64(k) / (check.Knots - 1)
			e.Loaded[i][k], e.Bare[i][k] = math.Pow(v, loaded[i]), math.Pow(v, bare[i])
		}
	}
	return e
}

// held is a plan that is held against a profile of a native gamma of 1.8 and a corrected one of 2.2.
func held(seed uint64) check.Plan {
	p := plan(check.Short, seed)
	p.Expect = expected([3]float64{2.2, 2.2, 2.2}, [3]float64{1.82, 1.8, 1.78})
	return p
}

func TestExpectedIsRefusedByName(t *testing.T) {
	for name, c := range map[string]struct {
		change func(p *check.Plan)
		says   string
	}{
		"no name":      {func(p *check.Plan) { p.Expect.Profile = "" }, "name"},
		"a long name":  {func(p *check.Plan) { p.Expect.Profile = strings.Repeat("n", check.MostProfileName+1) }, "name"},
		"no text":      {func(p *check.Plan) { p.Expect.Profile = "\xff" }, "name"},
		"no digest":    {func(p *check.Plan) { p.Expect.Digest = "" }, "digest"},
		"capitals":     {func(p *check.Plan) { p.Expect.Digest = strings.Repeat("A", 64) }, "digest"},
		"no number":    {func(p *check.Plan) { p.Expect.Bare[1][7] = math.NaN() }, "light"},
		"endless":      {func(p *check.Plan) { p.Expect.Loaded[1][7] = math.Inf(1) }, "light"},
		"above 1":      {func(p *check.Plan) { p.Expect.Loaded[2][50] = 1.01 }, "light"},
		"below 0":      {func(p *check.Plan) { p.Expect.Loaded[2][0] = -0.01 }, "light"},
		"falling":      {func(p *check.Plan) { p.Expect.Bare[0][30] = p.Expect.Bare[0][29] - 1e-6 }, "light"},
		"black shines": {func(p *check.Plan) { p.Expect.Bare[0][0] = 1e-6 }, "light"},
		"not full":     {func(p *check.Plan) { p.Expect.Bare[0][check.Knots-1] = 0.99 }, "light"},
		"too long":     {func(p *check.Plan) { p.Length = check.Standard }, "short"},
		"fixed":        {func(p *check.Plan) { p.Fixed = true }, "short"},
	} {
		p := held(1)
		c.change(&p)
		if s, err := check.Begin(p); s != nil || err == nil || !strings.HasPrefix(err.Error(), "check: ") || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
	begin(t, held(1))
}

func TestApart(t *testing.T) {
	a := held(1).Expect.Apart()
	// At half signal L* is 53.8 under a power of 2.2, and 61.6 under 1.8.
	if math.Abs(a.Loaded-2.2) > 1e-6 || math.Abs(a.Bare-1.8) > 0.01 || a.Lightness < 7.7 || a.Lightness > 9 || a.Tint < 0.001 || a.Alike() {
		t.Errorf("%+v", a)
	}
	same := [3]float64{2.2, 2.2, 2.2}
	if a := expected(same, same).Apart(); a.Lightness != 0 || a.Tint != 0 || !a.Alike() {
		t.Errorf("%+v", a)
	}
	// Red weaker than green by 0.2 of gamma: 0.0096 pinker or greener at half signal, and more below.
	if a := expected(same, [3]float64{2.4, 2.2, 2.2}).Apart(); a.Tint < 0.012 || a.Tint > 0.03 || a.Alike() {
		t.Errorf("%+v", a)
	}
}

// before is a screen of powers for red, green and blue.
func before(powers [3]float64) *display.Model {
	d := display.Default()
	d.Tone = nil
	for _, g := range powers {
		d.Tone = append(d.Tone, display.Tone{Curve: display.Gamma, Gamma: g})
	}
	m := d.Model()
	return &m
}

// judged sits a typical viewer before a screen.
func judged(t *testing.T, p check.Plan, m *display.Model) *check.Sitting {
	t.Helper()
	kind, _ := observer.KindByName("typical")
	s := begin(t, p)
	sit(t, s, answer(observer.New(kind, m, rand.New(rand.NewPCG(p.Seed, 3)))), nil)
	return s
}

func TestCorrectionIsTold(t *testing.T) {
	for seed := range uint64(2) {
		for state, powers := range map[string][3]float64{
			"loaded": {2.2, 2.21, 2.19}, "bare": {1.82, 1.8, 1.78}, "neither": {2.72, 2.7, 2.68}, "tinted": {2.6, 2.2, 2.2},
		} {
			s := judged(t, held(seed), before(powers))
			r, ok := s.Correction()
			if !ok || math.Abs(r.Loaded+r.Bare+r.Neither-1) > 1e-9 || r.Alike || r.Tints < 0 || r.Tints > r.Neither+1e-9 {
				t.Fatalf("%s: %v, %+v", state, ok, r)
			}
			p := map[string]float64{"loaded": r.Loaded, "bare": r.Bare, "neither": r.Neither, "tinted": r.Tints}[state]
			if p < 0.7 || r.Neither < 0.9 && (state == "neither" || state == "tinted") || p < 0.9 && state != "tinted" {
				t.Errorf("%s, seed %d: %+v", state, seed, r)
			}
			found := s.Results()
			if found.Shadows != nil || found.Highlights != nil || found.Reach != nil || found.Tone == nil || found.Neutrals == nil || found.Smoothness == nil || found.Evenness == nil {
				t.Errorf("%s: asks about other things: %+v", state, found.Profile())
			}
		}
	}
}

// Where the correction changes nothing that can be seen, nothing is claimed of it, whatever the answers.
func TestAlikeCurvesAreNotTold(t *testing.T) {
	p := plan(check.Short, 4)
	p.Expect = expected([3]float64{2.2, 2.2, 2.2}, [3]float64{2.18, 2.19, 2.18})
	r, _ := judged(t, p, before([3]float64{2.2, 2.2, 2.2})).Correction()
	if !r.Alike || r.Loaded > 0.8 || r.Bare > 0.8 || r.Loaded+r.Bare < 0.9 {
		t.Errorf("%+v", r)
	}
	r, _ = judged(t, p, before([3]float64{1.7, 1.7, 1.7})).Correction()
	if !r.Alike || r.Neither < 0.9 {
		t.Errorf("a gamma of 1.7: %+v", r)
	}
}

func TestCorrectionIsNotAskedAbout(t *testing.T) {
	if r, ok := begin(t, plan(check.Short, 1)).Correction(); ok || r != (check.CorrectionResult{}) {
		t.Errorf("%+v", r)
	}
	r, ok := begin(t, held(1)).Correction()
	if !ok || math.Abs(r.Loaded+r.Bare+r.Neither-1) > 1e-9 || r.Loaded > 0.6 || r.Bare > 0.6 || r.Neither > 0.2 {
		t.Errorf("before any answer: %v, %+v", ok, r)
	}
	p := held(1)
	p.Skip = map[check.Aspect]string{check.Tone: "stripes", check.Neutrals: "stripes"}
	r, ok = judged(t, p, before([3]float64{1.8, 1.8, 1.8})).Correction()
	if !ok || r.Loaded > 0.6 || r.Bare > 0.6 || r.Neither > 0.2 {
		t.Errorf("without lines: %v, %+v", ok, r)
	}
}

// A sitting that is held against a profile takes about four minutes, asks nothing in codes that may be lost, and is taken up from any place of its log.
func TestHeldSittingIsTakenUp(t *testing.T) {
	p := held(7)
	if n, d := p.About(); n < 50 || n > 80 || d.Minutes() < 3.5 || d.Minutes() > 5 {
		t.Errorf("%d judgements in %v", n, d)
	}
	s := begin(t, p)
	var looks []shownAfter
	whole := sit(t, s, newRule(7).key, func(q check.Presentation, dst *image.RGBA) {
		if len(looks) == 0 || len(s.Log()) > len(looks[len(looks)-1].log) {
			looks = append(looks, shownAfter{stored(t, s.Log()), shape(q), string(dst.Pix)})
		}
	})
	if takes, _ := check.Reckoned(s); takes.Seconds() > 300 {
		t.Errorf("takes %v", takes)
	}
	for _, j := range s.Log() {
		if st := j.Stimulus; j.Check == check.Tone && j.Kind == check.Trial && (st.Plain < 40 || st.Plain > 235) {
			t.Errorf("code %d is asked about", st.Plain)
		}
	}
	for n, want := range looks {
		if n%9 == 0 || n > len(looks)-3 {
			same(t, p, want)
		}
	}
	r, err := check.Resume(p, stored(t, s.Log()))
	if err != nil || !r.Over() {
		t.Fatal(err)
	}
	a, _ := s.Correction()
	b, _ := r.Correction()
	if !reflect.DeepEqual(a, b) || len(whole.presses) == 0 {
		t.Errorf("%+v, taken up %+v", a, b)
	}
	if !s.Further() || s.Over() {
		t.Error("cannot be taken further")
	}
}

// The slopes by which curves between both are learned are right.
func TestForetoldSlopes(t *testing.T) {
	e := held(1).Expect
	r := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		theta, v := make([]float64, 13), r.Float64()
		for i := range theta {
			theta[i] = 0.01 * r.NormFloat64()
		}
		theta[1] = r.Float64()
		grad := make([]float64, 13)
		at := check.ForetoldLight(e, theta, v, grad)
		for i := range 10 {
			const h = 1e-6
			more := append([]float64(nil), theta...)
			more[i] += h
			if d := (check.ForetoldLight(e, more, v, nil) - at) / h; math.Abs(d-grad[i]) > 1e-4+1e-3*math.Abs(d) && v > 0.03 {
				t.Errorf("at %.3f, parameter %d: %g, should be %g", v, i, grad[i], d)
			}
		}
	}
	theta := make([]float64, 13)
	for k := 15; k < 256; k++ { // below, knots at every fifth code say too little of a curve
		v := float64(k) / 255
		if got, want := check.ForetoldLight(e, theta, v, nil), 0.2126*math.Pow(v, 1.82)+0.7152*math.Pow(v, 1.8)+0.0722*math.Pow(v, 1.78); math.Abs(got-want) > 0.002*want+1e-5 {
			t.Errorf("at code %d: %g, should be %g", k, got, want)
		}
	}
}

// pressed presses keys at random through a sitting that is held against a profile, and looks at what follows.
func pressed(t *testing.T, s *check.Sitting, dst *image.RGBA, presses int, r *rand.Rand) {
	t.Helper()
	for range presses {
		v, ok := s.Present(dst.Rect)
		if !ok {
			break
		}
		s.Frame(dst)
		at := r.IntN(len(v.Choices))
		if v.Kind == check.Setting && r.IntN(3) > 0 {
			at = 2
		}
		s.Press(v.Choices[at].Key, clock, time.Second)
	}
	c, ok := s.Correction()
	if !ok || !(c.Loaded >= 0 && c.Bare >= 0 && c.Neither >= 0 && math.Abs(c.Loaded+c.Bare+c.Neither-1) < 1e-9) {
		t.Fatalf("%v, %+v", ok, c)
	}
}

// Curves that no screen has, but that are allowed, are sat through.
func TestStrangeCurvesAreSatThrough(t *testing.T) {
	dst := image.NewRGBA(image.Rect(0, 0, 60, 60))
	for seed := range uint64(8) {
		r := rand.New(rand.NewPCG(seed, 1))
		p := held(seed)
		for _, channels := range []*[3][check.Knots]float64{&p.Expect.Loaded, &p.Expect.Bare} {
			for i := range channels {
				light := 0.0
				for k := range check.Knots {
					if r.IntN(6) == 0 { // steps and plateaus
						light = min(light+r.Float64()*r.Float64(), 1)
					}
					channels[i][k] = light
				}
				channels[i][0], channels[i][check.Knots-1] = 0, 1
			}
		}
		p.Skip = map[check.Aspect]string{check.Smoothness: "not now", check.Evenness: "not now"}
		pressed(t, begin(t, p), dst, 200, r)
	}
}

// FuzzExpected hands plans from outside to Begin: refused by name or taken, and then they can be sat through.
func FuzzExpected(f *testing.F) {
	for _, e := range []*check.Expected{held(1).Expect, expected([3]float64{0.1, 9, 1}, [3]float64{90, 0.01, 1}), expected([3]float64{1, 1, 1}, [3]float64{1, 1, 1}), {}} {
		b, err := json.Marshal(e)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	dst := image.NewRGBA(image.Rect(0, 0, 60, 60))
	f.Fuzz(func(t *testing.T, b []byte) {
		p := plan(check.Short, 3)
		if json.Unmarshal(b, &p.Expect) != nil {
			return
		}
		if s := resume(t, p, nil); s != nil && p.Expect != nil {
			pressed(t, s, dst, 8, rand.New(rand.NewPCG(3, uint64(len(b)))))
		}
	})
}

// BenchmarkHeld is a whole sitting that is held against a profile, frames left out.
func BenchmarkHeld(b *testing.B) {
	dst := image.NewRGBA(bounds)
	judgements := 0
	for b.Loop() {
		s, v := begin(b, held(5)), newRule(5)
		for {
			p, ok := s.Present(bounds)
			if !ok {
				break
			}
			b.StopTimer()
			s.Frame(dst)
			key := v.key(p, dst)
			b.StartTimer()
			s.Press(key, clock, time.Second)
		}
		judgements += len(s.Log())
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/1000/float64(judgements), "ms/judgement")
}
