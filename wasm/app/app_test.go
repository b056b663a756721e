package app

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
)

// A whole sitting, through every stage there is without trouble.
func TestFromPreparationToReport(t *testing.T) {
	h := begin(t, nil)
	h.stage(Prepare)
	h.app.Input("screen", " kitchen\n laptop ")
	h.app.Input("night", "no")
	h.app.Input("room", "dim")
	h.app.Input("distance", "62,5")
	h.toIntro()
	h.toTrial()
	h.stage(Sitting)
	h.finish()
	h.stage(Report)
	if h.mark != "" {
		t.Error("data-presentation is still there on the report")
	}
	page := h.page["stage"]
	_, after, ok := strings.Cut(page, `<script type="application/json" id="record">`)
	block, _, closed := strings.Cut(after, "</script>")
	if !ok || !closed {
		t.Fatal("the report carries no record")
	}
	r, err := report.Read([]byte(block))
	if err != nil {
		t.Fatal(err)
	}
	if r.Conditions.Screen != "kitchen laptop" || r.Conditions.Settings["night"] != "no" || r.Conditions.Room != "dim" || r.Conditions.Distance != 62.5 || r.Program != "test" {
		t.Errorf("conditions: %+v", r.Conditions)
	}
	if len(r.Void) > 0 {
		t.Errorf("void: %v", r.Void)
	}
	for _, f := range r.Findings {
		if f.Aspect == check.Tone && (f.Lo > 2.2 || f.Hi < 2.2) {
			t.Errorf("gamma %g to %g, seen at 2.2", f.Lo, f.Hi)
		}
	}
	if got := kept(t, h.rows); len(got) != len(r.Judgements) || len(got) == 0 {
		t.Errorf("%d judgements kept, %d in the record", len(got), len(r.Judgements))
	}
	h.click("save-json", "")
	h.click("save-csv", "")
	h.click("print", "")
	if h.printed != 1 || len(h.files) != 2 {
		t.Errorf("printed %d, files %d", h.printed, len(h.files))
	}
	for name, b := range h.files {
		if !strings.HasPrefix(name, "plumb-kitchen-laptop-2026-11-24") {
			t.Errorf("file %q", name)
		}
		if strings.HasSuffix(name, ".json") && string(b) != string(h.rows[Records][h.app.shelf.sittings[0].ID]) {
			t.Error("the saved record is not the bytes that are kept")
		}
	}
	h.click("again", "")
	h.stage(Prepare)
	if !strings.Contains(h.page["keptlist"], "Kitchen laptop") {
		t.Error("the finished sitting is not listed")
	}
	// At the next visit it is listed, opens, and nothing is asked about it.
	again := begin(t, copied(h.rows))
	again.stage(Prepare)
	id := again.app.shelf.sittings[0].ID
	again.click("open", id)
	again.stage(Report)
	if !strings.Contains(again.page["stage"], block[:200]) {
		t.Error("the record opened is another")
	}
}

func TestPresentationsKeepTheirDistance(t *testing.T) {
	h := begin(t, nil)
	h.toIntro()
	h.toTrial()
	var up []time.Duration
	for i := range 6 { // as many as there are before the next check, which has an introduction
		h.toTrial()
		shown := h.now
		up = append(up, shown)
		// An answer at once, faster than anyone, so that the time between presentations is what sets the pace; and one after a
		// look, so that the rest is.
		h.advance(animation)
		if i%2 == 1 {
			h.advance(800 * time.Millisecond)
		}
		answered := h.now
		if !h.app.Key(h.look(), h.now) {
			t.Fatal("not taken")
		}
		h.settle()
		if h.mark != "" {
			t.Fatal("data-presentation stays through the rest")
		}
		last := h.frames[len(h.frames)-1]
		if !last.plain {
			t.Fatal("the pattern stays up through the rest")
		}
		// Keys during the rest mean nothing.
		n := len(h.app.sitting.run.Log())
		h.advance(100 * time.Millisecond)
		for _, k := range []string{"KeyQ", "Space", "ArrowLeft", "Enter"} {
			h.app.Key(k, h.now)
		}
		if len(h.app.sitting.run.Log()) != n {
			t.Fatal("a key during the rest was taken for an answer")
		}
		h.toTrial()
		rest, apart := h.now-answered, h.now-shown
		if rest < 400*time.Millisecond || apart < 500*time.Millisecond {
			t.Errorf("rest %v, apart %v", rest, apart)
		}
		if due := max(answered+restTime, shown+trialTime); h.now > due+2*animation {
			t.Errorf("came %v after it was due", h.now-due)
		}
	}
	if len(up) != 6 {
		t.Fatal("nothing was seen")
	}
	// A key that went down before the frame came up was meant for the one before.
	if n := len(h.app.sitting.run.Log()); h.app.press("KeyQ", h.app.sitting.shown-time.Millisecond) || len(h.app.sitting.run.Log()) != n {
		t.Error("a key from before the frame was taken")
	}
}

