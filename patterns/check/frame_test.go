package check_test

import (
	"image"
	"image/color"
	"maps"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/plumb/patterns"
	"example.org/plumb/patterns/check"
)

// sizes of frames, in device pixels: the smallest, a phone held upright at two densities, a laptop, a wide desk screen, odd sides, and one laid out
// away from the origin.
var sizes = []image.Rectangle{
	image.Rect(0, 0, check.MinWidth, check.MinHeight),
	image.Rect(7, 11, 407, 511),
	image.Rect(0, 0, 601, 397),
	image.Rect(0, 0, 390, 844),
	image.Rect(0, 0, 1366, 768),
	image.Rect(0, 0, 2560, 720),
	image.Rect(0, 0, 1170, 2532),
}

// tasks is what there is to do.
var tasks = []check.Task{
	check.OddCell, check.Lighter, check.Set, check.Pinker, check.Yellower, check.OddQuadrant, check.Smoother, check.PlaceLighter, check.PlacePinker, check.PlaceYellow, check.Mark,
	check.RefPinker, check.RefYellower,
}

func grey(c uint8) color.RGBA { return color.RGBA{c, c, c, 255} }

// moved is a code moved by an offset.
func moved(c uint8, by int) uint8 { return uint8(min(max(int(c)+by, 0), 255)) }

// box is the smallest rectangle around all pixels that differ from the ground.
func box(dst *image.RGBA, ground uint8) image.Rectangle {
	var b image.Rectangle
	for y := dst.Rect.Min.Y; y < dst.Rect.Max.Y; y++ {
		row := dst.Pix[dst.PixOffset(dst.Rect.Min.X, y):]
		for x := range dst.Rect.Dx() {
			if row[4*x] != ground || row[4*x+1] != ground || row[4*x+2] != ground {
				b = b.Union(image.Rect(dst.Rect.Min.X+x, y, dst.Rect.Min.X+x+1, y+1))
			}
		}
	}
	return b
}

// uniform fails where a place has another colour, or is not painted.
func uniform(t *testing.T, dst *image.RGBA, r image.Rectangle, want color.RGBA) {
	t.Helper()
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if c := dst.RGBAAt(x, y); c != want {
				t.Fatalf("pixel %d,%d of %v is %v, want %v", x, y, dst.Rect, c, want)
			}
		}
	}
}

// What a presentation says of places is what the frame has there, of every task, on frames of all sizes: each choice points into the frame, what is asked about
// is painted there and nothing else anywhere; lines keep to a tenth of the frame and to 8 degrees.
func TestFramesAreWhatPresentationsSay(t *testing.T) {
	seen := map[check.Task]int{}
	for _, degree := range []float64{0, 20, 45, 160} {
		p := plan(check.Long, 21)
		p.Reference = check.Paper
		p.Degree = degree
		p.Fixed = true
		on := sizes
		if degree != 0 { // the rule on angles is the same everywhere
			p = only(p, check.Tone, check.Neutrals, check.Channels, check.Angle)
			p.Length = check.Short
			on = sizes[:2]
		} else if testing.Short() {
			on = sizes[:3]
		}
		s := begin(t, p)
		frames := map[image.Rectangle]*image.RGBA{}
		for _, size := range on {
			frames[size] = image.NewRGBA(size)
		}
		looked := map[check.Task]map[check.Kind]int{}
		v := newRule(21)
		small := image.NewRGBA(bounds)
		for !s.Over() {
			q := must(s.Present(bounds))
			if looked[q.Task] == nil {
				looked[q.Task] = map[check.Kind]int{}
			}
			looked[q.Task][q.Kind]++
			for i, size := range on {
				if i > 1 && looked[q.Task][q.Kind] > 2 || looked[q.Task][q.Kind] > 12 { // the large ones take long
					break
				}
				dst := frames[size]
				for k := range dst.Pix { // nothing of the last one may stay
					dst.Pix[k] = 1
				}
				p := must(s.Present(size))
				if p.Seq != q.Seq || p.Task != q.Task {
					t.Fatalf("%+v becomes %+v on another frame", q, p)
				}
				s.Frame(dst)
				fits(t, p, dst, check.Shown(s), degree)
				seen[q.Task]++
			}
			s.Frame(small)
			s.Press(v.key(q, small), clock, time.Second)
		}
	}
	for _, task := range tasks {
		if seen[task] < 4 {
			t.Errorf("%s was looked at %d times", task, seen[task])
		}
	}
	if len(seen) != len(tasks) {
		t.Errorf("%d tasks came up: %v", len(seen), slices.Sorted(maps.Keys(seen)))
	}
}

