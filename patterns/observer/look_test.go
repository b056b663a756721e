package observer

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/colour/display"
	"example.org/plumb/colour/transfer"
	"example.org/plumb/patterns"
)

// The light of every pixel by itself is the slow twin of look, for regions of every texture, at their place on an uneven screen.
func TestLookTwin(t *testing.T) {
	d := display.Default()
	d.Evenness, d.EvennessRed, d.EvennessBlue = [][]float64{{0.8, 1}, {0.9, 1.1}}, [][]float64{{1.02, 0.99}}, [][]float64{{0.96}, {1}}
	d.Angle = 0.2
	m := d.Model()
	r := rand.New(rand.NewPCG(1, 3))
	frame := image.NewRGBA(image.Rect(10, 20, 90, 80))
	for i := range 60 {
		for p := range frame.Pix {
			frame.Pix[p] = uint8(r.IntN(1 + 255*(i%4)/3))
		}
		region := image.Rect(r.IntN(90), 10+r.IntN(70), r.IntN(100), 10+r.IntN(80))
		v := New(Kinds[0], &m, r)
		if i%2 == 1 {
			v = New(Kind{Vision: Deutan, Severity: 0.5}, &m, r)
		}
		seen := region.Intersect(frame.Rect)
		want := colour.D65.XYZ(0.05)
		if !seen.Empty() {
			x, y := (float64(seen.Min.X+seen.Dx()/2)-10)/80, (float64(seen.Min.Y+seen.Dy()/2)-20)/60
			sum := colour.XYZ{}
			for j := seen.Min.Y; j < seen.Max.Y; j++ {
				for k := seen.Min.X; k < seen.Max.X; k++ {
					sum = sum.Add(m.LightAt(frame.RGBAAt(k, j), x, y))
				}
			}
			want = sum.Scale(1 / float64(seen.Dx()*seen.Dy()))
			want = v.see(want)
		}
		got := v.look(frame, region)
		if math.Abs(got.X-want.X)+math.Abs(got.Y-want.Y)+math.Abs(got.Z-want.Z) > 1e-10 {
			t.Fatalf("%v is %v, want %v", region, got, want)
		}
		if v.light(frame, region) != got.Y {
			t.Fatalf("%v: light is not the Y of look", region)
		}
	}
}

// What a deficiency's map takes below 0 is none: of the blue of sRGB the deutan map leaves -0.227968, 0.047413 and 0.968881 (Machado, Oliveira and Fernandes 2009).
func TestSeeCutsOff(t *testing.T) {
	m := display.Default().Model()
	v := New(Kind{Vision: Deutan, Severity: 1}, &m, rand.New(rand.NewPCG(1, 1)))
	to := colour.SRGB.Matrix()
	got, want := v.see(to.Apply(colour.XYZ{Z: 10})), to.Apply(colour.XYZ{Y: 0.47413, Z: 9.68881})
	if math.Abs(got.X-want.X)+math.Abs(got.Y-want.Y)+math.Abs(got.Z-want.Z) > 1e-10 {
		t.Errorf("blue is seen as %v, want %v", got, want)
	}
}

// Rows and columns come out by as much lighter as the screen makes them; plain colours, slow ramps and lines of two directions do not.
func TestAlteredLines(t *testing.T) {
	d := display.Default()
	d.Lines = display.Lines{Rows: 0.06, Columns: -0.04}
	altered := d.Model()
	d.Lines = display.Lines{}
	faithful := d.Model()
	frame := image.Rect(0, 0, 60, 40)
	checks := image.NewRGBA(frame)
	for y := range 40 {
		for x := range 60 {
			c := uint8((x + y) % 2 * 255)
			checks.SetRGBA(x, y, color.RGBA{c, c, c, 255})
		}
	}
	red := patterns.Render(patterns.Mix{A: 0, B: 255, Lit: 1, Of: 2}, 60, 40)
	for i := range red.Pix {
		if i%4 == 1 || i%4 == 2 {
			red.Pix[i] = 0
		}
	}
	for _, c := range []struct {
		what  string
		frame *image.RGBA
		by    float64
	}{
		{"rows", patterns.Render(patterns.Mix{A: 0, B: 255, Lit: 1, Of: 2}, 60, 40), 0.06},
		{"rows of three", patterns.Render(patterns.Mix{A: 0, B: 186, Lit: 2, Of: 3}, 60, 40), 0.06},
		{"columns", patterns.Render(patterns.Mix{A: 0, B: 255, Lit: 1, Of: 2, Columns: true}, 60, 40), -0.04},
		{"red rows", red, 0.06},
		{"plain", patterns.Render(patterns.Mix{A: 99, B: 99, Lit: 1, Of: 2}, 60, 40), 0},
		{"checks", checks, 0},
	} {
		a, b := New(Kinds[0], &altered, rand.New(rand.NewPCG(1, 1))), New(Kinds[0], &faithful, rand.New(rand.NewPCG(1, 1)))
		veil := faithful.Veil()
		region := image.Rect(10, 10, 30, 30)
		got, want := a.light(c.frame, region)-veil, (b.light(c.frame, region)-veil)*math.Exp(c.by)
		if math.Abs(got-want) > 1e-10 {
			t.Errorf("%s: %v cd/m² over the veil, want %v", c.what, got, want)
		}
	}
}

// By hand: jumps of the GSDF of one step and of two, as many as each other, are sqrt((1+8)/(1+2)) steps when each counts by its size.
func TestSteps(t *testing.T) {
	d := display.Default()
	d.Room.Lux, d.Black = 0, 0
	samples := make([]float64, 256)
	for c := range samples {
		samples[c] = min(transfer.GSDFLuminance(float64(200+c))/160, 1)
	}
	d.Tone = []display.Tone{{Curve: display.Samples, Samples: samples}}
	m := d.Model()
	v := New(Kinds[0], &m, rand.New(rand.NewPCG(1, 1)))
	ramp := func(codes ...uint8) *image.RGBA {
		dst := image.NewRGBA(image.Rect(0, 0, 10*len(codes), 9))
		for x := range dst.Rect.Dx() {
			for y := range 9 {
				c := codes[x/10]
				dst.SetRGBA(x, y, color.RGBA{c, c, c, 255})
			}
		}
		return dst
	}
	for _, c := range []struct {
		codes []uint8
		want  float64
	}{
		{[]uint8{40, 41, 42, 43}, 1},
		{[]uint8{40, 43, 46}, 3},
		{[]uint8{40, 41, 43, 44, 46}, math.Sqrt(3)},
		{[]uint8{46, 44, 43, 41, 40}, math.Sqrt(3)},
		{[]uint8{40, 40, 40}, 0},
		{[]uint8{40}, 0},
	} {
		frame := ramp(c.codes...)
		if got := v.steps(frame, frame.Rect); math.Abs(got-c.want) > 0.01 {
			t.Errorf("%v: %v, want %v", c.codes, got, c.want)
		}
	}
	if got := v.steps(ramp(1, 2), image.Rect(100, 100, 200, 200)); got != 0 {
		t.Errorf("outside of the frame: %v", got)
	}
}
