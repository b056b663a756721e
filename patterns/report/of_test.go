package report_test

import (
	"image"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
)

// claims lists what a record claims.
func claims(r report.Record) (all []string) {
	for _, f := range r.Findings {
		if f.Aspect == check.Handling && len(r.Void) == 0 { // by probes, whatever the viewer says
			continue
		}
		if f.Verdict == report.Holds || f.Verdict == report.Off {
			all = append(all, string(f.Aspect)+" "+f.Verdict.String())
		}
	}
	for _, p := range r.Purposes {
		if p.Verdict == report.Holds || p.Verdict == report.Off {
			all = append(all, p.Name+" "+p.Verdict.String())
		}
	}
	if r.Score.Given {
		all = append(all, "a score")
	}
	return all
}

func TestZeroValuesClaimNothing(t *testing.T) {
	if c := claims(report.Record{}); len(c) > 0 {
		t.Errorf("the zero Record claims %v", c)
	}
	if c := claims(report.Record{Findings: make([]report.Finding, 8), Purposes: make([]report.Purpose, 3)}); len(c) > 0 {
		t.Errorf("zero findings and purposes claim %v", c)
	}
}

// A sitting that ended before anything was judged, or in practice, claims nothing and says why.
func TestNothingJudged(t *testing.T) {
	for most, v := range map[int]viewer{0: nil, 1: virtual(t, "expert", ordinary(), 1)} {
		r := sit(t, plan(check.Short, 1), v, 2e9, most)
		if c := claims(r); len(c) > 0 {
			t.Errorf("after %d: %v", most, c)
		}
		for _, f := range r.Findings {
			if f.Aspect == check.Handling { // by probes
				continue
			}
			want := "The sitting ended before this was asked."
			if f.Aspect == check.ColourRange {
				want = "A sitting of this length does not ask about it."
			}
			if f.Verdict != report.NotChecked || f.Why != want || f.Judgements != 0 || f.Seen != "No judgement." {
				t.Errorf("after %d: %+v", most, f)
			}
		}
		for _, p := range r.Purposes {
			if p.Verdict != report.NotChecked || !strings.HasPrefix(p.Why, "Not checked: shadows, highlights") {
				t.Errorf("after %d: %+v", most, p)
			}
		}
		if r.Score.Sentence != "No score: nothing was judged." || !reflect.DeepEqual(r.Curve, report.Curve{}) || len(r.Void) > 0 {
			t.Errorf("after %d: %+v", most, r.Score)
		}
	}
}

