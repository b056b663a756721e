//go:build !js

package main_test

import (
	"math"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/report"
)

// lay chooses files of testdata/calibrated on the page after calibrating, and waits until they are read.
func (w *window) lay(names ...string) {
	w.t.Helper()
	var files []string
	for _, n := range names {
		at, err := filepath.Abs(filepath.Join("..", "testdata", "calibrated", n))
		w.check(err)
		files = append(files, at)
	}
	had := eval[int](w, `document.querySelectorAll("#papers li").length`)
	w.do(chromedp.SetUploadFiles(chromedp.CSS("input[name=paper]"), files))
	w.eventually("the files are read", func() bool {
		return eval[int](w, `document.querySelectorAll("#papers li").length - 1e6 * document.querySelectorAll("#papers progress").length`) == had+len(names)
	})
}

// bare is the screen "studio left" without its correction, seen on a display of gamma 2.2: its light at a code has the native gamma of each channel.
func bare() string {
	of := func(gamma float64) string {
		return table256(func(v int) float64 { return math.Round(255*math.Pow(float64(v)/255, gamma/2.2)) / 255 })
	}
	return filter("<feFuncR " + of(1.86) + "/><feFuncG " + of(1.9) + "/><feFuncB " + of(1.97) + "/>")
}

// A person who has just calibrated drops the profile and two readings, sees what they say, runs the short sitting with the correction loaded and without, and sees the eye
// beside the instrument, the disagreement explained. All of it prints, and is there again after a reload.
func TestAfterCalibrating(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name    string
		room    room
		scheme  string
		loading report.Loading
		lead    string
		rows    map[string]string // by question: how the three stand
	}{
		{"loaded", room{width: 1440, height: 900, seed: 11}, "dark", report.IsLoaded, "They agree wherever", map[string]string{"Correction": "Agree", "Tone": "Agree", "Browser": "Agree", "White": "Agree", "Colours": "Agree"}},
		{"bare", room{width: 780, height: 1688, ratio: 2, seed: 12, scripts: []string{bare()}}, "light", report.NotLoaded, "The correction is not loaded", map[string]string{"Correction": "Disagree", "Tone": "Disagree", "White": "Agree", "Colours": "Agree"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			w := open(t, c.room)
			_, err := chromedp.Call(w.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: c.scheme}}})
			w.check(err)
			a := &album{w: w, name: "after-" + c.name}
			w.do(chromedp.Navigate(site + "/after"))
			w.in("after")
			w.lay("studio-left.icc", "studio-left.txt", "studio-left-again.txt")
			w.eventually("the readings are held against the profile", func() bool {
				return strings.Contains(w.text("#measured"), "Read again") && strings.Contains(w.text("#measured"), "held against the profile")
			})
			for id, says := range map[string][]string{
				"#promise":  {"studio left, 20 November", "160 cd/m²", "daylight of 6506 K", "gamma of about 2.20", "blue keeps 238 of 256 levels", "Display P3"},
				"#measured": {"good enough to judge colour by", "Skin-like", "158 cd/m² for an aim of 160", "Greys, average"},
				"#heard":    {"not asked yet", "It holds only while its correction is loaded."},
			} {
				for _, s := range says {
					if text := w.text(id); !strings.Contains(text, s) {
						t.Errorf("%s does not say %q: %s", id, s, text)
					}
				}
			}
			w.fits("the page")
			w.write("screen", "studio left")
			a.keep("laid")
			a.whole("laid-whole")

			w.press("eye")
			w.in("prepare")
			w.click("[name=twin][value=yes]")
			a.keep("prepare")
			v := seat(t, "steady", display.Default(), c.room.seed)
			for w.turn(v).Stage != "after" {
			}
			w.fits("the page with the eye")
			a.keep("eye")
			a.whole("eye-whole")
			w.standing(c.lead, c.rows)
			a.paper("eye", 2, 5)

			w.press("report")
			w.in("report")
			r, _ := w.record()
			if r.Correction == nil || r.Correction.Loading != c.loading || r.Plan.Expect == nil || r.Conditions.Screen != "studio left" {
				t.Errorf("the record says %+v of the correction", r.Correction)
			}
			if s := w.text(".correction"); !strings.Contains(s, r.Correction.Seen) {
				t.Errorf("the report does not say it: %s", s)
			}
			w.click(".correction a")
			w.eventually("it is there again", func() bool { return strings.Contains(w.text("#heard"), r.Correction.Seen) })
			w.standing(c.lead, c.rows)
		})
	}
}

// write types into a field.
func (w *window) write(name, text string) {
	w.t.Helper()
	w.click("[name=" + name + "]")
	w.do(chromedp.SendKeys(chromedp.CSS("[name="+name+"]"), text))
}

// standing checks what follows from the three, and how they stand by question.
func (w *window) standing(lead string, rows map[string]string) {
	w.t.Helper()
	if text := w.text(".heard .follows"); !strings.Contains(text, lead) {
		w.t.Errorf("it follows %q, want %q", text, lead)
	}
	got := eval[map[string]string](w, `Object.fromEntries([...document.querySelectorAll(".three .row")].map(r => [r.querySelector(".name").firstChild.textContent.trim(), r.querySelector(".together .word").innerText.trim()]))`)
	for name, want := range rows {
		if got[name] != want {
			w.t.Errorf("%s: %q, want %q", name, got[name], want)
		}
	}
	if len(got) < 9 {
		w.t.Errorf("only %d questions: %v", len(got), got)
	}
}
