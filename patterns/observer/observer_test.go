package observer_test

import (
	"encoding/json"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"example.org/plumb/colour"
	"example.org/plumb/colour/display"
	"example.org/plumb/colour/transfer"
	"example.org/plumb/patterns"
	"example.org/plumb/patterns/observer"
)

func model() *display.Model {
	m := display.Default().Model()
	return &m
}

func kind(t testing.TB, name string) observer.Kind {
	t.Helper()
	k, ok := observer.KindByName(name)
	if !ok {
		t.Fatalf("no kind %q", name)
	}
	return k
}

// binomial checks a count among n against a probability, to 3.3 standard deviations: one check in a thousand fails by chance, none at these fixed seeds.
func binomial(t *testing.T, what string, count, n int, p float64) {
	t.Helper()
	margin := 3.3*math.Sqrt(float64(n)*p*(1-p)) + 1
	if d := float64(count) - float64(n)*p; math.Abs(d) > margin {
		t.Errorf("%s: %d of %d (%.4f), want %.4f within %.4f", what, count, n, float64(count)/float64(n), p, margin/float64(n))
	}
}

// many is how many answers are counted.
func many(n int) int {
	if testing.Short() {
		return n / 5
	}
	return n
}

// frame is small: a viewer sees no better on a larger one.
var frame = image.Rect(0, 0, 180, 120)

const side = 48

func cells() []image.Rectangle {
	c := make([]image.Rectangle, 9)
	for i := range c {
		c[i] = patterns.CellRect(frame, i)
	}
	return c
}

// half is lines of black and white, half of each, beside a plain grey.
func half(plain uint8, plainLeft bool) patterns.Match {
	return patterns.Match{Lines: patterns.Mix{A: 0, B: 255, Lit: 1, Of: 2}, Plain: plain, Ground: 119, Side: side, PlainLeft: plainLeft}
}

// Watson and Pelli 1983 with guess and lapse: p = g + (1-g-λ(1-g)) (1 - exp(-(ΔL/threshold)^2.5)), the threshold k steps of the GSDF, which
// is DICOM PS3.14. Half of those who see nothing may say so; they would have guessed right 1 time in 9.
func TestOddAnswersByTheFormula(t *testing.T) {
	n := many(2000)
	m := model()
	for _, name := range []string{"expert", "typical", "casual"} {
		k := kind(t, name)
		for _, c := range []struct{ ground, patch uint8 }{{0, 4}, {0, 6}, {0, 9}, {0, 13}, {255, 254}, {255, 253}, {255, 252}, {255, 250}, {0, 0}} {
			v := observer.New(k, m, rand.New(rand.NewPCG(1, uint64(c.patch)<<8|uint64(c.ground))))
			dst := image.NewRGBA(frame)
			right, unsure := 0, 0
			for i := range n {
				patterns.Cells{Ground: c.ground, Patch: c.patch, Cell: i % 9}.Paint(dst, dst.Rect)
				switch v.Odd(dst, cells()) {
				case i % 9:
					right++
				case observer.CantTell:
					unsure++
				}
			}
			ground := m.Grey(c.ground)
			d := math.Abs(m.Grey(c.patch) - ground)
			seen := 1 - math.Exp(-math.Pow(d/(k.Threshold*transfer.GSDFStep(ground)), 2.5))
			guess := (1 - k.Lapse) * (1 - seen) / 2 // of those who look and see nothing, half guess
			binomial(t, name+" right", right, n, k.Lapse/9+(1-k.Lapse)*seen+guess/9)
			binomial(t, name+" can't tell", unsure, n, guess)
			const g = 1.0 / 9
			whole := float64(right)/float64(n) + g*float64(unsure)/float64(n)
			if p := g + (1-g-k.Lapse*(1-g))*seen; math.Abs(whole-p) > 3.3*math.Sqrt(p*(1-p)/float64(n))+1e-3 {
				t.Errorf("%s: %d on %d: %.4f with guesses counted, want %.4f", name, c.patch, c.ground, whole, p)
			}
		}
	}
}

