package icc

import (
	"bytes"
	"encoding/binary"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/plumb/colour"
	"example.org/plumb/colour/transfer"
)

func kept(t testing.TB, name string) *Profile {
	t.Helper()
	p, err := Read(profiles(t)[name])
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func near(a, b, by float64) bool { return math.Abs(a-b) <= by }

func TestHeader(t *testing.T) {
	p := kept(t, "made/display-p3.icc")
	if p.Version() != "4.4" || p.Class != Display || p.Space != SpaceRGB || p.Connection != SpaceXYZ || p.ID != IDRight || p.Creator != sig("plmb") {
		t.Errorf("%+v, ID %v", p.Header, p.ID)
	}
	if want := time.Date(2026, 11, 28, 9, 30, 0, 0, time.UTC); !p.Made.Equal(want) {
		t.Errorf("made %v", p.Made)
	}
	if want := time.Date(2026, 11, 27, 17, 5, 9, 0, time.UTC); !p.Calibrated().Equal(want) {
		t.Errorf("calibrated %v", p.Calibrated())
	}
	if l, ok := p.Luminance(); !ok || l != 158.25 {
		t.Errorf("luminance %v, %v", l, ok)
	}
	if c, ok := p.CICP(); !ok || c != (CICP{12, 13, 0, true}) {
		t.Errorf("cicp %v, %v", c, ok)
	}
	if s := p.Technology().String(); s != "AMD" {
		t.Errorf("technology %q", s)
	}
	if len(p.Notes) != 0 {
		t.Errorf("notes %v", p.Notes)
	}
	for name, want := range map[string]Class{"curves": Input, "mab-cmyk": Output, "space": Conversion, "grey": Display} {
		if c := kept(t, "made/"+name+".icc").Class; c != want {
			t.Errorf("%s is %v", name, c)
		}
	}
	if p := kept(t, "icc-profiles-free/CineLogCurve.icc"); p.Class != Abstract || p.Class.String() != "abstract" {
		t.Errorf("class %v", p.Class)
	}
}

func TestTexts(t *testing.T) {
	d := kept(t, "made/display-p3.icc").Description()
	if d.Languages() != 4 {
		t.Fatalf("%d languages", d.Languages())
	}
	for in, want := range map[string]string{
		"en": "Display P3 for tests", "en-GB": "Display P3 for tests", "en-US": "Display P3 for tests", "de": "Display P3 für Prüfungen", "de-AT": "Display P3 für Prüfungen",
		"ja": "試験用 Display P3", "fr-CA": "Écran P3 \U0001F34E", "sv": "Display P3 for tests", "": "Display P3 for tests",
	} {
		if got := d.In(in); got != want {
			t.Errorf("%s: %q, want %q", in, got, want)
		}
	}
	if code, text := d.Language(3); code != "fr-CA" || text != "Écran P3 \U0001F34E" {
		t.Errorf("%q %q", code, text)
	}
	if s := kept(t, "made/samples.icc").Description().String(); s != "sampled curves" {
		t.Errorf("version 2: %q", s)
	}
	if s := kept(t, "made/samples.icc").Copyright().String(); s != "made for tests; no rights reserved" {
		t.Errorf("text: %q", s)
	}
	if m := kept(t, "made/display-p3.icc").Metadata(); !slices.Equal(m, []Entry{{"display", "studio left"}, {"Blätter", "Äpfel"}}) {
		t.Errorf("metadata %v", m)
	}
	if got := latin([]byte("\xa9 Okke\x00rest")); got != "© Okke" {
		t.Errorf("Latin-1: %q", got)
	}
	if got := utf16be([]byte{0xd8, 0x3c, 0, 'a', 0xdc}); got != "\ufffda" {
		t.Errorf("half a pair: %q", got)
	}
	if (Text{}).String() != "" {
		t.Error("the zero Text says something")
	}
}

// The formulas of ICC.1:2022, 10.18, worked out by hand at a few places.
func TestCurves(t *testing.T) {
	read := func(b []byte) Curve {
		c, n, f := readCurve(view{data: b})
		if f != nil || n != len(b) {
			t.Fatalf("%d of %d bytes, %v", n, len(b), f)
		}
		return c
	}
	check := func(what string, c Curve, x, want float64) {
		t.Helper()
		if got := c.Light(x); !near(got, want, 2e-5) {
			t.Errorf("%s at %v: %.6f, want %.6f", what, x, got, want)
		}
	}
	check("identity", read(curv()), 0.3, 0.3)
	check("the zero curve", Curve{}, 0.3, 0.3)
	check("u8Fixed8 2.2", read(curv(0x0233)), 0.5, math.Pow(0.5, 2.19921875))
	check("two samples", read(curv(0, 0xffff)), 0.25, 0.25)
	check("three samples", read(curv(0, 0x1999, 0xffff)), 0.75, 0.55)
	check("three samples", read(curv(0, 0x1999, 0xffff)), 2, 1)
	check("three samples", read(curv(0x8000, 0x1999, 0xffff)), -1, 0.5)
	check("para 0", read(para(0, 3)), 0.5, 0.125)
	check("para 1", read(para(1, 2, 0.5, 0.5)), 0.5, 0.5625)
	check("para 1 below", read(para(1, 2, 1, -0.25)), 0.2, 0)
	check("para 2", read(para(2, 2, 0.5, 0.25, 0.125)), 0.5, 0.375)
	check("para 2 below", read(para(2, 2, 1, -0.25, 0.125)), 0.2, 0.125)
	check("para 3", read(srgbCurve), 0.5, transfer.SRGB{}.Light(0.5))
	check("para 3 below", read(srgbCurve), 0.02, 0.02/12.92)
	check("para 4", read(para(4, 2, 0.5, 0.25, 0.1, 0.5, 0.125, 0.0625)), 0.5, 0.375)
	check("para 4 below", read(para(4, 2, 0.5, 0.25, 0.1, 0.5, 0.125, 0.0625)), 0.25, 0.0875)
	check("clipped", read(para(4, 1, 3, 0, 0, 0, 0, 0)), 0.5, 1)
	check("clipped", read(para(4, 1, 1, -1, 0, 0, 0, 0)), 0.5, 0)
	check("not a number", read(srgbCurve), math.NaN(), 0)
	// 32767 to the power of 32767 is clipped too.
	check("absurd", read(para(1, 32767, 32767, 0)), 1, 1)
	check("absurd", read(para(0, -32768)), 0, 1)
	// Within a conversion formulas go on.
	for _, c := range []struct {
		curve   Curve
		x, want float64
	}{{read(para(0, 2)), 1.5, 2.25}, {read(para(0, 2)), -0.5, 0}, {read(curv()), -0.5, -0.5}, {read(para(0, 1)), -0.5, -0.5}, {read(srgbCurve), -0.1, -0.1 / 12.92}, {read(curv(0, 0xffff)), 1.5, 1},
		{read(para(0, -1)), 0, endless}, {read(para(1, 32767, 32767, 0)), 1, endless}, {read(srgbCurve), math.NaN(), 0}} {
		if got := c.curve.step(c.x); !near(got, c.want, 2e-5) {
			t.Errorf("%s at %v: %v, want %v", c.curve.Form(), c.x, got, c.want)
		}
	}

	// Signal undoes Light.
	for _, b := range [][]byte{curv(), curv(0x0233), curv(ramp(100, func(x float64) float64 { return x * x })...), srgbCurve, para(4, 2.2, 0.9, 0.1, 0.3, 0.05, 0, 0.001)} {
		c := read(b)
		for i := range 101 {
			x := float64(i) / 100
			if l := c.Light(x); !near(c.Light(c.Signal(l)), l, 1e-9) {
				t.Errorf("%s: the signal of %v is %v", c.Form(), l, c.Signal(l))
			}
		}
		if c.Signal(-1) != 0 || c.Signal(2) != 1 {
			t.Errorf("%s: beyond the ends %v, %v", c.Form(), c.Signal(-1), c.Signal(2))
		}
	}
	var _ transfer.Function = Curve{}
}

func TestCorrection(t *testing.T) {
	c, ok := kept(t, "made/samples.icc").Correction()
	if !ok {
		t.Fatal("no correction")
	}
	if n, bits, is := c.Table(); n != 256 || bits != 16 || !is {
		t.Errorf("table %v of %v entries with %v bits", is, n, bits)
	}
	if !near(c.Level(0, 0.5), 0.5, 2e-5) || !near(c.Level(1, 0.5), math.Pow(0.5, 1.1), 2e-5) || !near(c.Level(2, 1), 0.85, 2e-5) {
		t.Errorf("levels %v %v %v", c.Level(0, 0.5), c.Level(1, 0.5), c.Level(2, 1))
	}
	// 256 codes onto 0 to 217 (0.85 of 255 is 216.75): 38 fall together with their neighbours.
	if k := c.Cost(2); k.Lost != 38 || !near(k.White, 0.85, 2e-5) || !near(k.Greatest, -38.25, 0.01) || k.At != 255 {
		t.Errorf("blue costs %+v", k)
	}
	if k := c.Cost(0); k.Lost != 0 || k.White != 1 || k.Black != 0 {
		t.Errorf("red costs %+v", k)
	}
	if !c.Changes() {
		t.Error("it changes nothing")
	}
	f, ok := kept(t, "made/formula.icc").Correction()
	if !ok {
		t.Fatal("no correction")
	}
	if g, low, high := f.Formula(1); !near(g, 1.2, 1e-4) || !near(low, 0.01, 1e-4) || !near(high, 0.95, 1e-4) {
		t.Errorf("formula %v %v %v", g, low, high)
	}
	if got, want := f.Level(1, 0.5), 0.94*math.Pow(0.5, 1.2)+0.01; !near(got, want, 1e-4) {
		t.Errorf("level %v, want %v", got, want)
	}
	if !near(f.Level(0, 0.5), 0.5, 1e-9) || !near(f.Level(2, 1), 0.8, 1e-4) {
		t.Errorf("levels %v %v", f.Level(0, 0.5), f.Level(2, 1))
	}
	if n := (Correction{}); n.Level(0, 1) != 0 {
		t.Error("the zero Correction sends light")
	}
	// Entries that say one byte and have two, one channel for three, and a correction that does nothing.
	odd := be("vcgt", uint32(0), uint32(0), uint16(3), uint16(256), uint16(1), ramp(768, func(x float64) float64 { return x }))
	odd = append(odd, make([]byte, 1576-len(odd))...)
	if c, f := readCorrection(view{data: odd}); f != nil || c.bits != 16 || !near(c.Level(2, 1), 1, 1e-9) || !near(c.Level(0, 1), 1.0/3, 1e-3) {
		t.Errorf("%+v, %v", c, f)
	}
	one := be("vcgt", uint32(0), uint32(0), uint16(1), uint16(3), uint16(1), []byte{0, 128, 255})
	if c, f := readCorrection(view{data: one}); f != nil || !near(c.Level(2, 0.25), 64.0/255, 1e-9) || c.Changes() != (math.Abs(128-127.5) > 0.5) {
		t.Errorf("%+v, %v", c, f)
	}
}

// Tags of a profile, for changing one of them.
func taken(b []byte, name string) (offset, size int) {
	for i := range int(binary.BigEndian.Uint32(b[128:])) {
		if e := b[132+12*i:]; string(e[:4]) == name {
			return int(binary.BigEndian.Uint32(e[4:])), int(binary.BigEndian.Uint32(e[8:]))
		}
	}
	panic(name)
}

func TestWhatIsRefused(t *testing.T) {
	base := func(name string) []byte { return bytes.Clone(profiles(t)["made/"+name+".icc"]) }
	put32 := func(b []byte, at int, v uint32) []byte { binary.BigEndian.PutUint32(b[at:], v); return b }
	in := func(name, tag string, at int, v uint32) []byte {
		b := base(name)
		o, _ := taken(b, tag)
		return put32(b, o+at, v)
	}
	place := func(name, tag string, at int) int { o, _ := taken(base(name), tag); return o + at }
	entry := func(b []byte, tag string) int {
		for i := range int(binary.BigEndian.Uint32(b[128:])) {
			if string(b[132+12*i:136+12*i]) == tag {
				return 132 + 12*i
			}
		}
		panic(tag)
	}
	table := func(name, tag string, at int, v uint32) []byte { b := base(name); return put32(b, entry(b, tag)+at, v) }
	p3 := base("display-p3")
	overlap := base("display-p3")
	o, _ := taken(overlap, "gXYZ")
	put32(overlap, entry(overlap, "bXYZ")+4, uint32(o+8))
	double := base("display-p3")
	copy(double[entry(double, "gTRC"):], "rTRC")
	for _, c := range []struct {
		what   string
		data   []byte
		offset int
		says   string
	}{
		{"nothing", nil, 0, "ends here"},
		{"a header alone", p3[:131], 131, "ends here"},
		{"another file", append([]byte("\x89PNG"), p3[4:36]...), 36, "ends here"},
		{"another signature", put32(base("display-p3"), 36, 0x41424344), 36, "no colour profile"},
		{"cut short", p3[:len(p3)-1], 0, "cut short"},
		{"a size too small", put32(base("display-p3"), 0, 131), 0, "132"},
		{"version 5", put32(base("display-p3"), 8, 0x05000000), 8, "version 5.0"},
		{"a class of none", put32(base("display-p3"), 12, 0x61616161), 12, "aaaa is no class"},
		{"a space of none", put32(base("display-p3"), 16, 0x61616161), 16, "no colour space"},
		{"a connection of none", put32(base("display-p3"), 20, 0x52474220), 20, "no profile connection space"},
		{"too many tags", put32(base("display-p3"), 128, 257), 128, "more than 256"},
		{"more tags than room", put32(base("display-p3"), 128, 200), 128, "has room for"},
		{"a tag beyond the end", table("display-p3", "rTRC", 8, 1<<31), entry(p3, "rTRC") + 4, "the profile ends at"},
		{"an offset that runs over", table("display-p3", "rTRC", 4, 0xfffffff8), entry(p3, "rTRC") + 4, "the profile ends at"},
		{"a tag in the table", table("display-p3", "rTRC", 4, 140), entry(p3, "rTRC") + 4, "within header and tag table"},
		{"a tag of 4 bytes", table("display-p3", "rTRC", 8, 4), entry(p3, "rTRC") + 8, "take 8"},
		{"tags that overlap", overlap, o + 8, "overlap"},
		{"a tag twice", double, entry(p3, "gTRC"), "twice"},
		{"a curve of another type", in("display-p3", "rTRC", 0, 0x74657874), place("display-p3", "rTRC", 0), "no curve"},
		{"a parametric function 5", in("display-p3", "rTRC", 8, 5<<16), place("display-p3", "rTRC", 8), "0 to 4"},
		{"a longer parametric function", in("display-p3", "rTRC", 8, 4<<16), place("display-p3", "rTRC", 12), "28 bytes"},
		{"a curve with too many samples", in("samples", "rTRC", 8, 0x7fffffff), place("samples", "rTRC", 8), "entries"},
		{"an adaptation to nothing", func() []byte { b := base("display-p3"); o, _ := taken(b, "chad"); clear(b[o+8 : o+44]); return b }(), place("display-p3", "chad", 8), "inverted"},
		{"a colorant of another type", in("display-p3", "gXYZ", 0, 0x74657874), place("display-p3", "gXYZ", 0), "instead of XYZ"},
		{"a correction of 2 channels", in("samples", "vcgt", 12, 2<<16|256), place("samples", "vcgt", 12), "2 channels"},
		{"a correction of 1 entry", in("samples", "vcgt", 12, 3<<16|1), place("samples", "vcgt", 14), "1 entries"},
		{"a correction too long", in("samples", "vcgt", 12, 3<<16|0xffff), place("samples", "vcgt", 18), "table takes"},
		{"a correction of 3 bytes", in("samples", "vcgt", 16, 3<<16), place("samples", "vcgt", 16), "3 bytes"},
		{"a correction of a third kind", in("samples", "vcgt", 8, 2), place("samples", "vcgt", 8), "kind 2"},
		{"a formula without gamma", in("formula", "vcgt", 24, 0), place("formula", "vcgt", 24), "gamma 0"},
		{"a cicp of 2", in("display-p3", "cicp", 8, 0x0c0d0002), place("display-p3", "cicp", 11), "full range is 2"},
		{"no channels in", in("mft2-lab", "A2B0", 8, 0x00030900), place("mft2-lab", "A2B0", 8), "0 channels in"},
		{"17 channels out", in("mft2-lab", "A2B0", 8, 0x03110900), place("mft2-lab", "A2B0", 9), "17 channels out"},
		{"other channels than the header", in("mft2-lab", "A2B0", 8, 0x02030900), place("mft2-lab", "A2B0", 8), "asks for 3 and 3"},
		{"a grid of 1", in("mft2-lab", "A2B0", 8, 0x03030100), place("mft2-lab", "A2B0", 10), "1 points"},
		{"a grid too large", in("mft2-lab", "A2B0", 8, 0x0303ff00), place("mft2-lab", "A2B0", 52+3*600), "more bytes"},
		{"a table of 1", in("mft2-lab", "A2B0", 48, 1<<16|300), place("mft2-lab", "A2B0", 48), "1 entries"},
		{"tables of 5000", in("mft2-lab", "A2B0", 48, 300<<16|5000), place("mft2-lab", "A2B0", 50), "5000 entries"},
		{"no B curves", in("mab-lab", "A2B0", 12, 0), place("mab-lab", "A2B0", 12), "no B curves"},
		{"B curves in the header", in("mab-lab", "A2B0", 12, 16), place("mab-lab", "A2B0", 12), "offset 16"},
		{"B curves beyond the end", in("mab-lab", "A2B0", 12, 1<<31), place("mab-lab", "A2B0", 12), "offset 2147483648"},
		{"no grid for four inks", in("mab-cmyk", "A2B0", 24, 0), place("mab-cmyk", "A2B0", 24), "ask for a grid"},
	} {
		p, err := Read(c.data)
		var f *Fault
		if !errors.As(err, &f) {
			t.Errorf("%s: %v, %v", c.what, p, err)
			continue
		}
		if f.Offset != c.offset || !strings.Contains(f.Error(), c.says) || !strings.HasPrefix(f.Error(), "icc: byte ") {
			t.Errorf("%s: %v; want byte %d and %q", c.what, f, c.offset, c.says)
		}
	}
}

func TestWhatIsNoted(t *testing.T) {
	base := func(name string) []byte { return bytes.Clone(profiles(t)["made/"+name+".icc"]) }
	put32 := func(b []byte, at int, v uint32) []byte { binary.BigEndian.PutUint32(b[at:], v); return b }
	in := func(name, tag string, at int, v uint32) []byte {
		b := base(name)
		o, _ := taken(b, tag)
		return put32(b, o+at, v)
	}
	for _, c := range []struct {
		what string
		data []byte
		says string
	}{
		{"bytes behind the end", append(base("grey"), 1, 2, 3), "3 bytes follow"},
		{"month 13", put32(base("grey"), 24, 2026<<16|13), "is no date"},
		{"an intent of 7", put32(base("grey"), 64, 7), "intent 7"},
		{"a white of the connection that is none", put32(base("grey"), 68, 0x10000), "should be D50"},
		{"an ID of version 2", put32(base("mft1-lab"), 84, 1), "reserves"},
		{"a changed profile", put32(base("display-p3"), 48, 1), "not the MD5"},
		{"multi-process elements", func() []byte {
			m := made()["grey"]
			m.parts = append(m.parts, part{"D2B1", make([]byte, 12)})
			return m.bytes()
		}(), "tag D2B1: multi-process elements"},
		{"a name that runs into the next tag", func() []byte {
			b := base("samples")
			at, size := taken(b, "cprt")
			o, _ := taken(b, "desc")
			for i := range int(binary.BigEndian.Uint32(b[128:])) {
				if e := b[132+12*i:]; string(e[:4]) == "desc" {
					copy(e[8:], be(uint32(at+size-o)))
				}
			}
			return b
		}(), "tag cprt: its data overlap those of tag desc in part"},
		{"a name of another type", in("display-p3", "desc", 0, 0x58595a20), "tag desc: type XYZ is no text"},
		{"more languages than there are", in("display-p3", "desc", 8, 1<<30), "tag desc: 1073741824 languages"},
		{"a text beyond the end", in("display-p3", "desc", 20, 1<<30), "1073741824 bytes of text"},
		{"a longer description", in("samples", "desc", 8, 1<<30), "tag desc: the description counts"},
		{"metadata without end", in("display-p3", "meta", 8, 1<<30), "tag meta"},
		{"metadata that unfold", func() []byte {
			b := in("display-p3", "meta", 20, 60)
			o, _ := taken(b, "meta")
			return put32(b, o+28, 46)
		}(), "tag meta: the entries"},
	} {
		p, err := Read(c.data)
		if err != nil {
			t.Errorf("%s: %v", c.what, err)
			continue
		}
		if !slices.ContainsFunc(p.Notes, func(f Fault) bool { return strings.Contains(f.String(), c.says) }) {
			t.Errorf("%s: %v, want %q", c.what, p.Notes, c.says)
		}
		_, _, _ = p.Description().String(), p.Metadata(), p.Copyright()
	}
	if p, _ := Read(put32(base("display-p3"), 48, 1)); p.ID != IDWrong {
		t.Errorf("ID %v", p.ID)
	}
	// Flags and intent do not count.
	if p, _ := Read(put32(put32(base("display-p3"), 44, 1), 64, 2)); p.ID != IDRight {
		t.Errorf("ID %v", p.ID)
	}
	// Named colours have tables of no use: one that is broken does not matter.
	p := kept(t, "colord-data/x11-colors.icc")
	if p.Process() != NamedTable || len(p.Notes) != 1 || p.Notes[0].Tag != sig("B2A0") {
		t.Errorf("%v, notes %v", p.Process(), p.Notes)
	}
	if _, err := p.Forward(Relative); err == nil {
		t.Error("a conversion by named colours")
	}
	if _, err := kept(t, "made/grey.icc").Forward(7); err == nil {
		t.Error("an intent of 7")
	}
}

func TestSharedDataAreNoOverlap(t *testing.T) {
	m := made()["grey"]
	b := m.bytes()
	o, n := taken(b, "desc")
	for i := range int(binary.BigEndian.Uint32(b[128:])) {
		if e := b[132+12*i:]; string(e[:4]) == "cprt" {
			copy(e[4:], be(uint32(o), uint32(n)))
		}
	}
	p, err := Read(b)
	if err != nil || p.Copyright().String() != "grey" {
		t.Errorf("%v", err)
	}
}

// A twin of the grid's interpolation over tetrahedra, written out case by case.
func TestGridAgainstItsTwin(t *testing.T) {
	p := kept(t, "made/mab-lab.icc")
	tag, _ := p.Tag(sig("A2B0"))
	l, f := readLUT(tag.view)
	if f != nil {
		t.Fatal(f)
	}
	g := l.stages[1].(*grid)
	for i := range 2000 {
		in := [3]float64{float64(i*7919%1009) / 1008, float64(i*104729%997) / 996, float64(i*1299709%991) / 990}
		var cell [3]int
		var r [3]float64
		for j := range 3 {
			x := word(in[j]) * float64(g.points[j]-1)
			cell[j] = min(int(x), g.points[j]-2)
			r[j] = x - float64(cell[j])
		}
		at := func(a, b, c, k int) float64 {
			return g.at((((cell[0]+a)*g.points[1]+cell[1]+b)*g.points[2]+cell[2]+c)*3 + k)
		}
		var v [most]float64
		copy(v[:], in[:])
		g.apply(&v)
		for k := range 3 {
			c0 := at(0, 0, 0, k)
			var c1, c2, c3 float64
			switch x, y, z := r[0], r[1], r[2]; {
			case x >= y && y >= z:
				c1, c2, c3 = at(1, 0, 0, k)-c0, at(1, 1, 0, k)-at(1, 0, 0, k), at(1, 1, 1, k)-at(1, 1, 0, k)
			case x >= z && z >= y:
				c1, c2, c3 = at(1, 0, 0, k)-c0, at(1, 1, 1, k)-at(1, 0, 1, k), at(1, 0, 1, k)-at(1, 0, 0, k)
			case z >= x && x >= y:
				c1, c2, c3 = at(1, 0, 1, k)-at(0, 0, 1, k), at(1, 1, 1, k)-at(1, 0, 1, k), at(0, 0, 1, k)-c0
			case y >= x && x >= z:
				c1, c2, c3 = at(1, 1, 0, k)-at(0, 1, 0, k), at(0, 1, 0, k)-c0, at(1, 1, 1, k)-at(1, 1, 0, k)
			case y >= z && z >= x:
				c1, c2, c3 = at(1, 1, 1, k)-at(0, 1, 1, k), at(0, 1, 0, k)-c0, at(0, 1, 1, k)-at(0, 1, 0, k)
			default:
				c1, c2, c3 = at(1, 1, 1, k)-at(0, 1, 1, k), at(0, 1, 1, k)-at(0, 0, 1, k), at(0, 0, 1, k)-c0
			}
			// To 16 bits; a value just between two may go either way.
			if want := c0 + c1*r[0] + c2*r[1] + c3*r[2]; !near(v[k], want, 0.5001/65535) || !near(v[k]*65535, math.Round(v[k]*65535), 1e-6) {
				t.Fatalf("%v: %v, want %v", in, v[k], want)
			}
		}
	}
}

// What goes to the device comes back, for all that the device can make.
func TestThereAndBack(t *testing.T) {
	n := 0
	for name, data := range profiles(t) {
		p, err := Read(data)
		if err != nil {
			t.Fatal(err)
		}
		if p.Process() != Matrix {
			continue
		}
		for _, i := range []Intent{Relative, Absolute} {
			f, err := p.Forward(i)
			if err != nil {
				t.Fatal(err)
			}
			b, err := p.Backward(i)
			if err != nil {
				t.Fatal(err)
			}
			for j := range 60 {
				in := []float64{float64(j*37%61) / 60, float64(j*23%59) / 58, float64(j*41%53) / 52}
				want := f.Lab(in...)
				got := f.Lab(b.Device(want)...)
				// 16 bits of a sampled curve are worth most near black.
				if d := math.Hypot(got.L-want.L, math.Hypot(got.A-want.A, got.B-want.B)); d > 0.15 {
					t.Errorf("%s, %v, %v: %v came back as %v", name, i, in, want, got)
				}
				n++
			}
		}
	}
	if n < 2000 {
		t.Errorf("%d colours", n)
	}
}

func TestFacts(t *testing.T) {
	f, err := kept(t, "made/display-p3.icc").Facts(transfer.SRGB{})
	if err != nil {
		t.Fatal(err)
	}
	if f.Name != "Display P3 for tests" || f.Process != Matrix || f.Process.String() != "matrix and curves" || f.Luminance != 158.25 || f.Adapted || f.CICP == nil || f.Correction != nil {
		t.Errorf("%+v", f)
	}
	// s15Fixed16 numbers leave about 1e-5 in a chromaticity.
	if w := f.White; w.Source != FromChad || !near(w.XY.X, 0.3127, 2e-5) || !near(w.XY.Y, 0.3290, 2e-5) || !near(w.Temperature.Kelvin, 6504.3, 1) || !near(w.Daylight.Kelvin, 6505.6, 1) || !near(w.Distance, 0, 2e-4) {
		t.Errorf("white %+v", w)
	}
	for i, want := range []colour.XY{{X: 0.680, Y: 0.320}, {X: 0.265, Y: 0.690}, {X: 0.150, Y: 0.060}} {
		if p := f.Primaries[i]; !near(p.XY.X, want.X, 5e-5) || !near(p.XY.Y, want.Y, 5e-5) || p.UV.Distance(want.UV()) > 5e-5 {
			t.Errorf("%s at %v, want %v", p.Channel, p.XY, want)
		}
	}
	for _, r := range f.Reach {
		if r.Standard == "Display P3" && (r.Area.Overlap < 0.9995 || r.Volume.Overlap < 0.9995) {
			t.Errorf("%+v", r)
		}
		if r.Standard == "sRGB" && (r.Area.Coverage < 0.9999 || !near(r.Area.Size, 1.2556, 1e-3) || !near(r.Volume.Size, 1.4803, 2e-3)) {
			t.Errorf("%+v", r)
		}
	}
	if len(f.Reach) != 4 || len(f.Tones) != 4 {
		t.Fatalf("%d spaces, %d tones", len(f.Reach), len(f.Tones))
	}
	for _, x := range f.Tones {
		if math.Abs(x.Off) > 0.01 || x.Mean > 0.01 || !near(x.Steps.Smallest, 1, 0.01) || !near(x.Steps.Largest, 1, 0.01) || x.Steps.Lost != 0 {
			t.Errorf("%s is off by %v at %d, %+v", x.Channel, x.Off, x.At, x.Steps)
		}
	}
	if f.Tint.Chroma > 1e-6 {
		t.Errorf("tint %+v", f.Tint)
	}

	// Against a power of 2.2, the sRGB curve is lighter near black: 3.3 in L* at code 26.
	g, err := kept(t, "made/display-p3.icc").Facts(transfer.Power(2.2))
	if err != nil {
		t.Fatal(err)
	}
	if x := g.Tones[3]; x.Channel != "grey" || !near(x.Off, lightness(transfer.SRGB{}.Light(float64(x.At)/255))-lightness(math.Pow(float64(x.At)/255, 2.2)), 0.01) || !near(x.Off, 3.3, 0.1) {
		t.Errorf("%+v", x.Off)
	}

	// Version 2: its media white is the measured one, and curves that differ tint the greys.
	s, err := kept(t, "made/samples.icc").Facts(transfer.Power(2.2))
	if err != nil {
		t.Fatal(err)
	}
	if s.White.Source != FromMedia || !near(s.White.Temperature.Kelvin, 6504.3, 1) || s.Correction == nil {
		t.Errorf("white %+v", s.White)
	}
	for i, want := range []float64{2.2, 1.792, 589.0 / 256} { // 17 straight pieces lie above their power
		if !near(s.Tones[i].Gamma, want, 0.005) {
			t.Errorf("%s has gamma %.4f, want %v", s.Tones[i].Channel, s.Tones[i].Gamma, want)
		}
	}
	to, err := kept(t, "made/samples.icc").Forward(Relative)
	if err != nil {
		t.Fatal(err)
	}
	at := float64(s.Tint.At) / 255
	if c := to.XYZ(at, at, at).Lab(to.XYZ(1, 1, 1)); !near(c.Chroma(), s.Tint.Chroma, 1e-9) || !near(c.A, s.Tint.A, 1e-9) || !near(c.B, s.Tint.B, 1e-9) {
		t.Errorf("%+v, and that grey has %v", s.Tint, c)
	}
	if s.Tint.A > -10 || s.Tint.Distance < 0.02 {
		t.Errorf("green's lower gamma gives %+v", s.Tint)
	}

	// Tables give primaries, tones and range as well.
	l, err := kept(t, "made/mab-lab.icc").Facts(transfer.SRGB{})
	if err != nil {
		t.Fatal(err)
	}
	if l.Process != Tables || len(l.Reach) != 4 || len(l.Primaries) != 3 || l.White.Source != FromChad || l.Tint.Chroma < 1 {
		t.Errorf("%+v", l)
	}
	if l.Primaries[0].XY.X < 0.5 || l.Primaries[2].XY.Y > 0.15 || l.Reach[0].Volume.Coverage < 0.6 {
		t.Errorf("%+v, %+v", l.Primaries, l.Reach[0])
	}
	// Four inks have no tones, and grey one.
	if c, err := kept(t, "made/mab-cmyk.icc").Facts(transfer.SRGB{}); err != nil || len(c.Tones) != 0 || c.White.Source != FromMedia || c.Process != Tables {
		t.Errorf("%+v, %v", c, err)
	}
	if g, err := kept(t, "made/grey.icc").Facts(transfer.Power(2.2)); err != nil || len(g.Tones) != 1 || !near(g.Tones[0].Gamma, 2.2, 0.001) || g.White.Source != FromPCS {
		t.Errorf("%+v, %v", g, err)
	}
	// A version 2 profile that has D50 for its white does not tell the screen's.
	if d, err := kept(t, "icc-profiles-free/CineonLog_M.icc").Facts(transfer.Power(2.2)); err != nil || d.White != (White{}) || !d.Adapted || !near(d.Reach[0].Area.Overlap, 1, 0.01) {
		t.Errorf("%+v, %v", d.White, err)
	} else if d.Tones[0].Steps.Lost < 90 || d.Tones[0].Steps.Smallest != 0 {
		t.Errorf("a curve with a foot: %+v", d.Tones[0].Steps)
	}
	// Without curves there are no tones, and the rest is told.
	m := made()["grey"]
	m.parts = m.parts[:3]
	p, err := Read(m.bytes())
	if err != nil {
		t.Fatal(err)
	}
	if f, err := p.Facts(transfer.SRGB{}); err == nil || f.Name != "grey" || f.Process != Unknown {
		t.Errorf("%+v, %v", f, err)
	}
}

// A profile of a standard space gives what the space gives, as an instrument would read it.
func TestNative(t *testing.T) {
	n := 0
	for name, space := range map[string]*colour.Space{"made/display-p3": colour.DisplayP3, "colord-data/sRGB": colour.SRGB, "colord-data/AdobeRGB1998": colour.AdobeRGB, "icc-profiles-free/compatibleWithAdobeRGB1998": colour.AdobeRGB} {
		native, err := kept(t, name+".icc").Native()
		if err != nil {
			t.Fatal(err)
		}
		white := native(1, 1, 1)
		for i := range 50 {
			c := colour.RGB{R: float64(i*37%51) / 50, G: float64(i*23%51) / 50, B: float64(i*11%51) / 50}
			got, want := native(c.R, c.G, c.B).Lab(white), space.Lab(c)
			// Colorants of 16 bits behind the point are good to that.
			if math.Abs(got.L-want.L) > 0.02 || math.Abs(got.A-want.A) > 0.05 || math.Abs(got.B-want.B) > 0.05 {
				t.Errorf("%s, %v: %v, want %v", name, c, got, want)
			}
			n++
		}
	}
	if n != 200 {
		t.Errorf("%d colours", n)
	}
	if _, err := kept(t, "icc-profiles-free/CineonLog_M.icc").Native(); err == nil {
		t.Error("a white that is not told was found")
	}
}

func BenchmarkFacts(b *testing.B) {
	p := kept(b, "made/mab-lab.icc")
	for b.Loop() {
		if _, err := p.Facts(transfer.SRGB{}); err != nil {
			b.Fatal(err)
		}
	}
}

// Every white of the kept profiles is where its name says.
func TestWhitesOfKeptProfiles(t *testing.T) {
	for name, kelvin := range map[string]float64{"AdobeRGB1998": 6504, "sRGB": 6504, "ProPhotoRGB": 5000, "NTSC-RGB": 6774, "ECI-RGBv2": 5000} {
		f, err := kept(t, "colord-data/"+name+".icc").Facts(transfer.SRGB{})
		if err != nil || math.Abs(f.White.Temperature.Kelvin-kelvin) > 5 || f.ID != IDRight {
			t.Errorf("%s: %+v, %v", name, f.White, err)
		}
	}
	// The white of equal energy lies on the pink side of daylight; a green one was put into made/curves.icc.
	if f, err := kept(t, "colord-data/CIE-RGB.icc").Facts(transfer.SRGB{}); err != nil || !near(f.White.Distance, -0.00967, 1e-4) || !near(f.White.Temperature.Duv, -0.00442, 2e-5) {
		t.Errorf("%+v, %v", f.White, err)
	}
	if f, err := kept(t, "made/curves.icc").Facts(transfer.SRGB{}); err != nil || !near(f.White.Distance, 0.00181, 1e-4) {
		t.Errorf("%+v, %v", f.White, err)
	}
}
