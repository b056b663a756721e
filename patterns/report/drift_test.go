package report

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"example.org/plumb/patterns/check"
)

const week = 7 * 24 * 3600 * 1000 // ms

// told is a record of the packing-room tablet with figures as given, their bars as wide as they scatter, one week after another.
func told(n int, figures map[check.Aspect]Span) Record {
	r := Record{Version: Version, Plan: check.Plan{Aim: "usual", Length: check.Standard}, Conditions: Conditions{Screen: "packing-room tablet", Ended: int64(n+1) * week}}
	for _, a := range check.Aspects {
		f := Finding{Aspect: a}
		if s, ok := figures[a]; ok {
			f = Finding{Aspect: a, Verdict: Holds, Quantity: "a figure of " + string(a), Mean: s.At, Lo: s.Lo, Hi: s.Hi, AllowedLo: 1, AllowedHi: 3}
		}
		if a == check.Handling {
			f.Verdict = Holds
		}
		r.Findings = append(r.Findings, f)
	}
	return r
}

// bars are those of an SD.
func bars(at, sd float64) Span { return Span{at, at - ends*sd, at + ends*sd} }

// gammas are sittings that found these gammas, each with an SD of 0.05.
func gammas(at ...float64) []Record {
	var list []Record
	for i, g := range at {
		list = append(list, told(i, map[check.Aspect]Span{check.Tone: bars(g, 0.05)}))
	}
	return list
}

func courseOf(t *testing.T, list []Course, a check.Aspect, part string) Course {
	t.Helper()
	for _, c := range list {
		if c.Aspect == a && c.Part == part {
			return c
		}
	}
	t.Fatalf("no course of %s %q in %v", a, part, list)
	panic("unreachable")
}

func TestWatch(t *testing.T) {
	for name, c := range map[string]struct {
		sittings []Record
		baseline int
		moved    bool
		since    int // sitting
		by       float64
	}{
		"the same":                      {gammas(2.2, 2.2, 2.2, 2.2), 0, false, 0, 0},
		"one sitting later":             {gammas(2.2, 2.6), 0, false, 0, 0.4},
		"a step that two sittings show": {gammas(2.2, 2.2, 2.2, 2.5, 2.5), 0, true, 3, 0.3},
		"the other way":                 {gammas(2.2, 2.2, 2.2, 1.9, 1.9), 0, true, 3, -0.3},
		"right after the baseline":      {gammas(2.2, 2.6, 2.6), 0, true, 1, 0.4},
		"a step that goes on":           {gammas(2.2, 2.2, 2.2, 2.4, 2.9), 0, true, 3, 0.64},
		"a step that one sitting shows": {gammas(2.2, 2.2, 2.2, 2.2, 2.6), 0, false, 0, 0.4},
		"one odd sitting between":       {gammas(2.2, 2.2, 3.2, 2.2, 2.2), 0, false, 0, 0},
		"one odd sitting before last":   {gammas(2.2, 2.2, 2.2, 3.2, 2.2), 0, false, 0, 0},
		"one odd, one the other way":    {gammas(2.2, 2.2, 2.2, 2.2, 3.2, 2.0), 0, false, 0, -0.2},
		"a trend":                       {gammas(2.2, 2.24, 2.28, 2.32, 2.36, 2.40, 2.44, 2.48), 0, true, 4, 0.28},
		"a small step":                  {gammas(2.2, 2.2, 2.2, 2.25, 2.25), 0, false, 0, 0.05},
		"before the baseline":           {gammas(2.6, 2.6, 2.6, 2.2, 2.2, 2.2), 3, false, 0, 0},
		"since a later baseline":        {gammas(2.6, 2.6, 2.6, 2.2, 2.2, 2.6, 2.6), 3, true, 5, 0.4},
		"there and further":             {gammas(2.2, 2.2, 2.2, 2.5, 2.5, 2.5, 2.9, 2.9, 2.9), 0, true, 3, 0.7},
		"there and back":                {gammas(2.2, 2.2, 2.5, 2.5, 2.2, 2.2, 2.2, 2.2), 0, false, 0, 0},
	} {
		got := courseOf(t, Watch(c.sittings, c.baseline), check.Tone, "")
		if got.Moved != c.moved || math.Abs(got.By-c.by) > 0.01 || got.Why != "" || len(got.Points) != len(c.sittings) {
			t.Errorf("%s: %+v", name, got)
		}
		since := int64(0)
		if c.moved {
			since = int64(c.since+1) * week
		}
		if got.Since != since {
			t.Errorf("%s: since sitting %d, want %d", name, got.Since/week-1, c.since)
		}
		if !(got.Lo < got.By && got.By < got.Hi) || c.moved && got.Lo*got.Hi < 0 {
			t.Errorf("%s: by %g, %g to %g", name, got.By, got.Lo, got.Hi)
		}
		if got.AllowedLo != 1 || got.AllowedHi != 3 || got.Quantity != "a figure of tone" {
			t.Errorf("%s: allowed %g to %g of %q", name, got.AllowedLo, got.AllowedHi, got.Quantity)
		}
	}
}

