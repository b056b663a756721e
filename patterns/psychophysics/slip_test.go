package psychophysics_test

import (
	"math"
	"testing"

	"example.org/plumb/patterns/psychophysics"
)

// One setting far from all others was let go by mistake: with slips allowed for it moves the estimate by less than the rest's own noise.
func TestASlipDoesNotBendTheRest(t *testing.T) {
	mean := func(slip float64) float64 {
		m := line(psychophysics.Prior{Location: 0, Scale: 1}, []float64{0.05, 0.1, 0.2, 0.4}, []float64{1, 1, 1, 1}, 0.03)
		m.Slip = slip
		c := psychophysics.NewComparison(m)
		for _, v := range []float64{0.48, 0.53, 0.51, 0.45, 0.5} {
			c.Set(spot{y: v}, 0)
		}
		c.Set(spot{y: -0.9}, 0)
		return c.Mode()[0]
	}
	if with := mean(0.02); math.Abs(with-0.494) > 0.03 {
		t.Errorf("with slips allowed for the mode is %.3f, the five settings' mean 0.494", with)
	}
	if without := mean(0); math.Abs(without-0.494) < 0.1 {
		t.Errorf("without, the mode is %.3f: the slip did not bend it, so this test shows nothing", without)
	}
}
