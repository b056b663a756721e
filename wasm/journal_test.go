//go:build !js

package main_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/storage"
	"github.com/chromedp/chromedp"

	"example.org/plumb/testdata"
)

// drawersOf are the drawers of the database in the versions in which it was released.
var drawersOf = map[int][]string{
	1: {"sittings", "judgements", "records"},
	2: {"sittings", "judgements", "records", "requests", "letters", "asks", "replies"},
	3: {"sittings", "judgements", "records", "requests", "letters", "asks", "replies", "decisions"},
	4: {"sittings", "judgements", "records", "requests", "letters", "asks", "replies", "decisions", "screens", "papers", "files"},
}

// shelve puts rows into the browser as a program of an earlier version left them: a JSON object of drawers, each an object of rows by their keys.
func (w *window) shelve(version int, rows []byte) {
	w.t.Helper()
	w.do(chromedp.Navigate(site + "/method"))
	drawers, err := json.Marshal(drawersOf[version])
	w.check(err)
	if n := eval[int](w, fmt.Sprintf(`new Promise((done, failed) => {
		const open = indexedDB.open("plumb", %d), drawers = %s, rows = %s;
		open.onupgradeneeded = () => drawers.forEach(d => open.result.createObjectStore(d));
		open.onerror = () => failed(open.error);
		open.onsuccess = () => {
			const t = open.result.transaction(drawers, "readwrite");
			let n = 0;
			for (const d in rows) for (const k in rows[d]) { t.objectStore(d).put(rows[d][k], k); n++; }
			t.onabort = () => failed(t.error);
			t.oncomplete = () => { open.result.close(); done(n); };
		};
	})`, version, drawers, rows)); n == 0 {
		w.t.Fatal("no rows")
	}
}

// stored is what the browser keeps now, as shelve takes it, and the version of its database.
func (w *window) stored() (version int, rows map[string]map[string]string) {
	w.t.Helper()
	all := eval[struct {
		Version int
		Rows    map[string]map[string]string
	}](w, `new Promise((done, failed) => {
		const open = indexedDB.open("plumb");
		open.onerror = () => failed(open.error);
		open.onsuccess = () => {
			const db = open.result, names = [...db.objectStoreNames], rows = {}, version = db.version;
			const t = db.transaction(names, "readonly");
			for (const d of names) {
				const keys = t.objectStore(d).getAllKeys(), values = t.objectStore(d).getAll();
				values.onsuccess = () => { rows[d] = {}; keys.result.forEach((k, i) => rows[d][k] = values.result[i]); };
			}
			t.oncomplete = () => { db.close(); done({Version: version, Rows: rows}); };
		};
	})`)
	return all.Version, all.Rows
}

// A browser that an earlier version of the program wrote in has everything in the journal, byte for byte as it was.
func TestReleasedShelves(t *testing.T) {
	t.Parallel()
	for version := 1; version <= 3; version++ {
		t.Run(fmt.Sprint(version), func(t *testing.T) {
			t.Parallel()
			rows, err := testdata.FS.ReadFile(fmt.Sprintf("shelf/%d.json", version))
			if err != nil {
				t.Fatal(err)
			}
			var was map[string]map[string]string
			if err := json.Unmarshal(rows, &was); err != nil || len(was["records"]) == 0 {
				t.Fatalf("%v, %d records", err, len(was["records"]))
			}
			w := open(t, room{width: 320, height: 800})
			w.shelve(version, rows)
			w.do(chromedp.Navigate(site + "/journal"))
			w.in("journal")
			text := strings.ToLower(w.words())
			for _, name := range []string{"studio left", "kitchen laptop", "packing-room tablet"} {
				if !strings.Contains(text, name) {
					t.Errorf("%s is not in the journal: %s", name, text)
				}
			}
			if strings.Contains(text, "not to be read") {
				t.Errorf("something cannot be read: %s", text)
			}
			w.fits("the journal")
			w.press("chapter")
			w.find(`[data-action="overview"]`)
			w.fits("the journal of a screen")
			now, kept := w.stored()
			if now != 4 {
				t.Errorf("the database has version %d", now)
			}
			for drawer, list := range was {
				if len(kept[drawer]) != len(list) {
					t.Errorf("%d rows of %d in %s", len(kept[drawer]), len(list), drawer)
				}
				for key, value := range list {
					if kept[drawer][key] != value {
						t.Errorf("%s/%s is not as it was", drawer, key)
					}
				}
			}
		})
	}
}

