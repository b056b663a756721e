package icc

import (
	"math"
	"time"

	"example.org/plumb/colour"
)

func typed(v view, want string) *Fault {
	if t := v.signature(0); t != sig(want) {
		return v.fault(0, "type %s instead of %s", t, sig(want))
	}
	return nil
}

// readXYZ reads the first value of an XYZType (ICC.1:2022, 10.31).
func readXYZ(v view) (colour.XYZ, *Fault) {
	if f := typed(v, "XYZ "); f != nil {
		return colour.XYZ{}, f
	}
	if f := v.need(8, 12, "an XYZ value"); f != nil {
		return colour.XYZ{}, f
	}
	return v.xyz(8), nil
}

// readMatrix reads nine numbers of an s15Fixed16ArrayType (ICC.1:2022, 10.22), by rows.
func readMatrix(v view) (colour.Matrix, *Fault) {
	if f := typed(v, "sf32"); f != nil {
		return colour.Matrix{}, f
	}
	if f := v.need(8, 36, "a matrix of 3 by 3"); f != nil {
		return colour.Matrix{}, f
	}
	var m colour.Matrix
	for i := range 9 {
		m[i/3][i%3] = v.fixed(8 + 4*i)
	}
	if inv, ok := m.Inverse(); !ok || math.IsInf(inv[0][0], 0) {
		return colour.Matrix{}, v.fault(8, "the matrix cannot be inverted")
	}
	return m, nil
}

func readTime(v view) (time.Time, *Fault) {
	if f := typed(v, "dtim"); f != nil {
		return time.Time{}, f
	}
	if f := v.need(8, 12, "a date"); f != nil {
		return time.Time{}, f
	}
	return v.time(8)
}

func readSignature(v view) (Signature, *Fault) {
	if f := typed(v, "sig "); f != nil {
		return 0, f
	}
	if f := v.need(8, 4, "a signature"); f != nil {
		return 0, f
	}
	return v.signature(8), nil
}

// A CICP names a colour space by the code points of ITU-T H.273 (ICC.1:2022, 9.2.17 and 10.3).
type CICP struct {
	Primaries, Transfer, Matrix int
	Full                        bool // full range
}

func readCICP(v view) (CICP, *Fault) {
	if f := typed(v, "cicp"); f != nil {
		return CICP{}, f
	}
	if f := v.need(8, 4, "four code points"); f != nil {
		return CICP{}, f
	}
	if v.u8(11) > 1 {
		return CICP{}, v.fault(11, "full range is %d; 0 and 1 are defined", v.u8(11))
	}
	return CICP{v.u8(8), v.u8(9), v.u8(10), v.u8(11) == 1}, nil
}

// CICP returns the tag cicp, and false where there is none.
func (p *Profile) CICP() (CICP, bool) { return get(p, "cicp", readCICP) }

// Adaptation returns the tag chad: the map from the device's own white to D50 (ICC.1:2022, 9.2.15), and false where there is none.
func (p *Profile) Adaptation() (colour.Matrix, bool) { return get(p, "chad", readMatrix) }

// MediaWhite returns the tag wtpt, relative, and false where there is none. Version 4 has D50 there for every display; version 2 has the
// measured white or D50, as its maker understood it.
func (p *Profile) MediaWhite() (colour.XYZ, bool) { return get(p, "wtpt", readXYZ) }

// Luminance returns the luminance of the display's white in cd/m² (the tag lumi), and false where it is not told.
func (p *Profile) Luminance() (float64, bool) {
	c, ok := get(p, "lumi", readXYZ)
	return c.Y, ok && c.Y > 0
}

// Calibrated returns when the device was calibrated (the tag calt), and the zero time where it is not told.
func (p *Profile) Calibrated() time.Time {
	tag, ok := p.Tag(sig("calt"))
	if !ok {
		return time.Time{}
	}
	t, f := readTime(tag.view) // not by get: the type as an argument would bring all of its methods into a program
	if f != nil {
		return time.Time{}
	}
	return t
}

// Technology returns the tag tech, such as "CRT", and 0 where there is none.
func (p *Profile) Technology() Signature {
	s, _ := get(p, "tech", readSignature)
	return s
}

// Curves returns the tone curves of the tags rTRC, gTRC and bTRC, or kTRC alone, and false where they are not all there.
func (p *Profile) Curves() ([]Curve, bool) {
	names := []string{"rTRC", "gTRC", "bTRC"}
	if p.Space == SpaceGrey {
		names = []string{"kTRC"}
	}
	var all []Curve
	for _, n := range names {
		c, ok := get(p, n, func(v view) (Curve, *Fault) { c, _, f := readCurve(v); return c, f })
		if !ok {
			return nil, false
		}
		all = append(all, c)
	}
	return all, true
}

// Colorants returns the matrix from light of the three channels to XYZ against D50 (the tags rXYZ, gXYZ and bXYZ), and false where they are not all there.
func (p *Profile) Colorants() (colour.Matrix, bool) {
	var m colour.Matrix
	for j, n := range [...]string{"rXYZ", "gXYZ", "bXYZ"} {
		c, ok := get(p, n, readXYZ)
		if !ok {
			return colour.Matrix{}, false
		}
		m[0][j], m[1][j], m[2][j] = c.X, c.Y, c.Z
	}
	return m, true
}

// get reads a tag that Read has checked; one that became a note gives nothing.
func get[T any](p *Profile, name string, read func(view) (T, *Fault)) (T, bool) {
	var none T
	t, ok := p.Tag(sig(name))
	if !ok {
		return none, false
	}
	v, f := read(t.view)
	if f != nil {
		return none, false
	}
	return v, true
}
