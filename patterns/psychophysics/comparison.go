package psychophysics

import (
	"errors"
	"math"
	"math/rand/v2"
)

// A Prior is what is believed of one parameter beforehand: normal, or Student's t where Freedom is above 0.
type Prior struct {
	Location, Scale float64
	Freedom         float64 // degrees of freedom; 0 for a normal prior
}

// logDensity returns the log density at x up to a constant, its slope, and a curvature that is never negative.
func (p Prior) logDensity(x float64) (log, slope, curvature float64) {
	z := (x - p.Location) / p.Scale
	if p.Freedom <= 0 {
		return -z * z / 2, -z / p.Scale, 1 / (p.Scale * p.Scale)
	}
	f := p.Freedom
	k := (f + 1) / (f + float64(z*z))
	return -(f + 1) / 2 * math.Log1p(z*z/f), -k * z / p.Scale, k / (p.Scale * p.Scale)
}

// A Model says what a viewer without noise would perceive. S is what is shown.
type Model[S any] struct {
	Priors []Prior // one for each parameter

	// Difference returns by how much the first of two alternatives exceeds the second in the unit of the noise, such as the difference of log
	// luminance, and sets grad to its derivatives by the parameters.
	Difference func(theta []float64, s S, grad []float64) float64

	// Outputs sets out to the quantities to be learned and jacobian, one row for each, to their derivatives by the parameters.
	Outputs  func(theta []float64, out []float64, jacobian [][]float64)
	OutCount int

	Noises     []float64 // candidate standard deviations of the viewer's noise, ascending
	NoisePrior []float64 // their prior probabilities, not necessarily normalised
	Lapse      float64   // probability that the viewer guesses
	Slip       float64   // probability that a setting is let go before it matches
}

// A Comparison learns the parameters of a model from signed comparisons ("which is the greater?") and settings ("make them equal").
//
// For every candidate noise it keeps a normal approximation at the posterior's mode (Laplace), and it weighs these by their evidence: the
// noise is integrated out, because its joint mode comes out too small and makes intervals too narrow. Sample corrects the approximation by
// importance weights.
type Comparison[S any] struct {
	model Model[S]
	seen  []observation[S]
	fits  []fit
	stale bool
	whole []fit   // nil until asked for; see full
	known float64 // log evidence
}

type observation[S any] struct {
	s     S
	set   bool
	share float64 // of the answer "the first is greater"; 1 or 0
	extra float64 // variance of a setting beyond the viewer's noise
}

// A fit is the normal approximation under one noise.
type fit struct {
	mode   []float64
	root   matrix  // Cholesky factor of the precision
	logdet float64 // of the precision
	weight float64 // probability of this noise
}

// NewComparison returns a comparison that has seen nothing.
func NewComparison[S any](m Model[S]) *Comparison[S] {
	c := &Comparison[S]{model: m, fits: make([]fit, len(m.Noises)), stale: true}
	for i := range c.fits {
		c.fits[i].mode = make([]float64, len(m.Priors))
		for j, p := range m.Priors {
			c.fits[i].mode[j] = p.Location
		}
	}
	return c
}

// Record learns from an answer to s: share 1 for "the first is greater", 0 for the second. A viewer who could not tell has made a coin flip of
// it, share ½, which teaches nothing here.
func (c *Comparison[S]) Record(s S, share float64) error {
	switch share {
	case 0, 1:
		c.current()
		c.seen = append(c.seen, observation[S]{s: s, share: share})
		c.stale, c.whole = true, nil
	case 0.5:
	default:
		return errors.New("psychophysics: share must be 0, 1 or 1/2")
	}
	return nil
}

// slipDensity is the density of a setting that was let go before it matched, even over a range of 3 in the unit of the difference (a factor of 20 of
// light where that is log light), without the normalisation √2π of the density of one that was meant.
var slipDensity = math.Sqrt(2*math.Pi) / 3

