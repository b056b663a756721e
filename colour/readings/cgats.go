package readings

import (
	"fmt"
	"strconv"
	"strings"
)

func number(n int) string { return strconv.Itoa(n) }

// readCGATS reads the file by tokens: sets may run over lines, and several tables may follow one another.
func (f *File) readCGATS() *Problem {
	l := &lexer{data: f.data, line: 1}
	private := map[string]bool{}
	var properties []Property
	var format []Column
	fields, sets := -1, -1
	var fieldsAt, setsAt token
	first, words := true, 0
	for {
		t, ok := l.next()
		if !ok {
			break
		}
		word := t.text(f.data)
		if t.open {
			return t.at("", "the string has no second quote")
		}
		if first {
			first = false
			if !keywords[word] && word != "BEGIN_DATA_FORMAT" && word != "BEGIN_DATA" {
				f.Kind = word
				for _, r := range l.rest(t) {
					f.Kind += " " + r.text(f.data)
				}
				f.Kind = strings.ToValidUTF8(f.Kind[:min(len(f.Kind), 80)], "\ufffd")
				continue
			}
			f.note(Problem{t.line, t.column, "", "the first line does not say what kind of file this is, such as CGATS.17"})
		}
		switch word {
		case "BEGIN_DATA_FORMAT":
			format = nil
			for {
				c, ok := l.next()
				if !ok {
					return t.at("", "BEGIN_DATA_FORMAT has no END_DATA_FORMAT")
				}
				if c.is(f.data, "END_DATA_FORMAT") {
					break
				}
				if c.open {
					return c.at("", "the string has no second quote")
				}
				if len(format) == MaxColumns {
					return c.at("", fmt.Sprintf("more than %d fields are not read", MaxColumns))
				}
				name := c.text(f.data)
				id, unit := identify(name)
				format = append(format, Column{name, id, unit, c.line, c.column})
			}
			if len(format) == 0 {
				return t.at("", "the data format has no field")
			}
			if fields >= 0 && fields != len(format) {
				f.note(*fieldsAt.at("", fmt.Sprintf("NUMBER_OF_FIELDS says %d, and the data format has %d", fields, len(format))))
			}
			if p := f.columns(format); p != nil {
				return p
			}
		case "BEGIN_DATA":
			if format == nil {
				return t.at("", "BEGIN_DATA comes before any BEGIN_DATA_FORMAT, so nothing says what the values are")
			}
			if len(f.Tables) == MaxTables {
				return t.at("", fmt.Sprintf("more than %d tables are not read", MaxTables))
			}
			table := Table{Properties: properties[:len(properties):len(properties)], Columns: format, file: f, from: l.i, line: l.line, base: l.begin}
			if p := f.sets(l, &table, t); p != nil {
				return p
			}
			if sets >= 0 && sets != table.Rows {
				f.note(*setsAt.at("", fmt.Sprintf("NUMBER_OF_SETS says %d, and there are %d", sets, table.Rows)))
			}
			f.Tables = append(f.Tables, table)
			fields, sets = -1, -1
		case "END_DATA", "END_DATA_FORMAT":
			return t.at("", word+" ends what never began")
		default:
			if words++; words > maxProperties {
				return t.at("", fmt.Sprintf("more than %d keywords are not read", maxProperties))
			}
			rest := l.rest(t)
			if t.quoted {
				return t.at("", "a string "+quoted(word)+" where a keyword is expected")
			}
			for _, r := range rest {
				if r.open {
					return r.at("", "the string has no second quote")
				}
			}
			var value []string
			for _, r := range rest {
				value = append(value, r.text(f.data))
			}
			v := strings.Join(value, " ")
			switch word {
			case "KEYWORD":
				private[v] = true
				continue
			case "NUMBER_OF_FIELDS", "NUMBER_OF_SETS":
				n, err := strconv.Atoi(v)
				if err != nil || n < 0 {
					if len(rest) > 0 {
						t = rest[0]
					}
					return t.at("", word+" "+quoted(v)+" is no count")
				}
				if word == "NUMBER_OF_FIELDS" {
					fields, fieldsAt = n, rest[0]
				} else {
					sets, setsAt = n, rest[0]
				}
				continue
			}
			if len(rest) == 0 {
				// Between tables, and there only, a word alone names the kind of the next.
				if len(f.Tables) == 0 || keywords[word] {
					f.note(*t.at("", "keyword "+quoted(word)+" has no value"))
				}
				continue
			}
			if !keywords[word] && !private[word] {
				f.note(*t.at("", "unknown keyword "+quoted(word)+", which no KEYWORD declares"))
			}
			properties = append(properties, Property{word, v, t.line})
		}
	}
	if len(f.Tables) == 0 {
		return &Problem{l.line, 1, "", "the file has a data format and no BEGIN_DATA"}
	}
	return nil
}

// sets counts the values of a table up to its END_DATA.
func (f *File) sets(l *lexer, table *Table, begin token) *Problem {
	n := len(table.Columns)
	count, line, onLine := 0, 0, 0
	var odd *Problem // the first line with another number of values than fields
	closeLine := func() {
		if odd == nil && onLine > 0 && onLine != n {
			odd = &Problem{line, 1, "", fmt.Sprintf("%d values, and the data format has %d fields", onLine, n)}
		}
	}
	for {
		t, ok := l.next()
		if !ok {
			return begin.at("", "BEGIN_DATA has no END_DATA: the file is cut short")
		}
		if t.open {
			return t.at(table.Columns[count%n].Name, "the string has no second quote")
		}
		if t.is(f.data, "END_DATA") {
			closeLine()
			table.to = t.from
			table.Rows = count / n
			if count%n != 0 {
				if odd == nil {
					odd = t.at("", fmt.Sprintf("%d values are no whole number of sets of %d", count, n))
				}
				return odd
			}
			if table.Rows == 0 {
				return t.at("", "the table has no sets")
			}
			return nil
		}
		if t.is(f.data, "BEGIN_DATA") || t.is(f.data, "BEGIN_DATA_FORMAT") || t.is(f.data, "END_DATA_FORMAT") {
			return t.at("", t.text(f.data)+" within the data: is END_DATA missing?")
		}
		if t.line != line {
			closeLine()
			line, onLine = t.line, 0
		}
		onLine++
		count++
		if count/n > MaxPatches {
			return t.at("", fmt.Sprintf("more than %d sets are not read", MaxPatches))
		}
	}
}

// each calls with every value of every set, in order.
func (t *Table) each(do func(row, column int, at token, text string) *Problem) *Problem {
	if t.file.comma != 0 {
		return t.eachCSV(do)
	}
	l := &lexer{data: t.file.data[:t.to], i: t.from, line: t.line, begin: t.base}
	for row := range t.Rows {
		for column := range t.Columns {
			v, ok := l.next()
			if !ok {
				return v.at("", "the table ends early")
			}
			if p := do(row, column, v, v.text(t.file.data)); p != nil {
				return p
			}
		}
	}
	return nil
}
