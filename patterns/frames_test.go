package patterns_test

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io/fs"
	"os"
	"path"
	"slices"
	"strings"
	"testing"

	"example.org/plumb/patterns"
	"example.org/plumb/testdata"
)

var update = flag.Bool("update", false, "write testdata/frames anew from what is painted now")

const frames = "../testdata/frames/" // where -update writes

// digest is over the bytes of the sample in all sizes, one after the other.
func digest(s sample) string {
	h := sha256.New()
	for _, size := range sizes() {
		h.Write(patterns.Render(s, size.X, size.Y).Pix)
	}
	return fmt.Sprintf("%x", h.Sum(nil))
}

func TestFramesAreAsRecorded(t *testing.T) {
	if *update {
		var b bytes.Buffer
		b.WriteString("# SHA-256 of the bytes of each sample of patterns/patterns_test.go in each of its sizes, one after the other\n")
		for _, s := range samples() {
			fmt.Fprintln(&b, s.name, digest(s))
		}
		if err := os.WriteFile(frames+"digests.txt", b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		t.Skip("written; run again without -update")
	}
	file, err := testdata.FS.ReadFile("frames/digests.txt")
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]string{}
	for s := bufio.NewScanner(bytes.NewReader(file)); s.Scan(); {
		if name, sum, ok := strings.Cut(s.Text(), " "); ok && name != "#" {
			want[name] = sum
		}
	}
	if len(want) == 0 {
		t.Fatal("no digests")
	}
	for _, s := range samples() {
		if got := digest(s); got != want[s.name] {
			t.Errorf("%s: digest %s, want %s", s.name, got, want[s.name])
		}
		delete(want, s.name)
	}
	for name := range want {
		t.Errorf("%s has a digest and is not painted", name)
	}
}

// portraits is the first sample of each kind: the pictures for the eye.
func portraits() []sample {
	var all []sample
	for _, s := range samples() {
		if len(all) == 0 || all[len(all)-1].kind() != s.kind() {
			all = append(all, s)
		}
	}
	return all
}

func TestPicturesAreAsPainted(t *testing.T) {
	if *update {
		for _, s := range portraits() {
			var b bytes.Buffer
			if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, patterns.Render(s, 240, 150)); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(frames+s.kind()+".png", b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		t.Skip("written; run again without -update")
	}
	names, err := fs.Glob(testdata.FS, "frames/*.png")
	if err != nil || len(names) == 0 {
		t.Fatalf("no pictures: %v", err)
	}
	for _, s := range portraits() {
		file, err := testdata.FS.ReadFile(path.Join("frames", s.kind()+".png"))
		if err != nil {
			t.Error(err)
			continue
		}
		if len(file) > 3000 {
			t.Errorf("%s.png has %d bytes, more than 3000", s.kind(), len(file))
		}
		got, err := png.Decode(bytes.NewReader(file))
		if err != nil {
			t.Errorf("%s.png: %v", s.kind(), err)
			continue
		}
		want := patterns.Render(s, 240, 150)
		if got.Bounds() != want.Rect {
			t.Errorf("%s.png is %v, want %v", s.kind(), got.Bounds(), want.Rect)
			continue
		}
		for i := range 240 * 150 {
			x, y := i%240, i/240
			if c := color.RGBAModel.Convert(got.At(x, y)); c != want.At(x, y) {
				t.Errorf("%s.png: (%d, %d) is %v, want %v", s.kind(), x, y, c, want.At(x, y))
				break
			}
		}
		names = slices.DeleteFunc(names, func(n string) bool { return n == path.Join("frames", s.kind()+".png") })
	}
	for _, n := range names {
		t.Errorf("%s shows nothing that is painted", n)
	}
}

// TestDigestsNoticeOneCode makes sure that a digest notices one code in one pixel of one size.
func TestDigestsNoticeOneCode(t *testing.T) {
	s := samples()[0]
	if digest(s) == digest(sample{name: s.name, Pattern: speck{s}}) {
		t.Error("a speck goes unnoticed")
	}
}

// speck is a pattern with one code wrong in one pixel of frames of 17 by 16.
type speck struct{ patterns.Pattern }

func (s speck) Paint(dst *image.RGBA, r image.Rectangle) {
	s.Pattern.Paint(dst, r)
	if dst.Rect.Size() == image.Pt(17, 16) {
		dst.Pix[4*(17*9+3)]++
	}
}
