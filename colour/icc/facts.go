package icc

import (
	"fmt"
	"math"
	"time"

	"example.org/plumb/colour"
	"example.org/plumb/colour/cct"
	"example.org/plumb/colour/gamut"
	"example.org/plumb/colour/transfer"
)

// A Process says how a profile describes its device. The zero value is none that is known.
type Process int

const (
	Unknown    Process = iota
	Matrix             // three colorants and a tone curve for each
	Tables             // a grid of measured or computed colours
	Both               // tables, and colorants for those who do not read them
	GreyCurve          // a curve alone
	NamedTable         // a list of named colours
)

func (p Process) String() string {
	switch p {
	case Matrix:
		return "matrix and curves"
	case Tables:
		return "tables"
	case Both:
		return "tables, with matrix and curves beside them"
	case GreyCurve:
		return "a curve for grey"
	case NamedTable:
		return "a list of named colours"
	}
	return "unknown"
}

// Process returns how the profile describes its device.
func (p *Profile) Process() Process {
	_, curves := p.Curves()
	_, colorants := p.Colorants()
	_, tables := p.tables("A2B", Relative)
	switch {
	case p.Class == Named:
		return NamedTable
	case tables && curves && colorants && p.Space == SpaceRGB:
		return Both
	case tables:
		return Tables
	case curves && p.Space == SpaceGrey:
		return GreyCurve
	case curves && colorants:
		return Matrix
	}
	return Unknown
}

// A Source says where a white is told.
type Source int

const (
	NotTold   Source = iota
	FromChad         // the adaptation (tag chad) leads back to it
	FromMedia        // the media white (tag wtpt)
	FromPCS          // version 4 without an adaptation: D50, as the standard has it
)

func (s Source) String() string {
	switch s {
	case FromChad:
		return "the adaptation to D50"
	case FromMedia:
		return "the media white"
	case FromPCS:
		return "D50, for no adaptation is told"
	}
	return "not told"
}

// A White is the white of a device, or of the paper that a device prints on.
type White struct {
	Source      Source
	XY          colour.XY       // zero where it is not told
	Temperature cct.Temperature // correlated; zero where there is none
	Daylight    cct.Temperature // of the nearest CIE daylight; zero where there is none
	Distance    float64         // from that daylight in u', v'; above 0 on the green side
}

// A Tone is what a profile says of one channel's tone curve, or of grey, against an aim.
type Tone struct {
	Channel string       // red, green, blue or grey
	Light   [256]float64 // relative light of each 8-bit code; 1 at full
	Gamma   float64      // the power from 1 to 4 that is nearest in L*
	Off     float64      // largest departure from the aim in L*, signed: above 0 is lighter
	At      int          // its code
	Mean    float64      // root mean square of the departures in L*
	Steps   Steps
}

// Steps are the distances of neighbouring 8-bit codes in codes of the aim: 1 everywhere for a curve on its aim. Below 1 codes draw together and
// gradients lose steps; above 1 they part and steps show.
type Steps struct {
	Smallest, Largest     float64
	SmallestAt, LargestAt int // the lower code
	Lost                  int // codes no lighter than the one below
}

// A Tint is how far greys stray from the device's own white in hue.
type Tint struct {
	Chroma   float64 // largest C*ab against the white, over all 256 codes
	At       int     // its code
	A, B     float64 // a* and b* there
	Distance float64 // largest distance in u', v', over codes with at least a hundredth of the white's light
	DistAt   int
}

// A Primary is the colour of one channel at full.
type Primary struct {
	Channel string
	XY      colour.XY
	UV      colour.UV
}

// A Reach is how a profile's range compares with a standard space.
type Reach struct {
	Standard string
	Area     gamut.Cover // in u', v'
	Volume   gamut.Cover // in L*a*b* against D50, white upon white
}

