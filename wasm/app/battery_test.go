package app

import (
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/web/words"
)

// sitThrough sits to the report, noting every introduction by its title and every task that was asked, and whether its frame was wide.
func (h *host) sitThrough() (intros []string, tasks map[check.Task]bool) {
	h.t.Helper()
	tasks = map[check.Task]bool{}
	last := ""
	for h.app.Stage() != Report {
		switch {
		case h.app.Stage() == Intro:
			if title, _, _ := strings.Cut(h.page["stage"], "</h1>"); title != last {
				last = title
				intros = append(intros, title[strings.LastIndexByte(title, '>')+1:])
			}
			h.advance(animation)
			if h.app.Stage() == Intro && !h.app.sitting.met() {
				h.click("continue", "")
			}
		case h.mark != "":
			last = ""
			tasks[h.presentation().Task] = h.wide
			h.advance(720 * time.Millisecond)
			if !h.app.Key(h.look(), h.now) {
				h.t.Fatal("a key that is a choice was not taken")
			}
			h.settle()
		default:
			h.advance(animation)
		}
	}
	return intros, tasks
}

// Every aspect is introduced once at length. A check that comes again is announced in a word, waits for the eyes and goes on by itself.
func TestBattery(t *testing.T) {
	h := newHost(t, nil)
	h.app.Begin(surface(), map[string]string{"length": "long", "aim": "wide"})
	h.settle()
	h.app.Input("reference", check.Paper)
	h.toIntro()
	intros, tasks := h.sitThrough()
	first := map[string]int{}
	for i, title := range intros {
		name, again := strings.CutSuffix(title, " again")
		at, met := first[name]
		switch {
		case !met && again:
			t.Errorf("%q comes before it was introduced", title)
		case met && !again:
			t.Errorf("%q is introduced at length at %d and at %d", name, at, i)
		case !met:
			first[name] = i
		}
	}
	for _, a := range append(slices.Clone(check.Aspects[1:]), check.Channels, check.Angle, check.White) {
		if _, ok := first[check.Introduce(a).Title]; !ok {
			t.Errorf("%s was not introduced: %q", a, intros)
		}
	}
	for _, task := range []check.Task{check.OddCell, check.Lighter, check.Set, check.Pinker, check.Yellower, check.OddQuadrant, check.PlaceLighter, check.Mark, check.RefPinker, check.RefYellower} {
		wide, ok := tasks[task]
		if !ok {
			t.Errorf("the task %s was not asked", task)
		}
		if wide != (task == check.Mark) {
			t.Errorf("frames of the task %s: wide is %v", task, wide)
		}
	}
	r := h.app.shown.record
	for _, f := range r.Findings[1:] {
		if f.Judgements == 0 {
			t.Errorf("nothing was asked about %s", f.Aspect)
		}
	}
	if len(r.Extras) != 3 {
		t.Errorf("%d extras", len(r.Extras))
	}
	for _, want := range []string{"Channels", "Viewing angle", "White was held against", "Colour vision", "tint"} {
		if !strings.Contains(h.page["stage"], want) {
			t.Errorf("the report does not say %q", want)
		}
	}
}

// Time left is told in minutes and never more than there is; the line at the foot never goes back.
func TestProgress(t *testing.T) {
	h := begin(t, nil)
	h.toIntro()
	far := 0
	for h.app.sitting.closing == 0 {
		h.answer(1)
		if h.app.sitting.closing == 0 {
			b := h.app.bar()
			if b.Done < far || b.Total != 100 || b.Left < 1 || b.Left > 5 {
				t.Fatalf("bar %+v after %d", b, far)
			}
			far = b.Done
		}
	}
	if far < 60 {
		t.Errorf("the line ends at %d of 100", far)
	}
}

func TestNoWideCanvas(t *testing.T) {
	h := newHost(t, nil)
	h.app.browser.Wide = false
	h.app.Begin(surface(), map[string]string{"length": "standard"})
	h.settle()
	if !strings.Contains(h.page["start"], "Colour range is left out") {
		t.Error("the page does not say that the colour range is left out")
	}
	h.toIntro()
	if h.app.sitting.Plan.Skip[check.ColourRange] == "" || h.app.sitting.Conditions.WideCanvas {
		t.Error("colours are asked about that no canvas shows")
	}
}

