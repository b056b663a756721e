package report

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"

	"example.org/plumb/patterns/check"
)

// Columns are the columns of CSV, in order. Codes are 8-bit code values, times are in ms.
var Columns = []string{"n", "check", "kind", "response", "right", "status", "reason", "at", "latency", "presses",
	"ground", "patch", "cell", "a", "b", "lit", "of", "columns", "plain", "plain_left", "left", "right_code"}

// CSV returns the judgements as RFC 4180 text in UTF-8, one row each under a row of column names. Fields that do not belong to a judgement's kind of
// stimulus are empty. No field begins with a character that a spreadsheet would take for a formula.
func (r Record) CSV() []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	rows := [][]string{Columns}
	for _, j := range r.Judgements {
		rows = append(rows, row(j))
	}
	if err := w.WriteAll(rows); err != nil {
		panic("report: internal error: " + err.Error())
	}
	return b.Bytes()
}

func row(j check.Judgement) []string {
	s := j.Stimulus
	n := func(v int) string { return strconv.Itoa(v) }
	code := func(v uint8) string { return n(int(v)) }
	response, right := n(j.Response), ""
	if j.Response == check.CantTell {
		response = "can't tell"
	}
	if j.Kind == check.Practice || j.Kind == check.Catch {
		right = strconv.FormatBool(j.Right)
	}
	f := []string{n(j.N), plain(string(j.Check)), plain(string(j.Kind)), response, right, plain(string(j.Status)), plain(j.Reason),
		strconv.FormatInt(j.At, 10), strconv.FormatInt(j.Latency, 10), n(j.Presses), code(s.Ground)}
	switch {
	case j.Check != check.Tone:
		return append(f, code(s.Patch), n(s.Cell), "", "", "", "", "", "", "", "", "")
	case s.Of == 0:
		return append(f, "", "", "", "", "", "", "", "", "", code(s.Left), code(s.Right))
	}
	return append(f, "", "", code(s.A), code(s.B), n(s.Lit), n(s.Of), strconv.FormatBool(s.Columns), code(s.Plain), strconv.FormatBool(s.PlainLeft), "", "")
}

// plain keeps a spreadsheet from taking a text for a formula.
func plain(s string) string {
	if strings.ContainsAny(s[:min(len(s), 1)], "=+-@\t\r") {
		return "'" + s
	}
	return s
}
