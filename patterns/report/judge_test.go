package report

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// probably is an estimate that lies within a tolerance with probability p.
func probably(t check.Tolerance, p float64) psychophysics.Estimate {
	return psychophysics.NewEstimate([]float64{(t.Lo + t.Hi) / 2, t.Hi + 1}, []float64{p, 1 - p})
}

// A verdict is given above 0.9 and below 0.05, and not at them.
func TestJudge(t *testing.T) {
	for _, c := range []struct {
		within float64
		want   Verdict
	}{
		{1, Holds}, {0.95, Holds}, {0.9000001, Holds}, {0.9, Unsure}, {0.5, Unsure}, {0.06, Unsure}, {0.0499, Off}, {0, Off}, {math.NaN(), Unsure},
	} {
		if got := judge(c.within); got != c.want {
			t.Errorf("within with %g: %s, want %s", c.within, got, c.want)
		}
	}
	tol := check.Tolerance{Lo: 0, Hi: 9}
	for _, c := range []struct {
		at   float64
		want float64
	}{{0, 1}, {9, 1}, {9.001, 0}, {-0.001, 0}, {4, 1}} {
		if got := within(psychophysics.NewEstimate([]float64{c.at}, []float64{1}), tol); got != c.want {
			t.Errorf("%g is within 0 to 9 with %g, want %g", c.at, got, c.want)
		}
	}
}

func TestVerdictWords(t *testing.T) {
	for v, w := range map[Verdict]string{NotChecked: "not checked", Unsure: "unsure", Holds: "holds", Off: "off"} {
		b, err := json.Marshal(v)
		if err != nil || string(b) != `"`+w+`"` || v.String() != w {
			t.Errorf("%d is %s, %v", v, b, err)
		}
		var back Verdict
		if err := json.Unmarshal(b, &back); err != nil || back != v {
			t.Errorf("%s reads as %v, %v", b, back, err)
		}
	}
	var v Verdict
	if v != NotChecked {
		t.Errorf("the zero Verdict is %s", v)
	}
	for _, s := range []string{`"Holds"`, `""`, `2`, `null`, `true`, `["holds"]`} {
		v = Off
		if err := json.Unmarshal([]byte(s), &v); err == nil {
			t.Errorf("%s reads as %s", s, v)
		}
	}
}

// What a purpose says of what is known. Layout and wording needs shadows, highlights and tone.
func TestPurposes(t *testing.T) {
	needs := check.Needs(check.Layout, screen.Aims[0])
	if len(needs) != 3 {
		t.Fatalf("%+v", needs)
	}
	const gone = -1
	for _, c := range []struct {
		name  string
		p     [3]float64 // of shadows, highlights and tone being within; gone where it was not judged
		want  Verdict
		words string
	}{
		{"nothing known", [3]float64{gone, gone, gone}, NotChecked, "Not checked: shadows, highlights and tone."},
		{"one not judged, the others sure", [3]float64{1, 1, gone}, NotChecked, "Not checked: tone."},
		{"one not judged, one unsure", [3]float64{0.5, 1, gone}, NotChecked, "Not checked: tone."},
		{"one not judged, one off", [3]float64{0.04, 1, gone}, Off, "Not fit: shadows off."},
		{"all sure", [3]float64{0.99, 0.99, 0.99}, Holds, "Fit to decide."},
		{"each holds, not all together", [3]float64{0.81, 0.81, 0.81}, Unsure, "each aspect holds, but not surely enough all together"},
		{"one hardly unsure", [3]float64{0.74, 1, 1}, Unsure, "Can't tell yet: shadows unsure."},
		{"the others speak for one", [3]float64{0.78, 1, 1}, Holds, "Fit to decide."},
		{"the others speak less for one", [3]float64{0.78, 0.7, 1}, Unsure, "Can't tell yet: shadows and highlights unsure."},
		{"one unsure", [3]float64{0.99, 0.6, 0.99}, Unsure, "Can't tell yet: highlights unsure."},
		{"two unsure", [3]float64{0.8, 0.6, 0.99}, Unsure, "Can't tell yet: shadows and highlights unsure."},
		{"one off", [3]float64{0.99, 0.015, 0.99}, Off, "Not fit: highlights off."},
		{"the others speak for one that looks off", [3]float64{0.99, 0.02, 0.99}, Unsure, "Can't tell yet: highlights unsure."},
		{"one off, one unsure", [3]float64{0.5, 0.02, 0.99}, Off, "Not fit: highlights off; shadows unsure."},
		{"none off, all together off", [3]float64{0.24, 0.24, 0.24}, Off, "shadows, highlights and tone together are too likely to be off"},
		{"all off", [3]float64{0, 0, 0}, Off, "shadows, highlights and tone off"},
	} {
		p := screen.Profile{}
		for i, n := range needs {
			if c.p[i] != gone {
				p[n.Quantity] = probably(n, c.p[i])
			}
		}
		got := judgeUse(check.Layout, screen.Aims[0], p, nil)
		if got.Verdict != c.want || !strings.Contains(got.Why, c.words) || got.Name != check.Uses[check.Layout].Name {
			t.Errorf("%s: %+v, want %s, %s", c.name, got, c.want, c.words)
		}
	}
	// An estimate that knows nothing is no estimate.
	p := screen.Profile{}
	for _, n := range needs {
		p[n.Quantity] = psychophysics.Estimate{}
	}
	if got := judgeUse(check.Layout, screen.Aims[0], p, nil); got.Verdict != NotChecked {
		t.Errorf("of estimates that know nothing: %+v", got)
	}
}

