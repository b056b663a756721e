package app

import (
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/pages"
)

// lays drops files of a calibration on the page.
func (p *peer) lays(names ...string) {
	p.t.Helper()
	for _, n := range names {
		b := map[string]func() []byte{
			"studio-left.icc": func() []byte { return studioProfile("studio left, 20 November", true) }, "plain.icc": func() []byte { return studioProfile("packing-room tablet", false) },
			"studio-left.txt": func() []byte { return studioReadings(1) }, "studio-left-again.txt": func() []byte { return studioReadings(2) }, "third.txt": func() []byte { return studioReadings(3) },
		}[n]
		if b == nil {
			p.t.Fatalf("there is no file %q", n)
		}
		p.app.Opened("", n, b(), nil)
	}
	p.pass(animation)
}

func afterPage(t *testing.T) *peer {
	t.Helper()
	p := visit(t, world(), nil, "after", "")
	p.stage(After)
	return p
}

// describes counts how often files were looked at.
func (p *peer) describes() (n int) {
	for _, k := range p.gallery.tasks {
		if k.What == study.Describe {
			n++
		}
	}
	return n
}

// However the three files come, the page says what each is, what they say, and what the eye could add.
func TestAfterLays(t *testing.T) {
	for _, order := range [][]string{{"studio-left.icc", "studio-left.txt", "studio-left-again.txt"}, {"studio-left.txt", "studio-left-again.txt", "studio-left.icc"}} {
		p := afterPage(t)
		if p.body["pick"] != "pictures" {
			t.Errorf("files come as %q", p.body["pick"])
		}
		p.lays(order...)
		for id, wants := range map[string][]string{
			"papers":   {"studio-left.icc", "studio left, 20 November", "42 patches", "Second readings", "The same patches, read again."},
			"held":     {"tones: sRGB's curve or gamma 2.2, readings: the profile"},
			"heard":    {"Is it loaded now?", "not asked yet", "It holds only while its correction is loaded.", "Daylight of 6506 K", "158 cd/m²", "Check by eye, about 4 minutes", "Keep in the journal", "Read twice"},
			"promise":  {"Greys follow a gamma of about 2.20", "A table of 256 entries of 16 bits", "blue keeps 238 of 256 levels", "100 % of sRGB", "promise-uv-title", "promise-xy-title", "0.3127, 0.3290", "20 November 2026"},
			"measured": {"good enough to judge colour by", "42 patches held against the profile", "Read again, the same patches differ", "158 cd/m² for an aim of 160", "Skin-like", "MEASUREMENT_SOURCE at line 6", "95 of 100 within"},
		} {
			for _, w := range wants {
				if !strings.Contains(p.page[id], w) {
					t.Errorf("%v: #%s does not say %q: %s", order, id, w, p.page[id])
				}
			}
		}
		if n := strings.Count(p.page["heard"], `class="row"`); n != 10 {
			t.Errorf("%d questions, want 10", n)
		}
		if strings.Contains(p.page["heard"], "Disagree") {
			t.Errorf("files that belong together disagree: %s", p.page["heard"])
		}
		if len(p.ran) > 0 {
			t.Errorf("errands: %v", p.ran)
		}
		p.press("print", "")
		if p.printed != 1 {
			t.Error("it is not printed")
		}
	}
}

