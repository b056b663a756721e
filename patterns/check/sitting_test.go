package check_test

import (
	"errors"
	"image"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/screen"
)

// A virtual viewer before an ordinary screen sits through every length; what it finds is near what is there.
func TestEveryLengthRunsToItsEnd(t *testing.T) {
	kind, _ := observer.KindByName("expert")
	model := display.Default().Model() // gamma 2.2
	for _, l := range lengths {
		s := begin(t, plan(l, 11))
		v := observer.New(kind, &model, rand.New(rand.NewPCG(1, 2)))
		total, done := 0, -1
		r := sit(t, s, func(p check.Presentation, dst *image.RGBA) string {
			if p.Kind == check.Setting {
				return p.Choices[map[int]int{1: 0, -1: 1, 0: 2}[v.Adjust(dst, p.Choices[0].Rect, p.Choices[2].Rect)]].Key
			}
			n := len(p.Choices) - 1
			var at int
			if n == 2 {
				at = v.Lighter(dst, p.Choices[0].Rect, p.Choices[1].Rect)
			} else {
				var cells []image.Rectangle
				for _, c := range p.Choices[:n] {
					cells = append(cells, c.Rect)
				}
				at = v.Odd(dst, cells)
			}
			if at == observer.CantTell {
				at = n
			}
			return p.Choices[at].Key
		}, func(p check.Presentation, _ *image.RGBA) {
			if p.Done < done || p.Total != total && total != 0 || p.Done >= p.Total || p.Left <= 0 {
				t.Fatalf("%s: %d of %d done after %d of %d, %v left", l, p.Done, p.Total, done, total, p.Left)
			}
			done, total = p.Done, p.Total
		})
		judgements, last := check.About(l, nil)
		if len(s.Log()) != judgements || total != judgements || done != judgements-1 || last < time.Minute || last > time.Hour {
			t.Errorf("%s: %d judgements in the log, %d promised, %d and %d presented, %v", l, len(s.Log()), judgements, total, done, last)
		}
		if !s.Over() || len(r.presses) < judgements {
			t.Errorf("%s: %d presses, over: %v", l, len(r.presses), s.Over())
		}
		found := s.Results()
		if found.Shadows == nil || found.Highlights == nil || found.Tone == nil {
			t.Fatalf("%s: %+v", l, found)
		}
		if first := found.Shadows.First.Mean(); first < 3 || first > 8 {
			t.Errorf("%s: first visible code %.2f", l, first)
		}
		if first := found.Highlights.First.Mean(); first < 0.5 || first > 3 {
			t.Errorf("%s: first visible step %.2f", l, first)
		}
		if lo, hi := found.Tone.Gamma.Interval(0.99); lo > 2.2 || hi < 2.2 || hi-lo > 0.7 {
			t.Errorf("%s: gamma %.2f to %.2f", l, lo, hi)
		}
		if p := found.Tone.Squeezed; p > 0.1 {
			t.Errorf("%s: squeezed with %.2f", l, p)
		}
		weights := 0.0
		for _, w := range found.Tone.Weights {
			weights += w
		}
		if len(found.Tone.Tones) != len(found.Tone.Weights) || weights < 0.99 || weights > 1.0001 {
			t.Errorf("%s: %d curves, %d weights, sum %g", l, len(found.Tone.Tones), len(found.Tone.Weights), weights)
		}
		// Once over it paints nothing and takes nothing.
		dst := image.NewRGBA(bounds)
		s.Frame(dst)
		s.Rest(dst)
		s.Disturb("hidden", clock)
		s.Practise()
		if s.Press("Space", clock, 0) != check.Ignored || len(s.Log()) != judgements || dst.RGBAAt(5, 5).A != 0 {
			t.Errorf("%s: it goes on after its end", l)
		}
	}
}