// A journal is kept, renamed, saved as a file and brought into another browser: whole or not at all, and once. Of two tabs one changes it and the other one waits its turn.
func TestJournal(t *testing.T) {
	t.Parallel()
	rows, err := testdata.FS.ReadFile("shelf/3.json")
	if err != nil {
		t.Fatal(err)
	}
	w := open(t, room{width: 1440, height: 900})
	w.shelve(3, rows)
	w.load(site + "/journal?screen=studio+left")
	w.in("journal")
	a := &album{w: w, name: "journal"}
	if got := w.text("h1"); got != "Studio left" {
		t.Fatalf("the address leads to %q", got)
	}
	a.whole("chapter")
	w.fits("the journal of a screen")
	w.click(`input[name="interval"][value="28"]`)
	w.saying("#message", "Every 4 weeks a look is due")
	w.fill("mode", "sRGB preset")
	w.press("rename")
	w.saying("h1", "Studio left, sRGB preset")
	w.saying("#journal", "Counts as this screen")

	// Another tab has to wait, and then has what was changed.
	other, shut := w.tab()
	other.load(site + "/journal")
	other.in("journal")
	other.saying("#journal", "The journal is open in another tab of this browser")
	shut()
	w.load(site + "/journal")
	w.in("journal")
	w.saying("#journal", "sRGB preset")
	w.eventually("the only tab may change the journal", func() bool { return !strings.Contains(w.words(), "another tab") })
	a.whole("list")
	w.fits("the journal")

	file := filepath.Join(t.TempDir(), "journal.json")
	w.check(os.WriteFile(file, w.savedAs(func() { w.press("save-journal") }, "plumb-*-journal.json"), 0o600))
	_, was := w.stored()

	// In another browser there is no room at first.
	o := open(t, room{})
	roomFor := func(bytes *float64) {
		_, err := chromedp.Call(o.ctx, storage.OverrideQuotaForOrigin, storage.OverrideQuotaForOriginParams{Origin: site, QuotaSize: bytes})
		o.check(err)
	}
	o.load(site + "/journal")
	o.in("journal")
	o.saying("#journal", "Nothing is kept here yet")
	bring := func() {
		o.do(chromedp.SetUploadFiles(chromedp.CSS("input[name=journal]"), []string{file}))
	}
	bring()
	o.saying("#journal", "4 sittings")
	roomFor(new(1000.0))
	o.press("bring")
	o.saying("#message", "Nothing was changed: the browser's storage is full")
	if _, got := o.stored(); len(got["sittings"])+len(got["judgements"])+len(got["records"])+len(got["screens"]) > 0 {
		t.Fatal("half a journal was kept")
	}
	roomFor(nil)
	bring()
	o.saying("#journal", "4 sittings")
	o.press("bring")
	o.saying("#message", "It is in the journal now")
	o.load(site + "/journal")
	o.in("journal")
	bring()
	o.saying("#message", "is here already")
	_, got := o.stored()
	for _, drawer := range []string{"judgements", "records", "screens", "papers"} {
		if fmt.Sprint(got[drawer]) != fmt.Sprint(was[drawer]) {
			t.Errorf("%s did not arrive as they were", drawer)
		}
	}
	if len(got["sittings"]) != len(was["sittings"]) || len(got["screens"]) != 1 {
		t.Errorf("%d sittings of %d, %d screens", len(got["sittings"]), len(was["sittings"]), len(got["screens"]))
	}
	o.saying("#journal", "sRGB preset")
	// What was not finished there is nothing to be asked about here.
	o.visit("?screen=Studio+Left&mode=srgb+preset")
	o.in("prepare")
	o.saying("#last", "Last looked at")
	if got := eval[string](o, `document.querySelector("[name=known]").selectedOptions[0].text`); got != "Studio left, sRGB preset" {
		t.Errorf("the screen of the address is taken for %q", got)
	}
}
