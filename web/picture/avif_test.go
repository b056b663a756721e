package picture

import (
	"bytes"
	"testing"
)

// within returns a copy of an AVIF with bytes of the body of its first box of a name replaced.
func within(t *testing.T, b []byte, name string, at int, by string) []byte {
	t.Helper()
	i := bytes.Index(b, []byte(name))
	if i < 0 {
		t.Fatalf("no %s", name)
	}
	return altered(b, i+4+at, by)
}

// TestAVIFTurned: rotation against the clock and then mirroring, pixel by pixel, come to the orientation that is told.
func TestAVIFTurned(t *testing.T) {
	const w, h = 5, 3
	file := stored(t, "pictures")["irot3imir1.avif"]
	for quarters := range 4 {
		for mirror := range 3 { // none, top and bottom exchanged, left and right exchanged
			b := within(t, file, "irot", 0, string(rune(quarters)))
			if mirror > 0 {
				b = within(t, b, "imir", 0, string(rune(mirror-1)))
			} else {
				for { // in the list, too, a name is all that a box is known by
					i := bytes.Index(b, []byte("imir"))
					if i < 0 {
						break
					}
					b = altered(b, i, "free")
				}
			}
			a, err := read(t, b)
			if err != nil {
				t.Fatal(err)
			}
			for y := range h {
				for x := range w {
					u, v, uw, vh := x, y, w, h
					for range quarters {
						u, v, uw, vh = v, uw-1-u, vh, uw
					}
					switch mirror {
					case 1:
						v = vh - 1 - v
					case 2:
						u = uw - 1 - u
					}
					if gu, gv := turned(a.Orientation, x, y, w, h); gu != u || gv != v {
						t.Fatalf("%d quarters, mirror %d, told as %d: %d, %d is seen at %d, %d, not %d, %d", quarters, mirror, a.Orientation, x, y, gu, gv, u, v)
					}
				}
			}
		}
	}
}

// TestAVIFCoded: bits and greys are read from how the picture is coded, where it does not tell them apart.
func TestAVIFCoded(t *testing.T) {
	file := stored(t, "pictures")["plain.avif"]
	file = within(t, file, "pixi", -4, "free")
	for _, c := range []struct {
		bits byte
		want string
	}{
		{0x00, "8 bits rgb"}, {0x0c, "8 bits rgb"}, {0x10, "8 bits grey"}, {0x1c, "8 bits grey"}, {0x80, "8 bits rgb"}, {0x20, "8 bits rgb"},
		{0x40, "10 bits rgb. The picture has 10 bits in each channel; most browsers show 8."}, {0x60, "12 bits rgb. The picture has 12 bits in each channel; most browsers show 8."},
	} {
		a, err := read(t, within(t, file, "av1C", 2, string([]byte{c.bits})))
		if got := summary(a, err); got != "avif 24x16, turned 1, "+c.want {
			t.Errorf("%#x: %s", c.bits, got)
		}
	}
}

// TestAVIFRefused: what is wrong in the boxes is told in words.
func TestAVIFRefused(t *testing.T) {
	file := stored(t, "pictures")["plain.avif"]
	const again = ". Copy it or export it again."
	for _, c := range []struct {
		box  string
		at   int
		by   string
		want string
	}{
		{"ispe", -4, "free", "picture: The file is damaged: its size is missing" + again},
		{"ispe", 4, "\x00\x00\x00\x00", "picture: The picture has no pixels: its header says 0 × 16. Export it again."},
		{"ispe", 4, "\x00\x00\x4e\x20", "picture: The picture is 20,000 pixels wide; at most 16,384 are taken. " + tooBig},
		{"pitm", -4, "free", "picture: The file is damaged: it does not describe its picture as it should" + again},
		{"iinf", -8, "\x00\x00\x00\x07", "picture: The file is damaged: it does not describe its picture as it should" + again},
		{"iloc", 4, "\xff\xff", "picture: The file is damaged: it does not describe its picture as it should" + again},
		{"av01", -4, "hvc1", "picture: The picture in this file is not coded as browsers expect. Save it as JPEG, PNG or TIFF and send that."},
		{"mdat", -8, "\x00\x00\x00\x04", "picture: The file is damaged: a box has no length" + again},
		{"mdat", -8, "\x7f\x00\x00\x00", whole},
		{"meta", 0, "\x00\x00\x00\x00\x7f", "picture: The file is damaged: it does not describe its picture as it should" + again},
	} {
		a, err := read(t, within(t, file, c.box, c.at, c.by))
		if got := summary(a, err); got != c.want {
			t.Errorf("%s: %s", c.box, got)
		}
	}
}