// fits compares a frame with what the presentation says of it and with the stimulus.
func fits(t *testing.T, p check.Presentation, dst *image.RGBA, m check.Stimulus, degree float64) {
	t.Helper()
	size := dst.Rect
	var at []image.Rectangle
	union := image.Rectangle{}
	for k, c := range p.Choices {
		if k == len(p.Choices)-1 && p.Kind != check.Setting {
			if c.Key != "Space" || !c.Rect.Empty() || c.Label == "" {
				t.Fatalf("%+v", p)
			}
			continue
		}
		if c.Rect.Empty() || !c.Rect.In(size) || c.Label == "" || c.Key == "" {
			t.Fatalf("%v %s: choice %+v", size, p.Task, c)
		}
		for _, o := range at {
			if o.Overlaps(c.Rect) && p.Task != check.Set {
				t.Fatalf("%v %s: choices overlap: %+v", size, p.Task, p.Choices)
			}
		}
		at, union = append(at, c.Rect), union.Union(c.Rect)
	}
	painted := box(dst, p.Ground)
	if m.Ground != p.Ground {
		t.Fatalf("ground %d, presented as %d", m.Ground, p.Ground)
	}
	for i := 3; i < len(dst.Pix); i += 4 {
		if dst.Pix[i] != 255 {
			t.Fatalf("%v %s: a pixel has not been painted", size, p.Task)
		}
	}
	if (p.Task == check.Mark) != p.Wide {
		t.Fatalf("%s: colours of Display P3 %v", p.Task, p.Wide)
	}
	inside := union
	switch p.Task {
	case check.PlaceLighter, check.PlacePinker, check.PlaceYellow:
		mid := at[0].Min.Add(at[0].Size().Div(2))
		if d := mid.Sub(size.Min.Add(size.Size().Div(2))); max(d.X, -d.X, d.Y, -d.Y) > 1 {
			t.Fatalf("%v: the middle is at %v", size, mid)
		}
		inside = patterns.FieldPlace(size, m.Grid, m.Grid, m.Place).Union(at[0])
		field(t, dst, at, m)
	case check.OddCell:
		if want := patterns.CellPatch(size, m.Cell); painted != want || !want.In(at[m.Cell]) {
			t.Fatalf("%v: patch at %v, cell %d is %v", size, painted, m.Cell, at[m.Cell])
		}
		uniform(t, dst, painted, grey(m.Patch))
	case check.OddQuadrant:
		for i, r := range at {
			want := m.Left
			if i == m.Cell {
				want = m.Patch
			}
			uniform(t, dst, r, grey(want))
		}
	case check.Smoother:
		rough, native := at[1], at[0]
		if m.PlainLeft {
			rough, native = native, rough
		}
		a, b := levels(t, dst, rough, m), levels(t, dst, native, m)
		if a >= b || b != int(m.B)-int(m.A)+1 && b != rough.Dx() {
			t.Fatalf("%v: %d levels of %d bits, %d of all, from %d to %d", size, a, m.Bits, b, m.A, m.B)
		}
	case check.Mark:
		for i, r := range at {
			base := dst.RGBAAt(r.Min.X, r.Min.Y)
			if i != m.Cell {
				uniform(t, dst, r, base)
			} else if mark := patterns.FoursMark(size, i); mark.Empty() || !mark.In(r) || dst.RGBAAt(mark.Min.X, mark.Min.Y) == base {
				t.Fatalf("%v: square %d has no mark", size, i)
			}
			if o := dst.RGBAAt(at[0].Min.X, at[0].Min.Y); o != base {
				t.Fatalf("%v: squares of %v and %v", size, o, base)
			}
		}
	case check.RefPinker, check.RefYellower:
		g := 255 - max(m.Red, m.Blue, 0)
		uniform(t, dst, union, color.RGBA{uint8(g + m.Red), uint8(g), uint8(g + m.Blue), 255})
		if painted != union {
			t.Fatalf("%v: white at %v, choices at %v", size, painted, union)
		}
	case check.Set:
		sides(t, dst, at[2], at[0], m, degree)
	default:
		left, right := at[0], at[1]
		if m.Of > 0 {
			if m.PlainLeft {
				left, right = right, left
			}
			sides(t, dst, left, right, m, degree)
			break
		}
		tint := color.RGBA{moved(m.Left, m.Red), m.Left, moved(m.Left, m.Blue), 255}
		if m.PlainLeft {
			uniform(t, dst, left, grey(m.Left))
			tint = color.RGBA{moved(m.Right, m.Red), m.Right, moved(m.Right, m.Blue), 255}
			uniform(t, dst, right, tint)
		} else {
			uniform(t, dst, left, tint)
			uniform(t, dst, right, grey(m.Right))
		}
	}
	if !painted.In(inside) || painted.Empty() && p.Task != check.PlaceLighter {
		t.Fatalf("%v %s: painted %v, choices cover %v", size, p.Task, painted, union)
	}
}

