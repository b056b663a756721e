package check

import (
	"errors"
	"fmt"
	"image"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

func tintRandom(seed, stream uint64) *rand.Rand {
	return rand.New(rand.NewPCG(seed, 0x74696e74<<32|stream))
}

// A tinter is a viewer in front of a screen of a tint, who answers by the law that the estimator takes for true.
type tinter struct {
	tint        screen.Tint
	noise, bias [2]float64 // u'v'
	side        [2]float64 // u'v'
	chance      [2]bool    // an axis is not seen
}

// newTinter draws a viewer whose noise is so many times that of a typical one.
func newTinter(tint screen.Tint, noise float64, r *rand.Rand) *tinter {
	v := &tinter{tint: tint}
	for i := range v.noise {
		v.noise[i] = noise * tintNoise[i]
		v.bias[i] = tintBias[i] * r.NormFloat64()
		v.side[i] = 0.4 * tintNoise[i] * r.NormFloat64()
	}
	return v
}

// answer returns 0 for left and 1 for right.
func (v *tinter) answer(p *neutrals, s Stimulus, r *rand.Rand) int {
	axis := hueAxis(s.Hue)
	if v.chance[axis] {
		return r.IntN(2)
	}
	code, side := int(s.Plain), -1.0 // of what is tinted
	if s.Of == 0 {
		code = int(s.Left)
	}
	if s.PlainLeft == (s.Of != 0) {
		side = 1
	}
	signal, fade := p.shade(code)
	d := p.tint(code, s.Red, s.Blue)[axis]
	if s.Of != 0 {
		d += screen.TintAt(v.tint[axis][:], signal, nil) + v.bias[axis]
	}
	more := r.Float64() < psychophysics.Signed(fade*d+side*v.side[axis], v.noise[axis], lapse)
	if more == (side > 0) {
		return 0
	}
	return 1
}

// show asks one question and hands the answer on.
func (v *tinter) show(t testing.TB, p *neutrals, k Kind, n int, left bool, r *rand.Rand) Judgement {
	t.Helper()
	s := p.choose(k, n, left, r)
	j := Judgement{Check: Neutrals, Kind: k, Stimulus: s, Response: v.answer(p, s, r)}
	if k == Trial {
		if err := p.record(j); err != nil {
			t.Fatalf("%+v: %v", s, err)
		}
		return j
	}
	j.Right = p.right(s, j.Response)
	p.watch(j)
	return j
}

// sit answers two practice trials, n trials, and a catch trial after every ninth.
func (v *tinter) sit(t testing.TB, p *neutrals, n int, r *rand.Rand) (asked []Judgement) {
	t.Helper()
	flip, catches := false, 0
	for i := range 2 {
		v.show(t, p, Practice, i, i == 0, r)
	}
	for i := range n {
		if i%2 == 0 {
			flip = r.IntN(2) == 0
		}
		asked = append(asked, v.show(t, p, Trial, i, flip != (i%2 == 0), r))
		if i%9 == 8 {
			v.show(t, p, Catch, catches, r.IntN(2) == 0, r)
			catches++
		}
	}
	return asked
}

// usualTint draws a screen of the rehearsal's mixture: the gammas of red and blue differ from green's by SD 0.012, on three in ten by 0.07.
func usualTint(r *rand.Rand) (t screen.Tint) {
	spread := 0.012
	if r.Float64() < 0.3 {
		spread = 0.07
	}
	t[0][0], t[1][0] = screen.HueOf(spread*r.NormFloat64(), spread*r.NormFloat64())
	return t
}

// believedTint draws a screen of the prior, of trims that u in 0 to 1 picks: those with strong tints, which decide the error, oftener than they are believed,
// and weight, 1 on average, is how much each counts.
func believedTint(u float64, r *rand.Rand) (t screen.Tint, weight float64) {
	oftener := func(i, j int) float64 { return math.Hypot(float64(int(1)<<i), float64(int(1)<<j)) }
	all, drawn := 0.0, 0.0
	for i := range trims {
		for j := range trims {
			all += trimPrior(i, j)
			drawn += trimPrior(i, j) * oftener(i, j)
		}
	}
	var of [2]int
	for n := range len(trims) * len(trims) {
		of = [2]int{n / len(trims), n % len(trims)}
		if u -= trimPrior(of[0], of[1]) * oftener(of[0], of[1]) / drawn; u < 0 {
			break
		}
	}
	for axis, k := range of {
		for i := range t[axis] {
			t[axis][i] = trims[k].scale(i) * r.NormFloat64()
		}
	}
	return t, drawn / all / oftener(of[0], of[1])
}

// A gauge is how well results do over many sittings, each of which counts by a weight.
type gauge struct {
	square, levels, inside, greatest, sittings float64
	untrue, held, offs                         float64 // "holds" that are not, all of them, and "off" that are not
}

func (g *gauge) add(v *NeutralsResult, truth screen.Tint, weight float64) {
	for _, l := range v.Levels {
		for axis, e := range l.Tint {
			want := screen.TintAt(truth[axis][:], l.Signal, nil)
			d := e.Mean() - want
			g.square += weight * d * d
			g.levels += weight
			if lo, hi := e.Interval(0.9); lo <= want && want <= hi {
				g.inside += weight
			}
		}
	}
	want := truth.Greatest()
	if lo, hi := v.Tint.Interval(0.9); lo <= want && want <= hi {
		g.greatest += weight
	}
	g.sittings += weight
	need, _ := Strictest(Neutrals, screen.Aim{})
	p := v.Tint.Within(need.Lo, need.Hi)
	if p > 0.9 {
		g.held += weight
		if want > need.Hi {
			g.untrue += weight
		}
	} else if p < 0.1 && want <= need.Hi {
		g.offs += weight
	}
}

func (g *gauge) rms() float64 { return math.Sqrt(g.square / g.levels) }

func (g *gauge) String() string {
	return fmt.Sprintf("rms error %.5f, intervals hold %.3f, that of the greatest %.3f; %.1f hold, %.1f of them falsely, %.1f falsely off, of %.0f", g.rms(), g.inside/g.levels, g.greatest/g.sittings, g.held, g.untrue, g.offs, g.sittings)
}

// Before any answer a tint is within tolerance with less than what "holds" takes, so that a viewer who cannot judge never ends with it.
func TestUnseenNeutrals(t *testing.T) {
	v := UnseenNeutrals(tintRandom(1, 1))
	p := v.Tint.Within(0, 0.010)
	t.Logf("within 0.010 with a probability of %.3f, Blind %.3f", p, v.Blind)
	if p < 0.4 || p > 0.88 {
		t.Errorf("within 0.010 with a probability of %.3f", p)
	}
	if len(v.Draws) != tintDraws || len(v.Weights) != tintDraws || len(v.Levels) != len(tintLevels) {
		t.Fatalf("%d draws, %d weights, %d levels", len(v.Draws), len(v.Weights), len(v.Levels))
	}
	sum := 0.0
	for _, w := range v.Weights {
		sum += w
	}
	if math.Abs(sum-1) > 1e-9 {
		t.Errorf("weights sum to %g", sum)
	}
	for axis := range screen.Hues {
		if math.Abs(v.Blind[axis]-blind[axis]) > 1e-9 {
			t.Errorf("axis %d: answered by chance with %.3f before any answer, want %.3f", axis, v.Blind[axis], blind[axis])
		}
		if n := v.Noise[axis].Within(unseenNoise, unseenNoise); math.Abs(n-blind[axis]) > 1e-9 {
			t.Errorf("axis %d: not seen with %.3f, want %.3f", axis, n, blind[axis])
		}
	}
	before := 0.0
	for i, l := range v.Levels {
		if l.Signal <= before || i == 0 && l.Signal < screen.TintFrom || l.Signal >= 1 {
			t.Errorf("level %d at %g", i, l.Signal)
		}
		before = l.Signal
		// A mixture is even about 0. Its SD by the trims alone, 3 times the SD of a sample to either side.
		grad := make([]float64, screen.TintParams)
		screen.TintAt(grad, l.Signal, grad)
		seen, shares := 0.0, 0.0
		for i := range trims {
			for j := range trims {
				shares += trimPrior(i, j)
				for k, g := range grad {
					seen += trimPrior(i, j) * g * g * trims[i].scale(k) * trims[i].scale(k)
				}
			}
		}
		for axis, e := range l.Tint {
			want := (1 - blind[axis]) * seen / shares
			for k, g := range grad { // an axis that is not seen may be anything
				want += blind[axis] * g * g * trims[len(trims)-1].scale(k) * trims[len(trims)-1].scale(k)
			}
			want = math.Sqrt(want)
			if math.Abs(e.Mean()) > 0.15*want || e.SD() < 0.75*want || e.SD() > 1.25*want {
				t.Errorf("signal %.2f, axis %d: %.5f ± %.5f, want 0 ± %.5f", l.Signal, axis, e.Mean(), e.SD(), want)
			}
		}
	}
}

// The same plan and answers give the same questions and results.
func TestNeutralsAgain(t *testing.T) {
	var asked [2][]Judgement
	var found [2]NeutralsResult
	for i := range asked {
		r := tintRandom(2, 1)
		p := newNeutrals(0)
		asked[i] = newTinter(usualTint(r), 1, r).sit(t, p, 12, r)
		before := p.result(tintRandom(2, 2))
		found[i] = p.result(tintRandom(2, 2))
		if !reflect.DeepEqual(before, found[i]) {
			t.Error("asking for the result changes it")
		}
		run, last := p.run, p.last
		s, again := p.choose(Trial, 12, true, tintRandom(2, 3)), p.choose(Trial, 12, true, tintRandom(2, 3))
		if p.run != run || p.last != last {
			t.Errorf("choosing moves the run to %d of axis %d, from %d of %d", p.run, p.last, run, last)
		}
		if s != again {
			t.Errorf("%+v, then %+v", s, again)
		}
	}
	if !reflect.DeepEqual(asked[0], asked[1]) || !reflect.DeepEqual(found[0], found[1]) {
		t.Error("not the same twice")
	}
	// Once more from the answers alone.
	p := newNeutrals(0)
	for _, j := range asked[0] {
		if err := p.record(j); err != nil {
			t.Fatal(err)
		}
	}
	q := newNeutrals(0)
	r := tintRandom(2, 1)
	newTinter(usualTint(r), 1, r).sit(t, q, 12, r)
	for _, a := range q.axes {
		a.watched, a.saw = 0, 0
	}
	if !reflect.DeepEqual(p.result(tintRandom(2, 4)), q.result(tintRandom(2, 4))) {
		t.Error("choosing leaves a trace")
	}
}

// The derivatives that the estimator goes by are those of what it predicts.
func TestTingeGradient(t *testing.T) {
	r := tintRandom(3, 1)
	for range 40 {
		theta, grad, none := make([]float64, tingeParams), make([]float64, tingeParams), make([]float64, tingeParams)
		for i := range theta {
			theta[i] = r.NormFloat64()
		}
		s := tinge{r.Float64(), r.NormFloat64(), r.Float64(), float64(1 - 2*r.IntN(2))}
		at := tingeDifference(theta, s, grad)
		for i := range theta {
			theta[i] += 1e-4
			if d := (tingeDifference(theta, s, none) - at) / 1e-4; math.Abs(d-grad[i]) > 1e-6 {
				t.Errorf("%+v: derivative %d is %g, given as %g", s, i, d, grad[i])
			}
			theta[i] -= 1e-4
		}
	}
}

// In the light a tint is seen whole, in the dark less by the rule of thumb, and nowhere between does what is seen of it jump.
func TestNeutralsShade(t *testing.T) {
	p := newNeutrals(0)
	for c := 0; c < 256; c++ {
		v, fade := p.shade(c)
		l := 160 * math.Pow(float64(c)/255, 2.2)
		if v != float64(c)/255 || l > 60 && fade != 1 || l > 0.1 && l < 20 && math.Abs(fade-1/(1+math.Sqrt(5/l))) > 1e-9 {
			t.Errorf("code %d, %.2f cd/m²: signal %.3f, %.3f is seen", c, l, v, fade)
		}
		if _, before := p.shade(max(c-1, 0)); fade < before || fade > before+0.02 {
			t.Errorf("code %d: %.3f is seen, of one less %.3f", c, fade, before)
		}
	}
}

// looks is the tint of a side of a painted frame along both axes, u'v', by the definitions of the viewer that looks at frames, on a screen of gamma 2.2.
func looks(dst *image.RGBA, r image.Rectangle) [2]float64 {
	var light [3]float64
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			c := dst.RGBAAt(x, y)
			for i, v := range [3]uint8{c.R, c.G, c.B} {
				light[i] += math.Pow(float64(v)/255, 2.2)
			}
		}
	}
	c := colour.SRGB.Matrix().Apply(colour.XYZ{X: light[0], Y: light[1], Z: light[2]})
	w := colour.SRGB.White()
	return [2]float64{observer.Tint(c, observer.PinkGreen) - observer.Tint(w, observer.PinkGreen), observer.Tint(c, observer.BlueYellow) - observer.Tint(w, observer.BlueYellow)}
}

