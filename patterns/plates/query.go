package plates

import (
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strings"
)

// Key is the parameter of a link that names the plate. The others are levels.
const Key = "pattern"

// ErrNone is what [Parse] says of a query that names nothing at all.
var ErrNone = errors.New("plates: no pattern is named")

// Parse reads the query of a link, with or without its question mark. Levels that are left out have their usual values; what is not known, given twice or out
// of range is refused, and the error names what there is.
func Parse(query string) (State, error) {
	query = strings.TrimPrefix(query, "?")
	if query == "" {
		return State{}, ErrNone
	}
	given, err := url.ParseQuery(query)
	if err != nil {
		return State{}, fmt.Errorf("plates: the link is not written as links are: %w", err)
	}
	names := make([]string, 0, len(given))
	for name, list := range given {
		if len(list) > 1 {
			return State{}, fmt.Errorf("plates: %s is given %d times", quoted(name), len(list))
		}
		names = append(names, name)
	}
	if given[Key] == nil {
		return State{}, fmt.Errorf("%w; the link needs %s= and one of %s", ErrNone, Key, strings.Join(Names(), ", "))
	}
	s, err := Find(given.Get(Key))
	if err != nil {
		return State{}, err
	}
	slices.Sort(names) // so that the first error does not depend on chance
	for _, name := range names {
		if name != Key {
			if s, err = s.Set(name, given.Get(name)); err != nil {
				return State{}, err
			}
		}
	}
	return s, nil
}

// Find is [Usual] with an error that names all plates.
func Find(name string) (State, error) {
	s, ok := Usual(name)
	if !ok {
		return s, fmt.Errorf("plates: there is no pattern %s; there are %s", quoted(name), strings.Join(Names(), ", "))
	}
	return s, nil
}

// Set is the state with one level at the value of that text. Numbers are written plainly: no sign before what is not below 0, and no zeros before others.
func (s State) Set(level, text string) (State, error) {
	i := slices.IndexFunc(s.Levels(), func(l Level) bool { return l.Name == level })
	if i < 0 {
		var names []string
		for _, l := range s.Levels() {
			names = append(names, l.Name)
		}
		name := "no pattern"
		if s.plate != nil {
			name = s.plate.Name
		}
		return State{}, fmt.Errorf("plates: %s has no level %s; it has %s", name, quoted(level), strings.Join(names, ", "))
	}
	l := &s.plate.Levels[i]
	for v := l.Min; v <= l.Max; v++ {
		if l.Text(v) == text {
			s.values[i] = v
			return s, nil
		}
	}
	return State{}, fmt.Errorf("plates: %s of %s cannot be %s; it takes %s", level, s.plate.Name, quoted(text), l.Takes())
}

// Query is the query that [Parse] reads back as s, without a question mark: every level stands in it, so that it says the same when usual values change.
func (s State) Query() string {
	if s.plate == nil {
		return ""
	}
	var b strings.Builder
	b.WriteString(Key + "=" + s.plate.Name)
	for i, l := range s.plate.Levels {
		b.WriteString("&" + l.Name + "=" + s.Text(i))
	}
	return b.String()
}

// quoted is what somebody wrote, cut where it is long.
func quoted(text string) string {
	const most = 32
	if r := []rune(text); len(r) > most {
		return fmt.Sprintf("%q", string(r[:most])+"...")
	}
	return fmt.Sprintf("%q", text)
}
