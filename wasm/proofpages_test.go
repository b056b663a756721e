//go:build !js

package main_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"example.org/plumb/web/pages"
)

// show puts a part of a page on the stage of a page that the program is in, as if the program were at that stage.
func (w *window) show(stage, html string) {
	w.t.Helper()
	b, err := json.Marshal(html)
	w.check(err)
	w.run("document.body.dataset.stage = \"" + stage + "\"; document.getElementById(\"stage\").innerHTML = " + string(b))
}

func shown(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "web", "pages", "testdata", name+".html"))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// printed is a record of n pictures in readable form, each with what was hidden and a note.
func printed(t *testing.T, n int) string {
	t.Helper()
	digest := strings.Repeat("3f7a90c1", 8)
	v := pages.RecordView{
		Title: "Ines asks for changes", Lead: "Orchard catalogue, spread 4, second version, asked by Tomas", State: pages.Stands,
		Says:     "Both signatures are good, and it is about this request.",
		Checked:  []pages.RecordCheck{{Name: "Signature of who decided", State: pages.Stands}, {Name: "Signature of who asked", State: pages.Stands}, {Name: "The report", State: pages.Stands, Text: "It is the one that the record names."}, {Name: "The pictures", State: pages.Absent}},
		Facts:    []pages.Fact{{Name: "Asked by", Value: "Tomas"}, {Name: "Asked", Value: "24 November 2026, 09:12"}, {Name: "Decided by", Value: "Ines"}, {Name: "Signed", Value: "24 November 2026, 14:20, by the clock of who signed"}, {Name: "At the mailbox", Value: "24 November 2026, 14:20, by the mailbox's clock"}},
		Screen:   []pages.Fact{{Name: "Screen", Value: "kitchen laptop, checked 24 November 2026, 14:05"}, {Name: "Layout and wording", Value: "fit to decide"}, {Name: "Light and shade", Value: "fit to decide"}, {Name: "Colour", Value: "not fit"}},
		Keys:     []pages.Fact{{Name: "This record", Value: digest}, {Name: "Key of who decided", Value: digest}, {Name: "Key of who asked", Value: digest}, {Name: "Report", Value: digest}},
		Cautions: []string{"A name in a record is as its owner typed it. The keys say that the same two browsers were at work, not who sat before them.", "An approval covers what this screen could show."},
		Text:     strings.Repeat("a line of the record\n", 200),
		Buttons:  []pages.Button{{Action: "print", Label: "Print"}},
	}
	for i := range n {
		v.Pictures = append(v.Pictures, pages.RecordPicture{Name: fmt.Sprintf("crate %d.jpg", i+1), Size: "6016 × 4016 pixels", Decision: "changes asked", Hidden: []string{"6.2 % (4.8 to 7.9 %): shadows shown as black"}, Notes: []string{"At 1204, 880: is there still wood grain in here?"}, Digest: digest})
	}
	var b bytes.Buffer
	if err := pages.RecordPanel(v).Render(context.Background(), &b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// The pages of a proof fit windows from 320 pixels on, and a record prints on one sheet of either common paper, wherever it stands.
func TestProofPages(t *testing.T) {
	t.Parallel()
	w := open(t, room{width: 1440, height: 900})
	w.do(chromedp.Navigate(site+"/record"), chromedp.WaitVisible(".page.records"))

	into := func(html, id, inner string) string {
		at := strings.Index(html, `<div id="`+id+`"`)
		if at < 0 {
			t.Fatalf("no %s", id)
		}
		end := at + strings.Index(html[at:], ">") + 1
		return html[:end] + inner + html[end:]
	}
	view := shown(t, "viewing")
	all := []struct{ stage, html string }{
		{"proof", into(shown(t, "proofing"), "pictures", shown(t, "picture-rows"))}, {"proof", shown(t, "proofing-round")}, {"asked", shown(t, "asked-proof")},
		{"view", into(view, "noting", shown(t, "noting"))}, {"view", into(view, "signed", shown(t, "signed"))}, {"view", into(view, "failed", shown(t, "viewing-failed"))},
		{"seen", shown(t, "seen-proof")}, {"record", into(shown(t, "records"), "files", shown(t, "record-files"))}, {"desk", into(shown(t, "desk"), "requests", shown(t, "requests-proof"))},
	}
	for _, size := range [][2]int64{{320, 640}, {390, 844}, {720, 450}, {1440, 900}} {
		w.do(chromedp.EmulateViewport(size[0], size[1]))
		for i, p := range all {
			// Names of files and of people may be long and without a space.
			for _, html := range []string{p.html, strings.NewReplacer("barn door.jpg", strings.Repeat("barn_door_", 8), "Ines", strings.Repeat("Ines", 20)).Replace(p.html)} {
				w.show(p.stage, html)
				w.fits(fmt.Sprintf("page %d (%s) at %d x %d", i, p.stage, size[0], size[1]))
			}
			if p.stage != "view" && p.stage != "seen" {
				continue
			}
			// A picture hangs on code 119, and most of the window is its.
			if ground := eval[string](w, `getComputedStyle(document.getElementById("easel")).backgroundColor`); ground != "rgb(119, 119, 119)" {
				t.Errorf("the easel is %s", ground)
			}
			share := eval[float64](w, `(r => r.width * r.height / (innerWidth * innerHeight))(document.getElementById("easel").getBoundingClientRect())`)
			if least := map[int64]float64{320: 0.25, 390: 0.5, 720: 0.4, 1440: 0.55}[size[0]]; share < least {
				t.Errorf("page %d at %d x %d: the easel has %.2f of the window, want %.2f", i, size[0], size[1], share, least)
			}
			if size[0] == 1440 {
				w.run("scrollTo(0, 600)")
				if top := eval[float64](w, `document.getElementById("easel").getBoundingClientRect().top`); top != 0 {
					t.Errorf("page %d: the easel moves away with the panel: its top is at %v", i, top)
				}
				w.run("scrollTo(0, 0)")
			}
		}
	}

	for _, n := range []int{1, 4, 5, 8, 12} {
		record := printed(t, n)
		for stage, html := range map[string]string{"record": into(shown(t, "records"), "signed", record), "view": into(view, "signed", record)} {
			w.show(stage, html)
			w.sheets(fmt.Sprintf("a record of %d pictures, at the stage %s,", n, stage), 1, 1)
		}
	}
}