// A file is looked at again when what it is held against changes, and at no other time.
func TestAfterLooksAgain(t *testing.T) {
	p := afterPage(t)
	for _, step := range []struct {
		what string
		do   func()
		n    int // times that a file is looked at by then
		says string
	}{
		{"a profile", func() { p.lays("studio-left.icc") }, 1, "display profile"},
		{"readings, which are held against the profile", func() { p.lays("studio-left.txt") }, 3, "held against the profile"},
		{"readings against sRGB", func() { p.app.Input("held", "sRGB") }, 4, "held against sRGB"},
		{"the same again", func() { p.app.Input("held", "sRGB") }, 4, "Read against sRGB, not against the profile."},
		{"a luminance that is none", func() { p.app.Input("luminance", "x") }, 5, "held against sRGB"},
		{"a luminance", func() { p.app.Input("luminance", "140,6") }, 6, "for an aim of 141"},
		{"another tone curve", func() { p.app.Input("aim", "gamma 2.4") }, 7, "lighter at code"},
		{"a tone curve that is none", func() { p.app.Input("aim", "gamma 9") }, 7, "lighter at code"},
		{"another reading", func() { p.lays("studio-left-again.txt") }, 9, "Read twice"},
		{"the second first", func() { p.press("swap", "3") }, 10, "Read twice"},
		{"the first away", func() { p.press("remove", "3") }, 11, "read once"},
		{"a third and a fourth, of which the fourth stays", func() { p.lays("studio-left-again.txt"); p.lays("third.txt") }, 15, "third.txt"},
		{"the profile away", func() { p.press("remove", "1") }, 16, "needs the profile"},
		{"another profile", func() { p.lays("plain.icc") }, 18, "There is nothing to load."},
	} {
		step.do()
		p.pass(animation)
		if n := p.describes(); n != step.n {
			t.Errorf("%s: files were looked at %d times, want %d", step.what, n, step.n)
		}
		p.must(step.says)
	}
	if p.reads("studio-left-again.txt") {
		t.Error("three readings lie there")
	}
	if !p.reads("no correction that an eye could tell from none") {
		t.Error("it does not say what the sitting is about without a correction")
	}
}

// What cannot be used is said, with its place, and what lies there stays.
func TestAfterRefuses(t *testing.T) {
	p := afterPage(t)
	p.lays("studio-left.icc")
	broken := strings.Replace(string(studioReadings(1)), "2 17 17 17 ", "2 17 17 seventeen ", 1)
	p.app.Opened("", "short.txt", []byte(broken), nil)
	p.app.Opened("", "cut.icc", studioProfile("studio left", true)[:900], nil)
	p.app.Opened("", "words.txt", []byte("three baskets of pears\n"), nil)
	p.pass(animation)
	for _, w := range []string{"Not taken", "Line 16, column 9 (RGB_B)", "Byte 0: the profile says"} {
		if !strings.Contains(p.page["papers"], w) {
			t.Errorf("the page does not say %q: %s", w, p.page["papers"])
		}
	}
	p.must("display profile")
	p.app.Opened("", "gone.icc", nil, errTest)
	p.settle()
	p.must("The file gone.icc cannot be read: made up by the test.")
	p.app.Opened("", "empty.icc", []byte{}, nil)
	p.settle()
	p.must("The file empty.icc is empty.")
	p.app.Opened("", "huge.icc", make([]byte, study.MostPaper+1), nil)
	p.settle()
	p.must("larger than any profile or readings")
	p.app.Picked([]Picked{p.gallery.pick("barn.png", []byte("x"))})
	p.settle()
	p.must("That is a picture.")
	if len(p.gallery.blobs) > 0 {
		t.Error("the picture is held")
	}
	p.gallery.faked = func(study.Task) (study.Found, error, bool) { return study.Found{}, errTest, true }
	p.lays("studio-left.txt")
	if !strings.Contains(p.page["papers"], "could not be looked at") {
		t.Errorf("a study that fails: %s", p.page["papers"])
	}
}

// Nothing is claimed of a screen by what does not speak of it, or by next to nothing.
func TestAfterClaimsLittle(t *testing.T) {
	for _, c := range []struct {
		file   string
		says   []string
		silent []string
	}{
		{"icc/made/mft2-cmyk.icc", []string{"not of a display, so it promises nothing of this screen"}, []string{"Daylight of 4819 K."}},
		{"icc/icc-profiles-free/Gray.icc", []string{"something is off: tone", "It was calibrated to another curve, or not to its aim."}, []string{"Nothing in the files speaks against"}},
		{"readings/iso28178.txt", []string{"but 3 patches are too few to say that of all colours"}, []string{"nobody could have told"}},
	} {
		b, err := os.ReadFile(filepath.Join("..", "..", "testdata", c.file))
		if err != nil {
			t.Fatal(err)
		}
		p := afterPage(t)
		p.app.Opened("", filepath.Base(c.file), b, nil)
		p.pass(animation)
		p.must(c.says...)
		for _, s := range c.silent {
			if strings.Contains(p.page["heard"]+p.page["measured"], s) {
				t.Errorf("%s: the page says %q", c.file, s)
			}
		}
	}
}

