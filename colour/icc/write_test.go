package icc

import (
	"bytes"
	"crypto/md5"
	"encoding/binary"
	"math"
	"unicode/utf16"

	"example.org/plumb/colour"
)

// The writers here make profiles to be read: by Little CMS once, whose results are kept, and by the tests.

type part struct {
	name string
	data []byte
}

type making struct {
	major, minor      byte
	class, space, pcs string
	id                bool
	parts             []part
}

func be(values ...any) []byte {
	var b bytes.Buffer
	for _, v := range values {
		switch v := v.(type) {
		case string:
			b.WriteString(v)
		case []byte:
			b.Write(v)
		default:
			if err := binary.Write(&b, binary.BigEndian, v); err != nil {
				panic(err)
			}
		}
	}
	return b.Bytes()
}

func fixed(v float64) int32 { return int32(math.Floor(v*65536 + 0.5)) }

func fixeds(v ...float64) []byte {
	var b []byte
	for _, x := range v {
		b = append(b, be(fixed(x))...)
	}
	return b
}

func padded(b []byte) []byte {
	for len(b)%4 != 0 {
		b = append(b, 0)
	}
	return b
}

func (m making) bytes() []byte {
	table := be(uint32(len(m.parts)))
	at := 132 + 12*len(m.parts)
	var data []byte
	for _, p := range m.parts {
		table = append(table, be(p.name, uint32(at), uint32(len(p.data)))...)
		d := padded(bytes.Clone(p.data))
		data = append(data, d...)
		at += len(d)
	}
	h := be(uint32(at), uint32(0), m.major, m.minor<<4, uint16(0), m.class, m.space, m.pcs,
		uint16(2026), uint16(11), uint16(28), uint16(9), uint16(30), uint16(0), "acsp", uint32(0), uint32(0), uint32(0), uint32(0), uint64(0), uint32(0),
		[]byte{0, 0, 0xf6, 0xd6, 0, 1, 0, 0, 0, 0, 0xd3, 0x2d}, "plmb", make([]byte, 44))
	all := append(append(h, table...), data...)
	if m.id {
		s := md5.Sum(all)
		copy(all[84:], s[:])
	}
	return all
}

func xyzTag(c colour.XYZ) []byte { return be("XYZ ", uint32(0), fixeds(c.X, c.Y, c.Z)) }

func para(function int, p ...float64) []byte {
	return be("para", uint32(0), uint16(function), uint16(0), fixeds(p...))
}

func curv(samples ...uint16) []byte {
	return be("curv", uint32(0), uint32(len(samples)), samples)
}

// ramp samples a function of [0,1].
func ramp(n int, f func(float64) float64) []uint16 {
	s := make([]uint16, n)
	for i := range s {
		s[i] = uint16(math.Floor(65535*min(max(f(float64(i)/float64(n-1)), 0), 1) + 0.5))
	}
	return s
}

func chadTag(m colour.Matrix) []byte {
	return be("sf32", uint32(0), fixeds(m[0][0], m[0][1], m[0][2], m[1][0], m[1][1], m[1][2], m[2][0], m[2][1], m[2][2]))
}

func text(s string) []byte { return be("text", uint32(0), s, byte(0)) }

func desc(s string) []byte {
	return be("desc", uint32(0), uint32(len(s)+1), s, byte(0), make([]byte, 8+3+67))
}

func mluc(codesAndTexts ...string) []byte {
	n := len(codesAndTexts) / 2
	b := be("mluc", uint32(0), uint32(n), uint32(12))
	at := 16 + 12*n
	var data []byte
	for i := range n {
		u := be(utf16.Encode([]rune(codesAndTexts[2*i+1])))
		b = append(b, be(codesAndTexts[2*i], uint32(len(u)), uint32(at+len(data)))...)
		data = append(data, u...)
	}
	return append(b, data...)
}

func dictTag(namesAndValues ...string) []byte {
	n := len(namesAndValues) / 2
	b := be("dict", uint32(0), uint32(n), uint32(16))
	at := 16 + 16*n
	var data []byte
	for _, s := range namesAndValues {
		u := be(utf16.Encode([]rune(s)))
		b = append(b, be(uint32(at+len(data)), uint32(len(u)))...)
		data = append(data, u...)
	}
	return append(b, data...)
}