// Watch lists what it knows of, in the order of the report, and nothing for an index that is none.
func TestWatchLists(t *testing.T) {
	list := Watch(gammas(2.2, 2.2), 0)
	if len(list) != 2 || list[0].Aspect != check.Handling || list[1].Aspect != check.Tone {
		t.Errorf("%+v", list)
	}
	for _, n := range []int{-1, 2} {
		if l := Watch(gammas(2.2, 2.2), n); l != nil {
			t.Errorf("baseline %d: %v", n, l)
		}
	}
	if l := Watch(nil, 0); l != nil {
		t.Errorf("no sittings: %v", l)
	}
	if c := courseOf(t, Watch(gammas(2.2), 0), check.Tone, ""); c.Why == "" || c.Moved || len(c.Points) != 1 {
		t.Errorf("one sitting: %+v", c)
	}
	if c := courseOf(t, Watch(append([]Record{told(0, nil)}, gammas(2.2, 2.2)...), 0), check.Tone, ""); c.Why == "" || c.Moved || len(c.Points) != 2 || c.Points[0].Why == "" {
		t.Errorf("not checked in the baseline: %+v", c)
	}
	extra := gammas(2.2, 2.2)
	extra[1].Extras = []Finding{{Aspect: check.White, Quantity: "white offset", Verdict: Off, Mean: 0.01, Lo: 0.005, Hi: 0.02}}
	if c := courseOf(t, Watch(extra, 0), check.White, ""); c.Why == "" || len(c.Points) != 1 {
		t.Errorf("white in the later alone: %+v", c)
	}
}

// What probes find is flagged at once, and not once it is as it was.
func TestWatchHandling(t *testing.T) {
	list := func(v ...Verdict) []Record {
		r := gammas(make([]float64, len(v))...)
		for i := range r {
			r[i].Findings[0].Verdict = v[i]
		}
		return r
	}
	for _, c := range []struct {
		verdicts []Verdict
		moved    bool
		since    int64
	}{
		{[]Verdict{Holds, Holds}, false, 0},
		{[]Verdict{Holds, Off}, true, 2 * week},
		{[]Verdict{Off, Off, Holds, Holds}, true, 3 * week},
		{[]Verdict{Holds, Off, Holds}, false, 0},
		{[]Verdict{Holds, Unsure}, false, 0},
	} {
		got := courseOf(t, Watch(list(c.verdicts...), 0), check.Handling, "")
		if got.Moved != c.moved || got.Since != c.since || got.Why != "" || len(got.Points) != len(c.verdicts) {
			t.Errorf("%v: %+v", c.verdicts, got)
		}
	}
}

