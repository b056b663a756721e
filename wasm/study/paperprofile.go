package study

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"math"
	"path"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"example.org/plumb/colour"
	"example.org/plumb/colour/cct"
	"example.org/plumb/colour/gamut"
	"example.org/plumb/colour/icc"
	"example.org/plumb/patterns/screen"
)

// The most characters of a name, and of a sentence about a file, that are shown.
const (
	mostName     = 120
	mostKnown    = 256 // bytes: check.MostProfileName
	mostSentence = 500
)

// tidy makes a text that stands in a file fit to be shown: one line of whole characters, not too long.
func tidy(s string) string {
	if len(s) > 8*mostName {
		s = s[:8*mostName]
	}
	s = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case unicode.IsControl(r), unicode.Is(unicode.Cf, r):
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\ufffd"))
	s = strings.Join(strings.Fields(s), " ")
	if r := []rune(s); len(r) > mostName {
		s = string(r[:mostName-1]) + "…"
	}
	return s
}

// round keeps so many decimals. What is no number, or too large for any screen, is 0, so that all of a Paper has JSON.
func round(v float64, decimals int) float64 {
	if !(math.Abs(v) < 1e12) {
		return 0
	}
	unit := math.Pow10(decimals)
	if v = math.Round(v*unit) / unit; v == 0 {
		return 0 // and not -0
	}
	return v
}

// tie is by how much a greatest value must be exceeded: what differs by rounding alone is alike, and the first is taken.
const tie = 1e-7

func roundXY(c colour.XY) colour.XY { return colour.XY{X: round(c.X, 5), Y: round(c.Y, 5)} }
func roundUV(c colour.UV) colour.UV { return colour.UV{U: round(c.U, 5), V: round(c.V, 5)} }

// sentence makes an error of a package below a sentence.
func sentence(text string) string {
	for _, p := range [...]string{"icc: ", "readings: ", "gamut: "} {
		text = strings.ReplaceAll(text, p, "")
	}
	r := []rune(strings.Join(strings.Fields(strings.ToValidUTF8(text, "\ufffd")), " "))
	if len(r) == 0 {
		return ""
	}
	if len(r) > mostSentence {
		r = append(r[:mostSentence-1], '…')
	}
	if !strings.ContainsRune(".?…", r[len(r)-1]) {
		r = append(r, '.')
	}
	r[0] = unicode.ToUpper(r[0])
	return string(r)
}

// looksLikeProfile says whether a file is, or is named, a profile.
func looksLikeProfile(name string, b []byte) bool {
	if len(b) >= 40 && bytes.Equal(b[36:40], []byte("acsp")) {
		return true
	}
	switch strings.ToLower(path.Ext(name)) {
	case ".icc", ".icm":
		return true
	}
	return false
}

// profileFault is why a profile is not read, with the place.
func profileFault(err error) (why, place string) {
	f, ok := err.(*icc.Fault)
	if !ok {
		return sentence(err.Error()), ""
	}
	place = fmt.Sprintf("byte %d", f.Offset)
	if f.Tag != 0 {
		place = fmt.Sprintf("byte %d, tag %s", f.Offset, f.Tag)
	}
	return sentence(f.String()), place
}

// profile says what a profile promises.
func (t Task) profile(digest Digest) (*Profile, *Refusal) {
	p, err := icc.Read(t.File)
	if err != nil {
		why, place := profileFault(err)
		return nil, &Refusal{Why: "The colour profile cannot be read. " + why, Do: "Have the profile made anew, or take another copy of the file.", Place: place}
	}
	aim, ok := screen.AimByID(t.Aim)
	if !ok {
		aim = screen.Aims[0]
	}
	f, err := p.Facts(aim.Curves[0])
	o := &Profile{
		Name: tidy(f.Name), Version: f.Version, Class: f.Class.String(), Space: f.Space.String(), Process: f.Process.String(),
		Made: millis(f.Made), Calibrated: millis(f.Calibrated), ID: f.ID.String(), Luminance: round(f.Luminance, 2), Aim: aim.ID, Adapted: f.Adapted,
	}
	for _, n := range f.Notes {
		o.Notes = append(o.Notes, sentence(n.String()))
	}
	if err != nil {
		o.Notes = append(o.Notes, sentence(err.Error()))
	}
	if f.CICP != nil {
		o.CICP = cicpWords(*f.CICP)
	}
	if f.White.Source != icc.NotTold {
		o.White, o.WhiteBy = white(f.White.XY), f.White.Source.String()
	}
	o.tones(p, f, aim)
	o.greys(p, f)
	o.reach(p, f)
	if f.Correction != nil {
		o.Correction = correction(*f.Correction)
		if loaded, bare, err := p.Responses(); err == nil {
			e := &Expected{Profile: known(o.Name), Digest: hex.EncodeToString(digest[:])}
			for i := range 3 {
				loaded[i].Light(e.Loaded[i][:])
				bare[i].Light(e.Bare[i][:])
				for k := range Knots {
					e.Loaded[i][k], e.Bare[i][k] = round(e.Loaded[i][k], 7), round(e.Bare[i][k], 7)
				}
			}
			o.Expected = e
		}
	}
	return o, nil
}

