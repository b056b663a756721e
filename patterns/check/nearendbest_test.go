package check

import (
	"math"
	"slices"
	"testing"

	"example.org/plumb/patterns/psychophysics"
)

// leastVariance returns the least variance of a quantity, expected after n answers to stimuli that are each chosen in the light of the answers before: that of one who for every course
// of answers asks what is best to the end (Bellman 1957). Quantity and prior are given by hypothesis, and the prior sums to 1; so are the probabilities of a right answer to each
// stimulus. What is known depends on how often each stimulus was answered rightly and wrongly, not on the order: all there is to know after k answers are the multisets of k outcomes.
// Weights of hypotheses are kept joint with the answers, so that what is expected of the two answers to a stimulus adds up.
func leastVariance(prior, quantity []float64, right [][]float64, n int) float64 {
	var outcomes [][]float64
	for _, p := range right {
		wrong := make([]float64, len(p))
		for i, v := range p {
			wrong[i] = 1 - v
		}
		outcomes = append(outcomes, p, wrong)
	}
	m := len(outcomes)
	choose := make([][]int, m+n)
	for i := range choose {
		choose[i] = make([]int, n+1)
		for k := range min(i, n) + 1 {
			choose[i][k] = 1
			if 0 < k && k < i {
				choose[i][k] = choose[i-1][k-1] + choose[i-1][k]
			}
		}
	}
	// A multiset in ascending order is the combination that has i more at place i, and has its number among the combinations (the combinatorial number system).
	number := func(set []int) (at int) {
		for i, o := range set {
			at += choose[o+i][i+1]
		}
		return at
	}
	// each goes through the multisets of k outcomes.
	var each func(set []int, k int, visit func([]int))
	each = func(set []int, k int, visit func([]int)) {
		if len(set) == k {
			visit(set)
			return
		}
		from := 0
		if len(set) > 0 {
			from = set[len(set)-1]
		}
		for o := from; o < m; o++ {
			each(append(set, o), k, visit)
		}
	}
	// After all answers. The weights after each outcome of a multiset are kept as long as the next begins alike.
	value := make([]float64, choose[m+n-1][n])
	weights := [][]float64{prior}
	for range n {
		weights = append(weights, make([]float64, len(prior)))
	}
	last := make([]int, 0, n)
	each(make([]int, 0, n), n, func(set []int) {
		alike := 0
		for alike < len(last) && last[alike] == set[alike] {
			alike++
		}
		for d := alike; d < n; d++ {
			for i, v := range weights[d] {
				weights[d+1][i] = v * outcomes[set[d]][i]
			}
		}
		last = append(last[:0], set...)
		sum, first, second := 0.0, 0.0, 0.0
		for i, v := range weights[n] {
			x := float64(v * quantity[i])
			sum, first, second = sum+v, first+x, second+float64(x*quantity[i])
		}
		value[number(set)] = max(0, second-float64(first*first)/sum)
	})
	// Before each answer, backward: the stimulus whose two answers leave least.
	for k := n - 1; k >= 0; k-- {
		next, more := value, make([]int, k+1)
		value = make([]float64, choose[m+k-1][k])
		after := func(set []int, o int) float64 {
			at, _ := slices.BinarySearch(set, o)
			copy(more, set[:at])
			more[at] = o
			copy(more[at+1:], set[at:])
			return next[number(more)]
		}
		each(make([]int, 0, n), k, func(set []int) {
			least := math.Inf(1)
			for o := 0; o < m; o += 2 {
				least = min(least, after(set, o)+after(set, o+1))
			}
			value[number(set)] = least
		})
	}
	return value[0]
}

// expected is what is expected of then after an answer to a stimulus.
func expected(g *psychophysics.Grid, right []float64, stimulus int, then func(*psychophysics.Grid) float64) float64 {
	p := 0.0
	for i, m := range g.Mass() {
		p += m * right[i]
	}
	sum := 0.0
	for share, p := range []float64{1 - p, p} {
		next := g.Clone()
		if err := next.Record(stimulus, float64(share)); err != nil {
			panic(err)
		}
		sum += p * then(next)
	}
	return sum
}

// variance is that of a quantity now.
func variance(g *psychophysics.Grid, quantity []float64) float64 {
	sd := g.Estimate(quantity).SD()
	return sd * sd
}