// Sittings that cannot be held against the baseline are listed with the reason, and say nothing.
func TestWatchRefuses(t *testing.T) {
	places := func(n int) *Places {
		p := &Places{Rows: n, Cols: n}
		for range n * n {
			p.Light = append(p.Light, bars(0, 0.03))
		}
		return p
	}
	for name, c := range map[string]struct {
		aspect check.Aspect
		change func(r *Record)
		why    string
	}{
		"aim":       {check.Tone, func(r *Record) { r.Plan.Aim = "L*" }, "aims"},
		"void":      {check.Tone, func(r *Record) { r.Void = []string{"nobody looked"} }, "cannot be used"},
		"places":    {check.Evenness, func(r *Record) { r.Places = places(5) }, "3 by 3, then 5 by 5"},
		"no sense":  {check.Tone, func(r *Record) { r.Findings[3].Lo, r.Findings[3].Hi = 3, -3 }, "no sense"},
		"too great": {check.Tone, func(r *Record) { r.Findings[3].Hi = 1e300 }, "no sense"},
	} {
		var list []Record
		for i := range 5 {
			r := told(i, map[check.Aspect]Span{check.Tone: bars(2.2, 0.05), check.Evenness: bars(0.1, 0.03)})
			r.Places = places(3)
			if i > 2 {
				r.Findings[3].Mean, r.Findings[3].Lo, r.Findings[3].Hi = 3.2, 3.1, 3.3
				r.Findings[6].Mean, r.Findings[6].Lo, r.Findings[6].Hi = 0.5, 0.45, 0.55
				c.change(&r)
			}
			list = append(list, r)
		}
		got := courseOf(t, Watch(list, 0), c.aspect, "")
		if got.Moved || len(got.Points) != 5 || got.Points[2].Why != "" || !strings.Contains(got.Points[3].Why, c.why) {
			t.Errorf("%s: %+v", name, got)
		}
	}
	reference := gammas(2.2, 2.2, 2.2)
	for i := range reference {
		reference[i].Plan.Reference = []string{"paper", "screen", "screen"}[i]
		reference[i].Extras = []Finding{{Aspect: check.White, Quantity: "white offset", Verdict: Off, Mean: []float64{0, 0.1, 0.1}[i], Lo: -0.01, Hi: 0.11}}
	}
	if c := courseOf(t, Watch(reference, 0), check.White, ""); c.Moved || c.Why == "" || !strings.Contains(c.Points[1].Why, "reference") {
		t.Errorf("another reference: %+v", c)
	}
	empty := []Record{{}, {Findings: []Finding{{Aspect: check.Tone, Quantity: "gamma"}}}, {Extras: []Finding{{}}}}
	for i := range empty {
		Watch(empty, i)
	}
}

// Parts of an aspect are watched one by one, and listed behind it where they moved.
func TestWatchParts(t *testing.T) {
	record := func(i int, pink, corner float64) Record {
		r := told(i, map[check.Aspect]Span{check.Neutrals: bars(0.004, 0.001), check.Evenness: bars(0.10, 0.02)})
		r.Findings[4].AllowedHi, r.Findings[6].AllowedHi = 0.010, 0.13
		r.Greys = []Grey{{Code: 77, Pink: bars(9, 1)}, {Code: greyPart, Pink: bars(pink, 0.001), Yellow: bars(0, 0.001)}}
		r.Places = &Places{Rows: 3, Cols: 3}
		for k := range 9 {
			at := 0.0
			if k == 2 {
				at = corner
			}
			r.Places.Light = append(r.Places.Light, bars(at, 0.02))
		}
		return r
	}
	list := Watch([]Record{record(0, 0.004, 0.1), record(1, 0.004, 0.1), record(2, -0.004, -0.1), record(3, -0.004, -0.1)}, 0)
	var got []string
	for _, c := range list {
		got = append(got, fmt.Sprintf("%s %s %t", c.Aspect, c.Part, c.Moved))
	}
	if want := "handling  false, neutrals  false, neutrals pinker true, evenness  false, evenness top right true"; strings.Join(got, ", ") != want {
		t.Errorf("%s\nwant %s", strings.Join(got, ", "), want)
	}
	if c := courseOf(t, list, check.Neutrals, "pinker"); math.Abs(c.By+0.008) > 1e-9 || c.Since != 3*week || c.AllowedLo != -0.010 || c.AllowedHi != 0.010 || c.Points[3].Mean != -0.004 {
		t.Errorf("%+v", c)
	}
	if c := courseOf(t, list, check.Evenness, "top right"); math.Abs(c.By+0.2) > 1e-9 || c.AllowedLo != -0.13 {
		t.Errorf("%+v", c)
	}
	lost := []Record{record(0, 0, 0), record(1, 0, 0), record(2, 0, 0)}
	lost[1].Greys, lost[2].Greys, lost[1].Places.Light = nil, nil, nil
	if l := Watch(lost, 0); len(l) != 3 {
		t.Errorf("without parts: %+v", l)
	}
}

