package screen

import (
	"math"

	"example.org/plumb/colour"
)

// A Hue is an axis along which the tint of a grey is judged.
type Hue string

const (
	PinkGreen  Hue = "pink-green"  // pinker is positive: tristimulus X grows against Y
	BlueYellow Hue = "blue-yellow" // yellower is positive: Y grows against Z
)

// Hues is every axis, in the order of a Tint.
var Hues = [2]Hue{PinkGreen, BlueYellow}

// TintKnots is how many knots a tint has along an axis, at signals 1/4, 1/2 and 3/4.
const TintKnots = 3

// TintParams is the number of parameters of a tint along one axis: slope, then knots.
const TintParams = 1 + TintKnots

// A Tint is how the colour of a grey runs away from the screen's own white, along both of Hues, as distances in CIE 1976 u'v' near D65. Along
// each the tint at signal v is slope·ln v plus a polyline through the knots that is 0 at both ends; at white it is 0. The zero Tint is none.
type Tint [2][TintParams]float64

// leastTint is the signal below which a tint is taken as that at it: in the dark nobody sees colours.
const leastTint = 0.04

// TintAt returns the tint along one axis at signal v in 0 to 1 and, where grad is not nil, sets its first TintParams values to the derivatives by
// the parameters.
func TintAt(theta []float64, v float64, grad []float64) float64 {
	v = min(max(v, leastTint), 1)
	var g [TintParams]float64
	g[0] = math.Log(v)
	place := v * (TintKnots + 1)
	k := int(place)
	part := place - float64(k)
	if k > 0 && k <= TintKnots {
		g[k] = 1 - part
	}
	if k < TintKnots {
		g[k+1] = part
	}
	sum := 0.0
	for i, d := range g {
		sum += float64(d * theta[i])
	}
	if grad != nil {
		copy(grad[:TintParams], g[:])
	}
	return sum
}

// At returns the tint of the grey of signal v along both axes, u'v'.
func (t *Tint) At(v float64) (pink, yellow float64) {
	return TintAt(t[0][:], v, nil), TintAt(t[1][:], v, nil)
}

// Steps in u'v' for a unit of ln(X/Y) and of ln(Y/Z) at D65, the cosine between the two directions, and the map from logarithms of red's and
// blue's light over green's to both; from the definition of u' and v' (CIE 15:2018) and the sRGB primaries.
var (
	hueStep   [2]float64
	hueCosine float64
	hueOf     [2][2]float64 // rows: axes; columns: red, blue
	ratioOf   [2][2]float64 // its inverse
)

func init() {
	w := colour.SRGB.White()
	d := w.X + 15*w.Y + 3*w.Z
	u, v := 4*w.X/d, 9*w.Y/d
	pink := [2]float64{u * (1 - w.X/d), -v * w.X / d}      // by ln X
	yellow := [2]float64{u * 3 * w.Z / d, v * 3 * w.Z / d} // by -ln Z
	hueStep = [2]float64{math.Hypot(pink[0], pink[1]), math.Hypot(yellow[0], yellow[1])}
	hueCosine = (pink[0]*yellow[0] + pink[1]*yellow[1]) / (hueStep[0] * hueStep[1])
	m := colour.SRGB.Matrix()
	for i, c := range [2]int{0, 2} { // red, blue
		x, y, z := m[0][c]/w.X, m[1][c]/w.Y, m[2][c]/w.Z
		hueOf[0][i] = hueStep[0] * (x - y)
		hueOf[1][i] = hueStep[1] * (y - z)
	}
	det := hueOf[0][0]*hueOf[1][1] - hueOf[0][1]*hueOf[1][0]
	ratioOf = [2][2]float64{{hueOf[1][1] / det, -hueOf[0][1] / det}, {-hueOf[1][0] / det, hueOf[0][0] / det}}
}

// HueOf returns the tint along both axes, u'v', of a grey whose red and blue light are e^red and e^blue times that of green, relative to white; to
// first order.
func HueOf(red, blue float64) (pink, yellow float64) {
	return hueOf[0][0]*red + hueOf[0][1]*blue, hueOf[1][0]*red + hueOf[1][1]*blue
}

// Ratio is the inverse of HueOf.
func Ratio(pink, yellow float64) (red, blue float64) {
	return ratioOf[0][0]*pink + ratioOf[0][1]*yellow, ratioOf[1][0]*pink + ratioOf[1][1]*yellow
}

// Length returns the distance in u'v' of tints along both axes, which do not stand square on each other.
func Length(pink, yellow float64) float64 {
	return math.Sqrt(max(pink*pink+yellow*yellow+2*pink*yellow*hueCosine, 0))
}

// TintFrom is the signal from which on greys are judged by their tint: code 64, the darkest of the three greys of ISO 12646:2008/Amd 1:2010. Below it few
// see a tint.
const TintFrom = 0.25

// Greatest returns the greatest distance in u'v' between a grey and the screen's own white, over the levels of Steps from TintFrom on.
func (t *Tint) Greatest() float64 {
	worst := 0.0
	for i := range Steps {
		if v := Signal(i); v >= TintFrom {
			worst = max(worst, Length(t.At(v)))
		}
	}
	return worst
}
