//go:build !js

package main_test

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"image"
	"image/jpeg"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/chromedp"

	"example.org/plumb/colour"
	"example.org/plumb/colour/difference"
	"example.org/plumb/colour/display"
	"example.org/plumb/colour/transfer"
	"example.org/plumb/testdata"
	"example.org/plumb/web/picture/picturetest"
	"example.org/plumb/web/record"
	"example.org/plumb/web/worker/workertest"
)

// photographs writes pictures into a folder: the six photographs of testdata, with every orientation and with profiles, and a TIFF made of one of them. It returns
// their paths.
func photographs(t *testing.T) []string {
	t.Helper()
	dir := t.TempDir()
	plain := func(name string) []byte {
		b, err := fs.ReadFile(testdata.Photos, "photos/"+name)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	deep, err := jpeg.Decode(bytes.NewReader(plain("coffee.jpg")))
	if err != nil {
		t.Fatal(err)
	}
	var list []string
	for _, p := range []struct {
		name string
		file []byte
	}{
		{"cat.jpg", picturetest.Embed(plain("cat.jpg"), picturetest.SRGB.Bytes(), 6)},
		{"dusk.jpg", picturetest.Embed(plain("dusk.jpg"), nil, 3)},
		{"coffee.jpg", picturetest.Embed(plain("coffee.jpg"), picturetest.DisplayP3.Bytes(), 5)},
		{"retina.jpg", picturetest.Embed(plain("retina.jpg"), picturetest.SRGB.Bytes(), 8)},
		{"stars.jpg", picturetest.Embed(plain("stars.jpg"), picturetest.SRGB.Bytes(), 2)},
		{"brick.png", picturetest.Embed(plain("brick.png"), nil, 7)},
		{"coffee.tif", picturetest.Deep(deep, picturetest.DisplayP3.Bytes(), 4)},
		{"plain cat.jpg", picturetest.Embed(plain("cat.jpg"), nil, 1)},
	} {
		name := filepath.Join(dir, p.name)
		if err := os.WriteFile(name, p.file, 0o600); err != nil {
			t.Fatal(err)
		}
		list = append(list, name)
	}
	return list
}

// proves fills in a proof on the page /proof, and returns its link.
func (w *window) proves(at string, files []string, a *album) string {
	w.t.Helper()
	w.do(chromedp.Navigate(at + "/proof"))
	w.in("proof")
	w.do(chromedp.SetUploadFiles(chromedp.CSS("input[name=pictures]"), files))
	w.eventually("every picture is taken", func() bool {
		return eval[int](w, `document.querySelectorAll("#pictures ol.plates > li").length`) == len(files) && eval[int](w, `document.querySelectorAll("#pictures progress").length`) == 0
	})
	w.fill("title", "Orchard catalogue, spread 4")
	w.fill("note", "Please look at the shadows in the barn.")
	w.fill("from", "Tomas")
	w.click("[name=needs][value='light and shade']")
	w.fits("the page of a proof")
	a.whole("proof")
	w.press("make")
	w.in("made")
	w.saying("#stage h1", "The link is ready")
	link := eval[string](w, `document.querySelector("[data-link]").value`)
	if !strings.HasPrefix(link, at+"/r#1.") {
		w.t.Fatalf("the link is %q", link)
	}
	return link
}

// decoded is the pixels of a file as a browser shows it on an sRGB page, in a tab of its own where nothing lies over it.
func decoded(w *window, site, file string) *image.RGBA {
	w.t.Helper()
	b, err := os.ReadFile(file)
	w.check(err)
	type pixels struct {
		Width, Height int
		Pix           string
	}
	p := eval[pixels](w, fmt.Sprintf(`(async () => {
		const bytes = Uint8Array.from(atob(%q), c => c.charCodeAt(0));
		const i = await createImageBitmap(new Blob([bytes]));
		const c = new OffscreenCanvas(i.width, i.height), x = c.getContext("2d");
		x.drawImage(i, 0, 0);
		const d = x.getImageData(0, 0, i.width, i.height).data;
		let text = "";
		for (let n = 0; n < d.length; n += 32768) text += String.fromCharCode(...d.subarray(n, n + 32768));
		return {width: i.width, height: i.height, pix: btoa(text)};
	})()`, base64.StdEncoding.EncodeToString(b)))
	pix, err := base64.StdEncoding.DecodeString(p.Pix)
	w.check(err)
	if len(pix) != 4*p.Width*p.Height {
		w.t.Fatalf("%s came out as %d bytes of %d x %d pixels", filepath.Base(file), len(pix), p.Width, p.Height)
	}
	return &image.RGBA{Pix: pix, Stride: 4 * p.Width, Rect: image.Rect(0, 0, p.Width, p.Height)}
}

// lostTo is the share of a picture that is lost in shadows on a screen that shows codes up to last as black and is sound besides: pixels that touch another from
// which they differ, both black. It is worked out pixel by pixel.
func lostTo(m *image.RGBA, last uint8) float64 {
	at := func(x, y int) (v uint32, top uint8) {
		p := m.Pix[m.PixOffset(x, y):]
		return uint32(p[0]) | uint32(p[1])<<8 | uint32(p[2])<<16, max(p[0], p[1], p[2])
	}
	n := 0
	for y := range m.Rect.Dy() {
		for x := range m.Rect.Dx() {
			v, top := at(x, y)
			lost := false
			for dy := -1; dy <= 1 && top <= last; dy++ {
				for dx := -1; dx <= 1; dx++ {
					if !image.Pt(x+dx, y+dy).In(m.Rect) {
						continue
					}
					if u, beside := at(x+dx, y+dy); u != v && beside <= last {
						lost = true
					}
				}
			}
			if lost {
				n++
			}
		}
	}
	return float64(n) / float64(m.Rect.Dx()*m.Rect.Dy())
}

// easel is what the easel shows, in device pixels.
func (w *window) easel() *image.RGBA {
	w.t.Helper()
	w.run(`window.scrollTo({top: 0, behavior: "instant"}); document.activeElement?.blur()`)
	time.Sleep(500 * time.Millisecond)
	all := w.shot()
	b := eval[[]float64](w, `(() => {const r = document.getElementById("easel").getBoundingClientRect(); return [r.left, r.top, r.right, r.bottom].map(v => v * devicePixelRatio)})()`)
	r := image.Rect(int(math.Ceil(b[0])), int(math.Ceil(b[1])), int(b[2]), int(b[3]))
	if !r.In(all.Rect) || r.Empty() {
		w.t.Fatalf("the easel is at %v of a window of %v", r, all.Rect)
	}
	return all.SubImage(r).(*image.RGBA)
}

// bare shows a picture pixel for pixel with no hatch over it, and returns what the easel shows.
func (w *window) bare(i int, name string) *image.RGBA {
	w.t.Helper()
	w.run(fmt.Sprintf(`document.querySelector("[data-action=picture][data-id='%d']").click()`, i))
	w.hangs(name)
	w.press("full")
	if eval[bool](w, `document.querySelector("[data-action=hatch]")?.getAttribute("aria-pressed") === "true"`) {
		w.press("hatch")
	}
	return w.easel()
}

// apart is the mean CIEDE2000 between what two shots of an easel look like in size pixels around its middle, each through the tone curve of the screen that it is seen on and relative to its white.
func apart(size image.Point, a *image.RGBA, on transfer.Function, b *image.RGBA, onB transfer.Function) float64 {
	lab := func(m *image.RGBA, x, y int, f transfer.Function) colour.Lab {
		p := m.Pix[m.PixOffset(x, y):]
		l := func(c uint8) float64 { return f.Light(float64(c) / 255) }
		return colour.SRGB.Matrix().Apply(colour.XYZ{X: l(p[0]), Y: l(p[1]), Z: l(p[2])}).Lab(colour.SRGB.White())
	}
	// The middles of both lie over each other.
	half := image.Pt(min(size.X, a.Rect.Dx(), b.Rect.Dx())/2, min(size.Y, a.Rect.Dy(), b.Rect.Dy())/2)
	p, q := a.Rect.Min.Add(a.Rect.Size().Div(2)), b.Rect.Min.Add(b.Rect.Size().Div(2))
	sum, n := 0.0, 0
	for y := -half.Y; y < half.Y; y += 2 {
		for x := -half.X; x < half.X; x += 2 {
			sum += difference.CIEDE2000(lab(a, p.X+x, p.Y+y, on), lab(b, q.X+x, q.Y+y, onB))
			n++
		}
	}
	return sum / float64(n)
}

// hangs waits until a picture hangs on the easel and what the screen hides of it is said.
func (w *window) hangs(name string) {
	w.t.Helper()
	w.saying("#tools", name)
	w.eventually("the picture is on the easel", func() bool {
		return eval[bool](w, `document.querySelectorAll("#easel img").length > 0 && !document.querySelector("#loading progress")`)
	})
}

// afresh opens a link of the site once more, as in a browser that was closed meanwhile: the page that had it before is gone, and has let go of its pictures. The same link
// again would only be another place of the same page.
func (w *window) afresh(link string) {
	w.t.Helper()
	w.do(chromedp.Navigate(site + "/healthz"))
	w.eventually("the page before has let go of its pictures", func() bool {
		return eval[bool](w, `navigator.locks.query().then((l) => !l.held.some((h) => h.name.includes("pictures")))`)
	})
	w.do(chromedp.Navigate(link))
}

// approves says yes to the picture in sight, twice.
func (w *window) approves() {
	w.t.Helper()
	w.press("approve")
	w.press("covers-yes")
	w.saying("#decide", "Approved")
}

// savedAs waits for a file that a window saves when its button is pressed.
func (w *window) savedAs(press func(), pattern string) []byte {
	w.t.Helper()
	dir := w.t.TempDir()
	_, err := chromedp.CallBrowser(w.ctx, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{Behavior: browser.SetDownloadBehaviorBehaviorAllow, DownloadPath: dir})
	w.check(err)
	press()
	var text []byte
	w.eventually("a file is saved", func() bool {
		list, _ := filepath.Glob(filepath.Join(dir, pattern))
		if len(list) != 1 {
			return false
		}
		text, err = os.ReadFile(list[0])
		return err == nil && len(text) > 0
	})
	return text
}

// A whole round of a proof over a server that keeps its mailbox on disk: eight pictures, of every orientation, some with profiles and one a TIFF, go to somebody whose
// screen crushes blacks. The check finds that, and what the record says is hidden is what the crush hides, counted pixel by pixel. The desk shows the picture as it was
// seen, and both sides hold the same record, which the server's own command finds to stand.
func TestProof(t *testing.T) {
	t.Parallel()
	s := newServer(t)
	asker := open(t, room{width: 1440, height: 900})
	heardAsker := listenWhole(asker)
	files := photographs(t)
	desk, view := &album{w: asker, name: "proof-desk"}, &album{name: "proof-view"}
	link := asker.proves(s.site, files, desk)
	desk.whole("made")

	other := open(t, room{width: 1440, height: 900, seed: 1, scripts: []string{darkened()}})
	view.w = other
	heardOther := listenWhole(other)
	other.do(chromedp.Navigate(link))
	other.in("asked")
	view.whole("asked")
	for _, text := range []string{"Tomas", "Orchard catalogue, spread 4", "the shadows in the barn", "coffee.tif", "light and shade"} {
		other.saying("#stage", text)
	}
	other.fits("the page of who is asked to decide")
	other.press("begin")
	other.in("prepare")
	other.fill("screen", "kitchen laptop")
	other.fill("viewer", "Ines of the packing room")
	v := seat(t, "expert", display.Default(), 1)
	for other.turn(v).Stage != "report" {
	}
	r, _ := other.record()
	if len(r.Void) > 0 || r.Conditions.Screen != "kitchen laptop" {
		t.Fatalf("the sitting is void (%v) or another: %+v", r.Void, r.Conditions)
	}
	if n := heardOther.to("PUT", "/letters/"); n != 0 {
		t.Errorf("%d letters were sent before anything was decided", n)
	}
	view.whole("report")
	other.press("onward")
	other.in("view")
	other.hangs("cat.jpg")
	other.fits("the pictures")

	// Nothing hidden is over the first picture when the shot is taken, and nothing lies on it.
	names := []string{}
	for i := range files {
		names = append(names, filepath.Base(files[i]))
		other.hangs(names[i])
		other.eventually("what the screen hides is found", func() bool { return !strings.Contains(other.text("#hides"), "Working out") })
		if i == 0 {
			other.saying("#hides", "%")
		}
		if i+1 < len(files) {
			other.press("picture-on")
		}
	}
	seen := []int{1, 4} // one of lights, one that is mostly dark
	var theirs []*image.RGBA
	for _, i := range seen {
		theirs = append(theirs, other.bare(i, names[i]))
	}
	other.fits("the pictures with what is hidden")
	other.press("fit")
	other.press("hatch")
	view.keep("hatched")
	typist{other}.turns("[data-action=hatch]", "#hides [data-action=hides]")

	// Undecided until the last one is, and never by default.
	if text := other.text("#signing"); !strings.Contains(text, "decide") && !strings.Contains(text, "decision") {
		t.Errorf("before anything is decided, signing says %q", text)
	}
	for i := range files {
		other.run(fmt.Sprintf(`document.querySelector("[data-action=picture][data-id='%d']").click()`, i))
		other.hangs(names[i])
		if i != 2 {
			other.approves()
			continue
		}
		other.press("note")
		other.press("note-middle")
		other.fill("note-text", "The rim of the cup is too warm.")
		other.press("note-done")
		other.saying("#notes", "too warm")
		other.press("changes")
		other.saying("#decide", "Changes asked")
	}
	view.keep("noted")
	other.press("changes-all")
	other.fill("name", "Ines of the packing room")
	other.press("sign")
	if n := heardOther.to("PUT", "/letters/"); n != 0 {
		t.Errorf("%d letters were sent before it was signed", n)
	}
	asker.press("desk")
	asker.in("desk")
	asker.saying("#requests", "Open until")
	asker.run(`window.dispatchEvent(new Event("focus"))`)
	other.press("sign-yes")
	other.saying("#signed", "Delivered")
	began := time.Now()
	asker.eventually("the decision on the desk", func() bool { return strings.Contains(asker.text("#requests"), "Changes asked") })
	took := time.Since(began)
	t.Logf("the desk showed the decision after %v", took)
	if *times && took > 2*time.Second {
		t.Errorf("the desk showed the decision after %v", took)
	}
	other.fits("the record")
	asker.fits("the desk with a decision")
	view.whole("record")
	desk.whole("desk")

	// Both hold the same record, and it stands.
	text := other.savedAs(func() { other.press("save-record") }, "*.txt")
	if same := asker.savedAs(func() { asker.press("save-record") }, "*.txt"); !bytes.Equal(text, same) {
		t.Error("the two sides hold different records")
	}
	rec, err := record.Read(text)
	if err != nil {
		t.Fatal(err)
	}
	if rec.Whole != record.Changes || rec.Pictures[2].Decision != record.Changes || rec.Pictures[0].Decision != record.Approved || rec.Name != "Ines of the packing room" {
		t.Errorf("the record says %+v", rec.Statement)
	}
	if rec.Screen.Name != "kitchen laptop" || rec.Fits() {
		t.Errorf("the screen of the record is %+v, should not be fit for light and shade", rec.Screen)
	}
	file := filepath.Join(t.TempDir(), "record.txt")
	if err := os.WriteFile(file, text, 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args  []string
		right bool
	}{{append([]string{file}, files...), true}, {[]string{file, filepath.Join("..", "go.mod")}, false}} {
		out, err := exec.Command(s.program, append([]string{"verify"}, c.args...)...).CombinedOutput()
		if (err == nil) != c.right {
			t.Errorf("verify %v: %v\n%s", c.args, err, out)
		}
	}

	// What is hidden is what the crush hides.
	look := open(t, room{})
	look.do(chromedp.Navigate(s.site + "/check"))
	look.in("prepare")
	hidden := func(j record.Judged, what string) (record.Hidden, bool) {
		for _, h := range j.Hidden {
			if h.What == what {
				return h, true
			}
		}
		return record.Hidden{}, j.HiddenKnown
	}
	most := 0.0
	for i, name := range files {
		if strings.HasSuffix(name, ".tif") { // no browser shows it; it went as another file
			continue
		}
		m := decoded(look, s.site, name)
		if q := rec.Asked.Pictures[i]; q.Width != m.Rect.Dx() || q.Height != m.Rect.Dy() {
			t.Errorf("%s is asked about as %d x %d and shown as %v", names[i], q.Width, q.Height, m.Rect.Size())
		}
		want := lostTo(m, crushed)
		h, ok := hidden(rec.Pictures[i], "shadows")
		if !ok {
			t.Errorf("what is hidden of %s is not known", names[i])
			continue
		}
		got := float64(h.At) / 1000
		t.Logf("%s: %.1f %% of it is lost in shadows, the record says %.1f (%.1f to %.1f)", names[i], 100*want, 100*got, float64(h.Lo)/10, float64(h.Hi)/10)
		if math.Abs(got-want) > 0.015 {
			t.Errorf("%s: %.3f is lost in shadows, the record says %.3f", names[i], want, got)
		}
		most = max(most, want)
	}
	if most < 0.05 {
		t.Errorf("no picture has much in shadows (%.3f at most): nothing is shown", most)
	}

	// As they saw it.
	asker.run(`[...document.querySelectorAll("#requests [data-action=seen]")].find(b => b.dataset.id.endsWith("#1")).click()`)
	asker.in("seen")
	for k, i := range seen {
		asker.run(fmt.Sprintf(`document.querySelector("[data-action=picture][data-id='%d']").click()`, i))
		asker.hangs(names[i])
		asker.eventually("the view of it", func() bool { return eval[int](asker, `document.querySelectorAll("#easel img").length`) == 2 })
		asker.fits("as they saw it")
		desk.keep("seen-" + names[i])
		asker.run(`const d = document.querySelector("[name=divider]"); d.value = 0; d.dispatchEvent(new Event("input", {bubbles: true}))`)
		ours := asker.bare(i, names[i])
		q := rec.Asked.Pictures[i]
		d := apart(image.Pt(q.Width-4, q.Height-4), theirs[k], transfer.Power(2.2), ours, transfer.SRGB{})
		t.Logf("%s as they saw it is %.2f from what they saw, in the mean", names[i], d)
		if d > 1.5 {
			t.Errorf("%s as they saw it is %.2f from what they saw, in the mean", names[i], d)
		}
	}

	secrets := asker.secrets()
	for _, name := range names {
		secrets[name] = []byte(name)
	}
	silent(t, "the asker", s.site, heardAsker, secrets)
	silent(t, "the other", s.site, heardOther, secrets)
}

// The shortest whole round over the worker: looked at unchecked, approved, and a second version after it.
func TestProofWorker(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("needs a browser")
	}
	h, err := workertest.Start("..", nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(h.Stop)
	asker, other := open(t, room{width: 1440, height: 900}), open(t, room{width: 780, height: 1688, ratio: 2, touch: true})
	heardAsker, heardOther := listenWhole(asker), listenWhole(other)
	files := photographs(t)[:6]
	link := asker.proves(h.Origin, files, &album{w: asker, name: "worker"})
	phone := &album{w: other, name: "proof-phone"}
	asker.press("desk")
	asker.in("desk")
	other.do(chromedp.Navigate(link))
	other.in("asked")
	phone.whole("asked")
	other.press("unchecked")
	other.in("view")
	for i, name := range files {
		other.run(fmt.Sprintf(`document.querySelector("[data-action=picture][data-id='%d']").click()`, i))
		other.hangs(filepath.Base(name))
		other.approves()
	}
	other.press("approve-all")
	other.fill("name", "Ines of the packing room")
	other.fits("the pictures on a phone")
	phone.keep("view")
	phone.whole("view-whole")
	other.press("sign")
	other.press("sign-yes")
	other.saying("#signed", "Delivered")
	asker.run(`window.dispatchEvent(new Event("focus"))`)
	asker.saying("#requests", "Approved")
	asker.saying("#requests", "unchecked screen")
	text := other.savedAs(func() { other.press("save-record") }, "*.txt")
	rec, err := record.Read(text)
	if err != nil {
		t.Fatal(err)
	}
	if rec.Whole != record.Approved || rec.Screen.Report != [32]byte{} || rec.Fits() {
		t.Errorf("the record says %+v", rec.Statement)
	}
	secrets := asker.secrets()
	silent(t, "the asker", h.Origin, heardAsker, secrets)
	silent(t, "the other", h.Origin, heardOther, secrets)
}
