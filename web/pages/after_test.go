package pages

import (
	"math"
	"strings"
	"testing"

	"github.com/a-h/templ"
)

func init() {
	for name, c := range map[string]templ.Component{
		"after":       AfterPage(AfterAims{Luminance: "140"}),
		"papers":      PaperRows([]PaperRow{{ID: "1", Name: "studio left.icc", Kind: "Profile", Text: []string{"studio left, 20 November"}, Buttons: []Button{{Action: "remove", ID: "1", Label: "Take it away"}}}, {ID: "2", Name: "cut.txt", Kind: "Not taken", Text: []string{"Line 4.", "Mend it."}, Refused: true}, {ID: "3", Name: "big.csv", State: Reading}}),
		"papers-kept": KeptPapers([]Item{{Title: "Studio left", Text: []string{"Last: a profile."}, Buttons: []Button{{Action: "recall", ID: "0", Label: "Lay it down again"}}}}),
		"heard":       HeardOf(hearing()),
		"promise":     PromiseOf(promise()),
		"promise-few": PromiseOf(PromiseView{Name: "grey", Lead: "A grey one."}),
		"readings":    ReadingsOf(readings()),
		"readings-no": ReadingsOf(ReadingsView{Name: "a.csv", Lead: "Nothing to hold it against.", Unaimed: "No aims."}),
		"correction":  CorrectionOf(CorrectionLine{Word: "Not loaded", Verdict: "off", Profile: "studio left", Seen: "Greys are lighter.", Figure: "loaded 1 %", Cause: "Nothing loads it.", Remedy: "Load it.", Link: "/after?screen=studio+left"}),
		"carry-after": AfterCalibrating(Site{Look: "/l.css", After: "/a.css", Program: "/p.wasm"}),
	} {
		golden[name] = c
	}
}

func hearing() Heard {
	return Heard{
		Title: "Studio left", When: "Profile of 20 November 2026", Lead: "They do not agree on correction.", Wants: []string{"Say the unit."}, Ways: []Button{{Action: "eye", Label: "Check by eye", Main: true}, {Action: "print", Label: "Print"}},
		Rows: []HeardRow{
			{Name: "Correction", Asks: "Is it loaded now?", Profile: Said{Text: "It holds only while it is loaded.", Figure: "up to −17"}, Eye: Said{"Not loaded.", "98 %", "off"}, Accord: "differ", Says: "It is not.", Cause: "Nothing loads it.", Remedy: "Load it."},
			{Name: "Tone", Profile: Said{Text: "On the aim."}, Readings: Said{"Near.", "0.9", "holds"}, Eye: Said{"Fits.", "", "holds"}, Accord: "agree"},
			{Name: "Steps", Accord: "unsure"}, {Name: "Evenness", Accord: "alone"}, {Name: "Browser"}, {Name: "Levels", Accord: "better"}, {Name: "White", Accord: "missing"},
		},
	}
}