// levels is how many codes a ramp has; it rises from left to right and is the same in all rows.
func levels(t *testing.T, dst *image.RGBA, r image.Rectangle, m check.Stimulus) int {
	t.Helper()
	seen, last := 0, -1
	for x := r.Min.X; x < r.Max.X; x++ {
		c := dst.RGBAAt(x, r.Min.Y)
		uniform(t, dst, image.Rect(x, r.Min.Y, x+1, r.Max.Y), grey(c.G))
		if int(c.G) < last {
			t.Fatalf("a ramp from %d to %d falls to %d", m.A, m.B, c.G)
		}
		if int(c.G) > last {
			seen++
		}
		last = int(c.G)
	}
	return seen
}

// sides compares both sides of a line match, and the area of lines.
func sides(t *testing.T, dst *image.RGBA, lines, plain image.Rectangle, m check.Stimulus, degree float64) {
	t.Helper()
	one := func(c color.RGBA) color.RGBA {
		switch m.Channel {
		case 1:
			c.G, c.B = 0, 0
		case 2:
			c.R, c.B = 0, 0
		case 3:
			c.R, c.G = 0, 0
		}
		return c
	}
	uniform(t, dst, plain, one(color.RGBA{moved(m.Plain, m.Red), m.Plain, moved(m.Plain, m.Blue), 255}))
	lit := 0
	for y := lines.Min.Y; y < lines.Max.Y; y++ {
		for x := lines.Min.X; x < lines.Max.X; x++ {
			switch c := dst.RGBAAt(x, y); c {
			case one(grey(m.B)):
				lit++
			case one(grey(m.A)):
			default:
				t.Fatalf("%v: lines of %d and %d have %v", dst.Rect, m.A, m.B, c)
			}
			along := dst.RGBAAt(lines.Min.X, y) // the row's or column's first
			if m.Columns {
				along = dst.RGBAAt(x, lines.Min.Y)
			}
			if along != dst.RGBAAt(x, y) {
				t.Fatalf("%v: lines are crooked", dst.Rect)
			}
		}
	}
	if area := lines.Dx() * lines.Dy(); lit*m.Of != area*m.Lit {
		t.Fatalf("%v: %d of %d pixels are lit, want %d of %d", dst.Rect, lit, area, m.Lit, m.Of)
	}
	if 10*lines.Dx()*lines.Dy() > dst.Rect.Dx()*dst.Rect.Dy() || degree > 0 && float64(lines.Dx()) > 8*degree {
		t.Fatalf("%v at %g pixels to a degree: lines fill %v", dst.Rect, degree, lines)
	}
	middle, third := lines.Min.Y+lines.Dy()/2-dst.Rect.Min.Y, dst.Rect.Dy()/3
	if m.At < 0 && middle > third+third/2 || m.At > 0 && middle < 2*third-third/2 || m.At == 0 && (middle < third || middle > 2*third) {
		t.Fatalf("%v: lines for %d are at %v", dst.Rect, m.At, lines)
	}
}

