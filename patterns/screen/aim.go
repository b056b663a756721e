package screen

import (
	"math"

	"example.org/plumb/colour/transfer"
)

// An Aim is the tone curve a screen should have. Where content may rightly be read by more than one curve, it is the band between them.
type Aim struct {
	ID, Name, Text string
	Curves         []transfer.Function
	Wide           bool // pictures go beyond sRGB, up to Display P3
}

// Aims lists the aims a viewer can choose from; the first is the usual one.
var Aims = []Aim{
	{"usual", "Usual", "for pictures on the web and most print work: anything between the sRGB curve (IEC 61966-2-1) and a plain gamma of 2.2", []transfer.Function{transfer.SRGB{}, transfer.Power(2.2)}, false},
	{"gamma 2.4", "Gamma 2.4", "for film and television in a dim room (ITU-R BT.1886 with no black)", []transfer.Function{transfer.Power(2.4)}, false},
	{"L*", "L*", "for print work on displays that are set up to CIE lightness", []transfer.Function{transfer.LStar{}}, false},
	{"wide", "Wide colour", "for pictures in Display P3: tone as usual, and colours that go beyond sRGB", []transfer.Function{transfer.SRGB{}, transfer.Power(2.2)}, true},
}

// AimByID returns the aim with the given id, and false if there is none.
func AimByID(id string) (Aim, bool) {
	for _, a := range Aims {
		if a.ID == id {
			return a, true
		}
	}
	return Aim{}, false
}

// Steps is the number of levels, black and white included, at which curves are compared.
const Steps = 21

// Signal returns the signal of level i of Steps, 0 to 1.
func Signal(i int) float64 { return float64(i) / (Steps - 1) }

// Lightness returns CIE L* (0 to 100) of light relative to white.
func Lightness(light float64) float64 { return 100 * transfer.LStar{}.Signal(min(max(light, 0), 1)) }

// Band returns the least and the greatest L* that the aim allows for at a signal in 0 to 1.
func (a Aim) Band(v float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, c := range a.Curves {
		l := Lightness(c.Light(v))
		lo, hi = min(lo, l), max(hi, l)
	}
	return lo, hi
}

// Gamma returns the least and the greatest effective gamma of the aim's curves.
func (a Aim) Gamma() (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, c := range a.Curves {
		g := EffectiveGamma(c.Light)
		lo, hi = min(lo, g), max(hi, g)
	}
	return lo, hi
}

// Tolerances for tone. That a gamma error below 0.15 cannot be claimed by eye is from our simulation of line matches; 3 ΔE00 is about what that
// error does to the middle tones, and is ours.
const (
	GammaTolerance     = 0.15
	DepartureTolerance = 3.0
)

// A Judge holds what comparing many curves with one aim needs only once.
type Judge struct {
	lo, hi           [Steps]float64
	gammaLo, gammaHi float64
}

// Judge prepares to compare curves with the aim.
func (a Aim) Judge() *Judge {
	j := new(Judge)
	for i := range Steps {
		j.lo[i], j.hi[i] = a.Band(Signal(i))
	}
	j.gammaLo, j.gammaHi = a.Gamma()
	return j
}

// Allowed returns the allowed range of effective gamma.
func (j *Judge) Allowed() (lo, hi float64) {
	return j.gammaLo - GammaTolerance, j.gammaHi + GammaTolerance
}

// Departure returns the greatest CIEDE2000 between the curve and the nearest point of the aim, over the levels of Steps, as greys; and the effective
// gamma; and the margin, which is the greater of both errors in units of its tolerance: within tolerance it is at most 1.
func (j *Judge) Departure(light func(v float64) float64) (departure, gamma, margin float64) {
	for i := range Steps {
		l := Lightness(light(Signal(i)))
		near := min(max(l, j.lo[i]), j.hi[i])
		departure = max(departure, greys(l, near))
	}
	gamma = EffectiveGamma(light)
	off := max(j.gammaLo-gamma, gamma-j.gammaHi, 0)
	return departure, gamma, max(off/GammaTolerance, departure/DepartureTolerance)
}

// greys is CIEDE2000 between two greys of the given L*, where it is the difference of L* over S_L. It is asked for many thousand times.
func greys(p, q float64) float64 {
	d := (p+q)/2 - 50
	d *= d
	return math.Abs(p-q) / (1 + 0.015*d/math.Sqrt(20+d))
}
