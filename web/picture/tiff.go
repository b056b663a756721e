package picture

import (
	"encoding/binary"
	"fmt"
	"slices"
)

// Tags of TIFF (Adobe, TIFF 6.0, 1992) that matter here; 34675 is of ICC.1:2010, annex B.3.
const (
	tagSubfile     = 254
	tagWidth       = 256
	tagHeight      = 257
	tagBits        = 258
	tagCompression = 259
	tagPhotometric = 262
	tagFill        = 266
	tagStrips      = 273
	tagOrientation = 274
	tagSamples     = 277
	tagRows        = 278
	tagStripBytes  = 279
	tagPlanar      = 284
	tagFax         = 292
	tagPredictor   = 317
	tagColours     = 320
	tagTileWidth   = 322
	tagTileHeight  = 323
	tagTiles       = 324
	tagTileBytes   = 325
	tagExtra       = 338
	tagFormat      = 339
	tagProfile     = 34675
	uncompressed   = 1
	groupThree     = 3
	groupFour      = 4
	lzw            = 5
	deflate        = 8
	deflateOld     = 32946
	packBits       = 32773
	whiteIsZero    = 0
	blackIsZero    = 1
	directRGB      = 2
	palette        = 3
	inks           = 5
	premultiplied  = 1
	straight       = 2
)

// most is how many bytes each compression can make of one: 128 of two, 258 of two bits, strings of 3840 of 12 bits, and a row of any length of one bit.
var most = map[uint32]int64{uncompressed: 1, packBits: 64, deflate: 1032, deflateOld: 1032, lzw: 2560, groupThree: MaxSide, groupFour: MaxSide}

// entry is a field of a directory.
type entry struct {
	kind  uint16
	count uint32
	value []byte // 4 bytes: the value, or where it lies
}

// layout is how a TIFF's pixels lie in the file: blocks that are strips of the picture's width, or tiles, row by row.
type layout struct {
	order         binary.ByteOrder
	width, height int
	samples, bits int
	photometric   uint32
	compression   uint32
	predictor     uint32
	fill          uint32
	extra         uint32
	colours       []uint32 // of a palette: all reds, greens, blues, 16 bits each
	tiled         bool
	blockWidth    int
	blockHeight   int
	offsets       []uint32
	counts        []uint32
}

func (l layout) across() int { return (l.width + l.blockWidth - 1) / l.blockWidth }
func (l layout) down() int   { return (l.height + l.blockHeight - 1) / l.blockHeight }

// row returns the bytes of n unpacked pixels.
func (l layout) row(n int) int { return (n*l.samples*l.bits + 7) / 8 }

// rows returns how many rows of pixels the blocks at height i have.
func (l layout) rows(i int) int {
	if l.tiled {
		return l.blockHeight
	}
	return min(l.blockHeight, l.height-i*l.blockHeight)
}

// directory is the first directory of a TIFF.
type directory struct {
	s      *source
	order  binary.ByteOrder
	fields map[uint16]entry
}

// values returns the numbers of a field, most at the most, and nil where it is absent.
func (d directory) values(tag uint16, most int) ([]uint32, error) {
	f, ok := d.fields[tag]
	if !ok {
		return nil, nil
	}
	width := map[uint16]int{1: 1, 3: 2, 4: 4}[f.kind]
	if width == 0 {
		return nil, damaged("a field of its header is not a number")
	}
	n := int(min(int64(f.count), int64(most)))
	b := f.value
	if int64(f.count)*int64(width) > 4 {
		var err error
		if b, err = d.s.at(int64(d.order.Uint32(b)), n*width); err != nil {
			return nil, err
		}
	}
	v := make([]uint32, n)
	for i := range v {
		switch width {
		case 1:
			v[i] = uint32(b[i])
		case 2:
			v[i] = uint32(d.order.Uint16(b[2*i:]))
		case 4:
			v[i] = d.order.Uint32(b[4*i:])
		}
	}
	return v, nil
}

// value returns the first number of a field, or otherwise where it is absent.
func (d directory) value(tag uint16, otherwise uint32) (uint32, error) {
	v, err := d.values(tag, 1)
	if err != nil {
		return 0, err
	}
	if len(v) == 0 {
		return otherwise, nil
	}
	return v[0], nil
}

const (
	flatten = "Save it as a TIFF of one flat RGB layer with 8 or 16 bits, or as PNG."
	repack  = "Save it as a TIFF without compression or with LZW, or as PNG."
)

