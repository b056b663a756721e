package picture

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	_ "image/jpeg"
	_ "image/png"
	"io/fs"
	"math"
	"path"
	"runtime"
	"strings"
	"testing"

	_ "golang.org/x/image/webp"

	"example.org/plumb/testdata"
	"example.org/plumb/web/picture/picturetest"
)

// counted is a file that counts the bytes read of it.
type counted struct {
	b    []byte
	read int
}

func (c *counted) ReadAt(p []byte, off int64) (int, error) {
	n, err := bytes.NewReader(c.b).ReadAt(p, off)
	c.read += n
	return n, err
}

// read reads b, and fails where Read does not keep to what it promises of all files.
func read(t testing.TB, b []byte) (About, error) {
	t.Helper()
	c := &counted{b: b}
	a, err := Read(c, int64(len(b)))
	if c.read > maxHeader+maxBulk {
		t.Errorf("%d bytes read", c.read)
	}
	var no *Refused
	switch {
	case err != nil && !errors.As(err, &no):
		t.Errorf("not a refusal: %v", err)
	case err != nil && (!sentence(no.Why) || !sentence(no.Do) || a.Kind != ""):
		t.Errorf("%q, %q, %+v", no.Why, no.Do, a)
	case err == nil:
		if w, h := a.Seen(); names[a.Kind] == nil || a.Width < 1 || a.Height < 1 || a.Width > MaxSide || a.Height > MaxSide || a.Width*a.Height > MaxPixels || w*h != a.Width*a.Height {
			t.Errorf("%+v", a)
		}
		if a.Orientation < 1 || a.Orientation > 8 || a.Bits < 1 || a.Model != "rgb" && a.Model != "grey" && a.Model != "indexed" || len(a.Profile) > MaxProfile {
			t.Errorf("%+v", a)
		}
		for _, n := range a.Notes {
			if !sentence(n) {
				t.Errorf("note %q", n)
			}
		}
		if strings.ContainsFunc(a.ProfileName, func(r rune) bool { return r < ' ' || r == 0x202e }) || len([]rune(a.ProfileName)) > 80 {
			t.Errorf("profile's name %q", a.ProfileName)
		}
	}
	return a, err
}

func sentence(s string) bool {
	return len(s) > 10 && s[0] >= 'A' && s[0] <= 'Z' && strings.HasSuffix(s, ".") && !strings.Contains(s, "  ")
}

// summary writes all that is known of a picture in a line.
func summary(a About, err error) string {
	if err != nil {
		return err.Error()
	}
	s := fmt.Sprintf("%s %dx%d, turned %d, %d bits %s", strings.TrimPrefix(string(a.Kind), "image/"), a.Width, a.Height, a.Orientation, a.Bits, a.Model)
	if a.Alpha {
		s += ", alpha"
	}
	if a.Profile != nil {
		s += fmt.Sprintf(", %d bytes of %q", len(a.Profile), a.ProfileName)
	}
	if a.Wide {
		s += ", wide"
	}
	if len(a.Notes) > 0 {
		s += ". " + strings.Join(a.Notes, " ")
	}
	return s
}

const (
	grey   = ". Where the picture is transparent, it is shown on grey."
	ink    = "picture: The picture is in CMYK, the colours of printing inks, which browsers show each in their own way. Convert it to RGB with its profile and send that."
	moves  = "picture: The picture is animated. Send one still picture of it, as PNG or JPEG."
	flat   = " Save it as a TIFF of one flat RGB layer with 8 or 16 bits, or as PNG."
	packs  = " Save it as a TIFF without compression or with LZW, or as PNG."
	p3     = `, 452 bytes of "Orchard P3", wide`
	whole  = "picture: The file is not whole: it ends too early. Copy it or export it again."
	tooBig = "Send a smaller version of it."
)