// What is painted is what the estimator takes it for: obvious tints are obvious along their own axis alone, the right answer points at the pinker or the
// yellower side, lines are neutral, and the plain side has the tint that it is recorded with.
func TestNeutralsPainted(t *testing.T) {
	bounds := image.Rect(0, 0, 320, 240)
	dst := image.NewRGBA(bounds)
	p := newNeutrals(0)
	sides, more := map[int]int{}, map[bool]int{}
	for i := range 48 {
		r := tintRandom(4, uint64(i))
		kind := []Kind{Practice, Catch}[i/24]
		s := p.choose(kind, i, i/2%2 == 0, r)
		p.pattern(s, bounds, 0).Paint(dst, bounds)
		task, question, choices := p.ask(s, kind, bounds, 0)
		axis := i % 2
		if s.Hue != screen.Hues[axis] || task != []Task{Pinker, Yellower}[axis] || !strings.Contains(question, []string{"pinker", "yellower"}[axis]) || len(choices) != 2 || choices[0].Key != "ArrowLeft" || choices[1].Key != "ArrowRight" {
			t.Fatalf("%+v asked as %s %q %v", s, task, question, choices)
		}
		a, b := looks(dst, choices[0].Rect), looks(dst, choices[1].Rect)
		want, tinted := 0, a // the greater, and the side with a tint
		if b[axis] > a[axis] {
			want = 1
		}
		if s.PlainLeft {
			tinted = b
		}
		if d := math.Abs(a[axis] - b[axis]); d < 0.018 || d > 0.023 || math.Abs(a[1-axis]-b[1-axis]) > 0.002 || tinted[axis] == 0 {
			t.Errorf("%+v: left %.4f, right %.4f", s, a, b)
		}
		if !p.right(s, want) || p.right(s, 1-want) || p.right(s, CantTell) {
			t.Errorf("%+v: left %.4f, right %.4f, but %v, %v, %v", s, a, b, p.right(s, 0), p.right(s, 1), p.right(s, CantTell))
		}
		sides[want]++
		more[tinted[axis] > 0]++
	}
	if min(sides[0], sides[1]) < 12 || min(more[false], more[true]) < 12 {
		t.Errorf("right answers %v, more of the hue %v", sides, more)
	}
	if p.right(Stimulus{Hue: "sour"}, 0) {
		t.Error("an unknown hue has a right answer")
	}
	p = newNeutrals(0)
	r := tintRandom(4, 100)
	for i, j := range newTinter(usualTint(r), 1, r).sit(t, p, 20, r) {
		s := j.Stimulus
		p.pattern(s, bounds, 0).Paint(dst, bounds)
		_, _, choices := p.ask(s, Trial, bounds, 0)
		lines, plain := looks(dst, choices[1].Rect), looks(dst, choices[0].Rect)
		if !s.PlainLeft {
			lines, plain = plain, lines
		}
		took := p.tint(int(s.Plain), s.Red, s.Blue)
		for axis := range took {
			most := 2e-4 + 0.02*math.Abs(took[axis]) // it is taken to first order
			if axis != hueAxis(s.Hue) {
				most = 1e-3
			}
			if math.Abs(lines[axis]) > 1e-9 || math.Abs(plain[axis]-took[axis]) > most {
				t.Errorf("question %d, %+v: lines %.5f, plain %.5f, taken as %.5f", i, s, lines, plain, took)
			}
		}
		if s.Ground != lineGround {
			t.Errorf("ground %d", s.Ground)
		}
	}
}