// Over a whole sitting: no plain field jumps by more than a tenth, and none changes twice within half a second.
func TestTheFieldNeverJumps(t *testing.T) {
	h := begin(t, nil)
	h.toIntro()
	h.finish()
	fields, steps := 0, 0
	var last *shot
	for i := range h.frames {
		f := &h.frames[i]
		// Nine cells and line matches leave the corner at the ground.
		if last != nil && f.grey != last.grey {
			steps++
			if !near(last.grey, f.grey) {
				t.Errorf("from %d to %d at once", last.grey, f.grey)
			}
			if d := f.at - last.at; d < 500*time.Millisecond {
				t.Errorf("from %d to %d after %v", last.grey, f.grey, d)
			}
		}
		if last == nil || f.grey != last.grey {
			last = f
		}
		fields++
	}
	if steps < 20 || fields < 100 {
		t.Fatalf("%d steps in %d frames: the sitting has two fades", steps, fields)
	}
	if first, end := h.frames[0].grey, h.frames[len(h.frames)-1].grey; !near(43, first) || !near(43, end) {
		t.Errorf("the page's ground is 43; the field came with %d and went with %d", first, end)
	}
}

func TestSteps(t *testing.T) {
	for from := range 256 {
		for to := range 256 {
			at := uint8(from)
			for _, s := range steps(uint8(from), uint8(to)) {
				lo, hi := min(at, s), max(at, s)
				if d := light[hi] - light[lo]; hi-lo > 1 && d > 0.1 || hi-lo > 25 || s == at {
					t.Fatalf("%d to %d: step from %d to %d, light %.3f", from, to, at, s, d)
				}
				at = s
			}
			if at != uint8(to) {
				t.Fatalf("%d to %d ends at %d", from, to, at)
			}
		}
	}
	if n := len(steps(0, 255)); n < 10 || n > 20 {
		t.Errorf("black to white in %d steps", n)
	}
}

// What an outside viewer is told is enough to answer by, and gives nothing away.
func TestPresentationGivesNothingAway(t *testing.T) {
	h := begin(t, nil)
	h.toIntro()
	h.finish()
	if len(h.marks) < 40 {
		t.Fatalf("%d presentations", len(h.marks))
	}
	seq := 0
	rects := map[string]map[string]bool{}
	for _, m := range h.marks {
		var v map[string]any
		if err := json.Unmarshal([]byte(m), &v); err != nil {
			t.Fatal(err)
		}
		if len(v) != 5 || v["seq"] == nil || v["check"] == nil || v["task"] == nil || v["question"] == nil {
			t.Fatalf("fields of %s", m)
		}
		if s := int(v["seq"].(float64)); s <= seq {
			t.Errorf("seq %d after %d", s, seq)
		} else {
			seq = s
		}
		// What is said may depend on the check and on the kind of question, and on nothing else.
		kind := v["check"].(string) + "/" + v["question"].(string)
		v["seq"] = 0
		b, _ := json.Marshal(v)
		if rects[kind] == nil {
			rects[kind] = map[string]bool{}
		}
		rects[kind][string(b)] = true
		for _, c := range v["choices"].([]any) {
			if c := c.(map[string]any); len(c) != 3 || c["key"] == nil || c["label"] == nil || len(c["rect"].(map[string]any)) != 4 {
				t.Fatalf("choice %v", c)
			}
		}
	}
	questions := map[string]int{}
	for kind := range rects {
		aspect, _, _ := strings.Cut(kind, "/")
		questions[aspect]++
	}
	// A catch trial asks what a trial asks.
	if questions["shadows"] != 1 || questions["highlights"] != 1 || questions["tone"] != 2 || questions["neutrals"] != 2 || questions["smoothness"] > 2 || questions["evenness"] != 1 {
		t.Errorf("questions: %v", questions)
	}
	for kind, seen := range rects {
		most := 1
		switch {
		case strings.Contains(kind, "match"):
			most = 2 // which side is plain is what a setting is about
		case strings.HasPrefix(kind, "evenness"):
			most = 8 // which place is asked about
		}
		if len(seen) > most {
			t.Errorf("%s is told in %d ways: what is told must not depend on the stimulus", kind, len(seen))
		}
	}
}

