package picture

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"io"

	"golang.org/x/image/tiff"
)

// Convert turns the TIFF of which Read said a into a PNG of 8 bits a channel, with the orientation applied to the pixels and the profile embedded. Values v of 16 bits
// become v*255/65535, rounded; transparency is kept. Progress, if not nil, is called with growing shares, the last of which is 1.
//
// It needs 4 bytes for each pixel (1 for greys and palettes), the PNG, and a band of the file at a time, packed and unpacked: some MiB, unless the file is packed as a
// single strip, which then is the band and takes up to 8 bytes a pixel more.
func Convert(r io.ReaderAt, size int64, a About, progress func(float64)) ([]byte, error) {
	if a.Kind != TIFF {
		return nil, fmt.Errorf("picture: %s needs no conversion", a.Kind)
	}
	if size < 8 || size > MaxSource {
		return nil, errShort
	}
	if progress == nil {
		progress = func(float64) {}
	}
	s := &source{r: r, size: size, left: maxHeader, bulk: maxBulk}
	told := About{Kind: TIFF, Orientation: 1}
	l, err := told.tiff(s)
	if err != nil {
		return nil, err
	}
	const unpacking = 0.35 // of the time, measured on photographs of 16 bits
	c := newCanvas(l, told.Orientation)
	for y := 0; y < l.height; {
		band, rows, err := l.band(r, y)
		if err != nil {
			return nil, err
		}
		m, err := tiff.Decode(bytes.NewReader(band))
		if err != nil {
			return nil, damaged("its pixels cannot be unpacked")
		}
		c.put(m, y, min(rows, l.height-y))
		y += rows
		progress(unpacking * float64(min(y, l.height)) / float64(l.height))
	}
	out := &sheet{chunk: packed(told.Profile), report: func(n int) {
		progress(unpacking + (1-unpacking)*min(0.99, float64(n)/float64(len(c.pix))))
	}}
	if err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(out, c.picture()); err != nil {
		return nil, err
	}
	progress(1)
	return out.b, nil
}

var errBulky = &Refused{"As PNG the picture has more than 64 MiB.", "Send a smaller version of it, or save it as JPEG."}

// band returns the blocks from row y on as a TIFF of their own, and how many rows it has: one row of tiles, or strips of some MiB together.
// A strip that is not packed need not be read whole: y may lie within one.
func (l layout) band(r io.ReaderAt, y int) ([]byte, int, error) {
	const enough = 2 << 20 // bytes, unpacked
	across, i := l.across(), y/l.blockHeight
	part := layout{
		order: l.order, width: l.width, samples: l.samples, bits: l.bits, photometric: l.photometric, compression: l.compression, predictor: l.predictor, fill: l.fill,
		extra: l.extra, colours: l.colours, tiled: l.tiled, blockWidth: l.blockWidth, blockHeight: l.blockHeight,
	}
	switch {
	case l.tiled:
		part.height = l.blockHeight
		part.offsets, part.counts = l.offsets[i*across:][:across], l.counts[i*across:][:across]
	case l.compression == uncompressed:
		row, done := l.row(l.width), y-i*l.blockHeight
		part.height = min(l.rows(i)-done, max(1, enough/row))
		part.blockHeight = part.height
		part.offsets, part.counts = []uint32{l.offsets[i] + uint32(done*row)}, []uint32{uint32(part.height * row)}
	default:
		for j := i; j < len(l.offsets) && (j == i || (part.height+l.blockHeight)*l.row(l.width) <= enough); j++ {
			part.height += l.rows(j)
			part.offsets, part.counts = append(part.offsets, l.offsets[j]), append(part.counts, l.counts[j])
		}
	}
	b, err := part.file(r)
	return b, part.height, err
}

