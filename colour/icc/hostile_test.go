package icc

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"runtime"
	"strings"
	"testing"

	"example.org/plumb/colour/transfer"
)

// allocated returns how many bytes a call asks for.
func allocated(f func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	f()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

// use asks a profile for all that it can say but its facts, whose cost does not depend on the profile.
func use(p *Profile) {
	for _, t := range []Text{p.Description(), p.Copyright(), p.DeviceMaker(), p.DeviceModel()} {
		_ = t.In("sv-SE")
	}
	p.Metadata()
	p.Curves()
	p.Colorants()
	p.CICP()
	p.Luminance()
	p.Calibrated()
	p.Technology()
	if c, ok := p.Correction(); ok {
		c.Changes()
	}
	for i := range Absolute + 1 {
		if f, err := p.Forward(i); err == nil {
			f.Lab(0.2, 0.4, 0.6, 0.8)
		}
		if b, err := p.Backward(i); err == nil {
			b.Device(f50)
		}
	}
}

// hostile are profiles of n bytes and more whose counts, lengths and shared parts ask for as much as they can.
func hostile(n int) map[string][]byte {
	all := map[string][]byte{}
	grow := func(head []byte, unit []byte) []byte {
		return append(head, bytes.Repeat(unit, (n-len(head))/len(unit)+1)...)
	}
	with := func(parts ...part) []byte {
		return making{4, 4, "mntr", "RGB ", "Lab ", false, parts}.bytes()
	}
	// Each language has the whole rest of the tag for its text.
	m := be("mluc", uint32(0), uint32(n/24), uint32(12))
	for range n / 24 {
		m = append(m, be("xxYY", uint32(n/2-16), uint32(16))...)
	}
	all["languages that share one text"] = with(part{"desc", m})
	// The same, for four tags at once.
	b := with(part{"desc", m}, part{"cprt", nil}, part{"dmnd", nil}, part{"dmdd", nil})
	o, size := taken(b, "desc")
	for i := 1; i < 4; i++ {
		binary.BigEndian.PutUint32(b[132+12*i+4:], uint32(o))
		binary.BigEndian.PutUint32(b[132+12*i+8:], uint32(size))
	}
	all["tags that share one text"] = b
	// 256 tags, all on one text.
	var parts []part
	for i := range MaxTags {
		parts = append(parts, part{fmt.Sprintf("t%03d", i), nil})
	}
	b = append(with(parts...), bytes.Repeat([]byte("desc\x00\x00\x00\x00\x00\x00\x00\x04abc\x00"), n/16)...)
	binary.BigEndian.PutUint32(b, uint32(len(b)))
	for i := range MaxTags {
		at := 132 + 12*i
		binary.BigEndian.PutUint32(b[at+4:], uint32(132+12*MaxTags))
		binary.BigEndian.PutUint32(b[at+8:], uint32(len(b)-132-12*MaxTags))
	}
	copy(b[132:], "desc")
	all["256 tags on one place"] = b
	all["a count of tags"] = func() []byte {
		b := grow(with(part{"desc", desc("x")}), []byte{0, 0, 0, 0})
		binary.BigEndian.PutUint32(b, uint32(len(b)))
		binary.BigEndian.PutUint32(b[128:], 0xffffffff)
		return b
	}()
	d := be("dict", uint32(0), uint32(n/16-1), uint32(16))
	all["empty metadata"] = with(part{"meta", grow(d, make([]byte, 16))})
	all["a long curve"] = with(part{"rTRC", be("curv", uint32(0), uint32(n/2), make([]byte, n))})
	all["a curve of 4294967295 samples"] = with(part{"rTRC", be("curv", uint32(0), uint32(0xffffffff), make([]byte, n))})
	all["15 inputs of 255 points"] = with(part{"A2B0", be("mft2", uint32(0), byte(15), byte(3), byte(255), byte(0), make([]byte, 36), uint16(4096), uint16(4096), make([]byte, n))})
	// 128 to the power of 15 leaves nothing of itself in 64 bits.
	all["15 inputs of 128 points"] = making{4, 4, "prtr", "FCLR", "Lab ", false, []part{{"A2B0", func() []byte {
		g := append(bytes.Repeat([]byte{128}, 16), 2, 0, 0, 0)
		return modular("mAB ", 15, 3, same(3, curv()), nil, same(15, curv()), nil, append(g, make([]byte, n)...))
	}()}}}.bytes()
	wide := be("mluc", uint32(0), uint32(1), uint32(12), "enGB", uint32(n), uint32(28))
	wide = append(wide, bytes.Repeat([]byte{0x8a, 0x66}, n/2)...)
	b = with(part{"desc", wide}, part{"cprt", nil}, part{"dmnd", nil}, part{"dmdd", nil})
	o, size = taken(b, "desc")
	for i := 1; i < 4; i++ {
		copy(b[132+12*i+4:], be(uint32(o), uint32(size)))
	}
	all["tags that share a wide text"] = b
	all["16 inputs of 255 points"] = with(part{"A2B0", func() []byte {
		g := append(bytes.Repeat([]byte{255}, 16), 2, 0, 0, 0)
		return modular("mAB ", 16, 3, same(3, curv()), nil, same(16, curv()), nil, append(g, make([]byte, n)...))
	}()})
	all["a table"] = with(part{"A2B0", mft(false, 3, 3, 33, func(x float64) float64 { return x }, func(x float64) float64 { return x }, 4096, func(v []float64) []float64 { return v })})
	all["a correction of 65535 entries"] = with(part{"vcgt", be("vcgt", uint32(0), uint32(0), uint16(3), uint16(65535), uint16(2), make([]byte, 6*65535))})
	return all
}

// Reading a profile and asking it for all allocates no more than four times the file, and 64 KiB, whatever it says.
func TestHostileSizes(t *testing.T) {
	taken := 0
	for name, b := range hostile(1 << 20) {
		var p *Profile
		var err error
		got := allocated(func() {
			if p, err = Read(b); err == nil {
				use(p)
			}
		})
		if bound := uint64(4*len(b) + 1<<16); got > bound {
			t.Errorf("%s: %d bytes for a file of %d", name, got, len(b))
		}
		if err == nil {
			taken++
		}
		t.Logf("%-32s %8d bytes, %8d allocated, %v", name, len(b), got, err)
	}
	if taken < 5 {
		t.Errorf("%d of the profiles could be read: the others show nothing of use", taken)
	}
	// Each profile that is kept, too.
	for name, b := range profiles(t) {
		got := allocated(func() {
			if p, err := Read(b); err == nil {
				use(p)
			}
		})
		if got > uint64(4*len(b)+1<<16) {
			t.Errorf("%s: %d bytes for a file of %d", name, got, len(b))
		}
	}
}

var f50 = decode4([]float64{0.5, 0.5, 0.5})

func FuzzRead(f *testing.F) {
	for _, b := range profiles(f) {
		if len(b) < 30000 {
			f.Add(b)
		}
	}
	for _, b := range hostile(4096) {
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		var p *Profile
		var err error
		got := allocated(func() {
			if p, err = Read(b); err == nil {
				use(p)
			}
		})
		if got > uint64(4*len(b)+1<<17) {
			t.Errorf("%d bytes for a file of %d", got, len(b))
		}
		if err != nil {
			f, ok := err.(*Fault)
			if !ok || f.Offset < 0 || f.Offset > len(b) || !strings.HasPrefix(f.Error(), "icc: ") {
				t.Errorf("%#v", err)
			}
			return
		}
		for _, n := range p.Notes {
			if n.Offset < 0 || n.Offset > len(b) {
				t.Errorf("%v", n)
			}
		}
	})
}

