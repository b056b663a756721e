package picture

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math/rand/v2"
	"testing"

	"golang.org/x/image/tiff"

	"example.org/plumb/web/picture/picturetest"
)

// turned is the slow twin of a canvas: where the stored pixel x, y of a w x h picture is seen, as EXIF 2.3 words its orientations: what the row 0 and the column 0 are.
func turned(o, x, y, w, h int) (int, int) {
	fromRight, fromBottom := w-1-x, h-1-y
	switch o {
	case 1: // row 0 is the top, column 0 the left side
		return x, y
	case 2: // top, right
		return fromRight, y
	case 3: // bottom, right
		return fromRight, fromBottom
	case 4: // bottom, left
		return x, fromBottom
	case 5: // left, top
		return y, x
	case 6: // right, top
		return fromBottom, x
	case 7: // right, bottom
		return fromBottom, fromRight
	case 8: // left, bottom
		return y, fromRight
	}
	panic("no orientation")
}

// upper returns the pixel of m with its values rounded to 8 bits, straight.
func upper(m image.Image, x, y int) color.NRGBA {
	round := func(v uint32) uint8 { return uint8((float64(v)*255)/65535 + 0.5) }
	switch m := m.(type) {
	case *image.NRGBA:
		return m.NRGBAAt(x, y)
	case *image.NRGBA64:
		c := m.NRGBA64At(x, y)
		return color.NRGBA{round(uint32(c.R)), round(uint32(c.G)), round(uint32(c.B)), round(uint32(c.A))}
	case *image.Paletted:
		c := m.Palette[m.ColorIndexAt(x, y)].(color.RGBA64)
		return color.NRGBA{uint8(c.R >> 8), uint8(c.G >> 8), uint8(c.B >> 8), 255}
	}
	r, g, b, a := m.At(x, y).RGBA()
	straight := func(v uint32) uint8 {
		if a == 0 {
			return 0
		}
		return round(uint32(float64(min(v, a))*65535/float64(a) + 0.5))
	}
	return color.NRGBA{straight(r), straight(g), straight(b), round(a)}
}

// compare converts a TIFF and holds it against the whole of it, decoded at once and turned pixel by pixel. within is what a value of a picture with multiplied
// transparency may be off: there the twin rounds at other places.
func compare(t *testing.T, name string, file []byte, within int) {
	t.Helper()
	a, err := read(t, file)
	if err != nil {
		t.Errorf("%s: %v", name, err)
		return
	}
	var shares []float64
	out, err := Convert(bytes.NewReader(file), int64(len(file)), a, func(s float64) { shares = append(shares, s) })
	if err != nil {
		t.Errorf("%s: %v", name, err)
		return
	}
	for i, s := range shares {
		if s < 0 || s > 1 || i > 0 && s < shares[i-1] {
			t.Errorf("%s: progress %v", name, shares)
			break
		}
	}
	if len(shares) < 2 || shares[len(shares)-1] != 1 {
		t.Errorf("%s: progress %v", name, shares)
	}
	b, err := read(t, out)
	if w, h := a.Seen(); err != nil || b.Kind != PNG || b.Width != w || b.Height != h || b.Orientation != 1 || b.Bits > 8 || !bytes.Equal(b.Profile, a.Profile) || b.Wide != a.Wide || b.Model != a.Model {
		t.Errorf("%s: %s becomes %s", name, summary(a, nil), summary(b, err))
	}
	got, err := png.Decode(bytes.NewReader(out))
	if err != nil {
		t.Errorf("%s: %v", name, err)
		return
	}
	want, err := tiff.Decode(bytes.NewReader(file))
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	for y := range a.Height {
		for x := range a.Width {
			u, v := turned(a.Orientation, x, y, a.Width, a.Height)
			g, w := color.NRGBAModel.Convert(got.At(u, v)).(color.NRGBA), upper(want, x, y)
			if w.A == 0 && g.A == 0 {
				continue
			}
			if off(g.R, w.R) > within || off(g.G, w.G) > within || off(g.B, w.B) > within || g.A != w.A {
				t.Errorf("%s: pixel %d, %d is %v at %d, %d, not %v", name, x, y, g, u, v, w)
				return
			}
		}
	}
}

