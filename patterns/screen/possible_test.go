package screen_test

import (
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/plumb/colour/display"
	"example.org/plumb/colour/transfer"
	"example.org/plumb/patterns/screen"
)

// What a range sends to the curve is what a described display of that range does with it.
func TestSendAsDisplaysDo(t *testing.T) {
	for at, of := range map[screen.Range]display.Range{screen.Full: display.Full, screen.Squeezed: display.FullAsLimited, screen.Lifted: display.LimitedAsFull} {
		d := display.Default()
		d.Tone = []display.Tone{{Curve: display.Gamma, Gamma: 1}} // light is the signal
		d.Room.Lux = 0
		plain := d.Model()
		d.Range = of
		d.Bits = 16 // no steps of its own
		if d.Validate() != nil {
			d.Bits = 8
		}
		m := d.Model()
		black, white := plain.Grey(0), plain.Grey(255)
		for c := range 256 {
			want := (m.Grey(uint8(c)) - black) / (white - black)
			got := at.Send(float64(c) / 255)
			// A display of 8 bits rounds what it is sent.
			if math.Abs(got-want) > 0.5/255+1e-9 {
				t.Fatalf("%v: code %d is sent as %.5f, a display has %.5f", at, c, got, want)
			}
			if at == screen.Squeezed && (c <= 16) != (got == 0) || at == screen.Squeezed && (c >= 235) != (got == 1) {
				t.Errorf("%v: code %d is sent as %g", at, c, got)
			}
		}
	}
	total := 0.0
	for r, p := range screen.RangePrior {
		total += p
		if screen.Range(r).String() == "" || p <= 0 {
			t.Errorf("%v has %g", screen.Range(r), p)
		}
	}
	if math.Abs(total-1) > 1e-12 {
		t.Errorf("ranges have %g in all", total)
	}
	if lo, hi := screen.Lifted.Send(0), screen.Lifted.Send(1); lo != 16.0/255 || hi != 235.0/255 { // ITU-R BT.709
		t.Errorf("limited shown as full runs from %g to %g", lo, hi)
	}
}

// possibles draws screens with everything that a Possible may have.
func possibles(n int) (all []screen.Possible) {
	r := rand.New(rand.NewPCG(3, 3))
	for i := range n {
		p := screen.Possible{Tone: screen.Tone{Gamma: 1.8 + r.Float64(), S: 0.1 * r.Float64()}, Clip: 255, Bits: 8}
		p.Tone.Toe = r.IntN(3) == 0
		if i%2 == 0 {
			p.Crush, p.Clip = r.IntN(30), 255-r.IntN(30)
		}
		if i%3 == 0 {
			p.Bits = 5 + r.IntN(5) // 9 bits show every code too
		}
		if i%4 > 0 {
			for a := range p.Tint {
				for k := range p.Tint[a] {
					p.Tint[a][k] = 0.003 * r.NormFloat64()
				}
			}
		}
		all = append(all, p)
	}
	return all
}

// Slow twins of what a possible screen shows: the code is lost, or rounded to the levels of its depth and sent through the curve; the tint moves red and blue.
func TestPossibleAgainstItsFormula(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	for n, p := range possibles(60) {
		grey := func(c uint8) float64 {
			if int(c) <= p.Crush {
				return 0
			}
			if int(c) >= p.Clip {
				return 1
			}
			v := float64(c) / 255
			if p.Bits < 8 {
				best := math.Inf(1)
				at := 0.0
				for l := range 1 << p.Bits { // the nearest level
					level := float64(l) / float64(int(1)<<p.Bits-1)
					if d := math.Abs(level - v); d < best {
						best, at = d, level
					}
				}
				v = at
			}
			return p.Tone.Light(v)
		}
		for c := range 256 {
			c := uint8(c)
			if got, want := p.Grey(c), grey(c); math.Abs(got-want) > 1e-12 {
				t.Fatalf("screen %d: code %d has %.12f, want %.12f", n, c, got, want)
			}
			dark, light := p.Lost(c)
			if dark != (c != 0 && p.Grey(c) == 0 && int(c) <= p.Crush) || light != (c != 255 && int(c) >= p.Clip) {
				t.Fatalf("screen %d: code %d is lost %v, %v", n, c, dark, light)
			}
		}
		for range 200 {
			c := [3]uint8{uint8(r.IntN(256)), uint8(r.IntN(256)), uint8(r.IntN(256))}
			if r.IntN(4) == 0 {
				c = [3]uint8{uint8(r.IntN(20)), uint8(r.IntN(20)), uint8(r.IntN(20))}
			}
			var got, want [3]float64
			got[0], got[1], got[2] = p.Light(c[0], c[1], c[2])
			for i := range want {
				v := float64(c[i]) / 255
				red, blue := screen.Ratio(slowTint(p.Tint[0][:], v), slowTint(p.Tint[1][:], v))
				want[i] = grey(c[i]) * math.Exp([3]float64{red, 0, blue}[i])
			}
			for i := range want {
				if math.Abs(got[i]-want[i]) > 1e-12 {
					t.Fatalf("screen %d: %v has %.6f, want %.6f", n, c, got, want)
				}
			}
			black, full := true, false
			for _, v := range c {
				black = black && int(v) <= p.Crush
				full = full || v < 255 && int(v) >= p.Clip && v == max(c[0], c[1], c[2])
			}
			if got, want := p.Hides(c[0], c[1], c[2]), c != [3]uint8{} && (black || full); got != want {
				t.Fatalf("screen %d hides %v: %v, want %v (crush %d, clip %d)", n, c, got, want, p.Crush, p.Clip)
			}
		}
	}
}

