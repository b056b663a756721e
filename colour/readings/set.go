package readings

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/plumb/colour"
)

// A Patch is one reading.
type Patch struct {
	ID, Name string
	Line     int
	Device   []float64  // each in [0,1]; nil where the file has none
	XYZ      colour.XYZ // in the set's unit
	Lab      colour.Lab // as the file has it; against D50 unless the file says otherwise
	Aim      colour.Lab // from the file's own columns for aims
	HasXYZ   bool
	HasLab   bool
	HasAim   bool
}

// A Set is a table of readings in numbers. The zero value is empty.
type Set struct {
	Patches []Patch
	Units   Units
	White   colour.XYZ // mean of the patches at full, in the set's unit; zero where there is no XYZ
	Black   colour.XYZ // mean of the patches at 0; zero where there are none
	Whites  int        // how many patches White is the mean of
	Inks    bool       // device values are inks, so that white is none of them
	Notes   []Problem
}

// A Size says how much a set can show: Small finds what is wrong, Medium how wrong, Large where. The zero value is none.
type Size int

const (
	None   Size = iota
	Small       // up to 36 patches
	Medium      // up to 200
	Large
)

func (s Size) String() string { return [...]string{"none", "small", "medium", "large"}[s] }

// Size returns how large the set is.
func (s *Set) Size() Size {
	switch n := len(s.Patches); {
	case n == 0:
		return None
	case n <= 36:
		return Small
	case n <= 200:
		return Medium
	}
	return Large
}

// parse reads a number. Points are decimal; a comma in their place is taken for one and said so. Thousands are never parted.
func parse(s string) (v float64, comma bool, what string) {
	if s == "" {
		return 0, false, "there is no value"
	}
	text := s
	if strings.Count(s, ",") == 1 && !strings.Contains(s, ".") {
		text, comma = strings.Replace(s, ",", ".", 1), true
	}
	// ParseFloat would take 0x1p-2, 1_000, inf and nan as well.
	if strings.Trim(text, "+-.0123456789eE") != "" {
		return 0, false, quoted(s) + " is no number"
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return 0, false, quoted(s) + " is no number"
	}
	return v, comma, ""
}

// Set reads the numbers of the table. Errors are *Problem.
func (t *Table) Set(o Option) (*Set, error) {
	s, p := t.set(o)
	if p != nil {
		return nil, p
	}
	return s, nil
}

