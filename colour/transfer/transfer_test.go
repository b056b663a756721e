package transfer

import (
	"fmt"
	"math"
	"testing"
)

func sampled(t testing.TB, light ...float64) Sampled {
	t.Helper()
	f, err := NewSampled(light)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Every Function keeps the contract: within [0,1], rising, and undone by Signal.
func TestFunctions(t *testing.T) {
	functions := []Function{
		SRGB{}, Power(1), Power(1.8), Power(2.2), Power(563.0 / 256), LStar{},
		BT1886{100, 0}, BT1886{100, 0.1}, BT1886{160, 1.6}, BT1886{1, 0},
		sampled(t, 0, 1), sampled(t, 0, 0.1, 0.5, 1), sampled(t, 0.1, 0.2, 0.9),
	}
	for _, f := range functions {
		t.Run(fmt.Sprintf("%T%v", f, f), func(t *testing.T) {
			const n = 2000
			last := math.Inf(-1)
			for i := range n + 1 {
				s := float64(i) / n
				l := f.Light(s)
				if !(l >= 0 && l <= 1) {
					t.Fatalf("Light(%v) = %v, outside [0,1]", s, l)
				}
				if l < last {
					t.Fatalf("Light(%v) = %v falls from %v", s, l, last)
				}
				last = l
				// In light, since a power leaves hardly any near 0. The knees of IEC 61966-2-1 leave a gap of 3e-8.
				if back := f.Light(f.Signal(l)); math.Abs(back-l) > 3e-8 {
					t.Fatalf("Light(Signal(%v)) = %v", l, back)
				}
			}
			if _, ok := f.(Sampled); !ok && (f.Light(0) != 0 || math.Abs(f.Light(1)-1) > 1e-15) {
				t.Errorf("ends at %v and %v, want 0 and 1", f.Light(0), f.Light(1))
			}
		})
	}
}

func TestOutside(t *testing.T) {
	for _, f := range []Function{SRGB{}, Power(2.2), LStar{}} {
		for _, s := range []float64{0.01, 0.3, 1, 1.2} {
			if a, b := f.Light(-s), -f.Light(s); a != b {
				t.Errorf("%T: Light(%v) = %v, want it mirrored: %v", f, -s, a, b)
			}
			if a := f.Signal(f.Light(-s)); math.Abs(a+s) > 1e-9 {
				t.Errorf("%T: Signal(Light(%v)) = %v", f, -s, a)
			}
		}
		if f.Light(1.2) <= 1 {
			t.Errorf("%T stops at 1", f)
		}
	}
	for _, f := range []Function{BT1886{100, 0.1}, sampled(t, 0.1, 0.2, 0.9)} {
		if f.Light(-1) != f.Light(0) || f.Light(2) != f.Light(1) || f.Signal(-1) != 0 || f.Signal(2) != 1 {
			t.Errorf("%T does not clamp", f)
		}
	}
}

// Zero values claim nothing.
func TestZero(t *testing.T) {
	for _, f := range []Function{BT1886{}, BT1886{White: 1, Black: 1}, BT1886{White: 1, Black: -1}, Sampled{}} {
		for _, v := range []float64{-1, 0, 0.5, 1, 2} {
			if f.Light(v) != 0 || f.Signal(v) != 0 {
				t.Errorf("%#v gives light", f)
			}
		}
	}
}

// IEC 61966-2-1: the constants, and what follows from them by hand; light at half signal and signal at half light are from a computation apart
// from this one, to 12 digits.
func TestSRGB(t *testing.T) {
	for _, v := range []struct{ signal, light float64 }{
		{0, 0},
		{0.04045, 0.04045 / 12.92},
		{10.0 / 255, 10.0 / 255 / 12.92}, // the last 8-bit code on the straight foot
		{0.5, 0.214041140482},
		{0.461356129500442, 0.18},
		{0.735356983052449, 0.5},
		{1, 1},
	} {
		if l := (SRGB{}).Light(v.signal); math.Abs(l-v.light) > 1e-12 {
			t.Errorf("Light(%v) = %.15f, want %.15f", v.signal, l, v.light)
		}
		if s := (SRGB{}).Signal(v.light); math.Abs(s-v.signal) > 4e-7 {
			t.Errorf("Signal(%v) = %.15f, want %.15f", v.light, s, v.signal)
		}
	}
}

// Percent of light at codes of 8 bits, from the formulas of IEC 61966-2-1, CIE 15:2018 and Adobe RGB (1998), to 5 decimals.
func TestCurves(t *testing.T) {
	v := vectors(t, "curves.csv")
	for name, f := range map[string]Function{
		"srgb": SRGB{}, "gamma1.8": Power(1.8), "gamma2.2": Power(2.2), "gamma2.4": Power(2.4), "adobe": Power(563.0 / 256), "lstar": LStar{},
	} {
		if len(v[name]) == 0 {
			t.Fatalf("no vectors of %s", name)
		}
		for i, code := range v["code"] {
			if l := 100 * f.Light(code/255); math.Abs(l-v[name][i]) > 0.51e-5 {
				t.Errorf("%s: code %v gives %.6f %%, want %.5f", name, code, l, v[name][i])
			}
		}
	}
}

// CIE 15:2018, 8.2.1, at three luminance factors that public colour libraries test, and at the joint.
func TestLStar(t *testing.T) {
	for _, v := range []struct{ light, lightness float64 }{
		{0.1219722535, 41.52787584465345},
		{0.2304276781, 55.1163628495254},
		{0.0615720079, 29.805654680097106},
		{216.0 / 24389, 8},
	} {
		if l := 100 * (LStar{}).Signal(v.light); math.Abs(l-v.lightness) > 1e-12 {
			t.Errorf("L* of %v = %.14f, want %.14f", v.light, l, v.lightness)
		}
	}
}

// ITU-R BT.1886 annex 1: luminances by its formula for screens of several blacks, to 6 decimals, and two values at Lw 1, Lb 0 that public colour libraries test.
func TestBT1886(t *testing.T) {
	v := vectors(t, "bt1886.csv")
	for i, white := range v["white"] {
		black := v["black"][i]
		f := BT1886{white, black}
		l := black + (white-black)*f.Light(v["signal"][i])
		if math.Abs(l-v["luminance"][i]) > 0.51e-6 {
			t.Errorf("%v at %v gives %.7f cd/m², want %.6f", f, v["signal"][i], l, v["luminance"][i])
		}
	}
	for _, v := range []struct{ signal, luminance float64 }{{0.18, 0.016317514686316}, {0.40900772886415, 0.11699185725296059}} {
		if l := (BT1886{1, 0}).Light(v.signal); math.Abs(l-v.luminance) > 1e-14 {
			t.Errorf("Light(%v) = %v, want %v", v.signal, l, v.luminance)
		}
	}
}

// The formula as annex 1 writes it, with a and b, is the slow twin.
func TestBT1886Annex(t *testing.T) {
	const γ = 2.4
	for _, f := range []BT1886{{100, 0}, {100, 0.01}, {160, 0.16}, {250, 2.5}} {
		w, k := math.Pow(f.White, 1/γ), math.Pow(f.Black, 1/γ)
		a, b := math.Pow(w-k, γ), k/(w-k)
		for i := range 256 {
			s := float64(i) / 255
			want := a * math.Pow(max(s+b, 0), γ)
			if l := f.Black + (f.White-f.Black)*f.Light(s); math.Abs(l-want) > 1e-12*f.White {
				t.Fatalf("%v at %v: %v, want %v", f, s, l, want)
			}
		}
	}
}

func TestSampled(t *testing.T) {
	f := sampled(t, 0, 0.1, 0.1, 0.5, 1)
	for _, v := range []struct{ signal, light float64 }{{0, 0}, {0.125, 0.05}, {0.25, 0.1}, {0.3, 0.1}, {0.5, 0.1}, {0.625, 0.3}, {0.75, 0.5}, {1, 1}} {
		if l := f.Light(v.signal); math.Abs(l-v.light) > 1e-15 {
			t.Errorf("Light(%v) = %v, want %v", v.signal, l, v.light)
		}
	}
	// A flat stretch goes back to its start.
	for _, v := range []struct{ light, signal float64 }{{0, 0}, {0.05, 0.125}, {0.1, 0.25}, {0.3, 0.625}, {1, 1}} {
		if s := f.Signal(v.light); math.Abs(s-v.signal) > 1e-15 {
			t.Errorf("Signal(%v) = %v, want %v", v.light, s, v.signal)
		}
	}
	if s := sampled(t, 0, 0.5, 0.5).Signal(1); s != 0.5 {
		t.Errorf("more light than there is: Signal = %v, want the least signal of the most, 0.5", s)
	}
	// It is a copy.
	light := []float64{0, 1}
	f = sampled(t, light...)
	light[1] = 0
	if f.Light(1) != 1 {
		t.Error("NewSampled kept the caller's slice")
	}
	for _, bad := range [][]float64{nil, {1}, {0, 0.5, 0.4}, {-0.1, 1}, {0, 1.1}, {0, math.NaN()}, {math.Inf(1), 1}} {
		if _, err := NewSampled(bad); err == nil {
			t.Errorf("NewSampled(%v): no error", bad)
		}
	}
}