// An expert before an ordinary screen: everything that is checked holds, and what is not checked is named and withholds the purpose that needs it.
func TestOrdinaryScreen(t *testing.T) {
	r := sit(t, plan(check.Long, 2), virtual(t, "expert", ordinary(), 2), 2e9, 0)
	if len(r.Findings) != len(check.Aspects) || len(r.Purposes) != len(check.Uses) || r.Version != report.Version || r.Program != "rehearsal" {
		t.Fatalf("%+v", r)
	}
	for i, f := range r.Findings {
		if f.Aspect != check.Aspects[i] {
			t.Errorf("finding %d is of %s", i, f.Aspect)
		}
		want := report.Holds
		switch f.Aspect {
		case check.ColourRange: // nothing in this aim lies beyond sRGB
			want = report.NotChecked
			if f.Seen == "" || f.Judgements == 0 {
				t.Errorf("%+v", f)
			}
		case check.Handling:
		default:
			if f.Within <= 0.9 || f.Within > 1+1e-9 || f.Why != "" || f.Smallest == "" || f.Judgements == 0 || !(f.Lo <= f.Mean && f.Mean <= f.Hi) || !(f.AllowedLo < f.AllowedHi) || f.Mean < f.AllowedLo || f.Mean > f.AllowedHi {
				t.Errorf("%+v", f)
			}
		}
		if f.Verdict != want {
			t.Errorf("%s: %s, want %s", f.Aspect, f.Verdict, want)
		}
	}
	for _, p := range r.Purposes {
		if p.Verdict != report.Holds {
			t.Errorf("%+v", p)
		}
	}
	if len(r.Faults) > 0 {
		t.Errorf("%+v", r.Faults)
	}
	if len(r.Extras) != 2 || len(r.Greys) < 10 || r.Places == nil || r.Places.Rows != 5 || r.Reach == nil || r.Lines == nil || len(r.Scatter) != 4 {
		t.Errorf("%d extras, %d greys, places %v, reach %v, lines %v, scatter %v", len(r.Extras), len(r.Greys), r.Places, r.Reach, r.Lines, r.Scatter)
	}
	if s := r.Score; !s.Given || s.At < 80 || s.Lo > s.At || s.Hi < s.At || s.Hi > 100+1e-9 || !strings.Contains(s.Sentence, "White, brightness, primaries and evenness are not in it") {
		t.Errorf("%+v", s)
	}
	c := r.Curve
	if len(c.Signal) != screen.Steps {
		t.Fatalf("%d levels", len(c.Signal))
	}
	for i := range c.Signal {
		if !(c.Lo[i] <= c.At[i]+1e-9 && c.At[i] <= c.Hi[i]+1e-9 && c.AimLo[i] <= c.AimHi[i]) {
			t.Errorf("level %d: %g to %g around %g, aim %g to %g", i, c.Lo[i], c.Hi[i], c.At[i], c.AimLo[i], c.AimHi[i])
		}
		if want := screen.Lightness(math.Pow(c.Signal[i], 2.2)); math.Abs(c.At[i]-want) > 2.5 {
			t.Errorf("level %d: L* %.1f, the screen has %.1f", i, c.At[i], want)
		}
	}
	if last := len(c.At) - 1; c.At[0] != 0 || math.Abs(c.At[last]-100) > 1e-9 {
		t.Errorf("black is L* %g, white %g", c.At[0], c.At[last])
	}
}

// Faults are named, in words and in figures, and withhold what needs the aspect.
func TestFaultsAreNamed(t *testing.T) {
	crushed, bright, limited := ordinary(), ordinary(), ordinary()
	crushed.Crush, crushed.Clip = 28, 228
	bright.Tone = []display.Tone{{Curve: display.Gamma, Gamma: 1.6}}
	limited.Range = display.FullAsLimited
	for _, c := range []struct {
		name   string
		d      display.Description
		aspect check.Aspect
		words  string
	}{
		{"crushed", crushed, check.Shadows, "Levels 0 to 2"},
		{"clipped", crushed, check.Highlights, "to 255 look the same white"},
		{"bright", bright, check.Tone, "Dark and middle tones are lighter than intended."},
		{"limited", limited, check.Shadows, "Levels 0 to 1"},
		{"limited", limited, check.Highlights, "to 255 look the same white"},
	} {
		r := sit(t, plan(check.Long, 4), virtual(t, "expert", c.d, 4), 2e9, 0)
		f := finding(t, r, c.aspect)
		if f.Verdict != report.Off || !strings.Contains(f.Seen, c.words) || f.Within > 0.1 {
			t.Errorf("%s: %+v", c.name, f)
		}
		if f.Aspect == check.Highlights && !(f.AllowedHi == 255 && f.Mean < f.AllowedLo && f.Lo <= f.Mean && f.Mean <= f.Hi) {
			t.Errorf("%s: %+v", c.name, f)
		}
		if r.Purposes[check.Light].Verdict != report.Off || !strings.Contains(r.Purposes[check.Light].Why, string(c.aspect)) {
			t.Errorf("%s: %+v", c.name, r.Purposes[check.Light])
		}
		if r.Purposes[2].Verdict != report.Off { // off is off, whatever was not checked
			t.Errorf("%s: %+v", c.name, r.Purposes[2])
		}
		if want := map[string]string{"crushed": report.LostShadows, "clipped": report.LostLights, "bright": report.TooLight, "limited": report.RangeSqueezed}[c.name]; !slices.ContainsFunc(r.Faults, func(f report.Fault) bool {
			return f.Name == want && f.Sure > 0.8 && f.Seen != "" && f.Cause != "" && f.Remedy != ""
		}) {
			t.Errorf("%s: %s is not among %+v", c.name, want, r.Faults)
		}
		if r.Score.At > 97 {
			t.Errorf("%s: score %.0f", c.name, r.Score.At)
		}
	}
}

