//go:build !js

package main_test

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"example.org/plumb/patterns/report"
)

// witness writes down, inside the page, every frame that goes to a canvas in the window and every change of data-presentation: when it was, its mean light
// (relative luminance by an exponent of 2.4, the steepest aim), whether it has texture, and what the mark was.
const witness = `
	globalThis.seen = [];
	const light = Array.from({length: 256}, (_, v) => (v / 255) ** 2.4), put = CanvasRenderingContext2D.prototype.putImageData;
	CanvasRenderingContext2D.prototype.putImageData = function (data, ...rest) {
		const at = performance.now();
		put.call(this, data, ...rest);
		if (!this.canvas.isConnected) return;
		let sum = 0, n = 0;
		for (let i = 0; i < data.data.length; i += 4 * 13) { sum += light[data.data[i]]; n++ }
		seen.push({at, light: sum / n, whole: data.width === this.canvas.width && data.height === this.canvas.height});
	};
	document.addEventListener("DOMContentLoaded", () => new MutationObserver(list => {
		for (const m of list) seen.push({at: performance.now(), marked: m.target.dataset.presentation ?? ""});
	}).observe(document.body, {attributes: true, subtree: true, attributeFilter: ["data-presentation"]}));`

type glimpse struct {
	At     float64 // ms
	Light  float64 // 0 to 1
	Whole  bool
	Marked *string // nil for a frame
}

// requests collects what the page asks for, and complaints what it says on the console or is told off for.
type requests struct {
	sync.Mutex
	urls, complaints []string
}

func listen(w *window) *requests {
	r := &requests{}
	w.check(chromedp.Listen(w.ctx, func(ev any) {
		if e, ok := ev.(*network.EventRequestWillBeSent); ok {
			r.Lock()
			r.urls = append(r.urls, e.Request.URL)
			r.Unlock()
		}
	}))
	_, err := chromedp.Call(w.ctx, network.Enable, network.EnableParams{})
	w.check(err)
	messages := chromedp.Console(w.ctx)
	go func() {
		for m, err := range messages {
			if err != nil {
				return
			}
			r.Lock()
			r.complaints = append(r.complaints, string(m.Type)+": "+m.String())
			r.Unlock()
		}
	}()
	return r
}

// One whole sitting, seen from inside the page and from the network: the contract is kept, nothing flashes, and nobody else is asked for anything.
func TestManners(t *testing.T) {
	t.Parallel()
	w := open(t, room{seed: 11, scripts: []string{witness}})
	asked := listen(w)
	w.visit("?length=short")
	s := w.in("prepare")
	ground := eval[float64](w, `Number(getComputedStyle(document.documentElement).backgroundColor.match(/\d+/)[0])`)

	marks := map[string]map[string]bool{} // by check and question: the attributes without seq
	v := &viewer{}
	lines := 0
	for s.Stage != "report" {
		s = w.turn(v)
		if s.Mark == "" {
			continue
		}
		if s.Stage != "sitting" {
			t.Errorf("a presentation is marked in the stage %s", s.Stage)
		}
		p := w.parse(s.Mark)
		if again, err := json.Marshal(p); err != nil || string(again) != s.Mark {
			t.Errorf("data-presentation lacks something that the contract names, or has another order:\n%s\n%s", s.Mark, again)
		}
		canvas := state{Width: s.Width, Height: s.Height}
		for _, c := range p.Choices {
			r := c.rect()
			if c.Key == "" || c.Label == "" {
				t.Errorf("a choice without key or label: %s", s.Mark)
			}
			if r.Min.X < 0 || r.Min.Y < 0 || r.Max.X > canvas.Width || r.Max.Y > canvas.Height {
				t.Errorf("%s is at %v, outside a canvas of %d x %d", c.Key, r, canvas.Width, canvas.Height)
			}
			if r.Empty() != (c.Key == "Space") {
				t.Errorf("%s has the rect %v", c.Key, r)
			}
		}
		if last := p.Choices[len(p.Choices)-1]; last.Key == "Enter" {
			lines++
			if r := last.rect(); 10*r.Dx()*r.Dy() > canvas.Width*canvas.Height {
				t.Errorf("lines fill %v of a canvas of %d x %d: more than a tenth", r, canvas.Width, canvas.Height)
			}
		}
		kind := p.Check + ": " + p.Question
		if marks[kind] == nil {
			marks[kind] = map[string]bool{}
		}
		p.Seq = 0
		b, _ := json.Marshal(p)
		marks[kind][string(b)] = true
	}
	if v.asked < 40 || lines < 4 || len(marks) < 7 {
		t.Fatalf("%d presentations of %d kinds, %d of them settings: too few to judge by", v.asked, len(marks), lines)
	}
	for kind, m := range marks {
		// The right cell, the lighter side and what a presentation is for (practice, catch, trial) may not show. A setting has its plain side on the left or
		// on the right, which is what its rects are for.
		most := 1
		switch {
		case strings.Contains(kind, "match"):
			most = 2
		case strings.HasPrefix(kind, "evenness"): // which place is asked about
			most = 8
		}
		if len(m) > most {
			t.Errorf("%s: data-presentation has %d variants apart from seq, and may have %d: %v", kind, len(m), most, m)
		}
	}

	still(t, eval[[]glimpse](w, "seen"), v.asked, math.Pow(ground/255, 2.4))

	r, record := w.record()
	saved(t, w, r, record)

	asked.Lock()
	defer asked.Unlock()
	if len(asked.urls) < 5 {
		t.Errorf("only %d requests were seen", len(asked.urls))
	}
	for _, u := range asked.urls {
		if !strings.HasPrefix(u, site+"/") && !strings.HasPrefix(u, "blob:"+site+"/") && !strings.HasPrefix(u, "data:") {
			t.Errorf("the page asked for %s", u)
		}
	}
	for _, c := range asked.complaints {
		t.Errorf("console: %s", c)
	}
}

