// Package transfer holds the functions that tie a signal to light.
//
// Signal and light are relative: 0 is the least and 1 the most that a device can send or show. Code values, cd/m² and the leak of
// light at black are left to the callers, with two exceptions that are defined in cd/m²: BT1886 takes its black and white so, and the
// GSDF is a function of absolute luminance.
package transfer

// A Function maps a signal in [0,1] to light in [0,1], rising or flat, and back. Signal undoes Light wherever Light rises.
//
// What happens outside [0,1] is for each Function to say: SRGB, Power and LStar go on by their formula above 1 and are mirrored about 0
// below it, as CSS Color 4 has it, so that colours outside a gamut survive a conversion and back; BT1886 and Sampled clamp.
type Function interface {
	Light(signal float64) float64
	Signal(light float64) float64
}

// clamp returns v held to [0,1]; what is not a number stays so.
func clamp(v float64) float64 {
	if v < 0 {
		return 0
	}
	if v > 1 {
		return 1
	}
	return v
}
