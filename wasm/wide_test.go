//go:build !js

package main_test

import (
	"fmt"
	"image"
	"testing"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
)

// painter lets a browser draw as it does with a graphics card, by a program: without it a canvas of Display P3 loses its colours on the way to the screen.
func painter() map[string]any {
	return map[string]any{"disable-gpu": false, "use-angle": "swiftshader", "enable-unsafe-swiftshader": true}
}

// The patterns of the colour range are colours of Display P3. On a screen of that range they reach the screen code by code; on one of sRGB the marks are cut off and
// cannot be seen.
func TestWide(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		profile string
		wide    bool
	}{{"display-p3-d65", true}, {"srgb", false}} {
		t.Run(c.profile, func(t *testing.T) {
			t.Parallel()
			w := open(t, room{profile: c.profile, seed: 9, flags: painter()})
			w.visit("?length=standard&aim=wide")
			s := w.in("prepare")
			w.click("input[name=nostripes]") // which shortens the sitting

			d := display.Default()
			if c.wide {
				d.Primaries = display.Primaries{Name: "p3"}
			}
			v := seat(t, "steady", d, 9)
			var frames []*image.RGBA
			v.shown = func(p presentation, look func() *image.RGBA) {
				if len(frames) == v.asked {
					frames = append(frames, nil)
				}
				if p.Task == string(check.Mark) {
					frames[v.asked] = look()
				}
			}
			for s.Stage != "report" {
				s = w.turn(v)
			}
			r, _ := w.record()
			if !r.Conditions.WideCanvas {
				t.Fatal("the record says that no canvas takes colours of Display P3")
			}
			marks := 0
			repaint(t, r, image.Rect(0, 0, r.Conditions.Width, r.Conditions.Height), func(i int, p check.Presentation, want *image.RGBA) {
				if frames[i] == nil {
					return
				}
				marks++
				if !p.Wide {
					t.Errorf("judgement %d is not wide", i)
				}
				if c.wide {
					if d := near(frames[i], want, 2); d != "" {
						t.Errorf("judgement %d: %s", i, d)
					}
				}
			})
			if marks < 3 {
				t.Fatalf("%d marks were shown", marks)
			}
			f := finding(t, r, check.ColourRange)
			t.Logf("%s %.2f (%.2f to %.2f) after %d: %s", f.Verdict, f.Mean, f.Lo, f.Hi, f.Judgements, f.Seen)
			if c.wide && f.Verdict == report.Off || !c.wide && f.Verdict == report.Holds {
				t.Errorf("colour range is %s: %s", f.Verdict, f.Seen)
			}
			if c.wide && f.Lo < 0.3 || !c.wide && f.Hi > 0.6 {
				t.Errorf("reach is %.2f to %.2f", f.Lo, f.Hi)
			}
		})
	}
}

// near compares two frames, and lets pass what is rounding.
func near(got, want *image.RGBA, most int) string {
	if got.Rect != want.Rect {
		return fmt.Sprintf("the frame is %v and should be %v", got.Rect, want.Rect)
	}
	worst, at := 0, 0
	for i := range want.Pix {
		if d := int(got.Pix[i]) - int(want.Pix[i]); d > worst || -d > worst {
			worst, at = max(d, -d), i
		}
	}
	if worst <= most {
		return ""
	}
	x, y := at%want.Stride/4, at/want.Stride
	return fmt.Sprintf("at (%d, %d) %v should be %v", x, y, got.RGBAAt(x, y), want.RGBAAt(x, y))
}