// Colour needs handling too, which has no quantity; light and shade does not.
func TestColourNeedsHandling(t *testing.T) {
	aim := screen.Aims[0]
	p := screen.Profile{}
	for _, n := range check.Needs(check.Colour, aim) {
		p[n.Quantity] = psychophysics.NewEstimate([]float64{max(n.Lo, min(n.Hi, n.Lo)), n.Hi + 1}, []float64{1, 0})
	}
	for v, want := range map[Verdict]Verdict{Holds: Holds, Off: Off, Unsure: Unsure, NotChecked: NotChecked} {
		findings := []Finding{{Aspect: check.Handling, Verdict: v}}
		if got := judgeUse(check.Colour, aim, p, findings); got.Verdict != want || want != Holds && !strings.Contains(got.Why, "handling") {
			t.Errorf("handling %s: %+v, want %s", v, got, want)
		}
		if got := judgeUse(check.Light, aim, p, findings); got.Verdict != Holds {
			t.Errorf("handling %s: %+v", v, got)
		}
	}
}

// What handling says of each sign.
func TestHandling(t *testing.T) {
	good := Conditions{Width: 100, Exact: true, Profile: "honoured"}
	for _, c := range []struct {
		change func(*Conditions)
		want   Verdict
		words  string
	}{
		{func(*Conditions) {}, Holds, "honours colour profiles"},
		{func(c *Conditions) { c.Width = 0 }, NotChecked, ""},
		{func(c *Conditions) { c.Exact = false }, Off, "one pixel of a picture"},
		{func(c *Conditions) { c.CanvasNoise = true }, Off, "alters the codes"},
		{func(c *Conditions) { c.ForcedColors = true }, Off, "replaces the colours"},
		{func(c *Conditions) { c.Even = "no" }, Off, "do not look even"},
		{func(c *Conditions) { c.Profile = "ignored" }, Off, "does not honour"},
		{func(c *Conditions) { c.Twin = "no" }, Off, "plain twin"},
		{func(c *Conditions) { c.Profile = "" }, Unsure, "as they were painted"},
	} {
		k := good
		c.change(&k)
		f := Finding{Aspect: check.Handling}
		f.handling(k)
		if f.Verdict != c.want || !strings.Contains(strings.ToLower(f.Seen), c.words) || f.Verdict != Holds && f.Within != 0 {
			t.Errorf("%+v: %+v, want %s", k, f, c.want)
		}
	}
}

