package readings

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"runtime"
	"strings"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/testdata"
)

// allocated returns how many bytes a call asks for.
func allocated(f func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	f()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

// Reading a file allocates no more than four times its size, and 256 KiB, whatever it says.
func TestHostileSizes(t *testing.T) {
	const n = 1 << 20
	fill := func(head, unit, tail string) []byte {
		return []byte(head + strings.Repeat(unit, (n-len(head)-len(tail))/len(unit)) + tail)
	}
	taken := 0
	for name, b := range map[string][]byte{
		"a count of fields":    []byte("CGATS.17\nNUMBER_OF_FIELDS 999999999\nNUMBER_OF_SETS 999999999\nBEGIN_DATA_FORMAT\nXYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\nBEGIN_DATA\n1 2 3\nEND_DATA\n"),
		"values":               fill("CGATS.17\nBEGIN_DATA_FORMAT XYZ_X XYZ_Y XYZ_Z END_DATA_FORMAT\nBEGIN_DATA\n", "1 2 3\n", "END_DATA\n"),
		"long values":          fill("CGATS.17\nBEGIN_DATA_FORMAT XYZ_X XYZ_Y XYZ_Z END_DATA_FORMAT\nBEGIN_DATA\n", "1.0000000000000000000000000000000 2.0000000000000000 3\n", "END_DATA\n"),
		"fields":               fill("CGATS.17\nBEGIN_DATA_FORMAT\n", "A\n", "END_DATA_FORMAT\n"),
		"keywords":             fill("CGATS.17\n", "A 1\n", "BEGIN_DATA_FORMAT XYZ_X XYZ_Y XYZ_Z END_DATA_FORMAT BEGIN_DATA 1 2 3 END_DATA\n"),
		"private keywords":     fill("CGATS.17\n", "KEYWORD \"A\"\n", "BEGIN_DATA_FORMAT XYZ_X XYZ_Y XYZ_Z END_DATA_FORMAT BEGIN_DATA 1 2 3 END_DATA\n"),
		"tables":               fill("CGATS.17\n", "BEGIN_DATA_FORMAT XYZ_X XYZ_Y XYZ_Z END_DATA_FORMAT BEGIN_DATA 1 2 3 END_DATA\n", ""),
		"a line":               fill("XYZ_X,XYZ_Y,XYZ_Z\n", "1,", ""),
		"CSV":                  fill("XYZ_X,XYZ_Y,XYZ_Z\n", "1,2,3\n", ""),
		"long values of CSV":   fill("XYZ_X,XYZ_Y,XYZ_Z\n", strings.Repeat("1", 300)+","+strings.Repeat("2", 300)+",3\n", ""),
		"CSV by returns alone": fill("XYZ_X,XYZ_Y,XYZ_Z\r", strings.Repeat("1", 300)+",2,3\r", ""),
		"columns":              fill("XYZ_X,XYZ_Y,XYZ_Z", ",A", "\n1,2,3\n"),
		"an open quote":        fill("XYZ_X,XYZ_Y,XYZ_Z\n1,2,\"", "3\n", ""),
		"quotes":               fill("XYZ_X,XYZ_Y,XYZ_Z\n", "\"\"\n", ""),
		"no heading":           fill("", "a,b\n", ""),
		"comments":             fill("", "#\n", ""),
		"blanks":               fill("", " \n", ""),
		"few blanks":           []byte(strings.Repeat("\n", 199)),
		"few lines":            []byte(strings.Repeat("a\n", 199)),
	} {
		var f *File
		var err error
		got := allocated(func() { f, err = Read(b) })
		if got > uint64(4*len(b)+1<<18) {
			t.Errorf("%s: %d bytes for a file of %d", name, got, len(b))
		}
		t.Logf("%-22s %8d bytes, %8d allocated, %v", name, len(b), got, err)
		if err != nil {
			continue
		}
		taken++
		// A set is numbers: some 200 bytes for each reading, of which there are no more than MaxPatches.
		got = allocated(func() { f.Tables[0].Set(Option{}) })
		if bound := uint64(6*len(b) + 600*f.Tables[0].Rows + 1<<18); got > bound {
			t.Errorf("%s: the set takes %d bytes for %d readings", name, got, f.Tables[0].Rows)
		}
	}
	if taken < 4 {
		t.Errorf("%d could be read", taken)
	}
}

func FuzzRead(f *testing.F) {
	names, err := fs.Glob(testdata.FS, "readings/*")
	if err != nil || len(names) == 0 {
		f.Fatal(err)
	}
	for _, n := range names {
		b, err := testdata.FS.ReadFile(n)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Add([]byte(fmt.Sprintf(format, "CMYK_C CMYK_M CMYK_Y CMYK_K LAB_L LAB_C LAB_H AIM_LAB_L AIM_LAB_A AIM_LAB_B", "0 0 0 0 95 1 200 96 0 0")))
	f.Add([]byte("RGB_R [0-255];RGB_G;RGB_B;XYY_X;XYY_Y;XYY_CAPY;REF_XYZ_X;REF_XYZ_Y;REF_XYZ_Z\n255;255;255;0,31;0,33;120;1;1;1\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		var r *File
		var err error
		got := allocated(func() { r, err = Read(b) })
		if got > uint64(4*len(b)+1<<19) {
			t.Errorf("%d bytes for a file of %d", got, len(b))
		}
		placed := func(p Problem) {
			if p.Line < 1 || p.Column < 1 || p.Line > bytes.Count(b, []byte("\n"))+bytes.Count(b, []byte("\r"))+2 || p.Column > len(b)+2 || p.What == "" {
				t.Errorf("%+v", p)
			}
		}
		refused := func(err error) {
			var p *Problem
			if !errors.As(err, &p) {
				t.Fatalf("%#v", err)
			}
			placed(*p)
		}
		if err != nil {
			refused(err)
			return
		}
		for _, n := range r.Notes {
			placed(n)
		}
		for i := range r.Tables {
			s, err := r.Tables[i].Set(Option{})
			if err != nil {
				refused(err)
				continue
			}
			for _, n := range s.Notes {
				placed(n)
			}
			if len(s.Patches) != r.Tables[i].Rows {
				t.Errorf("%d patches of %d rows", len(s.Patches), r.Tables[i].Rows)
			}
			for _, aim := range []Aim{FromSpace(colour.SRGB), FromColumns()} {
				c, err := Compare(s, aim)
				if err != nil {
					continue
				}
				for _, f := range c.Summaries {
					for _, x := range f {
						if x.Patches > 0 && !(x.Best >= 0 && x.Best <= x.P95 && x.P95 <= x.Largest && !math.IsInf(x.Largest, 0) && x.Mean <= x.Largest*1.000001) {
							t.Errorf("%+v", x)
						}
					}
				}
				if n, err := Again(s, s, aim); err == nil && n.Between[CIEDE2000].Largest > 1e-6 {
					t.Errorf("%+v", n)
				}
			}
		}
	})
}
