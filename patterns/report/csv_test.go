package report_test

import (
	"bytes"
	"encoding/csv"
	"slices"
	"strconv"
	"strings"
	"testing"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
)

// sheet reads a record's CSV back and checks what holds for every sheet.
func sheet(t testing.TB, r report.Record) [][]string {
	t.Helper()
	b := r.CSV()
	rows, err := csv.NewReader(bytes.NewReader(b)).ReadAll()
	if err != nil {
		t.Fatalf("%v in\n%s", err, b)
	}
	if len(rows) != len(r.Judgements)+1 {
		t.Fatalf("%d rows for %d judgements", len(rows), len(r.Judgements))
	}
	for i, row := range rows {
		if len(row) != len(report.Columns) {
			t.Fatalf("row %d has %d fields, there are %d columns", i, len(row), len(report.Columns))
		}
		for c, field := range row {
			if field == "" || !strings.ContainsAny(field[:1], "=+-@\t\r") {
				continue
			}
			if _, err := strconv.ParseInt(field, 10, 64); err != nil { // a number below 0 is no formula
				t.Fatalf("row %d: %s is %q", i, report.Columns[c], field)
			}
		}
	}
	if !bytes.HasSuffix(b, []byte("\r\n")) {
		t.Fatal("the sheet does not end with a line end")
	}
	for i, c := range b { // RFC 4180: CRLF, outside of quotes and in them
		if c == '\n' && (i == 0 || b[i-1] != '\r') {
			t.Fatalf("byte %d is a bare line feed", i)
		}
	}
	return rows
}

func TestCSV(t *testing.T) {
	r := ines(t)
	rows := sheet(t, r)
	if !slices.Equal(rows[0], report.Columns) {
		t.Errorf("columns are %v", rows[0])
	}
	at := func(name string) int { return slices.Index(report.Columns, name) }
	kinds := map[string]int{}
	for i, j := range r.Judgements {
		row := rows[i+1]
		s := j.Stimulus
		want := map[string]string{
			"n": strconv.Itoa(j.N), "check": string(j.Check), "kind": string(j.Kind), "at": strconv.FormatInt(j.At, 10),
			"latency": strconv.FormatInt(j.Latency, 10), "presses": strconv.Itoa(j.Presses), "ground": strconv.Itoa(int(s.Ground)),
			"response": strconv.Itoa(j.Response), "right": "", "status": "", "reason": "",
		}
		if j.Response == check.CantTell {
			want["response"] = "can't tell"
		}
		if j.Kind == check.Practice || j.Kind == check.Catch {
			want["right"] = strconv.FormatBool(j.Right)
		}
		what := "cells"
		switch {
		case j.Check != check.Tone:
			want["patch"], want["cell"] = strconv.Itoa(int(s.Patch)), strconv.Itoa(s.Cell)
		case s.Of == 0:
			what = "pair"
			want["left"], want["right_code"] = strconv.Itoa(int(s.Left)), strconv.Itoa(int(s.Right))
		default:
			what = "lines"
			want["a"], want["b"], want["lit"], want["of"] = strconv.Itoa(int(s.A)), strconv.Itoa(int(s.B)), strconv.Itoa(s.Lit), strconv.Itoa(s.Of)
			want["columns"], want["plain"], want["plain_left"] = strconv.FormatBool(s.Columns), strconv.Itoa(int(s.Plain)), strconv.FormatBool(s.PlainLeft)
		}
		kinds[what]++
		for c, name := range report.Columns {
			if row[c] != want[name] {
				t.Fatalf("judgement %d: %s is %q, want %q", i, name, row[c], want[name])
			}
		}
	}
	if len(kinds) != 3 {
		t.Errorf("only %v came up", kinds)
	}
	if at("n") != 0 || at("right_code") != len(report.Columns)-1 {
		t.Errorf("columns are %v", report.Columns)
	}
}

// Words from outside reach a sheet as text, commas, quotes and line ends included, and never as a formula.
func TestCSVGuardsAgainstFormulas(t *testing.T) {
	words := []string{`=HYPERLINK("http://127.0.0.1","x")`, "+1", "-1+2", "@SUM(A1)", "\t=1", "\r=1", "=", "plain, \"quoted\"\nand long", "'=1", "é=1", ""}
	for _, w := range words {
		r := report.Record{Judgements: []check.Judgement{{Check: check.Aspect(w), Kind: check.Kind(w), Status: check.Status(w), Reason: w}}}
		rows := sheet(t, r)
		for _, name := range []string{"check", "kind", "status", "reason"} {
			got := rows[1][slices.Index(report.Columns, name)]
			want := strings.ReplaceAll(w, "\r", "")
			if got = strings.ReplaceAll(got, "\r", ""); strings.TrimPrefix(got, "'") != strings.TrimPrefix(want, "'") {
				t.Errorf("%s: %q becomes %q", name, w, got)
			}
		}
	}
	if rows := sheet(t, report.Record{}); len(rows) != 1 {
		t.Errorf("a sheet of nothing has %d rows", len(rows))
	}
}
