package study_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"io/fs"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"

	"example.org/plumb/colour"
	"example.org/plumb/colour/difference"
	"example.org/plumb/colour/transfer"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/testdata"
	"example.org/plumb/wasm/study"
)

// What a check expects of a screen has the fields that travel.
var _ = (*check.Expected)(&study.Expected{})

func describe(t *testing.T, task study.Task) study.Found {
	t.Helper()
	task.What = study.Describe
	text, err := task.Marshal()
	if err != nil {
		t.Fatal(err)
	}
	if task, err = study.ReadTask(text); err != nil {
		t.Fatal(err)
	}
	f := task.Describe()
	if text, err = f.Marshal(); err != nil {
		t.Fatal(err)
	}
	back, err := study.ReadFound(text)
	if err != nil || !reflect.DeepEqual(back, f) {
		t.Fatalf("%v: %+v came back as %+v", err, f, back)
	}
	if (f.Refused == nil) == (f.Paper == nil) || f.Paper != nil && (f.Paper.Profile == nil) == (f.Paper.Readings == nil) {
		t.Fatalf("neither one thing nor another: %s", text)
	}
	return f
}

func profileAt(t *testing.T, name string) []byte {
	t.Helper()
	b, err := testdata.Profiles.ReadFile("icc/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// promised is what a profile was made with.
type promised struct {
	name      string
	space     *colour.Space // primaries and white; its transfer function is not asked
	gamma     [3]float64    // of the panel
	aim       float64       // gamma that the correction leads to; 0 for a profile without one
	held      [3]float64    // level sent for full signal, 1 for none held back
	luminance float64
}

// bytes is the profile, of version 2 as an instrument's software writes it: adapted colorants, sampled curves, and a table of 256 entries for the video card.
func (p promised) bytes() []byte {
	put := func(parts ...any) []byte {
		var b bytes.Buffer
		for _, v := range parts {
			if s, ok := v.(string); ok {
				b.WriteString(s)
			} else if err := binary.Write(&b, binary.BigEndian, v); err != nil {
				panic(err)
			}
		}
		return b.Bytes()
	}
	fixed := func(v ...float64) (b []byte) {
		for _, x := range v {
			b = append(b, put(int32(math.Round(x*65536)))...)
		}
		return b
	}
	xyz := func(c colour.XYZ) []byte { return put("XYZ ", uint32(0), fixed(c.X, c.Y, c.Z)) }
	d50 := colour.XYZ{X: 0.9642, Y: 1, Z: 0.8249}
	chad := colour.Bradford(p.space.White(), d50)
	m := chad.Times(p.space.Matrix())
	type tag struct {
		name string
		data []byte
	}
	tags := []tag{
		{"desc", put("desc", uint32(0), uint32(len(p.name)+1), p.name, make([]byte, 1+8+3+67))}, {"cprt", put("text", uint32(0), "none", byte(0))}, {"wtpt", xyz(p.space.White())},
		{"chad", put("sf32", uint32(0), fixed(chad[0][0], chad[0][1], chad[0][2], chad[1][0], chad[1][1], chad[1][2], chad[2][0], chad[2][1], chad[2][2]))},
	}
	if name := utf16.Encode([]rune(p.name)); len(p.name) != len(name) {
		tags[0].data = put("mluc", uint32(0), uint32(1), uint32(12), "enGB", uint32(2*len(name)), uint32(28), name)
	}
	if p.luminance > 0 {
		tags = append(tags, tag{"lumi", xyz(colour.XYZ{Y: p.luminance})})
	}
	vcgt := put("vcgt", uint32(0), uint32(0), uint16(3), uint16(256), uint16(2))
	for i, name := range []string{"r", "g", "b"} {
		tags = append(tags, tag{name + "XYZ", xyz(colour.XYZ{X: m[0][i], Y: m[1][i], Z: m[2][i]})})
		curve := put("curv", uint32(0), uint32(1024))
		for c := range 1024 {
			curve = append(curve, put(uint16(math.Round(65535*math.Pow(float64(c)/1023, p.is(i)))))...)
		}
		tags = append(tags, tag{name + "TRC", curve})
		for c := range 256 {
			vcgt = append(vcgt, put(uint16(math.Round(65535*p.level(i, float64(c)/255))))...)
		}
	}
	if p.aim > 0 {
		tags = append(tags, tag{"vcgt", vcgt})
	}
	table, at := put(uint32(len(tags))), 132+12*len(tags)
	var data []byte
	for _, k := range tags {
		table = append(table, put(k.name, uint32(at+len(data)), uint32(len(k.data)))...)
		data = append(data, k.data...)
		data = append(data, make([]byte, (4-len(data)%4)%4)...)
	}
	head := put(uint32(at+len(data)), uint32(0), byte(2), byte(0x40), uint16(0), "mntrRGB XYZ ", []uint16{2026, 11, 28, 9, 30, 0}, "acsp", make([]byte, 28), []byte{0, 0, 0xf6, 0xd6, 0, 1, 0, 0, 0, 0, 0xd3, 0x2d}, make([]byte, 48))
	return slices.Concat(head, table, data)
}

// is the gamma that the profile has for a channel.
func (p promised) is(i int) float64 {
	if p.aim > 0 {
		return p.aim
	}
	return p.gamma[i]
}

// level is what the card sends, so that the panel's gamma becomes the aim.
func (p promised) level(i int, signal float64) float64 {
	return p.held[i] * math.Pow(signal, p.aim/p.gamma[i])
}

var studio = promised{"studio left", colour.AdobeRGB, [3]float64{2.5, 2.4, 1.9}, 2.2, [3]float64{1, 0.97, 0.9}, 158}

// A profile says what it was made with.
func TestProfilesDescribed(t *testing.T) {
	file := studio.bytes()
	f := describe(t, study.Task{File: file, Name: "studio.icc"})
	if f.Refused != nil {
		t.Fatal(*f.Refused)
	}
	p := f.Paper.Profile
	if f.Paper.Digest != study.Digest(sha256.Sum256(file)) || f.Paper.Size != int64(len(file)) {
		t.Errorf("digest %x, %d bytes", f.Paper.Digest, f.Paper.Size)
	}
	if p.Name != "studio left" || p.Version != "2.4" || p.Class != "display" || p.Space != "RGB" || p.Process != "matrix and curves" || p.ID != "none" || p.Luminance != 158 || p.Adapted || len(p.Notes) != 0 {
		t.Errorf("%+v", p)
	}
	if want := int64(1795858200000); p.Made != want || p.Calibrated != 0 { // 2026-11-28 09:30 UTC
		t.Errorf("made %d", p.Made)
	}
	if w := p.White; w == nil || math.Hypot(w.XY.X-0.3127, w.XY.Y-0.3290) > 2e-4 || math.Abs(w.Kelvin-6504) > 10 || math.Abs(w.FromDay) > 3e-4 || w.UV.Distance(w.XY.UV()) > 1e-4 || p.WhiteBy == "" {
		t.Errorf("white %+v by %q", w, p.WhiteBy)
	}
	for i, want := range []colour.XY{{X: 0.64, Y: 0.33}, {X: 0.21, Y: 0.71}, {X: 0.15, Y: 0.06}} {
		if k := p.Primaries[i]; math.Hypot(k.XY.X-want.X, k.XY.Y-want.Y) > 5e-4 || k.Channel != []string{"red", "green", "blue"}[i] {
			t.Errorf("%+v", k)
		}
	}
	if len(p.Tones) != 4 || len(p.AimLo) != 256 || len(p.AimHi) != 256 || p.Aim != "usual" {
		t.Fatalf("%d tones, aim %q", len(p.Tones), p.Aim)
	}
	for i, k := range p.Tones {
		if math.Abs(k.Gamma-2.2) > 0.003 || math.Abs(k.Off) > 0.05 || len(k.L) != 256 || math.Abs(k.L[128]-screen.Lightness(math.Pow(128.0/255, 2.2))) > 0.02 || k.Equal > 6 || k.StepMost < 1 {
			t.Errorf("%+v", k)
		}
		if want := []string{"1024 samples", "1024 samples", "1024 samples", "of all three together"}[i]; k.Form != want || k.Channel != []string{"red", "green", "blue", "grey"}[i] {
			t.Errorf("%s: %q", k.Channel, k.Form)
		}
	}
	if p.TintMost > 1e-4 || p.TintChroma > 0.1 || len(p.Tint) < 40 {
		t.Errorf("tint %g, %g, %d greys", p.TintMost, p.TintChroma, len(p.Tint))
	}
	names := []string{"sRGB", "Display P3", "Adobe RGB (1998)", "BT.2020"}
	for i, r := range p.Reach {
		if r.Name != names[i] || len(r.Corners) != 3 || !r.HasVolume {
			t.Errorf("%+v", r)
		}
	}
	if own, srgb := p.Reach[2], p.Reach[0]; own.AreaCoverage < 0.998 || own.AreaOverlap < 0.998 || own.VolumeOverlap < 0.985 || srgb.AreaCoverage < 0.999 || srgb.AreaOverlap > 0.95 || srgb.AreaSize < 1.1 || p.Volume < 1e6 || p.Volume > 1.4e6 {
		t.Errorf("%+v\n%+v\n%g", own, srgb, p.Volume)
	}
	if math.Abs(p.Reach[1].Corners[1].XY.Y-0.69) > 1e-4 || math.Abs(p.Area-0.0752) > 0.001 {
		t.Errorf("green of Display P3 at %+v, area %g", p.Reach[1].Corners[1], p.Area)
	}

	// Against another aim it departs.
	p = describe(t, study.Task{File: file, Aim: "gamma 2.4"}).Paper.Profile
	if p.Aim != "gamma 2.4" || p.Tones[0].Off < 1 || p.Tones[0].Off > 6 || p.AimLo[128] != p.AimHi[128] {
		t.Errorf("%q: %g at %d", p.Aim, p.Tones[0].Off, p.Tones[0].OffAt)
	}

	p = describe(t, study.Task{File: profileAt(t, "made/display-p3.icc")}).Paper.Profile
	if !strings.Contains(p.CICP, "Display P3") || !strings.Contains(p.CICP, "sRGB") || !strings.Contains(p.CICP, "full range") || p.Reach[1].AreaOverlap < 0.998 || p.Correction != nil || p.Expected != nil || p.ID != "right" {
		t.Errorf("%q, %+v, ID %s", p.CICP, p.Reach[1], p.ID)
	}
	// Where the device's own white is not told, all is against D50, standards too.
	p = describe(t, study.Task{File: profileAt(t, "icc-profiles-free/CineonLog_M.icc")}).Paper.Profile
	if !p.Adapted || p.White != nil || p.Reach[0].AreaOverlap < 0.999 {
		t.Errorf("adapted %v, white %+v, %+v", p.Adapted, p.White, p.Reach[0])
	}
	for i, c := range p.Reach[0].Corners {
		if c.UV.Distance(p.Primaries[i].UV) > 5e-4 {
			t.Errorf("%+v, of sRGB %+v", p.Primaries[i], c)
		}
	}
	p = describe(t, study.Task{File: profileAt(t, "made/grey.icc")}).Paper.Profile
	if len(p.Tones) != 1 || p.Tones[0].Channel != "grey" || p.Primaries != nil || p.Reach != nil {
		t.Errorf("%+v", p)
	}
	p = describe(t, study.Task{File: profileAt(t, "made/mft2-cmyk.icc")}).Paper.Profile
	if p.Process != "tables" || p.Tones != nil || p.Space != "CMYK" {
		t.Errorf("%+v", p)
	}
	p = describe(t, study.Task{File: profileAt(t, "made/mft2-xyz.icc")}).Paper.Profile
	if p.Process != "tables" || len(p.Tones) != 4 || p.Tones[0].Form != "tables" || len(p.Primaries) != 3 {
		t.Errorf("%+v", p)
	}
}

// A correction costs what it costs, and what is expected with it and without it is what the panel does.
func TestCorrectionsDescribed(t *testing.T) {
	file := studio.bytes()
	p := describe(t, study.Task{File: file}).Paper.Profile
	c := p.Correction
	if c == nil || !c.Changes || c.Form != "a table of 256 entries of 16 bits" {
		t.Fatalf("%+v", c)
	}
	for i := range 3 {
		lost, last, greatest := 0, -1, 0.0
		for code := range 256 {
			level := studio.level(i, float64(code)/255)
			if math.Abs(c.Curves[i][code]-level) > 2e-5 {
				t.Fatalf("channel %d, code %d: %g instead of %g", i, code, c.Curves[i][code], level)
			}
			sent := int(math.Floor(255*level + 0.5))
			if sent == last {
				lost++
			}
			last = sent
			if d := 255*level - float64(code); math.Abs(d) > math.Abs(greatest) {
				greatest = d
			}
		}
		if k := c.Costs[i]; k.Lost != lost || math.Abs(k.White-studio.held[i]) > 1e-4 || k.Black != 0 || math.Abs(k.Greatest-greatest) > 0.02 || k.At == 0 {
			t.Errorf("channel %d: %+v; lost %d, greatest %g", i, k, lost, greatest)
		}
	}
	if c.Costs[2].Lost < 15 {
		t.Errorf("blue loses %d codes", c.Costs[2].Lost)
	}
	e := p.Expected
	sum := sha256.Sum256(file)
	if e == nil || e.Profile != "studio left" || e.Digest != hex.EncodeToString(sum[:]) {
		t.Fatalf("%+v", e)
	}
	worst := 0.0
	for i := range 3 {
		for k := range study.Knots {
			s := float64(k) / (study.Knots - 1)
			// In L*, for the eye has to tell them apart.
			loaded := screen.Lightness(e.Loaded[i][k]) - screen.Lightness(math.Pow(s, studio.aim))
			bare := screen.Lightness(e.Bare[i][k]) - screen.Lightness(math.Pow(s, studio.gamma[i]))
			worst = max(worst, math.Abs(loaded), math.Abs(bare))
		}
	}
	if worst > 0.15 {
		t.Errorf("off by %.3f in L*", worst)
	}
	t.Logf("off by %.3f in L*", worst)
	if p := describe(t, study.Task{File: profileAt(t, "made/mft2-xyz.icc")}).Paper.Profile; p.Correction != nil || p.Expected != nil {
		t.Error("a profile without correction expects one")
	}
}

// All profiles at hand are described, and whatever is broken in them says where.
func TestProfilesAtHand(t *testing.T) {
	n := 0
	err := fs.WalkDir(testdata.Profiles, "icc", func(name string, d fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(name, ".icc") {
			return err
		}
		n++
		b, err := testdata.Profiles.ReadFile(name)
		if err != nil {
			return err
		}
		p := describe(t, study.Task{File: b}).Paper.Profile
		if p.Name == "" || p.Class == "" || p.Version == "" || p.Process == "" || p.Made == 0 {
			t.Errorf("%s: %+v", name, p)
		}
		for _, k := range p.Tones {
			if len(k.L) != 256 || k.Gamma < 1 || k.Gamma > 4 {
				t.Errorf("%s: %+v", name, k)
			}
		}
		for _, r := range p.Reach {
			for _, v := range []float64{r.AreaCoverage, r.AreaOverlap, r.VolumeCoverage, r.VolumeOverlap} {
				if v < 0 || v > 1 {
					t.Errorf("%s: %+v", name, r)
				}
			}
		}
		if e := p.Expected; e != nil {
			if err := (*check.Expected)(e).Validate(); err != nil {
				t.Errorf("%s: %v", name, err)
			}
			for i := range 3 {
				if !slices.IsSorted(e.Loaded[i][:]) || !slices.IsSorted(e.Bare[i][:]) || e.Loaded[i][0] != 0 || e.Bare[i][0] != 0 || e.Loaded[i][study.Knots-1] != 1 || e.Bare[i][study.Knots-1] != 1 {
					t.Errorf("%s: channel %d: %v, %v", name, i, e.Loaded[i], e.Bare[i])
				}
			}
		}
		if (p.Expected != nil) != (p.Correction != nil && p.Class == "display") {
			t.Errorf("%s: correction %v, expected %v", name, p.Correction, p.Expected)
		}
		// Cut short it says so, with the place.
		if r := describe(t, study.Task{File: b[:len(b)-5], Name: "a.icc"}).Refused; r == nil || r.Place == "" || !strings.Contains(r.Why, "cut short") || r.Do == "" {
			t.Errorf("%s cut short: %+v", name, r)
		}
		return nil
	})
	if err != nil || n < 30 {
		t.Fatalf("%v, %d profiles", err, n)
	}
}

// A sheet is readings to be written.
type sheet struct {
	head    string // lines of keywords
	columns string
	rows    []string
}

func (s sheet) bytes() []byte {
	return fmt.Appendf(nil, "CGATS.17\n%sNUMBER_OF_FIELDS %d\nBEGIN_DATA_FORMAT\n%s\nEND_DATA_FORMAT\nNUMBER_OF_SETS %d\nBEGIN_DATA\n%s\nEND_DATA\n", s.head, len(strings.Fields(s.columns)), s.columns, len(s.rows), strings.Join(s.rows, "\n"))
}

// patches are greys, primaries and a grid between them: in 8-bit codes.
func patches() (all [][3]int) {
	for _, r := range []int{0, 85, 170, 255} {
		for _, g := range []int{0, 85, 170, 255} {
			for _, b := range []int{0, 85, 170, 255} {
				all = append(all, [3]int{r, g, b})
			}
		}
	}
	for v := 24; v < 256; v += 26 {
		all = append(all, [3]int{v, v, v})
	}
	return append(all, [3]int{222, 176, 150}, [3]int{150, 105, 84}) // as skin is
}

// measured is what an instrument reads of a screen, in cd/m² with some noise.
func measured(s *colour.Space, luminance, noise float64, seed uint64) sheet {
	random := rand.New(rand.NewPCG(seed, 7))
	w := sheet{head: "MEASUREMENT_SOURCE \"MeasurementCondition=emissive\"\n", columns: "SAMPLE_ID RGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z"}
	for i, p := range patches() {
		c := s.XYZ(colour.RGB{R: float64(p[0]) / 255, G: float64(p[1]) / 255, B: float64(p[2]) / 255}).Scale(luminance)
		n := func(v float64) float64 { return v*(1+noise*random.NormFloat64()) + 0.02 }
		w.rows = append(w.rows, fmt.Sprintf("%d %d %d %d %.4f %.4f %.4f", i+1, p[0], p[1], p[2], n(c.X), n(c.Y), n(c.Z)))
	}
	return w
}

func readingsOf(t *testing.T, task study.Task) *study.Readings {
	t.Helper()
	f := describe(t, task)
	if f.Refused != nil {
		t.Fatal(*f.Refused)
	}
	return f.Paper.Readings
}

func TestReadingsDescribed(t *testing.T) {
	good := measured(colour.SRGB, 158, 0.0005, 1).bytes()
	r := readingsOf(t, study.Task{File: good, Luminance: 160})
	if r.Kind != "CGATS.17" || r.Tables != 1 || r.Table != 0 || r.Patches != 75 || r.Compared != 75 || r.Size != "medium" || r.Unit != study.UnitCandela || r.UnitOpen || !r.Device || r.OwnAims || len(r.Units) != 3 || len(r.Notes) != 0 {
		t.Errorf("%+v", r)
	}
	if want := []string{"sRGB", "Display P3", "Adobe RGB (1998)", "BT.2020"}; !slices.Equal(r.Aims, want) || r.Aim != "sRGB" || r.AimName != "sRGB" || r.Unaimed != "" {
		t.Errorf("held against %q of %q", r.Aim, r.Aims)
	}
	l := r.Light
	if l == nil || math.Abs(l.Luminance-158) > 0.5 || l.AimLuminance != 160 || math.Abs(l.Black-0.02) > 1e-3 || l.Contrast < 7000 || l.White == nil || l.AimWhite == nil || l.Off > 0.001 || !l.HasKelvin || math.Abs(l.Kelvin) > 25 || math.Abs(l.AimWhite.Kelvin-6504) > 5 {
		t.Errorf("%+v, %+v", l, l.White)
	}
	names := []string{"all patches", "greys", "primaries", "skin-like"}
	if len(r.Groups) != 4 || len(r.Worst) != 10 || len(r.Verdicts) != 18 {
		t.Fatalf("%d groups, %d worst, %d verdicts", len(r.Groups), len(r.Worst), len(r.Verdicts))
	}
	for i, g := range r.Groups {
		for j, s := range g.By {
			if g.Group != names[i] || s.Formula != []string{"ΔE*ab", "ΔE*94", "ΔE00"}[j] || !(s.Best <= s.Mean && s.Mean <= s.P95 && s.P95 <= s.Largest) || s.Worst == "" || g.Patches == 0 {
				t.Errorf("%+v", g)
			}
		}
	}
	var codes []string
	for _, p := range patches() {
		codes = append(codes, fmt.Sprint(p[0], p[1], p[2]))
	}
	for i, w := range r.Worst {
		if d := difference.CIEDE2000(w.Aim, w.Measured); math.Abs(d-w.By) > 0.02 || i > 0 && w.By > r.Worst[i-1].By || !slices.Contains(codes, w.Device) {
			t.Errorf("%+v: ΔE00 %g", w, d)
		}
	}
	if w := r.Worst[0]; w.By != math.Round(r.Groups[0].By[2].Largest*1e3)/1e3 || w.Name != r.Groups[0].By[2].Worst {
		t.Errorf("%+v is the worst of %+v", w, r.Groups[0])
	}
	for i, v := range r.Verdicts {
		if want := []string{study.SetIndistinguishable, study.SetProof, study.SetOrdinary}[i/6]; v.Set != want || v.Result != study.ResultOn || v.Tolerance <= 0 || v.What == "" {
			t.Errorf("%+v", v)
		}
	}
	if r.Best != study.SetIndistinguishable {
		t.Errorf("best is %q", r.Best)
	}

	// The same readings are off as Display P3, and it shows in what they look like.
	r = readingsOf(t, study.Task{File: good, Held: "Display P3", Luminance: 300, Kelvin: 5000})
	if r.Aim != "Display P3" || r.Groups[0].By[2].Mean < 1 || r.Best != "" || r.Light.Off < 0.01 || r.Light.Kelvin < 1000 {
		t.Errorf("%+v", r.Groups[0])
	}
	for _, v := range r.Verdicts {
		if strings.Contains(v.What, "luminance") && (v.Result != study.ResultOff || math.Abs(v.Value-(1-158.0/300)) > 0.01) {
			t.Errorf("%+v", v)
		}
	}
	if w := r.Worst[0]; w.Shown[0] == w.Shown[1] {
		t.Errorf("%+v looks as it should", w)
	}
	if r := readingsOf(t, study.Task{File: good}); r.Light.AimLuminance != 0 || r.Verdicts[4].Result != study.ResultNot || r.Verdicts[4].Value != 0 {
		t.Errorf("nothing was aimed at: %+v", r.Verdicts[4])
	}
	if r := readingsOf(t, study.Task{File: good, Kelvin: 100}); len(r.Notes) != 1 {
		t.Errorf("an absurd white: %q", r.Notes)
	}

	// A profile that promises what was measured.
	wide := promised{"kitchen laptop", colour.AdobeRGB, [3]float64{2.2, 2.2, 2.2}, 0, [3]float64{1, 1, 1}, 158}
	adobe, err := colour.NewSpace(colour.XY{X: 0.64, Y: 0.33}, colour.XY{X: 0.21, Y: 0.71}, colour.XY{X: 0.15, Y: 0.06}, colour.D65, transfer.Power(2.2))
	if err != nil {
		t.Fatal(err)
	}
	file := measured(adobe, 158, 0.0003, 2).bytes()
	r = readingsOf(t, study.Task{File: file, Against: wide.bytes()})
	if r.Aim != study.HeldProfile || r.AimName != "kitchen laptop" || r.Aims[0] != study.HeldProfile || r.Groups[0].By[2].Mean > 0.1 || r.Best != study.SetIndistinguishable || r.Light.AimLuminance != 158 || r.Light.AimWhite == nil || math.Abs(r.Light.AimWhite.Kelvin-6504) > 10 || r.Light.Off > 0.0005 {
		t.Errorf("%q %q, %+v, best %q, %+v", r.Aim, r.AimName, r.Groups[0], r.Best, r.Light)
	}
	if r := readingsOf(t, study.Task{File: file, Against: wide.bytes(), Held: "sRGB"}); r.Aim != "sRGB" || r.Groups[0].By[2].Mean < 1 {
		t.Errorf("%q, %+v", r.Aim, r.Groups[0])
	}
	for name, b := range map[string][]byte{"cut": wide.bytes()[:500], "four inks": profileAt(t, "made/mft2-cmyk.icc"), "no profile": []byte("abc")} {
		if r := readingsOf(t, study.Task{File: file, Against: b}); r.AgainstOff == "" || r.Aim != "sRGB" || slices.Contains(r.Aims, study.HeldProfile) {
			t.Errorf("%s: %q, held against %q", name, r.AgainstOff, r.Aim)
		}
	}

	// L*a*b* of the file's own are against D50, and so is what the profile has.
	lab := sheet{columns: "SAMPLE_ID RGB_R RGB_G RGB_B LAB_L LAB_A LAB_B"}
	d50 := colour.XYZ{X: 0.9642, Y: 1, Z: 0.8249}
	for i, p := range patches() {
		c := colour.Bradford(adobe.White(), d50).Apply(adobe.XYZ(colour.RGB{R: float64(p[0]) / 255, G: float64(p[1]) / 255, B: float64(p[2]) / 255})).Lab(d50)
		lab.rows = append(lab.rows, fmt.Sprintf("%d %d %d %d %.3f %.3f %.3f", i+1, p[0], p[1], p[2], c.L, c.A, c.B))
	}
	r = readingsOf(t, study.Task{File: lab.bytes(), Against: wide.bytes()})
	if r.Groups[0].By[2].Largest > 0.1 || r.Unit != "" || r.UnitOpen || r.Light != nil || r.Aim != study.HeldProfile {
		t.Errorf("%+v, %+v", r.Groups[0], r)
	}
	if r := readingsOf(t, study.Task{File: lab.bytes(), Held: "Adobe RGB (1998)"}); r.Groups[0].By[2].Largest > 0.2 {
		t.Errorf("%+v", r.Groups[0])
	}
}

// Columns for aims come before all else; without anything to hold them against, readings are shown all the same.
func TestWhatReadingsAreHeldAgainst(t *testing.T) {
	own := sheet{columns: "SAMPLE_ID LAB_L LAB_A LAB_B AIM_LAB_L AIM_LAB_A AIM_LAB_B", rows: []string{"wall 50 1 0 50 0 0", "door 60 0 0 60 0 0"}}
	r := readingsOf(t, study.Task{File: own.bytes(), Against: studio.bytes()})
	if !r.OwnAims || r.Aim != study.HeldColumns || r.Device || !slices.Equal(r.Aims, []string{study.HeldColumns}) || r.AgainstOff == "" || r.Groups[0].By[0].Mean != 0.5 || r.Worst[0].Name != "wall" || r.Worst[0].Device != "" {
		t.Errorf("%+v", r)
	}
	named := sheet{columns: "SAMPLE_ID SAMPLE_NAME LAB_L LAB_A LAB_B AIM_LAB_L AIM_LAB_A AIM_LAB_B", rows: []string{"1 wall 50 1 0 50 0 0"}}
	if r := readingsOf(t, study.Task{File: named.bytes()}); r.Worst[0].Name != "wall" {
		t.Errorf("%+v", r.Worst)
	}
	bare := sheet{columns: "SAMPLE_ID LAB_L LAB_A LAB_B", rows: []string{"a 50 1 0", "b 60 0 0"}}
	if r := readingsOf(t, study.Task{File: bare.bytes()}); r.Aim != "" || r.Unaimed == "" || r.Groups != nil || r.Compared != 0 || r.Patches != 2 {
		t.Errorf("%+v", r)
	}
	if r := readingsOf(t, study.Task{File: bare.bytes(), Held: study.HeldColumns}); r.Aim != "" || r.Unaimed == "" {
		t.Errorf("%+v", r)
	}
}

// What XYZ is in is asked where nothing says, and the answer is used.
func TestUnitsAreAsked(t *testing.T) {
	s := sheet{columns: "SAMPLE_ID RGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z", rows: []string{"1 0 0 0 0.1 0.11 0.12", "2 128 128 128 24.6 25.88 28.19", "3 255 255 255 114.05 120 130.65"}}
	r := readingsOf(t, study.Task{File: s.bytes()})
	if !r.UnitOpen || r.Unit != "" || r.Light.Luminance != 0 || len(r.Notes) != 1 || !strings.HasPrefix(r.Notes[0], "Line 4, column ") {
		t.Errorf("%+v", r)
	}
	r = readingsOf(t, study.Task{File: s.bytes(), Unit: study.UnitCandela})
	if !r.UnitOpen || r.Unit != study.UnitCandela || r.Light.Luminance != 120 || len(r.Notes) != 0 {
		t.Errorf("%+v", r)
	}
	s.head = "MEASUREMENT_SOURCE \"MeasurementCondition=emissive\"\n"
	if r := readingsOf(t, study.Task{File: s.bytes()}); r.UnitOpen || r.Unit != study.UnitCandela || !strings.Contains(r.Units[0], "line 2") {
		t.Errorf("%+v", r)
	}
}

// Each fault in readings is told with its line and column.
func TestReadingsSayWhere(t *testing.T) {
	columns := "SAMPLE_ID RGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z"
	rows := func(second string) []string {
		return []string{"1 0 0 0 0.1 0.11 0.12", second, "3 255 255 255 114.05 120 130.65"}
	}
	head := "MEASUREMENT_SOURCE emissive\n"
	for name, c := range map[string]struct {
		sheet
		refused bool
		place   string
		word    string
	}{
		"a wrong column":        {sheet{head, columns, rows("2 128 128 128 24.6 25.88 -28.19")}, true, "line 10, column 26", "XYZ_Z"},
		"a missing unit":        {sheet{"", columns, rows("2 128 128 128 24.6 25.88 28.19")}, false, "line 4, column 35", "unit"},
		"a decimal comma":       {sheet{head, columns, rows("2 128 128 128 24,6 25.88 28.19")}, false, "line 10, column 15", "decimal comma"},
		"an unknown identifier": {sheet{head, columns + " COLOUR_OF_DOOR", []string{"1 0 0 0 0.1 0.11 0.12 9", "3 255 255 255 114.05 120 130.65 9"}}, false, "line 5, column 47", "COLOUR_OF_DOOR"},
		"a word for a number":   {sheet{head, columns, rows("2 128 128 128 24.6 much 28.19")}, true, "line 10, column 20", "much"},
		"a set too short":       {sheet{head, columns, rows("2 128 128 128 24.6 25.88")}, true, "line ", ""},
	} {
		f := describe(t, study.Task{File: c.bytes()})
		text, place := "", ""
		if f.Refused != nil {
			text, place = f.Refused.Why, f.Refused.Place
		} else {
			text = strings.Join(f.Paper.Readings.Notes, " ")
			place = strings.ToLower(text)
		}
		if (f.Refused != nil) != c.refused || !strings.HasPrefix(place, c.place) || !strings.Contains(text, c.word) || !strings.Contains(strings.ToLower(text), c.place) {
			t.Errorf("%s: %q at %q, refused %v; want %q", name, text, place, f.Refused != nil, c.place)
		}
	}
}

// Second readings tell what of the difference is noise.
func TestReadingsRepeated(t *testing.T) {
	first, second := measured(colour.SRGB, 120, 0.004, 3), measured(colour.SRGB, 121, 0.004, 4)
	slices.Reverse(second.rows)
	r := readingsOf(t, study.Task{File: first.bytes(), Second: second.bytes()})
	k := r.Repeat
	if k == nil || r.SecondOff != "" || k.Patches != 75 || len(k.Between) != 3 || len(k.Moved) != 3 || k.Between[2].Mean <= 0 || k.Moved[2] > k.Between[2].Mean || k.Noise < 0.5 || math.Abs(k.Luminance-1.0/120) > 0.02 || k.White > 0.01 {
		t.Errorf("%q, %+v", r.SecondOff, k)
	}
	same := readingsOf(t, study.Task{File: first.bytes(), Second: first.bytes()}).Repeat
	if same == nil || same.Between[0].Largest != 0 || same.Noise != 0 || same.Luminance != 0 {
		t.Errorf("%+v", same)
	}
	for name, b := range map[string][]byte{"no readings": []byte("abc"), "a profile": studio.bytes(), "none": {}} {
		if r := readingsOf(t, study.Task{File: first.bytes(), Second: b}); r.Repeat != nil || len(b) > 0 && !strings.Contains(strings.ToLower(r.SecondOff), "line ") {
			t.Errorf("%s: %q, %+v", name, r.SecondOff, r.Repeat)
		}
	}
	other := measured(colour.SRGB, 120, 0, 5)
	for i := range other.rows {
		f := strings.Fields(other.rows[i])
		f[1], f[2], f[3] = fmt.Sprint(1+2*(i%100)), "77", "3"
		other.rows[i] = strings.Join(f, " ")
	}
	if r := readingsOf(t, study.Task{File: first.bytes(), Second: other.bytes()}); r.Repeat != nil || r.SecondOff == "" {
		t.Errorf("%q", r.SecondOff)
	}
}

func TestTablesOfReadings(t *testing.T) {
	b, err := testdata.FS.ReadFile("readings/tables.txt")
	if err != nil {
		t.Fatal(err)
	}
	if r := readingsOf(t, study.Task{File: b}); r.Tables != 2 || r.Table != 0 || !r.Device {
		t.Errorf("%+v", r)
	}
	if r := readingsOf(t, study.Task{File: b, Table: 1}); r.Table != 1 || r.Device {
		t.Errorf("%+v", r)
	}
	for _, n := range []int{2, -1} {
		if f := describe(t, study.Task{File: b, Table: n}); f.Refused == nil {
			t.Errorf("table %d is there", n)
		}
	}
	// The first that holds readings, behind one of levels.
	levels := append(sheet{columns: "SAMPLE_ID RGB_R RGB_G RGB_B", rows: []string{"1 0 0 0"}}.bytes(), measured(colour.SRGB, 100, 0, 1).bytes()...)
	if r := readingsOf(t, study.Task{File: levels}); r.Tables != 2 || r.Table != 1 || r.Patches != 75 {
		t.Errorf("%+v", r)
	}
}

func TestPapersRefused(t *testing.T) {
	for name, c := range map[string]struct {
		file  []byte
		file2 string
		why   string
	}{
		"nothing":              {nil, "a.icc", "empty"},
		"endless":              {make([]byte, study.MostPaper+1), "a.icc", "the most"},
		"a picture":            {[]byte("\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR"), "a.png", "neither"},
		"words for a profile":  {bytes.Repeat([]byte("words "), 50), "a.ICM", "byte 36"},
		"words":                {[]byte("words\nand words\n"), "a.txt", "line "},
		"readings as profile":  {measured(colour.SRGB, 100, 0, 1).bytes(), "a.icc", "byte 36"},
		"a profile, one name":  {studio.bytes()[:200], "a.txt", "byte 0"},
		"a header and nothing": {studio.bytes()[:132], "a.icc", "byte 0"},
	} {
		f := describe(t, study.Task{File: c.file, Name: c.file2})
		if f.Refused == nil || !strings.Contains(strings.ToLower(f.Refused.Why), c.why) || f.Refused.Do == "" {
			t.Errorf("%s: %+v", name, f.Refused)
		}
	}
}

// Names from files are short and one line.
func TestNamesAreTidied(t *testing.T) {
	long := studio
	long.name = "studio\x07 \n left\x00 " + strings.Repeat("x", 3000)
	p := describe(t, study.Task{File: long.bytes()}).Paper.Profile
	if len([]rune(p.Name)) > 120 || strings.ContainsAny(p.Name, "\n\x07\x00") || !strings.HasPrefix(p.Name, "studio left") {
		t.Errorf("%q", p.Name)
	}
	// Whatever it is called, a sitting takes what is expected of it.
	for _, name := range []string{"", "\x00", strings.Repeat("x", 300), strings.Repeat("果", 100)} {
		long.name = name
		if err := (*check.Expected)(describe(t, study.Task{File: long.bytes()}).Paper.Profile.Expected).Validate(); err != nil {
			t.Errorf("%q: %v", name, err)
		}
	}
}

func FuzzDescribe(f *testing.F) {
	good := measured(colour.SRGB, 158, 0, 1).bytes()
	for _, b := range [][]byte{studio.bytes(), good, sheet{columns: "SAMPLE_ID LAB_L LAB_A LAB_B AIM_LAB_L AIM_LAB_A AIM_LAB_B", rows: []string{"wall 50 1 0 50 0 0"}}.bytes()} {
		f.Add(b, []byte(nil), []byte(nil), "", 0)
		f.Add(good, b, good, study.HeldProfile, 0)
	}
	f.Fuzz(func(t *testing.T, file, against, second []byte, held string, table int) {
		found := study.Task{What: study.Describe, File: file, Against: against, Second: second, Held: held, Table: table}.Describe()
		text, err := found.Marshal()
		if err != nil {
			t.Fatal(err)
		}
		if back, err := study.ReadFound(text); err != nil || !reflect.DeepEqual(back.Paper, found.Paper) {
			t.Fatalf("%v: %s", err, text)
		}
	})
}
