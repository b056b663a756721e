package observer_test

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/colour/difference"
	"example.org/plumb/colour/display"
	"example.org/plumb/colour/transfer"
	"example.org/plumb/patterns"
	"example.org/plumb/patterns/observer"
)

// answers counts right answers and those of nothing seen.
func answers(t *testing.T, n int, k observer.Kind, m *display.Model, seed uint64, answer func(v *observer.Viewer, cell int) int) (right, unsure int) {
	t.Helper()
	v := observer.New(k, m, rand.New(rand.NewPCG(seed, 1)))
	for i := range n {
		switch at := answer(v, i%4); {
		case at == i%4:
			right++
		case at == observer.CantTell:
			unsure++
		case at < 0 || at > 3:
			t.Fatalf("the answer is %d", at)
		}
	}
	return right, unsure
}

// expect checks both counts against the probability that the odd one of four is seen.
func expect(t *testing.T, what string, k observer.Kind, right, unsure, n int, seen float64) {
	t.Helper()
	guess := (1 - k.Lapse) * (1 - seen) / 2
	binomial(t, what+", right", right, n, k.Lapse/4+(1-k.Lapse)*seen+guess/4)
	binomial(t, what+", can't tell", unsure, n, guess)
}

// One of four quadrants that differs is seen by the formula of Odd, at the light where the quadrants meet: unevenness does not show.
func TestDifferentByTheFormula(t *testing.T) {
	n := many(2000)
	for i, text := range []string{`{}`, `{"evenness":[[0.6,0.8,0.7],[0.9,1,0.8],[0.5,0.9,0.6]],"angle":0.2}`} {
		m := screen(t, text)
		for _, c := range []struct {
			name        string
			base, patch uint8
		}{{"expert", 60, 61}, {"typical", 60, 61}, {"typical", 100, 99}, {"casual", 40, 41}, {"typical", 50, 50}, {"deutan", 113, 114}} {
			k := kind(t, c.name)
			cells := make([]image.Rectangle, 4)
			var frames [4]*image.RGBA
			for cell := range 4 {
				cells[cell] = patterns.QuarterRect(frame, cell)
				frames[cell] = patterns.Render(patterns.Quarters{Ground: 30, Base: c.base, Patch: c.patch, Cell: cell}, frame.Dx(), frame.Dy())
			}
			right, unsure := answers(t, n, k, m, uint64(70+i), func(v *observer.Viewer, cell int) int { return v.Different(frames[cell], cells) })
			d := math.Abs(m.Grey(c.patch)-m.Grey(c.base)) / (k.Threshold * transfer.GSDFStep(m.Grey(c.base)))
			expect(t, c.name, k, right, unsure, n, 1-math.Exp(-math.Pow(d, 2.5)))
		}
	}
	// Few cells are no reason to stop.
	v := observer.New(kind(t, "typical"), model(), rand.New(rand.NewPCG(1, 1)))
	dst := image.NewRGBA(frame)
	if at := v.Different(dst, nil); at != observer.CantTell {
		t.Errorf("of no cells it is %d", at)
	}
	for range 20 {
		if at := v.Different(dst, []image.Rectangle{frame}); at > 0 {
			t.Errorf("of one cell it is %d", at)
		}
	}
}

// A mark is seen with Φ((ΔE00 - 1.3 k)/(0.6 k)), k being the threshold over a typical viewer's, relative to the screen's white at the place, so that
// unevenness leaves it, but for the veil's share.
func TestOddColourByTheFormula(t *testing.T) {
	n := many(1500)
	p3 := screen(t, `{"primaries":"p3","tone":[{"curve":"srgb"}]}`)
	uneven := screen(t, `{"evenness":[[0.6,1,0.6]]}`)
	red, green, shade := [3]uint8{234, 51, 35}, [3]uint8{117, 251, 76}, [3]uint8{150, 150, 150}
	for i, c := range []struct {
		name       string
		m          *display.Model
		base, mark [3]uint8
		p3         bool
	}{
		{"typical", model(), shade, [3]uint8{152, 148, 150}, false},
		{"expert", model(), shade, [3]uint8{151, 149, 150}, false},
		{"casual", uneven, shade, [3]uint8{155, 146, 150}, false},
		{"deutan", model(), shade, [3]uint8{158, 147, 150}, false},
		{"typical", model(), red, [3]uint8{255, 0, 0}, true},
		{"typical", p3, red, [3]uint8{236, 51, 35}, true},
		{"typical", p3, red, [3]uint8{255, 0, 0}, true},
		{"protan", p3, green, [3]uint8{0, 255, 0}, true},
	} {
		k := kind(t, c.name)
		cells := make([]image.Rectangle, 4)
		var frames [4]*image.RGBA
		for cell := range 4 {
			cells[cell] = patterns.FoursRect(frame, cell)
			frames[cell] = patterns.Render(patterns.Fours{Ground: 40, Base: c.base, Mark: c.mark, Cell: cell}, frame.Dx(), frame.Dy())
		}
		right, unsure := answers(t, n, k, c.m, uint64(80+i), func(v *observer.Viewer, cell int) int { return v.OddColour(frames[cell], cells, c.p3) })
		lab := func(v [3]uint8) colour.Lab {
			p := color.RGBA{v[0], v[1], v[2], 255}
			light, white := c.m.Light(p), c.m.White()
			if c.p3 {
				light = c.m.LightP3(p)
			}
			return deficient(t, light, k.Vision, k.Severity).Lab(deficient(t, white, k.Vision, k.Severity))
		}
		s := k.Threshold / 1.7
		seen := normal((difference.CIEDE2000(lab(c.base), lab(c.mark)) - 1.3*s) / (0.6 * s))
		expect(t, c.name, k, right, unsure, n, seen)
	}
}

