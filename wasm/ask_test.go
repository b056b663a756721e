//go:build !js

package main_test

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"example.org/plumb/.ci/browse"
	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/report"
	"example.org/plumb/web/worker/workertest"
)

// A server is one of a test's own, which may be stopped and started again at the same address, over the same data.
type server struct {
	t       *testing.T
	program string
	data    string
	addr    string // 127.0.0.1:0 until it was started
	site    string
	running *browse.Server
}

// newServer builds a server with a mailbox on disk, by go build with more flags where they are given, and starts it.
func newServer(t *testing.T, flags ...string) *server {
	t.Helper()
	s := &server{t: t, program: buildServer(t, flags...), data: filepath.Join(t.TempDir(), "data"), addr: "127.0.0.1:0"}
	s.start()
	t.Cleanup(s.stop)
	return s
}

func buildServer(t *testing.T, flags ...string) string {
	t.Helper()
	if testing.Short() {
		t.Skip("needs a browser")
	}
	program, err := browse.Build(t.Context(), "..", t.TempDir(), flags...)
	if err != nil {
		t.Fatal(err)
	}
	return program
}

// exported writes the site into a folder and has it served as nothing but files. It returns the address.
func exported(t *testing.T) string {
	t.Helper()
	folder := filepath.Join(t.TempDir(), "site")
	c := exec.Command(buildServer(t), "-export", folder)
	c.Dir = ".."
	browse.Bind(c)
	if out, err := c.CombinedOutput(); err != nil {
		t.Fatalf("the site is not written: %v\n%s", err, out)
	}
	host := httptest.NewServer(http.FileServer(http.Dir(folder)))
	t.Cleanup(host.Close)
	return host.URL
}

func (s *server) start() {
	s.t.Helper()
	running, err := browse.Serve("..", s.program, "-addr", s.addr, "-data", s.data)
	if err != nil {
		s.t.Fatal(err)
	}
	s.running, s.site = running, running.Site
	s.addr = strings.TrimPrefix(s.site, "http://")
}

func (s *server) stop() {
	if s.running != nil {
		s.running.Stop()
		s.running = nil
	}
}

// A tap writes down every request that a browser makes, whole.
type tap struct {
	sync.Mutex
	list []taken
}

type taken struct {
	method, address, headers string
	body                     []byte
}

func listenWhole(w *window) *tap {
	w.t.Helper()
	p := new(tap)
	w.check(chromedp.Listen(w.ctx, func(ev any) {
		if e, ok := ev.(*network.EventRequestWillBeSent); ok {
			headers, _ := json.Marshal(e.Request.Headers)
			r := taken{method: e.Request.Method, address: e.Request.URL, headers: string(headers)}
			for _, part := range e.Request.PostDataEntries {
				r.body = append(r.body, part.Bytes...)
			}
			p.Lock()
			p.list = append(p.list, r)
			p.Unlock()
		}
	}))
	_, err := chromedp.Call(w.ctx, network.Enable, network.EnableParams{MaxPostDataSize: new(int64(1 << 20))})
	w.check(err)
	return p
}

// all is what was taken so far.
func (p *tap) all() []taken {
	p.Lock()
	defer p.Unlock()
	return append([]taken(nil), p.list...)
}

// to counts the requests of a method, or of all where it is empty, whose address holds a part.
func (p *tap) to(method, part string) int {
	n := 0
	for _, r := range p.all() {
		if (method == "" || r.method == method) && strings.Contains(r.address, part) {
			n++
		}
	}
	return n
}

// tells is where in a request a secret stands, plain or written in one of the ways in which programs write bytes; empty where it does not. The first two bytes of
// text in base64 depend on what stands before it: three cuttings of it are looked for.
func (r taken) tells(secret []byte) string {
	ways := [][]byte{secret, []byte(url.QueryEscape(string(secret))), []byte(url.PathEscape(string(secret)))}
	for cut := range 3 {
		if len(secret) > 8+cut {
			b := secret[cut:]
			b = b[:len(b)/3*3]
			ways = append(ways, []byte(base64.RawURLEncoding.EncodeToString(b)), []byte(base64.StdEncoding.EncodeToString(b)))
		}
	}
	for where, text := range map[string][]byte{"address": []byte(r.address), "header": []byte(r.headers), "body": r.body} {
		for _, s := range ways {
			if bytes.Contains(text, s) {
				return where
			}
		}
	}
	return ""
}

