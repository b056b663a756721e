package pages

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

func close(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %v, want %v within %v", what, got, want, within)
	}
}

func TestChromaticities(t *testing.T) {
	// u'v' of D65: 0.1978, 0.4683 (CIE 15).
	u, v := d65.uv()
	close(t, "u' of D65", u, 0.1978, 5e-5)
	close(t, "v' of D65", v, 0.4683, 5e-5)
	// Red of sRGB 0.4507, 0.5229, green of Display P3 0.0986, 0.5777 (common practice, no source).
	u, v = srgb[0].uv()
	close(t, "u' of red", u, 0.4507, 5e-5)
	close(t, "v' of red", v, 0.5229, 5e-5)
	u, v = p3[1].uv()
	close(t, "u' of green", u, 0.0986, 5e-5)
	close(t, "v' of green", v, 0.5777, 5e-5)
	// 380 to 700 nm by 10, and 495, 505 and 515.
	if len(locus) != 33+3 {
		t.Fatalf("%d points on the locus", len(locus))
	}
	for i, c := range locus {
		if c.x <= 0 || c.y <= 0 || c.x+c.y > 1 {
			t.Errorf("point %d of the locus is no light: %v", i, c)
		}
	}
	// In the order of wavelengths the horseshoe turns one way: three neighbours that turn the other by more than their rounding mean a wrong figure.
	for i := 10; i+2 < 26; i++ { // 480 to 600 nm; beyond it is straight but for rounding
		ax, ay := locus[i].uv()
		bx, by := locus[i+1].uv()
		cx, cy := locus[i+2].uv()
		if turn := (bx-ax)*(cy-by) - (by-ay)*(cx-bx); turn > 1e-6 {
			t.Errorf("the locus turns back at point %d: %v", i+1, turn)
		}
	}
	// Primaries lie inside, where the outline winds round them. The red of Display P3 is left out: it lies on the outline.
	for _, p := range append(srgb[:], p3[1], p3[2], d65) {
		u, v := p.uv()
		inside := false
		for i := range locus {
			au, av := locus[i].uv()
			bu, bv := locus[(i+1)%len(locus)].uv()
			if (av > v) != (bv > v) && u < au+(v-av)/(bv-av)*(bu-au) {
				inside = !inside
			}
		}
		if !inside {
			t.Errorf("%v lies outside of what can be seen", p)
		}
	}
}

func TestGamut(t *testing.T) {
	for name, g := range map[string]GamutSketch{
		"zero":         {},
		"only a claim": {Claimed: "colours of Display P3"},
		"no number":    {Red: math.NaN(), RedHi: 1},
		"backward":     {Red: 0.1, RedLo: 0.5, RedHi: 0.7},
	} {
		if g.drawn() {
			t.Errorf("%s: drawn", name)
		}
	}
	g := GamutSketch{Red: 0.5, RedLo: 0.25, RedHi: 0.75, Claimed: "colours of sRGB."}
	if list := g.reaches(); !g.drawn() || len(list) != 1 || list[0].name() != "Red" {
		t.Fatalf("reaches %+v", list)
	}
	if got, want := g.said(), "What was seen: Red reaches 50 % of the way from sRGB to Display P3 (25 % to 75 %). What the browser claims: colours of sRGB."; got != want {
		t.Errorf("said %q", got)
	}
	// Half way in u'v' between (0.4507, 0.5229) and (0.4964, 0.5255): 40 + 360/0.65 * 0.47356, 372 − 360/0.65 * 0.52428.
	x, y := sketch.along(g.reaches()[0], 0.5)
	if fx, _ := strconv.ParseFloat(x, 64); math.Abs(fx-302.3) > 0.15 {
		t.Errorf("x %s", x)
	}
	if fy, _ := strconv.ParseFloat(y, 64); math.Abs(fy-81.6) > 0.15 {
		t.Errorf("y %s", y)
	}
}

