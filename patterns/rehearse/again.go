package main

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"text/tabwriter"
	"time"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
)

// againText documents -again for -help.
const againText = `With -again each random screen is looked at week by week, and report.Watch is asked after every sitting. Six sittings at a screen that stays as it is: by one viewer,
and by another one after the first. Then sittings of one viewer before a drift and two after it: gamma grows by 0.15 in all channels; red and blue run away from green
until a grey's tint has moved by 0.010 in u'v'; a quarter of the screen's width and height at a corner loses 15 % of its light; 8 codes more are crushed.
The room's light varies by a fifth (SD) from sitting to sitting; another viewer has lines and tints of his own, and thresholds that differ by a quarter (SD).`

// A drift is what happens to a screen between two sittings.
type drift struct {
	name   string
	aspect check.Aspect // that shows it
	give   func(d *display.Description, r *rand.Rand)
}

// drifts are those of the promise.
var drifts = []drift{
	{"gamma +0.15", check.Tone, func(d *display.Description, _ *rand.Rand) {
		for i := range d.Tone {
			raise(&d.Tone[i], 0.15)
		}
	}},
	{"tint 0.010", check.Neutrals, func(d *display.Description, r *rand.Rand) {
		way := 2 * math.Pi * r.Float64()
		old := d.Model()
		lo, hi := 0.0, 1.0
		for range 30 {
			x := given(*d, turned(way), (lo+hi)/2)
			if x.Validate() == nil && apart(old, x.Model()) < 0.010 {
				lo = (lo + hi) / 2
			} else {
				hi = (lo + hi) / 2
			}
		}
		*d = given(*d, turned(way), lo)
	}},
	{"corner -15 %", check.Evenness, func(d *display.Description, r *rand.Rand) {
		top, left := 3*r.IntN(2), 3*r.IntN(2)
		for i := range 2 {
			for j := range 2 {
				d.Evenness[top+i][left+j] *= 0.85
			}
		}
	}},
	{"8 codes crushed", check.Shadows, func(d *display.Description, _ *rand.Rand) { d.Crush += 8 }},
}

// raise bends a channel's curve to a higher exponent.
func raise(t *display.Tone, by float64) {
	if t.Curve != display.Samples {
		t.Gamma += by
		return
	}
	const usual = 2.2 // exponent that samples are taken for
	t.Samples = slices.Clone(t.Samples)
	for i, y := range t.Samples {
		t.Samples[i] = math.Pow(y, 1+by/usual)
	}
}

// turned makes red and blue run away from green.
func turned(way float64) func(d *display.Description, strength float64) {
	return func(d *display.Description, strength float64) {
		raise(&d.Tone[0], strength*math.Cos(way))
		raise(&d.Tone[2], strength*math.Sin(way))
	}
}

// apart is the greatest distance between the tints of a grey on two screens, u'v'.
func apart(a, b display.Model) float64 {
	worst := 0.0
	for i := range screen.Steps {
		if v := screen.Signal(i); v >= screen.TintFrom {
			pa, ya := hues(&a, v)
			pb, yb := hues(&b, v)
			worst = max(worst, math.Hypot(pa-pb, ya-yb))
		}
	}
	return worst
}

// A watch is what became of the series of one kind.
type watch struct {
	name    string
	series  int
	flagged int                  // with any flag at any sitting; of drifts, at the second after
	right   int                  // of drifts: with one of the aspect that drifted
	inside  int                  // of those, with the true move inside the interval
	by      map[check.Aspect]int // which flags
}

func (w *watch) note(moved []report.Course) {
	seen := map[check.Aspect]bool{}
	for _, c := range moved {
		seen[c.Aspect] = true
	}
	if w.series++; len(seen) > 0 {
		w.flagged++
	}
	for a := range seen {
		w.by[a]++
	}
}

// before are how many sittings there are before a drift.
var before = []int{2, 4}

// again looks at n random screens week by week. What it returns is in a fixed order: unchanged screens, then drifts.
func again(n int, seed uint64, kind observer.Kind, plan check.Plan) (still, drifted []watch) {
	kinds := func() ([]watch, []watch) {
		var s, d []watch
		for _, name := range []string{"the same viewer", "another viewer, named", "another viewer, unnamed"} {
			s = append(s, watch{name: name, by: map[check.Aspect]int{}})
		}
		for _, x := range drifts {
			for _, k := range before {
				d = append(d, watch{name: fmt.Sprintf("%s after %d", x.name, k), by: map[check.Aspect]int{}})
			}
		}
		return s, d
	}
	type pair struct{ still, drifted []watch }
	all := make([]pair, n)
	each(n, func(i int) {
		s, d := kinds()
		weeks(seed+uint64(i), kind, plan, s, d)
		all[i] = pair{s, d}
	})
	still, drifted = kinds()
	add := func(to, from []watch) {
		for i, f := range from {
			w := &to[i]
			w.series, w.flagged, w.right, w.inside = w.series+f.series, w.flagged+f.flagged, w.right+f.right, w.inside+f.inside
			for a, k := range f.by {
				w.by[a] += k
			}
		}
	}
	for _, p := range all {
		add(still, p.still)
		add(drifted, p.drifted)
	}
	return still, drifted
}