// The same plan and presses are the same sitting, whatever was asked of it in between.
func TestSameAnswersSameSitting(t *testing.T) {
	for seed := range uint64(2) {
		first := sit(t, begin(t, plan(check.Short, seed)), newRule(seed).key, nil)
		s := begin(t, plan(check.Short, seed))
		at := 0
		again := sit(t, s, func(p check.Presentation, dst *image.RGBA) string {
			// Looks that must leave no trace.
			if at%5 == 0 {
				s.Results()
			}
			s.Rest(image.NewRGBA(bounds))
			if q, _ := s.Present(image.Rect(0, 0, 1000, 500)); q.Seq != p.Seq {
				t.Fatalf("presentation %d becomes %d by being looked at", p.Seq, q.Seq)
			}
			s.Frame(dst)
			at++
			return first.presses[at-1].key
		}, nil)
		if a, b := text(t, first.s.Log()), text(t, again.s.Log()); a != b {
			t.Fatalf("seed %d: logs differ:\n%s\n%s", seed, a, b)
		}
		if first.frames != again.frames {
			t.Errorf("seed %d: frames differ", seed)
		}
		if !reflect.DeepEqual(first.s.Results(), again.s.Results()) {
			t.Errorf("seed %d: results differ", seed)
		}
		other := sit(t, begin(t, plan(check.Short, seed+100)), newRule(seed).key, nil)
		if other.frames == first.frames {
			t.Errorf("seeds %d and %d show the same", seed, seed+100)
		}
	}
}

// A sitting taken up from any place of its log asks what it would have asked, and ends where it would have ended.
func TestResumeFromEveryPrefix(t *testing.T) {
	type look struct {
		log   []check.Judgement
		shown check.Presentation
		pix   string
	}
	for seed := range uint64(2) {
		p := plan(check.Short, seed)
		if seed == 1 {
			if testing.Short() {
				break
			}
			p = plan(check.Standard, seed)
		}
		s := begin(t, p)
		var looks []look
		whole := sit(t, s, newRule(seed).key, func(q check.Presentation, dst *image.RGBA) {
			if len(looks) == 0 || len(s.Log()) > len(looks[len(looks)-1].log) {
				looks = append(looks, look{stored(t, s.Log()), shape(q), string(dst.Pix)})
			}
		})
		if len(looks) != len(s.Log()) {
			t.Fatalf("%d looks at %d judgements", len(looks), len(s.Log()))
		}
		dst := image.NewRGBA(bounds)
		for n, want := range looks {
			r, err := check.Resume(p, want.log)
			if err != nil {
				t.Fatalf("seed %d, after %d: %v", seed, n, err)
			}
			got, ok := r.Present(bounds)
			if !ok || !reflect.DeepEqual(shape(got), want.shown) {
				t.Fatalf("seed %d, after %d: asks\n%+v, want\n%+v", seed, n, got, want.shown)
			}
			r.Frame(dst)
			if string(dst.Pix) != want.pix {
				t.Fatalf("seed %d, after %d: shows another frame", seed, n)
			}
			if n%11 != 0 {
				continue
			}
			// The keys of the judgements to come, the steps of settings included.
			at, keys := 0, whole.presses
			for left := n; left > 0; at++ {
				if at+1 >= len(keys) {
					t.Fatal("presses and log do not fit")
				}
				left -= count(t, p, whole, at)
			}
			sit(t, r, func(check.Presentation, *image.RGBA) string { at++; return keys[at-1].key }, nil)
			if !reflect.DeepEqual(r.Results(), s.Results()) {
				t.Errorf("seed %d, after %d: ends with other results", seed, n)
			}
			for i, j := range r.Log() {
				w := s.Log()[i]
				if j.At = w.At; !reflect.DeepEqual(j, w) {
					t.Fatalf("seed %d, after %d: judgement %d is\n%+v, was\n%+v", seed, n, i, j, w)
				}
			}
		}
	}
}

// count tells how many judgements the press at a place of a run made: none for a step of a setting.
func count(t *testing.T, p check.Plan, r run, at int) int {
	t.Helper()
	seen := 0
	for _, j := range r.s.Log() {
		seen += max(j.Presses, 0)
		if j.Kind == check.Setting && j.Presses >= 60 {
			seen-- // the last step made the judgement
		}
		if seen == at {
			return 1
		}
		if seen > at {
			return 0
		}
		seen++
	}
	t.Fatal("no such press")
	return 0
}