// known is the name by which a sitting knows a profile: never empty, and of a length that check takes.
func known(name string) string {
	for len(name) > mostKnown {
		_, n := utf8.DecodeLastRuneInString(name)
		name = name[:len(name)-n]
	}
	if name == "" {
		return "a profile without a name"
	}
	return name
}

func millis(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixMilli()
}

// white ties a chromaticity to temperatures.
func white(c colour.XY) *White {
	if !(c.Y > 0) || math.IsInf(c.X, 0) || math.IsInf(c.Y, 0) {
		return nil
	}
	w := &White{XY: roundXY(c), UV: roundUV(c.UV())}
	if k, err := cct.Planckian(c); err == nil {
		w.Kelvin, w.Duv = round(k.Kelvin, 1), round(k.Duv, 5)
	}
	if d, err := cct.NearestDaylight(c); err == nil {
		if at, err := cct.Daylight(d.Kelvin); err == nil {
			w.Daylight, w.FromDay = round(d.Kelvin, 1), round(math.Copysign(c.UV().Distance(at.UV()), d.Duv), 5)
		}
	}
	return w
}

// tones holds the curves against the aim, which may be a band.
func (o *Profile) tones(p *icc.Profile, f icc.Facts, aim screen.Aim) {
	if len(f.Tones) == 0 {
		return
	}
	var lo, hi [256]float64
	for c := range 256 {
		lo[c], hi[c] = aim.Band(float64(c) / 255)
		o.AimLo, o.AimHi = append(o.AimLo, round(lo[c], 3)), append(o.AimHi, round(hi[c], 3))
	}
	curves, plain := p.Curves()
	plain = plain && (f.Process == icc.Matrix || f.Process == icc.GreyCurve)
	for i, k := range f.Tones {
		t := Tone{
			Channel: k.Channel, Form: f.Process.String(), Gamma: round(k.Gamma, 3), StepLeast: round(k.Steps.Smallest, 3), StepAt: k.Steps.SmallestAt,
			StepMost: round(k.Steps.Largest, 3), StepMostAt: k.Steps.LargestAt, Equal: k.Steps.Lost,
		}
		switch {
		case !plain:
			t.Form = "tables"
		case i < len(curves):
			t.Form = curveWords(curves[i])
		default:
			t.Form = "of all three together"
		}
		var sum float64
		for c, v := range k.Light {
			l := screen.Lightness(v)
			off := l - min(max(l, lo[c]), hi[c])
			sum += off * off
			if math.Abs(off) > math.Abs(t.Off)+tie {
				t.Off, t.OffAt = off, c
			}
			t.L = append(t.L, round(l, 3))
		}
		t.Off, t.Mean = round(t.Off, 3), round(math.Sqrt(sum/256), 3)
		o.Tones = append(o.Tones, t)
	}
}

// curveWords says how a curve is written.
func curveWords(c icc.Curve) string {
	n := c.Parameters()
	switch form := c.Form(); {
	case c.Samples() > 0:
		return fmt.Sprintf("%d samples", c.Samples())
	case form == "identity":
		return "a straight line"
	case form == "power" || form == "parametric 0":
		return fmt.Sprintf("a power of %.4g", n[0])
	default:
		return fmt.Sprintf("a formula, type %s of the standard, with a power of %.4g", strings.TrimPrefix(form, "parametric "), n[0])
	}
}

