package readings

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
)

// separator finds what separates the fields of a line: a tab where there is one outside quotes, else a semicolon, else a comma, for a comma stands in
// numbers and names as well.
func separator(line []byte) byte {
	best, in := byte(','), false
	for _, c := range line {
		switch {
		case c == '"':
			in = !in
		case in:
		case c == '\t':
			return c
		case c == ';':
			best = c
		}
	}
	return best
}

// readCSV reads comma-separated values (RFC 4180), or values separated by semicolons or tabs. The first line with a known identifier has the names
// of the columns; lines before it are properties where they have a name and a value.
func (f *File) readCSV() *Problem {
	f.Kind = "CSV"
	var properties []Property
	buffer := bufio.NewReader(nil) // csv.NewReader would make one for each line
	line, begin := 1, 0
	for begin < len(f.data) {
		end := begin
		for end < len(f.data) && !isEnd(f.data[end]) {
			end++
		}
		text := f.data[begin:end]
		if line > maxHeading {
			return &Problem{line, 1, "", "there is neither a CGATS data format nor, up to here, a line of column names such as RGB_R and XYZ_Y"}
		}
		f.comma = separator(text)
		fields, places := f.split(buffer, text)
		var all []Column
		found := 0
		for i, s := range fields {
			if len(all) == MaxColumns {
				return &Problem{line, places[i], "", fmt.Sprintf("more than %d columns are not read", MaxColumns)}
			}
			id, unit := identify(s)
			if id != "" {
				found++
			}
			all = append(all, Column{s, id, unit, line, places[i]})
		}
		l := lexer{data: f.data, i: end, line: line, begin: begin}
		if end < len(f.data) {
			l.end()
		}
		// A heading has an identifier and no more strange names than a slip or two.
		if found >= 2 || found == 1 && found == len(all) {
			if p := f.columns(all); p != nil {
				return p
			}
			t := Table{Properties: properties, Columns: all, file: f, from: l.i, to: len(f.data), line: l.line, base: l.begin}
			if p := f.rows(&t); p != nil {
				return p
			}
			f.Tables = []Table{t}
			return nil
		}
		if len(all) == 2 && strings.TrimSpace(all[0].Name) != "" && len(properties) < maxProperties {
			properties = append(properties, Property{strings.TrimSpace(all[0].Name), strings.TrimSpace(all[1].Name), line})
		}
		if line == 1 && len(all) > 2 {
			// Names, and none of them known.
			what := "no column has an identifier that is known, such as RGB_R or XYZ_Y"
			if s := likely(all[0].Name); s != "" && s != all[0].Name {
				what += "; is " + s + " meant by " + quoted(all[0].Name) + "?"
			}
			f.note(Problem{1, all[0].column, "", what})
		}
		begin, line = l.i, l.line
	}
	if len(f.Notes) > 0 {
		return &f.Notes[0]
	}
	return &Problem{1, 1, "", "there is neither a CGATS data format nor a line of column names such as RGB_R and XYZ_Y"}
}

// split reads one line.
func (f *File) split(buffer *bufio.Reader, text []byte) (fields []string, places []int) {
	buffer.Reset(bytes.NewReader(text))
	r := f.reader(buffer)
	fields, err := r.Read()
	if err != nil {
		return nil, nil
	}
	for i := range fields {
		_, c := r.FieldPos(i)
		places = append(places, c)
	}
	return fields, places
}

func (f *File) reader(text io.Reader) *csv.Reader {
	r := csv.NewReader(text)
	r.Comma, r.FieldsPerRecord, r.ReuseRecord = rune(f.comma), -1, true
	return r
}

// rows counts the sets of a table, and checks that each has as many fields as there are columns.
func (f *File) rows(t *Table) *Problem {
	// A quote that stays open would take the rest of the file for one value.
	for i, line, begin, quotes := t.from, t.line, t.from, 0; i <= t.to; i++ {
		if i < t.to && !isEnd(f.data[i]) {
			if f.data[i] == '"' {
				quotes++
			}
			continue
		}
		if quotes%2 != 0 {
			return &Problem{line, 1 + bytes.LastIndexByte(f.data[begin:i], '"'), "", "the quoted value does not end on its line"}
		}
		if i < t.to && (f.data[i] == '\n' || i+1 == t.to || f.data[i+1] != '\n') {
			line, begin = line+1, i+1
		}
		quotes = 0
	}
	row := 0
	p := t.records(func(fields []string, place func(int) token) *Problem {
		if len(fields) != len(t.Columns) {
			at := place(min(len(fields), len(t.Columns)+1) - 1)
			what := fmt.Sprintf("%d values, and there are %d columns", len(fields), len(t.Columns))
			if f.comma == ',' && len(fields) > len(t.Columns) {
				what += "; where numbers have a decimal comma, separate the columns by semicolons"
			}
			return at.at("", what)
		}
		row++
		if row > MaxPatches {
			return place(0).at("", fmt.Sprintf("more than %d rows are not read", MaxPatches))
		}
		return nil
	})
	if p != nil {
		return p
	}
	if t.Rows = row; row == 0 {
		return &Problem{t.Columns[0].line, t.Columns[0].column, "", "no values follow the names of the columns"}
	}
	return nil
}

// records calls with each line of values; blank lines and those with separators alone are passed over.
func (t *Table) records(do func(fields []string, place func(int) token) *Problem) *Problem {
	data := t.file.data[t.from:t.to]
	if bytes.IndexByte(data, '\n') < 0 && bytes.IndexByte(data, '\r') >= 0 {
		// encoding/csv does not take a carriage return alone for the end of a line.
		data = bytes.ReplaceAll(data, []byte{'\r'}, []byte{'\n'})
	}
	r := t.file.reader(bytes.NewReader(data))
	place := func(i int) token {
		line, column := r.FieldPos(i)
		return token{line: t.line - 1 + line, column: column}
	}
	for {
		fields, err := r.Read()
		if err == io.EOF {
			return nil
		}
		var pe *csv.ParseError
		if errors.As(err, &pe) {
			what := "a quote that does not belong here"
			if errors.Is(pe.Err, csv.ErrQuote) {
				what = "a quoted value that does not end where it should"
			}
			return &Problem{t.line - 1 + pe.Line, max(pe.Column, 1), "", what}
		}
		if err != nil {
			return &Problem{t.line, 1, "", err.Error()}
		}
		if !slices.ContainsFunc(fields, func(s string) bool { return strings.TrimSpace(s) != "" }) {
			continue
		}
		if p := do(fields, place); p != nil {
			return p
		}
	}
}

func (t *Table) eachCSV(do func(row, column int, at token, text string) *Problem) *Problem {
	row := 0
	return t.records(func(fields []string, place func(int) token) *Problem {
		for i, s := range fields {
			if p := do(row, i, place(i), strings.TrimSpace(s)); p != nil {
				return p
			}
		}
		row++
		return nil
	})
}