// Set learns that the viewer set s so that both looked equal, in steps of the given size in the unit of the noise.
func (c *Comparison[S]) Set(s S, step float64) {
	c.current()
	c.seen = append(c.seen, observation[S]{s: s, set: true, extra: step * step / 12}) // variance of rounding to a step
	c.stale, c.whole = true, nil
}

// Count returns how many answers and settings have taught something.
func (c *Comparison[S]) Count() int { return len(c.seen) }

// logPosterior returns the log of prior times likelihood at theta under a noise, and where slope is given adds the slope to it and the
// curvature to the lower triangle of precision.
func (c *Comparison[S]) logPosterior(theta []float64, noise float64, grad, slope []float64, precision *matrix) float64 {
	total := 0.0
	for j, p := range c.model.Priors {
		l, d, k := p.logDensity(theta[j])
		total += l
		if slope != nil {
			slope[j] += d
			precision.a[j*precision.n+j] += k
		}
	}
	lapse := c.model.Lapse
	for _, o := range c.seen {
		m := c.model.Difference(theta, o.s, grad)
		var d, w float64 // slope and curvature by m
		if o.set {
			v := float64(noise*noise) + o.extra
			log := -m*m/(2*v) - math.Log(v)/2
			share := 1.0 // the probability that the setting was meant
			if slip := c.model.Slip; slip > 0 {
				meant := (1 - slip) * math.Exp(log)
				p := meant + slip*slipDensity
				log, share = math.Log(p), meant/p
			}
			total += log
			d, w = -share*m/v, share/v
		} else {
			u := m / noise
			p := lapse/2 + float64((1-lapse)*Normal(u))
			dp := (1 - lapse) * normalDensity(u) / noise
			if o.share == 1 {
				total += math.Log(p)
				d = dp / p
			} else {
				total += math.Log1p(-p)
				d = -dp / (1 - p)
			}
			w = dp * dp / (p * (1 - p))
		}
		if slope != nil {
			for j, g := range grad {
				slope[j] += float64(d * g)
			}
			precision.outer(grad, w)
		}
	}
	return total
}

// slight is the probability below which a noise is left out while stimuli are chosen, once enough was seen to tell, unless it is next to one that counts.
const (
	slight = 0.01
	enough = 8
)

// The search for a mode ends after the step that was to gain less than this of the log posterior. Newton's steps square what is left: it is then within
// about 1e-4 where stimuli are chosen, and exact in the end.
const (
	closeEnough = 1e-2
	closer      = 1e-6
)

// current brings the fits that stimuli are chosen by up to date. Each starts from the last, so it is called exactly once for every answer: else the
// last bits would depend on when the posterior was asked for, and a sitting taken up from its log might choose otherwise than one that went through.
func (c *Comparison[S]) current() {
	if c.stale {
		c.stale = false
		c.refit(c.fits, len(c.seen) > enough, closeEnough)
	}
}

// full returns the fits under every noise, close to their modes, and the log evidence. It leaves the fits that stimuli are chosen by alone.
func (c *Comparison[S]) full() ([]fit, float64) {
	c.current()
	if c.whole == nil {
		c.whole = make([]fit, len(c.fits))
		for i, f := range c.fits {
			f.mode = append([]float64(nil), f.mode...)
			f.root = matrix{f.root.n, append([]float64(nil), f.root.a...)}
			c.whole[i] = f
		}
		c.known = c.refit(c.whole, false, closer)
	}
	return c.whole, c.known
}

// counts reports whether the noise of a fit, or one next to it, is likely enough to matter. Weights are set anew after all fits were asked about.
func counts(fits []fit, i int) bool {
	for k := max(i-1, 0); k <= min(i+1, len(fits)-1); k++ {
		if fits[k].weight >= slight {
			return true
		}
	}
	return false
}