// The slow twin tries every offset there is: none is nearer, and the nearest is within what half a code of red and of blue give.
func TestNeutralsOffsets(t *testing.T) {
	p := newNeutrals(0)
	r := tintRandom(5, 1)
	for i := range 60 {
		code := 90 + r.IntN(140)
		want := [2]float64{0.006 * r.NormFloat64(), 0.006 * r.NormFloat64()}
		red, blue := p.offsets(code, want)
		far := func(red, blue int) float64 {
			e := p.tint(code, red, blue)
			return math.Hypot((e[0]-want[0])/tintNoise[0], (e[1]-want[1])/tintNoise[1])
		}
		best := math.Inf(1)
		for x := -60; x <= 60; x++ {
			for y := -60; y <= 60; y++ {
				if min(code+x, code+y) >= 1 && max(code+x, code+y) <= 254 {
					best = min(best, far(x, y))
				}
			}
		}
		got := far(red, blue)
		if got > best+1e-9 {
			t.Errorf("code %d, %.4f: %d, %d is %.3f noises off, another %.3f", code, want, red, blue, got, best)
		}
		// Light rises by 2.2/code for a code.
		half := 0.0
		for _, sign := range []float64{1, -1} {
			x, y := screen.HueOf(1.1/float64(code-30), sign*1.1/float64(code-30))
			half = max(half, math.Hypot(x/tintNoise[0], y/tintNoise[1]))
		}
		if max(code+red, code+blue) < 254 && got > half {
			t.Errorf("case %d, code %d, %.4f: %.3f noises off, half a code is %.3f", i, code, want, got, half)
		}
	}
	p.hear(context{lo: 90, hi: 200})
	for range 40 {
		code := 91 + r.IntN(109)
		red, blue := p.offsets(code, [2]float64{0.1 * r.NormFloat64(), 0.1 * r.NormFloat64()})
		if a, b := code+min(red, blue), code+max(red, blue); a <= 90 || b >= 200 {
			t.Errorf("code %d gets %d, %d, beyond what is seen", code, a, b)
		}
	}
}

