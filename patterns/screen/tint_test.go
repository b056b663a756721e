package screen_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/patterns/screen"
)

// uv is CIE 1976 u', v' (CIE 15:2018) of a grey on an sRGB screen whose red and blue are e^red and e^blue times green.
func uv(red, blue float64) (u, v float64) {
	// The matrix of IEC 61966-2-1.
	r, g, b := math.Exp(red), 1.0, math.Exp(blue)
	x, y, z := 0.4124*r+0.3576*g+0.1805*b, 0.2126*r+0.7152*g+0.0722*b, 0.0193*r+0.1192*g+0.9505*b
	d := x + 15*y + 3*z
	return 4 * x / d, 9 * y / d
}

// To first order the length of a hue is the exact distance in u'v', and its direction is pink for more red and yellow for less blue.
func TestHueOfIsTheDistanceInUV(t *testing.T) {
	u0, v0 := uv(0, 0)
	if math.Abs(u0-0.1978) > 1e-4 || math.Abs(v0-0.4683) > 1e-4 { // D65, CIE 15:2018
		t.Fatalf("white is at %g, %g", u0, v0)
	}
	r := rand.New(rand.NewPCG(1, 1))
	for n := range 200 {
		red, blue := 0.02*r.NormFloat64(), 0.02*r.NormFloat64()
		u, v := uv(red, blue)
		want := math.Hypot(u-u0, v-v0)
		got := screen.Length(screen.HueOf(red, blue))
		if math.Abs(got-want) > 0.03*want+0.6*(red*red+blue*blue)*0.1 {
			t.Errorf("%d: red %+.4f blue %+.4f: a length of %.6f, exactly %.6f", n, red, blue, got, want)
		}
	}
	// Towards no difference the ratio goes to 1, in every direction.
	for k := range 24 {
		a := 2 * math.Pi * float64(k) / 24
		red, blue := 1e-5*math.Cos(a), 1e-5*math.Sin(a)
		u, v := uv(red, blue)
		if ratio := screen.Length(screen.HueOf(red, blue)) / math.Hypot(u-u0, v-v0); math.Abs(ratio-1) > 2e-3 {
			t.Errorf("direction %d: %.5f times the distance", k, ratio)
		}
	}
	for _, c := range []struct {
		red, blue    float64
		pink, yellow float64 // signs
	}{{0.01, 0, 1, -1}, {-0.01, 0, -1, 1}, {0, 0.01, 1, -1}, {0, -0.01, -1, 1}} {
		pink, yellow := screen.HueOf(c.red, c.blue)
		if pink*c.pink <= 0 {
			t.Errorf("red %+g blue %+g: pink %+g", c.red, c.blue, pink)
		}
		if c.red == 0 && yellow*c.yellow <= 0 {
			t.Errorf("blue %+g: yellow %+g", c.blue, yellow)
		}
	}
}

// Along the axes a unit of the logarithms is 0.1894 and 0.0864 in u'v' at D65: the derivatives of u' and v' by ln X and by ln Z.
func TestHueSteps(t *testing.T) {
	const h = 1e-6
	w := colour.SRGB.White()
	at := func(x, y, z float64) (u, v float64) {
		d := x + 15*y + 3*z
		return 4 * x / d, 9 * y / d
	}
	u0, v0 := at(w.X, w.Y, w.Z)
	u1, v1 := at(w.X*(1+h), w.Y, w.Z)
	u2, v2 := at(w.X, w.Y, w.Z*(1-h))
	pink, yellow := math.Hypot(u1-u0, v1-v0)/h, math.Hypot(u2-u0, v2-v0)/h
	if math.Abs(pink-0.1894) > 2e-4 || math.Abs(yellow-0.0864) > 2e-4 {
		t.Fatalf("%.5f and %.5f", pink, yellow)
	}
	// What HueOf makes of red and blue is these steps times the logarithms' derivatives: about .2213 and .1177 of ln X/Y, .195 and -.800 of ln Y/Z.
	for _, c := range []struct{ red, blue, x, z float64 }{{1, 0, 0.2213, 0.195}, {0, 1, 0.1177, -0.800}} {
		p, y := screen.HueOf(c.red, c.blue)
		if math.Abs(p/pink-c.x) > 1e-3 || math.Abs(y/yellow-c.z) > 1e-3 {
			t.Errorf("red %g blue %g: %.4f and %.4f of the steps", c.red, c.blue, p/pink, y/yellow)
		}
	}
	// Their directions are not square on each other.
	cosine := ((u1-u0)*(u2-u0) + (v1-v0)*(v2-v0)) / (h * h * pink * yellow)
	for _, c := range [][2]float64{{3e-3, 4e-3}, {-2e-3, 5e-3}, {1e-3, 0}, {0, -1e-3}} {
		want := math.Sqrt(c[0]*c[0] + c[1]*c[1] + 2*cosine*c[0]*c[1])
		if got := screen.Length(c[0], c[1]); math.Abs(got-want) > 1e-6 {
			t.Errorf("%v has a length of %.6f, want %.6f", c, got, want)
		}
	}
	if l := screen.Length(0, 0); l != 0 {
		t.Errorf("nothing has a length of %g", l)
	}
}

