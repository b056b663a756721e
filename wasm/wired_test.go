//go:build !js

package main_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"example.org/plumb/.ci/browse"
)

// A wired is a browser that is driven by the commands of W3C WebDriver, level 2: over HTTP, or by Firefox's own wire, which carries the same commands as JSON behind their
// length over TCP. It has one window.
type wired struct {
	send func(ctx context.Context, c command, params map[string]any) (json.RawMessage, error)
}

// A command is named by its path below the session and its method, and as Firefox's wire names it.
type command struct{ method, path, name string }

var (
	toNavigate = command{"POST", "/url", "WebDriver:Navigate"}
	toRun      = command{"POST", "/execute/sync", "WebDriver:ExecuteScript"}
	toShow     = command{"GET", "/screenshot", "WebDriver:TakeScreenshot"}
	toAct      = command{"POST", "/actions", "WebDriver:PerformActions"}
	toPlace    = command{"POST", "/window/rect", "WebDriver:SetWindowRect"}
)

// evaluate puts the value of a JavaScript expression into v; a promise is waited for.
func (d *wired) evaluate(ctx context.Context, expression string, v any) error {
	b, err := d.send(ctx, toRun, map[string]any{"script": "return (" + expression + "\n)", "args": []any{}})
	if err != nil {
		return err
	}
	if bytes.Equal(b, []byte("null")) {
		return nil
	}
	return json.Unmarshal(b, v)
}

func (d *wired) navigate(w *window, address string) {
	w.t.Helper()
	ctx, cancel := context.WithTimeout(w.ctx, slow)
	defer cancel()
	_, err := d.send(ctx, toNavigate, map[string]any{"url": address})
	w.check(err)
}

func (d *wired) shot(ctx context.Context, w *window) []byte {
	w.t.Helper()
	b, err := d.send(ctx, toShow, map[string]any{"full": false})
	w.check(err)
	var png []byte
	w.check(json.Unmarshal(b, &png))
	return png
}

func (d *wired) act(w *window, source map[string]any) {
	w.t.Helper()
	ctx, cancel := context.WithTimeout(w.ctx, slow)
	defer cancel()
	_, err := d.send(ctx, toAct, map[string]any{"actions": []any{source}})
	w.check(err)
}

// click presses the mouse at a place of the window, in CSS pixels.
func (d *wired) click(w *window, at [2]float64) {
	w.t.Helper()
	d.act(w, map[string]any{"type": "pointer", "id": "mouse", "parameters": map[string]any{"pointerType": "mouse"}, "actions": []any{
		map[string]any{"type": "pointerMove", "duration": 0, "x": int(at[0]), "y": int(at[1]), "origin": "viewport"},
		map[string]any{"type": "pointerDown", "button": 0},
		map[string]any{"type": "pointerUp", "button": 0},
	}})
}

// normal are the values of WebDriver, 17.4.2, for keys that write nothing.
var normal = map[string]string{
	"ArrowLeft": "\ue012", "ArrowUp": "\ue013", "ArrowRight": "\ue014", "ArrowDown": "\ue015", "Enter": "\ue006", "Escape": "\ue00c", "Backspace": "\ue003", "Tab": "\ue004",
}

func (d *wired) key(w *window, code, text string) {
	w.t.Helper()
	if n, ok := normal[code]; ok {
		text = n
	}
	d.act(w, map[string]any{"type": "key", "id": "keys", "actions": []any{map[string]any{"type": "keyDown", "value": text}, map[string]any{"type": "keyUp", "value": text}}})
}

// An engine is a browser's engine that a whole sitting is tried on.
type engine struct {
	name  string
	start func(t *testing.T) *wired
}

// openWired starts another engine than Chromium's, in a window of its own. It ends with the test.
func openWired(t *testing.T, e engine) *window {
	t.Helper()
	if testing.Short() {
		t.Skip("needs a browser")
	}
	ctx, cancel := context.WithCancel(context.Background())
	t.Cleanup(cancel)
	w := &window{t: t, ctx: ctx, room: room{ratio: 1}, wired: e.start(t)}
	return w
}

