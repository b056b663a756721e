package icc

import "math"

// A Curve is a one-dimensional function of curveType or parametricCurveType (ICC.1:2022, 10.6 and 10.18). The zero value is the identity.
//
// Domain and range are [0,1]; Light and Signal clip what is outside, as the standard has it. A Curve is a transfer.Function as long as it does not fall.
type Curve struct {
	kind    kind
	samples view // of 16 bits
	n       int
	p       [7]float64 // g a b c d e f
	is8     bool       // samples have 8 bits
}

type kind int

const (
	identity kind = iota
	sampled
	power      // curveType with one entry
	parametric // parametricCurveType 0; 1 to 4 follow
)

// readCurve reads a curve and says how many bytes it takes.
func readCurve(v view) (Curve, int, *Fault) {
	if f := v.need(0, 12, "a curve"); f != nil {
		return Curve{}, 0, f
	}
	switch t := v.signature(0); t {
	case sig("curv"):
		n := v.u32(8)
		switch {
		case n == 0:
			return Curve{}, 12, nil
		case uint64(n) > uint64(len(v.data)-12)/2:
			return Curve{}, 0, v.fault(8, "the curve counts %d entries of 2 bytes, and the tag has %d bytes left", n, len(v.data)-12)
		case n == 1:
			return Curve{kind: power, p: [7]float64{float64(v.u16(12)) / 256}}, 14, nil
		}
		return Curve{kind: sampled, samples: v.part(12, 2*int(n)), n: int(n)}, 12 + 2*int(n), nil
	case sig("para"):
		which := v.u16(8)
		if which > 4 {
			return Curve{}, 0, v.fault(8, "parametric function %d; 0 to 4 are defined", which)
		}
		count := [...]int{1, 3, 4, 5, 7}[which]
		if f := v.need(12, 4*count, "a parametric curve"); f != nil {
			return Curve{}, 0, f
		}
		c := Curve{kind: parametric + kind(which)}
		for i := range count {
			c.p[i] = v.fixed(12 + 4*i)
		}
		return c, 12 + 4*count, nil
	default:
		return Curve{}, 0, v.fault(0, "type %s is no curve; curv and para are", t)
	}
}

// Form says how the curve is written: identity, N samples, power or parametric 0 to 4.
func (c Curve) Form() string {
	switch c.kind {
	case identity:
		return "identity"
	case sampled:
		return "samples"
	case power:
		return "power"
	}
	return "parametric " + string('0'+rune(c.kind-parametric))
}

// Samples returns how many samples the curve has, 0 for one that is a formula.
func (c Curve) Samples() int { return c.n }

// Parameters returns g, a, b, c, d, e, f of a formula as ICC.1:2022, 10.18, names them; those that it has not are 0.
func (c Curve) Parameters() [7]float64 { return c.p }

func (c Curve) at(i int) float64 {
	if c.is8 {
		return float64(c.samples.u8(i)) / 255
	}
	return float64(c.samples.u16(2*i)) / 65535
}

// Light returns the value at a signal, both in [0,1].
func (c Curve) Light(x float64) float64 {
	if !(x > 0) { // what is not a number counts as 0
		x = 0
	}
	x = min(x, 1)
	if c.kind == sampled {
		at := x * float64(c.n-1)
		i := min(int(at), c.n-2)
		low := c.at(i)
		return low + float64((at-float64(i))*(c.at(i+1)-low))
	}
	y := c.formula(x)
	if !(y > 0) {
		return 0
	}
	return min(y, 1)
}

func (c Curve) formula(x float64) float64 {
	g, a, b, cc, d, e, f := c.p[0], c.p[1], c.p[2], c.p[3], c.p[4], c.p[5], c.p[6]
	pow := func(v float64) float64 {
		if v < 0 || v == 0 && g > 0 {
			return 0
		}
		return math.Pow(v, g)
	}
	line := float64(a*x) + b
	switch c.kind {
	case power, parametric:
		if x < 0 && g == 1 {
			return x
		}
		return pow(x)
	case parametric + 1: // CIE 122-1966
		return pow(line)
	case parametric + 2: // IEC 61966-3
		return pow(line) + cc
	case parametric + 3: // IEC 61966-2-1
		if x >= d {
			return pow(line)
		}
		return cc * x
	case parametric + 4:
		if x >= d {
			return pow(line) + e
		}
		return float64(cc*x) + f
	}
	return x
}

// Signal returns the least signal that gives the light, found by halving; for light beyond the ends, 0 or 1. It holds for curves that do not fall.
func (c Curve) Signal(light float64) float64 {
	if !(light > c.Light(0)) {
		return 0
	}
	if light > c.Light(1) {
		return 1
	}
	low, high := 0.0, 1.0
	for range 60 {
		if mid := (low + high) / 2; c.Light(mid) < light {
			low = mid
		} else {
			high = mid
		}
	}
	return high
}

// step returns the value as a stage of a conversion. Where the curve is sampled it is rounded to 16 bits, as tables hold it. A formula is not clipped:
// the standard has it so, but Little CMS goes on beyond [0,1], and there are tables that rely on it.
func (c Curve) step(x float64) float64 {
	if c.kind == sampled {
		return word(c.Light(word(x)))
	}
	y := c.formula(x)
	if math.IsNaN(y) {
		return 0
	}
	return min(max(y, -endless), endless)
}

// endless bounds what a formula gives, so that all that follows is finite.
const endless = 1e6

// word rounds to the nearest of 65536 values in [0,1].
func word(x float64) float64 {
	if !(x > 0) {
		return 0
	}
	return math.Floor(min(x, 1)*65535+0.5) / 65535
}
