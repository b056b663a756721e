package pages

import (
	"bytes"
	"context"
	"encoding/xml"
	"flag"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/a-h/templ"
)

var update = flag.Bool("update", false, "write testdata/*.html anew; look at the difference before keeping it")

func render(t *testing.T, c templ.Component) string {
	t.Helper()
	var b bytes.Buffer
	if err := c.Render(context.Background(), &b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// golden is one component with the values it is shown.
var golden = map[string]templ.Component{
	"score":        ScoreLine(Score{Given: true, At: 71, Lo: 64, Hi: 77, Sentence: "of 100: so much, 64 to 77."}),
	"score-zero":   ScoreLine(Score{}),
	"score-why":    ScoreLine(Score{Sentence: "No score: tone was not checked."}),
	"shapes":       templ.Join(Shape("holds"), Shape("off"), Shape("unsure"), Shape("not checked"), Shape("")),
	"scale":        ScalePlot("Shadows", Scale{Min: 0, Max: 24, BandLo: 0, BandHi: 9, Lo: 12, At: 14, Hi: 16}),
	"scale-beyond": ScalePlot("Tone", Scale{Min: 1.6, Max: 2.8, BandLo: 2.05, BandHi: 2.35, Lo: 1.2, At: 3.1, Hi: 3.3, Unit: "gamma"}),
	"purposes":     Purposes([]Purpose{{"Layout and wording", "holds", ""}, {"Light and shade", "off", "Shadows are lost."}, {"Colour", "unsure", "Go on."}, {"Other", "", ""}}),
	"aspects":      Aspects(Example().Aspects, true),
	"tone":         Tone(Curve{Signal: []float64{0, 50, 100}, At: []float64{0, 50.2, 100}, Lo: []float64{0, 48, 100}, Hi: []float64{0, 52.4, 100}, AimLo: []float64{0, 53, 100}, AimHi: []float64{0, 54, 100}}),
	"report":       ReportBody(Report{Screen: "écran", Judgements: 1, Record: `{"screen":"</script><!--<script>"}`, Kept: "Kept in this browser."}),
	"report-void":  ReportBody(Report{Screen: "studio left", Viewer: "Tomas", Void: []string{"Three of six easy questions were missed."}, Notes: []string{"<b>&"}}),
	"report-zero":  ReportBody(Report{}),
	"example":      ReportBody(Example()),
	"start":        Start(Site{}),
	"method":       MethodPage(Site{}),
	"check":        Check(Site{Look: "/l.css", Stage: "/s.css", Early: "early()", Runtime: "/r.js", Boot: "/b.js", Program: "/p.wasm", ProgramSize: 7, Version: "v"}),
	"tint":         Tint(TintPlot{Limit: 0.006, Points: []TintPoint{{51, -0.004, -0.006, -0.002, 0.009, 0.006, 0.012}, {128, 0, -0.001, 0.001, 0, -0.001, 0.001}, {200, 0.0001, -0.001, 0.001, 0.0001, -0.001, 0.001}}}),
	"evenness":     Evenness(Example().Evenness),
	"evenness-25":  Evenness(even25()),
	"seen":         Seen(SeenRange{First: 6.2, FirstLo: 5, FirstHi: 7.5, Last: 234.5, LastLo: 233, LastHi: 236}),
	"seen-dark":    Seen(SeenRange{First: 40, FirstLo: 36, FirstHi: 44}),
	"gamut":        Gamut(GamutSketch{Red: 0.9, RedLo: 0.7, RedHi: 1.1, Green: 0.6, GreenLo: 0.4, GreenHi: 0.8, Claimed: "colours of Display P3"}),
	"faults":       Faults(Example().Faults),
	"more":         GoOn(More{4, "It would settle tone and smoothness."}),
	"against":      Against([]EarlierSitting{{"s1", "21 October 2026, 17:40", "studio left"}}),
	"compare":      ComparePage(comparison()),
	"compare-zero": Compare(CompareView{}),
	"bar":          BarOf(Bar{Question: "Which quadrant differs?", Keys: []Key{{"KeyQ", "Q", "top left"}, {"KeyW", "W", "top right"}, {"KeyA", "A", "bottom left"}, {"KeyS", "S", "bottom right"}, {"Space", "Space", "can't tell"}}, Back: true, Pause: true, Far: "Smoothness · 14 of about 60", Left: 3, Adaptive: true, Done: 14, Total: 60}),
	"plain":        PlainPage(Site{}, Plain{"Title", "What.", "Do."}),
}

// even25 is a map of a long sitting, with places beyond the limit.
func even25() EvenMap {
	m := EvenMap{Rows: 5, Cols: 5, Limit: 13, Level: 128}
	for i := range 25 {
		row, col := float64(i/5-2), float64(i%5-2)
		v := -1.6*(row*row+col*col) - 1.2*row
		m.Places = append(m.Places, EvenPlace{v, v - 4.4, v + 4.4, v < -13})
	}
	return m
}

func comparison() CompareView {
	scale := func(lo, at, hi float64) Scale { return Scale{Min: 0, Max: 24, BandHi: 9, Lo: lo, At: at, Hi: hi} }
	return CompareView{
		Earlier: Compared{"kitchen laptop", "Ines", "21 October 2026, 17:40", false, Score{Given: true, At: 71, Lo: 64, Hi: 77}},
		Later:   Compared{"kitchen laptop", "Ines", "24 November 2026, 14:05", true, Score{Given: true, At: 88, Lo: 83, Hi: 92}},
		Score:   Change{"moved", "17 points up."},
		Aspects: []ComparedAspect{
			{"Shadows", ComparedEstimate{"off", "first visible code 14 (12.3 to 15.9)", scale(12.3, 14, 15.9)}, ComparedEstimate{"holds", "first visible code 6.8 (5.6 to 8.1)", scale(5.6, 6.8, 8.1)}, Change{"moved", "7.2 codes down: more shadow is seen."}},
			{"Highlights", ComparedEstimate{"holds", "last code below white 253", Scale{}}, ComparedEstimate{"holds", "last code below white 253", Scale{}}, Change{"same", ""}},
			{"Tone", ComparedEstimate{"not checked", "", Scale{}}, ComparedEstimate{"unsure", "gamma 2.37", Scale{}}, Change{"", "tone was not checked in the earlier sitting"}},
		},
		Conditions: []Differing{{"Room", "lit as an office is", "dim"}, {"Distance", "", "62 cm"}},
		Cautions:   []string{"Two sittings by two people differ by their eyes too."},
	}
}

func TestGolden(t *testing.T) {
	for name, c := range golden {
		got := render(t, c) + "\n"
		at := filepath.Join("testdata", name+".html")
		if *update {
			if err := os.WriteFile(at, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(at)
		if err != nil {
			t.Fatal(err)
		}
		if got != string(want) {
			t.Errorf("%s changed; go test ./web/pages -update writes it anew", at)
		}
	}
	files, _ := filepath.Glob("testdata/*.html")
	if len(files) != len(golden) {
		t.Errorf("%d files for %d components", len(files), len(golden))
	}
}

// void elements have no end (HTML, section 13.1.2).
var void = map[string]bool{"area": true, "base": true, "br": true, "col": true, "embed": true, "hr": true, "img": true, "input": true, "link": true, "meta": true, "source": true, "track": true, "wbr": true}

// Elements are closed in order, and no id is given twice.
func TestWellFormed(t *testing.T) {
	for name, c := range golden {
		d := xml.NewDecoder(strings.NewReader(render(t, c)))
		d.Strict = false
		d.Entity = xml.HTMLEntity
		var open []string
		ids := map[string]bool{}
		elements := 0
		for {
			token, err := d.RawToken()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			switch e := token.(type) {
			case xml.StartElement:
				elements++
				for _, a := range e.Attr {
					if a.Name.Local == "id" {
						if ids[a.Value] {
							t.Errorf("%s: id %q is given twice", name, a.Value)
						}
						ids[a.Value] = true
					}
				}
				if !void[e.Name.Local] {
					open = append(open, e.Name.Local)
				}
			case xml.EndElement:
				if void[e.Name.Local] {
					continue
				}
				if len(open) == 0 || open[len(open)-1] != e.Name.Local {
					t.Fatalf("%s: </%s> closes %v", name, e.Name.Local, open)
				}
				open = open[:len(open)-1]
			}
		}
		if len(open) > 0 || elements == 0 {
			t.Errorf("%s: %d elements, open at the end: %v", name, elements, open)
		}
	}
}
