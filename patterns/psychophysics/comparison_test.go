package psychophysics_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/plumb/patterns/psychophysics"
)

// A spot is what the toys show: is a + b x greater than y?
type spot struct{ x, y float64 }

// line is a toy of one parameter: how much it exceeds y. Its output is the parameter.
func line(p psychophysics.Prior, noises, prior []float64, lapse float64) psychophysics.Model[spot] {
	return psychophysics.Model[spot]{
		Priors: []psychophysics.Prior{p},
		Difference: func(theta []float64, s spot, grad []float64) float64 {
			grad[0] = 1
			return theta[0] - s.y
		},
		Outputs: func(theta []float64, out []float64, jacobian [][]float64) {
			out[0], jacobian[0][0] = theta[0], 1
		},
		OutCount: 1, Noises: noises, NoisePrior: prior, Lapse: lapse,
	}
}

// bow is a toy of two parameters that is not linear: exp(a x) + b. Its outputs are exp(a) and b.
func bow(noises, prior []float64) psychophysics.Model[spot] {
	return psychophysics.Model[spot]{
		Priors: []psychophysics.Prior{{Location: 0.3, Scale: 0.2, Freedom: 8}, {Location: -0.2, Scale: 0.5}},
		Difference: func(theta []float64, s spot, grad []float64) float64 {
			e := math.Exp(theta[0] * s.x)
			grad[0], grad[1] = s.x*e, 1
			return e + theta[1] - s.y
		},
		Outputs: func(theta []float64, out []float64, jacobian [][]float64) {
			out[0], out[1] = math.Exp(theta[0]), theta[1]
			jacobian[0][0], jacobian[0][1] = out[0], 0
			jacobian[1][0], jacobian[1][1] = 0, 1
		},
		OutCount: 2, Noises: noises, NoisePrior: prior, Lapse: 0.04,
	}
}

// An answer is one observation of a toy: a setting, or "greater" (1) or not (0).
type answer struct {
	s       spot
	setting bool
	share   float64
}

const settingStep = 0.05

func tell(t *testing.T, c *psychophysics.Comparison[spot], all []answer) {
	t.Helper()
	for _, a := range all {
		if a.setting {
			c.Set(a.s, settingStep)
		} else if err := c.Record(a.s, a.share); err != nil {
			t.Fatal(err)
		}
	}
}

func density(p psychophysics.Prior, x float64) float64 {
	z := (x - p.Location) / p.Scale
	if p.Freedom == 0 {
		return math.Exp(-z*z/2) / (math.Sqrt(2*math.Pi) * p.Scale)
	}
	up, _ := math.Lgamma((p.Freedom + 1) / 2)
	down, _ := math.Lgamma(p.Freedom / 2)
	return math.Exp(up-down) / math.Sqrt(p.Freedom*math.Pi) / p.Scale * math.Pow(1+z*z/p.Freedom, -(p.Freedom+1)/2)
}

// likelihood is the probability of all answers at theta under a noise, by the plain formulas.
func likelihood(m psychophysics.Model[spot], theta []float64, noise float64, all []answer) float64 {
	p, grad := 1.0, make([]float64, len(theta))
	for _, a := range all {
		d := m.Difference(theta, a.s, grad)
		if a.setting {
			v := noise*noise + settingStep*settingStep/12
			p *= math.Exp(-d*d/(2*v)) / math.Sqrt(2*math.Pi*v)
			continue
		}
		q := m.Lapse/2 + (1-m.Lapse)*0.5*math.Erfc(-d/noise/math.Sqrt2)
		if a.share == 0 {
			q = 1 - q
		}
		p *= q
	}
	return p
}

// A truth is what a fine grid over every parameter and noise says.
type truth struct {
	evidence float64   // probability of the answers
	noise    []float64 // posterior of the noises
	mean, sd []float64 // of the parameters
	modes    [][]float64
}

