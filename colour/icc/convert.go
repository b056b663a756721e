package icc

import (
	"errors"
	"fmt"

	"example.org/plumb/colour"
)

// A conversion is what both ways between the device and the profile connection space rest on: tables, or curves and, but for grey, a matrix.
type conversion struct {
	channels int
	space    Space
	pcs      Space
	lut      *lut
	curves   []Curve
	matrix   colour.Matrix // from the light of the device's channels to XYZ
	absolute bool
	media    colour.XYZ
}

// A Forward takes device values to the profile connection space. Make it with Profile.Forward. It is safe for use by several goroutines.
type Forward struct{ conversion }

// tables returns the name of the tag for an intent, with tag 0 standing in for one that is missing (ICC.1:2022, 8.10.2), and false where there is none.
func (p *Profile) tables(kind string, i Intent) (Tag, bool) {
	n := [...]string{"0", "1", "2", "1"}[i]
	if t, ok := p.Tag(sig(kind + n)); ok {
		return t, true
	}
	return p.Tag(sig(kind + "0"))
}

// A way is a direction of conversion: the kind of its tables, and what is said where there is none of it. Sentences are whole, for they are translated.
type way struct{ kind, noClass, noCurves, noColorants string }

var (
	fromDevice = way{
		"A2B", "icc: a profile of class %s has no conversion from a device",
		"icc: the profile has neither tables from the device (A2B0) nor all tone curves",
		"icc: the profile has neither tables from the device (A2B0) nor all three colorants",
	}
	toDevice = way{
		"B2A", "icc: a profile of class %s has no conversion to a device",
		"icc: the profile has neither tables to the device (B2A0) nor all tone curves",
		"icc: the profile has neither tables to the device (B2A0) nor all three colorants",
	}
)

// conversion returns what a way rests on under an intent.
func (p *Profile) conversion(w way, i Intent) (conversion, error) {
	if i < Perceptual || i > Absolute {
		return conversion{}, fmt.Errorf("icc: intent %d is none", i)
	}
	if p.Class == Link || p.Class == Named || w == toDevice && p.Class == Abstract {
		return conversion{}, fmt.Errorf(w.noClass, p.Class)
	}
	c := conversion{channels: p.Space.Channels(), space: p.Space, pcs: p.Connection}
	c.absolute, c.media = p.scaling(i)
	if t, ok := p.tables(w.kind, i); ok {
		l, fault := readLUT(t.view)
		if fault != nil {
			return conversion{}, fault
		}
		c.lut = l
		return c, nil
	}
	var ok bool
	if c.curves, ok = p.Curves(); !ok {
		return conversion{}, errors.New(w.noCurves)
	}
	if p.Space == SpaceGrey {
		return c, nil
	}
	if c.matrix, ok = p.Colorants(); !ok || c.channels != 3 {
		return conversion{}, errors.New(w.noColorants)
	}
	return c, nil
}

// Forward returns the conversion from the device to L*a*b* against D50 under an intent. Tables are used where there are any, else matrix and curves.
// Values agree with those of Little CMS. It is an error for device links and named colours, and where the tags that it takes are missing.
//
// ICC-absolute scales XYZ by the media white over D50 (ICC.1:2022, 6.3.2.2), with the observer fully adapted to D50, so that a display's own white is
// D50 too. For displays of version 2 it is the same as relative, because what they have for a media white is not to be relied on.
func (p *Profile) Forward(i Intent) (*Forward, error) {
	c, err := p.conversion(fromDevice, i)
	if err != nil {
		return nil, err
	}
	return &Forward{c}, nil
}

// scaling says whether an intent scales by the media white, and gives that white.
func (p *Profile) scaling(i Intent) (bool, colour.XYZ) {
	w, ok := p.MediaWhite()
	if i != Absolute || !ok || (p.Major < 4 && p.Class == Display) || !(w.X > 0 && w.Y > 0 && w.Z > 0) {
		return false, D50
	}
	return true, w
}

// Channels returns how many device values there are.
func (f *Forward) Channels() int { return f.channels }

// Lab returns L*a*b* against D50 of device values in [0,1]; where the device space is L*a*b* or XYZ, they are encoded as the connection space of
// version 4 is (L*/100, (a*+128)/255; XYZ times 32768/65535). Values that are not given count as 0.
func (f *Forward) Lab(device ...float64) colour.Lab {
	c, x, isLab := f.pcsValue(device)
	if isLab {
		if !f.absolute {
			return c
		}
		x = c.XYZ(D50)
	}
	return f.scale(x).Lab(D50)
}

// XYZ returns XYZ with Y 1 for the connection space's white; device values are as for Lab.
func (f *Forward) XYZ(device ...float64) colour.XYZ {
	c, x, isLab := f.pcsValue(device)
	if isLab {
		x = c.XYZ(D50)
	}
	return f.scale(x)
}

func (f *Forward) scale(x colour.XYZ) colour.XYZ {
	if !f.absolute {
		return x
	}
	return colour.XYZ{X: x.X * f.media.X / D50.X, Y: x.Y * f.media.Y / D50.Y, Z: x.Z * f.media.Z / D50.Z}
}

