package report

import (
	"math"
	"math/rand/v2"

	"example.org/plumb/colour"
	"example.org/plumb/colour/difference"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// shown is the greatest CIEDE2000, relative to the screen's own white, at which content counts as shown as intended.
const shown = 2.5

// Content is the share of ordinary picture content at each grey code, for scores: three parts in ten even over all codes, the rest normal about code 105
// with a standard deviation of 58. It is a stated distribution of ours and no measurement; it sums to 1.
var Content = func() (w [256]float64) {
	sum := 0.0
	for c := range w {
		z := (float64(c) - 105) / 58
		w[c] = 0.3/256 + 0.7*math.Exp(-z*z/2)/(58*math.Sqrt(2*math.Pi))
		sum += w[c]
	}
	for c := range w {
		w[c] /= sum
	}
	return w
}()

// A Shown is a screen as scores see it: its tone curve, what is lost at both ends, and how the other channels' gammas differ from green's.
type Shown struct {
	Light       func(v float64) float64 // relative to own black and white
	Crush, Clip int                     // codes up to Crush look black, and from Clip on white
	Red, Blue   float64                 // gamma of the channel less that of green
}

// scoreStep is the distance between the codes that a score looks at; each stands for the codes around it.
const scoreStep = 8

// Score returns the share, 0 to 100, of the content that a screen shows within CIEDE2000 2.5 of the aim, relative to its own white, and not lost to
// crush or clip.
func (s Shown) Score(aim screen.Aim) float64 {
	matrix, white := colour.SRGB.Matrix(), colour.SRGB.White()
	total := 0.0
	for first := 0; first < 256; first += scoreStep {
		weight, lost := 0.0, 0.0
		for c := first; c < first+scoreStep; c++ {
			weight += Content[c]
			if c > 0 && c <= s.Crush || c < 255 && c >= s.Clip {
				lost += Content[c]
			}
		}
		v := (float64(first) + (scoreStep-1)/2.0) / 255
		y := math.Max(s.Light(v), 0)
		logv := math.Log(v)
		rgb := colour.XYZ{X: y * math.Exp(s.Red*logv), Y: y, Z: y * math.Exp(s.Blue*logv)}
		lab := matrix.Apply(rgb).Lab(white)
		lo, hi := aim.Band(v)
		if difference.CIEDE2000(lab, colour.Lab{L: min(max(lab.L, lo), hi)}) <= shown {
			total += weight - lost
		}
	}
	return 100 * total
}

// scoreDraws is how many possible screens a score is taken over.
const scoreDraws = 250

// tint is the scale of the prior of a channel's gamma less green's, with Student's t of 4 degrees of freedom, while neutrals are not checked. Ours:
// displays differ by 0.02 to 0.10 between channels, the better half by less.
const tint = 0.015

// score draws possible screens from what a sitting found, with everything not found at its prior, and returns the posterior of the score.
func score(found check.Results, aim screen.Aim, seed uint64) psychophysics.Estimate {
	r := rand.New(rand.NewPCG(seed, 0x73636f7265))
	tone := found.Tone
	if tone == nil {
		t := check.UnseenTone(aim, r)
		tone = &t
	}
	crush, clip := check.Unseen(check.Shadows).Crush, check.Unseen(check.Highlights).Crush
	if found.Shadows != nil {
		crush = found.Shadows.Crush
	}
	if found.Highlights != nil {
		clip = found.Highlights.Crush
	}
	scores, weights := make([]float64, scoreDraws), make([]float64, scoreDraws)
	curve := picker(tone.Weights)
	for i := range scores {
		t := tone.Tones[curve((float64(i)+r.Float64())/scoreDraws)]
		s := Shown{
			Light: t.Light,
			Crush: int(math.Round(draw(crush, r))), Clip: 255 - int(math.Round(draw(clip, r))),
			Red: tint * student(r), Blue: tint * student(r),
		}
		scores[i], weights[i] = s.Score(aim), 1
	}
	return psychophysics.NewEstimate(scores, weights)
}

// picker returns a function from u in 0 to 1 to the index at which the cumulative weight passes u.
func picker(weights []float64) func(u float64) int {
	at, sum := 0, 0.0
	return func(u float64) int { // u ascends from call to call
		for at < len(weights)-1 && sum+weights[at] < u {
			sum += weights[at]
			at++
		}
		return at
	}
}

// draw returns one value of an estimate at random.
func draw(e psychophysics.Estimate, r *rand.Rand) float64 {
	u := r.Float64()
	for i, m := range e.Mass {
		if u -= m; u < 0 {
			return e.At[i]
		}
	}
	return e.At[len(e.At)-1]
}

// student draws from Student's t with 4 degrees of freedom.
func student(r *rand.Rand) float64 {
	chi := 0.0
	for range 4 {
		z := r.NormFloat64()
		chi += z * z
	}
	return r.NormFloat64() * math.Sqrt(4/chi)
}