// Facts are what a profile promises of its device. What it does not say is zero.
type Facts struct {
	Name       string // in English where it is there
	Version    string
	Class      Class
	Space      Space
	Process    Process
	Made       time.Time
	Calibrated time.Time
	ID         ID
	White      White
	Luminance  float64 // of white, cd/m²
	Tones      []Tone  // red, green, blue and grey; grey alone for grey devices
	Tint       Tint    // for RGB
	Primaries  []Primary
	// Adapted says that primaries and areas are against D50, because the device's own white is not told.
	Adapted    bool
	Reach      []Reach // for each of gamut.Standards
	Correction *Correction
	CICP       *CICP
	Notes      []Fault
}

// Facts works out what the profile promises under the media-relative intent. aim is the tone curve to hold it against. For devices other than
// RGB and grey ones, tones, tint, primaries and reach are left out. With an error, what does not rest on the broken part is there all the same.
func (p *Profile) Facts(aim transfer.Function) (Facts, error) {
	f := Facts{
		Name: p.Description().String(), Version: p.Version(), Class: p.Class, Space: p.Space, Process: p.Process(), Made: p.Made, Calibrated: p.Calibrated(),
		ID: p.ID, Notes: p.Notes,
	}
	f.Luminance, _ = p.Luminance()
	if c, ok := p.Correction(); ok {
		f.Correction = &c
	}
	if c, ok := p.CICP(); ok {
		f.CICP = &c
	}
	white, native := p.white()
	f.White = white
	if p.Class == Named || p.Class == Link || p.Space != SpaceRGB && p.Space != SpaceGrey {
		return f, nil
	}
	to, err := p.Forward(Relative)
	if err != nil {
		return f, err
	}
	if p.Space == SpaceGrey {
		top := to.XYZ(1).Y
		t, err := tone("grey", aim, func(s float64) float64 { return to.XYZ(s).Y / top })
		if err != nil {
			return f, err
		}
		f.Tones = []Tone{t}
		return f, nil
	}
	for i, name := range [...]string{"red", "green", "blue", "grey"} {
		t, err := tone(name, aim, channel(to, i))
		if err != nil {
			return f, err
		}
		f.Tones = append(f.Tones, t)
	}
	f.Tint = tint(to)
	f.Adapted = white.Source == NotTold
	var own gamut.Polygon
	for i, name := range [...]string{"red", "green", "blue"} {
		var full [3]float64
		full[i] = 1
		c := native.Apply(to.XYZ(full[:]...))
		f.Primaries = append(f.Primaries, Primary{name, c.XY(), c.UV()})
		own = append(own, c.UV())
	}
	solid, err := gamut.NewSolid(func(c colour.RGB) (colour.Lab, error) { return to.Lab(c.R, c.G, c.B), nil })
	if err != nil {
		return f, fmt.Errorf("icc: %w", err)
	}
	for _, s := range gamut.Standards() {
		reference := gamut.Triangle(s.Space)
		if f.Adapted {
			m := colour.Bradford(s.Space.White(), D50).Times(s.Space.Matrix())
			for j := range reference {
				reference[j] = colour.XYZ{X: m[0][j], Y: m[1][j], Z: m[2][j]}.UV()
			}
		}
		f.Reach = append(f.Reach, Reach{s.Name, gamut.ByArea(own, reference), gamut.ByVolume(solid, s.Solid())})
	}
	return f, nil
}