// Greys of a screen with a tint have that tint: in u'v', to first order.
func TestPossibleTints(t *testing.T) {
	for n, p := range possibles(40) {
		p.Crush, p.Clip, p.Bits = 0, 255, 8
		u0, v0 := uv(0, 0)
		for c := 60; c < 256; c += 30 {
			r, g, b := p.Light(uint8(c), uint8(c), uint8(c))
			u, v := uv(math.Log(r/g), math.Log(b/g))
			got := math.Hypot(u-u0, v-v0)
			want := screen.Length(p.Tint.At(float64(c) / 255))
			if math.Abs(got-want) > 0.1*want+1e-5 {
				t.Errorf("screen %d: code %d is %.5f from white, its tint %.5f", n, c, got, want)
			}
		}
	}
}

func TestField(t *testing.T) {
	if w := (screen.Field{}).Worst(); w != 0 {
		t.Errorf("the zero Field has %g", w)
	}
	if w := (screen.Field{Rows: 1, Cols: 3, Log: []float64{0.1, 0, -0.3}}).Worst(); w != 0.3 {
		t.Errorf("the worst place has %g", w)
	}
}

// With a gamma of 2.2 and nothing else a curve with a foot is the sRGB curve (IEC 61966-2-1), and a display of that curve has its light.
func TestToeIsTheSRGBCurve(t *testing.T) {
	d := display.Default()
	d.Tone = []display.Tone{{Curve: display.SRGB}}
	m := d.Model()
	theta := make([]float64, screen.ToneParams)
	theta[0] = 2.2
	for c := range 256 {
		v := float64(c) / 255
		want := transfer.SRGB{}.Light(v)
		if got := screen.ToeLight(theta, v, nil); math.Abs(got-want) > 1e-6 {
			t.Errorf("code %d: %.7f, the sRGB curve has %.7f", c, got, want)
		}
		if got := (screen.Tone{Gamma: 2.2, Toe: true}).Light(v); got != screen.ToeLight(theta, v, nil) {
			t.Errorf("code %d: a Tone has %g", c, got)
		}
		y := m.Light(color.RGBA{uint8(c), uint8(c), uint8(c), 255}).Y
		if got := m.Normalised(uint8(c)); math.Abs(got-want) > 1e-6 || y <= 0 {
			t.Errorf("code %d: a display has %.7f", c, got)
		}
	}
}

func TestToeGradients(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 2))
	compared := 0
	for n := range 400 {
		theta := make([]float64, screen.ToneParams)
		theta[0], theta[1], theta[2] = 1.6+r.Float64(), (r.Float64()-0.5)*0.06, r.Float64()*0.1
		if n%5 == 0 {
			theta[1] = 0
		}
		for i := 3; i < len(theta); i++ {
			theta[i] = r.NormFloat64() * 0.01
		}
		v := r.Float64()
		if n%10 == 0 {
			v = float64(n/10%9) / 8 // on a knot
		}
		grad := make([]float64, screen.ToneParams)
		if screen.ToeLight(theta, v, grad) < 4e-3 {
			continue // near where the foot begins
		}
		compared++
		for i := range theta {
			const h = 1e-6
			up, down := append([]float64(nil), theta...), append([]float64(nil), theta...)
			up[i] += h
			down[i] -= h
			want := (screen.ToeLight(up, v, nil) - screen.ToeLight(down, v, nil)) / (2 * h)
			if i == 1 && theta[1] == 0 { // black begins to rise there
				want = (screen.ToeLight(theta, v, nil) - screen.ToeLight(down, v, nil)) / h
			}
			if math.Abs(grad[i]-want) > 2e-5*math.Max(1, math.Abs(want)) {
				t.Fatalf("v %g theta %v: derivative %d is %g, numerically %g", v, theta, i, grad[i], want)
			}
		}
	}
	if compared < 250 {
		t.Errorf("only %d were compared", compared)
	}
}
