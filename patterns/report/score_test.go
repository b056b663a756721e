package report_test

import (
	"math"
	"testing"

	"example.org/plumb/colour/transfer"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
)

var usual = screen.Aims[0]

func TestContent(t *testing.T) {
	sum, mean := 0.0, 0.0
	for c, w := range report.Content {
		if w <= 0 {
			t.Errorf("code %d has %g", c, w)
		}
		sum += w
		mean += w * float64(c)
	}
	if math.Abs(sum-1) > 1e-12 || mean < 100 || mean > 125 {
		t.Errorf("shares sum to %g with a mean code of %.1f", sum, mean)
	}
}

// A screen that is as intended shows all; one that lifts a curve, tints or crushes shows less, the more the worse.
func TestScore(t *testing.T) {
	perfect := func(light func(float64) float64) report.Shown { return report.Shown{Light: light, Clip: 255} }
	for _, a := range screen.Aims {
		for _, c := range a.Curves {
			if s := perfect(c.Light).Score(a); math.Abs(s-100) > 1e-9 {
				t.Errorf("%s: its own curve scores %.4f", a.ID, s)
			}
		}
	}
	if s := perfect(transfer.Power(2.25).Light).Score(usual); s < 98 {
		t.Errorf("gamma 2.25 scores %.1f", s)
	}
	// 2.2 ΔE00 lighter than the lightest that is allowed, or darker than the darkest, is still as intended; 2.8 is not. Between greys ΔE00 is the
	// difference of L* over S_L of CIE 142-2001.
	for _, c := range []struct{ by, least, most float64 }{{2.2, 99.999, 101}, {-2.2, 99.999, 101}, {2.8, -1, 10}, {-2.8, -1, 10}} {
		shifted := func(v float64) float64 {
			lo, hi := usual.Band(v)
			l := hi
			if c.by < 0 {
				l = lo
			}
			d := l + c.by/2 - 50
			l += c.by * (1 + 0.015*d*d/math.Sqrt(20+d*d))
			return transfer.LStar{}.Light(min(max(l/100, 0), 1))
		}
		if s := perfect(shifted).Score(usual); s < c.least || s > c.most {
			t.Errorf("%g ΔE00 beyond the aim everywhere scores %.2f", c.by, s)
		}
	}
	last := 101.0
	for _, g := range []float64{2.2, 2.4, 2.6, 2.8, 3.2} {
		s := perfect(transfer.Power(g).Light).Score(usual)
		if s > last {
			t.Errorf("gamma %g scores %.1f, more than %.1f", g, s, last)
		}
		last = s
	}
	if last > 30 {
		t.Errorf("gamma 3.2 scores %.1f", last)
	}
	last = 101
	for _, tint := range []float64{0, 0.03, 0.06, 0.2} {
		s := perfect(transfer.SRGB{}.Light)
		s.Red, s.Blue = tint, -tint
		if got := s.Score(usual); got > last {
			t.Errorf("a tint of %g scores %.1f, more than %.1f", tint, got, last)
		} else {
			last = got
		}
	}
	if last > 50 {
		t.Errorf("a strong tint scores %.1f", last)
	}
	// What is lost to crush and clip is its share of the content: black itself and white itself are not lost.
	for _, c := range []struct{ crush, clip int }{{0, 255}, {1, 255}, {16, 255}, {30, 250}, {0, 225}} {
		lost := 0.0
		for code := 1; code <= c.crush; code++ {
			lost += report.Content[code]
		}
		for code := c.clip; code < 255; code++ {
			lost += report.Content[code]
		}
		s := report.Shown{Light: transfer.SRGB{}.Light, Crush: c.crush, Clip: c.clip}
		if got := s.Score(usual); math.Abs(got-100*(1-lost)) > 1e-9 {
			t.Errorf("crushed to %d and clipped from %d: %.3f, want %.3f", c.crush, c.clip, got, 100*(1-lost))
		}
	}
	// Everything lost is nothing shown, and not less.
	if s := (report.Shown{Light: transfer.SRGB{}.Light, Crush: 255, Clip: 0}).Score(usual); s < -1e-9 || s > 100*(report.Content[0]+report.Content[255])+1e-9 {
		t.Errorf("with all lost the score is %g", s)
	}
}