// sits answers the sitting that is prepared to its end, as a sharp eye on a screen of gamma 2.2.
func (p *peer) sits(end Stage) {
	p.t.Helper()
	p.toIntro()
	for p.app.Stage() != end {
		if s := p.app.sitting; s != nil && s.closing == 0 {
			p.answer(1)
		} else {
			p.advance(animation)
		}
	}
	p.pass(animation)
}

// The sitting that is asked for here is about the profile, leads back here, and stands beside the files; its papers are in the journal, and a reload finds all again.
func TestEyeBesideFiles(t *testing.T) {
	p := afterPage(t)
	p.lays("studio-left.icc", "studio-left.txt")
	p.app.Input("screen", "studio left")
	p.press("eye", "")
	p.stage(Prepare)
	p.must("This sitting is about the profile studio left, 20 November", "Back to profile and readings")
	if p.reads(`name="length"`) || p.reads(`name="aim"`) {
		t.Error("length or aim can be chosen")
	}
	p.press("beside", "")
	p.stage(After)
	p.must("Greys follow a gamma")
	p.press("eye", "")
	p.sits(After)
	var x *stored
	for _, s := range p.app.shelf.sittings {
		x = s
	}
	if x == nil || x.Plan.Expect == nil || x.Plan.Length != check.Short || x.Plan.Expect.Profile != "studio left, 20 November" || x.Conditions.Screen != "studio left" {
		t.Fatalf("the sitting is not about the profile: %+v", x)
	}
	r, err := report.Read(x.record)
	if err != nil || r.Correction == nil {
		t.Fatalf("its report says nothing of the correction: %v", err)
	}
	heard := p.page["heard"]
	for _, w := range []string{r.Correction.Seen, "loaded ", "Looked at on 24 November 2026", "The eye's whole report", "Check by eye again"} {
		if !strings.Contains(heard, w) {
			t.Errorf("the eye is not heard: %q is not in %s", w, heard)
		}
	}
	if strings.Contains(heard, "Keep in the journal") {
		t.Error("the papers are not kept though a sitting was about them")
	}
	if n := len(p.app.papersOf("studio left", "")); n != 2 {
		t.Errorf("%d papers in the journal, want 2", n)
	}
	p.press("report", "")
	p.stage(Report)
	p.must("Is the profile's correction loaded?", "/after?screen=studio+left")

	again := visit(t, world(), p.rows, "after", "")
	again.stage(After)
	again.must("Kept in the journal", "Studio left")
	again.press("recall", "0")
	again.must(r.Correction.Seen, "Greys follow a gamma", "42 patches held against the profile")
	if again.describes() > 0 {
		t.Error("what is kept is looked at again")
	}
	again.app.Input("held", "sRGB")
	again.pass(animation)
	again.must("held against sRGB")
}

// An unfinished sitting about a profile is continued here or on the page of the check, and leads back to what it is about where that is kept.
func TestEyeResumed(t *testing.T) {
	p := afterPage(t)
	p.lays("studio-left.icc")
	p.app.Input("screen", "studio left")
	p.press("eye", "")
	p.toIntro()
	p.answer(6)
	p.pass(animation)
	for _, page := range []string{"after", "check"} {
		q := visit(t, world(), copied(p.rows), page, "")
		q.stage(Resume)
		id := q.app.shelf.sittings[0].ID
		if page == "after" {
			other := visit(t, world(), copied(p.rows), page, "")
			other.press("aside", id)
			other.stage(After)
		}
		q.press("continue", id)
		end := map[string]Stage{"after": After, "check": Report}[page]
		for q.app.Stage() != end {
			if s := q.app.sitting; s != nil && s.closing == 0 {
				q.answer(1)
			} else {
				q.advance(animation)
			}
		}
		q.pass(animation)
		if page == "after" {
			q.must("Greys follow a gamma", "Looked at on")
		} else {
			q.must("Is the profile's correction loaded?")
		}
	}
}