// brute integrates over a grid of 2n+1 values of each parameter, 6 scales around the prior's middle.
func brute(m psychophysics.Model[spot], n int, all []answer) truth {
	k := len(m.Priors)
	w := truth{noise: make([]float64, len(m.Noises)), mean: make([]float64, k), sd: make([]float64, k), modes: make([][]float64, len(m.Noises))}
	square, sum := make([]float64, k), 0.0
	priors := 0.0
	for _, v := range m.NoisePrior {
		priors += v
	}
	theta := make([]float64, k)
	best := make([]float64, len(m.Noises))
	var walk func(j int, weight float64)
	walk = func(j int, weight float64) {
		if j < k {
			p := m.Priors[j]
			for i := -n; i <= n; i++ {
				theta[j] = p.Location + 6*p.Scale*float64(i)/float64(n)
				walk(j+1, weight*density(p, theta[j])*6*p.Scale/float64(n))
			}
			return
		}
		for i, noise := range m.Noises {
			v := weight * likelihood(m, theta, noise, all)
			if v > best[i] {
				best[i], w.modes[i] = v, append([]float64(nil), theta...)
			}
			v *= m.NoisePrior[i] / priors
			w.noise[i] += v
			sum += v
			for j := range theta {
				w.mean[j] += v * theta[j]
				square[j] += v * theta[j] * theta[j]
			}
		}
	}
	walk(0, 1)
	w.evidence = sum
	for i := range w.noise {
		w.noise[i] /= sum
	}
	for j := range w.mean {
		w.mean[j] /= sum
		w.sd[j] = math.Sqrt(square[j]/sum - w.mean[j]*w.mean[j])
	}
	return w
}

// draw makes up a viewer of a toy and answers at places scattered around the truth.
func draw(m psychophysics.Model[spot], r *rand.Rand, settings, comparisons int) []answer {
	theta, grad := make([]float64, len(m.Priors)), make([]float64, len(m.Priors))
	for j, p := range m.Priors {
		theta[j] = p.Location + p.Scale*r.NormFloat64()
	}
	noise := m.Noises[r.IntN(len(m.Noises))]
	var all []answer
	for i := range settings + comparisons {
		s := spot{x: r.Float64()}
		match := m.Difference(theta, s, grad)
		if i < settings {
			s.y = match + noise*r.NormFloat64()
			all = append(all, answer{s: s, setting: true})
			continue
		}
		s.y = match + noise*r.NormFloat64()*0.8
		share := 0.0
		if m.Difference(theta, s, grad)+noise*r.NormFloat64() > 0 {
			share = 1
		}
		all = append(all, answer{s: s, share: share})
	}
	return all
}

var toys = map[string]struct {
	m        psychophysics.Model[spot]
	cells    int     // of brute on each side
	constant float64 // by which Evidence differs from the log of the probability, for all answers without settings
}{
	"one parameter":          {line(psychophysics.Prior{Location: 1, Scale: 0.7}, []float64{0.2, 0.4, 0.8}, []float64{1, 2, 1}, 0.03), 3000, 0},
	"one parameter, t prior": {line(psychophysics.Prior{Location: 1, Scale: 0.7, Freedom: 4}, []float64{0.2, 0.4, 0.8}, []float64{1, 2, 1}, 0.03), 3000, student(4)},
	"two parameters":         {bow([]float64{0.15, 0.3, 0.6}, []float64{0.3, 0.4, 0.3}), 120, student(8)},
}

// student is the log by which the density of t at its middle is below that of a normal.
func student(freedom float64) float64 {
	return math.Log(density(psychophysics.Prior{Scale: 1}, 0) / density(psychophysics.Prior{Scale: 1, Freedom: freedom}, 0))
}