// Codes near black are told by factors, and a room or viewer that is another has to differ by more.
func TestWatchCodes(t *testing.T) {
	shadows := func(change func(i int, c *Conditions), at ...float64) Course {
		t.Helper()
		var list []Record
		for i, x := range at {
			r := told(i, map[check.Aspect]Span{check.Shadows: {x, x / 1.25, x * 1.25}, check.Highlights: {255 - x, 255 - x*1.25, 255 - x/1.25}})
			change(i, &r.Conditions)
			list = append(list, r)
		}
		all := Watch(list, 0)
		a, b := courseOf(t, all, check.Shadows, ""), courseOf(t, all, check.Highlights, "")
		if math.Abs(a.By+b.By) > 0.01 || a.Moved != b.Moved || !(b.Lo < b.By && b.By < b.Hi) || a.Moved && b.Hi >= 0 { // counted from the other end
			t.Errorf("%v: shadows %+v, highlights %+v", at, a, b)
		}
		return a
	}
	same := func(int, *Conditions) {}
	if c := shadows(same, 5, 5, 5, 10, 10); !c.Moved || math.Abs(c.By-5) > 1e-6 || c.Lo < 2 || c.Hi < c.By+(c.By-c.Lo) {
		t.Errorf("twice the code: %+v", c)
	}
	if c := shadows(same, 1, 1, 1, 1.5, 1.5); c.Moved {
		t.Errorf("half a code: %+v", c)
	}
	for name, change := range map[string]func(i int, c *Conditions){
		"another room": func(i int, c *Conditions) {
			if c.Room = "dim"; i > 2 {
				c.Room = "bright"
			}
		},
		"another viewer": func(i int, c *Conditions) {
			if c.Viewer = "Ines"; i > 2 {
				c.Viewer = "Tomas"
			}
		},
	} {
		var list []Record
		for i, x := range []float64{5, 5, 5, 10, 10} {
			r := told(i, map[check.Aspect]Span{check.Shadows: {x, x / 1.25, x * 1.25}})
			change(i, &r.Conditions)
			list = append(list, r)
		}
		c := courseOf(t, Watch(list, 0), check.Shadows, "")
		if c.Moved {
			t.Errorf("%s: %+v", name, c)
		}
		for i := range list {
			list[i].Conditions.Viewer, list[i].Conditions.Room = []string{"Ines", " ines "}[i/3], "dim"
		}
		if c := courseOf(t, Watch(list, 0), check.Shadows, ""); !c.Moved {
			t.Errorf("%s: the same after all: %+v", name, c)
		}
	}
	if c := shadows(func(i int, c *Conditions) { c.Viewer = []string{"Ines", "Tomas"}[i%2] }, 5, 7, 5, 7, 10, 14, 10, 14); !c.Moved || math.Abs(c.By-5.3) > 1 {
		t.Errorf("two viewers take turns: %+v", c)
	}
}

// What a record says may be anything that JSON can say.
func TestWatchOfAnything(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	figures := []float64{0, 1, -1, 2.2, 5, 254, 255, 256, 1e-300, 1e5, -1e5, 1e300, -1e300, math.MaxFloat64}
	any := func() float64 { return figures[r.IntN(len(figures))] }
	span := func() Span { return Span{any(), any(), any()} }
	moved := 0
	for range 3000 {
		var list []Record
		for range r.IntN(7) {
			c := Record{Conditions: Conditions{Ended: int64(any()) % (1 << 40), Viewer: []string{"", "Ines", "Okke"}[r.IntN(3)], Room: []string{"", "dim"}[r.IntN(2)]}}
			for _, a := range slices.Concat(check.Aspects, check.Extras, []check.Aspect{"", check.Tone}) {
				s := span()
				f := Finding{Aspect: a, Verdict: Verdict(r.IntN(4)), Quantity: []string{"", "gamma"}[min(r.IntN(5), 1)], Mean: s.At, Lo: s.Lo, Hi: s.Hi}
				if r.IntN(2) == 0 {
					f.Mean, f.Lo, f.Hi = 3, 2.9, 3.1
				}
				c.Findings = append(c.Findings, f)
			}
			if r.IntN(2) == 0 {
				c.Greys = []Grey{{Code: greyPart, Pink: span(), Yellow: span()}}
				c.Places = &Places{Rows: r.IntN(3), Cols: r.IntN(3)}
				for range c.Places.Rows * c.Places.Cols {
					c.Places.Light = append(c.Places.Light, span())
				}
			}
			list = append(list, c)
		}
		for i := range list {
			for _, c := range Watch(list, i) {
				for _, x := range []float64{c.By, c.Lo, c.Hi} {
					if math.IsNaN(x) || math.IsInf(x, 0) {
						t.Fatalf("%+v", c)
					}
				}
				if c.Moved {
					moved++
				}
			}
		}
	}
	if moved == 0 {
		t.Error("nothing moved")
	}
}

