package check

import (
	"math"
	"math/rand/v2"
	"slices"

	"example.org/plumb/patterns/screen"
)

// After the judgements that every sitting asks for, the time that is left is spent in rounds of a few judgements. Each goes to the check from which
// the verdicts, and the score, are expected to gain most for its time. A round is fixed before it begins and the verdicts are looked at only between
// rounds, because looking after every answer and stopping at a lucky moment makes errors more frequent.

// rounds is how many judgements a round has.
var rounds = map[Aspect]int{Shadows: 6, Highlights: 5, Tone: 8, Neutrals: 8, Smoothness: 6, Evenness: 8, ColourRange: 4}

// settled is the probability at which the plan takes a question as answered. It is stricter than a verdict, so that none rests on a lucky moment.
const settled = 0.97

// Settled tells whether the plan takes a need as answered that holds with a probability: more judgements would hardly change the answer.
func Settled(within float64) bool { return within <= 1-settled || within >= settled }

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
		a = s.telling()
	}
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

// most returns the check from which the verdicts and the score gain most for its time, or none if the time is used up or nothing is left to gain.
func (s *Sitting) most() Aspect {
	left := s.plan.budget() - lasting(s.slots)
	last := Aspect("")
	if n := len(s.slots); n > 0 {
		last = s.slots[n-1].check
	}
	aim, _ := screen.AimByID(s.plan.Aim)
	profile := s.glance()
	known, blurred := likelihoods(profile, aim), blur(profile)
	if p, ok := s.procedures[Neutrals].(*neutrals); ok { // who does not see an axis teaches nothing of it
		blurred[Neutrals] *= p.seen()
	}
	now := worth(known, "", 0, 0)
	doubt, open := s.doubt()
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
			gain := scoreWorth * blurred[a] * (1 - float64(sharper*sharper))
			if a == Smoothness {
				gain += float64(rangeWorth * doubt * (1 - math.Pow(open, float64(ahead*rounds[a]))))
			}
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

// A likelihood is how probable it is that a need holds, as far as its own judgements say.
type likelihood struct {
	of     Aspect
	within float64
}

// A knowledge is what is known of the needs of a use.
type knowledge struct {
	needs []likelihood // those that were asked about, in the order of the table
	whole bool         // all were
}

// likelihoods are those of each of Uses.
func likelihoods(p screen.Profile, aim screen.Aim) []knowledge {
	known := make([]knowledge, len(Uses))
	for use := range Uses {
		needs := Needs(use, aim)
		for _, t := range needs {
			if e := p[t.Quantity]; len(e.At) > 0 {
				known[use].needs = append(known[use].needs, likelihood{t.Aspect, e.Within(t.Lo, t.Hi)})
			}
		}
		known[use].whole = len(known[use].needs) == len(needs)
	}
	return known
}

// worth is how much the verdicts are worth: 1 for each purpose that is settled, less for each aspect, and a little for how near they are. For the check a
// each need's probability is what it would be with a standard deviation sharper by the given factor, the mean having moved by at of the standard deviations that it
// is expected to move by.
func worth(known []knowledge, a Aspect, sharper, at float64) float64 {
	total := 0.0
	for use, k := range known {
		own := func(n likelihood) float64 {
			if n.of == a {
				return foreseen(n.within, sharper, at)
			}
			return n.within
		}
		all, company, worst := 1.0, 0.0, 1.0
		for _, n := range k.needs {
			all *= own(n)
		}
		if k.whole {
			company = all
		}
		for _, n := range k.needs {
			within := Among(own(n), company)
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

// scoreWorth is what it is worth to know the score, 0 to 1 here, without any variance: a standard deviation of 8 points costs as much as a verdict on a
// purpose. Ours: at 4 nothing changes, at 60 the score errs by a twentieth less, and at 400 no less than here.
const scoreWorth = 150

// rangeWorth is what it is worth to know for sure how the source's and the screen's ideas of black and white meet: no purpose needs it, but a mix-up is what
// is put right most easily once it has its name. Ours.
const rangeWorth = 3

// doubt returns how probable it is that the range of the screen is not the likeliest one, and what share of that a judgement of steps is expected to leave
// open: which steps are missing tells the ranges apart better than black, white and tones do.
func (s *Sitting) doubt() (doubt, open float64) {
	p, ok := s.procedures[Smoothness].(*smoothness)
	if !ok {
		return 0, 1
	}
	s.tell(p)
	ranges, unknown := s.ranges(nil), 0.0 // nats
	for _, w := range ranges {
		if w > 0 {
			unknown -= float64(w * math.Log(w))
		}
	}
	at := p.best()
	if at < 0 || unknown <= 0 {
		return 0, 1
	}
	return 1 - slices.Max(ranges[:]), math.Exp(-p.gain(at) / unknown)
}

// blurs is at how many quantiles of the tone's margin, and at how many of the tint, a score is foreseen.
const blurs = 24

// blur returns, of tone and of neutrals, how much of the variance of the score (0 to 1) comes of not knowing it better.
func blur(p screen.Profile) map[Aspect]float64 {
	var margin, tint, byMargin, byTint [blurs]float64
	for i := range blurs {
		q := (float64(i) + 0.5) / blurs
		if e := p[screen.ToneMargin]; len(e.At) > 0 {
			margin[i] = e.Quantile(q)
		}
		if e := p[screen.GreyTint]; len(e.At) > 0 {
			tint[i] = e.Quantile(q)
		}
	}
	mean := 0.0
	for i, m := range margin {
		for j, t := range tint {
			v := scoreAbout(m, t) / blurs
			byMargin[i], byTint[j], mean = byMargin[i]+v, byTint[j]+v, mean+v/blurs
		}
	}
	variance := func(of [blurs]float64) float64 {
		sum := 0.0
		for _, v := range of {
			sum += float64((v - mean) * (v - mean))
		}
		return sum / blurs
	}
	return map[Aspect]float64{Tone: variance(byMargin), Neutrals: variance(byTint)}
}

// seen is how probable it is that the viewer sees the axis that is seen less surely.
func (p *neutrals) seen() float64 {
	least := 1.0
	for _, a := range p.axes {
		logs, chance := a.likely()
		for k, t := range trims {
			logs[k] += math.Log(t.prior)
		}
		probabilities(logs[:])
		sees := 1.0
		for k, w := range logs {
			sees -= float64(w * chance[k])
		}
		least = min(least, sees)
	}
	return least
}

// fading is about how the score of report.Intent, 0 to 1, falls with how far a screen departs, linear between. Fitted by eye to the true scores of 700
// random screens without crush and clip: a margin of tone of 1 counts as much as a tint of 0.012 in u'v'.
var fading = [...]struct{ departs, score float64 }{{0, 1}, {0.6, 0.99}, {0.75, 0.96}, {0.9, 0.89}, {1.1, 0.6}, {1.3, 0.46}, {1.7, 0.38}, {2, 0.2}, {3, 0.1}, {20, 0}}

// scoreAbout is about what a screen scores, 0 to 1, by the margin of its tone and its greatest grey tint in u'v'.
func scoreAbout(margin, tint float64) float64 {
	t := tint / 0.012
	departs := math.Sqrt(float64(margin*margin) + float64(t*t))
	for i, to := range fading[1:] {
		if from := fading[i]; departs < to.departs {
			return from.score + float64((to.score-from.score)*(departs-from.departs)/(to.departs-from.departs))
		}
	}
	return 0
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
			if w := Among(e.Within(t.Lo, t.Hi), Product(profile, use, aim)); !Settled(w) {
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
	s.settle()
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
