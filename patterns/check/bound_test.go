package check_test

import (
	"math"
	"testing"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/testdata"
)

// Sweat factors (defined by Taylor and Creelman 1967) of 9 choices, per squared decade and at lapses of 2 and 5 % of all judgements. Ours is 3 % of
// those not guessed right, 2.67 % of all, and per squared natural logarithm.
func TestNearEndBound(t *testing.T) {
	_, rows := testdata.Table(t, "psychophysics/sweat.csv")
	factors := map[float64]map[string]float64{}
	for _, row := range rows {
		if row[0] != "weibull" || row[2] != "9" {
			continue
		}
		slope, factor := testdata.Number(t, row[1]), testdata.Number(t, row[4])
		if factors[slope] == nil {
			factors[slope] = map[string]float64{}
		}
		factors[slope][row[3]] = factor
	}
	if len(factors) < 3 {
		t.Fatalf("factors %v", factors)
	}
	for slope, by := range factors {
		between := by["0.02"] + (by["0.05"]-by["0.02"])*(0.03*8/9-0.02)/0.03
		for _, n := range []int{1, 10, 24} {
			want := math.Sqrt(between/float64(n)) * math.Ln10
			if got := check.NearEndBound(slope, n, math.Inf(1)); math.Abs(got/want-1) > 0.01 {
				t.Errorf("slope %g, %d judgements: SD %.4f, by the factors %.4f", slope, n, got, want)
			}
		}
		// A prior adds its information.
		alone := check.NearEndBound(slope, 10, math.Inf(1))
		if got, want := check.NearEndBound(slope, 10, 0.3), 1/math.Sqrt(1/(alone*alone)+1/0.09); math.Abs(got-want) > 1e-12 {
			t.Errorf("slope %g: SD %.6f with a prior of 0.3, want %.6f", slope, got, want)
		}
	}
}

// For the viewer and curve of the reachable figures: 0.37 ΔL* after 20 judgements and 0.29 after 40, from our own simulation of the same bound. It falls
// with every judgement, with less noise and with less bias.
func TestToneBound(t *testing.T) {
	tone := screen.Tone{Gamma: 2.2}
	bound := func(noise, bias float64, settings, comparisons int) float64 {
		return check.ToneBound(tone, noise, bias, settings, comparisons)
	}
	after20, after40 := bound(0.029, 0.01, 5, 15), bound(0.029, 0.01, 5, 35)
	t.Logf("%.3f after 20, %.3f after 40", after20, after40)
	if math.Abs(after20-0.37) > 0.08 || math.Abs(after40-0.29) > 0.08 {
		t.Errorf("%.3f after 20 and %.3f after 40, want about 0.37 and 0.29", after20, after40)
	}
	last := math.Inf(1)
	for n := range 12 {
		b := bound(0.04, 0.03, min(n, 5), max(n-5, 0))
		if !(b < last) || b <= 0 {
			t.Errorf("after %d judgements %.4f, before it %.4f", n, b, last)
		}
		last = b
	}
	if a, b := bound(0.04, 0.03, 5, 10), bound(0.08, 0.03, 5, 10); a >= b {
		t.Errorf("%.4f with a noise of 0.04, %.4f with 0.08", a, b)
	}
	if a, b := bound(0.04, 0.01, 5, 10), bound(0.04, 0.06, 5, 10); a >= b {
		t.Errorf("%.4f with a bias of 0.01, %.4f with 0.06", a, b)
	}
	if a, b := bound(0.04, 0.03, 10, 0), bound(0.04, 0.03, 0, 10); a >= b {
		t.Errorf("%.4f with settings, %.4f with comparisons, each of which tells less", a, b)
	}
}