func (t *Table) set(o Option) (*Set, *Problem) {
	s := &Set{}
	at := map[string]int{}
	for i, c := range t.Columns {
		if _, ok := at[c.ID]; !ok && c.ID != "" {
			at[c.ID] = i
		}
	}
	have := func(ids ...string) bool { return has(at, ids...) }
	measured := map[string]bool{}
	for _, f := range family[:2] {
		measured["XYZ"] = measured["XYZ"] || have(f...)
	}
	measured["Lab"] = have("LAB_L", "LAB_A", "LAB_B") || have("LAB_L", "LAB_C", "LAB_H")
	if !measured["XYZ"] && !measured["Lab"] {
		c := t.Columns[0]
		return nil, &Problem{c.line, c.column, "", "there is nothing measured in the table: neither XYZ_X, XYZ_Y, XYZ_Z nor XYY_X, XYY_Y, XYY_CAPY nor LAB_L, LAB_A, LAB_B"}
	}
	rgb, cmyk := have(family[2]...), have(family[3]...)
	s.Inks = cmyk && !rgb
	var device []string
	if rgb {
		device = family[2]
	} else if cmyk {
		device = family[3]
	}
	s.Patches = make([]Patch, 0, t.Rows)
	values := map[string]float64{}
	commas, whole, most := 0, true, 0.0
	var firstComma Problem
	var aimXYZ []colour.XYZ
	tri := func(prefix string) (colour.XYZ, bool) {
		switch {
		case have(prefix+"XYZ_X", prefix+"XYZ_Y", prefix+"XYZ_Z"):
			return colour.XYZ{X: values[prefix+"XYZ_X"], Y: values[prefix+"XYZ_Y"], Z: values[prefix+"XYZ_Z"]}, true
		case have(prefix+"XYY_X", prefix+"XYY_Y", prefix+"XYY_CAPY"):
			return colour.XY{X: values[prefix+"XYY_X"], Y: values[prefix+"XYY_Y"]}.XYZ(values[prefix+"XYY_CAPY"]), true
		}
		return colour.XYZ{}, false
	}
	lab := func(prefix string) (colour.Lab, bool) {
		switch {
		case have(prefix+"LAB_L", prefix+"LAB_A", prefix+"LAB_B"):
			return colour.Lab{L: values[prefix+"LAB_L"], A: values[prefix+"LAB_A"], B: values[prefix+"LAB_B"]}, true
		case have(prefix+"LAB_L", prefix+"LAB_C", prefix+"LAB_H"):
			h := values[prefix+"LAB_H"] * math.Pi / 180
			return colour.Lab{L: values[prefix+"LAB_L"], A: values[prefix+"LAB_C"] * math.Cos(h), B: values[prefix+"LAB_C"] * math.Sin(h)}, true
		}
		return colour.Lab{}, false
	}
	p := t.each(func(row, column int, v token, text string) *Problem {
		c := t.Columns[column]
		if column == 0 {
			s.Patches = append(s.Patches, Patch{Line: v.line})
		}
		patch := &s.Patches[row]
		switch c.ID {
		case "SAMPLE_ID":
			patch.ID = clip(text)
		case "SAMPLE_NAME":
			patch.Name = clip(text)
		}
		if numeric(c.ID) {
			n, comma, what := parse(text)
			if what != "" {
				return v.at(c.Name, what)
			}
			if what := unlikely(strings.TrimPrefix(c.ID, "AIM_"), n); what != "" {
				return v.at(c.Name, quoted(text)+" is no "+what+": is it in the wrong column?")
			}
			if comma {
				if commas == 0 {
					firstComma = *v.at(c.Name, quoted(text)+" has a decimal comma, and the standard has points; it is read as "+strings.Replace(text, ",", ".", 1))
				}
				commas++
			}
			values[c.ID] = n
			if slices.Contains(device, c.ID) {
				most, whole = max(most, n), whole && n == math.Trunc(n)
			}
		}
		if column < len(t.Columns)-1 {
			return nil
		}
		// The set is complete.
		for _, id := range device {
			patch.Device = append(patch.Device, values[id])
		}
		patch.XYZ, patch.HasXYZ = tri("")
		patch.Lab, patch.HasLab = lab("")
		patch.Aim, patch.HasAim = lab("AIM_")
		if x, ok := tri("AIM_"); ok && !patch.HasAim {
			aimXYZ = append(aimXYZ, x)
		}
		return nil
	})
	if p != nil {
		return nil, p
	}
	if commas > 0 {
		if commas > 1 {
			firstComma.What = fmt.Sprintf("%s (and %d others likewise)", firstComma.What, commas-1)
		}
		s.Notes = append(s.Notes, firstComma)
	}
	if len(device) > 0 {
		scale, by, p := deviceScale(t.Columns[at[device[0]]], most, s.Inks, whole, o)
		if scale == 0 {
			return nil, p
		}
		if p != nil {
			s.Notes = append(s.Notes, *p)
		}
		s.Units.Device, s.Units.DevBy = scale, by
		for i := range s.Patches {
			for j, v := range s.Patches[i].Device {
				if v > scale {
					c := t.Columns[at[device[j]]]
					return nil, &Problem{s.Patches[i].Line, c.column, c.Name, fmt.Sprintf("%v is above full, which is %v", v, scale)}
				}
				s.Patches[i].Device[j] = v / scale
			}
		}
	}
	if measured["Lab"] {
		var all []string
		for _, p := range t.Properties {
			if p.Keyword == "WEIGHTING_FUNCTION" {
				all = append(all, p.Value)
			}
		}
		s.Units.LabBy = strings.Join(all, "; ")
	}
	s.ends()
	if measured["XYZ"] {
		id := "XYZ_Y"
		if !have("XYZ_Y") {
			id = "XYY_CAPY"
		}
		var p *Problem
		var largest float64
		for _, x := range s.Patches {
			largest = max(largest, x.XYZ.Y)
		}
		if s.Units.XYZ, s.Units.XYZBy, p = t.xyzUnit(t.Columns[at[id]], largest, o); p != nil {
			if s.Units.XYZ, s.Units.XYZBy = s.byLab(); s.Units.XYZ == Unstated {
				s.Notes = append(s.Notes, *p)
			}
		}
	}
	// Aims in XYZ are against their own white: that of the patch that is white, or the lightest.
	if len(aimXYZ) == len(s.Patches) && len(aimXYZ) > 0 {
		white := aimXYZ[s.lightest(func(i int) float64 { return aimXYZ[i].Y })]
		if !(white.X > 0 && white.Y > 0 && white.Z > 0) {
			return nil, &Problem{t.Columns[0].line, t.Columns[0].column, "", "the aims have no white: the lightest of them is black in X, Y or Z"}
		}
		for i, x := range aimXYZ {
			s.Patches[i].Aim, s.Patches[i].HasAim = x.Lab(white), true
		}
	}
	return s, nil
}

