package pages

import (
	"encoding/json"
	"math"
	"regexp"
	"strings"
	"testing"
)

// What stands in the data block reads back as what was put in, whatever the strings in it hold, and ends nowhere else than at its end.
func TestDataBlock(t *testing.T) {
	for _, s := range []string{"</script>", "<!--<script>", "]]>", "a<b&c", `\<`, `\\<`, "</SCRIPT ", "\u2028", "é\x00"} {
		in, err := json.Marshal(map[string]string{"a": s, s: "b"})
		if err != nil {
			t.Fatal(err)
		}
		raw, _ := json.Marshal(map[string]string{"a": s})
		unescaped := strings.NewReplacer(`\u003c`, "<", `\u003e`, ">", `\u0026`, "&").Replace(string(raw))
		for _, record := range []string{string(in), unescaped} {
			block := dataBlock("record", record)
			body, ok := strings.CutPrefix(block, `<script type="application/json" id="record">`)
			body, ok2 := strings.CutSuffix(body, "</script>")
			if !ok || !ok2 || strings.Contains(body, "<") {
				t.Fatalf("%q: the block is %s", s, block)
			}
			var got, want map[string]string
			if err := json.Unmarshal([]byte(record), &want); err != nil {
				t.Fatalf("%q: %v", s, err)
			}
			if err := json.Unmarshal([]byte(body), &got); err != nil || got["a"] != want["a"] || len(got) != len(want) {
				t.Errorf("%q: %v reads back as %v (%v)", s, want, got, err)
			}
		}
	}
}

func TestExample(t *testing.T) {
	r := Example()
	if len(r.Aspects) != 8 || len(r.Purposes) != 3 || !r.Tone.drawn() || !r.Score.Given || r.Record != "" {
		t.Errorf("the example is not whole: %d aspects, %d purposes, curve %v, score %v", len(r.Aspects), len(r.Purposes), r.Tone.drawn(), r.Score.Given)
	}
	for _, a := range r.Aspects {
		if a.ID != "handling" && a.idle() != !a.Scale.drawn() {
			t.Errorf("%s: not checked %v, drawn %v", a.Name, a.idle(), a.Scale.drawn())
		}
		if s := a.Scale; a.Verdict == "holds" && (s.Lo < s.BandLo || s.Hi > s.BandHi) || a.Verdict == "off" && s.Lo <= s.BandHi && s.Hi >= s.BandLo {
			t.Errorf("%s: %s, but %v to %v of %v to %v", a.Name, a.Verdict, s.Lo, s.Hi, s.BandLo, s.BandHi)
		}
	}
	if text := render(t, ExamplePage(Site{})); !strings.Contains(text, "An invented example.") || strings.Contains(text, "data-action") {
		t.Error("the example page does not say that it is invented, or offers what needs the browser program")
	}
}

// A verdict is a word and a shape; whatever is no verdict claims nothing.
func TestVerdicts(t *testing.T) {
	shapes := map[string]string{}
	for verdict, want := range map[string]string{"holds": "Holds", "off": "Off", "unsure": "Unsure", "not checked": "Not checked", "": "Not checked", "Holds": "Not checked", "pass": "Not checked"} {
		if got := word(verdict); got != want {
			t.Errorf("%q is shown as %q, want %q", verdict, got, want)
		}
		shape := render(t, Shape(verdict))
		if other, ok := shapes[word(verdict)]; ok && other != shape {
			t.Errorf("%q has two shapes", verdict)
		}
		shapes[word(verdict)] = shape
	}
	seen := map[string]bool{}
	for _, s := range shapes {
		seen[s] = true
	}
	if len(seen) != 4 {
		t.Errorf("%d shapes for 4 verdicts", len(seen))
	}
	for _, c := range []struct{ verdict, why, want string }{
		{"off", "Not fit: shadows off.", "Shadows off."},
		{"holds", "Fit to decide.", ""},
		{"unsure", "Can't tell yet: tone unsure.", "Tone unsure."},
		{"off", "Can't tell yet: tone unsure.", "Can't tell yet: tone unsure."},
		{"off", "Not fitting", "Not fitting"},
		{"", "", ""},
	} {
		if got := (Purpose{Verdict: c.verdict, Why: c.why}).why(); got != c.want {
			t.Errorf("%s, %q: %q, want %q", c.verdict, c.why, got, c.want)
		}
	}
	if a := (Aspect{Name: "Tone", Figure: "gamma 2.2", Verdict: "not checked"}); a.idle() || a.checked() {
		t.Error("figures of a sitting that can't be used are hidden, or claim something")
	}
	if (Purpose{}).word() != "Not checked" || (Aspect{}).idle() != true {
		t.Error("a zero value claims something")
	}
}

