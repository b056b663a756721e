package app

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/plumb/colour"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// sets are the sets of tolerances in words, the strictest first.
func sets() []struct{ id, name, about string } {
	return []struct{ id, name, about string }{
		{study.SetIndistinguishable, words.Say("Can't be told apart"), words.Say("side by side with its aim")},
		{study.SetProof, words.Say("Good to judge colour by"), words.Say("for retouching and approving")},
		{study.SetOrdinary, words.Say("Looked after"), words.Say("for layout, and for looking")},
	}
}

// mainFormula is the one of the differences that is shown first.
const mainFormula = "ΔE00"

// by is a group's summary by a formula; the zero Summary where there is none.
func by(g study.GroupSummary, formula string) study.Summary {
	for _, s := range g.By {
		if s.Formula == formula {
			return s
		}
	}
	return study.Summary{}
}

// patch is the name of a patch in words: most files have numbers alone.
func patch(name string) string {
	if strings.Trim(name, "0123456789") == "" && name != "" {
		return words.Say("patch %s", name)
	}
	return seen(name)
}

// group is a group of readings, by its name; false where there is none.
func group(r *study.Readings, name string) (study.GroupSummary, bool) {
	for _, g := range r.Groups {
		if g.Group == name {
			return g, true
		}
	}
	return study.GroupSummary{}, false
}

// judgedBy is what a set of tolerances says of a quantity; "" where it is not judged.
func judgedBy(r *study.Readings, set, what string) (verdict string) {
	for _, j := range r.Verdicts {
		if j.Set == set && j.What == what {
			return resultVerdict(j.Result)
		}
	}
	return ""
}

func resultVerdict(result string) string {
	switch result {
	case study.ResultOn:
		return "holds"
	case study.ResultOff:
		return "off"
	}
	return ""
}

// against is what readings were held against, in words.
func against(r *study.Readings) string {
	switch r.Aim {
	case "":
		return ""
	case study.HeldColumns:
		return words.Say("the aims in their own file")
	case study.HeldProfile:
		return words.Say("the profile")
	}
	return r.AimName
}

// readingsView is readings as the page says them.
func readingsView(l *laid) pages.ReadingsView {
	r := l.readings()
	if r == nil {
		return pages.ReadingsView{}
	}
	v := pages.ReadingsView{Name: l.name, Unaimed: words.Found(r.Unaimed), Notes: foundAll(r.Notes), Told: append([]string{fileSaid(r)}, foundAll(r.Units)...)}
	v.Lead, v.Verdict = readingsLead(r)
	v.Groups, v.Older = groupRows(r)
	v.Judged = judgedRows(r)
	v.Light = lightFacts(r.Light)
	for _, w := range r.Worst {
		v.Worst = append(v.Worst, worstRow(w))
	}
	v.Repeat = repeatView(r)
	return v
}

func fileSaid(r *study.Readings) string {
	s := ""
	switch kind := words.Found(r.Kind); r.Size {
	case "small":
		s = words.Say("%s, %d patches: a small set, which finds what is wrong.", kind, r.Patches)
	case "medium":
		s = words.Say("%s, %d patches: a medium set, which tells how wrong it is.", kind, r.Patches)
	default:
		s = words.Say("%s, %d patches: a large set, which tells where it is wrong.", kind, r.Patches)
	}
	if a := against(r); a != "" {
		s += " " + words.Say("%d of them were held against %s.", r.Compared, a)
	}
	return s
}

// fewPatches is how many patches must be compared before it is said of a screen that it is good enough: about the steps of grey and the primaries of the smallest usual sets. Ours.
const fewPatches = 18

// readingsLead is what readings say in a sentence, and its verdict.
func readingsLead(r *study.Readings) (lead, verdict string) {
	all, ok := group(r, "all patches")
	if !ok {
		if r.Light != nil && r.Light.Luminance > 0 {
			return words.Say("There is nothing to hold the patches against; of white and black see below."), ""
		}
		return words.Say("There is nothing to hold the patches against."), ""
	}
	s := by(all, mainFormula)
	figures := words.Say("ΔE00 is %s on average and %s at most, over %d patches held against %s.", fixed(s.Mean, 2), fixed(s.Largest, 2), all.Patches, against(r))
	// Few patches claim little.
	if all.Patches < fewPatches {
		switch r.Best {
		case study.SetIndistinguishable, study.SetProof:
			return words.Say("What was read is near its aim, but %d patches are too few to say that of all colours.", all.Patches) + " " + figures, "unsure"
		}
	}
	switch r.Best {
	case study.SetIndistinguishable:
		return words.Say("When it was read, nobody could have told this screen from its aim side by side: %s", figures), "holds"
	case study.SetProof:
		return words.Say("When it was read, this screen was good enough to judge colour by: %s", figures), "holds"
	case study.SetOrdinary:
		return words.Say("When it was read, this was a screen that is looked after, but not one to judge colour by: %s", figures), "off"
	}
	return words.Say("When it was read, this screen was too far from its aim to judge by: %s", figures), "off"
}

