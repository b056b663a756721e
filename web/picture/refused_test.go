package picture

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/jpeg"
	"image/png"
	"math/rand/v2"
	"strings"
	"testing"

	"example.org/plumb/web/picture/picturetest"
)

type refusal struct {
	file []byte
	want string // the summary
}

func encodeJPEG(m image.Image) []byte {
	var b bytes.Buffer
	jpeg.Encode(&b, m, nil)
	return b.Bytes()
}

func encodePNG(m image.Image) []byte {
	var b bytes.Buffer
	png.Encode(&b, m)
	return b.Bytes()
}

// sized returns a PNG whose header claims another size.
func sized(w, h uint32) []byte {
	b := encodePNG(image.NewNRGBA(image.Rect(0, 0, 2, 2)))
	binary.BigEndian.PutUint32(b[16:], w)
	binary.BigEndian.PutUint32(b[20:], h)
	binary.BigEndian.PutUint32(b[29:], crc32.ChecksumIEEE(b[12:29]))
	return b
}

// behindHeader puts chunks into a PNG.
func behindHeader(b []byte, chunks ...[]byte) []byte {
	return bytes.Join([][]byte{b[:33], bytes.Join(chunks, nil), b[33:]}, nil)
}

// bomb returns an iCCP chunk that unpacks to the header of a profile, which tells a length, and then n MiB of zeros.
func bomb(told uint32, n int) []byte {
	const name = "of the tests\x00\x00"
	b := bytes.NewBufferString(name)
	z, _ := zlib.NewWriterLevel(b, zlib.BestSpeed)
	head, mega := make([]byte, 128), make([]byte, 1<<20)
	binary.BigEndian.PutUint32(head, told)
	z.Write(append(head, mega...))
	z.Flush()
	start := b.Len()
	z.Write(mega)
	z.Flush()
	return picturetest.Chunk("iCCP", append(bytes.Clone(b.Bytes()[:start]), bytes.Repeat(b.Bytes()[start:], n-1)...))
}

// altered returns a copy of b with bytes at an offset replaced.
func altered(b []byte, at int, by string) []byte {
	c := bytes.Clone(b)
	copy(c[at:], by)
	return c
}

// frame returns a JPEG with the frame header of b altered: at counts from its marker.
func frame(t testing.TB, b []byte, at int, by string) []byte {
	i := bytes.Index(b, []byte{0xff, 0xc0})
	if i < 0 {
		t.Fatal("no frame")
	}
	return altered(b, i+at, by)
}

func number(tag uint16, v ...uint32) picturetest.Field {
	return picturetest.Field{Tag: tag, Kind: 4, Numbers: v}
}

// small returns the fields of a TIFF of w x h pixels in RGB, 8 bits, with some replaced.
func small(w, h uint32, more ...picturetest.Field) []picturetest.Field {
	fields := []picturetest.Field{number(256, w), number(257, h), number(258, 8, 8, 8), number(259, 1), number(262, 2), number(277, 3), number(278, h)}
	for _, m := range more {
		found := false
		for i := range fields {
			if fields[i].Tag == m.Tag {
				fields[i], found = m, true
			}
		}
		if !found {
			fields = append(fields, m)
		}
	}
	return fields
}

func little(n int, fields []picturetest.Field) []byte {
	return picturetest.TIFF{Order: binary.LittleEndian, Fields: fields, Blocks: [][]byte{make([]byte, n)}}.File()
}

