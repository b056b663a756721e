package check

import (
	"math"

	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// SmoothnessBound returns a probability of naming the depth wrong that no procedure can stay below, for 5, 6, 7 and 8 bits equally likely, after n
// judgements of quadrants by a viewer of the given threshold (JNDs of the GSDF): that of one who knows the threshold, and that the curve is a power of 2.2
// on a full range, and for every course of answers asks what is best to the end.
func SmoothnessBound(threshold float64, n int) float64 { return smoothnessBounds(threshold, n)[n] }

// smoothnessBounds returns the bounds after 0 to n judgements.
func smoothnessBounds(threshold float64, n int) []float64 {
	var all [depthCases]depthCase
	for d := range all {
		all[d] = depthCase{leastDepth + d, threshold}
	}
	return boundsAmong(all, n)
}

// depthCases is how many hypotheses a bound is worked out for: more take too long.
const depthCases = depths

// A depthCase is a depth with the threshold of a viewer, JNDs of the GSDF.
type depthCase struct {
	bits      int
	threshold float64
}

// boundsAmong returns the least probabilities of naming the depth wrong after 0 to n judgements, by one who knows that one of equally likely cases is so.
func boundsAmong(all [depthCases]depthCase, n int) []float64 {
	stimuli := make([][depthCases]float64, smoothPairs) // probabilities of a right answer
	var names [depthCases]int
	for i, h := range all {
		names[i] = h.bits
		light := depthLight(screen.Full, h.bits, 2.2)
		for s := range stimuli {
			stimuli[s][i] = psychophysics.Weibull(jnds(light[stepFrom+s], light[stepFrom+s+1])/h.threshold, seeing, lapse, 4)
		}
	}
	return leastErrors(stimuli, names, n)
}

// Weights of hypotheses are kept relative to the greatest, at steps of leastStep of the logarithm, of which there are leastSteps, and at 0.
const leastStep, leastSteps = 0.5, 18

// leastErrors returns, for 0 to n stimuli each chosen in the light of the answers before, the least probability of giving a wrong name to what holds of equally likely
// hypotheses, or little less; some may share a name. They predict one of two outcomes of each stimulus with the given probabilities, none of which is 0 or 1.
//
// It goes backward from the last answer (Bellman 1957). What a policy errs by is a sum over hypotheses of weight times its error under each. So the least error is concave
// and homogeneous in the weights, and between the points of a grid over these it is no less than linear interpolation has it.
func leastErrors(stimuli [][depthCases]float64, names [depthCases]int, n int) []float64 {
	const rows = leastSteps + 1
	level := [rows + 1]float64{} // the weight at each step; the last two are 0
	for i := range leastSteps {
		level[i] = math.Exp(-leastStep * float64(i))
	}
	type table [depthCases][rows][rows][rows]float64 // by the greatest, then by the steps of the others in order
	// at returns the error at weights.
	at := func(t *table, w *[depthCases]float64) float64 {
		top := 0
		for i, v := range w {
			if v > w[top] {
				top = i
			}
		}
		var low [depthCases - 1]int
		var part [depthCases - 1]float64 // of the lower of two levels
		k := 0
		for i, v := range w {
			if i == top {
				continue
			}
			v /= w[top]
			a := leastSteps // at 0
			if v > 0 {
				a = min(int(-math.Log(v)/leastStep), leastSteps-1)
			}
			low[k], part[k] = a, 1
			if a < leastSteps {
				part[k] = (level[a] - v) / (level[a] - level[a+1])
			} else {
				low[k]--
			}
			k++
		}
		sum := 0.0
		for corner := range 1 << (depthCases - 1) {
			share := 1.0
			var c [depthCases - 1]int
			for i := range c {
				if corner>>i&1 == 1 {
					c[i], share = low[i]+1, share*part[i]
				} else {
					c[i], share = low[i], share*(1-part[i])
				}
			}
			if share > 0 {
				sum += share * t[top][c[0]][c[1]][c[2]]
			}
		}
		return sum * w[top]
	}
	var even [depthCases]float64
	for i := range even {
		even[i] = 1.0 / depthCases
	}
	here, next := new(table), new(table)
	each := func(set func(w *[depthCases]float64) float64, to *table) {
		for top := range to {
			for a := range to[top] {
				for b := range to[top][a] {
					for c := range to[top][a][b] {
						var w [depthCases]float64
						others := [depthCases - 1]float64{level[a], level[b], level[c]}
						k := 0
						for i := range w {
							if i == top {
								w[i] = 1
							} else {
								w[i] = others[k]
								k++
							}
						}
						to[top][a][b][c] = set(&w)
					}
				}
			}
		}
	}
	each(func(w *[depthCases]float64) float64 {
		sum, most := 0.0, 0.0
		for i, v := range w {
			sum += v
			named := 0.0
			for k, u := range w {
				if names[k] == names[i] {
					named += u
				}
			}
			most = max(most, named)
		}
		return sum - most
	}, here)
	errors := []float64{at(here, &even)}
	for range n {
		each(func(w *[depthCases]float64) float64 {
			least := math.Inf(1)
			for _, p := range stimuli {
				one, none := *w, *w
				for i, v := range p {
					one[i], none[i] = w[i]*v, w[i]*(1-v)
				}
				least = min(least, at(here, &one)+at(here, &none))
			}
			return least
		}, next)
		here, next = next, here
		errors = append(errors, at(here, &even))
	}
	return errors
}
