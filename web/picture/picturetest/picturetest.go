// Package picturetest puts colour profiles and orientations into picture files, and writes small profiles and TIFFs, for tests.
//
// It panics on what no test should give it. What it writes is sound unless it is told otherwise, and made without the code that it is there to test.
package picturetest

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"math"
)

// Profile is a matrix profile for colours, or one for greys, of version 2 (ICC.1:2001).
type Profile struct {
	Name      string
	Colorants [3][3]float64 // X, Y, Z of red, of green, of blue, adapted to D50; zero: for greys
	Curve     []uint16      // light of equally spaced signals, 65535 at full; one number alone is a gamma in 1/256
}

// Colorants as the profiles of these spaces have them: derived from the primaries of IEC 61966-2-1 and SMPTE EG 432-1 by Bradford's adaptation to D50.
var (
	SRGB      = Profile{"Orchard sRGB", [3][3]float64{{0.43604, 0.22248, 0.01392}, {0.38511, 0.71691, 0.09707}, {0.14305, 0.06061, 0.71391}}, foot()}
	DisplayP3 = Profile{"Orchard P3", [3][3]float64{{0.51512, 0.24119, -0.00105}, {0.29198, 0.69224, 0.04188}, {0.15710, 0.06657, 0.78407}}, foot()}
	// Swapped has the colorants of red and green exchanged: a browser that honours it shows red as green.
	Swapped = Profile{"Orchard swapped", [3][3]float64{SRGB.Colorants[1], SRGB.Colorants[0], SRGB.Colorants[2]}, foot()}
	// Linear takes signals for light, so that pictures come out much brighter.
	Linear = Profile{"Orchard linear", SRGB.Colorants, nil}
	Grey   = Profile{"Orchard grey", [3][3]float64{}, foot()}
)

// foot returns the curve of sRGB (IEC 61966-2-1) at 1024 signals.
func foot() []uint16 {
	c := make([]uint16, 1024)
	for i := range c {
		v := float64(i) / 1023
		if v <= 0.04045 {
			v /= 12.92
		} else {
			v = math.Pow((v+0.055)/1.055, 2.4)
		}
		c[i] = uint16(math.Round(65535 * v))
	}
	return c
}

func be16(v uint16) []byte { return binary.BigEndian.AppendUint16(nil, v) }
func be32(v uint32) []byte { return binary.BigEndian.AppendUint32(nil, v) }

func join(parts ...[]byte) []byte { return bytes.Join(parts, nil) }

func xyz(v [3]float64) []byte {
	b := []byte("XYZ \x00\x00\x00\x00")
	for _, x := range v {
		b = append(b, be32(uint32(int32(math.Round(x*65536))))...)
	}
	return b
}

// Bytes writes the profile.
func (p Profile) Bytes() []byte {
	curve := join([]byte("curv\x00\x00\x00\x00"), be32(uint32(len(p.Curve))))
	for _, v := range p.Curve {
		curve = append(curve, be16(v)...)
	}
	d50 := [3]float64{0.9642, 1, 0.8249}
	description := join([]byte("desc\x00\x00\x00\x00"), be32(uint32(len(p.Name)+1)), []byte(p.Name), make([]byte, 1+8+3+67))
	type tag struct {
		name string
		body []byte
	}
	space := "RGB "
	tags := []tag{{"desc", description}, {"cprt", []byte("text\x00\x00\x00\x00CC0\x00")}, {"wtpt", xyz(d50)}}
	if p.Colorants == ([3][3]float64{}) {
		space = "GRAY"
		tags = append(tags, tag{"kTRC", curve})
	} else {
		tags = append(tags, tag{"rXYZ", xyz(p.Colorants[0])}, tag{"gXYZ", xyz(p.Colorants[1])}, tag{"bXYZ", xyz(p.Colorants[2])},
			tag{"rTRC", curve}, tag{"gTRC", curve}, tag{"bTRC", curve})
	}
	head := make([]byte, 128)
	copy(head[8:], "\x02\x40\x00\x00mntr"+space+"XYZ ")
	copy(head[24:], join(be16(2026), be16(11), be16(1), make([]byte, 6), []byte("acsp")))
	copy(head[68:], xyz(d50)[8:])
	table, data := be32(uint32(len(tags))), []byte(nil)
	first := 128 + 4 + 12*len(tags)
	at := map[string]int{}
	for _, t := range tags {
		off, ok := at[string(t.body)] // curves are shared
		if !ok {
			off = first + len(data)
			at[string(t.body)] = off
			data = append(data, t.body...)
			data = append(data, make([]byte, -len(data)&3)...)
		}
		table = append(table, join([]byte(t.name), be32(uint32(off)), be32(uint32(len(t.body))))...)
	}
	b := join(head, table, data)
	copy(b, be32(uint32(len(b))))
	return b
}