// A new curve moves the plain grey that lines look like; codes that do not part from black or white are left out, a level that is being sought too.
func TestNeutralsHear(t *testing.T) {
	var curve [256]float64
	for i := range curve {
		curve[i] = math.Pow(float64(i)/255, 1.8)
	}
	for _, gamma := range []float64{2.2, 1.8} {
		p := newNeutrals(0)
		if gamma != 2.2 {
			p.hear(context{hi: 255, curve: &curve})
		}
		r := tintRandom(6, 1)
		v := newTinter(screen.Tint{}, 1, r)
		for i, j := range v.sit(t, p, 16, r) {
			s := j.Stimulus
			if want := 255 * math.Pow(float64(s.Lit)/float64(s.Of), 1/gamma); math.Abs(float64(s.Plain)-want) > 0.6 {
				t.Errorf("gamma %g, question %d: lines of %d in %d beside %d, want %.1f", gamma, i, s.Lit, s.Of, s.Plain, want)
			}
		}
	}
	const lo, hi = 110, 255 - mostLost // the level that is sought first is lost
	for at := range 8 {                // answers before it is heard
		p := newNeutrals(0)
		r := tintRandom(6, uint64(at)+2)
		v := newTinter(screen.Tint{{0.02}, {-0.02}}, 1, r)
		for i := range at {
			v.show(t, p, Trial, i, i%2 == 0, r)
		}
		p.hear(context{lo: lo, hi: hi})
		before, axes := p.run, [2]int{}
		for i := range 12 {
			last := p.last
			j := v.show(t, p, Trial, at+i, i%2 == 0, r)
			s := j.Stimulus
			if s.Plain <= lo || s.Plain >= hi || math.Abs(float64(s.Plain)-255*math.Pow(float64(s.Lit)/float64(s.Of), 1/2.2)) > 0.6 {
				t.Errorf("after %d answers, then %d: lines of %d in %d beside %d", at, i, s.Lit, s.Of, s.Plain)
			}
			if p.last != last && before == 1 || p.run > 4 {
				t.Errorf("after %d answers, then %d: axis %d comes %d times", at, i, p.last, p.run)
			}
			before = p.run
			axes[p.last]++
		}
		if min(axes[0], axes[1]) < 4 {
			t.Errorf("after %d answers: %d judgements along the axes", at, axes)
		}
	}
	if n := len(newNeutrals(20).levels); n != 1 {
		t.Errorf("%d lines are fine enough where a degree has 20 pixels, want halves alone", n)
	}
}

// The question stays for 2 to 4 judgements, the plain side is where it is told to be, lines run both ways, and every sixth question along an axis is easy.
func TestNeutralsTurns(t *testing.T) {
	columns, easy, of := map[bool]int{}, 0, 0
	for i := range 12 {
		r := tintRandom(7, uint64(i))
		p := newNeutrals(0)
		v := newTinter(usualTint(r), 1, r)
		v.chance[1] = i%4 == 3
		run, last := 0, -1
		var axes [2]int
		for k := range 20 {
			left := r.IntN(2) == 0
			s := p.choose(Trial, k, left, r)
			axis := hueAxis(s.Hue)
			if s.PlainLeft != left {
				t.Fatalf("told %v: %+v", left, s)
			}
			if s.Hue == "" || s.Of == 0 || s.A != 0 || s.B != 255 || s.Channel != 0 || s.At != 0 {
				t.Fatalf("%+v", s)
			}
			columns[s.Columns]++
			if axis != last && last >= 0 && (run < 2 || run > 4) {
				t.Errorf("viewer %d: axis %d came %d times in a row", i, last, run)
			}
			if axis != last {
				run = 0
			}
			run, last = run+1, axis
			axes[axis]++
			if run > 4 {
				t.Errorf("viewer %d: axis %d comes %d times in a row", i, axis, run)
			}
			a := p.axes[axis]
			if a.found && a.asked%easyTintEvery == easyTintEvery-1 {
				of++
				none := p.tint(int(s.Plain), s.Red, s.Blue)[axis]
				_, fade := p.shade(int(s.Plain))
				logs, _ := a.likely()
				best := 0 // of trims
				for c := range logs {
					if logs[c]+math.Log(trims[c].prior) > logs[best]+math.Log(trims[best].prior) {
						best = c
					}
				}
				mode := a.fits[best].Mode()
				d := fade * (none + screen.TintAt(mode, float64(s.Plain)/255, nil) + mode[tingeBiasAt])
				if math.Abs(d) > 1.2*a.fits[designer].Spread() {
					easy++
				}
			}
			answer := v.answer(p, s, r)
			if k%7 == 3 {
				answer = CantTell
			}
			if err := p.record(Judgement{Kind: Trial, Stimulus: s, Response: answer}); err != nil {
				t.Fatal(err)
			}
		}
		if min(axes[0], axes[1]) < 6 {
			t.Errorf("viewer %d: %v judgements along the axes", i, axes)
		}
	}
	t.Logf("columns %v, %d of %d easy", columns, easy, of)
	if min(columns[false], columns[true]) < 80 || of < 12 || float64(easy) < 0.7*float64(of) {
		t.Errorf("columns %v, %d of %d easy", columns, easy, of)
	}
}

// A strong tint is met in few answers: from then on questions lie near where both sides look alike.
func TestNeutralsSeek(t *testing.T) {
	most, sum, met := 0, 0, 0
	var within []float64
	const viewers = 8
	for i := range viewers {
		axis, sign := i%2, float64(1-i/2%2*2)
		r := tintRandom(8, uint64(i))
		var truth screen.Tint
		truth[axis][0] = sign * 0.03 / math.Log(4) // 0.03 where it is the greatest
		v := newTinter(truth, 1, r)
		p := newNeutrals(0)
		first, near, all := 0, 0, 0
		for _, j := range v.sit(t, p, 28, r) {
			if hueAxis(j.Stimulus.Hue) != axis {
				continue
			}
			all++
			code := int(j.Stimulus.Plain)
			off := p.tint(code, j.Stimulus.Red, j.Stimulus.Blue)[axis] + screen.TintAt(truth[axis][:], float64(code)/255, nil)
			if math.Abs(off) < 3.5*tintNoise[axis] {
				near++
				if first == 0 {
					first = all
				}
			}
		}
		if first == 0 {
			t.Errorf("axis %d, %+g: not met in %d answers", axis, truth[axis][0], all)
			continue
		}
		met++
		most = max(most, first)
		sum += first
		res := p.result(r)
		within = append(within, res.Tint.Within(0, 0.010))
	}
	t.Logf("met at answer %.1f on average, %d at most; within 0.010 with %.3f", float64(sum)/float64(met), most, within)
	mean := 0.0
	for _, p := range within {
		mean += p / float64(len(within))
	}
	if most > 5 || mean > 0.08 {
		t.Errorf("met at answer %d, within 0.010 with %.3f on average", most, mean)
	}
}

