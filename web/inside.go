//go:build !js

package web

import (
	"embed"
	"strings"
)

//go:embed inside
var inside embed.FS

// within returns a script that stands inside pages, without its comments: what must happen before anything that a page refers to can be there.
// protect.go names its digest, without which a browser does not run it.
func within(name string) string {
	text, err := inside.ReadFile("inside/" + name)
	if err != nil {
		panic("web: " + err.Error())
	}
	var kept strings.Builder
	for line := range strings.Lines(string(text)) {
		line = strings.TrimLeft(line, "\t")
		if line != "\n" && !strings.HasPrefix(line, "//") {
			kept.WriteString(line)
		}
	}
	return kept.String()
}