// field compares the spot of a place, and the dots, with the stimulus: at the middle the ground is moved by what was asked for, or by as much as the frame has
// room for. The dot there is smaller than where the eye looks.
func field(t *testing.T, dst *image.RGBA, at []image.Rectangle, m check.Stimulus) {
	t.Helper()
	place := patterns.FieldPlace(dst.Rect, m.Grid, m.Grid, m.Place)
	if !at[1].In(place) || at[0].Size() != at[1].Size() && max(at[0].Dx()-at[1].Dx(), at[1].Dx()-at[0].Dx()) > 1 {
		t.Fatalf("%v: place %d is %v, the choice %v", dst.Rect, m.Place, place, at[1])
	}
	dot := grey(m.Ground - 24) // see patterns.Field
	for _, r := range at {
		if mid := r.Min.Add(r.Size().Div(2)); dst.RGBAAt(mid.X, mid.Y) != dot {
			t.Fatalf("%v: no dot in the middle of %v", dst.Rect, r)
		}
	}
	most := min(place.Dx(), place.Dy()) / 4
	cut := func(by int) int { return int(m.Ground) + min(max(by, -most), most) }
	want := [3]int{cut(m.Delta + m.Red), cut(m.Delta), cut(m.Delta + m.Blue)}
	var peak [3]int
	mid := at[1].Min.Add(at[1].Size().Div(2))
	x := mid.X
	for dst.RGBAAt(x, mid.Y) == dot { // beside the dot
		x--
	}
	c := dst.RGBAAt(x, mid.Y)
	peak = [3]int{int(c.R), int(c.G), int(c.B)}
	for i := range peak {
		if d := peak[i] - want[i]; d > 1 || d < -1 {
			t.Fatalf("%v: place %d has %v beside its dot, want %v", dst.Rect, m.Place, peak, want)
		}
	}
}

// Known distance leaves out lines that are coarser than 8 to a degree, in every check that has lines.
func TestCoarseLines(t *testing.T) {
	for _, c := range []struct {
		degree float64
		most   int
	}{{0, 8}, {160, 8}, {45, 5}, {25, 3}, {17, 2}} {
		p := only(plan(check.Long, 22), check.Tone, check.Neutrals, check.Channels, check.Angle)
		p.Degree = c.degree
		widest := map[check.Aspect]int{}
		s := begin(t, p)
		sit(t, s, newRule(22).key, nil)
		for _, j := range s.Log() {
			widest[j.Check] = max(widest[j.Check], j.Stimulus.Of)
		}
		if len(widest) != 4 {
			t.Errorf("only %v have lines", widest)
		}
		for a, w := range widest {
			if w < 2 || w > c.most {
				t.Errorf("%s at %g pixels to a degree: a line in %d", a, c.degree, w)
			}
		}
	}
}