// walked goes through every course of n answers and returns the variance that is expected where rule chooses each stimulus.
func walked(g *psychophysics.Grid, quantity []float64, right [][]float64, n int, rule func(*psychophysics.Grid) int) float64 {
	if n == 0 {
		return variance(g, quantity)
	}
	s := rule(g)
	return expected(g, right[s], s, func(next *psychophysics.Grid) float64 { return walked(next, quantity, right, n-1, rule) })
}

// best is the variance that is expected of the best rule there is, found by trying every one.
func best(g *psychophysics.Grid, quantity []float64, right [][]float64, n int) float64 {
	if n == 0 {
		return variance(g, quantity)
	}
	least := math.Inf(1)
	for s, p := range right {
		least = min(least, expected(g, p, s, func(next *psychophysics.Grid) float64 { return best(next, quantity, right, n-1) }))
	}
	return least
}

// among is what is open to one who knows that a screen has full range and neither crush nor clip, and who may show some steps alone: the check's thresholds and slopes, as it believes them.
func (c *nearEnd) among(steps []int) (prior, logs []float64, right [][]float64) {
	right = make([][]float64, len(steps))
	sum := 0.0
	for _, t := range c.thresholds {
		for i, b := range c.slopes {
			w := c.believed(t, i, c.middle)
			prior, logs, sum = append(prior, w), append(logs, math.Log(c.first(0, t))), sum+w
			for s, step := range steps {
				right[s] = append(right[s], psychophysics.Weibull(float64(step)/t, b, lapse, 9))
			}
		}
	}
	for i := range prior {
		prior[i] /= sum
	}
	return prior, logs, right
}

func gridOf(prior []float64, right [][]float64) *psychophysics.Grid {
	return psychophysics.NewGrid(slices.Clone(prior), len(right), func(s, i int) float64 { return right[s][i] })
}

// Going backward over multisets finds what trying every rule does.
func TestLeastVarianceBound(t *testing.T) {
	for _, c := range []*nearEnd{shadows, highlights} {
		prior, logs, right := c.among([]int{1, 3, 8})
		for n := range 5 {
			got, want := leastVariance(prior, logs, right, n), best(gridOf(prior, right), logs, right, n)
			if math.Abs(got/want-1) > 1e-9 {
				t.Errorf("%s, %d judgements: %.9f, by trying every rule %.9f", c.aspect, n, got, want)
			}
		}
	}
}

// The sweat factor takes every judgement to lie at its best place. Where that is, the first have to find out, so that no rule comes near it. The rule of the checks near black and white, which
// lowers the variance that is expected after the next judgement, is held to the best that any rule could do in the whole of a standard length, where both may show eight steps.
func TestNearEndBestBound(t *testing.T) {
	for _, c := range []struct {
		of    *nearEnd
		steps []int
		n     int
		slope float64 // that is likeliest
	}{
		{shadows, []int{2, 3, 4, 5, 6, 8, 11, 16}, fixed[Standard][Shadows].trials, 5.5},
		{highlights, []int{1, 2, 3, 4, 5, 6, 8, 12}, fixed[Standard][Highlights].trials, 2.5},
	} {
		if testing.Short() {
			c.n = min(c.n, 7)
		}
		prior, logs, right := c.of.among(c.steps)
		rule := func(g *psychophysics.Grid) int { return g.LeastVariance(logs) }
		sd, least := math.Sqrt(walked(gridOf(prior, right), logs, right, c.n, rule)), math.Sqrt(leastVariance(prior, logs, right, c.n))
		everyPrior, everyLog, every := c.of.among(c.of.steps)
		whole := math.Sqrt(walked(gridOf(everyPrior, every), everyLog, every, c.n, func(g *psychophysics.Grid) int { return g.LeastVariance(everyLog) }))
		sweat := NearEndBound(c.slope, c.n, c.of.spread)
		t.Logf("%s, %d judgements: SD of the logarithm %.4f, of the best rule %.4f: %.3f times it; with every step %.4f; the sweat factor alone %.4f",
			c.of.aspect, c.n, sd, least, sd/least, whole, sweat)
		if !(least <= sd*(1+1e-9)) || sd > 1.15*least {
			t.Errorf("%s: %.4f, the best rule's %.4f", c.of.aspect, sd, least)
		}
		if whole > sd*1.001 { // eight steps are enough to speak of all
			t.Errorf("%s: with every step %.4f, with eight %.4f", c.of.aspect, whole, sd)
		}
	}
}