// EXIF returns EXIF data that tells an orientation and no more, little endian.
func EXIF(orientation int) []byte {
	return join([]byte("II*\x00\x08\x00\x00\x00\x01\x00\x12\x01\x03\x00\x01\x00\x00\x00"), []byte{byte(orientation), byte(orientation >> 8), 0, 0}, make([]byte, 4))
}

// Segment returns a JPEG segment of marker 0xff, m.
func Segment(m byte, body []byte) []byte {
	return join([]byte{0xff, m}, be16(uint16(len(body)+2)), body)
}

// Pieces returns the segments that carry a profile in a JPEG, most bytes of it in each (65519 at the most).
func Pieces(profile []byte, most int) (segments [][]byte) {
	of := (len(profile) + most - 1) / most
	for i := range of {
		piece := profile[i*most : min((i+1)*most, len(profile))]
		segments = append(segments, Segment(0xe2, join([]byte("ICC_PROFILE\x00"), []byte{byte(i + 1), byte(of)}, piece)))
	}
	return segments
}

// Chunk returns a PNG chunk.
func Chunk(name string, body []byte) []byte {
	b := join(be32(uint32(len(body))), []byte(name), body)
	return append(b, be32(crc32.ChecksumIEEE(b[4:]))...)
}

// Packed returns the body of an iCCP chunk.
func Packed(profile []byte) []byte {
	b := bytes.NewBufferString("of the tests\x00\x00")
	z := zlib.NewWriter(b)
	z.Write(profile)
	z.Close()
	return b.Bytes()
}

// Embed puts a profile, unless it is nil, and an orientation, unless it is 0, into a JPEG or a PNG that has neither. The pixels stay as they are stored.
func Embed(file, profile []byte, orientation int) []byte {
	switch {
	case bytes.HasPrefix(file, []byte("\xff\xd8")):
		at := 2
		if file[3] == 0xe0 { // JFIF comes first
			at += 2 + int(binary.BigEndian.Uint16(file[4:]))
		}
		var more [][]byte
		if orientation != 0 {
			more = append(more, Segment(0xe1, join([]byte("Exif\x00\x00"), EXIF(orientation))))
		}
		more = append(more, Pieces(profile, 65519)...)
		return join(file[:at], join(more...), file[at:])
	case bytes.HasPrefix(file, []byte("\x89PNG")):
		var more [][]byte
		if profile != nil {
			more = append(more, Chunk("iCCP", Packed(profile)))
		}
		if orientation != 0 {
			more = append(more, Chunk("eXIf", EXIF(orientation)))
		}
		const header = 8 + 12 + 13
		return join(file[:header], join(more...), file[header:])
	}
	panic("picturetest: neither a JPEG nor a PNG")
}

// Field is a field of a TIFF's directory. A number of kind 1 (bytes), 3 (16 bits) or 4 (32 bits) each; Bytes, where given, stand instead.
type Field struct {
	Tag, Kind uint16
	Numbers   []uint32
	Bytes     []byte
}

// Order is binary.LittleEndian or binary.BigEndian.
type Order interface {
	binary.ByteOrder
	binary.AppendByteOrder
}

// TIFF is a TIFF of one directory.
type TIFF struct {
	Order   Order
	Fields  []Field  // in order of tags, without those that say where the strips or tiles lie
	Blocks  [][]byte // the strips or tiles
	Tiled   bool
	Another bool // claim that a second directory follows
}

