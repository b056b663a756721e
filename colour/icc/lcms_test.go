package icc

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/colour/transfer"
	"example.org/plumb/testdata"
)

var update = flag.Bool("update", false, "write the profiles of testdata/icc/made, and what transicc makes of all, anew")

const (
	folder    = "../../testdata/icc"
	installed = "/usr/share/color/icc" // of Debian's colord-data and icc-profiles-free
	// What both may differ by, in L*, a* and b*, and in device values of 255 or 100. 0.05 is asked for; a step of 16 bits in a table of XYZ is worth 0.12 near
	// black, so that less than half of one shows that both round alike.
	close = 0.02
)

// A verdict is what Little CMS makes of one profile.
type verdict struct {
	File     string      `json:"file"`
	Device   [][]float64 `json:"device,omitempty"`   // in the unit of transicc: 255 or 100 for full
	Relative [][]float64 `json:"relative,omitempty"` // L*a*b* of each
	Absolute [][]float64 `json:"absolute,omitempty"`
	Lab      [][]float64 `json:"lab,omitempty"`  // for the way back
	Back     [][]float64 `json:"back,omitempty"` // device values of each, media-relative
}

type verdicts struct {
	Forward  string    `json:"forward"`  // the command
	Backward string    `json:"backward"` // the command for the way back
	Version  string    `json:"version"`
	Profiles []verdict `json:"profiles"`
}

