package app

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"image/png"
	"io"
	"math"
	"strings"
	"testing"

	"rsc.io/qr"

	"example.org/plumb/colour"
)

// pixels are the codes of a PNG as they are in the file.
func pixels(t *testing.T, b []byte) []byte {
	t.Helper()
	m, err := png.Decode(bytes.NewReader(b)) // which checks every sum, and takes no notice of profiles
	if err != nil {
		t.Fatal(err)
	}
	var p []byte
	for y := m.Bounds().Min.Y; y < m.Bounds().Max.Y; y++ {
		for x := m.Bounds().Min.X; x < m.Bounds().Max.X; x++ {
			r, g, b, a := m.At(x, y).RGBA()
			p = append(p, byte(r>>8), byte(g>>8), byte(b>>8), byte(a>>8))
		}
	}
	return p
}

// profileOf is what is in the iCCP chunk of a PNG.
func profileOf(t *testing.T, b []byte) []byte {
	t.Helper()
	at := bytes.Index(b, []byte("iCCP"))
	if at < 0 {
		return nil
	}
	data := b[at+4 : at+4+int(binary.BigEndian.Uint32(b[at-4:]))]
	z, err := zlib.NewReader(bytes.NewReader(data[bytes.IndexByte(data, 0)+2:]))
	if err != nil {
		t.Fatal(err)
	}
	p, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// The twin read as its profile says is the plain picture: the profile is applied here by its own tables, as ICC.1 has it.
func TestTwinIsPlainByItsProfile(t *testing.T) {
	if profileOf(t, twin(false)) != nil {
		t.Error("the plain picture has a profile")
	}
	p := profileOf(t, Picture())
	if len(p) < 128 || int(binary.BigEndian.Uint32(p)) != len(p) || string(p[36:40]) != "acsp" || string(p[12:24]) != "mntrRGB XYZ " {
		t.Fatalf("no profile: % x", p[:min(len(p), 40)])
	}
	tag := func(name string) []byte {
		for i := range int(binary.BigEndian.Uint32(p[128:])) {
			e := p[132+12*i:]
			if at := binary.BigEndian.Uint32(e[4:]); string(e[:4]) == name {
				if at%4 != 0 {
					t.Errorf("%s begins at %d, which is no multiple of 4", name, at)
				}
				return p[at : at+binary.BigEndian.Uint32(e[8:])]
			}
		}
		t.Fatalf("no tag %s", name)
		return nil
	}
	xyz := func(b []byte) colour.XYZ {
		n := func(i int) float64 { return float64(int32(binary.BigEndian.Uint32(b[8+4*i:]))) / 65536 }
		return colour.XYZ{X: n(0), Y: n(1), Z: n(2)}
	}
	white := xyz(tag("wtpt"))
	sum := colour.XYZ{}
	var column [3]colour.XYZ
	for i, name := range []string{"rXYZ", "gXYZ", "bXYZ"} {
		column[i] = xyz(tag(name))
		sum.X, sum.Y, sum.Z = sum.X+column[i].X, sum.Y+column[i].Y, sum.Z+column[i].Z
	}
	if math.Abs(sum.X-white.X) > 3e-4 || math.Abs(sum.Y-white.Y) > 3e-4 || math.Abs(sum.Z-white.Z) > 3e-4 {
		t.Errorf("red, green and blue make %v and not the white %v", sum, white)
	}
	// sRGB adapted to D50, as the ICC publishes it: red 0.4361 0.2225 0.0139, green 0.3851 0.7169 0.0971 (from memory).
	if g := column[0]; math.Abs(g.X-0.3851) > 1e-3 || math.Abs(g.Y-0.7169) > 1e-3 {
		t.Errorf("the profile's red is %v and should be the green of sRGB", g)
	}
	curve := func(name string, v uint8) float64 {
		b := tag(name)
		return float64(binary.BigEndian.Uint16(b[12+2*int(v):])) / 65535
	}
	raw, plain := pixels(t, Picture()), pixels(t, twin(false))
	for i := 0; i < len(raw); i += 4 {
		l := [3]float64{curve("rTRC", raw[i]), curve("gTRC", raw[i+1]), curve("bTRC", raw[i+2])}
		var c colour.XYZ
		for k := range l {
			c.X, c.Y, c.Z = c.X+l[k]*column[k].X, c.Y+l[k]*column[k].Y, c.Z+l[k]*column[k].Z
		}
		s := colour.SRGB.RGB(colour.Bradford(white, colour.SRGB.White()).Apply(c))
		for k, v := range []float64{s.R, s.G, s.B} {
			if d := 255*v - float64(plain[i+k]); math.Abs(d) > 1 {
				t.Fatalf("pixel %d: channel %d is %.2f by the profile and %d in the plain picture", i/4, k, 255*v, plain[i+k])
			}
		}
	}
	for name, c := range map[string]struct {
		pixels []byte
		want   string
	}{"as it is": {raw, "ignored"}, "by its profile": {plain, "honoured"}, "nothing": {nil, ""}, "another": {make([]byte, len(raw)), ""}, "short": {raw[:8], ""}} {
		if got := honoured(c.pixels); got != c.want {
			t.Errorf("%s: %q", name, got)
		}
	}
}

func TestProfilesAreTold(t *testing.T) {
	h := begin(t, nil)
	h.app.Decoded(pixels(t, Picture()))
	if !strings.Contains(h.page["facts"], "profile in a picture is ignored") || strings.Count(h.page["facts"], "data:image/png;base64,") != 2 {
		t.Errorf("the page says %q", h.page["facts"])
	}
	h.app.Input("twin", "no")
	h.toIntro()
	if c := h.app.sitting.Conditions; c.Profile != "ignored" || c.Twin != "no" || !c.WideCanvas {
		t.Errorf("conditions: %+v", c)
	}
}

// What is drawn of a QR code is its dark modules and nothing else.
func TestQRCode(t *testing.T) {
	c, err := qr.Encode("http://127.0.0.1/check#white", qr.M)
	if err != nil {
		t.Fatal(err)
	}
	svg := drawn(c, "x")
	_, path, _ := strings.Cut(svg, `fill="#000000" d="`)
	path, _, _ = strings.Cut(path, `"`)
	dark := map[[2]int]bool{}
	for _, run := range strings.Split(strings.TrimSuffix(path, "z"), "z") {
		f := strings.FieldsFunc(run, func(r rune) bool { return strings.ContainsRune("M hv-", r) })
		n := make([]int, len(f))
		for i, s := range f {
			for _, r := range s {
				n[i] = 10*n[i] + int(r-'0')
			}
		}
		for x := range n[2] {
			dark[[2]int{n[0] + x, n[1]}] = true
		}
	}
	count := 0
	for y := range c.Size {
		for x := range c.Size {
			if c.Black(x, y) {
				count++
			}
			if dark[[2]int{x + quiet, y + quiet}] != c.Black(x, y) {
				t.Fatalf("module %d, %d is drawn wrong", x, y)
			}
		}
	}
	if len(dark) != count || count < 100 {
		t.Errorf("%d modules drawn, %d are dark", len(dark), count)
	}
}