// Without noise a tint that is sought ends up between the last two offsets, or beyond where it is sought, in few answers.
func TestNeutralsBracket(t *testing.T) {
	const spread = 0.002
	for match := -14.9; match < 15; match += 0.23 { // the offset at which both sides look alike, in noises
		a := &tintAxis{}
		a.sought(0, spread, 0 > match, true)
		a.code = 99
		before, n := 0.0, 1
		for ; !a.found && n < 20; n++ {
			before = a.at
			offset := a.seek(spread)
			a.sought(offset, spread, offset > match*spread, false)
		}
		lo, hi := min(before, a.at), max(before, a.at)
		inside := lo <= match*spread && match*spread <= hi && hi-lo < max(bracket, mostBracket*spread/2)+1e-12
		if math.Abs(match) > mostBracket { // where it is sought no more
			inside = math.Abs(a.at) > 0.9*mostBracket*spread && math.Abs(a.at-match*spread) < math.Abs(before-match*spread)
		}
		if !inside || n > 5 {
			t.Errorf("match at %g noises: between %.4f and %.4f after %d answers", match, lo, hi, n)
		}
	}
}

// A tingeAnswer is what was shown, and 1 for the answer that plain is the more tinted, else 0.
type tingeAnswer struct {
	x     tinge
	share float64
}

// answeredAbout is what was answered along each axis.
func answeredAbout(p *neutrals, asked []Judgement) (seen [2][]tingeAnswer) {
	for _, j := range asked {
		s := j.Stimulus
		axis := hueAxis(s.Hue)
		signal, fade := p.shade(int(s.Plain))
		a := tingeAnswer{tinge{signal, p.tint(int(s.Plain), s.Red, s.Blue)[axis], fade, -1}, 0}
		if s.PlainLeft {
			a.x.side = 1
		}
		if (j.Response == 0) == s.PlainLeft { // plain is the more
			a.share = 1
		}
		seen[axis] = append(seen[axis], a)
	}
	return seen
}

// expectedSquare is the mean square error of the tints at tintLevels along both axes that one who is told that the viewer is typical and sees both axes
// expects of a result, from the same answers. Its mean over screens of the prior is that of the square error, and scatters a fourth as much: which of the
// screens that give such answers it was, a strong tint or none, no longer counts.
func expectedSquare(t *testing.T, p *neutrals, asked []Judgement, v *NeutralsResult, r *rand.Rand) float64 {
	t.Helper()
	var logs, square [2][len(trims)]float64
	for axis, seen := range answeredAbout(p, asked) {
		for k, trim := range trims {
			m := tingeModel(axis, trim)
			m.Noises, m.NoisePrior = []float64{tintNoise[axis]}, []float64{1}
			c := psychophysics.NewComparison(m)
			for _, s := range seen {
				if err := c.Record(s.x, s.share); err != nil {
					t.Fatal(err)
				}
			}
			logs[axis][k] = c.Evidence()
			thetas, _, weights := c.Sample(r, 200)
			for _, l := range v.Levels {
				mean := l.Tint[axis].Mean()
				for i, theta := range thetas {
					d := screen.TintAt(theta, l.Signal, nil) - mean
					square[axis][k] += weights[i] * d * d / float64(2*len(v.Levels))
				}
			}
		}
	}
	sum, all := 0.0, 0.0
	for i := range trims {
		for j := range trims {
			w := trimPrior(i, j) * math.Exp(logs[0][i]-logs[0][0]+logs[1][j]-logs[1][0])
			sum += w * (square[0][i] + square[1][j])
			all += w
		}
	}
	return sum / all
}

// The log of the probability of the answers is what many screens and viewers drawn from the prior give, and from it follow the probability of chance
// and the weights of results.
func TestNeutralsLikely(t *testing.T) {
	p := newNeutrals(0)
	r := tintRandom(9, 1)
	v := newTinter(screen.Tint{{0.006}, {-0.004}}, 1, r)
	var asked []Judgement
	for i := range 10 {
		asked = append(asked, v.show(t, p, Trial, i, i%2 == 0, r))
	}
	seen := answeredAbout(p, asked)
	p.axes[0].watched, p.axes[0].saw = 2, 1
	var logs, chance [2][len(trims)]float64
	for axis, a := range p.axes {
		logs[axis], chance[axis] = a.likely()
		for k, trim := range trims {
			m := tingeModel(axis, trim)
			whole := 0.0
			for _, q := range m.NoisePrior {
				whole += q
			}
			theta, grad := make([]float64, tingeParams), make([]float64, tingeParams)
			const draws = 6000
			mean := 0.0
			for range draws {
				for i, q := range m.Priors {
					theta[i] = q.Scale * r.NormFloat64()
				}
				for n, noise := range m.Noises {
					l := 1.0
					for _, s := range seen[axis] {
						pr := psychophysics.Signed(tingeDifference(theta, s.x, grad), noise, lapse)
						if s.share == 0 {
							pr = 1 - pr
						}
						l *= pr
					}
					mean += l * m.NoisePrior[n] / whole / draws
				}
			}
			seeing, random := (1-blind[axis])*mean, blind[axis]*math.Pow(0.5, float64(len(seen[axis])))
			if axis == 0 {
				seeing *= (1 - lapse/2) * lapse / 2
				random /= 4
			}
			if want := math.Log(seeing + random); math.Abs(logs[axis][k]-want) > 0.2 { // Laplace's approximation
				t.Errorf("axis %d, trim %d: log probability %.3f, drawn %.3f", axis, k, logs[axis][k], want)
			}
			if want := random / (seeing + random); math.Abs(chance[axis][k]-want) > 0.06 {
				t.Errorf("axis %d, trim %d: chance %.3f, drawn %.3f", axis, k, chance[axis][k], want)
			}
		}
	}
	sum := 0.0
	var by [2]float64
	for i := range trims {
		for j := range trims {
			w := trimPrior(i, j) * math.Exp(logs[0][i]+logs[1][j])
			sum += w
			by[0] += w * chance[0][i]
			by[1] += w * chance[1][j]
		}
	}
	res := p.result(tintRandom(9, 2))
	for axis := range by {
		if math.Abs(res.Blind[axis]-by[axis]/sum) > 1e-9 {
			t.Errorf("axis %d: chance %.4f, want %.4f", axis, res.Blind[axis], by[axis]/sum)
		}
		all := 0.0
		for _, m := range res.Noise[axis].Mass {
			all += m
		}
		if math.Abs(all-1) > 1e-9 || math.Abs(res.Noise[axis].Within(unseenNoise, unseenNoise)-res.Blind[axis]) > 1e-9 {
			t.Errorf("axis %d: noise has %.6f of mass, %.4f of it not seen, want %.4f", axis, all, res.Noise[axis].Within(unseenNoise, unseenNoise), res.Blind[axis])
		}
	}
}

