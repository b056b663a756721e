package words

import "strings"

// A form is a message with verbs: the text between them, and which of them stand for numbers.
type form struct {
	parts   []string // one more than there are verbs
	verbs   []verb
	letters int // of all parts together
	said    string
}

type verb struct {
	number bool
	place  int // of its argument, from 0
}

// Found is a finished English text in the language spoken: its message is looked for, with the verbs standing for whatever is there, and what stood there is looked for in turn. A text
// without a message, such as a name, stays as it is. A text of several lines is found line by line, one of several sentences sentence by sentence.
func Found(text string) string {
	if spoken == nil || text == "" {
		return text
	}
	if s, ok := found(text, 0); ok {
		return s
	}
	for _, between := range []string{"\n", ". ", "; ", ": "} {
		list := strings.Split(text, between)
		if len(list) == 1 {
			continue
		}
		any, end := false, strings.TrimSpace(between)
		if end == ";" || end == ":" {
			end = ""
		}
		for i, part := range list {
			whole := part
			if i < len(list)-1 {
				whole += end
			}
			s, ok := found(whole, 0)
			if !ok && whole != part { // the message has no full stop
				if s, ok = found(part, 0); ok {
					s += end
				}
			}
			if ok {
				any = true
				if i < len(list)-1 {
					s = strings.TrimSuffix(s, end)
				}
				list[i] = s
			}
		}
		if any {
			return strings.Join(list, between)
		}
	}
	return text
}

func found(text string, depth int) (string, bool) {
	if s := spoken.Messages[text]; s != "" {
		return s, true
	}
	if depth > 4 { // sentences within sentences end somewhere
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
	}
	best, with := -1, []string(nil)
	for i := range forms {
		f := &forms[i]
		if best >= 0 && (f.letters < forms[best].letters || f.letters == forms[best].letters && f.said >= forms[best].said) {
			continue
		}
		if args, ok := f.match(text); ok {
			best, with = i, args
		}
	}
	if best < 0 {
		return text, false
	}
	f := &forms[best]
	given := make([]string, 0, len(with))
	for i, a := range with {
		if f.verbs[i].number || decimal(a) {
			a = Decimal(a)
		} else {
			a, _ = found(a, depth+1)
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
	if !ok {
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
		if a == "" || v.number && !numeric(a) || strings.Contains(a, ". ") && !strings.Contains(next, ". ") { // a sentence is a message of its own
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
			parts, verbs = append(parts, b.String()), append(verbs, verb{strings.IndexByte("dfge", message[at]) >= 0, place})
			b.Reset()
		default: // a share, as in "100 % of it"
			b.WriteByte('%')
			continue
		}
		i = at
	}
	return append(parts, b.String()), verbs
}
