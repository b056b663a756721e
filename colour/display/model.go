package display

import (
	"image/color"
	"math"

	"example.org/plumb/colour"
	"example.org/plumb/colour/transfer"
)

// A Model is the light of a screen for every code value, computed beforehand. The zero Model is dark.
//
// A code goes through these, in this order:
//
//  1. Crush and clip, on the code as sent: up to Crush it becomes 0, from Clip on 255.
//  2. The range map of v = code/255: limited-as-full (16+219v)/255, full-as-limited (255v-16)/219 held to [0,1].
//  3. The depth of n bits: round(v*(2^n-1))/(2^n-1), halves up. Eight bits leave the codes of a full range alone, more bits nearly so, and fewer
//     make steps. Before the curve, as in a signal path; a panel's own depth after it is not modelled.
//  4. The S-shape, v - S*sin(2πv).
//  5. The curve, which gives normalised light.
//
// The channels then add to black + (white-black)*light + veil. Black and veil have the white's chromaticity, so that room light dilutes
// colours but does not tint greys. That is the light at the centre; LightAt has what changes over the screen.
type Model struct {
	light [3][256]float64 // normalised, of each channel
	y     [3][256]float64 // cd/m² that each channel adds
	drive colour.Matrix   // from normalised light to cd/m², black and veil left out
	base  colour.XYZ      // black and veil

	veil      float64    // cd/m²
	reflected colour.XYZ // the veil's light

	leak float64 // black, in units of normalised light of every channel

	even, red, blue field // of light; of red and of blue over green
	angle           float64
	lines           Lines

	p3 colour.Matrix // from linear Display P3 to the linear light that a managed browser asks of the channels
}

// Model returns the light of the described screen. It panics on a description that Validate refuses; Parse never returns one.
func (d Description) Model() Model {
	if err := d.Validate(); err != nil {
		panic(err)
	}
	matrix, err := d.matrix()
	if err != nil {
		panic(err)
	}
	white := colour.XY{X: d.White.XY[0], Y: d.White.XY[1]}
	m := Model{veil: d.Room.Lux * d.Room.Reflectance / math.Pi}
	m.base = white.XYZ(d.Black + m.veil)
	m.reflected = white.XYZ(m.veil)
	for i := range 3 {
		for j := range 3 {
			m.drive[i][j] = (d.White.Luminance - d.Black) * matrix[i][j]
		}
	}
	for i := range 3 {
		t := d.Tone[min(i, len(d.Tone)-1)]
		curve := t.function(d.White.Luminance, d.Black)
		for code := range 256 {
			v := d.signal(code)
			v -= float64(t.S * math.Sin(2*math.Pi*v))
			l := min(max(curve.Light(min(max(v, 0), 1)), 0), 1)
			m.light[i][code] = l
			m.y[i][code] = m.drive[1][i] * l
		}
	}
	m.leak = d.Black / (d.White.Luminance - d.Black)
	m.even, m.red, m.blue = newField(d.Evenness), newField(d.EvennessRed), newField(d.EvennessBlue)
	m.angle, m.lines = d.Angle, d.Lines
	m.p3 = d.fromP3(matrix)
	return m
}

// signal is steps 1 to 3.
func (d Description) signal(code int) float64 {
	if code <= d.Crush {
		code = 0
	}
	if code >= d.Clip {
		code = 255
	}
	v := float64(code) / 255
	switch d.Range {
	case LimitedAsFull:
		v = (16 + float64(219*v)) / 255
	case FullAsLimited:
		v = min(max((float64(code)-16)/219, 0), 1)
	}
	top := float64(int(1)<<d.Bits - 1)
	return math.Floor(float64(v*top)+0.5) / top
}

// light is a curve in the one direction that a screen needs.
type light interface{ Light(signal float64) float64 }

func (t Tone) function(white, black float64) light {
	switch t.Curve {
	case SRGB:
		return transfer.SRGB{}
	case LStar:
		return transfer.LStar{}
	case BT1886:
		return transfer.BT1886{White: white, Black: black}
	case Samples:
		f, err := transfer.NewSampled(t.Samples)
		if err != nil {
			panic(err)
		}
		return f
	}
	return offset{t.Offset, transfer.Power(t.Gamma)}
}

// offset is a power whose signal starts at by instead of 0: the gain, offset and gamma of Berns (1996), gain and offset adding to 1.
type offset struct {
	by    float64
	power transfer.Power
}

func (o offset) Light(v float64) float64 {
	return o.power.Light(max(float64(v*(1-o.by))+o.by, 0))
}

// Light returns the light of a colour at the centre, in cd/m², with black and veil. Alpha is not looked at.
func (m *Model) Light(c color.RGBA) colour.XYZ {
	return m.base.Add(m.drive.Apply(colour.XYZ{X: m.light[0][c.R], Y: m.light[1][c.G], Z: m.light[2][c.B]}))
}

// Luminance returns Y of Light for opaque r, g, b, in cd/m².
func (m *Model) Luminance(r, g, b uint8) float64 {
	return m.base.Y + m.y[0][r] + m.y[1][g] + m.y[2][b]
}

// Grey returns the luminance of equal codes, in cd/m².
func (m *Model) Grey(code uint8) float64 { return m.Luminance(code, code, code) }

// Normalised returns the luminance of equal codes between those of 0 and of 255: 0 and 1 for these, whatever black, veil and range are. It is
// the screen's tone curve as a viewer with patterns of codes can know it.
func (m *Model) Normalised(code uint8) float64 {
	dark, bright := m.Grey(0), m.Grey(255)
	if bright == dark {
		return 0
	}
	return (m.Grey(code) - dark) / (bright - dark)
}

// White returns the light of code 255 at the centre, in cd/m², with veil.
func (m *Model) White() colour.XYZ { return m.Light(color.RGBA{255, 255, 255, 255}) }

// Veil returns the room light that every light has in it, in cd/m².
func (m *Model) Veil() float64 { return m.veil }

// Reflected returns that same room light as a tristimulus value, in cd/m²; it has the white's chromaticity.
func (m *Model) Reflected() colour.XYZ { return m.reflected }

// Lines returns how much lighter fine lines come out than the mean of their light.
func (m *Model) Lines() Lines { return m.lines }