// Mode, noise, evidence and the weighted draws against a grid over everything. The normal approximation has the evidence to a few per cent, but
// for 0.17 that a t prior of 4 degrees of freedom costs where nothing has narrowed it; the draws are corrected to the posterior and differ by
// their own scatter alone.
func TestComparisonAgainstAGrid(t *testing.T) {
	for name, toy := range toys {
		t.Run(name, func(t *testing.T) {
			r := rand.New(rand.NewPCG(7, 8))
			for round := range 6 {
				if testing.Short() && round == 2 {
					break
				}
				settings := []int{0, 3}[round%2]
				all := draw(toy.m, r, settings, 14)
				c := psychophysics.NewComparison(toy.m)
				tell(t, c, all)
				if c.Count() != len(all) {
					t.Fatalf("%d answers count, want %d", c.Count(), len(all))
				}
				want := brute(toy.m, toy.cells, all)

				// A setting's normalisation, sqrt(2π) each, is left out, as is what differs between kinds of priors.
				got := c.Evidence() - toy.constant - float64(settings)*math.Log(2*math.Pi)/2
				if !near(got, math.Log(want.evidence), 0.18) {
					t.Errorf("round %d: log evidence %.4f, integrated %.4f", round, got, math.Log(want.evidence))
				}
				posterior := c.Noise()
				likeliest := 0
				for i, noise := range toy.m.Noises {
					p := posterior.Within(noise, noise)
					if !near(p, want.noise[i], 0.04) {
						t.Errorf("round %d: noise %g has %.4f, integrated %.4f", round, noise, p, want.noise[i])
					}
					if p > posterior.Within(toy.m.Noises[likeliest], toy.m.Noises[likeliest]) {
						likeliest = i
					}
				}
				for j, v := range c.Mode() {
					// Stimuli are chosen at a mode that is near enough, a hundredth of the posterior's SD and a step of the grid.
					step := 6*toy.m.Priors[j].Scale/float64(toy.cells) + 0.03*want.sd[j]
					if !near(v, want.modes[likeliest][j], step) {
						t.Errorf("round %d: mode %d is %.5f, on the grid %.5f", round, j, v, want.modes[likeliest][j])
					}
				}
				stationary(t, toy.m, c.Mode(), toy.m.Noises[likeliest], all)

				thetas, noises, weights := c.Sample(r, 6000)
				effective := 0.0
				for _, w := range weights {
					effective += w * w
				}
				effective = 1 / effective
				if effective < 1500 {
					t.Errorf("round %d: only %.0f of 6000 draws count", round, effective)
				}
				for j := range toy.m.Priors {
					value := make([]float64, len(thetas))
					for i := range thetas {
						value[i] = thetas[i][j]
					}
					e := psychophysics.NewEstimate(value, weights)
					if !near(e.Mean(), want.mean[j], 4*want.sd[j]/math.Sqrt(effective)) || !near(e.SD()/want.sd[j], 1, 0.08) {
						t.Errorf("round %d: parameter %d is %.4f ± %.4f by draws, %.4f ± %.4f on the grid", round, j, e.Mean(), e.SD(), want.mean[j], want.sd[j])
					}
				}
				drawn := psychophysics.NewEstimate(noises, weights)
				for i, noise := range toy.m.Noises {
					if p := drawn.Within(noise, noise); !near(p, want.noise[i], 0.04) {
						t.Errorf("round %d: noise %g has %.4f by draws, integrated %.4f", round, noise, p, want.noise[i])
					}
				}
			}
		})
	}
}

// stationary checks that the posterior is highest at the mode: no small step to any side is better by anything that matters.
func stationary(t *testing.T, m psychophysics.Model[spot], mode []float64, noise float64, all []answer) {
	t.Helper()
	log := func(theta []float64) float64 {
		v := math.Log(likelihood(m, theta, noise, all))
		for j, p := range m.Priors {
			v += math.Log(density(p, theta[j]))
		}
		return v
	}
	here := log(mode)
	for j, p := range m.Priors {
		for _, side := range []float64{-1, 1} {
			theta := append([]float64(nil), mode...)
			theta[j] += side * 0.02 * p.Scale
			if better := log(theta) - here; better > 2e-4 {
				t.Errorf("parameter %d: a step of %g scales is better by %g", j, side*0.02, better)
			}
		}
	}
}

// Evidence weighs models of the same answers: the ratio of two that differ in a prior's place is that of their integrals.
func TestEvidenceWeighsModels(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	models := make([]psychophysics.Model[spot], 2)
	for i, at := range []float64{0, 1} {
		models[i] = line(psychophysics.Prior{Location: at, Scale: 0.5 + at/2, Freedom: 4}, []float64{0.2, 0.5}, []float64{1, 1}, 0.03)
	}
	for range 8 {
		all := draw(models[r.IntN(2)], r, 2, 10)
		var got, want [2]float64
		for i, m := range models {
			c := psychophysics.NewComparison(m)
			tell(t, c, all)
			got[i], want[i] = c.Evidence(), math.Log(brute(m, 3000, all).evidence)
		}
		if !near(got[1]-got[0], want[1]-want[0], 0.1) {
			t.Errorf("log odds %.3f, integrated %.3f", got[1]-got[0], want[1]-want[0])
		}
	}
}

