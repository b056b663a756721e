package pages

import (
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/a-h/templ"

	"example.org/plumb/web/words"
)

// A message is text of a page in English: HTML, whose tags a translation keeps.
type message string

// say is a message in the language spoken.
func say(m string) templ.Component { return message(m) }

// Render writes the message.
func (s message) Render(_ context.Context, w io.Writer) error {
	_, err := io.WriteString(w, words.Say(string(s)))
	return err
}

// says is a message that is a format of fmt. Text among the arguments is escaped.
func says(m string, args ...any) templ.Component {
	return templ.ComponentFunc(func(_ context.Context, w io.Writer) error {
		safe := make([]any, len(args))
		for i, a := range args {
			if s, ok := a.(string); ok {
				a = templ.EscapeString(s)
			}
			safe[i] = a
		}
		_, err := fmt.Fprint(w, words.Say(m, safe...))
		return err
	})
}

// HTML is a component as text, with its links to pages of this site leading to those in the language spoken. A link that names a language, by hreflang before its href, stays.
func HTML(c templ.Component) (string, error) {
	var b strings.Builder
	if err := c.Render(context.Background(), &b); err != nil {
		return "", err
	}
	text := b.String()
	if words.Path("/") == "/" {
		return text, nil
	}
	const link = `href="` // a quote within text is escaped, so this begins an attribute
	parts := strings.Split(text, link)
	for i, p := range parts[1:] {
		if strings.Contains(parts[i][strings.LastIndexByte(parts[i], '<')+1:], "hreflang=") {
			continue
		}
		address, rest, _ := strings.Cut(p, `"`)
		parts[i+1] = words.Path(address) + `"` + rest
	}
	return strings.Join(parts, link), nil
}
