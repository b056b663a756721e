// Package words puts what Plumb says into the language of whoever reads. English is written where it is said; every other language is one file, a [Catalogue], that says
// the same by the English message. What comes as finished English, from a record, an error or another thread, is found again by [Found].
//
// One process speaks one language at a time: a browser program that of its page, a server that of the page it renders. [Use] is called before anything is said, and never while
// something else is being said. Output for machines, signed text and logs stay English.
package words

import (
	"fmt"
	"strconv"
	"strings"
)

// A Catalogue is a language: what it says for each English message. The zero Catalogue is English.
type Catalogue struct {
	Language string            `json:"language"` // a tag of BCP 47, as in "de"
	Name     string            `json:"name"`     // as its speakers call it
	Decimal  string            `json:"decimal"`  // what stands before the decimals of a number; "" is a point
	Date     string            `json:"date"`     // how a day is written, by the number of day, month's name and year: "%d. %s %d"
	Messages map[string]string `json:"messages"` // by the English message, verbs of fmt included; a message that is said differently by context is "message [context]"
}

var (
	spoken *Catalogue
	forms  []form // messages with verbs, made when Found first needs them
)

// Use makes a catalogue what is spoken from here on; nil is English.
func Use(c *Catalogue) {
	if c != nil && len(c.Messages) == 0 {
		c = nil
	}
	spoken, forms = c, nil
}

// Language is the tag of what is spoken, "en" without a catalogue.
func Language() string {
	if spoken == nil {
		return "en"
	}
	return spoken.Language
}

// told is what the catalogue says for a message, and the message itself where it says nothing.
func told(message string) string {
	if spoken != nil {
		if s := spoken.Messages[message]; s != "" {
			return s
		}
	}
	return message
}

// Say is a message in the language spoken. With arguments it is a format of fmt, and a translation may name them by position, as in "%[2]s". Numbers with decimals are given as
// text by [Number].
func Say(message string, args ...any) string {
	message = told(message)
	if len(args) == 0 {
		return message
	}
	return fmt.Sprintf(message, args...)
}

// As is a short message whose meaning depends on where it stands, which context tells the translator: As("open", "a box that takes answers"). With arguments it is a format, as for Say.
func As(message, context string, args ...any) string {
	if spoken != nil {
		if s := spoken.Messages[message+" ["+context+"]"]; s != "" {
			message = s
		}
	}
	if len(args) == 0 {
		return message
	}
	return fmt.Sprintf(message, args...)
}

// Some is one if n is 1, and many else; both are messages that have n as their first argument, and args after it.
func Some(n int, one, many string, args ...any) string {
	if n != 1 {
		one = many
	}
	return fmt.Sprintf(told(one), append([]any{n}, args...)...)
}

// Number is x with a number of decimals, or as many as it takes for -1, written as the language does.
func Number(x float64, places int) string { return Decimal(strconv.FormatFloat(x, 'f', places, 64)) }

// Decimal is a number that is written with a point, written as the language does.
func Decimal(number string) string {
	if spoken != nil && spoken.Decimal != "" {
		return strings.Replace(number, ".", spoken.Decimal, 1)
	}
	return number
}

// Day is a day of the year: its day of the month, the English name of the month and the year.
func Day(day int, month string, year int) string {
	if spoken != nil && spoken.Date != "" {
		return fmt.Sprintf(spoken.Date, day, told(month), year)
	}
	return fmt.Sprintf("%d %s %d", day, month, year)
}

// Path is where a page of this site is in the language spoken: "/check" in English, "/de/check" in German. What is no path of this site, and what all languages share, stays as it is.
func Path(path string) string {
	if spoken == nil || !strings.HasPrefix(path, "/") || strings.HasPrefix(path, "//") || strings.HasPrefix(path, "/assets/") || strings.HasPrefix(path, "/api/") || strings.HasPrefix(path, "/"+spoken.Language+"/") {
		return path
	}
	return "/" + spoken.Language + path
}
