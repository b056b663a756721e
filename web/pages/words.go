package pages

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/plumb/web/words"
)

// word is a verdict as shown. Whatever is no verdict was not checked.
func word(verdict string) string {
	switch verdict {
	case "holds":
		return words.Say("Holds")
	case "off":
		return words.Say("Off")
	case "unsure":
		return words.Say("Unsure")
	}
	return words.Say("Not checked")
}

func (p Purpose) word() string {
	switch p.Verdict {
	case "holds":
		return words.Say("Fit to decide")
	case "off":
		return words.Say("Not fit")
	case "unsure":
		return words.Say("Can't tell yet")
	}
	return words.Say("Not checked")
}

// why is the reason without the word that stands before it anyway, which records have in English.
func (p Purpose) why() string {
	word := map[string]string{"holds": "Fit to decide", "off": "Not fit", "unsure": "Can't tell yet"}[p.Verdict]
	if word == "" {
		word = "Not checked"
	}
	if rest, ok := strings.CutPrefix(p.Why, word); ok {
		if reason, ok := strings.CutPrefix(rest, ": "); ok {
			return upper(words.Found(reason))
		}
		if strings.Trim(rest, ". ") == "" {
			return ""
		}
	}
	return words.Found(p.Why)
}

// upper is a text with a capital at its beginning.
func upper(s string) string {
	if s == "" {
		return ""
	}
	first, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[n:]
}

func (a Aspect) checked() bool {
	return a.Verdict == "holds" || a.Verdict == "off" || a.Verdict == "unsure"
}

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
		return words.Say("This screen")
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
	parts = append(parts, words.Some(r.Judgements, "%d judgement", "%d judgements"))
	if r.Duration != "" {
		parts = append(parts, r.Duration)
	}
	return strings.Join(parts, " · ")
}

// label is the offer in words.
func (m More) label() string {
	if m.Minutes == 1 {
		return words.Say("Keep going, about a minute")
	}
	return words.Say("Keep going, about %d minutes", m.Minutes)
}

// dataBlock is a script element that holds JSON. Every "<" is written as an escape, which JSON allows only inside strings, where alone
// it can occur; so the value read back is the same and nothing inside can end the element.
func dataBlock(id, json string) string {
	return `<script type="application/json" id="` + id + `">` + strings.ReplaceAll(json, "<", `\u003c`) + `</script>`
}