// refusals are files that are not taken, or with a note, and what is said of each.
func refusals(t testing.TB) map[string]refusal {
	pic := image.NewNRGBA(image.Rect(0, 0, 40, 30))
	photo, plain := encodeJPEG(pic), encodePNG(pic)
	files := stored(t, "pictures")
	const (
		again  = " Copy it or export it again."
		as     = " Save it as JPEG, PNG or TIFF and send that."
		plain8 = " Save it as an ordinary JPEG of 8 bits."
	)
	deepPNG := image.NewNRGBA64(image.Rect(0, 0, 4, 4))
	bigProfile := append(picturetest.SRGB.Bytes(), make([]byte, 5<<20)...)
	binary.BigEndian.PutUint32(bigProfile, uint32(len(bigProfile)))
	oldPNG := behindHeader(plain, picturetest.Chunk("cHRM", be32s(31270, 32900, 68000, 32000, 26500, 69000, 15000, 6000)))
	return map[string]refusal{
		"empty":                {nil, "picture: The file is empty. Export the picture again."},
		"WebP, turned":         {turnedWebP(t, 6), "picture: The file tells browsers to turn its picture, which in a WebP they do differently. Save it again, turned, or as JPEG or PNG."},
		"WebP, flagged":        {altered(turnedWebP(t, 1), 20, "\x02"), moves},
		"WebP, upright":        {turnedWebP(t, 1), "webp 24x16, turned 1, 8 bits rgb"},
		"a web page":           {[]byte("\n<!DOCTYPE html><html><img src=pears.jpg></html>"), "picture: This is a web page, not a picture. Save the picture itself, not the page it is on."},
		"SVG":                  {[]byte(`<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"/>`), "picture: This is an SVG drawing, which has no pixels of its own. Export it as PNG in the size it is wanted."},
		"PDF":                  {[]byte("%PDF-1.7\n"), "picture: This is a PDF document, not a picture. Export each page as PNG or JPEG."},
		"layers":               {[]byte("8BPS\x00\x01"), "picture: This is a document with layers, which browsers do not show." + as},
		"BMP":                  {append([]byte("BM\x00\x00\x00\x00\x00\x00\x00\x00"), make([]byte, 40)...), "picture: This is a BMP. Save it as PNG and send that."},
		"JPEG XL":              {[]byte("\xff\x0a\x00\x00"), "picture: This is a JPEG XL, which most browsers do not show." + as},
		"JPEG 2000":            {[]byte("\x00\x00\x00\x0cjP  \r\n\x87\n"), "picture: This is a JPEG 2000, which most browsers do not show." + as},
		"archive":              {[]byte("PK\x03\x04"), "picture: This is an archive, not a picture. Unpack it and send the pictures in it."},
		"HEIC":                 {[]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"), "picture: This is a HEIC picture, which most browsers do not show. Save it as JPEG or PNG and send that."},
		"film of AVIF":         {[]byte("\x00\x00\x00\x18ftypavis\x00\x00\x00\x00avifmif1"), moves},
		"film":                 {[]byte("\x00\x00\x00\x18ftypisom\x00\x00\x00\x00mp41avc1"), "picture: This is a film or a sound, not a picture. Save a single picture of it as PNG."},
		"text":                 {[]byte("a pear is a fruit"), "picture: This is not a JPEG, PNG, WebP, AVIF or TIFF." + as},
		"zeros":                {make([]byte, 5000), "picture: The file starts with nothing but zeros: it is damaged." + again},
		"0 x 0 PNG":            {sized(0, 0), "picture: The picture has no pixels: its header says 0 × 0. Export it again."},
		"0 high JPEG":          {frame(t, photo, 5, "\x00\x00"), "picture: The picture has no pixels: its header says 40 × 0. Export it again."},
		"0 wide TIFF":          {little(12, small(0, 2)), "picture: The picture has no pixels: its header says 0 × 2. Export it again."},
		"bomb of pixels":       {sized(60000, 60000), "picture: The picture is 60,000 pixels wide; at most 16,384 are taken. " + tooBig},
		"20,000 wide":          {sized(20000, 10), "picture: The picture is 20,000 pixels wide; at most 16,384 are taken. " + tooBig},
		"20,000 high":          {sized(10, 20000), "picture: The picture is 20,000 pixels high; at most 16,384 are taken. " + tooBig},
		"200 megapixels":       {sized(16384, 12207), "picture: The picture has 16,384 × 12,207 pixels; at most 100 million are taken. " + tooBig},
		"largest number":       {sized(1<<32-1, 1<<32-1), "picture: The picture is 4,294,967,295 pixels wide; at most 16,384 are taken. " + tooBig},
		"largest":              {sized(10000, 10000), "png 10000x10000, turned 1, 8 bits rgb, alpha" + grey},
		"20,000 wide JPEG":     {frame(t, photo, 7, "\x4e\x20"), "picture: The picture is 20,000 pixels wide; at most 16,384 are taken. " + tooBig},
		"20,000 wide TIFF":     {little(12, small(20000, 2)), "picture: The picture is 20,000 pixels wide; at most 16,384 are taken. " + tooBig},
		"bomb of a profile":    {behindHeader(plain, bomb(1<<30, 1024)), "picture: The colour profile in this file has more than 4 MiB. Convert the picture to sRGB, or to a profile of the usual size."},
		"profile and a tail":   {behindHeader(plain, bomb(132, 1024)), "picture: The colour profile in this file has more than 4 MiB. Convert the picture to sRGB, or to a profile of the usual size."},
		"profile of 5 MiB":     {picturetest.Embed(photo, bigProfile, 0), "picture: The colour profile in this file has more than 4 MiB. Convert the picture to sRGB, or to a profile of the usual size."},
		"arithmetic JPEG":      {frame(t, photo, 1, "\xc9"), "picture: This is a JPEG of a rare sort (lossless, hierarchical or arithmetic coding), which browsers do not show." + plain8},
		"12-bit JPEG":          {frame(t, photo, 4, "\x0c"), "picture: This is a JPEG of more than 8 bits, which browsers do not show." + plain8},
		"two channels":         {frame(t, photo, 9, "\x02"), "picture: The file is damaged: it has neither one nor three channels." + again},
		"PNG of chunks":        {behindHeader(plain, bytes.Repeat(picturetest.Chunk("teXt", []byte("a pear")), 120_000)), "picture: The file's header is longer than any picture needs. Export the picture again, without additional data."},
		"PNG, large profiles":  {behindHeader(plain, incompressible(), incompressible()), "picture: The file's header is longer than any picture needs. Export the picture again, without additional data."},
		"PNG, two profiles":    {behindHeader(plain, picturetest.Chunk("iCCP", picturetest.Packed(picturetest.SRGB.Bytes())), picturetest.Chunk("iCCP", picturetest.Packed(picturetest.SRGB.Bytes()))), "png 40x30, turned 1, 8 bits rgb, alpha. The colour profile in this file is damaged (there are two). Browsers differ in whether they use it" + grey},
		"PNG, profile's check": {behindHeader(plain, altered(picturetest.Chunk("iCCP", picturetest.Packed(picturetest.SRGB.Bytes())), 30, "\x00\x00")), "png 40x30, turned 1, 8 bits rgb, alpha. The colour profile in this file is damaged (it fails its own check). Browsers show the picture as if it were sRGB" + grey},
		"PNG, EXIF of JPEG":    {behindHeader(plain, picturetest.Chunk("eXIf", append([]byte("Exif\x00\x00"), picturetest.EXIF(6)...))), "png 40x30, turned 1, 8 bits rgb, alpha" + grey},
		"channels of no width": {frame(t, photo, 11, "\x01"), "picture: The file is damaged: its channels have no size." + again},
		"channels of no size":  {frame(t, photo, 11, "\x00"), "picture: The file is damaged: its channels have no size." + again},
		"JPEG of nothing":      {[]byte("\xff\xd8\xff\xd9"), "picture: The file is damaged: its picture is missing." + again},
		"JPEG out of step":     {altered(photo, 4+int(binary.BigEndian.Uint16(photo[4:])), "\x00"), "picture: The file is damaged: a segment does not start where it should." + again},
		"JPEG without its end": {photo[:len(photo)-2], whole},
		"JPEG and a film":      {append(bytes.Clone(photo), make([]byte, 100<<10)...), "jpeg 40x30, turned 1, 8 bits rgb"},
		"16-bit PNG":           {encodePNG(deepPNG), "png 4x4, turned 1, 16 bits rgb, alpha" + grey + " The picture has 16 bits in each channel; most browsers show 8."},
		"PNG header's check":   {altered(plain, 20, "\x00\x00\x00\x63"), "picture: The file is damaged: its header fails its own check." + again},
		"PNG of 3 bits":        {pixelSort(plain, "\x03\x00"), "picture: The file is damaged: its header names a sort of pixels that there is not." + again},
		"PNG without pixels":   {bytes.Join([][]byte{plain[:33], picturetest.Chunk("IEND", nil)}, nil), "picture: The file is damaged: its picture is missing." + again},
		"PNG, two headers":     {behindHeader(plain, plain[8:33]), "picture: The file is damaged: its header does not come first, and once." + again},
		"PNG, primaries told":  {oldPNG, "png 40x30, turned 1, 8 bits rgb, alpha, wide" + grey},
		"PNG, sRGB told":       {behindHeader(oldPNG, picturetest.Chunk("sRGB", []byte{0})), "png 40x30, turned 1, 8 bits rgb, alpha" + grey},
		"PNG, wide by code":    {behindHeader(plain, picturetest.Chunk("cICP", []byte{12, 13, 0, 1})), "png 40x30, turned 1, 8 bits rgb, alpha, wide" + grey},
		"PNG, sRGB by code":    {behindHeader(oldPNG, picturetest.Chunk("cICP", []byte{1, 13, 0, 1})), "png 40x30, turned 1, 8 bits rgb, alpha" + grey},
		"PNG, HDR":             {behindHeader(plain, picturetest.Chunk("cICP", []byte{9, 16, 0, 1})), "png 40x30, turned 1, 8 bits rgb, alpha, wide. The picture is HDR. How bright it is shown differs from browser to browser and from screen to screen" + grey},
		"raw":                  {little(12, small(2, 2, number(262, 32803))), "picture: This is a camera's raw file, not yet a picture. Develop it and send the result as TIFF or JPEG."},
		"preview":              {little(12, small(2, 2, number(254, 1))), "picture: The first picture in this TIFF is a small preview of another one. Export the picture itself, alone, as TIFF, PNG or JPEG."},
		"five channels":        {little(20, small(2, 2, number(258, 8, 8, 8, 8, 8), number(277, 5))), "picture: This TIFF has more channels than its colours need." + flat},
		"12-bit TIFF":          {little(18, small(2, 2, number(258, 12, 12, 12))), "picture: This TIFF has 12 bits in each channel, which are not read here." + flat},
		"uneven depth":         {little(18, small(2, 2, number(258, 8, 8, 16))), "picture: This TIFF has channels of different depth, which are not read here." + flat},
		"odd compression":      {little(12, small(2, 2, number(259, 50000))), "picture: This TIFF is compressed in a way that is not read here." + packs},
		"no palette":           {little(4, small(2, 2, number(258, 8), number(262, 3), number(277, 1))), "picture: The file is damaged: its palette is not whole." + again},
		"strips of no rows":    {little(12, small(2, 2, number(278, 0))), "picture: The file is damaged: its strips have no rows." + again},
		"too few pixels":       {little(11, small(2, 2)), "picture: The file is damaged: it holds fewer pixels than it says." + again},
		"bomb of a TIFF":       {little(100, small(10000, 10000, number(259, 8))), "picture: The file is damaged: it holds fewer pixels than it says." + again},
		"16-bit TIFF":          {picturetest.Deep(pic, nil, 3), "tiff 40x30, turned 3, 16 bits rgb. The file has 16 bits in each channel; it is sent as PNG with 8."},
		"two pages":            {picturetest.TIFF{Order: binary.BigEndian, Fields: small(2, 2), Blocks: [][]byte{make([]byte, 12)}, Another: true}.File(), "tiff 2x2, turned 1, 8 bits rgb. There is more than one picture in the file; only the first is taken."},
		"WebP of two sizes":    {altered(files["extended.webp"], 24, "\x20\x00\x00"), "picture: The file is damaged: it tells two sizes." + again},
		"WebP of nothing":      {[]byte("RIFF\x04\x00\x00\x00WEBP"), "picture: The file is damaged: its picture is missing." + again},
		"AVIF of nothing":      {files["plain.avif"][:32], "picture: The file is damaged: it does not describe its picture." + again},
	}
}

// incompressible returns an iCCP chunk of 3 MiB.
func incompressible() []byte {
	r, b := rand.New(rand.NewPCG(1, 2)), make([]byte, 3<<20)
	for i := range b {
		b[i] = byte(r.Uint32())
	}
	return picturetest.Chunk("iCCP", b)
}

func be32s(v ...uint32) (b []byte) {
	for _, x := range v {
		b = binary.BigEndian.AppendUint32(b, x)
	}
	return b
}

// pixelSort returns a PNG whose header tells other bits and another colour type.
func pixelSort(b []byte, sort string) []byte {
	b = altered(b, 24, sort)
	binary.BigEndian.PutUint32(b[29:], crc32.ChecksumIEEE(b[12:29]))
	return b
}

// TestRefused: each bad file has its sentences.
func TestRefused(t *testing.T) {
	for name, r := range refusals(t) {
		a, err := read(t, r.file)
		if got := summary(a, err); got != r.want {
			t.Errorf("%s:\n got %s\nwant %s", name, got, r.want)
		}
	}
}

// lie alters a profile.
func lie(p picturetest.Profile, at int, by string) []byte { return altered(p.Bytes(), at, by) }

// TestLies: a profile that is damaged leaves a note and is not handed on; one that is of other colours refuses the picture. It is the same in each format.
func TestLies(t *testing.T) {
	const (
		sRGB   = "The colour profile in this file is damaged (%s). Browsers show the picture as if it were sRGB."
		differ = "The colour profile in this file is damaged (%s). Browsers differ in whether they use it."
		refuse = "picture: The colour profile in this file is for "
	)
	good := picturetest.DisplayP3
	short := good.Bytes()
	short = short[:len(short)-8]
	binary.BigEndian.PutUint32(short, uint32(len(short)))
	lists := func(p []byte, at int, by string) []byte { return altered(p, at, by) }
	noTRC := lists(good.Bytes(), 132+12*6, "xxxx") // rTRC
	formula := bytes.Clone(noTRC)
	copy(formula[132+12*6:], "rTRC")
	binary.BigEndian.PutUint32(formula[132+12*6+8:], 9)
	longer := good.Bytes()
	copy(longer[bytes.Index(longer, []byte("curv\x00\x00\x00\x00"))+8:], "\x7f\xff\xff\xff")
	for name, c := range map[string]struct {
		profile []byte
		want    string // what is wrong, behind a question mark where browsers differ, or a refusal
	}{
		"length":            {lie(good, 0, "\x00\x10\x00\x00"), "its length is not the one that it tells"},
		"no length":         {lie(good, 0, "\x00\x00\x00\x00"), "its length is not the one that it tells"},
		"no signature":      {lie(good, 36, "ACSP"), "it does not start as a profile does"},
		"cut":               {good.Bytes()[:100], "it does not start as a profile does"},
		"version 5":         {lie(good, 8, "\x05"), "it is of a version that browsers do not know"},
		"device link":       {lie(good, 12, "link"), "? it describes no colours of a picture"},
		"named colours":     {lie(good, 12, "nmcl"), "? it describes no colours of a picture"},
		"abstract":          {lie(good, 12, "abst"), "? it describes no colours of a picture"},
		"no connection":     {lie(good, 20, "RGB "), "it leads to colours that there are not"},
		"many tags":         {lie(good, 128, "\xff\xff\xff\xff"), "its table of contents is wrong"},
		"a tag outside":     {lie(good, 132+4, "\x7f\xff\xff\xff"), "its table of contents is wrong"},
		"a tag in the head": {lie(good, 132+4, "\x00\x00\x00\x00"), "? its table of contents contradicts itself"},
		"a tag twice":       {lie(good, 132+12, "desc"), "? its table of contents contradicts itself"},
		"data cut":          {short, "its table of contents is wrong"},
		"no red":            {lie(good, 132+12*3, "xxxx"), "it lacks the numbers that it is for"},
		"no curve":          {noTRC, "it lacks the numbers that it is for"},
		"curve of more":     {longer, "it lacks the numbers that it is for"},
		"curve cut":         {formula, "it lacks the numbers that it is for"},
		"inks":              {lie(good, 16, "CMYK"), refuse + "printing inks, which its picture is not made of. Convert the picture to sRGB."},
		"Lab":               {lie(good, 16, "Lab "), refuse + "colours of another sort than those of its picture. Convert the picture to sRGB."},
		"greys":             {picturetest.Grey.Bytes(), refuse + "greys, and its picture is in colour. Convert the picture to sRGB."},
		"sound":             {good.Bytes(), ""},
		"sRGB":              {picturetest.SRGB.Bytes(), ""},
		"swapped":           {picturetest.Swapped.Bytes(), ""},
		"linear":            {picturetest.Linear.Bytes(), ""},
	} {
		pic := image.NewYCbCr(image.Rect(0, 0, 16, 16), image.YCbCrSubsampleRatio420)
		opaque := image.NewGray(image.Rect(0, 0, 4, 4))
		rgb := image.NewRGBA(image.Rect(0, 0, 4, 4))
		for i := range rgb.Pix {
			rgb.Pix[i] = 255
		}
		for format, file := range map[string][]byte{
			"JPEG": picturetest.Embed(encodeJPEG(pic), c.profile, 0),
			"PNG":  picturetest.Embed(encodePNG(rgb), c.profile, 0),
			"TIFF": little(12, small(2, 2, picturetest.Field{Tag: 34675, Kind: 7, Bytes: c.profile})),
			"WebP": inWebP(t, c.profile),
		} {
			a, err := read(t, file)
			note := strings.Replace(sRGB, "%s", c.want, 1)
			if what, ok := strings.CutPrefix(c.want, "? "); ok {
				note = strings.Replace(differ, "%s", what, 1)
			}
			switch {
			case strings.HasPrefix(c.want, "picture:"):
				if err == nil || err.Error() != c.want {
					t.Errorf("%s in %s: %s", name, format, summary(a, err))
				}
			case c.want == "":
				if err != nil || !bytes.Equal(a.Profile, c.profile) || len(a.Notes) > 0 || a.ProfileName == "" || a.Wide != (name == "sound" || name == "swapped") {
					t.Errorf("%s in %s: %s", name, format, summary(a, err))
				}
			case err != nil || a.Profile != nil || a.ProfileName != "" || a.Wide || len(a.Notes) != 1:
				t.Errorf("%s in %s: %s", name, format, summary(a, err))
			case a.Notes[0] != note && !(format == "PNG" && (name == "length" || name == "cut") && strings.Contains(a.Notes[0], "it does not unpack")) &&
				!(format == "PNG" && name == "no length" && strings.Contains(a.Notes[0], "there is more of it than it tells")):
				t.Errorf("%s in %s: %s", name, format, a.Notes[0])
			}
		}
		if name == "sound" || name == "greys" {
			for format, file := range map[string][]byte{"JPEG": encodeJPEG(opaque), "PNG": encodePNG(opaque)} {
				a, err := read(t, picturetest.Embed(file, c.profile, 0))
				if ok := name == "greys" || format == "JPEG"; ok != (err == nil) || ok && (!bytes.Equal(a.Profile, c.profile) || a.Wide != (name == "sound") || (len(a.Notes) == 1) != (name == "sound")) {
					t.Errorf("%s in a grey %s: %s", name, format, summary(a, err))
				}
			}
		}
	}
}

// turnedWebP returns a WebP whose EXIF tells an orientation.
func turnedWebP(t testing.TB, orientation int) []byte {
	b := inWebP(t, nil)
	b[20] = 1 << 3
	b = append(b, "EXIF\x1a\x00\x00\x00"+string(picturetest.EXIF(orientation))...)
	binary.LittleEndian.PutUint32(b[4:], uint32(len(b)-8))
	return b
}

// inWebP puts a profile into a WebP, with the flag that says so.
func inWebP(t testing.TB, profile []byte) []byte {
	b := stored(t, "pictures")["lossless.webp"]
	chunk := func(name string, body []byte) []byte {
		return append(append(append([]byte(name), le32(uint32(len(body)))...), body...), make([]byte, len(body)&1)...)
	}
	body := bytes.Join([][]byte{[]byte("WEBP"), chunk("VP8X", []byte{1 << 5, 0, 0, 0, 23, 0, 0, 15, 0, 0}), chunk("ICCP", profile), b[12:]}, nil)
	return chunk("RIFF", body)
}

func le32(v uint32) []byte { return binary.LittleEndian.AppendUint32(nil, v) }

// TestPieces: the pieces of a profile in a JPEG may come in any order, and a wrong set of them is no profile.
func TestPieces(t *testing.T) {
	photo := encodeJPEG(image.NewYCbCr(image.Rect(0, 0, 16, 16), image.YCbCrSubsampleRatio420))
	profile := picturetest.DisplayP3.Bytes()
	pieces := picturetest.Pieces(profile, 1000)
	if len(pieces) != 3 {
		t.Fatalf("%d pieces", len(pieces))
	}
	with := func(s ...[]byte) []byte { return bytes.Join([][]byte{photo[:2], bytes.Join(s, nil), photo[2:]}, nil) }
	told := func(piece []byte, i, of byte) []byte { return altered(piece, 16, string([]byte{i, of})) }
	for name, c := range map[string]struct {
		file []byte
		want string // of the note
	}{
		"in order": {with(pieces...), ""},
		"shuffled": {with(pieces[2], pieces[0], pieces[1]), ""},
		"apart":    {with(pieces[1], picturetest.Segment(0xfe, []byte("pears")), pieces[2], picturetest.Segment(0xe2, []byte("MPF\x00 something else")), pieces[0]), ""},
		"one less": {with(pieces[0], pieces[2]), "a piece of it is missing"},
		"twice":    {with(pieces[0], pieces[1], pieces[1], pieces[2]), "it has a piece twice). Browsers differ"},
		"number 0": {with(told(pieces[0], 0, 3), pieces[1], pieces[2]), "its pieces are numbered wrongly"},
		"number 4": {with(told(pieces[0], 4, 3), pieces[1], pieces[2]), "its pieces are numbered wrongly"},
		"of four":  {with(pieces[0], told(pieces[1], 2, 4), pieces[2]), "its pieces are numbered wrongly"},
		"of none":  {with(told(pieces[0], 1, 0)), "its pieces are numbered wrongly"},
		"short":    {with(pieces[0], pieces[1][:2], told(picturetest.Pieces(profile[1000:1500], 1000)[0], 2, 3)[2:], pieces[2]), "its length is not the one that it tells"},
	} {
		a, err := read(t, c.file)
		switch {
		case err != nil:
			t.Errorf("%s: %v", name, err)
		case c.want == "" && (!bytes.Equal(a.Profile, profile) || len(a.Notes) > 0), c.want != "" && (a.Profile != nil || len(a.Notes) != 1 || !strings.Contains(a.Notes[0], c.want)):
			t.Errorf("%s: %s", name, summary(a, nil))
		}
	}
}

// TestDescription: a profile's name is read from both kinds of tag, and what cannot be seen is left out.
func TestDescription(t *testing.T) {
	mluc := func(records ...string) []byte {
		b := append([]byte("mluc\x00\x00\x00\x00"), be32s(uint32(len(records)), 12)...)
		var texts []byte
		for _, r := range records {
			var u []byte
			for _, c := range r[2:] {
				u = append(u, byte(c>>8), byte(c))
			}
			b = append(append(b, r[:2]+"XX"...), be32s(uint32(len(u)), uint32(16+12*len(records)+len(texts)))...)
			texts = append(texts, u...)
		}
		return append(b, texts...)
	}
	for _, c := range []struct {
		tag  []byte
		want string
	}{
		{nil, ""},
		{[]byte("desc\x00\x00\x00\x00\x00\x00\x00\x06pears\x00"), "pears"},
		{[]byte("desc\x00\x00\x00\x00\xff\xff\xff\xffpears\x00\x00"), "pears"},
		{[]byte("desc\x00\x00\x00\x00\x00\x00\x00\x06\x1b\x07pear"), "pear"},
		{mluc("deBirnen", "enpears"), "pears"},
		{mluc("deBirnen", "frpoires"), "Birnen"}, {mluc("enpears", "enquinces"), "pears"},
		{mluc("en  pears \u202e \n and\u00a0quinces\u0000"), "pears and quinces"},
		{mluc("en" + strings.Repeat("p", 500)), strings.Repeat("p", 80)},
		{altered(mluc("enpears"), 20, "\xff\xff\xff\xff"), ""},
		{mluc("enpears")[:30], ""},
		{[]byte("text\x00\x00\x00\x00pears\x00\x00\x00\x00"), ""},
	} {
		if got := description(c.tag); got != c.want {
			t.Errorf("%q: %q, want %q", c.tag, got, c.want)
		}
	}
}
