//go:build !js

package main_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"example.org/plumb/testdata"
	"example.org/plumb/web/record"
)

// A bad is a file that is no good as a picture of a proof, and what is said of it; taken is one that goes all the same.
type bad struct {
	name, said string
	taken      bool
	file       []byte
}

// bads are files of every sort that a form must refuse or take with a note.
func bads(t *testing.T) []bad {
	t.Helper()
	file := func(name string) []byte {
		b, err := fs.ReadFile(testdata.Photos, name)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	// A PNG whose header says another size, with a checksum that fits.
	sized := func(w, h uint32) []byte {
		b := bytes.Clone(file("pictures/indexed.png"))
		binary.BigEndian.PutUint32(b[16:], w)
		binary.BigEndian.PutUint32(b[20:], h)
		binary.BigEndian.PutUint32(b[29:], crc32.ChecksumIEEE(b[12:29]))
		return b
	}
	torn := file("photos/cat.jpg")
	torn = torn[:len(torn)/3]
	bruised := bytes.Clone(file("photos/brick.png"))
	for i := len(bruised) / 2; i < len(bruised)/2+64; i++ {
		bruised[i] = 0
	}
	return []bad{
		{name: "printer.jpg", said: "CMYK", file: file("pictures/cmyk.jpg")},
		{name: "blossom.png", said: "animated", file: file("pictures/animated.png")},
		{name: "nothing.png", said: "no pixels", file: sized(0, 0)},
		{name: "barn wall.png", said: "at most 100 million", file: sized(16000, 16000)},
		{name: "fence.png", said: "20,000 pixels wide", file: sized(20000, 1)},
		{name: "torn.jpg", said: "ends too early", file: torn},
		{name: "bruised.png", said: "cannot decode", file: bruised},
		{name: "page.jpg", said: "web page", file: []byte("<!doctype html>\n<title>Orchard</title><p>Apples")},
		{name: "label.pdf", said: "PDF", file: []byte("%PDF-1.7\n")},
		{name: "empty.jpg", said: "empty", file: nil},
		{name: "ladder.png", said: "JPEG", taken: true, file: file("photos/dusk.jpg")},
	}
}

// written writes files into a folder, and returns their paths.
func written(t *testing.T, names []string, files [][]byte) []string {
	t.Helper()
	dir := t.TempDir()
	var list []string
	for i, name := range names {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, files[i], 0o600); err != nil {
			t.Fatal(err)
		}
		list = append(list, path)
	}
	return list
}

// offers puts files into the form of a proof, and waits until each was looked at. It returns what is said of each, by name.
func (w *window) offers(files []string) map[string]string {
	w.t.Helper()
	w.do(chromedp.SetUploadFiles(chromedp.CSS("input[name=pictures]"), files))
	said := map[string]string{}
	w.eventually("every picture was looked at", func() bool {
		if eval[int](w, `document.querySelectorAll("#pictures progress").length`) > 0 {
			return false
		}
		said = eval[map[string]string](w, `Object.fromEntries([...document.querySelectorAll("#pictures ol.plates > li")].map(e => [e.querySelector("h3").innerText, (e.classList.contains("refused") ? "refused: " : "taken: ") + e.querySelector(".what").innerText]))`)
		for _, f := range files {
			if said[filepath.Base(f)] == "" {
				return false
			}
		}
		return true
	})
	return said
}

