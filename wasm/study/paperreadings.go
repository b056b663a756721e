package study

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/plumb/colour"
	"example.org/plumb/colour/cct"
	"example.org/plumb/colour/gamut"
	"example.org/plumb/colour/icc"
	"example.org/plumb/colour/readings"
)

// mostWorst is how many patches are told one by one.
const mostWorst = 10

var units = map[string]readings.Unit{UnitCandela: readings.Candela, UnitPercent: readings.Percent, UnitRelative: readings.Relative}

func unitWord(u readings.Unit) string {
	for word, v := range units {
		if v == u {
			return word
		}
	}
	return ""
}

// readingsFault is why readings are not read, with the place.
func readingsFault(err error) (why, place string) {
	if p, ok := errors.AsType[*readings.Problem](err); ok {
		return sentence(p.String()), fmt.Sprintf("line %d, column %d", p.Line, p.Column)
	}
	return sentence(err.Error()), ""
}

// table returns a table of readings in numbers: the one that is asked for, or from the first on the first that holds readings.
func table(f *readings.File, n int, o readings.Option) (*readings.Set, int, error) {
	if n < 0 || n >= len(f.Tables) {
		return nil, 0, fmt.Errorf("the file has %d tables, and number %d was asked for", len(f.Tables), n+1)
	}
	s, first := f.Tables[n].Set(o)
	if first == nil || n > 0 {
		return s, n, first
	}
	for i := 1; i < len(f.Tables); i++ {
		if s, err := f.Tables[i].Set(o); err == nil {
			return s, i, nil
		}
	}
	return nil, 0, first
}

// ownLab says whether a set's L*a*b* are those of the file, which are against D50.
func ownLab(s *readings.Set) bool { return s.Units.XYZ != readings.Candela && s.Patches[0].HasLab }

// target is what readings are held against.
type target struct {
	held, name string
	aim        readings.Aim
}

// readings says what patches were measured, and how far they are off.
func (t Task) readings() (*Readings, *Refusal) {
	f, err := readings.Read(t.File)
	var set *readings.Set
	at := 0
	o := readings.Option{XYZ: units[t.Unit]}
	if err == nil {
		set, at, err = table(f, t.Table, o)
	}
	if err == nil && len(set.Patches) == 0 {
		err = errors.New("there are no patches in the table")
	}
	if err != nil {
		r := &Refusal{Why: "The readings cannot be read.", Do: "Mend that place in a text editor, or export the readings anew as CGATS or CSV with XYZ or L*a*b*."}
		if bytes.IndexByte(t.File, 0) >= 0 {
			r.Why, r.Do = "This is neither a colour profile nor text with readings.", "Take a profile (.icc or .icm), or readings as CGATS or CSV."
		}
		why, place := readingsFault(err)
		r.Why, r.Place = r.Why+" "+why, place
		return nil, r
	}
	r := &Readings{
		Kind: tidy(f.Kind), Tables: len(f.Tables), Table: at, Patches: len(set.Patches), Size: set.Size().String(), Unit: unitWord(set.Units.XYZ),
		UnitOpen: set.Patches[0].HasXYZ && unstated(f, at),
	}
	r.units(set)
	for _, n := range slices.Concat(f.Notes, set.Notes) {
		r.Notes = append(r.Notes, sentence(n.String()))
	}
	aims := t.aims(set, r)
	for _, a := range aims {
		r.Aims = append(r.Aims, a.held)
	}
	var aim readings.Aim
	for i, a := range aims {
		if a.held == t.Held || t.Held == "" && i == 0 {
			r.Aim, r.AimName, aim = a.held, a.name, a.aim
			break
		}
	}
	if r.Aim == "" && t.Held != "" {
		r.Unaimed = "What the readings were to be held against does not fit this file."
	}
	if t.Luminance > 0 && t.Luminance < 1e5 {
		aim.Luminance = t.Luminance
	}
	if t.Kelvin != 0 {
		if w, err := cct.Daylight(t.Kelvin); err == nil {
			aim.White = w
		} else {
			r.Notes = append(r.Notes, "Daylight is told from 4000 to 25000 K, so that the white is not held against what was asked for.")
		}
	}
	c, err := readings.Compare(set, aim)
	r.light(c.Light, aim)
	if err != nil {
		if r.Unaimed == "" {
			r.Unaimed = sentence(err.Error())
		}
		r.Aim, r.AimName = "", ""
	} else {
		r.compared(set, c)
	}
	if t.Second != nil {
		r.again(t, set, aim)
	}
	return r, nil
}

// unstated says whether the file leaves the unit of XYZ open.
func unstated(f *readings.File, at int) bool {
	s, err := f.Tables[at].Set(readings.Option{})
	return err == nil && s.Units.XYZ == readings.Unstated
}

