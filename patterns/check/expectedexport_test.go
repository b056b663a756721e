package check

// ForetoldLight is the light of the curve between what a profile says without the correction and with it.
func ForetoldLight(e *Expected, theta []float64, v float64, grad []float64) float64 {
	loaded, bare := grey(&e.Loaded), grey(&e.Bare)
	return (&passage{foretell(&bare), foretell(&loaded)}).light(theta, v, grad)
}