func TestSkippedAspectsSayWhy(t *testing.T) {
	p := plan(check.Standard, 5)
	p.Skip = map[check.Aspect]string{check.Tone: "Fine lines looked uneven.", check.Neutrals: "The viewer sees some colours differently."}
	r := sit(t, p, virtual(t, "expert", ordinary(), 5), 2e9, 0)
	for a, why := range p.Skip {
		if f := finding(t, r, a); f.Verdict != report.NotChecked || f.Why != why {
			t.Errorf("%+v", f)
		}
	}
	for _, u := range r.Purposes {
		if u.Verdict != report.NotChecked || !strings.Contains(u.Why, "tone") {
			t.Errorf("%+v", u)
		}
	}
	if !reflect.DeepEqual(r.Curve, report.Curve{}) {
		t.Error("a curve that nobody judged")
	}
	if !r.Score.Given || r.Score.Hi-r.Score.Lo < 20 { // what was not judged widens it
		t.Errorf("%+v", r.Score)
	}
}

// A sitting that cannot be used claims nothing; what was answered stays to be read.
func TestVoidWithdrawsEveryClaim(t *testing.T) {
	for name, r := range map[string]report.Record{
		"clicker": sit(t, plan(check.Standard, 6), virtual(t, "clicker", ordinary(), 6), 2e9, 0),
		"haste":   sit(t, plan(check.Standard, 6), virtual(t, "expert", ordinary(), 6), 3e8, 0),
	} {
		if len(r.Void) == 0 {
			t.Fatalf("%s is not void: %v", name, r.Notes)
		}
		if c := claims(r); len(c) > 0 {
			t.Errorf("%s claims %v", name, c)
		}
		for _, f := range r.Findings {
			if f.Verdict != report.NotChecked || f.Why == "" {
				t.Errorf("%s: %+v", name, f)
			}
		}
		for _, p := range r.Purposes {
			if p.Verdict != report.NotChecked || p.Why != "The sitting cannot be used." {
				t.Errorf("%s: %+v", name, p)
			}
		}
		if (r.Score != report.Score{Sentence: "No score: the sitting cannot be used."}) {
			t.Errorf("%s: %+v", name, r.Score)
		}
		if len(r.Judgements) < 60 || finding(t, r, check.Shadows).Judgements == 0 {
			t.Errorf("%s: what was answered is gone", name)
		}
		if b, err := report.Read(r.Marshal()); err != nil || len(b.Void) != len(r.Void) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A panel or connection that makes row lines a third lighter than column lines: no tone verdict, and no purpose may rest on it.
func TestRowsAgainstColumnsWithholdTone(t *testing.T) {
	m := ordinary().Model()
	other := virtual(t, "expert", ordinary(), 8)
	v := func(p check.Presentation, dst *image.RGBA) string {
		if p.Check != check.Tone && p.Check != check.Shadows && p.Check != check.Highlights {
			return other(p, dst)
		}
		light := func(r image.Rectangle) float64 {
			sum := 0.0
			at := func(x, y int) uint8 { return dst.RGBAAt(r.Min.X+x, r.Min.Y+y).G }
			rows, columns := false, false
			for i := 1; i < r.Dx(); i++ {
				rows, columns = rows || at(0, i) != at(0, 0), columns || at(i, 0) != at(0, 0)
			}
			for y := range r.Dy() {
				for x := range r.Dx() {
					sum += m.Grey(at(x, y))
				}
			}
			if rows && !columns {
				sum *= 1.35
			}
			return sum / float64(r.Dx()*r.Dy())
		}
		if len(p.Choices) == 10 {
			best, key := 0.0, "Space"
			for _, c := range p.Choices[:9] {
				mid := c.Rect.Min.Add(c.Rect.Size().Div(2))
				d := math.Abs(m.Grey(dst.RGBAAt(mid.X, mid.Y).G) - m.Grey(p.Ground))
				if d > best && d > 0.02 {
					best, key = d, c.Key
				}
			}
			return key
		}
		a, b := light(p.Choices[0].Rect), light(p.Choices[1].Rect)
		if p.Kind == check.Setting {
			b = light(p.Choices[2].Rect)
			switch {
			case a < b*0.98:
				return p.Choices[0].Key
			case a > b*1.02:
				return p.Choices[1].Key
			}
			return p.Choices[2].Key
		}
		if a > b {
			return p.Choices[0].Key
		}
		return p.Choices[1].Key
	}
	r := sit(t, plan(check.Standard, 8), v, 2e9, 0)
	f := finding(t, r, check.Tone)
	if f.Verdict != report.NotChecked || f.Quantity != "" || f.Mean != 0 || f.Hi != 0 || len(r.Curve.At) != 0 || !strings.HasPrefix(f.Why, "Row lines and column lines differ by ") {
		t.Errorf("%+v", f)
	}
	for _, p := range r.Purposes {
		if p.Verdict != report.NotChecked || !strings.Contains(p.Why, "tone") {
			t.Errorf("%+v", p)
		}
	}
	if n := finding(t, r, check.Neutrals); n.Verdict != report.NotChecked || n.Quantity != "" || len(r.Greys) != 0 { // judged against the same lines
		t.Errorf("%+v", n)
	}
	if r.Lines == nil || math.Abs(r.Lines.At-math.Log(1.35)) > 0.08 {
		t.Errorf("rows against columns: %+v", r.Lines)
	}
}

// Notes speak of how the viewer answered.
func TestNotesOfASitting(t *testing.T) {
	r := sit(t, plan(check.Standard, 9), virtual(t, "double", ordinary(), 9), 2e9, 0)
	if len(r.Notes) == 0 || !strings.Contains(r.Notes[0], "obvious differences were seen.") {
		t.Errorf("%q", r.Notes)
	}
	if r.Conditions.Viewer != "Ines" || r.Conditions.Ended <= r.Conditions.Started {
		t.Errorf("%+v", r.Conditions)
	}
}

// What a sitting goes on to do changes no record made of it before.
func TestARecordStandsStill(t *testing.T) {
	s, err := check.Begin(plan(check.Short, 10))
	if err != nil {
		t.Fatal(err)
	}
	for range 8 {
		s.Press("Space", start, 2e9)
	}
	r := report.Of(s, conditions(), "rehearsal")
	before := string(r.Marshal())
	s.TakeBack()
	s.Press("Space", start, 2e9)
	if string(r.Marshal()) != before {
		t.Error("taking an answer back changes the record that was made before it")
	}
}

// Where the shadows are off the first visible code is the crush's own: the viewer's limit lies below it, and nothing is said of it.
func TestTheLimitOfTheViewerIsNotTheCrush(t *testing.T) {
	crushed := ordinary()
	crushed.Crush = 20
	for _, c := range []struct {
		screen display.Description
		want   report.Verdict
		limit  bool
	}{{crushed, report.Off, false}, {ordinary(), report.Holds, true}} {
		r := sit(t, plan(check.Standard, 11), virtual(t, "expert", c.screen, 11), 2e9, 0)
		f := finding(t, r, check.Shadows)
		if f.Verdict != c.want || strings.Contains(f.Smallest, "own limit") != c.limit {
			t.Errorf("crush %d: %s, %q", c.screen.Crush, f.Verdict, f.Smallest)
		}
	}
}
