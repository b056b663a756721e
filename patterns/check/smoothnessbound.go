package check

import (
	"math"

	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// SmoothnessBound returns a probability of naming the depth wrong that no procedure can stay below, for 5, 6, 7 and 8 bits equally likely, after n
// judgements of quadrants by a viewer of the given threshold (JNDs of the GSDF): that of an oracle who knows the threshold, that the curve is a power of 2.2
// on a full range, and which of two pairs the depth is in. Between two depths the least error of any adaptive sequence follows exactly by
// backward induction over the probability of one of them; the pairing that leaves the greatest error is taken. The error is concave in that
// probability, so linear interpolation between the points of a grid does not raise it.
func SmoothnessBound(threshold float64, n int) float64 {
	var p [depths][smoothPairs]float64 // of a right answer
	for d := range p {
		light := depthLight(screen.Full, leastDepth+d, 2.2)
		for s := range p[d] {
			p[d][s] = psychophysics.Weibull(jnds(light[stepFrom+s], light[stepFrom+s+1])/threshold, seeing, lapse, 4)
		}
	}
	worst := 0.0
	for _, pairs := range [][4]int{{3, 2, 1, 0}, {3, 1, 2, 0}, {3, 0, 2, 1}} {
		e := (leastError(p[pairs[0]][:], p[pairs[1]][:], n) + leastError(p[pairs[2]][:], p[pairs[3]][:], n)) / 2
		worst = max(worst, e)
	}
	return worst
}

// leastError returns the least probability that any sequence of n stimuli, each chosen in the light of the answers before, takes one of two equally
// likely hypotheses for the other. They predict outcome 1 of stimulus s with probabilities a[s] and b[s], neither 0 nor 1.
func leastError(a, b []float64, n int) float64 {
	// Points are equally far apart in the log odds x of the first hypothesis, so that an answer moves every point by the same.
	const most, points = 16.0, 801
	const apart = 2 * most / (points - 1)
	var odds, error [points]float64
	for i := range odds {
		odds[i] = 1 / (1 + math.Exp(most-float64(i)*apart))
		error[i] = min(odds[i], 1-odds[i])
	}
	// at returns the error at log odds x: 0 at certainty, beyond the outermost points.
	at := func(x float64) float64 {
		v := 1 / (1 + math.Exp(-x))
		i := int(math.Floor((x + most) / apart))
		switch {
		case i < 0:
			return error[0] * v / odds[0]
		case i >= points-1:
			return error[points-1] * (1 - v) / (1 - odds[points-1])
		}
		t := (v - odds[i]) / (odds[i+1] - odds[i])
		return error[i] + float64(t*(error[i+1]-error[i]))
	}
	type stimulus struct{ a, b float64 }
	seen := map[stimulus]bool{}
	for s := range a {
		if a[s] != b[s] {
			seen[stimulus{a[s], b[s]}] = true
		}
	}
	for range n {
		next := error
		for s := range seen {
			one, none := math.Log(s.a/s.b), math.Log((1-s.a)/(1-s.b))
			for i, v := range odds {
				x := float64(i)*apart - most
				right := float64(v*s.a) + float64((1-v)*s.b)
				next[i] = min(next[i], float64(right*at(x+one))+float64((1-right)*at(x+none)))
			}
		}
		error = next
	}
	return error[(points-1)/2]
}
