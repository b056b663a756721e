package transfer

import "math"

// SRGB is the transfer function of IEC 61966-2-1: a straight foot and a power of 2.4.
//
// The standard's two knees do not quite meet: Signal(Light(s)) differs from s by up to 3e-8 in light beside the knee.
type SRGB struct{}

// Light returns the light of a signal.
func (SRGB) Light(s float64) float64 {
	if s < 0 {
		return -SRGB{}.Light(-s)
	}
	if s <= 0.04045 {
		return s / 12.92
	}
	return math.Pow((s+0.055)/1.055, 2.4)
}

// Signal returns the signal of a light.
func (SRGB) Signal(l float64) float64 {
	if l < 0 {
		return -SRGB{}.Signal(-l)
	}
	if l <= 0.0031308 {
		return 12.92 * l
	}
	return float64(1.055*math.Pow(l, 1/2.4)) - 0.055
}