func (r *Readings) units(s *readings.Set) {
	if s.Patches[0].HasXYZ {
		switch u := s.Units; {
		case u.XYZ != readings.Unstated:
			r.Units = append(r.Units, sentence(fmt.Sprintf("XYZ is in %s, by %s", u.XYZ, u.XYZBy)))
		default:
			r.Units = append(r.Units, "Nothing says what XYZ is in, so no luminance is told.")
		}
	}
	if ownLab(s) {
		by := s.Units.LabBy
		if by == "" {
			by = "D50 and the 2° observer, as the standard has it where a file says nothing"
		}
		r.Units = append(r.Units, sentence("L*a*b* are the file's own, against "+tidy(by)))
	} else {
		r.Units = append(r.Units, "L*a*b* are worked out from XYZ against the measured white.")
	}
	if s.Units.Device > 0 {
		r.Units = append(r.Units, sentence(fmt.Sprintf("Device values are full at %g, by %s", s.Units.Device, s.Units.DevBy)))
	}
}

// aims lists what a set can be held against, the usual first, and notes what the file has for it.
func (t Task) aims(s *readings.Set, r *Readings) (all []target) {
	channels := 0
	for _, p := range s.Patches {
		r.OwnAims = r.OwnAims || p.HasAim
		channels = max(channels, len(p.Device))
	}
	r.Device = channels > 0
	if r.OwnAims {
		all = append(all, target{HeldColumns, "", readings.FromColumns()})
	}
	if t.Against != nil {
		a, err := profileAim(t.Against, s, channels)
		if err != nil {
			why, _ := profileFault(err)
			r.AgainstOff = "The profile is not held against. " + why
		} else {
			all = append(all, a)
		}
	}
	if channels == 3 && !s.Inks {
		for _, k := range gamut.Standards() {
			a := readings.FromSpace(k.Space)
			if ownLab(s) {
				// The file's L*a*b* are against D50, so the space is brought there too.
				to := colour.Bradford(k.Space.White(), icc.D50)
				a = readings.FromDevice(func(v []float64) (colour.Lab, bool) {
					return to.Apply(k.Space.XYZ(colour.RGB{R: v[0], G: v[1], B: v[2]})).Lab(icc.D50), true
				})
				a.White = k.Space.White().XY()
			}
			all = append(all, target{k.Name, k.Name, a})
		}
	}
	return all
}

// profileAim aims at what a profile promises: for XYZ at what an instrument would read, against the device's own white; for the file's own L*a*b* at what the
// connection space has, and of paper with its own white.
func profileAim(b []byte, s *readings.Set, channels int) (target, error) {
	p, err := icc.Read(b)
	if err != nil {
		return target{}, err
	}
	if channels == 0 {
		return target{}, errors.New("the readings have no device values to look up in it")
	}
	if n := p.Space.Channels(); n != channels {
		return target{}, fmt.Errorf("it is for %d channels, and the readings have %d", n, channels)
	}
	if s.Inks != (p.Space == icc.SpaceCMYK || p.Space == icc.SpaceCMY) {
		return target{}, fmt.Errorf("it is for %s, and the readings have other device values", p.Space)
	}
	intent := icc.Relative
	if ownLab(s) && p.Class == icc.Output {
		intent = icc.Absolute
	}
	to, err := p.Forward(intent)
	if err != nil {
		return target{}, err
	}
	lab := func(v []float64) colour.Lab { return to.Lab(v...) }
	var white colour.XY
	if native, err := p.Native(); err == nil && !s.Inks {
		full := make([]float64, channels)
		for i := range full {
			full[i] = 1
		}
		if w := native(full...); w.X > 0 && w.Y > 0 && w.Z > 0 {
			white = w.XY()
			if !ownLab(s) {
				lab = func(v []float64) colour.Lab { return native(v...).Lab(w) }
			}
		}
	}
	a := target{HeldProfile, tidy(p.Description().String()), readings.FromDevice(func(v []float64) (colour.Lab, bool) {
		c := lab(v)
		return c, len(v) == channels && !math.IsNaN(c.L+c.A+c.B) && !math.IsInf(c.L+c.A+c.B, 0)
	})}
	a.aim.White = white
	a.aim.Luminance, _ = p.Luminance()
	return a, nil
}

func (r *Readings) light(l readings.Light, aim readings.Aim) {
	if l.White == (colour.XY{}) && l.Luminance == 0 {
		return
	}
	r.Light = &Light{
		Luminance: round(l.Luminance, 3), Black: round(l.Black, 5), Contrast: round(l.Contrast, 1), AimLuminance: round(aim.Luminance, 3), White: white(l.White),
	}
	if aim.White != (colour.XY{}) {
		r.Light.AimWhite, r.Light.Off = white(aim.White), round(l.Off, 5)
		r.Light.Kelvin, r.Light.HasKelvin = round(l.Kelvin, 1), l.Told
	}
}

var formulas = [...]readings.Formula{readings.CIE76, readings.CIE94, readings.CIEDE2000}