func (f *Forward) pcsValue(device []float64) (colour.Lab, colour.XYZ, bool) {
	var v [most]float64
	copy(v[:f.channels], device)
	if f.lut != nil {
		if f.space == SpaceLab && f.lut.legacy {
			toLegacy(&v)
		}
		f.lut.apply(&v)
		if f.pcs == SpaceXYZ {
			return colour.Lab{}, decodeXYZ(&v), false
		}
		if f.lut.legacy {
			fromLegacy(&v)
		}
		return decodeLab(&v), colour.XYZ{}, true
	}
	for i, c := range f.curves {
		v[i] = c.step(v[i])
	}
	if f.space == SpaceGrey {
		if f.pcs == SpaceLab {
			return colour.Lab{L: 100 * v[0]}, colour.XYZ{}, true
		}
		return colour.Lab{}, D50.Scale(v[0]), false
	}
	return colour.Lab{}, f.matrix.Apply(colour.XYZ{X: v[0], Y: v[1], Z: v[2]}), false
}

const wide = 1 + 32767.0/32768 // the greatest XYZ that the connection space holds (ICC.1:2022, 6.3.4.2)

func decodeXYZ(v *[most]float64) colour.XYZ {
	return colour.XYZ{X: v[0] * wide, Y: v[1] * wide, Z: v[2] * wide}
}

func decodeLab(v *[most]float64) colour.Lab {
	return colour.Lab{L: 100 * v[0], A: float64(255*v[1]) - 128, B: float64(255*v[2]) - 128}
}

// The encoding of version 2 has 0xFF00 for 100 and 0x8000 for 0 (ICC.1:2022, 6.3.4.2).
func fromLegacy(v *[most]float64) {
	for i := range 3 {
		v[i] *= 65535.0 / 65280
	}
}

func toLegacy(v *[most]float64) {
	for i := range 3 {
		v[i] *= 65280.0 / 65535
	}
}

// Native returns the conversion from the device to what an instrument would read: XYZ with Y 1 for the device's white, not adapted to D50. The white
// is the value of full signals. It is an error where Forward has one, and where the device's own white is not told.
func (p *Profile) Native() (func(device ...float64) colour.XYZ, error) {
	to, err := p.Forward(Relative)
	if err != nil {
		return nil, err
	}
	white, back := p.white()
	if white.Source == NotTold {
		return nil, fmt.Errorf("icc: the profile does not tell the device's own white")
	}
	return func(device ...float64) colour.XYZ { return back.Apply(to.XYZ(device...)) }, nil
}

// A Backward takes colours to device values. Make it with Profile.Backward. It is safe for use by several goroutines.
type Backward struct {
	conversion
	inverse colour.Matrix // of the conversion's matrix
}

// Backward returns the conversion from L*a*b* against D50 to the device under an intent; what is said of Forward holds for it too. It is an error for
// abstract profiles as well, and where colorants lie on a plane.
func (p *Profile) Backward(i Intent) (*Backward, error) {
	c, err := p.conversion(toDevice, i)
	if err != nil {
		return nil, err
	}
	b := &Backward{conversion: c}
	switch {
	case c.lut != nil && c.pcs == SpaceLab:
		c.lut.trilinear()
	case c.lut == nil && c.space != SpaceGrey:
		var ok bool
		if b.inverse, ok = c.matrix.Inverse(); !ok {
			return nil, fmt.Errorf("icc: the colorants lie on a plane, so there is no way back to the device")
		}
	}
	return b, nil
}

// Device returns the device values of L*a*b* against D50, each in [0,1]; colours that the device cannot make are clipped by channel, or as the
// profile's tables have it.
func (b *Backward) Device(c colour.Lab) []float64 {
	x := c.XYZ(D50)
	if b.absolute {
		x = colour.XYZ{X: x.X * D50.X / b.media.X, Y: x.Y * D50.Y / b.media.Y, Z: x.Z * D50.Z / b.media.Z}
		c = x.Lab(D50)
	}
	var v [most]float64
	switch {
	case b.lut != nil && b.pcs == SpaceLab:
		v[0], v[1], v[2] = c.L/100, (c.A+128)/255, (c.B+128)/255
		if b.lut.legacy {
			toLegacy(&v)
		}
		b.lut.apply(&v)
	case b.lut != nil:
		v[0], v[1], v[2] = x.X/wide, x.Y/wide, x.Z/wide
		b.lut.apply(&v)
	case b.space == SpaceGrey && b.pcs == SpaceLab:
		v[0] = b.curves[0].Signal(c.L / 100)
	case b.space == SpaceGrey:
		v[0] = b.curves[0].Signal(x.Y)
	default:
		l := b.inverse.Apply(x)
		v[0], v[1], v[2] = b.curves[0].Signal(l.X), b.curves[1].Signal(l.Y), b.curves[2].Signal(l.Z)
	}
	if b.lut != nil && b.lut.legacy && b.space == SpaceLab {
		fromLegacy(&v)
	}
	device := make([]float64, b.channels)
	for i := range device {
		device[i] = min(max(v[i], 0), 1)
	}
	return device
}
