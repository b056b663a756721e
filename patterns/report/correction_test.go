package report_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
)

func TestLoadingIsWrittenInWords(t *testing.T) {
	for l, word := range map[report.Loading]string{report.LoadUnknown: "unknown", report.IsLoaded: "loaded", report.NotLoaded: "not loaded", report.Neither: "neither"} {
		b, err := json.Marshal(l)
		if err != nil || string(b) != `"`+word+`"` {
			t.Errorf("%d is written %s, %v", l, b, err)
		}
		var back report.Loading
		if err := json.Unmarshal(b, &back); err != nil || back != l {
			t.Errorf("%s is read as %v, %v", b, back, err)
		}
	}
	for _, b := range []string{`"Loaded"`, `""`, `1`, `null1`, `"not"`} {
		var l report.Loading
		if err := json.Unmarshal([]byte(b), &l); err == nil || l != report.LoadUnknown {
			t.Errorf("%s is read as %v", b, l)
		}
	}
}

// held is a plan that is held against a profile with powers, with its correction and without.
func held(seed uint64, loaded, bare float64) check.Plan {
	e := &check.Expected{Profile: "studio left, March", Digest: strings.Repeat("0a", 32)}
	for i := range 3 {
		for k := range check.Knots {
			v := float64(k) / (check.Knots - 1)
			e.Loaded[i][k], e.Bare[i][k] = math.Pow(v, loaded), math.Pow(v, bare)
		}
	}
	return check.Plan{Battery: check.Battery, Length: check.Short, Seed: seed, Aim: "usual", Expect: e}
}

// power is a screen with a gamma.
func power(gamma float64) display.Description {
	d := display.Default()
	d.Tone[0].Gamma = gamma
	return d
}

func TestCorrectionInTheRecord(t *testing.T) {
	for _, c := range []struct {
		name               string
		gamma, with, bare  float64
		want               report.Loading
		says, cause        string
		loaded, not, other float64 // least probabilities
	}{
		{"loaded", 2.2, 2.2, 1.8, report.IsLoaded, "it is loaded", "", 0.85, 0, 0},
		{"not loaded", 1.8, 2.2, 1.8, report.NotLoaded, "not loaded (gamma is about 1.", "video card", 0, 0.85, 0},
		{"neither", 2.8, 2.2, 1.8, report.Neither, "neither with its correction nor without it", "mode", 0, 0, 0.85},
		{"alike", 2.2, 2.2, 2.19, report.LoadUnknown, "no eye can tell", "", 0, 0, 0},
	} {
		r := sit(t, held(3, c.with, c.bare), virtual(t, "typical", power(c.gamma), 5), 2500*time.Millisecond, 0)
		v := r.Correction
		if v == nil || v.Profile != "studio left, March" || v.Digest != strings.Repeat("0a", 32) {
			t.Fatalf("%s: %+v", c.name, v)
		}
		if v.Loading != c.want || !strings.Contains(v.Seen, c.says) || !strings.Contains(v.Cause, c.cause) || (v.Cause == "") != (c.cause == "") || (v.Remedy == "") != (c.cause == "") ||
			v.Loaded < c.loaded || v.Bare < c.not || v.Neither < c.other {
			t.Errorf("%s: %+v", c.name, *v)
		}
		if c.want == report.LoadUnknown && (v.Loaded > 0.85 || v.Bare > 0.85) {
			t.Errorf("%s: %+v", c.name, *v)
		}
		for _, f := range r.Findings {
			if asked := f.Judgements > 0; asked == (f.Aspect == check.Shadows || f.Aspect == check.Highlights || f.Aspect == check.ColourRange || f.Aspect == check.Handling) {
				t.Errorf("%s: %d judgements of %s", c.name, f.Judgements, f.Aspect)
			}
			if f.Aspect == check.Shadows && !strings.Contains(f.Why, "profile") {
				t.Errorf("%s: %s is not asked about because %q", c.name, f.Aspect, f.Why)
			}
		}
		back, err := report.Read(r.Marshal())
		if err != nil || *back.Correction != *v || *back.Plan.Expect != *r.Plan.Expect {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

func TestCorrectionClaimsNothingWithoutGrounds(t *testing.T) {
	if r := sit(t, check.Plan{Battery: check.Battery, Length: check.Short, Seed: 1, Aim: "usual"}, nil, 0, 0); r.Correction != nil {
		t.Errorf("a sitting that did not ask: %+v", *r.Correction)
	}
	unknown := func(name string, r report.Record, says string) {
		t.Helper()
		if v := r.Correction; v == nil || v.Loading != report.LoadUnknown || !strings.Contains(v.Seen, says) || v.Cause != "" {
			t.Errorf("%s: %+v", name, v)
		}
	}
	unknown("no answer", sit(t, held(1, 2.2, 1.8), nil, 0, 0), "Neither tones nor greys")
	unknown("a clicker", sit(t, held(2, 2.2, 1.8), virtual(t, "clicker", power(1.8), 2), 300*time.Millisecond, 0), "cannot be used")
	unknown("few answers", sit(t, held(3, 2.2, 2.0), virtual(t, "strained", power(2.1), 3), 2*time.Second, 4), "do not settle")
	d := power(1.8)
	d.Lines.Rows, d.Lines.Columns = 0.2, -0.2
	unknown("lines that differ", sit(t, held(4, 2.2, 1.8), virtual(t, "expert", d, 4), 2*time.Second, 0), "Row lines")
}

func TestReadRefusesCorrectionsThatCannotBe(t *testing.T) {
	whole := sit(t, held(1, 2.2, 1.8), nil, 0, 0).Marshal()
	if _, err := report.Read(whole); err != nil {
		t.Fatal(err)
	}
	for from, to := range map[string]string{
		`"loading": "unknown"`: `"loading": "perhaps"`, `"neither": 0.`: `"neither": 1.`, `"loaded": 0.`: `"loaded": -0.`,
	} {
		if !bytes.Contains(whole, []byte(from)) {
			t.Fatalf("no %s in the record", from)
		}
		if _, err := report.Read(bytes.Replace(whole, []byte(from), []byte(to), 1)); err == nil || errors.Is(err, report.ErrNoRecord) {
			t.Errorf("%s: %v", to, err)
		}
	}
}