func TestTintPlot(t *testing.T) {
	p := func(level int, u, v, by float64) TintPoint {
		return TintPoint{level, u, u - by, u + by, v, v - by, v + by}
	}
	plot := TintPlot{Limit: 0.006, Points: []TintPoint{p(51, 0.003, 0.004, 0.001), p(128, -0.001, 0, 0.0005)}}
	if !plot.drawn() || plot.reach() != 0.008 {
		t.Fatalf("drawn %v, reach %v", plot.drawn(), plot.reach())
	}
	if got, want := plot.said(), "The greatest tint is at code 51, pinker and yellower than white by 0.0056 in u'v'. Allowed is 0.006, the dashed outline."; got != want {
		t.Errorf("said %q", got)
	}
	// The length of a tint is that of the move in u'v' for small steps of ln X and of −ln Z, which pages.size only reckons from both axes' shares.
	x0, z0 := d65.x/d65.y, (1-d65.x-d65.y)/d65.y
	uv := func(x, z float64) (u, v float64) { d := x + 15 + 3*z; return 4 * x / d, 9 / d }
	u0, v0 := uv(x0, z0)
	away := func(lnX, lnZ float64) float64 {
		u, v := uv(x0*math.Exp(lnX), z0*math.Exp(lnZ))
		return math.Hypot(u-u0, v-v0)
	}
	const e = 1e-5
	pink, yellow := away(e, 0)/e, away(0, -e)/e
	for _, w := range [][2]float64{{1, 0}, {0, 1}, {3, 4}, {3, -4}, {-2, 1}} {
		close(t, "a length", size(w[0]*pink, w[1]*yellow), away(w[0]*e, -w[1]*e)/e, 1e-3)
	}
	m := plot.marks()[0] // 220 + 140*3/8, 182 − 140*4/8
	if m.x != "272.5" || m.y != "112" || m.cross != "M255 112H290M272.5 129.5V94.5" {
		t.Errorf("mark %+v", m)
	}
	for way, q := range map[string]TintPoint{
		"pinker": p(1, 0.002, 0, 0), "greener": p(1, -0.002, 0.0005, 0), "yellower": p(1, 0, 0.002, 0), "bluer": p(1, 0, -0.002, 0),
		"greener and bluer": p(1, -0.002, -0.002, 0), "neutral": p(1, 0.0002, 0.0002, 0),
	} {
		if got := q.way(); got != way {
			t.Errorf("%+v is %q, want %q", q, got, way)
		}
	}
	for name, bad := range map[string]TintPlot{"zero": {}, "no number": {Points: []TintPoint{{U: math.NaN()}}}, "backward": {Points: []TintPoint{{ULo: 1, UHi: 0}}}} {
		if bad.drawn() {
			t.Errorf("%s: drawn", name)
		}
	}
	// Of many greys a few bear their code, the one with the greatest tint among them.
	many := TintPlot{Limit: 0.006}
	for level := 64; level < 255; level += 13 {
		many.Points = append(many.Points, p(level, 0.001, map[bool]float64{true: 0.003}[level == 64+7*13], 0.001))
	}
	bear, worst := 0, false
	for i, m := range many.marks() {
		if m.label != "" {
			bear++
			worst = worst || i == 7
		}
	}
	if bear != 5 || !worst || !strings.Contains(many.about(), "A few") || strings.Contains(plot.about(), "A few") {
		t.Errorf("%d of %d greys bear their code, the worst %v", bear, len(many.Points), worst)
	}
	// Labels of greys in one spot do not lie on each other.
	same := TintPlot{Limit: 0.006}
	for _, level := range []int{51, 102, 153, 204} {
		same.Points = append(same.Points, p(level, 0.0005, 0.0005, 0.001))
	}
	var centres [][2]float64 // of labels 27 wide and 14 high
	for _, m := range same.marks() {
		x, _ := strconv.ParseFloat(m.lx, 64)
		y, _ := strconv.ParseFloat(m.ly, 64)
		w := 9 * float64(len(m.label)) / 2
		x += map[string]float64{"start": w, "end": -w}[m.anchor]
		for _, c := range centres {
			if math.Abs(c[0]-x) < 18 && math.Abs(c[1]-y) < 13 {
				t.Errorf("label %s lies on another", m.label)
			}
		}
		centres = append(centres, [2]float64{x, y})
	}
}