func promise() PromiseView {
	line := func(name string, way int, hue string) ChartLine {
		return ChartLine{Name: name, Way: way, Hue: hue, X: []float64{0, 50, 100}, Y: []float64{0, 1, -1}}
	}
	chart := func(id string) Chart {
		return Chart{ID: id, Title: "T", Said: "S", Across: "Signal, %", Up: "L*", Right: 100, Foot: -2, Top: 2, X: []float64{0, 100}, Y: []float64{-2, 0, 2}, Lines: []ChartLine{line("Grey", 0, ""), line("Red", 1, "red"), line("Green", 2, "green"), line("Blue", 3, "blue")},
			Band: ChartBand{"Aim", []float64{0, 100}, []float64{-1, 0}, []float64{1, 0}}}
	}
	d := Diagram{ID: "xy", Title: "x, y", Said: "S", White: [2]float64{.3127, .329}, Daylight: [][2]float64{{.3, .31}, {.35, .36}}}
	for i, c := range locus {
		d.Locus = append(d.Locus, Wave{380 + 10*i, c.x, c.y})
	}
	for i, c := range srgb {
		d.Own = append(d.Own, Corner{[]string{"Red", "Green", "Blue"}[i], c.x, c.y})
	}
	d.Standards = []Outline{{"Display P3", 1, [][2]float64{{.68, .32}, {.265, .69}, {.15, .06}}}}
	u := d
	u.ID, u.UV = "uv", true
	tint := chart("tint")
	tint.Foot, tint.Top, tint.Y = -0.004, 0.004, []float64{-0.004, 0, 0.004}
	return PromiseView{
		Name: "studio left", Lead: "A display profile.", Facts: []Fact{{"White", "daylight", ""}, {"Profile ID", "does not fit", "It was changed."}}, Tone: []Chart{chart("one"), chart("two")}, ToneSaid: "On the aim.",
		Channels: Table{"Curves", Cells("Channel", "Gamma"), [][]Cell{Cells("Red", "2.20")}}, Tint: tint, TintSaid: "None.",
		Range:      RangeView{Said: "It covers sRGB.", Caution: "Against D50.", Diagrams: []Diagram{u, d}, Reach: Table{"Spaces", Cells("Space", "Covered"), [][]Cell{{{Text: "sRGB"}, {Text: "95 %", Part: .95}}}}, Corners: Table{"Corners", Cells("Place", "x, y"), [][]Cell{Cells("Red", "0.64, 0.33")}}},
		Correction: CorrectionView{Said: "A table.", Chart: chart("card"), Costs: Table{"Costs", Cells("Channel", "Kept"), [][]Cell{Cells("Red", "240")}}}, Notes: []string{"byte 132: odd"},
	}
}

func readings() ReadingsView {
	return ReadingsView{
		Name: "a.txt", Lead: "Good enough.", Verdict: "holds", Groups: []GroupRow{{Name: "All patches", Patches: 42, Best: "0.00", Mean: "0.60", P95: "1.34", Largest: "1.54", Worst: "patch 9", AtMean: .6, AtP95: 1.34, AtWorst: 1.54, Axis: 6, Tolerance: 5}},
		Older: Table{"Older", Cells("Patches", "Formula"), [][]Cell{Cells("All patches", "ΔE*ab")}}, Judged: Table{"Sets", []Cell{{Text: "What"}, {Text: "Found"}, {Text: "Good", More: "for retouching", Verdict: "holds"}}, [][]Cell{{{Text: "Average"}, {Text: "0.60"}, {Text: "1.50", Verdict: "holds"}}}},
		Light: []Fact{{"Brightness of white", "158 cd/m²", ""}}, Worst: []WorstRow{{"Patch 9", "ΔE00 1.54", "greener", "57, 0, 0", "57, −1, 1", "#898989", "#898a88"}},
		Repeat: RepeatView{"Read again.", []Fact{{"Patches in both", "42", ""}}}, Told: []string{"CGATS.17."}, Notes: []string{"line 4, column 2: odd"},
	}
}

// What is no curve is not drawn, and breaks no page.
func TestChartsOfNothing(t *testing.T) {
	good := promise().Tone[0]
	for name, spoil := range map[string]func(c *Chart){
		"no line": func(c *Chart) { c.Lines = nil }, "no width": func(c *Chart) { c.Right = 0 }, "no number": func(c *Chart) { c.Lines[0].Y = []float64{0, math.NaN(), 1} },
		"no pair": func(c *Chart) { c.Lines[0].X = []float64{0, 1} }, "half a band": func(c *Chart) { c.Band.Lo = nil }, "one place": func(c *Chart) { c.Lines[0].X, c.Lines[0].Y = []float64{0}, []float64{0} },
	} {
		c := good
		c.Lines = append([]ChartLine(nil), good.Lines...)
		spoil(&c)
		if text := render(t, ChartOf(c)); text != "" {
			t.Errorf("%s: %s", name, text)
		}
	}
	if text := render(t, ChartOf(good)); !strings.Contains(text, "<path") || strings.Contains(text, "NaN") {
		t.Errorf("a chart is not drawn: %s", text)
	}
	if text := render(t, DiagramOf(Diagram{})); text != "" {
		t.Errorf("an empty diagram: %s", text)
	}
	if w := way(7) + way(-1); w != "" {
		t.Errorf("ways that are none: %q", w)
	}
}