// gridValues fills a grid of n points for each of the inputs.
func gridValues(n, in int, f func([]float64) []float64) (all []float64) {
	at := make([]int, in)
	for {
		v := make([]float64, in)
		for i := range v {
			v[i] = float64(at[i]) / float64(n-1)
		}
		all = append(all, f(v)...)
		i := in - 1
		for ; i >= 0; i-- {
			if at[i]++; at[i] < n {
				break
			}
			at[i] = 0
		}
		if i < 0 {
			return all
		}
	}
}

func to8(v []float64) (b []byte) {
	for _, x := range v {
		b = append(b, byte(math.Floor(255*min(max(x, 0), 1)+0.5)))
	}
	return b
}

func to16(v []float64) (b []byte) {
	for _, x := range v {
		b = append(b, be(uint16(math.Floor(65535*min(max(x, 0), 1)+0.5)))...)
	}
	return b
}

// mft writes a lut8Type or lut16Type with the same table for each input and for each output.
func mft(eight bool, in, out, n int, input, output func(float64) float64, entries int, f func([]float64) []float64) []byte {
	b := be("mft2", uint32(0), byte(in), byte(out), byte(n), byte(0), fixeds(1, 0, 0, 0, 1, 0, 0, 0, 1))
	encode := to16
	if eight {
		b[3], encode, entries = '1', to8, 256
	} else {
		b = append(b, be(uint16(entries), uint16(entries))...)
	}
	table := func(f func(float64) float64) (v []float64) {
		for i := range entries {
			v = append(v, f(float64(i)/float64(entries-1)))
		}
		return v
	}
	for range in {
		b = append(b, encode(table(input))...)
	}
	b = append(b, encode(gridValues(n, in, f))...)
	for range out {
		b = append(b, encode(table(output))...)
	}
	return b
}

// modular writes a lutAToBType or lutBToAType. Parts that are nil are left out.
func modular(kind string, in, out int, b, m, a [][]byte, matrix []float64, grid []byte) []byte {
	x := be(kind, uint32(0), byte(in), byte(out), uint16(0), make([]byte, 20))
	put := func(i int, data []byte) {
		if data == nil {
			return
		}
		binary.BigEndian.PutUint32(x[12+4*i:], uint32(len(x)))
		x = append(x, padded(data)...)
	}
	set := func(c [][]byte) (all []byte) {
		for _, one := range c {
			all = append(all, padded(one)...)
		}
		return all
	}
	put(0, set(b))
	if matrix != nil {
		put(1, fixeds(matrix...))
	}
	put(2, set(m))
	put(3, grid)
	put(4, set(a))
	return x
}

func clut(points []int, precision int, values []byte) []byte {
	h := make([]byte, 20)
	for i, p := range points {
		h[i] = byte(p)
	}
	h[16] = byte(precision)
	return append(h, values...)
}

// pcsLab is what an sRGB screen with a warm tint and some crosstalk shows, against D50.
func pcsLab(v []float64) colour.Lab {
	to := colour.Bradford(colour.SRGB.White(), D50)
	c := to.Apply(colour.SRGB.XYZ(colour.RGB{R: v[0], G: v[1], B: v[2]})).Lab(D50)
	c.A += 2 * math.Sin(3*v[0]*v[1])
	c.B += 4 * v[2] * (1 - v[2])
	return c
}

func encode4(c colour.Lab) []float64 {
	return []float64{c.L / 100, (c.A + 128) / 255, (c.B + 128) / 255}
}

func encode2(c colour.Lab) []float64 {
	e := encode4(c)
	for i := range e {
		e[i] *= 65280.0 / 65535
	}
	return e
}

func encodeXYZ(c colour.XYZ) []float64 {
	return []float64{c.X / wide, c.Y / wide, c.Z / wide}
}

func decode4(v []float64) colour.Lab {
	return colour.Lab{L: 100 * v[0], A: 255*v[1] - 128, B: 255*v[2] - 128}
}