// need is the path of a program.
func need(t *testing.T, what, pkg string, names ...string) string {
	t.Helper()
	for _, n := range names {
		if p, err := exec.LookPath(n); err == nil {
			return p
		}
	}
	t.Fatalf("no %s was found (%s): bash .ci/test installs Debian's %s and runs all tests; go test -short leaves browsers out", what, strings.Join(names, ", "), pkg)
	return ""
}

// run starts a program that ends with the test; what it says is in log when the test fails.
func run(t *testing.T, c *exec.Cmd) {
	t.Helper()
	var log bytes.Buffer
	c.Stdout, c.Stderr = &log, &log
	browse.Bind(c)
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		c.Process.Kill()
		c.Wait()
		if t.Failed() {
			b := log.Bytes()
			t.Logf("%s said: %s", filepath.Base(c.Path), b[max(0, len(b)-2000):])
		}
	})
}

// patience is how long a browser lets a script run, and a page load, in milliseconds: WebDriver, Timeouts.
var patience = map[string]any{"script": slow.Milliseconds(), "pageLoad": slow.Milliseconds()}

// within waits until f has something.
func within[T any](t *testing.T, what string, f func() (T, bool)) T {
	t.Helper()
	for end := time.Now().Add(slow); ; time.Sleep(50 * time.Millisecond) {
		if v, ok := f(); ok {
			return v
		}
		if time.Now().After(end) {
			t.Fatalf("%s did not come up", what)
		}
	}
}

// firefox starts Firefox without a screen of its own.
func firefox(t *testing.T) *wired {
	t.Helper()
	dir := t.TempDir()
	// Nothing beyond this computer is reached, and colours go to the screen as they are: the screen of a test has no profile.
	settings := map[string]any{
		"marionette.port": 0, "network.proxy.type": 0, "network.dns.disabled": false, "app.update.enabled": false, "datareporting.policy.dataSubmissionEnabled": false,
		"toolkit.telemetry.server": "", "browser.safebrowsing.malware.enabled": false, "browser.safebrowsing.phishing.enabled": false, "network.captive-portal-service.enabled": false,
		"network.connectivity-service.enabled": false, "services.settings.server": "data:,", "extensions.update.enabled": false, "dom.webnotifications.enabled": false,
	}
	var lines strings.Builder
	for name, value := range settings {
		b, err := json.Marshal(value)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&lines, "user_pref(%q, %s);\n", name, b)
	}
	if err := os.WriteFile(filepath.Join(dir, "user.js"), []byte(lines.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	c := exec.Command(need(t, "Firefox", "firefox-esr", "firefox-esr", "firefox"), "--headless", "--marionette", "--no-remote", "--profile", dir, "about:blank")
	c.Env = append(os.Environ(), "HOME="+dir, "MOZ_HEADLESS_WIDTH=900", "MOZ_HEADLESS_HEIGHT=800")
	run(t, c)
	port := within(t, "Firefox", func() (string, bool) {
		b, err := os.ReadFile(filepath.Join(dir, "MarionetteActivePort"))
		return strings.TrimSpace(string(b)), err == nil && len(b) > 0
	})
	line, err := net.Dial("tcp", "127.0.0.1:"+port)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { line.Close() })
	in := bufio.NewReader(line)
	packet := func() (b []byte, err error) {
		size, err := in.ReadString(':')
		if err != nil {
			return nil, err
		}
		n, err := strconv.Atoi(strings.TrimSuffix(size, ":"))
		if err != nil {
			return nil, err
		}
		b = make([]byte, n)
		_, err = io.ReadFull(in, b)
		return b, err
	}
	if _, err := packet(); err != nil { // who it is
		t.Fatal(err)
	}
	last := 0
	send := func(ctx context.Context, name string, params map[string]any) (json.RawMessage, error) {
		last++
		b, err := json.Marshal([]any{0, last, name, params})
		if err != nil {
			return nil, err
		}
		if end, ok := ctx.Deadline(); ok {
			line.SetDeadline(end)
		}
		if _, err := fmt.Fprintf(line, "%d:%s", len(b), b); err != nil {
			return nil, err
		}
		answer, err := packet()
		if err != nil {
			return nil, err
		}
		var parts [4]json.RawMessage
		if err := json.Unmarshal(answer, &parts); err != nil {
			return nil, err
		}
		if string(parts[1]) != strconv.Itoa(last) {
			return nil, fmt.Errorf("an answer to command %s, not to %d", parts[1], last)
		}
		if string(parts[2]) != "null" {
			return nil, errors.New(string(parts[2]))
		}
		var v struct {
			Value json.RawMessage `json:"value"`
		}
		if err := json.Unmarshal(parts[3], &v); err != nil || v.Value == nil {
			return parts[3], nil
		}
		return v.Value, nil
	}
	ctx, cancel := context.WithTimeout(context.Background(), slow)
	defer cancel()
	if _, err := send(ctx, "WebDriver:NewSession", map[string]any{"capabilities": map[string]any{"alwaysMatch": map[string]any{"timeouts": patience}}}); err != nil {
		t.Fatal(err)
	}
	return &wired{send: func(ctx context.Context, c command, params map[string]any) (json.RawMessage, error) {
		return send(ctx, c.name, params)
	}}
}