func TestTakeBack(t *testing.T) {
	h := begin(t, nil)
	h.toIntro()
	h.answer(4)
	h.toTrial()
	if !h.app.Key("Backspace", h.now) {
		t.Fatal("Backspace was not taken")
	}
	h.settle()
	log := kept(t, h.rows)
	if len(log) != 4 || log[3].Status != check.TakenBack {
		t.Fatalf("kept %+v", log[len(log)-1])
	}
	h.toTrial()
	h.answer(1)
	h.click("takeback", "")
	if log = kept(t, h.rows); len(log) != 5 || log[4].Status != check.TakenBack {
		t.Fatal("the button takes nothing back")
	}
	h.toTrial()
	h.app.Key("Escape", h.now)
	h.settle()
	h.stage(Paused)
	h.click("takeback", "")
	h.stage(Paused)
	taken := 0
	for _, j := range kept(t, h.rows) {
		if j.Status == check.TakenBack {
			taken++
		}
	}
	if taken != 3 {
		t.Errorf("%d taken back", taken)
	}
	h.click("continue", "")
	h.finish()
	h.stage(Report)
}

func TestDisturbances(t *testing.T) {
	for name, c := range map[string]struct {
		disturb func(h *host)
		why     string
	}{
		"hidden": {func(h *host) { h.app.Visible(false) }, "The page was hidden."},
		"focus":  {func(h *host) { h.app.Focus(false) }, "The window lost the keyboard."},
		"escape": {func(h *host) { h.app.Key("Escape", h.now) }, "You paused."},
		"left":   {func(h *host) { h.app.Leaving() }, "The page was left."},
		"size": {func(h *host) {
			s := surface()
			s.Width, s.BoxWidth, s.SheetWidth = 700, 700, 700
			h.app.Surface(s)
		}, "The window changed its size."},
		"ratio": {func(h *host) {
			s := surface()
			s.Ratio, s.SheetWidth, s.SheetHeight = 2, 320, 240
			h.app.Surface(s)
		}, "The screen or its scale changed."},
		"screen": {func(h *host) {
			s := surface()
			s.Gamut = "p3"
			h.app.Surface(s)
		}, "The window moved to a screen of another kind."},
	} {
		t.Run(name, func(t *testing.T) {
			h := begin(t, nil)
			h.toIntro()
			h.answer(3)
			h.toTrial()
			c.disturb(h)
			h.settle()
			h.stage(Paused)
			if h.mark != "" {
				t.Error("data-presentation stays through the pause")
			}
			log := kept(t, h.rows)
			if j := log[len(log)-1]; len(log) != 4 || j.Status != check.Disturbed || j.Reason != c.why {
				t.Fatalf("kept %d, the last %+v", len(log), j)
			}
			if !strings.Contains(h.page["stage"], c.why) {
				t.Error("the page does not say why it paused")
			}
			h.advance(5 * time.Second)
			h.stage(Paused)
			if h.app.Key("KeyQ", h.now) {
				t.Error("a key is taken during the pause")
			}
			h.click("continue", "")
			h.stage(Sitting)
			h.toTrial()
			h.answer(1)
			if log = kept(t, h.rows); len(log) != 5 || log[4].Status != check.Counted {
				t.Error("it was not asked again")
			}
		})
	}
	// During a rest nothing is up that could be asked again.
	h := begin(t, nil)
	h.toIntro()
	h.answer(3)
	h.app.Visible(false)
	h.settle()
	h.stage(Paused)
	if log := kept(t, h.rows); len(log) != 3 {
		t.Errorf("a pause in a rest wrote judgement %+v", log[len(log)-1])
	}
}

// A page that is loaded again after any judgement goes on to the log that an undisturbed sitting has.
func TestResumeAnywhere(t *testing.T) {
	whole := begin(t, nil)
	whole.toIntro()
	var saves []map[string]map[string][]byte
	for whole.app.sitting.closing == 0 {
		whole.answer(1)
		if whole.app.sitting.closing == 0 {
			saves = append(saves, copied(whole.rows))
		}
	}
	want := whole.app.sitting.run.Log()
	if len(saves) < 30 {
		t.Fatalf("%d places to go on from", len(saves))
	}
	strip := func(log []check.Judgement) string {
		c := append([]check.Judgement(nil), log...)
		for i := range c {
			c[i].At, c[i].Latency = 0, 0
		}
		b, _ := json.Marshal(c)
		return string(b)
	}
	for i, rows := range saves {
		if i%5 != 0 && i != len(saves)-1 {
			// Every place gives the log up to there; every fifth is played to its end.
			h := begin(t, rows)
			h.stage(Resume)
			h.click("continue", h.app.shelf.sittings[0].ID)
			if strip(h.app.sitting.run.Log()) != strip(want[:i+1]) {
				t.Fatalf("resumed after %d: another log", i+1)
			}
			continue
		}
		h := begin(t, rows)
		h.stage(Resume)
		h.click("continue", h.app.shelf.sittings[0].ID)
		h.stage(Intro)
		for h.app.sitting.closing == 0 {
			h.answer(1)
		}
		if strip(h.app.sitting.run.Log()) != strip(want) {
			t.Fatalf("resumed after %d: another log at the end", i+1)
		}
	}
}

