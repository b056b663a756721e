package app

import (
	"image"
	"slices"
	"strings"
	"testing"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/record"
)

func share(at, lo, hi float64) screen.Share { return screen.Share{At: at, Lo: lo, Hi: hi} }

// Unknown is never nothing: what was not worked out says neither that something is hidden nor that nothing is.
func TestUnknownIsNotNothing(t *testing.T) {
	unknown := screen.Look{}.Start().Hidden()
	for name, h := range map[string]screen.Hidden{"zero": {}, "no picture": unknown, "no screens": {Pixels: 10}, "no pixels": {Draws: 10}} {
		if hidesNothing(h) || hiddenOf(h) != nil || len(important(h)) > 0 || rests(h) != nil {
			t.Errorf("%s: something is claimed", name)
		}
		if v := hidesView(h, ""); v.State != pages.HidesUnknown || len(v.Lines) > 0 || v.Lead != "" {
			t.Errorf("%s: %+v", name, v)
		}
	}
	if notSeen(false, []record.Hidden{{What: "any", At: 5, Hi: 9}}) != nil {
		t.Error("what is not known is listed as not seen")
	}
	if hatchOf(nil, anyway) != nil || hatchOf(&study.Masks{Cols: 2, Rows: 2, Any: []byte{1}}, anyway) != nil {
		t.Error("a hatch of nothing")
	}
}

// Nothing is said only where the upper end of the interval is below what would be told.
func TestNothingHidden(t *testing.T) {
	known := screen.Hidden{Pixels: 1000, Draws: 200, Sampled: 1000}
	v := hidesView(known, "")
	if v.State != pages.HidesNothing || !strings.Contains(v.Lead, "less than 0.1 %") || len(v.Lines) > 0 {
		t.Errorf("%+v", v)
	}
	if got := hiddenOf(known); len(got) != len(record.Ways) || slices.ContainsFunc(got, func(h record.Hidden) bool { return h.At+h.Lo+h.Hi > 0 }) {
		t.Errorf("in a record: %+v", got)
	}
	if list := notSeen(true, hiddenOf(known)); len(list) > 0 {
		t.Errorf("not seen: %q", list)
	}
	maybe := known
	maybe.Any, maybe.Shadows = share(0, 0, 0.02), share(0, 0, 0.02)
	v = hidesView(maybe, "shadows")
	if v.State != pages.HidesFound || len(v.Lines) == 0 || v.Lines[0].ID != "shadows" || !v.Lines[0].Hatched {
		t.Errorf("what may be hidden is not told: %+v", v)
	}
	if list := notSeen(true, hiddenOf(maybe)); len(list) != 1 || !strings.Contains(list[0], "0 % to 2.0 %") {
		t.Errorf("not seen: %q", list)
	}
}

// The most important comes first. Differences within a step count a quarter, for grain is full of them.
func TestImportant(t *testing.T) {
	h := screen.Hidden{Pixels: 1e6, Draws: 200, Sampled: 32768, Error: 0.003,
		Shadows: share(0.02, 0.01, 0.04), Lights: share(0, 0, 0), Merged: share(0.06, 0.05, 0.07), Shifted: share(0.3, 0.1, 0.5), Any: share(0.36, 0.2, 0.6)}
	var order []string
	for _, l := range hidesView(h, "").Lines {
		order = append(order, l.ID)
	}
	if want := []string{"shifted", "shadows", "steps", "any"}; !slices.Equal(order, want) {
		t.Errorf("in the order %v, want %v", order, want)
	}
	list := notSeen(true, hiddenOf(h))
	if len(list) != 3 || !strings.HasPrefix(list[0], "Tones and colours") || !strings.HasPrefix(list[1], "Detail in shadows") || !strings.HasPrefix(list[2], "Differences") {
		t.Errorf("not seen: %q", list)
	}
	if r := rests(h); len(r) != 1 || !strings.Contains(r[0], "1,000,000 pixels on 200 screens") || !strings.Contains(r[0], "32,768") {
		t.Errorf("rests on %q", r)
	}
	// One way alone is not said twice.
	h = screen.Hidden{Pixels: 100, Draws: 5, Shadows: share(0.5, 0.4, 0.6), Any: share(0.5, 0.4, 0.6)}
	if v := hidesView(h, ""); len(v.Lines) != 1 {
		t.Errorf("%d lines", len(v.Lines))
	}
}

