// Package readings reads what a measuring instrument's software exports of patches on a screen or on paper, and compares it with what was aimed at.
//
// It reads text of ANSI CGATS.17 and ISO 28178, and CSV with the same identifiers as column names. It asks for XYZ, xyY, L*a*b* or L*C*h of the CIE 1931
// observer; spectra are passed over. What a file does not say, such as the unit of XYZ, is left open and said so.
package readings

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"
)

// Limits of what is read.
const (
	MaxSize    = 16 << 20 // bytes of a file
	MaxLine    = 64 << 10 // bytes of a line
	MaxColumns = 512
	MaxPatches = 20000 // of a table
	MaxTables  = 32

	maxProperties = 512
	maxHeading    = 200 // lines of a CSV file that may come before the names of the columns, and that line
	maxNotes      = 40
)

// A Problem says where in a file something is amiss, and what. As an error it keeps the file from being used; among Notes it does not.
type Problem struct {
	Line   int    // from 1
	Column int    // place on the line, in bytes from 1
	Field  string // identifier of the data column, where it is about one
	What   string
}

func (p *Problem) Error() string { return "readings: " + p.String() }

// String returns the place and what is amiss there.
func (p *Problem) String() string {
	if p.Field != "" {
		return fmt.Sprintf("line %d, column %d (%s): %s", p.Line, p.Column, p.Field, p.What)
	}
	return fmt.Sprintf("line %d, column %d: %s", p.Line, p.Column, p.What)
}

// A Property is a keyword of the file with its value.
type Property struct {
	Keyword, Value string
	Line           int
}

// A Column is one field of a table's sets.
type Column struct {
	Name string // as the file has it
	ID   string // the identifier that it stands for, with AIM_ before it for an aim; "" for one that is not known
	Unit string // as the file has it behind the name in brackets, such as cd/m2

	line, column int
}

// A Table is a table of readings. It shares the bytes that it was read from.
type Table struct {
	Properties []Property // in force for it: the file's, and its own
	Columns    []Column
	Rows       int

	file       *File
	from, to   int // the data, in bytes of the file
	line, base int // the line that from is in, and where that line begins
}

// A File is a file of readings that was read whole. It shares the bytes it was read from, which must not be changed.
type File struct {
	Kind   string // the first line of a CGATS file, such as CGATS.17; "CSV" for one
	Tables []Table
	Notes  []Problem

	data  []byte
	comma byte // what separates the fields of a CSV file; 0 for CGATS
}

// Read reads a file; which of the two kinds it is shows in its words. Errors are *Problem.
func Read(data []byte) (*File, error) {
	f, p := read(data)
	if p != nil {
		return nil, p
	}
	return f, nil
}

func read(data []byte) (*File, *Problem) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if len(data) > MaxSize {
		return nil, &Problem{1, 1, "", fmt.Sprintf("the file has %d bytes; more than %d are not read", len(data), MaxSize)}
	}
	if p := plain(data); p != nil {
		return nil, p
	}
	f := &File{data: data}
	l := lexer{data: data, line: 1}
	for t, ok := l.next(); ok; t, ok = l.next() {
		// Either word is in every CGATS file and at the start of no line of CSV.
		if t.is(data, "BEGIN_DATA_FORMAT") || t.is(data, "BEGIN_DATA") {
			return f, f.readCGATS()
		}
	}
	return f, f.readCSV()
}

// plain refuses what is no text, and lines of absurd length.
func plain(data []byte) *Problem {
	line, begin := 1, 0
	for i, c := range data {
		if i-begin > MaxLine {
			return &Problem{line, MaxLine, "", fmt.Sprintf("the line is longer than %d characters", MaxLine)}
		}
		switch {
		case c == '\n' || c == '\r' && (i+1 == len(data) || data[i+1] != '\n'):
			line, begin = line+1, i+1
		case c < 32 && c != '\t' && c != '\r':
			what := "a control character: this is no file of text"
			if c == 0 {
				what = "a zero byte: this is no file of text, or one of UTF-16; save it as UTF-8"
			}
			return &Problem{line, i - begin + 1, "", what}
		}
	}
	return nil
}

func (f *File) note(p Problem) {
	if len(f.Notes) < maxNotes {
		f.Notes = append(f.Notes, p)
	}
}

// quoted returns a piece of the file for a message: short, and whole characters.
func quoted(s string) string {
	if len(s) > 40 {
		s = s[:40]
		for !utf8.ValidString(s) && len(s) > 36 {
			s = s[:len(s)-1]
		}
		s += "..."
	}
	return fmt.Sprintf("%q", strings.ToValidUTF8(s, "\ufffd"))
}
