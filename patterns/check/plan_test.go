package check_test

import (
	"image"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
)

// Moments of the standard normal are 1, 1, 3, 15, 105, 945 and 10395; seven points have them up to the 13th and not the 14th, 135135. Source: Abramowitz and
// Stegun 1964, 25.4.46 and 26.2.
func TestNormalNodes(t *testing.T) {
	for k, want := range []float64{1, 0, 1, 0, 3, 0, 15, 0, 105, 0, 945, 0, 10395, 0} {
		got, size := 0.0, 0.0
		for _, n := range check.NormalNodes {
			got += n.Moment(k)
			size += math.Abs(n.Moment(k))
		}
		if math.Abs(got-want) > 1e-9*math.Max(size, 1) {
			t.Errorf("moment %d is %.12g, want %g", k, got, want)
		}
	}
	got := 0.0
	for _, n := range check.NormalNodes {
		got += n.Moment(14)
	}
	if math.Abs(got-135135) < 1000 {
		t.Errorf("moment 14 is %g: seven points cannot have it", got)
	}
}

// phi is the normal distribution function.
func phi(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// What is foreseen is what comes of it: of a quantity that is known normally, and measured again with normal noise, the probability of being below a limit moves as
// in a simulation, and in the mean it stays.
func TestForeseen(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 5))
	const draws = 40000
	for _, limit := range []float64{-1.5, -0.4, 0, 0.3, 1, 2.2} {
		for _, sharper := range []float64{0.95, 0.8, 0.5} {
			// By simulation: theta is normal, seen once more with as much noise as makes its SD smaller by sharper.
			more := 1/(sharper*sharper) - 1 // precision
			mean, sure, decided := 0.0, 0.0, 0.0
			for range draws {
				seen := r.NormFloat64() + r.NormFloat64()/math.Sqrt(more)
				at := seen * more / (1 + more)
				p := phi((limit - at) / sharper)
				mean += p / draws
				sure += max(p, 1-p) / draws
				if p > 0.9 || p < 0.1 {
					decided += 1.0 / draws
				}
			}
			// By the formula, over all that may come.
			const steps, wide = 4000, 8.0
			var got [3]float64
			for i := range steps {
				z := wide * (2*(float64(i)+0.5)/steps - 1)
				w := math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) * 2 * wide / steps
				p := check.Foreseen(phi(limit), sharper, z)
				got[0] += w * p
				got[1] += w * max(p, 1-p)
				if p > 0.9 || p < 0.1 {
					got[2] += w
				}
			}
			if math.Abs(got[0]-phi(limit)) > 1e-6 {
				t.Errorf("limit %g, sharper %g: %.4f is foreseen in the mean, now it is %.4f", limit, sharper, got[0], phi(limit))
			}
			for i, want := range []float64{mean, sure, decided} {
				if math.Abs(got[i]-want) > 4*0.5/math.Sqrt(draws) {
					t.Errorf("limit %g, sharper %g: foreseen %d %.4f, simulated %.4f", limit, sharper, i, got[i], want)
				}
			}
			// And by the quadrature that plans are made with; it is coarse where a threshold is.
			nodes := 0.0
			for _, n := range check.NormalNodes {
				p := check.Foreseen(phi(limit), sharper, n.At())
				nodes += n.Moment(0) * max(p, 1-p)
			}
			if math.Abs(nodes-sure) > 0.09 {
				t.Errorf("limit %g, sharper %g: %.4f by seven points, simulated %.4f", limit, sharper, nodes, sure)
			}
		}
	}
	for _, p := range []float64{0, 1e-12, 1, 0.5} { // certainty stays finite
		if v := check.Foreseen(p, 0.7, 3); math.IsNaN(v) || v < 0 || v > 1 {
			t.Errorf("%g becomes %g", p, v)
		}
	}
}

// normal is an estimate of equal masses at the quantiles of a normal, none below 0.
func normal(mean, sd float64) psychophysics.Estimate {
	var at, mass []float64
	for i := range 400 {
		at, mass = append(at, max(mean+sd*math.Sqrt2*math.Erfinv(2*(float64(i)+0.5)/400-1), 0)), append(mass, 1)
	}
	return psychophysics.NewEstimate(at, mass)
}

// profile is of a screen whose quantities lie at so many tolerances (of bits: at half a bit from the limit for each, above it).
func profile(aim screen.Aim, at, sd float64) screen.Profile {
	p := screen.Profile{}
	for _, n := range check.Needs(check.Colour, aim) {
		if n.Lo > 0 {
			p[n.Quantity] = normal(n.Lo+0.5*(1-at), 0.5*sd)
			continue
		}
		p[n.Quantity] = normal(n.Hi*at, n.Hi*sd)
	}
	return p
}

