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
		Viewer, Length                               string
		Sittings                                     int
		Void, RightBits                              share
		Judgements, Seconds, Lightness, Tint, Places float64
		Quantities                                   map[string]quantity
		After                                        map[int]reach
		Outcomes, Clear                              map[string]outcome
		Faults                                       map[string]int
		Score                                        quantity
		Parts                                        map[string]float64
	}
	result struct {
		Estimates map[string]struct{ Mean, Truth float64 }
		Spent     map[string]int
		Void      bool
	}
)

// program returns what patterns/rehearse prints.
func (b *bench) program(args ...string) (string, error) {
	program := filepath.Join(b.dir, "rehearse")
	if _, err := os.Stat(program); err != nil { // the first time
		if _, err := b.command(nil, "go", "build", "-o", program, "./patterns/rehearse"); err != nil {
			return "", err
		}
	}
	return b.command(nil, program, args...)
}

// rehearse runs sittings and returns their summary, and the sittings themselves unless args ask for the summary alone.
func (b *bench) rehearse(args ...string) (summary, []result, error) {
	out, err := b.program(args...)
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

// fresh is the seed of the first of the screens that figures are told of: priors, counts and thresholds were chosen on seeds below it.
const fresh = 5_000_000

// sittings is how many are run of n: fewer if b is quick.
func (b *bench) sittings(n int) int { return max(n/b.share, 1) }

// random rehearses on n random screens, or fewer if b is quick.
func (b *bench) random(n int, viewer, length string, more ...string) (summary, error) {
	s, _, err := b.rehearse(append([]string{"-summary", "-seed", strconv.Itoa(fresh), "-random", strconv.Itoa(b.sittings(n)), "-viewer", viewer, "-length", length}, more...)...)
	return s, err
}

// covered is what the 90 % intervals of these quantities are held to, for typical viewers at standard length; the others are held to nothing.
var covered = map[string]mark{
	"first visible code": {87, 93, "87 to 93"}, "first visible step": {87, 93, "87 to 93"}, "gamma": {87, 93, "87 to 93"},
}

// marks are what the verdicts on a purpose are held to. The zero mark holds to nothing.
type marks struct{ falseHolds, falseOff, unsure, clearHolds, clearUnsure mark }

// rehearsals measures coverage and verdicts on random screens, by kinds of viewer and lengths.
func rehearsals(b *bench) error {
	var estimates, verdicts, voids [][]string
	strict := func(unsure float64) marks {
		m := marks{falseHolds: atMost(1.5, ""), falseOff: atMost(1, ""), clearHolds: atMost(0.5, ""), clearUnsure: atMost(17, "")}
		if unsure > 0 {
			m.unsure = atMost(unsure, "")
		} else {
			m.clearUnsure = mark{}
		}
		return m
	}
	wary := map[string]marks{"light": {falseHolds: atMost(4, "")}, "colour": {falseHolds: atMost(4, "")}}
	never := map[string]marks{"light": {falseHolds: atMost(4, "")}, "colour": {falseHolds: atMost(0, "")}}
	for _, run := range []struct {
		viewer, length string
		screens        int
		marks          map[string]marks
		void           mark
		main           bool // of typical viewers at standard length
	}{
		{viewer: "typical", length: "standard", screens: 2000, marks: map[string]marks{"light": strict(25), "colour": strict(32)}, void: atMost(1, ""), main: true},
		{viewer: "typical", length: "long", screens: 2000, marks: map[string]marks{"light": strict(18), "colour": strict(22)}, void: atMost(1, "")},
		{viewer: "typical", length: "short", screens: 2000, marks: map[string]marks{"light": strict(0), "colour": strict(0)}},
		{viewer: "strained", length: "standard", screens: 1000, marks: wary},
		{viewer: "double", length: "standard", screens: 1000, marks: wary},
		{viewer: "deutan", length: "standard", screens: 1000, marks: never},
		{viewer: "protan", length: "standard", screens: 1000, marks: never},
		{viewer: "deuteranomalous", length: "standard", screens: 500, marks: never},
		{viewer: "expert", length: "standard", screens: 500},
		{viewer: "casual", length: "standard", screens: 500},
		{viewer: "clicker", length: "standard", screens: 300, void: mark{95, 100, "at least 95"}},
	} {
		var more []string
		if run.main {
			more = []string{"-parts"}
		}
		s, err := b.random(run.screens, run.viewer, run.length, more...)
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
			if run.main {
				m = covered[q]
			}
			v := s.Quantities[q]
			estimates = append(estimates, []string{who, q, fmt.Sprintf("%.4f", v.RMS), fmt.Sprintf("%+.4f", v.Bias), rate(v.Coverage), b.held("coverage of "+q+", "+who, v.Coverage.Rate, m)})
		}
		score, rms, tint, places := mark{}, mark{}, mark{}, mark{}
		if run.main {
			score, rms, tint, places = mark{87, 93, "87 to 93"}, atMost(6, "points"), atMost(0.0018, "u'v'"), atMost(0.05, "")
		}
		figure := func(what, format string, v float64, m mark) {
			estimates = append(estimates, []string{who, what, fmt.Sprintf(format, v), "", "", b.held(what+", "+who, v, m)})
		}
		estimates = append(estimates, []string{who, "score", fmt.Sprintf("%.2f", s.Score.RMS), fmt.Sprintf("%+.2f", s.Score.Bias), rate(s.Score.Coverage),
			b.held("coverage of score, "+who, s.Score.Coverage.Rate, score) + " " + b.held("rms error of score, "+who, s.Score.RMS, rms)})
		for _, part := range slices.Sorted(maps.Keys(s.Parts)) {
			figure("score with the truth in place of "+part, "%.2f", s.Parts[part], mark{})
		}
		figure("tone curve, L*", "%.3f", s.Lightness, mark{})
		figure("grey tint by level and axis, u'v'", "%.5f", s.Tint, tint)
		figure("evenness by place, log light", "%.4f", s.Places, places)
		for _, name := range slices.Sorted(maps.Keys(s.Outcomes)) {
			o := s.Outcomes[name]
			m := run.marks[name]
			spent := ""
			if o.Judgements > 0 {
				spent = fmt.Sprintf("%.1f", o.Judgements)
			}
			verdicts = append(verdicts, []string{
				who, name, rate(o.FalseHolds), rate(o.FalseHoldsOfOff), b.held("false holds of "+name+", "+who, o.FalseHolds.Rate, m.falseHolds),
				rate(o.FalseOff), rate(o.FalseOffOfHolds), b.held("false off of "+name+", "+who, o.FalseOff.Rate, m.falseOff),
				rate(o.Unsure), b.held("unsure of "+name+", "+who, o.Unsure.Rate, m.unsure), spent,
			})
		}
		for _, name := range slices.Sorted(maps.Keys(s.Clear)) {
			o, m := s.Clear[name], run.marks[name]
			clear := name + ", clear of tolerances"
			verdicts = append(verdicts, []string{
				who, clear, rate(o.FalseHolds), rate(o.FalseHoldsOfOff), b.held("false holds of "+clear+", "+who, o.FalseHolds.Rate, m.clearHolds),
				rate(o.FalseOff), rate(o.FalseOffOfHolds), "", rate(o.Unsure), b.held("unsure of "+clear+", "+who, o.Unsure.Rate, m.clearUnsure), "",
			})
		}
		for name := range covered {
			if _, ok := s.Quantities[name]; !ok {
				return fmt.Errorf("%s: no figure for %s", who, name)
			}
		}
		for name := range run.marks {
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
	if err := b.table("Verdicts", "False verdicts as shares of all sittings that are not void and whose truth is known, and of those whose truth is the other. "+
		"A screen is clear of tolerances where the greatest of its quantities is below 0.83 or above 1.20 of its tolerance.",
		[]string{who, "of", "false holds", "of off", "held to", "false off", "of holds", "held to", "unsure", "held to", "judgements"}, verdicts); err != nil {
		return err
	}
	return b.table("Void sittings", "", []string{who, "void", "held to", "judgements", "minutes"}, voids)
}

// faults measures how often a single fault at twice its tolerance is named, and what else is.
func faults(b *bench) error {
	var rows [][]string
	for _, name := range []string{
		"none", "full range taken for limited", "limited range shown as full", "crushed blacks", "clipped lights", "gamma too high", "gamma too low", "contrast enhancement",
		"tinted greys", "coarse steps", "uneven screen", "colours not managed",
	} {
		s, err := b.random(300, "typical", "standard", "-fault", name)
		if err != nil {
			return err
		}
		n := float64(s.Sittings - s.Void.Count)
		wrong, words := 0, []string{}
		for _, f := range slices.Sorted(maps.Keys(s.Faults)) {
			if f != name {
				wrong += s.Faults[f]
				words = append(words, fmt.Sprintf("%s %d", f, s.Faults[f]))
			}
		}
		right, rightCell := 100*float64(s.Faults[name])/n, ""
		if name != "none" {
			rightCell = b.held("named "+name, right, mark{95, 100, "at least 95"})
		}
		rows = append(rows, []string{name, strconv.Itoa(int(n)), fmt.Sprintf("%.1f", right), rightCell, fmt.Sprintf("%.1f", 100*float64(wrong)/n),
			b.held("wrong names for "+name, 100*float64(wrong)/n, atMost(2, "")), strings.Join(words, ", ")})
	}
	return b.table("Faults", "Sound screens with one fault, at twice its tolerance where it comes in strengths; typical viewers, standard length.",
		[]string{"fault", "sittings", "named", "held to", "another named", "held to", "which"}, rows)
}

// plans measures what planning by expected gain is worth beside a fixed list of judgements.
func plans(b *bench) error {
	var rows [][]string
	for _, length := range []string{"short", "standard", "long"} {
		for _, plan := range []struct {
			name string
			args []string
		}{{"planned", nil}, {"fixed list", []string{"-fixed"}}} {
			s, err := b.random(600, "typical", length, plan.args...)
			if err != nil {
				return err
			}
			l, c := s.Outcomes["light"], s.Outcomes["colour"]
			rows = append(rows, []string{length, plan.name, fmt.Sprintf("%.0f", s.Judgements), fmt.Sprintf("%.1f", s.Seconds/60),
				rate(l.FalseHolds), rate(l.FalseOff), rate(l.Unsure), rate(c.FalseHolds), rate(c.FalseOff), rate(c.Unsure), fmt.Sprintf("%.2f", s.Score.RMS)})
		}
	}
	return b.table("Plans", fmt.Sprintf("The same %d screens and viewers with judgements planned by what is unsure, and with a fixed list.", b.sittings(600)),
		[]string{"length", "plan", "judgements", "minutes", "light: false holds", "false off", "unsure", "colour: false holds", "false off", "unsure", "score, rms error"}, rows)
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
