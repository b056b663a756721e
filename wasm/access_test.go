//go:build !js

package main_test

import (
	"maps"
	"os"
	"path/filepath"
	"slices"
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

// Every page can be used by everybody, as far as a program can tell, and on a window of 320 CSS pixels without scrolling sideways: dark and light, with forced colours. Who asks
// for less motion gets none: what a style might set in motion stands still, too.
func TestAccess(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name         string
		width        int
		scheme, used string // forced-colors
		still        bool   // prefers-reduced-motion
	}{{"wide dark still", 1440, "dark", "none", true}, {"narrow light still", 320, "light", "none", true}, {"narrow forced", 320, "dark", "active", false}} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			w := open(t, room{width: c.width, height: 800})
			media := []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: c.scheme}, {Name: "forced-colors", Value: c.used}}
			look := w.fits
			if c.still {
				w.load(site + "/")
				w.run(lively)
				if n := len(eval[[]string](w, moving)); n < 20 {
					t.Errorf("only %d things move where everything does", n)
				}
				media = append(media, &emulation.MediaFeature{Name: "prefers-reduced-motion", Value: "reduce"})
				look = func(what string) {
					t.Helper()
					w.fits(what)
					w.still(what)
				}
			}
			_, err := chromedp.Call(w.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: media})
			w.check(err)
			if c.still {
				w.still("a style that moves everything")
				w.later(look)
			}
			w.everywhere(func(what string) {
				t.Helper()
				look(what)
				if c.still {
					w.run(lively)
					w.still(what + ", made lively")
				}
			})
			w.visit("?length=short")
			w.in("prepare")
			w.press("continue")
			w.wait(`n.over === "field"`)
			look("the look at fine lines")
			w.press("continue")
			w.in("intro")
			look("an introduction")
			quick := &viewer{}
			for quick.asked < 3 {
				w.turn(quick)
			}
			w.wait(`n.mark !== ""`)
			look("a question")
			w.key("Escape")
			w.in("paused")
			look("a pause")
			w.do(chromedp.Reload())
			w.in("resume")
			look("an unfinished sitting")
			w.press("continue")
			w.in("intro")
			w.press("stop")
			w.in("report")
			look("a report")
		})
	}
}

// parts are pages as they look later on, from parts of pages of web/pages/testdata: the first is the page of a stage, each of the others goes into the element of its id.
var parts = []struct {
	stage, page string
	into        [][2]string
}{
	{"ask", "ask", nil},
	{"made", "made", nil},
	{"asked", "asked", nil},
	{"asked", "asked-proof", nil},
	{"desk", "desk", [][2]string{{"requests", "requests"}}},
	{"desk", "desk", [][2]string{{"requests", "requests-proof"}}},
	{"report", "report", [][2]string{{"", "sending"}}},
	{"compare", "compare", nil},
	{"record", "records", [][2]string{{"files", "record-files"}, {"signed", "signed"}}},
	{"after", "after", [][2]string{{"papers", "papers"}, {"before", "papers-kept"}, {"heard", "heard"}, {"promise", "promise"}, {"measured", "readings"}}},
	{"journal", "journal-frame", [][2]string{{"journal", "journal"}}},
	{"journal", "journal-frame", [][2]string{{"journal", "journal-chapter"}}},
	{"journal", "journal-frame", [][2]string{{"journal", "journal-brought"}}},
	{"plate", "plates", nil},
	{"proof", "proofing", [][2]string{{"pictures", "picture-rows"}, {"start", "proof-enter"}}},
	{"view", "viewing", [][2]string{{"noting", "noting"}, {"decide", "decide-confirm"}, {"signed", "signed"}}},
	{"view", "viewing", [][2]string{{"tools", "viewing-pinning"}, {"loading", "viewing-loading"}}},
	{"seen", "seen-proof", nil},
	{"trouble", "trouble-paste", nil},
}

// later puts each of parts on the page in turn, on one that has all styles.
func (w *window) later(look func(what string)) {
	w.t.Helper()
	w.load(site + "/after")
	w.in("after")
	for _, p := range parts {
		w.show(p.stage, shown(w.t, p.page))
		what := p.page
		for _, into := range p.into {
			what += ", " + into[1]
			inside := quoted([]byte(shown(w.t, into[1])))
			if into[0] == "" { // what stands below a report
				w.run(`document.getElementById("stage").insertAdjacentHTML("beforeend", '<div id="sending">' + ` + inside + ` + "</div>")`)
				continue
			}
			w.run(`document.getElementById("` + into[0] + `").innerHTML = ` + inside)
		}
		look(what)
	}
}

// everywhere goes to every page of the site.
func (w *window) everywhere(look func(what string)) {
	w.t.Helper()
	for _, p := range []string{"/", "/method", "/example", "/tour", "/nowhere"} {
		w.load(site + p)
		look(p)
	}
	for _, p := range slices.Sorted(maps.Keys(stages)) {
		w.load(site + p)
		w.in(stages[p])
		look(p)
	}
}

// At twice the size, which leaves 640 x 400 CSS pixels of a window of 1280 x 800, nothing is wider than the window or cut off, and the keyboard comes to everything and
// shows where it is: neither a bar that stays in sight nor an edge hides it.
func TestTwiceTheSize(t *testing.T) {
	t.Parallel()
	w := open(t, room{width: 1280, height: 800, ratio: 2})
	a := &album{w: w, name: "twice"}
	look := func(what string) {
		t.Helper()
		if d := eval[float64](w, "document.documentElement.scrollWidth - document.documentElement.clientWidth"); d > 0 {
			t.Errorf("%s is %v CSS pixels wider than the window", what, d)
		}
		for _, c := range eval[[]string](w, cut) {
			t.Errorf("%s: %s", what, c)
		}
		name := strings.NewReplacer("/", "", ", ", "+").Replace(what)
		a.keep(name)
		typist{w}.round(what)
		a.keep(name + "-end")
	}
	w.everywhere(look)
	w.later(look)
}

// moving is a JavaScript expression: what on the page moves or would.
const moving = `(() => {
	const long = text => text.split(",").some(d => parseFloat(d) > 0), list = [];
	for (const a of document.getAnimations()) if (a.effect.getComputedTiming().duration > 0) list.push("an animation of " + a.effect.target.outerHTML.slice(0, 120));
	for (const e of document.querySelectorAll("*")) for (const part of ["", "::before", "::after"]) {
		const s = getComputedStyle(e, part);
		if (long(s.transitionDuration) || s.animationName !== "none" && long(s.animationDuration) || s.scrollBehavior !== "auto") list.push(e.outerHTML.slice(0, 120) + part);
	}
	return list;
})()`

// lively sets everything in motion. The pages allow no style of their own; a sheet that a script makes is none.
const lively = `const sheet = new CSSStyleSheet();
	sheet.replaceSync("@keyframes lively { to { rotate: 9deg } } main *, main *::before { transition: opacity 2s; animation: lively 3s infinite; scroll-behavior: smooth }");
	document.adoptedStyleSheets = [sheet];`

// still checks that nothing on the page moves or would.
func (w *window) still(what string) {
	w.t.Helper()
	for _, m := range eval[[]string](w, moving) {
		w.t.Errorf("%s: %s", what, m)
	}
}
