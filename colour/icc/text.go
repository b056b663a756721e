package icc

import (
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// longest is how many bytes of one text are read. It keeps texts that tags share from unfolding to more than the file.
const longest = 1 << 14

// A Text is a description in one language or several (multiLocalizedUnicodeType, ICC.1:2022, 10.15; textDescriptionType, ICC.1:2001-04, 6.5.17;
// textType). Its zero value is empty. Of each text the first 16384 bytes are read.
type Text struct {
	plain   view // 7-bit characters, or Latin-1 or UTF-8 as many makers have it
	records view // of 12 bytes: language, country, length, offset
	tag     view
	short   string // what a version 2 description lacks
}

func readText(v view) (Text, *Fault) {
	switch t := v.signature(0); t {
	case sig("text"):
		return Text{plain: v.part(8, len(v.data)-8)}, nil
	case sig("desc"):
		if f := v.need(8, 4, "a description's length"); f != nil {
			return Text{}, f
		}
		n := v.u32(8)
		if uint64(n) > uint64(len(v.data)-12) {
			return Text{}, v.fault(8, "the description counts %d characters, and the tag has %d bytes left", n, len(v.data)-12)
		}
		x := Text{plain: v.part(12, int(n))}
		if len(v.data)-12-int(n) < 8+3+67 {
			x.short = "the description ends before its Unicode and script parts, which version 2 asks for"
		}
		return x, nil
	case sig("mluc"):
		if f := v.need(8, 8, "a count of languages"); f != nil {
			return Text{}, f
		}
		n, size := v.u32(8), v.u32(12)
		if n > 0 && size != 12 {
			return Text{}, v.fault(12, "records of %d bytes; 12 are defined", size)
		}
		if uint64(n) > uint64(len(v.data)-16)/12 {
			return Text{}, v.fault(8, "%d languages of 12 bytes, and the tag has %d bytes left", n, len(v.data)-16)
		}
		x := Text{records: v.part(16, 12*int(n)), tag: v}
		for i := range int(n) {
			length, offset := x.records.u32(12*i+4), x.records.u32(12*i+8)
			if uint64(offset)+uint64(length) > uint64(len(v.data)) {
				return Text{}, x.records.fault(12*i+4, "%d bytes of text from byte %d of the tag on, which has %d", length, offset, len(v.data))
			}
		}
		return x, nil
	default:
		return Text{}, v.fault(0, "type %s is no text; mluc, desc and text are", t)
	}
}

// Languages returns how many languages there are; 1 for a description that does not say which it is in.
func (t Text) Languages() int {
	if t.tag.data == nil {
		return min(len(t.plain.data), 1)
	}
	return len(t.records.data) / 12
}

// Language returns the code of language i, such as en-GB or de, and the text in it. A description that does not say its language has the code "".
func (t Text) Language(i int) (code, text string) {
	if t.tag.data == nil {
		return "", latin(t.plain.data)
	}
	r := t.records.part(12*i, 12)
	code = letters(r.data[:2])
	if c := letters(r.data[2:4]); c != "" && code != "" {
		code = strings.ToLower(code) + "-" + strings.ToUpper(c)
	}
	return code, utf16be(t.tag.part(int(r.u32(8)), int(r.u32(4))).data)
}

// In returns the text in a language, given as en-GB or en: that very one, else one of the same language, else English, else the first.
func (t Text) In(language string) string {
	n := t.Languages()
	if n == 0 {
		return ""
	}
	if t.tag.data == nil {
		_, text := t.Language(0)
		return text
	}
	main := func(code string) string { m, _, _ := strings.Cut(code, "-"); return strings.ToLower(m) }
	best, rank := 0, 0
	for i := range n {
		r := t.records.part(12*i, 4)
		code, country := strings.ToLower(letters(r.data[:2])), letters(r.data[2:4])
		is := 0
		switch {
		case strings.EqualFold(code+"-"+country, language) || country == "" && strings.EqualFold(code, language):
			is = 3
		case code == main(language):
			is = 2
		case code == "en":
			is = 1
		}
		if is > rank {
			best, rank = i, is
		}
	}
	_, text := t.Language(best)
	return text
}

// String returns the text in English, else in the first language.
func (t Text) String() string { return t.In("en") }

func letters(b []byte) string {
	for _, c := range b {
		if c < 'A' || c > 'z' || c > 'Z' && c < 'a' {
			return ""
		}
	}
	return string(b)
}

// latin reads up to the first zero byte, as UTF-8 where it is that and as Latin-1 where not.
func latin(b []byte) string {
	b = b[:min(len(b), longest)]
	for i, c := range b {
		if c == 0 {
			b = b[:i]
			break
		}
	}
	if utf8.Valid(b) {
		return strings.TrimSpace(string(b))
	}
	var s strings.Builder
	s.Grow(2 * len(b))
	for _, c := range b {
		s.WriteRune(rune(c))
	}
	return strings.TrimSpace(s.String())
}

// utf16be decodes up to the first zero; half a surrogate pair becomes the replacement character.
func utf16be(b []byte) string {
	b = b[:min(len(b), longest)]
	var s strings.Builder
	s.Grow(len(b))
	for i := 0; i+1 < len(b); i += 2 {
		r := rune(b[i])<<8 | rune(b[i+1])
		if r == 0 {
			break
		}
		if utf16.IsSurrogate(r) {
			low := rune(0)
			if i+3 < len(b) {
				low = rune(b[i+2])<<8 | rune(b[i+3])
			}
			if r = utf16.DecodeRune(r, low); r != utf8.RuneError {
				i += 2
			}
		}
		s.WriteRune(r)
	}
	return strings.TrimSpace(strings.TrimPrefix(s.String(), "\ufeff"))
}

func (p *Profile) text(name string) Text {
	t, _ := get(p, name, readText)
	return t
}

// Description returns the profile's name.
func (p *Profile) Description() Text { return p.text("desc") }

// Copyright returns who holds the rights in the profile.
func (p *Profile) Copyright() Text { return p.text("cprt") }

// DeviceMaker returns the name of the device's maker, where it is told.
func (p *Profile) DeviceMaker() Text { return p.text("dmnd") }

// DeviceModel returns the name of the device, where it is told.
func (p *Profile) DeviceModel() Text { return p.text("dmdd") }

// An Entry is a name and a value of the tag meta.
type Entry struct{ Name, Value string }

// dict is a dictType (ICC.1:2022, 10.9) that was checked.
type dict struct {
	tag  view
	n    int
	size int // of a record
}

func readDict(v view) (dict, *Fault) {
	if f := typed(v, "dict"); f != nil {
		return dict{}, f
	}
	if f := v.need(8, 8, "a count of entries"); f != nil {
		return dict{}, f
	}
	n, size := v.u32(8), v.u32(12)
	if n == 0 {
		return dict{}, nil
	}
	if size != 16 && size != 24 && size != 32 {
		return dict{}, v.fault(12, "records of %d bytes; 16, 24 and 32 are defined", size)
	}
	if uint64(n) > uint64(len(v.data)-16)/uint64(size) {
		return dict{}, v.fault(8, "%d entries of %d bytes, and the tag has %d bytes left", n, size, len(v.data)-16)
	}
	d := dict{v, int(n), int(size)}
	// Names and values that were shared could unfold to far more than the file.
	room := len(v.data)
	for i := range d.n {
		for _, at := range [...]int{d.record(i), d.record(i) + 8} {
			offset, length := v.u32(at), v.u32(at+4)
			if uint64(offset)+uint64(length) > uint64(len(v.data)) {
				return dict{}, v.fault(at, "%d bytes of text from byte %d of the tag on, which has %d", length, offset, len(v.data))
			}
			if room -= int(length); room < 0 {
				return dict{}, v.fault(at, "the entries up to here have more text than the tag has bytes")
			}
		}
	}
	return d, nil
}

func (d dict) record(i int) int { return 16 + d.size*i }

// Metadata returns the entries of the tag meta, in the file's order.
func (p *Profile) Metadata() []Entry {
	d, ok := get(p, "meta", readDict)
	if !ok || d.n == 0 {
		return nil
	}
	all := make([]Entry, d.n)
	for i := range all {
		at := d.record(i)
		text := func(at int) string {
			return utf16be(d.tag.part(int(d.tag.u32(at)), int(d.tag.u32(at+4))).data)
		}
		all[i] = Entry{text(at), text(at + 8)}
	}
	return all
}
