package cct

import "example.org/plumb/colour"

// A Line is the chromaticity of light of a single wavelength.
type Line struct {
	Nanometres int
	XY         colour.XY
}

// Spectral returns the spectral locus: single wavelengths from 380 to 700 nm, 5 nm apart. Beyond its ends the chromaticity hardly changes any more.
func Spectral() []Line {
	var list []Line
	for nm := 380; nm <= 700; nm += 5 {
		m := observer[(nm-360)/5]
		s := m[0] + m[1] + m[2]
		list = append(list, Line{nm, colour.XY{X: m[0] / s, Y: m[1] / s}})
	}
	return list
}