func normal(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// p(left is lighter) = λ/2 + (1-λ) Φ((ln L1 - ln L2 + b)/σ), where b, the preference for a side, is normal with 0.3 σ between sittings. A fresh viewer for
// every judgement makes that one normal of σ sqrt(1.09).
func TestLighterAnswersByTheFormula(t *testing.T) {
	n := many(2000)
	m := model()
	left, right := patterns.MatchRects(frame, side)
	for _, name := range []string{"expert", "typical", "casual", "clicker"} {
		k := kind(t, name)
		for _, codes := range [][2]uint8{{128, 128}, {129, 128}, {128, 129}, {131, 128}, {30, 31}, {100, 140}} {
			dst := image.NewRGBA(frame)
			patterns.Pair{Left: codes[0], Right: codes[1], Ground: 119, Side: side}.Paint(dst, dst.Rect)
			count := 0
			for i := range n {
				v := observer.New(k, m, rand.New(rand.NewPCG(uint64(codes[0]), uint64(i))))
				if v.Lighter(dst, left, right) == 0 {
					count++
				}
			}
			d := math.Log(m.Grey(codes[0]) / m.Grey(codes[1]))
			binomial(t, name, count, n, k.Lapse/2+(1-k.Lapse)*normal(d/(k.Plain*math.Sqrt(1.09))))
		}
	}
}

// Lines carry the noise of lines, 1.3 times as much for the first match of a sitting and 1/e of that excess after six; and a bias.
func TestLineMatchesByTheFormula(t *testing.T) {
	n := many(6000)
	m := model()
	small := image.Rect(0, 0, 32, 16)
	left, right := patterns.MatchRects(small, 12)
	light := math.Log((m.Grey(0) + m.Grey(255)) / 2)
	for _, c := range []struct {
		plain     uint8
		plainLeft bool
		seen      int // matches before
		bias      float64
	}{{180, false, 0, 0.03}, {184, true, 0, 0}, {178, false, 6, 0}, {190, true, 6, 0.03}, {180, true, 30, 0}} {
		k := kind(t, "typical")
		k.LineBias = c.bias
		dst := image.NewRGBA(small)
		match := half(c.plain, c.plainLeft)
		match.Side = 12
		match.Paint(dst, dst.Rect)
		count := 0
		for i := range n {
			v := observer.New(k, m, rand.New(rand.NewPCG(uint64(c.plain), uint64(i))))
			for range c.seen {
				v.Lighter(dst, left, right)
			}
			if (v.Lighter(dst, left, right) == 0) != c.plainLeft {
				count++ // the lines are lighter
			}
		}
		noise := k.Lines * (1 + 0.3*math.Exp(-float64(c.seen)/6))
		total := math.Sqrt(noise*noise*1.09 + k.LineBias*k.LineBias)
		binomial(t, "lines lighter", count, n, k.Lapse/2+(1-k.Lapse)*normal((light-math.Log(m.Grey(c.plain)))/total))
	}
}

// Settings scatter around the match by the noise of lines and the bias, and a viewer ends each of them.
func TestSettingsByTheFormula(t *testing.T) {
	const n = 600
	m := model()
	k := kind(t, "typical")
	k.Lapse = 0
	left, right := patterns.MatchRects(frame, side)
	light := math.Log((m.Grey(0) + m.Grey(255)) / 2)
	sum, square := 0.0, 0.0
	dst := image.NewRGBA(frame)
	for i := range n {
		v := observer.New(k, m, rand.New(rand.NewPCG(77, uint64(i))))
		plain := 176 + i%2*24 // from below and from above
		for turns := 0; ; turns++ {
			if turns > 300 {
				t.Fatal("the viewer does not end")
			}
			half(uint8(plain), true).Paint(dst, dst.Rect)
			by := v.Adjust(dst, left, right)
			if by == 0 {
				break
			}
			plain = min(max(plain+by, 1), 254)
		}
		d := math.Log(m.Grey(uint8(plain))) - light
		sum += d
		square += d * d
	}
	mean := sum / n
	sd := math.Sqrt(square/n - mean*mean)
	noise := k.Lines * 1.3 // the first match
	want := math.Sqrt(noise*noise*1.09 + k.LineBias*k.LineBias)
	if math.Abs(mean) > 3.3*want/math.Sqrt(n)+0.004 || math.Abs(sd/want-1) > 0.1 {
		t.Errorf("settings have a mean of %.4f and an SD of %.4f, want 0 and %.4f", mean, sd, want)
	}
}

// Who sits down again has the same biases whatever else is drawn, and somebody else has others.
func TestAgain(t *testing.T) {
	k := observer.Kind{Threshold: 1, LineBias: 0.5, Lines: 0.001, TintBias: 0.02, Tint: 0.0001}
	left, right := patterns.MatchRects(frame, side)
	dst := image.NewRGBA(frame)
	half(188, false).Paint(dst, frame)
	for name, answer := range map[string]func(v *observer.Viewer) int{
		"lighter":  func(v *observer.Viewer) int { return v.Lighter(dst, left, right) },
		"pinker":   func(v *observer.Viewer) int { return v.Tinted(dst, left, right, observer.PinkGreen) },
		"yellower": func(v *observer.Viewer) int { return v.Tinted(dst, left, right, observer.BlueYellow) },
	} {
		var who [2]int // persons by their answer
		for person := range uint64(20) {
			var answers [2]int
			for r := range uint64(10) {
				answers[answer(observer.Again(k, model(), rand.New(rand.NewPCG(person, 1)), rand.New(rand.NewPCG(r, 2))))]++
			}
			if answers[0] > answers[1] {
				who[0]++
			} else {
				who[1]++
			}
			if answers[0]*answers[1] > 9 { // one of ten may be near enough to be noise
				t.Errorf("%s: person %d answers %v", name, person, answers)
			}
		}
		if who[0] < 4 || who[1] < 4 {
			t.Errorf("%s: persons answer alike, %v", name, who)
		}
	}
}

// Times scatter around the kind's median.
func TestTime(t *testing.T) {
	k := kind(t, "typical")
	v := observer.New(k, model(), rand.New(rand.NewPCG(5, 5)))
	below := 0
	const n = 2000
	for range n {
		d := v.Time()
		if d <= 0 || d > time.Minute {
			t.Fatalf("an answer takes %v", d)
		}
		if d.Seconds() < k.Seconds {
			below++
		}
	}
	binomial(t, "times below the median", below, n, 0.5)
}

// The magnitudes of kinds. Expert, typical and casual: judgement within the bounds of Xiao et al. 2011; the last two are typical with all noise doubled,
// and one who clicks at random.
func TestKinds(t *testing.T) {
	for _, want := range []observer.Kind{
		{Name: "expert", Threshold: 1.0, Plain: 0.010, Lines: 0.02, LineBias: 0.01, Lapse: 0.01, Seconds: 2.0, Far: 0.03, Tint: 0.001, TintBias: 0.001, FarTint: 0.002, Ref: 0.004},
		{Name: "typical", Threshold: 1.7, Plain: 0.017, Lines: 0.04, LineBias: 0.03, Lapse: 0.03, Seconds: 2.8, Far: 0.05, Tint: 0.002, TintBias: 0.001, FarTint: 0.004, Ref: 0.006},
		{Name: "casual", Threshold: 3.0, Plain: 0.030, Lines: 0.08, LineBias: 0.04, Lapse: 0.06, Seconds: 2.2, Far: 0.08, Tint: 0.004, TintBias: 0.0015, FarTint: 0.008, Ref: 0.010},
	} {
		if got := kind(t, want.Name); got != want {
			t.Errorf("%+v, want %+v", got, want)
		}
	}
	typical, double := kind(t, "typical"), kind(t, "double")
	if double.Threshold != 2*typical.Threshold || double.Plain != 2*typical.Plain || double.Lines != 2*typical.Lines || double.Lapse != typical.Lapse {
		t.Errorf("double is %+v", double)
	}
	if double.Far != 2*typical.Far || double.Tint != 2*typical.Tint || double.FarTint != 2*typical.FarTint || double.Ref != 2*typical.Ref {
		t.Errorf("double is %+v", double)
	}
	strained := double
	strained.Name, strained.LineBias, strained.Lapse = "strained", 0.05, 0.06
	if k := kind(t, "strained"); k != strained {
		t.Errorf("%+v, want %+v", k, strained)
	}
	for name, severity := range map[string]float64{"protan": 1, "deutan": 1, "deuteranomalous": 0.6} {
		want := typical
		want.Name, want.Vision, want.Severity = name, observer.Deutan, severity
		if name == "protan" {
			want.Vision = observer.Protan
		}
		if k := kind(t, name); k != want {
			t.Errorf("%+v, want %+v", k, want)
		}
	}
	// A kind that is written and read is the same.
	for _, k := range observer.Kinds {
		if k.FarTint != 2*k.Tint {
			t.Errorf("%s: far apart the noise of tints is %v, beside each other %v", k.Name, k.FarTint, k.Tint)
		}
		b, err := json.Marshal(k)
		if err != nil {
			t.Fatal(err)
		}
		if back, err := observer.ParseKind(b); err != nil || back != k {
			t.Errorf("%s comes back as %+v, %v", b, back, err)
		}
	}
	if c := kind(t, "clicker"); c.Lapse != 0.95 || c.Seconds != 0.6 {
		t.Errorf("clicker is %+v", c)
	}
	if _, ok := observer.KindByName("nobody"); ok {
		t.Error("there is a kind nobody")
	}
}

// scatter puts noise on every pixel that lies in none of the regions to keep.
func scatter(dst *image.RGBA, r *rand.Rand, keep []image.Rectangle) {
	for y := dst.Rect.Min.Y; y < dst.Rect.Max.Y; y++ {
	pixels:
		for x := dst.Rect.Min.X; x < dst.Rect.Max.X; x++ {
			for _, k := range keep {
				if (image.Point{x, y}).In(k) {
					continue pixels
				}
			}
			dst.SetRGBA(x, y, color.RGBA{uint8(r.IntN(256)), uint8(r.IntN(256)), uint8(r.IntN(256)), 255})
		}
	}
}

// A viewer looks at the two regions it is asked about and nowhere else.
func TestLighterLooksNowhereElse(t *testing.T) {
	m := model()
	left, right := patterns.MatchRects(frame, side)
	k := kind(t, "typical")
	differ := 0
	for i := range 100 {
		r := rand.New(rand.NewPCG(9, uint64(i)))
		match := half(uint8(180+r.IntN(14)), i%2 == 0)
		clean, dirty := patterns.Render(match, frame.Dx(), frame.Dy()), patterns.Render(match, frame.Dx(), frame.Dy())
		scatter(dirty, r, []image.Rectangle{left, right})
		answer := func(dst *image.RGBA) [2]int {
			v := observer.New(k, m, rand.New(rand.NewPCG(3, uint64(i))))
			return [2]int{v.Lighter(dst, left, right), v.Adjust(dst, left, right)}
		}
		if a, b := answer(clean), answer(dirty); a != b {
			t.Fatalf("with noise around, %v becomes %v", a, b)
		}
		scatter(dirty, r, []image.Rectangle{left})
		if answer(clean) != answer(dirty) {
			differ++
		}
	}
	if differ == 0 {
		t.Error("noise inside a region makes no difference: the test sees nothing")
	}
}

// Of a cell a viewer looks at the middle and at a corner; what is around may be anything.
func TestOddLooksNowhereElse(t *testing.T) {
	m := model()
	k := kind(t, "typical")
	differ := 0
	for i := range 100 {
		r := rand.New(rand.NewPCG(10, uint64(i)))
		p := patterns.Cells{Ground: 0, Patch: uint8(4 + r.IntN(8)), Cell: r.IntN(9)}
		clean, dirty := patterns.Render(p, frame.Dx(), frame.Dy()), patterns.Render(p, frame.Dx(), frame.Dy())
		var keep []image.Rectangle
		for c := range 9 {
			cell := patterns.CellRect(frame, c)
			keep = append(keep, image.Rectangle{cell.Min, cell.Min.Add(cell.Size().Div(8))}, patterns.CellPatch(frame, c))
		}
		scatter(dirty, r, keep)
		answer := func(dst *image.RGBA) int {
			return observer.New(k, m, rand.New(rand.NewPCG(4, uint64(i)))).Odd(dst, cells())
		}
		if a, b := answer(clean), answer(dirty); a != b {
			t.Fatalf("with noise around, %d becomes %d", a, b)
		}
		scatter(dirty, r, nil)
		if answer(clean) != answer(dirty) {
			differ++
		}
	}
	if differ == 0 {
		t.Error("noise everywhere makes no difference: the test sees nothing")
	}
}

// A threshold is so many steps of the GSDF (DICOM PS3.14), which starts at 0.05 cd/m².
func TestThreshold(t *testing.T) {
	for _, c := range []struct{ k, ground, on float64 }{{1, 10, 10}, {2.5, 10, 10}, {1, 0.001, 0.05}, {1, 0, 0.05}, {1.7, 100, 100}} {
		got := observer.Threshold(observer.Kind{Threshold: c.k}, c.ground)
		if want := c.k * transfer.GSDFStep(c.on); got != want {
			t.Errorf("on %g cd/m²: %g, want %g", c.ground, got, want)
		}
	}
	// Table B-1: indices 4, 5 and 6 are at 0.0643, 0.0696 and 0.0750 cd/m².
	if got := observer.Threshold(observer.Kind{Threshold: 1}, 0.0696); math.Abs(got-0.00535) > 1e-4 {
		t.Errorf("at index 5 the step is %g", got)
	}
}

// Regions outside of the frame, empty frames and degenerate cells are dark, and no reason to stop.
func TestStrangeRegions(t *testing.T) {
	v := observer.New(kind(t, "typical"), model(), rand.New(rand.NewPCG(1, 1)))
	dst := image.NewRGBA(image.Rect(0, 0, 3, 3))
	far := image.Rect(1000, 1000, 1010, 1010)
	for range 20 {
		v.Lighter(dst, far, image.Rectangle{})
		v.Adjust(dst, dst.Rect, far)
		v.Odd(dst, []image.Rectangle{far, {}, dst.Rect})
		v.Odd(image.NewRGBA(image.Rectangle{}), []image.Rectangle{{}})
		for _, r := range []image.Rectangle{far, {}, dst.Rect} {
			for axis := -1; axis < 3; axis++ {
				v.Tinted(dst, dst.Rect, r, axis)
				v.FarTinted(dst, r, dst.Rect, axis)
				v.Reference(dst, r, colour.XYZ{}, axis)
			}
			v.FarLighter(dst, r, dst.Rect)
			v.Different(dst, []image.Rectangle{r, dst.Rect, far, {}})
			v.OddColour(dst, []image.Rectangle{r, {}}, true)
			v.OddColour(image.NewRGBA(image.Rectangle{}), []image.Rectangle{r}, false)
			v.Smoother(dst, r, dst.Rect)
		}
		if v.Odd(dst, nil) != observer.CantTell || v.OddColour(dst, nil, false) != observer.CantTell {
			t.Fatal("there is an odd one among none")
		}
	}
	var dark display.Model // a screen that gives no light
	v = observer.New(kind(t, "protan"), &dark, rand.New(rand.NewPCG(1, 1)))
	for range 20 {
		v.Tinted(dst, dst.Rect, far, 0)
		v.Different(dst, []image.Rectangle{far, dst.Rect})
		v.OddColour(dst, []image.Rectangle{far, dst.Rect}, true)
		v.Smoother(dst, dst.Rect, far)
	}
}

func TestParseKind(t *testing.T) {
	k, err := observer.ParseKind([]byte(`{"name": "Okke", "threshold": 2, "lapse": 0}`))
	if want := (observer.Kind{Name: "Okke", Threshold: 2, Plain: 0.017, Lines: 0.04, LineBias: 0.03, Seconds: 2.8, Far: 0.05, Tint: 0.002, TintBias: 0.001, FarTint: 0.004, Ref: 0.006}); err != nil || k != want {
		t.Errorf("%+v, %v; want %+v", k, err, want)
	}
	if k, err := observer.ParseKind([]byte(`{}`)); err != nil || k.Name != "" || k.Threshold != 1.7 {
		t.Errorf("a kind without a name is %+v, %v", k, err)
	}
	k, err = observer.ParseKind([]byte(`{"vision": "tritan", "far": 0.1, "tint": 0.01, "tintBias": 0, "farTint": 0.03, "ref": 0.02}`))
	if err != nil || k.Vision != observer.Tritan || k.Severity != 1 || k.Far != 0.1 || k.Tint != 0.01 || k.TintBias != 0 || k.FarTint != 0.03 || k.Ref != 0.02 {
		t.Errorf("one with a vision is %+v, %v", k, err)
	}
	if k, err := observer.ParseKind([]byte(`{"vision": "deutan", "severity": 0}`)); err != nil || k.Severity != 0 {
		t.Errorf("a severity of 0 is %+v, %v", k, err)
	}
	for in, want := range map[string]string{
		`{"far": 2.1}`:                          `far is 2.1; give a number from 0 to 2`,
		`{"tint": 0.6}`:                         `tint is 0.6; give a number from 0 to 0.5`,
		`{"tintBias": -1}`:                      `tintBias is -1`,
		`{"farTint": 1}`:                        `farTint is 1`,
		`{"ref": 1}`:                            `ref is 1`,
		`{"vision": "blue"}`:                    `vision is "blue"; give "protan", "deutan" or "tritan", or leave it out`,
		`{"severity": 0.5}`:                     `severity is 0.5 without a vision`,
		`{"severity": -0.5}`:                    `severity is -0.5; give a number from 0 to 1`,
		`{"vision": "protan", "severity": 1.5}`: `severity is 1.5; give a number from 0 to 1`,
		`{"vision": 1}`:                         `vision`,
		`{"treshold": 2}`:                       `unknown field "treshold"`,
		`{"threshold": 0}`:                      "threshold is 0; give a number above 0",
		`{"threshold": -1}`:                     "threshold is -1; give a number from 0 to 100",
		`{"threshold": 101}`:                    "threshold is 101; give a number from 0 to 100",
		`{"plain": -0.1}`:                       "plain is -0.1; give a number from 0 to 2",
		`{"lines": 3}`:                          "lines is 3",
		`{"lineBias": 3}`:                       "lineBias is 3",
		`{"lapse": 1.5}`:                        "lapse is 1.5; give a number from 0 to 1",
		`{"seconds": 1e9}`:                      "seconds is 1e+09",
		`{"threshold": "2"}`:                    "threshold",
		`{"threshold": 1e999}`:                  "threshold",
		`[]`:                                    "array",
		``:                                      "EOF",
		`{"threshold": 2`:                       "EOF",
		`{"threshold": 2} {"a": 1}`:             "more",
		`{"threshold": 2}]`:                     "more",
	} {
		k, err := observer.ParseKind([]byte(in))
		if err == nil || !strings.HasPrefix(err.Error(), "observer: ") || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %s", in, err, want)
		}
		if k != (observer.Kind{}) {
			t.Errorf("%s: refused and yet %+v", in, k)
		}
	}
}

