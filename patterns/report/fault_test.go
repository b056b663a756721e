package report

import (
	"slices"
	"testing"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/screen"
)

// From which probability on a fault is named, alone and beside coarse steps.
func TestNamedFrom(t *testing.T) {
	type off map[check.Aspect]float64 // how probable it is that an aspect is off
	for _, c := range []struct {
		off  off
		want []string
	}{
		{off{}, nil},
		{off{check.Neutrals: 0.59}, nil},
		{off{check.Neutrals: 0.61}, []string{TintedGreys}},
		{off{check.Evenness: 0.79}, nil},
		{off{check.Evenness: 0.81}, []string{UnevenScreen}},
		{off{check.Smoothness: 0.89}, nil},
		{off{check.Smoothness: 0.91}, []string{CoarseSteps}},
		{off{check.Smoothness: 0.89, check.Neutrals: 0.9, check.Evenness: 0.85}, []string{TintedGreys, UnevenScreen}},
		{off{check.Smoothness: 0.99, check.Neutrals: 0.96, check.Evenness: 0.96}, []string{CoarseSteps}},
		{off{check.Smoothness: 0.98, check.Neutrals: 0.99, check.Evenness: 0.975}, []string{TintedGreys, CoarseSteps, UnevenScreen}},
	} {
		r := Record{}
		for _, a := range check.Aspects {
			p := c.off[a]
			f := Finding{Aspect: a, Within: 1 - p, Verdict: Holds}
			switch {
			case p > check.SureOff:
				f.Verdict = Off
			case p > 0.1:
				f.Verdict = Unsure
			}
			r.Findings = append(r.Findings, f)
		}
		var got []string
		for _, f := range faults(&r, check.Results{}, nil, screen.Aims[0]) {
			got = append(got, f.Name)
		}
		slices.Sort(got)
		slices.Sort(c.want)
		if !slices.Equal(got, c.want) {
			t.Errorf("off with %v: named %q, want %q", c.off, got, c.want)
		}
	}
}
