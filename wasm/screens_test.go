//go:build !js

package main_test

import (
	"bytes"
	"flag"
	"image"
	"image/draw"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
)

var update = flag.Bool("update", false, "make the pictures of the README anew")

var times = flag.Bool("times", false, "hold times that are promised of a machine that does nothing else")

// pictures are the README's, by name, with the test that makes each and its height in pixels.
var pictures = map[string]struct {
	test   string
	height int
}{"report": {"TestHands", 1160}, "desk": {"TestNewcomer", 760}}

// pictureWidth is the width of each in pixels.
const pictureWidth = 1440

func pictured(name string) string { return filepath.Join("../.ci/pictures", name+".png") }

// An album keeps screens for the eye in the folder named by PLUMB_SCREENS, if there is one.
type album struct {
	w    *window
	name string
	has  map[string]bool
}

func (a *album) wanted(what string) (path string, ok bool) {
	dir := os.Getenv("PLUMB_SCREENS")
	if dir == "" || a.has[what] {
		return "", false
	}
	if a.has == nil {
		a.has = map[string]bool{}
	}
	a.has[what] = true
	return filepath.Join(dir, a.name+"-"+what), true
}

// keep keeps the window as it is.
func (a *album) keep(what string) {
	a.w.t.Helper()
	if path, ok := a.wanted(what + ".png"); ok {
		var b bytes.Buffer
		a.w.check(png.Encode(&b, a.w.shot()))
		a.w.check(os.WriteFile(path, b.Bytes(), 0o644))
	}
}

// whole keeps the whole page, beyond the window.
func (a *album) whole(what string) {
	a.w.t.Helper()
	if path, ok := a.wanted(what + ".png"); ok {
		b, err := chromedp.Run(a.w.ctx, chromedp.FullScreenshot(100))
		a.w.check(err)
		a.w.check(os.WriteFile(path, b, 0o644))
	}
}

// papers are the sheets that pages are printed on.
var papers = map[string]chromedp.PaperSize{"a4": chromedp.PaperA4, "letter": chromedp.PaperLetter}

// sheets prints the page on each of papers and returns what was printed, which takes so many sheets at least and at most.
func (w *window) sheets(what string, least, most int) map[string][]byte {
	w.t.Helper()
	all := map[string][]byte{}
	for name, size := range papers {
		b, err := chromedp.Run(w.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(size), chromedp.PDFPreferCSSPageSize()))
		w.check(err)
		if n := bytes.Count(b, []byte("/Type /Page\n")); n < least || n > most {
			w.t.Errorf("%s prints on %d sheets of %s, should be %d to %d", what, n, name, least, most)
		}
		all[name] = b
	}
	return all
}

// paper keeps what is printed of the page.
func (a *album) paper(what string, least, most int) {
	a.w.t.Helper()
	for name, b := range a.w.sheets(what, least, most) {
		if path, ok := a.wanted(what + "-" + name + ".pdf"); ok {
			a.w.check(os.WriteFile(path, b, 0o644))
		}
	}
}

// fits checks that nothing is wider than the window, and that nothing keeps anybody from using the page.
func (w *window) fits(what string) {
	w.t.Helper()
	w.accessible(what)
	if d := eval[float64](w, "document.documentElement.scrollWidth - document.documentElement.clientWidth"); d > 0 {
		w.t.Errorf("%s is %v CSS pixels wider than the window", what, d)
	}
}

