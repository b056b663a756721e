package main

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// painting measures how long patterns take in the browser, by .ci/paint.
func painting(b *bench) error {
	out, err := b.command(nil, "go", "run", "./.ci/paint", "-browser", b.browser)
	if err != nil {
		return fmt.Errorf("%w\n%s", err, out)
	}
	blocks := columns(out)
	patterns, ok := blocks["pattern"]
	if !ok {
		return fmt.Errorf("the paint program printed no table of patterns:\n%s", out)
	}
	head := append(slices.Clone(patterns[0]), "held to")
	var rows [][]string
	for _, r := range patterns[1:] {
		var kept []string
		for _, m := range []struct {
			column string
			mark
		}{
			{"native/copy", atMost(1.5, "natively")},
			{"wasm/copy", atMost(1.5, "in wasm")},
			{"wasm+put", atMost(16.7, "ms")},
		} {
			at := slices.Index(patterns[0], m.column)
			if at < 0 || at >= len(r) {
				return fmt.Errorf("the paint program's table has no column %s:\n%s", m.column, out)
			}
			v, err := strconv.ParseFloat(r[at], 64)
			if err != nil {
				return fmt.Errorf("the paint program's table: %w", err)
			}
			if r[0] == "row copy" || strings.HasPrefix(r[0], "field") && m.column != "wasm+put" {
				continue // the yardstick itself; and the patterns whose rows all differ
			}
			kept = append(kept, b.held("painting "+r[0]+", "+m.column, v, m.mark))
		}
		rows = append(rows, append(slices.Clone(r), strings.Join(kept, "; ")))
	}
	if err := b.table("Painting", "A whole frame of 3840 x 2160 natively, in the browser as WebAssembly and in plain JavaScript in the same browser; medians in ms. A busy machine shows in "+
		"the times; the copies were timed by turns with the patterns. Held to: 1.5 row copies where rows repeat, and one frame of a 60 Hz screen until it is on the canvas.", head, rows); err != nil {
		return err
	}
	updates, ok := blocks["check"]
	if !ok {
		return nil
	}
	head, rows = append(slices.Clone(updates[0]), "held to"), nil
	at := slices.Index(updates[0], "99 %")
	for _, r := range updates[1:] {
		if at < 0 || at >= len(r) {
			return fmt.Errorf("the paint program's table has no column 99 %%:\n%s", out)
		}
		v, err := strconv.ParseFloat(r[at], 64)
		if err != nil {
			return fmt.Errorf("the paint program's table: %w", err)
		}
		most := atMost(10, "ms")
		if strings.HasPrefix(r[0], "to ") { // its tables are made, and rounds are planned: in slices, while the eyes settle
			most = mark{}
		}
		rows = append(rows, append(slices.Clone(r), b.held("adaptive updates of "+r[0]+" at 99 %", v, most)))
	}
	return b.table("Adaptive updates", "From an answer to the next stimulus in the browser, ms. Another check may need tables, and a round has to be planned: a sitting does both in slices (see the tasks above 50 ms below).", head, rows)
}

var gap = regexp.MustCompile(`\s{2,}`)

// columns returns the tables in a text whose columns are parted by two spaces or more, by the first word of their heads.
func columns(text string) map[string][][]string {
	tables := map[string][][]string{}
	in := ""
	for line := range strings.Lines(text) {
		cells := gap.Split(strings.TrimSpace(line), -1)
		switch {
		case len(cells) < 3:
			in = ""
			continue
		case in == "" || len(cells) != len(tables[in][0]):
			in = cells[0]
			tables[in] = nil
		}
		tables[in] = append(tables[in], cells)
	}
	return tables
}