func TestResumeIsAChoice(t *testing.T) {
	h := begin(t, nil)
	h.app.Input("screen", "studio left")
	h.toIntro()
	h.answer(5)
	rows := h.rows
	next := func(after time.Duration) *host {
		n := newHost(t, copied(rows))
		n.now = h.now + after
		n.app.Begin(surface(), nil)
		n.settle()
		n.stage(Resume)
		return n
	}
	n := next(40 * time.Minute)
	for _, want := range []string{"Studio left", "40 minutes ago", "5 of about", "forgotten"} {
		if !strings.Contains(n.page["stage"], want) {
			t.Errorf("the choice does not say %q", want)
		}
	}
	id := n.app.shelf.sittings[0].ID
	n.click("continue", id)
	n.stage(Intro)
	if !n.offers("practise") {
		t.Fatal("practice is not offered again")
	}
	before := len(n.app.sitting.run.Log())
	n.click("practise", "")
	n.toTrial()
	if n.app.sitting.now.Kind != check.Practice {
		t.Errorf("after choosing practice comes %q", n.app.sitting.now.Kind)
	}
	n.answer(3)
	if len(n.app.sitting.run.Log()) != before+3 {
		t.Error("practice and what follows is not in the log")
	}
	// And such a log resumes, too.
	again := begin(t, copied(n.rows))
	again.stage(Resume)
	again.click("continue", id)
	again.stage(Intro)
	again.finish()

	n = next(3 * time.Minute)
	if strings.Contains(n.page["stage"], "forgotten") {
		t.Error("three minutes are not long")
	}

	// Aside: kept, not asked about again, and still there to go on with.
	n.click("aside", id)
	n.stage(Prepare)
	m := begin(t, copied(n.rows))
	m.stage(Prepare)
	if !strings.Contains(m.page["keptlist"], "unfinished") {
		t.Error("what was set aside is not listed")
	}
	m.click("continue", id)
	m.stage(Intro)

	// Deleting takes two presses, and leaves nothing.
	n = next(time.Minute)
	n.click("delete", id)
	n.stage(Resume)
	if len(n.rows[Sittings]) != 1 || !n.offers("spare") {
		t.Fatal("deleted at the first press")
	}
	n.click("spare", id)
	n.click("delete", id)
	if len(n.rows[Sittings]) != 1 {
		t.Fatal("sparing did not take the first press back")
	}
	n.click("delete", id)
	n.stage(Prepare)
	for drawer, left := range n.rows {
		if len(left) > 0 {
			t.Errorf("%d rows are left in %s", len(left), drawer)
		}
	}
}

func TestAnotherBatteryIsNotResumed(t *testing.T) {
	h := begin(t, nil)
	h.toIntro()
	h.answer(6)
	for k, v := range h.rows[Sittings] {
		var head heading
		if err := json.Unmarshal(v, &head); err != nil {
			t.Fatal(err)
		}
		head.Plan.Battery++
		h.rows[Sittings][k] = encode(head)
	}
	n := begin(t, copied(h.rows))
	n.stage(Resume)
	id := n.app.shelf.sittings[0].ID
	if n.offers("continue") || !n.offers("answers") || !strings.Contains(n.page["stage"], "revision") {
		t.Error("it is offered to go on, or what was answered cannot be saved, or the page does not say why")
	}
	n.click("continue", id)
	n.stage(Resume)
	n.click("answers", id)
	if len(n.files) != 1 {
		t.Fatal("nothing was saved")
	}
	for _, b := range n.files {
		r, err := report.Read(b)
		if err != nil || len(r.Judgements) != 6 {
			t.Errorf("saved %d judgements, %v", len(r.Judgements), err)
		}
	}
	if len(n.rows[Judgements]) != 6 {
		t.Error("the answers are gone")
	}
}

