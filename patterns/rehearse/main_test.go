package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"example.org/plumb/patterns/check"
)

// file writes a file into a folder of the test's own.
func file(t *testing.T, dir, name, text string) string {
	t.Helper()
	p := filepath.Join(dir, name)
	if err := os.WriteFile(p, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return p
}

func TestRunRefuses(t *testing.T) {
	dir, empty := t.TempDir(), t.TempDir()
	good := file(t, dir, "screen.json", `{}`)
	file(t, empty, "readme.txt", "no screens here")
	unknown := file(t, dir, "unknown.txt", `{"name": "kitchen laptop", "gama": 2.2}`)
	deep := file(t, dir, "deep.txt", `{"tone": [{"curve": "gamma", "gama": 2.2}]}`)
	broken := file(t, dir, "broken.txt", `{"name": "kitchen`)
	wrong := file(t, dir, "wrong.txt", `{"bits": 99}`)
	viewer := file(t, dir, "viewer.txt", `{"treshold": 2}`)
	for name, c := range map[string]struct {
		args []string
		want string
	}{
		"nothing to look at":      {nil, "give -screen with a screen.json, or -random with a number"},
		"both":                    {[]string{"-screen", good, "-random", "3"}, "give -screen or -random, not both"},
		"an argument":             {[]string{"-screen", good, "standard"}, `"standard" is no flag`},
		"an unknown flag":         {[]string{"-screens", good}, "flag provided but not defined: -screens"},
		"no such screen":          {[]string{"-screen", filepath.Join(dir, "none.json")}, "none.json"},
		"an unknown field":        {[]string{"-screen", unknown}, `unknown.txt: display: unknown field "gama"`},
		"an unknown field inside": {[]string{"-screen", deep}, `"tone[0].gama"`},
		"a broken screen":         {[]string{"-screen", broken}, "broken.txt: display: "},
		"a screen that cannot be": {[]string{"-screen", wrong}, "wrong.txt: display: bits"},
		"a folder of none":        {[]string{"-screen", empty}, "no .json file in " + empty},
		"an unknown viewer":       {[]string{"-screen", good, "-viewer", "nobody"}, `viewer "nobody" is none of expert, typical, steady, casual, double, clicker, strained, protan, deutan, deuteranomalous, nor a file that can be read`},
		"a viewer of none":        {[]string{"-screen", good, "-viewer", viewer}, `unknown field "treshold"`},
		"an unknown length":       {[]string{"-screen", good, "-length", "endless"}, `length "endless" is none of short, standard, long`},
		"an unknown aim":          {[]string{"-screen", good, "-aim", "bright"}, `aim "bright" is none of "usual", "gamma 2.4", "L*", "wide"`},
		"an unknown fault":        {[]string{"-random", "1", "-fault", "dust"}, "-fault needs -random and one of "},
		"a fault of a screen":     {[]string{"-screen", good, "-fault", "none"}, "-fault needs -random and one of "},
		"no sittings":             {[]string{"-screen", good, "-sittings", "0"}, "-sittings and -random take 1 to 1000000"},
		"too many":                {[]string{"-random", "1000001"}, "-sittings and -random take 1 to 1000000"},
		"fewer than none":         {[]string{"-random", "-1"}, "-sittings and -random take 1 to 1000000"},
		"too large a seed":        {[]string{"-screen", good, "-seed", "4503599627370496"}, "-seed must be below 2^52"},
		"a seed in words":         {[]string{"-screen", good, "-seed", "one"}, "invalid value"},
	} {
		var out, errs bytes.Buffer
		err := run(c.args, &out, &errs)
		if err == nil || !strings.Contains(err.Error(), c.want) || out.Len() > 0 {
			t.Errorf("%s: %v, want %s; printed %q", name, err, c.want, out.String())
		}
		if name != "an unknown flag" && name != "a seed in words" && err != nil && !strings.HasPrefix(err.Error(), "rehearse: ") {
			t.Errorf("%s: %v does not say who speaks", name, err)
		}
	}
}

func TestHelp(t *testing.T) {
	var out, errs bytes.Buffer
	if err := run([]string{"-help"}, &out, &errs); !errors.Is(err, flag.ErrHelp) || out.Len() > 0 {
		t.Errorf("%v, %q", err, out.String())
	}
	for _, word := range []string{"-screen", "-viewer", "-length", "-sittings", "-seed", "-random", "-fault", "-fixed", "strained", "uneven screen", "first visible code", "first visible step", "gamma", "departure", "tone margin", "lightness", "mixture", "typical"} {
		if !strings.Contains(errs.String(), word) {
			t.Errorf("help does not speak of %q", word)
		}
	}
}

// lines runs the program and returns the objects it prints.
func lines(t *testing.T, args ...string) ([]map[string]any, string) {
	t.Helper()
	var out, errs bytes.Buffer
	if err := run(args, &out, &errs); err != nil {
		t.Fatal(err)
	}
	if errs.Len() > 0 {
		t.Errorf("complains: %s", errs.String())
	}
	var all []map[string]any
	for _, l := range strings.Split(strings.TrimSuffix(out.String(), "\n"), "\n") {
		var v map[string]any
		if err := json.Unmarshal([]byte(l), &v); err != nil {
			t.Fatalf("%v in %s", err, l)
		}
		all = append(all, v)
	}
	return all, out.String()
}

func keys(v any) string {
	var k []string
	m, ok := v.(map[string]any)
	if !ok {
		return "no object"
	}
	for name := range m {
		k = append(k, name)
	}
	slices.Sort(k)
	return strings.Join(k, " ")
}

// lacks returns which of some words are not among others.
func lacks(have, want string) (missing []string) {
	for _, w := range strings.Fields(want) {
		if !slices.Contains(strings.Fields(have), w) {
			missing = append(missing, w)
		}
	}
	return missing
}

// What is printed has the keys that outside checks rely on, and values of their kinds.
func TestShape(t *testing.T) {
	dir := t.TempDir()
	file(t, dir, "b.json", `{"name": "studio left", "tone": [{"gamma": 2.5}]}`)
	file(t, dir, "a.json", `{"crush": 20}`)
	file(t, dir, "c.txt", `no screen`)
	third := file(t, t.TempDir(), "tablet.json", `{"name": "packing-room tablet", "clip": 235}`)
	all, _ := lines(t, "-screen", dir, "-screen", third, "-sittings", "4", "-seed", "9", "-length", "short", "-viewer", "expert")
	if len(all) != 5 {
		t.Fatalf("%d objects, want four and a summary", len(all))
	}
	for i, name := range []string{"kitchen laptop", "studio left", "packing-room tablet", "kitchen laptop"} {
		v := all[i]
		if v["screen"] != name || v["seed"] != float64(9+i) {
			t.Errorf("sitting %d is of %v, seed %v", i, v["screen"], v["seed"])
		}
		if no := lacks(keys(v), "estimates judgements lightness margins places purposes score screen seconds seed spent tint truth verdicts void within"); no != nil {
			t.Errorf("keys %s lack %v", keys(v), no)
		}
		if n, _ := check.About(check.Short, nil); v["judgements"] != float64(n) || v["seconds"].(float64) < 30 || v["void"] != false {
			t.Errorf("%v judgements in %v s, void %v", v["judgements"], v["seconds"], v["void"])
		}
		if got, want := keys(v["estimates"]), "departure effective bits first visible code first visible step gamma grey tint tone margin unevenness"; got != want { // a short sitting does not ask how far colours reach
			t.Errorf("estimates of %s, want %s", got, want)
		}
		for name, e := range v["estimates"].(map[string]any) {
			if got := keys(e); got != "hi inside lo mean truth" {
				t.Errorf("%s: keys %s", name, got)
			}
			f := e.(map[string]any)
			lo, hi, truth := f["lo"].(float64), f["hi"].(float64), f["truth"].(float64)
			if lo > hi || f["inside"] != (lo <= truth && truth <= hi) {
				t.Errorf("%s: %v", name, f)
			}
		}
		if got := keys(v["score"]); got != "hi inside lo truth value" {
			t.Errorf("score: keys %s", got)
		}
		aspects := "colour range evenness handling highlights neutrals shadows smoothness tone"
		if got := keys(v["verdicts"]); got != aspects {
			t.Errorf("verdicts of %s", got)
		}
		if got := keys(v["purposes"]); got != "colour layout light" {
			t.Errorf("purposes %s", got)
		}
		truth := strings.Fields(strings.ReplaceAll(aspects, "colour range", "colour_range") + " colour layout light")
		slices.Sort(truth)
		if got := strings.ReplaceAll(keys(v["truth"]), "colour range", "colour_range"); got != strings.Join(slices.Compact(truth), " ") && len(strings.Fields(got)) != len(truth) {
			t.Errorf("truth of %s", got)
		}
		for _, part := range []string{"verdicts", "purposes", "truth"} {
			for k, word := range v[part].(map[string]any) {
				if !slices.Contains([]any{"holds", "off", "unsure", "not checked"}, word) || part == "truth" && word == "unsure" {
					t.Errorf("%s of %s is %v", part, k, word)
				}
			}
		}
	}
	if v := all[0]["truth"].(map[string]any); v["shadows"] != "off" || v["tone"] != "holds" || v["neutrals"] != "holds" || v["colour range"] != "not checked" || v["colour"] != "off" || v["layout"] != "holds" {
		t.Errorf("the truth of a crushed screen is %v", v)
	}
	if keys(all[4]) != "summary" {
		t.Fatalf("the last object has %s", keys(all[4]))
	}
	s := all[4]["summary"].(map[string]any)
	if no := lacks(keys(s), "clear faults judgements length lightness outcomes places quantities rightBits score seconds sittings tint viewer void"); no != nil {
		t.Errorf("summary: keys %s lack %v", keys(s), no)
	}
	if f, ok := all[0]["faults"].([]any); !ok || !slices.Contains(f, "crushed blacks") || s["faults"].(map[string]any)["crushed blacks"].(float64) < 1 {
		t.Errorf("crushed blacks are named %v, in all %v", all[0]["faults"], s["faults"])
	}
	if got := keys(s["quantities"].(map[string]any)["gamma"]); got != "bias coverage judgements rms" {
		t.Errorf("gamma: keys %s", got)
	}
	if got, want := keys(s["outcomes"].(map[string]any)["tone"]), "falseHolds falseHoldsOfOff falseOff falseOffOfHolds judgements unsure"; got != want {
		t.Errorf("tone: keys %s, want %s", got, want)
	}
	if got := keys(s["void"]); got != "count hi lo of rate" {
		t.Errorf("void: keys %s", got)
	}
	if s["viewer"] != "expert" || s["length"] != "short" || s["sittings"] != 4.0 {
		t.Errorf("%v", s)
	}
}

// The same flags print the same bytes, on as many processors as there are.
func TestSameSeedSameOutput(t *testing.T) {
	args := []string{"-random", "4", "-length", "short", "-seed", "77"}
	_, a := lines(t, args...)
	_, b := lines(t, args...)
	if a != b {
		t.Errorf("two runs differ:\n%s\n%s", a, b)
	}
	if _, d := lines(t, "-random", "1", "-length", "short", "-seed", "77", "-fixed"); strings.HasPrefix(a, strings.Split(d, "\n")[0]) {
		t.Error("a fixed plan is the same as one by what is unsure")
	}
	_, c := lines(t, "-random", "4", "-length", "short", "-seed", "78")
	if a == c {
		t.Error("two seeds print the same")
	}
	// A run that starts one seed later prints the same sitting for the same seed.
	if x, y := strings.Split(a, "\n")[1], strings.Split(c, "\n")[0]; x != y {
		t.Errorf("seed 78 prints\n%s\nand\n%s", x, y)
	}
}

func TestSummaryAloneBoundsAndViewerFile(t *testing.T) {
	v := file(t, t.TempDir(), "okke.json", `{"lines": 0.03, "lineBias": 0}`)
	all, _ := lines(t, "-random", "2", "-viewer", v, "-summary", "-bounds")
	if len(all) != 1 {
		t.Fatalf("%d objects", len(all))
	}
	s := all[0]["summary"].(map[string]any)
	after, ok := s["after"].(map[string]any)["20"]
	if !ok || keys(after) != "bound ratio rms" || s["viewer"] != "okke.json" {
		t.Errorf("%v", s)
	}
}
