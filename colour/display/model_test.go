package display

import (
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/plumb/colour"
)

func model(t testing.TB, text string) *Model {
	t.Helper()
	d, err := Parse([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	m := d.Model()
	return &m
}

func near(a, b, tolerance float64) bool { return math.Abs(a-b) <= tolerance }

// sound checks what holds for every screen.
func sound(t *testing.T, d Description) {
	t.Helper()
	m := d.Model()
	last := math.Inf(-1)
	for code := range 256 {
		c := uint8(code)
		g := m.Grey(c)
		if !(g >= last) || math.IsInf(g, 0) {
			t.Fatalf("grey %d is %v cd/m² after %v", c, g, last)
		}
		last = g
		if y := m.Light(color.RGBA{c, c, c, 255}).Y; !near(y, g, 1e-12*(1+g)) {
			t.Fatalf("grey %d is %v by Grey and %v by Light", c, g, y)
		}
	}
	least, most := d.Black+m.Veil(), d.White.Luminance+m.Veil()
	if slack := 1e-9 * most; m.Grey(0) < least-slack || m.Grey(255) > most+slack {
		t.Fatalf("greys from %v to %v, outside of %v to %v", m.Grey(0), m.Grey(255), least, most)
	}
	if m.At(0.5, 0.5) != 1 {
		t.Fatalf("the centre is %v of itself", m.At(0.5, 0.5))
	}
	for _, c := range []color.RGBA{{}, {255, 255, 255, 255}, {200, 20, 90, 255}} {
		a, b := m.LightAt(c, 0.5, 0.5), m.Light(c)
		if slack := 1e-9 * most; !near(a.X, b.X, slack*(1+math.Abs(b.X/b.Y))) || !near(a.Y, b.Y, slack) || !near(a.Z, b.Z, slack*(1+math.Abs(b.Z/b.Y))) {
			t.Fatalf("%v is %v at the centre by LightAt and %v by Light", c, a, b)
		}
		if l := m.LightAt(c, 0.1, 0.9); !(l.Y >= 0) || math.IsInf(l.Y, 0) {
			t.Fatalf("%v is %v near a corner", c, l)
		}
	}
	// Greys of Display P3 are greys of every screen, with the same code.
	for code := range 256 {
		c := color.RGBA{uint8(code), uint8(code), uint8(code), 7}
		if to := m.FromP3(c); to != c {
			t.Fatalf("grey %d of Display P3 is sent as %v", code, to)
		}
	}
}

// The plain formulas, written out once more for one channel and one code, are the slow twin of the tables.
func twin(d Description, channel, code int) float64 {
	v := float64(code) / 255
	if code <= d.Crush {
		v = 0
	} else if code >= d.Clip {
		v = 1
	}
	switch d.Range {
	case LimitedAsFull:
		v = (16 + 219*v) / 255
	case FullAsLimited:
		v = min(max((255*v-16)/219, 0), 1)
	}
	n := math.Pow(2, float64(d.Bits)) - 1
	v = math.Round(v*n) / n
	tone := d.Tone[channel%len(d.Tone)]
	v = v - tone.S*math.Sin(2*math.Pi*v)
	switch tone.Curve {
	case Gamma:
		return math.Pow(max(v*(1-tone.Offset)+tone.Offset, 0), tone.Gamma)
	case SRGB:
		if v <= 0.04045 {
			return v / 12.92
		}
		return math.Pow((v+0.055)/1.055, 2.4)
	case LStar:
		if v <= 0.08 {
			return v * 100 / 903.2962962962963
		}
		return math.Pow((v*100+16)/116, 3)
	case BT1886:
		w, k := math.Pow(d.White.Luminance, 1/2.4), math.Pow(d.Black, 1/2.4)
		l := math.Pow(w-k, 2.4) * math.Pow(max(v+k/(w-k), 0), 2.4)
		return (l - d.Black) / (d.White.Luminance - d.Black)
	}
	at := v * float64(len(tone.Samples)-1)
	i := min(int(at), len(tone.Samples)-2)
	return tone.Samples[i] + (at-float64(i))*(tone.Samples[i+1]-tone.Samples[i])
}

func draw(r *rand.Rand) Description {
	d := Default()
	d.White.Luminance = 20 + 400*r.Float64()
	d.Black = r.Float64() * float64(r.IntN(2))
	d.White.XY = [2]float64{0.29 + 0.06*r.Float64(), 0.31 + 0.05*r.Float64()}
	d.Primaries.Name = []string{"srgb", "p3", "adobe"}[r.IntN(3)]
	d.Room = Room{500 * r.Float64(), 0.02 * r.Float64()}
	d.Range = []Range{Full, LimitedAsFull, FullAsLimited}[r.IntN(3)]
	d.Bits = 5 + r.IntN(6)
	d.Crush, d.Clip = r.IntN(30), 225+r.IntN(31)
	d.Tone = make([]Tone, 1+2*r.IntN(2))
	for i := range d.Tone {
		d.Tone[i] = Tone{Gamma: 1.4 + 1.6*r.Float64(), Offset: 0.2*r.Float64() - 0.1, S: 0.15 * r.Float64()}
		d.Tone[i].Curve = []Curve{Gamma, SRGB, LStar, BT1886, Samples}[r.IntN(5)]
		if d.Tone[i].Curve == Samples {
			d.Tone[i].Samples = []float64{0, 0.3 * r.Float64(), 0.3 + 0.3*r.Float64(), 1}
		}
	}
	return d
}

func TestTwin(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 200 {
		d := draw(r)
		sound(t, d)
		m := d.Model()
		p := named[d.Primaries.Name]
		w := colour.XY{X: d.White.XY[0], Y: d.White.XY[1]}
		matrix, err := colour.Primaries(p[0], p[1], p[2], w)
		if err != nil {
			t.Fatal(err)
		}
		veil := d.Room.Lux * d.Room.Reflectance / math.Pi
		for range 100 {
			c := color.RGBA{uint8(r.IntN(256)), uint8(r.IntN(256)), uint8(r.IntN(256)), 255}
			light := matrix.Apply(colour.XYZ{X: twin(d, 0, int(c.R)), Y: twin(d, 1, int(c.G)), Z: twin(d, 2, int(c.B))}).
				Scale(d.White.Luminance - d.Black).Add(w.XYZ(d.Black + veil))
			got := m.Light(c)
			if tolerance := 1e-10 * d.White.Luminance; !near(got.X, light.X, tolerance) || !near(got.Y, light.Y, tolerance) || !near(got.Z, light.Z, tolerance) {
				t.Fatalf("%+v\n%v gives %v, want %v", d, c, got, light)
			}
			if y := m.Luminance(c.R, c.G, c.B); !near(y, got.Y, 1e-12*d.White.Luminance) {
				t.Fatalf("%v: Luminance %v, Light %v", c, y, got.Y)
			}
		}
	}
}

// By hand: 160 cd/m², black 0.16, 100 lx on 1 %.
func TestDefaultScreen(t *testing.T) {
	m := model(t, `{}`)
	veil := 1 / math.Pi
	for _, v := range []struct {
		code uint8
		want float64
	}{{0, 0.16 + veil}, {255, 160 + veil}, {128, 0.16 + 159.84*0.21951972 + veil}} { // (128/255)^2.2
		if g := m.Grey(v.code); !near(g, v.want, 1e-6) {
			t.Errorf("grey %d is %v cd/m², want %v", v.code, g, v.want)
		}
	}
	if !near(m.Veil(), veil, 1e-15) {
		t.Errorf("veil %v, want %v", m.Veil(), veil)
	}
	if w := m.White(); !near(w.XY().X, 0.3127, 1e-12) || !near(w.XY().Y, 0.3290, 1e-12) || !near(w.Y, 160+veil, 1e-10) {
		t.Errorf("white %v", w)
	}
	for code := range 256 {
		if n := m.Normalised(uint8(code)); !near(n, math.Pow(float64(code)/255, 2.2), 1e-12) {
			t.Errorf("normalised %d is %v", code, n)
		}
		// Room light dilutes, but greys keep the white's chromaticity.
		if d := m.Light(color.RGBA{uint8(code), uint8(code), uint8(code), 255}).UV().Distance(m.White().UV()); d > 1e-12 {
			t.Errorf("grey %d is %v from the white in u', v'", code, d)
		}
	}
}

func TestPrimaries(t *testing.T) {
	for name, space := range map[string]*colour.Space{"srgb": colour.SRGB, "p3": colour.DisplayP3, "adobe": colour.AdobeRGB} {
		m := model(t, `{"primaries":"`+name+`","white":{"luminance":1},"black":0,"room":{"lux":0},"tone":[{"gamma":1}]}`)
		for i, c := range []color.RGBA{{R: 255}, {G: 255}, {B: 255}} {
			want := space.Matrix().Apply([]colour.XYZ{{X: 1}, {Y: 1}, {Z: 1}}[i])
			got := m.Light(c)
			if !near(got.X, want.X, 1e-12) || !near(got.Y, want.Y, 1e-12) || !near(got.Z, want.Z, 1e-12) {
				t.Errorf("%s: %v gives %v, want %v", name, c, got, want)
			}
		}
	}
	// A screen with another white keeps its primaries' chromaticities.
	m := model(t, `{"white":{"xy":[0.31,0.34]},"black":0,"room":{"lux":0}}`)
	if c := m.Light(color.RGBA{R: 255}).XY(); !near(c.X, 0.64, 1e-12) || !near(c.Y, 0.33, 1e-12) {
		t.Errorf("red is %v", c)
	}
	if c := m.White().XY(); !near(c.X, 0.31, 1e-12) || !near(c.Y, 0.34, 1e-12) {
		t.Errorf("white is %v", c)
	}
}

const dark = `"white":{"luminance":100},"black":0,"room":{"lux":0}`

func TestRange(t *testing.T) {
	full := model(t, `{`+dark+`,"tone":[{"gamma":2}]}`)
	lifted := model(t, `{`+dark+`,"tone":[{"gamma":2}],"range":"limited-as-full"}`)
	lost := model(t, `{`+dark+`,"tone":[{"gamma":2}],"range":"full-as-limited"}`)
	// 16 to 235 is what a limited-as-full screen shows.
	for _, v := range []struct{ code, shown uint8 }{{0, 16}, {255, 235}} {
		if a, b := lifted.Grey(v.code), full.Grey(v.shown); !near(a, b, 1e-12) {
			t.Errorf("limited-as-full: code %d is %v, want %v, as code %d", v.code, a, b, v.shown)
		}
	}
	for code := range 256 {
		g := lost.Grey(uint8(code))
		switch {
		case code <= 16 && g != 0:
			t.Errorf("full-as-limited: code %d is %v, want black", code, g)
		case code >= 235 && !near(g, 100, 1e-12):
			t.Errorf("full-as-limited: code %d is %v, want white", code, g)
		case code > 16 && code < 235 && (g <= 0 || g >= 100):
			t.Errorf("full-as-limited: code %d is lost", code)
		}
	}
	if n := lifted.Normalised(0); n != 0 {
		t.Errorf("limited-as-full: the darkest is %v", n)
	}
	if n := lifted.Normalised(255); n != 1 {
		t.Errorf("limited-as-full: the lightest is %v", n)
	}
}

func TestCrushClip(t *testing.T) {
	plain := model(t, `{`+dark+`}`)
	m := model(t, `{`+dark+`,"crush":12,"clip":250}`)
	for code := range 256 {
		want := plain.Grey(uint8(code))
		if code <= 12 {
			want = plain.Grey(0)
		}
		if code >= 250 {
			want = plain.Grey(255)
		}
		if g := m.Grey(uint8(code)); g != want {
			t.Errorf("code %d is %v, want %v", code, g, want)
		}
	}
	// Crush is of the code as sent: with lifted black the crushed codes look like the lifted black.
	m = model(t, `{`+dark+`,"crush":12,"range":"limited-as-full"}`)
	if m.Grey(12) != m.Grey(0) || m.Grey(12) == 0 || m.Grey(13) <= m.Grey(12) {
		t.Errorf("crushed and lifted: %v, %v, %v", m.Grey(0), m.Grey(12), m.Grey(13))
	}
}

func TestBits(t *testing.T) {
	levels := func(m *Model) int {
		n, last := 0, -1.0
		for code := range 256 {
			if g := m.Grey(uint8(code)); g != last {
				n, last = n+1, g
			}
		}
		return n
	}
	for bits, want := range map[string]int{"5": 32, "6": 64, "7": 128, "8": 256, "9": 256, "10": 256} {
		if n := levels(model(t, `{"bits":`+bits+`}`)); n != want {
			t.Errorf("%s bits show %d levels, want %d", bits, n, want)
		}
	}
	m := model(t, `{`+dark+`,"tone":[{"gamma":1}]}`)
	for code := range 256 {
		if g, want := m.Grey(uint8(code)), 100*float64(code)/255; !near(g, want, 1e-12) {
			t.Errorf("8 bits: code %d is %v, want %v", code, g, want)
		}
	}
	// Six bits by hand: code 2 rounds down to level 0, code 3 up to level 1.
	m = model(t, `{`+dark+`,"tone":[{"gamma":1}],"bits":6}`)
	if m.Grey(2) != 0 || !near(m.Grey(3), 100.0/63, 1e-12) {
		t.Errorf("6 bits: codes 2 and 3 are %v and %v", m.Grey(2), m.Grey(3))
	}
	// After the range map: 8 bits keep the stretched codes apart from the plain ones.
	m = model(t, `{`+dark+`,"tone":[{"gamma":1}],"range":"full-as-limited"}`)
	if g, want := m.Grey(100), 100*math.Round(84.0/219*255)/255; !near(g, want, 1e-12) {
		t.Errorf("stretched code 100 is %v, want %v", g, want)
	}
}

func TestTone(t *testing.T) {
	// The S-shape leaves the ends and the middle, darkens below and lightens above; it comes before the curve.
	m := model(t, `{`+dark+`,"tone":[{"gamma":2,"s":0.1}],"evenness":[[1]]}`)
	v := 64.0 / 255
	if g, want := m.Grey(64), 100*math.Pow(v-0.1*math.Sin(2*math.Pi*v), 2); !near(g, want, 1e-12) {
		t.Errorf("S-shape: code 64 is %v, want %v", g, want)
	}
	// An offset lifts or crushes the dark end and leaves white.
	lifted := model(t, `{`+dark+`,"tone":[{"offset":0.05}]}`)
	crushed := model(t, `{`+dark+`,"tone":[{"offset":-0.05}]}`)
	if g, want := lifted.Grey(0), 100*math.Pow(0.05, 2.2); !near(g, want, 1e-12) {
		t.Errorf("offset 0.05: black is %v, want %v", g, want)
	}
	if crushed.Grey(12) != 0 || crushed.Grey(13) <= 0 { // 0.05/1.05*255 = 12.1
		t.Errorf("offset -0.05: codes 12 and 13 are %v and %v", crushed.Grey(12), crushed.Grey(13))
	}
	if !near(lifted.Grey(255), 100, 1e-12) || !near(crushed.Grey(255), 100, 1e-12) {
		t.Errorf("offset: white is %v and %v", lifted.Grey(255), crushed.Grey(255))
	}
	// BT.1886 takes the screen's own white and black: annex 1 gives 21.604911 cd/m² at half signal for 100 and 0.1 cd/m².
	m = model(t, `{"white":{"luminance":100},"black":0.1,"room":{"lux":0},"tone":[{"curve":"bt1886"}]}`)
	below, above := m.Grey(127), m.Grey(128)
	if mid := (below + above) / 2; !near(mid, 21.604911, 2e-3) {
		t.Errorf("BT.1886 is %v about half signal", mid)
	}
	// Three entries go to red, green and blue.
	m = model(t, `{`+dark+`,"tone":[{"gamma":1},{"gamma":2},{"gamma":3}]}`)
	for i, c := range []color.RGBA{{R: 128}, {G: 128}, {B: 128}} {
		full := []color.RGBA{{R: 255}, {G: 255}, {B: 255}}[i]
		if part, want := m.Light(c).Y/m.Light(full).Y, math.Pow(128.0/255, float64(i+1)); !near(part, want, 1e-12) {
			t.Errorf("channel %d: %v of its light, want %v", i, part, want)
		}
	}
	// Samples are at equally spaced codes.
	m = model(t, `{`+dark+`,"tone":[{"curve":"samples","samples":[0,0.1,0.4,1]}]}`)
	for code, want := range map[uint8]float64{0: 0, 85: 10, 170: 40, 255: 100} {
		if g := m.Grey(code); !near(g, want, 1e-12) {
			t.Errorf("samples: code %d is %v, want %v", code, g, want)
		}
	}
}

func TestAt(t *testing.T) {
	m := model(t, `{"evenness":[[0.8,0.9,0.7],[0.95,1,0.9],[0.6,0.8,0.5]]}`)
	for _, v := range []struct{ x, y, want float64 }{
		{0, 0, 0.8}, {0.5, 0, 0.9}, {1, 0, 0.7}, {0, 0.5, 0.95}, {0.5, 0.5, 1}, {1, 1, 0.5}, {0, 1, 0.6},
		{0.25, 0, 0.85}, {0, 0.25, 0.875}, {0.25, 0.25, (0.8 + 0.9 + 0.95 + 1) / 4}, {0.75, 0.75, (1 + 0.9 + 0.8 + 0.5) / 4},
		{-1, -1, 0.8}, {2, 2, 0.5}, {math.NaN(), math.NaN(), 0.8},
	} {
		if f := m.At(v.x, v.y); !near(f, v.want, 1e-15) {
			t.Errorf("At(%v, %v) = %v, want %v", v.x, v.y, f, v.want)
		}
	}
	// Whatever the grid's unit is, the centre is 1.
	m = model(t, `{"evenness":[[2,4]]}`)
	if m.At(0.5, 0.5) != 1 || !near(m.At(0, 0.3), 2.0/3, 1e-15) || !near(m.At(1, 0.9), 4.0/3, 1e-15) {
		t.Errorf("2, 4: %v, %v, %v", m.At(0, 0.3), m.At(0.5, 0.5), m.At(1, 0.9))
	}
	m = model(t, `{"evenness":[[7]]}`)
	if m.At(0, 0) != 1 || m.At(1, 1) != 1 {
		t.Errorf("one place: %v, %v", m.At(0, 0), m.At(1, 1))
	}
}

func TestZeroModel(t *testing.T) {
	var m Model
	white := color.RGBA{255, 255, 255, 255}
	if m.Light(white) != (colour.XYZ{}) || m.Luminance(1, 2, 3) != 0 || m.Normalised(255) != 0 || m.At(0.5, 0.5) != 0 ||
		m.LightAt(white, 0.5, 0.5) != (colour.XYZ{}) || m.LightP3(white) != (colour.XYZ{}) || m.Reflected() != (colour.XYZ{}) || m.Lines() != (Lines{}) {
		t.Error("the zero Model gives light")
	}
}

func BenchmarkLuminance(b *testing.B) {
	m := model(b, `{}`)
	var c uint8
	for b.Loop() {
		m.Luminance(c, c+1, c+2)
		c++
	}
}

func BenchmarkModel(b *testing.B) {
	d := Default()
	for b.Loop() {
		d.Model()
	}
}
