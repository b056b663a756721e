package check_test

import (
	"encoding/json"
	"image"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/screen"
)

// goOn does with a sitting all that can be done; none of it may panic.
func goOn(s *check.Sitting, dst *image.RGBA) {
	s.Present(dst.Rect)
	s.Frame(dst)
	s.Rest(dst)
	for _, k := range []string{"Space", "ArrowUp", "ArrowLeft", "KeyQ", "Digit2", "Enter"} {
		s.Press(k, clock, time.Second)
	}
	s.Disturb("hidden", clock)
	s.Practise()
	s.TakeBack()
	s.Open()
	s.Further()
	aim, _ := screen.AimByID(s.Plan().Aim)
	s.Results().Possibles(aim, 3, rand.New(rand.NewPCG(1, 2)))
	s.Results().Profile()
	s.Stop()
	s.Further()
	s.Frame(dst)
}

// resume hands a log to Resume. It is refused by name, or taken; never does it panic.
func resume(t *testing.T, p check.Plan, log []check.Judgement) *check.Sitting {
	t.Helper()
	s, err := check.Resume(p, log)
	if err != nil && (!strings.HasPrefix(err.Error(), "check: ") || s != nil) {
		t.Fatalf("%v, %v", s, err)
	}
	return s
}

// FuzzResume hands logs that were meddled with to Resume.
func FuzzResume(f *testing.F) {
	add := func(p check.Plan, log []check.Judgement) {
		plan, err := json.Marshal(p)
		if err != nil {
			f.Fatal(err)
		}
		b, err := json.Marshal(log)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(plan, b)
	}
	whole := func(p check.Plan) []check.Judgement { return sit(f, begin(f, p), newRule(41).key, nil).s.Log() }
	short := plan(check.Short, 41)
	log := whole(short)
	add(short, log[:4])
	add(short, log)
	for _, a := range all() {
		if a == check.Handling {
			continue
		}
		p := only(plan(check.Long, 41), a)
		p.Reference = check.Paper
		log := whole(p)
		add(p, log[:min(7, len(log))])
	}
	add(check.Plan{}, nil)
	f.Add([]byte(`{"battery":2,"length":"short","aim":"usual","degree":-1}`), []byte(`[{"n":0,"check":"shadows","kind":"practice","stimulus":{"of":-1}}]`))
	dst := image.NewRGBA(image.Rect(0, 0, 60, 60))
	f.Fuzz(func(t *testing.T, plan, log []byte) {
		var p check.Plan
		var l []check.Judgement
		if json.Unmarshal(plan, &p) != nil || json.Unmarshal(log, &l) != nil {
			return
		}
		if s := resume(t, p, l); s != nil {
			goOn(s, dst)
		}
	})
}

// Logs of every check, of which any field was given any value, are refused or taken.
func TestResumeOfAnything(t *testing.T) {
	r := rand.New(rand.NewPCG(42, 42))
	dst := image.NewRGBA(image.Rect(0, 0, 60, 60))
	pick := func(of ...int) int { return of[r.IntN(len(of))] }
	code := func() uint8 { return uint8(pick(0, 1, 2, 60, 119, 128, 200, 254, 255, r.IntN(256))) }
	number := func() int {
		return pick(-1<<40, -256, -101, -3, -1, 0, 1, 2, 3, 4, 5, 8, 9, 24, 25, 100, 255, 256, 1<<40, r.IntN(64))
	}
	words := []string{"", "red", "green", "blue", "pink-green", "blue-yellow", "nothing"}
	taken, refused := 0, 0
	for _, a := range append(all(), "", "nothing") {
		p := only(plan(check.Long, 43), a)
		p.Reference = check.Paper
		log := sit(t, begin(t, p), newRule(43).key, nil).s.Log()
		n := 24
		if len(log) == 0 { // none is asked about
			log, n = []check.Judgement{{Check: a, Kind: check.Trial}}, 12
		}
		if testing.Short() {
			n /= 4
		}
		for range n {
			l := append([]check.Judgement(nil), log[:1+r.IntN(min(len(log), 12))]...)
			for range 1 + r.IntN(3) {
				j := &l[len(l)-1-r.IntN(min(len(l), 3))]
				s := &j.Stimulus
				for _, change := range []func(){
					func() { j.Response = number() }, func() {
						j.Kind = []check.Kind{check.Practice, check.Catch, check.Trial, check.Setting, "nothing"}[r.IntN(5)]
					},
					func() { j.Check = append(all(), "nothing")[r.IntN(12)] }, func() {
						j.Status = []check.Status{check.Counted, check.TakenBack, check.Disturbed, "nothing"}[r.IntN(4)]
					},
					func() { s.Ground = code() }, func() { s.Patch = code() }, func() { s.Cell = number() }, func() { s.A = code() }, func() { s.B = code() }, func() { s.Lit = number() }, func() { s.Of = number() },
					func() { s.Columns = !s.Columns }, func() { s.Plain = code() }, func() { s.PlainLeft = !s.PlainLeft }, func() { s.Left = code() }, func() { s.Right = code() },
					func() { s.Hue = screen.Hue(words[r.IntN(len(words))]) }, func() { s.Red = number() }, func() { s.Blue = number() }, func() { s.Grid = number() }, func() { s.Place = number() },
					func() { s.Delta = number() }, func() { s.Bits = number() }, func() { s.Primary = words[r.IntN(len(words))] }, func() { s.Reach = float64(number()) / 4 },
					func() { s.Channel = number() }, func() { s.At = number() },
				} {
					if r.IntN(18) == 0 {
						change()
					}
				}
			}
			s := resume(t, p, l)
			if s == nil {
				refused++
				continue
			}
			taken++
			if taken%5 == 0 {
				goOn(s, dst)
			}
		}
	}
	t.Logf("%d taken, %d refused", taken, refused)
	if taken < 20 || refused < 30 {
		t.Errorf("%d taken, %d refused", taken, refused)
	}
}