// sizes measures the programs that a browser loads.
func sizes(b *bench) error {
	out, err := b.command(nil, "go", "run", "./.ci/size", "-parts")
	var rows [][]string
	for _, m := range size.FindAllStringSubmatch(out, -1) {
		squeezed, err := strconv.ParseFloat(m[4], 64)
		if err != nil {
			return err
		}
		most, err := strconv.ParseFloat(m[5], 64)
		if err != nil {
			return err
		}
		rows = append(rows, []string{m[1], m[2], m[3], m[4], b.held(m[1]+" after brotli", squeezed, atMost(most, "bytes"))})
	}
	if len(rows) == 0 {
		return fmt.Errorf("%v\n%s", err, out)
	}
	if err := b.table("Size of the programs", "Bytes; brotli at quality 11, gzip at level 9.", []string{"program", "plain", "gzip", "brotli", "held to"}, rows); err != nil {
		return err
	}
	fmt.Fprintf(b.out, "\n```\n%s```\n", size.ReplaceAllString(out, "$1"))
	return nil
}

var size = regexp.MustCompile(`(?m)^((?:browser|plain|looker) program): (\d+) bytes, gzip (\d+), brotli (\d+); at most (\d+) after brotli`)

// first measures how soon a check is there on a slow line, and what keeps the page from answering while somebody sits, by .ci/first.
func first(b *bench) error {
	out, err := b.command(nil, "go", "run", "./.ci/first", "-browser", b.browser)
	if err != nil {
		return fmt.Errorf("%w\n%s", err, out)
	}
	blocks := columns(out)
	for _, t := range []struct {
		block, heading, sentence string
		held                     map[string]mark // by column
	}{
		{"visit", "A check on a slow line", "From pressing a link, with nothing cached, over 10 Mbit/s with a round trip of 40 ms; ms. Held to: 1.2 times what the bytes need by themselves, until the page is ready, and until the first " +
			"pattern less what is waited on purpose: a field fades in, a rest goes before the pattern.", map[string]mark{"ready/alone": atMost(1.2, ""), "pattern less waits/alone": atMost(1.2, "")}},
		{"sitting", "Tasks above 50 ms", "In a short sitting, ms.", map[string]mark{"longest": atMost(50, "while somebody judges")}},
	} {
		rows := blocks[t.block]
		if len(rows) < 2 || len(rows[1]) != len(rows[0]) {
			return fmt.Errorf("the program of the slow line printed no table of a %s:\n%s", t.block, out)
		}
		head, line := slices.Clone(rows[0]), slices.Clone(rows[1])
		for _, column := range slices.Sorted(maps.Keys(t.held)) {
			at := slices.Index(rows[0], column)
			if at < 0 {
				return fmt.Errorf("the program of the slow line printed no %s:\n%s", column, out)
			}
			v, err := strconv.ParseFloat(line[at], 64)
			if err != nil {
				return fmt.Errorf("the program of the slow line: %w", err)
			}
			head, line = append(head, column+" held to"), append(line, b.held(t.heading+", "+column, v, t.held[column]))
		}
		if err := b.table(t.heading, t.sentence, head, [][]string{line}); err != nil {
			return err
		}
	}
	return nil
}

// looking measures how the looker finds what a screen hides, beside plain JavaScript.
func looking(b *bench) error {
	out, err := b.command(nil, "go", "run", "./.ci/look")
	if err != nil {
		return fmt.Errorf("%w\n%s", err, out)
	}
	var rows [][]string
	for _, m := range ratio.FindAllStringSubmatch(out, -1) {
		r, err := strconv.ParseFloat(m[2], 64)
		if err != nil {
			return err
		}
		rows = append(rows, []string{m[1], m[2], b.held("looking at "+m[1]+" against JavaScript", r, atMost(1.5, ""))})
	}
	if len(rows) == 0 {
		return fmt.Errorf("nothing was measured\n%s", out)
	}
	if err := b.table("What a screen hides of a picture", "Time of the program over that of the same arithmetic in plain JavaScript, in workers of one browser by turns.", []string{"picture", "ratio", "held to"}, rows); err != nil {
		return err
	}
	fmt.Fprintf(b.out, "\n```\n%s```\n", out)
	return nil
}

var ratio = regexp.MustCompile(`(?m)^\s*(\d+ MP)\s+Go/JavaScript\s+([0-9.]+)`)
