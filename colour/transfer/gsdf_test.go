package transfer

import (
	"math"
	"testing"
)

// Every JND index of DICOM PS3.14, computed from equation 7-1 apart from this package and rounded to the 4 decimals of table B-1.
func TestGSDFLuminance(t *testing.T) {
	v := vectors(t, "gsdf.csv")
	if n := len(v["index"]); n != 1023 {
		t.Fatalf("%d indices, want 1023", n)
	}
	for i, j := range v["index"] {
		if l := GSDFLuminance(j); math.Abs(l-v["luminance"][i]) > 0.51e-4 {
			t.Errorf("index %v: %.5f cd/m², want %.4f", j, l, v["luminance"][i])
		}
	}
	// Table B-1 prints 3993.4040 for the last index; the coefficients as printed give 3993.3296.
	if l := GSDFLuminance(1023); math.Abs(l/3993.4040-1) > 2e-5 {
		t.Errorf("index 1023: %.4f cd/m², table B-1 has 3993.4040", l)
	}
}

// Equation 7-2 at the ends and at the middle, and how well it undoes 7-1.
func TestGSDFIndex(t *testing.T) {
	for _, v := range []struct{ luminance, index float64 }{{0.05, 1.030448821855101}, {130.0662, 511.99744749753233}} {
		if j := GSDFIndex(v.luminance); math.Abs(j-v.index) > 1e-9 {
			t.Errorf("GSDFIndex(%v) = %.12f, want %.12f", v.luminance, j, v.index)
		}
	}
	for j := 1.0; j <= 1023; j += 0.25 {
		if back := GSDFIndex(GSDFLuminance(j)); math.Abs(back-j) > 0.1 {
			t.Fatalf("GSDFIndex(GSDFLuminance(%v)) = %v", j, back)
		}
	}
}

// The derivative against a difference of equation 7-1, and at luminances computed apart from this package (to 5 decimals).
func TestGSDFStep(t *testing.T) {
	const h = 1e-4
	for j := 2.0; j < 1022; j += 0.5 {
		l := GSDFLuminance(j)
		at := GSDFIndex(l)
		want := (GSDFLuminance(at+h) - GSDFLuminance(at-h)) / (2 * h)
		if step := GSDFStep(l); math.Abs(step/want-1) > 1e-6 {
			t.Fatalf("GSDFStep(%v) = %v, want %v", l, step, want)
		}
	}
	for _, v := range []struct{ luminance, step float64 }{
		{0.1, 0.00648}, {0.2, 0.00944}, {0.5, 0.01601}, {1, 0.02431}, {2, 0.03758}, {5, 0.06921}, {10, 0.11354}, {20, 0.19254}, {50, 0.40808},
		{80, 0.61335}, {100, 0.74779}, {120, 0.88106}, {160, 1.14531}, {200, 1.40755}, {300, 2.05826}, {400, 2.70521}, {500, 3.35025}, {1000, 6.56793},
	} {
		if step := GSDFStep(v.luminance); math.Abs(step/v.step-1) > 1.5e-3 {
			t.Errorf("GSDFStep(%v) = %.5f, want %.5f", v.luminance, step, v.step)
		}
	}
}

func TestGSDFClamps(t *testing.T) {
	for _, l := range []float64{0, 0.01, -1, math.Inf(-1)} {
		if GSDFIndex(l) != GSDFIndex(GSDFMin) || GSDFStep(l) != GSDFStep(GSDFMin) {
			t.Errorf("%v cd/m² is not taken as %v", l, GSDFMin)
		}
	}
	for _, l := range []float64{5000, math.Inf(1)} {
		if GSDFIndex(l) != GSDFIndex(GSDFMax) || GSDFStep(l) != GSDFStep(GSDFMax) {
			t.Errorf("%v cd/m² is not taken as %v", l, GSDFMax)
		}
	}
	if GSDFLuminance(0) != GSDFLuminance(1) || GSDFLuminance(2000) != GSDFLuminance(1023) {
		t.Error("indices are not clamped to [1,1023]")
	}
	for j, last := 2.0, 0.0; j <= 1023; j++ {
		step := GSDFStep(GSDFLuminance(j))
		if step <= last {
			t.Fatalf("the step falls at index %v", j)
		}
		last = step
	}
}

func BenchmarkGSDFStep(b *testing.B) {
	for b.Loop() {
		GSDFStep(80)
	}
}