func TestDamagedRows(t *testing.T) {
	h := begin(t, nil)
	h.toIntro()
	h.answer(6)
	id := h.app.sitting.ID
	for name, spoil := range map[string]func(rows map[string]map[string][]byte){
		"heading":    func(r map[string]map[string][]byte) { r[Sittings][id] = []byte("{\"id\":") },
		"no heading": func(r map[string]map[string][]byte) { delete(r[Sittings], id) },
		"newer": func(r map[string]map[string][]byte) {
			r[Sittings][id] = []byte(`{"version":99,"id":"` + id + `","state":"open"}`)
		},
		"judgement": func(r map[string]map[string][]byte) { r[Judgements][id+"/"+place(2)] = []byte("{") },
		"hole":      func(r map[string]map[string][]byte) { delete(r[Judgements], id+"/"+place(2)) },
		"foreign": func(r map[string]map[string][]byte) {
			r[Judgements][id+"/"+place(5)] = []byte(`{"n":5,"check":"tone","kind":"trial"}`)
		},
		"no such step": func(r map[string]map[string][]byte) {
			r[Judgements][id+"/"+place(5)] = []byte(`{"n":5,"check":"shadows","kind":"trial","stimulus":{"ground":0,"patch":200}}`)
		},
	} {
		t.Run(name, func(t *testing.T) {
			rows := copied(h.rows)
			spoil(rows)
			had := copied(rows)
			n := begin(t, rows)
			n.stage(Resume)
			n.click("continue", id)
			n.stage(Resume)
			n.click("answers", id)
			if len(n.files) != 1 {
				t.Error("what is there cannot be saved")
			}
			for d := range had {
				if len(n.rows[d]) != len(had[d]) {
					t.Errorf("%s: %d rows, had %d", d, len(n.rows[d]), len(had[d]))
				}
			}
			n.click("aside", id)
			n.stage(Prepare)
		})
	}
}

func TestStorageFails(t *testing.T) {
	for _, why := range []error{ErrFull, ErrDenied, ErrCorrupt, errTest} {
		h := begin(t, nil)
		h.toIntro()
		h.answer(2)
		h.refuse = why
		h.answer(3)
		if !strings.Contains(h.page["bar"], why.Error()) || !h.offers("answers") {
			t.Errorf("%v: the bar does not say so, or offers no file", why)
		}
		if n := len(h.rows[Judgements]); n != 2 {
			t.Errorf("%d kept", n)
		}
		h.click("answers", "")
		for _, b := range h.files {
			if r, err := report.Read(b); err != nil || len(r.Judgements) != 5 {
				t.Errorf("the file has %d judgements, %v", len(r.Judgements), err)
			}
		}
		// When it works again, all that waited is written.
		h.refuse = nil
		h.answer(1)
		if n := len(h.rows[Judgements]); n != 6 || strings.Contains(h.page["bar"], "not being stored") {
			t.Errorf("%d kept after storage came back", n)
		}
		if got, want := kept(t, h.rows), h.app.sitting.run.Log(); len(got) != len(want) || got[5] != want[5] || got[3] != want[3] {
			t.Error("what is kept is not the log")
		}
		// And by the button of a pause.
		h.refuse = why
		h.answer(1)
		h.toTrial()
		h.app.Key("Escape", h.now)
		h.settle()
		h.refuse = nil
		h.click("retry", "")
		if n := len(h.rows[Judgements]); n != 8 { // and the disturbance
			t.Errorf("%d kept after trying again", n)
		}
	}
}

func TestStorageDeniedFromTheStart(t *testing.T) {
	h := newHost(t, nil)
	h.deny, h.refuse = ErrDenied, ErrDenied
	h.app.Begin(surface(), map[string]string{"length": "short"})
	h.settle()
	h.stage(Prepare)
	if !strings.Contains(h.page["storage"], ErrDenied.Error()) {
		t.Error("the page does not say that nothing is stored")
	}
	h.toIntro()
	h.finish()
	if !strings.Contains(h.page["stage"], "not kept in this browser") {
		t.Error("the report does not say that it is not kept")
	}
	h.click("save-json", "")
	if len(h.files) != 1 {
		t.Error("it cannot be saved")
	}
}