// refit moves fits to their modes, weighs them, and returns the log evidence. With partly it leaves out those that hardly count: they
// keep their place and count for nothing.
func (c *Comparison[S]) refit(fits []fit, partly bool, tolerance float64) float64 {
	n := len(c.model.Priors)
	grad, slope, trial := make([]float64, n), make([]float64, n), make([]float64, n)
	logs := make([]float64, len(fits))
	best := math.Inf(-1)
	for i := range fits {
		f := &fits[i]
		noise := c.model.Noises[i]
		if partly && !counts(fits, i) {
			logs[i] = math.Inf(-1)
			continue
		}
		if f.root.n == 0 {
			f.root = newMatrix(n)
		}
		const rounds = 12
		for round := 0; ; round++ {
			clear(slope)
			clear(f.root.a)
			here := c.logPosterior(f.mode, noise, grad, slope, &f.root)
			logdet, ok := f.root.cholesky()
			if !ok {
				panic("psychophysics: internal error: precision is not positive definite")
			}
			f.logdet, logs[i] = logdet, here
			f.root.forward(slope)
			gain := 0.0 // of the log posterior, by the step to come
			for _, v := range slope {
				gain += float64(v * v)
			}
			gain /= 2
			f.root.backward(slope) // the Newton step
			if gain < tolerance || round == rounds {
				for j := range f.mode {
					f.mode[j] += slope[j]
				}
				logs[i] += gain
				break
			}
			scale := 1.0
			improved := false
			for range 6 {
				for j := range trial {
					trial[j] = f.mode[j] + float64(scale*slope[j])
				}
				if c.logPosterior(trial, noise, grad, nil, nil) > here {
					improved = true
					break
				}
				scale /= 2
			}
			if !improved {
				break
			}
			copy(f.mode, trial)
		}
		logs[i] += -f.logdet/2 + math.Log(c.model.NoisePrior[i])
		best = math.Max(best, logs[i])
	}
	sum := 0.0
	for i, l := range logs {
		if math.IsInf(l, -1) {
			fits[i].weight = 0
			continue
		}
		fits[i].weight = math.Exp(l - best)
		sum += fits[i].weight
	}
	for i := range fits {
		fits[i].weight /= sum
	}
	prior := 0.0
	for _, w := range c.model.NoisePrior {
		prior += w
	}
	known := best + math.Log(sum/prior)
	for _, p := range c.model.Priors {
		known -= math.Log(p.Scale)
	}
	return known
}

// Evidence returns the log of the probability of all that was seen, up to a constant that is the same for models with as many parameters and priors
// of the same kinds. Models of the same answers can be weighed by it.
func (c *Comparison[S]) Evidence() float64 {
	_, known := c.full()
	return known
}

// Noise returns the posterior of the viewer's noise.
func (c *Comparison[S]) Noise() Estimate {
	fits, _ := c.full()
	w := make([]float64, len(fits))
	for i := range fits {
		w[i] = fits[i].weight
	}
	return NewEstimate(c.model.Noises, w)
}

// Mode returns the parameters at the posterior's mode under the likeliest noise. The caller must not change them.
func (c *Comparison[S]) Mode() []float64 {
	c.current()
	return c.likeliest().mode
}

// Spread returns the root mean square of the viewer's noise under what is known, as far as choosing a stimulus needs it.
func (c *Comparison[S]) Spread() float64 {
	c.current()
	v := 0.0
	for i, f := range c.fits {
		v += float64(f.weight * float64(c.model.Noises[i]*c.model.Noises[i]))
	}
	return math.Sqrt(v)
}

func (c *Comparison[S]) likeliest() *fit {
	at := 0
	for i := range c.fits {
		if c.fits[i].weight > c.fits[at].weight {
			at = i
		}
	}
	return &c.fits[at]
}

// A Gain rates stimuli by how much they are expected to lower the summed variance of the outputs.
type Gain[S any] struct {
	c       *Comparison[S]
	fit     *fit
	noise   float64     // effective, root mean square
	through [][]float64 // jacobian times covariance, one row for each output
	grad    []float64
	work    []float64
}

