package check

import (
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/colour/display"
	"example.org/plumb/patterns"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// whiteRandom is a generator for tests of white.
func whiteRandom(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0x7768697465)) }

func TestWhiteBeforeAnyJudgement(t *testing.T) {
	v := newWhite("").result(whiteRandom(1))
	if p := v.Offset.Within(0, WhiteTolerance); p < 0.4 || p > 0.85 {
		t.Errorf("a white within tolerance is believed beforehand with %.2f", p)
	}
	if len(v.Draws) != WhiteDraws || !reflect.DeepEqual(v, newWhite("").result(whiteRandom(1))) {
		t.Error("the same source gives other draws")
	}
}

// The field never goes above 255 nor beyond what its squares can be painted in, one channel of it is always 255, and its tint is the one asked for within
// the rounding of codes; so is the tint that the frame has on an sRGB screen of gamma 2.2, by the definition of u'v'.
func TestWhiteField(t *testing.T) {
	p := newWhite(Paper)
	m := colour.SRGB.Matrix()
	white := colour.SRGB.White()
	tint := func(c colour.XYZ) [2]float64 {
		return [2]float64{observer.Tint(c, observer.PinkGreen) - observer.Tint(white, observer.PinkGreen), observer.Tint(c, observer.BlueYellow) - observer.Tint(white, observer.BlueYellow)}
	}
	for pink := -0.05; pink <= 0.0501; pink += 0.01 {
		for yellow := -0.03; yellow <= 0.0301; yellow += 0.01 {
			red, blue := p.codes(pink, yellow)
			r, g, b := whiteCodes(red, blue)
			if max(r, g, b) != 255 || min(r, g, b) < leastWhite || red > 127 || red < -127 || blue > 127 || blue < -127 {
				t.Fatalf("%.2f, %.2f: codes %d, %d, %d", pink, yellow, r, g, b)
			}
			if min(r, g, b) == leastWhite {
				continue // cut
			}
			got := p.moved(red, blue)
			if math.Abs(got[0]-pink) > 0.0012 || math.Abs(got[1]-yellow) > 0.0012 {
				t.Errorf("%.3f, %.3f asked for, %.4f, %.4f shown", pink, yellow, got[0], got[1])
			}
			dst := patterns.Render(p.pattern(Stimulus{Ground: whiteGround, Red: red, Blue: blue}, smallFrame, 0), smallFrame.Dx(), smallFrame.Dy())
			c := dst.RGBAAt(smallFrame.Dx()/2, smallFrame.Dy()/2)
			if c.R != uint8(r) || c.G != uint8(g) || c.B != uint8(b) {
				t.Fatalf("%v is painted, want %d, %d, %d", c, r, g, b)
			}
			light := func(code uint8) float64 { return math.Pow(float64(code)/255, 2.2) }
			seen := tint(m.Apply(colour.XYZ{X: light(c.R), Y: light(c.G), Z: light(c.B)}))
			if off := math.Hypot(seen[0]-got[0], seen[1]-got[1]); off > 1e-6 {
				t.Errorf("%v has a tint of %.5f, taken for %.5f", c, seen, got)
			}
		}
	}
	if got := p.moved(0, 0); math.Abs(got[0])+math.Abs(got[1]) > 1e-12 {
		t.Errorf("white has a tint of %v", got)
	}
}

// answerWhite lets a viewer who answers by the law that the estimator takes for true make n comparisons.
func answerWhite(t *testing.T, p *white, theta []float64, noise float64, n int, r *rand.Rand) {
	t.Helper()
	grad := make([]float64, len(theta))
	for i := range n {
		s := p.choose(Trial, i, false, r)
		axis := whiteAxis(s.Hue)
		d := whiteDifference(theta, whiteMatch{axis, p.moved(s.Red, s.Blue)[axis]}, grad)
		j := Judgement{Kind: Trial, Stimulus: s, Response: 1}
		if r.Float64() < psychophysics.Signed(d, noise, lapse) {
			j.Response = 0
		}
		if err := p.record(j); err != nil {
			t.Fatal(err)
		}
	}
}

// whiteTrials are the judgements of a sitting with a reference at hand.
const whiteTrials = 16