// After settings alone a line's posterior is exactly normal, and the expected fall of its variance has one integral.
func TestGainIsTheExpectedFallOfVariance(t *testing.T) {
	const noise, lapse = 0.4, 0.05
	m := line(psychophysics.Prior{Location: 0.2, Scale: 0.9}, []float64{noise}, []float64{1}, lapse)
	c := psychophysics.NewComparison(m)
	precision, shift := 1/(0.9*0.9), 0.2/(0.9*0.9)
	fall := func(s float64) (compare, set float64) {
		mean, sd := shift/precision, 1/math.Sqrt(precision)
		var mass [2]float64
		var first, second [2]float64
		const n = 4000
		for i := -n; i <= n; i++ {
			z := 8 * float64(i) / n
			x := mean + z*sd
			w := math.Exp(-z*z/2) * 8 / n / math.Sqrt(2*math.Pi)
			p := lapse/2 + (1-lapse)*0.5*math.Erfc(-(x-s)/noise/math.Sqrt2)
			for a, q := range []float64{1 - p, p} {
				mass[a] += w * q
				first[a] += w * q * x
				second[a] += w * q * x * x
			}
		}
		left := 0.0
		for a := range mass {
			left += second[a] - first[a]*first[a]/mass[a]
		}
		v := sd * sd
		return v - left, v - 1/(precision+1/(noise*noise))
	}
	for _, setting := range []float64{math.NaN(), 0.7, 0.1} {
		if !math.IsNaN(setting) {
			c.Set(spot{y: setting}, 0)
			precision += 1 / (noise * noise)
			shift += setting / (noise * noise)
		}
		g := c.Gain()
		for _, s := range []float64{-1.5, -0.3, 0.2, 0.5, 2} {
			compare, set := fall(s)
			if got := g.Compare(spot{y: s}); !near(got/compare, 1, 1e-5) {
				t.Errorf("compare at %g: %.8f, integrated %.8f", s, got, compare)
			}
			if got := g.Set(spot{y: s}); !near(got/set, 1, 1e-9) {
				t.Errorf("set at %g: %.8f, by Bayes's rule %.8f", s, got, set)
			}
		}
	}
}

// With answers behind it and outputs that are not linear the rating is an approximation: what it rates best must be nearly the best there is, by a grid.
func TestGainChoosesWell(t *testing.T) {
	m := bow([]float64{0.3}, []float64{1})
	m.Priors[0].Freedom = 0 // the rating takes all for normal
	r := rand.New(rand.NewPCG(11, 12))
	var places []spot
	for _, x := range []float64{0, 0.5, 1} {
		for y := 0.2; y < 2.5; y += 0.2 {
			places = append(places, spot{x, y})
		}
	}
	for range 3 {
		all := draw(m, r, 3, 6)
		c := psychophysics.NewComparison(m)
		tell(t, c, all)
		g := c.Gain()
		before := spread(m, all)
		best, at, mine := 0.0, 0, 0.0
		for i, s := range places {
			if v := g.Compare(s); v > mine {
				at, mine = i, v
			}
		}
		var ours float64
		for i, s := range places {
			left, total := 0.0, 0.0
			for _, share := range []float64{0, 1} {
				next := append(append([]answer(nil), all...), answer{s: s, share: share})
				p := brute(m, 24, next).evidence
				left += p * spread(m, next)
				total += p
			}
			fall := before - left/total
			if i == at {
				ours = fall
			}
			best = math.Max(best, fall)
		}
		if ours < 0.85*best {
			t.Errorf("%v lowers the variance by %.5f, the best place by %.5f", places[at], ours, best)
		}
		if !near(mine/ours, 1, 0.3) {
			t.Errorf("%v is rated %.5f and lowers the variance by %.5f", places[at], mine, ours)
		}
	}
}

