package display

import (
	"image/color"
	"math"

	"example.org/plumb/colour"
)

// At returns the light of the panel at a place, relative to the centre: x from 0 at the left edge to 1 at the right, y from 0 at the top to 1
// at the bottom, clamped, and bilinear between the described places. It belongs to the panel's light, black included; the veil is even.
func (m *Model) At(x, y float64) float64 { return m.even.at(x, y) }

// LightAt returns the light of a colour at a place, x and y as in At, in cd/m², with black and veil. Alpha is not looked at. At the centre it is
// Light.
//
// First each channel's normalised light is taken to the power 1 + angle*(2y-1), so that the angle of view changes the curve and leaves black and
// white. Then unevenness scales the panel's light, black included: every channel's by At, and red's and blue's by their own evenness too.
// The veil is even.
func (m *Model) LightAt(c color.RGBA, x, y float64) colour.XYZ {
	r, g, b := m.light[0][c.R], m.light[1][c.G], m.light[2][c.B]
	if e := 1 + float64(m.angle*(float64(2*clamp(y))-1)); e != 1 {
		r, g, b = math.Pow(r, e), math.Pow(g, e), math.Pow(b, e)
	}
	at := m.At(x, y)
	return m.drive.Apply(colour.XYZ{
		X: at * m.red.at(x, y) * (r + m.leak),
		Y: at * (g + m.leak),
		Z: at * m.blue.at(x, y) * (b + m.leak),
	}).Add(m.reflected)
}

// A field is a quantity over the screen, relative to its value in the middle. The zero field is 0 everywhere.
type field struct {
	values        []float64 // row by row
	rows, columns int
	centre        float64 // its own value in the middle
}

// newField returns the field of a grid; of none, one that is 1 everywhere.
func newField(grid [][]float64) field {
	if len(grid) == 0 {
		grid = [][]float64{{1}}
	}
	f := field{rows: len(grid), columns: len(grid[0])}
	for _, row := range grid {
		f.values = append(f.values, row...)
	}
	f.centre = f.interpolate(0.5, 0.5)
	return f
}

func (f *field) at(x, y float64) float64 {
	if f.centre == 0 {
		return 0
	}
	return f.interpolate(x, y) / f.centre
}

func (f *field) interpolate(x, y float64) float64 {
	i, p := place(y, f.rows)
	j, q := place(x, f.columns)
	down, right := min(i+1, f.rows-1), min(j+1, f.columns-1)
	upper := blend(f.values[i*f.columns+j], f.values[i*f.columns+right], q)
	lower := blend(f.values[down*f.columns+j], f.values[down*f.columns+right], q)
	return blend(upper, lower, p)
}

// place returns the sample at or before v of n samples from edge to edge, and how far v is towards the next, 0 to 1.
func place(v float64, n int) (int, float64) {
	at := clamp(v) * float64(n-1)
	i := int(at)
	return i, at - float64(i)
}

// clamp returns v held to [0,1]; what is not a number is 0.
func clamp(v float64) float64 {
	if !(v > 0) {
		return 0
	}
	return min(v, 1)
}

func blend(a, b, t float64) float64 { return float64(a*(1-t)) + float64(b*t) }
