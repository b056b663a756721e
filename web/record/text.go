package record

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// hushed lists the characters that no string holds, first and last of each range: what is not seen, or changes how other characters are seen. It is the general
// categories Cc, Cf, Zl and Zp of Unicode 15, noncharacters (those at the end of each plane are in silent), and what is reserved for more of them at the end of
// plane 0 and in plane 14, whose variation selectors are left. The list is fixed with the layout, so that a text that stands goes on standing.
var hushed = [...][2]rune{
	{0x0000, 0x001f}, {0x007f, 0x009f}, {0x00ad, 0x00ad}, {0x0600, 0x0605}, {0x061c, 0x061c}, {0x06dd, 0x06dd}, {0x070f, 0x070f}, {0x0890, 0x0891},
	{0x08e2, 0x08e2}, {0x180e, 0x180e}, {0x200b, 0x200f}, {0x2028, 0x202e}, {0x2060, 0x206f}, {0xfdd0, 0xfdef}, {0xfeff, 0xfeff}, {0xfff0, 0xfffb},
	{0x110bd, 0x110bd}, {0x110cd, 0x110cd}, {0x13430, 0x1343f}, {0x1bca0, 0x1bca3}, {0x1d173, 0x1d17a}, {0xe0000, 0xe00ff}, {0xe01f0, 0xe0fff},
}

// silent reports whether a character is in hushed or is a noncharacter at the end of a plane (U+FFFE, U+FFFF, U+1FFFE, ...).
func silent(r rune) bool {
	for _, h := range hushed {
		if h[0] <= r && r <= h[1] {
			return true
		}
	}
	return r&0xfffe == 0xfffe
}

// Tidy makes of any text one that a request or record takes: white space, also at line ends, becomes single spaces and none at the ends; control characters, format
// characters and noncharacters are left out:
//
//	U+0000-001F 007F-009F 00AD 0600-0605 061C 06DD 070F 0890-0891 08E2 180E 200B-200F 2028-202E 2060-206F FDD0-FDEF FEFF FFF0-FFFB
//	U+110BD 110CD 13430-1343F 1BCA0-1BCA3 1D173-1D17A E0000-E00FF E01F0-E0FFF, and U+FFFE and U+FFFF in every plane
//
// So is what follows the first most characters.
func Tidy(text string, most int) string {
	var b strings.Builder
	n, gap := 0, false
	for _, r := range strings.ToValidUTF8(text, "") {
		if unicode.IsSpace(r) {
			gap = n > 0
			continue
		}
		if silent(r) {
			continue
		}
		if gap {
			n++
		}
		if n >= most {
			break
		}
		if gap {
			b.WriteByte(' ')
			gap = false
		}
		b.WriteRune(r)
		n++
	}
	return b.String()
}

// sayable returns why a string cannot be written with at most so many characters; "" if it can.
func sayable(s string, most int) string {
	if !utf8.ValidString(s) {
		return "not UTF-8"
	}
	n := 0
	for _, r := range s {
		if silent(r) {
			return "it holds a control or format character"
		}
		n++
	}
	if n > most {
		return "it is too long"
	}
	return ""
}

var escape = strings.NewReplacer(`\`, `\\`, `"`, `\"`)

func quote(s string) string { return `"` + escape.Replace(s) + `"` }

// unquote reads what quote writes; ok is false for what cannot be that.
func unquote(q string) (s string, ok bool) {
	if len(q) < 2 || q[0] != '"' || q[len(q)-1] != '"' {
		return "", false
	}
	q = q[1 : len(q)-1]
	var b strings.Builder
	for i := 0; i < len(q); i++ {
		if q[i] == '"' {
			return "", false
		}
		if q[i] == '\\' {
			if i++; i == len(q) || q[i] != '"' && q[i] != '\\' {
				return "", false
			}
		}
		b.WriteByte(q[i])
	}
	return b.String(), true
}
