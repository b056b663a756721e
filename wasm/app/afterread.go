package app

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/plumb/colour"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/pages"
)

// sets are the sets of tolerances in words, the strictest first.
var sets = []struct{ id, name, about string }{
	{study.SetIndistinguishable, "Can't be told apart", "side by side with its aim"},
	{study.SetProof, "Good to judge colour by", "for retouching and approving"},
	{study.SetOrdinary, "Looked after", "for layout, and for looking"},
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
		return "patch " + name
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
		return "the aims in their own file"
	case study.HeldProfile:
		return "the profile"
	}
	return r.AimName
}

// readingsView is readings as the page says them.
func readingsView(l *laid) pages.ReadingsView {
	r := l.readings()
	if r == nil {
		return pages.ReadingsView{}
	}
	v := pages.ReadingsView{Name: l.name, Unaimed: r.Unaimed, Notes: r.Notes, Told: append([]string{fileSaid(r)}, r.Units...)}
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
	s := fmt.Sprintf("%s, %d patches: %s", r.Kind, r.Patches, map[string]string{
		"small": "a small set, which finds what is wrong", "medium": "a medium set, which tells how wrong it is", "large": "a large set, which tells where it is wrong",
	}[r.Size])
	if a := against(r); a != "" {
		s += fmt.Sprintf(". %d of them were held against %s", r.Compared, a)
	}
	return s + "."
}

// fewPatches is how many patches must be compared before it is said of a screen that it is good enough: about the steps of grey and the primaries of the smallest usual sets. Ours.
const fewPatches = 18

// readingsLead is what readings say in a sentence, and its verdict.
func readingsLead(r *study.Readings) (lead, verdict string) {
	all, ok := group(r, "all patches")
	if !ok {
		if r.Light != nil && r.Light.Luminance > 0 {
			return "There is nothing to hold the patches against; of white and black see below.", ""
		}
		return "There is nothing to hold the patches against.", ""
	}
	s := by(all, mainFormula)
	figures := fmt.Sprintf("ΔE00 is %s on average and %s at most, over %d patches held against %s.", fixed(s.Mean, 2), fixed(s.Largest, 2), all.Patches, against(r))
	// Few patches claim little.
	if all.Patches < fewPatches {
		switch r.Best {
		case study.SetIndistinguishable, study.SetProof:
			return fmt.Sprintf("What was read is near its aim, but %d patches are too few to say that of all colours. ", all.Patches) + figures, "unsure"
		}
	}
	switch r.Best {
	case study.SetIndistinguishable:
		return "When it was read, nobody could have told this screen from its aim side by side: " + figures, "holds"
	case study.SetProof:
		return "When it was read, this screen was good enough to judge colour by: " + figures, "holds"
	case study.SetOrdinary:
		return "When it was read, this was a screen that is looked after, but not one to judge colour by: " + figures, "off"
	}
	return "When it was read, this screen was too far from its aim to judge by: " + figures, "off"
}

func groupRows(r *study.Readings) (rows []pages.GroupRow, older pages.Table) {
	older = pages.Table{Label: "By the older formulas", Head: pages.Cells("Patches", "Formula", "Best", "Average", "95 of 100 within", "Largest")}
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
				older.Rows = append(older.Rows, pages.Cells(capital(g.Group), s.Formula, fixed(s.Best, 2), fixed(s.Mean, 2), fixed(s.P95, 2), fixed(s.Largest, 2)))
				continue
			}
			rows = append(rows, pages.GroupRow{
				Name: capital(g.Group), Patches: g.Patches, Best: fixed(s.Best, 2), Mean: fixed(s.Mean, 2), P95: fixed(s.P95, 2), Largest: fixed(s.Largest, 2), Worst: patch(s.Worst),
				AtBest: s.Best, AtMean: s.Mean, AtP95: s.P95, AtWorst: s.Largest, Axis: max(1.04*most, 1.2*tolerance), Tolerance: tolerance,
			})
		}
	}
	return rows, older
}

// judgedWords are the quantities of a verdict in words, and how their values are written.
var judgedWords = []struct {
	what, name string
	figure     func(float64) string
}{
	{"average ΔE00", "All patches, average", hundredths},
	{"95th percentile of ΔE00", "All patches, 95 of 100 within", hundredths},
	{"largest ΔE00", "All patches, largest", hundredths},
	{"average ΔE00 of greys", "Greys, average", hundredths},
	{"luminance of white, departure", "Brightness of white, off by", func(x float64) string { return fixed(100*x, 1) + " %" }},
	{"white, distance in u', v'", "Colour of white, off by in u'v'", func(x float64) string { return fixed(x, 4) }},
}