func TestRecordsRefused(t *testing.T) {
	whole := begin(t, nil)
	whole.toIntro()
	whole.finish()
	whole.click("save-json", "")
	var good []byte
	for _, b := range whole.files {
		good = b
	}
	for name, c := range map[string]struct {
		data []byte
		err  error
		says string
	}{
		"newer":     {[]byte(strings.Replace(string(good), `"version": 3`, `"version": 4`, 1)), nil, "newer version"},
		"truncated": {good[:len(good)/2], nil, "breaks off"},
		"unknown":   {[]byte(strings.Replace(string(good), `"version": 3,`, `"version": 3, "gama": 2,`, 1)), nil, "gama"},
		"picture":   {[]byte("\x89PNG\r\n"), nil, "not a record"},
		"empty":     {nil, nil, "opened"},
		"unread":    {nil, errTest, errTest.Error()},
	} {
		for _, from := range []Stage{Prepare, Report, Resume} {
			h := begin(t, nil)
			switch from {
			case Report:
				h.app.Opened("record", "good.json", good, nil)
			case Resume:
				h.toIntro()
				h.answer(2)
				h = begin(t, copied(h.rows))
			}
			h.stage(from)
			had := copied(h.rows)
			page := h.page["stage"]
			h.app.Opened("record", "record.json", c.data, c.err)
			h.settle()
			h.stage(from)
			if !strings.Contains(h.page["message"], c.says) {
				t.Errorf("%s at %s: says %q", name, from, h.page["message"])
			}
			if page != h.page["stage"] || len(had[Sittings]) != len(h.rows[Sittings]) {
				t.Errorf("%s at %s: something else changed", name, from)
			}
		}
	}
	// During a sitting a dropped file changes nothing.
	h := begin(t, nil)
	h.toIntro()
	h.answer(2)
	h.app.Opened("record", "good.json", good, nil)
	h.stage(Sitting)
	// And a good one opens.
	h = begin(t, nil)
	h.app.Opened("record", "good.json", good, nil)
	h.stage(Report)
	h.click("again", "")
	h.stage(Prepare)
}

func TestNoRoom(t *testing.T) {
	for name, size := range map[string][2]int{"nothing": {0, 0}, "small": {200, 120}, "low": {900, 100}} {
		t.Run(name, func(t *testing.T) {
			tiny := surface()
			tiny.Width, tiny.Height, tiny.BoxWidth, tiny.BoxHeight = size[0], size[1], size[0], size[1]
			tiny.SheetWidth, tiny.SheetHeight = float64(size[0]), float64(size[1])

			// Before the sitting: it says so, waits, and goes on by itself with what was filled in.
			h := newHost(t, nil)
			h.app.Begin(tiny, nil)
			h.settle()
			h.stage(Prepare)
			h.app.Input("screen", "packing-room tablet")
			h.click("continue", "")
			h.stage(Trouble)
			if !strings.Contains(h.page["stage"], "at least 300 × 300") {
				t.Error("it does not say how large the window must be")
			}
			h.app.Surface(surface())
			h.stage(Prepare)
			if !strings.Contains(h.page["names"], "packing-room tablet") {
				t.Error("what was filled in is lost")
			}

			// In the sitting: it pauses, keeps all, and goes on when there is room again.
			h.toIntro()
			h.answer(3)
			h.toTrial()
			h.app.Surface(tiny)
			h.settle()
			h.stage(Paused)
			if h.offers("continue") {
				t.Error("it offers to go on without room")
			}
			h.click("continue", "")
			h.stage(Paused)
			if len(kept(t, h.rows)) != 4 {
				t.Error("answers are lost")
			}
			h.app.Surface(surface())
			if !h.offers("continue") {
				t.Fatal("it does not offer to go on when there is room")
			}
			h.click("continue", "")
			h.stage(Sitting)
			h.toTrial()

			// Resuming into a window without room waits, too.
			n := newHost(t, copied(h.rows))
			n.app.Begin(tiny, nil)
			n.settle()
			n.stage(Resume)
			n.click("continue", n.app.shelf.sittings[0].ID)
			n.stage(Paused)
			n.app.Surface(surface())
			n.click("continue", "")
			n.stage(Intro)
			n.finish()
		})
	}
}