func TestScaleGeometry(t *testing.T) {
	s := Scale{Min: 0, Max: 10, BandLo: 2, BandHi: 4, Lo: 5, At: 6, Hi: 7}
	r := s.ruler()
	for v, want := range map[float64]float64{0: scaleInset, 5: 160, 10: 320 - scaleInset, -3: scaleInset, 99: 320 - scaleInset} {
		if got := r.at(v); math.Abs(got-want) > 1e-9 {
			t.Errorf("%v lies at %v, want %v", v, got, want)
		}
	}
	if got := s.band(); got != "M69.4 3H129.8V25H69.4Z" { // 9 + 2*30.2, 9 + 4*30.2
		t.Errorf("the band is %s", got)
	}
	if got := s.interval(); got != "M160 14H220.4M160 9v10M220.4 9v10" || s.arrows() != "" || !s.inside() {
		t.Errorf("the interval is %s", got)
	}
	if !s.drawn() {
		t.Error("a sound scale is not drawn")
	}
	for name, bad := range map[string]Scale{
		"zero":           {},
		"no axis":        {Min: 1, Max: 1, Lo: 1, At: 1, Hi: 1},
		"backward":       {Min: 2, Max: 1, Lo: 1, At: 1, Hi: 1},
		"no number":      {Min: 0, Max: 1, At: math.NaN()},
		"infinite":       {Min: 0, Max: math.Inf(1)},
		"outside itself": {Min: 0, Max: 1, Lo: .5, At: .2, Hi: .6},
	} {
		if bad.drawn() {
			t.Errorf("%s: drawn", name)
		}
	}
	beyond := render(t, ScalePlot("x", Scale{Min: 0, Max: 1, BandHi: 1, Lo: -1, At: 2, Hi: 3}))
	if strings.Contains(beyond, "bob") || strings.Contains(beyond, "9v10") || !strings.Contains(beyond, `d="M0 14l9-6v12zM320 14l-9-6v12z"`) {
		t.Error("an estimate beyond the axis is drawn as if it lay on it")
	}
}

func TestFigure(t *testing.T) {
	for v, want := range map[float64]string{0: "0", math.Copysign(0, -1): "0", -0.001: "0", 2.2: "2.2", 2.25: "2.25", 255: "255", 100: "100", -2.5: "−2.5", 10: "10"} {
		if got := figure(v); got != want {
			t.Errorf("%v is shown as %q, want %q", v, got, want)
		}
	}
}

func TestCurve(t *testing.T) {
	line := func(v ...float64) []float64 { return v }
	c := Curve{Signal: line(0, 50, 100), At: line(0, 40, 100), Lo: line(0, 38, 100), Hi: line(0, 43, 100), AimLo: line(0, 50, 100), AimHi: line(0, 54, 100)}
	if !c.drawn() {
		t.Fatal("a sound curve is not drawn")
	}
	if s, by := c.worst(); s != 50 || by != -12 {
		t.Errorf("worst at %v by %v", s, by)
	}
	if got := c.said(); !strings.Contains(got, "at 50 % signal, where it is 12.0 L* darker") {
		t.Errorf("said: %s", got)
	}
	d := c.distance()
	if d.At[1] != -12 || d.Lo[1] != -14 || d.Hi[1] != -9 || d.AimLo[1] != -2 || d.AimHi[1] != 2 || d.reach() != 20 {
		t.Errorf("distance %+v, reach %v", d, d.reach())
	}
	f := c.frame()
	if got := f.path(c.Signal, c.At); got != "M52 276L230 172L408 16" { // 276 - 0.4*260 = 172
		t.Errorf("path %s", got)
	}
	if got := f.area(c.Signal, c.Lo, c.Hi); got != "M52 276L230 164.2L408 16L408 16L230 177.2L52 276Z" {
		t.Errorf("area %s", got)
	}
	want := point{"50", "40.0", "38.0 to 43.0", "50.0 to 54.0", "−12.0"}
	if got := c.table()[1]; got != want {
		t.Errorf("row %+v, want %+v", got, want)
	}
	for name, spoil := range map[string]func(*Curve){
		"empty":       func(c *Curve) { *c = Curve{} },
		"one point":   func(c *Curve) { *c = Curve{line(1), line(1), line(1), line(1), line(1), line(1), "", ""} },
		"short":       func(c *Curve) { c.Hi = c.Hi[:2] },
		"no number":   func(c *Curve) { c.At = line(0, math.NaN(), 100) },
		"not upward":  func(c *Curve) { c.Signal = line(0, 50, 50) },
		"without aim": func(c *Curve) { c.AimLo = nil },
	} {
		bad := c
		spoil(&bad)
		if bad.drawn() {
			t.Errorf("%s: drawn", name)
		}
	}
}

// Each plot is an image with a name and words, and its figures stand in a table.
func TestPlotsAreToldInWords(t *testing.T) {
	text := render(t, Tone(Example().Tone))
	if n := len(regexp.MustCompile(`<svg[^>]*role="img"`).FindAllString(text, -1)); n != 2 {
		t.Errorf("%d plots", n)
	}
	labels := regexp.MustCompile(`aria-labelledby="([^ "]+) ([^ "]+)"`).FindAllStringSubmatch(text, -1)
	if len(labels) != 2 {
		t.Errorf("%d plots have a name and words", len(labels))
	}
	for _, m := range labels {
		for _, id := range m[1:] {
			if !regexp.MustCompile(`<(title|desc) id="` + id + `">[^<]+<`).MatchString(text) {
				t.Errorf("no words under %s", id)
			}
		}
	}
	if rows := strings.Count(text, `<th scope="row">`); rows != len(Example().Tone.Signal) {
		t.Errorf("%d rows for %d points", rows, len(Example().Tone.Signal))
	}
	if strings.Contains(text, "NaN") || strings.Contains(text, "Inf") {
		t.Error("no number in a plot")
	}
}

func TestMade(t *testing.T) {
	for _, c := range []struct {
		r             Report
		heading, made string
	}{
		{Report{}, "This screen", "0 judgements"},
		{Report{Screen: "écran", Judgements: 1}, "Écran", "1 judgement"},
		{Report{Screen: "\xff", Viewer: "Okke", Made: "today", Judgements: 5, Duration: "3 min"}, "\uFFFD", "Okke · today · 5 judgements · 3 min"},
	} {
		if got := c.r.heading(); got != c.heading {
			t.Errorf("heading %q, want %q", got, c.heading)
		}
		if got := c.r.made(); got != c.made {
			t.Errorf("made %q, want %q", got, c.made)
		}
	}
}