// tiff reads the first directory of a TIFF and refuses what Convert would.
func (a *About) tiff(s *source) (l layout, err error) {
	d := directory{s: s, fields: map[uint16]entry{}}
	b, err := s.at(0, 8)
	if err != nil {
		return l, err
	}
	if d.order = binary.ByteOrder(binary.LittleEndian); b[0] == 'M' {
		d.order = binary.BigEndian
	}
	l.order = d.order
	at := int64(d.order.Uint32(b[4:]))
	if b, err = s.at(at, 2); err != nil {
		return l, err
	}
	n := int(d.order.Uint16(b))
	if b, err = s.at(at+2, 12*n); err != nil {
		return l, err
	}
	for e := append([]byte(nil), b...); len(e) > 0; e = e[12:] {
		if tag := d.order.Uint16(e); d.fields[tag].value == nil {
			d.fields[tag] = entry{d.order.Uint16(e[2:]), d.order.Uint32(e[4:]), e[8:12:12]}
		}
	}
	if b, err = s.at(at+2+12*int64(n), 4); err != nil {
		return l, err
	}
	next := d.order.Uint32(b)
	if next != 0 && int64(next)+2 > s.size {
		return l, errShort
	}
	var w, h, rows, format, planar, fax, turn, subfile uint32
	var tw, th uint32
	for _, f := range []struct {
		to        *uint32
		tag       uint16
		otherwise uint32
	}{
		{&w, tagWidth, 0}, {&h, tagHeight, 0}, {&l.compression, tagCompression, uncompressed}, {&l.photometric, tagPhotometric, 1 << 31}, {&l.fill, tagFill, 1},
		{&rows, tagRows, 1<<32 - 1}, {&planar, tagPlanar, 1}, {&fax, tagFax, 0}, {&l.predictor, tagPredictor, 1}, {&tw, tagTileWidth, 0}, {&th, tagTileHeight, 0},
		{&l.extra, tagExtra, 0}, {&format, tagFormat, 1}, {&turn, tagOrientation, 1}, {&subfile, tagSubfile, 0},
	} {
		if *f.to, err = d.value(f.tag, f.otherwise); err != nil {
			return l, err
		}
	}
	if err = a.measure(w, h); err != nil {
		return l, err
	}
	l.width, l.height = a.Width, a.Height
	if turn >= 1 && turn <= 8 {
		a.Orientation = int(turn)
	}
	bits, err := d.values(tagBits, 16)
	if err != nil {
		return l, err
	}
	if len(bits) == 0 {
		bits = []uint32{1}
	}
	samples, err := d.value(tagSamples, uint32(len(bits)))
	if err != nil {
		return l, err
	}
	for len(bits) == 1 && samples > 1 && samples <= 4 { // told once for all
		bits = slices.Repeat(bits, int(samples))
	}
	if err = a.sort(l.photometric, bits, samples, l.extra, format); err != nil {
		return l, err
	}
	l.bits, l.samples = int(bits[0]), int(samples)
	switch l.compression {
	case 0:
		l.compression = uncompressed
	case uncompressed, lzw, deflate, deflateOld, packBits:
	case groupThree, groupFour:
		if l.bits != 1 || l.samples != 1 || fax&1 != 0 {
			return l, refuse("This TIFF is compressed as a fax, in a way that is not read here.", repack)
		}
	case 6, 7:
		return l, refuse("This TIFF has JPEG compression inside, which is not read here.", repack)
	default:
		return l, refuse("This TIFF is compressed in a way that is not read here.", repack)
	}
	switch {
	case l.samples > 1 && planar != 1:
		return l, refuse("This TIFF keeps its channels apart (planar), which is not read here.", "Save it with its channels interleaved, or as PNG.")
	case l.predictor != 1 && (l.predictor != 2 || l.bits == 1):
		return l, refuse("This TIFF is compressed in a way that is not read here.", repack)
	case l.fill != 1 && l.compression != groupThree && l.compression != groupFour:
		return l, refuse("This TIFF has its bits in reverse order, which is not read here.", repack)
	case subfile&1 != 0:
		return l, refuse("The first picture in this TIFF is a small preview of another one.", "Export the picture itself, alone, as TIFF, PNG or JPEG.")
	}
	if l.photometric == palette {
		if l.colours, err = d.values(tagColours, 3*256); err != nil {
			return l, err
		}
		if len(l.colours) != 3<<l.bits {
			return l, damaged("its palette is not whole")
		}
	}
	if err = l.blocks(d, rows, tw, th); err != nil {
		return l, err
	}
	if l.bits == 16 {
		a.note("The file has 16 bits in each channel; it is sent as PNG with 8.")
	}
	if next != 0 || subfile&2 != 0 {
		a.note("There is more than one picture in the file; only the first is taken.")
	}
	if f, ok := d.fields[tagProfile]; ok {
		if f.count > MaxProfile {
			return l, errProfileLarge
		}
		if f.count <= 4 {
			a.flawed("it does not start as a profile does")
			return l, nil
		}
		raw, err := s.all(int64(d.order.Uint32(f.value)), int(f.count))
		if err != nil {
			return l, err
		}
		return l, a.profile(raw)
	}
	return l, nil
}

