//go:build !js

package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/worker/workertest"
)

// rig is the worker on its host, with the lab in the worker's place.
type rig struct{ *workertest.Host }

var (
	once   sync.Once
	shared *rig
	broken error
)

func TestMain(m *testing.M) {
	code := m.Run()
	if shared != nil {
		if n := again.lost.Load(); n > 0 {
			fmt.Printf("%d requests or answers were lost between here and the worker\n", n)
		}
		if err := shared.ended(); err != nil {
			fmt.Println(err)
			code = 1
		}
		shared.Stop()
	}
	os.Exit(code)
}

// ended says whether the worker came to the end of all that reached it.
func (r *rig) ended() error {
	var m memory
	for range 20 {
		if err := r.question("memory", &m); err != nil || m.Open == 0 {
			return err
		}
		time.Sleep(time.Second / 2)
	}
	return fmt.Errorf("%d requests reached the worker and never ended", m.Open)
}

// A repeater carries requests to the host. The tool that stands before the worker on a computer loses one in many thousands, or its answer, while the machine is busy; a
// request that waits for long in vain is sent anew then, as pages do.
type repeater struct {
	http.RoundTripper
	lost atomic.Int64
}

var again = func() *repeater {
	t := http.DefaultTransport.(*http.Transport).Clone()
	t.ResponseHeaderTimeout = 90 * time.Second
	return &repeater{RoundTripper: t}
}()

func (t *repeater) RoundTrip(r *http.Request) (*http.Response, error) {
	r = r.Clone(r.Context())
	r.Header.Set("Lab-Ends", "yes") // it is not given up, unless it waits in vain
	var body []byte
	whole := r.Body == nil
	if !whole && r.ContentLength > 0 && r.ContentLength <= mailbox.MaxLetter {
		var err error
		body, err = io.ReadAll(r.Body)
		r.Body.Close()
		if err != nil {
			return nil, err
		}
		whole = true
	}
	const tries = 3
	for try := 1; ; try++ {
		if body != nil {
			r.Body = io.NopCloser(bytes.NewReader(body))
		}
		a, err := t.RoundTripper.RoundTrip(r)
		var late interface{ Timeout() bool }
		if err == nil || r.Context().Err() != nil || !errors.As(err, &late) || !late.Timeout() {
			return a, err
		}
		t.lost.Add(1)
		if !whole || try == tries {
			return nil, fmt.Errorf("the worker's host gave no answer: %w", err)
		}
	}
}

// onHost returns the rig, which all tests share.
func onHost(t testing.TB) *rig {
	t.Helper()
	once.Do(func() {
		var h *workertest.Host
		if h, broken = workertest.Start(filepath.Join("..", ".."), lab); broken == nil {
			shared = &rig{h}
		}
	})
	if broken != nil {
		t.Fatal(broken)
	}
	return shared
}

// lab puts the lab in the place of the worker that was built into a folder.
func lab(folder string) error {
	module, err := os.ReadFile(filepath.Join("testdata", "lab.mjs"))
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(folder, "lab.mjs"), module, 0o644); err != nil {
		return err
	}
	name := filepath.Join(folder, "wrangler.json")
	text, err := os.ReadFile(name)
	if err != nil {
		return err
	}
	var config map[string]any
	if err := json.Unmarshal(text, &config); err != nil {
		return err
	}
	config["main"] = "lab.mjs"
	if text, err = json.Marshal(config); err != nil {
		return err
	}
	return os.WriteFile(name, text, 0o644)
}

// processor returns the time that the host's own process has had of processors, in seconds: that of all its workers and bindings, without the tool around it.
func (r *rig) processor(t testing.TB) float64 {
	t.Helper()
	entries, err := os.ReadDir("/proc")
	if err != nil {
		t.Skip("the processor's time is not to be had here")
	}
	ticks := 0
	for _, e := range entries {
		stat, err := os.ReadFile(filepath.Join("/proc", e.Name(), "stat"))
		if err != nil {
			continue
		}
		at := bytes.LastIndexByte(stat, ')') // proc(5): the name may hold anything
		f := strings.Fields(string(stat[at+1:]))
		if group, _ := strconv.Atoi(f[2]); group != r.Group() || !bytes.Contains(stat[:at], []byte("workerd")) {
			continue
		}
		for _, field := range f[11:13] {
			n, _ := strconv.Atoi(field)
			ticks += n
		}
	}
	if ticks == 0 {
		t.Fatal("the host's process was not found")
	}
	return float64(ticks) / 100
}

// ask asks the lab and decodes its answer, if it has one.
func (r *rig) ask(t testing.TB, question string, to any) {
	t.Helper()
	if err := r.question(question, to); err != nil {
		t.Fatal(err)
	}
}

func (r *rig) question(question string, to any) error {
	a, err := (&http.Client{Transport: again}).Get(r.Origin + "/api/lab/" + question)
	if err != nil {
		return err
	}
	defer a.Body.Close()
	b, err := io.ReadAll(a.Body)
	if err != nil || a.StatusCode >= 300 {
		return fmt.Errorf("%s: %d %s, %w", question, a.StatusCode, b, err)
	}
	if to == nil {
		return nil
	}
	if err := json.Unmarshal(b, to); err != nil {
		return fmt.Errorf("%s: %w", question, err)
	}
	return nil
}

// memory is what the lab tells of the pool.
type memory struct {
	Runtimes int   `json:"runtimes"`
	Bytes    int64 `json:"bytes"`
	Held     int64 `json:"held"` // with the programs that are no longer used and not collected yet
	Peak     int64 `json:"peak"` // the most that Held was since the store was made fresh
	Most     int   `json:"most"`
	Copied   int64 `json:"copied"` // bytes that went into programs and out of them since then
	Open     int   `json:"open"`   // requests to the worker that are to end and have not
}

func (r *rig) memory(t testing.TB) (m memory) {
	t.Helper()
	r.ask(t, "memory", &m)
	return m
}

// patient waits as a client does.
func patient(ctx context.Context, d time.Duration) error {
	select {
	case <-time.After(d):
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}
