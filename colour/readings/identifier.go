package readings

import (
	"strings"
)

// identifiers are the data format identifiers of ANSI CGATS.17 and ISO 28178 (from memory, read against those of Little CMS), and SAMPLE_NAME and
// SAMPLE_LOC of later revisions.
var identifiers = known(`SAMPLE_ID SAMPLE_NAME SAMPLE_LOC STRING CMYK_C CMYK_M CMYK_Y CMYK_K D_RED D_GREEN D_BLUE D_VIS D_MAJOR_FILTER RGB_R RGB_G RGB_B
	SPECTRAL_NM SPECTRAL_PCT SPECTRAL_DEC XYZ_X XYZ_Y XYZ_Z XYY_X XYY_Y XYY_CAPY LAB_L LAB_A LAB_B LAB_C LAB_H LAB_DE LAB_DE_94 LAB_DE_CMC LAB_DE_2000 MEAN_DE
	STDEV_X STDEV_Y STDEV_Z STDEV_L STDEV_A STDEV_B STDEV_DE CHI_SQD_PAR`)

// keywords are the standard's for what precedes the data.
var keywords = known(`NUMBER_OF_FIELDS NUMBER_OF_SETS ORIGINATOR FILE_DESCRIPTOR CREATED DESCRIPTOR DIFFUSE_GEOMETRY MANUFACTURER MANUFACTURE PROD_DATE SERIAL
	MATERIAL INSTRUMENTATION MEASUREMENT_SOURCE PRINT_CONDITIONS SAMPLE_BACKING CHISQ_DOF MEASUREMENT_GEOMETRY FILTER POLARIZATION WEIGHTING_FUNCTION
	COMPUTATIONAL_PARAMETER TARGET_TYPE COLORANT TABLE_DESCRIPTOR TABLE_NAME KEYWORD`)

func known(list string) map[string]bool {
	all := map[string]bool{}
	for _, s := range strings.Fields(list) {
		all[s] = true
	}
	return all
}

// aims are what may stand before or behind an identifier to say that the column is what was aimed at.
var aims = []string{"AIM", "REF", "REFERENCE", "TARGET"}

// identify finds the identifier that a column's name stands for: capitals do not matter, blanks, points and hyphens count as underscores, and a unit
// may follow in brackets.
func identify(name string) (id, unit string) {
	name = strings.TrimSpace(name)
	if i := strings.IndexAny(name, "[("); i > 0 {
		unit = strings.TrimSpace(strings.Trim(name[i:], "[]() "))
		name = strings.TrimSpace(name[:i])
	}
	n := strings.Map(func(r rune) rune {
		if r == ' ' || r == '.' || r == '-' || r == '*' {
			return '_'
		}
		return r
	}, strings.ToUpper(name))
	if identifiers[n] || spectral(n) {
		return n, unit
	}
	for _, a := range aims {
		if s, ok := strings.CutPrefix(n, a+"_"); ok && identifiers[s] {
			return "AIM_" + s, unit
		}
		if s, ok := strings.CutSuffix(n, "_"+a); ok && identifiers[s] {
			return "AIM_" + s, unit
		}
	}
	return "", unit
}

// spectral knows SPECTRAL_NM380, SPECTRAL_380, NM_380, NM380 and what else is seen for values at a wavelength.
func spectral(n string) bool {
	for _, p := range []string{"SPECTRAL_NM_", "SPECTRAL_NM", "SPECTRAL_", "SPEC_", "NM_", "NM", "R_"} {
		if d, ok := strings.CutPrefix(n, p); ok && len(d) >= 3 && strings.Trim(d, "0123456789_") == "" {
			return true
		}
	}
	return false
}

