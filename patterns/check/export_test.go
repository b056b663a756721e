package check

import (
	"math"
	"math/rand/v2"
	"time"

	"example.org/plumb/patterns/screen"
)

// Reckoned returns how long a sitting takes as far as it is planned, and how long it may take.
func Reckoned(s *Sitting) (takes, may time.Duration) { return lasting(s.slots), s.plan.budget() }

// Planned returns how many judgements of a check are planned so far, trials and settings.
func Planned(s *Sitting, a Aspect) int {
	n := 0
	for _, v := range s.slots {
		if v.check == a && (v.kind == Trial || v.kind == Setting) {
			n++
		}
	}
	return n
}

// At returns how many judgements are planned, and how many of these are answered: equal at the end, and where the next round is planned.
func At(s *Sitting) (done, slots int) { return s.done, len(s.slots) }

var (
	Foreseen   = foreseen
	Blur       = blur
	ScoreAbout = scoreAbout
	Rounds     = rounds
)

const (
	Idle  = idle
	Taken = mostMore
)

// RangesOf returns the log of the probability of the answers to one check under each range, up to a constant, and false where the check does not bear on it.
func RangesOf(s *Sitting, a Aspect) (logs [screen.Ranges]float64, ok bool) {
	p, ok := s.procedures[a].(ranger)
	if !ok {
		return logs, false
	}
	logs = p.ranges()
	for _, l := range logs {
		if math.IsNaN(l) {
			return logs, false
		}
	}
	return logs, true
}

// PossiblesApart is Possibles without sound screens being taken more often.
func PossiblesApart(r Results, aim screen.Aim, n int, random *rand.Rand) []screen.Possible {
	return r.possibles(aim, n, 1, random)
}

// Shown returns what is asked about now.
func Shown(s *Sitting) Stimulus {
	s.prepare()
	return s.current
}

// A Node is one of the points that plans are made with.
type Node struct{ z, w float64 }

// At returns where it lies, in standard deviations.
func (n Node) At() float64 { return n.z }

// Moment returns its weight times a power of where it lies.
func (n Node) Moment(k int) float64 { return n.w * math.Pow(n.z, float64(k)) }

// NormalNodes are all of them.
var NormalNodes = func() (all []Node) {
	for _, n := range normalNodes {
		all = append(all, Node{n.at, n.weight})
	}
	return all
}()

// Glance returns what a plan is made from.
func Glance(s *Sitting) screen.Profile {
	s.glimpse()
	return s.glance()
}

// Worth is worth of a profile.
func Worth(p screen.Profile, aim screen.Aim, a Aspect, sharper, at float64) float64 {
	return worth(likelihoods(p, aim), a, sharper, at)
}
