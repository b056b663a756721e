package check

import (
	"image"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns"
	"example.org/plumb/patterns/observer"
)

// The primaries of sRGB in Display P3: 0.91749, 0.20029, 0.13856 for red and 0.45840, 0.98526, 0.29832 for green, by the matrices of CSS Color Module Level 4
// (W3C), which are 234, 51, 35 and 117, 251, 76 as codes. That the primaries of Display P3 lie 6.8 and 5.3 CIEDE2000 beyond them is from our own
// computation with other code.
func TestColoursBeyond(t *testing.T) {
	for i, want := range []struct {
		signal    [3]float64
		near, far [3]uint8
		apart     float64
	}{
		{[3]float64{0.91749, 0.20029, 0.13856}, [3]uint8{234, 51, 35}, [3]uint8{255, 0, 0}, 6.8},
		{[3]float64{0.45840, 0.98526, 0.29832}, [3]uint8{117, 251, 76}, [3]uint8{0, 255, 0}, 5.3},
	} {
		c := beyond(i, 0)
		if got := [3]float64{c.R, c.G, c.B}; math.Abs(got[0]-want.signal[0])+math.Abs(got[1]-want.signal[1])+math.Abs(got[2]-want.signal[2]) > 3e-4 {
			t.Errorf("%s of sRGB is %v, want %v", reachPrimaries[i], got, want.signal)
		}
		if near, far := p3Codes(c), p3Codes(beyond(i, 1)); near != want.near || far != want.far {
			t.Errorf("%s goes from %v to %v, want %v to %v", reachPrimaries[i], near, far, want.near, want.far)
		}
		if d := colourful(i, 1); math.Abs(d-want.apart) > 0.06 {
			t.Errorf("%s: %.2f ΔE00, want %.1f", reachPrimaries[i], d, want.apart)
		}
		last := 0.0
		for s := 0.05; s < 1.01; s += 0.05 {
			if d := colourful(i, s); d <= last {
				t.Errorf("%s at %.2f: %.3f ΔE00, before it %.3f", reachPrimaries[i], s, d, last)
			} else {
				last = d
			}
		}
	}
}

// sureOfReach is the probability of a reach of at least a half.
func sureOfReach(v ReachResult) float64 { return v.Reach.Within(0.5, 1) }

// reachRandom is a generator for tests of the colour range.
func reachRandom(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0x7265616368)) }

// Before any judgement neither word holds. Draws have the moments of the estimates.
func TestUnseenReach(t *testing.T) {
	v := UnseenReach(reachRandom(1))
	if p := sureOfReach(v); p < 0.4 || p > 0.85 {
		t.Errorf("believed beforehand with %.2f", p)
	}
	if math.Abs(v.Unseen-reachBlind) > 1e-9 {
		t.Errorf("blind with %.3f", v.Unseen)
	}
	var mean [2]float64
	sum := 0.0
	for i, d := range v.Draws {
		sum += v.Weights[i]
		mean[0] += v.Weights[i] * d[0]
		mean[1] += v.Weights[i] * d[1]
	}
	if len(v.Draws) != ReachDraws || math.Abs(sum-1) > 1e-9 || math.Abs(mean[0]-v.Red.Mean()) > 0.01 || math.Abs(mean[1]-v.Green.Mean()) > 0.01 {
		t.Errorf("%d draws with means of %v and weights of %g, want %.3f and %.3f", len(v.Draws), mean, sum, v.Red.Mean(), v.Green.Mean())
	}
	if !reflect.DeepEqual(v, UnseenReach(reachRandom(1))) {
		t.Error("the same source gives other draws")
	}
}

// everyPath follows every answer that a viewer may give to n marks as the procedure chooses them, with what is known in the end and its probability.
func everyPath(p *reach, n int, chance float64, end func(*reach, float64)) {
	if n == 0 {
		end(p, chance)
		return
	}
	s := p.grid.LeastVariance(p.least)
	right := 0.0
	for h, m := range p.grid.Mass() {
		right += m * p.chance(s, h)
	}
	for answer, share := range []float64{1 - right, right} {
		next := &reach{p.reachTable, p.grid.Clone()}
		if err := next.grid.Record(s, float64(answer)); err != nil {
			panic(err)
		}
		everyPath(next, n-1, chance*share, end)
	}
}

