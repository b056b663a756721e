//go:build !js

package main_test

import (
	"fmt"
	"strings"
	"testing"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
)

// lossy makes what is painted from now on lose its lowest codes on the way to the canvas: WebDriver has no scripts that run before a page's own, and WebKitGTK draws no
// canvas through an SVG filter.
const lossy = `const own = CanvasRenderingContext2D.prototype, put = own.putImageData;
	own.putImageData = function (image, ...where) {
		const copy = new ImageData(new Uint8ClampedArray(image.data), image.width, image.height), d = copy.data;
		for (let i = 0; i < d.length; i++) if (d[i] <= %d) d[i] = 0;
		return put.call(this, copy, ...where);
	}`

// A whole short sitting in the other engines that people have: what is seen is a screenshot, what is done is a key or a click, as in Chromium. Between page and viewer
// the lowest codes are lost, which must be seen, and nothing else. The report is then left, found again after a reload, and read.
//
// Quirks, each held below: Gecko's clock has steps of 20 µs only on a page that is isolated, as ours is; it does not tell the zoom; neither of the two paints colours of
// Display P3 on a canvas here, so that the colour range is not asked about.
func TestEngines(t *testing.T) {
	t.Parallel()
	for _, e := range []struct {
		engine
		called string  // how the record calls it
		step   float64 // of the clock, at most, ms
		zoom   float64 // what the record says of the zoom: 0 where it cannot be told
	}{
		{engine{"firefox", firefox}, "Gecko ", 0.1, 0},
		{engine{"webkit", webkit}, "WebKit ", 1, 1},
	} {
		t.Run(e.name, func(t *testing.T) {
			t.Parallel()
			w := openWired(t, e.engine)
			for v, got := range w.measure() {
				if int(got) != v {
					t.Fatalf("code %d reaches the screen as %d", v, got)
				}
			}
			w.visit("?length=" + string(check.Short))
			w.in("prepare")
			w.run(fmt.Sprintf(lossy, crushed))
			r := w.sit(seat(t, "steady", display.Default(), 3))
			if len(r.Void) > 0 {
				t.Fatalf("the sitting is void: %v", r.Void)
			}
			for _, f := range r.Findings {
				t.Logf("%-12s %-11s %.4g (%.4g to %.4g) after %d: %s", f.Aspect, f.Verdict, f.Mean, f.Lo, f.Hi, f.Judgements, f.Seen)
				// A short sitting may leave open whether it is too much, and must see that something is lost there and nowhere else.
				if lost := f.Aspect == check.Shadows; lost && (f.Verdict == report.Holds || f.Mean < 10) || !lost && f.Verdict == report.Off {
					t.Errorf("%s: %s", f.Aspect, f.Verdict)
				}
			}
			for _, f := range r.Faults {
				if f.Name != report.LostShadows {
					t.Errorf("the record names %s", f.Name)
				}
			}
			c := r.Conditions
			if !c.Exact || c.CanvasNoise || c.Profile != "honoured" || !strings.HasPrefix(c.Browser, e.called) || c.Timer <= 0 || c.Timer > e.step || c.Zoom != e.zoom || c.WideCanvas {
				t.Errorf("conditions %+v", c)
			}

			w.visit("")
			w.in("prepare")
			w.press("open")
			w.in("report")
			if again, _ := w.record(); len(again.Judgements) != len(r.Judgements) || again.Conditions.Started != r.Conditions.Started {
				t.Errorf("the report that was kept has %d judgements of %d", len(again.Judgements), len(r.Judgements))
			}
			if text := w.text(".report"); !strings.Contains(text, finding(t, r, check.Shadows).Seen) {
				t.Errorf("the report does not say what was seen: %s", text)
			}
		})
	}
}