// A series in which all scatter is that of the bars: the promise in its own terms, and the slow growth behind it.
func TestBar(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	const most = 24
	first, late := 0, 0
	n := 4000
	for range n {
		s := series{steadiness: steadiness{end: noCode}}
		var raised [2]bool
		for i := range most {
			s.at, s.below, s.when = append(s.at, r.NormFloat64()), append(s.below, 1), append(s.when, int64(i))
			s.above = s.below
			if i+1 < Fewest || i >= looks && i != most-1 {
				continue
			}
			all := indices(0, i+1)
			best := s.move(s.trend(), all).sure()
			for k := 1; k <= i-1; k++ {
				best = max(best, s.move(s.step(k), all).sure())
			}
			if best > bar(alarm, i+1) {
				raised[min(i/looks, 1)] = true
			}
		}
		if raised[0] {
			first++
		}
		if raised[1] {
			late++
		}
	}
	a, b := float64(first)/float64(n), float64(late)/float64(n)
	t.Logf("%.3f of series over %d looks, %.3f at the look after %d", a, looks, b, most)
	if a < 0.03 || a > alarm || b > alarm {
		t.Errorf("%.3f of series over %d looks, %.3f at the look after %d; %g is claimed", a, looks, b, most, alarm)
	}
	if !slices.IsSorted([]float64{bar(0.05, 3), bar(0.05, 7), bar(0.05, 8), bar(0.01, 8)}) || bar(0.05, 2) != bar(0.05, looks) {
		t.Error("the bar does not rise")
	}
}

// Least squares against the plain formula of two means.
func TestMove(t *testing.T) {
	s := series{at: []float64{1, 3, 10, 20, 30}, above: []float64{1, 1, 1, 9, 9}, below: []float64{9, 9, 9, 4, 4}, when: []int64{0, 1, 2, 3, 4}}
	m := s.move(s.step(3), indices(0, 5))
	if math.Abs(m.from-14.0/3) > 1e-9 || math.Abs(m.by-(25-14.0/3)) > 1e-9 || math.Abs(m.sd-math.Sqrt(1.0/3+2)) > 1e-9 {
		t.Errorf("%+v", m)
	}
	if m := s.move(s.step(3), []int{0, 1, 3, 4}); math.Abs(m.from-2) > 1e-9 {
		t.Errorf("without the third: %+v", m)
	}
	if m := s.move(s.step(4), indices(0, 4)); m.sure() != 0 {
		t.Errorf("nothing behind the step: %+v", m)
	}
	// An effect that both sides share cancels; one of its own side counts whole. By the covariance: the means of 2 and 3 with variances 1/2 and 1, of the later a common 9 besides.
	s = series{at: []float64{0, 0, 5, 5, 5}, above: []float64{1, 1, 3, 3, 3}, below: []float64{1, 1, 3, 3, 3}, effects: []effect{{[]int{2, 3, 4}, 9}}}
	if m := s.move(s.step(2), indices(0, 5)); math.Abs(m.by-5) > 1e-9 || math.Abs(m.sd*m.sd-(0.5+1+9)) > 1e-9 {
		t.Errorf("%+v", m)
	}
	s.effects = []effect{{[]int{0, 1, 2, 3, 4}, 9}}
	if m := s.move(s.step(2), indices(0, 5)); math.Abs(m.sd*m.sd-1.5) > 1e-9 {
		t.Errorf("%+v", m)
	}
}

// A journal of two years of weeks.
func BenchmarkWatch(b *testing.B) {
	r := rand.New(rand.NewPCG(5, 6))
	var list []Record
	for i := range 100 {
		figures := map[check.Aspect]Span{}
		for _, a := range check.Aspects[1:] {
			figures[a] = bars(5+0.1*r.NormFloat64(), 0.1)
		}
		x := told(i, figures)
		x.Conditions.Viewer = []string{"Ines", "Tomas", "Okke"}[i%3]
		x.Greys = []Grey{{Code: greyPart, Pink: bars(0.001*r.NormFloat64(), 0.001), Yellow: bars(0.001*r.NormFloat64(), 0.001)}}
		x.Places = &Places{Rows: 3, Cols: 3}
		for range 9 {
			x.Places.Light = append(x.Places.Light, bars(0.02*r.NormFloat64(), 0.03))
		}
		list = append(list, x)
	}
	for b.Loop() {
		Watch(list, 0)
	}
}
