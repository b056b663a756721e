// Package picture reads what a picture file says about itself before anybody decodes it, and turns TIFF, which browsers do not show, into PNG.
//
// It takes JPEG, PNG, WebP, AVIF and TIFF of one still picture in grey, RGB or a palette. It looks at headers, never at pixels: a file that passes may still fail to
// decode. It does not judge colours; how a profile is used is up to whoever shows the picture, and all that is told of one is whether browsers can use it and whether it
// differs from sRGB.
package picture

import (
	"fmt"
	"io"
	"path"
	"strings"
)

// Kind is a media type: what the bytes of a file are, whatever its name says.
type Kind string

// The kinds that are taken. TIFF has to be converted before a browser shows it.
const (
	JPEG Kind = "image/jpeg"
	PNG  Kind = "image/png"
	WebP Kind = "image/webp"
	AVIF Kind = "image/avif"
	TIFF Kind = "image/tiff"
)

// Limits of a picture that is taken.
const (
	MaxPixels  = 100_000_000 // decoded, they are 400 MB, about as much as a page can count on
	MaxSide    = 16384       // pixels: the longest side of a texture on common graphics hardware
	MaxFile    = 64 << 20    // bytes of a file that travels as it is: one parcel of the mailbox
	MaxSource  = 512 << 20   // bytes of a TIFF, which is converted first
	MaxProfile = 4 << 20     // bytes of an ICC profile, unpacked
)

// Refused says why a picture is not taken. All errors of this package are one, but for those of the reader that it is given.
type Refused struct {
	Why string // a sentence about the file
	Do  string // a sentence about what to do instead
}

func (r *Refused) Error() string { return "picture: " + r.Why + " " + r.Do }

func refuse(why, do string) error { return &Refused{why, do} }

// About is what a picture's header says. The zero About is no picture.
type About struct {
	Kind          Kind
	Width, Height int      // pixels, as stored
	Orientation   int      // 1 to 8 as in EXIF; 1 where none is told
	Bits          int      // in each channel; of a palette, in each channel of its colours
	Model         string   // "rgb", "grey" or "indexed"
	Alpha         bool     // parts may be transparent
	Profile       []byte   // embedded ICC profile, where browsers can use it; nil: none
	ProfileName   string   // the profile's own description, cleaned; empty: none
	Wide          bool     // the profile, or what stands in its place, has primaries other than those of sRGB
	Notes         []string // sentences for whoever sends it
}

// Seen returns the size with the orientation applied.
func (a About) Seen() (w, h int) {
	if a.Orientation >= 5 && a.Orientation <= 8 {
		return a.Height, a.Width
	}
	return a.Width, a.Height
}

// names has the endings of each kind's files, and what people call it.
var names = map[Kind][]string{
	JPEG: {"a JPEG", ".jpg", ".jpeg", ".jpe", ".jfif"},
	PNG:  {"a PNG", ".png"},
	WebP: {"a WebP", ".webp"},
	AVIF: {"an AVIF", ".avif"},
	TIFF: {"a TIFF", ".tif", ".tiff"},
}

// Misnamed returns a note about a file whose name ends as that of another kind, and "" if it does not. The name decides nothing.
func (a About) Misnamed(name string) string {
	end := strings.ToLower(path.Ext(name))
	n := names[a.Kind]
	if n == nil || end == "" {
		return ""
	}
	for _, e := range n[1:] {
		if end == e {
			return ""
		}
	}
	for _, other := range names {
		for _, e := range other[1:] {
			if end == e {
				return fmt.Sprintf("The file's name ends in %s, but it is %s; it is taken as what it is.", e, n[0])
			}
		}
	}
	return fmt.Sprintf("The file's name does not say so, but it is %s.", n[0])
}

// Read reads the header of a file of size bytes. It reads at most 2 MiB of it and a profile, takes memory in proportion to what it read, and never panics.
// A picture that is not taken is told by a *Refused.
func Read(r io.ReaderAt, size int64) (About, error) {
	if size <= 0 {
		return About{}, refuse("The file is empty.", "Export the picture again.")
	}
	s := &source{r: r, size: size, left: maxHeader, bulk: maxBulk}
	head, err := s.at(0, int(min(size, 1024)))
	if err != nil {
		return About{}, err
	}
	kind, err := tell(head)
	if err != nil {
		return About{}, err
	}
	if most := int64(MaxSource); size > most || kind != TIFF && size > MaxFile {
		if kind != TIFF {
			most = MaxFile
		}
		return About{}, refuse(fmt.Sprintf("The file has %d MiB; at most %d are taken.", (size+1<<20-1)>>20, most>>20), "Save it with fewer pixels or with stronger compression.")
	}
	a := About{Kind: kind, Orientation: 1}
	switch kind {
	case JPEG:
		err = a.jpeg(s)
	case PNG:
		err = a.png(s)
	case WebP:
		err = a.webp(s)
	case AVIF:
		err = a.avif(s)
	case TIFF:
		_, err = a.tiff(s)
	}
	if err != nil {
		return About{}, err
	}
	if a.Alpha {
		a.note("Where the picture is transparent, it is shown on grey.")
	}
	if a.Bits > 8 && kind != TIFF {
		a.note(fmt.Sprintf("The picture has %d bits in each channel; most browsers show 8.", a.Bits))
	}
	return a, nil
}

func (a *About) note(s string) { a.Notes = append(a.Notes, s) }

// measure takes a size that a header tells.
func (a *About) measure(w, h uint32) error {
	const smaller = "Send a smaller version of it."
	switch {
	case w == 0 || h == 0:
		return refuse(fmt.Sprintf("The picture has no pixels: its header says %s × %s.", thousands(w), thousands(h)), "Export it again.")
	case w > MaxSide:
		return refuse(fmt.Sprintf("The picture is %s pixels wide; at most %s are taken.", thousands(w), thousands(MaxSide)), smaller)
	case h > MaxSide:
		return refuse(fmt.Sprintf("The picture is %s pixels high; at most %s are taken.", thousands(h), thousands(MaxSide)), smaller)
	case uint64(w)*uint64(h) > MaxPixels:
		return refuse(fmt.Sprintf("The picture has %s × %s pixels; at most %d million are taken.", thousands(w), thousands(h), MaxPixels/1_000_000), smaller)
	}
	a.Width, a.Height = int(w), int(h)
	return nil
}

// thousands writes n with a comma between groups of three digits.
func thousands(n uint32) string {
	s := fmt.Sprint(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}