// Taken back and answered alike, a judgement leaves what was known before.
func TestTakeBackAndAnswerAlike(t *testing.T) {
	s := begin(t, plan(check.Short, 5))
	if s.TakeBack() {
		t.Error("there is something to take back before the first answer")
	}
	v := newRule(5)
	dst := image.NewRGBA(bounds)
	backs := 0
	for n := 0; !s.Over(); n++ {
		without := s.Results()
		answerOne(t, s, v, dst)
		log := s.Log()
		last := log[len(log)-1]
		if n%3 != 2 && !s.Over() { // the first counted trial among them
			continue
		}
		before, shown, over := s.Results(), must(s.Present(bounds)), s.Over()
		if !s.TakeBack() {
			t.Fatal("an answer cannot be taken back")
		}
		if got := s.Log()[len(s.Log())-1]; got.Status != check.TakenBack || s.Over() {
			t.Fatalf("taken back: %+v, over: %v", got, s.Over())
		}
		if !reflect.DeepEqual(s.Results(), without) {
			t.Fatalf("after %d judgements: what was taken back is still known", n)
		}
		p := must(s.Present(bounds))
		if p.Check != last.Check || p.Kind != last.Kind {
			t.Fatalf("%s %s was taken back and %s %s is asked", last.Check, last.Kind, p.Check, p.Kind)
		}
		repeat(t, s, last)
		got := s.Log()[len(s.Log())-1]
		if got.N != last.N+1 || got.Status != check.Counted {
			t.Fatalf("asked again: %+v after %+v", got, last)
		}
		if !reflect.DeepEqual(s.Results(), before) {
			t.Fatalf("after %d judgements, %s %s: the same answer leads elsewhere", n, last.Check, last.Kind)
		}
		if after := must(s.Present(bounds)); !over && (after.Check != shown.Check || after.Kind != shown.Kind || after.Done != shown.Done || after.First != shown.First) {
			t.Fatalf("after %d: %+v is asked, before it was %+v", n, after, shown)
		}
		backs++
	}
	if backs < 5 {
		t.Fatalf("only %d were taken back", backs)
	}
}

func must(p check.Presentation, _ bool) check.Presentation { return p }

// answerOne lets a viewer make one judgement.
func answerOne(t testing.TB, s *check.Sitting, v *rule, dst *image.RGBA) {
	t.Helper()
	for {
		p, ok := s.Present(dst.Rect)
		if !ok {
			t.Fatal("the sitting is over")
		}
		s.Frame(dst)
		if s.Press(v.key(p, dst), clock, 2*time.Second) != check.Adjusted {
			return
		}
	}
}

// repeat gives the current presentation the answer that a judgement had, in the sense that matters: seen or not, this side or that, that code.
func repeat(t testing.TB, s *check.Sitting, j check.Judgement) {
	t.Helper()
	p := must(s.Present(bounds))
	dst := image.NewRGBA(bounds)
	s.Frame(dst)
	if p.Kind == check.Setting {
		at := p.Choices[0].Rect
		for range 59 {
			s.Frame(dst)
			plain := dst.RGBAAt(at.Min.X+3, at.Min.Y+3).G
			key := "Enter"
			if plain < j.Stimulus.Plain {
				key = "ArrowUp"
			} else if plain > j.Stimulus.Plain {
				key = "ArrowDown"
			}
			if s.Press(key, clock, time.Second) == check.Judged {
				return
			}
		}
		t.Fatal("the setting does not reach its code")
	}
	if j.Response == check.CantTell {
		s.Press("Space", clock, time.Second)
		return
	}
	if j.Check == check.Tone {
		// Sides are drawn by place in the plan and stay.
		s.Press(p.Choices[j.Response].Key, clock, time.Second)
		return
	}
	cell := 0
	for i, c := range p.Choices[:9] {
		mid := c.Rect.Min.Add(c.Rect.Size().Div(2))
		if dst.RGBAAt(mid.X, mid.Y).G != p.Ground {
			cell = i
		}
	}
	if j.Response != j.Stimulus.Cell {
		cell = (cell + 1) % 9
	}
	s.Press(p.Choices[cell].Key, clock, time.Second)
}