// ink is a press of four inks, roughly.
func ink(v []float64) colour.Lab {
	c, m, y, k := v[0], v[1], v[2], v[3]
	x := colour.XYZ{
		X: D50.X * (1 - 0.85*c) * (1 - 0.55*m) * (1 - 0.08*y) * (1 - 0.97*k) * 0.9,
		Y: D50.Y * (1 - 0.70*c) * (1 - 0.80*m) * (1 - 0.05*y) * (1 - 0.97*k) * 0.9,
		Z: D50.Z * (1 - 0.40*c) * (1 - 0.65*m) * (1 - 0.90*y) * (1 - 0.97*k) * 0.85,
	}
	return x.Lab(D50)
}

func same(n int, b []byte) (all [][]byte) {
	for range n {
		all = append(all, b)
	}
	return all
}

var srgbCurve = para(3, 2.4, 1/1.055, 0.055/1.055, 1/12.92, 0.04045)

func colorants(s *colour.Space) (p []part) {
	m := colour.Bradford(s.White(), D50).Times(s.Matrix())
	for j, n := range []string{"rXYZ", "gXYZ", "bXYZ"} {
		p = append(p, part{n, xyzTag(colour.XYZ{X: m[0][j], Y: m[1][j], Z: m[2][j]})})
	}
	return p
}

