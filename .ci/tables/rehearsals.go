package main

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// The parts of patterns/rehearse's output that are used here; see its summary.go and result.go.
type (
	share struct {
		Count, Of    int
		Rate, Lo, Hi float64
	}
	quantity struct {
		RMS, Bias float64
		Coverage  share
	}
	outcome struct {
		FalseHolds, FalseHoldsOfOff, FalseOff, FalseOffOfHolds, Unsure share
		Judgements                                                     float64
	}
	reach   struct{ RMS, Bound, Ratio float64 }
	summary struct {
		Viewer, Length                 string
		Sittings                       int
		Void                           share
		Judgements, Seconds, Lightness float64
		Quantities                     map[string]quantity
		After                          map[int]reach
		Outcomes                       map[string]outcome
		Score                          quantity
	}
	result struct {
		Estimates map[string]struct{ Mean, Truth float64 }
		Spent     map[string]int
		Void      bool
	}
)

// rehearse runs sittings and returns their summary, and the sittings themselves unless args ask for the summary alone.
func (b *bench) rehearse(args ...string) (summary, []result, error) {
	program := filepath.Join(b.dir, "rehearse")
	if _, err := os.Stat(program); err != nil { // the first time
		if _, err := b.command(nil, "go", "build", "-o", program, "./patterns/rehearse"); err != nil {
			return summary{}, nil, err
		}
	}
	out, err := b.command(nil, program, args...)
	if err != nil {
		return summary{}, nil, err
	}
	var all []result
	for line := range strings.Lines(out) {
		var last struct{ Summary *summary }
		if err := json.Unmarshal([]byte(line), &last); err != nil {
			return summary{}, nil, fmt.Errorf("what rehearse printed: %w", err)
		}
		if last.Summary != nil {
			return *last.Summary, all, nil
		}
		var r result
		if err := json.Unmarshal([]byte(line), &r); err != nil {
			return summary{}, nil, fmt.Errorf("what rehearse printed: %w", err)
		}
		all = append(all, r)
	}
	return summary{}, nil, fmt.Errorf("rehearse %s printed no summary", strings.Join(args, " "))
}

// random rehearses on n random screens, or fewer if b is quick.
func (b *bench) random(n int, viewer, length string, more ...string) (summary, error) {
	s, _, err := b.rehearse(append([]string{"-summary", "-random", strconv.Itoa(max(n/b.share, 1)), "-viewer", viewer, "-length", length}, more...)...)
	return s, err
}

// covered is what the 90 % intervals of these quantities are held to, for typical viewers at standard length; the others are held to nothing.
var covered = map[string]mark{
	"first visible code": {87, 93, "87 to 93"}, "first visible step": {87, 93, "87 to 93"}, "gamma": {87, 93, "87 to 93"},
}

// aspects are those that a wrong verdict on is held to a mark.
var aspects = []string{"shadows", "highlights", "tone"}