// Obvious tints that are seen bear out that the viewer sees, and missed ones that not; what says nothing teaches nothing.
func TestNeutralsWatch(t *testing.T) {
	p := newNeutrals(0)
	before := UnseenNeutrals(tintRandom(10, 1)).Blind
	look := func(axis int, right bool, response int) {
		p.watch(Judgement{Kind: Catch, Stimulus: Stimulus{Hue: screen.Hues[axis]}, Right: right, Response: response})
	}
	look(0, false, CantTell)
	p.watch(Judgement{Kind: Catch, Stimulus: Stimulus{Hue: "sour"}, Right: true})
	if got := p.result(tintRandom(10, 1)).Blind; got != before {
		t.Errorf("%.3f after nothing, before %.3f", got, before)
	}
	for range 3 {
		look(0, true, 0)
	}
	look(1, false, 1)
	got := p.result(tintRandom(10, 1)).Blind
	seen := blind[0] / 8 / (blind[0]/8 + (1-blind[0])*math.Pow(1-lapse/2, 3))
	missed := blind[1] / 2 / (blind[1]/2 + (1-blind[1])*lapse/2)
	if math.Abs(got[0]-seen) > 1e-9 || math.Abs(got[1]-missed) > 1e-9 {
		t.Errorf("%.4f, want %.4f and %.4f", got, seen, missed)
	}
}

// Who answers one axis by chance is found out, and the other axis is not taken for it; hardly ever does such a sitting end with "holds" and no word of that.
// Of 1200 such sittings 11 % held with no word and 0.5 % falsely.
func TestNeutralsChance(t *testing.T) {
	holds, untrue, sure, wrong := 0, 0, 0, 0
	mean := 0.0
	const viewers = 24
	for i := range viewers {
		r := tintRandom(11, uint64(i))
		v := newTinter(usualTint(r), 1, r)
		axis := i % 2
		v.chance[axis] = true
		p := newNeutrals(0)
		v.sit(t, p, 20, r)
		res := p.result(r)
		need, _ := Strictest(Neutrals, screen.Aim{})
		if res.Tint.Within(need.Lo, need.Hi) > 0.9 {
			if res.Blind[axis] < 0.5 {
				holds++
			}
			if v.tint.Greatest() > need.Hi {
				untrue++
			}
		}
		if mean += res.Blind[axis] / viewers; res.Blind[axis] > 0.5 {
			sure++
		}
		if res.Blind[1-axis] > 0.5 {
			wrong++
		}
	}
	t.Logf("%d of %d hold unnoticed, %d falsely, chance taken for likely in %d, %.2f on average, and along the other axis in %d", holds, viewers, untrue, sure, mean, wrong)
	if holds > 6 || untrue > 2 || sure < viewers*6/10 || mean < 0.6 || wrong > 2 {
		t.Errorf("%d of %d hold unnoticed, %d falsely, chance taken for likely in %d, %.2f on average, and along the other axis in %d", holds, viewers, untrue, sure, mean, wrong)
	}
}

// On the screens of the rehearsal a typical viewer's 20 judgements are near enough, and one of twice the noise is not led to a false "holds".
func TestNeutralsRecovery(t *testing.T) {
	if testing.Short() {
		t.Skip("many sittings")
	}
	const sittings = 48
	for _, noise := range []float64{1, 2} {
		var g gauge
		for i := range sittings {
			r := tintRandom(12, uint64(i))
			truth := usualTint(r)
			p := newNeutrals(0)
			newTinter(truth, noise, r).sit(t, p, 20, r)
			res := p.result(r)
			g.add(&res, truth, 1)
		}
		t.Logf("%g times the noise: %s", noise, &g)
		if noise == 1 && g.rms() > 0.0018 || g.rms() > 0.0024 {
			t.Errorf("%g times the noise: rms error %.5f", noise, g.rms())
		}
		if g.untrue > 0.04*sittings+2*math.Sqrt(0.04*sittings) {
			t.Errorf("%g times the noise: %.0f false holds in %d", noise, g.untrue, sittings)
		}
		if g.inside/g.levels < 0.84 {
			t.Errorf("%g times the noise: intervals hold %.3f", noise, g.inside/g.levels)
		}
	}
}