// What no proof can be made of is refused by name, each with its own words; what is good beside it goes, and arrives to the byte.
func TestProofBad(t *testing.T) {
	t.Parallel()
	asker := open(t, room{width: 1440, height: 900})
	all := bads(t)
	good := [][]byte{nil, nil}
	for i, name := range []string{"dusk.jpg", "coffee.jpg"} {
		b, err := fs.ReadFile(testdata.Photos, "photos/"+name)
		if err != nil {
			t.Fatal(err)
		}
		good[i] = b
	}
	names, files := []string{"dusk.jpg"}, [][]byte{good[0]}
	for _, b := range all {
		names, files = append(names, b.name), append(files, b.file)
	}
	names, files = append(names, "coffee.jpg"), append(files, good[1])

	asker.do(chromedp.Navigate(site + "/proof"))
	asker.in("proof")
	said := asker.offers(written(t, names, files))
	album := &album{w: asker, name: "bad"}
	album.whole("proof")
	before := map[string]string{}
	for _, b := range all {
		got := said[b.name]
		if strings.HasPrefix(got, "taken: ") != b.taken || !strings.Contains(got, b.said) {
			t.Errorf("%s is %q, should say %q", b.name, got, b.said)
		}
		if was, twice := before[got]; twice {
			t.Errorf("%s and %s are refused in the same words: %s", was, b.name, got)
		}
		before[got] = b.name
		t.Logf("%s: %s", b.name, strings.ReplaceAll(got, "\n", " "))
	}
	for _, name := range []string{"dusk.jpg", "coffee.jpg"} {
		if !strings.HasPrefix(said[name], "taken: ") {
			t.Errorf("%s is %q", name, said[name])
		}
	}
	asker.fits("the page of a proof with bad files")
	asker.saying("#start", "3 pictures will be sealed")
	asker.fill("title", "Orchard catalogue, spread 4")
	asker.fill("from", "Tomas")
	asker.press("make")
	asker.in("made")
	asker.saying("#stage h1", "The link is ready")

	other := open(t, room{width: 1440, height: 900})
	other.do(chromedp.Navigate(eval[string](asker, `document.querySelector("[data-link]").value`)))
	other.in("asked")
	for _, b := range all {
		if strings.Contains(other.text("#stage"), b.name) != b.taken {
			t.Errorf("who is asked reads of %s, or not: %v", b.name, !b.taken)
		}
	}
	other.press("unchecked")
	other.in("view")
	for i, name := range []string{"dusk.jpg", "ladder.png", "coffee.jpg"} {
		other.shows(i, name)
	}
}

// shows turns to a picture and waits until it hangs.
func (w *window) shows(i int, name string) {
	w.t.Helper()
	w.run(fmt.Sprintf(`document.querySelector("[data-action=picture][data-id='%d']").click()`, i))
	w.hangs(name)
}

// types presses keys, each with the character that it gives on the keyboard at hand and the place where it lies.
func (w *window) types(pairs ...[2]string) {
	w.t.Helper()
	for _, p := range pairs {
		for _, kind := range []input.DispatchKeyEventType{input.DispatchKeyEventTypeRawKeyDown, input.DispatchKeyEventTypeKeyUp} {
			_, err := chromedp.Call(w.ctx, input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: kind, Code: p[1], Key: p[0]})
			w.check(err)
		}
	}
}

