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
	"check":        Check(Site{Look: "/l.css", Sitting: "/s.css", Runtime: "/r.js", Boot: "/b.js", Program: "/p.wasm", ProgramSize: 7, Version: "v"}),
	"plain":        PlainPage(Site{}, Plain{"Title", "What.", "Do."}),
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
