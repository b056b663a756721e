package record

import (
	"encoding/hex"
	"fmt"
	"strconv"
	"strings"
	"time"
)

const clock = "2006-01-02T15:04:05Z" // RFC 3339, UTC, to the second

// broken is ErrLayout with what is wrong.
func broken(format string, a ...any) error {
	return fmt.Errorf("%w: %s", ErrLayout, fmt.Sprintf(format, a...))
}

// A reader takes a text line by line. It looks for what the writer would put there and leaves it to a comparison with what is written again to find what else is wrong.
// The first fault stays; what is read after it is zero.
type reader struct {
	rest  string
	line  int // of the line read last, from 1
	fault error
}

func (r *reader) fail(what string) {
	if r.fault == nil {
		r.fault = broken("line %d: %s", r.line, what)
	}
}

// next returns the next line without its end.
func (r *reader) next() string {
	r.line++
	line, rest, ok := strings.Cut(r.rest, "\n")
	if !ok {
		r.fail("the text ends here")
		r.rest = ""
		return ""
	}
	r.rest = rest
	return line
}

// after returns what stands behind a name in the next line.
func (r *reader) after(name string) string {
	value, ok := strings.CutPrefix(r.next(), name+" ")
	if !ok {
		r.fail("it does not begin with " + strconv.Quote(name))
	}
	return value
}

// head reads the first line, "plumb KIND VERSION".
func (r *reader) head(kind string) {
	v := r.after("plumb " + kind)
	if n, ok := decimal(v, 1<<31-1); r.fault == nil && ok && n > version {
		r.fault = fmt.Errorf("%w: version %d", ErrVersion, n)
	} else if n != version {
		r.fail("not a version")
	}
}

func (r *reader) hex(text string, into []byte) {
	if b, err := hex.DecodeString(text); err != nil || len(b) != len(into) {
		r.fail(fmt.Sprintf("no %d bytes in hexadecimal digits", len(into)))
	} else {
		copy(into, b)
	}
}

// digest reads a digest that may be absent in the words given.
func (r *reader) digest(text, absent string) (d [32]byte) {
	if text != absent {
		r.hex(text, d[:])
	}
	return d
}

func (r *reader) number(text string, most int64) int64 {
	n, ok := decimal(text, most)
	if !ok {
		r.fail("no whole number in its bounds")
	}
	return n
}

func (r *reader) count(text string, most int) int { return int(r.number(text, int64(most))) }

// numbers reads a text of as many numbers as there are places for, with the words given between them.
func (r *reader) numbers(text string, most int, between []string, into ...*int) {
	for i, p := range into {
		number, rest := text, ""
		if i < len(between) {
			number, rest, _ = strings.Cut(text, between[i])
		}
		*p = r.count(number, most)
		text = rest
	}
}

func (r *reader) time(text string) time.Time {
	t, err := time.Parse(clock, text)
	if err != nil {
		r.fail("no time in UTC to the second")
	}
	return t
}

func (r *reader) text(quoted string) string {
	s, ok := unquote(quoted)
	if !ok {
		r.fail("no string of JSON as it is written here")
	}
	return s
}

// decimal reads digits without zeros before them, at most the number given.
func decimal(text string, most int64) (int64, bool) {
	if text == "" || len(text) > 19 || len(text) > 1 && text[0] == '0' || strings.Trim(text, "0123456789") != "" {
		return 0, false
	}
	n, err := strconv.ParseInt(text, 10, 64)
	return n, err == nil && n <= most
}

// A writer writes lines. The first fault stays.
type writer struct {
	strings.Builder
	fault error
}

func (w *writer) fail(err error) {
	if w.fault == nil {
		w.fault = err
	}
}

func (w *writer) need(ok bool, format string, a ...any) {
	if !ok {
		w.fail(broken(format, a...))
	}
}

func (w *writer) put(format string, a ...any) { fmt.Fprintf(w, format+"\n", a...) }

// quote returns a string of at most so many characters as it is written.
func (w *writer) quote(what, s string, most int) string {
	if why := sayable(s, most); why != "" {
		w.fail(broken("%s: %s", what, why))
	}
	return quote(s)
}

// time returns a time as it is written. What is finer than a second is left out.
func (w *writer) time(what string, t time.Time) string {
	t = t.UTC()
	w.need(1970 <= t.Year() && t.Year() <= 9999, "%s: no time, or not from 1970 to 9999", what)
	return t.Format(clock)
}

// digest returns a digest as it is written, or the words for a zero one.
func (w *writer) digest(d [32]byte, absent string) string {
	if d == [32]byte{} {
		return absent
	}
	return hex.EncodeToString(d[:])
}