// A mark may be anywhere in the middle of a cell, and is more than a speck; where there is none, who thinks to see one does so anywhere.
func TestMarks(t *testing.T) {
	m := model()
	k := kind(t, "typical")
	k.Lapse = 0
	cells := []image.Rectangle{image.Rect(0, 0, 60, 60), image.Rect(60, 0, 120, 60), image.Rect(120, 0, 180, 60)}
	for what, c := range map[string]struct {
		mark image.Rectangle
		sees bool
	}{"a stroke beside the middle": {image.Rect(77, 17, 80, 43), true}, "a speck": {image.Rect(89, 29, 91, 31), false}, "a border": {image.Rect(60, 50, 120, 60), false}} {
		dst := image.NewRGBA(frame)
		fill(dst, frame, grey(150))
		fill(dst, c.mark, color.RGBA{180, 140, 150, 255})
		v := observer.New(k, m, rand.New(rand.NewPCG(91, 1)))
		found := 0
		for range 100 {
			if v.OddColour(dst, cells, false) == 1 {
				found++
			}
		}
		if c.sees && found < 95 || !c.sees && found > 40 {
			t.Errorf("%s is found %d times of 100", what, found)
		}
	}
	n := many(20000)
	dst := image.NewRGBA(image.Rect(0, 0, 27, 9))
	fill(dst, dst.Rect, grey(150))
	small := []image.Rectangle{image.Rect(0, 0, 9, 9), image.Rect(9, 0, 18, 9), image.Rect(18, 0, 27, 9)}
	counts := map[int]int{}
	v := observer.New(k, m, rand.New(rand.NewPCG(92, 1)))
	for range n {
		counts[v.OddColour(dst, small, false)]++
	}
	for cell := range small {
		p := normal(-1.3 / 0.6)
		binomial(t, "no mark", counts[cell], n, (p+(1-p)/2)/3)
	}
}

// The mark of a canvas in Display P3 shows on a managed screen of these primaries, and neither on one of sRGB's nor where nothing manages colours.
func TestWhoSeesTheWideMark(t *testing.T) {
	const n = 200
	k := kind(t, "typical")
	for text, sees := range map[string]bool{
		`{"primaries":"p3","managed":true}`: true, `{"primaries":"srgb","managed":true}`: false,
		`{"primaries":"p3","managed":false}`: false, `{"primaries":"srgb","managed":false}`: false,
	} {
		m := screen(t, text)
		for _, marks := range [][2][3]uint8{{{234, 51, 35}, {255, 0, 0}}, {{117, 251, 76}, {0, 255, 0}}} {
			cells := make([]image.Rectangle, 4)
			var frames [4]*image.RGBA
			for cell := range 4 {
				cells[cell] = patterns.FoursRect(frame, cell)
				frames[cell] = patterns.Render(patterns.Fours{Ground: 40, Base: marks[0], Mark: marks[1], Cell: cell}, frame.Dx(), frame.Dy())
			}
			right, _ := answers(t, n, k, m, 90, func(v *observer.Viewer, cell int) int { return v.OddColour(frames[cell], cells, true) })
			if sees && right < n*9/10 || !sees && right > n/3 {
				t.Errorf("%s: the mark %v is found %d times of %d", text, marks[1], right, n)
			}
		}
	}
}

// Two ramps: the one of larger steps loses by a normal function of SD 0.35 in the log of the ratio of steps, none being told from less than a threshold.
func TestSmootherByTheFormula(t *testing.T) {
	n := many(2000)
	m := model()
	k := kind(t, "expert")
	a, b := image.Rect(0, 0, 180, 50), image.Rect(0, 70, 180, 120)
	ramp := func(dst *image.RGBA, r image.Rectangle, step int) {
		for x := r.Min.X; x < r.Max.X; x++ {
			fill(dst, image.Rect(x, r.Min.Y, x+1, r.Max.Y), grey(uint8(100+x/18/step*step)))
		}
	}
	size := func(step int) float64 { // in thresholds
		sum, cubes := 0.0, 0.0
		for x := range 9 {
			p, q := m.Grey(uint8(100+x/step*step)), m.Grey(uint8(100+(x+1)/step*step))
			d := (q - p) / transfer.GSDFStep((p+q)/2)
			sum, cubes = sum+d, cubes+d*d*d
		}
		return math.Sqrt(cubes/sum) / k.Threshold
	}
	for i, c := range []struct{ upper, lower int }{{1, 1}, {1, 2}, {2, 1}, {3, 2}, {1, 3}} {
		dst := image.NewRGBA(frame)
		ramp(dst, a, c.upper)
		ramp(dst, b, c.lower)
		count := fraction(n, k, m, uint64(100+i), func(v *observer.Viewer) int { return v.Smoother(dst, a, b) })
		d := math.Log(max(size(c.lower), 1) / max(size(c.upper), 1))
		binomial(t, "expert", count, n, k.Lapse/2+(1-k.Lapse)*normal(d/(0.35*math.Sqrt(1.09))))
	}
	// Steps below the threshold are none.
	blind := k
	blind.Threshold = 100
	dst := image.NewRGBA(frame)
	ramp(dst, a, 1)
	ramp(dst, b, 3)
	binomial(t, "one who sees no steps", fraction(n, blind, m, 110, func(v *observer.Viewer) int { return v.Smoother(dst, a, b) }), n, 0.5)
}

