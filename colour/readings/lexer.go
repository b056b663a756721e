package readings

import "strings"

// A token is a word or a string of the file.
type token struct {
	from, to     int // without the quotes
	line, column int
	quoted       bool
	open         bool // a string whose line ended before its second quote
}

func (t token) text(data []byte) string {
	s := string(data[t.from:t.to])
	if t.quoted {
		s = strings.ReplaceAll(s, `""`, `"`)
	}
	return s
}

// is compares with a word of the standard, which stands without quotes.
func (t token) is(data []byte, word string) bool {
	return !t.quoted && string(data[t.from:t.to]) == word
}

// at returns a problem at the token.
func (t token) at(field, what string) *Problem { return &Problem{t.line, t.column, field, what} }

// A lexer splits CGATS text: white space between tokens, strings in double quotes, comments from # to the end of the line.
type lexer struct {
	data  []byte
	i     int
	line  int
	begin int // of the line
}

// end steps over the end of a line at i, which may be CR, LF or both.
func (l *lexer) end() {
	if l.data[l.i] == '\r' && l.i+1 < len(l.data) && l.data[l.i+1] == '\n' {
		l.i++
	}
	l.i++
	l.line++
	l.begin = l.i
}

func isEnd(c byte) bool { return c == '\n' || c == '\r' }

func (l *lexer) next() (token, bool) {
	for l.i < len(l.data) {
		switch c := l.data[l.i]; {
		case isEnd(c):
			l.end()
		case c == ' ' || c == '\t':
			l.i++
		case c == '#':
			for l.i < len(l.data) && !isEnd(l.data[l.i]) {
				l.i++
			}
		case c == '"':
			t := token{from: l.i + 1, line: l.line, column: l.i - l.begin + 1, quoted: true}
			for l.i++; ; l.i++ {
				if l.i == len(l.data) || isEnd(l.data[l.i]) {
					t.to, t.open = l.i, true
					return t, true
				}
				if l.data[l.i] == '"' {
					if l.i+1 < len(l.data) && l.data[l.i+1] == '"' {
						l.i++
						continue
					}
					t.to = l.i
					l.i++
					return t, true
				}
			}
		default:
			t := token{from: l.i, line: l.line, column: l.i - l.begin + 1}
			for l.i < len(l.data) && !isEnd(l.data[l.i]) && l.data[l.i] != ' ' && l.data[l.i] != '\t' {
				l.i++
			}
			t.to = l.i
			return t, true
		}
	}
	return token{line: l.line, column: l.i - l.begin + 1, from: l.i, to: l.i}, false
}

// rest returns the tokens that are left on the line of t.
func (l *lexer) rest(t token) (all []token) {
	for {
		was := *l
		n, ok := l.next()
		if !ok || n.line != t.line {
			*l = was
			return all
		}
		if len(all) < 64 {
			all = append(all, n)
		}
	}
}