func hundredths(x float64) string { return fixed(x, 2) }

func judgedRows(r *study.Readings) pages.Table {
	t := pages.Table{Label: "Tolerances", Head: pages.Cells("What", "Found")}
	known := false
	for _, s := range sets {
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
	for _, w := range judgedWords {
		row := pages.Cells(w.name, "not known")
		for _, s := range sets {
			for _, j := range r.Verdicts {
				if j.Set != s.id || j.What != w.what {
					continue
				}
				c := pages.Cell{Text: "not judged"}
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
	bright := fixed(l.Luminance, 0) + " cd/m²"
	if l.AimLuminance > 0 {
		bright += fmt.Sprintf(" for an aim of %s: %s %%", fixed(l.AimLuminance, 0), plus(100*(l.Luminance/l.AimLuminance-1), 1))
	}
	off := ""
	if l.AimWhite != nil {
		off = fixed(l.Off, 4) + " in u'v'"
		if l.HasKelvin {
			off += ", " + plus(l.Kelvin, 0) + " K"
		}
	}
	return facts{
		{l.Luminance > 0, "Brightness of white", bright, ""},
		{l.White != nil, "Colour of white", whiteWords(l.White), ""},
		{off != "", "Off its aim by", off, ""},
		{l.Luminance > 0 && l.Contrast > 0, "Black", fixed(l.Black, 3) + " cd/m²", ""},
		{l.Contrast > 0, "Contrast", fixed(l.Contrast, 0) + " to 1", ""},
	}.known()
}

func worstRow(w study.Worst) pages.WorstRow {
	lab := func(c colour.Lab) string { return fixed(c.L, 1) + ", " + fixed(c.A, 1) + ", " + fixed(c.B, 1) }
	hex := func(c [3]uint8) string { return fmt.Sprintf("#%02x%02x%02x", c[0], c[1], c[2]) }
	return pages.WorstRow{Name: capital(patch(w.Name)), By: joined(", ", "ΔE00 "+fixed(w.By, 2), when(w.Device != "", "codes "+w.Device)), Way: labWay(w.Aim, w.Measured), AimLab: lab(w.Aim), MeasuredLab: lab(w.Measured), Aim: hex(w.Shown[0]), Measured: hex(w.Shown[1])}
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
	say(got.L-aim.L, "lighter", "darker")
	da, db := got.A-aim.A, got.B-aim.B
	c := math.Hypot(aim.A, aim.B)
	if c < 10 { // of a grey chroma says nothing: its tint does
		say(da, "redder", "greener")
		say(db, "yellower", "bluer")
	} else {
		say(math.Hypot(got.A, got.B)-c, "more colourful", "paler")
		along := (aim.A*db - aim.B*da) / c // along the circle of hue, from red by way of yellow
		if math.Abs(along) > least {
			// The name that the turn has here: of two neighbours the one that lies this way.
			list = append(list, "turned towards "+turned(math.Atan2(aim.B, aim.A)*180/math.Pi, along > 0))
		}
	}
	if len(list) == 0 {
		return "by less than half a unit each way"
	}
	return strings.Join(list, ", ")
}

// turned is the hue that lies next on the circle of a*, b* from an angle in degrees, up or down.
func turned(angle float64, up bool) string {
	names := [...]string{"red", "yellow", "green", "blue"} // at 0, 90, 180 and 270 degrees
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
	v := pages.RepeatView{Said: fmt.Sprintf("Read again, the same patches differ by ΔE00 %s on average and %s at most.", fixed(between.Mean, 2), fixed(between.Largest, 2))}
	switch {
	case r.Aim == "":
	case p.Noise > 0.5:
		v.Said += " More than half of what the first reading is off by is noise of reading, so nothing finer can be said of this screen with this instrument."
	case p.Noise > 0.1:
		v.Said += fmt.Sprintf(" About %s of what the first reading is off by is noise of reading.", percentage(p.Noise))
	default:
		v.Said += " Hardly any of what the first reading is off by is noise: it is the screen."
	}
	moved := ""
	if n := len(p.Moved); n > 0 && r.Aim != "" {
		moved = fixed(p.Moved[n-1], 2) + " in ΔE00"
	}
	v.Facts = facts{
		{true, "Patches in both", strconv.Itoa(p.Patches), ""},
		{moved != "", "The average moved by", moved, ""},
		{p.Luminance != 0, "Brightness of white", plus(100*p.Luminance, 1) + " %", ""},
		{p.White > 0, "Colour of white", fixed(p.White, 4) + " in u'v'", ""},
	}.known()
	return v
}