func FuzzParseKind(f *testing.F) {
	for _, s := range []string{`{}`, `{"threshold":2,"plain":0.1,"lines":0.1,"lineBias":0,"lapse":0.5,"seconds":3}`, `{"vision":"tritan","severity":0.3,"tint":0,"far":0}`, `{"threshold":0}`, `null`, `[1]`, `{"name":"x"} y`} {
		f.Add([]byte(s))
	}
	m := model()
	dst := image.NewRGBA(frame)
	f.Fuzz(func(t *testing.T, b []byte) {
		k, err := observer.ParseKind(b)
		if err != nil {
			if !strings.HasPrefix(err.Error(), "observer: ") {
				t.Fatal(err)
			}
			return
		}
		v := observer.New(k, m, rand.New(rand.NewPCG(1, 2)))
		if at := v.Odd(dst, cells()); at < observer.CantTell || at > 8 {
			t.Fatalf("%+v answers %d", k, at)
		}
		if at := v.Different(dst, cells()); at < observer.CantTell || at > 8 {
			t.Fatalf("%+v answers %d", k, at)
		}
		if at := v.OddColour(dst, cells(), true); at < observer.CantTell || at > 8 {
			t.Fatalf("%+v answers %d", k, at)
		}
		v.Lighter(dst, frame, frame)
		v.Adjust(dst, frame, frame)
		v.Tinted(dst, frame, frame, 1)
		v.FarTinted(dst, frame, frame, 0)
		v.FarLighter(dst, frame, frame)
		v.Reference(dst, frame, colour.D65.XYZ(1), 0)
		v.Smoother(dst, frame, frame)
		if v.Time() < 0 {
			t.Fatalf("%+v answers before it is asked", k)
		}
	})
}
