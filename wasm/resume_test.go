//go:build !js

package main_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/target"
	"github.com/chromedp/chromedp"

	"example.org/plumb/patterns/check"
)

// until lets the viewer go on until the condition holds of a presentation that is up, and leaves that one unanswered.
func (w *window) until(v *viewer, condition func(p presentation) bool) presentation {
	w.t.Helper()
	for {
		s := w.wait(fmt.Sprintf(`n.mark ? JSON.parse(n.mark).seq !== %d : n.stage !== "sitting" && n.stage !== ""`, v.seq))
		if s.Stage == "report" {
			w.t.Fatal("the sitting is over, and what was waited for did not come")
		}
		if s.Mark != "" {
			if p := w.parse(s.Mark); condition(p) {
				return p
			}
		}
		w.turn(v)
	}
}

// rows counts what is in a drawer of the browser's storage.
func (w *window) rows(drawer string) int {
	w.t.Helper()
	return eval[int](w, fmt.Sprintf(`new Promise((done, failed) => {
		const q = indexedDB.open("plumb");
		q.onerror = () => failed(q.error);
		q.onsuccess = () => { const c = q.result.transaction(%q).objectStore(%[1]q).count(); c.onsuccess = () => { q.result.close(); done(c.result) } };
	})`, drawer))
}

// offered checks the question what becomes of an unfinished sitting, with answered judgements, and says to go on.
func (w *window) offered(answered int) {
	w.t.Helper()
	w.in("resume")
	w.eventually("the sitting is offered", func() bool { return strings.Contains(w.text(".found"), "answered") })
	s := w.text(".found")
	for _, want := range []string{fmt.Sprintf("%d of about", answered), "ago", "Continue it", "Start anew"} {
		if !strings.Contains(s, want) {
			w.t.Errorf("the choice does not say %q: %q", want, s)
		}
	}
}

// A sitting that is cut off, at several places and in several ways, goes on where it was: no answer is lost and none is doubled.
func TestResume(t *testing.T) {
	t.Parallel()
	w := open(t, room{seed: 21})
	w.visit("?length=short")
	v := &viewer{}
	answered := 0
	kept := func() {
		t.Helper()
		answered = v.asked
		w.eventually("every answer is in the storage", func() bool { return w.rows("judgements") == answered })
	}
	goOn := func() {
		t.Helper()
		w.offered(answered)
		v.seq = 0
		w.press("continue")
		w.wait(`n.stage === "intro"`)
		if s := w.text(".over"); !strings.Contains(s, "Practise first") {
			t.Errorf("practice is not offered again: %q", s)
		}
	}

	// In the middle of a check: the page is loaded again.
	w.until(v, func(presentation) bool { return v.asked == 5 })
	kept()
	w.do(chromedp.Reload())
	goOn()

	// The renderer dies.
	w.until(v, func(presentation) bool { return v.asked == 9 })
	kept()
	crash(w)
	w.visit("?length=short")
	goOn()

	// In the middle of a setting: the tab is closed, and another one opened. What was set of it is asked again.
	w.until(v, func(p presentation) bool { return p.Task == string(check.Set) && v.moved })
	kept()
	old := w
	w, shut := old.tab()
	defer shut()
	_, err := chromedp.CallBrowser(w.ctx, target.CloseTarget, target.CloseTargetParams{TargetID: chromedp.FromContext(old.ctx).Target.TargetID})
	w.check(err)
	w.visit("?length=short")
	v.moved = false
	goOn()

	r := w.sit(v)
	counted := 0
	for i, j := range r.Judgements {
		if j.N != i {
			t.Errorf("judgement %d has the number %d", i, j.N)
		}
		if j.Status == check.Counted {
			counted++
		}
	}
	if counted != v.asked || counted < 40 {
		t.Errorf("the record has %d judgements that count, the viewer gave %d", counted, v.asked)
	}
	if n := strings.Count(strings.Join(r.Conditions.Disturbances, "\n"), "Continued"); n != 3 {
		t.Errorf("the record mentions %d interruptions of 3: %q", n, r.Conditions.Disturbances)
	}
	if w.rows("records") != 1 || w.rows("sittings") != 1 {
		t.Errorf("%d records and %d sittings are kept, should be one each", w.rows("records"), w.rows("sittings"))
	}
}

// crash kills the renderer of a tab.
func crash(w *window) {
	w.t.Helper()
	gone := make(chan struct{}, 1)
	w.check(chromedp.Listen(w.ctx, func(ev any) {
		if _, ok := ev.(*target.EventTargetCrashed); ok {
			select {
			case gone <- struct{}{}:
			default:
			}
		}
	}))
	go chromedp.Call(w.ctx, page.Crash, cdp.Empty{}) // which never answers
	select {
	case <-gone:
	case <-time.After(5 * time.Second):
		// The event goes to the browser's session; what counts is that the page is gone.
	}
}

