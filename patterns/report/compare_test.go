package report

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"example.org/plumb/patterns/check"
)

// compared is a record with one figure for shadows and none else.
func compared(mean, lo, hi float64) Record {
	r := Record{Version: Version, Plan: check.Plan{Aim: "usual"}, Score: Score{Given: true, At: 80, Lo: 75, Hi: 85}}
	for _, a := range check.Aspects {
		f := Finding{Aspect: a}
		switch a {
		case check.Shadows:
			f = Finding{Aspect: a, Verdict: Holds, Quantity: "first visible code", Mean: mean, Lo: lo, Hi: hi}
		case check.Handling:
			f.Verdict = Holds
		}
		r.Findings = append(r.Findings, f)
	}
	return r
}

func TestCompare(t *testing.T) {
	at := func(c Comparison, a check.Aspect) AspectDifference {
		t.Helper()
		for _, d := range c.Aspects {
			if d.Aspect == a {
				return d
			}
		}
		t.Fatalf("no %s", a)
		panic("unreachable")
	}
	for name, c := range map[string]struct {
		later Record
		moved bool
	}{
		"the same":            {compared(6, 5, 7), false},
		"a little":            {compared(7, 6, 8), false},         // by 1 ± 1.41
		"more than both":      {compared(7.5, 6.5, 8.5), true},    // by 1.5 ± 1.41
		"less than both":      {compared(4.5, 3.5, 5.5), true},    // the other way
		"a wide arm that way": {compared(7.5, 5.8, 7.9), false},   // its lower arm reaches back
		"a wide arm far off":  {compared(7.5, 6.5, 12.5), true},   // its upper arm does not matter
		"bars overlap a bit":  {compared(7.45, 6.45, 8.45), true}, // by 1.45: intervals overlap, the difference is clear all the same
	} {
		d := at(Compare(compared(6, 5, 7), c.later), check.Shadows)
		if !d.Known || d.Moved != c.moved || math.Abs(d.By-(c.later.Findings[1].Mean-6)) > 1e-9 {
			t.Errorf("%s: %+v", name, d.Difference)
		}
	}
	if d := at(Compare(compared(6, 5, 7), compared(6, 5, 7)), check.Tone); d.Known || d.Why == "" {
		t.Errorf("tone was checked in neither: %+v", d)
	}
	if d := at(Compare(compared(6, 5, 7), compared(6, 5, 7)), check.Handling); !d.Known || d.Moved {
		t.Errorf("handling: %+v", d)
	}
	for name, change := range map[string]func(*Record){
		"aims":     func(r *Record) { r.Plan.Aim = "L*" },
		"void":     func(r *Record) { r.Void = []string{"nobody looked"} },
		"quantity": func(r *Record) { r.Findings[1].Quantity = "last code below white" },
	} {
		later := compared(9, 8, 10)
		change(&later)
		c := Compare(compared(6, 5, 7), later)
		if d := at(c, check.Shadows); d.Known || d.Moved || d.Why == "" {
			t.Errorf("%s: %+v", name, d)
		}
		if c.Score.Known != (name == "quantity") {
			t.Errorf("%s: score %+v", name, c.Score)
		}
	}
	if c := Compare(compared(6, 5, 7), Record{Plan: check.Plan{Aim: "usual"}}); !strings.Contains(at(c, check.Shadows).Why, "nothing") || c.Score.Known {
		t.Errorf("an empty record: %+v", c)
	}
}

// Of two sittings at one screen, one in ten may seem to have moved: the interval of the difference claims 90 %.
func TestCompareIsHonest(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	moved, n := 0, 4000
	for range n {
		one := func() (at, lo, hi float64) {
			sd := 0.5 + r.Float64()
			at = 10 + sd*r.NormFloat64()
			return at, at - 1.645*sd, at + 1.645*sd
		}
		a, b, c := one()
		d, e, f := one()
		if subtract(a, b, c, d, e, f).Moved {
			moved++
		}
	}
	if share := float64(moved) / float64(n); share < 0.08 || share > 0.12 {
		t.Errorf("%.3f of pairs at one screen moved; 0.10 is claimed", share)
	}
}
