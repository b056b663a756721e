package check

import (
	"math"
	"math/rand/v2"

	"example.org/plumb/patterns/screen"
)

// After the judgements that every sitting asks for, the time that is left is spent in rounds of a few judgements. Each goes to the check from which
// the verdicts are expected to gain most for its time. A round is fixed before it begins and the verdicts are looked at only between rounds, because
// looking after every answer and stopping at a lucky moment makes errors more frequent.

// rounds is how many judgements a round has.
var rounds = map[Aspect]int{Shadows: 6, Highlights: 5, Tone: 8, Neutrals: 8, Smoothness: 6, Evenness: 8, ColourRange: 4}

// settled is the probability at which the plan takes a question as answered. It is stricter than a verdict, so that none rests on a lucky moment.
const settled = 0.97

// Sure is how probable it must be that a screen is within tolerance before a verdict says so, and SureOff how probable that it is not: who is told that a
// screen is off acts on it.
const Sure, SureOff = 0.9, 0.95

// answered is how far a question is answered that has one answer with probability yes and the other with no: most of it is a verdict, the rest one
// that will stand.
func answered(yes, no float64) float64 {
	switch {
	case max(yes, no) > settled:
		return 1
	case yes > Sure || no > SureOff:
		return 0.6
	}
	return 0
}

// idle is the expected gain for each minute below which there is nothing left to ask.
const idle = 0.004

// foresight is how many rounds of one check in a row are weighed: a verdict that no single round would settle may be worth several.
const foresight = 4

// virtual is how many judgements a prior counts for when the gain of more is foreseen.
const virtual = 3

// extend appends the next round, if any. hint is the check that a log says came next, or empty.
func (s *Sitting) extend(hint Aspect) {
	if s.plan.Fixed || s.stopped {
		return
	}
	s.glimpse()
	a := hint
	if a == "" {
		a = s.most()
	}
	if _, ok := s.plan.asks(a); !ok || rounds[a] == 0 {
		return
	}
	r := rand.New(rand.NewPCG(s.plan.Seed, uint64(len(s.slots))<<8|0x72))
	s.slots = append(s.slots, spread(a, rounds[a], s.catches(a), r)...)
}

// catches is how many catch trials the next round of a check has: so many that there is about one for 9 trials in all.
func (s *Sitting) catches(a Aspect) int {
	trials, catches := rounds[a], 0
	for _, v := range s.slots {
		switch v.kind {
		case Trial, Setting:
			trials++
		case Catch:
			catches++
		}
	}
	if catches*9 < trials {
		return 1
	}
	return 0
}

// most returns the check from which the verdicts gain most for its time, or none if the time is used up or nothing is left to gain.
func (s *Sitting) most() Aspect {
	left := s.plan.budget() - lasting(s.slots)
	last := Aspect("")
	if n := len(s.slots); n > 0 {
		last = s.slots[n-1].check
	}
	aim, _ := screen.AimByID(s.plan.Aim)
	known := likelihoods(s.glance(), aim)
	now := worth(known, "", 0, 0)
	best, at := 0.0, Aspect("")
	for _, a := range order {
		if _, ok := s.plan.asks(a); !ok || rounds[a] == 0 {
			continue
		}
		n := float64(s.asked[slot{a, Trial}]+s.asked[slot{a, Setting}]) + virtual
		round := float64(rounds[a]+s.catches(a)) * slot{a, Trial}.seconds()
		for ahead := 1; ahead <= foresight; ahead++ {
			cost := float64(ahead) * round
			if a != last {
				cost += turning(a, true)
			}
			if cost > left.Seconds()+10 { // a few seconds over is no matter
				break
			}
			sharper := math.Sqrt(n / (n + float64(ahead*rounds[a]))) // of the standard deviation
			gain := 0.0
			for _, node := range normalNodes {
				gain += node.weight * worth(known, a, sharper, node.at)
			}
			if rate := (gain - now) / cost; rate > best {
				best, at = rate, a
			}
		}
	}
	if best*60 < idle {
		return ""
	}
	return at
}