func TestTapSees(t *testing.T) {
	secret := []byte("kitchen laptop\x00\xff")
	for _, r := range []taken{
		{body: append([]byte("a"), secret...)},
		{address: "http://127.0.0.1/?q=" + url.QueryEscape(string(secret))},
		{body: []byte(base64.StdEncoding.EncodeToString(append([]byte("x"), secret...)))},
		{headers: `{"a":"` + base64.RawURLEncoding.EncodeToString(append([]byte("xy"), secret...)) + `"}`},
	} {
		if r.tells(secret) == "" {
			t.Errorf("%+v is not seen to tell %q", r, secret)
		}
	}
	if r := (taken{address: "http://127.0.0.1/check", body: []byte("kitchen")}); r.tells(secret) != "" {
		t.Error("what is not told is seen")
	}
}

// silent checks that a browser asked nobody but the site, and told it none of the words and keys.
func silent(t *testing.T, who, site string, p *tap, secrets map[string][]byte) {
	t.Helper()
	list := p.all()
	if len(list) < 5 || len(secrets) < 5 {
		t.Fatalf("%s: %d requests and %d secrets: too few to judge by", who, len(list), len(secrets))
	}
	for _, r := range list {
		if !strings.HasPrefix(r.address, site+"/") && !strings.HasPrefix(r.address, "blob:"+site+"/") && !strings.HasPrefix(r.address, "data:") {
			t.Errorf("%s asked for %s", who, r.address)
		}
		for name, secret := range secrets {
			if where := r.tells(secret); where != "" {
				t.Errorf("%s told %s in the %s of %s %s", who, name, where, r.method, r.address)
			}
		}
	}
}

// secrets is what must not be told: the words, and the keys that a browser keeps. The right to a box is shown to the server that keeps the box, by an owner alone.
func (w *window) secrets() map[string][]byte {
	w.t.Helper()
	list := map[string][]byte{}
	for _, s := range []string{"Orchard catalogue", "shadows in the barn", "Tomas", "kitchen laptop", "Ines of the packing room"} {
		list[s] = []byte(s)
	}
	for _, row := range w.kept("requests") {
		var r struct {
			Secret, Seed []byte
			Ask          struct{ ID []byte }
		}
		w.check(json.Unmarshal([]byte(row), &r))
		if len(r.Secret) != 32 {
			w.t.Fatalf("a request without a secret: %s", row)
		}
		list["the owner's secret"] = r.Secret
		if len(r.Seed) > 0 {
			list["the link's seed"] = r.Seed
		}
	}
	return list
}

// kept is the rows of a drawer of the browser's storage.
func (w *window) kept(drawer string) []string {
	w.t.Helper()
	return eval[[]string](w, fmt.Sprintf(`new Promise((done, failed) => {
		const q = indexedDB.open("plumb");
		q.onerror = () => failed(q.error);
		q.onsuccess = () => { const a = q.result.transaction(%q).objectStore(%[1]q).getAll(); a.onsuccess = () => { q.result.close(); done(a.result) } };
	})`, drawer))
}

// fill types into a field, as far as the program can tell.
func (w *window) fill(name, value string) {
	w.t.Helper()
	w.find(fmt.Sprintf("[name=%q]", name))
	w.run(fmt.Sprintf(`const f = document.querySelector('[name=%q]'); f.focus(); f.value = %s; f.dispatchEvent(new Event("input", {bubbles: true}))`, name, quoted([]byte(value))))
}

// saying waits until an element says something.
func (w *window) saying(selector, text string) {
	w.t.Helper()
	w.eventually(fmt.Sprintf("%s says %q", selector, text), func() bool { return strings.Contains(w.text(selector), text) })
}

