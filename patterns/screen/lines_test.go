package screen_test

import (
	"encoding/csv"
	"math"
	"strconv"
	"testing"

	"example.org/plumb/colour/transfer"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/testdata"
)

// matches reads screens/lines.csv: what plain code matches lines of black and white, by curve.
func matches(t *testing.T) (rows [][]string, number func(row, column int) float64) {
	t.Helper()
	f, err := testdata.FS.Open("screens/lines.csv")
	if err != nil {
		t.Fatal(err)
	}
	rows, err = csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows, func(row, column int) float64 {
		v, err := strconv.ParseFloat(rows[row][column], 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// power is a gamma as a Tone has it.
func power(gamma float64) func(v float64) float64 { return screen.Tone{Gamma: gamma}.Light }

// The plain code that has the light of lines is where the curves say, and the gamma that one such match shows is the published one.
func TestLineMatches(t *testing.T) {
	aim := func(id string, i int) func(v float64) float64 {
		a, ok := screen.AimByID(id)
		if !ok {
			t.Fatalf("no aim %q", id)
		}
		return a.Curves[i].Light
	}
	curves := map[string][]func(v float64) float64{
		"gamma1.8": {power(1.8)}, "gamma2.0": {power(2)}, "gamma2.6": {power(2.6)},
		"gamma2.2": {power(2.2), aim("usual", 1)},
		"gamma2.4": {power(2.4), aim("gamma 2.4", 0)},
		"sRGB":     {aim("usual", 0)},
		"L*":       {aim("L*", 0)},
		"bt1886":   {transfer.BT1886{White: 1000, Black: 1}.Light},
	}
	rows, number := matches(t)
	seen := map[string]int{}
	for i := range rows[1:] {
		i++
		f, v := number(i, 1)/number(i, 2), number(i, 3)
		for _, light := range curves[rows[i][0]] {
			seen[rows[i][0]]++
			// The signal has 6 decimals and the curve's slope is at most 2.6.
			if got := light(v); math.Abs(got-f) > 2e-6 {
				t.Errorf("%v: light %.7f, the lines have %.7f", rows[i], got, f)
			}
			if got := light(number(i, 4) / 255); math.Abs(got-f) > 1e-5 {
				t.Errorf("%v: the code has %.7f, the lines have %.7f", rows[i], got, f)
			}
			if got := math.Log(f) / math.Log(v); math.Abs(got-number(i, 5)) > 3e-5 {
				t.Errorf("%v: apparent gamma %.5f", rows[i], got)
			}
		}
	}
	for name := range curves {
		if seen[name] < 7 {
			t.Errorf("%s: %d rows", name, seen[name])
		}
	}
}

// The effective gamma of a curve lies among the gammas that single matches show, and the sRGB curve's does not count as an error of 2.2.
func TestEffectiveGammaLiesAmongMatches(t *testing.T) {
	rows, number := matches(t)
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := 1; i < len(rows); i++ {
		if rows[i][0] == "sRGB" {
			lo, hi = min(lo, number(i, 5)), max(hi, number(i, 5))
		}
	}
	// Levels below those of the table show down to 2.09: the sRGB toe.
	toe := math.Log(transfer.SRGB{}.Light(0.1)) / math.Log(0.1)
	if g := screen.EffectiveGamma(transfer.SRGB{}.Light); !(g > toe && g < hi) || !(lo < hi) {
		t.Errorf("sRGB has an effective gamma of %.4f, its matches show %.4f to %.4f and its toe %.4f", g, lo, hi, toe)
	}
	for _, g := range []float64{1.8, 2.2, 2.6} {
		if got := screen.EffectiveGamma(power(g)); math.Abs(got-g) > 1e-12 {
			t.Errorf("a power of %g has %g", g, got)
		}
	}
}