// eyeSays is a report as an eye might have it.
func eyeSays(change func(r *report.Record)) *report.Record {
	r := &report.Record{Conditions: report.Conditions{Twin: "yes", Profile: "honoured"}}
	for _, a := range check.Aspects {
		f := report.Finding{Aspect: a, Verdict: report.Holds, Seen: "Seen of " + string(a) + "."}
		if a == check.Neutrals {
			f.Quantity, f.Lo, f.Mean, f.Hi, f.AllowedHi = "grey tint", 0.001, 0.002, 0.004, 0.006
		}
		r.Findings = append(r.Findings, f)
	}
	for i := range 21 {
		s := float64(i) / 20
		l := screenLightness(s)
		r.Curve.Signal = append(r.Curve.Signal, s)
		r.Curve.At, r.Curve.Lo, r.Curve.Hi = append(r.Curve.At, l), append(r.Curve.Lo, max(l-1, 0)), append(r.Curve.Hi, min(l+1, 100))
		r.Curve.AimLo, r.Curve.AimHi = append(r.Curve.AimLo, l), append(r.Curve.AimHi, l)
	}
	r.Correction = &report.Correction{Profile: "studio left", Loading: report.IsLoaded, Loaded: 0.995, Bare: 0.001, Neither: 0.004, Seen: "It is as promised."}
	if change != nil {
		change(r)
	}
	return r
}

// studied is what the looker says of a file.
func studied(t *testing.T, task study.Task) *study.Paper {
	t.Helper()
	task.What = study.Describe
	f := task.Describe()
	if f.Paper == nil {
		t.Fatalf("%+v", f.Refused)
	}
	return f.Paper
}

