//go:build !js

package main_test

import (
	"io/fs"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/target"
	"github.com/chromedp/chromedp"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/testdata"
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

// Pictures belong to one tab. A second one shows them, and as soon as the first is closed it may decide: the picture, how much of it is in sight and the keyboard stay.
func TestPicturesInTabs(t *testing.T) {
	t.Parallel()
	w := open(t, room{width: 1280, height: 800})
	dusk, err := fs.ReadFile(testdata.Photos, "photos/dusk.jpg")
	if err != nil {
		t.Fatal(err)
	}
	link := w.proves(site, written(t, []string{"dusk.jpg"}, [][]byte{dusk}), &album{w: w, name: "tabs"})
	looks := func(w *window) {
		t.Helper()
		w.load(link)
		w.in("asked")
		w.press("unchecked")
		w.in("view")
		w.hangs("dusk.jpg")
	}
	looks(w)
	other, shut := w.tab()
	defer shut()
	o := typist{other}
	looks(other)
	o.saying("#message", "another tab")
	o.to("#easel")
	o.chars("+")
	o.chars("+")
	scale := func() string { return o.text("#tools .scalenow") }
	o.eventually("twice the size", func() bool { return scale() == "200 %" })
	o.run(`globalThis.parcels = () => performance.getEntriesByType("resource").filter(e => e.name.includes("/parcels/")).length; globalThis.had = parcels()`)
	if eval[int](other, "had") == 0 {
		t.Error("no parcel is seen to come")
	}
	_, err = chromedp.CallBrowser(o.ctx, target.CloseTarget, target.CloseTargetParams{TargetID: chromedp.FromContext(w.ctx).Target.TargetID})
	o.check(err)
	o.eventually("the only tab may decide", func() bool { return !strings.Contains(o.words(), "another tab") })
	o.hangs("dusk.jpg")
	if id, s := eval[string](other, "document.activeElement.id"), scale(); id != "easel" || s != "200 %" {
		t.Errorf("once the first is closed the keyboard is on %q, and the size is %s", id, s)
	}
	o.held("the first tab is closed")
	if n := eval[int](other, "parcels() - had"); n != 0 {
		t.Errorf("%d parcels are fetched again", n)
	}
	o.approves()
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
