//go:build !js

package main_test

import (
	"fmt"
	"image"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"example.org/plumb/patterns"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
)

// differ compares two frames inside r, and says where they differ first and how often.
func differ(got, want *image.RGBA, r image.Rectangle) string {
	if got.Rect != want.Rect {
		return fmt.Sprintf("the frame is %v and should be %v", got.Rect, want.Rect)
	}
	n, first := 0, ""
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if g, w := got.RGBAAt(x, y), want.RGBAAt(x, y); g != w {
				if n == 0 {
					first = fmt.Sprintf("at (%d, %d) %v should be %v", x, y, g, w)
				}
				n++
			}
		}
	}
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("%d of %d pixels differ: %s", n, r.Dx()*r.Dy(), first)
}

// repaint goes through a record's sitting once more, here, and calls each with the place of every judgement in the log and with what was up when it was answered.
func repaint(t *testing.T, r report.Record, bounds image.Rectangle, each func(i int, p check.Presentation, frame *image.RGBA)) {
	t.Helper()
	s, err := check.Begin(r.Plan)
	if err != nil {
		t.Fatal(err)
	}
	frame := image.NewRGBA(bounds)
	for i, j := range r.Judgements {
		p, ok := s.Present(bounds)
		if !ok || p.Check != j.Check || p.Kind != j.Kind {
			t.Fatalf("judgement %d is of %s, %s; the plan asks for %s, %s", i, j.Check, j.Kind, p.Check, p.Kind)
		}
		key := ""
		switch {
		case p.Kind == check.Setting:
			for range j.Presses { // this viewer's settings go up
				s.Press("ArrowUp", time.UnixMilli(j.At), 0)
			}
			key = "Enter"
		case j.Response == check.CantTell:
			key = "Space"
		default:
			key = p.Choices[j.Response].Key
		}
		s.Frame(frame)
		each(i, p, frame)
		s.Press(key, time.UnixMilli(j.At), time.Duration(j.Latency)*time.Millisecond)
	}
}

// Frames of a whole sitting, and all of its line matches, reach the screen as they are painted here, pixel for pixel, on screens with real device pixel
// ratios. Emulated ones mislead: there the box in device pixels stays in CSS pixels.
func TestLines(t *testing.T) {
	t.Parallel()
	for _, ratio := range []float64{1, 1.25, 1.5, 2, 3} {
		t.Run(fmt.Sprint(ratio), func(t *testing.T) {
			t.Parallel()
			// 641 x 523 CSS pixels: nothing here is a round number.
			w := open(t, room{width: int(641 * ratio), height: int(523 * ratio), ratio: ratio, seed: 5})
			w.visit("?length=short")
			w.in("prepare")
			w.click("#start [data-action=continue]")
			s := w.wait(`n.over === "field"`)
			if s.Ratio != ratio {
				t.Fatalf("the screen has a ratio of %v", s.Ratio)
			}
			preview(t, w.canvas(s))

			var frames []*image.RGBA
			v := &viewer{}
			v.shown = func(p presentation, look func() *image.RGBA) {
				if len(frames) == v.asked {
					frames = append(frames, nil)
				}
				if p.Check == "tone" || p.Check == "neutrals" || v.asked%3 == 0 {
					frames[v.asked] = look() // of a setting the last step stands in the record
				}
			}
			// One sitting is a whole one. The others have seen what they are for once they have seen the neutrals.
			for s := w.now(); s.Stage != "report"; {
				if s = w.turn(v); ratio != 1.25 && s.Mark != "" && w.parse(s.Mark).Check == "smoothness" && v.asked > 38 {
					w.wait(`n.mark !== "" || n.stage !== "sitting"`)
					w.key("Escape")
					w.in("paused")
					w.press("stop")
					w.in("report")
					break
				}
			}
			r, _ := w.record()
			// What was up at the end was not answered.
			for len(r.Judgements) > len(frames) && r.Judgements[len(r.Judgements)-1].Status == check.Disturbed {
				r.Judgements = r.Judgements[:len(r.Judgements)-1]
			}
			if len(r.Judgements) != len(frames) || len(frames) < 36 {
				t.Fatalf("%d frames were seen, and the record has %d judgements", len(frames), len(r.Judgements))
			}
			var rows, columns, wrong int
			tasks := map[check.Task]int{}
			bounds := image.Rect(0, 0, r.Conditions.Width, r.Conditions.Height)
			repaint(t, r, bounds, func(i int, p check.Presentation, want *image.RGBA) {
				if frames[i] == nil {
					return
				}
				tasks[p.Task]++
				if d := differ(frames[i], want, bounds); d != "" && wrong < 3 {
					wrong++
					t.Errorf("judgement %d, %+v: %s", i, r.Judgements[i].Stimulus, d)
				}
				switch x := r.Judgements[i].Stimulus; {
				case !(x.Of > 0):
				case x.Columns:
					columns++
				default:
					rows++
				}
			})
			for _, task := range []check.Task{check.OddCell, check.Set, check.Lighter, check.OddQuadrant, check.PlaceLighter} {
				if tasks[task] == 0 && (ratio == 1.25 || task != check.OddQuadrant && task != check.PlaceLighter) {
					t.Errorf("no frame of the task %s was seen: %v", task, tasks)
				}
			}
			if tasks[check.Pinker]+tasks[check.Yellower] == 0 {
				t.Errorf("no frame of neutrals was seen: %v", tasks)
			}
			if rows == 0 || columns == 0 {
				t.Errorf("%d matches had rows and %d had columns: one of them was not tested", rows, columns)
			}
			if !r.Conditions.Exact || r.Conditions.PixelRatio != ratio {
				t.Errorf("the record says exact %v at a ratio of %v", r.Conditions.Exact, r.Conditions.PixelRatio)
			}
		})
	}
}

