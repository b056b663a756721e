package words

import (
	"sort"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// A form is a message with verbs: the text between them, and which of them stand for numbers.
type form struct {
	parts   []string // one more than there are verbs
	verbs   []verb
	letters int // of all parts together
	said    string
}

type verb struct {
	number bool
	quoted bool // its argument comes between quotes
	place  int  // of its argument, from 0
}

// Found is a finished English text in the language spoken: its message is looked for, with the verbs standing for whatever is there, and what stood there is looked for in turn. A text
// without a message, such as a name, stays as it is. A text of several lines is found line by line, one of several sentences sentence by sentence. An error is found without the
// name of its package, and a message that begins a sentence or ends it without its capital or its full stop. What %q has put between quotes comes between those of the language,
// which it has in its message "%s" between quotes.
func Found(text string) string {
	if spoken == nil || text == "" {
		return text
	}
	s, _ := pieces(text, between[:], 0)
	return s
}

// between is what parts a text into pieces that may be messages, the widest first.
var between = [...]string{"\n", ". ", "; ", ": "}

// packages are those whose errors begin with their name.
const packages = " app browser carry cct check client gamut icc link looker mailbox picture plates readings record report seal study "

// pieces finds a text, or what it can of its pieces.
func pieces(text string, seps []string, depth int) (string, bool) {
	if s, ok := found(text, depth); ok {
		return s, true
	}
	if name, rest, ok := strings.Cut(text, ": "); ok && name != "" && rest != "" && depth < deepest && !strings.Contains(name, " ") && strings.Contains(packages, " "+name+" ") {
		if s, ok := pieces(rest, seps, depth+1); ok {
			return s, true
		}
	}
	for i, sep := range seps {
		list := strings.Split(text, sep)
		if len(list) == 1 {
			continue
		}
		any, end := false, ""
		if sep == ". " {
			end = "."
		}
		for j, part := range list {
			whole := part
			if j < len(list)-1 {
				whole += end
			}
			s, ok := found(whole, depth)
			if !ok {
				s, ok = pieces(part, seps[i+1:], depth)
			} else if whole != part {
				s = strings.TrimSuffix(s, end)
			}
			if ok {
				any, list[j] = true, s
			}
		}
		if any {
			return strings.Join(list, sep), true
		}
	}
	return text, false
}

// deepest is how far sentences within sentences are looked into.
const deepest = 5

// found finds a text as one message, or as a list of such.
func found(text string, depth int) (string, bool) {
	if s, ok := whole(text, depth); ok || depth >= deepest {
		return s, ok
	}
	r, n := utf8.DecodeRuneInString(text)
	small, bare := text, strings.TrimSuffix(text, ".")
	if unicode.IsUpper(r) {
		small = string(unicode.ToLower(r)) + text[n:]
	}
	for _, t := range [...]string{bare, small, strings.TrimSuffix(small, ".")} {
		if t == text || t == "" {
			continue
		}
		if s, ok := whole(t, depth); ok {
			if t[0] != text[0] {
				r, n := utf8.DecodeRuneInString(s)
				s = string(unicode.ToUpper(r)) + s[n:]
			}
			if strings.HasSuffix(text, ".") && !strings.HasSuffix(t, ".") {
				s += "."
			}
			return s, true
		}
	}
	if strings.Contains(text, ". ") {
		return text, false // sentences are no list
	}
	for _, sep := range [...]string{" and ", ", "} {
		list, all := strings.Split(text, sep), true
		for i, part := range list {
			if len(list) == 1 || part == "" {
				all = false
				break
			}
			s, ok := found(part, depth+1)
			if !ok && strings.ToUpper(part) != part { // a name such as XYZ_X is the same in all languages
				all = false
				break
			}
			list[i] = s
		}
		if all {
			return strings.Join(list, told(sep)), true
		}
	}
	return text, false
}

// whole finds a text as it is.
func whole(text string, depth int) (string, bool) {
	if s := spoken.Messages[text]; s != "" {
		return s, true
	}
	if depth >= deepest || text == "" {
		return text, false
	}
	if forms == nil {
		forms = []form{}
		for message, said := range spoken.Messages {
			if parts, verbs := cut(message); len(verbs) > 0 {
				f := form{parts: parts, verbs: verbs, said: said}
				for _, p := range parts {
					f.letters += len(p)
				}
				if f.letters > 2 {
					forms = append(forms, f)
				}
			}
		}
		sort.Slice(forms, func(i, j int) bool { // slices.SortFunc would be one more sort in the program
			a, b := &forms[i], &forms[j]
			return a.letters > b.letters || a.letters == b.letters && a.said < b.said
		})
	}
	for i := range forms { // the one with most of the text wins
		if args, ok := forms[i].match(text); ok {
			if s, ok := forms[i].say(args, depth); ok {
				return s, true
			}
		}
	}
	return text, false
}

// say puts what stands for the verbs into what is said, found in turn, and tells whether it may be of this form.
func (f *form) say(args []string, depth int) (string, bool) {
	given := make([]string, 0, len(args))
	for i, a := range args {
		if f.verbs[i].number || decimal(a) {
			a = Decimal(a)
		} else if f.verbs[i].quoted {
			if s, err := strconv.Unquote(a); err == nil { // between those of the language
				a = Say(`"%s"`, s)
			}
		} else {
			last := i == len(args)-1 && f.parts[i+1] == ""
			if last && strings.HasSuffix(a, ".") && spoken.Messages[a] == "" { // the full stop is that of the sentence, which is looked for without
				return "", false
			}
			if f.letters < 8 { // "%s and %s" is of many sentences that nobody has translated
				s, ok := found(a, depth+1)
				if !ok {
					return "", false
				}
				a = s
			} else {
				a, _ = pieces(a, between[2:], depth+1)
			}
		}
		for len(given) <= f.verbs[i].place {
			given = append(given, "")
		}
		given[f.verbs[i].place] = a
	}
	parts, verbs := cut(f.said)
	var b strings.Builder
	for i, p := range parts {
		b.WriteString(p)
		if i < len(verbs) && verbs[i].place < len(given) {
			b.WriteString(given[verbs[i].place])
		}
	}
	return b.String(), true
}

// match is what stands for each verb, if the text is of this form.
func (f *form) match(text string) ([]string, bool) {
	rest, ok := strings.CutPrefix(text, f.parts[0])
	if !ok || !strings.HasSuffix(rest, f.parts[len(f.verbs)]) {
		return nil, false
	}
	args := make([]string, 0, len(f.verbs))
	for i, v := range f.verbs {
		next := f.parts[i+1]
		at := len(rest)
		if i == len(f.verbs)-1 {
			if !strings.HasSuffix(rest, next) {
				return nil, false
			}
			at -= len(next)
		} else if next != "" {
			if at = strings.Index(rest, next); at < 0 {
				return nil, false
			}
		}
		a := rest[:at]
		if a == "" && (i < len(f.verbs)-1 || next != "" || f.letters < 40) || v.number && !numeric(a) || strings.Contains(a, ". ") && !strings.Contains(next, ". ") { // a sentence is a message of its own
			return nil, false
		}
		args, rest = append(args, a), rest[at+len(next):]
	}
	return args, true
}

// numeric tells whether a text is a number as fmt writes one.
func numeric(s string) bool {
	return strings.Trim(s, "+-−0123456789.e") == "" && strings.ContainsAny(s, "0123456789")
}

// decimal tells whether it is one with a single point between digits.
func decimal(s string) bool {
	return numeric(s) && strings.Count(s, ".") == 1 && !strings.HasPrefix(s, ".") && !strings.HasSuffix(s, ".")
}

// cut is a message between its verbs, with %% as the sign that it prints.
func cut(message string) (parts []string, verbs []verb) {
	var b strings.Builder
	next := 0
	for i := 0; i < len(message); i++ {
		if message[i] != '%' {
			b.WriteByte(message[i])
			continue
		}
		at, place := i+1, -1
		for at < len(message) && strings.IndexByte("+-# 0123456789.[]", message[at]) >= 0 {
			if message[at] == '[' {
				place = 0
				for at++; at < len(message) && message[at] >= '0' && message[at] <= '9'; at++ {
					place = 10*place + int(message[at]-'0')
				}
				place--
				continue
			}
			at++
		}
		switch {
		case at == i+1 && at < len(message) && message[at] == '%':
			b.WriteByte('%')
		case at < len(message) && strings.IndexByte("dfgeqsvwxXTt", message[at]) >= 0:
			if place < 0 {
				place = next
			}
			next = place + 1
			parts, verbs = append(parts, b.String()), append(verbs, verb{strings.IndexByte("dfge", message[at]) >= 0, message[at] == 'q', place})
			b.Reset()
		default: // a share, as in "100 % of it"
			b.WriteByte('%')
			continue
		}
		i = at
	}
	return append(parts, b.String()), verbs
}
