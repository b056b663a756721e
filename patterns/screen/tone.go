package screen

import "math"

// Knots is how many residual knots a Tone has, at signals 1/8 to 7/8.
const Knots = 7

// ToneParams is the number of parameters of a Tone as a vector: gamma, offset, S, then the knots.
const ToneParams = 3 + Knots

// A Tone is a tone curve: gamma, offset and S-shape, and a small smooth remainder. The zero Tone is no curve.
//
// The signal v in 0 to 1 becomes u = v - S sin 2πv + remainder(v); w = u (1-Offset) + Offset, not below 0; light = w^Gamma, scaled to be 0
// at signal 0 and 1 at signal 1. Gain and offset as in Berns, Motta and Gorzynski 1993 (GOG).
type Tone struct {
	Gamma, Offset, S float64
	Knots            [Knots]float64 // added to the signal at 1/8, 2/8 ... 7/8, linear between, 0 at both ends
	Squeezed         bool           // the signal is full range and the screen takes it for limited; see Squeeze
	Toe              bool           // the power is bent into the sRGB curve's foot: w becomes its sRGB light to the power Gamma/2.2
}

// Squeeze is what a screen makes of a full-range signal (0 to 1) that it takes for limited range: codes 16 to 235 of 255 stretched to all, the rest
// cut off.
func Squeeze(v float64) float64 { return min(max((255*v-16)/219, 0), 1) }

// ToneOf reads a Tone from the first ToneParams values of a vector.
func ToneOf(theta []float64) Tone {
	t := Tone{Gamma: theta[0], Offset: theta[1], S: theta[2]}
	copy(t.Knots[:], theta[3:ToneParams])
	return t
}

// least and most bound gamma so that every parameter vector is a curve.
const leastGamma, mostGamma = 0.5, 6

// parameters are those of ToneOf, and base the power or what it is bent into.
func (t *Tone) parameters() (theta [ToneParams]float64, base func(w float64) (log, slope float64)) {
	theta[0], theta[1], theta[2] = t.Gamma, t.Offset, t.S
	copy(theta[3:], t.Knots[:])
	if t.Toe {
		return theta, foot
	}
	return theta, power
}

// Light returns the light at a signal in 0 to 1, relative to the screen's own black and white.
func (t Tone) Light(v float64) float64 {
	if t.Squeezed {
		v = Squeeze(v)
	}
	theta, base := t.parameters()
	return toneLight(theta[:], v, nil, base)
}

// Curve returns Light for many signals.
func (t Tone) Curve() func(v float64) float64 {
	theta, base := t.parameters()
	start := beginTone(theta[:], base)
	return func(v float64) float64 {
		if t.Squeezed {
			v = Squeeze(v)
		}
		if v <= 0 || v >= 1 {
			return end(v)
		}
		return start.at(theta[:], v, nil)
	}
}

// ToneLight returns the light of the Tone that theta describes at signal v in 0 to 1 and, where grad is not nil, sets its first ToneParams
// values to the derivatives by the parameters.
func ToneLight(theta []float64, v float64, grad []float64) float64 {
	return toneLight(theta, v, grad, power)
}

// ToeLight is ToneLight for a Tone with the foot of the sRGB curve.
func ToeLight(theta []float64, v float64, grad []float64) float64 {
	return toneLight(theta, v, grad, foot)
}

// power returns the logarithm of w to be scaled by gamma, and its derivative.
func power(w float64) (log, slope float64) { return math.Log(w), 1 / w }

// foot is power with the sRGB curve (IEC 61966-2-1) in place of a power of 2.2.
func foot(w float64) (log, slope float64) {
	if w <= 0.04045 {
		return math.Log(w/12.92) / 2.2, 1 / (2.2 * w)
	}
	return 2.4 / 2.2 * math.Log((w+0.055)/1.055), 2.4 / 2.2 / (w + 0.055)
}

// tiny is the signal below which light is none: the derivative of a power there is 0 times infinity.
const tiny = 1e-100

func toneLight(theta []float64, v float64, grad []float64, base func(w float64) (log, slope float64)) float64 {
	if v <= 0 || v >= 1 {
		if grad != nil {
			clear(grad[:ToneParams])
		}
		return end(v)
	}
	return beginTone(theta, base).at(theta, v, grad)
}

// end is the light of a signal that is black or white, whatever the curve.
func end(v float64) float64 { return max(0, min(v, 1)) }

// A toneStart is what all signals of a curve have in common: its parameters within bounds, and what the offset makes of signal 0 before that is taken off.
type toneStart struct {
	base               func(w float64) (log, slope float64)
	gamma, offset      float64
	black              float64 // offset^gamma
	blackSlope, logged float64 // its derivative by the offset, and the logarithm that gamma scales
}

func beginTone(theta []float64, base func(w float64) (log, slope float64)) toneStart {
	t := toneStart{base: base, gamma: min(max(theta[0], leastGamma), mostGamma), offset: min(max(theta[1], -0.5), 0.5)}
	if t.offset > tiny {
		var by float64
		t.logged, by = base(t.offset)
		t.black = math.Exp(float64(t.gamma * t.logged))
		t.blackSlope = t.gamma * t.black * by
	}
	return t
}

// at is toneLight at a signal between 0 and 1.
func (t toneStart) at(theta []float64, v float64, grad []float64) float64 {
	sine := math.Sin(2 * math.Pi * v)
	u := v - float64(theta[2]*sine)
	place := v * (Knots + 1)
	k := int(place) // the knots left and right of v are k-1 and k, counted from 0
	part := place - float64(k)
	if k > 0 {
		u += float64((1 - part) * theta[2+k])
	}
	if k < Knots {
		u += float64(part * theta[3+k])
	}
	w := max(float64(u*(1-t.offset))+t.offset, 0)
	light, slope, logw := 0.0, 0.0, 0.0 // of w^gamma, by w
	if w > tiny {
		var by float64
		logw, by = t.base(w)
		light = math.Exp(float64(t.gamma * logw))
		slope = t.gamma * light * by
	}
	g := (light - t.black) / (1 - t.black)
	if grad != nil {
		clear(grad[:ToneParams])
		scale := 1 / (1 - t.black)
		by := func(dLight, dBlack float64) float64 { return scale * (dLight - float64(dBlack*(1-g))) }
		grad[0] = by(float64(light*logw), float64(t.black*t.logged))
		grad[1] = by(float64(slope*(1-u)), t.blackSlope)
		d := scale * slope * (1 - t.offset) // by u
		grad[2] = -d * sine
		if k > 0 {
			grad[2+k] = float64(d * (1 - part))
		}
		if k < Knots {
			grad[3+k] = float64(d * part)
		}
	}
	return g
}

// EffectiveGamma returns the slope, by least squares, of log light over log signal through white, at signals 0.1 to 0.9 in steps of 0.05. light
// is a tone curve relative to its own black and white; values at or below 0 count as 1e-6.
func EffectiveGamma(light func(v float64) float64) float64 {
	xy, xx := 0.0, 0.0
	for i, x := range effective {
		y := math.Log(math.Max(light(float64(i+2)/20), 1e-6))
		xy += float64(x * y)
		xx += float64(x * x)
	}
	return xy / xx
}

// effective is the logarithm of the signals of EffectiveGamma.
var effective = func() (logs [17]float64) {
	for i := range logs {
		logs[i] = math.Log(float64(i+2) / 20)
	}
	return logs
}()
