package report_test

import (
	"image"
	"math/rand/v2"
	"testing"
	"time"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/report"
)

var start = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

// conditions are those of a sitting of Ines at the kitchen laptop, in an orchard's office.
func conditions() report.Conditions {
	return report.Conditions{
		Screen: "kitchen laptop", Viewer: "Ines", Started: start.UnixMilli(),
		Width: 640, Height: 400, PixelRatio: 1.5, Exact: true, FullScreen: true,
		Gamut: "srgb", DynamicRange: "standard", ColorDepth: 24, Timer: 0.1, Browser: "rehearsal",
		Settings: map[string]string{"warm": "yes", "zoom": "yes", "night": "yes", "hdr": "yes", "auto": "unknown"}, Room: "normal",
		Distance: 60, Pitch: 5.2, Melt: "yes", Even: "yes", Vision: "none known", Profile: "honoured", Twin: "yes", Zoom: 1,
	}
}

// A viewer presses keys before a frame.
type viewer func(p check.Presentation, dst *image.RGBA) string

// virtual is a virtual viewer of a kind before a screen.
func virtual(t testing.TB, kind string, d display.Description, seed uint64) viewer {
	t.Helper()
	k, ok := observer.KindByName(kind)
	if !ok {
		t.Fatalf("no kind %q", kind)
	}
	m := d.Model()
	v := observer.New(k, &m, rand.New(rand.NewPCG(seed, 0x766965776572)))
	return func(p check.Presentation, dst *image.RGBA) string {
		if p.Kind == check.Setting {
			return p.Choices[map[int]int{1: 0, -1: 1, 0: 2}[v.Adjust(dst, p.Choices[0].Rect, p.Choices[2].Rect)]].Key
		}
		n := len(p.Choices) - 1
		var rects []image.Rectangle
		for _, c := range p.Choices[:n] {
			rects = append(rects, c.Rect)
		}
		at, known := v.Answer(string(p.Task), dst, rects, p.Wide)
		if !known {
			t.Fatalf("nobody knows the task %q", p.Task)
		}
		if at == observer.CantTell {
			at = n
		}
		return p.Choices[at].Key
	}
}

// sit lets a viewer sit through a plan, for at most so many judgements where most is above 0, and records it. Without a viewer nothing is answered.
func sit(t testing.TB, p check.Plan, v viewer, latency time.Duration, most int) report.Record {
	t.Helper()
	s, err := check.Begin(p)
	if err != nil {
		t.Fatal(err)
	}
	dst := image.NewRGBA(image.Rect(0, 0, 640, 400))
	c, now := conditions(), start
	for {
		q, ok := s.Present(dst.Rect)
		if !ok || v == nil || most > 0 && len(s.Log()) >= most {
			break
		}
		s.Frame(dst)
		now = now.Add(latency + 400*time.Millisecond)
		s.Press(v(q, dst), now, latency)
	}
	c.Ended = now.UnixMilli()
	return report.Of(s, c, "rehearsal")
}

func plan(l check.Length, seed uint64) check.Plan {
	return check.Plan{Battery: check.Battery, Length: l, Seed: seed, Aim: "usual"}
}

// ordinary is a screen within every tolerance.
func ordinary() display.Description { return display.Default() }

// ines is Ines's sitting at the kitchen laptop.
func ines(t testing.TB) report.Record {
	return sit(t, plan(check.Standard, 7), virtual(t, "typical", ordinary(), 7), 2800*time.Millisecond, 0)
}

func finding(t testing.TB, r report.Record, a check.Aspect) report.Finding {
	t.Helper()
	for _, f := range r.Findings {
		if f.Aspect == a {
			return f
		}
	}
	t.Fatalf("no finding of %s", a)
	return report.Finding{}
}
