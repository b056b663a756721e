package check

import (
	"math"
	"math/rand/v2"

	"example.org/plumb/patterns/psychophysics"
)

// A spot is a comparison of a place with the middle as the estimator sees it.
type spot struct {
	place  int     // index among the places that are not the middle
	effect float64 // what the correction adds at the place
}

// Parameters of a surface, in the unit of what varies over it. First those of its smooth part: what they make at the corner places of 3 by 3, or at the
// places in the middle of a side. Then the viewer's. Then, from ownAt on, what each place has of its own.
const (
	falloffAt = iota // with the squared distance from the middle
	acrossAt         // from left to right
	downAt           // from top to bottom
	ovalAt           // how much more with the squared distance across than down
	twistAt          // along one diagonal against the other
	rimAt            // how much more the rim seems to have than the middle
	flankAt          // how much more the right seems to have than the left
	gainAt           // what corrections do beyond what they are taken to do, as a share
	ownAt

	smoothParams = rimAt // how many parameters the smooth part has
)

// A scale is one idea of how uneven screens are.
type scale struct {
	share           float64 // its prior probability
	falloff, spread float64 // location and scale of the falloff
	tilt            float64 // scale of acrossAt and downAt
	second          float64 // scale of ovalAt and twistAt
	own             float64 // SD of what a place has of its own
}

// A surfaceModel is how one quantity varies over screens, and how viewers see it.
type surfaceModel struct {
	scales         []scale
	noises         []float64 // candidates of the viewer's noise
	usual, between float64   // median of the noise's prior, and SD of its logarithm
	rim, side      float64   // SDs of rimAt and of the seeming difference of sides
	gain           float64   // SD of gainAt
	freedom        float64   // of Student's t that the smooth part has; 0 for normal ones
	near           float64   // how near a place comes to the worst one to be looked at closely too
}

// lightSurface is how log light varies over screens: good ones fall off by less than 5 to 10 % to the corners, common ones by 10 to 20 and bad ones by 25
// to 35. Two thirds of the prior are for even screens, so that the greatest of many uncertain places does not look worse than it is; the rest is wide
// enough for any. The viewer's far comparisons have 0.03 to 0.1 of noise. Ours.
var lightSurface = surfaceModel{
	scales: []scale{
		{share: 0.68, falloff: -0.035, spread: 0.027, tilt: 0.014, second: 0.008, own: 0.008},
		{share: 0.32, falloff: -0.08, spread: 0.15, tilt: 0.055, second: 0.02, own: 0.018},
	},
	noises: []float64{0.02, 0.028, 0.04, 0.056, 0.08, 0.113, 0.16, 0.22}, usual: 0.06, between: 0.65,
	rim: 0.01, side: 0.01, gain: 0.06, freedom: 4, near: 0.03,
}

// priors are Student's t for the smooth part, so that a strange screen is found and not explained away, and normal for the rest.
func (m *surfaceModel) priors(s scale, places int) []psychophysics.Prior {
	p := make([]psychophysics.Prior, ownAt+places)
	p[falloffAt] = psychophysics.Prior{Location: s.falloff, Scale: s.spread, Freedom: m.freedom}
	p[acrossAt] = psychophysics.Prior{Scale: s.tilt, Freedom: m.freedom}
	p[downAt] = p[acrossAt]
	p[ovalAt] = psychophysics.Prior{Scale: s.second, Freedom: m.freedom}
	p[twistAt] = p[ovalAt]
	p[rimAt], p[flankAt], p[gainAt] = psychophysics.Prior{Scale: m.rim}, psychophysics.Prior{Scale: m.side}, psychophysics.Prior{Scale: m.gain}
	for i := range places {
		p[ownAt+i] = psychophysics.Prior{Scale: s.own}
	}
	return p
}

// A surface learns how one quantity varies over the places of a grid, from comparisons of places with the middle.
type surface struct {
	model  *surfaceModel
	places []int                             // those that are not the middle, as the grid numbers them
	basis  [][gainAt]float64                 // of each: what the parameters before gainAt weigh in a comparison
	parts  []*psychophysics.Comparison[spot] // one for each scale
	weight []float64                         // how much the error of each place matters to what is asked next
	used   []int                             // comparisons of each place
	asked  int
}