// likely returns the identifier that an unknown name may be meant for, and "" where none is like it.
func likely(name string) string {
	n := strings.ToUpper(strings.TrimSpace(name))
	for _, p := range []struct{ id, names string }{
		{"RGB_R", "R RED"}, {"RGB_G", "G GREEN"}, {"RGB_B", "BLUE"}, {"XYZ_X", "X XYZX"}, {"XYZ_Y", "Y XYZY LUMINANCE"}, {"XYZ_Z", "Z XYZZ"},
		{"LAB_L", "L L* LSTAR"}, {"LAB_A", "A A* ASTAR"}, {"LAB_B", "B* BSTAR"}, {"SAMPLE_ID", "ID NO NUMBER SAMPLE PATCH"}, {"SAMPLE_NAME", "NAME"}, {"XYY_CAPY", "CAPY"},
	} {
		for _, s := range strings.Fields(p.names) {
			if s == n {
				return p.id
			}
		}
	}
	if len(n) < 4 || len(n) > 24 {
		return ""
	}
	best, least := "", 3
	for id := range identifiers {
		if d := distance(n, id); d < least || d == least && id < best {
			best, least = id, d
		}
	}
	if least > 2 {
		return ""
	}
	return best
}

// distance counts the letters to change, add or drop.
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		last := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := last
			if a[i] != b[j] {
				cost++
			}
			last = row[j+1]
			row[j+1] = min(cost, row[j+1]+1, row[j]+1)
		}
	}
	return row[len(b)]
}

// family lists identifiers that only make sense together.
var family = [][]string{
	{"XYZ_X", "XYZ_Y", "XYZ_Z"}, {"XYY_X", "XYY_Y", "XYY_CAPY"}, {"RGB_R", "RGB_G", "RGB_B"}, {"CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K"},
	{"LAB_L", "LAB_A", "LAB_B"}, {"LAB_L", "LAB_C", "LAB_H"},
}

// numeric says whether an identifier's values must be numbers to be of use here.
func numeric(id string) bool {
	id = strings.TrimPrefix(id, "AIM_")
	for _, f := range family {
		for _, n := range f {
			if n == id {
				return true
			}
		}
	}
	return false
}

// columns checks names, and what belongs together.
func (f *File) columns(all []Column) *Problem {
	seen := map[string]int{}
	for i, c := range all {
		if c.ID == "" {
			what := "unknown identifier " + quoted(c.Name) + "; the column is left out"
			if s := likely(c.Name); s != "" {
				what = "unknown identifier " + quoted(c.Name) + "; the column is left out (is " + s + " meant?)"
			}
			f.note(Problem{c.line, c.column, "", what})
			continue
		}
		if j, ok := seen[c.ID]; ok && !strings.HasPrefix(c.ID, "SPECTRAL") && c.ID != "STRING" {
			return &Problem{c.line, c.column, c.ID, "the identifier stands twice; the first is at line " + number(all[j].line) + ", column " + number(all[j].column)}
		}
		seen[c.ID] = i
	}
	for _, prefix := range []string{"", "AIM_"} {
		for _, ids := range family {
			var have, lack []string
			for _, id := range ids {
				if _, ok := seen[prefix+id]; ok {
					have = append(have, prefix+id)
				} else {
					lack = append(lack, prefix+id)
				}
			}
			// L* goes with either pair.
			if len(have) == 0 || len(lack) == 0 || len(have) == 1 && have[0] == prefix+"LAB_L" && (ids[1] == "LAB_C" || has(seen, prefix+"LAB_C", prefix+"LAB_H")) {
				continue
			}
			if ids[1] == "LAB_C" && has(seen, prefix+"LAB_A", prefix+"LAB_B") {
				continue // chroma or hue beside a* and b* is for information
			}
			c := all[seen[have[0]]]
			return &Problem{c.line, c.column, c.ID, "without " + strings.Join(lack, " and ") + " this column says nothing: is a column missing or named otherwise?"}
		}
	}
	return nil
}

func has(seen map[string]int, ids ...string) bool {
	for _, id := range ids {
		if _, ok := seen[id]; !ok {
			return false
		}
	}
	return true
}
