package report

import (
	"encoding/base64"
	"math"
	"slices"
	"testing"

	"example.org/plumb/testdata"
)

// contentRows returns the rows of a table of testdata/content, its head checked and left out.
func contentRows(t *testing.T, name string, head ...string) [][]float64 {
	t.Helper()
	first, records := testdata.Table(t, "content/"+name)
	if !slices.Equal(first, head) {
		t.Fatalf("%s: the head is %v, want %v", name, first, head)
	}
	var rows [][]float64
	for _, r := range records {
		row := make([]float64, len(r))
		for i := range r {
			row[i] = testdata.Number(t, r[i])
		}
		rows = append(rows, row)
	}
	return rows
}

// The program's colours are those of the table, to the last digit.
func TestColours(t *testing.T) {
	rows, all := contentRows(t, "colours.csv", "r", "g", "b", "weight"), Colours()
	if len(rows) != len(all) || len(all) < 300 || len(all) > 600 {
		t.Fatalf("%d colours, %d in the table; want the same number from 300 to 600", len(all), len(rows))
	}
	sum, last := 0.0, -1
	for i, c := range all {
		if got := []float64{float64(c.R), float64(c.G), float64(c.B), c.Weight}; !slices.Equal(got, rows[i]) {
			t.Errorf("colour %d is %v, in the table %v", i, got, rows[i])
		}
		if at := int(c.R)<<16 | int(c.G)<<8 | int(c.B); at <= last {
			t.Errorf("colour %d, %v, is out of order or there twice", i, c)
		} else {
			last = at
		}
		sum += c.Weight
	}
	if math.Abs(sum-1) > 1e-12 {
		t.Errorf("weights sum to %v, want 1", sum)
	}
}

// What the colours say is lost is what the pixels say, code by code: where all channels are at or below a code near black, and where one is at or above
// a code near full. Ours: 0.6 points of a score of 100, because the widest class holds about 1 % and stands as one code.
func TestColoursEnds(t *testing.T) {
	const most = 0.006
	rows := contentRows(t, "greys.csv", "code", "grey", "dark", "bright", "some")
	if len(rows) != 256 {
		t.Fatalf("%d codes, want 256", len(rows))
	}
	worst := 0.0
	for code, row := range rows {
		dark, some := 0.0, 0.0
		for _, c := range Colours() {
			top := int(max(c.R, c.G, c.B))
			if top <= code {
				dark += c.Weight
			}
			if top >= code {
				some += c.Weight
			}
		}
		if code < 32 {
			worst = max(worst, math.Abs(dark-row[2]))
		}
		if code >= 232 {
			worst = max(worst, math.Abs(some-row[4]))
		}
		if (code == 0 || code == 255) && max(math.Abs(dark-row[2]), math.Abs(some-row[4])) > 2e-6 {
			t.Errorf("code %d: colours say %v and %v, pixels %v and %v", code, dark, some, row[2], row[4])
		}
	}
	if t.Logf("largest difference %.4f", worst); worst > most {
		t.Errorf("shares at an end differ by %v, more than %v", worst, most)
	}
}

// The table of codes is of one distribution: greys sum to 1, shares rise or fall, and what has no channel at or above a code lies below it.
func TestContentCodes(t *testing.T) {
	rows := contentRows(t, "greys.csv", "code", "grey", "dark", "bright", "some")
	sum := 0.0
	for code, r := range rows {
		sum += r[1]
		if int(r[0]) != code {
			t.Fatalf("row %d is of code %v", code, r[0])
		}
		below := 0.0
		if code > 0 {
			below = rows[code-1][2]
			if r[2] < below || r[3] > rows[code-1][3] || r[4] > rows[code-1][4] {
				t.Errorf("code %d: %v after %v", code, r[2:], rows[code-1][2:])
			}
		}
		if math.Abs(below+r[4]-1) > 1.5e-6 || r[3] > r[4] {
			t.Errorf("code %d: %v below it, %v not, %v wholly not", code, below, r[4], r[3])
		}
	}
	if math.Abs(sum-1) > 256*.5e-6 || rows[255][2] != 1 || rows[0][3] != 1 || rows[0][4] != 1 {
		t.Errorf("greys sum to %v; no code is beyond %v, %v, %v", sum, rows[255][2], rows[0][3], rows[0][4])
	}
}

func TestUnpackRefuses(t *testing.T) {
	pack := func(b ...byte) string { return base64.StdEncoding.EncodeToString(b) }
	whole := []byte{1, 2, 3, 0xc0, 0x84, 0x3d} // 1,000,000 as a varint
	if all, err := unpack(pack(whole...)); err != nil || !slices.Equal(all, []Colour{{1, 2, 3, 1}}) {
		t.Fatalf("%v, %v", all, err)
	}
	for name, text := range map[string]string{
		"nothing":        "",
		"no base64":      "?",
		"cut in codes":   pack(append(slices.Clone(whole), 1, 2, 3)...),
		"cut in weight":  pack(whole[:5]...),
		"no weight":      pack(append([]byte{1, 2, 3, 0}, whole...)...),
		"too much":       pack(append(slices.Clone(whole), 1, 2, 4, 1)...),
		"too little":     pack(1, 2, 3, 7),
		"endless weight": pack(append([]byte{1, 2, 3}, slices.Repeat([]byte{255}, 11)...)...),
	} {
		if all, err := unpack(text); err == nil {
			t.Errorf("%s: %v", name, all)
		}
	}
}

func FuzzUnpack(f *testing.F) {
	f.Add(contentData)
	f.Add("AQIDwIQ9")
	f.Fuzz(func(t *testing.T, text string) {
		all, err := unpack(text)
		sum := 0.0
		for _, c := range all {
			sum += c.Weight
		}
		if err == nil && math.Abs(sum-1) > 1e-9 {
			t.Errorf("weights sum to %v", sum)
		}
	})
}
