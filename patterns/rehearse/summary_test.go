package main

import (
	"math"
	"testing"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
)

func near(a, b, tolerance float64) bool { return math.Abs(a-b) <= tolerance }

// The four worked proportions of Newcombe 1998, Statistics in Medicine 17:857, table I, the score method without continuity correction (from
// memory; they agree with Wilson's formula).
func TestWilsonInterval(t *testing.T) {
	for _, c := range []struct {
		count, of int
		lo, hi    float64
	}{{81, 263, 0.2553, 0.3662}, {15, 148, 0.0624, 0.1605}, {0, 20, 0, 0.1611}, {1, 29, 0.0061, 0.1718}} {
		s := newShare(c.count, c.of)
		if s.Count != c.count || s.Of != c.of || !near(s.Rate, 100*float64(c.count)/float64(c.of), 1e-12) || !near(s.Lo, 100*c.lo, 0.006) || !near(s.Hi, 100*c.hi, 0.006) {
			t.Errorf("%+v, want %g to %g", s, 100*c.lo, 100*c.hi)
		}
	}
	for n := 1; n < 200; n++ {
		if s := newShare(0, n); s.Lo != 0 || s.Rate != 0 {
			t.Errorf("none of %d: %+v", n, s)
		}
		if s := newShare(n, n); s.Hi != 100 || s.Rate != 100 {
			t.Errorf("all of %d: %+v", n, s)
		}
	}
	if s := newShare(0, 0); s != (share{}) {
		t.Errorf("none of none: %+v", s)
	}
}

// By hand: five sittings, of which one is void.
func TestSummary(t *testing.T) {
	fig := func(mean, truth float64, inside bool) map[screen.Quantity]figure {
		return map[screen.Quantity]figure{screen.Gamma: {Mean: mean, Truth: truth, Inside: inside}}
	}
	says := func(v report.Verdict) map[string]report.Verdict { return map[string]report.Verdict{"tone": v} }
	for_ := func(v report.Verdict) map[string]report.Verdict { return map[string]report.Verdict{"light": v} }
	truths := func(tone, light report.Verdict) map[string]report.Verdict {
		return map[string]report.Verdict{"tone": tone, "light": light, "neutrals": report.NotChecked}
	}
	l := func(v float64) *float64 { return &v }
	spent := map[check.Aspect]int{check.Tone: 30}
	results := []result{
		{Judgements: 70, Seconds: 200, Estimates: fig(2.3, 2.2, true), Lightness: l(0.3), Verdicts: says(report.Holds), Purposes: for_(report.Holds), Truth: truths(report.Holds, report.Holds), Spent: spent,
			Score: &scored{Value: 90, Truth: 95, Inside: true}, After: map[int]float64{20: 0.6}, Bound: map[int]float64{20: 0.3}},
		{Judgements: 70, Seconds: 300, Estimates: fig(2.0, 2.2, false), Lightness: l(0.4), Verdicts: says(report.Holds), Purposes: for_(report.Unsure), Truth: truths(report.Off, report.Off), Spent: spent,
			Score: &scored{Value: 50, Truth: 40, Inside: false}, After: map[int]float64{20: 0.8}, Bound: map[int]float64{20: 0.4}},
		{Judgements: 70, Seconds: 400, Estimates: fig(2.2, 2.2, true), Lightness: l(0), Verdicts: says(report.Off), Purposes: for_(report.Off), Truth: truths(report.Holds, report.Holds), Spent: spent},
		{Judgements: 70, Seconds: 500, Verdicts: says(report.Unsure), Purposes: for_(report.NotChecked), Truth: truths(report.Off, report.Off)},
		{Judgements: 20, Seconds: 100, Void: true, Estimates: fig(9, 2.2, false), Verdicts: says(report.NotChecked), Purposes: for_(report.NotChecked), Truth: truths(report.Off, report.Off), Score: &scored{Value: 1}},
	}
	s := sum("typical", "standard", results)
	if s.Viewer != "typical" || s.Length != "standard" || s.Sittings != 5 || s.Void != newShare(1, 5) || !near(s.Judgements, 60, 1e-9) || !near(s.Seconds, 300, 1e-9) {
		t.Errorf("%+v", s)
	}
	q := s.Quantities[screen.Gamma]
	if !near(q.RMS, math.Sqrt(0.05/3), 1e-12) || !near(q.Bias, -0.1/3, 1e-12) || q.Coverage != newShare(2, 3) {
		t.Errorf("gamma: %+v", q)
	}
	if !near(s.Lightness, math.Sqrt(0.25/3), 1e-12) {
		t.Errorf("lightness %g", s.Lightness)
	}
	if !near(s.Score.RMS, math.Sqrt(125.0/2), 1e-12) || !near(s.Score.Bias, 2.5, 1e-12) || s.Score.Coverage != newShare(1, 2) {
		t.Errorf("score: %+v", s.Score)
	}
	if a := s.After[20]; !near(a.RMS, math.Sqrt(0.5), 1e-12) || !near(a.Bound, math.Sqrt(0.125), 1e-12) || !near(a.Ratio, 2, 1e-12) {
		t.Errorf("after 20: %+v", a)
	}
	want := outcome{newShare(1, 4), newShare(1, 2), newShare(1, 4), newShare(1, 2), newShare(1, 4), 22.5}
	if got := s.Outcomes["tone"]; got != want {
		t.Errorf("tone: %+v, want %+v", got, want)
	}
	want = outcome{newShare(0, 3), newShare(0, 1), newShare(1, 3), newShare(1, 2), newShare(1, 3), 0} // one was not checked
	if got := s.Outcomes["light"]; got != want {
		t.Errorf("light: %+v, want %+v", got, want)
	}
	// Near a tolerance, or on it, one is not counted among the clear.
	for i, m := range []float64{0.5, 1.1, 0.84, 2, 3} {
		results[i].Margins = map[string]float64{"light": m}
		results[i].Faults = []string{"gamma too high"}
	}
	results[1].Faults = append(results[1].Faults, "tinted greys")
	results[0].Tint, results[1].Tint = l(0.003), l(0.004)
	s = sum("typical", "standard", results)
	want = outcome{newShare(0, 1), newShare(0, 0), newShare(0, 1), newShare(0, 1), newShare(0, 1), 0}
	if got := s.Clear["light"]; got != want {
		t.Errorf("light where it is clear: %+v, want %+v", got, want)
	}
	if len(s.Faults) != 2 || s.Faults["gamma too high"] != 4 || s.Faults["tinted greys"] != 1 { // of a void sitting nothing counts
		t.Errorf("faults %v", s.Faults)
	}
	for i, mean := range []float64{7.8, 7.2, 6.4} {
		results[i].Estimates = map[screen.Quantity]figure{screen.Bits: {Mean: mean, Truth: []float64{8, 8, 6}[i]}}
		results[i].Places = l(0.03 + 0.01*float64(i))
	}
	if s := sum("typical", "standard", results); s.RightBits != newShare(2, 3) || !near(s.Places, math.Sqrt(50e-4/3), 1e-12) {
		t.Errorf("bits right %+v, places %g", s.RightBits, s.Places)
	}
	if !near(s.Tint, math.Sqrt(12.5e-6), 1e-12) {
		t.Errorf("tint %g", s.Tint)
	}
	if _, ok := s.Outcomes["neutrals"]; ok {
		t.Error("what has no truth has an outcome")
	}
	if s := sum("typical", "short", nil); s.Sittings != 0 || math.IsNaN(s.Judgements) || math.IsNaN(s.Score.RMS) {
		t.Errorf("of nothing: %+v", s)
	}
}