// What was disturbed is asked again: it stays in the log, teaches nothing and moves no count.
func TestDisturb(t *testing.T) {
	s := begin(t, plan(check.Short, 6))
	v := newRule(6)
	dst := image.NewRGBA(bounds)
	cells, moved := 0, 0
	for n := 0; !s.Over(); n++ {
		p := must(s.Present(bounds))
		s.Frame(dst)
		before := string(dst.Pix)
		results := s.Results()
		if p.Kind == check.Setting {
			s.Press("ArrowUp", clock, time.Second)
		}
		s.Disturb("the page was hidden", clock)
		last := s.Log()[len(s.Log())-1]
		if last.Status != check.Disturbed || last.Reason != "the page was hidden" || last.Check != p.Check || last.Kind != p.Kind || last.N != len(s.Log())-1 {
			t.Fatalf("the log has %+v", last)
		}
		if p.Kind == check.Setting && last.Presses != 1 {
			t.Errorf("a disturbed setting has %d presses", last.Presses)
		}
		q := must(s.Present(bounds))
		if q.Seq <= p.Seq {
			t.Errorf("seq %d after %d", q.Seq, p.Seq)
		}
		want := shape(p)
		if want.Kind == check.Setting {
			want.Choices = q.Choices
		}
		if !reflect.DeepEqual(shape(q), want) {
			t.Fatalf("disturbed and asked\n%+v, want\n%+v", q, p)
		}
		if !reflect.DeepEqual(s.Results(), results) {
			t.Fatal("a disturbance teaches")
		}
		s.Frame(dst)
		if len(q.Choices) == 10 {
			cells++
			if string(dst.Pix) != before {
				moved++
			}
		}
		answerOne(t, s, v, dst)
	}
	if len(s.Log()) != 2*countOf(check.Short) {
		t.Errorf("%d judgements, want %d asked twice", len(s.Log()), countOf(check.Short))
	}
	if cells == 0 || moved < cells/2 {
		t.Errorf("of %d disturbed cells %d moved", cells, moved)
	}
	// And the log of such a sitting can be taken up.
	if r, err := check.Resume(s.Plan(), stored(t, s.Log())); err != nil || !r.Over() {
		t.Errorf("resume: %v", err)
	}
}

func countOf(l check.Length) int {
	n, _ := check.About(l, nil)
	return n
}

// After a long pause practice comes once more, and changes nothing that was found.
func TestPractise(t *testing.T) {
	s := begin(t, plan(check.Short, 7))
	v := newRule(7)
	dst := image.NewRGBA(bounds)
	s.Practise() // the first is practice anyway
	if p := must(s.Present(bounds)); p.Kind != check.Practice || p.Total != countOf(check.Short) {
		t.Fatalf("%+v", p)
	}
	for range 5 {
		answerOne(t, s, v, dst)
	}
	before, at := s.Results(), must(s.Present(bounds))
	s.Practise()
	s.Practise() // asked twice, given once
	for range 2 {
		if p := must(s.Present(bounds)); p.Kind != check.Practice || p.Check != check.Shadows || p.First {
			t.Fatalf("%+v", p)
		}
		answerOne(t, s, v, dst)
	}
	p := must(s.Present(bounds))
	if p.Kind != at.Kind || p.Check != at.Check || p.Total != at.Total+2 {
		t.Fatalf("after practice %+v, before %+v", p, at)
	}
	if !reflect.DeepEqual(s.Results(), before) {
		t.Error("practice teaches")
	}
	// A log with such practice can be taken up, there and at its end.
	s.Frame(dst)
	r, err := check.Resume(s.Plan(), stored(t, s.Log()))
	if err != nil {
		t.Fatal(err)
	}
	again := image.NewRGBA(bounds)
	must(r.Present(bounds))
	r.Frame(again)
	if string(again.Pix) != string(dst.Pix) {
		t.Error("taken up after practice, it shows something else")
	}
	for !s.Over() {
		answerOne(t, s, v, dst)
	}
	r, err = check.Resume(s.Plan(), stored(t, s.Log()))
	if err != nil || !r.Over() || !reflect.DeepEqual(r.Results(), s.Results()) {
		t.Errorf("resume at the end: %v", err)
	}
}