// Each row of the table has a band, a source, and a quantity; stricter purposes ask for no less.
func TestTableOfUses(t *testing.T) {
	if check.Uses[check.Light].Name != "Light and shade" || len(check.Uses) != 3 {
		t.Fatalf("%+v", check.Uses)
	}
	for _, aim := range screen.Aims {
		for use, u := range check.Uses {
			if u.Name == "" || len(u.Needs) == 0 {
				t.Errorf("%+v", u)
			}
			for _, n := range check.Needs(use, aim) {
				if !(n.Lo <= n.Hi) || n.Source == "" || n.Quantity == "" || n.Aspect == "" {
					t.Errorf("%s: %+v", u.Name, n)
				}
				strict, ok := check.Strictest(n.Aspect, aim)
				if !ok || strict.Quantity != n.Quantity || strict.Hi > n.Hi || strict.Lo < n.Lo {
					t.Errorf("%s asks for %+v, the strictest for %+v", u.Name, n, strict)
				}
			}
		}
		if _, ok := check.Strictest(check.ColourRange, aim); ok != aim.Wide {
			t.Errorf("aim %s has a tolerance for the colour range: %v", aim.ID, ok)
		}
	}
}

// A normal posterior's 10 % point is 1.28 SD from its mean; halving the SD takes four times the judgements.
func TestSettle(t *testing.T) {
	normal := func(mean, sd float64) psychophysics.Estimate {
		var x, w []float64
		for z := -5.0; z <= 5; z += 0.05 {
			x, w = append(x, mean+sd*z), append(w, math.Exp(-z*z/2))
		}
		return psychophysics.NewEstimate(x, w)
	}
	for _, c := range []struct {
		mean, sd   float64
		judgements int
		want       string
	}{
		{8, 1.02 / 1.28, 14, "About 5 more judgements would settle it."},            // the SD is nearly as it must be: never fewer than 5
		{7, 2 / 1.28 * math.Sqrt2, 14, "About 15 more judgements would settle it."}, // twice the variance: as many again, rounded up
		{7, 2 / 1.28 * 2, 14, "About 45 more judgements would settle it."},          // four times: 42 more
		{8.9, 2, 14, "It is so close to the limit that no sitting by eye would settle it."},
		{9, 2, 14, "It is so close to the limit that no sitting by eye would settle it."},
	} {
		if got := settle(normal(c.mean, c.sd), 9, c.judgements); got != c.want {
			t.Errorf("%g ± %g after %d: %s, want %s", c.mean, c.sd, c.judgements, got, c.want)
		}
	}
}

func TestToneWords(t *testing.T) {
	for _, c := range []struct {
		middle, dark float64
		want         string
	}{
		{0, 0, "Tones run as intended."},
		{1.1, -1.1, "Tones run as intended."},
		{3, 3, "Dark and middle tones are lighter than intended."},
		{-3, -2, "Dark and middle tones are darker than intended."},
		{0, 4, "Dark tones are lighter than intended."},
		{-2, 0.5, "Middle tones are darker than intended."},
		{2, -2, "Dark tones are darker and middle tones lighter than intended."},
	} {
		if got := toneWords(c.middle, c.dark); got != c.want {
			t.Errorf("%g and %g: %s, want %s", c.middle, c.dark, got, c.want)
		}
	}
}

func TestListed(t *testing.T) {
	for want, words := range map[string][]string{"": nil, "a": {"a"}, "a and b": {"a", "b"}, "a, b and c": {"a", "b", "c"}} {
		if got := listed(words); got != want {
			t.Errorf("%v: %q, want %q", words, got, want)
		}
	}
}

// Lines disagree when they more likely than not differ by more than 8 % of light.
func TestLinesDisagree(t *testing.T) {
	at := func(v, w []float64) *check.ToneResult {
		return &check.ToneResult{RowsColumns: psychophysics.NewEstimate(v, w)}
	}
	for _, c := range []struct {
		name string
		t    *check.ToneResult
		want bool
	}{
		{"not judged", nil, false},
		{"alike", at([]float64{0}, []float64{1}), false},
		{"7 %", at([]float64{0.07}, []float64{1}), false},
		{"9 %", at([]float64{0.09}, []float64{1}), true},
		{"9 % the other way", at([]float64{-0.09}, []float64{1}), true},
		{"maybe", at([]float64{0, 0.2}, []float64{0.55, 0.45}), false},
		{"rather", at([]float64{0, 0.2}, []float64{0.45, 0.55}), true},
	} {
		if got := linesDisagree(c.t); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}
