package psychophysics_test

import (
	"encoding/csv"
	"math"
	"strconv"
	"testing"

	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/testdata"
)

// sweat returns the sweat factor of Taylor and Creelman 1967, the least variance of a threshold times the number of judgements, with the best
// place and the probability there: the least p(1-p)/p'² over x. The derivative is numerical, so that nothing is shared with what is checked.
func sweat(p func(x float64) float64) (factor, best, right float64) {
	factor = math.Inf(1)
	for i := -10000; i <= 10000; i++ {
		x := float64(i) * 1e-4
		if 1-p(x) < 1e-6 {
			break // beyond, a difference of two probabilities has no digits left
		}
		const h = 1e-5
		d := (p(x+h) - p(x-h)) / (2 * h)
		if k := p(x) * (1 - p(x)) / (d * d); k < factor {
			factor, best, right = k, x, p(x)
		}
	}
	return factor, best, right
}

func TestSweatFactors(t *testing.T) {
	b, err := testdata.FS.Open("psychophysics/sweat.csv")
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	checked := map[string]int{}
	for _, row := range rows[1:] {
		number := func(i int) float64 {
			v, err := strconv.ParseFloat(row[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		slope, lapse := number(1), number(3)
		var p func(x float64) float64
		switch {
		case row[2] == "signed":
			p = func(x float64) float64 { return psychophysics.Signed(x, 1, lapse) }
		case row[0] == "weibull":
			n := int(number(2))
			// The table's lapse is a share of all judgements, ours of those that are not guessed right.
			ours := lapse / (1 - 1/float64(n))
			p = func(x float64) float64 { return psychophysics.Weibull(math.Pow(10, x), slope, ours, n) }
		default:
			g := 1 / number(2)
			p = func(x float64) float64 { return g + (1-g-lapse)*psychophysics.Normal(x) }
		}
		factor, best, right := sweat(p)
		if !near(factor/number(4), 1, 2e-4) || !near(best, number(5), 2e-3) || !near(right, number(6), 2e-3) {
			t.Errorf("%v: factor %.6f at %.4f, where %.4f are right", row, factor, best, right)
		}
		checked[row[0]]++
	}
	if checked["normal"] < 10 || checked["weibull"] < 10 {
		t.Errorf("checked %v", checked)
	}
}
