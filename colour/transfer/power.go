package transfer

import "math"

// Power is light = signal^Power, the exponent above 0: Power(2.2) is what the trade calls gamma 2.2.
type Power float64

// Light returns the light of a signal.
func (p Power) Light(s float64) float64 {
	return math.Copysign(math.Pow(math.Abs(s), float64(p)), s)
}

// Signal returns the signal of a light.
func (p Power) Signal(l float64) float64 {
	return math.Copysign(math.Pow(math.Abs(l), 1/float64(p)), l)
}
