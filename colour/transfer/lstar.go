package transfer

import "math"

// LStar is the CIE 1976 lightness as a transfer function: the signal is L*/100 and the light Y/Yn, with the exact fractions of
// CIE 15:2018, 8.2.1 (216/24389 and 24389/27), so that foot and cube root meet.
type LStar struct{}

// Light returns the light of a signal.
func (LStar) Light(s float64) float64 {
	if s < 0 {
		return -LStar{}.Light(-s)
	}
	if s <= 0.08 {
		return float64(s*100) * 27 / 24389
	}
	f := (s + 0.16) / 1.16
	return float64(f*f) * f
}

// Signal returns the signal of a light.
func (LStar) Signal(l float64) float64 {
	if l < 0 {
		return -LStar{}.Signal(-l)
	}
	if l <= 216.0/24389 {
		return float64(l*24389) / 2700
	}
	return float64(1.16*math.Cbrt(l)) - 0.16
}