// leftUnsure returns a host whose short sitting has ended with something unsure; not every seed's has.
func leftUnsure(t *testing.T) *host {
	t.Helper()
	var h *host
	for seed := range uint64(8) {
		h = newHost(t, nil)
		h.app.seed = seed
		h.app.Begin(surface(), map[string]string{"length": "short"})
		h.settle()
		h.toIntro()
		h.finish()
		if h.offers("more") {
			return h
		}
	}
	t.Fatalf("no short sitting leaves anything unsure: %+v", h.app.shown.record.Purposes)
	return nil
}

// A sitting that ended unsure goes on in the same log and the same record.
func TestFurther(t *testing.T) {
	h := leftUnsure(t)
	first := h.app.shown.record
	id := h.app.shown.of.ID
	// After a visit anew, too.
	again := begin(t, copied(h.rows))
	again.click("open", id)
	for name, x := range map[string]*host{"at once": h, "after a visit anew": again} {
		if !x.offers("more") {
			t.Fatalf("%s: not offered", name)
		}
		x.click("more", "")
		x.stage(Intro)
		if !x.app.held[id] {
			t.Errorf("%s: another tab may take it further as well", name)
		}
		x.finish()
		r := x.app.shown.record
		if len(r.Judgements) <= len(first.Judgements) || r.Plan.More != 1 || len(x.rows[Records]) != 1 || len(x.rows[Sittings]) != 1 {
			t.Errorf("%s: %d judgements after %d, taken further %d times, %d records", name, len(r.Judgements), len(first.Judgements), r.Plan.More, len(x.rows[Records]))
		}
		for i, j := range first.Judgements {
			if r.Judgements[i] != j {
				t.Fatalf("%s: judgement %d is another", name, i)
			}
		}
		if got := kept(t, x.rows); len(got) != len(r.Judgements) {
			t.Errorf("%s: %d judgements are kept of %d", name, len(got), len(r.Judgements))
		}
		if string(x.rows[Records][id]) != string(x.app.shown.bytes) {
			t.Errorf("%s: the record kept is not the one shown", name)
		}
		if r.Conditions.Screen != first.Conditions.Screen || !strings.Contains(strings.Join(r.Conditions.Disturbances, " "), "further") {
			t.Errorf("%s: %q", name, r.Conditions.Disturbances)
		}
	}
	// The next day it is over.
	late := newHost(t, copied(h.rows))
	late.now = 30 * time.Hour
	late.app.Begin(surface(), nil)
	late.settle()
	late.click("open", id)
	late.stage(Report)
	if late.offers("more") {
		t.Error("a sitting of yesterday is taken further")
	}
	// A page that is loaded again while it goes on asks what becomes of it.
	h = begin(t, copied(again.rows))
	h.click("open", id)
	if h.offers("more") {
		h.click("more", "")
		h.answer(3)
		n := begin(t, copied(h.rows))
		n.stage(Resume)
		n.click("open", id) // the report it had before
		n.stage(Report)
		if n.offers("more") {
			t.Error("what is going on is taken further")
		}
		n = begin(t, copied(h.rows))
		n.click("continue", id)
		n.stage(Intro)
		n.answer(2)
	}
	// While another tab takes it further, this one does not.
	busy := begin(t, copied(again.rows))
	busy.others = map[string]bool{id: true}
	busy.click("open", id)
	if busy.offers("more") {
		busy.click("more", "")
		busy.stage(Report)
		if !strings.Contains(busy.page["message"], "another tab") {
			t.Errorf("message %q", busy.page["message"])
		}
	}
}

func TestCompare(t *testing.T) {
	h := begin(t, nil)
	h.app.Input("screen", "studio left")
	h.toIntro()
	h.finish()
	one := h.app.shown.bytes
	h.click("again", "")
	h.app.Input("room", "dark")
	h.toIntro()
	h.finish()
	two := h.app.shown.of.ID
	if !h.offers("compare") {
		t.Fatal("the earlier sitting is not offered")
	}
	for _, x := range h.app.shelf.sittings {
		if x.ID != two {
			h.click("compare", x.ID)
		}
	}
	h.stage(Compare)
	for _, want := range []string{"Studio left", "Shadows", "Neutrals", "Room", "dark", "No change"} {
		if !strings.Contains(h.page["stage"], want) {
			t.Errorf("the comparison does not say %q", want)
		}
	}
	if strings.Contains(h.page["stage"], ">Moved") {
		t.Log("two sittings of one eye at one screen differ in something")
	}
	h.click("back", "")
	h.stage(Report)
	h.app.Opened("compare", "one.json", one, nil)
	h.stage(Compare)
	h.click("back", "")
	h.app.Opened("compare", "one.json", one[:100], nil)
	h.stage(Report)
	if !strings.Contains(h.page["message"], "breaks off") {
		t.Errorf("message %q", h.page["message"])
	}
	// Another aim answers another question.
	r, err := report.Read(one)
	if err != nil {
		t.Fatal(err)
	}
	r.Plan.Aim = "L*"
	h.app.Opened("compare", "other.json", r.Marshal(), nil)
	h.stage(Compare)
	if !strings.Contains(h.page["stage"], "The aims differ") || strings.Contains(h.page["stage"], "No change beyond") {
		t.Error("sittings with other aims are compared")
	}
}

