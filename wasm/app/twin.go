package app

import (
	"context"
	"encoding/base64"
	"encoding/binary"
	"hash/crc32"
	"io"
	"math"

	"github.com/a-h/templ"

	"example.org/plumb/colour"
	"example.org/plumb/colour/transfer"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// Whether a browser honours the colour profile in a picture is seen by two small pictures. The plain one has no profile. Its twin has red and green
// exchanged in every pixel, and a profile that says that red and green are exchanged: shown as it says, it looks like the plain one.

// twinSide is the side of both pictures in pixels.
const twinSide = 16

// twinColours are the four quarters of the plain picture, row by row. No channel equals another where they are to be told apart.
var twinColours = [4][3]uint8{{200, 60, 50}, {60, 150, 70}, {60, 80, 170}, {210, 170, 60}}

// Picture is the twin as a PNG, for the browser to decode. See App.Decoded.
func Picture() []byte { return twin(true) }

// twin is the plain picture, or the one with a profile.
func twin(profiled bool) []byte {
	row := 1 + 3*twinSide
	raw := make([]byte, 0, row*twinSide)
	for y := range twinSide {
		raw = append(raw, 0) // no filter
		for x := range twinSide {
			c := twinColours[2*(2*y/twinSide)+2*x/twinSide]
			if profiled {
				c[0], c[1] = c[1], c[0]
			}
			raw = append(raw, c[:]...)
		}
	}
	var head [13]byte
	binary.BigEndian.PutUint32(head[:], twinSide)
	binary.BigEndian.PutUint32(head[4:], twinSide)
	head[8], head[9] = 8, 2 // bits, truecolour
	b := append([]byte("\x89PNG\r\n\x1a\n"), chunk("IHDR", head[:])...)
	if profiled {
		b = append(b, chunk("iCCP", append([]byte("exchanged\x00\x00"), packed(exchanged())...))...)
	}
	b = append(b, chunk("IDAT", packed(raw))...)
	return append(b, chunk("IEND", nil)...)
}

// chunk is a chunk of PNG (ISO/IEC 15948).
func chunk(kind string, data []byte) []byte {
	b := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	b = append(append(b, kind...), data...)
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[4:]))
}

// packed is data in the zlib format (RFC 1950) without compression, in one block of RFC 1951: at most 65535 bytes.
func packed(data []byte) []byte {
	b := []byte{0x78, 0x01, 1}
	b = binary.LittleEndian.AppendUint16(b, uint16(len(data)))
	b = binary.LittleEndian.AppendUint16(b, ^uint16(len(data)))
	b = append(b, data...)
	one, two := uint32(1), uint32(0) // Adler-32
	for _, v := range data {
		one = (one + uint32(v)) % 65521
		two = (two + one) % 65521
	}
	return binary.BigEndian.AppendUint32(b, two<<16|one)
}

