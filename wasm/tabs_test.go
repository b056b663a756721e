//go:build !js

package main_test

import (
	"strings"
	"testing"

	"github.com/chromedp/cdproto/target"
	"github.com/chromedp/chromedp"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
)

// A sitting belongs to one tab. A second one says so, and has it as soon as the first is closed.
func TestTabs(t *testing.T) {
	t.Parallel()
	w := open(t, room{seed: 51})
	w.visit("?length=short")
	v := &viewer{}
	w.until(v, func(presentation) bool { return v.asked == 3 })
	o, shut := w.tab() // the first is hidden now, and has paused
	defer shut()
	o.visit("?length=short")
	o.in("resume")
	o.eventually("the second tab says that it is open in another", func() bool { return strings.Contains(o.text(".found"), "another tab") })
	if n := eval[int](o, `document.querySelectorAll(".found [data-action=continue], .found [data-action=delete], .found [data-action=aside]").length`); n != 0 {
		t.Errorf("the second tab offers %d things to do with it", n)
	}
	_, err := chromedp.CallBrowser(o.ctx, target.CloseTarget, target.CloseTargetParams{TargetID: chromedp.FromContext(w.ctx).Target.TargetID})
	o.check(err)
	o.eventually("it is offered once the first tab is closed", func() bool {
		return eval[bool](o, `!!document.querySelector(".found [data-action=continue]")`)
	})
	o.press("continue")
	o.in("intro")
	o.until(&viewer{seq: -1}, func(p presentation) bool { return true })
	if n := o.rows("judgements"); n != 4 { // three answers, and what the first tab had up when it was hidden
		t.Errorf("%d judgements are kept, should be 4", n)
	}
}

// White for another screen is the whole window but the bar, and comes in steps.
func TestWhite(t *testing.T) {
	t.Parallel()
	w := open(t, room{seed: 52})
	w.visit("#white")
	s := w.in("white")
	w.eventually("the field is white", func() bool {
		f := w.canvas(s)
		for i := range f.Pix {
			if f.Pix[i] != 255 {
				return false
			}
		}
		return true
	})
	w.key("Escape")
	w.in("prepare")
	w.click("input[name=reference][value=screen]")
	w.eventually("the way to the white field", func() bool { return strings.Contains(w.text("#keptlist"), "/check#white") })
	if n := eval[int](w, `document.querySelectorAll("#keptlist svg.code path").length`); n != 2 {
		t.Errorf("the code is drawn by %d paths, should be 2", n)
	}
	w.fits("the preparation page")
}

// After a report: the sitting is taken further in the same record, and compared with an earlier one.
func TestFurther(t *testing.T) {
	t.Parallel()
	w := open(t, room{seed: 53})
	w.visit("?length=short&screen=studio+left")
	v := seat(t, "typical", display.Default(), 53)
	stop := func(n int) {
		t.Helper()
		w.until(v, func(presentation) bool { return v.asked == n })
		w.key("Escape")
		w.in("paused")
		w.press("stop")
		w.in("report")
	}
	stop(24) // in the middle of tone, which is unsure
	one, _ := w.record()
	w.press("more")
	w.in("intro")
	stop(28)
	two, _ := w.record()
	// One that was stopped goes on where it was.
	if len(two.Judgements) <= len(one.Judgements) || w.rows("records") != 1 {
		t.Fatalf("%d judgements after %d, %d records", len(two.Judgements), len(one.Judgements), w.rows("records"))
	}
	for i, j := range one.Judgements {
		if two.Judgements[i].Stimulus != j.Stimulus || two.Judgements[i].Response != j.Response {
			t.Fatalf("judgement %d is another", i)
		}
	}
	w.press("again")
	w.in("prepare")
	v.seq = 0
	stop(44)
	w.press("compare")
	w.in("compare")
	if text := w.text(".compare"); !strings.Contains(text, "Studio left") || !strings.Contains(text, capital(string(check.Shadows))) {
		t.Errorf("the comparison says %q", text)
	}
	w.fits("the comparison")
	w.press("back")
	w.in("report")
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
