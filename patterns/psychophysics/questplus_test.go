package psychophysics_test

import (
	"encoding/json"
	"math"
	"testing"

	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/testdata"
)

// A watson is one of the runs of Watson 2017: what the stimuli and hypotheses were, and what an answer's probability is.
type watson struct {
	stimuli [][]float64
	axes    [][]float64 // hypotheses: the product of these
	p       func(x, h []float64) float64
	mode    []int // axes in the order of the vectors' mode; the rest of the mode is fixed
}

func steps(lo, hi, step float64) []float64 {
	var v []float64
	for i := 0; lo+float64(i)*step <= hi+1e-9; i++ {
		v = append(v, lo+float64(i)*step)
	}
	return v
}

func column(v []float64) [][]float64 {
	var c [][]float64
	for _, x := range v {
		c = append(c, []float64{x})
	}
	return c
}

func weibullDB(x, threshold, slope, guess, lapse float64) float64 {
	return 1 - lapse - (1-guess-lapse)*math.Exp(-math.Pow(10, slope*(x-threshold)/20))
}

var dB = steps(-40, 0, 1)

var runs = map[string]watson{
	"example1_threshold_{1,1,2}": {column(dB), [][]float64{dB}, func(x, h []float64) float64 { return weibullDB(x[0], h[0], 3.5, 0.5, 0.02) }, []int{0}},
	"implementation_threshold_slope_{1,2,2}": {column(dB), [][]float64{dB, {2, 3, 4, 5}}, func(x, h []float64) float64 {
		return weibullDB(x[0], h[0], h[1], 0.5, 0.02)
	}, []int{0, 1}},
	"example2_threshold_slope_lapse_{1,3,2}": {column(dB), [][]float64{dB, {2, 3, 4, 5}, {0, 0.01, 0.02, 0.03, 0.04}}, func(x, h []float64) float64 {
		return weibullDB(x[0], h[0], h[1], 0.5, h[2])
	}, []int{0, 1, 3}},
	"example3_normal_mean_sd_lapse_{1,3,2}": {column(steps(-10, 10, 1)), [][]float64{steps(-5, 5, 1), steps(1, 10, 1), {0, 0.01, 0.02, 0.03, 0.04}}, func(x, h []float64) float64 {
		return h[2] + (1-2*h[2])*psychophysics.Normal((x[0]-h[0])/h[1])
	}, []int{0, 1, 2}},
	"example4_csf_{2,3,2}": {grid(steps(-50, 0, 2), steps(0, 40, 2)), [][]float64{steps(-50, -30, 2), steps(-60, -40, 2), steps(0.8, 1.6, 0.2)}, func(x, h []float64) float64 {
		return weibullDB(x[0], math.Max(h[0], h[1]+h[2]*x[1]), 3, 0.5, 0.01)
	}, []int{0, 1, 2}},
}

func grid(contrast, frequency []float64) [][]float64 {
	var g [][]float64
	for _, c := range contrast {
		for _, f := range frequency {
			g = append(g, []float64{c, f})
		}
	}
	return g
}

// product lists the hypotheses, the last axis running fastest.
func product(axes [][]float64) [][]float64 {
	all := [][]float64{nil}
	for _, a := range axes {
		var next [][]float64
		for _, h := range all {
			for _, v := range a {
				next = append(next, append(append([]float64(nil), h...), v))
			}
		}
		all = next
	}
	return all
}

// The five runs of Watson 2017, J Vision 17(3):10. A published stimulus must be as good as ours to within 1e-9 nats: floating-point ties in the expected
// entropy may go either way, and after a tie the published one is taken.
func TestQuestPlusRuns(t *testing.T) {
	b, err := testdata.FS.ReadFile("psychophysics/questplus.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Runs []struct {
			Name        string
			Stimuli     []json.RawMessage
			Responses   []int
			Mode        []float64
			Checkpoints []struct {
				N              int
				Mode, Mean, SD []float64
			}
		}
	}
	if err := json.Unmarshal(b, &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Runs) != 5 {
		t.Fatalf("%d runs, want 5", len(file.Runs))
	}
	for _, run := range file.Runs {
		w, ok := runs[run.Name]
		if !ok {
			t.Fatalf("no model for %s", run.Name)
		}
		hypotheses := product(w.axes)
		prior := make([]float64, len(hypotheses))
		for i := range prior {
			prior[i] = 1
		}
		g := psychophysics.NewGrid(prior, len(w.stimuli), func(s, i int) float64 { return w.p(w.stimuli[s], hypotheses[i]) })
		ties := 0
		for n, raw := range run.Stimuli {
			at := -1
			for i, x := range w.stimuli {
				var one float64
				var two []float64
				if json.Unmarshal(raw, &one) == nil && x[0] == one || json.Unmarshal(raw, &two) == nil && len(two) == 2 && x[0] == two[0] && x[1] == two[1] {
					at = i
				}
			}
			if at < 0 {
				t.Fatalf("%s: stimulus %s is not of the domain", run.Name, raw)
			}
			ours := g.LeastEntropy()
			if gap := g.Gain(ours) - g.Gain(at); gap > 1e-9 {
				t.Errorf("%s: judgement %d: ours is %v, published %s, better by %g nats", run.Name, n+1, w.stimuli[ours], raw, gap)
			} else if ours != at {
				ties++
			}
			if err := g.Record(at, float64(run.Responses[n])); err != nil {
				t.Fatal(err)
			}
			for _, c := range run.Checkpoints {
				if c.N == n+1 {
					checkpoint(t, run.Name, g, hypotheses, w.mode, c.N, c.Mean, c.SD, nil)
				}
			}
		}
		checkpoint(t, run.Name, g, hypotheses, w.mode, len(run.Stimuli), nil, nil, run.Mode)
		if len(run.Checkpoints) == 0 || ties > 2 {
			t.Errorf("%s: %d checkpoints, %d ties", run.Name, len(run.Checkpoints), ties)
		}
	}
}

func checkpoint(t *testing.T, name string, g *psychophysics.Grid, hypotheses [][]float64, axes []int, n int, mean, sd, mode []float64) {
	t.Helper()
	best := 0
	for i, m := range g.Mass() {
		if m > g.Mass()[best]*(1+1e-12) {
			best = i
		}
	}
	for k, axis := range axes {
		values := make([]float64, len(hypotheses))
		for i, h := range hypotheses {
			values[i] = h[k]
		}
		e := g.Estimate(values)
		if mean != nil && (math.Abs(e.Mean()-mean[axis]) > 6e-6 || math.Abs(e.SD()-sd[axis]) > 6e-6) {
			t.Errorf("%s after %d: axis %d has mean %.5f and SD %.5f, published %.5f and %.5f", name, n, k, e.Mean(), e.SD(), mean[axis], sd[axis])
		}
		if mode != nil && math.Abs(hypotheses[best][k]-mode[axis]) > 1e-9 {
			t.Errorf("%s: mode of axis %d is %g, published %g", name, k, hypotheses[best][k], mode[axis])
		}
	}
}
