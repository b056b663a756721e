package display

import (
	"fmt"
	"math"

	"example.org/plumb/colour"
	"example.org/plumb/colour/transfer"
)

// A Description says what a screen does with code values, and the light of the room it stands in. Parse and Default make one; the zero
// Description describes no screen and is refused by Validate.
type Description struct {
	Name      string      `json:"name"`
	White     White       `json:"white"`
	Black     float64     `json:"black"` // light at full black, cd/m² in a dark room; below the white's
	Primaries Primaries   `json:"primaries"`
	Room      Room        `json:"room"`
	Tone      []Tone      `json:"tone"`     // one for all channels, or three: red, green, blue
	Range     Range       `json:"range"`    // how the source's and the screen's ideas of black and white meet
	Bits      int         `json:"bits"`     // effective depth of the signal before the curve, 5 to 10
	Crush     int         `json:"crush"`    // codes up to this look like code 0; 0 to 254, below Clip
	Clip      int         `json:"clip"`     // codes from this on look like code 255; 1 to 255
	Evenness  [][]float64 `json:"evenness"` // light relative to the centre, rows from the top, columns from the left, edge to edge
	Managed   bool        `json:"managed"`  // the browser converts colours of a canvas in Display P3 to the screen's primaries; see Model.FromP3

	// Light of red and of blue relative to green's at the same place, relative to that at the centre: grids like Evenness. Absent, colour is even.
	EvennessRed  [][]float64 `json:"evennessRed,omitempty"`
	EvennessBlue [][]float64 `json:"evennessBlue,omitempty"`

	Angle float64 `json:"angle,omitempty"` // how much the exponent of light grows from the middle of the height to the bottom edge, -0.5 to 0.5; see Model.LightAt
	Lines Lines   `json:"lines,omitzero"`
}

// Lines is how much lighter lines one pixel thick come out than the mean of their codes' light, as a natural logarithm, -0.5 to 0.5: 0 on a screen
// that shows fine lines as they are. It is for those who look at a region of lines; no code's own light has it.
type Lines struct {
	Rows    float64 `json:"rows"`
	Columns float64 `json:"columns"`
}

// White is the light at full drive.
type White struct {
	Luminance float64    `json:"luminance"` // cd/m² in a dark room, at the centre
	XY        [2]float64 `json:"xy"`        // CIE 1931 chromaticity
}

// Room is the light that falls on the screen and what the screen gives back of it.
type Room struct {
	Lux         float64 `json:"lux"`         // illuminance at the screen's surface
	Reflectance float64 `json:"reflectance"` // diffuse, 0 to 1
}

// Range says how limited-range video levels (16 to 235) meet full-range codes.
type Range string

const (
	Full          Range = "full"            // both ends agree
	LimitedAsFull Range = "limited-as-full" // 16 to 235 is sent and shown unstretched: black is lifted, white is dim
	FullAsLimited Range = "full-as-limited" // 0 to 255 is sent and 16 to 235 stretched: what is outside is lost
)

// Curve names the function from signal to light.
type Curve string

const (
	Gamma   Curve = "gamma"   // a power with an offset; see Tone
	SRGB    Curve = "srgb"    // IEC 61966-2-1
	LStar   Curve = "lstar"   // CIE 1976 lightness
	BT1886  Curve = "bt1886"  // ITU-R BT.1886 with the described white and black
	Samples Curve = "samples" // straight between Tone.Samples
)

// Tone is how one channel turns its signal v in [0,1] into normalised light: first v' = v - S*sin(2πv), then the curve.
type Tone struct {
	Curve   Curve     `json:"curve"`
	Gamma   float64   `json:"gamma"`             // of Gamma: 0.5 to 5
	Offset  float64   `json:"offset"`            // of Gamma: light is max(v*(1-Offset)+Offset, 0)^Gamma; -0.5 to 0.5
	S       float64   `json:"s"`                 // 0 to 0.15: darkens the lower half and lightens the upper
	Samples []float64 `json:"samples,omitempty"` // of Samples: normalised light, 0 to 1, not falling, at equally spaced codes from 0 to 255
}

// The most samples of a curve, and the most rows and columns of an evenness grid, that a description may have.
const (
	MaxSamples = 4096
	MaxGrid    = 64
)

// Default returns an ordinary sRGB screen; a field missing from a parsed description has its value here.
func Default() Description {
	return Description{
		Name:      "kitchen laptop",
		White:     White{160, [2]float64{colour.D65.X, colour.D65.Y}},
		Black:     0.16,
		Primaries: Primaries{Name: "srgb"},
		Room:      Room{100, 0.01},
		Tone:      []Tone{defaultTone()},
		Range:     Full,
		Bits:      8,
		Crush:     0,
		Clip:      255,
		Evenness:  [][]float64{{1, 1, 1}, {1, 1, 1}, {1, 1, 1}},
		Managed:   true,
	}
}

func defaultTone() Tone { return Tone{Curve: Gamma, Gamma: 2.2} }

// Validate says what is wrong with a description and what to do about it; nil when a screen can be as it says.
func (d Description) Validate() error {
	if err := d.problem(); err != nil {
		return fmt.Errorf("display: %w", err)
	}
	return nil
}