// spread is the summed variance of the bow's outputs, by a grid.
func spread(m psychophysics.Model[spot], all []answer) float64 {
	const n = 24
	var sum, a, aa, b, bb float64
	p, q := m.Priors[0], m.Priors[1]
	for i := -n; i <= n; i++ {
		for j := -n; j <= n; j++ {
			theta := []float64{p.Location + 6*p.Scale*float64(i)/n, q.Location + 6*q.Scale*float64(j)/n}
			w := density(p, theta[0]) * density(q, theta[1]) * likelihood(m, theta, m.Noises[0], all)
			e := math.Exp(theta[0])
			sum, a, aa, b, bb = sum+w, a+w*e, aa+w*e*e, b+w*theta[1], bb+w*theta[1]*theta[1]
		}
	}
	return (aa-a*a/sum)/sum + (bb-b*b/sum)/sum
}

// Over viewers drawn from the priors, a 90 % interval holds the truth 90 times in 100.
func TestCoverageOfAToy(t *testing.T) {
	n := 400
	if testing.Short() {
		n = 120
	}
	m := line(psychophysics.Prior{Location: 1, Scale: 0.7}, []float64{0.2, 0.4, 0.8}, []float64{1, 2, 1}, 0.03)
	r := rand.New(rand.NewPCG(13, 14))
	inside := 0
	for range n {
		theta := 1 + 0.7*r.NormFloat64()
		noise := m.Noises[[]int{0, 1, 1, 2}[r.IntN(4)]]
		c := psychophysics.NewComparison(m)
		for range 20 {
			g := c.Gain()
			best, at := -1.0, 0.0
			for y := -2.0; y <= 4; y += 0.05 {
				if v := g.Compare(spot{y: y}); v > best {
					best, at = v, y
				}
			}
			share := 0.0
			if r.Float64() < m.Lapse {
				share = float64(r.IntN(2))
			} else if theta-at+noise*r.NormFloat64() > 0 {
				share = 1
			}
			if err := c.Record(spot{y: at}, share); err != nil {
				t.Fatal(err)
			}
		}
		thetas, _, weights := c.Sample(r, 600)
		value := make([]float64, len(thetas))
		for i := range thetas {
			value[i] = thetas[i][0]
		}
		if lo, hi := psychophysics.NewEstimate(value, weights).Interval(0.9); lo <= theta && theta <= hi {
			inside++
		}
	}
	rate := float64(inside) / float64(n)
	if margin := 2.6 * math.Sqrt(0.9*0.1/float64(n)); !near(rate, 0.9, margin) {
		t.Errorf("%.1f %% of the intervals hold the truth, want 90 within %.1f", 100*rate, 100*margin)
	}
	t.Logf("%d of %d inside", inside, n)
}

// No estimator beats the bound: over viewers drawn from normal priors the error of a comparison chosen by gain is not below it by more than its own scatter,
// and not far above it.
func TestNothingBeatsTheBound(t *testing.T) {
	n := 300
	if testing.Short() {
		n = 100
	}
	const noise, lapse, settings, comparisons = 0.3, 0.03, 2, 16
	priors := []psychophysics.Prior{{Location: 1, Scale: 0.7}, {Location: -0.3, Scale: 0.4}}
	m := psychophysics.Model[spot]{
		Priors: priors,
		Difference: func(theta []float64, s spot, grad []float64) float64 {
			grad[0], grad[1] = 1, s.x
			return theta[0] + theta[1]*s.x - s.y
		},
		Outputs: func(theta []float64, out []float64, jacobian [][]float64) {
			for i := range out {
				out[i] = theta[0] + theta[1]*float64(i)
				jacobian[i][0], jacobian[i][1] = 1, float64(i)
			}
		},
		OutCount: 3, Noises: []float64{noise}, NoisePrior: []float64{1}, Lapse: lapse,
	}
	xs := []float64{0, 1, 2}
	var candidates []spot
	for _, x := range xs {
		candidates = append(candidates, spot{x: x})
	}
	bound := psychophysics.Bound([]float64{1, -0.3}, priors, candidates, m.Difference, m.Outputs, 3, 3, noise, lapse, settings, comparisons)
	r := rand.New(rand.NewPCG(15, 16))
	square, fourth := 0.0, 0.0
	for range n {
		theta := []float64{1 + 0.7*r.NormFloat64(), -0.3 + 0.4*r.NormFloat64()}
		c := psychophysics.NewComparison(m)
		for step := range settings + comparisons {
			g := c.Gain()
			mode := c.Mode()
			best, at := -1.0, spot{}
			for _, x := range xs {
				s := spot{x, mode[0] + mode[1]*x}
				v := g.Compare(s)
				if step < settings {
					v = g.Set(s)
				}
				if v > best {
					best, at = v, s
				}
			}
			d := theta[0] + theta[1]*at.x + noise*r.NormFloat64()
			switch {
			case step < settings:
				at.y = d
				c.Set(at, 0)
				continue
			case r.Float64() < lapse:
				d = at.y + r.Float64() - 0.5
			}
			share := 0.0
			if d > at.y {
				share = 1
			}
			if err := c.Record(at, share); err != nil {
				t.Fatal(err)
			}
		}
		mode, e := c.Mode(), 0.0
		for i := range 3 {
			d := mode[0] + mode[1]*float64(i) - theta[0] - theta[1]*float64(i)
			e += d * d / 3
		}
		square += e / float64(n)
		fourth += e * e / float64(n)
	}
	scatter := math.Sqrt((fourth - square*square) / float64(n)) // SD of the mean square
	t.Logf("rms error %.4f, bound %.4f", math.Sqrt(square), bound)
	if square < bound*bound-3*scatter {
		t.Errorf("rms error %.4f is below the bound %.4f", math.Sqrt(square), bound)
	}
	if math.Sqrt(square) > 1.3*bound {
		t.Errorf("rms error %.4f is far above the bound %.4f", math.Sqrt(square), bound)
	}
}

