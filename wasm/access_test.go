//go:build !js

package main_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"example.org/plumb/web/worker/workertest"
)

// rules is the source of axe-core, which knows the rules of WCAG 2.2 that a program can look for.
var rules = sync.OnceValues(func() (string, error) {
	modules, err := workertest.Modules("../.ci/access")
	if err != nil {
		return "", err
	}
	b, err := os.ReadFile(filepath.Join(modules, "axe-core", "axe.min.js"))
	return string(b), err
})

// accessible checks that axe-core finds nothing on the page as it is.
func (w *window) accessible(what string) {
	w.t.Helper()
	source, err := rules()
	w.check(err)
	if !eval[bool](w, "!!window.axe") {
		_, err := chromedp.Call(w.ctx, runtime.Evaluate, runtime.EvaluateParams{Expression: source + "\n0"})
		w.check(err)
	}
	for _, f := range eval[[]string](w, `axe.run(document, {resultTypes: ["violations"]}).then(r => r.violations.flatMap(v => v.nodes.map(n =>
		v.id + " (" + v.impact + "): " + n.html.slice(0, 200) + " " + n.failureSummary.replace(/\s+/g, " "))))`) {
		w.t.Errorf("%s: %s", what, f)
	}
}

// Every page can be used by everybody, as far as a program can tell, and on a window of 320 CSS pixels without scrolling sideways: dark and light, with forced colours.
func TestAccess(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name         string
		width        int
		scheme, used string // forced-colors
	}{{"wide dark", 1440, "dark", "none"}, {"narrow light", 320, "light", "none"}, {"narrow forced", 320, "dark", "active"}} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			w := open(t, room{width: c.width, height: 800})
			_, err := chromedp.Call(w.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
				{Name: "prefers-color-scheme", Value: c.scheme}, {Name: "forced-colors", Value: c.used},
			}})
			w.check(err)
			for _, p := range []string{"/", "/method", "/example", "/nowhere"} {
				w.do(chromedp.Navigate(site + p))
				w.fits(p)
			}
			for page, stage := range map[string]string{"/check": "prepare", "/ask": "ask", "/desk": "desk", "/r": "trouble", "/proof": "proof", "/record": "record", "/pattern": "plate", "/after": "after", "/journal": "journal"} {
				w.do(chromedp.Navigate(site + page))
				w.in(stage)
				w.fits(page)
			}
			w.visit("?length=short")
			w.in("prepare")
			w.press("continue")
			w.wait(`n.over === "field"`)
			w.fits("the look at fine lines")
			w.press("continue")
			w.in("intro")
			w.fits("an introduction")
			quick := &viewer{}
			for quick.asked < 3 {
				w.turn(quick)
			}
			w.wait(`n.mark !== ""`)
			w.fits("a question")
			w.key("Escape")
			w.in("paused")
			w.fits("a pause")
			w.do(chromedp.Reload())
			w.in("resume")
			w.fits("an unfinished sitting")
			w.press("continue")
			w.in("intro")
			w.press("stop")
			w.in("report")
			w.fits("a report")
		})
	}
}

// What a person can press has a name that says what it does, and the keyboard alone gets there in the order in which it is read: a whole short visit without a mouse.
func TestKeyboardAlone(t *testing.T) {
	t.Parallel()
	w := open(t, room{})
	w.visit("?length=short")
	w.in("prepare")
	// to moves the keyboard on until it is on an element.
	to := func(selector string) {
		t.Helper()
		seen := map[string]int{}
		for range 150 {
			w.key("Tab")
			here := eval[string](w, fmt.Sprintf(`(() => { const e = document.activeElement; return e.matches(%q) ? "" : e.outerHTML.slice(0, 300) })()`, selector))
			if here == "" {
				if !eval[bool](w, `(() => { const s = getComputedStyle(document.activeElement); return s.outlineStyle !== "none" && parseFloat(s.outlineWidth) > 0 })()`) {
					t.Errorf("%s has the keyboard and does not show it", selector)
				}
				return
			}
			if seen[here]++; seen[here] > 3 {
				t.Fatalf("the keyboard comes to %s again and again, and never to %s", here, selector)
			}
		}
		t.Fatalf("the keyboard does not come to %s", selector)
	}
	to("[data-action=continue]")
	w.key("Enter")
	w.wait(`n.over === "field"`)
	to("[data-action=continue]")
	w.key("Enter")
	w.in("intro")
	quick := &viewer{}
	for quick.asked < 3 {
		s := w.wait(fmt.Sprintf(`n.mark ? JSON.parse(n.mark).seq !== %d : n.stage === "intro"`, quick.seq))
		if s.Mark == "" {
			to("[data-action=continue]")
			w.key("Enter")
			w.wait(`n.stage !== "intro"`)
			continue
		}
		quick.look(w, s)
	}
	w.key("Escape")
	w.in("paused")
	to("[data-action=stop]")
	w.key("Enter")
	w.in("report")
	if h := eval[string](w, "document.activeElement.tagName"); !strings.HasPrefix(h, "H") {
		t.Errorf("after a change of the page the keyboard is on %s and not on the heading", h)
	}
}
