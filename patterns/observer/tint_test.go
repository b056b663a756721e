package observer_test

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/colour/display"
	"example.org/plumb/patterns"
	"example.org/plumb/patterns/observer"
)

// pair is two squares of one colour each, on grey.
func pair(a, b color.RGBA) *image.RGBA {
	dst := image.NewRGBA(frame)
	left, right := patterns.MatchRects(frame, side)
	fill(dst, frame, color.RGBA{119, 119, 119, 255})
	fill(dst, left, a)
	fill(dst, right, b)
	return dst
}

func fill(dst *image.RGBA, r image.Rectangle, c color.RGBA) {
	r = r.Intersect(dst.Rect)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			dst.SetRGBA(x, y, c)
		}
	}
}

func grey(v uint8) color.RGBA { return color.RGBA{v, v, v, 255} }

func screen(t testing.TB, text string) *display.Model {
	t.Helper()
	d, err := display.Parse([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	m := d.Model()
	return &m
}

// fraction counts how often a fresh viewer for every answer gives 0.
func fraction(n int, k observer.Kind, m *display.Model, seed uint64, answer func(v *observer.Viewer) int) int {
	count := 0
	for i := range n {
		if answer(observer.New(k, m, rand.New(rand.NewPCG(seed, uint64(i))))) == 0 {
			count++
		}
	}
	return count
}

// The units of the axes, once more from the definition of u', v' (CIE 15:2018): the move from D65 for a small change of ln X, and of ln Z.
func TestTintUnits(t *testing.T) {
	const h = 1e-6
	w := colour.D65.XYZ(1)
	for axis, c := range []struct {
		up, down colour.XYZ
		want     float64 // four decimals
	}{
		{colour.XYZ{X: w.X * math.Exp(h), Y: 1, Z: w.Z}, colour.XYZ{X: w.X * math.Exp(-h), Y: 1, Z: w.Z}, 0.1894},
		{colour.XYZ{X: w.X, Y: 1, Z: w.Z * math.Exp(-h)}, colour.XYZ{X: w.X, Y: 1, Z: w.Z * math.Exp(h)}, 0.0864},
	} {
		moved := c.up.UV().Distance(c.down.UV()) / (2 * h)
		got := (observer.Tint(c.up, axis) - observer.Tint(c.down, axis)) / (2 * h)
		if math.Abs(moved-c.want) > 1e-4 || math.Abs(got-moved) > 1e-6 {
			t.Errorf("axis %d: %v of Tint and %v in u'v' for a unit of the logarithm, want %v", axis, got, moved, c.want)
		}
	}
	// Lights e^r, 1, e^b of an sRGB screen: Δln(X/Y) about 0.2213 r + 0.1177 b, Δln(Y/Z) about 0.195 r - 0.800 b.
	m := colour.SRGB.Matrix()
	for i, want := range [][2]float64{{0.2213 * 0.1894, 0.195 * 0.0864}, {0.1177 * 0.1894, -0.800 * 0.0864}} {
		up := []colour.XYZ{{X: math.Exp(h), Y: 1, Z: 1}, {X: 1, Y: 1, Z: math.Exp(h)}}[i]
		for axis := range 2 {
			got := (observer.Tint(m.Apply(up), axis) - observer.Tint(w, axis)) / h
			if math.Abs(got-want[axis]) > 2e-4 {
				t.Errorf("light %d on axis %d: %v, want %v", i, axis, got, want[axis])
			}
		}
	}
	// Dark is no reason to stop.
	if d := observer.Tint(colour.XYZ{}, observer.PinkGreen); d != 0 {
		t.Errorf("black is tinted by %v", d)
	}
	if d := observer.Tint(colour.XYZ{X: -1, Y: 1, Z: 0}, observer.BlueYellow); math.IsNaN(d) || math.IsInf(d, 0) {
		t.Errorf("no blue is %v", d)
	}
}

// Of a screen whose channels are alike no grey has a tint, for no vision and at no place where colour is even: lines or plain.
func TestGreyHasNoTint(t *testing.T) {
	d := display.Default()
	d.Evenness = [][]float64{{0.7, 1, 0.8}}
	d.Angle = 0.2
	m := d.Model()
	white := m.White()
	for code := range 256 {
		for axis := range 2 {
			if off := observer.Tint(m.LightAt(grey(uint8(code)), 0.1, 0.9), axis) - observer.Tint(white, axis); math.Abs(off) > 1e-12 {
				t.Fatalf("grey %d is %v off white on axis %d", code, off, axis)
			}
			for _, vision := range []string{observer.Protan, observer.Deutan, observer.Tritan} {
				off := observer.Tint(deficient(t, m.Light(grey(uint8(code))), vision, 1), axis) - observer.Tint(deficient(t, white, vision, 1), axis)
				if math.Abs(off) > 1e-9 {
					t.Fatalf("%s: grey %d is %v off white on axis %d", vision, code, off, axis)
				}
			}
		}
	}
	// So half of viewers call each side pinker.
	n := many(1500)
	left, right := patterns.MatchRects(frame, side)
	dst := patterns.Render(half(150, true), frame.Dx(), frame.Dy())
	for _, name := range []string{"expert", "casual", "deutan", "strained"} {
		for axis := range 2 {
			binomial(t, name, fraction(n, kind(t, name), &m, 6, func(v *observer.Viewer) int { return v.Tinted(dst, left, right, axis) }), n, 0.5)
		}
	}
}

// p(a is pinker) = λ/2 + (1-λ) Φ((Δ + b)/σ): σ the kind's, 1.7 times as much on blue and yellow and 1 + sqrt(5/L) below 20 cd/m², 1.3 times as much in the first
// comparison and 1/e of that excess after six; b the preference for a side, of 0.3 σ, and against lines a bias.
func TestTintedByTheFormula(t *testing.T) {
	n := many(1500)
	m := model()
	left, right := patterns.MatchRects(frame, side)
	for i, c := range []struct {
		name        string
		a, b        color.RGBA
		axis, tints int
	}{
		{"typical", color.RGBA{128, 127, 127, 255}, grey(127), observer.PinkGreen, 0},
		{"typical", color.RGBA{128, 127, 127, 255}, grey(127), observer.PinkGreen, 6},
		{"expert", color.RGBA{127, 128, 127, 255}, grey(127), observer.PinkGreen, 0},
		{"typical", color.RGBA{127, 127, 124, 255}, grey(127), observer.BlueYellow, 0},
		{"casual", color.RGBA{127, 127, 140, 255}, grey(127), observer.BlueYellow, 30},
		{"typical", color.RGBA{45, 42, 42, 255}, grey(42), observer.PinkGreen, 0}, // about 3 cd/m²
		{"strained", color.RGBA{235, 225, 225, 255}, grey(225), observer.PinkGreen, 0},
		{"clicker", color.RGBA{180, 120, 120, 255}, grey(120), observer.PinkGreen, 0},
	} {
		k := kind(t, c.name)
		dst := pair(c.a, c.b)
		count := fraction(n, k, m, uint64(20+i), func(v *observer.Viewer) int {
			for range c.tints {
				v.Tinted(dst, left, right, c.axis)
			}
			return v.Tinted(dst, left, right, c.axis)
		})
		a, b := m.Light(c.a), m.Light(c.b)
		noise := k.Tint * (1 + 0.3*math.Exp(-float64(c.tints)/6)) * []float64{1, 1.7}[c.axis]
		if l := (a.Y + b.Y) / 2; l < 20 {
			noise *= 1 + math.Sqrt(5/l)
		}
		d := observer.Tint(a, c.axis) - observer.Tint(b, c.axis)
		binomial(t, c.name, count, n, k.Lapse/2+(1-k.Lapse)*normal(d/(noise*math.Sqrt(1.09))))
	}
}

// Lines have a constant error for each viewer and each axis; turning the sides round turns it with them.
func TestLinesHaveABiasOfTint(t *testing.T) {
	n := many(400)
	m := model()
	left, right := patterns.MatchRects(frame, side)
	k := kind(t, "typical")
	k.Tint, k.Lapse, k.TintBias = 1e-9, 0, 0.0015
	first, second := patterns.Render(half(186, true), frame.Dx(), frame.Dy()), patterns.Render(half(186, false), frame.Dx(), frame.Dy())
	pinker, alike := 0, 0
	for i := range n {
		v := observer.New(k, m, rand.New(rand.NewPCG(31, uint64(i))))
		p := v.Tinted(first, left, right, observer.PinkGreen) // lines on the right
		for range 5 {
			if v.Tinted(first, left, right, observer.PinkGreen) != p || v.Tinted(second, left, right, observer.PinkGreen) == p {
				t.Fatal("the error of lines is not constant")
			}
		}
		pinker += p
		if v.Tinted(first, left, right, observer.BlueYellow) == p {
			alike++
		}
	}
	binomial(t, "lines are pinker", pinker, n, 0.5)
	binomial(t, "and yellower", alike, n, 0.5)
	// Its size, against a plain patch that is 0.001 pinker.
	m = screen(t, `{"white":{"luminance":100},"black":0,"room":{"lux":0},"evennessRed":[[1.024,1,0.976]]}`)
	d := observer.Tint(lightAt(m, left, grey(186)), 0) - observer.Tint(lightAt(m, right, grey(186)), 0)
	count := fraction(many(2500), k, m, 32, func(v *observer.Viewer) int { return v.Tinted(first, left, right, observer.PinkGreen) })
	if d < 0.0005 || d > 0.003 {
		t.Fatalf("the sides are %v apart: the check says nothing", d)
	}
	binomial(t, "against a tint", count, many(2500), normal(d/k.TintBias))
}

// lightAt is the light of a colour at the middle of a region.
func lightAt(m *display.Model, r image.Rectangle, c color.RGBA) colour.XYZ {
	mid := r.Min.Add(r.Size().Div(2))
	return m.LightAt(c, float64(mid.X)/float64(frame.Dx()), float64(mid.Y)/float64(frame.Dy()))
}

// Places far apart: more noise, no bias of lines, three tenths of the preference for a side, no learning.
func TestFarByTheFormula(t *testing.T) {
	n := many(2500)
	m := screen(t, `{"evenness":[[0.9,0.95,0.9],[0.97,1,0.98],[0.93,1,0.92]],"evennessRed":[[1.02,1,1]],"evennessBlue":[[1],[1],[0.95]]}`)
	dst := image.NewRGBA(frame)
	fill(dst, frame, grey(200))
	places := []image.Rectangle{image.Rect(0, 0, 20, 20), image.Rect(80, 50, 100, 70), image.Rect(160, 100, 180, 120), image.Rect(80, 0, 100, 20)}
	for i, c := range []struct {
		name string
		a, b int
	}{{"expert", 0, 1}, {"typical", 1, 2}, {"typical", 2, 0}, {"casual", 3, 1}} {
		k := kind(t, c.name)
		p, q := lightAt(m, places[c.a], grey(200)), lightAt(m, places[c.b], grey(200))
		count := fraction(n, k, m, uint64(40+i), func(v *observer.Viewer) int { return v.FarLighter(dst, places[c.a], places[c.b]) })
		binomial(t, c.name+" lighter", count, n, k.Lapse/2+(1-k.Lapse)*normal(math.Log(p.Y/q.Y)/(k.Far*math.Hypot(1, 0.09))))
		for axis := range 2 {
			count := fraction(n, k, m, uint64(50+i), func(v *observer.Viewer) int { return v.FarTinted(dst, places[c.a], places[c.b], axis) })
			noise := k.FarTint * []float64{1, 1.7}[axis]
			d := observer.Tint(p, axis) - observer.Tint(q, axis)
			binomial(t, c.name+" tinted", count, n, k.Lapse/2+(1-k.Lapse)*normal(d/(noise*math.Hypot(1, 0.09))))
		}
	}
}

// Against a reference the noise is Ref, and only the chromaticity of the reference counts.
func TestReferenceByTheFormula(t *testing.T) {
	n := many(2500)
	m := screen(t, `{"white":{"xy":[0.31,0.325]}}`)
	left, _ := patterns.MatchRects(frame, side)
	dst := pair(grey(255), grey(0))
	for i, name := range []string{"expert", "typical", "double", "deuteranomalous"} {
		k := kind(t, name)
		for axis := range 2 {
			target := colour.XY{X: 0.316, Y: 0.328}.XYZ(87)
			count := fraction(n, k, m, uint64(60+i), func(v *observer.Viewer) int { return v.Reference(dst, left, target, axis) })
			a, b := deficient(t, m.White(), k.Vision, k.Severity), deficient(t, target, k.Vision, k.Severity)
			d := observer.Tint(a, axis) - observer.Tint(b, axis)
			binomial(t, name, count, n, k.Lapse/2+(1-k.Lapse)*normal(d/(k.Ref*[]float64{1, 1.7}[axis])))
		}
	}
}

// The rule of thumb for dim light.
func TestTintNoise(t *testing.T) {
	for _, c := range []struct {
		axis            int
		luminance, want float64
	}{
		{0, 100, 1}, {1, 100, 1.7}, {0, 20, 1}, {0, 5, 2}, {1, 5, 3.4}, {0, 0.05, 11}, {0, 0, 11},
	} {
		if got := observer.TintNoise(1, c.axis, c.luminance); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("axis %d at %v cd/m²: %v, want %v", c.axis, c.luminance, got, c.want)
		}
	}
}
