package readings

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/testdata"
)

func file(t testing.TB, name string) []byte {
	t.Helper()
	b, err := testdata.FS.ReadFile("readings/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// set reads the first table of a text.
func set(t testing.TB, text string, o Option) (*File, *Set) {
	t.Helper()
	f, err := Read([]byte(text))
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	s, err := f.Tables[0].Set(o)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return f, s
}

func near(a, b, by float64) bool { return math.Abs(a-b) <= by }

// Each file of testdata/readings holds the same three readings, written another way.
func TestVariants(t *testing.T) {
	names, err := fs.Glob(testdata.FS, "readings/*")
	if err != nil || len(names) < 20 {
		t.Fatalf("%d files, %v", len(names), err)
	}
	notes := map[string]string{
		"headless.txt": "line 1, column 1: the first line does not say",
		"private.txt":  `line 9, column 47: unknown identifier "PRIVATE_MARK"`,
		"german.csv":   `line 2, column 9 (xyz x [cd/m2]): "0,10" has a decimal comma, and the standard has points; it is read as 0.10 (and 8 others likewise)`,
	}
	for _, name := range names {
		name = strings.TrimPrefix(name, "readings/")
		f, s := set(t, string(file(t, name)), Option{})
		if len(s.Patches) != 3 {
			t.Errorf("%s: %d patches", name, len(s.Patches))
			continue
		}
		for i, want := range []struct {
			device float64
			xyz    colour.XYZ
		}{{0, colour.XYZ{X: 0.10, Y: 0.11, Z: 0.12}}, {128.0 / 255, colour.XYZ{X: 24.60, Y: 25.88, Z: 28.19}}, {1, colour.XYZ{X: 114.05, Y: 120.00, Z: 130.65}}} {
			p := s.Patches[i]
			for _, d := range p.Device {
				if !near(d, want.device, 1e-12) {
					t.Errorf("%s, patch %d: device %v", name, i, p.Device)
				}
			}
			if len(p.Device) != 3 || !p.HasXYZ || p.HasLab || p.HasAim || !near(p.XYZ.X, want.xyz.X, 1e-5) || !near(p.XYZ.Y, want.xyz.Y, 1e-5) || !near(p.XYZ.Z, want.xyz.Z, 1e-5) {
				t.Errorf("%s, patch %d: %+v", name, i, p)
			}
			if !strings.Contains(name, "quoted") && p.ID != fmt.Sprint(i+1) {
				t.Errorf("%s, patch %d: ID %q", name, i, p.ID)
			}
		}
		if s.Units.XYZ != Candela || s.Units.XYZBy == "" || s.Units.Device != 255 || s.White.Y != 120 || s.Black.Y != 0.11 || s.Whites != 1 || s.Size() != Small {
			t.Errorf("%s: %+v, white %v, black %v", name, s.Units, s.White, s.Black)
		}
		var all []string
		for _, n := range append(f.Notes, s.Notes...) {
			all = append(all, n.String())
		}
		if want := notes[name]; want == "" && len(all) > 0 || want != "" && (len(all) != 1 || !strings.HasPrefix(all[0], want)) {
			t.Errorf("%s: notes %q, want %q", name, all, want)
		}
	}
}

func TestWhatAFileSays(t *testing.T) {
	f, s := set(t, string(file(t, "sample.txt")), Option{})
	if f.Kind != "CGATS.17" || len(f.Tables) != 1 {
		t.Errorf("%q, %d tables", f.Kind, len(f.Tables))
	}
	got := map[string]string{}
	for _, p := range f.Tables[0].Properties {
		got[p.Keyword] = p.Value
	}
	if got["DESCRIPTOR"] != "display readings" || got["WHITE_CD_M2"] != "120.0" || got["CREATED"] != "2024-01-31" {
		t.Errorf("%v", got)
	}
	if !near(s.Patches[1].XYZ.Y/s.White.Y, 0.215667, 1e-6) {
		t.Errorf("%v of %v", s.Patches[1].XYZ, s.White)
	}
	f, _ = set(t, string(file(t, "tables.txt")), Option{})
	if len(f.Tables) != 2 {
		t.Fatalf("%d tables", len(f.Tables))
	}
	if s, err := f.Tables[1].Set(Option{}); err != nil || len(s.Patches) != 3 || s.Patches[1].Device != nil || s.White.Y != 120 || s.Units.XYZ != Candela {
		t.Errorf("%+v, %v", s, err)
	}
	// Counts hold for one table.
	two := fmt.Sprintf(format, "XYZ_X XYZ_Y XYZ_Z", "95 100 108")
	if f, _ = set(t, "CGATS.17\nNUMBER_OF_FIELDS 3\nNUMBER_OF_SETS 1\n"+two[9:]+fmt.Sprintf(format, "XYZ_X XYZ_Y XYZ_Z SAMPLE_ID", "95 100 108 1\n1 2 3 2")[9:], Option{}); len(f.Notes) != 0 || f.Tables[1].Rows != 2 {
		t.Errorf("%v", f.Notes)
	}
	f, s = set(t, string(file(t, "quoted.txt")), Option{})
	if p := f.Tables[0].Properties[0]; p.Value != `Okke "the measurer" # no comment` || p.Line != 2 {
		t.Errorf("%+v", p)
	}
	if s.Patches[1].ID != "2 BEGIN_DATA" {
		t.Errorf("%q", s.Patches[1].ID)
	}
	f, s = set(t, string(file(t, "quoted.csv")), Option{})
	if p := f.Tables[0].Properties; f.Kind != "CSV" || len(p) != 2 || p[0] != (Property{"name", "studio left", 1}) || s.Patches[1].ID != `two, "grey"` || s.Patches[2].Line != 7 {
		t.Errorf("%q %v %+v", f.Kind, p, s.Patches)
	}
}

const format = "CGATS.17\nBEGIN_DATA_FORMAT\n%s\nEND_DATA_FORMAT\nBEGIN_DATA\n%s\nEND_DATA\n"

// What is wrong gets a message that names line and column.
func TestWhatIsRefused(t *testing.T) {
	cgats := func(fields, rows string) string { return fmt.Sprintf(format, fields, rows) }
	for _, c := range []struct{ what, text, want string }{
		{"nothing", "", "line 1, column 1: there is neither"},
		{"prose", "Dear Ines,\nthe screen is fine.\n", "line 1, column 1: there is neither"},
		{"a picture", "\x89PNG\r\n\x1a\n\x00", "line 2, column 1: a control character"},
		{"UTF-16", "C\x00G\x00A\x00", "line 1, column 2: a zero byte"},
		{"a word for a number", cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 95 100 bright"), `line 6, column 10 (XYZ_Z): "bright" is no number`},
		{"a word for a number, later", cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 95 100 108\n2 9 1O 11"), `line 7, column 5 (XYZ_Y): "1O" is no number`},
		{"not a number", cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 95 NaN 108"), `(XYZ_Y): "NaN" is no number`},
		{"infinity", cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 95 1e999 108"), `(XYZ_Y): "1e999" is no number`},
		{"hexadecimal", cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 95 0x10 108"), `(XYZ_Y): "0x10" is no number`},
		{"thousands", cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 95 1,000.5 108"), `(XYZ_Y): "1,000.5" is no number`},
		{"L* in the wrong column", cgats("LAB_L LAB_A LAB_B", "50 3 4\n-40 50 3"), `line 7, column 1 (LAB_L): "-40" is no L*: is it in the wrong column?`},
		{"x in the wrong column", cgats("XYY_X XYY_Y XYY_CAPY", "120 0.31 0.33"), `line 6, column 1 (XYY_X): "120" is no chromaticity`},
		{"negative light", cgats("XYZ_X XYZ_Y XYZ_Z", "-20 10 5"), `line 6, column 1 (XYZ_X): "-20" is no XYZ of light`},
		{"a signal beyond full", cgats("RGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z", "99999 1 1 1 1 1"), `line 6, column 1 (RGB_R): "99999" is no device value`},
		{"two of three", cgats("SAMPLE_ID XYZ_X XYZ_Y", "1 95 100"), "line 3, column 11 (XYZ_X): without XYZ_Z this column says nothing"},
		{"L* alone", cgats("SAMPLE_ID LAB_L", "1 95"), "line 3, column 11 (LAB_L): without LAB_A and LAB_B"},
		{"an aim of two", cgats("XYZ_X XYZ_Y XYZ_Z AIM_LAB_L AIM_LAB_A", "1 1 1 1 1"), "line 3, column 19 (AIM_LAB_L): without AIM_LAB_B"},
		{"a column twice", cgats("XYZ_X XYZ_Y XYZ_Z\nXYZ_Y", "1 2 3 4"), "line 4, column 1 (XYZ_Y): the identifier stands twice; the first is at line 3, column 7"},
		{"nothing measured", cgats("SAMPLE_ID RGB_R RGB_G RGB_B", "1 2 3 4"), "line 3, column 1: there is nothing measured"},
		{"a value too few", cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 95 100 108\n2 10 11\n3 1 2 3"), "line 7, column 1: 3 values, and the data format has 4 fields"},
		{"a value too many", cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 95 100 108 5\n2 10 11 4"), "line 6, column 1: 5 values"},
		{"no end of data", "CGATS.17\nBEGIN_DATA_FORMAT\nXYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\nBEGIN_DATA\n1 2 3\n", "line 5, column 1: BEGIN_DATA has no END_DATA"},
		{"no end of the format", "CGATS.17\nBEGIN_DATA_FORMAT\nXYZ_X XYZ_Y XYZ_Z\n", "line 2, column 1: BEGIN_DATA_FORMAT has no END_DATA_FORMAT"},
		{"no format", "CGATS.17\nBEGIN_DATA\n1 2 3\nEND_DATA\n", "line 2, column 1: BEGIN_DATA comes before any"},
		{"an empty format", cgats("", "1 2 3"), "line 2, column 1: the data format has no field"},
		{"no sets", cgats("XYZ_X XYZ_Y XYZ_Z", ""), "line 7, column 1: the table has no sets"},
		{"no data", "CGATS.17\nBEGIN_DATA_FORMAT\nXYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\n", "no BEGIN_DATA"},
		{"an end of nothing", "CGATS.17\nEND_DATA\nBEGIN_DATA_FORMAT\n", "line 2, column 1: END_DATA ends what never began"},
		{"data within data", cgats("XYZ_X XYZ_Y XYZ_Z", "1 2 3\nBEGIN_DATA_FORMAT"), "line 7, column 1: BEGIN_DATA_FORMAT within the data"},
		{"an open string", "CGATS.17\nORIGINATOR \"Okke\nBEGIN_DATA_FORMAT\n", "line 2, column 12: the string has no second quote"},
		{"an open string in the data", cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "\"1 95 100 108"), "line 6, column 1 (SAMPLE_ID): the string has no second quote"},
		{"no count", "CGATS.17\nNUMBER_OF_FIELDS many\nBEGIN_DATA_FORMAT\n", `line 2, column 18: NUMBER_OF_FIELDS "many" is no count`},
		{"ends of lines of two characters", strings.ReplaceAll(cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 95 100 bright"), "\n", "\r\n"), `line 6, column 10 (XYZ_Z)`},
		{"ends of lines of two characters in CSV", "note;1\r\nXYZ_X;XYZ_Y;XYZ_Z\r\n\r\n1;2;x\r\n", `line 4, column 5 (XYZ_Z)`},
		{"CSV with a decimal comma", "XYZ_X,XYZ_Y,XYZ_Z\n95,0,100,0,108,9\n", "line 2, column 10: 6 values, and there are 3 columns; where numbers have a decimal comma, separate the columns by semicolons"},
		{"CSV with a value too few", "XYZ_X;XYZ_Y;XYZ_Z\n95;100\n", "line 2, column 4: 2 values, and there are 3 columns"},
		{"CSV with a word", "XYZ_X,XYZ_Y,XYZ_Z\n95,100,\n", "line 2, column 8 (XYZ_Z): there is no value"},
		{"CSV with an open quote", "XYZ_X,XYZ_Y,XYZ_Z\n1,2,3\n95,\"100,108\n", "line 3, column 4: the quoted value does not end on its line"},
		{"CSV with a stray quote", "XYZ_X,XYZ_Y,XYZ_Z\n9\"5\",100,108\n", "line 2, column 2: a quote that does not belong here"},
		{"CSV without values", "XYZ_X,XYZ_Y,XYZ_Z\n\n", "line 1, column 1: no values follow"},
		{"CSV of other names", "R,G,B,X,Y,Z\n1,2,3,4,5,6\n", `line 1, column 1: no column has an identifier that is known, such as RGB_R or XYZ_Y; is RGB_R meant by "R"?`},
		{"a code above the scale that the name tells", "RGB_R [0-255],RGB_G,RGB_B,XYZ_X,XYZ_Y,XYZ_Z\n256,1,1,1,1,1\n", "line 2, column 1 (RGB_R [0-255]): 256 is above full, which is 255"},
	} {
		f, err := Read([]byte(c.text))
		if err == nil {
			_, err = f.Tables[0].Set(Option{})
		}
		var p *Problem
		if !errors.As(err, &p) || !strings.Contains(p.Error(), c.want) || !strings.HasPrefix(p.Error(), "readings: line ") {
			t.Errorf("%s: %v; want %s", c.what, err, c.want)
		}
	}
}

// What is odd and can be read all the same.
func TestWhatIsNoted(t *testing.T) {
	cgats := func(fields, rows string) string { return fmt.Sprintf(format, fields, rows) }
	for _, c := range []struct{ what, text, want string }{
		{"a missing unit", cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 80 85 90"), "line 3, column 17 (XYZ_Y): nothing says what unit it is in, and the largest Y is 85"},
		{"a missing unit of CSV", "SAMPLE_ID,XYZ_X,XYZ_Y,XYZ_Z\n1,80,85,90\n", "line 1, column 17 (XYZ_Y): nothing says what unit"},
		{"a decimal comma", cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 95,05 100 108,9"), `line 6, column 3 (XYZ_X): "95,05" has a decimal comma, and the standard has points; it is read as 95.05 (and 1 others likewise)`},
		{"an unknown identifier", cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z GLOSS_60", "1 95 100 108 4"), `line 3, column 29: unknown identifier "GLOSS_60"; the column is left out`},
		{"a slip", cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z LAB_DE200", "1 95 100 108 4"), "(is LAB_DE_2000 meant?)"},
		{"an unknown keyword", "CGATS.17\nHUMIDITY 40\n" + cgats("XYZ_X XYZ_Y XYZ_Z", "95 100 108")[9:], `line 2, column 1: unknown keyword "HUMIDITY", which no KEYWORD declares`},
		{"a keyword without value", "CGATS.17\nORIGINATOR\n" + cgats("XYZ_X XYZ_Y XYZ_Z", "95 100 108")[9:], `line 2, column 1: keyword "ORIGINATOR" has no value`},
		{"another number of fields", "CGATS.17\nNUMBER_OF_FIELDS 4\n" + cgats("XYZ_X XYZ_Y XYZ_Z", "95 100 108")[9:], "line 2, column 18: NUMBER_OF_FIELDS says 4, and the data format has 3"},
		{"another number of sets", "CGATS.17\nNUMBER_OF_SETS 999999999\n" + cgats("XYZ_X XYZ_Y XYZ_Z", "95 100 108")[9:], "line 2, column 16: NUMBER_OF_SETS says 999999999, and there are 1"},
		{"no white", cgats("RGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z", "0 0 0 1 1 1\n255 0 0 20 10 1"), "no patch is white by its device values"},
		{"no full value", cgats("RGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z", "0 0 0 1 1 1\n200 0 0 20 10 1"), "line 3, column 1 (RGB_R): no value is full, so the scale is a guess: the largest is 200, and full is taken as 255"},
	} {
		f, s := set(t, c.text, Option{})
		found := false
		var all []string
		for _, n := range append(f.Notes, s.Notes...) {
			all = append(all, n.String())
			found = found || strings.Contains(n.String(), c.want)
		}
		if !found {
			t.Errorf("%s: %q; want %s", c.what, all, c.want)
		}
	}
}

func TestUnits(t *testing.T) {
	cgats := func(before, fields, rows string) string {
		return "CGATS.17\n" + before + fmt.Sprintf(format, fields, rows)[9:]
	}
	const fields = "XYZ_X XYZ_Y XYZ_Z"
	for _, c := range []struct {
		text string
		o    Option
		want Unit
	}{
		{cgats("", fields, "80 85 90"), Option{}, Unstated},
		{cgats("", fields, "80 85 90"), Option{XYZ: Candela}, Candela},
		{cgats("", fields, "95.05 100.0 108.9"), Option{}, Percent},
		{cgats("", fields, "0.9505 1.0000 1.089"), Option{}, Relative},
		{cgats("", "XYZ_X XYZ_Y[cd/m²] XYZ_Z", "95.05 100.0 108.9"), Option{}, Candela},
		{cgats("", "XYZ_X XYZ_Y[%] XYZ_Z", "80 85 90"), Option{}, Percent},
		{cgats("MEASUREMENT_SOURCE \"MeasurementCondition=emissive\"\n", fields, "80 85 90"), Option{}, Candela},
		{cgats("MEASUREMENT_SOURCE \"MeasurementCondition=emissive\"\n", fields, "95 100 108"), Option{}, Unstated},
		{cgats("MEASUREMENT_SOURCE \"MeasurementCondition=emissive\"\n", "XYZ_X XYZ_Y[cd/m2] XYZ_Z", "95 100 108"), Option{}, Candela},
		{cgats("MEASUREMENT_SOURCE \"MeasurementCondition=reflective\"\n", fields, "95 100 108"), Option{}, Percent},
		{cgats("KEYWORD \"LUMINANCE_UNIT\"\nLUMINANCE_UNIT \"cd/m2\"\n", fields, "80 85 90"), Option{}, Candela},
		{cgats("KEYWORD \"WHITE_CD_M2\"\nWHITE_CD_M2 85\n", fields, "80 85 90"), Option{}, Candela},
	} {
		_, s := set(t, c.text, c.o)
		if s.Units.XYZ != c.want || (c.want != Unstated) != (s.Units.XYZBy != "") {
			t.Errorf("%v by %q, want %v\n%s", s.Units.XYZ, s.Units.XYZBy, c.want, c.text)
		}
		// Of what is not in cd/m² no luminance is claimed.
		if l := s.light(Aim{Luminance: 100}); (l.Luminance > 0) != (c.want == Candela) || (l.Ratio > 0) != (c.want == Candela) {
			t.Errorf("%v: %+v", c.want, l)
		}
	}
	// L* of 93.88 is that of Y 85 of 100; of a screen's white it would be 100.
	for rows, want := range map[string]Unit{"80 85 90 93.88 1 -2\n20 21 22 52.95 0 0": Percent, "0.80 0.85 0.90 93.88 1 -2": Relative, "80 85 90 100 0 0": Unstated, "80 85 90 93.88 1 -2\n20 21 22 40 0 0": Unstated, "0 0 0 0 0 0": Unstated} {
		f, s := set(t, cgats("", "XYZ_X XYZ_Y XYZ_Z LAB_L LAB_A LAB_B", rows), Option{})
		told := slices.ContainsFunc(s.Notes, func(p Problem) bool { return strings.Contains(p.What, "what unit") })
		if s.Units.XYZ != want || told != (want == Unstated) {
			t.Errorf("%q: %+v, %v %v", rows, s.Units, f.Notes, s.Notes)
		}
	}
	for values, want := range map[string]float64{"0 0 1": 1, "0 100 0": 100, "0 50.5 99": 100, "0 128 255": 255, "3 60 90": 255, "0 512 1023": 1023, "0 512 4095": 4095, "0 60000 1": 65535} {
		_, s := set(t, cgats("", "RGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z", values+" 1 1 1"), Option{})
		if s.Units.Device != want {
			t.Errorf("%s: full is %v, want %v", values, s.Units.Device, want)
		}
	}
	_, s := set(t, cgats("", "RGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z", "0 10 20 1 1 1"), Option{Device: 100})
	if s.Patches[0].Device[2] != 0.2 {
		t.Errorf("%v", s.Patches[0].Device)
	}
	_, s = set(t, cgats("", "CMYK_C CMYK_M CMYK_Y CMYK_K LAB_L LAB_A LAB_B", "0 0 0 0 95 0 -2\n0 70 100 0 50 60 50"), Option{})
	_, inks := set(t, cgats("", "CMYK_C CMYK_M CMYK_Y CMYK_K XYZ_X XYZ_Y XYZ_Z", "100 100 100 100 1 2 1\n0 0 0 0 80 85 70"), Option{})
	if inks.White.Y != 85 || inks.Whites != 1 || inks.Black.Y != 0 || len(inks.Notes) != 1 {
		t.Errorf("%+v", inks)
	}
	if s.Patches[1].Device[1] != 0.7 || !s.Inks || s.Units.XYZ != Unstated {
		t.Errorf("%+v", s)
	}
}

func TestHueAndChroma(t *testing.T) {
	_, w := set(t, "CGATS.17\nWEIGHTING_FUNCTION \"ILLUMINANT, D65\"\nWEIGHTING_FUNCTION \"OBSERVER, 2 degree\"\n"+fmt.Sprintf(format, "LAB_L LAB_A LAB_B", "50 10 90")[9:], Option{})
	if w.Units.LabBy != "ILLUMINANT, D65; OBSERVER, 2 degree" || w.Units.XYZ != Unstated {
		t.Errorf("%+v", w.Units)
	}
	_, s := set(t, fmt.Sprintf(format, "LAB_L LAB_C LAB_H", "50 10 90\n60 20 180"), Option{})
	for i, want := range []colour.Lab{{L: 50, B: 10}, {L: 60, A: -20}} {
		if p := s.Patches[i]; !p.HasLab || !near(p.Lab.L, want.L, 0) || !near(p.Lab.A, want.A, 1e-9) || !near(p.Lab.B, want.B, 1e-9) {
			t.Errorf("%+v, want %v", p, want)
		}
	}
}

// simulate writes readings of a screen that is nearly sRGB, with noise drawn by a rule.
func simulate(n int, luminance float64, noise func(i int) colour.XYZ, shift colour.XYZ) string {
	var b strings.Builder
	b.WriteString("CGATS.17\nMEASUREMENT_SOURCE \"MeasurementCondition=emissive\"\nBEGIN_DATA_FORMAT\nSAMPLE_ID RGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\nBEGIN_DATA\n")
	write := func(i int, c [3]float64) {
		x := colour.SRGB.XYZ(colour.RGB{R: c[0] / 255, G: c[1] / 255, B: c[2] / 255})
		e := noise(i)
		fmt.Fprintf(&b, "%d %v %v %v %.5f %.5f %.5f\n", i, c[0], c[1], c[2], luminance*x.X*(1+shift.X)*(1+e.X), luminance*x.Y*(1+shift.Y)*(1+e.Y), luminance*x.Z*(1+shift.Z)*(1+e.Z))
	}
	patches := [][3]float64{{255, 255, 255}, {0, 0, 0}, {255, 0, 0}, {0, 255, 0}, {0, 0, 255}, {0, 255, 255}, {255, 0, 255}, {255, 255, 0}, {224, 172, 145}, {141, 85, 60}, {198, 134, 66}}
	for g := 1; g <= 10; g++ {
		patches = append(patches, [3]float64{float64(g * 24), float64(g * 24), float64(g * 24)})
	}
	for i := len(patches); i < n; i++ {
		patches = append(patches, [3]float64{float64(i * 37 % 256), float64(i * 101 % 256), float64(i * 173 % 256)})
	}
	for i, c := range patches {
		write(i+1, c)
	}
	b.WriteString("END_DATA\n")
	return b.String()
}

func noise(size float64, seed int) func(int) colour.XYZ {
	return func(i int) colour.XYZ {
		if i == 1 {
			return colour.XYZ{}
		}
		f := func(k int) float64 { return size * math.Sin(float64(i*i*k+seed*7919+i*31)) }
		return colour.XYZ{X: f(3), Y: f(5), Z: f(7)}
	}
}

func TestCompare(t *testing.T) {
	none := func(int) colour.XYZ { return colour.XYZ{} }
	_, s := set(t, simulate(60, 160, none, colour.XYZ{}), Option{})
	aim := FromSpace(colour.SRGB)
	aim.Luminance = 160
	c, err := Compare(s, aim)
	if err != nil {
		t.Fatal(err)
	}
	// Five decimals of a reading are worth up to 0.01 near black.
	for f := range formulas {
		if x := c.Summaries[f][All]; x.Patches != 60 || x.Largest > 0.02 {
			t.Errorf("%v: %+v", f, x)
		}
	}
	if n := []int{c.Summaries[0][Greys].Patches, c.Summaries[0][Primaries].Patches, c.Summaries[0][SkinLike].Patches}; n[0] != 13 || n[1] != 6 || n[2] < 2 {
		t.Errorf("groups of %v", n)
	}
	if l := c.Light; !near(l.Luminance, 160, 1e-6) || !near(l.Ratio, 1, 1e-6) || l.Off > 1e-6 || !l.Told || math.Abs(l.Kelvin) > 0.1 || !near(l.Temperature.Kelvin, 6504.3, 1) {
		t.Errorf("%+v", l)
	}
	for _, v := range c.Verdicts(Indistinguishable) {
		if v.Result != OnAim {
			t.Errorf("%v", v)
		}
	}
	if Together(c.Verdicts(Indistinguishable)) != OnAim {
		t.Error("not on aim")
	}

	// A known fault: all of b* moved by the same factor in Z. Differences are checked against the formulas patch by patch.
	_, s = set(t, simulate(60, 120, none, colour.XYZ{Z: -0.15}), Option{})
	c, err = Compare(s, aim)
	if err != nil {
		t.Fatal(err)
	}
	if x := c.Summaries[CIEDE2000][All]; x.Largest > 0.02 {
		t.Errorf("a white that is off is counted in every patch: %+v", x)
	}
	if l := c.Light; !near(l.Ratio, 0.75, 1e-6) || l.Off < 0.01 || l.Kelvin > -300 {
		t.Errorf("%+v", l)
	}
	results := map[string]Result{}
	for _, v := range c.Verdicts(Proof) {
		results[v.What] = v.Result
	}
	if results["luminance of white, departure"] != OffAim || results["white, distance in u', v'"] != OffAim || results["average ΔE00"] != OnAim {
		t.Errorf("%v", results)
	}
	if Together(c.Verdicts(Proof)) != OffAim {
		t.Error("on aim")
	}
}

// Summaries of a few differences, by hand.
func TestSummaries(t *testing.T) {
	var v []float64
	var at []int
	for i := range 40 {
		v, at = append(v, float64((i*7)%40+1)), append(at, i+100)
	}
	s := summarise(v, at)
	if s.Patches != 40 || s.Best != 1 || !near(s.Mean, 20.5, 1e-12) || s.P95 != 38 || s.Largest != 40 || v[s.Worst-100] != 40 {
		t.Errorf("%+v", s)
	}
	if s := summarise([]float64{3}, []int{5}); s != (Summary{1, 3, 3, 3, 3, 5}) {
		t.Errorf("%+v", s)
	}
	if s := summarise(nil, nil); s != (Summary{}) {
		t.Errorf("%+v", s)
	}
}

// The formulas are those of colour/difference, with the aim for the standard.
func TestFormulas(t *testing.T) {
	text := fmt.Sprintf(format, "SAMPLE_ID LAB_L LAB_A LAB_B AIM_LAB_L AIM_LAB_A AIM_LAB_B", "1 50 2.6772 -79.7751 50 0 -82.7485\n2 2.0776 0.0795 -1.1350 0.9033 -0.0636 -0.5514")
	_, s := set(t, text, Option{})
	c, err := Compare(s, FromColumns())
	if err != nil {
		t.Fatal(err)
	}
	// Pairs 1 and 34 of Sharma, Wu and Dalal (2005): 2.0425 and 0.9082.
	if a, b := c.Patches[0].By[CIEDE2000], c.Patches[1].By[CIEDE2000]; !near(a, 2.0425, 5e-5) || !near(b, 0.9082, 5e-5) {
		t.Errorf("%v, %v", a, b)
	}
	if d := c.Patches[0].By[CIE76]; !near(d, math.Hypot(2.6772, 2.9734), 1e-9) {
		t.Errorf("ΔE*ab %v", d)
	}
	// ΔE*94 with the aim's chroma of 82.7485.
	dc := 82.7485 - math.Hypot(2.6772, 79.7751)
	dh := math.Sqrt(2.6772*2.6772 + 2.9734*2.9734 - dc*dc)
	if d := c.Patches[0].By[CIE94]; !near(d, math.Hypot(dc/(1+0.045*82.7485), dh/(1+0.015*82.7485)), 1e-9) {
		t.Errorf("ΔE*94 %v", d)
	}
	// Aims in XYZ are against their own white.
	_, s = set(t, fmt.Sprintf(format, "RGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z REF_XYZ_X REF_XYZ_Y REF_XYZ_Z", "255 255 255 95 100 108 0.95 1 1.08\n128 128 128 20 21 22 0.20 0.21 0.22"), Option{})
	if c, err = Compare(s, FromColumns()); err != nil || c.Summaries[CIE76][All].Largest > 1e-9 {
		t.Errorf("%+v, %v", c.Summaries[CIE76][All], err)
	}
}

// Paper has L*a*b* of its own, against D50; the light of a screen is taken against the screen's white.
func TestWhichLab(t *testing.T) {
	for unit, want := range map[string]float64{"": 90, "[cd/m2]": 100} {
		_, s := set(t, fmt.Sprintf(format, "XYZ_X XYZ_Y"+unit+" XYZ_Z LAB_L LAB_A LAB_B AIM_LAB_L AIM_LAB_A AIM_LAB_B", "72 76 63 90 0 1 90 0 0"), Option{})
		c, err := Compare(s, FromColumns())
		if err != nil || !near(c.Patches[0].Measured.L, want, 1e-9) {
			t.Errorf("%q: %+v, %v", unit, c.Patches, err)
		}
	}
}

func TestWhatCannotBeCompared(t *testing.T) {
	_, s := set(t, fmt.Sprintf(format, "SAMPLE_ID LAB_L LAB_A LAB_B", "1 50 0 0"), Option{})
	for name, aim := range map[string]Aim{"nothing": {}, "columns": FromColumns(), "a space": FromSpace(colour.SRGB)} {
		if c, err := Compare(s, aim); err == nil || Together(c.Verdicts(Proof)) != NotJudged {
			t.Errorf("%s: %+v, %v", name, c, err)
		}
	}
	if Together((&Comparison{}).Verdicts(Ordinary)) != NotJudged || Together(nil) != NotJudged || (&Set{}).Size() != None {
		t.Error("zero values claim something")
	}
	if _, err := Again(s, &Set{}, Aim{}); err == nil {
		t.Error("a repeat of nothing")
	}
}

func TestRepeat(t *testing.T) {
	_, a := set(t, simulate(150, 160, noise(0.004, 1), colour.XYZ{}), Option{})
	_, b := set(t, simulate(150, 160, noise(0.004, 2), colour.XYZ{}), Option{})
	aim := FromSpace(colour.SRGB)
	r, err := Again(a, b, aim)
	if err != nil {
		t.Fatal(err)
	}
	// All of the distance from the aim is noise; the estimate has noise of its own.
	if r.Noise < 0.8 || r.Between[CIE76].Patches != 150 || r.Moved[CIEDE2000] > 0.04 {
		t.Errorf("%+v", r)
	}
	if a.Size() != Medium {
		t.Errorf("%v", a.Size())
	}
	// The same noise on a screen whose tone is off: nearly nothing is noise.
	off := func(seed int) func(int) colour.XYZ {
		n := noise(0.004, seed)
		return func(i int) colour.XYZ {
			e := n(i)
			if i > 1 {
				e.X, e.Y, e.Z = e.X+0.1, e.Y+0.1, e.Z+0.1
			}
			return e
		}
	}
	_, a = set(t, simulate(300, 160, off(1), colour.XYZ{}), Option{})
	_, b = set(t, simulate(300, 160, off(2), colour.XYZ{}), Option{})
	r, err = Again(a, b, aim)
	if err != nil || r.Noise > 0.1 || r.Noise <= 0 {
		t.Errorf("%+v, %v", r, err)
	}
	if a.Size() != Large {
		t.Errorf("%v", a.Size())
	}
	// By hand: off by 3 and by 1, and 2 apart, half of whose square is noise: 2 of 5.
	aimed := func(l string) *Set {
		_, s := set(t, fmt.Sprintf(format, "SAMPLE_ID LAB_L LAB_A LAB_B AIM_LAB_L AIM_LAB_A AIM_LAB_B", "1 "+l+" 0 0 50 0 0"), Option{})
		return s
	}
	if r, err := Again(aimed("53"), aimed("51"), FromColumns()); err != nil || !near(r.Noise, 0.4, 1e-12) || !near(r.Moved[CIE76], 2, 1e-12) || r.Between[CIE76].Largest != 2 {
		t.Errorf("%+v, %v", r, err)
	}
	// A set is its own repeat.
	r, err = Again(a, a, aim)
	if err != nil || r.Noise != 0 || r.Between[CIEDE2000].Largest != 0 || r.Moved[CIE94] != 0 || r.White != 0 || r.Luminance != 0 {
		t.Errorf("%+v, %v", r, err)
	}
}

// Common practice: an average of 0.27 and a largest of 0.92 counts as indistinguishable, a repeat moves the average by about 0.04, and a luminance of 158
// for 160 with the white within 1 K is on aim.
func TestCommonPractice(t *testing.T) {
	var c Comparison
	c.Summaries[CIEDE2000][All] = Summary{Patches: 50, Best: 0.05, Mean: 0.27, P95: 0.7, Largest: 0.92}
	c.Summaries[CIEDE2000][Greys] = Summary{Patches: 12, Mean: 0.27}
	s := &Set{White: colour.D65.XYZ(158), Units: Units{XYZ: Candela}}
	// A white 1 K from the aim: along daylight, 1 K is 4e-6 in x.
	c.Light = s.light(Aim{White: colour.XY{X: colour.D65.X + 1.4e-5, Y: colour.D65.Y + 1.4e-5}, Luminance: 160})
	if !c.Light.Told || math.Abs(c.Light.Kelvin) > 1.5 {
		t.Fatalf("%+v", c.Light)
	}
	if got := c.Verdicts(Indistinguishable); Together(got) != OnAim || len(got) != 6 {
		t.Errorf("%v", got)
	}
	for _, v := range c.Verdicts(Indistinguishable) {
		if v.Result != OnAim {
			t.Errorf("%v", v)
		}
	}
	// The average of a repeat, 0.04 higher, changes nothing; an average twice as large does.
	c.Summaries[CIEDE2000][All].Mean += 0.04
	if Together(c.Verdicts(Indistinguishable)) != OnAim {
		t.Error("a repeat is told from the first")
	}
	c.Summaries[CIEDE2000][All].Mean = 0.54
	if Together(c.Verdicts(Indistinguishable)) != OffAim || Together(c.Verdicts(Proof)) != OnAim {
		t.Error("0.54 is still indistinguishable, or no proof")
	}
	c.Summaries[CIEDE2000][All].Mean, c.Summaries[CIEDE2000][All].Largest = 0.27, 1.2
	if Together(c.Verdicts(Indistinguishable)) != OffAim {
		t.Error("a largest of 1.2 is indistinguishable")
	}
	if Together(c.Verdicts(Tolerances{})) != NotJudged {
		t.Error("no tolerances judge")
	}
}

// What we write of CSV is read by encoding/csv too, at the same places.
func TestSeparators(t *testing.T) {
	for text, want := range map[string]byte{"a,b,c": ',', "a;b;c": ';', "a\tb\tc": '\t', "1,5;2,5;3,5": ';', "\"a;b;c\",d": ',', "a": ',', "a,b;c;d": ';', "a;b\tc": '\t', "": ','} {
		if got := separator([]byte(text)); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
	r := csv.NewReader(strings.NewReader(string(file(t, "comma.csv"))))
	all, err := r.ReadAll()
	if err != nil || len(all) != 4 {
		t.Errorf("%d rows, %v", len(all), err)
	}
}