// file writes a TIFF with the blocks of l, read from r.
func (l layout) file(r io.ReaderAt) ([]byte, error) {
	type field struct {
		tag, kind uint16
		values    []uint32
	}
	one := func(tag uint16, v uint32) field { return field{tag, 4, []uint32{v}} }
	bits := make([]uint32, l.samples)
	for i := range bits {
		bits[i] = uint32(l.bits)
	}
	where, lengths := uint16(tagStrips), uint16(tagStripBytes)
	if l.tiled {
		where, lengths = tagTiles, tagTileBytes
	}
	at := make([]uint32, len(l.offsets))
	fields := []field{
		one(tagWidth, uint32(l.width)), one(tagHeight, uint32(l.height)), {tagBits, 3, bits}, one(tagCompression, l.compression), one(tagPhotometric, l.photometric),
		one(tagFill, l.fill),
	}
	if !l.tiled {
		fields = append(fields, field{where, 4, at}, one(tagSamples, uint32(l.samples)), one(tagRows, uint32(l.blockHeight)), field{lengths, 4, l.counts})
	} else {
		fields = append(fields, one(tagSamples, uint32(l.samples)))
	}
	fields = append(fields, one(tagPredictor, l.predictor))
	if l.colours != nil {
		fields = append(fields, field{tagColours, 3, l.colours})
	}
	if l.tiled {
		fields = append(fields, one(tagTileWidth, uint32(l.blockWidth)), one(tagTileHeight, uint32(l.blockHeight)), field{where, 4, at}, field{lengths, 4, l.counts})
	}
	if l.samples == 4 {
		fields = append(fields, one(tagExtra, l.extra))
	}
	wide := func(f field) int { // 2 bytes of kind 3, 4 of kind 4
		return len(f.values) * 2 * int(f.kind-2)
	}
	behind := 8 + 2 + 12*len(fields) + 4
	size := behind
	for _, f := range fields {
		if n := wide(f); n > 4 {
			size += n
		}
	}
	end := size
	for i, n := range l.counts {
		at[i] = uint32(end)
		end += int(n)
	}
	o := l.order
	b := make([]byte, size, end)
	copy(b, "II")
	if o == binary.ByteOrder(binary.BigEndian) {
		copy(b, "MM")
	}
	o.PutUint16(b[2:], 42)
	o.PutUint32(b[4:], 8)
	o.PutUint16(b[8:], uint16(len(fields)))
	for i, f := range fields {
		e := b[10+12*i:]
		o.PutUint16(e, f.tag)
		o.PutUint16(e[2:], f.kind)
		o.PutUint32(e[4:], uint32(len(f.values)))
		to := e[8:]
		if n := wide(f); n > 4 {
			o.PutUint32(e[8:], uint32(behind))
			to = b[behind:]
			behind += n
		}
		for j, v := range f.values {
			if f.kind == 3 {
				o.PutUint16(to[2*j:], uint16(v))
			} else {
				o.PutUint32(to[4*j:], v)
			}
		}
	}
	b = b[:end]
	for i, n := range l.counts {
		if got, err := r.ReadAt(b[at[i]:][:n], int64(l.offsets[i])); got < int(n) {
			if err == nil || err == io.EOF || err == io.ErrUnexpectedEOF {
				return nil, errShort
			}
			return nil, fmt.Errorf("picture: %w", err)
		}
	}
	return b, nil
}

// canvas is the picture with its orientation applied: a grey, a palette's index, or red, green, blue and opacity for each pixel.
type canvas struct {
	l            layout
	width        int // as seen
	height       int
	each         int // bytes of a pixel
	pix          []byte
	base, dx, dy int // where the stored pixel x, y goes: base + x*dx + y*dy, in bytes
}

func newCanvas(l layout, orientation int) *canvas {
	c := &canvas{l: l, width: l.width, height: l.height, each: 4}
	if l.samples == 1 {
		c.each = 1
	}
	if orientation >= 5 {
		c.width, c.height = l.height, l.width
	}
	c.pix = make([]byte, c.width*c.height*c.each)
	right, below := c.each, c.each*c.width
	lastX, lastY := (c.width-1)*right, (c.height-1)*below
	place := [...][3]int{
		1: {0, right, below}, 2: {lastX, -right, below}, 3: {lastX + lastY, -right, -below}, 4: {lastY, right, -below},
		5: {0, below, right}, 6: {lastX, below, -right}, 7: {lastX + lastY, -below, -right}, 8: {lastY, -below, right},
	}[orientation]
	c.base, c.dx, c.dy = place[0], place[1], place[2]
	return c
}

// eighth rounds 16 bits to 8.
func eighth(v uint32) byte { return byte((v*255 + 32767) / 65535) }

