package app

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/testdata"
)

// A tired clock goes on by half a slice whenever work asks for it, as on a slow computer.
type tired struct{ clock }

func (c tired) Now() time.Duration {
	if s := c.h.app.sitting; s != nil && s.work != nil {
		c.h.now += slice/2 + 1
	}
	return c.h.now
}

// slowed begins a sitting on a slow computer.
func slowed(t *testing.T, length string) *host {
	h := newHost(t, nil)
	h.app.Begin(surface(), map[string]string{"length": length})
	h.settle()
	h.app.host.Clock = tired{clock{h}}
	h.toIntro()
	return h
}

// answerSlowly answers one judgement, and lets a frame pass.
func (h *host) answerSlowly() {
	h.t.Helper()
	h.toTrial()
	h.advance(720 * time.Millisecond)
	h.app.Key(h.look(), h.now)
	h.settle()
	h.advance(animation)
}

// slowlyToReport answers to the end; between is called before each frame in which there is work.
func (h *host) slowlyToReport(between func(s *sitting)) {
	h.t.Helper()
	for h.app.Stage() != Report {
		if s := h.app.sitting; s.work == nil && s.closing == 0 {
			h.answerSlowly()
		} else {
			between(s)
			h.advance(animation)
		}
	}
}

// timeless is what a record says but for times.
func timeless(t *testing.T, r report.Record) string {
	t.Helper()
	for i := range r.Judgements {
		r.Judgements[i].At, r.Judgements[i].Latency = 0, 0
	}
	r.Conditions = report.Conditions{}
	b, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// Where work takes long it is done in slices, with the same questions and the same report; what is pressed meanwhile answers nothing.
func TestSlices(t *testing.T) {
	fast := begin(t, nil)
	fast.toIntro()
	fast.finish()
	h := slowed(t, "short")
	asked, closed := 0, 0
	h.slowlyToReport(func(s *sitting) {
		if s.closing > 0 {
			closed++
			return
		}
		asked++
		n := len(s.run.Log())
		if h.app.Key("ArrowLeft", h.now) || len(s.run.Log()) != n {
			t.Fatal("a key answered a question that was not up")
		}
	})
	if asked < 10 || closed < 50 {
		t.Errorf("%d slices for what comes next and %d for the report: nothing was slow", asked, closed)
	}
	if a, b := timeless(t, fast.app.shown.record), timeless(t, h.app.shown.record); a != b {
		t.Errorf("in slices another record came out:\n%s\nand at once\n%s", b, a)
	}
	if page := h.page["stage"]; !strings.Contains(page, `id="record"`) || len(page) < len(fast.page["stage"])*9/10 {
		t.Errorf("the page of the report is not whole: %d bytes, at once %d", len(page), len(fast.page["stage"]))
	}
}

// Who pauses, leaves or takes an answer back while the next round is planned finds everything in place.
func TestSlicesAreBrokenOff(t *testing.T) {
	for _, key := range []string{"Escape", "Backspace"} {
		h := slowed(t, "standard") // whose first round is planned for certain
		for h.app.sitting.work == nil {
			h.answerSlowly()
		}
		s := h.app.sitting
		n := len(s.run.Log())
		if !h.app.Key(key, h.now) || s.work != nil || len(s.run.Log()) != n {
			t.Fatalf("%s: %d judgements instead of %d, work under way: %v", key, len(s.run.Log()), n, s.work != nil)
		}
		last := s.run.Log()[n-1]
		if taken := last.Status == check.TakenBack; taken != (key == "Backspace") {
			t.Errorf("%s: the last answer was taken back: %v", key, taken)
		}
		h.settle()
		if log := kept(t, h.rows); len(log) != n || log[n-1].Status != last.Status {
			t.Errorf("%s: %d judgements are kept", key, len(log))
		}
		if key == "Escape" {
			h.stage(Paused)
			h.click("continue", "")
		}
		h.slowlyToReport(func(*sitting) {})
	}
}

// BenchmarkReportPage is what a report waits for before the browser has it, as HTML.
func BenchmarkReportPage(b *testing.B) {
	file, err := testdata.FS.ReadFile("screens/ines.json")
	if err != nil {
		b.Fatal(err)
	}
	r, err := report.Read(file)
	if err != nil {
		b.Fatal(err)
	}
	h := newHost(&testing.T{}, nil)
	for b.Loop() {
		h.app.reportPage(&shown{record: r, bytes: file}, func() {})
	}
}

// A rare clock stands still but for what is added to it.
type rare struct {
	Clock
	now time.Duration
}

func (r *rare) Now() time.Duration { return r.now }

// A slice is as long as the wait for its frame was, within bounds, so that rare frames take no more than half of the time.
func TestSlicesOfRareFrames(t *testing.T) {
	const step = 5 * time.Millisecond
	c := &rare{now: time.Second}
	w := slowly(c, func(pause func()) {
		for range 1000 {
			c.now += step
			pause()
		}
	})
	for _, wait := range []struct{ frame, want time.Duration }{{0, slice}, {slice / 2, slice}, {4 * slice, 4 * slice}, {time.Second, mostSlice}} {
		c.now += wait.frame
		began := c.now
		if !w.on() {
			t.Fatal("the work is done too soon")
		}
		if took := c.now - began; took < wait.want || took >= wait.want+step {
			t.Errorf("after a wait of %v a slice of %v, want %v", wait.frame, took, wait.want)
		}
	}
	w.end()
}
