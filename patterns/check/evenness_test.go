package check

import (
	"errors"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

func evenRandom(seed, stream uint64) *rand.Rand {
	return rand.New(rand.NewPCG(seed, 0x6576656e<<32|stream))
}

// A glancer answers by the model's own law.
type glancer struct{ noise, rim, side, gain, lapse float64 }

// newGlancer draws a viewer with a noise of light.
func newGlancer(noise float64, r *rand.Rand) glancer {
	m := &lightSurface
	return glancer{noise, m.rim * r.NormFloat64(), m.side * r.NormFloat64(), m.gain * r.NormFloat64(), lapse}
}

func (g glancer) answer(difference, effect float64, column int, r *rand.Rand) int {
	if r.Float64() < g.lapse {
		return r.IntN(2)
	}
	d := difference + (1+g.gain)*effect + g.rim
	switch {
	case column > 0:
		d += g.side
	case column < 0:
		d -= g.side
	}
	if d+g.noise*r.NormFloat64() > 0 {
		return 1
	}
	return 0
}

// judge answers n trials about the light of a field, by place.
func (g glancer) judge(t testing.TB, e *evenness, field []float64, n int, r *rand.Rand) {
	t.Helper()
	for i := range n {
		s := e.choose(Trial, i, false, r)
		if s.Hue != "" {
			continue
		}
		a := g.answer(field[s.Place], e.raised(s.Delta), s.Place%e.grid-e.grid/2, r)
		if err := e.record(Judgement{Check: Evenness, Kind: Trial, Stimulus: s, Response: a}); err != nil {
			t.Fatal(err)
		}
	}
}

// imagined draws a field of one scale from the prior.
func imagined(f *surface, part int, r *rand.Rand) []float64 {
	theta := f.imagine(part, r)
	v := make([]float64, len(f.places)+1)
	for i, p := range f.places {
		v[p] = f.value(theta, i)
	}
	return v
}

// a tally is how well estimates do over many sittings.
type tally struct {
	square, places, inside float64
	worst, sittings        float64 // how often the worst place is inside its interval
	falseHolds, falseOff   int     // of 13 %
}

func (a *tally) add(e *evenness, field []float64, v EvennessResult) {
	worst := 0.0
	for p, est := range v.Places {
		if p == e.middle {
			continue
		}
		d := est.Mean() - field[p]
		a.square += d * d
		a.places++
		if lo, hi := est.Interval(0.9); lo <= field[p] && field[p] <= hi {
			a.inside++
		}
		worst = max(worst, math.Abs(field[p]))
	}
	if lo, hi := v.Worst.Interval(0.9); lo <= worst && worst <= hi {
		a.worst++
	}
	a.sittings++
	if p := v.Worst.Within(0, 0.13); p > 0.9 && worst > 0.13 {
		a.falseHolds++
	} else if p < 0.1 && worst <= 0.13 {
		a.falseOff++
	}
}

func (a *tally) rms() float64 { return math.Sqrt(a.square / a.places) }

// A viewer who cannot judge must not end with a verdict: the prior alone is between 0.4 and 0.85 for every tolerance.
func TestEvennessPrior(t *testing.T) {
	v := UnseenEvenness(evenRandom(1, 1))
	if v.Grid != 3 || len(v.Places) != 9 || len(v.Draws) != FieldDraws || len(v.Weights) != FieldDraws || len(v.Tint.At) != 0 {
		t.Fatalf("grid %d, %d places, %d draws", v.Grid, len(v.Places), len(v.Draws))
	}
	sum := 0.0
	for i, w := range v.Weights {
		sum += w
		if f := v.Draws[i]; f.Rows != 3 || f.Cols != 3 || len(f.Log) != 9 || f.Log[4] != 0 || f.Pink != nil || f.Yellow != nil {
			t.Fatalf("draw %+v", f)
		}
	}
	if math.Abs(sum-1) > 1e-9 {
		t.Errorf("weights sum to %g", sum)
	}
	if again := UnseenEvenness(evenRandom(1, 1)); !reflect.DeepEqual(v, again) {
		t.Error("not the same twice")
	}
	long := newEvenness(Long).result(Draws, evenRandom(1, 2))
	for _, use := range Uses {
		for _, n := range use.Needs {
			if n.Quantity != screen.Unevenness {
				continue
			}
			p, q := v.Worst.Within(n.Lo, n.Hi), long.Worst.Within(n.Lo, n.Hi)
			t.Logf("%s: %.3f, of 5 by 5 places %.3f", use.Name, p, q)
			if min(p, q) < 0.4 || max(p, q) > 0.89 { // below the 0.9 of a "holds", with room
				t.Errorf("%s: within %g with a probability of %.3f and %.3f before any answer", use.Name, n.Hi, p, q)
			}
		}
	}
	e := newEvenness(Long)
	r := evenRandom(1, 3)
	pink, yellow := e.tints[0].draw(1000, r), e.tints[1].draw(1000, r)
	within := 0.0
	for i := range pink {
		worst := 0.0
		for p := range pink[i] {
			worst = max(worst, screen.Length(pink[i][p], yellow[i][p]))
		}
		if worst <= 0.01 {
			within += 1.0 / 1000
		}
	}
	t.Logf("tint: %.3f", within)
	if within < 0.4 || within > 0.85 {
		t.Errorf("tints within 0.01 with a probability of %.3f before any answer", within)
	}
}

// What the model takes a spot to do where the eye looks is what the pattern paints there.
func TestEvennessSpot(t *testing.T) {
	bounds := image.Rect(0, 0, 1500, 1100)
	dst := image.NewRGBA(bounds)
	for _, grid := range []int{3, 5} {
		for _, delta := range []int{-20, -7, 11, 24} {
			patterns.Field{Ground: evenGround, Rows: grid, Cols: grid, Place: 1, Delta: int8(delta)}.Paint(dst, bounds)
			spot := patterns.FieldSpot(bounds, grid, grid, 1)
			sum, n := 0.0, 0.0
			for y := spot.Min.Y; y < spot.Max.Y; y++ {
				for x := spot.Min.X; x < spot.Max.X; x++ {
					sum += float64(dst.RGBAAt(x, y).G)
					n++
				}
			}
			if got, want := sum/n-evenGround, spotShare*float64(delta); math.Abs(got-want) > 0.25 {
				t.Errorf("grid %d: %d codes raise what is looked at by %.3f, taken as %.3f", grid, delta, got, want)
			}
		}
	}
	e := newEvenness(Standard)
	if got, want := e.raised(20), 2.2*math.Log(1+spotShare*20/128); math.Abs(got-want) > 1e-3 {
		t.Errorf("20 codes raise log light by %.4f, want %.4f", got, want)
	}
	var curve [256]float64
	for i := range curve {
		curve[i] = math.Pow(float64(i)/255, 1.8)
	}
	e.hear(context{curve: &curve})
	if got, want := e.raised(-20), 1.8*math.Log(1-spotShare*20/128); math.Abs(got-want) > 1e-3 {
		t.Errorf("-20 codes on a gamma of 1.8 raise log light by %.4f, want %.4f", got, want)
	}
}

func TestEvennessChoice(t *testing.T) {
	for _, l := range []Length{Short, Standard, Long} {
		e := newEvenness(l)
		r := evenRandom(3, 1)
		g := newGlancer(0.05, r)
		field := imagined(e.light, 0, r)
		seen, hues := map[int]int{}, map[screen.Hue]int{}
		easyOnes := 0
		for i := range 36 {
			s := e.choose(Trial, i, i%2 == 0, evenRandom(3, uint64(i)+5))
			if again := e.choose(Trial, i, i%2 == 0, evenRandom(3, uint64(i)+5)); s != again {
				t.Fatalf("%s: %+v, then %+v", l, s, again)
			}
			task, question, choices := e.ask(s, Trial, image.Rect(0, 0, 900, 600), 0)
			if s.Ground != evenGround || question == "" || len(choices) != 2 || choices[0].Key != "Digit1" || choices[1].Key != "Digit2" || choices[0].Rect.Empty() || choices[0].Rect.Overlaps(choices[1].Rect) {
				t.Fatalf("%s: %+v asked as %s %q %v", l, s, task, question, choices)
			}
			if want := map[screen.Hue]Task{"": PlaceLighter, screen.PinkGreen: PlacePinker, screen.BlueYellow: PlaceYellow}[s.Hue]; task != want {
				t.Fatalf("%s: task %q, want %q", l, task, want)
			}
			hues[s.Hue]++
			if s.Hue == "" {
				seen[s.Place]++
				if off := math.Abs(e.raised(s.Delta) + e.light.expected(index(e, s.Place))); off > 0.04 {
					easyOnes++
				}
			}
			a := g.answer(field[s.Place], e.raised(s.Delta), 0, r)
			if s.Hue != "" {
				a = r.IntN(2)
			}
			if err := e.record(Judgement{Kind: Trial, Stimulus: s, Response: a}); err != nil {
				t.Fatalf("%s: %+v: %v", l, s, err)
			}
			if l != Long && i == 7 && len(seen) != 8 {
				t.Errorf("%s: after 8 judgements only %d places were asked about", l, len(seen))
			}
		}
		t.Logf("%s: %d easy, %v, places %v", l, easyOnes, hues, seen)
		if easyOnes < 36/easyPlaceEvery/2 {
			t.Errorf("%s: %d of 36 were easy", l, easyOnes)
		}
		tints := hues[screen.PinkGreen] + hues[screen.BlueYellow]
		if l == Long && tints != 8 || l != Long && tints != 0 {
			t.Errorf("%s: %d of 36 about tints", l, tints)
		}
	}
}

// index returns where the surfaces keep a place.
func index(e *evenness, place int) int {
	if place > e.middle {
		return place - 1
	}
	return place
}

// An obvious difference is far beyond noise before and after anything is known, on an even screen and on one with a strong vignette.
func TestEvennessObvious(t *testing.T) {
	for _, l := range []Length{Standard, Long} {
		for _, fall := range []float64{0, -0.4, 0.3} {
			e := newEvenness(l)
			r := evenRandom(4, 1)
			field := make([]float64, e.grid*e.grid)
			for i, p := range e.light.places {
				field[p] = fall * e.light.basis[i][falloffAt]
			}
			g := glancer{noise: 0.05}
			for round := range 2 {
				raised, lowered := 0, 0
				for i := range 20 {
					kind := Catch
					if round == 0 && i < 2 {
						kind = Practice
					} else if round == 0 {
						continue // no catch before the first trial
					}
					s := e.choose(kind, i, false, r)
					d := field[s.Place] + e.raised(s.Delta)
					// Before anything is known the falloff is a guess, at an edge or a corner as it comes.
					least := 0.3
					if round == 0 {
						least = 0.2
					}
					if s.Hue != "" || math.Abs(d) < least || (d > 0) != e.right(s, 1) || (d < 0) != e.right(s, 0) || e.right(s, CantTell) {
						t.Errorf("%s, fall %g, known %d: %+v is %.2f of log light off", l, fall, round, s, d)
					}
					if d > 0 {
						raised++
					} else {
						lowered++
					}
				}
				if raised == 0 || lowered == 0 {
					t.Errorf("%s: %d raised and %d lowered", l, raised, lowered)
				}
				g.judge(t, e, field, 24, r)
			}
		}
	}
	e := newEvenness(Long)
	for axis, hue := range screen.Hues {
		for i := range 10 {
			s := e.choose(Practice, 2+axis, false, evenRandom(4, uint64(i)+10))
			h := e.hues(s.Delta, s.Red, s.Blue)
			if s.Hue != hue || math.Abs(h[axis]) < 0.7*obviousTints[axis] || math.Abs(h[1-axis]) > 0.003 || !e.right(s, map[bool]int{true: 1}[h[axis] > 0]) {
				t.Errorf("practice of %s: %+v adds %v", hue, s, h)
			}
		}
	}
}

// The tint that is wanted comes along its own axis, and leaves the light alone.
func TestEvennessTint(t *testing.T) {
	e := newEvenness(Long)
	for axis := range screen.Hues {
		for _, want := range []float64{-0.012, -0.004, 0, 0.003, 0.01} {
			for _, light := range []float64{-0.1, 0, 0.15} {
				delta, red, blue := e.tint(axis, want, light)
				h := e.hues(delta, red, blue)
				if math.Abs(h[axis]-want) > 0.001 || math.Abs(h[1-axis]) > 0.0012 {
					t.Errorf("axis %d, %g: codes %d %d %d add %v", axis, want, delta, red, blue, h)
				}
				y := redBlue[0]*math.Exp(e.raised(delta+red)) + redBlue[1]*math.Exp(e.raised(delta+blue)) + (1-redBlue[0]-redBlue[1])*math.Exp(e.raised(delta))
				if math.Abs(math.Log(y)-light) > 0.02 {
					t.Errorf("axis %d, %g: log light %.3f, want %.3f", axis, want, math.Log(y), light)
				}
			}
		}
	}
}

// Screens and viewers of the model: the truth is inside the stated intervals as often as stated, and the error is small.
func TestEvennessRecovery(t *testing.T) {
	if testing.Short() {
		t.Skip("many sittings")
	}
	for _, c := range []struct {
		name  string
		noise float64
		n     int
		most  float64 // rms error of light over places of even screens
		cover [2]float64
	}{
		{"typical", 0.05, 24, 0.035, [2]float64{0.86, 0.97}},
		{"typical, short", 0.05, 12, 0.06, [2]float64{0.85, 0.97}},
		{"double", 0.10, 24, 0.06, [2]float64{0.78, 0.97}},
	} {
		var all, even tally
		for i := range 70 {
			r := evenRandom(5, uint64(i))
			e := newEvenness(Standard)
			part := i % len(lightSurface.scales)
			field := imagined(e.light, part, r)
			newGlancer(c.noise, r).judge(t, e, field, c.n, r)
			v := e.result(400, r)
			all.add(e, field, v)
			if part == 0 {
				even.add(e, field, v)
			}
		}
		covered, worst := all.inside/all.places, all.worst/all.sittings
		t.Logf("%s: rms %.4f, of even screens %.4f, inside %.3f, worst inside %.3f, false holds %d, false off %d", c.name, all.rms(), even.rms(), covered, worst, all.falseHolds, all.falseOff)
		if even.rms() > c.most {
			t.Errorf("%s: rms error %.4f", c.name, even.rms())
		}
		if covered < c.cover[0] || covered > c.cover[1] || worst < 0.75 {
			t.Errorf("%s: inside %.3f, worst %.3f", c.name, covered, worst)
		}
		if all.falseHolds > 5 || all.falseOff > 3 {
			t.Errorf("%s: %d false holds and %d false offs of %.0f", c.name, all.falseHolds, all.falseOff, all.sittings)
		}
	}
}

// The worst of many uncertain places is not estimated worse than it is, and an even screen is found even.
func TestEvennessEven(t *testing.T) {
	holds := 0
	for i := range 12 {
		r := evenRandom(6, uint64(i))
		e := newEvenness(Standard)
		newGlancer(0.05, r).judge(t, e, make([]float64, 9), 24, r)
		v := e.result(400, r)
		if v.Worst.Mean() > 0.11 {
			t.Errorf("worst place at %.3f of an even screen", v.Worst.Mean())
		}
		if v.Worst.Within(0, 0.13) > 0.9 {
			holds++
		}
	}
	if holds < 9 {
		t.Errorf("%d of 12 even screens hold", holds)
	}
}

func TestEvennessTints(t *testing.T) {
	inside, all := 0.0, 0.0
	wide := 0
	for i := range 16 {
		r := evenRandom(7, uint64(i))
		e := newEvenness(Long)
		var truth [len(screen.Hues)][]float64
		for axis, f := range e.tints {
			truth[axis] = imagined(f, i%len(tintScales), r)
		}
		if v := e.result(100, evenRandom(7, 100)); len(v.Tint.At) != 0 || v.Draws[0].Pink != nil {
			t.Fatal("tints before they were asked about")
		}
		n := 0
		for turn := 0; n < 8; turn++ {
			axis, _ := e.turn(turn)
			if axis < 0 {
				continue
			}
			n++
			s := e.choose(Trial, turn, false, r)
			h := e.hues(s.Delta, s.Red, s.Blue)
			g := glancer{noise: []float64{0.004, 0.0068}[axis], lapse: lapse}
			if err := e.record(Judgement{Kind: Trial, Stimulus: s, Response: g.answer(truth[axis][s.Place], h[axis], 0, r)}); err != nil {
				t.Fatal(err)
			}
		}
		v := e.result(400, r)
		if len(v.Draws[0].Pink) != 25 || len(v.Draws[0].Yellow) != 25 || len(v.Tint.At) == 0 {
			t.Fatalf("no tints: %+v", v.Draws[0])
		}
		for p := range 25 {
			if p == e.middle {
				continue
			}
			for axis := range screen.Hues {
				at, mass := make([]float64, len(v.Draws)), v.Weights
				for k, f := range v.Draws {
					at[k] = f.Pink[p]
					if axis == 1 {
						at[k] = f.Yellow[p]
					}
				}
				if lo, hi := psychophysics.NewEstimate(at, mass).Interval(0.9); lo <= truth[axis][p] && truth[axis][p] <= hi {
					inside++
				}
				all++
			}
		}
		if v.Tint.Mean() > 0.02 {
			wide++
		}
	}
	t.Logf("inside %.3f, %d wide", inside/all, wide)
	if inside/all < 0.82 || inside/all > 0.98 || wide > 4 {
		t.Errorf("inside %.3f, %d wide", inside/all, wide)
	}
}

// On even screens the error is 1.13 times the bound over 600 sittings, and fewer wander. On uneven ones answers of yes and no must first find where
// a field lies that may be anywhere, which the bound takes as known: there it is about 1.5 times where no place is further off than 0.4 of log light, and
// more beyond what corrections reach.
func TestEvennessBound(t *testing.T) {
	last := math.Inf(1)
	for _, n := range []int{0, 1, 4, 8, 24, 60} {
		b := EvennessBound(3, 0.05, 0.01, n)
		if !(b < last) || b <= 0 {
			t.Errorf("after %d judgements %.4f, before %.4f", n, b, last)
		}
		last = b
	}
	if a, b := EvennessBound(3, 0.05, 0.01, 24), EvennessBound(3, 0.10, 0.01, 24); a >= b {
		t.Errorf("%.4f with a noise of 0.05, %.4f with 0.10", a, b)
	}
	if a, b := EvennessBound(5, 0.05, 0.01, 24), EvennessBound(5, 0.05, 0.04, 24); a >= b {
		t.Errorf("%.4f with a bias of 0.01, %.4f with 0.04", a, b)
	}
	if testing.Short() {
		t.Skip("many sittings")
	}
	all := lightSurface.scales
	defer func() { lightSurface.scales = all }()
	one := all[0]
	one.share = 1
	var got tally
	for i := range 160 {
		r := evenRandom(8, uint64(i))
		e := newEvenness(Standard)
		field := imagined(e.light, 0, r)
		newGlancer(0.05, r).judge(t, e, field, 24, r)
		got.add(e, field, e.result(200, r))
	}
	lightSurface.scales = []scale{one}
	bound := EvennessBound(3, 0.05, lightSurface.rim, 24)
	t.Logf("rms %.4f, bound %.4f, ratio %.3f", got.rms(), bound, got.rms()/bound)
	if got.rms() > 1.2*bound { // the ratio has an SD of 0.025 here
		t.Errorf("rms %.4f is %.2f times the bound %.4f", got.rms(), got.rms()/bound, bound)
	}
}

// The virtual viewer, through painted frames.
func TestEvennessViewer(t *testing.T) {
	d := display.Default()
	d.Evenness = [][]float64{{0.72, 0.85, 0.76}, {0.86, 1, 0.9}, {0.8, 0.93, 0.84}}
	m := d.Model()
	kind, _ := observer.KindByName("typical")
	frame := image.NewRGBA(image.Rect(0, 0, 640, 400))
	square, count := 0.0, 0.0
	for i := range 6 {
		r := evenRandom(9, uint64(i))
		v := observer.New(kind, &m, r)
		e := newEvenness(Standard)
		for k := range 24 {
			s := e.choose(Trial, k, false, r)
			e.pattern(s, frame.Rect, 0).Paint(frame, frame.Rect)
			_, _, choices := e.ask(s, Trial, frame.Rect, 0)
			if err := e.record(Judgement{Kind: Trial, Stimulus: s, Response: v.FarLighter(frame, choices[0].Rect, choices[1].Rect)}); err != nil {
				t.Fatal(err)
			}
		}
		res := e.result(400, r)
		grey := color.RGBA{evenGround, evenGround, evenGround, 255}
		middle := m.LightAt(grey, 0.5, 0.5).Y
		for p := range 9 {
			truth := math.Log(m.LightAt(grey, (float64(p%3)+0.5)/3, (float64(p/3)+0.5)/3).Y / middle)
			if p == 4 {
				continue
			}
			off := res.Places[p].Mean() - truth
			square += off * off
			count++
		}
	}
	rms := math.Sqrt(square / count)
	t.Logf("rms %.4f", rms)
	if rms > 0.05 {
		t.Errorf("rms error %.4f", rms)
	}
}

func TestEvennessForeign(t *testing.T) {
	for name, c := range map[string]struct {
		l Length
		j Judgement
	}{
		"middle":          {Standard, Judgement{Stimulus: Stimulus{Ground: 128, Grid: 3, Place: 4}}},
		"beyond":          {Standard, Judgement{Stimulus: Stimulus{Ground: 128, Grid: 3, Place: 9}}},
		"before":          {Standard, Judgement{Stimulus: Stimulus{Ground: 128, Grid: 3, Place: -1}}},
		"other grid":      {Standard, Judgement{Stimulus: Stimulus{Ground: 128, Grid: 5, Place: 1}}},
		"other ground":    {Standard, Judgement{Stimulus: Stimulus{Ground: 64, Grid: 3, Place: 1}}},
		"too much":        {Standard, Judgement{Stimulus: Stimulus{Ground: 128, Grid: 3, Place: 1, Delta: 33}}},
		"third answer":    {Standard, Judgement{Stimulus: Stimulus{Ground: 128, Grid: 3, Place: 1}, Response: 2}},
		"no answer":       {Standard, Judgement{Stimulus: Stimulus{Ground: 128, Grid: 3, Place: 1}, Response: -2}},
		"tint too soon":   {Standard, Judgement{Stimulus: Stimulus{Ground: 128, Grid: 3, Place: 1, Hue: screen.PinkGreen}}},
		"unknown hue":     {Long, Judgement{Stimulus: Stimulus{Ground: 128, Grid: 5, Place: 1, Hue: "sour"}}},
		"red without":     {Long, Judgement{Stimulus: Stimulus{Ground: 128, Grid: 5, Place: 1, Red: 3}}},
		"blue too much":   {Long, Judgement{Stimulus: Stimulus{Ground: 128, Grid: 5, Place: 1, Hue: screen.BlueYellow, Blue: 41}}},
		"another check's": {Standard, Judgement{Stimulus: Stimulus{Ground: 128, Grid: 3, Place: 1, Of: 2}}},
	} {
		if err := newEvenness(c.l).record(c.j); !errors.Is(err, errForeign) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// FuzzEvennessRecord puts judgements that were meddled with to a fresh procedure: it takes them or refuses them, and can go on.
func FuzzEvennessRecord(f *testing.F) {
	f.Add(true, uint8(128), 5, 3, 10, "pink-green", 4, -3, 1)
	f.Add(false, uint8(128), 3, 3, -10, "", 0, 0, 0)
	f.Add(false, uint8(0), 0, 0, 0, "", 0, 0, -1)
	f.Fuzz(func(t *testing.T, long bool, ground uint8, grid, place, delta int, hue string, red, blue, response int) {
		l := Standard
		if long {
			l = Long
		}
		e := newEvenness(l)
		s := Stimulus{Ground: ground, Grid: grid, Place: place, Delta: delta, Hue: screen.Hue(hue), Red: red, Blue: blue}
		err := e.record(Judgement{Kind: Trial, Stimulus: s, Response: response})
		if err != nil && !errors.Is(err, errForeign) {
			t.Fatal(err)
		}
		if err == nil {
			e.choose(Trial, 1, false, evenRandom(10, 1))
			for _, p := range e.result(20, evenRandom(10, 2)).Places {
				if m := p.Mean(); math.IsNaN(m) {
					t.Fatalf("%+v: %g", s, m)
				}
			}
		}
	})
}

// BenchmarkEvenness is one answer and the next choice, of a long sitting.
func BenchmarkEvenness(b *testing.B) {
	for _, l := range []Length{Standard, Long} {
		b.Run(string(l), func(b *testing.B) {
			var e *evenness
			var field []float64
			var r *rand.Rand
			for i := 0; b.Loop(); i++ {
				if i%40 == 0 {
					b.StopTimer()
					r = evenRandom(11, uint64(i))
					e = newEvenness(l)
					field = imagined(e.light, 0, r)
					b.StartTimer()
				}
				s := e.choose(Trial, i%40, false, r)
				a := glancer{noise: 0.05}.answer(field[s.Place], e.raised(s.Delta), 0, r)
				if err := e.record(Judgement{Kind: Trial, Stimulus: s, Response: a}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