func off(a, b uint8) int { return max(int(a)-int(b), int(b)-int(a)) }

// TestConvert: TIFFs by other programs become PNGs of the same pixels.
func TestConvert(t *testing.T) {
	n := 0
	for name, b := range stored(t, "pictures") {
		a, err := read(t, b)
		if err != nil || a.Kind != TIFF {
			continue
		}
		n++
		compare(t, name, b, 0)
	}
	if n < 18 {
		t.Errorf("%d files", n)
	}
}

// noise returns a TIFF of random pixels in blocks, not packed, as deflate packs, or as a run-length packer that packs nothing does.
func noise(order picturetest.Order, w, h, samples, bits, photometric, extra, block, compression, orientation int, tiled bool) []byte {
	r := rand.New(rand.NewPCG(uint64(w), uint64(h*samples+bits)))
	depth := make([]uint32, samples)
	for i := range depth {
		depth[i] = uint32(bits)
	}
	f := []picturetest.Field{
		number(256, uint32(w)), number(257, uint32(h)), {Tag: 258, Kind: 3, Numbers: depth}, number(259, uint32(compression)), number(262, uint32(photometric)),
		number(274, uint32(orientation)), number(277, uint32(samples)),
	}
	bw, bh := w, block
	if tiled {
		bw = block
		f = append(f, number(322, uint32(block)), number(323, uint32(block)))
	} else {
		f = append(f, number(278, uint32(block)))
	}
	if extra != 0 {
		f = append(f, number(338, uint32(extra)))
	}
	if photometric == palette {
		colours := make([]uint32, 3*256)
		for i := range colours {
			colours[i] = r.Uint32N(256) * 257
		}
		f = append(f, picturetest.Field{Tag: 320, Kind: 3, Numbers: colours})
	}
	t := picturetest.TIFF{Order: order, Fields: f, Tiled: tiled}
	for y := 0; y < h; y += bh {
		for x := 0; x < w; x += bw {
			rows := bh
			if !tiled {
				rows = min(bh, h-y)
			}
			b := make([]byte, rows*((bw*samples*bits+7)/8))
			for i := range b {
				b[i] = byte(r.Uint32())
			}
			switch compression {
			case deflate:
				var z bytes.Buffer
				p, _ := zlib.NewWriterLevel(&z, zlib.BestSpeed)
				p.Write(b)
				p.Close()
				b = z.Bytes()
			case packBits:
				var p []byte
				for ; len(b) > 0; b = b[min(128, len(b)):] {
					n := min(128, len(b))
					p = append(append(p, byte(n-1)), b[:n]...)
				}
				b = p
			}
			t.Blocks = append(t.Blocks, b)
		}
	}
	return t.File()
}