func (d Description) problem() error {
	if n := len([]rune(d.Name)); n > 200 {
		return fmt.Errorf("name has %d characters: use 200 or fewer", n)
	}
	if err := between("white.luminance", d.White.Luminance, math.SmallestNonzeroFloat64, 10000, "cd/m², above 0 and up to 10000"); err != nil {
		return err
	}
	if err := between("black", d.Black, 0, math.MaxFloat64, "cd/m², 0 or more"); err != nil {
		return err
	}
	if d.Black >= d.White.Luminance {
		return fmt.Errorf("black %v is not below white.luminance %v: give the light of code 0, in cd/m²", d.Black, d.White.Luminance)
	}
	if err := chromaticity("white.xy", d.White.XY); err != nil {
		return err
	}
	if _, err := d.matrix(); err != nil {
		return err
	}
	if err := between("room.lux", d.Room.Lux, 0, 200000, "lux, 0 to 200000"); err != nil {
		return err
	}
	if err := between("room.reflectance", d.Room.Reflectance, 0, 1, "a share, 0 to 1"); err != nil {
		return err
	}
	if n := len(d.Tone); n != 1 && n != 3 {
		return fmt.Errorf("tone has %d entries: give one for all channels, or three for red, green and blue", n)
	}
	for i, t := range d.Tone {
		if err := t.problem(); err != nil {
			return fmt.Errorf("tone[%d]: %w", i, err)
		}
	}
	switch d.Range {
	case Full, LimitedAsFull, FullAsLimited:
	default:
		return fmt.Errorf("range is %q: use %q, %q or %q", d.Range, Full, LimitedAsFull, FullAsLimited)
	}
	if d.Bits < 5 || d.Bits > 10 {
		return fmt.Errorf("bits is %d: use 5 to 10", d.Bits)
	}
	if d.Crush < 0 || d.Crush > 254 {
		return fmt.Errorf("crush is %d: use a code from 0 to 254, 0 for none", d.Crush)
	}
	if d.Clip < 1 || d.Clip > 255 {
		return fmt.Errorf("clip is %d: use a code from 1 to 255, 255 for none", d.Clip)
	}
	if d.Crush >= d.Clip {
		return fmt.Errorf("crush %d is not below clip %d: leave at least a black and a white", d.Crush, d.Clip)
	}
	for _, g := range []struct {
		name     string
		grid     [][]float64
		optional bool
	}{{"evenness", d.Evenness, false}, {"evennessRed", d.EvennessRed, true}, {"evennessBlue", d.EvennessBlue, true}} {
		if g.optional && g.grid == nil {
			continue
		}
		if err := evenness(g.name, g.grid); err != nil {
			return err
		}
	}
	if err := between("angle", d.Angle, -0.5, 0.5, "-0.5 to 0.5"); err != nil {
		return err
	}
	if err := between("lines.rows", d.Lines.Rows, -0.5, 0.5, "-0.5 to 0.5"); err != nil {
		return err
	}
	return between("lines.columns", d.Lines.Columns, -0.5, 0.5, "-0.5 to 0.5")
}

func evenness(name string, grid [][]float64) error {
	rows := len(grid)
	if rows < 1 || rows > MaxGrid {
		return fmt.Errorf("%s has %d rows: give 1 to %d", name, rows, MaxGrid)
	}
	columns := len(grid[0])
	if columns < 1 || columns > MaxGrid {
		return fmt.Errorf("%s has %d columns: give 1 to %d", name, columns, MaxGrid)
	}
	for i, row := range grid {
		if len(row) != columns {
			return fmt.Errorf("%s[%d] has %d columns and %s[0] has %d: give every row as many", name, i, len(row), name, columns)
		}
		for j, v := range row {
			if err := between(fmt.Sprintf("%s[%d][%d]", name, i, j), v, 0.01, 100, "light relative to the centre, 0.01 to 100"); err != nil {
				return err
			}
		}
	}
	return nil
}

func (t Tone) problem() error {
	switch t.Curve {
	case Gamma, SRGB, LStar, BT1886, Samples:
	default:
		return fmt.Errorf("curve is %q: use %q, %q, %q, %q or %q", t.Curve, Gamma, SRGB, LStar, BT1886, Samples)
	}
	if t.Curve == Gamma {
		if err := between("gamma", t.Gamma, 0.5, 5, "0.5 to 5"); err != nil {
			return err
		}
		if err := between("offset", t.Offset, -0.5, 0.5, "-0.5 to 0.5"); err != nil {
			return err
		}
	}
	if err := between("s", t.S, 0, 0.15, "0 to 0.15"); err != nil {
		return err
	}
	if t.Curve != Samples {
		if len(t.Samples) > 0 {
			return fmt.Errorf("samples are given but curve is %q: set curve to %q, or leave samples out", t.Curve, Samples)
		}
		return nil
	}
	n := len(t.Samples)
	if n < 2 || n > MaxSamples {
		return fmt.Errorf("curve %q with %d samples: give 2 to %d", Samples, n, MaxSamples)
	}
	if _, err := transfer.NewSampled(t.Samples); err != nil {
		return err
	}
	if t.Samples[0] == t.Samples[n-1] {
		return fmt.Errorf("samples are all %v: let light rise from the first to the last", t.Samples[0])
	}
	return nil
}

// matrix returns the map from the channels' normalised light to XYZ relative to the white.
func (d Description) matrix() (colour.Matrix, error) {
	p, err := d.Primaries.chromaticities()
	if err != nil {
		return colour.Matrix{}, err
	}
	w := colour.XY{X: d.White.XY[0], Y: d.White.XY[1]}
	m, err := colour.Primaries(p[0], p[1], p[2], w)
	if err != nil {
		return colour.Matrix{}, fmt.Errorf("primaries: %w", err)
	}
	return m, nil
}

func between(name string, v, least, most float64, words string) error {
	if v >= least && v <= most {
		return nil
	}
	return fmt.Errorf("%s is %v: use %s", name, v, words)
}

func chromaticity(name string, c [2]float64) error {
	if c[0] > 0 && c[1] > 0 && c[0]+c[1] < 1 {
		return nil
	}
	return fmt.Errorf("%s is %v, %v: use a CIE 1931 x, y, both above 0, with a sum below 1", name, c[0], c[1])
}
