package check_test

import (
	"encoding/json"
	"image"
	"strings"
	"testing"
	"time"

	"example.org/plumb/patterns/check"
)

// FuzzResume hands logs that were meddled with to Resume. It refuses them by name, or goes on with them; it never panics.
func FuzzResume(f *testing.F) {
	whole := sit(f, begin(f, plan(check.Short, 41)), newRule(41).key, nil).s.Log()
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
	add(plan(check.Short, 41), whole[:4])
	add(plan(check.Short, 41), whole)
	tone := only(plan(check.Short, 41), check.Tone)
	add(tone, sit(f, begin(f, tone), newRule(41).key, nil).s.Log()[:7])
	add(check.Plan{}, nil)
	f.Add([]byte(`{"battery":1,"length":"short","aim":"usual","degree":-1}`), []byte(`[{"n":0,"check":"shadows","kind":"practice","stimulus":{"of":-1}}]`))
	dst := image.NewRGBA(image.Rect(0, 0, 60, 60))
	f.Fuzz(func(t *testing.T, plan, log []byte) {
		var p check.Plan
		var l []check.Judgement
		if json.Unmarshal(plan, &p) != nil || json.Unmarshal(log, &l) != nil {
			return
		}
		s, err := check.Resume(p, l)
		if err != nil {
			if !strings.HasPrefix(err.Error(), "check: ") || s != nil {
				t.Fatalf("%v, %v", s, err)
			}
			return
		}
		s.Present(dst.Rect)
		s.Frame(dst)
		s.Press("Space", clock, time.Second)
		s.Press("ArrowUp", clock, time.Second)
		s.Disturb("hidden", clock)
		s.Practise()
		s.TakeBack()
		s.Results()
	})
}
