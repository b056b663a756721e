package app

import (
	"bytes"
	"encoding/binary"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/plumb/colour"
)

var remake = flag.Bool("remake", false, "write testdata/calibrated anew")

// The screen "studio left" as it was calibrated: native gamma by channel, and by how much each is held back for white.
var (
	studioGamma = [3]float64{1.86, 1.9, 1.97}
	studioHeld  = [3]float64{1, 0.985, 0.94}
)

// studioAim is the gamma that it was calibrated to.
const studioAim = 2.2

// studioLevel is the level that the video card is to send for a signal: the screen's light at it is the aim's at the signal.
func studioLevel(channel int, signal float64) float64 {
	return studioHeld[channel] * math.Pow(signal, studioAim/studioGamma[channel])
}

// studioProfile writes its profile (ICC.1:2001, version 2.4): matrix and curves of sRGB's primaries, and a correction of 256 entries of 16 bits where it is asked for.
func studioProfile(name string, corrected bool) []byte {
	be32 := func(v uint32) []byte { return binary.BigEndian.AppendUint32(nil, v) }
	xyz := func(c colour.XYZ) []byte {
		b := []byte("XYZ \x00\x00\x00\x00")
		for _, v := range []float64{c.X, c.Y, c.Z} {
			b = append(b, be32(uint32(int32(math.Round(v*65536))))...)
		}
		return b
	}
	white := colour.SRGB.White()
	adapt := colour.Bradford(white, colour.XYZ{X: 0.9642, Y: 1, Z: 0.8249}) // the connection space's own rounding of D50
	primary := func(r, g, b float64) []byte { return xyz(adapt.Apply(colour.SRGB.XYZ(colour.RGB{R: r, G: g, B: b}))) }
	curve := append([]byte("curv\x00\x00\x00\x00"), be32(256)...)
	for v := range 256 {
		curve = binary.BigEndian.AppendUint16(curve, uint16(math.Round(65535*math.Pow(float64(v)/255, studioAim))))
	}
	type tag struct {
		name string
		body []byte
	}
	tags := []tag{
		{"desc", bytes.Join([][]byte{[]byte("desc\x00\x00\x00\x00"), be32(uint32(len(name) + 1)), []byte(name), make([]byte, 1+8+3+67)}, nil)},
		{"cprt", []byte("text\x00\x00\x00\x00CC0\x00")},
		{"wtpt", xyz(white)},
		{"lumi", xyz(colour.XYZ{Y: 160})},
		{"rXYZ", primary(1, 0, 0)}, {"gXYZ", primary(0, 1, 0)}, {"bXYZ", primary(0, 0, 1)},
		{"rTRC", curve}, {"gTRC", curve}, {"bTRC", curve},
	}
	if corrected {
		b := append([]byte("vcgt\x00\x00\x00\x00\x00\x00\x00\x00"), 0, 3, 1, 0, 0, 2)
		for c := range 3 {
			for v := range 256 {
				b = binary.BigEndian.AppendUint16(b, uint16(math.Round(65535*studioLevel(c, float64(v)/255))))
			}
		}
		tags = append(tags, tag{"vcgt", b})
	}
	head := make([]byte, 128)
	binary.BigEndian.PutUint32(head[8:], 0x02400000)
	copy(head[12:], "mntrRGB XYZ ")
	for i, v := range []uint16{2026, 11, 20, 9, 30, 0} {
		binary.BigEndian.PutUint16(head[24+2*i:], v)
	}
	copy(head[36:], "acsp")
	copy(head[68:], []byte{0, 0, 0xf6, 0xd6, 0, 1, 0, 0, 0, 0, 0xd3, 0x2d})
	at := 132 + 12*len(tags)
	table, data := be32(uint32(len(tags))), []byte(nil)
	for _, t := range tags {
		table = append(table, t.name...)
		table = append(append(table, be32(uint32(at+len(data)))...), be32(uint32(len(t.body)))...)
		data = append(data, t.body...)
		for len(data)%4 != 0 {
			data = append(data, 0)
		}
	}
	binary.BigEndian.PutUint32(head, uint32(at+len(data)))
	return append(append(head, table...), data...)
}

// studioReadings are readings of its patches in cd/m² as CGATS text: the light of codes by the aim's curve and sRGB's primaries, a little off, and off by noise of reading from seed.
func studioReadings(seed uint64) []byte {
	chance := rand.New(rand.NewPCG(seed, 1))
	var b strings.Builder
	b.WriteString("CGATS.17\n\nORIGINATOR \"orchard\"\nDESCRIPTOR \"studio left, after calibrating\"\nCREATED \"2026-11-20\"\nMEASUREMENT_SOURCE \"MeasurementCondition=emissive\"\n\n")
	b.WriteString("NUMBER_OF_FIELDS 7\nBEGIN_DATA_FORMAT\nSAMPLE_ID RGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\n\n")
	var list [][3]int
	for v := 0; v <= 255; v += 17 {
		list = append(list, [3]int{v, v, v})
	}
	for _, v := range []int{255, 170, 85} {
		for m := 1; m < 7; m++ {
			list = append(list, [3]int{m & 1 * v, m >> 1 & 1 * v, m >> 2 & 1 * v})
		}
	}
	// Skin, leaves, apples, sky, straw.
	list = append(list, [][3]int{{224, 172, 140}, {194, 140, 112}, {141, 98, 80}, {96, 66, 54}, {92, 108, 60}, {180, 60, 52}, {70, 96, 150}, {210, 190, 90}}...)
	fmt.Fprintf(&b, "NUMBER_OF_SETS %d\nBEGIN_DATA\n", len(list))
	for i, c := range list {
		light := func(k int) float64 {
			s := float64(c[k]) / 255
			gamma := studioAim + [3]float64{0.012, -0.008, 0.02}[k]
			return math.Pow(s, gamma) * (1 + 0.004*chance.NormFloat64())
		}
		x := colour.SRGB.XYZ(colour.SRGB.Signal(colour.RGB{R: light(0), G: light(1), B: light(2)}))
		const white, black = 158.2, 0.14
		fmt.Fprintf(&b, "%d %d %d %d %.4f %.4f %.4f\n", i+1, c[0], c[1], c[2], white*x.X*1.001+black*0.95, white*x.Y+black, white*x.Z*0.997+black*1.09)
	}
	b.WriteString("END_DATA\n")
	return []byte(b.String())
}

// The files of a calibrated screen, which the tests of the whole browser lay down, are what is written here.
func TestCalibratedFiles(t *testing.T) {
	for name, b := range map[string][]byte{
		"studio-left.icc": studioProfile("studio left, 20 November", true), "plain.icc": studioProfile("packing-room tablet", false),
		"studio-left.txt": studioReadings(1), "studio-left-again.txt": studioReadings(2),
	} {
		at := filepath.Join("..", "..", "testdata", "calibrated", name)
		if *remake {
			if err := os.WriteFile(at, b, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		if got, err := os.ReadFile(at); err != nil || !bytes.Equal(got, b) {
			t.Errorf("%s is not what is made here: %v; go test ./wasm/app -run TestCalibratedFiles -remake writes it anew", at, err)
		}
	}
}