// A table of noise has facts but no range, at a price that does not grow with it.
func TestFactsOfNoise(t *testing.T) {
	n := 0
	b := making{4, 4, "mntr", "RGB ", "Lab ", false, []part{{"A2B0", mft(false, 3, 3, 33, func(x float64) float64 { return x }, func(x float64) float64 { return x }, 2, func([]float64) []float64 {
		n++
		return []float64{float64(n*37%101) / 100, float64(n*101%256) / 255, float64(n*173%255) / 254}
	})}}}.bytes()
	p, err := Read(b)
	if err != nil {
		t.Fatal(err)
	}
	var f Facts
	got := allocated(func() { f, err = p.Facts(transfer.SRGB{}) })
	if err == nil || len(f.Tones) != 4 || len(f.Reach) != 0 || got > 1<<26 {
		t.Errorf("%d tones, %d spaces, %d bytes, %v", len(f.Tones), len(f.Reach), got, err)
	}
}

// Facts either are numbers or an error.
func FuzzFacts(f *testing.F) {
	for name, b := range profiles(f) {
		if strings.HasPrefix(name, "made/") {
			f.Add(b)
		}
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := Read(b)
		if err != nil {
			return
		}
		facts, err := p.Facts(transfer.SRGB{})
		if err != nil {
			return
		}
		for _, x := range facts.Tones {
			if !(x.Mean >= 0 && x.Gamma >= 1 && x.Gamma <= 4) {
				t.Errorf("%+v", x)
			}
		}
		for _, r := range facts.Reach {
			for _, v := range []float64{r.Area.Coverage, r.Area.Overlap, r.Volume.Coverage, r.Volume.Overlap} {
				if !(v >= 0 && v <= 1) {
					t.Errorf("%+v", r)
				}
			}
		}
	})
}
