package main

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// desk is the device pixels to a degree of what is seen at a usual desk.
const desk = "47"

// calibrated measures how often it is told whether the correction of a profile is loaded.
func calibrated(b *bench) error {
	out, err := b.program("-correction", "-summary", "-seed", strconv.Itoa(fresh), "-random", strconv.Itoa(b.sittings(200)), "-degree", desk)
	if err != nil {
		return err
	}
	rows, err := loadings(b, out)
	if err != nil {
		return err
	}
	return b.table("Corrections", "Short sittings at calibrated screens whose native gamma is at least 0.2 off. Typical viewers are held to the promise, strained ones to not taking one of the two for the other.",
		[]string{"screen", "viewer", "sittings", "told", "held to", "left open", "said wrongly", "held to", "void"}, rows)
}

// loadings returns rows of the table that rehearse -correction prints.
func loadings(b *bench, text string) ([][]string, error) {
	var rows [][]string
	held := map[string]bool{}
	for line := range strings.Lines(text) {
		cells := strings.Split(strings.Trim(strings.TrimSpace(line), "|"), "|")
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		if len(cells) < 7 || cells[0] == "screen" || strings.HasPrefix(cells[0], "---") || cells[1] == "all" {
			continue
		}
		var told, wrong float64
		for _, c := range []struct {
			cell string
			to   *float64
		}{{cells[3], &told}, {cells[5], &wrong}} {
			first, _, _ := strings.Cut(c.cell, " ")
			v, err := strconv.ParseFloat(first, 64)
			if err != nil {
				return nil, fmt.Errorf("corrections: %q is no rate", c.cell)
			}
			*c.to = v
		}
		right, most := mark{}, mark{}
		if !strings.HasPrefix(cells[0], "neither:") {
			typical := cells[1] == "typical"
			if typical || cells[0] != "neither" {
				most = atMost(2, "")
			}
			if typical && cells[0] != "neither" {
				right = mark{95, 100, "at least 95"}
			}
			held[cells[0]] = true
		}
		who := cells[0] + ", " + cells[1]
		rows = append(rows, []string{cells[0], cells[1], cells[2], cells[3], b.held("correction told, "+who, told, right), cells[4], cells[5], b.held("correction claimed wrongly, "+who, wrong, most), cells[6]})
	}
	for _, state := range []string{"loaded", "not loaded", "neither"} {
		if !held[state] {
			return nil, fmt.Errorf("corrections: no figure for %s", state)
		}
	}
	return rows, nil
}

// again measures how often screens that stay as they are get flagged, and screens that drift.
func again(b *bench) error {
	out, err := b.program("-again", "-seed", strconv.Itoa(fresh), "-random", strconv.Itoa(b.sittings(200)))
	if err != nil {
		return err
	}
	rows, err := watches(b, out)
	if err != nil {
		return err
	}
	return b.table("Looking again", "Series of standard sittings a week apart. An unchanged screen counts as flagged if it is after any of six sittings, one that drifted if it is at the second sitting after it.",
		[]string{"series", "flagged", "share", "held to"}, rows)
}

var series = regexp.MustCompile(`^  (\S.*?)\s{2,}(\d+ of \d+)\s+([0-9.]+) %\s+([0-9.]+) to ([0-9.]+)`)

// watches returns rows of what rehearse -again prints.
func watches(b *bench, text string) ([][]string, error) {
	var rows [][]string
	still, unchanged := 0, false
	for line := range strings.Lines(text) {
		switch {
		case strings.HasPrefix(line, "Unchanged"):
			unchanged = true
		case strings.HasPrefix(line, "Drift"):
			unchanged = false
		}
		m := series.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		v, err := strconv.ParseFloat(m[3], 64)
		if err != nil {
			return nil, fmt.Errorf("looking again: %q is no rate", m[3])
		}
		name, most := m[1], mark{}
		if unchanged {
			name, most = "unchanged, "+name, atMost(5, "")
			still++
		}
		rows = append(rows, []string{name, m[2], fmt.Sprintf("%s (%s to %s)", m[3], m[4], m[5]), b.held("flagged, "+name, v, most)})
	}
	if still == 0 || still == len(rows) {
		return nil, fmt.Errorf("looking again: %d series of unchanged screens among %d", still, len(rows))
	}
	return rows, nil
}
