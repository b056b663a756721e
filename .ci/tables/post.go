package main

import (
	"fmt"
	"strings"
)

// post measures the mailbox: the native server beside its bare store, what a kill and many uploads do to it, and a request of the worker beside one of a
// worker of plain JavaScript. The tests and benchmarks hold the marks themselves and fail off them, which is no error here as long as they printed figures.
func post(b *bench) error {
	var rows [][]string
	for _, c := range []struct {
		held string
		args []string
	}{
		{"letters served at half the rate of the bare store or more", []string{"-run=^$", "-bench=Letters", "-benchtime=8000x", "./web"}},
		{"", []string{"-run=^$", "-bench=.", "-benchtime=200ms", "./web/seal"}},
		{"sealing and opening at least as fast as the browser's own Web Crypto", []string{"-run=^$", "-bench=Parcels", "./wasm/browser", "-turns=24"}},
		{"CPU at most 2 ms above a worker of plain JavaScript", []string{"-run=^$", "-bench=.", "-benchtime=3x", "./web/worker"}},
	} {
		out, err := b.command(nil, "go", append([]string{"test", "-count=1"}, c.args...)...)
		found := benchmarks("", out)
		if len(found) == 0 || err != nil && c.held == "" {
			return fmt.Errorf("go test %s: %d figures: %v\n%s", strings.Join(c.args, " "), len(found), err, out)
		}
		held := b.tested(c.held, err)
		for _, r := range found {
			rows = append(rows, []string{r[1], r[2] + ": " + measured(r[3], r[4]), held})
		}
	}
	for _, c := range []struct {
		held string
		args []string
	}{
		{"no acknowledged write lost, none half there", []string{"-run=TestKilled", "./web/server", "-kills", "60"}},
		{"memory under 64 MiB", []string{"-run=TestUploads", "./web/server", "-chunks", "16"}},
	} {
		out, err := b.command(nil, "go", append([]string{"test", "-count=1", "-v"}, c.args...)...)
		held, before := b.tested(c.held, err), len(rows)
		for line := range strings.Lines(out) {
			if m := logged.FindStringSubmatch(strings.TrimRight(line, "\n")); m != nil {
				rows = append(rows, []string{"web/server", m[1], held})
			}
		}
		if len(rows) == before {
			return fmt.Errorf("go test %s told nothing: %v\n%s", strings.Join(c.args, " "), err, out)
		}
	}
	return b.table("Mailbox", "Each is held to its mark by the test or benchmark that measures it.", []string{"package", "measured", "held to"}, rows)
}

// tested notes whether a test that holds a mark itself passed, and returns the cell that says so.
func (b *bench) tested(held string, err error) string {
	switch {
	case held == "":
		return ""
	case err == nil:
		return held + ": **yes**"
	}
	b.off = append(b.off, "mailbox, to be "+held)
	return held + ": **no**"
}

// measured is what a benchmark printed, with its time if it told one.
func measured(each, also string) string {
	switch {
	case each == "":
		return also
	case also == "":
		return each + " ms each"
	}
	return each + " ms each; " + also
}
