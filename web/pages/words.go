package pages

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// word is a verdict as shown. Whatever is no verdict was not checked.
func word(verdict string) string {
	switch verdict {
	case "holds":
		return "Holds"
	case "off":
		return "Off"
	case "unsure":
		return "Unsure"
	}
	return "Not checked"
}

func (p Purpose) word() string {
	switch p.Verdict {
	case "holds":
		return "Fit to decide"
	case "off":
		return "Not fit"
	case "unsure":
		return "Can't tell yet"
	}
	return "Not checked"
}

// why is the reason without the word that stands before it anyway.
func (p Purpose) why() string {
	rest, ok := strings.CutPrefix(p.Why, p.word())
	if !ok {
		return p.Why
	}
	if reason, ok := strings.CutPrefix(rest, ": "); ok {
		return upper(reason)
	}
	if strings.Trim(rest, ". ") == "" {
		return ""
	}
	return p.Why
}

// upper is a text with a capital at its beginning.
func upper(s string) string {
	if s == "" {
		return ""
	}
	first, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[n:]
}

func (a Aspect) checked() bool { return word(a.Verdict) != "Not checked" }

// idle tells that there is nothing to show of an aspect but why. In a sitting that can't be used an aspect has figures and no verdict.
func (a Aspect) idle() bool { return !a.checked() && a.Figure == "" && !a.Scale.drawn() }

func idle(list []Aspect) []Aspect {
	var out []Aspect
	for _, a := range list {
		if a.idle() {
			out = append(out, a)
		}
	}
	return out
}

func checked(list []Aspect) []Aspect {
	var out []Aspect
	for _, a := range list {
		if a.checked() {
			out = append(out, a)
		}
	}
	return out
}

func (r Report) heading() string {
	if r.Screen == "" {
		return "This screen"
	}
	return upper(r.Screen)
}

// made is who judged, when and for how long, leaving out what is not known.
func (r Report) made() string {
	var parts []string
	for _, s := range []string{r.Viewer, r.Made} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	if r.Judgements == 1 {
		parts = append(parts, "1 judgement")
	} else {
		parts = append(parts, strconv.Itoa(r.Judgements)+" judgements")
	}
	if r.Duration != "" {
		parts = append(parts, r.Duration)
	}
	return strings.Join(parts, " · ")
}

// label is the offer in words.
func (m More) label() string {
	if m.Minutes == 1 {
		return "Keep going, about a minute"
	}
	return "Keep going, about " + strconv.Itoa(m.Minutes) + " minutes"
}

// dataBlock is a script element that holds JSON. Every "<" is written as an escape, which JSON allows only inside strings, where alone
// it can occur; so the value read back is the same and nothing inside can end the element.
func dataBlock(id, json string) string {
	return `<script type="application/json" id="` + id + `">` + strings.ReplaceAll(json, "<", `\u003c`) + `</script>`
}