// One mark at a time, each the best for the next answer, is nearly as good as the best plan there is. Both are exact.
func TestReachBound(t *testing.T) {
	last := newReach().result(reachRandom(2)).Reach.SD()
	for _, n := range []int{1, 2, 4} {
		left := 0.0
		everyPath(newReach(), n, 1, func(p *reach, chance float64) {
			sd := p.grid.Estimate(p.least).SD()
			left += chance * sd * sd
		})
		got, bound := math.Sqrt(left), ReachBound(n)
		t.Logf("%d marks: rms error of the reach %.4f, bound %.4f", n, got, bound)
		if got < bound-1e-9 || got > 1.15*bound {
			t.Errorf("%d marks: %.4f, bound %.4f", n, got, bound)
		}
		if bound >= last {
			t.Errorf("%d marks: bound %.4f, fewer have %.4f", n, bound, last)
		}
		last = bound
	}
}

// Of screens of which a reach is claimed few have none, and the other way round; by the law the estimator takes for true, over
// every path of answers to 6 marks.
func TestReachWords(t *testing.T) {
	var claimed, untrue, wrongOff, all float64
	everyPath(newReach(), 6, 1, func(p *reach, chance float64) {
		within := 0.0
		for h, m := range p.grid.Mass() {
			if p.least[h] >= 0.5 {
				within += m
			}
		}
		all += chance
		switch {
		case within > 0.9:
			claimed += chance
			untrue += chance * (1 - within)
		case within < 0.1:
			wrongOff += chance * within
		}
	})
	t.Logf("claimed of %.1f %%, falsely of %.1f %%; denied falsely of %.1f %%", 100*claimed, 100*untrue, 100*wrongOff)
	if math.Abs(all-1) > 1e-9 || claimed < 0.25 || untrue > 0.05 || wrongOff > 0.05 {
		t.Errorf("claimed of %.3f, falsely of %.3f; denied falsely of %.3f; in all %.6f", claimed, untrue, wrongOff, all)
	}
}

// lookForMarks lets a virtual viewer sit through n marks.
func lookForMarks(t *testing.T, p *reach, v *observer.Viewer, n int, r *rand.Rand) ReachResult {
	t.Helper()
	for i := range n {
		s := p.choose(Trial, i, false, r)
		if err := p.record(Judgement{Kind: Trial, Stimulus: s, Response: oddSquare(p, s, v)}); err != nil {
			t.Fatal(err)
		}
	}
	return p.result(r)
}

// oddSquare is what a virtual viewer answers.
func oddSquare(p *reach, s Stimulus, v *observer.Viewer) int {
	_, _, choices := p.ask(s, Trial, smallFrame, 0)
	var cells []image.Rectangle
	for _, c := range choices {
		cells = append(cells, c.Rect)
	}
	return v.OddColour(patterns.Render(p.pattern(s, smallFrame, 0), smallFrame.Dx(), smallFrame.Dy()), cells, p.wide())
}

// Virtual viewers before screens: all but a few find the reach of a screen of Display P3; none but a few finds one on a screen of sRGB, nor do viewers with
// a deficiency on either.
func TestReachByVirtualViewers(t *testing.T) {
	srgb, p3, unmanaged := display.Default(), display.Default(), display.Default()
	p3.Primaries = display.Primaries{Name: "p3"}
	unmanaged.Primaries, unmanaged.Managed = p3.Primaries, false
	sessions := 20
	if testing.Short() {
		sessions = 10
	}
	for _, c := range []struct {
		kind        string
		screen      display.Description
		least, most float64 // share of sittings that claim a reach of a half
	}{
		{"typical", p3, 0.6, 1}, {"expert", p3, 0.8, 1}, {"typical", srgb, 0, 0.08}, {"double", srgb, 0, 0.08}, {"typical", unmanaged, 0, 0.08},
		{"protan", srgb, 0, 0.08}, {"deutan", srgb, 0, 0.08}, {"clicker", srgb, 0, 0.2},
	} {
		kind, ok := observer.KindByName(c.kind)
		if !ok {
			t.Fatal(c.kind)
		}
		m := c.screen.Model()
		claims := 0
		for i := range sessions {
			r := reachRandom(uint64(i) + 100)
			if sureOfReach(lookForMarks(t, newReach(), observer.New(kind, &m, r), 6, r)) > 0.9 {
				claims++
			}
		}
		share := float64(claims) / float64(sessions)
		t.Logf("%s, %s, managed %t: reach claimed in %.0f %% of sittings", c.kind, c.screen.Primaries.Name, c.screen.Managed, 100*share)
		if slack := 2 * math.Sqrt(0.08*0.92/float64(sessions)); share < c.least-slack || share > c.most+slack {
			t.Errorf("%s, %s: claimed in %.2f, want %.2f to %.2f", c.kind, c.screen.Primaries.Name, share, c.least, c.most)
		}
	}
}

