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
		c.seen = append(c.seen, observation[S]{s: s, share: share})
		c.stale = true
	case 0.5:
	default:
		return errors.New("psychophysics: share must be 0, 1 or 1/2")
	}
	return nil
}

// Set learns that the viewer set s so that both looked equal, in steps of the given size in the unit of the noise.
func (c *Comparison[S]) Set(s S, step float64) {
	c.seen = append(c.seen, observation[S]{s: s, set: true, extra: step * step / 12}) // variance of rounding to a step
	c.stale = true
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
			total += -m*m/(2*v) - math.Log(v)/2
			d, w = -m/v, 1/v
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

// update brings the fits up to date.
func (c *Comparison[S]) update() {
	if !c.stale {
		return
	}
	c.stale = false
	n := len(c.model.Priors)
	grad, slope, trial := make([]float64, n), make([]float64, n), make([]float64, n)
	logs := make([]float64, len(c.fits))
	best := math.Inf(-1)
	for i := range c.fits {
		f := &c.fits[i]
		noise := c.model.Noises[i]
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
			f.root.backward(slope) // the Newton step
			step := 0.0
			for _, v := range slope {
				step = math.Max(step, math.Abs(v))
			}
			if step < 1e-5 || round == rounds {
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
	for i := range c.fits {
		c.fits[i].weight = math.Exp(logs[i] - best)
		sum += c.fits[i].weight
	}
	for i := range c.fits {
		c.fits[i].weight /= sum
	}
	prior := 0.0
	for _, w := range c.model.NoisePrior {
		prior += w
	}
	c.known = best + math.Log(sum/prior)
	for _, p := range c.model.Priors {
		c.known -= math.Log(p.Scale)
	}
}

// Evidence returns the log of the probability of all that was seen, up to a constant that is the same for models with as many parameters and priors
// of the same kinds. Models of the same answers can be weighed by it.
func (c *Comparison[S]) Evidence() float64 {
	c.update()
	return c.known
}

// Noise returns the posterior of the viewer's noise.
func (c *Comparison[S]) Noise() Estimate {
	c.update()
	w := make([]float64, len(c.fits))
	for i := range c.fits {
		w[i] = c.fits[i].weight
	}
	return NewEstimate(c.model.Noises, w)
}

// Mode returns the parameters at the posterior's mode under the likeliest noise. The caller must not change them.
func (c *Comparison[S]) Mode() []float64 {
	c.update()
	return c.likeliest().mode
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
	c.update()
	n := len(c.model.Priors)
	g := &Gain[S]{c: c, fit: c.likeliest(), grad: make([]float64, n), work: make([]float64, n)}
	for i, f := range c.fits {
		g.noise += f.weight * c.model.Noises[i] * c.model.Noises[i]
	}
	g.noise = math.Sqrt(g.noise)
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
	c.update()
	const freedom = 6
	k := len(c.model.Priors)
	grad := make([]float64, k)
	logs := make([]float64, 0, n)
	best := math.Inf(-1)
	for i := range n {
		u := (float64(i) + r.Float64()) / float64(n)
		at := 0
		for sum := c.fits[0].weight; sum < u && at < len(c.fits)-1; sum += c.fits[at].weight {
			at++
		}
		f := &c.fits[at]
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