// put takes the first rows of m as those from y on.
func (c *canvas) put(m image.Image, y, rows int) {
	for j := range rows {
		to := c.base + (y+j)*c.dy
		switch m := m.(type) {
		case *image.Gray:
			for _, v := range m.Pix[j*m.Stride:][:c.l.width] {
				c.pix[to] = v
				to += c.dx
			}
		case *image.Paletted:
			for _, v := range m.Pix[j*m.Stride:][:c.l.width] {
				c.pix[to] = v
				to += c.dx
			}
		case *image.Gray16:
			for p := m.Pix[j*m.Stride:][:2*c.l.width]; len(p) > 0; p = p[2:] {
				c.pix[to] = eighth(uint32(p[0])<<8 | uint32(p[1]))
				to += c.dx
			}
		case *image.NRGBA:
			for p := m.Pix[j*m.Stride:][:4*c.l.width]; len(p) > 0; p = p[4:] {
				copy(c.pix[to:to+4], p)
				to += c.dx
			}
		case *image.RGBA:
			for p := m.Pix[j*m.Stride:][:4*c.l.width]; len(p) > 0; p = p[4:] {
				q := c.pix[to : to+4]
				copy(q, p)
				if a := uint32(p[3]); a > 0 && a < 255 {
					for k := range 3 {
						q[k] = byte((min(uint32(p[k]), a)*255 + a/2) / a)
					}
				}
				to += c.dx
			}
		case *image.NRGBA64:
			c.deep(m.Pix[j*m.Stride:][:8*c.l.width], to, false)
		case *image.RGBA64:
			c.deep(m.Pix[j*m.Stride:][:8*c.l.width], to, c.l.samples == 4)
		}
	}
}

// deep takes a row of 16 bits a channel.
func (c *canvas) deep(p []byte, to int, multiplied bool) {
	for ; len(p) > 0; p = p[8:] {
		q := c.pix[to : to+4]
		a := uint32(p[6])<<8 | uint32(p[7])
		for k := range 3 {
			v := uint32(p[2*k])<<8 | uint32(p[2*k+1])
			if multiplied && a > 0 {
				v = uint32((uint64(min(v, a))*65535 + uint64(a)/2) / uint64(a))
			}
			q[k] = eighth(v)
		}
		q[3] = eighth(a)
		to += c.dx
	}
}

func (c *canvas) picture() image.Image {
	r := image.Rect(0, 0, c.width, c.height)
	switch {
	case c.l.colours != nil:
		n := len(c.l.colours) / 3
		few := uint32(0) // some programs write palettes of 8 bits
		for _, v := range c.l.colours {
			few |= v
		}
		p := make(color.Palette, n)
		for i := range p {
			var v [3]byte
			for k := range v {
				if v[k] = byte(c.l.colours[i+k*n]); few > 255 { // written as 256 or 257 times the 8 bits that they come from
					v[k] = byte(c.l.colours[i+k*n] >> 8)
				}
			}
			p[i] = color.NRGBA{v[0], v[1], v[2], 255}
		}
		return &image.Paletted{Pix: c.pix, Stride: c.width, Rect: r, Palette: p}
	case c.each == 1:
		return &image.Gray{Pix: c.pix, Stride: c.width, Rect: r}
	}
	return &image.NRGBA{Pix: c.pix, Stride: 4 * c.width, Rect: r}
}

// packed returns an iCCP chunk with the profile, and nil for none.
func packed(profile []byte) []byte {
	if profile == nil {
		return nil
	}
	b := bytes.NewBuffer([]byte("\x00\x00\x00\x00iCCPprofile\x00\x00"))
	z := zlib.NewWriter(b)
	z.Write(profile) // a bytes.Buffer takes all
	z.Close()
	c := b.Bytes()
	binary.BigEndian.PutUint32(c, uint32(len(c)-8))
	return binary.BigEndian.AppendUint32(c, crc32.ChecksumIEEE(c[4:]))
}

// sheet is where a PNG is written, with a chunk put in behind its header.
type sheet struct {
	b      []byte
	chunk  []byte
	report func(written int)
}

func (s *sheet) Write(p []byte) (int, error) {
	const header = 8 + 12 + 13
	n := len(p)
	if len(s.b) < header {
		k := min(header-len(s.b), n)
		s.b, p = append(s.b, p[:k]...), p[k:]
		if len(s.b) == header {
			s.b = append(s.b, s.chunk...)
		}
	}
	if len(s.b)+len(p) > MaxFile {
		return 0, errBulky
	}
	s.b = append(s.b, p...)
	s.report(len(s.b))
	return n, nil
}