// rehearsals measures coverage and verdicts on random screens, by kinds of viewer and lengths.
func rehearsals(b *bench) error {
	var estimates, verdicts, voids [][]string
	for _, run := range []struct {
		viewer, length string
		screens        int
		wrong          mark
		void           mark
		coverage       bool
	}{
		{viewer: "typical", length: "standard", screens: 500, wrong: atMost(2, ""), void: atMost(1, ""), coverage: true},
		{viewer: "double", length: "standard", screens: 500, wrong: atMost(3, "")},
		{viewer: "expert", length: "standard", screens: 300},
		{viewer: "casual", length: "standard", screens: 300},
		{viewer: "clicker", length: "standard", screens: 300, void: mark{95, 100, "at least 95"}},
		{viewer: "typical", length: "short", screens: 300},
		{viewer: "typical", length: "long", screens: 300},
	} {
		s, err := b.random(run.screens, run.viewer, run.length)
		if err != nil {
			return err
		}
		who := fmt.Sprintf("%s, %s, %d", run.viewer, run.length, s.Sittings)
		voids = append(voids, []string{who, rate(s.Void), b.held("void, "+who, s.Void.Rate, run.void), fmt.Sprintf("%.0f", s.Judgements), fmt.Sprintf("%.1f", s.Seconds/60)})
		if run.viewer == "clicker" {
			continue // nearly all void: the rest says nothing
		}
		for _, q := range slices.Sorted(maps.Keys(s.Quantities)) {
			m := mark{}
			if run.coverage {
				m = covered[q]
			}
			v := s.Quantities[q]
			estimates = append(estimates, []string{who, q, fmt.Sprintf("%.3f", v.RMS), fmt.Sprintf("%+.3f", v.Bias), rate(v.Coverage), b.held("coverage of "+q+", "+who, v.Coverage.Rate, m)})
		}
		estimates = append(estimates,
			[]string{who, "score", fmt.Sprintf("%.2f", s.Score.RMS), fmt.Sprintf("%+.2f", s.Score.Bias), rate(s.Score.Coverage), ""},
			[]string{who, "tone curve, L*", fmt.Sprintf("%.3f", s.Lightness), "", "", ""})
		for _, name := range slices.Sorted(maps.Keys(s.Outcomes)) {
			o := s.Outcomes[name]
			m := mark{}
			if slices.Contains(aspects, name) {
				m = run.wrong
			}
			spent := ""
			if o.Judgements > 0 {
				spent = fmt.Sprintf("%.0f", o.Judgements)
			}
			verdicts = append(verdicts, []string{
				who, name, rate(o.FalseHolds), rate(o.FalseHoldsOfOff), b.held("false holds of "+name+", "+who, o.FalseHolds.Rate, m),
				rate(o.FalseOff), rate(o.FalseOffOfHolds), b.held("false off of "+name+", "+who, o.FalseOff.Rate, m), rate(o.Unsure), spent,
			})
		}
		for name := range covered {
			if _, ok := s.Quantities[name]; !ok {
				return fmt.Errorf("%s: no figure for %s", who, name)
			}
		}
		for _, name := range aspects {
			if _, ok := s.Outcomes[name]; !ok && b.share == 1 {
				return fmt.Errorf("%s: no figure for %s", who, name)
			}
		}
	}
	who := "viewer, length, random screens"
	if err := b.table("Estimates", "How often 90 % intervals cover the truth, over sittings that are not void.",
		[]string{who, "quantity", "rms error", "bias", "coverage", "held to"}, estimates); err != nil {
		return err
	}
	if err := b.table("Verdicts", "False verdicts as shares of all sittings that are not void and whose truth is known, and of those whose truth is the other.",
		[]string{who, "of", "false holds", "of off", "held to", "false off", "of holds", "held to", "unsure", "judgements"}, verdicts); err != nil {
		return err
	}
	return b.table("Void sittings", "", []string{who, "void", "held to", "judgements", "minutes"}, voids)
}

// tone measures tone curves beside the least error that any estimator could reach.
func tone(b *bench) error {
	var rows [][]string
	for _, run := range []struct {
		viewer string
		marks  map[int]mark
	}{
		{"steady", map[int]mark{20: atMost(0.45, "ΔL*"), 40: atMost(0.36, "ΔL*")}},
		{"typical", nil},
	} {
		s, err := b.random(300, run.viewer, "long", "-bounds")
		if err != nil {
			return err
		}
		for _, n := range slices.Sorted(maps.Keys(s.After)) {
			who := fmt.Sprintf("%s, long, %d", run.viewer, s.Sittings)
			a := s.After[n]
			rows = append(rows, []string{who, strconv.Itoa(n), fmt.Sprintf("%.3f", a.RMS), fmt.Sprintf("%.3f", a.Bound), fmt.Sprintf("%.2f", a.Ratio),
				b.held(fmt.Sprintf("tone curve after %d judgements, %s", n, who), a.RMS, run.marks[n])})
		}
		for n := range run.marks {
			if _, ok := s.After[n]; !ok {
				return fmt.Errorf("%s: no tone curve after %d judgements", run.viewer, n)
			}
		}
	}
	return b.table("Tone curves", "The rms error of L* after so many judgements of tone, beside the Bayesian Cramér-Rao bound for that viewer and those screens (check.ToneBound). "+
		"The marks are for the steady viewer, for whom the bounds 0.37 and 0.29 were worked out.",
		[]string{"viewer, length, random screens", "judgements", "rms error", "bound", "times the bound", "held to"}, rows)
}

func rate(s share) string {
	if s.Of == 0 {
		return "none"
	}
	return fmt.Sprintf("%.1f (%.1f to %.1f; %d of %d)", s.Rate, s.Lo, s.Hi, s.Count, s.Of)
}