// After 12 minutes of answers a viewer guesses half as often again; one who guesses always cannot guess more.
func TestFatigue(t *testing.T) {
	n := many(4000)
	m := model()
	left, right := patterns.MatchRects(frame, side)
	dst := pair(grey(10), grey(250))
	for _, c := range []struct{ lapse, want float64 }{{0.2, 0.3}, {0.9, 1}} {
		k := kind(t, "typical")
		k.Lapse, k.Seconds = c.lapse, 0.5
		v := observer.New(k, m, rand.New(rand.NewPCG(120, 1)))
		wrong, asked := 0, 0
		for spent := v.Time().Minutes(); spent < 12; spent += v.Time().Minutes() {
			if asked++; v.Lighter(dst, left, right) == 0 {
				wrong++
			}
		}
		if asked < 500 {
			t.Fatalf("%d answers in 12 minutes", asked)
		}
		binomial(t, "fresh", wrong, asked, c.lapse/2)
		wrong = 0
		for range n {
			wrong += 1 - v.Lighter(dst, left, right)
		}
		binomial(t, "tired", wrong, n, c.want/2)
	}
}

// Each question is answered by its own regions and nothing else.
func TestQuestionsLookNowhereElse(t *testing.T) {
	m := model()
	k := kind(t, "typical")
	quarters, fours := make([]image.Rectangle, 4), make([]image.Rectangle, 4)
	for i := range 4 {
		quarters[i], fours[i] = patterns.QuarterRect(frame, i), patterns.FoursRect(frame, i)
	}
	left, right := patterns.MatchRects(frame, side)
	for name, c := range map[string]struct {
		regions []image.Rectangle
		paint   patterns.Pattern
		answer  func(v *observer.Viewer, dst *image.RGBA) int
	}{
		"tinted":     {[]image.Rectangle{left, right}, half(186, true), func(v *observer.Viewer, dst *image.RGBA) int { return v.Tinted(dst, left, right, 0) }},
		"far tinted": {[]image.Rectangle{left, right}, half(186, true), func(v *observer.Viewer, dst *image.RGBA) int { return v.FarTinted(dst, left, right, 1) }},
		"far":        {[]image.Rectangle{left, right}, half(186, true), func(v *observer.Viewer, dst *image.RGBA) int { return v.FarLighter(dst, left, right) }},
		"reference": {[]image.Rectangle{left}, half(186, true), func(v *observer.Viewer, dst *image.RGBA) int {
			return v.Reference(dst, left, colour.D65.XYZ(1), 0)
		}},
		"different": {quarters, patterns.Quarters{Base: 60, Patch: 61, Cell: 2}, func(v *observer.Viewer, dst *image.RGBA) int { return v.Different(dst, quarters) }},
		"colour":    {fours, patterns.Fours{Base: [3]uint8{150, 150, 150}, Mark: [3]uint8{152, 148, 150}, Cell: 1}, func(v *observer.Viewer, dst *image.RGBA) int { return v.OddColour(dst, fours, false) }},
		"smoother":  {[]image.Rectangle{left, right}, patterns.Gradient{From: 0, To: 255}, func(v *observer.Viewer, dst *image.RGBA) int { return v.Smoother(dst, left, right) }},
	} {
		differ := 0
		for i := range 25 {
			answer := func(keep []image.Rectangle) int {
				dst := patterns.Render(c.paint, frame.Dx(), frame.Dy())
				if keep != nil {
					scatter(dst, rand.New(rand.NewPCG(11, uint64(i))), keep)
				}
				return c.answer(observer.New(k, m, rand.New(rand.NewPCG(12, uint64(i)))), dst)
			}
			clean := answer(nil)
			if dirty := answer(c.regions); dirty != clean {
				t.Fatalf("%s: with noise around, %d becomes %d", name, clean, dirty)
			}
			if answer([]image.Rectangle{}) != clean {
				differ++
			}
		}
		if differ == 0 {
			t.Errorf("%s: noise everywhere makes no difference: the test sees nothing", name)
		}
	}
}
