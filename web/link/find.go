package link

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// find returns the characters of base64url behind the version of the first link in a text, and whether they end where a link might: at the end of the text or
// at a mark that closes a sentence, a bracket or a quotation.
//
// It forgives spaces, line breaks, invisible characters and the marks of quoted or continued lines anywhere, percent-encoding (once or oftener, as by programs
// that wrap links in their own), hyphens that became dashes, and whatever follows a whole link.
func find(text string) (characters string, whole bool, err error) {
	text = dashes.Replace(strings.Map(kept, unescape(text)))
	for rest := text; ; {
		before, after, found := strings.Cut(rest, "#")
		if !found {
			return versioned(strings.TrimPrefix(text, "#"))
		}
		if strings.HasSuffix(strings.TrimSuffix(before, "/"), Path) {
			if characters, whole, err = versioned(after); err != ErrEmpty {
				return characters, whole, err
			}
		}
		rest = after
	}
}

// versioned reads the version and what stands behind it.
func versioned(text string) (characters string, whole bool, err error) {
	digits := strings.IndexFunc(text, func(r rune) bool { return r < '0' || r > '9' })
	switch {
	case text == "" || digits == 0 || digits > 0 && text[digits] != '.':
		return "", false, ErrEmpty
	case digits < 0:
		return "", false, ErrTruncated
	}
	switch version := strings.TrimLeft(text[:digits], "0"); {
	case version == "":
		return "", false, ErrMistyped
	case version != strconv.Itoa(Version):
		return "", false, ErrNewer
	}
	text = text[digits+1:]
	end := strings.IndexFunc(text, func(r rune) bool { return !alphabetic(r) })
	if end < 0 {
		return text, true, nil
	}
	after, _ := utf8.DecodeRuneInString(text[end:])
	return text[:end], strings.ContainsRune(closing, after), nil
}

// closing are marks that may follow a link, & among them for links inside others.
const closing = ".,;:!?)]}\"'<&\u2019\u201d\u00ab\u00bb\u2026"

// dashes are what programs make of hyphens.
var dashes = strings.NewReplacer("\u2010", "-", "\u2011", "-", "\u2012", "-", "\u2013", "-", "\u2014", "--", "\u2212", "-")

// unescape undoes percent-encoding until there is none, up to four times. A percent sign without two hexadecimal digits stays as it is.
func unescape(text string) string {
	for range 4 {
		if !strings.Contains(text, "%") {
			break
		}
		var b strings.Builder
		for i := 0; i < len(text); i++ {
			if text[i] == '%' && i+2 < len(text) {
				if n, err := strconv.ParseUint(text[i+1:i+3], 16, 8); err == nil {
					b.WriteByte(byte(n))
					i += 2
					continue
				}
			}
			b.WriteByte(text[i])
		}
		text = b.String()
	}
	return text
}

// kept drops what programs put into links: spaces and breaks, invisible characters, the > of a quoted line and the = of a continued one (RFC 2045, section 6.7).
func kept(r rune) rune {
	switch {
	case unicode.IsSpace(r), unicode.IsControl(r), unicode.Is(unicode.Cf, r), r == '=', r == '>':
		return -1
	}
	return r
}

func alphabetic(r rune) bool {
	return 'A' <= r && r <= 'Z' || 'a' <= r && r <= 'z' || '0' <= r && r <= '9' || r == '-' || r == '_'
}
