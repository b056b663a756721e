package display

import (
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/plumb/colour"
)

// corners draws fields of light and of colour, an angle and lines.
func corners(r *rand.Rand, d *Description) {
	grid := func(by float64) [][]float64 {
		g := make([][]float64, 1+r.IntN(3))
		columns := 1 + r.IntN(3)
		for i := range g {
			for range columns {
				g[i] = append(g[i], 1+by*(r.Float64()-0.5))
			}
		}
		return g
	}
	d.Evenness, d.EvennessRed, d.EvennessBlue = grid(0.4), grid(0.05), grid(0.1)
	d.Angle = 0.6*r.Float64() - 0.3
}

// The plain formulas at a place, from the normalised light of each channel, are the slow twin of LightAt.
func TestLightAtTwin(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for range 100 {
		d := draw(r)
		corners(r, &d)
		sound(t, d)
		m := d.Model()
		own, err := d.matrix()
		if err != nil {
			t.Fatal(err)
		}
		white := colour.XY{X: d.White.XY[0], Y: d.White.XY[1]}
		veil := white.XYZ(d.Room.Lux * d.Room.Reflectance / math.Pi)
		for range 40 {
			c := color.RGBA{uint8(r.IntN(256)), uint8(r.IntN(256)), uint8(r.IntN(256)), 255}
			x, y := r.Float64(), r.Float64()
			light := func(channel int, code uint8) float64 { // cd/m² of white that the channel makes its part of
				l := math.Pow(max(twin(d, channel, int(code)), 0), 1+d.Angle*(2*y-1))
				return d.Black + (d.White.Luminance-d.Black)*l
			}
			at := func(g [][]float64) float64 { return slow(g, x, y) / slow(g, 0.5, 0.5) }
			even := at(d.Evenness)
			want := own.Apply(colour.XYZ{X: even * at(d.EvennessRed) * light(0, c.R), Y: even * light(1, c.G), Z: even * at(d.EvennessBlue) * light(2, c.B)}).Add(veil)
			got := m.LightAt(c, x, y)
			if tolerance := 1e-10 * d.White.Luminance; !near(got.X, want.X, tolerance) || !near(got.Y, want.Y, tolerance) || !near(got.Z, want.Z, tolerance) {
				t.Fatalf("%+v\n%v at %v, %v is %v, want %v", d, c, x, y, got, want)
			}
		}
	}
}

// slow is bilinear by hats: each place of the grid weighs by how near it is, in cells.
func slow(g [][]float64, x, y float64) float64 {
	hat := func(v float64, i, n int) float64 {
		if n == 1 {
			return 1
		}
		return max(0, 1-math.Abs(v*float64(n-1)-float64(i)))
	}
	sum := 0.0
	for i, row := range g {
		for j, v := range row {
			sum += v * hat(y, i, len(g)) * hat(x, j, len(row))
		}
	}
	return sum
}

// At the centre every screen has the light that Light says, whatever its fields and its angle.
func TestLightAtTheCentre(t *testing.T) {
	m := model(t, `{"evenness":[[0.8,0.9],[0.7,0.6]],"evennessRed":[[1.1,0.9]],"evennessBlue":[[2],[4]],"angle":0.3}`)
	for code := range 256 {
		c := color.RGBA{uint8(code), uint8(255 - code), uint8(code / 2), 255}
		a, b := m.LightAt(c, 0.5, 0.5), m.Light(c)
		if !near(a.X, b.X, 1e-12*b.X) || !near(a.Y, b.Y, 1e-12*b.Y) || !near(a.Z, b.Z, 1e-12*b.Z) {
			t.Errorf("%v: %v, want %v", c, a, b)
		}
	}
}

// By hand: a screen of 100 cd/m² without black or veil, red 2 % up and blue 4 % down at the right edge, light 10 % down there.
func TestEvennessOfColour(t *testing.T) {
	m := model(t, `{`+dark+`,"evenness":[[1,1,0.9]],"evennessRed":[[1,1,1.02]],"evennessBlue":[[1,1,0.96]]}`)
	matrix := colour.SRGB.Matrix()
	want := matrix.Apply(colour.XYZ{X: 90 * 1.02, Y: 90, Z: 90 * 0.96})
	got := m.LightAt(color.RGBA{255, 255, 255, 255}, 1, 0.3)
	if !near(got.X, want.X, 1e-10) || !near(got.Y, want.Y, 1e-10) || !near(got.Z, want.Z, 1e-10) {
		t.Errorf("white at the right is %v, want %v", got, want)
	}
	// Where the room adds nothing, every grey has the tint of the white at its place, black included; the veil dilutes it.
	m = model(t, `{"black":1,"room":{"lux":0},"evennessRed":[[1,1,1.02]]}`)
	for code := range 256 {
		c := color.RGBA{uint8(code), uint8(code), uint8(code), 255}
		if d := m.LightAt(c, 1, 0.5).UV().Distance(m.LightAt(color.RGBA{255, 255, 255, 255}, 1, 0.5).UV()); d > 1e-12 {
			t.Fatalf("grey %d at the right is %v in u'v' from the white there", code, d)
		}
	}
	m = model(t, `{"evenness":[[1,1,0.5]],"evennessRed":[[1,1,1.02]]}`)
	if got, want := m.LightAt(color.RGBA{}, 1, 0.5).Y, 0.08*(1+0.02*matrix[1][0])+m.Veil(); !near(got, want, 1e-12) {
		t.Errorf("black at the right is %v, want %v", got, want)
	}
	if r := m.Reflected(); !near(r.Y, m.Veil(), 1e-15) || r.UV().Distance(m.White().UV()) > 1e-12 {
		t.Errorf("the veil is %v", r)
	}
}

// The exponent grows by the angle from the middle to the bottom and falls by as much to the top; beyond the edges it is the edges'.
func TestAngle(t *testing.T) {
	m := model(t, `{`+dark+`,"tone":[{"gamma":2}],"angle":0.2}`)
	v := 100.0 / 255
	for _, c := range []struct{ y, exponent float64 }{{0, 1.6}, {0.25, 1.8}, {0.5, 2}, {1, 2.4}, {2, 2.4}, {-1, 1.6}, {math.NaN(), 1.6}} {
		if got, want := m.LightAt(color.RGBA{100, 100, 100, 255}, 0.3, c.y).Y, 100*math.Pow(v, c.exponent); !near(got, want, 1e-10) {
			t.Errorf("at %v of the height: %v, want %v", c.y, got, want)
		}
		for _, end := range []uint8{0, 255} {
			if got, want := m.LightAt(color.RGBA{end, end, end, 255}, 0.3, c.y).Y, m.Grey(end); !near(got, want, 1e-10) {
				t.Errorf("at %v of the height code %d is %v, want %v", c.y, end, got, want)
			}
		}
	}
}

func TestLines(t *testing.T) {
	m := model(t, `{"lines":{"rows":0.05,"columns":-0.02}}`)
	if l := m.Lines(); l != (Lines{0.05, -0.02}) {
		t.Errorf("lines are %v", l)
	}
	// No light of a code has it.
	plain := model(t, `{}`)
	if m.Grey(128) != plain.Grey(128) || m.LightAt(color.RGBA{9, 99, 199, 255}, 0.1, 0.1) != plain.LightAt(color.RGBA{9, 99, 199, 255}, 0.1, 0.1) {
		t.Error("lines change the light of a code")
	}
}
