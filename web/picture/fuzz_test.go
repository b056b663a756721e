package picture

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"strings"
	"testing"

	"example.org/plumb/web/picture/picturetest"
)

// fuzz seeds with files of one kind, of which mend makes what a fuzzer cannot find.
func fuzz(f *testing.F, starts string, mend func([]byte) []byte) {
	add := func(b []byte) {
		if bytes.HasPrefix(b, []byte(starts)) && len(b) < 1<<16 {
			f.Add(b)
		}
	}
	for _, b := range stored(f, "pictures") {
		add(b)
	}
	for _, r := range refusals(f) {
		add(r.file)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		if mend != nil {
			b = mend(bytes.Clone(b))
		}
		a, err := read(t, b)
		if err != nil || a.Kind == TIFF { // of which our reading is the wider one
			return
		}
		// Libraries may see less than browsers do; what they see is the same.
		if c, format, err := image.DecodeConfig(bytes.NewReader(b)); err == nil && (c.Width != a.Width || c.Height != a.Height || "image/"+format != string(a.Kind)) {
			t.Errorf("%s, and %s of %d x %d", summary(a, nil), format, c.Width, c.Height)
		}
	})
}

// FuzzJPEG, and the others: nothing panics, reads without bounds or answers with anything but a picture or sentences.
func FuzzJPEG(f *testing.F) { fuzz(f, "\xff\xd8", nil) }

func FuzzPNG(f *testing.F) {
	fuzz(f, "\x89PNG", func(b []byte) []byte {
		for at := 8; at+12 <= len(b); {
			n := int(binary.BigEndian.Uint32(b[at:]))
			if n > len(b)-at-12 {
				break
			}
			binary.BigEndian.PutUint32(b[at+8+n:], crc32.ChecksumIEEE(b[at+4:at+8+n]))
			at += 12 + n
		}
		return b
	})
}

func FuzzWebP(f *testing.F) { fuzz(f, "RIFF", nil) }

func FuzzAVIF(f *testing.F) { fuzz(f, "\x00\x00\x00", nil) }

// FuzzTIFF: and what is taken converts into a PNG of that size or is refused.
func FuzzTIFF(f *testing.F) {
	for name, b := range stored(f, "pictures") {
		if len(name) > 4 && name[len(name)-4:] == ".tif" {
			f.Add(b)
		}
	}
	for _, r := range refusals(f) {
		if len(r.file) > 2 && (string(r.file[:2]) == "II" || string(r.file[:2]) == "MM") {
			f.Add(r.file)
		}
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		a, err := read(t, b)
		if err != nil || a.Kind != TIFF || a.Width*a.Height > 1<<18 {
			return
		}
		out, err := Convert(bytes.NewReader(b), int64(len(b)), a, nil)
		if err != nil {
			if _, ok := err.(*Refused); !ok || out != nil {
				t.Errorf("%v", err)
			}
			return
		}
		w, h := a.Seen()
		if c, err := read(t, out); err != nil || c.Width != w || c.Height != h || c.Model != a.Model || !bytes.Equal(c.Profile, a.Profile) {
			t.Errorf("%s becomes %s", summary(a, nil), summary(c, err))
		}
	})
}

// FuzzProfile: a profile is usable, or there is a note, or it is refused.
func FuzzProfile(f *testing.F) {
	for _, p := range []picturetest.Profile{picturetest.SRGB, picturetest.Grey, picturetest.Linear} {
		f.Add(p.Bytes(), false)
		f.Add(p.Bytes(), true)
	}
	f.Fuzz(func(t *testing.T, b []byte, grey bool) {
		a := About{Kind: JPEG, Model: "rgb"}
		if grey {
			a.Model = "grey"
		}
		err := a.profile(b)
		used := len(a.Notes) == 0 || len(a.Notes) == 1 && strings.Contains(a.Notes[0], "in greys")
		if err != nil && (a.Profile != nil || len(a.Notes) > 0) || err == nil && (a.Profile != nil) != used {
			t.Errorf("%d bytes, %q, %v", len(a.Profile), a.Notes, err)
		}
		if a.Profile == nil && (a.Wide || a.ProfileName != "") {
			t.Errorf("%+v", a)
		}
	})
}
