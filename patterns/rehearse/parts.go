package main

import (
	"math/rand/v2"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
)

// replaced are the parts of a screen that a score rests on, and that -parts replaces by the truth: what is lost to crush and clip, how red and blue depart from
// the grey, and the grey curve, range and coarse steps included.
var replaced = []struct {
	name             string
	ends, tint, tone bool
}{
	{"nothing", false, false, false}, {"ends", true, false, false}, {"tint", false, true, false}, {"tone", false, false, true}, {"tone and tint", false, true, true},
}

// partDraws is how many possible screens each score is taken over, the same ones for all.
const partDraws = 250

// parts returns the score as it would have been told with parts of every possible screen replaced by the truth, by the names of replaced.
func (t truth) parts(found check.Results, aim screen.Aim, seed uint64) map[string]float64 {
	intent := report.Intended(aim)
	draws := found.Possibles(aim, partDraws, rand.New(rand.NewPCG(seed, 0x7061727473)))
	told, weights := map[string]float64{}, check.Means(draws, aim)
	for i := range draws {
		shown := report.ShownBy(&draws[i])
		for _, p := range replaced {
			told[p.name] += weights[i] * intent.Score(t.into(shown, p.ends, p.tint, p.tone))
		}
	}
	return told
}

// into returns a screen with parts of it as they truly are. Green stands for the grey, of which no possible screen has it differ.
func (t truth) into(s report.Shown, ends, tint, tone bool) report.Shown {
	was := s.Light
	if tone {
		s.Light[1] = t.shown.Light[1]
	}
	for _, i := range []int{0, 2} {
		for c := range 256 {
			channel, green := was[i][c], was[1][c]
			if tint {
				channel, green = t.shown.Light[i][c], t.shown.Light[1][c]
			}
			s.Light[i][c] = s.Light[1][c]
			if green > 0 {
				s.Light[i][c] *= channel / green
			}
		}
	}
	if ends {
		s.Hides = t.shown.Hides
	}
	return s
}
