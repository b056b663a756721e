package pages

import (
	"context"
	"io"
	"strconv"
	"strings"

	"github.com/a-h/templ"
)

// An attribute is one of an element.
type attribute struct{ name, value string }

// inside is a script that stands in the page itself, and may read its element's attributes. It must not hold the end of its element; the site's policy names its digest.
func inside(script string, attributes ...attribute) templ.Component {
	var tag strings.Builder
	for _, a := range attributes {
		tag.WriteString(" " + a.name + `="` + templ.EscapeString(a.value) + `"`)
	}
	return templ.ComponentFunc(func(_ context.Context, w io.Writer) error {
		_, err := io.WriteString(w, "<script"+tag.String()+">"+script+"</script>")
		return err
	})
}

// program is which program a page loads: plain where that is enough and there is one, and then all of it where the browser has more.
func (s Site) program(plain bool) []attribute {
	if !plain || s.Plain == "" {
		return []attribute{{"data-program", s.Program}, {"data-size", strconv.Itoa(s.ProgramSize)}}
	}
	return []attribute{
		{"data-program", s.Plain}, {"data-size", strconv.Itoa(s.PlainSize)},
		{"data-whole", s.Program}, {"data-whole-size", strconv.Itoa(s.ProgramSize)},
	}
}