func TestEvenMap(t *testing.T) {
	m := Example().Evenness
	if !m.drawn() || m.middle() != 4 || m.farthest() != 8 {
		t.Fatalf("drawn %v, middle %d, farthest %d", m.drawn(), m.middle(), m.farthest())
	}
	if got := m.said(); got != "Farthest from the middle: bottom right, 21 % darker than the middle (16 to 27). Allowed: 13 %." {
		t.Errorf("said %q", got)
	}
	var names []string
	for i := range m.Places {
		names = append(names, m.place(i))
	}
	if got := strings.Join(names, "; "); got != "top left; top; top right; left; middle; right; bottom left; bottom; bottom right" {
		t.Errorf("places %s", got)
	}
	five := even25()
	for i, want := range map[int]string{0: "top left", 1: "top, towards the left", 6: "towards the top left", 7: "towards the top", 9: "towards the top, right", 12: "middle", 24: "bottom right"} {
		if got := five.place(i); got != want {
			t.Errorf("place %d is %q, want %q", i, got, want)
		}
	}
	seen := map[string]bool{}
	for i := range five.Places {
		if seen[five.place(i)] {
			t.Errorf("two places are %q", five.place(i))
		}
		seen[five.place(i)] = true
	}
	// Text on every grey has a contrast of at least 4.5 to 1 (WCAG 2.2, 1.4.3), from black to white light.
	luminance := func(code int64) float64 {
		v := float64(code) / 255
		if v <= 0.04045 {
			return v / 12.92
		}
		return math.Pow((v+0.055)/1.055, 2.4)
	}
	for v := -60.0; v <= 60; v++ {
		c := EvenMap{Rows: 1, Cols: 1, Places: []EvenPlace{{v, v, v, false}}}.cells()[0]
		if !regexp.MustCompile(`^#(..)(..)(..)$`).MatchString(c.ground) || c.ground[1:3] != c.ground[3:5] || c.ground[3:5] != c.ground[5:7] {
			t.Fatalf("%s is no neutral", c.ground)
		}
		g, _ := strconv.ParseInt(c.ground[1:3], 16, 64)
		ink, _ := strconv.ParseInt(c.ink[1:3], 16, 64)
		a, b := luminance(g), luminance(ink)
		if ratio := (max(a, b) + 0.05) / (min(a, b) + 0.05); ratio < 4.5 {
			t.Errorf("%s on %s is %.2f to 1", c.ink, c.ground, ratio)
		}
	}
	for name, bad := range map[string]EvenMap{"zero": {}, "short": {Rows: 3, Cols: 3, Places: make([]EvenPlace, 8)}, "no number": {Rows: 1, Cols: 1, Places: []EvenPlace{{Per: math.Inf(1)}}}} {
		if bad.drawn() {
			t.Errorf("%s: drawn", name)
		}
	}
	if (EvenMap{Rows: 3, Cols: 3, Places: make([]EvenPlace, 9)}).farthest() != -1 {
		t.Error("a flat field has a farthest place")
	}
}

func TestSeenRange(t *testing.T) {
	for code, want := range map[float64]float64{0: 12, 16: 132, 32: 252, 223: 388, 239: 508, 255: 628, 300: 628, -5: 12} {
		close(t, "code "+strconv.Itoa(int(code)), bent(code), want, 1e-9)
	}
	for _, c := range []struct {
		s    SeenRange
		want string
	}{
		{SeenRange{14, 12.3, 15.9, 253, 251.8, 254}, "Codes 1 to 13 look black. The first that is seen is 14 (12.3 to 15.9). The last that parts from white is 253 (251.8 to 254). Code 254 looks white."},
		{SeenRange{1, 1, 1, 254, 254, 254}, "The first that is seen is 1 (1 to 1). The last that parts from white is 254 (254 to 254)."},
		{SeenRange{First: 1.4, FirstLo: 1, FirstHi: 2}, "Code 1 looks black. The first that is seen is 1.4 (1 to 2). The light end was not checked."},
		{SeenRange{Last: 235, LastLo: 234, LastHi: 236}, "The dark end was not checked. The last that parts from white is 235 (234 to 236). Codes 236 to 254 look white."},
	} {
		if !c.s.drawn() || c.s.said() != c.want {
			t.Errorf("%+v: drawn %v, said %q", c.s, c.s.drawn(), c.s.said())
		}
	}
	for name, bad := range map[string]SeenRange{"zero": {}, "no number": {First: math.NaN(), FirstHi: 3}, "backward": {First: 5, FirstLo: 6, FirstHi: 7}} {
		if bad.drawn() {
			t.Errorf("%s: drawn", name)
		}
	}
	last := -1.0
	for _, b := range Example().Seen.slabs() {
		x, _ := strconv.ParseFloat(b.x, 64)
		if x <= last {
			t.Fatalf("slab at %v after %v", x, last)
		}
		last = x
	}
}

func TestLineRow(t *testing.T) {
	if (Lines{}).scale().drawn() || (Lines{Difference: 9}).scale().drawn() {
		t.Error("lines without a limit are drawn")
	}
	l := Lines{Difference: -9.04, Lo: -12, Hi: -6.1, Limit: 8}
	if s := l.scale(); !s.drawn() || s.BandLo != -8 || s.Max != 16 {
		t.Errorf("scale %+v", s)
	}
	if got, want := l.said(), "Lines across look 9.0 % darker than lines upright (−12.0 to −6.1). Up to 8 % either way is allowed; beyond it tone is not judged."; got != want {
		t.Errorf("said %q", got)
	}
}