// By hand: n settings of noise s and a prior of scale p leave a variance of 1/(1/p² + n/s²); a comparison at equality carries (1-lapse)² 2/π of a setting.
func TestBoundByHand(t *testing.T) {
	for _, c := range []struct {
		freedom               float64
		settings, comparisons int
	}{{0, 0, 0}, {0, 4, 0}, {0, 0, 9}, {0, 3, 5}, {4, 3, 5}} {
		p := psychophysics.Prior{Scale: 0.7, Freedom: c.freedom}
		m := line(p, nil, nil, 0)
		got := psychophysics.Bound([]float64{0.1}, []psychophysics.Prior{p}, []spot{{y: 0.1}}, m.Difference, m.Outputs, 1, 2, 0.3, 0.05, c.settings, c.comparisons)
		prior := 1 / (0.7 * 0.7)
		if c.freedom == 4 {
			prior *= 5.0 / 7 // the information of t is (f+1)/(f+3) over its scale's square
		}
		v := 1 / (prior + float64(c.settings)/0.09 + float64(c.comparisons)*0.95*0.95*2/math.Pi/0.09)
		if want := math.Sqrt(v / 2); !near(got, want, 1e-12) {
			t.Errorf("%+v: %.9f, want %.9f", c, got, want)
		}
	}
}

// The information of a prior is the mean square of the slope of its log density, whatever the degrees of freedom.
func TestBoundOfHeavyTails(t *testing.T) {
	for _, f := range []float64{1, 3, 4, 7} {
		sum, whole := 0.0, 0.0
		for u := -0.49995; u < 0.5; u += 1e-4 { // of x = tan(πu)
			x := math.Tan(math.Pi * u)
			density := math.Pow(1+x*x/f, -(f+1)/2) * (1 + x*x)
			slope := -(f + 1) * x / (f + x*x)
			sum, whole = sum+density*slope*slope, whole+density
		}
		p := psychophysics.Prior{Scale: 1, Freedom: f}
		m := line(p, nil, nil, 0)
		got := psychophysics.Bound([]float64{0}, []psychophysics.Prior{p}, []spot{{}}, m.Difference, m.Outputs, 1, 1, 1, 0, 0, 0)
		if want := 1 / math.Sqrt(sum/whole); math.Abs(got/want-1) > 1e-3 {
			t.Errorf("%g degrees of freedom: %.5f, want %.5f", f, got, want)
		}
	}
}