// files says of each file in testdata/pictures what is in it, as the programs that wrote it were told.
var files = map[string]string{
	"alpha-lossless.webp": "webp 24x16, turned 1, 8 bits rgb, alpha" + grey,
	"alpha.avif":          "avif 24x16, turned 1, 8 bits rgb, alpha" + grey,
	"alpha.tif":           "tiff 24x16, turned 1, 8 bits rgb, alpha" + grey,
	"alpha.webp":          "webp 24x16, turned 1, 8 bits rgb, alpha" + grey,
	"animated.avif":       moves,
	"animated.gif":        "picture: This is a GIF, which has few colours and may be animated. Save the picture as PNG.",
	"animated.png":        moves,
	"animated.webp":       moves,
	"big-endian.tif":      "tiff 24x16, turned 1, 8 bits rgb",
	"big.tif":             "picture: This is a BigTIFF. Save it as an ordinary TIFF, as PNG or as JPEG.",
	"bilevel.tif":         "tiff 24x16, turned 1, 1 bits grey",
	"cmyk.jpg":            ink,
	"cmyk.tif":            ink,
	"crop.avif":           "picture: The file tells browsers to crop its picture, which they do differently. Save it again, cropped, as JPEG, PNG or TIFF.",
	"deep-grey.png":       "png 24x16, turned 1, 16 bits grey. The picture has 16 bits in each channel; most browsers show 8.",
	"deep-grey.tif":       "tiff 24x16, turned 1, 16 bits grey. The file has 16 bits in each channel; it is sent as PNG with 8.",
	"deflate.tif":         "tiff 24x16, turned 1, 8 bits rgb",
	"extended.webp":       "picture: The file tells browsers to turn its picture, which in a WebP they do differently. Save it again, turned, or as JPEG or PNG.",
	"fax2d.tif":           "picture: This TIFF is compressed as a fax, in a way that is not read here." + packs,
	"fax3.tif":            "tiff 24x16, turned 1, 1 bits grey",
	"fax4.tif":            "tiff 24x16, turned 1, 1 bits grey",
	"float.tif":           "picture: This TIFF has pixels of fractions or signed numbers, which are not read here." + flat,
	"grey-alpha.png":      "png 24x16, turned 1, 8 bits grey, alpha" + grey,
	"grey-alpha.tif":      "picture: This TIFF has greys with transparency, which are not read here." + flat,
	"grey.avif":           "avif 24x16, turned 1, 8 bits grey",
	"grey.jpg":            "jpeg 24x16, turned 1, 8 bits grey",
	"grey.tif":            "tiff 24x16, turned 1, 8 bits grey",
	"grid.avif":           "avif 144x128, turned 1, 8 bits rgb",
	"hdr.avif":            "avif 24x16, turned 1, 12 bits rgb, wide. The picture is HDR. How bright it is shown differs from browser to browser and from screen to screen. The picture has 12 bits in each channel; most browsers show 8.",
	"imir0.avif":          "avif 24x16, turned 4, 8 bits rgb",
	"indexed.png":         "png 24x16, turned 1, 8 bits indexed, alpha" + grey,
	"indexed.tif":         "tiff 24x16, turned 1, 8 bits indexed",
	"irot1.avif":          "avif 24x16, turned 8, 8 bits rgb",
	"irot3imir1.avif":     "avif 24x16, turned 5, 8 bits rgb",
	"jpeg.tif":            "picture: This TIFF has JPEG compression inside, which is not read here." + packs,
	"lab.tif":             "picture: The picture is in Lab, which browsers do not show. Convert it to RGB with its profile and send that.",
	"lossless.webp":       "webp 24x16, turned 1, 8 bits rgb",
	"lossy.webp":          "webp 24x16, turned 1, 8 bits rgb",
	"lsb.tif":             "picture: This TIFF has its bits in reverse order, which is not read here." + packs,
	"lzw.tif":             "tiff 24x16, turned 1, 8 bits rgb",
	"packbits.tif":        "tiff 24x16, turned 1, 8 bits rgb",
	"pages.tif":           "tiff 24x16, turned 1, 8 bits rgb. There is more than one picture in the file; only the first is taken.",
	"plain.avif":          "avif 24x16, turned 1, 8 bits rgb",
	"plain.jpg":           "jpeg 24x16, turned 1, 8 bits rgb",
	"plain.tif":           "tiff 24x16, turned 1, 8 bits rgb",
	"planar.tif":          "picture: This TIFF keeps its channels apart (planar), which is not read here. Save it with its channels interleaved, or as PNG.",
	"predict-lzw.tif":     "tiff 24x16, turned 1, 8 bits rgb",
	"predict-zip.tif":     "tiff 24x16, turned 1, 8 bits rgb",
	"profile.avif":        "avif 24x16, turned 1, 8 bits rgb" + p3,
	"profile.tif":         "tiff 24x16, turned 8, 8 bits rgb" + p3,
	"progressive.jpg":     "jpeg 24x16, turned 1, 8 bits rgb" + p3,
	"strips.tif":          "tiff 24x16, turned 1, 8 bits rgb",
	"ten.avif":            "avif 24x16, turned 1, 10 bits rgb, wide. The picture has 10 bits in each channel; most browsers show 8.",
	"tiles.tif":           "tiff 24x16, turned 1, 8 bits rgb",
	"ycbcr.tif":           "picture: This TIFF is in YCbCr, which is not read here." + flat,
}

