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
func probably(t Tolerance, p float64) psychophysics.Estimate {
	return psychophysics.NewEstimate([]float64{(t.Lo + t.Hi) / 2, t.Hi + 1}, []float64{p, 1 - p})
}

// A verdict is given above 0.9 and below 0.1, and not at them.
func TestJudge(t *testing.T) {
	for _, c := range []struct {
		within float64
		want   Verdict
	}{
		{1, Holds}, {0.95, Holds}, {0.9000001, Holds}, {0.9, Unsure}, {0.5, Unsure}, {0.11, Unsure}, {0.0999, Off}, {0, Off}, {math.NaN(), Unsure},
	} {
		if got := judge(c.within); got != c.want {
			t.Errorf("within with %g: %s, want %s", c.within, got, c.want)
		}
	}
	tol := Tolerance{Lo: 0, Hi: 9}
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

// What a purpose says of what is known. Layout and wording needs shadows, highlights and tone; Colour also what has no check yet.
func TestPurposes(t *testing.T) {
	use := Uses[0]
	if len(use.Needs) != 3 || len(use.Also) != 0 {
		t.Fatalf("%+v", use)
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
		{"one not judged, one off", [3]float64{0.05, 1, gone}, Off, "Not fit: shadows off."},
		{"all sure", [3]float64{0.99, 0.99, 0.99}, Holds, "Fit to decide."},
		{"each holds, not all together", [3]float64{0.95, 0.95, 0.95}, Unsure, "each aspect holds, but not surely enough all together"},
		{"one unsure", [3]float64{0.99, 0.6, 0.99}, Unsure, "Can't tell yet: highlights unsure."},
		{"two unsure", [3]float64{0.8, 0.6, 0.99}, Unsure, "Can't tell yet: shadows and highlights unsure."},
		{"one off", [3]float64{0.99, 0.02, 0.99}, Off, "Not fit: highlights off."},
		{"one off, one unsure", [3]float64{0.5, 0.02, 0.99}, Off, "Not fit: highlights and shadows off."},
		{"none off, all together off", [3]float64{0.4, 0.4, 0.4}, Off, "shadows, highlights and tone together are too likely to be off"},
		{"all off", [3]float64{0, 0, 0}, Off, "shadows, highlights and tone off"},
	} {
		p := screen.Profile{}
		for i, n := range use.Needs {
			if c.p[i] != gone {
				p[n.Quantity] = probably(n, c.p[i])
			}
		}
		got := use.judge(p)
		if got.Verdict != c.want || !strings.Contains(got.Why, c.words) || got.Name != use.Name {
			t.Errorf("%s: %+v, want %s, %s", c.name, got, c.want, c.words)
		}
		// With something in need that has no check it never holds, and is still off where something is off.
		wide := use
		wide.Also = []check.Aspect{check.Neutrals}
		want := c.want
		if want == Holds || want == Unsure {
			want = NotChecked
		}
		if got := wide.judge(p); got.Verdict != want || want == NotChecked && !strings.Contains(got.Why, "neutrals") {
			t.Errorf("%s, with a need that has no check: %+v, want %s", c.name, got, want)
		}
	}
	// An estimate that knows nothing is no estimate.
	p := screen.Profile{}
	for _, n := range use.Needs {
		p[n.Quantity] = psychophysics.Estimate{}
	}
	if got := use.judge(p); got.Verdict != NotChecked {
		t.Errorf("of estimates that know nothing: %+v", got)
	}
}

// Each row of the table has a band, a source, and a quantity that a sitting reports; stricter uses ask for no less.
func TestTableOfUses(t *testing.T) {
	if Uses[Light].Name != "Light and shade" || len(Uses) != 3 {
		t.Fatalf("%+v", Uses)
	}
	for _, u := range Uses {
		if u.Name == "" || len(u.Needs) == 0 {
			t.Errorf("%+v", u)
		}
		for _, n := range u.Needs {
			if !(n.Lo <= n.Hi) || n.Source == "" || n.Quantity == "" || n.Aspect == "" {
				t.Errorf("%s: %+v", u.Name, n)
			}
			strict, ok := tolerance(n.Aspect)
			if !ok || strict.Quantity != n.Quantity || strict.Hi > n.Hi {
				t.Errorf("%s asks for %+v, light and shade for %+v", u.Name, n, strict)
			}
		}
	}
	if _, ok := tolerance(check.Neutrals); ok {
		t.Error("there is a tolerance for neutrals")
	}
	if len(Uses[2].Also) == 0 {
		t.Error("colour needs nothing that has no check: write its test")
	}
	if v := (Use{}).judge(screen.Profile{}); v.Verdict != Holds { // nothing is needed, so nothing is missing
		t.Errorf("the zero Use: %+v", v)
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