// What was begun may be put aside. It stays, and can be gone on with later.
func TestAside(t *testing.T) {
	t.Parallel()
	w := open(t, room{seed: 22})
	w.visit("?length=short&screen=studio+left")
	v := &viewer{}
	w.until(v, func(presentation) bool { return v.asked == 3 })
	w.eventually("three answers are stored", func() bool { return w.rows("judgements") == 3 })
	w.do(chromedp.Reload())
	w.offered(3)
	if s := w.text(".found"); !strings.Contains(s, "Studio left") {
		t.Errorf("the choice does not name the screen: %q", s)
	}
	w.press("aside")
	w.in("prepare")
	w.eventually("the old sitting is listed", func() bool { return strings.Contains(w.text("#keptlist"), "3 of about") })

	// Anew.
	v = &viewer{}
	w.until(v, func(presentation) bool { return v.asked == 1 })
	w.eventually("both sittings are stored", func() bool { return w.rows("sittings") == 2 && w.rows("judgements") == 4 })
	w.key("Escape")
	w.in("paused")
	w.do(chromedp.Reload())
	w.in("resume")
	w.offered(1)

	// The old one goes on.
	w.eventually("the old sitting is listed", func() bool { return strings.Contains(w.text("#keptlist"), "3 of about") })
	w.click("#keptlist [data-action=continue]")
	w.in("intro")
	w.eventually("it goes on where it was", func() bool { return strings.Contains(w.text("#stage"), "3 answered") })
}

// What disturbs a presentation pauses the sitting; the record names it, and the trial is asked again.
func TestDisturbed(t *testing.T) {
	t.Parallel()
	w := open(t, room{width: 1000, height: 700, seed: 23})
	w.visit("?length=short")
	w.in("prepare")
	v := &viewer{}
	bounds, err := chromedp.Call(w.ctx, browser.GetWindowForTarget, browser.GetWindowForTargetParams{})
	w.check(err)
	size := func(b browser.Bounds) {
		_, err := chromedp.Call(w.ctx, browser.SetWindowBounds, browser.SetWindowBoundsParams{WindowID: bounds.WindowID, Bounds: &b})
		w.check(err)
	}
	for i, c := range []struct {
		reason string
		do     func()
	}{
		{"You paused.", func() { w.key("Escape") }},
		{"The window changed its size.", func() { size(browser.Bounds{WindowState: browser.WindowStateNormal}) }},
		{"The page was hidden.", func() {
			_, shut := w.tab()
			w.eventually("the page is hidden", func() bool {
				return eval[string](w, "document.visibilityState") == "hidden" && w.now().Stage == "paused"
			})
			shut()
			w.eventually("the page is back", func() bool { return eval[string](w, "document.visibilityState") == "visible" })
		}},
		{"The window lost the keyboard.", func() { w.run(`window.dispatchEvent(new Event("blur"))`) }},
		// No event tells of a style; it is found at the next key, which then answers nothing.
		{"A filter on the page was changed.", func() { w.run(`document.documentElement.style.filter = "sepia(0.5)"`); w.key("KeyQ") }},
	} {
		w.until(v, func(presentation) bool { return v.asked == 2*i+1 })
		c.do()
		s := w.in("paused")
		if s.Mark != "" {
			t.Errorf("%s: a presentation is still marked", c.reason)
		}
		w.eventually("the pause says why", func() bool { return strings.Contains(w.text(".over"), "asked again") })
		says := w.text(".over")
		// A window that is hidden loses the keyboard first.
		if !strings.Contains(says, c.reason) && !(strings.Contains(c.reason, "hidden") && strings.Contains(says, "lost the keyboard")) {
			t.Errorf("%s: the pause does not say so: %q", c.reason, says)
		}
		if !strings.Contains(says, fmt.Sprintf("%d answered", 2*i+1)) {
			t.Errorf("%s: the pause does not say what becomes of the answers: %q", c.reason, says)
		}
		w.press("continue")
		w.wait(`n.mark !== ""`)
	}
	w.until(v, func(presentation) bool { return v.asked == 11 })
	w.key("Escape")
	w.in("paused")
	w.press("stop")
	w.in("report")
	r, _ := w.record()
	var reasons []string
	counted := 0
	for i, j := range r.Judgements {
		switch j.Status {
		case check.Counted:
			counted++
		case check.Disturbed:
			reasons = append(reasons, j.Reason)
			if i+1 < len(r.Judgements) && (r.Judgements[i+1].Check != j.Check || r.Judgements[i+1].Kind != j.Kind) {
				t.Errorf("what was disturbed (%s, %s) was not asked again but %s, %s", j.Check, j.Kind, r.Judgements[i+1].Check, r.Judgements[i+1].Kind)
			}
		}
	}
	want := "You paused.|The window changed its size.|The window lost the keyboard.|The window lost the keyboard.|A filter on the page was changed.|You paused."
	if got := strings.Replace(strings.Join(reasons, "|"), "The page was hidden.", "The window lost the keyboard.", 1); got != want {
		t.Errorf("the record names these disturbances: %q", got)
	}
	if counted != 11 || v.asked != 11 {
		t.Errorf("%d judgements count and %d were given, should be 11", counted, v.asked)
	}
}
