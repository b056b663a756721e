//go:build !js

package main_test

import (
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"example.org/plumb/patterns/plates"
)

// plateCommand builds patterns/plate and returns its path.
func plateCommand(t *testing.T) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "plate")
	build := exec.Command("go", "build", "-o", name, "./patterns/plate")
	build.Dir = ".."
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("the command does not build: %v\n%s", err, out)
	}
	return name
}

// file is the PNG that the command writes of a state.
func file(t *testing.T, command, query string, size image.Point) *image.RGBA {
	t.Helper()
	name := filepath.Join(t.TempDir(), "plate.png")
	if out, err := exec.Command(command, "-size", fmt.Sprintf("%dx%d", size.X, size.Y), "-o", name, query).CombinedOutput(); err != nil {
		t.Fatalf("%s: %v\n%s", query, err, out)
	}
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	m, err := png.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	dst := image.NewRGBA(m.Bounds())
	draw.Draw(dst, dst.Rect, m, image.Point{}, draw.Src)
	return dst
}

// plate waits until a pattern is on the canvas, puts the line away, and returns the query that the page tells and what is seen.
func (w *window) plate(want string) (query string, seen *image.RGBA) {
	w.t.Helper()
	const told = `document.body.dataset.plate || ""`
	w.eventually(want, func() bool { return strings.HasPrefix(eval[string](w, told), "pattern="+want) })
	if w.text("#bar") != "" {
		w.key("KeyH")
	}
	w.eventually("the line to go", func() bool { return w.text("#bar") == "" })
	return eval[string](w, told), w.canvas(w.now())
}

// What a file holds and what a screen shows of the same pattern is the same, pixel for pixel, over the whole window.
func TestPlates(t *testing.T) {
	t.Parallel()
	for _, ratio := range []float64{1, 1.5} {
		t.Run(fmt.Sprint(ratio), func(t *testing.T) {
			t.Parallel()
			w := open(t, room{width: int(641 * ratio), height: int(523 * ratio), ratio: ratio})
			command := plateCommand(t)
			same := func(want string) {
				t.Helper()
				query, seen := w.plate(want)
				size := seen.Rect.Size()
				if whole := w.shot().Rect.Size(); size != whole || size.X < int(641*ratio) || size.Y < int(523*ratio) {
					t.Fatalf("%s fills %v of a window of %v", query, size, whole)
				}
				if d := differ(seen, file(t, command, query, size), seen.Rect); d != "" {
					t.Errorf("%s: %s", query, d)
				}
			}
			// By a link, with levels far from the usual ones.
			const link = "match&plain=127&lit=2of3&lines=columns&dark=20&light=240&channel=green&ground=97&side=left&degree=60"
			w.do(chromedp.Navigate(site + "/pattern?pattern=" + link))
			same(link)
			w.key("Escape")
			// From the list, moved by keys.
			for _, name := range plates.Names() {
				w.click(fmt.Sprintf("[data-action=show][data-id=%s]", name))
				w.plate(name)
				usual, _ := plates.Usual(name)
				w.key("ArrowUp")
				moved := usual.Step(0, true)
				w.eventually("the first level to move", func() bool { return eval[string](w, "document.body.dataset.plate") == moved.Query() })
				w.key("ArrowLeft")
				w.key("ArrowUp")
				moved = moved.Step(len(moved.Levels())-1, true)
				same(strings.TrimPrefix(moved.Query(), "pattern="))
				if name == "black" {
					w.eventually("the address to say so", func() bool { return eval[string](w, "location.search") == "?"+moved.Query() })
				}
				w.key("Escape")
				w.eventually("the list", func() bool { return strings.Contains(w.text("#stage h1"), "Patterns") })
			}
			if left := eval[string](w, "location.pathname + location.search + document.body.dataset.plate"); left != "/pattern" {
				t.Errorf("after the last pattern the page is %s", left)
			}
			if kept := eval[int](w, `indexedDB.databases().then(l => Promise.all(l.map(d => new Promise(done => {
				const open = indexedDB.open(d.name);
				open.onsuccess = () => {
					const names = [...open.result.objectStoreNames];
					if (!names.length) return done(0);
					const all = open.result.transaction(names);
					let n = 0;
					for (const s of names) all.objectStore(s).count().onsuccess = e => n += e.target.result;
					all.oncomplete = () => { open.result.close(); done(n) };
				};
			})))).then(l => l.reduce((a, b) => a + b, 0) + localStorage.length)`); kept != 0 {
				t.Errorf("%d things are kept in the browser", kept)
			}
		})
	}
}

// A finger moves a pattern by the buttons of the line, which a touch on the canvas brings and puts away.
func TestPlateTouched(t *testing.T) {
	t.Parallel()
	w := open(t, room{width: 412, height: 732, ratio: 1, touch: true})
	w.do(chromedp.Navigate(site + "/pattern?pattern=black"))
	w.plate("black&patch=8&cell=5&ground=0")
	w.finger(200, 300)
	w.eventually("the line", func() bool { return strings.Contains(w.text("#bar"), "Near black") })
	w.press("raise")
	w.eventually("a lighter patch", func() bool {
		return eval[string](w, "document.body.dataset.plate") == "pattern=black&patch=9&cell=5&ground=0"
	})
	w.press("other")
	w.press("lower")
	w.eventually("another cell", func() bool {
		return eval[string](w, "document.body.dataset.plate") == "pattern=black&patch=9&cell=4&ground=0"
	})
	if link := eval[string](w, "document.querySelector('[data-link]').value"); link != site+"/pattern?pattern=black&patch=9&cell=4&ground=0" {
		t.Errorf("the link is %s", link)
	}
	w.press("copy")
	w.eventually("what became of copying", func() bool {
		return strings.Contains(w.text("#said"), "clipboard") || strings.Contains(w.text("#said"), "address")
	})
	w.key("ArrowUp") // the keyboard is not left in the link
	w.eventually("the cell again", func() bool {
		return eval[string](w, "document.body.dataset.plate") == "pattern=black&patch=9&cell=5&ground=0"
	})
	w.finger(200, 300)
	w.eventually("the line to go", func() bool { return w.text("#bar") == "" })
	w.finger(200, 300)
	w.press("leave")
	w.eventually("the list", func() bool { return strings.Contains(w.text("#stage h1"), "Patterns") })
}

// A link that names nothing that there is, and pixels that are not the screen's own, are answered in words and with no pattern.
func TestPlateRefused(t *testing.T) {
	t.Parallel()
	w := open(t, room{})
	w.do(chromedp.Navigate(site + "/pattern?pattern=black&patch=99"))
	w.in("plate")
	w.eventually("the reason", func() bool {
		return strings.Contains(w.text("#stage"), `Patch of black cannot be "99"; it takes 0 to 64.`)
	})
	w.do(chromedp.Navigate(site + "/pattern?pattern=black&patch=9&patch=8"))
	w.eventually("the reason", func() bool { return strings.Contains(w.text("#stage"), `"patch" is given 2 times.`) })
	w.press("leave")
	w.click("[data-action=show][data-id=steps]")
	w.plate("steps")
	w.run(`document.getElementById("field").style.opacity = "0.99"`)
	w.key("ArrowUp") // no event tells of a style; a key makes the program look
	w.eventually("the reason", func() bool { return strings.Contains(w.text("#stage"), "opacity 0.99") })
	if up := eval[string](w, `document.body.dataset.plate + document.body.dataset.over`); up != "" {
		t.Errorf("the pattern stays: %s", up)
	}
	w.run(`document.getElementById("field").style.opacity = ""; window.dispatchEvent(new Event("resize"))`)
	w.plate("steps")
}