// Where a pixel of the canvas is not one of the screen, fine lines are left out and the reason is said; the rest goes on.
func TestInexactPixels(t *testing.T) {
	for name, bend := range map[string]func(s *Surface){
		"bitmap":    func(s *Surface) { s.BoxWidth++ },
		"pinched":   func(s *Surface) { s.Pinch = 1.4 },
		"transform": func(s *Surface) { s.Blending = []string{"transform matrix(1.001, 0, 0, 1, 0, 0)"} },
		"untold":    func(s *Surface) { s.BoxWidth, s.BoxHeight, s.Ratio, s.SheetWidth, s.SheetHeight = 0, 0, 1.25, 512, 384 },
		"emulated":  func(s *Surface) { s.Ratio = 1.25 },
	} {
		t.Run(name, func(t *testing.T) {
			s := surface()
			bend(&s)
			if s.Inexact() == "" {
				t.Fatal("taken for exact")
			}
			h := newHost(t, nil)
			h.app.Begin(s, map[string]string{"length": "short"})
			h.settle()
			if !strings.Contains(h.page["start"], "Tone and neutrals are left out") {
				t.Error("the page does not say that tone is left out")
			}
			h.toIntro()
			h.finish()
			r := h.app.shown.record
			if r.Conditions.Exact {
				t.Error("the record claims exact pixels")
			}
			for _, f := range r.Findings {
				if f.Aspect == check.Tone && (f.Verdict != report.NotChecked || !strings.Contains(f.Why, "pixel by pixel")) {
					t.Errorf("tone: %v, %q", f.Verdict, f.Why)
				}
				if f.Aspect == check.Shadows && f.Judgements == 0 {
					t.Error("shadows were left out")
				}
			}
		})
	}
	for name, s := range map[string]Surface{
		"1.25":    {Width: 1920, Height: 1080, BoxWidth: 1920, BoxHeight: 1080, SheetWidth: 1536, SheetHeight: 864, Ratio: 1.25, Pinch: 1},
		"odd":     {Width: 1919, Height: 1079, BoxWidth: 1919, BoxHeight: 1079, SheetWidth: 1535.2, SheetHeight: 863.2, Ratio: 1.25, Pinch: 1},
		"untold2": {Width: 800, Height: 600, SheetWidth: 400, SheetHeight: 300, Ratio: 2, Pinch: 1},
		"filter":  {Width: 800, Height: 600, BoxWidth: 800, BoxHeight: 600, SheetWidth: 800, SheetHeight: 600, Ratio: 1, Pinch: 1, Filter: "url(#bend)"},
	} {
		if why := s.Inexact(); why != "" {
			t.Errorf("%s: %s", name, why)
		}
	}
}

func TestLines(t *testing.T) {
	for action, want := range map[string]struct{ melt, even, skip string }{
		"continue":  {"yes", "yes", ""},
		"unmelted":  {"no", "", "far enough"},
		"uneven":    {"", "no", "uneven"},
		"nostripes": {"", "", "left the line matches out"},
	} {
		h := begin(t, nil)
		h.click("continue", "")
		h.stage(Prepare)
		striped := 0
		for x := 1; x < h.frame.Rect.Dx(); x++ {
			for y := 1; y < h.frame.Rect.Dy(); y++ {
				if g := h.frame.RGBAAt(x, y).G; g == 0 || g == 255 {
					striped++
				}
			}
		}
		if n := h.frame.Rect.Dx() * h.frame.Rect.Dy(); striped == 0 || striped > n/10 {
			t.Errorf("stripes on %d of %d pixels; a tenth is the most", striped, n)
		}
		h.click(action, "")
		h.stage(Intro)
		c, skip := h.app.sitting.Conditions, h.app.sitting.Plan.Skip[check.Tone]
		if c.Melt != want.melt || c.Even != want.even || (skip == "") != (want.skip == "") || !strings.Contains(skip, want.skip) {
			t.Errorf("%s: melt %q, even %q, skip %q", action, c.Melt, c.Even, skip)
		}
	}
	h := begin(t, nil)
	h.app.Input("nostripes", "on")
	h.click("continue", "")
	h.stage(Intro)
	if h.app.sitting.Plan.Skip[check.Tone] == "" {
		t.Error("stripes are shown to a viewer who left them out")
	}
	h = begin(t, nil)
	h.click("continue", "")
	h.click("back", "")
	h.stage(Prepare)
	if h.body["over"] != "" {
		t.Error("the field stays up")
	}
}

// ISO/IEC 7810 gives the card's 85.60 mm, and one-pixel lines melt at 45 cycles to a degree: 1.4 to 1.5 m at 96 pixels to the inch, or 60 cm at
// 220.
func TestDistances(t *testing.T) {
	for _, c := range []struct{ card, ratio, low, high float64 }{{324, 1, 134, 150}, {324, 2, 60, 75}, {742, 1, 57, 62}} {
		var f form
		f.pitch = c.card * c.ratio / cardLong
		if d := f.leanTo(); d < c.low || d > c.high {
			t.Errorf("card of %g pixels at %g: %g cm", c.card, c.ratio, d)
		}
		f.distance = "60"
		// At the distance that lines melt, a degree has 90 pixels.
		if got := f.degree() * f.leanTo() / 60; got < 89.99 || got > 90.01 {
			t.Errorf("%g pixels to a degree", got)
		}
	}
	usual := begin(t, nil)
	usual.app.surface.Ratio = 1.5
	usual.toIntro()
	if d := usual.app.sitting.Plan.Degree; d != 1.5*referencePixels {
		t.Errorf("%g pixels to a degree in the plan where nothing was told", d)
	}
	h := begin(t, nil)
	h.app.Input("card", "324")
	h.app.Input("distance", "60")
	if !strings.Contains(h.page["lean"], "from 60 cm to about 135 cm") {
		t.Errorf("lean: %q", h.page["lean"])
	}
	h.click("card-larger", "")
	if !strings.Contains(h.page["slide"], `value="325"`) || !strings.Contains(h.page["card"], `width="325"`) {
		t.Error("the button does not enlarge the outline")
	}
	h.toIntro()
	if d := h.app.sitting.Plan.Degree; d < 38 || d > 41 {
		t.Errorf("%g pixels to a degree in the plan", d)
	}
	for _, bad := range []string{"", "far", "-60", "1e9", "NaN", "Inf", "0"} {
		f := form{distance: bad}
		if d := f.centimetres(); d != 0 {
			t.Errorf("%q is taken for %g cm", bad, d)
		}
	}
	narrow := surface()
	narrow.WindowWidth = 390
	h.app.surface = narrow
	h.app.form.card = 500
	if c := h.app.card(); c.Width != 315 || c.Height != 500 {
		t.Errorf("on a narrow window the outline is %d x %d", c.Width, c.Height)
	}
}