func TestExtent(t *testing.T) {
	for s, want := range map[screen.Share]string{
		share(0, 0, 0):             "less than 0.1 % of its pixels",
		share(0.0004, 0, 0.0009):   "less than 0.1 % of its pixels",
		share(0.031, 0.022, 0.04):  "about 3.1 % of its pixels (with 90 % certainty 2.2 % to 4.0 %)",
		share(0.5, 0.5, 0.5):       "about 50 % of its pixels",
		share(0.0996, 0, 1):        "about 10 % of its pixels (with 90 % certainty 0 % to 100 %)",
		share(0.002, 0.0004, 0.01): "about 0.2 % of its pixels (with 90 % certainty less than 0.1 % to 1.0 %)",
	} {
		if got := extent(s); got != want {
			t.Errorf("%v: %q, want %q", s, got, want)
		}
	}
	for n, want := range map[int]string{0: "0", 999: "999", 1000: "1,000", 24000000: "24,000,000"} {
		if got := grouped(n); got != want {
			t.Errorf("%d: %q", n, got)
		}
	}
}

// What goes into a record is what a record takes: in its order, with the interval around.
func TestHiddenOf(t *testing.T) {
	h := screen.Hidden{Pixels: 10, Draws: 3, Shadows: share(0.0126, 0.0124, 0.0125), Lights: share(1, 0.9999, 1.2), Any: share(1, 1, 1)}
	got := hiddenOf(h)
	for i, w := range record.Ways {
		if got[i].What != w {
			t.Fatalf("way %d is %q, want %q", i, got[i].What, w)
		}
		if got[i].Lo > got[i].At || got[i].At > got[i].Hi || got[i].Hi > 1000 {
			t.Errorf("%+v", got[i])
		}
	}
	if got[0].At != 13 || got[0].Lo != 12 || got[0].Hi != 13 {
		t.Errorf("shadows: %+v", got[0])
	}
}

// The hatch of a way is that way's mask.
func TestHatchOf(t *testing.T) {
	m := study.Pack(screen.Masks{Shadows: flat(1), Lights: flat(2), Merged: flat(3), Shifted: flat(4), Beyond: flat(5), Any: flat(6)})
	for way, want := range map[string]byte{"shadows": 1, "lights": 2, "steps": 3, "shifted": 4, "beyond": 5, "any": 6} {
		h := hatchOf(m, way)
		if h == nil || h.Cols != 3 || h.Rows != 2 || h.Cover[0] != want {
			t.Errorf("%s: %+v", way, h)
		}
	}
}

func flat(v uint8) *image.Alpha {
	m := image.NewAlpha(image.Rect(0, 0, 3, 2))
	for i := range m.Pix {
		m.Pix[i] = v
	}
	return m
}

// What a sitting could not tell is said, with what it bears on.
func TestUntold(t *testing.T) {
	r := report.Record{}
	for _, a := range check.Aspects {
		r.Findings = append(r.Findings, report.Finding{Aspect: a, Judgements: 5})
	}
	if list := untold(r, true); len(list) != 1 || !strings.Contains(list[0], "brightness of white") {
		t.Errorf("of a whole sitting: %q", list)
	}
	for i := range r.Findings {
		r.Findings[i].Judgements = 0
	}
	list := untold(r, true)
	if len(list) != 7 || !strings.HasPrefix(list[0], "Shadows: lost shadows") {
		t.Errorf("of none: %q", list)
	}
	r.Findings[0].Verdict = report.Off // handling
	if list := untold(r, false); len(list) != 7 || !strings.Contains(strings.Join(list, ""), "does not handle the colours") {
		t.Errorf("with colours that are not handled: %q", list)
	}
}
