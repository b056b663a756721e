package check_test

import (
	"errors"
	"image"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/screen"
)

// answer is what a virtual viewer presses.
func answer(v *observer.Viewer) func(check.Presentation, *image.RGBA) string {
	return func(p check.Presentation, dst *image.RGBA) string {
		var at []image.Rectangle
		for _, c := range p.Choices {
			at = append(at, c.Rect)
		}
		n := len(at) - 1
		choice := 0
		switch p.Task {
		case check.Set:
			return p.Choices[map[int]int{1: 0, -1: 1, 0: 2}[v.Adjust(dst, at[0], at[2])]].Key
		case check.OddCell:
			choice = v.Odd(dst, at[:n])
		case check.Lighter:
			choice = v.Lighter(dst, at[0], at[1])
		case check.Pinker:
			choice = v.Tinted(dst, at[0], at[1], observer.PinkGreen)
		case check.Yellower:
			choice = v.Tinted(dst, at[0], at[1], observer.BlueYellow)
		case check.OddQuadrant:
			choice = v.Different(dst, at[:n])
		case check.Smoother:
			choice = v.Smoother(dst, at[0], at[1])
		case check.PlaceLighter:
			choice = v.FarLighter(dst, at[0], at[1])
		case check.PlacePinker:
			choice = v.FarTinted(dst, at[0], at[1], observer.PinkGreen)
		case check.PlaceYellow:
			choice = v.FarTinted(dst, at[0], at[1], observer.BlueYellow)
		case check.Mark:
			choice = v.OddColour(dst, at[:n], p.Wide)
		default:
			panic("no viewer for the task " + string(p.Task))
		}
		if choice == observer.CantTell {
			choice = n
		}
		return p.Choices[choice].Key
	}
}