func newSurface(grid int, m *surfaceModel) *surface {
	f := &surface{model: m}
	for p := range grid * grid {
		if p == grid*grid/2 {
			continue
		}
		// From -1 to 1 over 3 by 3 places, and from -1.2 to 1.2 over 5 by 5.
		x := 1.5 * (float64(2*(p%grid)+1)/float64(grid) - 1)
		y := 1.5 * (float64(2*(p/grid)+1)/float64(grid) - 1)
		var b [gainAt]float64
		b[falloffAt], b[acrossAt], b[downAt], b[ovalAt], b[twistAt] = (x*x+y*y)/2, x, y, (x*x-y*y)/2, x*y
		b[rimAt] = 1
		switch column := p%grid - grid/2; {
		case column > 0:
			b[flankAt] = 1
		case column < 0:
			b[flankAt] = -1
		}
		f.places, f.basis, f.used = append(f.places, p), append(f.basis, b), append(f.used, 0)
		f.weight = append(f.weight, 1)
	}
	noisePrior := make([]float64, len(m.noises))
	for i, n := range m.noises {
		z := math.Log(n/m.usual) / m.between
		noisePrior[i] = math.Exp(-z * z / 2)
	}
	for _, s := range m.scales {
		f.parts = append(f.parts, psychophysics.NewComparison(psychophysics.Model[spot]{
			Priors: m.priors(s, len(f.places)), Difference: f.difference, Outputs: f.outputs, OutCount: len(f.places),
			Noises: m.noises, NoisePrior: noisePrior, Lapse: lapse,
		}))
	}
	return f
}

// difference predicts by how much a place seems to exceed the middle.
func (f *surface) difference(theta []float64, s spot, grad []float64) float64 {
	clear(grad)
	b := &f.basis[s.place]
	copy(grad, b[:])
	grad[gainAt] = s.effect
	grad[ownAt+s.place] = 1
	sum := s.effect + float64(theta[gainAt]*s.effect) + theta[ownAt+s.place]
	for i, v := range b {
		sum += float64(v * theta[i])
	}
	return sum
}

// value returns by how much a place exceeds the middle.
func (f *surface) value(theta []float64, place int) float64 {
	sum := theta[ownAt+place]
	for i, v := range f.basis[place][:smoothParams] {
		sum += float64(v * theta[i])
	}
	return sum
}

// outputs are the values of all places, times their weights.
func (f *surface) outputs(theta []float64, out []float64, jacobian [][]float64) {
	for i := range out {
		w := f.weight[i]
		out[i] = w * f.value(theta, i)
		clear(jacobian[i])
		for k, v := range f.basis[i][:smoothParams] {
			jacobian[i][k] = w * v
		}
		jacobian[i][ownAt+i] = w
	}
}

// record learns from an answer: share 1 for the place, 0 for the middle, ½ for neither.
func (f *surface) record(s spot, share float64) error {
	for _, c := range f.parts {
		if err := c.Record(s, share); err != nil {
			return err
		}
	}
	f.used[s.place]++
	f.asked++
	return nil
}

// shares returns the probability of each scale.
func (f *surface) shares() []float64 {
	w := make([]float64, len(f.parts))
	if len(w) == 1 {
		w[0] = 1
		return w
	}
	for i, c := range f.parts {
		w[i] = math.Log(f.model.scales[i].share) + c.Evidence()
	}
	probabilities(w)
	return w
}

// expected returns about by how much a place exceeds the middle.
func (f *surface) expected(place int) float64 {
	sum := 0.0
	for i, share := range f.shares() {
		sum += float64(share * f.value(f.parts[i].Mode(), place))
	}
	return sum
}

// spread returns the root mean square of the viewer's noise.
func (f *surface) spread() float64 {
	sum := 0.0
	for i, share := range f.shares() {
		s := f.parts[i].Spread()
		sum += float64(share * float64(s*s))
	}
	return math.Sqrt(sum)
}

// closely is by how much more the error of the worst place counts than that of a good one: a verdict hangs on it. Ours; it takes about a tenth off the
// undecided.
const closely = 2

// attend sets the weights of places, by what is known.
func (f *surface) attend() {
	worst := 0.0
	for p := range f.weight {
		f.weight[p] = math.Abs(f.expected(p))
		worst = max(worst, f.weight[p])
	}
	for p, v := range f.weight {
		z := (worst - v) / f.model.near
		f.weight[p] = 1 + float64(closely*math.Exp(-z*z/2))
	}
}