// profiles returns the profiles that are kept here, by their path below testdata/icc.
func profiles(t testing.TB) map[string][]byte {
	t.Helper()
	all := map[string][]byte{}
	err := fs.WalkDir(testdata.Profiles, "icc", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || path.Ext(name) != ".icc" {
			return err
		}
		all[strings.TrimPrefix(name, "icc/")], err = testdata.Profiles.ReadFile(name)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(all) < 30 {
		t.Fatalf("%d profiles; something is missing", len(all))
	}
	return all
}

// unit is what transicc takes for full in each channel, and what is added before scaling to [0,1].
func unit(s Space) (full, shift [15]float64) {
	for i := range full {
		full[i] = 255
	}
	switch s {
	case SpaceCMYK:
		for i := range full {
			full[i] = 100
		}
	case SpaceLab:
		full, shift = [15]float64{100, 255, 255}, [15]float64{0, 128, 128}
	case SpaceXYZ:
		full = [15]float64{100 * wide, 100 * wide, 100 * wide}
	}
	return full, shift
}

// values returns device values for a profile: corners, greys, steps near black and others at random.
func values(s Space) (all [][]float64) {
	full, shift := unit(s)
	n := s.Channels()
	r := rand.New(rand.NewPCG(uint64(s), 6))
	add := func(f func(i int) float64) {
		v := make([]float64, n)
		for i := range v {
			// To 3 decimals, as they are written.
			v[i] = math.Floor(1000*(full[i]*f(i)-shift[i])+0.5) / 1000
		}
		all = append(all, v)
	}
	for c := range 8 {
		add(func(i int) float64 { return float64(c >> (i % 3) & 1) })
	}
	for _, g := range []float64{1, 2, 5, 12, 40, 90, 128, 200, 254} {
		add(func(int) float64 { return g / 255 })
	}
	for range 9 {
		add(func(int) float64 { return float64(r.IntN(16)) / 255 })
	}
	for range 24 {
		add(func(int) float64 { return r.Float64() })
	}
	return all
}

func labs() (all [][]float64) {
	r := rand.New(rand.NewPCG(6, 6))
	for range 25 {
		all = append(all, []float64{math.Floor(10000*r.Float64()) / 100, math.Floor(8000*(2*r.Float64()-1)) / 100, math.Floor(8000*(2*r.Float64()-1)) / 100})
	}
	return append(all, []float64{0, 0, 0}, []float64{100, 0, 0}, []float64{50, 0, 0}, []float64{2, 0.5, -0.5}, []float64{96, -3, 2})
}

func command(in, out string, intent Intent) []string {
	return []string{"transicc", "-n", "-t", strconv.Itoa(int(intent)), "-c", "0", "-d", "1", "-i", in, "-o", out}
}

// ask runs transicc over rows of values.
func ask(t testing.TB, args []string, rows [][]float64) [][]float64 {
	t.Helper()
	var in strings.Builder
	for _, r := range rows {
		for _, v := range r {
			fmt.Fprintf(&in, "%.3f\n", v)
		}
	}
	c := exec.Command(args[0], args[1:]...)
	c.Stdin = strings.NewReader(in.String())
	var out, trouble bytes.Buffer
	c.Stdout, c.Stderr = &out, &trouble
	if err := c.Run(); err != nil {
		t.Fatalf("%v: %v\n%s", args, err, trouble.Bytes())
	}
	var all [][]float64
	for line := range strings.Lines(out.String()) {
		var row []float64
		for _, f := range strings.Fields(line) {
			v, err := strconv.ParseFloat(f, 64)
			if err != nil {
				t.Fatalf("%v printed %q", args, line)
			}
			row = append(row, v)
		}
		if len(row) > 0 {
			all = append(all, row)
		}
	}
	if len(all) != len(rows) {
		t.Fatalf("%v: %d rows for %d\n%s%s", args, len(all), len(rows), out.String(), trouble.Bytes())
	}
	return all
}

// judge has Little CMS convert by a profile whatever we say that we can.
func judge(t testing.TB, name, file string, data []byte) verdict {
	t.Helper()
	p, err := Read(data)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	v := verdict{File: name}
	if _, err := p.Forward(Relative); err == nil {
		v.Device = values(p.Space)
		v.Relative = ask(t, command(file, "*Lab4", Relative), v.Device)
		v.Absolute = ask(t, command(file, "*Lab4", Absolute), v.Device)
	}
	// Little CMS turns curves round by way of 4096 samples, so only tables are compared on the way back.
	if b, err := p.Backward(Relative); err == nil && b.lut != nil {
		v.Lab = labs()
		v.Back = ask(t, command("*Lab4", file, Relative), v.Lab)
	}
	return v
}

// compare holds our conversions against a verdict and returns the largest differences.
func compare(t *testing.T, v verdict, data []byte) (forward, backward float64) {
	t.Helper()
	p, err := Read(data)
	if err != nil {
		t.Errorf("%s: %v", v.File, err)
		return
	}
	full, shift := unit(p.Space)
	off := func(worst *float64, what string, at []float64, got, want float64) {
		d := math.Abs(got - want)
		*worst = max(*worst, d)
		if !(d <= close) {
			t.Errorf("%s, %s %v: %.4f, Little CMS has %.4f", v.File, what, at, got, want)
		}
	}
	for _, x := range []struct {
		intent Intent
		want   [][]float64
	}{{Relative, v.Relative}, {Absolute, v.Absolute}} {
		if len(x.want) != len(v.Device) {
			t.Fatalf("%s: %d values for %d", v.File, len(x.want), len(v.Device))
		}
		if len(x.want) == 0 {
			continue
		}
		f, err := p.Forward(x.intent)
		if err != nil {
			t.Errorf("%s: %v", v.File, err)
			continue
		}
		for i, d := range v.Device {
			in := make([]float64, len(d))
			for j := range d {
				in[j] = (d[j] + shift[j]) / full[j]
			}
			c := f.Lab(in...)
			for j, got := range []float64{c.L, c.A, c.B} {
				off(&forward, x.intent.String(), d, got, x.want[i][j])
			}
		}
	}
	if len(v.Lab) > 0 {
		b, err := p.Backward(Relative)
		if err != nil {
			t.Errorf("%s: %v", v.File, err)
			return
		}
		for i, c := range v.Lab {
			for j, got := range b.Device(colour.Lab{L: c[0], A: c[1], B: c[2]}) {
				off(&backward, "back", c, got*full[j]-shift[j], min(max(v.Back[i][j], -shift[j]), full[j]-shift[j]))
			}
		}
	}
	return forward, backward
}

func TestAgainstLittleCMS(t *testing.T) {
	if *update {
		renew(t)
		t.Skip("written anew; what was built in before this run is the old, so run again without -update")
	}
	var all verdicts
	b, err := testdata.Profiles.ReadFile("icc/transicc.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, &all); err != nil {
		t.Fatal(err)
	}
	kept := profiles(t)
	forward, backward := 0, 0
	for _, v := range all.Profiles {
		data, ok := kept[v.File]
		if !ok {
			t.Errorf("%s is judged and not kept", v.File)
			continue
		}
		delete(kept, v.File)
		f, b := compare(t, v, data)
		t.Logf("%-50s forward %.4f, back %.4f", v.File, f, b)
		if len(v.Device) > 0 {
			forward++
		}
		if len(v.Lab) > 0 {
			backward++
		}
	}
	for name := range kept {
		t.Errorf("%s is kept and not judged", name)
	}
	if forward < 35 || backward < 5 {
		t.Errorf("%d profiles judged forward and %d back", forward, backward)
	}
}

// renew writes the profiles made here, and what transicc says of all that are kept.
func renew(t *testing.T) {
	for name, m := range made() {
		if err := os.WriteFile(folder+"/made/"+name+".icc", m.bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	files, err := filepath.Glob(folder + "/*/*.icc")
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(files)
	all := verdicts{Forward: strings.Join(command("PROFILE", "*Lab4", Relative), " ") + ", and -t 3 for absolute", Backward: strings.Join(command("*Lab4", "PROFILE", Relative), " "), Version: "Little CMS 2.14 (Debian liblcms2-utils 2.14-2+deb12u1)"}
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		all.Profiles = append(all.Profiles, judge(t, filepath.ToSlash(strings.TrimPrefix(f, folder+"/")), f, data))
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, "{\"forward\": %q,\n\"backward\": %q,\n\"version\": %q,\n\"profiles\": [", all.Forward, all.Backward, all.Version)
	for i, v := range all.Profiles {
		one, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		if i > 0 {
			b.WriteString(",")
		}
		b.WriteString("\n")
		b.Write(one)
	}
	b.WriteString("\n]}\n")
	if err := os.WriteFile(folder+"/transicc.json", b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

// The profiles that are kept are those that the writers make.
func TestMadeProfilesAreThoseOfTheWriters(t *testing.T) {
	if runtime.GOARCH == "wasm" {
		t.Skip("powers differ by their last bits there, and a few table values with them")
	}
	kept := profiles(t)
	for name, m := range made() {
		if !bytes.Equal(m.bytes(), kept["made/"+name+".icc"]) {
			t.Errorf("made/%s.icc is another; go test ./colour/icc -update writes it, where transicc is installed", name)
		}
	}
}

// TestInstalledProfiles reads every profile of Debian's colord-data and icc-profiles-free and asks transicc anew about each.
func TestInstalledProfiles(t *testing.T) {
	var files []string
	if runtime.GOOS != "js" {
		err := filepath.WalkDir(installed, func(name string, d fs.DirEntry, err error) error {
			if err == nil && slices.Contains([]string{".icc", ".icm"}, strings.ToLower(filepath.Ext(name))) {
				files = append(files, name)
			}
			return err
		})
		if err != nil {
			files = nil
		}
	}
	_, err := exec.LookPath("transicc")
	if len(files) < 39 || err != nil {
		t.Skipf("%d profiles in %s, and transicc: %v; install Debian's colord-data, icc-profiles-free and liblcms2-utils", len(files), installed, err)
	}
	judged := 0
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		name := strings.TrimPrefix(f, installed+"/")
		v := judge(t, name, f, data)
		forward, backward := compare(t, v, data)
		t.Logf("%-40s forward %.4f, back %.4f", name, forward, backward)
		if len(v.Device) > 0 {
			judged++
		}
		p, err := Read(data)
		if err != nil {
			t.Fatal(err)
		}
		if facts, err := p.Facts(transfer.SRGB{}); err != nil || facts.Name == "" || facts.Process == Unknown || facts.Made.IsZero() || facts.ID == IDWrong {
			t.Errorf("%s: %+v, %v", name, facts, err)
		}
	}
	if judged < 37 {
		t.Errorf("%d profiles judged", judged)
	}
}
