package plates

import (
	"crypto/sha256"
	"errors"
	"flag"
	"fmt"
	"image"
	"math"
	"math/rand/v2"
	"os"
	"regexp"
	"strings"
	"testing"

	"example.org/plumb/patterns"
)

func usual(t *testing.T, name string) State {
	t.Helper()
	s, err := Find(name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// The table says of each plate what it is and what to look for, and its levels are such as can be written, read and moved.
func TestTable(t *testing.T) {
	name := regexp.MustCompile(`^[a-z][a-z0-9]*$`)
	seen := map[string]bool{}
	for _, p := range table {
		if !name.MatchString(p.Name) || seen[p.Name] || p.Title == "" || !strings.HasSuffix(p.Look, ".") || p.Caution != "" && !strings.HasSuffix(p.Caution, ".") || p.paint == nil {
			t.Errorf("%q is not whole, or is there twice", p.Name)
		}
		seen[p.Name] = true
		if len(p.Levels) == 0 || len(p.Levels) > mostLevels {
			t.Errorf("%s has %d levels", p.Name, len(p.Levels))
		}
		of := map[string]bool{Key: true}
		for _, l := range p.Levels {
			if !name.MatchString(l.Name) || of[l.Name] || l.Label == "" {
				t.Errorf("%s: level %q has no name of its own", p.Name, l.Name)
			}
			of[l.Name] = true
			if l.Min >= l.Max || l.Usual < l.Min || l.Usual > l.Max || l.Step < 1 {
				t.Errorf("%s: %s goes from %d to %d by %d and is usually %d", p.Name, l.Name, l.Min, l.Max, l.Step, l.Usual)
			}
			if l.Words != nil && (l.Min != 0 || l.Max != len(l.Words)-1) {
				t.Errorf("%s: %s has %d words for %d to %d", p.Name, l.Name, len(l.Words), l.Min, l.Max)
			}
			words := map[string]bool{}
			for v := l.Min; v <= l.Max; v++ {
				words[l.Text(v)] = true
			}
			if len(words) != l.Max-l.Min+1 {
				t.Errorf("%s: two values of %s are written alike", p.Name, l.Name)
			}
		}
	}
	if len(table) < 12 || len(Names()) != len(table) {
		t.Errorf("%d plates, %d names", len(table), len(Names()))
	}
}

// Every value can be reached by keys up to the step's own grid, both ends too, and the way back has the same values.
func TestStep(t *testing.T) {
	for _, p := range table {
		s := usual(t, p.Name)
		for i, l := range p.Levels {
			low := s
			for range l.Max - l.Min + 1 {
				low = low.Step(i, false)
			}
			if low.Value(i) != l.Min || low.Step(i, false) != low {
				t.Fatalf("%s: %s ends at %d below", p.Name, l.Name, low.Value(i))
			}
			var up []State
			for s := low; ; s = s.Step(i, true) {
				up = append(up, s)
				if s.Step(i, true) == s {
					break
				}
				if d := s.Step(i, true).Value(i) - s.Value(i); d < 1 || d > l.Step {
					t.Errorf("%s: %s moves by %d at %d", p.Name, l.Name, d, s.Value(i))
				}
			}
			if up[len(up)-1].Value(i) != l.Max {
				t.Errorf("%s: %s ends at %d above", p.Name, l.Name, up[len(up)-1].Value(i))
			}
			for k := len(up) - 1; k > 0; k-- {
				if up[k].Step(i, false) != up[k-1] {
					t.Errorf("%s: %s goes from %d back to %d, and came from %d", p.Name, l.Name, up[k].Value(i), up[k].Step(i, false).Value(i), up[k-1].Value(i))
				}
			}
			for k := range p.Levels {
				if k != i && up[0].Value(k) != s.Value(k) {
					t.Errorf("%s: %s moves with %s", p.Name, p.Levels[k].Name, l.Name)
				}
			}
		}
		if s.Step(-1, true) != s || s.Step(len(p.Levels), true) != s {
			t.Errorf("%s: a level that is not there moves something", p.Name)
		}
	}
	if (State{}).Step(0, true) != (State{}) {
		t.Error("the zero state moves")
	}
}

// A query reads back as the state it was written for, in every value of every level.
func TestQuery(t *testing.T) {
	n := 0
	for _, p := range table {
		s := usual(t, p.Name)
		for i, l := range p.Levels {
			for v := l.Min; v <= l.Max; v++ {
				s := s
				s.values[i] = v
				for _, q := range []string{s.Query(), "?" + s.Query()} {
					got, err := Parse(q)
					if err != nil || got != s {
						t.Fatalf("%s reads back as %s: %v", q, got.Query(), err)
					}
				}
				n++
			}
		}
		if got, err := Parse(Key + "=" + p.Name); err != nil || got != s {
			t.Errorf("%s alone reads as %s: %v", p.Name, got.Query(), err)
		}
	}
	if n < 4000 {
		t.Errorf("only %d states were written", n)
	}
	if (State{}).Query() != "" {
		t.Error("the zero state has a query")
	}
}

func TestParse(t *testing.T) {
	for query, want := range map[string]string{
		"pattern=black":                 "pattern=black&patch=8&cell=5&ground=0",
		"?pattern=black&patch=3":        "pattern=black&patch=3&cell=5&ground=0",
		"cell=none&pattern=black":       "pattern=black&patch=8&cell=none&ground=0",
		"pattern=%62lack&patch=%31%32":  "pattern=black&patch=12&cell=5&ground=0",
		"pattern=quarters&by=-32":       "pattern=quarters&by=-32&cell=1&base=96&ground=80",
		"pattern=match&lit=3of4&dark=9": "pattern=match&plain=188&lit=3of4&lines=rows&dark=9&light=255&channel=all&ground=119&side=right&degree=47",
	} {
		if s, err := Parse(query); err != nil || s.Query() != want {
			t.Errorf("%s: %s, %v", query, s.Query(), err)
		}
	}
	all := strings.Join(Names(), ", ")
	for query, want := range map[string]string{
		"":                                   "plates: no pattern is named",
		"?":                                  "plates: no pattern is named",
		"patch=3":                            "plates: no pattern is named; the link needs pattern= and one of " + all,
		"pattern=":                           `plates: there is no pattern ""; there are ` + all,
		"pattern=Black":                      `plates: there is no pattern "Black"; there are ` + all,
		"pattern=black&level=3":              `plates: black has no level "level"; it has patch, cell, ground`,
		"pattern=black&":                     "",
		"pattern=black&patch":                `plates: patch of black cannot be ""; it takes 0 to 64`,
		"pattern=black&patch=65":             `plates: patch of black cannot be "65"; it takes 0 to 64`,
		"pattern=black&patch=-1":             `plates: patch of black cannot be "-1"; it takes 0 to 64`,
		"pattern=black&patch=+3":             `plates: patch of black cannot be " 3"; it takes 0 to 64`,
		"pattern=black&patch=%2B3":           `plates: patch of black cannot be "+3"; it takes 0 to 64`,
		"pattern=black&patch=03":             `plates: patch of black cannot be "03"; it takes 0 to 64`,
		"pattern=black&patch=3.0":            `plates: patch of black cannot be "3.0"; it takes 0 to 64`,
		"pattern=black&cell=0":               `plates: cell of black cannot be "0"; it takes none, 1, 2, 3, 4, 5, 6, 7, 8, 9`,
		"pattern=steps&steps=65":             `plates: steps of steps cannot be "65"; it takes 3 to 64`,
		"pattern=black&patch=3&patch=3":      `plates: "patch" is given 2 times`,
		"pattern=black&pattern=white":        `plates: "pattern" is given 2 times`,
		"pattern=black&patch=%zz":            `plates: the link is not written as links are: invalid URL escape "%zz"`,
		"pattern=black;patch=3":              "plates: the link is not written as links are: invalid semicolon separator in query",
		"pattern=black&a=1&b=2":              `plates: black has no level "a"; it has patch, cell, ground`,
		"pattern=" + strings.Repeat("é", 99): `plates: there is no pattern "` + strings.Repeat("é", 32) + `..."; there are ` + all,
	} {
		s, err := Parse(query)
		switch {
		case want == "":
			if err != nil {
				t.Errorf("%s: %v", query, err)
			}
		case err == nil || err.Error() != want:
			t.Errorf("%s\n got %v\nwant %s", query, err, want)
		case s != State{}:
			t.Errorf("%s: refused, and yet %s", query, s.Query())
		}
	}
	for query, none := range map[string]bool{"": true, "patch=3": true, "pattern=x": false} {
		if _, err := Parse(query); errors.Is(err, ErrNone) != none {
			t.Errorf("%q: %v", query, err)
		}
	}
	if _, err := (State{}).Set("patch", "3"); err == nil {
		t.Error("no plate has a level")
	}
}

func FuzzParse(f *testing.F) {
	for _, n := range Names() {
		s, _ := Usual(n)
		f.Add(s.Query())
	}
	f.Add("?pattern=black&patch=3&patch=4")
	f.Fuzz(func(t *testing.T, q string) {
		s, err := Parse(q)
		if (err != nil) != (s == State{}) {
			t.Fatalf("%q: %q, %v", q, s.Query(), err)
		}
		if err != nil {
			return
		}
		if again, err := Parse(s.Query()); err != nil || again != s {
			t.Fatalf("%q: %q reads back as %q, %v", q, s.Query(), again.Query(), err)
		}
	})
}

func TestFits(t *testing.T) {
	for size, ok := range map[image.Point]bool{
		{160, 160}: true, {16384, 16384}: true, {3840, 2160}: true, {160, 16384}: true,
		{159, 160}: false, {160, 159}: false, {0, 0}: false, {-1920, 1080}: false, {16385, 160}: false, {160, 16385}: false, {1 << 40, 1 << 40}: false,
	} {
		if err := Fits(size.X, size.Y); (err == nil) != ok {
			t.Errorf("%v: %v", size, err)
		}
	}
}

// frames are bounds of the safety tests: the least there is, those where a square is as large as its rule allows, and common shapes.
var frames = []image.Rectangle{
	image.Rect(0, 0, Least, Least), image.Rect(0, 0, 240, 230), image.Rect(0, 0, 192, 108*2), image.Rect(0, 0, 480, 270), image.Rect(0, 0, 160, 340),
}

// each calls f with states of every plate: every value of every level with the others as usual, and which level that is; and others drawn at random, with -1.
func each(t *testing.T, f func(s State, level int)) {
	r := rand.New(rand.NewPCG(5, 8))
	n, stride := 0, 1
	if testing.Short() {
		stride = 9
	}
	for _, p := range table {
		s := usual(t, p.Name)
		for i, l := range p.Levels {
			for v := l.Min; v <= l.Max; v += min(stride, l.Max-l.Min) {
				s := s
				s.values[i] = v
				f(s, i)
				n++
			}
		}
		for range 60 / stride {
			for i, l := range p.Levels {
				s.values[i] = l.Min + r.IntN(l.Max-l.Min+1)
				if r.IntN(4) == 0 {
					s.values[i] = []int{l.Min, l.Max}[r.IntN(2)]
				}
			}
			f(s, -1)
			n++
		}
	}
	if n < 5000/stride {
		t.Fatalf("only %d states", n)
	}
}

// lights is the relative luminance of a code by a gamma of 2.4, where a step of codes near white is greatest.
var lights = func() (l [256]float64) {
	for v := range l {
		l[v] = math.Pow(float64(v)/255, 2.4)
	}
	return l
}()

// mean is the relative luminance of a whole frame, by the weights of IEC 61966-2-1.
func mean(m *image.RGBA) float64 {
	var r, g, b [256]int
	for i := 0; i < len(m.Pix); i += 4 {
		r[m.Pix[i]]++
		g[m.Pix[i+1]]++
		b[m.Pix[i+2]]++
	}
	sum := 0.0
	for v, l := range lights {
		sum += l * (0.2126*float64(r[v]) + 0.7152*float64(g[v]) + 0.0722*float64(b[v]))
	}
	return sum / float64(len(m.Pix)/4)
}

// A press of a key changes the light of the whole frame by a tenth of white's at most, whatever the plate and wherever its levels are.
func TestPressesDoNotFlash(t *testing.T) {
	t.Parallel()
	most, at := 0.0, ""
	turn := 0
	each(t, func(s State, level int) {
		bounds := frames[turn%len(frames)]
		turn++
		was := mean(patterns.Render(s, bounds.Dx(), bounds.Dy()))
		for i, l := range s.Levels() {
			next := s.Step(i, true)
			if next == s || level >= 0 && level != i {
				continue
			}
			if d := math.Abs(mean(patterns.Render(next, bounds.Dx(), bounds.Dy())) - was); d > most {
				most, at = d, s.Query()+", "+l.Name+" up, "+bounds.Max.String()
			}
		}
	})
	t.Logf("%.4f of white at %s", most, at)
	if most > 0.1 {
		t.Errorf("a press changes %.3f of white's light over the whole frame: %s", most, at)
	}
	if most < 0.05 {
		t.Errorf("no press changes more than %.3f: the test sees nothing", most)
	}
}

// striped is the part of a frame that fine lines fill: the bounds and the number of pixels within two of one that both neighbours across, or both up and down,
// differ from in the same direction.
func striped(m *image.RGBA) (image.Rectangle, int) {
	var box image.Rectangle
	b := m.Rect
	found := make([]bool, b.Dx()*b.Dy())
	peak := func(x, y, dx, dy int) bool {
		p, a, c := m.RGBAAt(x, y), m.RGBAAt(x-dx, y-dy), m.RGBAAt(x+dx, y+dy)
		for _, v := range [3][3]uint8{{a.R, p.R, c.R}, {a.G, p.G, c.G}, {a.B, p.B, c.B}} {
			if v[0] < v[1] && v[2] < v[1] || v[0] > v[1] && v[2] > v[1] {
				return true
			}
		}
		return false
	}
	for y := 1; y < b.Dy()-1; y++ {
		for x := 1; x < b.Dx()-1; x++ {
			if peak(x, y, 1, 0) || peak(x, y, 0, 1) {
				box = box.Union(image.Rect(x, y, x+1, y+1))
				for v := max(0, y-2); v <= min(b.Dy()-1, y+2); v++ {
					for u := max(0, x-2); u <= min(b.Dx()-1, x+2); u++ {
						found[v*b.Dx()+u] = true
					}
				}
			}
		}
	}
	n := 0
	for _, f := range found {
		if f {
			n++
		}
	}
	return box, n
}

// Fine lines fill a tenth of a frame at most and 8 degrees a side, as pixels tell, on every plate.
func TestFineLinesAreBounded(t *testing.T) {
	t.Parallel()
	lined, turn := map[string]bool{}, 0
	each(t, func(s State, _ int) {
		turn++
		if turn%3 > 0 && s.Plate().Name != "match" { // one third of the plates without lines is enough
			return
		}
		bounds := frames[turn%len(frames)]
		box, n := striped(patterns.Render(s, bounds.Dx(), bounds.Dy()))
		// Two pixels at each edge are the test's own.
		allowed := math.Sqrt(float64(bounds.Dx()*bounds.Dy())/10) + 4
		if float64(n) > allowed*allowed {
			t.Errorf("%s: fine lines fill %d of %d pixels at %v", s.Query(), n, bounds.Dx()*bounds.Dy(), bounds.Max)
		}
		if n > bounds.Dx()*bounds.Dy()/20 { // the ends of ramps are lines too, one pixel of them
			lined[s.Plate().Name] = true
		}
		if s.Plate().Name == "match" {
			if degree := s.Value(8); box.Dx() > 8*degree || box.Dy() > 8*degree {
				t.Errorf("%s: fine lines span %v, more than 8 degrees of %d pixels", s.Query(), box.Size(), degree)
			}
		}
	})
	if len(lined) != 1 || !lined["match"] {
		t.Errorf("fine lines were found on %v", lined)
	}
	// What the test would see.
	whole := patterns.Render(patterns.Mix{B: 255, Lit: 1, Of: 2}, 100, 100)
	if _, n := striped(whole); n != 100*100 {
		t.Errorf("of lines all over %d pixels are found", n)
	}
	// At the size of a large screen the rule on degrees bounds the squares.
	s, _ := usual(t, "match").Set("degree", "32")
	if m, ok := s.Pattern(image.Rect(0, 0, 3840, 2160)).(patterns.Match); !ok || m.Side > 8*32 || m.Side < 6*32 {
		t.Errorf("at 32 pixels to a degree the squares are %d", m.Side)
	}
	// Lines that would not melt are not offered: 8 cycles to a degree or more.
	for _, m := range mixes {
		if l := s.Levels()[8]; l.Min/m[1] < 8 {
			t.Errorf("lines of %d pixels make %d cycles to a degree", m[1], l.Min/m[1])
		}
	}
}

// Equal states paint equal frames in bands and whole, each level changes something, and every pixel is opaque.
func TestPaint(t *testing.T) {
	b := image.Rect(0, 0, 241, 187)
	for _, p := range table {
		s := usual(t, p.Name)
		whole := patterns.Render(s, b.Dx(), b.Dy())
		banded := image.NewRGBA(b)
		for y := 0; y < b.Dy(); y += 13 {
			s.Paint(banded, image.Rect(0, y, b.Dx(), y+13))
		}
		if string(whole.Pix) != string(banded.Pix) || !whole.Opaque() {
			t.Errorf("%s: bands differ from the whole, or are not opaque", p.Name)
		}
		for i, l := range p.Levels {
			changed := false
			for _, first := range []State{s, s.with("place", "1"), s.with("by", "9"), s.with("red", "9").with("place", "2")} {
				was := patterns.Render(first, b.Dx(), b.Dy())
				for _, up := range []bool{true, false} {
					now := first
					for range 9 { // a small frame may hide a single step
						now = now.Step(i, up)
					}
					changed = changed || string(patterns.Render(now, b.Dx(), b.Dy()).Pix) != string(was.Pix)
				}
			}
			if !changed && !(p.Name == "match" && l.Name == "degree") { // that takes a larger frame
				t.Errorf("%s: %s changes nothing", p.Name, l.Name)
			}
		}
	}
	if m := patterns.Render(State{}, 3, 2); !m.Opaque() || m.RGBAAt(1, 1).R != 0 {
		t.Error("the zero state is not black")
	}
}

// with is the state with a level set, if it has it.
func (s State) with(level, text string) State {
	if n, err := s.Set(level, text); err == nil {
		return n
	}
	return s
}

var update = flag.Bool("update", false, "write testdata/digests.txt anew; look at the difference before keeping it")

// A link or a file shows tomorrow what it shows today: the SHA-256 of each plate's frame of 480 x 270 pixels, as usual and with its first level a press lower.
func TestDigests(t *testing.T) {
	var b strings.Builder
	for _, n := range Names() {
		s := usual(t, n)
		for _, s := range []State{s, s.Step(0, false)} {
			fmt.Fprintf(&b, "%x %s\n", sha256.Sum256(patterns.Render(s, 480, 270).Pix), s.Query())
		}
	}
	const at = "testdata/digests.txt"
	if *update {
		if err := os.WriteFile(at, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(at)
	if err != nil {
		t.Fatal(err)
	}
	if b.String() != string(want) {
		t.Errorf("plates changed, and with them what links show:\n%s", b.String())
	}
}