// sort takes what a pixel is made of.
func (a *About) sort(photometric uint32, bits []uint32, samples, extra, format uint32) error {
	switch photometric {
	case whiteIsZero, blackIsZero:
		a.Model = "grey"
	case directRGB:
		a.Model = "rgb"
	case palette:
		a.Model = "indexed"
	case inks:
		return errInk
	case 6:
		return refuse("This TIFF is in YCbCr, which is not read here.", flatten)
	case 8, 9, 10:
		return refuse("The picture is in Lab, which browsers do not show.", "Convert it to RGB with its profile and send that.")
	case 32803, 34892:
		return refuse("This is a camera's raw file, not yet a picture.", "Develop it and send the result as TIFF or JPEG.")
	default:
		return refuse("This TIFF has pixels of a sort that is not read here.", flatten)
	}
	if format != 1 {
		return refuse("This TIFF has pixels of fractions or signed numbers, which are not read here.", flatten)
	}
	for _, b := range bits {
		if b != bits[0] {
			return refuse("This TIFF has channels of different depth, which are not read here.", flatten)
		}
	}
	a.Bits = int(bits[0])
	deep := a.Bits == 8 || a.Bits == 16
	if a.Model == "grey" && !deep && a.Bits != 1 || a.Model == "rgb" && !deep || a.Model == "indexed" && a.Bits != 8 && a.Bits != 1 {
		return refuse(fmt.Sprintf("This TIFF has %d bits in each channel, which are not read here.", a.Bits), flatten)
	}
	if int(samples) != len(bits) {
		return damaged("it tells two numbers of channels")
	}
	switch {
	case a.Model == "rgb" && samples == 3, a.Model != "rgb" && samples == 1:
	case a.Model == "rgb" && samples == 4 && (extra == premultiplied || extra == straight):
		a.Alpha = true
	case a.Model == "grey" && samples == 2:
		return refuse("This TIFF has greys with transparency, which are not read here.", flatten)
	default:
		return refuse("This TIFF has more channels than its colours need.", flatten)
	}
	if a.Model == "indexed" {
		a.Bits = 8
	}
	return nil
}

// blocks takes where the pixels lie, and refuses a file that does not hold them.
func (l *layout) blocks(d directory, rows, tw, th uint32) (err error) {
	where, lengths := uint16(tagStrips), uint16(tagStripBytes)
	l.blockWidth, l.blockHeight = l.width, int(min(rows, uint32(l.height)))
	if tw != 0 || th != 0 {
		if tw < 8 || th < 8 || tw > 2048 || th > 2048 {
			return refuse("This TIFF is made of tiles of a size that is not read here.", repack)
		}
		where, lengths = tagTiles, tagTileBytes
		l.tiled, l.blockWidth, l.blockHeight = true, int(tw), int(th)
	}
	if l.blockHeight == 0 {
		return damaged("its strips have no rows")
	}
	n := l.across() * l.down()
	if l.offsets, err = d.values(where, n); err != nil {
		return err
	}
	if l.counts, err = d.values(lengths, n); err != nil {
		return err
	}
	if len(l.offsets) != n {
		return damaged("it does not say where its pixels are")
	}
	if l.counts == nil && l.compression == uncompressed {
		l.counts = make([]uint32, n)
		for i := range l.counts {
			l.counts[i] = uint32(l.row(l.blockWidth) * l.rows(i/l.across()))
		}
	}
	if len(l.counts) != n {
		return damaged("it does not say where its pixels are")
	}
	for i, at := range l.offsets {
		need := int64(l.row(l.blockWidth)) * int64(l.rows(i/l.across()))
		have := int64(l.counts[i])
		if int64(at)+have > d.s.size {
			return errShort
		}
		if have*most[l.compression] < need {
			return damaged("it holds fewer pixels than it says")
		}
		l.counts[i] = uint32(min(have, 2*need+4096)) // no packing doubles what it packs; blocks that overlap would be read over and over
	}
	return nil
}