// Nothing that goes out with a presentation tells the right answer: question, choices and ground are the same whatever the stimulus is. Of what lies open
// none is an answer: which side is plain where it is to be set, the axis or the channel that is asked about, whether a match is at the top or at the
// bottom, and which place is compared with the middle.
func TestPresentationsGiveNoHint(t *testing.T) {
	type kind struct {
		a    check.Aspect
		k    check.Kind
		task check.Task
		at   int
	}
	words := map[kind]check.Presentation{}
	stimuli := map[kind]map[check.Stimulus]bool{}
	for seed := range uint64(4) {
		plan := plan(check.Long, seed)
		plan.Reference = check.Paper
		if seed > 0 {
			plan.Skip = map[check.Aspect]string{check.Tone: "takes long"}
		}
		s := begin(t, plan)
		sit(t, s, newRule(seed).key, func(p check.Presentation, _ *image.RGBA) {
			m := check.Shown(s)
			m.Plain = 0 // of a setting it moves
			p.Seq, p.Done, p.Left, p.Total, p.First, p.Back = 0, 0, 0, 0, false, false
			p.Choices = slices.Clone(p.Choices)
			switch {
			case p.Kind == check.Setting:
				for c := range p.Choices {
					p.Choices[c].Rect = image.Rectangle{}
				}
			case p.Check == check.Evenness:
				if n := m.Grid; p.Choices[1].Label != placeLabel(n, m.Place) || p.Choices[1].Rect != patterns.FieldSpot(bounds, n, n, m.Place) {
					t.Fatalf("place %d of %d by %d is %+v", m.Place, n, n, p.Choices[1])
				}
				p.Choices[1].Label, p.Choices[1].Rect = "", image.Rectangle{}
			}
			at := kind{p.Check, p.Kind, p.Task, m.At}
			if want, ok := words[at]; ok && !reflect.DeepEqual(p, want) {
				t.Fatalf("%v: %+v, and for another stimulus %+v", at, p, want)
			}
			words[at] = p
			if stimuli[at] == nil {
				stimuli[at] = map[check.Stimulus]bool{}
			}
			stimuli[at][m] = true
		})
	}
	kinds, asked := map[[2]string]bool{}, map[check.Task]bool{}
	for at := range words {
		kinds[[2]string{string(at.a), string(at.k)}], asked[at.task] = true, true
	}
	for _, a := range all() {
		if a != check.Handling && !(kinds[[2]string{string(a), string(check.Trial)}] && kinds[[2]string{string(a), string(check.Catch)}]) {
			t.Errorf("no trials and catch trials of %s", a)
		}
	}
	if len(kinds) < 30 || len(asked) != len(tasks) {
		t.Errorf("%d kinds of presentation and %d tasks: %v", len(kinds), len(asked), kinds)
	}
	for at, m := range stimuli {
		if len(m) < 2 && at.k == check.Trial {
			t.Errorf("%v: only %d stimuli", at, len(m))
		}
	}
	// Trials and catch trials of a check do not differ either, but for their kind.
	for at, p := range words {
		if at.k != check.Catch {
			continue
		}
		trial := at
		trial.k = check.Trial
		if q := words[trial]; p.Question != q.Question || !reflect.DeepEqual(p.Choices, q.Choices) || p.Ground != q.Ground || p.Wide != q.Wide {
			t.Errorf("%v: %+v, trials have %+v", at, p, q)
		}
	}
	for i := range reflect.TypeFor[check.Presentation]().NumField() {
		switch name := reflect.TypeFor[check.Presentation]().Field(i).Name; name {
		case "Seq", "Check", "Kind", "Question", "Choices", "First", "Ground", "Done", "Total", "Left":
		case "Task": // says what is asked, as the question does
		case "Wide": // one for all of a check
		case "Back": // tells of what came before
		default:
			t.Errorf("a presentation has %s, and nobody has thought about whether that is a hint", name)
		}
	}
	for at, p := range words {
		for _, c := range p.Choices {
			if strings.ContainsAny(c.Label+p.Question, "0123456789") {
				t.Errorf("%v: %q, %q", at, p.Question, c.Label)
			}
		}
	}
}

// placeLabel is a place in words.
func placeLabel(n, place int) string {
	return strings.TrimPrefix(check.PlaceName(n, place), "place in ")
}