// A whole sitting by mouse before a laptop with faults, and one by finger before a sound phone; the pages dark there and light here. They end with a
// report that tells the two apart, and every page fits.
func TestHands(t *testing.T) {
	t.Parallel()
	laptop, phone := display.Default(), display.Default()
	laptop.Tone[0].Gamma, laptop.Crush = 2.55, 13
	for _, c := range []struct {
		name    string
		room    room
		scheme  string
		length  check.Length
		display display.Description
		answer  func(w *window, p presentation, key string)
	}{
		{"desk", room{width: 1440, height: 900, seed: 41}, "dark", check.Standard, laptop, func(w *window, p presentation, key string) { w.point(p, key, w.mouse) }},
		{"phone", room{width: 780, height: 1688, ratio: 2, seed: 42, touch: true}, "light", check.Short, phone, func(w *window, p presentation, key string) { w.point(p, key, w.finger) }},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			w := open(t, c.room)
			_, err := chromedp.Call(w.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: c.scheme}}})
			w.check(err)
			if c.room.touch {
				_, err := chromedp.Call(w.ctx, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: true})
				w.check(err)
			}
			a := &album{w: w, name: c.name}
			w.do(chromedp.Navigate(site + "/"))
			w.fits("the start page")
			a.whole("start")
			w.visit("")
			w.in("prepare")
			w.click("input[name=length][value=" + string(c.length) + "]")
			for name, value := range map[string]string{"warmth": "yes", "zoom": "yes", "night": "yes", "hdr": "unknown", "auto": "no", "room": "normal"} {
				w.click("input[name=" + name + "][value=" + value + "]")
			}
			for name, value := range map[string]string{"screen": "kitchen laptop", "viewer": "Ines"} {
				w.click("input[name=" + name + "]")
				w.do(chromedp.KeyEvent(value))
			}
			w.fits("the preparation page")
			a.keep("prepare")
			a.whole("prepare-whole")

			v := seat(t, "steady", c.display, c.room.seed)
			v.answer = c.answer
			var s state
			v.shown = func(p presentation, _ func() *image.RGBA) {
				kind := p.Check
				switch {
				case p.Choices[len(p.Choices)-1].Key == "Enter":
					kind = "setting"
				case p.Check == "tone" && strings.Contains(w.text("#bar"), "Practice"):
					kind = "pair"
				}
				a.keep("presentation-" + kind)
			}
			paused := false
			for s.Stage != "report" {
				s = w.wait(`n.stage !== "sitting" || n.mark !== ""`)
				switch {
				case s.Stage == "prepare" && s.Over == "field":
					a.keep("lines")
				case s.Stage == "intro":
					a.keep("intro-" + strings.ToLower(eval[string](w, `document.querySelector(".over h1").innerText`)))
				case s.Stage == "sitting" && !paused && v.asked == 6:
					paused = true
					w.press("pause")
					w.in("paused")
					a.keep("paused")
					w.press("continue")
					continue
				}
				s = w.turn(v)
			}
			w.fits("the report")
			a.keep("report")
			a.whole("report-whole")
			a.paper("report", 1, 4)
			r, _ := w.record()
			if len(r.Void) > 0 {
				t.Errorf("the sitting is void: %v", r.Void)
			}
			if r.Conditions.Screen != "kitchen laptop" || r.Conditions.Viewer != "Ines" || r.Conditions.Room != "normal" || r.Conditions.Settings["auto"] != "no" {
				t.Errorf("the record does not have what was filled in: %+v", r.Conditions)
			}
			sound := c.display
			sound.Crush = 0
			for x, truth := range known("steady", c.display, sound, identity(), identity()).verdicts {
				f := finding(t, r, x)
				t.Logf("%s is %s and should be %s: %s", x, f.Verdict, truth, f.Seen)
				if f.Verdict == report.NotChecked || f.Verdict != report.Unsure && f.Verdict != truth {
					t.Errorf("%s is %s and should be %s: %s", x, f.Verdict, truth, f.Seen)
				}
			}
			if c.name == "desk" {
				w.paint("report")
			}
		})
	}
}

// point answers as a hand does: on the pattern where the answer has a place there, else on its button.
func (w *window) point(p presentation, key string, press func(x, y float64)) {
	w.t.Helper()
	for _, c := range p.Choices {
		if c.Key != key {
			continue
		}
		if r := c.rect(); !r.Empty() && p.Choices[len(p.Choices)-1].Key != "Enter" {
			s := w.now()
			press(s.Box[0]+float64(r.Min.X+r.Max.X)/2/s.Ratio, s.Box[1]+float64(r.Min.Y+r.Max.Y)/2/s.Ratio)
			return
		}
	}
	at := w.find(`[data-action="choose"][data-id="` + key + `"]`)
	press(at[0], at[1])
}

func (w *window) mouse(x, y float64) { w.t.Helper(); w.do(chromedp.MouseClickXY(x, y)) }

func (w *window) finger(x, y float64) { w.t.Helper(); w.do(chromedp.TapXY(x, y)) }

// paint makes one of the README's pictures: the upper part of the page, in greys, as it is. Without -update it makes none.
func (w *window) paint(name string) {
	w.t.Helper()
	if !*update {
		return
	}
	shot, err := chromedp.Call(w.ctx, page.CaptureScreenshot, page.CaptureScreenshotParams{
		Format: page.CaptureScreenshotFormatPng, CaptureBeyondViewport: new(true), Clip: &page.Viewport{Width: pictureWidth, Height: float64(pictures[name].height), Scale: 1},
	})
	w.check(err)
	img, err := png.Decode(bytes.NewReader(shot.Data))
	w.check(err)
	grey := image.NewGray(img.Bounds())
	draw.Draw(grey, grey.Rect, img, img.Bounds().Min, draw.Src)
	var b bytes.Buffer
	w.check((&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, grey))
	w.check(os.MkdirAll(filepath.Dir(pictured(name)), 0o755))
	w.check(os.WriteFile(pictured(name), b.Bytes(), 0o644))
}

// The README shows what tests made: go test ./wasm -run 'TestHands|TestNewcomer' -update.
func TestPictures(t *testing.T) {
	if *update {
		t.Skip("they are being made")
	}
	readme, err := os.ReadFile("../README.md")
	if err != nil {
		t.Fatal(err)
	}
	for name, p := range pictures {
		b, err := os.ReadFile(pictured(name))
		if err != nil {
			t.Fatalf("%v; go test ./wasm -run %s -update makes it", err, p.test)
		}
		if len(b) > 150<<10 {
			t.Errorf("the picture %s has %d bytes, more than 150 KB", name, len(b))
		}
		c, err := png.DecodeConfig(bytes.NewReader(b))
		if err != nil || c.Width != pictureWidth || c.Height != p.height {
			t.Errorf("the picture %s is %d x %d, should be %d x %d: %v", name, c.Width, c.Height, pictureWidth, p.height, err)
		}
		if !bytes.Contains(readme, []byte("(.ci/pictures/"+name+".png)")) {
			t.Errorf("README does not show the picture %s", name)
		}
	}
}
