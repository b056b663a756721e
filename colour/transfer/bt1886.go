package transfer

import "math"

// BT1886 is the reference function of ITU-R BT.1886 (03/2011), annex 1, for a screen of the given white and black, in cd/m².
//
// Light is normalised between them, 0 at Black and 1 at White: the luminance is Black + (White-Black)*Light, which is the annex's
// L = a*max(V+b, 0)^2.4. A signal or a light outside [0,1] is clamped. Without a White above a Black of 0 or more, the zero value
// included, there is no such screen and both ways give 0.
type BT1886 struct{ White, Black float64 }

// bt1886Exponent is γ of annex 1.
const bt1886Exponent = 2.4

// roots returns the annex's Lw^(1/γ) and Lb^(1/γ), and whether the screen can be.
func (t BT1886) roots() (white, black float64, ok bool) {
	if !(t.Black >= 0 && t.White > t.Black) {
		return 0, 0, false
	}
	return math.Pow(t.White, 1/bt1886Exponent), math.Pow(t.Black, 1/bt1886Exponent), true
}

// Light returns the light of a signal, between black and white.
func (t BT1886) Light(s float64) float64 {
	w, b, ok := t.roots()
	if !ok {
		return 0
	}
	// a^(1/γ)*(V+b) of the annex is b' + (w'-b')*V in the roots, which needs no division.
	l := math.Pow(b+float64((w-b)*clamp(s)), bt1886Exponent)
	return clamp((l - t.Black) / (t.White - t.Black))
}

// Signal returns the signal of a light between black and white.
func (t BT1886) Signal(l float64) float64 {
	w, b, ok := t.roots()
	if !ok {
		return 0
	}
	r := math.Pow(t.Black+float64((t.White-t.Black)*clamp(l)), 1/bt1886Exponent)
	return clamp((r - b) / (w - b))
}