// A change is a word, and whatever is neither claims nothing.
func TestChange(t *testing.T) {
	for kind, want := range map[string]string{"same": "No change beyond the error bars", "moved": "Moved", "": "Cannot be compared", "Moved": "Cannot be compared"} {
		if got := (Change{Kind: kind}).word(); got != want {
			t.Errorf("%q is %q, want %q", kind, got, want)
		}
	}
	v := comparison()
	if !v.Aspects[0].drawn() || v.Aspects[1].drawn() {
		t.Error("scales are drawn where there are none, or not where there are")
	}
	v.Aspects[0].Earlier.Scale.Max++
	if v.Aspects[0].drawn() {
		t.Error("two axes are drawn as one")
	}
	if text := render(t, Compare(CompareView{})); strings.Contains(text, "Moved") || !strings.Contains(text, "Cannot be compared") {
		t.Error("an empty comparison claims something")
	}
}

// The zero value of every part of a report shows nothing of it.
func TestPartsOfAReport(t *testing.T) {
	zero := render(t, ReportBody(Report{}))
	r := Example()
	r.Record, r.More, r.Earlier = "{}", More{4, "Tone."}, []EarlierSitting{{"a", "today", "studio left"}}
	whole := render(t, ReportBody(r))
	for _, part := range []string{`id="faults"`, `data-action="more"`, `id="linerow"`, `id="tint"`, `id="seen"`, `id="evenness"`, `id="gamut"`, `id="vision"`, `data-action="compare"`, `data-action="compare-file"`, "Obvious differences"} {
		if strings.Contains(zero, part) || !strings.Contains(whole, part) {
			t.Errorf("%s: in an empty report %v, in a whole one %v", part, strings.Contains(zero, part), strings.Contains(whole, part))
		}
	}
	if strings.Index(whole, `id="faults"`) < strings.Index(whole, `id="purposes"`) || strings.Index(whole, `id="faults"`) > strings.Index(whole, `id="aspects"`) {
		t.Error("faults do not follow the purposes")
	}
	if strings.Contains(whole, "NaN") || strings.Contains(whole, "Inf") {
		t.Error("no number in a report")
	}
}

// Every kind of decision speaks of aspects that have a check, every aspect has one, and every figure says whose it is.
func TestMethod(t *testing.T) {
	var names []string
	for _, a := range Example().Aspects {
		names = append(names, a.Name)
	}
	checks := map[string]bool{}
	for i, c := range How().Checks {
		if i >= len(names) || c.Aspect != names[i] {
			t.Errorf("check %d is of %s", i, c.Aspect)
		}
		checks[c.Aspect] = true
		for _, s := range append([]string{c.Shown, c.Asked, c.Estimates, c.Formula, c.Precision, c.Fooled, c.Caution, c.Source}, c.Judgements[:]...) {
			if s == "" {
				t.Errorf("%s: something is left empty", c.Aspect)
			}
		}
	}
	if len(checks) != 8 || len(How().Uses) != 3 || len(How().Faults) == 0 {
		t.Fatalf("%d checks, %d uses, %d faults", len(checks), len(How().Uses), len(How().Faults))
	}
	for _, u := range How().Uses {
		for _, n := range u.Needs {
			if !checks[upper(n.Aspect)] || n.Quantity == "" || n.Allowed == "" {
				t.Errorf("%s: %+v", u.Name, n)
			}
			ours := strings.HasPrefix(n.Source, "ours: ") || n.Source == same
			if !ours && !regexp.MustCompile(`ISO|AAPM|ITU|IEC`).MatchString(n.Source) {
				t.Errorf("%s, %s: nobody's figure: %q", u.Name, n.Aspect, n.Source)
			}
		}
	}
	text := render(t, MethodPage(Site{}))
	for _, m := range regexp.MustCompile(`href="#([^"]+)"`).FindAllStringSubmatch(text, -1) {
		if !strings.Contains(text, `id="`+m[1]+`"`) {
			t.Errorf("nothing stands at #%s", m[1])
		}
	}
	for _, f := range How().Faults {
		if !strings.Contains(text, upper(f.Name)) {
			t.Errorf("%s is not on the page", f.Name)
		}
	}
}

// A comparison is heard with as many places as the axis has: a tint of 0.004 is not heard as none.
func TestComparedSaid(t *testing.T) {
	scale := func(at, lo, hi float64) ComparedEstimate {
		return ComparedEstimate{Scale: Scale{Max: 0.02, BandHi: 0.01, Lo: lo, At: at, Hi: hi, Unit: "u'v'"}}
	}
	a := ComparedAspect{Name: "Neutrals", Earlier: scale(0.004, 0.002, 0.006), Later: scale(0.0085, 0.007, 0.01)}
	if got, want := a.said(), "Neutrals: earlier 0.004 u'v', 90 % interval 0.002 to 0.006; later 0.0085 u'v', 90 % interval 0.007 to 0.01; allowed 0 to 0.01."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
