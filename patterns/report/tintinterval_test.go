package report_test

import (
	"math"
	"testing"

	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/report"
)

// A screen without tint lies in the interval of one whose tint is not seen; what is surely tinted keeps the central interval; and no interval holds less than nine in
// ten.
func TestTintInterval(t *testing.T) {
	// The length of two normal errors about a tint along one axis.
	about := func(tint, sd float64) psychophysics.Estimate {
		const n = 200
		var at, mass []float64
		for i := range n {
			for j := range n {
				z := func(k int) float64 { return sd * math.Sqrt2 * math.Erfinv(2*(float64(k)+0.5)/n-1) }
				at, mass = append(at, math.Hypot(tint+z(i), z(j))), append(mass, 1)
			}
		}
		return psychophysics.NewEstimate(at, mass)
	}
	for _, c := range []struct {
		tint, sd float64
		none     bool
	}{{0, 0.001, true}, {0.001, 0.0015, true}, {0.003, 0.001, true}, {0.006, 0.001, false}, {0.02, 0.004, false}} {
		e := about(c.tint, c.sd)
		lo, hi := report.TintInterval(e)
		from, to := e.Interval(0.9)
		if hi != to || c.none && lo != 0 || !c.none && lo != from {
			t.Errorf("a tint of %g known to %g: %.4f to %.4f, the central interval is %.4f to %.4f", c.tint, c.sd, lo, hi, from, to)
		}
		if held := e.Within(lo, hi); held < 0.899 {
			t.Errorf("a tint of %g known to %g: %.4f to %.4f holds %.3f", c.tint, c.sd, lo, hi, held)
		}
		if from == 0 {
			t.Errorf("a tint of %g known to %g: the central interval holds none already", c.tint, c.sd)
		}
	}
}