// Verdicts are worth more the surer they are, on either side of a limit; nothing is worth nothing.
func TestWorth(t *testing.T) {
	for _, aim := range screen.Aims {
		now := func(p screen.Profile) float64 { return check.Worth(p, aim, "", 0, 0) }
		if w := now(screen.Profile{}); w != float64(len(check.Uses))*(1+0.3) { // vacuously
			t.Logf("%s: nothing known is worth %g", aim.ID, w)
		}
		// All within: the further from the limit and the sharper, the more.
		last := -1.0
		for _, at := range []float64{0.95, 0.8, 0.6, 0.4, 0.2} {
			w := now(profile(aim, at, 0.2))
			if w < last {
				t.Errorf("%s: at %g of the tolerance it is worth %g, nearer to it %g", aim.ID, at, w, last)
			}
			last = w
		}
		if least := now(profile(aim, 0.95, 0.2)); last <= least {
			t.Errorf("%s: all settled is worth %g, all unsure %g", aim.ID, last, least)
		}
		last = -1
		for _, sd := range []float64{1, 0.6, 0.4, 0.3, 0.2, 0.1, 0.05} {
			w := now(profile(aim, 0.7, sd))
			if w < last-1e-9 {
				t.Errorf("%s: with an SD of %g it is worth %g, with a greater one %g", aim.ID, sd, w, last)
			}
			last = w
		}
		// One that is surely off settles what rests on it.
		p := profile(aim, 0.2, 0.1)
		sound := now(p)
		p[screen.FirstVisible] = normal(40, 1)
		if off := now(p); math.Abs(off-sound) > 0.05 {
			t.Errorf("%s: surely off is worth %g, surely within %g", aim.ID, off, sound)
		}
		p[screen.FirstVisible] = normal(9, 3)
		if open := now(p); open > sound-0.5 {
			t.Errorf("%s: open is worth %g, settled %g", aim.ID, open, sound)
		}
		// More judgements are worth something where it is open, and nothing where it is settled.
		gain := func(p screen.Profile, a check.Aspect) float64 {
			g := -now(p)
			for _, n := range check.NormalNodes {
				g += n.Moment(0) * check.Worth(p, aim, a, 0.75, n.At())
			}
			return g
		}
		for _, n := range check.Needs(check.Colour, aim) {
			open, settled := profile(aim, 0.2, 0.1), profile(aim, 0.2, 0.1)
			open[n.Quantity] = profile(aim, 0.97, 0.2)[n.Quantity]
			a, b := gain(open, n.Aspect), gain(settled, n.Aspect)
			if a < 0.05 || math.Abs(b) > 0.02 {
				t.Errorf("%s: %s gains %g where it is open and %g where it is settled", aim.ID, n.Aspect, a, b)
			}
			for _, o := range check.Needs(check.Colour, aim) {
				if other := gain(open, o.Aspect); o.Aspect != n.Aspect && other >= a/2 {
					t.Errorf("%s: with %s open %s gains %g, %s %g", aim.ID, n.Aspect, o.Aspect, other, n.Aspect, a)
				}
			}
		}
	}
}

// The plan asks more where it is unsure: near a tolerance in one aspect, that aspect gets more judgements than on an ordinary screen; and it asks in whole
// rounds, with catch trials.
func TestThePlanAsksWhereItIsUnsure(t *testing.T) {
	const seeds = 3
	planned := func(change func(v *rule)) map[check.Aspect]int {
		got := map[check.Aspect]int{}
		for seed := range uint64(seeds) {
			s := begin(t, plan(check.Standard, 70+seed))
			v := newRule(70 + seed)
			v.noise = 40
			change(v)
			sit(t, s, v.key, nil)
			trials, catches := 0, 0
			for _, j := range s.Log() {
				switch j.Kind {
				case check.Catch:
					catches++
				case check.Practice:
				default:
					trials++
				}
			}
			if catches*10 < trials || catches*6 > trials {
				t.Errorf("%d catch trials among %d others", catches, trials)
			}
			for _, a := range check.Aspects {
				n := check.Planned(s, a)
				base := check.Planned(begin(t, s.Plan()), a)
				if more := n - base; more < 0 || more > 0 && more%check.Rounds[a] != 0 {
					t.Errorf("%s: %d judgements, of which %d in rounds of %d", a, n, n-base, check.Rounds[a])
				}
				got[a] += n
			}
		}
		return got
	}
	// Far from its tolerance a quantity is settled by what every sitting asks for. That of an even or a neutral screen is not: few judgements leave room for some
	// unevenness and some tint. Near it is where a round can settle it: right at the tolerance none would, and the score has the time.
	for _, c := range []struct {
		a         check.Aspect
		near, far func(v *rule)
	}{
		{check.Shadows, func(v *rule) { v.dark = 11 }, func(v *rule) { v.dark = 4 }},
		{check.Highlights, func(v *rule) { v.bright = 6 }, func(v *rule) { v.bright = 2 }},
		{check.Evenness, func(v *rule) { v.fall = 160 }, func(v *rule) { v.fall = 500 }},
	} {
		near, far := planned(c.near), planned(c.far)
		t.Logf("%s near its tolerance: %d judgements, else %d", c.a, near[c.a], far[c.a])
		if near[c.a] <= far[c.a] {
			t.Errorf("%s near its tolerance: %d judgements, else %d", c.a, near[c.a], far[c.a])
		}
	}
}

