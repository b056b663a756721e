package check

import (
	"math"
	"math/rand/v2"
	"slices"

	"example.org/plumb/patterns/screen"
)

// Results are what a sitting found. A check without a judgement that counts is nil.
type Results struct {
	Ranges [screen.Ranges]float64 // probability of each range of the screen, from every check that bears on it

	Shadows, Highlights *NearEnd
	Tone                *ToneResult
	Neutrals            *NeutralsResult
	Smoothness          *SmoothnessResult
	Evenness            *EvennessResult
	Reach               *ReachResult
	Channels            *ChannelsResult
	Angle               *AngleResult
	White               *WhiteResult
}

// Profile returns the quantities that were estimated.
func (r Results) Profile() screen.Profile {
	p := screen.Profile{}
	if r.Shadows != nil {
		p[screen.FirstVisible] = r.Shadows.First
	}
	if r.Highlights != nil {
		p[screen.FirstBelow] = r.Highlights.First
	}
	if t := r.Tone; t != nil {
		p[screen.Gamma], p[screen.Departure], p[screen.ToneMargin] = t.Gamma, t.Departure, t.Margin
		p[screen.RowsColumns], p[screen.Noise] = t.RowsColumns, t.Noise
	}
	if n := r.Neutrals; n != nil {
		p[screen.GreyTint] = n.Tint
	}
	if m := r.Smoothness; m != nil {
		p[screen.Bits] = m.Bits
	}
	if e := r.Evenness; e != nil {
		p[screen.Unevenness] = e.Worst
		if len(e.Tint.At) > 0 {
			p[screen.FieldTint] = e.Tint
		}
	}
	if c := r.Reach; c != nil {
		p[screen.Reach] = c.Reach
	}
	if w := r.White; w != nil {
		p[screen.WhiteOffset] = w.Offset
	}
	return p
}

// Results returns what is known so far. The caller must not change it.
func (s *Sitting) Results() Results {
	if s.found == nil {
		r := Results{Ranges: s.ranges(nil)}
		for _, a := range order {
			if s.counted(a) {
				s.find(&r, a, Draws)
				s.Breath()
			}
		}
		s.found = &r
	}
	return *s.found
}

// glances is how many curves are drawn where a plan is made.
const glances = 300

// glimpse notes the ranges for checks that have learned since a round was last planned. It is called for every round, one that a log tells of too: so a
// sitting that is taken up plans as one that went through.
func (s *Sitting) glimpse() {
	var ranges *[screen.Ranges]float64
	for _, a := range order {
		if _, ok := s.glimpsing[a]; ok || !s.counted(a) {
			continue
		}
		if ranges == nil {
			now := s.ranges(nil)
			ranges = &now
		}
		s.glimpsing[a] = *ranges
	}
}

// glance returns the quantities that are known so far, from fewer draws than Results. What a check found is kept until it learns more: that the ranges
// have moved a little since is no matter to a plan.
func (s *Sitting) glance() screen.Profile {
	all := screen.Profile{}
	for _, a := range order {
		if !s.counted(a) {
			continue
		}
		if s.glimpsed[a] == nil {
			r := Results{Ranges: s.glimpsing[a]}
			s.find(&r, a, glances)
			s.glimpsed[a] = r.Profile()
			s.Breath()
		}
		for q, e := range s.glimpsed[a] {
			all[q] = e
		}
	}
	return all
}

// counted reports whether a check has a judgement that its estimate rests on.
func (s *Sitting) counted(a Aspect) bool {
	return s.asked[slot{a, Trial}]+s.asked[slot{a, Setting}] > 0
}

// find fills in what one check found, from about n draws.
func (s *Sitting) find(r *Results, a Aspect, n int) {
	seed := uint64(0x746f6e65)
	for _, c := range a {
		seed = seed<<7 ^ uint64(c)
	}
	random := rand.New(&breathing{Source: rand.NewPCG(s.plan.Seed, seed), breath: s.Breath})
	switch p := s.procedures[a].(type) {
	case *cells:
		v := p.result(r.Ranges)
		if a == Shadows {
			r.Shadows = &v
		} else {
			r.Highlights = &v
		}
	case *lines:
		aim, _ := screen.AimByID(s.plan.Aim)
		v := p.result(aim, r.Ranges, n, random)
		r.Tone = &v
	case *neutrals:
		v := p.result(random)
		r.Neutrals = &v
	case *smoothness:
		v := p.result(r.Ranges, random)
		r.Smoothness = &v
	case *evenness:
		v := p.result(n, random)
		r.Evenness = &v
	case *reach:
		v := p.result(random)
		r.Reach = &v
	case *channels:
		v := p.result(random)
		r.Channels = &v
	case *angle:
		v := p.result(random)
		r.Angle = &v
	case *white:
		v := p.result(random)
		r.White = &v
	}
}

// ranges returns the probability of each range of the screen: what every check says of it counts, but for one that may be left out.
func (s *Sitting) ranges(but procedure) [screen.Ranges]float64 {
	var log [screen.Ranges]float64
	for r, p := range screen.RangePrior {
		log[r] = math.Log(p)
	}
	for _, a := range order {
		if p, ok := s.procedures[a].(ranger); ok && s.procedures[a] != but && s.counted(a) {
			for r, l := range p.ranges() {
				log[r] += l
			}
		}
	}
	probabilities(log[:])
	return log
}

// probabilities turns logarithms of weights into probabilities that sum to 1, in place.
func probabilities(logs []float64) {
	most, sum := slices.Max(logs), 0.0
	for i, l := range logs {
		logs[i] = math.Exp(l - most)
		sum += logs[i]
	}
	for i := range logs {
		logs[i] /= sum
	}
}