// normalNodes are the nodes and weights of Gauss-Hermite quadrature with 7 points, for a standard normal variable. Source: Abramowitz and Stegun 1964,
// table 25.10, nodes times √2 and weights over √π.
var normalNodes = [7]struct{ at, weight float64 }{
	{-3.750439717725742, 0.000548268855972}, {-2.366759410734541, 0.030757123967586}, {-1.154405394739968, 0.240123178605013}, {0, 0.457142857142858},
	{1.154405394739968, 0.240123178605013}, {2.366759410734541, 0.030757123967586}, {3.750439717725742, 0.000548268855972},
}

// A likelihood is how probable it is that a need holds.
type likelihood struct {
	of     Aspect
	within float64
}

// likelihoods are those of the needs of each of Uses that were asked about, in the order of the table.
func likelihoods(p screen.Profile, aim screen.Aim) [][]likelihood {
	known := make([][]likelihood, len(Uses))
	for use := range Uses {
		for _, t := range Needs(use, aim) {
			if e := p[t.Quantity]; len(e.At) > 0 {
				known[use] = append(known[use], likelihood{t.Aspect, e.Within(t.Lo, t.Hi)})
			}
		}
	}
	return known
}

// worth is how much the verdicts are worth: 1 for each purpose that is settled, less for each aspect, and a little for how near they are. For the check a
// each need's probability is what it would be with a standard deviation sharper by the given factor, the mean having moved by at of the standard deviations that it
// is expected to move by.
func worth(known [][]likelihood, a Aspect, sharper, at float64) float64 {
	total := 0.0
	for use, needs := range known {
		all, worst := 1.0, 1.0
		for _, n := range needs {
			within := n.within
			if n.of == a {
				within = foreseen(within, sharper, at)
			}
			all *= within
			worst = min(worst, within)
			if use == Colour {
				total += 0.1*max(within, 1-within) + 0.4*answered(within, 1-within)
			}
		}
		all = Together(all)
		total += 0.3*max(all, 1-worst) + answered(all, 1-worst)
	}
	return total
}

// foreseen is a probability after more judgements. A quantity whose limit lies z standard deviations above its mean has its limit z/sharper of the new
// ones above it, but for the move of the mean.
func foreseen(within, sharper, at float64) float64 {
	within = min(max(within, 1e-6), 1-1e-6)
	z := math.Sqrt2 * math.Erfinv(2*within-1)
	move := math.Sqrt(1/(sharper*sharper) - 1)
	return 0.5 * math.Erfc(-(z/sharper+at*move)/math.Sqrt2)
}

// Open returns the needs of purposes that are unsure, and those that a stopped sitting did not come to, in the order of the table.
func (s *Sitting) Open() []Aspect {
	aim, _ := screen.AimByID(s.plan.Aim)
	profile := s.Results().Profile()
	var open []Aspect
	seen := map[Aspect]bool{}
	for use := range Uses {
		for _, t := range Needs(use, aim) {
			e := profile[t.Quantity]
			if seen[t.Aspect] {
				continue
			}
			if len(e.At) == 0 {
				if _, asked := s.plan.asks(t.Aspect); asked && s.stopped && s.done > 0 {
					seen[t.Aspect] = true
					open = append(open, t.Aspect)
				}
				continue
			}
			if w := e.Within(t.Lo, t.Hi); w > 1-settled && w < settled {
				seen[t.Aspect] = true
				open = append(open, t.Aspect)
			}
		}
	}
	return open
}

// Further takes a sitting that is over further, for about four minutes, with the judgements that are expected to settle most of what is unsure; one that
// was stopped goes on where it was. It returns false, and changes nothing, where nothing is to be gained.
func (s *Sitting) Further() bool {
	switch {
	case s.done < len(s.slots):
		was := s.stopped
		s.stopped = false
		return was
	case s.plan.Fixed || s.plan.More >= mostMore:
		return false
	}
	stopped := s.stopped
	s.stopped = false
	s.plan.More++
	s.extend("")
	if s.done >= len(s.slots) {
		s.plan.More--
		s.stopped = stopped
		return false
	}
	return true
}