// byLab finds the unit in the L* beside XYZ, which is taken of Y over that of the white, 100 or 1.
func (s *Set) byLab() (Unit, string) {
	fits := func(white float64) bool {
		for _, p := range s.Patches {
			// Two decimals of Y are worth up to 0.05 in L*, and more is rounding of other kinds.
			l := (colour.XYZ{X: 1, Y: p.XYZ.Y / white, Z: 1}).Lab(colour.XYZ{X: 1, Y: 1, Z: 1}).L
			if !p.HasXYZ || !p.HasLab || math.Abs(l-p.Lab.L) >= 0.2 {
				return false
			}
		}
		return len(s.Patches) > 0
	}
	percent, relative := fits(100), fits(1)
	switch {
	case percent && !relative:
		return Percent, "the L* beside it"
	case relative && !percent:
		return Relative, "the L* beside it"
	}
	return Unstated, ""
}

// clip shortens a name.
func clip(s string) string {
	if len(s) > 200 {
		s = s[:200]
	}
	return strings.ToValidUTF8(s, "\ufffd")
}

// unlikely names what a value cannot be, which an identifier asks for; such values stand in the wrong column. Instruments give XYZ a little below 0 for black.
func unlikely(id string, v float64) string {
	switch id {
	case "XYZ_X", "XYZ_Y", "XYZ_Z", "XYY_CAPY":
		if v < -1 || v > 1e6 {
			return "XYZ of light"
		}
	case "XYY_X", "XYY_Y":
		if v < -0.01 || v > 1 {
			return "chromaticity"
		}
	case "LAB_L":
		if v < -1 || v > 200 {
			return "L*"
		}
	case "LAB_A", "LAB_B":
		if math.Abs(v) > 400 {
			return "a* or b*"
		}
	case "LAB_C":
		if v < 0 || v > 600 {
			return "chroma"
		}
	case "LAB_H":
		if v < -360 || v > 360 {
			return "hue in degrees"
		}
	case "RGB_R", "RGB_G", "RGB_B", "CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K":
		if v < 0 || v > 65535 {
			return "device value"
		}
	}
	return ""
}

// extreme says whether a patch's device values are those of white, or of black.
func (s *Set) extreme(p Patch, white bool) bool {
	if len(p.Device) == 0 {
		return false
	}
	want := 0.0
	if white != s.Inks {
		want = 1
	}
	for _, v := range p.Device {
		if v != want {
			return false
		}
	}
	return true
}

// lightest returns the white patch, or else the one with most of what light gives.
func (s *Set) lightest(light func(int) float64) int {
	best := 0
	for i, p := range s.Patches {
		if s.extreme(p, true) {
			return i
		}
		if light(i) > light(best) {
			best = i
		}
	}
	return best
}

// ends finds white and black of the set.
func (s *Set) ends() {
	var white, black colour.XYZ
	whites, blacks := 0, 0
	for _, p := range s.Patches {
		if !p.HasXYZ {
			continue
		}
		if s.extreme(p, true) {
			white = white.Add(p.XYZ)
			whites++
		} else if s.extreme(p, false) && !s.Inks {
			black = black.Add(p.XYZ)
			blacks++
		}
	}
	if whites > 0 {
		s.White, s.Whites = white.Scale(1/float64(whites)), whites
	} else if len(s.Patches) > 0 && s.Patches[0].HasXYZ {
		s.White = s.Patches[s.lightest(func(i int) float64 { return s.Patches[i].XYZ.Y })].XYZ
		s.Notes = append(s.Notes, Problem{s.Patches[0].Line, 1, "", "no patch is white by its device values; the lightest is taken for the white"})
	}
	if blacks > 0 {
		s.Black = black.Scale(1 / float64(blacks))
	}
}