// What follows from the three, question by question.
func TestHeard(t *testing.T) {
	file := studioProfile("studio left", true)
	profile := studied(t, study.Task{File: file, Name: "p.icc"}).Profile
	readings := studied(t, study.Task{File: studioReadings(1), Name: "r.txt", Against: file, Second: studioReadings(2)}).Readings
	finding := func(r *report.Record, a check.Aspect) *report.Finding {
		for i := range r.Findings {
			if r.Findings[i].Aspect == a {
				return &r.Findings[i]
			}
		}
		return nil
	}
	lost := func(n int) *study.Profile {
		p := *profile
		c := *p.Correction
		c.Costs[2].Lost = n
		p.Correction = &c
		return &p
	}
	tinted := *profile
	tinted.TintMost, tinted.TintAt = 0.02, 128
	bright := *profile
	bright.Luminance = 120
	d50 := *profile
	d50.White = &study.White{UV: studied(t, study.Task{File: file, Name: "p.icc"}).Profile.Primaries[2].UV}
	for _, c := range []struct {
		name, row string
		h         hearing
		accord    string
		cause     bool
		lead      string
	}{
		{"all is well", "Correction", hearing{profile, readings, eyeSays(nil), "honoured"}, agree, false, "agree wherever"},
		{"nobody asked", "Correction", hearing{profile, readings, nil, ""}, unsaid, false, "your eye can"},
		{"without a profile", "Correction", hearing{nil, readings, nil, ""}, unsaid, false, ""},
		{"not loaded", "Correction", hearing{profile, readings, eyeSays(func(r *report.Record) {
			*r.Correction = report.Correction{Loading: report.NotLoaded, Bare: 0.98, Seen: "It is bare.", Cause: "Nothing loads it.", Remedy: "Load it."}
		}), ""}, differ, true, "The correction is not loaded"},
		{"neither", "Correction", hearing{profile, nil, eyeSays(func(r *report.Record) {
			*r.Correction = report.Correction{Loading: report.Neither, Neither: 0.98, Cause: "Other."}
		}), ""}, differ, true, "do not agree on correction"},
		{"cannot be told", "Correction", hearing{profile, nil, eyeSays(func(r *report.Record) { r.Correction.Loading = report.LoadUnknown }), ""}, unsure, false, "Not settled: correction"},
		{"tone as promised", "Tone", hearing{profile, readings, eyeSays(nil), ""}, agree, false, ""},
		{"tone elsewhere", "Tone", hearing{profile, readings, eyeSays(func(r *report.Record) {
			for i := range r.Curve.Lo[:20] {
				r.Curve.Lo[i], r.Curve.Hi[i] = r.Curve.Lo[i]+8, r.Curve.Hi[i]+8
			}
		}), ""}, differ, true, "do not agree on tone"},
		{"tone too wide", "Tone", hearing{profile, readings, eyeSays(func(r *report.Record) {
			for i := range r.Curve.Lo {
				r.Curve.Lo[i], r.Curve.Hi[i] = r.Curve.Lo[i]-9, r.Curve.Hi[i]+9
			}
		}), ""}, unsure, false, "Not settled: tone"},
		{"tone not judged", "Tone", hearing{profile, readings, eyeSays(func(r *report.Record) { finding(r, check.Tone).Verdict = report.NotChecked }), ""}, alone, false, ""},
		{"greys as promised", "Neutrals", hearing{profile, readings, eyeSays(nil), ""}, agree, false, ""},
		{"greys tinted", "Neutrals", hearing{profile, readings, eyeSays(func(r *report.Record) {
			f := finding(r, check.Neutrals)
			f.Lo, f.Mean, f.Hi, f.Verdict = 0.011, 0.014, 0.017, report.Off
		}), ""}, differ, true, "neutrals"},
		{"greys tinted as the profile says", "Neutrals", hearing{&tinted, readings, eyeSays(func(r *report.Record) {
			f := finding(r, check.Neutrals)
			f.Lo, f.Mean, f.Hi, f.Verdict = 0.011, 0.014, 0.017, report.Off
		}), ""}, agree, false, "something is off: neutrals"},
		{"steps there", "Steps", hearing{lost(4), nil, eyeSays(nil), ""}, agree, false, ""},
		{"steps there that 8 bits would lose", "Steps", hearing{lost(60), nil, eyeSays(nil), ""}, better, false, ""},
		{"steps lost as expected", "Steps", hearing{lost(60), nil, eyeSays(func(r *report.Record) { finding(r, check.Smoothness).Verdict = report.Off }), ""}, agree, true, "something is off: steps"},
		{"steps lost that need not be", "Steps", hearing{lost(4), nil, eyeSays(func(r *report.Record) { finding(r, check.Smoothness).Verdict = report.Off }), ""}, differ, true, "steps"},
		{"uneven", "Evenness", hearing{profile, nil, eyeSays(func(r *report.Record) { finding(r, check.Evenness).Verdict = report.Off }), ""}, alone, true, "evenness"},
		{"profiles honoured", "Browser", hearing{profile, nil, eyeSays(nil), ""}, agree, false, ""},
		{"profiles ignored", "Browser", hearing{profile, nil, eyeSays(func(r *report.Record) { r.Conditions.Twin, r.Conditions.Profile = "no", "ignored" }), ""}, alone, true, ""},
		{"eye and test at odds", "Browser", hearing{profile, nil, eyeSays(func(r *report.Record) { r.Conditions.Twin = "no" }), ""}, differ, true, "browser"},
		{"only tested", "Browser", hearing{profile, nil, nil, "honoured"}, alone, false, ""},
		{"white as told", "White", hearing{profile, readings, nil, ""}, agree, false, ""},
		{"another white", "White", hearing{&d50, readings, nil, ""}, differ, true, "white"},
		{"as bright", "Brightness", hearing{profile, readings, nil, ""}, agree, false, ""},
		{"less bright", "Brightness", hearing{&bright, readings, nil, ""}, differ, true, "brightness"},
		{"no readings", "Brightness", hearing{profile, nil, nil, ""}, alone, false, ""},
		{"colours as the profile says", "Colours", hearing{profile, readings, nil, ""}, agree, false, ""},
		{"read twice", "Noise", hearing{profile, readings, nil, ""}, alone, false, ""},
	} {
		rows := c.h.rows()
		var got *pages.HeardRow
		for i := range rows {
			if rows[i].Name == c.row {
				got = &rows[i]
			}
		}
		if got == nil {
			t.Fatalf("%s: no row %q", c.name, c.row)
		}
		if got.Accord != c.accord || (got.Cause != "") != c.cause {
			t.Errorf("%s: %s, cause %q; want %s: %+v", c.name, got.Accord, got.Cause, c.accord, *got)
		}
		if got.Accord == differ && got.Says == "" || (got.Cause != "") != (got.Remedy != "") && c.name != "neither" {
			t.Errorf("%s: a disagreement without a word, or a cause without a remedy: %+v", c.name, *got)
		}
		if l := lead(rows, c.h); !strings.Contains(l, c.lead) {
			t.Errorf("%s: it follows %q, want %q in it", c.name, l, c.lead)
		}
	}
}