// preview checks the look at fine lines: two squares somewhere in the upper third, rows on the left and columns on the right, each beginning with black.
func preview(t *testing.T, f *image.RGBA) {
	t.Helper()
	upper := image.Rect(0, 0, f.Rect.Dx(), f.Rect.Dy()/3)
	ground := f.RGBAAt(0, 0)
	var lined image.Rectangle
	for y := upper.Min.Y; y < upper.Max.Y; y++ {
		for x := upper.Min.X; x < upper.Max.X; x++ {
			if f.RGBAAt(x, y) != ground {
				lined = lined.Union(image.Rect(x, y, x+1, y+1))
			}
		}
	}
	side := lined.Dy()
	if side < 24 || lined.Dx() < 2*side {
		t.Fatalf("the look at fine lines shows no two squares: they span %v", lined)
	}
	if 10*2*side*side > f.Rect.Dx()*f.Rect.Dy() {
		t.Errorf("the look at fine lines fills two squares of %d on a canvas of %v: more than a tenth", side, f.Rect.Max)
	}
	for i, at := range []image.Point{lined.Min, image.Pt(lined.Max.X-side, lined.Min.Y)} {
		want := image.NewRGBA(f.Rect)
		r := image.Rectangle{at, at.Add(image.Pt(side, side))}
		patterns.Mix{A: 0, B: 255, Lit: 1, Of: 2, Columns: i == 1}.Paint(want.SubImage(r).(*image.RGBA), r)
		if d := differ(f, want, r); d != "" {
			t.Errorf("the look at fine lines, square %d of 2: %s", i+1, d)
		}
	}
}

// Where a pixel of the pattern is not a pixel of the screen, the program says why and leaves the line matches out; and the record says it too.
func TestRefused(t *testing.T) {
	t.Parallel()
	style := func(s string) string {
		return `document.getElementById("field").style.cssText += ";` + s + `"`
	}
	loaded := func(s string) []string {
		return []string{`document.addEventListener("DOMContentLoaded", () => {` + style(s) + `})`}
	}
	for _, c := range []struct {
		name    string
		scripts []string
		later   func(w *window) // done while the preparation page is up
		unseen  bool            // and no event tells the program of it
		want    string
	}{
		{"transform", loaded("transform: scale(1.001)"), nil, false, "transform"},
		{"opacity", loaded("opacity: 0.99"), nil, false, "opacity 0.99"},
		{"blur", loaded("filter: blur(0.3px)"), nil, false, "blur"},
		{"opacity, once the page is there", nil, func(w *window) { w.run(style("opacity: 0.99")) }, true, "opacity 0.99"},
		{"pinched", nil, func(w *window) {
			_, err := chromedp.Call(w.ctx, emulation.SetPageScaleFactor, emulation.SetPageScaleFactorParams{PageScaleFactor: 1.5})
			w.check(err)
		}, false, "pinching"},
		{"emulated", nil, func(w *window) {
			_, err := chromedp.Call(w.ctx, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: 700, Height: 500, DeviceScaleFactor: 1.25})
			w.check(err)
		}, false, "emulating"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			w := open(t, room{scripts: c.scripts, seed: 3})
			w.visit("?length=short")
			w.in("prepare")
			if c.later != nil {
				c.later(w)
			}
			if !c.unseen {
				w.eventually("the reason on the preparation page", func() bool { return strings.Contains(w.text("#start"), c.want) })
			}
			w.eventually("a button to start with", func() bool { return strings.Contains(w.text("#start"), "Start") })
			v := &viewer{blunt: true} // no mouse can tell where a button is on a page that is magnified
			for v.asked < 3 {
				if s := w.turn(v); s.Stage == "prepare" && s.Over == "field" {
					t.Error("lines were shown that cannot be shown")
				}
			}
			w.key("Escape")
			w.in("paused")
			w.poke("stop")
			w.in("report")
			r, _ := w.record()
			f := finding(t, r, check.Tone)
			if f.Verdict != report.NotChecked || !strings.Contains(f.Why, c.want) {
				t.Errorf("the record says of tone: %s, %q; the reason should name %q", f.Verdict, f.Why, c.want)
			}
			if !strings.Contains(w.text(".report"), c.want) {
				t.Errorf("the report does not say why tone was not checked")
			}
			if r.Conditions.Exact {
				t.Error("the record says that pixels were exact")
			}
		})
	}
}