// An unfinished sitting that another tab has can be continued only there; when that one is closed, here, with what was answered meanwhile.
func TestTwoTabs(t *testing.T) {
	h := begin(t, nil)
	h.toIntro()
	h.answer(4)
	id := h.app.sitting.ID
	n := newHost(t, copied(h.rows))
	n.others = map[string]bool{id: true}
	n.app.Begin(surface(), nil)
	n.settle()
	n.stage(Resume)
	if n.offers("continue") || n.offers("delete") || n.offers("aside") || !strings.Contains(n.page["stage"], "another tab") {
		t.Fatalf("the second tab may touch what the first works at: %s", n.page["stage"])
	}
	n.click("continue", id)
	n.stage(Resume)
	h.answer(3)
	n.rows = copied(h.rows)
	n.others = nil
	n.app.Locked(id, true)
	n.settle()
	n.stage(Resume)
	if !n.offers("continue") {
		t.Fatal("it is not offered once the first tab is closed")
	}
	n.click("continue", id)
	n.stage(Intro)
	if got := len(n.app.sitting.run.Log()); got != 7 {
		t.Errorf("it goes on after %d answers of 7", got)
	}
	// One that was put aside is asked for when it is wanted.
	h.toTrial()
	h.app.Key("Escape", h.now)
	h.settle()
	rows := copied(h.rows)
	a := begin(t, rows)
	a.click("aside", id)
	a.stage(Prepare)
	b := newHost(t, copied(a.rows))
	b.others = map[string]bool{id: true}
	b.app.Begin(surface(), nil)
	b.settle()
	b.stage(Prepare)
	b.click("continue", id)
	b.stage(Prepare)
	if !strings.Contains(b.page["message"], "another tab") {
		t.Errorf("message %q", b.page["message"])
	}
	b.others = nil
	b.app.Locked(id, true)
	b.settle()
	b.click("continue", id)
	b.stage(Intro)
}

// The white field for another screen comes in steps and asks for nothing.
func TestWhite(t *testing.T) {
	h := newHost(t, nil)
	h.app.Begin(surface(), map[string]string{"#white": ""})
	h.settle()
	h.stage(White)
	h.advance(20 * time.Second)
	if f := h.frames[len(h.frames)-1]; !f.plain || f.grey != 255 {
		t.Errorf("the field is %+v", f)
	}
	for i := 1; i < len(h.frames); i++ {
		if !near(h.frames[i-1].grey, h.frames[i].grey) {
			t.Errorf("from %d to %d at once", h.frames[i-1].grey, h.frames[i].grey)
		}
	}
	if !h.app.Key("Escape", h.now) {
		t.Error("Escape does not leave it")
	}
	h.settle()
	h.stage(Prepare)
	// The way there stands where the reference is needed.
	h.app.Input("reference", check.OtherScreen)
	if !strings.Contains(h.page["keptlist"], "http://127.0.0.1/check#white") || !strings.Contains(h.page["keptlist"], "<svg") {
		t.Error("the preparation page does not say where the white field is")
	}
}

// A difference that rounds to nothing has no sign; every other one has, whichever way it goes.
func TestChangeHasItsSign(t *testing.T) {
	two := func(x float64) string { return words.Number(x, 2) }
	got := change(report.Difference{Known: true, By: 0.001, Lo: -0.004, Hi: 0.25}, two)
	if want := "By 0.00 (0.00 to +0.25)."; got.Why != want {
		t.Errorf("%q, want %q", got.Why, want)
	}
	got = change(report.Difference{Known: true, By: -0.3, Lo: -0.36, Hi: -0.005001}, two)
	if want := "By −0.30 (−0.36 to −0.01)."; got.Why != want {
		t.Errorf("%q, want %q", got.Why, want)
	}
}