// weeks looks at one random screen.
func weeks(seed uint64, kind observer.Kind, plan check.Plan, still, drifted []watch) {
	d := random(seed, kind, plan)
	r := rand.New(rand.NewPCG(seed, 0x7765656b73))
	look := func(d display.Description, kind observer.Kind, person uint64) report.Record {
		plan := plan
		plan.Seed = r.Uint64N(1 << 53)
		d.Room.Lux *= math.Exp(0.2 * r.NormFloat64())
		m := d.Model()
		v := observer.Again(kind, &m, rand.New(rand.NewPCG(seed, person)), rand.New(rand.NewPCG(plan.Seed, 0x766965776572)))
		_, rec := attend(d, v, plan, nil)
		return rec
	}
	const sittings = 6
	var same, other []report.Record
	for len(same) < sittings {
		same = append(same, look(d, kind, 1))
	}
	stranger := kind
	stranger.Threshold *= math.Exp(0.25 * r.NormFloat64())
	other = append(other, same[0])
	for len(other) < sittings {
		other = append(other, look(d, stranger, 2))
	}
	for i, list := range [][]report.Record{weekly(same), weekly(other, "Ines", "Tomas"), weekly(other)} {
		still[i].note(ever(list))
	}
	was := known(d, kind, plan)
	for i, x := range drifts {
		moved := given(d, func(d *display.Description, _ float64) { x.give(d, r) }, 0)
		if moved.Validate() != nil {
			continue // such as more codes crushed than there are below the clip
		}
		is := known(moved, kind, plan)
		after := []report.Record{look(moved, kind, 1), look(moved, kind, 1)}
		for k, n := range before {
			w := &drifted[i*len(before)+k]
			flags := flagged(weekly(slices.Concat(same[:n], after)))
			w.note(flags)
			at := slices.IndexFunc(flags, func(c report.Course) bool { return c.Aspect == x.aspect })
			if at < 0 {
				continue
			}
			w.right++
			c := flags[at]
			if by := is.of(c) - was.of(c); c.Lo <= by && by <= c.Hi {
				w.inside++
			}
		}
	}
}

// of is the true figure of a course.
func (t truth) of(c report.Course) float64 {
	switch {
	case c.Aspect == check.Shadows:
		return t.quantities[screen.FirstVisible]
	case c.Aspect == check.Tone:
		return t.quantities[screen.Gamma]
	case c.Aspect == check.Neutrals && c.Part == "":
		return t.quantities[screen.GreyTint]
	case c.Aspect == check.Neutrals:
		axis := map[string]int{"pinker": 0, "yellower": 1}[c.Part]
		return t.greys[int(screen.TintFrom*(screen.Steps-1))][axis]
	case c.Aspect == check.Evenness && c.Part == "":
		return t.quantities[screen.Unevenness]
	case c.Aspect == check.Evenness:
		grid := int(math.Sqrt(float64(len(t.places))))
		for i, light := range t.places {
			if check.PlaceName(grid, i) == c.Part {
				return light
			}
		}
	}
	panic("rehearse: internal error: no truth of " + string(c.Aspect) + " " + c.Part)
}

// weekly returns records as of sittings a week apart; the first of names is the first viewer's, the second that of all others.
func weekly(list []report.Record, names ...string) []report.Record {
	list = slices.Clone(list)
	for i := range list {
		list[i].Conditions.Ended = start.Add(time.Duration(i) * 7 * 24 * time.Hour).UnixMilli()
		if len(names) > 0 {
			list[i].Conditions.Viewer = names[min(i, 1)]
		}
	}
	return list
}

// flagged are the courses that moved.
func flagged(list []report.Record) []report.Course {
	return slices.DeleteFunc(report.Watch(list, 0), func(c report.Course) bool { return !c.Moved })
}

// ever are the first flags that somebody sees who asks after every sitting.
func ever(list []report.Record) []report.Course {
	for n := range list {
		if f := flagged(list[:n+1]); len(f) > 0 {
			return f
		}
	}
	return nil
}

// printAgain writes the table.
func printAgain(out io.Writer, n int, kind observer.Kind, length string, still, drifted []watch) error {
	b := bufio.NewWriter(out)
	fmt.Fprintf(b, "%d random screens, %s sittings, %s viewers, a week between two. Shares with their 95 %% intervals.\n\n", n, length, kind.Name)
	w := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	rate := func(count, of int) string {
		s := newShare(count, of)
		return fmt.Sprintf("%d of %d\t%.1f %%\t%.1f to %.1f", count, of, s.Rate, s.Lo, s.Hi)
	}
	flags := func(x watch) string {
		text := ""
		for _, a := range slices.Concat(check.Aspects, check.Extras) {
			if k := x.by[a]; k > 0 {
				text += fmt.Sprintf(" %s %d", a, k)
			}
		}
		return text
	}
	fmt.Fprintf(w, "Unchanged, asked after each of six\tflagged\tshare\t\tflags\n")
	for _, x := range still {
		fmt.Fprintf(w, "  %s\t%s\t%s\n", x.name, rate(x.flagged, x.series), flags(x))
	}
	fmt.Fprintf(w, "\nDrift, at the second sitting after it\tflagged\tshare\t\tin its aspect\tmove in the interval\tflags\n")
	for _, x := range drifted {
		fmt.Fprintf(w, "  %s\t%s\t%d\t%d\t%s\n", x.name, rate(x.flagged, x.series), x.right, x.inside, flags(x))
	}
	if err := w.Flush(); err != nil {
		return fmt.Errorf("rehearse: %w", err)
	}
	if err := b.Flush(); err != nil {
		return fmt.Errorf("rehearse: %w", err)
	}
	return nil
}