func TestSkip(t *testing.T) {
	p := plan(check.Standard, 8)
	p.Skip = map[check.Aspect]string{check.Tone: "Stripes trouble the viewer.", check.Evenness: "There is none."}
	s := begin(t, p)
	sit(t, s, newRule(8).key, func(q check.Presentation, _ *image.RGBA) {
		if q.Check == check.Tone {
			t.Fatal("asked what was to be left out")
		}
	})
	found := s.Results()
	if found.Tone != nil || found.Shadows == nil || found.Highlights == nil {
		t.Errorf("%+v", found)
	}
	if n, d := check.About(check.Standard, p.Skip); n != len(s.Log()) || d <= 0 {
		t.Errorf("%d judgements were promised, %d made", n, len(s.Log()))
	}
	p.Skip = map[check.Aspect]string{check.Tone: "", check.Shadows: "", check.Highlights: ""}
	s = begin(t, p)
	if _, ok := s.Present(bounds); ok || !s.Over() || s.TakeBack() || s.Press("Space", clock, 0) != check.Ignored || s.Results() != (check.Results{}) {
		t.Error("with everything left out there is something to ask")
	}
}

func TestStop(t *testing.T) {
	s := begin(t, plan(check.Short, 9))
	v := newRule(9)
	dst := image.NewRGBA(bounds)
	for range 6 {
		answerOne(t, s, v, dst)
	}
	s.Stop()
	if _, ok := s.Present(bounds); ok || !s.Over() || len(s.Log()) != 6 || s.Results().Shadows == nil || s.Results().Tone != nil {
		t.Errorf("stopped: over %v, %d judgements, %+v", s.Over(), len(s.Log()), s.Results())
	}
	if !s.TakeBack() || s.Over() {
		t.Error("the last answer of a stopped sitting cannot be taken back")
	}
}