// white returns what is told of the white, and the map from XYZ against D50 back to the device's own.
func (p *Profile) white() (White, colour.Matrix) {
	back := colour.Matrix{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	var w White
	media, told := p.MediaWhite()
	if told && !(media.X > 0 && media.Y > 0 && media.Z > 0) {
		told = false
	}
	plain := max(abs(media.X-D50.X), abs(media.Y-D50.Y), abs(media.Z-D50.Z)) < 0.002
	if m, ok := p.Adaptation(); ok {
		// Read has seen that there is an inverse.
		back, _ = m.Inverse()
		w.Source, w.XY = FromChad, back.Apply(D50).XY()
	} else if told && (p.Class != Display || p.Major < 4 && !plain) {
		w.Source, w.XY = FromMedia, media.XY()
		if p.Class == Display {
			// Version 2 does not say how colorants were adapted; linear Bradford is what nearly all makers use.
			back = colour.Bradford(D50, media)
		}
	} else if p.Class == Display && p.Major >= 4 {
		w.Source, w.XY = FromPCS, D50.XY()
	} else {
		return w, back
	}
	if !(w.XY.X > 0 && w.XY.Y > 0) {
		return White{}, colour.Matrix{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	}
	if t, err := cct.Planckian(w.XY); err == nil {
		w.Temperature = t
	}
	if t, err := cct.NearestDaylight(w.XY); err == nil {
		w.Daylight = t
		if c, err := cct.Daylight(t.Kelvin); err == nil {
			w.Distance = math.Copysign(w.XY.UV().Distance(c.UV()), t.Duv)
		}
	}
	return w, back
}

// channel returns the relative light of channel 0, 1 or 2 alone, black taken off, or for 3 of all three together. Under tables a channel's light is
// the part of its way from black to full that its XYZ has gone.
func channel(to *Forward, i int) func(float64) float64 {
	if i == 3 {
		top := to.XYZ(1, 1, 1).Y
		return func(s float64) float64 { return to.XYZ(s, s, s).Y / top }
	}
	if to.lut == nil {
		return to.curves[i].Light
	}
	at := func(s float64) colour.XYZ {
		var v [3]float64
		v[i] = s
		return to.XYZ(v[:]...)
	}
	black := at(0)
	way := at(1).Add(black.Scale(-1))
	dot := func(a, b colour.XYZ) float64 { return float64(a.X*b.X) + float64(a.Y*b.Y) + float64(a.Z*b.Z) }
	length := dot(way, way)
	return func(s float64) float64 { return dot(at(s).Add(black.Scale(-1)), way) / length }
}

func lightness(light float64) float64 { return 100 * transfer.LStar{}.Signal(min(max(light, 0), 1)) }

func tone(name string, aim transfer.Function, light func(float64) float64) (Tone, error) {
	t := Tone{Channel: name}
	var l [256]float64
	var sum float64
	for c := range 256 {
		s := float64(c) / 255
		v := light(s)
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return Tone{}, fmt.Errorf("icc: the %s channel has no light at full, so it has no tone curve", name)
		}
		t.Light[c], l[c] = v, lightness(v)
		d := l[c] - lightness(aim.Light(s))
		sum += d * d
		if math.Abs(d) > math.Abs(t.Off) {
			t.Off, t.At = d, c
		}
	}
	t.Mean = math.Sqrt(sum / 256)
	miss := func(g float64) float64 {
		var sum float64
		for c := range 256 {
			d := l[c] - lightness(math.Pow(float64(c)/255, g))
			sum += d * d
		}
		return sum
	}
	low, high := 1.0, 4.0
	for range 40 {
		a, b := low+(high-low)*0.382, low+(high-low)*0.618
		if miss(a) < miss(b) {
			high = b
		} else {
			low = a
		}
	}
	t.Gamma = (low + high) / 2
	t.Steps = Steps{Smallest: math.Inf(1), Largest: math.Inf(-1)}
	for c := range 255 {
		d := 255 * (aim.Signal(t.Light[c+1]) - aim.Signal(t.Light[c]))
		if d < t.Steps.Smallest-1e-9 { // of steps that are alike, the first
			t.Steps.Smallest, t.Steps.SmallestAt = d, c
		}
		if d > t.Steps.Largest+1e-9 {
			t.Steps.Largest, t.Steps.LargestAt = d, c
		}
		if t.Light[c+1] <= t.Light[c] {
			t.Steps.Lost++
		}
	}
	return t, nil
}

func tint(to *Forward) Tint {
	white := to.XYZ(1, 1, 1)
	var t Tint
	if !(white.X > 0 && white.Y > 0 && white.Z > 0) {
		return t
	}
	uv := white.UV()
	for c := range 256 {
		s := float64(c) / 255
		x := to.XYZ(s, s, s)
		if lab := x.Lab(white); lab.Chroma() > t.Chroma {
			t.Chroma, t.At, t.A, t.B = lab.Chroma(), c, lab.A, lab.B
		}
		if d := x.UV().Distance(uv); x.Y >= white.Y/100 && d > t.Distance {
			t.Distance, t.DistAt = d, c
		}
	}
	return t
}
