package display

import (
	"image/color"
	"math"

	"example.org/plumb/colour"
)

// fromP3 returns the map from linear Display P3 to the linear light that a browser asks of the channels, given the channels' own matrix.
func (d Description) fromP3(own colour.Matrix) colour.Matrix {
	back, ok := own.Inverse()
	if !ok || !d.Managed || d.Primaries.Name == "srgb" {
		return colour.SRGB.Inverse().Times(colour.DisplayP3.Matrix())
	}
	white := colour.XY{X: d.White.XY[0], Y: d.White.XY[1]}.XYZ(1)
	return back.Times(colour.Bradford(colour.DisplayP3.White(), white)).Times(colour.DisplayP3.Matrix())
}

// FromP3 returns the codes that reach the screen for a pixel of a canvas in Display P3. Alpha is kept.
//
// Where the browser manages colours it converts to the screen's primaries, its profile naming these, the white and a curve of sRGB: white to white by
// Bradford, as a relative colorimetric conversion does. What the screen cannot show is clipped in each channel, and the rest rounded to a
// code. Where it does not manage them, or the screen is said to have the primaries of sRGB, the same is done to sRGB, and the codes go to the
// screen as they are. A real profile has the screen's own curve; this one leaves the curve's faults on the screen.
func (m *Model) FromP3(c color.RGBA) color.RGBA {
	l := colour.DisplayP3.Light(colour.RGB{R: float64(c.R) / 255, G: float64(c.G) / 255, B: float64(c.B) / 255})
	v := m.p3.Apply(colour.XYZ{X: l.R, Y: l.G, Z: l.B})
	s := colour.SRGB.Signal(colour.RGB{R: clamp(v.X), G: clamp(v.Y), B: clamp(v.Z)})
	return color.RGBA{code(s.R), code(s.G), code(s.B), c.A}
}

// code rounds a signal in [0,1].
func code(signal float64) uint8 { return uint8(math.Floor(float64(signal*255) + 0.5)) }

// LightP3 returns the light of a pixel of a canvas in Display P3 at the centre, in cd/m², with black and veil: Light of FromP3.
func (m *Model) LightP3(c color.RGBA) colour.XYZ { return m.Light(m.FromP3(c)) }