func TestResumeRefuses(t *testing.T) {
	whole := sit(t, begin(t, plan(check.Short, 10)), newRule(10).key, nil).s.Log()
	at := func(a check.Aspect, k check.Kind) int {
		for i, j := range whole {
			if j.Check == a && j.Kind == k {
				return i
			}
		}
		t.Fatalf("no %s %s", a, k)
		return 0
	}
	change := func(n int, f func(j *check.Judgement)) func() []check.Judgement {
		return func() []check.Judgement {
			log := append([]check.Judgement(nil), whole...)
			f(&log[n])
			return log
		}
	}
	all := func() []check.Judgement { return whole }
	shadow, line, set := at(check.Shadows, check.Trial), at(check.Tone, check.Trial), at(check.Tone, check.Setting)
	for name, c := range map[string]struct {
		plan func(p *check.Plan)
		log  func() []check.Judgement
		want string
	}{
		"another battery":  {func(p *check.Plan) { p.Battery++ }, all, check.ErrBattery.Error()},
		"no battery":       {func(p *check.Plan) { p.Battery = 0 }, all, check.ErrBattery.Error()},
		"another length":   {func(p *check.Plan) { p.Length = "endless" }, all, `check: length "endless" is not one of short, standard, long`},
		"no length":        {func(p *check.Plan) { p.Length = "" }, all, `check: length "" is not one of`},
		"another aim":      {func(p *check.Plan) { p.Aim = "bright" }, all, `check: aim "bright" is not known`},
		"too large a seed": {func(p *check.Plan) { p.Seed = 1 << 53 }, all, "check: seed must be below 2^53"},
		"no judgement 0":   {nil, func() []check.Judgement { return whole[1:] }, "check: judgement 0 of the log has number 1; the log is not whole"},
		"a hole":           {nil, func() []check.Judgement { return append(append([]check.Judgement(nil), whole[:4]...), whole[5:]...) }, "check: judgement 4 of the log has number 5; the log is not whole"},
		"too long": {nil, func() []check.Judgement {
			j := whole[0]
			j.N, j.Kind = len(whole), check.Trial
			return append(append([]check.Judgement(nil), whole...), j)
		}, "the log belongs to another sitting"},
		"another plan's":      {func(p *check.Plan) { p.Skip = map[check.Aspect]string{check.Shadows: "no"} }, all, "check: judgement 2 (shadows, trial) is not what the plan asks for there; the log belongs to another sitting"},
		"another check":       {nil, change(shadow, func(j *check.Judgement) { j.Check = check.Tone }), "the log belongs to another sitting"},
		"an unknown kind":     {nil, change(shadow, func(j *check.Judgement) { j.Kind = "test" }), "the log belongs to another sitting"},
		"a code not shown":    {nil, change(shadow, func(j *check.Judgement) { j.Stimulus.Patch = 211 }), "no such stimulus"},
		"no such cell":        {nil, change(shadow, func(j *check.Judgement) { j.Stimulus.Cell = 9 }), "check: judgement"},
		"no such response":    {nil, change(shadow, func(j *check.Judgement) { j.Response = 9 }), "check: judgement"},
		"response below":      {nil, change(shadow, func(j *check.Judgement) { j.Response = -2 }), "check: judgement"},
		"another ground":      {nil, change(shadow, func(j *check.Judgement) { j.Stimulus.Ground = 7 }), "check: judgement"},
		"lines of none":       {nil, change(line, func(j *check.Judgement) { j.Stimulus.Of = 0 }), "check: judgement"},
		"more lit than all":   {nil, change(line, func(j *check.Judgement) { j.Stimulus.Lit = j.Stimulus.Of + 1 }), "check: judgement"},
		"lines below none":    {nil, change(line, func(j *check.Judgement) { j.Stimulus.Lit = -1 }), "check: judgement"},
		"a third side":        {nil, change(line, func(j *check.Judgement) { j.Response = 2 }), "check: judgement"},
		"a setting of none":   {nil, change(set, func(j *check.Judgement) { j.Stimulus = check.Stimulus{} }), "check: judgement"},
		"a setting answered":  {nil, change(set, func(j *check.Judgement) { j.Response = 1 }), "check: judgement"},
		"a setting unsettled": {nil, change(set, func(j *check.Judgement) { j.Response = 5 }), "check: judgement"},
	} {
		p := plan(check.Short, 10)
		if c.plan != nil {
			c.plan(&p)
		}
		s, err := check.Resume(p, c.log())
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.HasPrefix(err.Error(), "check: ") || s != nil {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
	}
	if _, err := check.Resume(check.Plan{Battery: check.Battery + 1}, nil); !errors.Is(err, check.ErrBattery) {
		t.Errorf("%v", err)
	}
	if _, err := check.Begin(check.Plan{}); err == nil {
		t.Error("the zero Plan begins a sitting")
	}
	log := stored(t, whole)
	if s, err := check.Resume(plan(check.Short, 10), log); err != nil {
		t.Error(err)
	} else {
		s.TakeBack()
		if log[len(log)-1].Status != check.Counted {
			t.Error("taking back changes the log that was handed in")
		}
	}
}

func TestKeysThatAreNoChoice(t *testing.T) {
	s := begin(t, plan(check.Short, 12))
	v := newRule(12)
	dst := image.NewRGBA(bounds)
	kinds := map[check.Kind]bool{}
	for !s.Over() {
		p := must(s.Present(bounds))
		kinds[p.Kind] = true
		s.Frame(dst)
		before, n := string(dst.Pix), len(s.Log())
		keys := []string{"", "KeyP", "keyq", "q", "ArrowUp", "ArrowLeft", "Enter", "Escape", "space", "Space", "KeyQ", "KeyC", "Digit1", "left"}
		for _, k := range keys {
			choice := false
			for _, c := range p.Choices {
				choice = choice || c.Key == k
			}
			if !choice && s.Press(k, clock, time.Second) != check.Ignored {
				t.Fatalf("%s %s: %q counts", p.Check, p.Kind, k)
			}
		}
		s.Frame(dst)
		if q := must(s.Present(bounds)); len(s.Log()) != n || q.Seq != p.Seq || string(dst.Pix) != before {
			t.Fatalf("%s %s: a key that is no choice leaves a trace", p.Check, p.Kind)
		}
		answerOne(t, s, v, dst)
	}
	if len(kinds) != 4 {
		t.Errorf("only %v came up", kinds)
	}
}

// A setting goes from 8 codes to 1 by halving at each turn, stays between 1 and 254, and ends of itself.
func TestSettings(t *testing.T) {
	s := begin(t, only(plan(check.Short, 13), check.Tone))
	v := newRule(13)
	dst := image.NewRGBA(bounds)
	for must(s.Present(bounds)).Kind != check.Setting {
		answerOne(t, s, v, dst)
	}
	code := func() int {
		p := must(s.Present(bounds))
		s.Frame(dst)
		return int(dst.RGBAAt(p.Choices[0].Rect.Min.X+3, p.Choices[0].Rect.Min.Y+3).G)
	}
	was, seq := code(), must(s.Present(bounds)).Seq
	for i, c := range []struct {
		key string
		by  int
	}{{"ArrowUp", 8}, {"ArrowUp", 8}, {"ArrowDown", -4}, {"ArrowUp", 2}, {"ArrowDown", -1}, {"ArrowUp", 1}, {"ArrowUp", 1}} {
		if s.Press(c.key, clock, time.Second) != check.Adjusted {
			t.Fatal("a step ends the setting")
		}
		if got := code(); got != was+c.by {
			t.Errorf("step %d: %d after %d, want %+d", i, got, was, c.by)
		}
		was = code()
		if q := must(s.Present(bounds)).Seq; q != seq+1 {
			t.Errorf("step %d: seq %d after %d", i, q, seq)
		}
		seq++
	}
	if step := s.Press("Enter", clock.Add(time.Second), 9*time.Second); step != check.Judged {
		t.Fatalf("Enter makes %v", step)
	}
	j := s.Log()[len(s.Log())-1]
	if j.Kind != check.Setting || j.Presses != 7 || int(j.Stimulus.Plain) != was || j.Latency != 9000 || j.Response != 0 || j.At != clock.Add(time.Second).UnixMilli() {
		t.Errorf("the log has %+v, want %d after 7 presses", j, was)
	}
	for _, c := range []struct {
		key string
		end int
	}{{"ArrowDown", 1}, {"ArrowUp", 254}} {
		n := 1
		for ; s.Press(c.key, clock, time.Second) == check.Adjusted; n++ {
			if n > 100 {
				t.Fatal("a setting does not end")
			}
		}
		j := s.Log()[len(s.Log())-1]
		if n != 60 || j.Presses != 60 || int(j.Stimulus.Plain) != c.end || j.Kind != check.Setting {
			t.Errorf("after %d presses of %s the log has %+v", n, c.key, j)
		}
	}
}

// What is asked of tone keeps clear of what shadows and highlights found lost.
func TestTonePlansAroundWhatIsLost(t *testing.T) {
	s := begin(t, plan(check.Standard, 14))
	v := newRule(14)
	v.dark, v.bright = 30, 30
	sit(t, s, v.key, nil)
	n := 0
	for _, j := range s.Log() {
		if m := j.Stimulus; j.Check == check.Tone && m.Of > 0 {
			n++
			if m.A != 0 && m.A < 28 || m.B != 255 && m.B > 227 || j.Kind == check.Trial && (m.Plain < 28 || m.Plain > 227) {
				t.Errorf("lines of %d and %d beside %d where codes to 30 and from 225 are lost", m.A, m.B, m.Plain)
			}
		}
	}
	if n == 0 {
		t.Fatal("no line match was shown")
	}
}

// Every introduction says something; aspects without a check have none.
func TestIntroductions(t *testing.T) {
	for _, a := range check.Aspects {
		in := check.Introduce(a)
		asked := a == check.Shadows || a == check.Highlights || a == check.Tone
		if asked != (in.Title != "" && in.Text != "" && in.Settle > 0) {
			t.Errorf("%s: %+v", a, in)
		}
	}
	for _, l := range lengths {
		if n := check.Settings(l); n < 3 || n > 6 { // from simulation: 3 to 6 adjustments, then forced choice
			t.Errorf("%s has %d settings", l, n)
		}
	}
	if check.Settings("endless") != 0 {
		t.Error("an unknown length has settings")
	}
}

// Before any judgement the curve is believed to be an ordinary one, with room for others.
func TestUnseen(t *testing.T) {
	u := check.UnseenTone(screen.Aims[0], rand.New(rand.NewPCG(1, 1)))
	if lo, hi := u.Gamma.Interval(0.9); lo > 1.95 || hi < 2.45 {
		t.Errorf("gamma %.2f to %.2f before any judgement", lo, hi)
	}
	for _, a := range []check.Aspect{check.Shadows, check.Highlights} {
		n := check.Unseen(a)
		if lo, hi := n.First.Interval(0.9); lo > 3 || hi < 10 {
			t.Errorf("%s: %.2f to %.2f before any judgement", a, lo, hi)
		}
		if p := n.Crush.Within(0, 0); p < 0.5 || p > 0.8 {
			t.Errorf("%s: no crush with %.2f", a, p)
		}
	}
}