// stored returns the test files of a folder by name.
func stored(t testing.TB, folder string) map[string][]byte {
	t.Helper()
	all := map[string][]byte{}
	entries, err := fs.ReadDir(testdata.Photos, folder)
	if err != nil || len(entries) == 0 {
		t.Fatalf("%d files in %s, %v", len(entries), folder, err)
	}
	for _, e := range entries {
		if all[e.Name()], err = fs.ReadFile(testdata.Photos, path.Join(folder, e.Name())); err != nil {
			t.Fatal(err)
		}
	}
	return all
}

// TestFiles: files by other programs read as what those programs were told to write, and libraries that decode them see the same size.
func TestFiles(t *testing.T) {
	seen, second := 0, 0
	for name, b := range stored(t, "pictures") {
		a, err := read(t, b)
		if got := summary(a, err); got != files[name] {
			t.Errorf("%s:\n got %s\nwant %s", name, got, files[name])
		}
		seen++
		if c, format, err := image.DecodeConfig(bytes.NewReader(b)); err == nil && a.Kind != "" {
			second++
			if c.Width != a.Width || c.Height != a.Height || "image/"+format != string(a.Kind) {
				t.Errorf("%s: %v, and decodes as %s of %d x %d", name, summary(a, nil), format, c.Width, c.Height)
			}
		}
	}
	if seen != len(files) || second < 28 {
		t.Errorf("%d files of %d, %d with a second opinion", seen, len(files), second)
	}
}

// TestPhotos: the photographs are plain, and say what they are.
func TestPhotos(t *testing.T) {
	photos := stored(t, "photos")
	for name, b := range photos {
		a, err := read(t, b)
		if err != nil || a.Profile != nil || a.Orientation != 1 || a.Wide || len(a.Notes) > 0 || a.Misnamed(name) != "" {
			t.Errorf("%s: %s", name, summary(a, err))
		}
		if c, _, err := image.DecodeConfig(bytes.NewReader(b)); err != nil || c.Width != a.Width || c.Height != a.Height {
			t.Errorf("%s: %v, %+v", name, err, c)
		}
		if len(b) > 150<<10 {
			t.Errorf("%s has %d bytes", name, len(b))
		}
	}
	if len(photos) != 6 {
		t.Errorf("%d photographs", len(photos))
	}
}

// TestTruncated: no file that was cut short anywhere is taken.
func TestTruncated(t *testing.T) {
	taken := 0
	for name, b := range stored(t, "pictures") {
		if _, err := read(t, b); err != nil || name == "pages.tif" { // of which the first page is enough
			continue
		}
		taken++
		for n := range len(b) {
			if a, err := read(t, b[:n]); err == nil {
				t.Errorf("%s cut to %d of %d bytes: %s", name, n, len(b), summary(a, nil))
				break
			}
		}
	}
	if taken < 25 {
		t.Errorf("%d files", taken)
	}
}