// After 16 judgements a typical viewer's white, errors above 0.02 counting as that, is within 0.007 u'v' along either axis, near the bound; what is called within tolerance is, with doubled
// noise too.
func TestWhiteRecovers(t *testing.T) {
	sessions := 100
	if testing.Short() {
		sessions = 40
	}
	for _, noise := range []float64{0.006, 0.012} {
		r := whiteRandom(2)
		const far = 0.02 // a white out in the tails of what is believed needs more judgements, and one of these would decide a sample
		square, held, untrue := 0.0, 0, 0
		for range sessions {
			p := newWhite(OtherScreen)
			theta := make([]float64, len(whitePriors))
			for i, prior := range whitePriors {
				theta[i] = drawFrom(prior, r)
			}
			answerWhite(t, p, theta, noise, whiteTrials, r)
			v := p.result(r)
			for i, e := range []psychophysics.Estimate{v.Pink, v.Yellow} {
				d := e.Mean() - theta[i]
				square += min(d*d, far*far) / float64(2*sessions)
				if lo, hi := e.Interval(0.9); lo <= theta[i] && theta[i] <= hi {
					held++
				}
			}
			if v.Offset.Within(0, WhiteTolerance) > 0.9 && screen.Length(theta[0], theta[1]) > WhiteTolerance {
				untrue++
			}
		}
		rms, bound := math.Sqrt(square), WhiteBound(noise, whiteTrials)
		cover, wrong := float64(held)/float64(2*sessions), float64(untrue)/float64(sessions)
		t.Logf("noise %g: rms error along an axis %.4f, bound %.4f, ratio %.2f; 90 %% intervals hold %.1f %%; called right and are not %.1f %%", noise, rms, bound, rms/bound, 100*cover, 100*wrong)
		if testing.Short() {
			continue
		}
		if rms > 1.25*bound || noise == 0.006 && rms > 0.007 {
			t.Errorf("noise %g: %.4f, bound %.4f", noise, rms, bound)
		}
		if noise == 0.006 && math.Abs(cover-0.9) > 0.04+0.02 || cover < 0.8 { // SD 1.7 %
			t.Errorf("noise %g: intervals hold %.3f", noise, cover)
		}
		if wrong > 0.04+0.02 { // SD 1.6 %
			t.Errorf("noise %g: called right and are not %.3f", noise, wrong)
		}
	}
}

// see lets a virtual viewer hold the field against a reference light.
func (p *white) see(s Stimulus, v *observer.Viewer, target colour.XYZ) int {
	_, _, choices := p.ask(s, Trial, smallFrame, 0)
	axis := observer.PinkGreen
	if s.Hue == screen.BlueYellow {
		axis = observer.BlueYellow
	}
	return v.Reference(patterns.Render(p.pattern(s, smallFrame, 0), smallFrame.Dx(), smallFrame.Dy()), choices[0].Rect.Union(choices[1].Rect), target, axis)
}

// Virtual viewers find how far the white of a screen of 7500 K lies from D65: it is bluer, by 0.0103 in u'v', and hardly pinker.
func TestWhiteByVirtualViewers(t *testing.T) {
	d := display.Default()
	d.White.XY = [2]float64{0.2991, 0.3149} // D75, CIE 15:2018 table 11.1 has 0.29902, 0.31485
	m := d.Model()
	target := colour.D65.XYZ(100)
	shift := func(axis int) float64 {
		return observer.Tint(colour.XY{X: d.White.XY[0], Y: d.White.XY[1]}.XYZ(1), axis) - observer.Tint(target, axis)
	}
	want := [2]float64{shift(observer.PinkGreen), shift(observer.BlueYellow)}
	kind, _ := observer.KindByName("typical")
	const sessions = 12
	var mean [2]float64
	for i := range sessions {
		r := whiteRandom(10 + uint64(i))
		v := observer.New(kind, &m, r)
		p := newWhite(Paper)
		for n := range 24 {
			s := p.choose(Trial, n, false, r)
			if err := p.record(Judgement{Kind: Trial, Stimulus: s, Response: p.see(s, v, target)}); err != nil {
				t.Fatal(err)
			}
		}
		got := p.result(r)
		mean[0] += got.Pink.Mean() / sessions
		mean[1] += got.Yellow.Mean() / sessions
	}
	t.Logf("%.4f, is %.4f", mean, want)
	for i := range mean {
		if math.Abs(mean[i]-want[i]) > 0.0045 { // 0.006 for one, and drawn towards none by what is believed beforehand
			t.Errorf("axis %d: %.4f, is %.4f", i, mean[i], want[i])
		}
	}
	kind.Lapse = 0
	r := whiteRandom(30)
	v := observer.New(kind, &m, r)
	p := newWhite(Paper)
	seen := map[Task]int{}
	for i := range 40 {
		k := []Kind{Practice, Catch}[i/2%2]
		s := p.choose(k, i, false, r)
		if got := p.see(s, v, target); !p.right(s, got) || p.right(s, 1-got) || p.right(s, CantTell) {
			t.Errorf("%+v answered with %d", s, got)
		}
		task, question, choices := p.ask(s, k, smallFrame, 0)
		seen[task]++
		if !strings.Contains(question, "than the paper?") || len(choices) != 2 {
			t.Errorf("%q, %v", question, choices)
		}
	}
	if seen[RefPinker] < 10 || seen[RefYellower] < 10 {
		t.Errorf("asked about %v", seen)
	}
}