func TestRatioIsTheInverse(t *testing.T) {
	for _, red := range []float64{-0.3, -0.01, 0, 0.02, 0.5} {
		for _, blue := range []float64{-0.4, 0, 0.001, 0.2} {
			r, b := screen.Ratio(screen.HueOf(red, blue))
			if math.Abs(r-red) > 1e-12 || math.Abs(b-blue) > 1e-12 {
				t.Errorf("%g and %g come back as %g and %g", red, blue, r, b)
			}
		}
	}
}

// The formula of Tint, written out once more.
func slowTint(theta []float64, v float64) float64 {
	v = math.Min(math.Max(v, 0.04), 1)
	sum := theta[0] * math.Log(v)
	for k := 1; k <= screen.TintKnots; k++ {
		sum += theta[k] * math.Max(0, 1-math.Abs(4*v-float64(k)))
	}
	return sum
}

func TestTintAt(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	for range 200 {
		theta := make([]float64, screen.TintParams+2) // more may follow, and stay
		for i := range theta {
			theta[i] = 0.01 * r.NormFloat64()
		}
		v := r.Float64()
		grad := []float64{7, 7, 7, 7, 7, 7}
		got := screen.TintAt(theta, v, grad)
		if want := slowTint(theta, v); math.Abs(got-want) > 1e-15 {
			t.Fatalf("%v at %g: %g, want %g", theta, v, got, want)
		}
		if plain := screen.TintAt(theta, v, nil); plain != got {
			t.Fatalf("without derivatives %g, with them %g", plain, got)
		}
		for i := range grad {
			if i >= screen.TintParams {
				if grad[i] != 7 {
					t.Fatalf("derivative %d is set", i)
				}
				continue
			}
			const h = 1e-4 // it is linear in the parameters
			up, down := append([]float64(nil), theta...), append([]float64(nil), theta...)
			up[i] += h
			down[i] -= h
			if want := (slowTint(up, v) - slowTint(down, v)) / (2 * h); math.Abs(grad[i]-want) > 1e-9 {
				t.Fatalf("at %g derivative %d is %g, by differences %g", v, i, grad[i], want)
			}
		}
		tint := screen.Tint{[screen.TintParams]float64(theta[:4]), [screen.TintParams]float64{0.001}}
		if pink, yellow := tint.At(v); pink != got || math.Abs(yellow-0.001*math.Log(max(v, 0.04))) > 1e-15 {
			t.Fatalf("at %g: %g and %g", v, pink, yellow)
		}
		// The greatest over all judged levels, one by one.
		worst := 0.0
		for i := range screen.Steps {
			if v := float64(i) / 20; v >= screen.TintFrom {
				worst = max(worst, screen.Length(slowTint(tint[0][:], v), slowTint(tint[1][:], v)))
			}
		}
		if got := tint.Greatest(); math.Abs(got-worst) > 1e-12 {
			t.Fatalf("%v: %g, want %g", tint, got, worst)
		}
	}
	// White has none, and neither has no tint.
	if v := screen.TintAt([]float64{0.1, 0.2, 0.3, 0.4}, 1, nil); v != 0 {
		t.Errorf("white has a tint of %g", v)
	}
	if g := new(screen.Tint).Greatest(); g != 0 {
		t.Errorf("the zero Tint has %g", g)
	}
}