// makes fills in a request on the page /ask, and returns its link.
func (w *window) makes(at string) string {
	w.t.Helper()
	w.do(chromedp.Navigate(at + "/ask"))
	w.in("ask")
	w.fill("title", "Orchard catalogue, spread 4")
	w.fill("note", "Before we talk about the shadows in the barn.")
	w.fill("from", "Tomas")
	w.click("[name=length][value=short]")
	w.fits("the page of a request")
	w.press("make")
	w.in("made")
	w.saying("#stage h1", "The link is ready")
	w.fits("the page of a link")
	link := eval[string](w, `document.querySelector("[data-link]").value`)
	if !strings.HasPrefix(link, at+"/r#1.") {
		w.t.Fatalf("the link is %q", link)
	}
	return link
}

// prepares goes from a link to the sitting's preparation, and fills in who looks at what.
func (w *window) prepares(link string) {
	w.t.Helper()
	w.do(chromedp.Navigate(link))
	w.in("asked")
	for _, s := range []string{"Tomas asks you", "Orchard catalogue, spread 4", "the shadows in the barn", "About 4 minutes", "What is sent, and where", "What is not"} {
		w.saying("#stage", s)
	}
	w.fits("the page of who is asked")
	w.press("begin")
	w.in("prepare")
	w.saying("#stage", "asked by Tomas")
	w.fill("screen", "kitchen laptop")
	w.fill("viewer", "Ines of the packing room")
}

// ends ends a sitting early, with a report.
func (w *window) ends() {
	w.t.Helper()
	if w.wait(`n.mark !== "" || n.stage === "intro"`).Stage == "sitting" {
		w.key("Escape")
		w.in("paused")
	}
	w.press("stop")
	w.in("report")
}

// A whole round over a server that keeps its mailbox on disk: asked at a desk, answered on a phone, with the server down when the answer is sent. Nothing is lost, it
// is delivered once, and the desk shows it within two seconds. Nobody else is asked for anything, and the server learns neither a word nor a key.
func TestAsk(t *testing.T) {
	t.Parallel()
	s := newServer(t)
	asker := open(t, room{width: 1440, height: 900})
	heardAsker := listenWhole(asker)
	link := asker.makes(s.site)
	asker.press("desk")
	asker.in("desk")
	asker.saying("#requests", "Open until")

	other := open(t, room{width: 780, height: 1688, ratio: 2, touch: true}) // without a seed: the names of letters must differ after a reload
	heardOther := listenWhole(other)
	other.prepares(link)
	v := seat(t, "expert", display.Default(), 71)
	v.answer = func(w *window, p presentation, key string) { w.point(p, key, w.finger) }
	for other.turn(v).Stage != "report" {
	}
	r, record := other.record()
	if len(r.Void) > 0 || r.Conditions.Screen != "kitchen laptop" || r.Plan.Length != "short" {
		t.Fatalf("the sitting is void (%v) or another: %+v", r.Void, r.Conditions)
	}
	other.saying("#sending", "Nothing of it has left this browser")
	other.press("sending")
	other.saying("#sending", "Send this report to Tomas?")
	other.fits("the report with the choice to send it")
	if n := heardOther.to("PUT", "/letters/"); n != 0 {
		t.Errorf("%d letters were sent before Send was pressed", n)
	}

	s.stop()
	other.click("[name=whole][value=yes]")
	other.press("send")
	other.saying("#sending", "cannot be reached")
	other.saying("#sending", "kept in this browser")
	if n := len(other.kept("replies")); n != 1 {
		t.Errorf("%d answers are kept in the browser, should be 1", n)
	}
	s.start()
	other.do(chromedp.Reload()) // the page is loaded anew, and tries by itself
	other.in("asked")
	other.saying("#stage", "Sent")
	// Awake again, the desk finds the server.
	asker.run(`window.dispatchEvent(new Event("focus"))`)
	began := time.Now()
	asker.eventually("the answer on the desk", func() bool { return strings.Contains(asker.text("#requests"), "Kitchen laptop") })
	took := time.Since(began)
	t.Logf("the desk showed the answer after %v", took)
	if *times && took > 2*time.Second {
		t.Errorf("the desk showed the answer after %v", took)
	}
	asker.saying("#requests", "New")
	asker.fits("the desk with an answer")
	asker.press("read")
	asker.in("report")
	if _, b := asker.record(); !bytes.Equal(b, record) {
		t.Error("the record on the desk is not the bytes that the other browser made")
	}
	asker.press("desk")
	asker.in("desk")

	// While the desk is open and fresh: a second answer, without judgements, comes by itself.
	other.press("open")
	other.in("report")
	other.saying("#sending", "Delivered")
	other.press("again")
	other.in("prepare")
	other.fill("screen", "kitchen laptop")
	quick := &viewer{}
	for quick.asked < 6 {
		other.turn(quick)
	}
	other.ends()
	asker.run(`window.dispatchEvent(new Event("focus"))`)
	other.press("sending")
	other.press("send")
	other.saying("#sending", "Delivered")
	began = time.Now()
	asker.eventually("the second answer on the desk", func() bool { return strings.Contains(asker.text("#requests"), "2 answers") })
	if took := time.Since(began); *times && took > 2*time.Second {
		t.Errorf("the desk showed the second answer after %v", took)
	}
	time.Sleep(2 * time.Second)
	if n := strings.Count(asker.text("#requests"), "Kitchen laptop"); n != 2 {
		t.Errorf("%d answers are on the desk, should be 2", n)
	}

	secrets := asker.secrets()
	silent(t, "the asker", s.site, heardAsker, secrets)
	silent(t, "the other", s.site, heardOther, secrets)
	if heardAsker.to("PUT", "/api/") < 2 || heardOther.to("PUT", "/letters/") < 2 || heardAsker.to("GET", "/letters?") < 3 {
		t.Error("the letters were not seen to travel")
	}

	// Closed: the link says so, and what was answered before is still there.
	asker.press("close")
	asker.saying("#requests", "Closed, 2 answers")
	late := open(t, room{})
	late.do(chromedp.Navigate(link))
	late.in("trouble")
	late.saying("#stage", "not there any more")
	asker.press("delete")
	asker.press("delete")
	asker.saying("#requests", "Nothing was asked from this browser yet")
	if n := len(asker.kept("letters")) + len(asker.kept("requests")); n != 0 {
		t.Errorf("%d rows are kept of what was deleted", n)
	}
}