// Within a check the surround never changes and only small fields do: no jump of the whole field. The mean light, on an sRGB screen, moves by at most
// a tenth of white, with two exceptions: where both sides of a match of grey, a tenth of the frame each, change at once from dark to light; and, on a frame that is nearly
// square, where the field of white or the squares of strong green appear. On a frame of 16 by 9 these keep to a tenth.
func TestNoJumpOfTheWholeField(t *testing.T) {
	levels := make([]float64, 256)
	for c := range levels {
		levels[c] = math.Pow(float64(c)/255, 2.2)
	}
	mean := func(dst *image.RGBA) float64 {
		total := 0.0
		for i := 0; i < len(dst.Pix); i += 4 {
			total += 0.2126*levels[dst.Pix[i]] + 0.7152*levels[dst.Pix[i+1]] + 0.0722*levels[dst.Pix[i+2]] // ITU-R BT.709
		}
		return total / float64(len(dst.Pix)/4)
	}
	for _, size := range []image.Rectangle{bounds, image.Rect(0, 0, 640, 360)} {
		jump, changed := map[check.Aspect]float64{}, map[check.Aspect]float64{}
		p := plan(check.Long, 23)
		p.Reference = check.Paper
		s := begin(t, p)
		var last check.Presentation
		was := 0.0
		rest, dst := image.NewRGBA(size), image.NewRGBA(size)
		sit(t, s, newRule(23).key, func(p check.Presentation, _ *image.RGBA) {
			s.Rest(rest)
			uniform(t, rest, size, grey(p.Ground))
			s.Frame(dst)
			n := 0
			for i := 0; i < len(dst.Pix); i += 4 {
				if dst.Pix[i] != p.Ground || dst.Pix[i+1] != p.Ground || dst.Pix[i+2] != p.Ground {
					n++
				}
			}
			changed[p.Check] = max(changed[p.Check], float64(4*n)/float64(len(dst.Pix)))
			now := mean(dst)
			jump[p.Check] = max(jump[p.Check], math.Abs(now-mean(rest)))
			if last.Check == p.Check {
				if p.Ground != last.Ground {
					t.Fatalf("%s: surround %d after %d", p.Check, p.Ground, last.Ground)
				}
				jump[p.Check] = max(jump[p.Check], math.Abs(now-was))
			}
			last, was = p, now
		})
		if len(jump) != 10 {
			t.Fatalf("%v", jump)
		}
		for a, j := range jump {
			t.Logf("%v %s: mean light moves by %.3f of white at most, %.0f %% of the frame is not the surround", size, a, j, 100*changed[a])
			most, share := 0.1, 0.2
			switch a {
			case check.Shadows:
				most = 0.01
			case check.Highlights:
				most = 0.06
			case check.Tone, check.Neutrals:
				most = 0.15
			case check.White, check.ColourRange:
				if size == bounds {
					most = 0.15
				}
			case check.Smoothness: // dark greys beside each other
				share = 0.56
			}
			if j == 0 || j > most || changed[a] > share {
				t.Errorf("%v %s: the mean light moves by %.3f of white, %.0f %% of the frame change", size, a, j, 100*changed[a])
			}
		}
	}
}

// Cells are drawn evenly, for trials and for obvious differences alike.
func TestCellsAreEven(t *testing.T) {
	type of struct {
		a check.Aspect
		k check.Kind
	}
	counts, n := map[of][]int{}, map[of]int{}
	for seed := range uint64(50) {
		p := only(plan(check.Long, seed), check.Shadows, check.Smoothness, check.ColourRange)
		p.Fixed = true
		s := begin(t, p)
		for !s.Over() {
			s.Press("Space", clock, time.Second)
		}
		for _, j := range s.Log() {
			if j.Stimulus.Bits > 0 { // ramps
				continue
			}
			at := of{j.Check, j.Kind}
			if counts[at] == nil {
				counts[at] = make([]int, map[bool]int{true: 9, false: 4}[j.Check == check.Shadows])
			}
			counts[at][j.Stimulus.Cell]++
			n[at]++
		}
	}
	if len(counts) != 9 {
		t.Fatalf("%v", counts)
	}
	for at, c := range counts {
		chi, most := 0.0, 26.1 // chi-squared, 0.1 %, of 8 degrees of freedom
		if len(c) == 4 {
			most = 16.3 // of 3
		}
		for _, v := range c {
			want := float64(n[at]) / float64(len(c))
			chi += (float64(v) - want) * (float64(v) - want) / want
		}
		if n[at] < 50 || chi > most {
			t.Errorf("%v: %v, chi-squared %.1f", at, c, chi)
		}
	}
}