// sameAgain is by how much each comparison of a place makes it less worth another. Without it corners alone would be asked about, and a field that is odd
// where the model does not think so would be missed. Ours.
const sameAgain = 0.3

// next returns the place whose comparison is expected to lower the summed variance of all places most, in their weights, and what must be added there for
// a match. Of 3 by 3 places each comes once before any comes twice. effect returns what is added by the correction that comes nearest to a wanted one.
func (f *surface) next(effect func(want float64) float64) (place int, match float64) {
	f.attend()
	shares := f.shares()
	gains, modes := make([]*psychophysics.Gain[spot], len(shares)), make([][]float64, len(shares))
	for i, c := range f.parts {
		gains[i], modes[i] = c.Gain(), c.Mode()
	}
	grad := make([]float64, ownAt+len(f.places))
	best := -1.0
	for p := range f.places {
		if len(f.places) < 9 && f.asked < len(f.places) && f.used[p] > 0 {
			continue
		}
		want := 0.0
		for i, share := range shares {
			want -= float64(share * f.difference(modes[i], spot{place: p}, grad))
		}
		s, v := spot{p, effect(want)}, 0.0
		for i, share := range shares {
			v += float64(share * gains[i].Compare(s))
		}
		v /= 1 + float64(sameAgain*float64(f.used[p]))
		if v > best+1e-9*math.Max(1, math.Abs(best)) {
			best, place, match = v, p, want
		}
	}
	return place, match
}

func (f *surface) noise() psychophysics.Estimate {
	var at, mass []float64
	for i, share := range f.shares() {
		n := f.parts[i].Noise()
		for k, m := range n.Mass {
			at, mass = append(at, n.At[k]), append(mass, m*share)
		}
	}
	return psychophysics.NewEstimate(at, mass)
}

// overdraw is how many are drawn for each that is kept: many have little weight.
const overdraw = 4

// draw returns n equally likely surfaces in no order, each by all places of the grid, 0 in the middle.
func (f *surface) draw(n int, r *rand.Rand) [][]float64 {
	var all [][]float64
	var weights []float64
	sum := 0.0
	for i, share := range f.shares() {
		k := int(math.Round(share * float64(n*overdraw)))
		if k == 0 {
			continue
		}
		thetas, w := f.sample(i, k, r)
		for j, theta := range thetas {
			all, weights = append(all, theta), append(weights, w[j]*share)
			sum += w[j] * share
		}
	}
	out := make([][]float64, n)
	at, before, start := 0, 0.0, r.Float64()
	for i := range out { // at equal distances along the weights
		want := (float64(i) + start) / float64(n) * sum
		for at < len(all)-1 && before+weights[at] <= want {
			before += weights[at]
			at++
		}
		out[i] = make([]float64, len(f.places)+1)
		for p, where := range f.places {
			out[i][where] = f.value(all[at], p)
		}
	}
	r.Shuffle(n, func(i, j int) { out[i], out[j] = out[j], out[i] })
	return out
}

// sample draws n parameter vectors of one scale, with weights that sum to 1. Where nothing was learned they are drawn from the prior itself, whose tails
// no normal approximation has.
func (f *surface) sample(part, n int, r *rand.Rand) (thetas [][]float64, weights []float64) {
	if f.parts[part].Count() > 0 {
		thetas, _, weights = f.parts[part].Sample(r, n)
		return thetas, weights
	}
	for range n {
		thetas, weights = append(thetas, f.imagine(part, r)), append(weights, 1/float64(n))
	}
	return thetas, weights
}

// imagine draws parameters of one scale from the prior.
func (f *surface) imagine(part int, r *rand.Rand) []float64 {
	priors := f.model.priors(f.model.scales[part], len(f.places))
	theta := make([]float64, len(priors))
	for j, p := range priors {
		z := r.NormFloat64()
		if p.Freedom > 0 {
			chi := 0.0
			for range int(p.Freedom) {
				x := r.NormFloat64()
				chi += float64(x * x)
			}
			z *= math.Sqrt(p.Freedom / chi)
		}
		theta[j] = p.Location + float64(p.Scale*z)
	}
	return theta
}