// greys are how far greys stray from the device's own white.
func (o *Profile) greys(p *icc.Profile, f icc.Facts) {
	if p.Space != icc.SpaceRGB || len(f.Tones) == 0 {
		return
	}
	to, err := p.Native()
	if err != nil {
		// Against D50, then, as primaries are.
		forward, err := p.Forward(icc.Relative)
		if err != nil {
			return
		}
		to = forward.XYZ
	}
	top := to(1, 1, 1)
	if !(top.X > 0 && top.Y > 0 && top.Z > 0) {
		return
	}
	for c := range 256 {
		s := float64(c) / 255
		x := to(s, s, s)
		if !(x.Y >= top.Y/100) {
			continue
		}
		uv, ref := x.UV(), top.UV()
		if d := uv.Distance(ref); d > o.TintMost+tie {
			o.TintMost, o.TintAt = d, c
		}
		if c%5 == 0 {
			o.Tint = append(o.Tint, GreyTint{c, round(uv.U-ref.U, 5), round(uv.V-ref.V, 5)})
		}
	}
	o.TintMost, o.TintChroma = round(o.TintMost, 5), round(f.Tint.Chroma, 3)
}

// reach is the range of colours, and how it compares with standard spaces.
func (o *Profile) reach(p *icc.Profile, f icc.Facts) {
	var own gamut.Polygon
	for _, c := range f.Primaries {
		o.Primaries = append(o.Primaries, Primary{c.Channel, roundXY(c.XY), roundUV(c.UV)})
		own = append(own, c.UV)
	}
	if len(own) == 3 {
		o.Area = round(own.Area(), 6)
	}
	spaces := gamut.Standards()
	for i, r := range f.Reach {
		s := spaces[i]
		e := Reach{
			Name: r.Standard, AreaCoverage: round(r.Area.Coverage, 4), AreaOverlap: round(r.Area.Overlap, 4), AreaSize: round(r.Area.Size, 4),
			VolumeCoverage: round(r.Volume.Coverage, 4), VolumeOverlap: round(r.Volume.Overlap, 4), VolumeSize: round(r.Volume.Size, 4), HasVolume: r.Volume.Size > 0,
		}
		m := s.Space.Matrix()
		if o.Adapted {
			m = colour.Bradford(s.Space.White(), icc.D50).Times(m)
		}
		for j, name := range [...]string{"red", "green", "blue"} {
			x := colour.XYZ{X: m[0][j], Y: m[1][j], Z: m[2][j]}
			e.Corners = append(e.Corners, Primary{name, roundXY(x.XY()), roundUV(x.UV())})
		}
		if i == 0 {
			o.Volume = round(r.Volume.Size*s.Solid().Volume(), 0)
		}
		o.Reach = append(o.Reach, e)
	}
}

// correction is what the video card is meant to do.
func correction(c icc.Correction) *Correction {
	k := &Correction{Form: "a formula", Changes: c.Changes()}
	if entries, bits, table := c.Table(); table {
		k.Form = fmt.Sprintf("a table of %d entries of %d bits", entries, bits)
	}
	for i := range 3 {
		for code := range 256 {
			k.Curves[i] = append(k.Curves[i], round(c.Level(i, float64(code)/255), 5))
		}
		cost := c.Cost(i)
		k.Costs[i] = Cost{Lost: cost.Lost, White: round(cost.White, 5), Black: round(cost.Black, 5), Greatest: round(cost.Greatest, 2), At: cost.At}
	}
	return k
}

// cicpWords names the code points that profiles of screens have (ITU-T H.273, 8.1 and 8.2), and others by their numbers.
func cicpWords(c icc.CICP) string {
	primaries, ok := map[int]string{
		1: "the primaries of BT.709 and sRGB", 9: "the primaries of BT.2020", 11: "the primaries of SMPTE RP 431-2", 12: "the primaries of Display P3", 2: "primaries not told",
	}[c.Primaries]
	if !ok {
		primaries = fmt.Sprintf("primaries number %d", c.Primaries)
	}
	transfer, ok := map[int]string{
		1: "the transfer function of BT.709", 2: "a transfer function not told", 4: "a gamma of 2.2", 5: "a gamma of 2.8", 8: "linear light", 13: "the transfer function of sRGB",
		14: "the transfer function of BT.2020", 15: "the transfer function of BT.2020", 16: "PQ of BT.2100", 18: "HLG of BT.2100",
	}[c.Transfer]
	if !ok {
		transfer = fmt.Sprintf("transfer function number %d", c.Transfer)
	}
	span := "narrow range"
	if c.Full {
		span = "full range"
	}
	if c.Matrix != 0 {
		span += fmt.Sprintf(", matrix number %d", c.Matrix)
	}
	return primaries + ", " + transfer + ", " + span
}
