package app

import (
	"context"
	"fmt"
	"io"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/a-h/templ"

	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// none is nothing.
var none = templ.ComponentFunc(func(context.Context, io.Writer) error { return nil })

// fill puts a component into the page.
func (a *App) fill(id string, c templ.Component) { a.host.Page.Fill(id, rendered(c)) }

// refill puts a component into the page unless it is there already as it is: what is tried again and again does not disturb who reads.
func (a *App) refill(id string, c templ.Component) {
	text := rendered(c)
	if a.filled[id] == text {
		return
	}
	if a.filled == nil {
		a.filled = map[string]string{}
	}
	a.filled[id] = text
	a.host.Page.Fill(id, text)
}

// rendered is a component as HTML.
func rendered(c templ.Component) string {
	text, err := pages.HTML(c)
	if err != nil {
		panic("app: a component did not render into memory: " + err.Error())
	}
	return text
}

// pausing is a component that calls pause after every few kilobytes of it.
func pausing(c templ.Component, pause func()) templ.Component {
	return templ.ComponentFunc(func(ctx context.Context, w io.Writer) error { return c.Render(ctx, pauses{w, pause}) })
}

type pauses struct {
	to    io.Writer
	pause func()
}

func (p pauses) Write(b []byte) (int, error) {
	p.pause()
	return p.to.Write(b)
}

// words puts text into the page.
func (a *App) words(id, text string) { a.fill(id, pages.Text(text)) }

// tell puts one line about what happened into the page.
func (a *App) tell(id, text string) { a.fill(id, pages.Message(text)) }

// titled is English of the program's own, such as the name of an aspect, in the language spoken and with a capital first letter.
func titled(english string) string { return capital(words.Found(english)) }

// capital is s with a capital first letter.
func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

// ago is how long ago something was, in words.
func ago(d time.Duration) string {
	switch {
	case d < 90*time.Second:
		return words.Say("a minute ago")
	case d < 90*time.Minute:
		return words.Say("%d minutes ago", int(d.Minutes()+0.5))
	case d < 36*time.Hour:
		return words.Say("%d hours ago", int(d.Hours()+0.5))
	}
	return words.Say("%d days ago", int(d.Hours()/24+0.5))
}

// date is a day in words.
func date(t time.Time) string { return words.Day(t.Day(), t.Month().String(), t.Year()) }

// day is a moment in words, in the zone of t.
func day(t time.Time) string {
	return date(t) + t.Format(", 15:04")
}

// spell is a length of time by units whose signs no language changes: it also stands in records.
func spell(d time.Duration) string {
	s := int(d.Seconds() + 0.5)
	switch {
	case s < 60:
		return fmt.Sprintf("%d s", s)
	case s%60 == 0:
		return fmt.Sprintf("%d min", s/60)
	}
	return fmt.Sprintf("%d min %d s", s/60, s%60)
}

// besides is components one after the other.
func besides(list ...templ.Component) templ.Component {
	return templ.ComponentFunc(func(ctx context.Context, w io.Writer) error {
		for _, c := range list {
			if err := c.Render(ctx, w); err != nil {
				return err
			}
		}
		return nil
	})
}