func groupRows(r *study.Readings) (rows []pages.GroupRow, older pages.Table) {
	older = pages.Table{Label: words.Say("By the older formulas"), Head: pages.Cells(words.Say("Patches"), words.Say("Formula"), words.Say("Best"), words.Say("Average"), words.Say("95 of 100 within"), words.Say("Largest"))}
	tolerance, most := 0.0, 0.0
	for _, j := range r.Verdicts {
		if j.Set == study.SetProof && j.What == "largest ΔE00" {
			tolerance = j.Tolerance
		}
	}
	for _, g := range r.Groups {
		most = max(most, by(g, mainFormula).Largest)
	}
	for _, g := range r.Groups {
		for _, s := range g.By {
			if s.Formula != mainFormula {
				older.Rows = append(older.Rows, pages.Cells(titled(g.Group), s.Formula, fixed(s.Best, 2), fixed(s.Mean, 2), fixed(s.P95, 2), fixed(s.Largest, 2)))
				continue
			}
			rows = append(rows, pages.GroupRow{
				Name: titled(g.Group), Patches: g.Patches, Best: fixed(s.Best, 2), Mean: fixed(s.Mean, 2), P95: fixed(s.P95, 2), Largest: fixed(s.Largest, 2), Worst: patch(s.Worst),
				AtBest: s.Best, AtMean: s.Mean, AtP95: s.P95, AtWorst: s.Largest, Axis: max(1.04*most, 1.2*tolerance), Tolerance: tolerance,
			})
		}
	}
	return rows, older
}

// A judgedQuantity is a quantity of a verdict in words, and how its values are written.
type judgedQuantity struct {
	what, name string
	figure     func(float64) string
}

func judgedWords() []judgedQuantity {
	return []judgedQuantity{
		{"average ΔE00", words.Say("All patches, average"), hundredths},
		{"95th percentile of ΔE00", words.Say("All patches, 95 of 100 within"), hundredths},
		{"largest ΔE00", words.Say("All patches, largest"), hundredths},
		{"average ΔE00 of greys", words.Say("Greys, average"), hundredths},
		{"luminance of white, departure", words.Say("Brightness of white, off by"), func(x float64) string { return fixed(100*x, 1) + " %" }},
		{"white, distance in u', v'", words.Say("Colour of white, off by in u'v'"), func(x float64) string { return fixed(x, 4) }},
	}
}

func hundredths(x float64) string { return fixed(x, 2) }