// On screens of the prior intervals hold what they say, and the error is within a factor of the bound. The few strong tints decide a sample, so that the error
// is told by its expectation; see expectedSquare.
func TestNeutralsBound(t *testing.T) {
	last := math.Inf(1)
	for _, n := range []int{0, 1, 4, 12} {
		b := NeutralsBound(tintNoise, tintBias, n)
		if !(b < last) || b <= 0 {
			t.Errorf("after %d judgements %.5f, before %.5f", n, b, last)
		}
		last = b
	}
	scaled := func(v [2]float64, by float64) [2]float64 { return [2]float64{by * v[0], by * v[1]} }
	if b := NeutralsBound(scaled(tintNoise, 2), tintBias, 12); b <= last {
		t.Errorf("%.5f with twice the noise, %.5f with once", b, last)
	}
	if b := NeutralsBound(tintNoise, scaled(tintBias, 2), 12); b <= last {
		t.Errorf("%.5f with twice the bias, %.5f with once", b, last)
	}
	// Both bounds count where they are the greater: one answer leaves open of which trims a screen is.
	if told, untold := neutralsTold(tintNoise, tintBias, 1), neutralsUntold(tintNoise, tintBias, 1, 1); told >= untold || NeutralsBound(tintNoise, tintBias, 1) != untold {
		t.Errorf("after one answer %.5f, told %.5f, not told %.5f", NeutralsBound(tintNoise, tintBias, 1), told, untold)
	}
	less := scaled(tintBias, 0.01)
	if told, untold := neutralsTold(tintNoise, less, 60), neutralsUntold(tintNoise, less, 60, 1); told <= untold || NeutralsBound(tintNoise, less, 60) != told {
		t.Errorf("after many without a bias %.5f, told %.5f, not told %.5f", NeutralsBound(tintNoise, less, 60), told, untold)
	}
	// No other design does better: levels at random, as often on either side.
	r := tintRandom(13, 1000)
	all := tinges()
	shares, untold := 0.0, neutralsUntold(tintNoise, tintBias, 20, 1)
	for i := range trims {
		for j := range trims {
			shares += trimPrior(i, j)
		}
	}
	for range 6 {
		stimuli := make([]tinge, 10)
		for i := range stimuli {
			stimuli[i] = all[r.IntN(len(all)/2)*2+i%2]
		}
		sum := 0.0
		for axis := range screen.Hues {
			for other := range trims {
				var parts []psychophysics.Part
				whole := 0.0
				for k := range trims {
					parts = append(parts, tingePart(k, trimPrior(k, other), tintNoise[axis], tintBias[axis])) // trimPrior is the same for both orders
					whole += trimPrior(k, other)
				}
				sum += whole / shares / 2 * psychophysics.MixtureError(parts, stimuli, tingeDifference, tingeOutputs, len(tintLevels), tintNoise[axis], untoldDraws, r)
			}
		}
		if got := math.Sqrt(sum); got < 0.99*untold {
			t.Errorf("%.6f with levels at random, %.6f with the best", got, untold)
		}
	}
	// Nothing asked: the SD of the prior.
	want, shares := 0.0, 0.0
	for i := range trims {
		for j := range trims {
			shares += trimPrior(i, j)
			for _, v := range tintLevels {
				grad := make([]float64, screen.TintParams)
				screen.TintAt(grad, v, grad)
				for k, g := range grad {
					a, b := g*trims[i].scale(k), g*trims[j].scale(k)
					want += trimPrior(i, j) * (a*a + b*b) / 2 / float64(len(tintLevels))
				}
			}
		}
	}
	if want = math.Sqrt(want / shares); math.Abs(NeutralsBound(tintNoise, tintBias, 0)-want) > 1e-9 {
		t.Errorf("before any answer %.6f, want %.6f", NeutralsBound(tintNoise, tintBias, 0), want)
	}
	if testing.Short() {
		t.Skip("many sittings")
	}
	const sittings = 200
	var g [2]gauge
	var square, second [2]float64
	for i := range sittings {
		r := tintRandom(13, uint64(i))
		truth, weight := believedTint((float64(i)+0.5)/sittings, r)
		v := newTinter(truth, 1, r)
		p := newNeutrals(0)
		asked := v.sit(t, p, 20, r)
		for n := range g {
			if n == 1 {
				for k := range 16 {
					asked = append(asked, v.show(t, p, Trial, 20+k, k%2 == 0, r))
				}
			}
			res := p.result(r)
			g[n].add(&res, truth, weight)
			e := expectedSquare(t, p, asked, &res, r)
			square[n] += weight * e / sittings
			second[n] += weight * weight * e * e / sittings
		}
	}
	for i, c := range []struct {
		n    int
		most float64 // rms error over that by the sweat factor
	}{{20, 1.22}, {36, 1.12}} { // over 1000 other sittings 1.14 and 1.065, and the scatter of these: SDs of 0.027 and 0.018
		bound, sweat, cover := NeutralsBound(tintNoise, tintBias, c.n), NeutralsSweat(tintNoise, tintBias, c.n), g[i].inside/g[i].levels
		rms := math.Sqrt(square[i])
		sd := math.Sqrt((second[i]-square[i]*square[i])/sittings) / (2 * square[i])
		t.Logf("%d judgements: rms error %.5f ± %.5f; bound %.5f, ratio %.2f; by the sweat factor %.5f, ratio %.2f; of this sample %s", c.n, rms, sd*rms, bound, rms/bound, sweat, rms/sweat, &g[i])
		if sweat < bound {
			t.Errorf("%d judgements: %.5f by the sweat factor, less than the bound %.5f", c.n, sweat, bound)
		}
		if ratio := rms / sweat; ratio > c.most || rms < bound {
			t.Errorf("%d judgements: rms error %.5f is %.2f times what the sweat factor has, %.5f; the bound is %.5f", c.n, rms, ratio, sweat, bound)
		}
		if d := g[i].rms()/rms - 1; math.Abs(d) > 0.3 { // SD 0.08
			t.Errorf("%d judgements: rms error %.5f, expected %.5f", c.n, g[i].rms(), rms)
		}
		if cover < 0.86 || cover > 0.95 {
			t.Errorf("%d judgements: intervals hold %.3f", c.n, cover)
		}
		if g[i].untrue > 0.04*sittings+2*math.Sqrt(0.04*sittings) {
			t.Errorf("%d judgements: %.1f false holds in %d", c.n, g[i].untrue, sittings)
		}
	}
}