// File writes it.
func (t TIFF) File() []byte {
	where, lengths := Field{Tag: 273, Kind: 4}, Field{Tag: 279, Kind: 4}
	if t.Tiled {
		where.Tag, lengths.Tag = 324, 325
	}
	for _, b := range t.Blocks {
		where.Numbers, lengths.Numbers = append(where.Numbers, 0), append(lengths.Numbers, uint32(len(b)))
	}
	var fields []Field
	for _, f := range append(append([]Field(nil), t.Fields...), where, lengths) {
		i := len(fields)
		for i > 0 && fields[i-1].Tag > f.Tag {
			i--
		}
		fields = append(fields[:i], append([]Field{f}, fields[i:]...)...)
	}
	width := map[uint16]int{1: 1, 3: 2, 4: 4, 7: 1}
	write := func(first uint32) (head []byte, size int) {
		head = t.Order.AppendUint16(nil, uint16(len(fields)))
		behind := 8 + 2 + 12*len(fields) + 4
		var data []byte
		for _, f := range fields {
			v := f.Bytes
			n := len(v)
			if v == nil {
				n = len(f.Numbers)
				for i, x := range f.Numbers {
					if f.Tag == where.Tag {
						x = first
						for _, b := range t.Blocks[:i] {
							x += uint32(len(b))
						}
					}
					switch width[f.Kind] {
					case 1:
						v = append(v, byte(x))
					case 2:
						v = t.Order.AppendUint16(v, uint16(x))
					case 4:
						v = t.Order.AppendUint32(v, x)
					}
				}
			}
			head = t.Order.AppendUint16(head, f.Tag)
			head = t.Order.AppendUint16(head, f.Kind)
			head = t.Order.AppendUint32(head, uint32(n))
			if len(v) > 4 {
				head = t.Order.AppendUint32(head, uint32(behind+len(data)))
				data = append(data, v...)
				data = append(data, make([]byte, len(data)&1)...)
			} else {
				head = append(head, append(v, 0, 0, 0, 0)[:4]...)
			}
		}
		next := uint32(0)
		if t.Another {
			next = 8
		}
		head = t.Order.AppendUint32(head, next)
		return append(head, data...), behind + len(data)
	}
	_, size := write(0)
	body, _ := write(uint32(size))
	head := []byte("II")
	if t.Order == Order(binary.BigEndian) {
		head = []byte("MM")
	}
	head = t.Order.AppendUint16(head, 42)
	head = t.Order.AppendUint32(head, 8)
	return join(head, body, join(t.Blocks...))
}

// Deep returns m as an RGB TIFF of 16 bits a channel, big endian, not packed, in strips of 16 rows, with a profile unless it is nil.
// Transparency is lost. The lower eight bits of each value repeat the upper ones.
func Deep(m image.Image, profile []byte, orientation int) []byte {
	r := m.Bounds()
	t := TIFF{Order: binary.BigEndian, Fields: []Field{
		{Tag: 256, Kind: 4, Numbers: []uint32{uint32(r.Dx())}}, {Tag: 257, Kind: 4, Numbers: []uint32{uint32(r.Dy())}}, {Tag: 258, Kind: 3, Numbers: []uint32{16, 16, 16}},
		{Tag: 259, Kind: 3, Numbers: []uint32{1}}, {Tag: 262, Kind: 3, Numbers: []uint32{2}}, {Tag: 274, Kind: 3, Numbers: []uint32{uint32(orientation)}},
		{Tag: 277, Kind: 3, Numbers: []uint32{3}}, {Tag: 278, Kind: 3, Numbers: []uint32{16}},
	}}
	if profile != nil {
		t.Fields = append(t.Fields, Field{Tag: 34675, Kind: 7, Bytes: profile})
	}
	for y := r.Min.Y; y < r.Max.Y; y += 16 {
		var strip []byte
		for j := y; j < min(y+16, r.Max.Y); j++ {
			for x := r.Min.X; x < r.Max.X; x++ {
				c := color.NRGBAModel.Convert(m.At(x, j)).(color.NRGBA)
				for _, v := range []byte{c.R, c.G, c.B} {
					strip = append(strip, v, v)
				}
			}
		}
		t.Blocks = append(t.Blocks, strip)
	}
	return t.File()
}
