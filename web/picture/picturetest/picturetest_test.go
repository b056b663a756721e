package picturetest

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"image"
	"image/jpeg"
	"image/png"
	"math"
	"testing"

	"golang.org/x/image/tiff"
)

// TestProfiles: the profiles stay as they were when lcms2 2.14 (transicc -n -c0 -t1 -iFILE -o*XYZ) read them. It said, of red: 43.6035 22.2473 1.3916 (SRGB) and
// 51.5121 24.1196 -0.1053 (DisplayP3), and of grey 128: Y 21.5851 (SRGB), 21.5857 (DisplayP3), 21.5854 (Grey) and 50.1953 (Linear).
func TestProfiles(t *testing.T) {
	for name, p := range map[string]Profile{
		"25cda34232966ac7dc71d08a802570a46dce168db1f32a45abcf8eade2f203d5": SRGB, "16c5611b997d1cd5445fc5d26482ad6ebc5ce823193cd6f914d9d79ef1b8743a": DisplayP3, "e03f08f0ce49554d3848bda074c56300f740c0b4055495222b21b3c367bdb300": Grey, "1d72de06462431bfbf3af0ebdc62138118657eb9fa72f8e7324f7eee18bcb1b9": Linear,
	} {
		sum := sha256.Sum256(p.Bytes())
		if got := hex.EncodeToString(sum[:]); got != name {
			t.Errorf("%s: %s", p.Name, got)
		}
	}
	// IEC 61966-2-1 has 128 at 0.2158605 of full.
	if got := float64(SRGB.Curve[513])/65535 + (128.0/255*1023-513)*float64(SRGB.Curve[514]-SRGB.Curve[513])/65535; math.Abs(got-0.2158605) > 1e-5 {
		t.Errorf("128 is %g of full", got)
	}
}

// TestEmbed: what is embedded leaves the pixels alone.
func TestEmbed(t *testing.T) {
	m := image.NewYCbCr(image.Rect(0, 0, 30, 20), image.YCbCrSubsampleRatio420)
	for i := range m.Y {
		m.Y[i] = byte(i * 7)
	}
	var j, p bytes.Buffer
	jpeg.Encode(&j, m, nil)
	png.Encode(&p, m)
	large := append(SRGB.Bytes(), make([]byte, 200<<10)...)
	for name, b := range map[string][]byte{"JPEG": j.Bytes(), "PNG": p.Bytes()} {
		want, _, err := image.Decode(bytes.NewReader(b))
		if err != nil {
			t.Fatal(err)
		}
		for _, profile := range [][]byte{nil, SRGB.Bytes(), large} {
			file := Embed(b, profile, 6)
			got, _, err := image.Decode(bytes.NewReader(file))
			if err != nil || len(file) <= len(b) {
				t.Fatalf("%s: %d bytes become %d, %v", name, len(b), len(file), err)
			}
			for y := range 20 {
				for x := range 30 {
					if got.At(x, y) != want.At(x, y) {
						t.Fatalf("%s: pixel %d, %d is %v, not %v", name, x, y, got.At(x, y), want.At(x, y))
					}
				}
			}
		}
		if got := Embed(b, nil, 0); !bytes.Equal(got, b) {
			t.Errorf("%s: nothing embedded makes %d bytes of %d", name, len(got), len(b))
		}
	}
	if got := len(Pieces(large, 65519)); got != 4 {
		t.Errorf("%d pieces", got)
	}
}

// TestDeep: a TIFF of 16 bits decodes to the picture that it was made from.
func TestDeep(t *testing.T) {
	m := image.NewNRGBA(image.Rect(3, 4, 30, 44))
	for i := range m.Pix {
		if m.Pix[i] = byte(i * 31); i%4 == 3 {
			m.Pix[i] = 255
		}
	}
	file := Deep(m, SRGB.Bytes(), 1)
	if !bytes.HasPrefix(file, []byte("MM")) || !bytes.Contains(file, SRGB.Bytes()) {
		t.Error("not big endian, or without its profile")
	}
	got, err := tiff.Decode(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	for y := range 40 {
		for x := range 27 {
			r, g, b, _ := got.At(x, y).RGBA()
			c := m.NRGBAAt(x+3, y+4)
			if r != uint32(c.R)*257 || g != uint32(c.G)*257 || b != uint32(c.B)*257 {
				t.Fatalf("pixel %d, %d: %v, not %v", x, y, got.At(x, y), c)
			}
		}
	}
	if EXIF(7)[18] != 7 || binary.LittleEndian.Uint16(EXIF(7)[10:]) != 274 {
		t.Errorf("%x", EXIF(7))
	}
}