// still checks the frames of a sitting: presentations at most two a second, each after a rest, and no sudden change of the whole field.
func still(t *testing.T, seen []glimpse, asked int, ground float64) {
	t.Helper()
	const (
		most = 0.1 // of white's light; WCAG 2.2, 2.3.1 counts changes of a tenth
		// ms, less a step of the page's clock, however busy the machine is: between presentations, and before each
		pace = 499
		rest = 399
	)
	light, came, gone, fields, put, up := ground, math.Inf(-1), math.Inf(-1), math.Inf(-1), 0.0, false
	frames, shown, since := 0, 0, 0
	// The look at fine lines comes and goes by a click of the viewer: two squares, not the field.
	for len(seen) > 0 && math.Abs(seen[0].Light-ground) > 1e-3 {
		if math.Abs(seen[0].Light-ground) > most {
			t.Errorf("the look at fine lines changes the light from %.3f to %.3f", ground, seen[0].Light)
		}
		seen = seen[1:]
	}
	for i, g := range seen {
		if g.Marked == nil {
			frames++
			if !g.Whole {
				t.Errorf("frame %d does not cover the canvas", i)
			}
			d := math.Abs(g.Light - light)
			if d > most {
				t.Errorf("frame %d at %.0f ms: the field's light jumps from %.3f to %.3f", i, g.At, light, g.Light)
			}
			// What moves by a step of a setting is a patch, under the viewer's finger.
			if d > most/10 && !up {
				if g.At-fields < rest {
					t.Errorf("frame %d: the field changes again after %.0f ms", i, g.At-fields)
				}
				fields = g.At
			}
			light, put = g.Light, g.At
			since++
			continue
		}
		switch {
		case *g.Marked == "":
			// The ground is there before a change of the mark is told.
			if up && since > 0 {
				gone = put
			} else if up {
				gone = g.At
			}
			up = false
		case !up:
			up = true
			shown++
			if put-came < pace {
				t.Errorf("a presentation comes %.0f ms after the one before", put-came)
			}
			if put-gone < rest {
				t.Errorf("a presentation comes after a rest of %.0f ms", put-gone)
			}
			came = put
		}
		since = 0
	}
	if frames < 2*asked || shown != asked {
		t.Errorf("the page showed %d frames and marked %d presentations; %d were answered", frames, shown, asked)
	}
}

// saved checks that what the report page carries is what it saves, and what it keeps.
func saved(t *testing.T, w *window, r report.Record, record []byte) {
	t.Helper()
	dir := t.TempDir()
	_, err := chromedp.CallBrowser(w.ctx, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{Behavior: browser.SetDownloadBehaviorBehaviorAllow, DownloadPath: dir})
	w.check(err)
	file := func(action, ext string) []byte {
		w.press(action)
		var name string
		w.eventually("a file ending in "+ext, func() bool {
			list, _ := filepath.Glob(filepath.Join(dir, "*"+ext))
			if len(list) != 1 {
				return false
			}
			name = list[0]
			info, err := os.Stat(name)
			return err == nil && info.Size() > 0
		})
		time.Sleep(300 * time.Millisecond)
		b, err := os.ReadFile(name)
		w.check(err)
		return b
	}
	if b := file("save-json", ".json"); string(b) != string(record) {
		t.Errorf("the saved record differs from the one in the page: %d and %d bytes", len(b), len(record))
	}
	rows, err := csv.NewReader(strings.NewReader(string(file("save-csv", ".csv")))).ReadAll()
	if err != nil || len(rows) != len(r.Judgements)+1 || !slices.Equal(rows[0], report.Columns) {
		t.Errorf("the saved judgements are %d rows for %d judgements: %v", len(rows), len(r.Judgements), err)
	}
	kept := eval[[]string](w, `new Promise((done, failed) => {
		const q = indexedDB.open("plumb");
		q.onerror = () => failed(q.error);
		q.onsuccess = () => { const a = q.result.transaction("records").objectStore("records").getAll(); a.onsuccess = () => { q.result.close(); done(a.result) } };
	})`)
	if len(kept) != 1 || kept[0] != string(record) {
		t.Errorf("what is kept in the browser is %d records, or another", len(kept))
	}
}
