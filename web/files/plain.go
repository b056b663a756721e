package files

import (
	"bytes"
	"fmt"
	"html"
	"path"
	"strings"
)

// Plain is the site for a host that does nothing but serve the files of a folder at the root of an address, by name in that folder. A page has a folder of its own with
// an index.html, which every host finds. Pages say themselves what such a host says in no header, and that there is no mailbox: data-post is "none" on the stage.
func Plain(answers map[string]Answer) (map[string][]byte, error) {
	list := map[string][]byte{}
	for at, a := range answers {
		name, text := strings.TrimPrefix(at, "/"), a.Body
		if a.Page() {
			var err error
			if text, err = alone(a); err != nil {
				return nil, fmt.Errorf("files: %s: %w", at, err)
			}
			if !IsMissing(at) {
				name = path.Join(name, "index.html")
			}
		}
		list[name] = text
	}
	return list, nil
}

// alone is a page that needs no headers and asks for no mailbox.
func alone(a Answer) ([]byte, error) {
	var policy []string
	for part := range strings.SplitSeq(a.Header.Get("Content-Security-Policy"), ";") {
		if part = strings.TrimSpace(part); !strings.HasPrefix(part, "frame-ancestors ") { // not known in a page: Content Security Policy Level 3, section 3.3
			policy = append(policy, part)
		}
	}
	meta := fmt.Sprintf(`<meta http-equiv="Content-Security-Policy" content="%s"><meta name="referrer" content="%s">`,
		html.EscapeString(strings.Join(policy, "; ")), html.EscapeString(a.Header.Get("Referrer-Policy")))
	text, err := behind(a.Body, `<meta charset="utf-8">`, meta)
	if err != nil || !bytes.Contains(text, []byte("data-program=")) {
		return text, err
	}
	return behind(text, `<main id="stage"`, ` data-post="none"`)
}

// behind puts words into a page behind a place that is there once.
func behind(page []byte, place, words string) ([]byte, error) {
	before, after, found := bytes.Cut(page, []byte(place))
	if !found || bytes.Contains(after, []byte(place)) {
		return nil, fmt.Errorf("the page has not one %s", place)
	}
	return bytes.Join([][]byte{before, []byte(place), []byte(words), after}, nil), nil
}