// A check loads the part of the program that does for it; where the browser has requests or answers it loads all of it, so that nothing is missing there.
func TestWholeProgram(t *testing.T) {
	t.Parallel()
	w := open(t, room{})
	loaded := func(name string) bool {
		return eval[bool](w, fmt.Sprintf(`performance.getEntriesByType("resource").some(e => e.name.endsWith(%q))`, "/"+name))
	}
	w.visit("")
	w.in("prepare")
	if loaded("plumb.wasm") || !loaded("check.wasm") {
		t.Error("a check loads more than it needs")
	}
	w.makes(site)
	w.visit("?length=long")
	w.eventually("the whole program is loaded", func() bool { return loaded("plumb.wasm") })
	if w.in("prepare"); !eval[bool](w, `document.querySelector("[name=length][value=long]").checked`) {
		t.Error("what the address wishes is lost on the way")
	}
	w.visit("")
	w.in("prepare")
	if loaded("check.wasm") {
		t.Error("the part is loaded again before the whole")
	}
}

// The shortest whole round over the worker on its host.
func TestAskWorker(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("needs a browser")
	}
	h, err := workertest.Start("..", nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(h.Stop)
	asker, other := open(t, room{}), open(t, room{})
	heardAsker, heardOther := listenWhole(asker), listenWhole(other)
	link := asker.makes(h.Origin)
	asker.press("desk")
	asker.in("desk")
	asker.saying("#requests", "Open until")
	other.prepares(link)
	v := seat(t, "expert", display.Default(), 72)
	for v.asked < 12 {
		other.turn(v)
	}
	other.ends()
	_, record := other.record()
	other.press("sending")
	other.click("[name=whole][value=yes]")
	asker.run(`window.dispatchEvent(new Event("focus"))`) // the desk was looked at a moment ago
	other.press("send")
	other.saying("#sending", "Delivered")
	began := time.Now()
	asker.eventually("the answer on the desk", func() bool { return strings.Contains(asker.text("#requests"), "Kitchen laptop") })
	took := time.Since(began)
	t.Logf("the desk showed the answer after %v", took)
	if *times && took > 2*time.Second {
		t.Errorf("the desk showed the answer after %v", took)
	}
	asker.press("read")
	asker.in("report")
	if _, b := asker.record(); !bytes.Equal(b, record) {
		t.Error("the record on the desk is not the bytes that the other browser made")
	}
	asker.press("desk")
	asker.in("desk")
	secrets := asker.secrets()
	silent(t, "the asker", h.Origin, heardAsker, secrets)
	silent(t, "the other", h.Origin, heardOther, secrets)
	asker.press("delete")
	asker.press("delete")
	asker.saying("#requests", "Nothing was asked from this browser yet")
	late := open(t, room{})
	late.do(chromedp.Navigate(link))
	late.in("trouble")
	late.saying("#stage", "not there any more")
}