// A virtual viewer before an ordinary screen sits through every length; what it finds is near what is there.
func TestEveryLengthRunsToItsEnd(t *testing.T) {
	kind, _ := observer.KindByName("expert")
	model := display.Default().Model() // gamma 2.2
	for _, l := range lengths {
		if testing.Short() && l == check.Long {
			continue
		}
		s := begin(t, plan(l, 11))
		v := observer.New(kind, &model, rand.New(rand.NewPCG(1, 2)))
		done, least := -1, 1<<30
		left := time.Hour
		r := sit(t, s, answer(v), func(p check.Presentation, _ *image.RGBA) {
			if p.Done < done || p.Done >= p.Total || p.Left <= 0 || p.Left > left+30*time.Second {
				t.Fatalf("%s: %d of %d done after %d, %v left and before it %v", l, p.Done, p.Total, done, p.Left, left)
			}
			done, left, least = p.Done, p.Left, min(least, p.Total)
		})
		judgements, last := check.About(l, nil)
		if n := len(s.Log()); n > judgements*5/4 || n < least*2/3 || done != n-1 || last < time.Minute || last > time.Hour {
			t.Errorf("%s: %d judgements in the log, %d promised, %d presented, %v", l, n, judgements, done, last)
		}
		if !s.Over() || len(r.presses) < len(s.Log()) {
			t.Errorf("%s: %d presses, over: %v", l, len(r.presses), s.Over())
		}
		n := len(s.Log())
		found := s.Results()
		if found.Shadows == nil || found.Highlights == nil || found.Tone == nil || found.Neutrals == nil || found.Smoothness == nil || found.Evenness == nil || (found.Reach == nil) != (l == check.Short) ||
			(found.Channels == nil) != (l != check.Long) || (found.Angle == nil) != (l != check.Long) || found.White != nil {
			t.Fatalf("%s: %+v", l, found)
		}
		if first := found.Shadows.First.Mean(); first < 3 || first > 8 {
			t.Errorf("%s: first visible code %.2f", l, first)
		}
		if first := found.Highlights.First.Mean(); first < 0.5 || first > 3 {
			t.Errorf("%s: first visible step %.2f", l, first)
		}
		if lo, hi := found.Tone.Gamma.Interval(0.99); lo > 2.2 || hi < 2.2 || hi-lo > 0.8 {
			t.Errorf("%s: gamma %.2f to %.2f", l, lo, hi)
		}
		if tint := found.Neutrals.Tint.Mean(); tint > 0.005 {
			t.Errorf("%s: a tint of %.4f on a neutral screen", l, tint)
		}
		if p := found.Smoothness.Bits.Within(8, 9); p < 0.5 {
			t.Errorf("%s: 8 bits with %.2f", l, p)
		}
		if p := found.Evenness.Worst.Within(0, 0.3); p < 0.7 {
			t.Errorf("%s: an even screen is so with %.2f", l, p)
		}
		if found.Reach != nil && found.Reach.Reach.Within(0, 0.5) < 0.5 {
			t.Errorf("%s: an sRGB screen reaches %.2f", l, found.Reach.Reach.Mean())
		}
		if p := found.Ranges[screen.Full]; p < 0.9 {
			t.Errorf("%s: full range with %.2f", l, p)
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
		if s.Press("Space", clock, 0) != check.Ignored || len(s.Log()) != n || dst.RGBAAt(5, 5).A != 0 {
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

// A look is what a sitting shows after a log.
type shownAfter struct {
	log   []check.Judgement
	shown check.Presentation
	pix   string
}

// same fails where a sitting taken up after a log does not show what the one that went through showed.
func same(t *testing.T, p check.Plan, want shownAfter) *check.Sitting {
	t.Helper()
	r, err := check.Resume(p, want.log)
	if err != nil {
		t.Fatalf("seed %d, after %d: %v", p.Seed, len(want.log), err)
	}
	dst := image.NewRGBA(bounds)
	got, ok := r.Present(bounds)
	if !ok || !reflect.DeepEqual(shape(got), want.shown) {
		t.Fatalf("seed %d, after %d: asks\n%+v, want\n%+v", p.Seed, len(want.log), got, want.shown)
	}
	r.Frame(dst)
	if string(dst.Pix) != want.pix {
		t.Fatalf("seed %d, after %d: shows another frame", p.Seed, len(want.log))
	}
	return r
}

// A sitting taken up from any place of its log asks what it would have asked, and ends where it would have ended: in rounds that were planned by what was
// unsure too.
func TestResumeFromEveryPrefix(t *testing.T) {
	for seed := range uint64(2) {
		p := plan(check.Standard, seed)
		every := 6
		if seed == 1 {
			if testing.Short() {
				break
			}
			p, every = plan(check.Long, seed), 71
			p.Reference = check.Paper
		}
		s := begin(t, p)
		var looks []shownAfter
		first := map[int]bool{} // where a round begins
		was := -1
		whole := sit(t, s, newRule(seed).key, func(q check.Presentation, dst *image.RGBA) {
			if _, n := check.At(s); n != was {
				first[len(s.Log())], was = true, n
			}
			if len(looks) == 0 || len(s.Log()) > len(looks[len(looks)-1].log) {
				looks = append(looks, shownAfter{stored(t, s.Log()), shape(q), string(dst.Pix)})
			}
		})
		if len(looks) != len(s.Log()) || len(first) < 3 {
			t.Fatalf("%d looks at %d judgements, %d rounds", len(looks), len(s.Log()), len(first))
		}
		for n, want := range looks {
			if n%every != 0 && !first[n] {
				continue
			}
			r := same(t, p, want)
			if n%60 != 0 {
				continue
			}
			// The keys of the judgements to come, the steps of settings included.
			at := 0
			for whole.presses[at].before < n {
				at++
			}
			sit(t, r, func(check.Presentation, *image.RGBA) string { at++; return whole.presses[at-1].key }, nil)
			if !reflect.DeepEqual(r.Results(), s.Results()) {
				t.Errorf("seed %d, after %d: ends with other results", seed, n)
			}
			if len(r.Log()) != len(s.Log()) {
				t.Fatalf("seed %d, after %d: ends after %d judgements, not %d", seed, n, len(r.Log()), len(s.Log()))
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

// A sitting in which answers are taken back, pages are hidden, practice is asked for anew, and which is taken further, can be taken up from its log all the same.
func TestResumeAfterAllThatCanHappen(t *testing.T) {
	for seed := range uint64(1) {
		p := plan(check.Short, 60+seed)
		s := begin(t, p)
		v := newRule(60 + seed)
		v.dark = 9 // near the tolerance, so that there is something to go further for
		r := rand.New(rand.NewPCG(seed, 7))
		dst := image.NewRGBA(bounds)
		backs, hidden, practised, further, compared, rounds := 0, 0, 0, 0, 0, 0
		again := 0 // practice to come that the log cannot tell of
		last := 0
		for n := 0; n < 400; n++ {
			if s.Over() {
				if further == 2 || !s.Further() {
					break
				}
				further++
				if got := s.Plan().More; got != further {
					t.Fatalf("taken further %d times, the plan has %d", further, got)
				}
			}
			q := must(s.Present(bounds))
			_, slots := check.At(s)
			if again == 0 && (n%13 == 0 || slots != last) {
				s.Frame(dst)
				got := same(t, s.Plan(), shownAfter{stored(t, s.Log()), shape(q), string(dst.Pix)})
				if n%26 == 0 && !reflect.DeepEqual(got.Results(), s.Results()) {
					t.Fatalf("seed %d, after %d: other results", p.Seed, len(s.Log()))
				}
				compared++
			}
			if slots != last {
				rounds++
			}
			last = slots
			switch what := r.IntN(16); {
			case what == 0:
				s.Disturb("the page was hidden", clock)
				hidden++
				continue
			case what == 1 && again == 0 && q.Kind != check.Practice:
				s.Practise()
				for must(s.Present(bounds)).Kind == check.Practice {
					answerOne(t, s, v, dst)
				}
				_, last = check.At(s)
				practised++
				continue
			}
			answerOne(t, s, v, dst)
			if r.IntN(10) == 0 {
				for range 1 + r.IntN(2) {
					s.TakeBack()
				}
				backs++
				_, last = check.At(s)
			}
		}
		if backs < 3 || hidden < 3 || practised < 2 || further < 1 || compared < 15 || rounds < 4 {
			t.Errorf("seed %d: taken back %d times, hidden %d, practised %d, further %d, compared %d, rounds %d", p.Seed, backs, hidden, practised, further, compared, rounds)
		}
		if back, err := check.Resume(s.Plan(), stored(t, s.Log())); err != nil || back.Over() != s.Over() || !reflect.DeepEqual(back.Results(), s.Results()) {
			t.Errorf("seed %d: at the end: %v", p.Seed, err)
		}
	}
}

// Taken back and answered alike, a judgement leaves what was known before.
func TestTakeBackAndAnswerAlike(t *testing.T) {
	p := plan(check.Short, 5)
	p.Reference = check.OtherScreen
	s := begin(t, p)
	if s.TakeBack() {
		t.Error("there is something to take back before the first answer")
	}
	v := newRule(5)
	dst := image.NewRGBA(bounds)
	backs, compared := map[check.Aspect]int{}, 0
	for n := 0; !s.Over(); n++ {
		var without check.Results
		if n%3 == 2 {
			without = s.Results()
		}
		answerOne(t, s, v, dst)
		log := s.Log()
		last := log[len(log)-1]
		if n%3 != 2 { // the first counted trial among them
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
		again := check.Shown(s)
		repeat(t, s, last)
		got := s.Log()[len(s.Log())-1]
		if got.N != last.N+1 || got.Status != check.Counted {
			t.Fatalf("asked again: %+v after %+v", got, last)
		}
		if last.Kind == check.Practice || last.Kind == check.Catch || last.Kind == check.Setting || alike(last.Check, again, last.Stimulus) {
			compared++
		} else {
			continue
		}
		if !reflect.DeepEqual(s.Results(), before) {
			t.Fatalf("after %d judgements, %s %s: the same answer leads elsewhere", n, last.Check, last.Kind)
		}
		if after := must(s.Present(bounds)); !over && (after.Check != shown.Check || after.Kind != shown.Kind || after.Done != shown.Done || after.First != shown.First) {
			t.Fatalf("after %d: %+v is asked, before it was %+v", n, after, shown)
		}
		backs[last.Check]++
	}
	if len(backs) != 7 || compared < 12 {
		t.Fatalf("only %v were taken back, %d compared", backs, compared)
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
	at := j.Response
	if m := check.Shown(s); p.Task == check.OddCell || p.Task == check.OddQuadrant || p.Task == check.Mark { // which moved
		at = m.Cell
		if j.Response != j.Stimulus.Cell {
			at = (m.Cell + 1) % (len(p.Choices) - 1)
		}
	}
	s.Press(p.Choices[at].Key, clock, time.Second)
}

// alike reports whether two stimuli of a check teach alike.
func alike(a check.Aspect, m, n check.Stimulus) bool {
	m.Cell, n.Cell = 0, 0
	if a == check.Neutrals {
		m.Columns, n.Columns = false, false
	}
	return m == n
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
		var results check.Results
		if n%5 == 0 {
			results = s.Results()
		}
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
		if want.Kind == check.Setting || want.Check == check.Evenness { // begins anew; another place
			want.Choices = q.Choices
		}
		if want.Check == check.Neutrals || want.Check == check.White { // along the other axis
			want.Task, want.Question, want.Choices = q.Task, q.Question, q.Choices
		}
		if !reflect.DeepEqual(shape(q), want) {
			t.Fatalf("disturbed and asked\n%+v, want\n%+v", q, p)
		}
		if n%5 == 0 && !reflect.DeepEqual(s.Results(), results) {
			t.Fatal("a disturbance teaches")
		}
		s.Frame(dst)
		if q.Task == check.OddCell || q.Task == check.OddQuadrant || q.Task == check.Mark {
			cells++
			if string(dst.Pix) != before {
				moved++
			}
		}
		answerOne(t, s, v, dst)
	}
	if done, _ := check.At(s); len(s.Log()) != 2*done {
		t.Errorf("%d judgements, want %d asked twice", len(s.Log()), done)
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
	for range 1 {
		if p := must(s.Present(bounds)); p.Kind != check.Practice || p.Check != check.Shadows || p.First {
			t.Fatalf("%+v", p)
		}
		answerOne(t, s, v, dst)
	}
	p := must(s.Present(bounds))
	if p.Kind != at.Kind || p.Check != at.Check || p.Total != at.Total+1 {
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
	if q := must(r.Present(bounds)); !reflect.DeepEqual(shape(q), shape(p)) {
		t.Errorf("taken up after practice, it asks\n%+v, want\n%+v", q, p)
	}
	// Of another check there was none to ask for.
	log := stored(t, s.Log())
	log[5].Check = check.Evenness
	if _, err := check.Resume(s.Plan(), log); err == nil || log[5].Kind != check.Practice {
		t.Errorf("%+v is taken: %v", log[5], err)
	}
	for !s.Over() {
		answerOne(t, s, v, dst)
	}
	r, err = check.Resume(s.Plan(), stored(t, s.Log()))
	if err != nil || !r.Over() || !reflect.DeepEqual(r.Results(), s.Results()) {
		t.Errorf("resume at the end: %v", err)
	}
}

// Any of the checks can be left out: the rest is asked and found, and nothing else.
func TestSkip(t *testing.T) {
	order := []check.Aspect{check.Shadows, check.Highlights, check.Tone, check.Neutrals, check.Smoothness, check.Evenness, check.ColourRange, check.Channels, check.Angle, check.White}
	r := rand.New(rand.NewPCG(8, 8))
	for n := range 18 {
		var some []check.Aspect
		for i, a := range order {
			if n < len(order) && n != i || n >= len(order) && r.IntN(3) > 0 { // each alone, then many sets
				continue
			}
			some = append(some, a)
		}
		p := only(plan(lengths[n%3], uint64(n)), some...)
		p.Reference = check.Paper
		s := begin(t, p)
		want := map[check.Aspect]bool{}
		for _, a := range some {
			want[a] = s.Asks(a)
		}
		got := map[check.Aspect]bool{}
		sit(t, s, newRule(8).key, func(q check.Presentation, _ *image.RGBA) {
			if !want[q.Check] {
				t.Fatalf("asked about %s with only %v", q.Check, some)
			}
			if q.Left < 0 || q.Total < 0 || q.Done < 0 {
				t.Fatalf("%+v", q)
			}
			got[q.Check] = true
		})
		f := s.Results()
		for a, found := range map[check.Aspect]bool{
			check.Shadows: f.Shadows != nil, check.Highlights: f.Highlights != nil, check.Tone: f.Tone != nil, check.Neutrals: f.Neutrals != nil, check.Smoothness: f.Smoothness != nil,
			check.Evenness: f.Evenness != nil, check.ColourRange: f.Reach != nil, check.Channels: f.Channels != nil, check.Angle: f.Angle != nil, check.White: f.White != nil,
		} {
			if found != want[a] || got[a] != want[a] {
				t.Errorf("%s with only %v: asked about %s %v, found %v", p.Length, some, a, got[a], found)
			}
		}
	}
	for _, l := range lengths {
		p := only(plan(l, 8))
		s := begin(t, p)
		if _, ok := s.Present(bounds); ok || !s.Over() || s.TakeBack() || s.Press("Space", clock, 0) != check.Ignored || !empty(s.Results()) || s.Further() || len(s.Open()) > 0 {
			t.Error("with everything left out there is something to ask")
		}
	}
}

// empty reports whether nothing was found, and ranges are at their prior.
func empty(r check.Results) bool {
	for i, p := range r.Ranges {
		if math.Abs(p-screen.RangePrior[i]) > 1e-12 {
			return false
		}
	}
	r.Ranges = check.Results{}.Ranges
	return r == check.Results{} && len(r.Profile()) == 0
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
	r, err := check.Resume(s.Plan(), stored(t, s.Log()))
	if err != nil {
		t.Fatal(err)
	}
	want := must(r.Present(bounds))
	if !s.Further() || s.Plan().More != 0 {
		t.Error("a stopped sitting does not go on")
	}
	if got := must(s.Present(bounds)); !reflect.DeepEqual(shape(got), shape(want)) {
		t.Errorf("stopped and gone on with, it asks %+v, and from its log %+v", got, want)
	}
	if s.Further() {
		t.Error("a sitting that is not over is taken further")
	}
	s.Stop()
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
		"a check left out": {nil, func() []check.Judgement {
			j := check.Judgement{N: len(whole), Check: check.ColourRange, Kind: check.Trial}
			return append(append([]check.Judgement(nil), whole...), j)
		}, "the log belongs to another sitting"},
		"no reference":   {func(p *check.Plan) { p.Reference = "memory" }, all, `check: reference "memory" is neither paper nor screen`},
		"too far":        {func(p *check.Plan) { p.More = check.Taken + 1 }, all, "check: a sitting can be taken further 50 times at most"},
		"less than none": {func(p *check.Plan) { p.More = -1 }, all, "check: a sitting can be taken further 50 times at most"},
		"too near":       {func(p *check.Plan) { p.Degree = 3 }, all, "check: 3 device pixels to a degree"},
		"too long": {nil, func() []check.Judgement {
			j := whole[0]
			j.N, j.Kind = len(whole), check.Setting
			return append(append([]check.Judgement(nil), whole...), j)
		}, "the log belongs to another sitting"},
		"another plan's":      {func(p *check.Plan) { p.Skip = map[check.Aspect]string{check.Shadows: "no"} }, all, "check: judgement 0 (shadows, practice) is not what the plan asks for there; the log belongs to another sitting"},
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
	dst := image.NewRGBA(bounds)
	kinds, tasks := map[check.Kind]bool{}, map[check.Task]bool{}
	through := func(seed uint64) {
		long := plan(check.Long, seed)
		long.Reference = check.Paper
		s := begin(t, long)
		v := newRule(seed)
		for !s.Over() {
			p := must(s.Present(bounds))
			kinds[p.Kind], tasks[p.Task] = true, true
			s.Frame(dst)
			before, n := string(dst.Pix), len(s.Log())
			keys := []string{"", "KeyP", "keyq", "q", "ArrowUp", "ArrowLeft", "Enter", "Escape", "space", "Space", "KeyQ", "KeyC", "Digit1", "Digit2", "Digit3", "left"}
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
	}
	// Ramps are asked about where they tell most, which is not in every sitting.
	for seed := uint64(12); seed < 60 && len(tasks) < 13; seed++ {
		through(seed)
	}
	if len(kinds) != 4 || len(tasks) != 13 {
		t.Errorf("only %v and %v came up", kinds, tasks)
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
	for _, a := range all() {
		in := check.Introduce(a)
		asked := a != check.Handling
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
		if p := n.Crush[screen.Full].Within(0, 0); p < 0.5 || p > 0.8 {
			t.Errorf("%s: no crush with %.2f", a, p)
		}
	}
}

// A sitting keeps to its time, by its own reckoning, whatever the answers, whatever is left out, and taken further too; one that clicks at random ends as well.
func TestBudget(t *testing.T) {
	worst := time.Duration(0)
	for n := range 12 {
		p := plan(lengths[n%3], uint64(n))
		if n >= 6 { // with much left out
			r := rand.New(rand.NewPCG(uint64(n), 1))
			p.Skip = map[check.Aspect]string{}
			for _, a := range all() {
				if r.IntN(2) == 0 {
					p.Skip[a] = "not now"
				}
			}
			p.Reference = []string{"", check.Paper}[n%2]
		}
		s := begin(t, p)
		first, _ := check.Reckoned(s) // what is asked about at least may take longer, where little is asked
		v := newRule(uint64(n))
		v.dark, v.bright, v.fall = 4+n%8, 1+n%6, 20*(n%9)
		key := v.key
		if n%2 == 0 {
			key = func(q check.Presentation, _ *image.RGBA) string { return q.Choices[v.r.IntN(len(q.Choices))].Key }
		}
		for further := 0; ; further++ {
			before, _ := check.Reckoned(s)
			sit(t, s, key, func(q check.Presentation, _ *image.RGBA) {
				if q.Left <= 0 || q.Total <= q.Done || q.Done < 0 {
					t.Fatalf("%+v", q)
				}
			})
			takes, may := check.Reckoned(s)
			if over := takes - max(may, first); over > 20*time.Second {
				t.Errorf("%s, seed %d, %d times further: %v instead of %v", p.Length, n, further, takes, may)
			}
			worst = max(worst, takes-max(may, first))
			if further > 0 && takes-before > 4*time.Minute+20*time.Second {
				t.Errorf("%s, seed %d: going further takes %v", p.Length, n, takes-before)
			}
			if further == 1 || !s.Further() {
				break
			}
		}
	}
	t.Logf("%v over time at most", worst)
	// Asked by hand: leaving things out leaves no more than a little over.
	for _, l := range lengths {
		if takes, may := check.Reckoned(begin(t, plan(l, 1))); takes > may+20*time.Second {
			t.Errorf("%s takes %v at least and may take %v", l, takes, may)
		}
	}
}

// A screen far from every tolerance is settled long before the time is used up, and there is nothing to go further for; the plan then says that nothing is open.
func TestStopsWhereAllIsSettled(t *testing.T) {
	p := only(plan(check.Long, 3), check.Shadows, check.Highlights, check.Channels, check.Angle) // the last two have no verdict
	s := begin(t, p)
	least, _ := check.Reckoned(s)
	v := newRule(3)
	v.dark, v.bright = 3, 2
	sit(t, s, v.key, nil)
	takes, may := check.Reckoned(s)
	t.Logf("%v of %v, open %v", takes, may, s.Open())
	if takes > may-15*time.Second || takes < least {
		t.Errorf("it takes %v of %v, at least %v", takes, may, least)
	}
	n := len(s.Log())
	for s.Further() {
		if len(s.Log()) > 200 {
			t.Fatal("it goes on for ever")
		}
		sit(t, s, v.key, nil)
	}
	if got := s.Open(); len(got) > 0 {
		t.Errorf("open at the end: %v", got)
	}
	more, before := s.Plan().More, len(s.Log())
	if s.Further() || s.Plan().More != more || !s.Over() || len(s.Log()) != before {
		t.Error("going further where nothing is to be gained changes something")
	}
	t.Logf("%d judgements, and %d at the end", n, before)
	// One that is stopped leaves open what it did not come to.
	s = begin(t, p)
	dst := image.NewRGBA(bounds)
	for i := range 6 {
		at, _ := s.Present(bounds)
		s.Frame(dst)
		s.Press(v.key(at, dst), clock.Add(time.Duration(i)*3*time.Second), time.Second)
	}
	s.Stop()
	if got := s.Open(); !slices.Contains(got, check.Highlights) {
		t.Errorf("open after a stop among shadows: %v, want highlights too", got)
	}
	// The same eyes near the tolerance leave it open.
	s = begin(t, p)
	v = newRule(3)
	v.dark, v.bright = 9, 2
	sit(t, s, v.key, nil)
	if got := s.Open(); !reflect.DeepEqual(got, []check.Aspect{check.Shadows}) {
		t.Errorf("open: %v, want shadows", got)
	}
	before = len(s.Log())
	if !s.Further() {
		t.Error("with shadows unsure there is nothing to go further for")
	}
	sit(t, s, v.key, nil)
	for _, j := range s.Log()[before:] {
		if j.Check != check.Shadows {
			t.Errorf("with shadows unsure alone, %s is asked about", j.Check)
		}
	}
}

// A fixed plan asks its list and no more.
func TestFixedPlansHaveNoRounds(t *testing.T) {
	for _, l := range lengths {
		p := plan(l, 4)
		p.Fixed = true
		s := begin(t, p)
		_, n := check.At(s)
		sit(t, s, newRule(4).key, nil)
		if done, slots := check.At(s); done != n || slots != n || len(s.Log()) != n || s.Further() || s.Plan().More != 0 {
			t.Errorf("%s: %d planned, %d asked", l, n, len(s.Log()))
		}
		if r, err := check.Resume(p, stored(t, s.Log())); err != nil || !r.Over() {
			t.Errorf("%s: %v", l, err)
		}
	}
}

// A check that comes again after another says so, once for each time it comes, and the first time it is introduced.
func TestBackAndFirst(t *testing.T) {
	p := plan(check.Long, 5)
	p.Reference = check.Paper
	s := begin(t, p)
	met := map[check.Aspect]bool{}
	was := check.Aspect("")
	backs := 0
	look := func(q check.Presentation) {
		if q.First == met[q.Check] || q.Back != (met[q.Check] && was != q.Check) {
			t.Fatalf("%s after %q: first %v, back %v", q.Check, was, q.First, q.Back)
		}
		if q.Back {
			backs++
		}
	}
	v := newRule(5)
	dst := image.NewRGBA(bounds)
	for n := 0; !s.Over(); n++ {
		look(must(s.Present(bounds)))
		if n%7 == 0 {
			s.Disturb("hidden", clock) // and asked again with the same words
			look(must(s.Present(bounds)))
		}
		answerOne(t, s, v, dst)
		j := s.Log()[len(s.Log())-1]
		was, met[j.Check] = j.Check, true
		if n%50 == 49 {
			r, err := check.Resume(s.Plan(), stored(t, s.Log()))
			if err != nil {
				t.Fatal(err)
			}
			if q, ok := r.Present(bounds); ok {
				look(q)
			}
		}
	}
	if len(met) != 10 || backs == 0 {
		t.Errorf("%v came up, %d came again", met, backs)
	}
}

// White is asked about where there is a reference, in words that name it.
func TestReference(t *testing.T) {
	for reference, word := range map[string]string{"": "", check.Paper: "paper", check.OtherScreen: "other screen"} {
		p := plan(check.Short, 6)
		p.Reference = reference
		s := begin(t, p)
		asked := 0
		sit(t, s, newRule(6).key, func(q check.Presentation, _ *image.RGBA) {
			if q.Check == check.White {
				asked++
				if !strings.Contains(q.Question, word) {
					t.Errorf("%q is asked with a reference of %q", q.Question, reference)
				}
			}
		})
		if (asked > 0) != (reference != "") || s.Asks(check.White) != (reference != "") || (s.Results().White != nil) != (reference != "") {
			t.Errorf("reference %q: white is asked about %d times", reference, asked)
		}
		_, without := check.Reckoned(begin(t, plan(check.Short, 6)))
		if _, may := check.Reckoned(s); reference != "" && may < without+time.Minute {
			t.Errorf("reference %q: %v instead of %v", reference, may, without)
		}
	}
}