func TestFormRefuses(t *testing.T) {
	h := begin(t, nil)
	for _, c := range [][2]string{{"room", "green"}, {"length", "endless"}, {"aim", "none"}, {"night", "maybe"}, {"card", "wide"}, {"other", "x"}} {
		if h.app.form.set(c[0], c[1]) {
			t.Errorf("%s took %q", c[0], c[1])
		}
	}
}

func TestStopEarly(t *testing.T) {
	h := begin(t, nil)
	h.toIntro()
	h.click("stop", "")
	h.stage(Prepare)
	if len(h.rows[Sittings]) != 0 {
		t.Error("a sitting without an answer is kept")
	}
	h.toIntro()
	h.answer(8)
	h.toTrial()
	h.app.Key("Escape", h.now)
	h.settle()
	h.click("stop", "")
	h.until("the report", func() bool { return h.app.Stage() == Report })
	for _, f := range h.app.shown.record.Findings {
		if f.Aspect == check.Tone && f.Why != "The sitting ended before this was asked." {
			t.Errorf("tone: %q", f.Why)
		}
	}
	if len(h.rows[Records]) != 1 {
		t.Error("the record is not kept")
	}
}

// Pointing at a place is the same as its key; beside every place it is nothing.
func TestPointer(t *testing.T) {
	h := begin(t, nil)
	h.toIntro()
	h.toTrial()
	m := h.presentation()
	key := h.look()
	h.advance(time.Second)
	h.app.Pointer(-5, -5, h.now)
	if len(h.app.sitting.run.Log()) != 0 {
		t.Fatal("pointing at nothing is an answer")
	}
	for _, c := range m.Choices {
		if c.Key == key {
			h.app.Pointer(c.Rect.X+c.Rect.Width/2, c.Rect.Y+c.Rect.Height/2, h.now)
		}
	}
	log := h.app.sitting.run.Log()
	if len(log) != 1 || !log[0].Right {
		t.Fatalf("log %+v", log)
	}
	h.app.Pointer(50, 50, h.now)
	if len(h.app.sitting.run.Log()) != 1 {
		t.Error("pointing during a rest is an answer")
	}
	// The answers of a setting are buttons: what two of them point at is one place.
	for h.app.sitting.now.Kind != check.Setting {
		h.answer(1)
	}
	h.toTrial()
	seq := h.presentation().Seq
	r := h.presentation().Choices[0].Rect
	h.app.Pointer(r.X+1, r.Y+1, h.now)
	h.advance(100 * time.Millisecond)
	if h.presentation().Seq != seq {
		t.Error("pointing moves a setting")
	}
	h.click("choose", "ArrowUp")
	h.advance(100 * time.Millisecond)
	if h.presentation().Seq == seq {
		t.Error("the button moves nothing")
	}
}

func TestWords(t *testing.T) {
	for d, want := range map[time.Duration]string{
		10 * time.Second: "a minute ago", 40 * time.Minute: "40 minutes ago", 3 * time.Hour: "3 hours ago", 50 * time.Hour: "2 days ago",
	} {
		if got := ago(d); got != want {
			t.Errorf("%v: %q, want %q", d, got, want)
		}
	}
	for d, want := range map[time.Duration]string{20 * time.Second: "20 s", 2 * time.Minute: "2 min", 380 * time.Second: "6 min 20 s"} {
		if got := spell(d); got != want {
			t.Errorf("%v: %q, want %q", d, got, want)
		}
	}
	if got := fileName("Küche ../1", 0, "record", "json"); got != "plumb-kche-1-1970-01-01-0000-record.json" {
		t.Error(got)
	}
}
