package report

import (
	"fmt"
	"sort"

	"example.org/plumb/patterns/check"
)

// Limits beyond which a sitting cannot be used. That a quarter of obvious differences missed means a viewer who does not look is from simulation: a
// viewer who clicks at random misses more than half, a typical one at most 1 in 30. Nobody sees, decides and presses in half a second, trial
// after trial; common practice, no source.
const (
	missedShare  = 0.25
	leastCatches = 3
	fastest      = 500 // ms, median
)

// A Reliability is how the viewer answered.
type Reliability struct {
	Catches, Missed int   // obvious differences shown, and missed
	Answers         int   // that were timed: settings and practice left out
	Median          int64 // ms to one of them; 0 without any
	Left, Lines     int   // comparisons answered "left", and all comparisons
	CantTell        int
	TakenBack       int
	Disturbed       int
}

// Reliable sums up the judgements of a sitting.
func Reliable(log []check.Judgement) Reliability {
	var r Reliability
	var times []int64
	for _, j := range log {
		switch j.Status {
		case check.TakenBack:
			r.TakenBack++
			continue
		case check.Disturbed:
			r.Disturbed++
			continue
		}
		if j.Kind == check.Catch {
			r.Catches++
			if !j.Right {
				r.Missed++
			}
		}
		if j.Response == check.CantTell {
			r.CantTell++
		}
		if j.Kind != check.Setting && j.Kind != check.Practice {
			times = append(times, j.Latency)
		}
		if j.Check == check.Tone && j.Kind == check.Trial && j.Response != check.CantTell {
			r.Lines++
			if j.Response == 0 {
				r.Left++
			}
		}
	}
	if r.Answers = len(times); r.Answers > 0 {
		sort.Slice(times, func(a, b int) bool { return times[a] < times[b] })
		r.Median = times[len(times)/2]
	}
	return r
}

// void returns why a sitting cannot be used.
func (r Reliability) void() []string {
	var why []string
	if r.Missed >= leastCatches && float64(r.Missed) >= missedShare*float64(r.Catches) {
		why = append(why, fmt.Sprintf("%d of %d obvious differences were missed, so the other answers cannot be relied on. Sit again when there is time to look.", r.Missed, r.Catches))
	}
	if r.Answers > 0 && r.Median < fastest {
		why = append(why, fmt.Sprintf("Half of the answers came within %d ms, faster than anyone can look and decide. Sit again without hurry.", r.Median))
	}
	return why
}

// notes returns what a reader should know of the answers.
func (r Reliability) notes() []string {
	var n []string
	if r.Catches > 0 {
		n = append(n, fmt.Sprintf("%d of %d obvious differences were seen.", r.Catches-r.Missed, r.Catches))
	}
	if r.Lines >= 12 && (r.Left*4 < r.Lines || r.Left*4 > 3*r.Lines) {
		n = append(n, fmt.Sprintf("%d of %d comparisons were answered \"left\". Sides were mixed, so this adds to the uncertainty and does not shift the result.", r.Left, r.Lines))
	}
	if r.CantTell > 0 {
		n = append(n, fmt.Sprintf("\"Can't tell\" was the answer %s.", times(r.CantTell)))
	}
	if r.Disturbed > 0 {
		n = append(n, fmt.Sprintf("A disturbance made the program ask again %s.", times(r.Disturbed)))
	}
	return n
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}