// TestEmbedded: what picturetest puts into photographs is found in them, in each orientation, and the decoders of the standard library do not mind it.
func TestEmbedded(t *testing.T) {
	profile := picturetest.DisplayP3.Bytes()
	for name, b := range stored(t, "photos") {
		plain, _ := read(t, b)
		want := profile
		if plain.Model == "grey" {
			want = picturetest.Grey.Bytes()
		}
		for o := 1; o <= 8; o++ {
			file := picturetest.Embed(b, want, o)
			a, err := read(t, file)
			if err != nil || a.Orientation != o || !bytes.Equal(a.Profile, want) || a.Wide != (plain.Model == "rgb") {
				t.Errorf("%s, %d: %s", name, o, summary(a, err))
			}
			if w, h := a.Seen(); (o < 5) != (w == plain.Width && h == plain.Height) && w != h {
				t.Errorf("%s, %d: seen as %d x %d", name, o, w, h)
			}
			if _, _, err := image.Decode(bytes.NewReader(file)); err != nil {
				t.Errorf("%s, %d: %v", name, o, err)
			}
		}
	}
	for _, o := range []int{0, 9, 256, 65535} {
		b := stored(t, "photos")["cat.jpg"]
		if a, err := read(t, picturetest.Embed(b, nil, o)); err != nil || a.Orientation != 1 {
			t.Errorf("orientation %d: %s", o, summary(a, err))
		}
	}
}

// TestMisnamed: a wrong ending is a note.
func TestMisnamed(t *testing.T) {
	for _, c := range []struct {
		kind       Kind
		name, want string
	}{
		{JPEG, "pears.jpg", ""}, {JPEG, "PEARS.JPEG", ""}, {TIFF, "pears.tif", ""}, {WebP, "pears", ""}, {"", "pears.jpg", ""},
		{JPEG, "pears.png", "The file's name ends in .png, but it is a JPEG; it is taken as what it is."},
		{PNG, "a.b.JPG", "The file's name ends in .jpg, but it is a PNG; it is taken as what it is."},
		{AVIF, "pears.final", "The file's name does not say so, but it is an AVIF."},
	} {
		if got := (About{Kind: c.kind}).Misnamed(c.name); got != c.want {
			t.Errorf("%s as %s: %q", c.name, c.kind, got)
		}
	}
}

// broken fails as a device does.
type broken struct{}

func (broken) ReadAt([]byte, int64) (int, error) { return 0, errors.New("the drive is gone") }

// shrunk ends before it said that it would.
type shrunk []byte

func (s shrunk) ReadAt(p []byte, off int64) (int, error) { return bytes.NewReader(s).ReadAt(p, off) }

// TestReader: a fault of the reader is told as its own, and a file that shrinks meanwhile as one that is not whole.
func TestReader(t *testing.T) {
	var no *Refused
	if _, err := Read(broken{}, 1000); err == nil || errors.As(err, &no) || !strings.Contains(err.Error(), "drive is gone") {
		t.Errorf("%v", err)
	}
	b := stored(t, "pictures")["plain.jpg"]
	if _, err := Read(shrunk(b[:100]), int64(len(b))); err == nil || err.Error() != whole {
		t.Errorf("%v", err)
	}
	if a, err := Read(endless{b}, MaxFile+1); err == nil || !strings.Contains(err.Error(), "The file has 65 MiB; at most 64 are taken.") {
		t.Errorf("%s", summary(a, err))
	}
	b = stored(t, "pictures")["plain.tif"]
	if a, err := Read(endless{b}, MaxSource); err != nil {
		t.Errorf("%s", summary(a, err))
	}
	if a, err := Read(endless{b}, MaxSource+1); err == nil || !strings.Contains(err.Error(), "The file has 513 MiB; at most 512 are taken.") {
		t.Errorf("%s", summary(a, err))
	}
}