// No design of whole settings leaves less of the variance than the bound has, and with many the best comes near it. Greedy choice is not far behind.
func TestDesign(t *testing.T) {
	scales := []float64{0.7, 0.4}
	priors := []psychophysics.Prior{{Scale: scales[0]}, {Scale: scales[1]}}
	difference := func(theta []float64, s spot, grad []float64) float64 {
		grad[0], grad[1] = 1, s.x
		return theta[0] + theta[1]*s.x - s.y
	}
	outputs := func(theta []float64, out []float64, jacobian [][]float64) {
		for i := range out {
			out[i] = theta[0] + theta[1]*float64(i)
			jacobian[i][0], jacobian[i][1] = 1, float64(i)
		}
	}
	candidates := []spot{{x: 0}, {x: 1}, {x: 2}, {x: -1.5}}
	left := func(all []spot) float64 {
		return psychophysics.MixtureError([]psychophysics.Part{{Weight: 1, Scales: scales}}, all, difference, outputs, 3, 0.3, 1, rand.New(rand.NewPCG(1, 1)))
	}
	for n := 1; n < 8; n++ {
		bound := psychophysics.Bound([]float64{0, 0}, priors, candidates, difference, outputs, 3, 3, 0.3, 0, n, 0)
		best := math.Inf(1)
		for at := range 1 << (2 * n) {
			var all []spot
			for i := range n {
				all = append(all, candidates[at>>(2*i)&3])
			}
			best = min(best, left(all))
		}
		if best < bound*bound || n > 2 && best > 1.05*bound*bound {
			t.Errorf("the best %d settings leave %.6f, the bound is %.6f", n, best, bound*bound)
		}
		chosen := psychophysics.Design([]float64{0, 0}, priors, candidates, difference, outputs, 3, 0.3, n)
		if got := left(chosen); len(chosen) != n || got < best*(1-1e-9) || n > 2 && got > 1.15*best {
			t.Errorf("%d settings at %v leave %.6f, the best %.6f", n, chosen, got, best)
		}
	}
}

// One part is a normal prior, whose bound settings reach. Of two parts the error lies between that of one who is told of which the parameter is and that of the best
// linear estimator, which goes by the variance alone; it is what summing over all settings gives.
func TestMixtureError(t *testing.T) {
	m := line(psychophysics.Prior{Scale: 1}, nil, nil, 0)
	const noise, settings = 0.4, 3
	stimuli := make([]spot, settings)
	left := func(scale float64) float64 { return 1 / (1/(scale*scale) + settings/(noise*noise)) }
	random := func() *rand.Rand { return rand.New(rand.NewPCG(31, 32)) }
	one := psychophysics.MixtureError([]psychophysics.Part{{Weight: 2, Scales: []float64{0.7}}}, stimuli, m.Difference, m.Outputs, 1, noise, 50, random())
	if math.Abs(one/left(0.7)-1) > 1e-9 {
		t.Errorf("one part: %.9f, want %.9f", one, left(0.7))
	}
	weights, scales := [2]float64{0.6, 0.4}, [2]float64{0.1, 1.2}
	got := psychophysics.MixtureError([]psychophysics.Part{{Weight: 3, Scales: scales[:1]}, {Weight: 2, Scales: scales[1:]}}, stimuli, m.Difference, m.Outputs, 1, noise, 20000, random())
	told, variance, want := 0.0, 0.0, 0.0
	for k, w := range weights {
		told += w * left(scales[k])
		variance += w * scales[k] * scales[k]
	}
	v := noise * noise / settings // of the mean of the settings
	const step = 0.002
	for y := -8.0; y < 8; y += step {
		sum, first, second := 0.0, 0.0, 0.0
		for k, w := range weights {
			s := scales[k] * scales[k]
			p := w * math.Exp(-y*y/2/(s+v)) / math.Sqrt(2*math.Pi*(s+v))
			mean := y * s / (s + v)
			sum, first, second = sum+p, first+p*mean, second+p*(mean*mean+s*v/(s+v))
		}
		want += (second - first*first/sum) * step
	}
	if math.Abs(got/want-1) > 0.01 {
		t.Errorf("two parts: %.5f, by summing %.5f", got, want)
	}
	if linear := 1 / (1/variance + settings/(noise*noise)); !(told < want && want < linear) {
		t.Errorf("told %.5f, not told %.5f, linear %.5f", told, want, linear)
	}
}

