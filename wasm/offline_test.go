//go:build !js

package main_test

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// stays waits until the browser has the site whole.
func (w *window) stays() {
	w.t.Helper()
	w.eventually("the site is kept for when there is no network", func() bool {
		return eval[bool](w, `document.getElementById("stays")?.hidden === false && !!navigator.serviceWorker.controller`)
	})
}

// Once a page was open, the site needs no network: with the server gone a check is loaded, sat through and read, an answer waits in the browser, also over a reload, and
// is sent when the server is back. Every other page opens too.
func TestOffline(t *testing.T) {
	t.Parallel()
	s := newServer(t)
	asker := open(t, room{})
	link := asker.makes(s.site)
	w := open(t, room{})
	w.do(chromedp.Navigate(s.site + "/check"))
	w.in("prepare")
	w.stays()
	if eval[bool](w, `(() => {
		const foot = document.querySelector("footer"), line = document.getElementById("stays"), others = [foot, ...foot.querySelectorAll("*")].filter((e) => e !== line);
		const places = () => JSON.stringify(others.map((e) => e.getBoundingClientRect()));
		for (let width = 240; width <= 800; width += 20) {
			foot.style.width = width + "px";
			const after = places();
			line.hidden = true;
			const before = places();
			line.hidden = false;
			if (before !== after) return true;
		}
		foot.style.width = "";
		return false;
	})()`) {
		t.Error("the foot of the page moves when it says that the page is kept")
	}
	why, err := chromedp.Call(w.ctx, page.GetInstallabilityErrors, cdp.Empty{})
	w.check(err)
	for _, e := range why.InstallabilityErrors {
		// A window without a profile's own store is never installed from.
		if e.ErrorID != "in-incognito" {
			t.Errorf("the site cannot be installed: %s", e.ErrorID)
		}
	}
	w.prepares(link)
	s.stop()
	quick := &viewer{}
	for quick.asked < 6 {
		w.turn(quick)
	}
	w.ends()
	w.press("sending")
	w.press("send")
	w.saying("#sending", "cannot be reached")

	for _, p := range []string{"/", "/method", "/example", "/ask", "/desk", "/proof", "/record", "/pattern", "/de/", "/de", "/de/check"} {
		w.do(chromedp.Navigate(s.site + p))
		w.eventually(p+" opens", func() bool {
			return eval[bool](w, `!!document.querySelector("h1") && (!document.querySelector(".loading") || !!document.body.dataset.stage) && document.body.dataset.stage !== "trouble"`)
		})
	}
	w.do(chromedp.Navigate(s.site + "/check?length=short"))
	w.in("prepare")
	again := &viewer{}
	for again.asked < 15 {
		w.turn(again)
	}
	w.ends()
	if r, _ := w.record(); len(r.Judgements) < 15 {
		t.Errorf("a sitting without a network has %d judgements", len(r.Judgements))
	}

	w.do(chromedp.Navigate(link))
	w.in("asked")
	w.saying("#stage", "waiting to be delivered")
	s.start()
	w.run(`window.dispatchEvent(new Event("online"))`)
	w.eventually("the answer is sent", func() bool { return strings.Contains(w.text("#stage"), "Sent") })
	asker.press("desk")
	asker.run(`window.dispatchEvent(new Event("focus"))`)
	asker.saying("#requests", "Kitchen laptop")
}

// A newer version is fetched aside and told of in one line, never while somebody judges; it takes over when it is asked to, and the page is then of that version.
func TestNewerVersion(t *testing.T) {
	t.Parallel()
	s := newServer(t)
	w := open(t, room{})
	w.do(chromedp.Navigate(s.site + "/check?length=short"))
	w.in("prepare")
	w.stays()
	icon := func() string { return eval[string](w, `document.querySelector("link[rel=icon]")?.href ?? ""`) }
	was := icon()

	s.stop()
	s.program = otherServer(t)
	s.start()
	w.run(`navigator.serviceWorker.getRegistration().then(r => r.update())`)
	shown := func() bool { return eval[bool](w, `document.getElementById("newer").offsetHeight > 0`) }
	w.eventually("the newer version is told of", shown)
	if icon() != was {
		t.Error("the page has changed under its reader")
	}
	quick := &viewer{}
	for quick.asked < 3 {
		if st := w.turn(quick); st.Stage == "sitting" && shown() {
			t.Fatal("it is told of while somebody judges")
		}
	}
	w.ends()
	w.eventually("it is told of again", shown)
	w.do(chromedp.Reload())
	w.in("prepare")
	if icon() != was {
		t.Error("the newer version took over unasked")
	}
	w.eventually("it is told of after a reload", shown)
	w.click("#take")
	w.eventually("the page is of the newer version", func() bool { now := icon(); return now != "" && now != was })
	w.in("prepare")
	if shown() {
		t.Error("the version at hand is called newer")
	}
	// What was judged under the version before is still there.
	w.eventually("the sitting is still there", func() bool {
		return eval[bool](w, `!!document.querySelector("[data-action=open], [data-action=continue]")`)
	})
}

// otherServer is a server whose site differs in one file.
func otherServer(t *testing.T) string {
	t.Helper()
	root, err := filepath.Abs("..")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	name := filepath.Join(root, "web", "assets", "icon.svg")
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	changed := filepath.Join(dir, "icon.svg")
	overlay, err := json.Marshal(map[string]map[string]string{"Replace": {name: changed}})
	if err != nil {
		t.Fatal(err)
	}
	for path, b := range map[string][]byte{changed: []byte(strings.Replace(string(text), "#2b2b2b", "#3b3b3b", 1)), filepath.Join(dir, "overlay.json"): overlay} {
		if err := os.WriteFile(path, b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	build := exec.Command("go", "build", "-overlay", filepath.Join(dir, "overlay.json"), "-o", filepath.Join(dir, "server"), "./web/server")
	build.Dir = root
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("the server does not build: %v\n%s", err, out)
	}
	return filepath.Join(dir, "server")
}