// endless goes on with zeros.
type endless struct{ b []byte }

func (e endless) ReadAt(p []byte, off int64) (int, error) {
	clear(p)
	if off < int64(len(e.b)) {
		copy(p, e.b[off:])
	}
	return len(p), nil
}

// TestMemory: what is allocated is in proportion to what is read.
func TestMemory(t *testing.T) {
	worst := map[string][]byte{}
	for name, b := range stored(t, "pictures") {
		worst[name] = b
	}
	for name, b := range refusals(t) {
		worst[name] = b.file
	}
	worst["AVIF of empty boxes"] = emptyBoxes()
	for name, b := range worst {
		var before, after runtime.MemStats
		c := &counted{b: b}
		runtime.ReadMemStats(&before)
		Read(c, int64(len(b)))
		runtime.ReadMemStats(&after)
		if used, most := after.TotalAlloc-before.TotalAlloc, uint64(4*c.read+256<<10); used > most && !(strings.Contains(name, "profile") && used < most+MaxProfile) {
			t.Errorf("%s: %d bytes taken for %d read", name, used, c.read)
		}
	}
}

// emptyBoxes is an AVIF that lists as many properties as fit.
func emptyBoxes() []byte {
	n := MaxProfile/8 - 100
	list := bytes.Repeat([]byte("\x00\x00\x00\x08abcd"), n)
	box := func(name string, body []byte) []byte {
		return append(append([]byte{byte((len(body) + 8) >> 24), byte((len(body) + 8) >> 16), byte((len(body) + 8) >> 8), byte(len(body) + 8)}, name...), body...)
	}
	return append(box("ftyp", []byte("avif\x00\x00\x00\x00avif")), box("meta", append(make([]byte, 4), box("iprp", box("ipco", list))...))...)
}

// TestNeutral: the chromaticities that profiles are held against are those of sRGB, as they are and adapted to D50, and others are told apart.
func TestNeutral(t *testing.T) {
	b, err := fs.ReadFile(testdata.FS, "colour/spaces.json")
	if err != nil {
		t.Fatal(err)
	}
	var spaces map[string]map[string][][]float64
	if err := json.Unmarshal(b, &spaces); err != nil {
		t.Fatal(err)
	}
	xy := func(m [][]float64) (xy [6]float64) {
		for i := range 3 {
			sum := m[0][i] + m[1][i] + m[2][i]
			xy[2*i], xy[2*i+1] = m[0][i]/sum, m[1][i]/sum
		}
		return xy
	}
	for _, c := range []struct {
		what      string
		got, want [6]float64
	}{{"D65", srgbD65, xy(spaces["srgb"]["derived"])}, {"D50", srgbD50, xy(spaces["srgb"]["d50"])}} {
		for i := range c.want {
			if math.Abs(c.got[i]-c.want[i]) > 1e-4 {
				t.Errorf("%s: %v, derived %v", c.what, c.got, c.want)
				break
			}
		}
	}
	for _, space := range []string{"p3", "adobe"} {
		if !apart(srgbD50, xy(spaces[space]["d50"])) {
			t.Errorf("%s passes as sRGB", space)
		}
	}
	for name, p := range map[string]picturetest.Profile{"srgb": picturetest.SRGB, "p3": picturetest.DisplayP3} {
		for i := range 3 {
			for j := range 3 {
				if d := p.Colorants[i][j] - spaces[name]["d50"][j][i]; math.Abs(d) > 1e-5 {
					t.Errorf("%s: colorant %d, %d is off by %g", name, i, j, d)
				}
			}
		}
	}
	near := srgbD50
	near[3] += 0.0199
	if apart(srgbD50, near) {
		t.Error("less than 0.02 counts as apart")
	}
	near[3] += 0.0002
	if !apart(srgbD50, near) || !apart(srgbD50, [6]float64{math.NaN()}) {
		t.Error("more than 0.02 does not")
	}
}