func patchName(s *readings.Set, i int) string {
	p := s.Patches[i]
	if n := tidy(p.Name); n != "" {
		return n
	}
	if n := tidy(p.ID); n != "" {
		return n
	}
	return fmt.Sprintf("line %d", p.Line)
}

// codes writes device values on the file's own scale.
func codes(s *readings.Set, i int) string {
	var all []string
	for _, v := range s.Patches[i].Device {
		all = append(all, fmt.Sprint(round(v*s.Units.Device, 2)))
	}
	return strings.Join(all, " ")
}

func summary(s *readings.Set, f readings.Formula, v readings.Summary) Summary {
	return Summary{f.String(), round(v.Best, 4), round(v.Mean, 4), round(v.P95, 4), round(v.Largest, 4), patchName(s, v.Worst)}
}

// compared tells differences by group, the worst patches, and what they are worth.
func (r *Readings) compared(s *readings.Set, c *readings.Comparison) {
	r.Compared = len(c.Patches)
	for _, g := range [...]readings.Group{readings.All, readings.Greys, readings.Primaries, readings.SkinLike} {
		n := c.Summaries[readings.CIEDE2000][g].Patches
		if n == 0 {
			continue
		}
		k := GroupSummary{Group: g.String(), Patches: n}
		for _, f := range formulas {
			k.By = append(k.By, summary(s, f, c.Summaries[f][g]))
		}
		r.Groups = append(r.Groups, k)
	}
	var worst []readings.Difference // in order, of those alike the first first
	for _, d := range c.Patches {
		at := len(worst)
		for at > 0 && d.By[readings.CIEDE2000] > worst[at-1].By[readings.CIEDE2000] {
			at--
		}
		worst = slices.Insert(worst, at, d)
		worst = worst[:min(len(worst), mostWorst)]
	}
	for _, d := range worst {
		r.Worst = append(r.Worst, Worst{
			Name: patchName(s, d.Patch), Device: codes(s, d.Patch), Measured: roundLab(d.Measured), Aim: roundLab(d.Aim), By: round(d.By[readings.CIEDE2000], 3), Shown: [2][3]uint8{shown(d.Aim), shown(d.Measured)},
		})
	}
	for _, k := range [...]struct {
		name string
		readings.Tolerances
	}{{SetIndistinguishable, readings.Indistinguishable}, {SetProof, readings.Proof}, {SetOrdinary, readings.Ordinary}} {
		all := c.Verdicts(k.Tolerances)
		for _, v := range all {
			j := Judged{Set: k.name, What: v.What, Tolerance: v.Tolerance, Result: v.Result.String()}
			if v.Result != readings.NotJudged {
				j.Value = round(v.Value, 4)
			}
			r.Verdicts = append(r.Verdicts, j)
		}
		if r.Best == "" && readings.Together(all) == readings.OnAim {
			r.Best = k.name
		}
	}
}

func roundLab(c colour.Lab) colour.Lab {
	return colour.Lab{L: round(c.L, 2), A: round(c.A, 2), B: round(c.B, 2)}
}

// shown is a colour in codes of sRGB, its white upon white.
func shown(c colour.Lab) (codes [3]uint8) {
	s := colour.SRGB.RGB(c.XYZ(colour.SRGB.White()))
	for i, v := range [...]float64{s.R, s.G, s.B} {
		codes[i] = uint8(math.Round(255 * min(max(v, 0), 1)))
	}
	return codes
}

// again lays second readings of the same patches beside the first.
func (r *Readings) again(t Task, first *readings.Set, aim readings.Aim) {
	off := func(err error) {
		why, _ := readingsFault(err)
		r.SecondOff = "The second readings are not compared. " + why
	}
	f, err := readings.Read(t.Second)
	if err != nil {
		off(err)
		return
	}
	n := 0
	if r.Table < len(f.Tables) {
		n = r.Table
	}
	second, _, err := table(f, n, readings.Option{XYZ: units[t.Unit]})
	if err != nil {
		off(err)
		return
	}
	if r.Aim == "" {
		aim.Lab = nil
	}
	k, err := readings.Again(first, second, aim)
	if err != nil {
		off(err)
		return
	}
	r.Repeat = &Repeat{Patches: k.Between[readings.CIEDE2000].Patches, Noise: round(k.Noise, 4), Luminance: round(k.Luminance, 5), White: round(k.White, 5)}
	for _, f := range formulas {
		r.Repeat.Between = append(r.Repeat.Between, summary(first, f, k.Between[f]))
		r.Repeat.Moved = append(r.Repeat.Moved, round(k.Moved[f], 4))
	}
	for _, note := range second.Notes {
		if len(r.Notes) < 2*mostWorst+40 {
			r.Notes = append(r.Notes, "In the second readings: "+strings.TrimSpace(sentence(note.String())))
		}
	}
}