// exchanged is an ICC profile of version 2.1 (ICC.1:1998-09): sRGB with its red and green exchanged. The curve is a table, which every reader of version 2
// knows.
func exchanged() []byte {
	fixed := func(b []byte, v float64) []byte { // s15Fixed16Number
		return binary.BigEndian.AppendUint32(b, uint32(int32(math.Round(v*65536))))
	}
	xyz := func(c colour.XYZ) []byte {
		b := []byte("XYZ \x00\x00\x00\x00")
		return fixed(fixed(fixed(b, c.X), c.Y), c.Z)
	}
	text := func(s string) []byte { // textDescriptionType: ASCII, and neither Unicode nor ScriptCode
		b := binary.BigEndian.AppendUint32([]byte("desc\x00\x00\x00\x00"), uint32(len(s)+1))
		b = append(append(b, s...), 0)
		return append(b, make([]byte, 4+4+2+1+67)...)
	}
	// The connection space is relative to D50; its white in the header's own rounding.
	white := colour.XYZ{X: 0.9642, Y: 1, Z: 0.8249}
	light := func(r, g, b float64) []byte {
		return xyz(colour.Bradford(colour.SRGB.White(), white).Apply(colour.SRGB.XYZ(colour.RGB{R: r, G: g, B: b})))
	}
	curve := binary.BigEndian.AppendUint32([]byte("curv\x00\x00\x00\x00"), 256)
	for v := range 256 {
		curve = binary.BigEndian.AppendUint16(curve, uint16(math.Round(65535*transfer.SRGB{}.Light(float64(v)/255))))
	}
	tags := []struct {
		name string
		data []byte
	}{
		{"desc", text("sRGB with red and green exchanged")},
		{"cprt", []byte("text\x00\x00\x00\x00No copyright\x00")},
		{"wtpt", xyz(white)},
		{"rXYZ", light(0, 1, 0)}, {"gXYZ", light(1, 0, 0)}, {"bXYZ", light(0, 0, 1)},
		{"rTRC", curve}, {"gTRC", nil}, {"bTRC", nil}, // the same table
	}
	table := binary.BigEndian.AppendUint32(nil, uint32(len(tags)))
	var data []byte
	at, size := 0, 0
	for _, t := range tags {
		if t.data != nil {
			for len(data)%4 != 0 {
				data = append(data, 0)
			}
			at, size = 128+4+12*len(tags)+len(data), len(t.data)
			data = append(data, t.data...)
		}
		table = append(table, t.name...)
		table = binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(table, uint32(at)), uint32(size))
	}
	h := make([]byte, 128)
	binary.BigEndian.PutUint32(h, uint32(128+len(table)+len(data)))
	binary.BigEndian.PutUint32(h[8:], 0x02100000)
	copy(h[12:], "mntrRGB XYZ ")
	for i, v := range []uint16{2026, 1, 1, 0, 0, 0} {
		binary.BigEndian.PutUint16(h[24+2*i:], v)
	}
	copy(h[36:], "acsp")
	copy(h[68:], fixed(fixed(fixed(nil, white.X), white.Y), white.Z))
	return append(append(h, table...), data...)
}

// Decoded takes the pixels that the browser makes of Picture: RGBA, row by row. Nothing where it could not be decoded or read.
func (a *App) Decoded(pixels []byte) {
	a.profile = honoured(pixels)
	if a.stage == Prepare && !a.lines {
		a.refresh()
	}
}

// honoured says whether decoded pixels are those of the plain picture or those of the file; empty when they are neither.
func honoured(pixels []byte) string {
	if len(pixels) != 4*twinSide*twinSide {
		return ""
	}
	// Rounding in the conversion, and noise of a browser that adds some.
	const near = 12
	plain, raw := true, true
	for i, c := range twinColours {
		x, y := twinSide/4+i%2*twinSide/2, twinSide/4+i/2*twinSide/2
		p := pixels[4*(y*twinSide+x):]
		for k := range 3 {
			plain = plain && math.Abs(float64(p[k])-float64(c[k])) <= near
			raw = raw && math.Abs(float64(p[k])-float64(c[[3]int{1, 0, 2}[k]])) <= near
		}
	}
	switch {
	case plain:
		return "honoured"
	case raw:
		return "ignored"
	}
	return ""
}

// twins are both pictures with the question whether they look the same.
func (a *App) twins() templ.Component {
	show := templ.ComponentFunc(func(_ context.Context, w io.Writer) error {
		html := `<p class="twins">`
		for i, p := range [][]byte{twin(false), twin(true)} {
			html += `<img width="112" height="112" alt="` + [2]string{words.Say("Four colours"), words.Say("The same four colours, with a profile")}[i] + `" src="data:image/png;base64,` + base64.StdEncoding.EncodeToString(p) + `">&emsp;`
		}
		_, err := io.WriteString(w, html+`</p>`)
		return err
	})
	return besides(show, pages.Rows([]pages.Question{{
		Name: "twin", Label: words.Say("Do both pictures look the same?"), Advice: words.Say("The second one carries a colour profile that the browser has to honour."),
		Options: options(a.form.twin, "yes", words.Say("Yes"), "no", words.Say("No"), "", words.Say("Can't tell")),
	}}))
}