// Changes are asked for, a second version comes in the same request, is held against the first with the old notes beside it, and is decided; then the mind is changed.
func TestProofRounds(t *testing.T) {
	t.Parallel()
	asker, other := open(t, room{width: 1440, height: 900}), open(t, room{width: 1440, height: 900})
	desk, view := &album{w: asker, name: "round-desk"}, &album{w: other, name: "round-view"}
	plain := func(name string) []byte {
		b, err := fs.ReadFile(testdata.Photos, "photos/"+name)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	link := asker.proves(site, written(t, []string{"barn.jpg", "cup.jpg"}, [][]byte{plain("dusk.jpg"), plain("coffee.jpg")}), desk)
	other.do(chromedp.Navigate(link))
	other.in("asked")
	other.press("unchecked")
	other.in("view")
	other.hangs("barn.jpg")

	// Plus is where a keyboard has it: on a German one it lies where others have a bracket.
	scale := func() string { return other.text("#tools .scalenow") }
	fitted := scale()
	other.run("document.activeElement.blur()")
	other.types([2]string{"1", "Digit1"}, [2]string{"+", "BracketRight"})
	other.saying("#tools .scalenow", "141 %")
	other.types([2]string{"-", "Slash"}, [2]string{"0", "Digit0"})
	if got := scale(); got != fitted || !strings.Contains(other.text("#tools"), "barn.jpg") {
		t.Errorf("plus, minus and 0 end at %s of %s", got, other.text("#tools"))
	}
	other.press("note")
	other.press("note-middle")
	other.fill("note-text", "The doorway is too dark.")
	other.press("note-done")
	other.press("changes")
	other.shows(1, "cup.jpg")
	other.approves()
	other.press("changes-all")
	other.fill("name", "Ines")
	other.press("sign")
	other.press("sign-yes")
	other.saying("#signed", "Delivered")
	first := other.savedAs(func() { other.press("save-record") }, "*.txt")

	asker.press("desk")
	asker.in("desk")
	asker.saying("#requests", "Changes asked")
	asker.press("round")
	asker.in("proof")
	asker.saying("#stage", "The doorway is too dark.")
	asker.offers(written(t, []string{"barn.jpg"}, [][]byte{plain("cat.jpg")}))
	asker.saying("#pictures", "Takes the place of barn.jpg.")
	desk.whole("second")
	asker.press("make")
	asker.in("made")
	desk.whole("made-second")
	asker.eventually("the new version lies there", func() bool { return eval[int](asker, `document.querySelectorAll("#parcels progress").length`) == 0 })

	other.afresh(link)
	other.in("asked")
	other.saying("#stage", "This is version 2.")
	if text := other.text("#stage"); strings.Contains(text, "You began") {
		t.Errorf("before version 2 was looked at it says: %s", text)
	}
	view.whole("asked-second")
	other.press("unchecked")
	other.in("view")
	other.hangs("barn.jpg")
	other.saying("#notes", "The doorway is too dark.")
	if text := other.text("#decide"); !strings.Contains(text, "Undecided") {
		t.Errorf("a new version begins with %q", text)
	}
	view.keep("old-notes")
	// The pictures are hung anew when the page that was left lets go of them.
	other.eventually("both versions hang", func() bool {
		other.run(`document.querySelector("[data-action=way][data-id=divider][aria-pressed=false]")?.click()`)
		return eval[int](other, `document.querySelectorAll("#easel img").length`) == 2
	})
	other.eventually("there is a divider", func() bool { return eval[bool](other, `!!document.querySelector("[name=divider]")`) })
	other.run(`const d = document.querySelector("[name=divider]"); d.value = 300; d.dispatchEvent(new Event("input", {bubbles: true}))`)
	view.keep("divider")
	other.fits("two versions")
	other.approves()
	other.shows(1, "cup.jpg")
	other.approves()
	other.press("approve-all")
	other.press("sign")
	other.press("sign-yes")
	other.saying("#signed", "Delivered")
	second := other.savedAs(func() { other.press("save-record") }, "*.txt")
	view.keep("record-second")
	asker.press("desk")
	asker.in("desk")
	asker.run(`window.dispatchEvent(new Event("focus"))`)
	asker.saying("#requests", "Version 2")
	asker.saying("#requests .states", "Approved")
	asker.saying("#requests", "It is about version 1.")
	desk.whole("desk-second")

	// A change of mind is a record that names the one it replaces.
	other.press("mind")
	other.press("changes")
	other.press("changes-all")
	other.press("sign")
	other.press("sign-yes")
	asker.run(`window.dispatchEvent(new Event("focus"))`)
	asker.saying("#requests", "Replaced by a later record")
	other.saying("#signed", "Delivered")
	third := other.savedAs(func() { other.press("save-record") }, "*.txt")
	desk.whole("desk-mind")
	var said []record.Record
	for i, text := range [][]byte{first, second, third} {
		r, err := record.Read(text)
		if err != nil {
			t.Fatalf("record %d: %v", i+1, err)
		}
		said = append(said, r)
	}
	if said[0].Whole != record.Changes || said[1].Whole != record.Approved || said[2].Whole != record.Changes {
		t.Errorf("the records decide %q, %q and %q", said[0].Whole, said[1].Whole, said[2].Whole)
	}
	if said[0].Asked.Round != 1 || said[1].Asked.Round != 2 || said[2].Asked.Round != 2 || said[1].Asked.Earlier != record.Digest(said[0].Request) {
		t.Errorf("the records are about rounds %d, %d and %d", said[0].Asked.Round, said[1].Asked.Round, said[2].Asked.Round)
	}
	if said[2].Earlier != record.Digest(second) || said[1].Earlier == record.Digest(second) {
		t.Error("the last record does not name the one that it replaces")
	}

	// The page for records: it stands with its pictures, and not with one byte changed.
	other.do(chromedp.Navigate(site + "/record"))
	other.in("record")
	drop := func(file []byte, more ...string) {
		list := append(written(t, []string{"record.txt"}, [][]byte{file}), more...)
		other.do(chromedp.SetUploadFiles(chromedp.CSS("input[name=evidence]"), list))
	}
	drop(second, written(t, []string{"barn.jpg", "cup.jpg", "crate.jpg"}, [][]byte{plain("cat.jpg"), plain("coffee.jpg"), plain("dusk.jpg")})...)
	other.saying("#signed", "Ines")
	other.saying("#files", "It is picture 1")
	other.saying("#files", "It is picture 2")
	other.saying("#files", "It is none of the pictures that the record is about.")
	view.whole("stands")
	broken := bytes.Clone(second)
	at := bytes.Index(broken, []byte("Ines"))
	broken[at] = 'J'
	other.do(chromedp.Navigate(site + "/record"))
	other.in("record")
	drop(broken)
	other.saying("#signed", "This record does not stand")
	view.whole("broken")
}
