package report

import (
	"reflect"
	"strings"
	"testing"

	"example.org/plumb/patterns/check"
)

// answers makes up a log of catch trials, missed first, and of trials.
func answers(missed, catches, trials int, latency int64) []check.Judgement {
	var log []check.Judgement
	for i := range catches {
		log = append(log, check.Judgement{Check: check.Shadows, Kind: check.Catch, Right: i >= missed, Latency: latency})
	}
	for range trials {
		log = append(log, check.Judgement{Check: check.Shadows, Kind: check.Trial, Latency: latency})
	}
	return log
}

func TestReliable(t *testing.T) {
	log := []check.Judgement{
		{Check: check.Shadows, Kind: check.Practice, Right: false, Latency: 90000},
		{Check: check.Shadows, Kind: check.Trial, Latency: 1000, Response: 4},
		{Check: check.Shadows, Kind: check.Trial, Latency: 3000, Response: check.CantTell},
		{Check: check.Shadows, Kind: check.Catch, Right: true, Latency: 2000},
		{Check: check.Shadows, Kind: check.Catch, Right: false, Latency: 50, Status: check.TakenBack},
		{Check: check.Shadows, Kind: check.Trial, Latency: 50, Status: check.Disturbed, Response: check.CantTell},
		{Check: check.Tone, Kind: check.Setting, Latency: 80000},
		{Check: check.Tone, Kind: check.Trial, Latency: 4000, Response: 0, Stimulus: check.Stimulus{Of: 2}},
		{Check: check.Tone, Kind: check.Trial, Latency: 5000, Response: 1, Stimulus: check.Stimulus{Of: 2}},
		{Check: check.Tone, Kind: check.Catch, Latency: 2500, Response: 1},
		{Check: check.Tone, Kind: check.Trial, Latency: 2600, Response: check.CantTell, Stimulus: check.Stimulus{Of: 2}},
	}
	want := Reliability{Catches: 2, Missed: 1, Answers: 7, Median: 2600, Left: 1, Lines: 2, CantTell: 2, TakenBack: 1, Disturbed: 1}
	if got := Reliable(log); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
	if got := Reliable(nil); got != (Reliability{}) || got.void() != nil || got.notes() != nil {
		t.Errorf("of no answers: %+v %v %v", got, got.void(), got.notes())
	}
}

// A quarter of the obvious differences missed, at least three of them; or a median answer below half a second.
func TestVoid(t *testing.T) {
	for _, c := range []struct {
		name string
		log  []check.Judgement
		want []string
	}{
		{"nothing missed", answers(0, 11, 40, 2500), nil},
		{"two of eleven", answers(2, 11, 40, 2500), nil},
		{"three of eleven", answers(3, 11, 40, 2500), []string{"3 of 11 obvious differences"}},
		{"three of twelve, a quarter", answers(3, 12, 40, 2500), []string{"3 of 12"}},
		{"three of thirteen", answers(3, 13, 40, 2500), nil},
		{"two of two", answers(2, 2, 3, 2500), nil},
		{"all, too few to say", answers(2, 4, 3, 2500), nil},
		{"in haste", answers(0, 11, 40, 499), []string{"within 499 ms"}},
		{"just not in haste", answers(0, 11, 40, 500), nil},
		{"both", answers(11, 11, 40, 200), []string{"11 of 11", "within 200 ms"}},
		{"in no time", answers(0, 11, 40, 0), []string{"within 0 ms"}},
	} {
		got := Reliable(c.log).void()
		ok := len(got) == len(c.want)
		for i := range c.want {
			ok = ok && strings.Contains(got[i], c.want[i])
		}
		if !ok {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestNotes(t *testing.T) {
	for _, c := range []struct {
		r    Reliability
		want []string
	}{
		{Reliability{Catches: 11, Missed: 1, Lines: 25, Left: 13}, []string{"10 of 11 obvious differences were seen."}},
		{Reliability{Lines: 25, Left: 3}, []string{`3 of 25 comparisons were answered "left"`}},
		{Reliability{Lines: 25, Left: 20}, []string{`20 of 25 comparisons were answered "left"`}},
		{Reliability{Lines: 11, Left: 11}, nil},
		{Reliability{CantTell: 1, Disturbed: 2}, []string{`"Can't tell" was the answer once.`, "ask again 2 times"}},
	} {
		got := c.r.notes()
		if len(got) != len(c.want) {
			t.Errorf("%+v: %q", c.r, got)
			continue
		}
		for i := range got {
			if !strings.Contains(got[i], c.want[i]) {
				t.Errorf("%+v: %q, want %q", c.r, got[i], c.want[i])
			}
		}
	}
}

func TestCounted(t *testing.T) {
	log := []check.Judgement{
		{Check: check.Tone, Kind: check.Practice}, {Check: check.Tone, Kind: check.Setting}, {Check: check.Tone, Kind: check.Catch},
		{Check: check.Tone, Kind: check.Trial}, {Check: check.Tone, Kind: check.Trial, Status: check.Disturbed}, {Check: check.Shadows, Kind: check.Trial},
		{Check: check.Tone, Kind: check.Trial, Response: check.CantTell},
	}
	got := map[check.Aspect]int{}
	for _, a := range check.Aspects {
		if n := Counted(log, a); n > 0 {
			got[a] = n
		}
	}
	if want := (map[check.Aspect]int{check.Tone: 3, check.Shadows: 1}); !reflect.DeepEqual(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}
