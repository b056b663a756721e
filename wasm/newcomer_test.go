//go:build !js

package main_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"example.org/plumb/colour/display"
)

// takes presses the link, button or answer that reads as given, or begins so, the way a person finds it: by its words.
func (w *window) takes(words string) {
	w.t.Helper()
	w.eventually(fmt.Sprintf("%q can be pressed", words), func() bool {
		return eval[bool](w, fmt.Sprintf(`(() => {
			document.querySelector("[data-taken]")?.removeAttribute("data-taken");
			const says = e => (e.innerText || e.value || "").replace(/\s+/g, " ").trim();
			const all = [...document.querySelectorAll("a, button, label")].filter(e => !e.disabled && e.getClientRects().length > 0).sort((a, b) => !a.closest("main") - !b.closest("main"));
			const e = all.find(e => says(e) === %[1]q) || all.find(e => says(e).startsWith(%[1]q));
			e?.setAttribute("data-taken", "");
			return !!e;
		})()`, words))
	})
	w.click("[data-taken]")
}

// tells types into the field whose label begins as given.
func (w *window) tells(label, text string) {
	w.t.Helper()
	name := ""
	w.eventually(fmt.Sprintf("a field called %q", label), func() bool {
		name = eval[string](w, fmt.Sprintf(`[...document.querySelectorAll("label")].find(l => l.innerText.trim().startsWith(%q))?.querySelector("input, textarea")?.name ?? ""`, label))
		return name != ""
	})
	w.fill(name, text)
}

// reads waits until the page says something.
func (w *window) reads(text string) {
	w.t.Helper()
	w.eventually(fmt.Sprintf("%q can be read", text), func() bool { return strings.Contains(w.text("main"), text) })
}

// gives hands files to the one field for files whose label begins as given.
func (w *window) gives(label string, files ...string) {
	w.t.Helper()
	w.eventually(fmt.Sprintf("a field for files called %q", label), func() bool {
		return eval[bool](w, fmt.Sprintf(`(() => {
			document.querySelector("[data-given]")?.removeAttribute("data-given");
			const f = [...document.querySelectorAll("label")].find(l => l.innerText.trim().startsWith(%q))?.querySelector("input[type=file]");
			f?.setAttribute("data-given", "");
			return !!f;
		})()`, label))
	})
	w.do(chromedp.SetUploadFiles(chromedp.CSS("[data-given]"), files))
}

// A newcomer starts what README says, and does the whole job by what the pages say alone: the tour, a check of their own, a question to somebody, a proof, a decision and
// its record. Nothing is found but by its words; the one who answers is a virtual viewer.
func TestNewcomer(t *testing.T) {
	t.Parallel()
	readme, err := os.ReadFile("../README.md")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(readme), "\n    go run ./web/server\n") {
		t.Error("README no longer says how to start")
	}
	s := newServer(t)
	w := open(t, room{width: 1440, height: 900})
	a := &album{w: w, name: "newcomer"}
	w.load(s.site)
	a.whole("start")

	// The tour, and its record.
	w.takes("Five minutes in an orchard")
	w.reads("All of it is made up")
	w.fits("the tour")
	a.whole("tour")
	given := w.savedAs(func() { w.takes("Save the record") }, "*.txt")
	file := filepath.Join(t.TempDir(), "orchard-record.txt")
	if err := os.WriteFile(file, given, 0o600); err != nil {
		t.Fatal(err)
	}
	w.takes("Check a record")
	w.gives("Drop a record", file)
	w.reads("Ines approved 1 of 2 pictures and asks for changes to 1")
	w.reads("Stands")
	if err := os.WriteFile(file, []byte(strings.Replace(string(given), "Ines", "Inez", 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	w.takes("Take it away")
	w.gives("Drop a record", file)
	w.reads("Does not stand")

	// A check of their own.
	w.load(s.site)
	w.takes("Short")
	w.tells("Name of this screen", "studio left")
	w.tells("Who is looking", "Tomas")
	w.takes("Start the sitting")
	v := seat(t, "expert", display.Default(), 5)
	for w.turn(v).Stage != "report" {
	}
	w.reads("Layout and wording")
	w.reads("Fit to decide")
	a.whole("report")

	// Asking somebody.
	w.takes("Ask for a check")
	w.tells("What it is for", "Orchard catalogue, spread 4")
	w.tells("Who asks", "Tomas")
	w.takes("Make the link")
	w.reads("The link is ready")
	other := open(t, room{width: 1280, height: 800})
	other.load(eval[string](w, `document.querySelector("textarea[readonly]").value`))
	other.reads("Tomas asks you")
	other.takes("Check this screen")
	other.tells("Name of this screen", "kitchen laptop")
	other.tells("Who is looking", "Ines")
	other.takes("Start the sitting")
	theirs := seat(t, "typical", display.Default(), 6)
	for theirs.asked < 10 {
		other.turn(theirs)
	}
	other.ends()
	other.takes("Choose what to send")
	other.takes("Send")
	other.reads("Delivered")
	w.takes("To my desk")
	w.reads("Kitchen laptop")
	if text := w.text("main"); strings.Contains(text, "newer version") {
		t.Errorf("the desk speaks of a newer version: %s", text)
	}
	w.paint("desk")

	// A proof, looked at unchecked and approved.
	w.takes("Send a proof")
	picture, err := filepath.Abs("../testdata/photos/dusk.jpg")
	if err != nil {
		t.Fatal(err)
	}
	w.gives("Drop pictures", picture)
	w.reads("Ready")
	w.tells("What it is", "Orchard at dusk")
	w.tells("Who asks", "Tomas")
	w.takes("Nothing in particular")
	w.reads("will be sealed here")
	w.takes("Make the link")
	w.reads("The link is ready")
	other.load(eval[string](w, `document.querySelector("textarea[readonly]").value`))
	other.takes("Look unchecked")
	other.hangs("dusk.jpg")
	other.takes("Approve")
	other.takes("Yes, approve it")
	other.tells("Your name", "Ines")
	other.takes("Sign it")
	other.takes("Sign and send")
	other.reads("Delivered")
	w.takes("To my desk")
	w.reads("Approved")
	record := other.savedAs(func() { other.takes("Save the record") }, "*.txt")
	file = filepath.Join(t.TempDir(), "record.txt")
	if err := os.WriteFile(file, record, 0o600); err != nil {
		t.Fatal(err)
	}
	w.takes("Check a record")
	w.gives("Drop a record", file, picture)
	w.reads("Ines approved the picture")
	w.reads("Stands")
	a.whole("record")
}