func TestHowAColourDiffers(t *testing.T) {
	for _, c := range []struct {
		aim, got [3]float64
		want     string
	}{
		{[3]float64{50, 0, 0}, [3]float64{50.2, 0.1, 0}, "by less than half a unit each way"},
		{[3]float64{50, 0, 0}, [3]float64{51, 0, -2}, "lighter, bluer"},
		{[3]float64{50, 0, 0}, [3]float64{49, 2, 0}, "darker, redder"},
		{[3]float64{50, 40, 0}, [3]float64{50, 44, 0}, "more colourful"},
		{[3]float64{50, 40, 0}, [3]float64{50, 40, 3}, "turned towards yellow"},
		{[3]float64{50, 40, 0}, [3]float64{50, 40, -3}, "turned towards blue"},
		{[3]float64{50, 30, 30}, [3]float64{50, 33, 27}, "turned towards red"},
		{[3]float64{50, 30, 30}, [3]float64{50, 27, 33}, "turned towards yellow"},
		{[3]float64{50, -30, -30}, [3]float64{50, -27, -33}, "turned towards blue"},
		{[3]float64{50, -30, 30}, [3]float64{50, -20, 20}, "paler"},
	} {
		if got := labWay(lab(c.aim), lab(c.got)); got != c.want {
			t.Errorf("%v for %v: %q, want %q", c.got, c.aim, got, c.want)
		}
	}
}

func lab(v [3]float64) colour.Lab { return colour.Lab{L: v[0], A: v[1], B: v[2]} }

// screenLightness is L* of a signal on a screen of gamma 2.2.
func screenLightness(s float64) float64 { return screen.Lightness(math.Pow(s, 2.2)) }

// Whatever profile or readings come, the page says of them what it can, and nothing that is no number.
func TestEveryPaper(t *testing.T) {
	n := 0
	for _, folder := range []string{"icc", "readings", "calibrated"} {
		err := filepath.WalkDir(filepath.Join("..", "..", "testdata", folder), func(at string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			b, err := os.ReadFile(at)
			if err != nil {
				return err
			}
			p := afterPage(t)
			p.app.Opened("", d.Name(), b, nil)
			p.pass(animation)
			text := p.page["papers"] + p.page["heard"] + p.page["promise"] + p.page["measured"]
			for _, bad := range []string{"NaN", "Inf", "%!", "<nil>", "−0.0 ", "  K", "progress"} {
				if strings.Contains(text, bad) {
					t.Errorf("%s: %q in %s", at, bad, text)
				}
			}
			if strings.Contains(text, "Not read") {
				t.Errorf("%s: %s", at, p.page["papers"])
			}
			if strings.Contains(p.page["papers"], "Not taken") {
				if strings.HasSuffix(at, ".icc") {
					t.Errorf("%s is refused: %s", at, p.page["papers"])
				}
				return nil
			}
			if p.page["promise"]+p.page["measured"] == "" || p.page["heard"] == "" {
				t.Errorf("%s: nothing is said of it", at)
			}
			n++
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if n < 50 {
		t.Errorf("only %d files were looked at", n)
	}
}
