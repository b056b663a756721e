package report_test

import (
	"math"
	"testing"

	"example.org/plumb/colour/transfer"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
)

var usual = screen.Aims[0]

// toned is a screen whose channels have one curve and lose nothing.
func toned(light func(v float64) float64) report.Shown {
	s := report.Shown{Hides: func(r, g, b uint8) bool { return false }}
	for i := range s.Light {
		for c := range s.Light[i] {
			s.Light[i][c] = light(float64(c) / 255)
		}
	}
	return s
}

// A screen that is as intended shows all; one that bends a curve, tints or crushes shows less, the more the worse.
func TestScore(t *testing.T) {
	for _, a := range screen.Aims {
		n := report.Intended(a)
		for _, c := range a.Curves {
			if s := n.Score(toned(c.Light)); math.Abs(s-100) > 1e-6 {
				t.Errorf("%s: its own curve scores %.4f", a.ID, s)
			}
		}
	}
	n := report.Intended(usual)
	between := func(v float64) float64 { return (transfer.SRGB{}.Light(v) + transfer.Power(2.2).Light(v)) / 2 }
	if s := n.Score(toned(between)); math.Abs(s-100) > 1e-6 {
		t.Errorf("between both curves it scores %.1f", s)
	}
	if s := n.Score(toned(transfer.Power(2.25).Light)); s < 97 {
		t.Errorf("gamma 2.25 scores %.1f", s)
	}
	for _, way := range []float64{0.2, -0.2} {
		last := 101.0
		for k := range 6 {
			s := n.Score(toned(transfer.Power(2.2 + way*float64(k)).Light))
			if s > last+1e-9 {
				t.Errorf("gamma %g scores %.1f, more than %.1f", 2.2+way*float64(k), s, last)
			}
			last = s
		}
		if last > 30 {
			t.Errorf("gamma %g scores %.1f", 2.2+way*5, last)
		}
	}
	last := 101.0
	for _, tint := range []float64{0, 0.03, 0.06, 0.2} {
		s := toned(transfer.SRGB{}.Light)
		for c := range 256 {
			v := math.Max(float64(c)/255, 1e-6)
			s.Light[0][c] *= math.Pow(v, tint)
			s.Light[2][c] *= math.Pow(v, -tint)
		}
		if got := n.Score(s); got > last+1e-9 {
			t.Errorf("a tint of %g scores %.1f, more than %.1f", tint, got, last)
		} else {
			last = got
		}
	}
	if last > 60 {
		t.Errorf("a strong tint scores %.1f", last)
	}
}

// What is lost to crush and clip is its share of the content: black itself and white itself are not lost.
func TestLostIsNotShown(t *testing.T) {
	n := report.Intended(usual)
	for _, c := range []struct{ crush, clip int }{{0, 255}, {1, 255}, {16, 255}, {30, 250}, {0, 225}} {
		lost := 0.0
		for _, k := range report.Colours() {
			most := int(max(k.R, k.G, k.B))
			if most > 0 && most <= c.crush || most >= c.clip && most < 255 {
				lost += k.Weight
			}
		}
		p := screen.Possible{Tone: screen.Tone{Gamma: 2.2, Toe: true}, Crush: c.crush, Clip: c.clip, Bits: 8}
		s := toned(transfer.SRGB{}.Light)
		s.Hides = p.Hides
		if got := n.Score(s); math.Abs(got-100*(1-lost)) > 1e-6 {
			t.Errorf("crushed to %d and clipped from %d: %.3f, want %.3f", c.crush, c.clip, got, 100*(1-lost))
		}
	}
}

// A possible screen is scored as what it is: its curve, its tint, its steps.
func TestShownByAPossibleScreen(t *testing.T) {
	n := report.Intended(usual)
	p := screen.Possible{Tone: screen.Tone{Gamma: 2.2, Toe: true}, Clip: 255, Bits: 8}
	if s := n.Score(report.ShownBy(&p)); math.Abs(s-100) > 1e-6 {
		t.Errorf("the sRGB curve scores %.3f", s)
	}
	p.Tint[1][0] = -0.02 // a slope of 0.02 of u'v' for each e-fold of the signal
	if s := n.Score(report.ShownBy(&p)); s > 80 {
		t.Errorf("tinted it scores %.1f", s)
	}
	coarse := screen.Possible{Tone: screen.Tone{Gamma: 2.2, Toe: true}, Clip: 255, Bits: 5}
	if s := n.Score(report.ShownBy(&coarse)); s > 99.5 {
		t.Errorf("in 32 steps it scores %.1f", s)
	}
}
