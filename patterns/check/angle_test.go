package check

import (
	"math"
	"reflect"
	"testing"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/observer"
)

// Before any judgement the shift is as likely as its prior has it, and drawn alike by the same source.
func TestAnglePrior(t *testing.T) {
	unseen := func() AngleResult { return newAngle(0).result(stripeRandom(40)) }
	v := unseen()
	if p := v.Shift.Within(-AngleShift, AngleShift); p < 0.4 || p > 0.85 {
		t.Errorf("a shift within tolerance is believed beforehand with %.2f", p)
	}
	if len(v.Draws) != StripeDraws || !reflect.DeepEqual(v, unseen()) {
		t.Error("the same source gives other draws")
	}
}

// The judgements of a long sitting.
const angleSettings, angleTrials = 4, 10

// On screens and viewers of the priors the rms error of the shift is near the bound, the intervals hold what they say, and few screens are called steady that
// are not, with doubled noise too. Errors above 0.25 count as that.
func TestAngleRecovers(t *testing.T) {
	sessions := 400
	if testing.Short() {
		sessions = 30
	}
	noises, prior := stripeNoises()
	bounds := map[float64]float64{} // mean square error, by noise
	for _, c := range []struct {
		name  string
		noise float64 // 0: drawn
	}{{"typical", 0.04}, {"doubled", 0.08}, {"any", 0}} {
		r := stripeRandom(41)
		square, bound, held, untrue := 0.0, 0.0, 0, 0
		for range sessions {
			noise := c.noise
			if noise == 0 {
				noise = drawNoise(noises, prior, r)
			}
			s, p := stripedAngle()
			theta := s.truth(r)
			s.answer(t, theta, noise, angleSettings, angleTrials, r)
			v := p.result(r)
			d := v.Shift.Mean() - theta[0]
			square += min(d*d, farGamma) / float64(sessions)
			if lo, hi := v.Shift.Interval(0.9); lo <= theta[0] && theta[0] <= hi {
				held++
			}
			if bounds[noise] == 0 {
				b := AngleBound(noise, angleSettings, angleTrials)
				bounds[noise] = b * b
			}
			bound += bounds[noise] / float64(sessions)
			if v.Shift.Within(-AngleShift, AngleShift) > 0.9 && math.Abs(theta[0]) > AngleShift {
				untrue++
			}
		}
		rms, bound := math.Sqrt(square), math.Sqrt(bound)
		cover, wrong := float64(held)/float64(sessions), float64(untrue)/float64(sessions)
		t.Logf("%s: rms error of the shift %.3f, bound %.3f, ratio %.2f; 90 %% intervals hold %.1f %%; called steady and are not %.1f %%", c.name, rms, bound, rms/bound, 100*cover, 100*wrong)
		if testing.Short() {
			continue
		}
		if rms > 1.22*bound { // over 1000 sittings 1.09, 1.06 and 1.14; the ratio has an SD of 4 % here
			t.Errorf("%s: %.3f, bound %.3f", c.name, rms, bound)
		}
		if c.noise == 0 && math.Abs(cover-0.9) > 0.04+0.014 { // SD 1.3 %
			t.Errorf("%s: intervals hold %.3f", c.name, cover)
		}
		if wrong > 0.04+0.01 { // SD 0.9 %
			t.Errorf("%s: called steady and are not %.3f", c.name, wrong)
		}
	}
}

// Virtual viewers find the shift of a screen whose tone depends on the angle. Its exponent, 2.2 in the middle, grows by 2.2 times the described angle
// to the bottom edge, and as much less to the top: two thirds of that at each place that is judged.
func TestAngleByVirtualViewers(t *testing.T) {
	kind, _ := observer.KindByName("typical")
	for _, by := range []float64{0, 0.1, -0.1} {
		d := display.Default()
		d.Angle = by
		m := d.Model()
		const sessions = 8
		mean := 0.0
		for i := range sessions {
			r := stripeRandom(50 + uint64(i))
			s, p := stripedAngle()
			s.watch(t, observer.New(kind, &m, r), angleSettings, angleTrials, r)
			mean += p.result(r).Shift.Mean() / sessions
		}
		want := 2.2 * by * 4 / 3
		t.Logf("%.3f, is %.3f", mean, want)
		if math.Abs(mean-want*0.85) > 0.06 { // drawn towards none by what is believed beforehand
			t.Errorf("%.3f, is %.3f", mean, want)
		}
	}
	s, _ := stripedAngle()
	s.obvious(t, display.Default(), stripeRandom(60))
}