// TestConvertKinds: all sorts of pixels, blocks, byte orders and orientations, sizes that leave rests, and pictures of several bands.
func TestConvertKinds(t *testing.T) {
	orders := []picturetest.Order{binary.LittleEndian, binary.BigEndian}
	sorts := []struct{ samples, bits, photometric, extra, within int }{
		{1, 1, blackIsZero, 0, 0}, {1, 8, blackIsZero, 0, 0}, {1, 8, whiteIsZero, 0, 0}, {1, 16, blackIsZero, 0, 0}, {1, 16, whiteIsZero, 0, 0}, {1, 8, palette, 0, 0},
		{3, 8, directRGB, 0, 0}, {3, 16, directRGB, 0, 0}, {4, 8, directRGB, straight, 0}, {4, 16, directRGB, straight, 0}, {4, 8, directRGB, premultiplied, 1}, {4, 16, directRGB, premultiplied, 1},
	}
	n := 0
	for i, s := range sorts {
		for j, compression := range []int{uncompressed, deflate, packBits} {
			for k, tiled := range []bool{false, true} {
				order := orders[(i+j+k)%2]
				for o := 1; o <= 8; o++ {
					block := 7
					if tiled {
						block = 16
					}
					compare(t, fmt.Sprintf("%v, compression %d, tiled %v, turned %d, %v", s, compression, tiled, o, order),
						noise(order, 35, 22, s.samples, s.bits, s.photometric, s.extra, block, compression, o, tiled), s.within)
					n++
				}
			}
		}
	}
	for _, c := range []struct {
		block, compression int
		tiled              bool
	}{{1 << 20, uncompressed, false}, {500, uncompressed, false}, {1, deflate, false}, {300, deflate, false}, {1 << 20, packBits, false}, {256, deflate, true}} {
		compare(t, fmt.Sprint(c), noise(binary.LittleEndian, 420, 850, 3, 16, directRGB, 0, min(c.block, 850), c.compression, 6, c.tiled), 0)
		n++
	}
	if n != 12*3*2*8+6 {
		t.Errorf("%d pictures", n)
	}
}

// TestConvertOverlap: strips that claim the rest of the file cost no more than they hold.
func TestConvertOverlap(t *testing.T) {
	t1 := picturetest.TIFF{Order: binary.LittleEndian, Fields: small(64, 400, number(259, deflate), number(278, 1))}
	for y := range 400 {
		var z bytes.Buffer
		p, _ := zlib.NewWriterLevel(&z, zlib.NoCompression) // so that all are of one length
		p.Write(bytes.Repeat([]byte{byte(y)}, 192))
		p.Close()
		t1.Blocks = append(t1.Blocks, z.Bytes())
	}
	each := le32(uint32(len(t1.Blocks[0])))
	file := append(t1.File(), make([]byte, 1<<20)...)
	told := About{Kind: TIFF, Orientation: 1}
	s := &source{r: bytes.NewReader(file), size: int64(len(file)), left: maxHeader, bulk: maxBulk}
	l, err := told.tiff(s)
	if err != nil || len(l.counts) != 400 {
		t.Fatal(err)
	}
	counts := bytes.Index(file, bytes.Repeat(each, 400))
	for i := range l.counts {
		copy(file[counts+4*i:], le32(uint32(len(file))-l.offsets[i]))
	}
	again := About{Kind: TIFF, Orientation: 1}
	s = &source{r: bytes.NewReader(file), size: int64(len(file)), left: maxHeader, bulk: maxBulk}
	if l, err = again.tiff(s); err != nil {
		t.Fatal(err)
	}
	for _, n := range l.counts {
		if n > 2*192+4096 {
			t.Fatalf("a strip of 192 bytes takes %d", n)
		}
	}
	compare(t, "overlapping", file, 0)
}

// TestConvertDeep: a photograph of 16 bits comes out as it went in, and so does its profile.
func TestConvertDeep(t *testing.T) {
	m, _, err := image.Decode(bytes.NewReader(stored(t, "photos")["cat.jpg"]))
	if err != nil {
		t.Fatal(err)
	}
	file := picturetest.Deep(m, picturetest.DisplayP3.Bytes(), 5)
	compare(t, "the cat", file, 0)
	a, _ := read(t, file)
	out, err := Convert(bytes.NewReader(file), int64(len(file)), a, nil)
	if err != nil {
		t.Fatal(err)
	}
	got, err := png.Decode(bytes.NewReader(out))
	if err != nil {
		t.Fatal(err)
	}
	for y := range 300 {
		for x := range 451 {
			if g, w := color.NRGBAModel.Convert(got.At(y, x)), color.NRGBAModel.Convert(m.At(x, y)); g != w {
				t.Fatalf("pixel %d, %d: %v, not %v", x, y, g, w)
			}
		}
	}
}