func judgedRows(r *study.Readings) pages.Table {
	t := pages.Table{Label: words.Say("Tolerances"), Head: pages.Cells(words.Say("What"), words.As("Found", "a column of figures"))}
	known := false
	for _, s := range sets() {
		h := pages.Cell{Text: s.name, More: s.about}
		for _, j := range r.Verdicts {
			if v := resultVerdict(j.Result); j.Set == s.id && (v == "off" || v == "holds" && h.Verdict == "") {
				h.Verdict, known = v, true
			}
		}
		t.Head = append(t.Head, h)
	}
	if !known {
		return pages.Table{}
	}
	for _, w := range judgedWords() {
		row := pages.Cells(w.name, words.Say("not known"))
		for _, s := range sets() {
			for _, j := range r.Verdicts {
				if j.Set != s.id || j.What != w.what {
					continue
				}
				c := pages.Cell{Text: words.Say("not judged")}
				if j.Result != study.ResultNot {
					row[1].Text = w.figure(j.Value)
					c = pages.Cell{Text: w.figure(j.Tolerance), Verdict: resultVerdict(j.Result)}
				}
				row = append(row, c)
			}
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func lightFacts(l *study.Light) []pages.Fact {
	if l == nil {
		return nil
	}
	bright := words.Say("%s cd/m²", fixed(l.Luminance, 0))
	if l.AimLuminance > 0 {
		bright = words.Say("%s cd/m² for an aim of %s: %s %%", fixed(l.Luminance, 0), fixed(l.AimLuminance, 0), plus(100*(l.Luminance/l.AimLuminance-1), 1))
	}
	off := ""
	if l.AimWhite != nil {
		off = words.Say("%s in u'v'", fixed(l.Off, 4))
		if l.HasKelvin {
			off += ", " + plus(l.Kelvin, 0) + " K"
		}
	}
	return facts{
		{l.Luminance > 0, words.Say("Brightness of white"), bright, ""},
		{l.White != nil, words.Say("Colour of white"), whiteWords(l.White), ""},
		{off != "", words.Say("Off its aim by"), off, ""},
		{l.Luminance > 0 && l.Contrast > 0, words.Say("Black"), fixed(l.Black, 3) + " cd/m²", ""},
		{l.Contrast > 0, words.Say("Contrast"), words.Say("%s to 1", fixed(l.Contrast, 0)), ""},
	}.known()
}

func worstRow(w study.Worst) pages.WorstRow {
	lab := func(c colour.Lab) string { return abreast(fixed(c.L, 1), fixed(c.A, 1), fixed(c.B, 1)) }
	hex := func(c [3]uint8) string { return fmt.Sprintf("#%02x%02x%02x", c[0], c[1], c[2]) }
	return pages.WorstRow{Name: capital(patch(w.Name)), By: joined(", ", "ΔE00 "+fixed(w.By, 2), when(w.Device != "", words.Say("codes %s", w.Device))), Way: labWay(w.Aim, w.Measured), AimLab: lab(w.Aim), MeasuredLab: lab(w.Measured), Aim: hex(w.Shown[0]), Measured: hex(w.Shown[1])}
}

// labWay is how a colour differs from its aim, in words: what is more than half a unit of L*, C*ab or along its hue.
func labWay(aim, got colour.Lab) string {
	const least = 0.5
	var list []string
	say := func(d float64, more, less string) {
		switch {
		case d > least:
			list = append(list, more)
		case d < -least:
			list = append(list, less)
		}
	}
	say(got.L-aim.L, words.Say("lighter"), words.Say("darker"))
	da, db := got.A-aim.A, got.B-aim.B
	c := math.Hypot(aim.A, aim.B)
	if c < 10 { // of a grey chroma says nothing: its tint does
		say(da, words.Say("redder"), words.Say("greener"))
		say(db, words.Say("yellower"), words.Say("bluer"))
	} else {
		say(math.Hypot(got.A, got.B)-c, words.Say("more colourful"), words.Say("paler"))
		along := (aim.A*db - aim.B*da) / c // along the circle of hue, from red by way of yellow
		if math.Abs(along) > least {
			// The name that the turn has here: of two neighbours the one that lies this way.
			list = append(list, words.Say("turned towards %s", turned(math.Atan2(aim.B, aim.A)*180/math.Pi, along > 0)))
		}
	}
	if len(list) == 0 {
		return words.Say("by less than half a unit each way")
	}
	return strings.Join(list, ", ")
}

// turned is the hue that lies next on the circle of a*, b* from an angle in degrees, up or down.
func turned(angle float64, up bool) string {
	names := [...]string{words.Say("red"), words.Say("yellow"), words.Say("green"), words.Say("blue")} // at 0, 90, 180 and 270 degrees
	a := math.Mod(angle+360, 360) / 90
	quarter := int(math.Ceil(a)) + 3
	if up {
		quarter = int(math.Floor(a)) + 1
	}
	return names[quarter%4]
}

func repeatView(r *study.Readings) pages.RepeatView {
	p := r.Repeat
	if p == nil {
		return pages.RepeatView{}
	}
	between := by(study.GroupSummary{By: p.Between}, mainFormula)
	v := pages.RepeatView{Said: words.Say("Read again, the same patches differ by ΔE00 %s on average and %s at most.", fixed(between.Mean, 2), fixed(between.Largest, 2))}
	switch {
	case r.Aim == "":
	case p.Noise > 0.5:
		v.Said += " " + words.Say("More than half of what the first reading is off by is noise of reading, so nothing finer can be said of this screen with this instrument.")
	case p.Noise > 0.1:
		v.Said += " " + words.Say("About %s of what the first reading is off by is noise of reading.", percentage(p.Noise))
	default:
		v.Said += " " + words.Say("Hardly any of what the first reading is off by is noise: it is the screen.")
	}
	moved := ""
	if n := len(p.Moved); n > 0 && r.Aim != "" {
		moved = words.Say("%s in ΔE00", fixed(p.Moved[n-1], 2))
	}
	v.Facts = facts{
		{true, words.Say("Patches in both"), strconv.Itoa(p.Patches), ""},
		{moved != "", words.Say("The average moved by"), moved, ""},
		{p.Luminance != 0, words.Say("Brightness of white"), plus(100*p.Luminance, 1) + " %", ""},
		{p.White > 0, words.Say("Colour of white"), words.Say("%s in u'v'", fixed(p.White, 4)), ""},
	}.known()
	return v
}