// Practice and catch trials are seen on a screen of sRGB, by viewers with a deficiency too.
func TestObviousMarks(t *testing.T) {
	m := display.Default().Model()
	p := newReach()
	for _, name := range []string{"typical", "casual", "protan", "deutan"} {
		kind, _ := observer.KindByName(name)
		kind.Lapse = 0
		r := reachRandom(7)
		v := observer.New(kind, &m, r)
		for i := range 40 {
			k := []Kind{Practice, Catch}[i/2%2]
			s := p.choose(k, i, false, r)
			if got := oddSquare(p, s, v); !p.right(s, got) {
				t.Errorf("%s: %+v answered with %d", name, s, got)
			}
		}
	}
}

// What the procedure cannot have asked is refused and teaches nothing.
func TestReachRefuses(t *testing.T) {
	good := Judgement{Kind: Trial, Stimulus: Stimulus{Ground: reachGround, Primary: "red", Reach: 0.5, Cell: 2}, Response: 2}
	p := newReach()
	if err := p.record(good); err != nil {
		t.Fatal(err)
	}
	before := p.result(reachRandom(3))
	for name, spoil := range map[string]func(*Judgement){
		"ground": func(j *Judgement) { j.Stimulus.Ground++ }, "primary": func(j *Judgement) { j.Stimulus.Primary = "blue" }, "no primary": func(j *Judgement) { j.Stimulus.Primary = "" },
		"reach": func(j *Judgement) { j.Stimulus.Reach = 0.6 }, "no reach": func(j *Judgement) { j.Stimulus.Reach = 0 }, "nan": func(j *Judgement) { j.Stimulus.Reach = math.NaN() },
		"cell": func(j *Judgement) { j.Stimulus.Cell = 4 }, "cell below": func(j *Judgement) { j.Stimulus.Cell = -1 },
		"response": func(j *Judgement) { j.Response = 4 }, "response below": func(j *Judgement) { j.Response = -2 }, "kind": func(j *Judgement) { j.Kind = Setting },
	} {
		j := good
		spoil(&j)
		if p.record(j) == nil {
			t.Errorf("%s: taken", name)
		}
	}
	if !reflect.DeepEqual(before, p.result(reachRandom(3))) {
		t.Error("a refused judgement has taught something")
	}
}

// A viewer who can't tell has made the guess of one in four.
func TestReachCantTell(t *testing.T) {
	p := newReach()
	s := Stimulus{Ground: reachGround, Primary: "green", Reach: 1, Cell: 1}
	if err := p.record(Judgement{Kind: Trial, Stimulus: s, Response: CantTell}); err != nil {
		t.Fatal(err)
	}
	want := newReach()
	if err := want.grid.Record(2*len(reachShares)-1, 0.25); err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(p.grid.Mass(), want.grid.Mass()) {
		t.Error("can't tell does not count as a guess")
	}
}

func FuzzReach(f *testing.F) {
	f.Add("red", 0.5, 1, 1, uint8(reachGround))
	f.Add("green", 1.0, 3, -1, uint8(reachGround))
	f.Fuzz(func(t *testing.T, primary string, share float64, cell, response int, ground uint8) {
		p := newReach()
		s := Stimulus{Ground: ground, Primary: primary, Reach: share, Cell: cell}
		if p.record(Judgement{Kind: Trial, Stimulus: s, Response: response}) == nil {
			v := p.result(reachRandom(4))
			if m := v.Reach.Mean(); !(m >= 0 && m <= 1) {
				t.Fatalf("%+v: a reach of %g", s, m)
			}
		}
		p.pattern(s, smallFrame, 0)
	})
}

func BenchmarkReachStep(b *testing.B) {
	r := reachRandom(5)
	p := newReach()
	for b.Loop() {
		s := p.choose(Trial, 0, false, r)
		if err := p.record(Judgement{Kind: Trial, Stimulus: s, Response: r.IntN(4)}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed())/float64(time.Millisecond)/float64(b.N), "ms/step")
}