func TestNeutralsForeign(t *testing.T) {
	p := newNeutrals(0)
	good := Judgement{Check: Neutrals, Kind: Trial, Stimulus: p.choose(Trial, 0, true, tintRandom(14, 1))}
	for name, spoil := range map[string]func(*Judgement){
		"kind":           func(j *Judgement) { j.Kind = Catch },
		"response":       func(j *Judgement) { j.Response = 2 },
		"no response":    func(j *Judgement) { j.Response = -2 },
		"no hue":         func(j *Judgement) { j.Stimulus.Hue = "" },
		"unknown hue":    func(j *Judgement) { j.Stimulus.Hue = "sour" },
		"no lines":       func(j *Judgement) { j.Stimulus.Of = 0 },
		"other lines":    func(j *Judgement) { j.Stimulus.Lit = 9 },
		"lines of greys": func(j *Judgement) { j.Stimulus.A = 64 },
		"black":          func(j *Judgement) { j.Stimulus.Plain = 0 },
		"white":          func(j *Judgement) { j.Stimulus.Plain = 255 },
		"much red":       func(j *Judgement) { j.Stimulus.Red = mostOffset + 1 },
		"beyond red":     func(j *Judgement) { j.Stimulus.Plain, j.Stimulus.Red = 240, 15 },
		"little blue":    func(j *Judgement) { j.Stimulus.Plain, j.Stimulus.Blue = 90, -90 },
		"ground":         func(j *Judgement) { j.Stimulus.Ground++ },
		"channel":        func(j *Judgement) { j.Stimulus.Channel = 1 },
		"place":          func(j *Judgement) { j.Stimulus.At = -1 },
	} {
		p, j := newNeutrals(0), good
		spoil(&j)
		if err := p.record(j); !errors.Is(err, errForeign) {
			t.Errorf("%s: %v", name, err)
		}
		if p.run != 0 || p.axes[0].asked+p.axes[1].asked != 0 || len(p.used) != 0 {
			t.Errorf("%s: teaches", name)
		}
	}
	if err := p.record(good); err != nil {
		t.Error(err)
	}
	good.Response = CantTell
	before := p.result(tintRandom(14, 2))
	if err := p.record(good); err != nil || !reflect.DeepEqual(before, p.result(tintRandom(14, 2))) {
		t.Errorf("can't tell: %v, and teaches", err)
	}
}

// FuzzNeutralsRecord puts judgements that were meddled with to a fresh procedure: it takes them or refuses them, and can go on.
func FuzzNeutralsRecord(f *testing.F) {
	f.Add(uint8(lineGround), uint8(255), 1, 2, uint8(186), "pink-green", 4, -3, 1)
	f.Add(uint8(lineGround), uint8(255), 7, 8, uint8(254), "blue-yellow", -100, 0, 0)
	f.Add(uint8(0), uint8(0), 0, 0, uint8(0), "", 0, 0, -1)
	f.Fuzz(func(t *testing.T, ground, b uint8, lit, of int, plain uint8, hue string, red, blue, response int) {
		p := newNeutrals(0)
		s := Stimulus{Ground: ground, B: b, Lit: lit, Of: of, Plain: plain, Hue: screen.Hue(hue), Red: red, Blue: blue}
		err := p.record(Judgement{Kind: Trial, Stimulus: s, Response: response})
		if err != nil && !errors.Is(err, errForeign) {
			t.Fatal(err)
		}
		if err == nil {
			p.choose(Trial, 1, false, tintRandom(15, 1))
			if m := p.result(tintRandom(15, 2)).Tint.Mean(); math.IsNaN(m) {
				t.Fatalf("%+v: %g", s, m)
			}
		}
	})
}

// BenchmarkNeutrals is one answer and the next choice, of a long sitting.
func BenchmarkNeutrals(b *testing.B) {
	var p *neutrals
	var v *tinter
	var r *rand.Rand
	for i := 0; b.Loop(); i++ {
		if i%36 == 0 {
			b.StopTimer()
			r = tintRandom(16, uint64(i))
			p, v = newNeutrals(0), newTinter(usualTint(r), 1, r)
			b.StartTimer()
		}
		v.show(b, p, Trial, i%36, i%2 == 0, r)
	}
}

// BenchmarkNeutralsResult is what a report waits for.
func BenchmarkNeutralsResult(b *testing.B) {
	r := tintRandom(17, 1)
	p := newNeutrals(0)
	newTinter(usualTint(r), 1, r).sit(b, p, 20, r)
	for b.Loop() {
		p.result(r)
	}
}

// What was seen is the same for verdicts and for what is expected of a screen; what was not is wide for the one, and as it is believed beforehand for the other.
func TestLikelyTints(t *testing.T) {
	spread := func(draws []screen.Tint, axis int) float64 {
		sum := 0.0
		for _, d := range draws {
			sum += d[axis][0] * d[axis][0]
		}
		return math.Sqrt(sum / float64(len(draws)))
	}
	want := 0.0 // the SD of slopes beforehand
	shares := 0.0
	for i := range trims {
		for j := range trims {
			want, shares = want+trimPrior(i, j)*trims[i].slope*trims[i].slope, shares+trimPrior(i, j)
		}
	}
	want = math.Sqrt(want / shares)
	v := UnseenNeutrals(tintRandom(21, 1))
	if len(v.Likely) != len(v.Draws) {
		t.Fatalf("%d likely, %d draws", len(v.Likely), len(v.Draws))
	}
	same := 0.0
	for i := range v.Draws {
		if v.Draws[i] == v.Likely[i] {
			same++
		}
	}
	// Seen along both axes, or of the widest trims anyway.
	if same /= tintDraws; same < (1-blind[0])*(1-blind[1]) || same > 0.88 {
		t.Errorf("%.3f are the same before any answer", same)
	}
	for axis := range screen.Hues {
		wide := trims[len(trims)-1].slope / want
		by := math.Sqrt(1 - blind[axis] + blind[axis]*wide*wide)
		if l, d := spread(v.Likely, axis), spread(v.Draws, axis); math.Abs(l/want-1) > 0.15 || math.Abs(d/l-by) > 0.07 || d < 1.05*l {
			t.Errorf("axis %d: before any answer slopes spread by %.5f, for verdicts %.5f; believed %.5f and %.3f times that", axis, l, d, want, by)
		}
	}
	// Who answers about pink by chance says nothing of it.
	r := tintRandom(21, 2)
	p, blindly := newNeutrals(0), newTinter(screen.Tint{}, 1, r)
	blindly.chance[0] = true
	blindly.sit(t, p, 24, r)
	v = p.result(r)
	if v.Blind[0] < 0.5 || v.Blind[1] > 0.1 {
		t.Fatalf("seen by chance with %.3f", v.Blind)
	}
	if l, d := spread(v.Likely, 0), spread(v.Draws, 0); l > 0.8*d {
		t.Errorf("not seen: slopes spread by %.5f, for verdicts %.5f", l, d)
	}
	// Along the one that is seen only what is left of the doubt is drawn from the widest.
	l, d := spread(v.Likely, 1), spread(v.Draws, 1)
	if want := math.Sqrt(l*l + v.Blind[1]*trims[len(trims)-1].slope*trims[len(trims)-1].slope); math.Abs(d-want) > 0.3*want {
		t.Errorf("seen: slopes spread by %.5f, for verdicts %.5f, want %.5f", l, d, want)
	}
}
