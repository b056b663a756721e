// Command rehearse runs whole sittings of virtual viewers at described screens and prints what they found beside the truth, as JSON.
package main

import (
	"bufio"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sort"
	"strings"
	"sync"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/screen"
)

const usage = `Rehearse runs whole sittings of virtual viewers at described screens, through the same checks as in a browser, and prints one JSON object per
sitting and then one {"summary": ...}.

  go run ./patterns/rehearse -screen screen.json -viewer typical -length standard -sittings 200 -seed 1
  go run ./patterns/rehearse -random 500

Flags:
`

func main() {
	if err := run(os.Args[1:], os.Stdout, os.Stderr); err != nil {
		if err != flag.ErrHelp {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
}

type paths []string

func (p *paths) String() string     { return strings.Join(*p, ", ") }
func (p *paths) Set(s string) error { *p = append(*p, s); return nil }

// run is main with its surroundings as arguments.
func run(args []string, out, errs io.Writer) error {
	flags := flag.NewFlagSet("rehearse", flag.ContinueOnError)
	flags.SetOutput(io.Discard) // an error is printed once, by main
	var screens paths
	flags.Var(&screens, "screen", "a screen.json, or a folder of them; may be given several times, sittings are spread over them")
	viewer := flags.String("viewer", "typical", "kind of viewer: "+kinds()+", or a JSON file with threshold, plain, lines, lineBias, lapse, seconds")
	length := flags.String("length", "standard", "length of a sitting: short, standard, long")
	aimID := flags.String("aim", screen.Aims[0].ID, "aim: "+aims())
	sittings := flags.Int("sittings", 1, "how many sittings, 1 to 1000000")
	seed := flags.Uint64("seed", 1, "seed of the first sitting; each next one takes the next; below 2^52")
	degree := flags.Float64("degree", 0, "device pixels to a degree of what is seen, which leaves out lines too coarse to melt; 0 shows all, 47 is a usual desk")
	number := flags.Int("random", 0, "draw this many screens from the mixture below, one sitting each")
	bounds := flags.Bool("bounds", false, "also print tone curves after 20 and 40 judgements beside the least error that any estimator could reach")
	parts := flags.Bool("parts", false, "also print by how much the score would err with parts of what was found replaced by the truth: "+partNames())
	fault := flags.String("fault", "", "with -random: sound screens with this one fault at twice its tolerance: "+faultNames())
	fixed := flags.Bool("fixed", false, "ask a fixed list of judgements instead of planning by what is unsure")
	journal := flags.Bool("again", false, "look at each of the -random screens (200 without) again and again, and print how often a drift is flagged; see below")
	correction := flags.Bool("correction", false, "sit before calibrated screens (200, or -random) with their correction loaded, not loaded, and neither, the viewer and a strained one, and print how often each was told, as a table")
	quiet := flags.Bool("summary", false, "print the summary alone")
	help := func() {
		fmt.Fprint(errs, usage)
		flags.SetOutput(errs)
		flags.PrintDefaults()
		fmt.Fprintf(errs, "\nQuantities:\n  %s: codes\n  %s: codes below 255\n  %s: see patterns/screen, EffectiveGamma\n  %s: CIEDE2000, the greatest over %d levels\n  %s: departure over its tolerance, 1 at the limit\n  lightness: rms error of the tone curve over these levels, L*\n\n%s\n\n%s\n\n%s\n",
			screen.FirstVisible, screen.FirstBelow, screen.Gamma, screen.Departure, screen.Steps, screen.ToneMargin, mixtureText, againText, correctionText)
	}
	if err := flags.Parse(args); err == flag.ErrHelp {
		help()
		return err
	} else if err != nil {
		return fmt.Errorf("rehearse: %w; see -help", err)
	}
	if flags.NArg() > 0 {
		return fmt.Errorf("rehearse: %q is no flag; see -help", flags.Arg(0))
	}
	kind, err := kindOf(*viewer)
	if err != nil {
		return err
	}
	aim, ok := screen.AimByID(*aimID)
	if !ok {
		return fmt.Errorf("rehearse: aim %q is none of %s", *aimID, aims())
	}
	if !slices.Contains([]check.Length{check.Short, check.Standard, check.Long}, check.Length(*length)) {
		return fmt.Errorf("rehearse: length %q is none of short, standard, long", *length)
	}
	if *sittings < 1 || *sittings > 1e6 || *number < 0 || *number > 1e6 {
		return fmt.Errorf("rehearse: -sittings and -random take 1 to 1000000")
	}
	if *seed >= 1<<52 {
		return fmt.Errorf("rehearse: -seed must be below 2^52")
	}
	if _, ok := single[*fault]; *fault != "" && (!ok || *number == 0) {
		return fmt.Errorf("rehearse: -fault needs -random and one of %s", faultNames())
	}
	if *journal {
		if len(screens) > 0 || *fault != "" || *bounds || *parts || *quiet || *sittings > 1 {
			return fmt.Errorf("rehearse: -again takes -random, -seed, -viewer, -length, -aim, -degree and -fixed alone")
		}
		n := *number
		if n == 0 {
			n = 200
		}
		plan := check.Plan{Battery: check.Battery, Length: check.Length(*length), Aim: aim.ID, Degree: *degree, Fixed: *fixed}
		still, drifted := again(n, *seed, kind, plan)
		return printAgain(out, n, kind, *length, still, drifted)
	}
	if *correction {
		if len(screens) > 0 || *fault != "" || *bounds || *parts || *fixed || *sittings > 1 {
			return fmt.Errorf("rehearse: -correction takes -random, -seed, -viewer, -degree and -summary alone")
		}
		n := *number
		if n == 0 {
			n = 200
		}
		both := []observer.Kind{kind}
		if strained, _ := observer.KindByName("strained"); kind.Name != strained.Name {
			both = append(both, strained)
		}
		found := corrections(n, *seed, both, *degree)
		w := bufio.NewWriter(out)
		e := json.NewEncoder(w)
		for _, t := range found {
			if *quiet {
				break
			}
			if err := e.Encode(t); err != nil {
				return fmt.Errorf("rehearse: %w", err)
			}
		}
		tabulate(w, found, both)
		return w.Flush()
	}
	var all []display.Description
	switch {
	case *number > 0 && len(screens) > 0:
		return fmt.Errorf("rehearse: give -screen or -random, not both")
	case *number > 0:
		*sittings = *number
	case len(screens) == 0:
		return fmt.Errorf("rehearse: give -screen with a screen.json, or -random with a number; see -help")
	}
	for _, p := range screens {
		d, err := load(p)
		if err != nil {
			return err
		}
		all = append(all, d...)
	}
	results := make([]result, *sittings)
	each(*sittings, func(i int) {
		s := *seed + uint64(i)
		var d display.Description
		plan := check.Plan{Battery: check.Battery, Length: check.Length(*length), Seed: s, Aim: aim.ID, Degree: *degree, Fixed: *fixed}
		if *fault != "" {
			d = singly(*fault, s, kind, plan)
		} else if *number > 0 {
			d = random(s, kind, plan)
		} else {
			d = all[i%len(all)]
		}
		results[i] = rehearse(d, kind, plan, further{*bounds, *parts})
	})
	w := bufio.NewWriter(out)
	e := json.NewEncoder(w)
	for _, r := range results {
		if *quiet {
			break
		}
		if err := e.Encode(r); err != nil {
			return fmt.Errorf("rehearse: %w", err)
		}
	}
	if err := e.Encode(map[string]summary{"summary": sum(kind.Name, *length, results)}); err != nil {
		return fmt.Errorf("rehearse: %w", err)
	}
	return w.Flush()
}

// each calls f for 0 to n-1 on all processors.
func each(n int, f func(int)) {
	var wait sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := range next {
				f(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wait.Wait()
}

func kinds() string {
	var names []string
	for _, k := range observer.Kinds {
		names = append(names, k.Name)
	}
	return strings.Join(names, ", ")
}

func faultNames() string {
	return strings.Join(slices.Sorted(maps.Keys(single)), ", ")
}

func partNames() string {
	var names []string
	for _, p := range replaced {
		names = append(names, p.name)
	}
	return strings.Join(names, ", ")
}

func aims() string {
	var names []string
	for _, a := range screen.Aims {
		names = append(names, fmt.Sprintf("%q", a.ID))
	}
	return strings.Join(names, ", ")
}

// kindOf returns the kind of viewer of a name, or of a file.
func kindOf(name string) (observer.Kind, error) {
	if k, ok := observer.KindByName(name); ok {
		return k, nil
	}
	b, err := os.ReadFile(name)
	if err != nil {
		return observer.Kind{}, fmt.Errorf("rehearse: viewer %q is none of %s, nor a file that can be read: %w", name, kinds(), err)
	}
	k, err := observer.ParseKind(b)
	if err != nil {
		return observer.Kind{}, fmt.Errorf("rehearse: %s: %w", name, err)
	}
	if k.Name == "" {
		k.Name = filepath.Base(name)
	}
	return k, nil
}

// load reads the screens of a file or folder.
func load(path string) ([]display.Description, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("rehearse: %w", err)
	}
	files := []string{path}
	if info.IsDir() {
		files, err = filepath.Glob(filepath.Join(path, "*.json"))
		if err != nil {
			return nil, fmt.Errorf("rehearse: %w", err)
		}
		if len(files) == 0 {
			return nil, fmt.Errorf("rehearse: no .json file in %s", path)
		}
		sort.Strings(files)
	}
	var all []display.Description
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			return nil, fmt.Errorf("rehearse: %w", err)
		}
		d, err := display.Parse(b)
		if err != nil {
			return nil, fmt.Errorf("rehearse: %s: %w", f, err)
		}
		if d.Name == "" {
			d.Name = filepath.Base(f)
		}
		all = append(all, d)
	}
	return all, nil
}
