package main

import (
	"bytes"
	"encoding/csv"
	"image"
	"image/color"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const module = "../.."

// A stretch is a number of pixels of one colour.
type stretch struct {
	n int
	c [3]uint8
}

// painted returns a picture ten pixels wide of stretches of pixels.
func painted(t *testing.T, runs ...stretch) *image.NRGBA {
	t.Helper()
	var pix []uint8
	for _, r := range runs {
		pix = append(pix, bytes.Repeat([]byte{r.c[0], r.c[1], r.c[2], 255}, r.n)...)
	}
	if len(pix)%40 != 0 {
		t.Fatalf("%d pixels fill no rows of ten", len(pix)/4)
	}
	return &image.NRGBA{Pix: pix, Stride: 40, Rect: image.Rect(0, 0, 10, len(pix)/40)}
}

// three returns the histogram of three pictures that each count a third, of 100, 10,000 and 100 pixels.
func three(t *testing.T) *histogram {
	t.Helper()
	h := newHistogram()
	for _, m := range []image.Image{
		painted(t, stretch{60, [3]uint8{100, 100, 100}}, stretch{40, [3]uint8{108, 100, 100}}),
		painted(t, stretch{4997, [3]uint8{0, 0, 0}}, stretch{2000, [3]uint8{255, 255, 255}}, stretch{1000, [3]uint8{255, 0, 0}}, stretch{5, [3]uint8{255, 16, 0}},
			stretch{1000, [3]uint8{8, 2, 2}}, stretch{995, [3]uint8{7, 1, 1}}, stretch{3, [3]uint8{21, 21, 21}}),
		painted(t, stretch{50, [3]uint8{251, 243, 240}}, stretch{50, [3]uint8{245, 251, 240}}),
	} {
		if err := h.add(m, 1./3); err != nil {
			t.Fatal(err)
		}
	}
	return h
}

// Three small pictures give the colours that arithmetic says.
func TestColours(t *testing.T) {
	got := three(t).colours()
	want := []weighted{
		{0, 0, 0, 166_567},       // 4997 of 30,000, with one of the two millionths left over
		{8, 2, 2, 66_500},        // 1995 of 30,000: means of 7.501 and 1.501
		{21, 21, 21, 100},        // 3 of 30,000, alone in its class and so kept
		{103, 100, 100, 333_333}, // a third: a mean of 103.2
		{251, 247, 240, 333_333}, // a third: means of 248, 247 and 240, the largest channel 251 in both
		{255, 0, 0, 33_500},      // 1005 of 30,000, five of them merged into it: a mean green of 0.08
		{255, 255, 255, 66_667},  // 2000 of 30,000, with the other millionth
	}
	if !slices.Equal(got, want) {
		t.Errorf("%v\nwant %v", got, want)
	}
	if text := string(table(got[:2])); text != "r,g,b,weight\n0,0,0,0.166567\n8,2,2,0.066500\n" {
		t.Errorf("%q", text)
	}
}

// Classes are those of ends, and white's comes after them.
func TestClass(t *testing.T) {
	if !slices.IsSorted(ends) || ends[0] != 0 || len(ends) != white {
		t.Fatalf("%d classes from %v; white is %d", len(ends), ends, white)
	}
	for c, want := range map[[3]uint8]int{{0, 0, 0}: 0, {31, 0, 0}: middle - 1, {0, 32, 0}: middle, {231, 231, 231}: middle, {0, 0, 232}: middle + 1, {255, 255, 254}: white - 1, {255, 255, 255}: white} {
		if got := class(c); got != want {
			t.Errorf("%v is of class %d, want %d", c, got, want)
		}
	}
}

func TestCodes(t *testing.T) {
	c := three(t).codes()
	for _, k := range []struct {
		what      string
		got, want float64
	}{
		{"black", c.dark[0], 4997},
		{"up to 7", c.dark[7], 4997 + 995},
		{"up to 8", c.dark[8], 4997 + 1995},
		{"up to 21", c.dark[21], 4997 + 1995 + 3},
		{"up to 254", c.dark[254], 30_000 - 3005},
		{"all", c.dark[255], 30_000},
		{"white", c.bright[255], 2000},
		{"wholly from 240", c.bright[240], 2000 + 10_000},
		{"wholly from 241", c.bright[241], 2000},
		{"full in one", c.some[255], 3005},
		{"in one from 251", c.some[251], 3005 + 10_000},
		{"of grey 100", c.grey[100], 6000},
		{"of the grey of full red, 127.1", c.grey[127], 1000}, // luminance 0.2126 of sRGB (IEC 61966-2-1)
	} {
		if math.Abs(k.got-k.want/30_000) > 1e-12 {
			t.Errorf("%s: %v, want %v of 30,000", k.what, k.got, k.want)
		}
	}
}

// All kinds of opaque picture count as the codes they show, wherever their bounds begin.
func TestHistogramKinds(t *testing.T) {
	at := image.Rect(-3, 5, -1, 7)
	grey, ycc, rgba, indexed := image.NewGray(at), image.NewYCbCr(at, image.YCbCrSubsampleRatio420), image.NewRGBA(at), image.NewPaletted(at, color.Palette{color.Gray{77}})
	for i := range 4 {
		grey.Pix[i], ycc.Y[i] = 77, 77
		copy(rgba.Pix[4*i:], []byte{77, 77, 77, 255})
	}
	for i := range ycc.Cb {
		ycc.Cb[i], ycc.Cr[i] = 128, 128
	}
	h := newHistogram()
	for _, m := range []image.Image{grey, ycc, rgba, indexed} {
		if err := h.add(m, .25); err != nil {
			t.Errorf("%T: %v", m, err)
		}
	}
	for c, share := range h.all() {
		if c != [3]uint8{77, 77, 77} || share != 1 {
			t.Errorf("%v is %v of it", c, share)
		}
	}
	clear(rgba.Pix[12:])
	for _, m := range []image.Image{rgba, image.NewGray(image.Rectangle{})} {
		if err := newHistogram().add(m, 1); err == nil {
			t.Errorf("%T of %v was not refused", m, m.Bounds())
		}
	}
}

// A missing picture, and one that is not the one measured, are refused with what to do.
func TestPictureRefused(t *testing.T) {
	p, dir := pictures[0], t.TempDir()
	if _, err := p.read(dir); err == nil || !strings.Contains(err.Error(), "apt-get download") || !strings.Contains(err.Error(), p.in.name+"="+p.in.version) {
		t.Errorf("%v", err)
	}
	name := filepath.Join(dir, p.path)
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, []byte("no picture"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := p.read(dir); err == nil || !strings.Contains(err.Error(), "SHA-256") {
		t.Errorf("%v", err)
	}
	for _, ext := range []string{"a.png", "a.jpg", "a.dat"} {
		if _, err := decode(ext, []byte("no picture")); err == nil {
			t.Errorf("%s was read", ext)
		}
	}
}

func committed(t *testing.T, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(module, name))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// What the program holds is made from the table as it stands.
func TestSource(t *testing.T) {
	records, err := csv.NewReader(bytes.NewReader(committed(t, colourFile))).ReadAll()
	if err != nil || len(records) < 2 {
		t.Fatalf("%d records: %v", len(records), err)
	}
	var all []weighted
	for _, r := range records[1:] {
		var v [4]int
		for i, text := range []string{r[0], r[1], r[2], strings.Replace(r[3], ".", "", 1)} {
			if v[i], err = strconv.Atoi(text); err != nil {
				t.Fatal(err)
			}
		}
		all = append(all, weighted{uint8(v[0]), uint8(v[1]), uint8(v[2]), v[3]})
	}
	if !bytes.Equal(table(all), committed(t, colourFile)) {
		t.Error("the table is not as it would be written")
	}
	src, err := source(all)
	if err != nil || !bytes.Equal(src, committed(t, dataFile)) {
		t.Errorf("%s is not made from %s: %v", dataFile, colourFile, err)
	}
	if len(src) > 8000 {
		t.Errorf("%d bytes; a program has better uses for more than 8000", len(src))
	}
}

// Every picture is named with its package and licence where the numbers' sources are.
func TestSourcesNamed(t *testing.T) {
	lines := strings.Split(string(committed(t, "testdata/README.md")), "\n")
	for _, p := range pictures {
		if !slices.ContainsFunc(lines, func(line string) bool {
			return strings.Contains(line, "`"+filepath.Base(p.path)+"`") && strings.Contains(line, p.in.name+" "+p.in.version) && strings.Contains(line, p.licence)
		}) {
			t.Errorf("testdata/README.md has no line with %s, %s %s and %s", filepath.Base(p.path), p.in.name, p.in.version, p.licence)
		}
	}
}

// The pictures give the files that are here, where there are pictures.
func TestAgain(t *testing.T) {
	folder := os.Getenv("CONTENT_PICTURES")
	if folder == "" {
		t.Skip("CONTENT_PICTURES names no folder of the pictures, which are not kept here; go run ./.ci/content says where they are")
	}
	h, err := photographs(folder)
	if err != nil {
		t.Fatal(err)
	}
	files, err := render(h)
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range files {
		if !bytes.Equal(text, committed(t, name)) {
			t.Errorf("the pictures do not give %s", name)
		}
	}
}
