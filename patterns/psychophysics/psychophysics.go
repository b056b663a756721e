// Package psychophysics chooses stimuli by what their answers would teach, and turns answers into posteriors.
//
// Nothing here draws, waits or keeps time. The same answers give the same posterior; near ties between stimuli go to the lowest index, so that
// platforms whose Exp and Pow differ in the last bits still choose alike.
package psychophysics

import "math"

// near is the difference below which two gains count as tied. Exp and Pow differ between platforms by a few units in the last place, and sums
// over some thousand hypotheses gather that to about 1e-13.
const near = 1e-9

// Weibull returns the probability of a right answer among n choices (guess rate 1/n) at an intensity relative to the threshold, with the
// given slope and lapse rate: g + (1-g-lapse(1-g))(1-exp(-relative^slope)). At threshold an attentive viewer sees 63 % of what is shown.
// Source: Watson and Pelli 1983 (form), guess and lapse as in Wichmann and Hill 2001.
func Weibull(relative, slope, lapse float64, n int) float64 {
	g := 1 / float64(n)
	seen := 0.0
	if relative > 0 {
		seen = -math.Expm1(-math.Pow(relative, slope))
	}
	return g + float64((1-g)*(1-lapse)*seen)
}

// Normal returns the cumulative distribution of the standard normal at z.
func Normal(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// normalDensity is the density of the standard normal at z.
func normalDensity(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }

// Signed returns the probability that the first of two is called the greater when it is greater by difference, in the unit of the noise's
// standard deviation sd, with a viewer who guesses at the given lapse rate: lapse/2 + (1-lapse) Φ(difference/sd).
func Signed(difference, sd, lapse float64) float64 {
	return lapse/2 + float64((1-lapse)*Normal(difference/sd))
}