// The same without any server: a host of files alone hands out the pages, the request is in the link, and the answer comes back as a link, and as a file.
func TestAskAlone(t *testing.T) {
	t.Parallel()
	site := exported(t)
	asker, other := open(t, room{}), open(t, room{})
	heardAsker, heardOther := listenWhole(asker), listenWhole(other)
	link := asker.makes(site)
	if blocked := eval[string](asker, `new Promise(done => {
		document.addEventListener("securitypolicyviolation", e => done(e.effectiveDirective));
		document.body.append(Object.assign(document.createElement("script"), {textContent: "1"}));
		setTimeout(() => done("nothing"), 5000);
	})`); blocked != "script-src-elem" {
		t.Errorf("of a script inside a page, %s is blocked", blocked)
	}
	if n := eval[int](asker, `document.querySelectorAll(".link svg.code").length`); n != 1 {
		t.Errorf("the link has %d codes, should be 1", n)
	}
	other.prepares(link)
	v := &viewer{}
	for v.asked < 8 {
		other.turn(v)
	}
	other.ends()
	other.press("sending")
	other.saying("#sending", "Send this report to Tomas?")
	dir := t.TempDir()
	_, err := chromedp.CallBrowser(other.ctx, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{Behavior: browser.SetDownloadBehaviorBehaviorAllow, DownloadPath: dir})
	other.check(err)
	other.press("send")
	other.saying("#sending", "Sealed for Tomas")
	answer := eval[string](other, `document.querySelector("#sending [data-link]").value`)
	other.fits("the sealed answer")
	other.press("answer-file")
	var file string
	other.eventually("a file of the answer", func() bool {
		list, _ := filepath.Glob(filepath.Join(dir, "*.txt"))
		if len(list) == 1 {
			b, _ := os.ReadFile(list[0])
			file = list[0]
			return strings.Contains(string(b), answer)
		}
		return false
	})
	_, record := other.record()

	asker.press("desk")
	asker.in("desk")
	asker.saying("#fresh", "has no mailbox")
	asker.do(chromedp.SetUploadFiles(chromedp.CSS("input[name=letter]"), []string{file}))
	asker.saying("#requests", "Kitchen laptop")
	asker.do(chromedp.Navigate(answer))
	asker.in("desk")
	asker.saying("#message", "on the desk already")
	asker.press("read")
	asker.in("report")
	r, b := asker.record()
	if whole, err := report.Read(record); err != nil || len(r.Judgements) != 0 || len(whole.Judgements) < 8 || r.Conditions.Started != whole.Conditions.Started || len(b) >= len(record) {
		t.Errorf("the report on the desk has %d judgements of %d, or is another", len(r.Judgements), len(whole.Judgements))
	}
	secrets := asker.secrets()
	silent(t, "the asker", site, heardAsker, secrets)
	silent(t, "the other", site, heardOther, secrets)
	if n := heardAsker.to("", "/api/") + heardOther.to("", "/api/"); n != 0 {
		t.Errorf("a mailbox was asked for %d times, where there is none", n)
	}

	// A link that was broken on its way says what to do.
	for fragment, want := range map[string]string{
		link[:len(link)-20]:                    "cut off",
		strings.Replace(link, "#1.", "#2.", 1): "newer version",
	} {
		other.do(chromedp.Navigate("about:blank"))
		other.do(chromedp.Navigate(fragment))
		other.in("trouble")
		other.saying("#stage", "Nothing was sent")
		other.saying("#stage", want)
	}
}
