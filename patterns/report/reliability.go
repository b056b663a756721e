package report

import (
	"fmt"
	"sort"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
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
	Left, Lines     int   // comparisons of two sides answered "left", and all of these
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
		if sided(j) && j.Response != check.CantTell {
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

// sided reports whether a judgement was a comparison of a left and a right side.
func sided(j check.Judgement) bool {
	return j.Kind == check.Trial && (j.Stimulus.Of > 0)
}

// A typical viewer's noise; see observer.Kinds.
const (
	typicalLines = 0.04 // log light, lines against plain
	typicalFar   = 0.05 // log light, places far apart
)

// scatter returns how much the viewer's judgements scattered.
func scatter(found check.Results) []Scatter {
	var all []Scatter
	add := func(a check.Aspect, h screen.Hue, e psychophysics.Estimate, typical float64) {
		if s := span(e); s != nil {
			all = append(all, Scatter{a, h, Span{s.At / typical, s.Lo / typical, s.Hi / typical}})
		}
	}
	if t := found.Tone; t != nil {
		add(check.Tone, "", t.Noise, typicalLines)
	}
	if n := found.Neutrals; n != nil {
		for i, h := range screen.Hues {
			add(check.Neutrals, h, n.Noise[i], 1)
		}
	}
	if e := found.Evenness; e != nil {
		add(check.Evenness, "", e.Noise, typicalFar)
	}
	return all
}

// visionNote is offered where answers about a colour came as by chance. It is no diagnosis.
const visionNote = "Answers about %s came much as by chance. Tired eyes, a coloured light in the room and a hurry do that, and about one man in twelve sees some colours differently. Plumb cannot tell these apart and does not test eyes. Whoever knows of it can note it with the screen; greys, steps and evenness are judged as well by every eye."

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