// TestConvertDamaged: what cannot be unpacked is refused, and what is no TIFF is not converted.
func TestConvertDamaged(t *testing.T) {
	file := noise(binary.LittleEndian, 53, 38, 3, 8, directRGB, 0, 7, deflate, 1, false)
	a, err := read(t, file)
	if err != nil {
		t.Fatal(err)
	}
	var no *Refused
	at := len(file) - 300
	if out, err := Convert(bytes.NewReader(altered(file, at, "\xff\xff\xff\xff\xff\xff\xff\xff")), int64(len(file)), a, nil); !errors.As(err, &no) || out != nil {
		t.Errorf("%d bytes, %v", len(out), err)
	}
	if out, err := Convert(bytes.NewReader(file[:at]), int64(len(file)), a, nil); !errors.As(err, &no) || no.Why != errShort.Why || out != nil {
		t.Errorf("%d bytes, %v", len(out), err)
	}
	// A picture that is read in one piece by Read and not by Convert.
	if out, err := Convert(&spent{file, 2}, int64(len(file)), a, nil); err == nil || errors.As(err, &no) || out != nil {
		t.Errorf("%d bytes, %v", len(out), err)
	}
	photo := stored(t, "photos")["cat.jpg"]
	b, _ := read(t, photo)
	if out, err := Convert(bytes.NewReader(photo), int64(len(photo)), b, nil); err == nil || out != nil {
		t.Errorf("%d bytes, %v", len(out), err)
	}
	b.Kind = TIFF
	if out, err := Convert(bytes.NewReader(photo), int64(len(photo)), b, nil); err == nil || out != nil {
		t.Errorf("a JPEG by another name: %d bytes, %v", len(out), err)
	}
	for size := range int64(9) {
		if out, err := Convert(bytes.NewReader(file), size, a, nil); err == nil || out != nil {
			t.Errorf("%d bytes: %d, %v", size, len(out), err)
		}
	}
}

// spent answers left times.
type spent struct {
	b    []byte
	left int
}

func (s *spent) ReadAt(p []byte, off int64) (int, error) {
	if s.left--; s.left < 0 {
		return 0, errors.New("the drive is gone")
	}
	return bytes.NewReader(s.b).ReadAt(p, off)
}

// TestSheet: a chunk stands behind the header however the bytes come, and a PNG that is too large is refused.
func TestSheet(t *testing.T) {
	whole := encodePNG(image.NewGray(image.Rect(0, 0, 9, 9)))
	for step := 1; step <= len(whole); step++ {
		s := &sheet{chunk: []byte("pears"), report: func(int) {}}
		for b := whole; len(b) > 0; b = b[min(step, len(b)):] {
			if n, err := s.Write(b[:min(step, len(b))]); err != nil || n != min(step, len(b)) {
				t.Fatal(n, err)
			}
		}
		if !bytes.Equal(s.b, bytes.Join([][]byte{whole[:33], []byte("pears"), whole[33:]}, nil)) {
			t.Fatalf("in steps of %d", step)
		}
	}
	s := &sheet{report: func(int) {}}
	var no *Refused
	for i := 0; ; i++ {
		if _, err := s.Write(make([]byte, 8<<20)); err != nil {
			if i != 8 || !errors.As(err, &no) {
				t.Errorf("after %d MiB: %v", 8*i, err)
			}
			break
		}
	}
}

// BenchmarkConvert: 16 megapixels of 16 bits.
func BenchmarkConvert(b *testing.B) {
	m := image.NewNRGBA(image.Rect(0, 0, 4800, 3300))
	for i := range m.Pix {
		m.Pix[i] = byte(i/4%4800/20 + i/4/4800/20 + i*2654435761>>20&3)
	}
	file := picturetest.Deep(m, nil, 6)
	a, err := Read(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(file)))
	for b.Loop() {
		if _, err := Convert(bytes.NewReader(file), int64(len(file)), a, nil); err != nil {
			b.Fatal(err)
		}
	}
}
