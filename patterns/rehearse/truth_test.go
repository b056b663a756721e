package main

import (
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/testdata"
)

// The first code that differs from black by one, two or four steps of the GSDF, over whites, contrasts, rooms and curves. first goes on between codes,
// so the table's code is the next whole one. Blacks under 0.054 cd/m² lie where the GSDF begins: the table has a step of 0.0048 cd/m² there, the
// derivative of the standard's equation is 0.0054 and falls to 0.0046 within a step, and codes may differ by one.
func TestFirstVisibleCodes(t *testing.T) {
	f, err := testdata.FS.Open("screens/visible.csv")
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	curves := map[string]display.Tone{
		"gamma2.2": {Curve: display.Gamma, Gamma: 2.2}, "gamma2.4": {Curve: display.Gamma, Gamma: 2.4}, "sRGB": {Curve: display.SRGB},
	}
	checked := 0
	for _, row := range rows[1:] {
		number := func(i int) float64 {
			v, err := strconv.ParseFloat(row[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		d := display.Default()
		d.White.Luminance = number(0)
		d.Black = number(0) / number(1)
		d.Room = display.Room{Lux: number(2) * math.Pi / 0.01, Reflectance: 0.01}
		d.Tone = []display.Tone{curves[row[3]]}
		m := d.Model()
		for i, k := range []float64{1, 2, 4} {
			at := first(&m, observer.Kind{Threshold: k}, 0, 1)
			slack := 0.0
			if d.Black+m.Veil() < 0.054 {
				slack = 1
			} else {
				checked++
			}
			if got, want := math.Ceil(at-1e-9), number(4+i); math.Abs(got-want) > slack {
				t.Errorf("%v at %g steps: code %g (%.3f), want %g", row, k, got, at, want)
			}
		}
	}
	if checked < 450 {
		t.Fatalf("only %d codes were checked", checked)
	}
}

// On a screen whose light is proportional to the code, the first visible code is the threshold over the light of a code, between codes too.
func TestFirstIsLinearBetweenCodes(t *testing.T) {
	d := display.Default()
	d.Tone = []display.Tone{{Curve: display.Gamma, Gamma: 1}}
	m := d.Model()
	for _, k := range []float64{3, 50, 260} {
		kind := observer.Kind{Threshold: k}
		want := max(observer.Threshold(kind, m.Grey(0))*255/(160-0.16), 1) // there is no code before the first
		if got := first(&m, kind, 0, 1); !near(got, want, 1e-9) {
			t.Errorf("threshold %g: code %.6f, want %.6f", k, got, want)
		}
	}
}

// Ends of the scale on screens that lose them.
func TestFirstBeyondCrushAndClip(t *testing.T) {
	expert, _ := observer.KindByName("expert")
	d := display.Default()
	d.Crush, d.Clip = 20, 230
	m := d.Model()
	if at := first(&m, expert, 0, 1); at <= 20 || at > 21 {
		t.Errorf("crushed up to 20, the first visible code is %.3f", at)
	}
	if at := first(&m, expert, 255, -1); at <= 25 || at > 26 {
		t.Errorf("clipped from 230, the first visible step is %.3f", at)
	}
	if a, b := plateau(&m, 0, 1), plateau(&m, 255, -1); a != 20 || b != 25 {
		t.Errorf("plateaus of %d and %d steps, want 20 and 25", a, b)
	}
	d.Crush, d.Clip = 0, 255
	whole := d.Model()
	if a, b := plateau(&whole, 0, 1), plateau(&whole, 255, -1); a != 0 || b != 0 {
		t.Errorf("plateaus of %d and %d steps on a whole screen", a, b)
	}
	d.Crush = 254
	black := d.Model()
	if at := first(&black, observer.Kind{Threshold: 100}, 0, 1); at != 200 {
		t.Errorf("on a screen without light the first visible code is %g", at)
	}
	// The reference tells of 16 or 17 where a full signal is taken for limited.
	limited := display.Default()
	limited.Range = display.FullAsLimited
	l := limited.Model()
	if p := plateau(&l, 0, 1); p != 16 {
		t.Errorf("a full signal taken for limited loses %d codes", p)
	}
}

// Truths of screens that are plain to see.
func TestKnown(t *testing.T) {
	plan := check.Plan{Length: check.Standard, Aim: screen.Aims[0].ID}
	typical, _ := observer.KindByName("typical")
	tone := func(gamma, s float64) []display.Tone {
		return []display.Tone{{Curve: display.Gamma, Gamma: gamma, S: s}}
	}
	for _, c := range []struct {
		name                         string
		change                       func(d *display.Description)
		shadows, highlights, toneful report.Verdict
	}{
		{"ordinary", func(d *display.Description) {}, report.Holds, report.Holds, report.Holds},
		{"crushed", func(d *display.Description) { d.Crush = 30 }, report.Off, report.Holds, report.Holds},
		{"clipped", func(d *display.Description) { d.Clip = 225 }, report.Holds, report.Off, report.Holds},
		{"dark", func(d *display.Description) { d.Tone = tone(2.6, 0) }, report.Holds, report.Holds, report.Off},
		{"bright", func(d *display.Description) { d.Tone = tone(1.8, 0) }, report.Holds, report.Holds, report.Off},
		{"bent", func(d *display.Description) { d.Tone = tone(2.2, 0.09) }, report.Off, report.Holds, report.Off},
		{"sunlit", func(d *display.Description) { d.Room = display.Room{Lux: 20000, Reflectance: 0.03} }, report.Off, report.Holds, report.Holds}, // near white a veil adds little
		{"of few bits", func(d *display.Description) { d.Bits = 7 }, report.Holds, report.Holds, report.Holds},
		{"mixed up", func(d *display.Description) { d.Range = display.FullAsLimited }, report.Off, report.Off, report.Off},
	} {
		d := display.Default()
		c.change(&d)
		k := known(d, typical, plan)
		for a, want := range map[check.Aspect]report.Verdict{check.Shadows: c.shadows, check.Highlights: c.highlights, check.Tone: c.toneful} {
			if k.verdicts[a] != want {
				t.Errorf("%s: %s %s, want %s; %v", c.name, a, k.verdicts[a], want, k.quantities)
			}
		}
		light := report.Holds
		if c.shadows == report.Off || c.highlights == report.Off || c.toneful == report.Off {
			light = report.Off
		}
		colours := light
		if d.Bits < 8 {
			colours = report.Off
		}
		if k.uses[check.Light] != light || k.uses[check.Colour] != colours {
			t.Errorf("%s: purposes %v", c.name, k.uses)
		}
		if k.score < 0 || k.score > 100+1e-9 || c.name == "ordinary" && k.score < 99.999 || c.name == "bright" && k.score > 60 {
			t.Errorf("%s: score %.2f", c.name, k.score)
		}
	}
	k := known(display.Default(), typical, plan)
	if g := k.quantities[screen.Gamma]; !near(g, 2.2, 0.002) { // linear between codes
		t.Errorf("gamma %g", g)
	}
	if k.rms(k.lightness[:]) != 0 {
		t.Error("a curve departs from itself")
	}
	other := append([]float64(nil), k.lightness[:]...)
	for i := range other {
		other[i] += 3
	}
	if r := k.rms(other); !near(r, 3, 1e-12) {
		t.Errorf("3 L* off everywhere is an rms error of %g", r)
	}
}

// Truths of the new quantities, by arithmetic of their own.
func TestKnownColours(t *testing.T) {
	typical, _ := observer.KindByName("typical")
	plan := check.Plan{Length: check.Standard, Aim: "usual"}
	// Tint: of channels with gammas of their own, in u'v' of CIE 15:2018 with the primaries of IEC 61966-2-1. A dark room, and no black to speak of.
	d := display.Default()
	d.Room.Lux, d.Black = 0, 1e-6
	gammas := [3]float64{2.3, 2.2, 2.05}
	d.Tone = nil
	for _, g := range gammas {
		d.Tone = append(d.Tone, display.Tone{Curve: display.Gamma, Gamma: g})
	}
	uv := func(r, g, b float64) (u, v float64) {
		x, y, z := 0.4124*r+0.3576*g+0.1805*b, 0.2126*r+0.7152*g+0.0722*b, 0.0193*r+0.1192*g+0.9505*b
		n := x + 15*y + 3*z
		return 4 * x / n, 9 * y / n
	}
	u0, v0 := uv(1, 1, 1)
	worst := 0.0
	for c := range 256 {
		if level := float64(c) * 20 / 255; math.Abs(level-math.Round(level)) > 0.04 || math.Round(level)/20 < screen.TintFrom {
			continue // levels are those of screen.Steps, rounded to codes
		}
		s := float64(c) / 255
		u, v := uv(math.Pow(s, gammas[0]), math.Pow(s, gammas[1]), math.Pow(s, gammas[2]))
		worst = max(worst, math.Hypot(u-u0, v-v0))
	}
	k := known(d, typical, plan)
	if got := k.quantities[screen.GreyTint]; math.Abs(got/worst-1) > 0.03 || worst < 0.01 {
		t.Errorf("a tint of %.5f, by arithmetic %.5f", got, worst)
	}
	// Along the axes it is the logarithms of X/Y and of Y/Z in the units of u'v'.
	for i, v := range []float64{0.25, 0.5, 0.75} {
		at := int(v*(screen.Steps-1) + 0.5)
		s := math.Round(255*v) / 255
		r, g, b := math.Pow(s, gammas[0]), math.Pow(s, gammas[1]), math.Pow(s, gammas[2])
		log := func(x, y float64) float64 { return math.Log(x / y) }
		x, y, z := (0.4124*r+0.3576*g+0.1805*b)/0.9505, 0.2126*r+0.7152*g+0.0722*b, (0.0193*r+0.1192*g+0.9505*b)/1.0890
		want := [2]float64{0.1894 * log(x, y), 0.0864 * log(y, z)}
		for axis := range want {
			if got := k.greys[at][axis]; math.Abs(got-want[axis]) > 0.02*math.Abs(want[axis])+2e-5 {
				t.Errorf("level %d, axis %d: %.5f, by arithmetic %.5f", i, axis, got, want[axis])
			}
		}
	}
	if n := known(display.Default(), typical, plan); n.quantities[screen.GreyTint] > 1e-3 || n.verdicts[check.Neutrals] != report.Holds || k.verdicts[check.Neutrals] != report.Off {
		t.Errorf("a neutral screen has a tint of %g (%s), a tinted one is %s", n.quantities[screen.GreyTint], n.verdicts[check.Neutrals], k.verdicts[check.Neutrals])
	}
	// Black and glare that are no white of the screen's own make no difference to the axes' zero: white has no tint.
	if g := k.greys[screen.Steps-1]; math.Abs(g[0]) > 1e-12 || math.Abs(g[1]) > 1e-12 {
		t.Errorf("white has a tint of %v", g)
	}
	// Of the levels that are judged the errors are squared and averaged over both axes.
	n := &check.NeutralsResult{}
	for i := range screen.Steps - 1 {
		if screen.Signal(i) < screen.TintFrom {
			continue
		}
		l := check.TintLevel{Signal: screen.Signal(i)}
		for axis := range l.Tint {
			l.Tint[axis] = psychophysics.NewEstimate([]float64{k.greys[i][axis] + 0.003 + 0.001*float64(axis)}, []float64{1})
		}
		n.Levels = append(n.Levels, l)
	}
	if got, want := k.tinted(n), math.Sqrt((9e-6+16e-6)/2); !near(got, want, 1e-9) {
		t.Errorf("an error of tint of %g, want %g", got, want)
	}

	// Evenness: the places' middles, at 3 by 3 and at 5 by 5, of a field that is linear between its own 5 by 5 from edge to edge.
	d = display.Default()
	d.Room.Lux, d.Black = 0, 1e-6
	d.Evenness = nil
	for i := range 5 {
		var row []float64
		for j := range 5 {
			row = append(row, 1-0.04*float64((i-2)*(i-2))-0.05*float64(j)) // of corners and sides
		}
		d.Evenness = append(d.Evenness, row)
	}
	for _, c := range []struct {
		l    check.Length
		grid int
	}{{check.Short, 3}, {check.Standard, 3}, {check.Long, 5}} {
		at := func(k int, of func(i int) float64) float64 { // linear between the five
			x := 4 * (float64(k) + 0.5) / float64(c.grid)
			lo := min(int(x), 3)
			return of(lo) + (x-float64(lo))*(of(lo+1)-of(lo))
		}
		worst := 0.0
		light := func(i, j int) float64 {
			return 1 - at(i, func(i int) float64 { return 0.04 * float64((i-2)*(i-2)) }) - at(j, func(j int) float64 { return 0.05 * float64(j) })
		}
		for i := range c.grid {
			for j := range c.grid {
				worst = max(worst, math.Abs(math.Log(light(i, j)/light(c.grid/2, c.grid/2))))
			}
		}
		plan.Length = c.l
		if got := known(d, typical, plan).quantities[screen.Unevenness]; !near(got, worst, 2e-3) || worst < 0.1 {
			t.Errorf("%s: an unevenness of %.4f, by arithmetic %.4f", c.l, got, worst)
		}
	}
	// Errors of places are squared and averaged, the middle left out.
	plan.Length = check.Standard
	k = known(d, typical, plan)
	var e check.EvennessResult
	for i, v := range k.places {
		if i != 4 {
			v += 0.02
		}
		e.Places = append(e.Places, psychophysics.NewEstimate([]float64{v}, []float64{1}))
	}
	if got := k.uneven(&e); len(e.Places) != 9 || !near(got, 0.02, 1e-9) {
		t.Errorf("an error of %d places of %g, want 0.02", len(e.Places), got)
	}

	// Depth and reach are as described; of more than 8 bits none is told.
	for _, bits := range []int{6, 7, 8, 10} {
		d := display.Default()
		d.Bits = bits
		if d.Validate() != nil {
			t.Fatalf("%d bits: %v", bits, d.Validate())
		}
		k := known(d, typical, plan)
		if got := k.quantities[screen.Bits]; got != float64(min(bits, 8)) || (k.verdicts[check.Smoothness] == report.Holds) != (bits >= 8) {
			t.Errorf("%d bits are %g, smoothness %s", bits, got, k.verdicts[check.Smoothness])
		}
	}
	for _, c := range []struct {
		primaries string
		managed   bool
		want      float64
	}{{"srgb", true, 0}, {"p3", true, 1}, {"p3", false, 0}} {
		d := display.Default()
		d.Primaries.Name, d.Managed = c.primaries, c.managed
		wide := plan
		wide.Aim = "wide"
		k, w := known(d, typical, plan), known(d, typical, wide)
		if got := k.quantities[screen.Reach]; got != c.want || k.verdicts[check.ColourRange] != report.NotChecked {
			t.Errorf("%+v: reach %g, %s under the usual aim", c, got, k.verdicts[check.ColourRange])
		}
		if (w.uses[check.Colour] == report.Holds) != (c.want == 1) || (w.verdicts[check.ColourRange] == report.Holds) != (c.want == 1) {
			t.Errorf("%+v: colour %s, range %s under the wide aim", c, w.uses[check.Colour], w.verdicts[check.ColourRange])
		}
		if handling := k.verdicts[check.Handling]; (handling == report.Holds) != c.managed || (k.uses[check.Colour] == report.Holds) != c.managed || k.uses[check.Light] != report.Holds {
			t.Errorf("%+v: handling %s, purposes %v", c, handling, k.uses)
		}
	}
}

// A margin is the greatest of a purpose's quantities over their tolerances: above 1 exactly where the purpose is off.
func TestMarginsOfPurposes(t *testing.T) {
	typical, _ := observer.KindByName("typical")
	off := 0
	for seed := range uint64(60) {
		plan := check.Plan{Length: check.Standard, Aim: "usual"}
		if seed%3 == 0 {
			plan.Aim = "wide"
		}
		k := known(draw(rand.New(rand.NewPCG(seed, 1))), typical, plan)
		for use := range check.Uses {
			if (k.uses[use] == report.Off) != (k.margins[use] > 1) {
				t.Errorf("seed %d: %s is %s at a margin of %g", seed, short[use], k.uses[use], k.margins[use])
			}
			if k.uses[use] == report.Off {
				off++
			}
		}
		if k.margins[check.Layout] > k.margins[check.Light]+1e-12 || k.margins[check.Light] > k.margins[check.Colour]+1e-12 {
			t.Errorf("seed %d: margins %v", seed, k.margins)
		}
	}
	if off < 40 {
		t.Errorf("only %d purposes are off", off)
	}
}

// Each single fault is there at twice its tolerance, or as it comes, and all else is well within.
func TestSingleFaults(t *testing.T) {
	typical, _ := observer.KindByName("typical")
	plan := check.Plan{Length: check.Standard, Aim: "usual"}
	aim, _ := screen.AimByID(plan.Aim)
	// Quantities that a fault moves beside its own: what loses the ends of the scale bends the tone, a bend of tone moves what shows next to black.
	moves := map[string][]screen.Quantity{
		"none": nil, report.NoProfiles: nil,
		report.RangeSqueezed: {screen.FirstVisible, screen.FirstBelow, screen.ToneMargin}, report.RangeLifted: {screen.ToneMargin, screen.FirstVisible, screen.FirstBelow},
		report.LostShadows: {screen.FirstVisible}, report.LostLights: {screen.FirstBelow},
		report.TooDark: {screen.ToneMargin, screen.FirstVisible}, report.TooLight: {screen.ToneMargin, screen.FirstVisible}, report.Contrast: {screen.ToneMargin, screen.FirstVisible, screen.FirstBelow},
		report.TintedGreys: {screen.GreyTint}, report.CoarseSteps: {screen.Bits, screen.FirstVisible, screen.FirstBelow}, report.UnevenScreen: {screen.Unevenness},
	}
	if len(moves) != len(single) {
		t.Errorf("%d faults are looked at, there are %d", len(moves), len(single))
	}
	for name, f := range single {
		may, ok := moves[name]
		if !ok {
			t.Errorf("%s is not looked at", name)
		}
		for seed := range uint64(3) {
			d := singly(name, seed, typical, plan)
			if again := singly(name, seed, typical, plan); fmt.Sprint(again) != fmt.Sprint(d) {
				t.Errorf("%s, seed %d: two screens", name, seed)
			}
			k := known(d, typical, plan)
			off := 0
			for _, n := range check.Needs(check.Colour, aim) {
				m := over(k.quantities[n.Quantity], n)
				if m > 1 {
					off++
				}
				switch {
				case f.most > 0 && n.Quantity == f.quantity:
					if !near(m, 2, 1e-4) {
						t.Errorf("%s, seed %d: %s at %g times its tolerance", name, seed, n.Quantity, m)
					}
				case !slices.Contains(may, n.Quantity) && m > sound+1e-9:
					t.Errorf("%s, seed %d: %s at %g times its tolerance", name, seed, n.Quantity, m)
				}
			}
			switch name {
			case "none":
				if off > 0 || k.margins[check.Colour] > sound || k.uses[check.Colour] != report.Holds {
					t.Errorf("%s, seed %d: %v", name, seed, k.quantities)
				}
			case report.NoProfiles:
				if off > 0 || k.verdicts[check.Handling] != report.Off || k.uses[check.Colour] != report.Off {
					t.Errorf("%s, seed %d: %v", name, seed, k.quantities)
				}
			default:
				if off == 0 || k.verdicts[check.Handling] != report.Holds {
					t.Errorf("%s, seed %d: nothing is off: %v", name, seed, k.quantities)
				}
			}
		}
	}
}

// Half of the mixture is within the tolerances, every screen can be, and the same seed is the same screen.
func TestMixture(t *testing.T) {
	typical, _ := observer.KindByName("typical")
	good, n := 0, 120
	plan := check.Plan{Length: check.Standard, Aim: "usual"}
	names := map[string]bool{}
	for seed := range n {
		d := random(uint64(seed), typical, plan)
		if err := d.Validate(); err != nil {
			t.Fatal(err)
		}
		if again := random(uint64(seed), typical, plan); again.Tone[1].Gamma != d.Tone[1].Gamma || again.White != d.White || again.Crush != d.Crush {
			t.Fatalf("seed %d makes two screens", seed)
		}
		names[d.Name] = true
		if known(d, typical, plan).uses[check.Colour] == report.Holds {
			good++
		}
	}
	if good < 41 || good > 79 { // binomial, 3.5 SD
		t.Errorf("%d of %d screens are within the tolerances", good, n)
	}
	if len(names) != n {
		t.Errorf("%d names for %d screens", len(names), n)
	}
}