// Gain prepares to rate stimuli under what is known now.
func (c *Comparison[S]) Gain() *Gain[S] {
	c.current()
	n := len(c.model.Priors)
	g := &Gain[S]{c: c, fit: c.likeliest(), noise: c.Spread(), grad: make([]float64, n), work: make([]float64, n)}
	g.through = make([][]float64, c.model.OutCount)
	for i := range g.through {
		g.through[i] = make([]float64, n)
	}
	c.model.Outputs(g.fit.mode, make([]float64, c.model.OutCount), g.through)
	for _, row := range g.through {
		g.fit.root.forward(row)
		g.fit.root.backward(row)
	}
	return g
}

// rate returns the predicted difference of s, its variance under what is known, and the summed squared covariance with the outputs.
func (g *Gain[S]) rate(s S) (difference, variance, shared float64) {
	difference = g.c.model.Difference(g.fit.mode, s, g.grad)
	copy(g.work, g.grad)
	g.fit.root.forward(g.work)
	for _, v := range g.work {
		variance += float64(v * v)
	}
	for _, row := range g.through {
		dot := 0.0
		for j, v := range row {
			dot += float64(v * g.grad[j])
		}
		shared += float64(dot * dot)
	}
	return difference, variance, shared
}

// Compare returns the expected fall of the summed variance of the outputs after a comparison of s. For a probit answer to a normal difference it
// is the squared covariance of answer and output over the answer's variance, in closed form.
func (g *Gain[S]) Compare(s S) float64 {
	m, v, shared := g.rate(s)
	spread := math.Sqrt(float64(g.noise*g.noise) + v)
	z := m / spread
	p := Signed(z, 1, g.c.model.Lapse)
	k := (1 - g.c.model.Lapse) * normalDensity(z) / spread
	return k * k * shared / (p * (1 - p))
}

// Set returns the expected fall of the summed variance of the outputs after a setting of s.
func (g *Gain[S]) Set(s S) float64 {
	_, v, shared := g.rate(s)
	return shared / (float64(g.noise*g.noise) + v)
}

// Sample draws n parameter vectors with weights that sum to 1, so that weighted sums over them are posterior expectations. The draws come from
// the normal approximations with tails widened to Student's t with 6 degrees of freedom, and the weights correct them to the posterior.
func (c *Comparison[S]) Sample(r *rand.Rand, n int) (thetas [][]float64, noise, weights []float64) {
	fits, _ := c.full()
	const freedom = 6
	k := len(c.model.Priors)
	grad := make([]float64, k)
	logs := make([]float64, 0, n)
	best := math.Inf(-1)
	for i := range n {
		u := (float64(i) + r.Float64()) / float64(n)
		at := 0
		for sum := fits[0].weight; sum < u && at < len(fits)-1; sum += fits[at].weight {
			at++
		}
		f := &fits[at]
		chi := 0.0
		for range freedom {
			z := r.NormFloat64()
			chi += float64(z * z)
		}
		widen := math.Sqrt(freedom / chi)
		theta, square := make([]float64, k), 0.0
		for j := range theta {
			z := r.NormFloat64() * widen
			square += float64(z * z)
			theta[j] = z
		}
		f.root.backward(theta)
		for j := range theta {
			theta[j] += f.mode[j]
		}
		drawn := f.logdet/2 - (freedom+float64(k))/2*math.Log1p(square/freedom) + math.Log(f.weight)
		l := c.logPosterior(theta, c.model.Noises[at], grad, nil, nil) + math.Log(c.model.NoisePrior[at]) - drawn
		thetas, noise, logs = append(thetas, theta), append(noise, c.model.Noises[at]), append(logs, l)
		best = math.Max(best, l)
	}
	weights = make([]float64, n)
	for i, l := range logs {
		weights[i] = math.Exp(l - best)
	}
	normalise(weights)
	return thetas, noise, weights
}
