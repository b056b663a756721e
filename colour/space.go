package colour

import (
	"fmt"

	"example.org/plumb/colour/transfer"
)

// RGB is three signals of an RGB space, or three lights where a method says so; [0,1] is inside the gamut.
type RGB struct{ R, G, B float64 }

// A Space is an additive RGB space: three primaries that make its white at full drive, and one transfer function for each channel. Make it
// with NewSpace.
type Space struct {
	white    XYZ
	transfer transfer.Function
	to, from Matrix
}

// NewSpace returns the space of the given primaries and white. The matrix is derived from the chromaticities (SMPTE RP 177), to the last bits
// of a float64, so that equal signals are exactly the white's colour; the rounded matrices that standards print differ from it in their last
// digit. It is an error when the primaries lie on a line, when a chromaticity has y 0 or less, or when the white is outside the triangle.
func NewSpace(red, green, blue, white XY, t transfer.Function) (*Space, error) {
	m, err := Primaries(red, green, blue, white)
	if err != nil {
		return nil, err
	}
	back, ok := m.Inverse()
	if !ok {
		return nil, fmt.Errorf("colour: primaries %v, %v, %v make no space: they must not lie on a line", red, green, blue)
	}
	return &Space{white.XYZ(1), t, m, back}, nil
}

// Primaries returns the matrix from three relative lights of the given chromaticities to relative XYZ, such that 1, 1, 1 is the white with
// Y 1. Its errors are those of NewSpace.
func Primaries(red, green, blue, white XY) (Matrix, error) {
	for _, c := range [...]XY{red, green, blue, white} {
		if !(c.Y > 0) {
			return Matrix{}, fmt.Errorf("colour: chromaticity %v, %v: y must be above 0", c.X, c.Y)
		}
	}
	r, g, b := red.XYZ(1), green.XYZ(1), blue.XYZ(1)
	m := Matrix{{r.X, g.X, b.X}, {r.Y, g.Y, b.Y}, {r.Z, g.Z, b.Z}}
	back, ok := m.Inverse()
	if !ok {
		return Matrix{}, fmt.Errorf("colour: primaries %v, %v, %v lie on a line: they must make a triangle", red, green, blue)
	}
	w := white.XYZ(1)
	y := back.Apply(w)
	if !(y.X > 0 && y.Y > 0 && y.Z > 0) {
		return Matrix{}, fmt.Errorf("colour: white %v lies outside the triangle of the primaries %v, %v, %v", white, red, green, blue)
	}
	for i := range 3 {
		m[i][0] *= y.X
		m[i][1] *= y.Y
		m[i][2] *= y.Z
	}
	return m, nil
}

// White returns the light of 1, 1, 1, with Y 1.
func (s *Space) White() XYZ { return s.white }

// Transfer returns the transfer function of the channels.
func (s *Space) Transfer() transfer.Function { return s.transfer }

// Matrix returns the map from relative linear light R, G, B to relative XYZ.
func (s *Space) Matrix() Matrix { return s.to }

// Inverse returns the map from relative XYZ to relative linear light R, G, B.
func (s *Space) Inverse() Matrix { return s.from }

// Light returns the relative linear light of a signal.
func (s *Space) Light(c RGB) RGB {
	return RGB{s.transfer.Light(c.R), s.transfer.Light(c.G), s.transfer.Light(c.B)}
}

// Signal returns the signal of a relative linear light.
func (s *Space) Signal(c RGB) RGB {
	return RGB{s.transfer.Signal(c.R), s.transfer.Signal(c.G), s.transfer.Signal(c.B)}
}

// XYZ returns the relative tristimulus value of a signal.
func (s *Space) XYZ(c RGB) XYZ {
	l := s.Light(c)
	return s.to.Apply(XYZ{l.R, l.G, l.B})
}

// RGB returns the signal of a relative tristimulus value. Outside the gamut it leaves [0,1]; it is not clipped.
func (s *Space) RGB(c XYZ) RGB {
	l := s.from.Apply(c)
	return s.Signal(RGB{l.X, l.Y, l.Z})
}

// Lab returns a signal against the space's own white. Equal signals have a* and b* of 0 but for rounding.
func (s *Space) Lab(c RGB) Lab { return s.XYZ(c).Lab(s.white) }

func mustSpace(red, green, blue, white XY, t transfer.Function) *Space {
	s, err := NewSpace(red, green, blue, white, t)
	if err != nil {
		panic(err)
	}
	return s
}
