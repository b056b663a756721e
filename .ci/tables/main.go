// Command tables measures what is claimed of this repository and prints it as tables in Markdown, each beside what it is held to.
//
//	bash .ci/figures
//
// A figure that is off its mark is printed as such; the program fails only if something cannot be measured, and measures the rest all the same.
package main

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"
)

// parts are what can be measured, in order.
var parts = []struct {
	name    string
	measure func(*bench) error
}{
	{"rehearsals", rehearsals},
	{"faults", faults},
	{"plans", plans},
	{"corrections", calibrated},
	{"again", again},
	{"efficiency", efficiency},
	{"tone", tone},
	{"near ends", nearEnds},
	{"mailbox", post},
	{"times", times},
	{"painting", painting},
	{"looking", looking},
	{"first", first},
	{"sizes", sizes},
}

// A bench is where figures are measured and printed.
type bench struct {
	ctx     context.Context
	out     io.Writer
	dir     string // for files that are not kept
	browser string
	share   int // of the sittings, one in so many
	off     []string
}

func main() {
	quick := flag.Bool("quick", false, "measure a tenth of the sittings")
	only := flag.String("only", "", "one part: "+names())
	browser := flag.String("browser", "", "the browser to drive; $CHROMIUM or chromium if empty")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	b := &bench{ctx: ctx, out: os.Stdout, browser: *browser, share: 1}
	if *quick {
		b.share = 10
	}
	if b.browser == "" {
		b.browser = os.Getenv("CHROMIUM")
	}
	if b.browser == "" {
		b.browser = "chromium"
	}
	if err := b.run(*only); err != nil {
		fmt.Fprintln(os.Stderr, "tables:", err)
		os.Exit(1)
	}
}

func names() string {
	var all []string
	for _, p := range parts {
		all = append(all, p.name)
	}
	return strings.Join(all, ", ")
}

func (b *bench) run(only string) (err error) {
	if b.dir, err = os.MkdirTemp("", "tables"); err != nil {
		return err
	}
	defer os.RemoveAll(b.dir)
	began, ran := time.Now(), false
	var faults []error
	fmt.Fprintf(b.out, "# Figures\n\n%s, %d processors, %s. Rates are in per cent, with their 95 %% intervals (Wilson 1927). Virtual viewers, described screens.\n", runtime.Version(), runtime.NumCPU(), runtime.GOARCH)
	if b.share > 1 {
		fmt.Fprintf(b.out, "\nOne sitting in %d: too few to tell whether rates keep their marks.\n", b.share)
	}
	for _, p := range parts {
		if only != "" && only != p.name {
			continue
		}
		ran = true
		start := time.Now()
		if err := p.measure(b); err != nil {
			faults = append(faults, fmt.Errorf("%s: %w", p.name, err))
			fmt.Fprintf(b.out, "\nNot measured: %s.\n", p.name)
		}
		if b.ctx.Err() != nil {
			break
		}
		fmt.Fprintf(os.Stderr, "%s: %.0f s\n", p.name, time.Since(start).Seconds())
	}
	if !ran {
		return fmt.Errorf("%q is none of %s", only, names())
	}
	fmt.Fprintf(b.out, "\nMeasured in %.0f s. ", time.Since(began).Seconds())
	if len(b.off) == 0 && len(faults) == 0 {
		fmt.Fprintln(b.out, "All that is held to a mark keeps it.")
		return nil
	}
	if len(b.off) > 0 {
		fmt.Fprintf(b.out, "Off the mark:\n\n")
	}
	for _, o := range b.off {
		fmt.Fprintf(b.out, "- %s\n", o)
	}
	return errors.Join(faults...)
}

// A mark is what a figure is held to: from lo to hi. The zero mark holds it to nothing.
type mark struct {
	lo, hi float64
	words  string // such as "at most 2"
}

func atMost(v float64, unit string) mark {
	return mark{words: strings.TrimSpace("at most " + strconv.FormatFloat(v, 'f', -1, 64) + " " + unit), hi: v}
}

// held notes whether a figure keeps its mark, and returns the cell that says so.
func (b *bench) held(what string, v float64, m mark) string {
	switch {
	case m.words == "":
		return ""
	case m.lo <= v && v <= m.hi:
		return m.words + ": **yes**"
	}
	b.off = append(b.off, fmt.Sprintf("%s: %s, to be %s", what, strconv.FormatFloat(math.Round(1000*v)/1000, 'f', -1, 64), m.words))
	return m.words + ": **no**"
}

// table prints a table under a heading and a sentence.
func (b *bench) table(heading, sentence string, head []string, rows [][]string) error {
	if len(rows) == 0 {
		return fmt.Errorf("%s: nothing was measured", heading)
	}
	fmt.Fprintf(b.out, "\n## %s\n\n", heading)
	if sentence != "" {
		fmt.Fprintf(b.out, "%s\n\n", sentence)
	}
	line := func(cells []string) { fmt.Fprintf(b.out, "| %s |\n", strings.Join(cells, " | ")) }
	line(head)
	line(slices.Repeat([]string{"---"}, len(head)))
	for _, r := range rows {
		line(r)
	}
	return nil
}

// command returns what a program prints.
func (b *bench) command(env []string, name string, args ...string) (string, error) {
	c := exec.CommandContext(b.ctx, name, args...)
	c.Env = append(os.Environ(), env...)
	var out, trouble bytes.Buffer
	c.Stdout, c.Stderr = &out, &trouble
	if err := c.Run(); err != nil {
		return out.String(), fmt.Errorf("%s %s: %w\n%s", filepath.Base(name), strings.Join(args, " "), err, bytes.TrimSpace(trouble.Bytes()))
	}
	return out.String(), nil
}