// What is known does not depend on when it was asked for.
func TestComparisonDoesNotDependOnBeingAsked(t *testing.T) {
	m := bow([]float64{0.15, 0.3, 0.6}, []float64{0.3, 0.4, 0.3})
	r := rand.New(rand.NewPCG(17, 18))
	for range 20 {
		all := draw(m, r, 3, 20)
		quiet, asked := psychophysics.NewComparison(m), psychophysics.NewComparison(m)
		tell(t, quiet, all)
		for _, a := range all {
			asked.Evidence()
			tell(t, asked, []answer{a})
			asked.Mode()
		}
		if quiet.Evidence() != asked.Evidence() {
			t.Errorf("evidence %v, and %v when asked after every answer", quiet.Evidence(), asked.Evidence())
		}
		for j, v := range quiet.Mode() {
			if v != asked.Mode()[j] {
				t.Errorf("mode %d is %v, and %v when asked after every answer", j, v, asked.Mode()[j])
			}
		}
	}
}

func TestComparisonWithoutAnswers(t *testing.T) {
	m := bow([]float64{0.15, 0.3, 0.6}, []float64{0.3, 0.4, 0.3})
	c := psychophysics.NewComparison(m)
	if err := c.Record(spot{}, 0.5); err != nil || c.Count() != 0 {
		t.Errorf("a coin flip: %v, %d answers count", err, c.Count())
	}
	for j, v := range c.Mode() {
		if v != m.Priors[j].Location {
			t.Errorf("mode %d is %g, the prior's %g", j, v, m.Priors[j].Location)
		}
	}
	for i, noise := range m.Noises {
		if p := c.Noise().Within(noise, noise); !near(p, m.NoisePrior[i], 1e-12) {
			t.Errorf("noise %g has %g, the prior's %g", noise, p, m.NoisePrior[i])
		}
	}
	thetas, _, weights := c.Sample(rand.New(rand.NewPCG(19, 20)), 4000)
	mean := 0.0
	for i, theta := range thetas {
		mean += weights[i] * theta[1]
	}
	if !near(mean, -0.2, 0.05) {
		t.Errorf("draws have a mean of %g, the prior's -0.2", mean)
	}
}

func TestComparisonRefuses(t *testing.T) {
	c := psychophysics.NewComparison(line(psychophysics.Prior{Scale: 1}, []float64{1}, []float64{1}, 0.03))
	for _, share := range []float64{0.3, -1, 2, math.NaN()} {
		if err := c.Record(spot{}, share); err == nil || err.Error() != "psychophysics: share must be 0, 1 or 1/2" {
			t.Errorf("share %g: %v", share, err)
		}
	}
	if c.Count() != 0 {
		t.Errorf("refused answers count: %d", c.Count())
	}
}

// Answers that contradict everything leave a posterior of numbers.
func TestStrangeAnswers(t *testing.T) {
	for name, all := range map[string][]answer{
		"against the prior": {{spot{y: 1e6}, false, 1}, {spot{y: -1e6}, false, 0}},
		"far settings":      {{s: spot{y: 1e4}, setting: true}, {s: spot{y: -1e4}, setting: true}},
		"always greater":    {{spot{y: 9}, false, 1}, {spot{y: 99}, false, 1}, {spot{y: 999}, false, 1}, {spot{y: 9999}, false, 1}},
	} {
		for _, p := range []psychophysics.Prior{{Location: 1, Scale: 0.7}, {Location: 1, Scale: 0.7, Freedom: 4}} {
			c := psychophysics.NewComparison(line(p, []float64{0.2, 0.8}, []float64{1, 1}, 0.03))
			tell(t, c, all)
			thetas, _, weights := c.Sample(rand.New(rand.NewPCG(1, 1)), 50)
			sum := 0.0
			for i, theta := range thetas {
				sum += weights[i] * theta[0]
			}
			for _, v := range []float64{c.Evidence(), c.Mode()[0], sum, c.Noise().Mean(), c.Gain().Compare(spot{y: 1})} {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Errorf("%s, %v: evidence %g, mode %g, mean %g, noise %g, gain %g", name, p, c.Evidence(), c.Mode()[0], sum, c.Noise().Mean(), c.Gain().Compare(spot{y: 1}))
					break
				}
			}
		}
	}
}