func TestWhiteBound(t *testing.T) {
	last := math.Inf(1)
	for n := range 17 {
		b := WhiteBound(0.006, n)
		if !(b < last) || b < whiteBias.Scale*0.9 {
			t.Errorf("after %d judgements %.5f, before it %.5f", n, b, last)
		}
		last = b
	}
	// After any number of judgements what is not known of reference and viewer stays: of prior informations 1/a², that of Student's t with 4 degrees of freedom,
	// and 1/b², a²b²/(a² + b²).
	a2, b2 := 7.0/5*whitePrior.Scale*whitePrior.Scale, whiteBias.Scale*whiteBias.Scale
	if got, want := WhiteBound(0.006, 4000), math.Sqrt(a2*b2/(a2+b2)); math.Abs(got/want-1) > 0.01 {
		t.Errorf("%.5f in the end, want %.5f", got, want)
	}
}

// A field that is called pinker and bluer again and again becomes greener and yellower.
func TestWhiteMoves(t *testing.T) {
	p, r := newWhite(Paper), whiteRandom(5)
	for n := range 10 {
		s := p.choose(Trial, n, false, r)
		j := Judgement{Kind: Trial, Stimulus: s}
		if s.Hue == screen.BlueYellow {
			j.Response = 1
		}
		if err := p.record(j); err != nil {
			t.Fatal(err)
		}
	}
	s := p.choose(Trial, 0, false, r)
	if got := p.moved(s.Red, s.Blue); got[0] > -0.005 || got[1] < 0.005 {
		t.Errorf("the field is moved by %.4f", got)
	}
}

func TestWhiteRefuses(t *testing.T) {
	p := newWhite(Paper)
	good := Judgement{Kind: Trial, Stimulus: Stimulus{Ground: whiteGround, Hue: screen.PinkGreen, Red: 3, Blue: -2}}
	if err := p.record(good); err != nil {
		t.Fatal(err)
	}
	for name, spoil := range map[string]func(*Judgement){
		"ground": func(j *Judgement) { j.Stimulus.Ground++ }, "hue": func(j *Judgement) { j.Stimulus.Hue = "" }, "red": func(j *Judgement) { j.Stimulus.Red = 126 },
		"red below": func(j *Judgement) { j.Stimulus.Red = -126 }, "blue": func(j *Judgement) { j.Stimulus.Blue = 126 }, "blue below": func(j *Judgement) { j.Stimulus.Blue = -126 },
		"apart": func(j *Judgement) { j.Stimulus.Red, j.Stimulus.Blue = 100, -100 }, "response": func(j *Judgement) { j.Response = 2 },
		"response below": func(j *Judgement) { j.Response = -2 }, "kind": func(j *Judgement) { j.Kind = Setting },
	} {
		j := good
		spoil(&j)
		if p.record(j) == nil {
			t.Errorf("%s: taken", name)
		}
	}
	if n := p.fit.Count(); n != 1 {
		t.Errorf("%d judgements have taught something, want 1", n)
	}
}

func FuzzWhite(f *testing.F) {
	f.Add(string(screen.PinkGreen), 3, -2, 0, uint8(whiteGround))
	f.Add(string(screen.BlueYellow), -100, 0, -1, uint8(whiteGround))
	f.Fuzz(func(t *testing.T, hue string, red, blue, response int, ground uint8) {
		p := newWhite(Paper)
		s := Stimulus{Ground: ground, Hue: screen.Hue(hue), Red: red, Blue: blue}
		if p.record(Judgement{Kind: Trial, Stimulus: s, Response: response}) == nil {
			if m := p.result(whiteRandom(3)).Offset.Mean(); !(m >= 0) {
				t.Fatalf("%+v: an offset of %g", s, m)
			}
			p.pattern(s, smallFrame, 0).Paint(patterns.Render(patterns.Grey(0), 40, 40), smallFrame)
		}
	})
}

func BenchmarkWhiteStep(b *testing.B) {
	r := whiteRandom(4)
	p := newWhite(Paper)
	for i := 0; b.Loop(); i++ {
		if i%24 == 0 {
			p = newWhite(Paper)
		}
		s := p.choose(Trial, i, false, r)
		if err := p.record(Judgement{Kind: Trial, Stimulus: s, Response: r.IntN(2)}); err != nil {
			b.Fatal(err)
		}
	}
}
