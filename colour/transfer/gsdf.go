package transfer

import "math"

// The grayscale standard display function of DICOM PS3.14 numbers the luminances that an average viewer can just tell apart, in JNDs
// (just noticeable differences) of a 2° by 2° sine grating of 4 cycles per degree on a ground of the same mean luminance. Patches with
// edges, other sizes, other viewers and eyes adapted elsewhere see more or less: take a step as a scale, not as a threshold.

// The range of the function: JND indices 1 to 1023, and the luminances of these in cd/m² (PS3.14, clause 7.1 and table B-1).
const (
	GSDFMin = 0.05
	GSDFMax = 3993.404
)

// Coefficients of PS3.14 equation 7-1: numerator and denominator in ascending powers of the natural logarithm of the index.
var (
	gsdfNumerator   = [...]float64{-1.3011877, 8.0242636e-2, 1.3646699e-1, -2.5468404e-2, 1.3635334e-3}
	gsdfDenominator = [...]float64{1, -2.5840191e-2, -1.0320229e-1, 2.8745620e-2, -3.1978977e-3, 1.2992634e-4}
)

// Coefficients of PS3.14 equation 7-2 in ascending powers of the decimal logarithm of the luminance.
var gsdfInverse = [...]float64{71.498068, 94.593053, 41.912053, 9.8247004, 0.28175407, -1.1878455, -0.18014349, 0.14710899, -0.017046845}

// polynomial returns the value and the derivative at x of the polynomial with the given coefficients, the constant first.
func polynomial(coefficients []float64, x float64) (value, slope float64) {
	for i := len(coefficients) - 1; i >= 0; i-- {
		slope = float64(slope*x) + value
		value = float64(value*x) + coefficients[i]
	}
	return value, slope
}

// GSDFLuminance returns the luminance in cd/m² of a JND index by equation 7-1. Indices are clamped to [1,1023].
func GSDFLuminance(j float64) float64 {
	u := math.Log(min(max(j, 1), 1023))
	n, _ := polynomial(gsdfNumerator[:], u)
	d, _ := polynomial(gsdfDenominator[:], u)
	return math.Pow(10, n/d)
}

// GSDFIndex returns the JND index of a luminance in cd/m² by equation 7-2, which undoes equation 7-1 to within 0.1. Luminances are
// clamped to [GSDFMin, GSDFMax]: below 0.05 cd/m² the index stays that of 0.05, which is 1.03 by this equation.
func GSDFIndex(luminance float64) float64 {
	j, _ := polynomial(gsdfInverse[:], math.Log10(min(max(luminance, GSDFMin), GSDFMax)))
	return j
}

// GSDFStep returns dL/dj at a luminance in cd/m²: how many cd/m² one JND is worth there. It is the derivative of equation 7-1 at
// GSDFIndex(luminance), so clamped as that is: below 0.05 cd/m² the step stays that of 0.05.
//
// The fit of equation 7-1 bends the wrong way at its very end: from index 1 to 1.8 (0.050 to 0.054 cd/m²) the step falls from 0.0054 to
// 0.0046 before it rises for good.
func GSDFStep(luminance float64) float64 {
	j := min(max(GSDFIndex(luminance), 1), 1023)
	u := math.Log(j)
	n, dn := polynomial(gsdfNumerator[:], u)
	d, dd := polynomial(gsdfDenominator[:], u)
	slope := (float64(dn*d) - float64(n*dd)) / float64(d*d) // of log10 L in ln j
	return float64(math.Ln10*math.Pow(10, n/d)) * slope / j
}