// made are the profiles that stand in testdata/icc/made, by name.
func made() map[string]making {
	d65 := colour.SRGB.White()
	chad := part{"chad", chadTag(colour.Bradford(d65, D50))}
	white := part{"wtpt", xyzTag(D50)}
	rights := part{"cprt", mluc("enUS", "made for tests; no rights reserved")}
	name := func(s string) part { return part{"desc", mluc("enGB", s)} }
	gamma := func(g float64) func(float64) float64 { return func(x float64) float64 { return math.Pow(x, g) } }
	flat := func(x float64) float64 { return x }
	lab4 := func(v []float64) []float64 { return encode4(pcsLab(v)) }
	lab2 := func(v []float64) []float64 { return encode2(pcsLab(v)) }
	xyz := func(v []float64) []float64 { return encodeXYZ(pcsLab(v).XYZ(D50)) }
	back4 := func(v []float64) []float64 {
		c := colour.SRGB.RGB(colour.Bradford(D50, d65).Apply(decode4(v).XYZ(D50)))
		return []float64{c.R, c.G, c.B}
	}
	back2 := func(v []float64) []float64 {
		w := make([]float64, 3)
		for i := range w {
			w[i] = v[i] * 65535 / 65280
		}
		return back4(w)
	}
	v2 := func(s string, white colour.XYZ) []part {
		return []part{{"desc", desc(s)}, {"cprt", text("made for tests; no rights reserved")}, {"wtpt", xyzTag(white)}}
	}
	join := func(p ...[]part) (all []part) {
		for _, x := range p {
			all = append(all, x...)
		}
		return all
	}
	all := map[string]making{}

	all["display-p3"] = making{4, 4, "mntr", "RGB ", "XYZ ", true, join([]part{
		{"desc", mluc("enGB", "Display P3 for tests", "deDE", "Display P3 für Prüfungen", "jaJP", "試験用 Display P3", "frCA", "Écran P3 \U0001F34E")},
		rights, white, chad, {"cicp", be("cicp", uint32(0), byte(12), byte(13), byte(0), byte(1))},
		{"lumi", xyzTag(colour.XYZ{Y: 158.25})}, {"calt", be("dtim", uint32(0), uint16(2026), uint16(11), uint16(27), uint16(17), uint16(5), uint16(9))},
		{"tech", be("sig ", uint32(0), "AMD ")},
		{"meta", dictTag("display", "studio left", "Blätter", "Äpfel")},
		{"rTRC", srgbCurve}, {"gTRC", srgbCurve}, {"bTRC", srgbCurve},
	}, colorants(colour.DisplayP3))}

	// Each channel another parametric function, and a measured white of version 2.
	all["curves"] = making{4, 2, "scnr", "RGB ", "XYZ ", false, join([]part{
		name("parametric curves"), rights, {"wtpt", xyzTag(colour.XYZ{X: 0.90, Y: 0.94, Z: 0.75})},
		{"rTRC", para(1, 2.2, 0.95, 0.05)}, {"gTRC", para(2, 2.0, 0.9, 0.02, 0.03)}, {"bTRC", para(4, 2.4, 0.9475, 0.052, 0.077, 0.0405, 0.001, 0.0005)},
	}, colorants(colour.SRGB))}
	all["samples"] = making{2, 1, "mntr", "RGB ", "XYZ ", false, join(v2("sampled curves", d65), []part{
		{"rTRC", curv(ramp(1024, gamma(2.2))...)}, {"gTRC", curv(ramp(17, gamma(1.8))...)}, {"bTRC", curv(589)},
		{"vcgt", be("vcgt", uint32(0), uint32(0), uint16(3), uint16(256), uint16(2), ramp(256, flat), ramp(256, gamma(1.1)), ramp(256, func(x float64) float64 { return 0.85 * x }))},
	}, colorants(colour.SRGB))}
	all["formula"] = making{2, 4, "mntr", "RGB ", "XYZ ", false, join(v2("correction by formula", d65), []part{
		{"rTRC", curv()}, {"gTRC", curv()}, {"bTRC", curv()},
		{"vcgt", be("vcgt", uint32(0), uint32(1), fixeds(1, 0, 1, 1.2, 0.01, 0.95, 0.9, 0, 0.8))},
	}, colorants(colour.AdobeRGB))}
	all["grey"] = making{4, 3, "mntr", "GRAY", "XYZ ", false, []part{name("grey"), rights, {"wtpt", xyzTag(D50)}, {"kTRC", para(0, 2.2)}}}

	all["mft1-lab"] = making{2, 4, "mntr", "RGB ", "Lab ", false, join(v2("lut8", d65), []part{{"A2B0", mft(true, 3, 3, 9, gamma(0.9), gamma(1), 256, lab4)}, {"B2A0", mft(true, 3, 3, 9, flat, flat, 256, back4)}})}
	all["mft2-lab"] = making{2, 4, "mntr", "RGB ", "Lab ", false, join(v2("lut16", d65), []part{{"A2B0", mft(false, 3, 3, 9, gamma(0.9), gamma(1), 300, lab2)}, {"B2A0", mft(false, 3, 3, 9, flat, gamma(0.9), 77, back2)}})}
	all["mft2-xyz"] = making{4, 2, "mntr", "RGB ", "XYZ ", false, []part{name("lut16 to XYZ"), rights, white, chad, {"A2B0", mft(false, 3, 3, 17, gamma(1.5), flat, 1024, func(v []float64) []float64 {
		return xyz([]float64{math.Pow(v[0], 1/1.5), math.Pow(v[1], 1/1.5), math.Pow(v[2], 1/1.5)})
	})}}}
	all["mft2-v4"] = making{4, 3, "scnr", "RGB ", "Lab ", true, []part{name("lut16 in version 4"), rights, {"wtpt", xyzTag(colour.XYZ{X: 0.85, Y: 0.88, Z: 0.70})},
		{"A2B0", mft(false, 3, 3, 5, gamma(0.9), flat, 2, lab2)}, {"A2B1", mft(false, 3, 3, 7, flat, flat, 2, lab2)}}}

	all["mab-lab"] = making{4, 4, "mntr", "RGB ", "Lab ", true, []part{name("lutAToB"), rights, white, chad,
		{"A2B0", modular("mAB ", 3, 3, same(3, para(0, 1)), same(3, curv(ramp(33, flat)...)), [][]byte{para(0, 0.9), curv(ramp(64, gamma(0.95))...), curv()},
			[]float64{0.98, 0.01, 0, 0, 0.99, 0.005, 0.004, 0, 0.98, 0.001, 0.002, 0.003}, clut([]int{9, 11, 7}, 2, to16(gridOf([]int{9, 11, 7}, lab4))))},
		{"B2A0", modular("mBA ", 3, 3, same(3, curv()), same(3, curv(ramp(16, flat)...)), [][]byte{para(0, 1.1), curv(ramp(64, gamma(0.9))...), curv()},
			[]float64{1.01, 0, 0, 0, 1, 0, 0, -0.01, 1, 0, 0, 0.001}, clut([]int{13, 13, 13}, 2, to16(gridValues(13, 3, back4))))}}}
	all["mab-even"] = making{4, 4, "scnr", "RGB ", "Lab ", true, []part{name("lutAToB with an even grid of 8 bits"), rights, white,
		{"A2B0", modular("mAB ", 3, 3, same(3, para(0, 1)), same(3, curv()), [][]byte{para(0, 0.9), curv(ramp(64, gamma(0.95))...), curv()},
			[]float64{0.98, 0.01, 0, 0, 0.99, 0.005, 0.004, 0, 0.98, 0.001, 0.002, 0.003}, clut([]int{9, 9, 9}, 1, to8(gridValues(9, 3, lab4))))}}}
	// A matrix and curves as lutAToB, to XYZ: the matrix gives XYZ over 1.99997.
	m := colour.Bradford(d65, D50).Times(colour.SRGB.Matrix())
	var e []float64
	for i := range 3 {
		for j := range 3 {
			e = append(e, m[i][j]/wide)
		}
	}
	all["mab-matrix"] = making{4, 3, "mntr", "RGB ", "XYZ ", false, []part{name("lutAToB, matrix alone"), rights, white, chad,
		{"A2B0", modular("mAB ", 3, 3, same(3, curv()), same(3, srgbCurve), nil, append(e, 0, 0, 0), nil)}}}
	// Curves that leave [0,1] before a matrix that brings values back.
	all["mab-beyond"] = making{4, 4, "mntr", "RGB ", "XYZ ", false, []part{name("lutAToB beyond its range"), rights, white, chad,
		{"A2B0", modular("mAB ", 3, 3, same(3, para(0, 1)), same(3, para(4, 1, 2, -0.4, 2, -10, 0, 0)), same(3, curv()),
			[]float64{0.2, 0.05, 0.01, 0.03, 0.2, 0.02, 0, 0.04, 0.15, 0.15, 0.16, 0.12}, clut([]int{2, 2, 2}, 2, to16(gridValues(2, 3, func(v []float64) []float64 { return v }))))}}}
	all["mab-cmyk"] = making{4, 2, "prtr", "CMYK", "Lab ", false, []part{name("four inks"), rights, {"wtpt", xyzTag(ink([]float64{0, 0, 0, 0}).XYZ(D50))},
		{"A2B0", modular("mAB ", 4, 3, same(3, curv()), nil, same(4, para(0, 1.2)), nil, clut([]int{5, 6, 5, 4}, 1, to8(gridOf([]int{5, 6, 5, 4}, func(v []float64) []float64 { return encode4(ink(v)) }))))},
		{"B2A0", modular("mBA ", 3, 4, same(3, curv()), nil, same(4, curv()), nil, clut([]int{6, 7, 8}, 2, to16(gridOf([]int{6, 7, 8}, func(v []float64) []float64 {
			k := 1 - v[0]
			return []float64{k * 0.8, k * v[1], k * v[2], k * k}
		}))))}}}
	all["mft2-cmyk"] = making{2, 4, "prtr", "CMYK", "Lab ", false, join(v2("four inks, lut16", ink([]float64{0, 0, 0, 0}).XYZ(D50)), []part{
		{"A2B0", mft(false, 4, 3, 5, flat, flat, 256, func(v []float64) []float64 { return encode2(ink(v)) })},
		{"B2A0", mft(false, 3, 4, 5, flat, flat, 256, func(v []float64) []float64 { return []float64{1 - v[0], v[1], v[2], 0.5 - v[0]/2} })}})}
	all["space"] = making{4, 4, "spac", "RGB ", "Lab ", false, []part{name("a colour space"), rights, white,
		{"A2B0", modular("mAB ", 3, 3, same(3, curv()), nil, same(3, para(3, 1/2.2, 1, 0, 1, 0)), nil, clut([]int{2, 2, 2}, 2, to16(gridValues(2, 3, func(v []float64) []float64 {
			return []float64{0.3*v[0] + 0.6*v[1] + 0.1*v[2], 0.5 + 0.2*v[0] - 0.2*v[1], 0.5 + 0.2*v[1] - 0.2*v[2]}
		}))))}}}
	return all
}

// gridOf fills a grid whose inputs have unequal numbers of points.
func gridOf(points []int, f func([]float64) []float64) (all []float64) {
	total := 1
	for _, p := range points {
		total *= p
	}
	for i := range total {
		v, rest := make([]float64, len(points)), i
		for j := len(points) - 1; j >= 0; j-- {
			v[j] = float64(rest%points[j]) / float64(points[j]-1)
			rest /= points[j]
		}
		all = append(all, f(v)...)
	}
	return all
}