// webkit starts WebKitGTK's small browser on a screen that is nowhere but in memory.
func webkit(t *testing.T) *wired {
	t.Helper()
	found, told, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer found.Close()
	screen := exec.Command(need(t, "X server without a screen", "xvfb", "Xvfb"), "-displayfd", "3", "-screen", "0", "1000x900x24", "-nolisten", "tcp")
	screen.ExtraFiles = []*os.File{told}
	run(t, screen)
	told.Close()
	number, err := bufio.NewReader(found).ReadString('\n')
	if err != nil {
		t.Fatal(err)
	}
	driver := need(t, "WebKit's driver", "webkit2gtk-driver", "WebKitWebDriver")
	small := need(t, "WebKit's small browser", "libwebkit2gtk-4.1-0", "/usr/lib/x86_64-linux-gnu/webkit2gtk-4.1/MiniBrowser", "/usr/lib/aarch64-linux-gnu/webkit2gtk-4.1/MiniBrowser")
	free, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := free.Addr().String()
	free.Close()
	_, port, _ := net.SplitHostPort(address)
	c := exec.Command(driver, "-p", port, "--host=127.0.0.1")
	c.Env = append(os.Environ(), "DISPLAY=:"+strings.TrimSpace(number), "HOME="+t.TempDir(), "LIBGL_ALWAYS_SOFTWARE=1", "WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS=1", "GTK_USE_PORTAL=0", "DBUS_SESSION_BUS_ADDRESS=disabled:")
	run(t, c)
	call := func(ctx context.Context, method, path string, params map[string]any) (json.RawMessage, error) {
		var body io.Reader
		if method == "POST" {
			b, err := json.Marshal(params)
			if err != nil {
				return nil, err
			}
			body = bytes.NewReader(b)
		}
		r, err := http.NewRequestWithContext(ctx, method, "http://"+address+path, body)
		if err != nil {
			return nil, err
		}
		a, err := http.DefaultClient.Do(r)
		if err != nil {
			return nil, err
		}
		defer a.Body.Close()
		var v struct {
			Value json.RawMessage `json:"value"`
		}
		if err := json.NewDecoder(a.Body).Decode(&v); err != nil {
			return nil, err
		}
		if a.StatusCode != http.StatusOK {
			return nil, errors.New(string(v.Value))
		}
		return v.Value, nil
	}
	within(t, "WebKit's driver", func() (bool, bool) {
		_, err := call(t.Context(), "GET", "/status", nil)
		return true, err == nil
	})
	ctx, cancel := context.WithTimeout(context.Background(), slow)
	defer cancel()
	b, err := call(ctx, "POST", "/session", map[string]any{"capabilities": map[string]any{"alwaysMatch": map[string]any{
		"timeouts": patience, "webkitgtk:browserOptions": map[string]any{"binary": small, "args": []string{"--automation"}},
	}}})
	if err != nil {
		t.Fatal(err)
	}
	var session struct {
		ID string `json:"sessionId"`
	}
	if err := json.Unmarshal(b, &session); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		call(ctx, "DELETE", "/session/"+session.ID, nil)
	})
	d := &wired{send: func(ctx context.Context, c command, params map[string]any) (json.RawMessage, error) {
		return call(ctx, c.method, "/session/"+session.ID+c.path, params)
	}}
	if _, err := d.send(ctx, toPlace, map[string]any{"x": 0, "y": 0, "width": 900, "height": 850}); err != nil {
		t.Fatal(err)
	}
	return d
}