// Where the verdicts have what they need, the time goes to what the score rests on: without that, tone and neutrals had 152 judgements here in all.
func TestThePlanSharpensTheScore(t *testing.T) {
	n := 0
	for seed := range uint64(4) {
		s := begin(t, plan(check.Standard, 170+seed))
		sit(t, s, newRule(170+seed).key, nil)
		n += check.Planned(s, check.Tone) + check.Planned(s, check.Neutrals)
	}
	if n < 190 {
		t.Errorf("%d judgements of tone and neutrals", n)
	}
}

// A sitting that is taken up where a round was planned knows what the one that went through planned it from, to the last bit: that others have since moved
// the ranges counts in neither.
func TestPlansRestOnTheLog(t *testing.T) {
	p := plan(check.Standard, 75)
	s := begin(t, p)
	v := newRule(75)
	v.dark, v.bright = 12, 5
	last, rounds := 0, 0
	sit(t, s, v.key, func(check.Presentation, *image.RGBA) {
		if _, n := check.At(s); n == last {
			return
		} else {
			last = n
		}
		rounds++
		r, err := check.Resume(p, stored(t, s.Log()))
		if err != nil {
			t.Fatal(err)
		}
		if got, want := check.Glance(r), check.Glance(s); !reflect.DeepEqual(got, want) {
			for q := range want {
				if !reflect.DeepEqual(got[q], want[q]) {
					t.Errorf("round %d is planned from %s of %g, taken up of %g", rounds, q, want[q].Mean(), got[q].Mean())
				}
			}
		}
	})
	if rounds < 4 {
		t.Errorf("%d rounds", rounds)
	}
}

// What is vague in the score is laid to what it comes of, and to nothing where the score cannot move.
func TestBlur(t *testing.T) {
	of := func(margin, marginSD, tint, tintSD float64) map[check.Aspect]float64 {
		return check.Blur(screen.Profile{screen.ToneMargin: normal(margin, marginSD), screen.GreyTint: normal(tint, tintSD)})
	}
	if b := of(1, 0.3, 0.001, 0.0005); b[check.Tone] < 0.02 || b[check.Neutrals] > b[check.Tone]/20 {
		t.Errorf("vague in tone: %v", b)
	}
	if b := of(0.1, 0.03, 0.012, 0.004); b[check.Neutrals] < 0.02 || b[check.Tone] > b[check.Neutrals]/20 {
		t.Errorf("vague in neutrals: %v", b)
	}
	for _, b := range []map[check.Aspect]float64{of(0.1, 0.03, 0.001, 0.0005), of(6, 0.5, 0.001, 0.0005), check.Blur(nil)} {
		for a, v := range b {
			if math.Abs(v) > 1e-3 {
				t.Errorf("the score is known, yet %s blurs it by %g", a, v)
			}
		}
	}
	last := of(1, 0.02, 0.001, 0.0005)[check.Tone]
	for _, sd := range []float64{0.05, 0.1, 0.2, 0.3} {
		b := of(1, sd, 0.001, 0.0005)[check.Tone]
		if b <= last {
			t.Errorf("with an SD of %g tone blurs the score by %g, with a smaller one by %g", sd, b, last)
		}
		last = b
	}
}

// The score that plans are made with is about the true one, and never rises with a departure.
func TestScoreAbout(t *testing.T) {
	aim := screen.Aims[0]
	intent, judge := report.Intended(aim), aim.Judge()
	sum, n := 0.0, 0.0
	for _, gamma := range []float64{1.9, 2.0, 2.1, 2.2, 2.3, 2.35, 2.4, 2.5, 2.7} {
		for _, slope := range []float64{0, 0.002, 0.004, 0.006, 0.009} {
			p := screen.Possible{Tone: screen.Tone{Gamma: gamma}, Clip: 255, Bits: 8}
			p.Tint[0][0], p.Tint[1][0] = slope, slope/2
			_, _, margin := judge.Departure(p.Tone.Light)
			about, score := 100*check.ScoreAbout(margin, p.Tint.Greatest()), intent.Score(report.ShownBy(&p))
			sum, n = sum+math.Abs(about-score), n+1
			if math.Abs(about-score) > 35 {
				t.Errorf("gamma %g, slope %g: about %.0f, truly %.0f", gamma, slope, about, score)
			}
		}
	}
	if mean := sum / n; mean > 12 {
		t.Errorf("it is off by %.1f on average", mean)
	}
	for _, tint := range []float64{0, 0.005, 0.02} {
		last := 1.0
		for i := range 300 {
			v := check.ScoreAbout(float64(i)/10, tint)
			if v > last || v < 0 {
				t.Fatalf("at a margin of %g and a tint of %g it is %g, after %g", float64(i)/10, tint, v, last)
			}
			last = v
		}
	}
}
