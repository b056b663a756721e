//go:build !js

package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// rig is the worker on its host, on this computer.
type rig struct {
	folder string // what the build command wrote, with the lab beside it
	state  string // the database and the bucket
	log    string // a file
	origin string
	host   *exec.Cmd
}

var (
	once   sync.Once
	shared *rig
	broken error
)

func TestMain(m *testing.M) {
	code := m.Run()
	if shared != nil {
		shared.stop()
		os.RemoveAll(filepath.Dir(shared.folder))
	}
	os.Exit(code)
}

// onHost returns the rig, which all tests share.
func onHost(t testing.TB) *rig {
	t.Helper()
	once.Do(func() { shared, broken = start() })
	if broken != nil {
		t.Fatal(broken)
	}
	return shared
}

func start() (*rig, error) {
	dir, err := os.MkdirTemp("", "plumb-worker-")
	if err != nil {
		return nil, err
	}
	r := &rig{folder: filepath.Join(dir, "build"), state: filepath.Join(dir, "state"), log: filepath.Join(dir, "log")}
	tools, err := install()
	if err == nil {
		err = r.build()
	}
	if err == nil {
		err = r.run(tools, dir)
	}
	if err != nil {
		r.stop()
		os.RemoveAll(dir)
		return nil, err
	}
	return r, nil
}

// install returns the host's command, and installs it first if it is not there as the lock file has it.
func install() (string, error) {
	lock, err := os.ReadFile("package-lock.json")
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(lock)
	want, stamp := hex.EncodeToString(sum[:]), filepath.Join("node_modules", ".installed")
	if have, _ := os.ReadFile(stamp); string(have) != want {
		c := exec.Command("npm", "ci", "--ignore-scripts", "--no-audit", "--no-fund")
		if out, err := c.CombinedOutput(); err != nil {
			return "", fmt.Errorf("npm ci: %w\n%s", err, out)
		}
		if err := os.WriteFile(stamp, []byte(want), 0o644); err != nil {
			return "", err
		}
	}
	return filepath.Abs(filepath.Join("node_modules", "wrangler", "bin", "wrangler.js"))
}

// build runs the build command and puts the lab in the worker's place.
func (r *rig) build() error {
	c := exec.Command("go", "run", "./build", "-o", r.folder)
	if out, err := c.CombinedOutput(); err != nil {
		return fmt.Errorf("go run ./build: %w\n%s", err, out)
	}
	lab, err := os.ReadFile(filepath.Join("testdata", "lab.mjs"))
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(r.folder, "lab.mjs"), lab, 0o644); err != nil {
		return err
	}
	text, err := os.ReadFile(filepath.Join(r.folder, "wrangler.json"))
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
	return os.WriteFile(filepath.Join(r.folder, "wrangler.json"), text, 0o644)
}

// run makes the tables and starts the host, on loopback and with nothing to ask of other computers.
func (r *rig) run(tool, dir string) error {
	log, err := os.Create(r.log)
	if err != nil {
		return err
	}
	defer log.Close()
	command := func(args ...string) *exec.Cmd {
		c := exec.Command("node", append([]string{tool}, args...)...)
		c.Dir = r.folder
		c.Env = append(os.Environ(), "WRANGLER_SEND_METRICS=false", "CLOUDFLARE_CF_FETCH_ENABLED=false", "WRANGLER_HIDE_BANNER=true",
			"XDG_CONFIG_HOME="+dir, "WRANGLER_LOG_PATH="+filepath.Join(dir, "logs"), "WRANGLER_REGISTRY_PATH="+filepath.Join(dir, "registry"), "CI=1", "NO_COLOR=1")
		c.Stdout, c.Stderr = log, log
		c.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} // it starts others
		return c
	}
	if err := command("d1", "migrations", "apply", "DB", "--local", "--persist-to", r.state).Run(); err != nil {
		return fmt.Errorf("migrations: %w\n%s", err, r.lines())
	}
	r.host = command("dev", "--ip", "127.0.0.1", "--port", "0", "--inspector-port", "0", "--show-interactive-dev-session=false", "--persist-to", r.state)
	if err := r.host.Start(); err != nil {
		return err
	}
	ready := regexp.MustCompile(`Ready on (http://127\.0\.0\.1:\d+)`)
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		if m := ready.FindSubmatch(r.lines()); m != nil {
			r.origin = string(m[1])
			return nil
		}
	}
	return fmt.Errorf("the host did not start\n%s", r.lines())
}

func (r *rig) lines() []byte {
	b, _ := os.ReadFile(r.log)
	return b
}

// stop ends the host and all that it started.
func (r *rig) stop() {
	if r.host == nil || r.host.Process == nil {
		return
	}
	group := -r.host.Process.Pid
	syscall.Kill(group, syscall.SIGTERM)
	done := make(chan struct{})
	go func() { r.host.Wait(); close(done) }()
	select {
	case <-done:
	case <-time.After(5 * time.Second):
	}
	syscall.Kill(group, syscall.SIGKILL) // what is left of the group
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
		if group, _ := strconv.Atoi(f[2]); group != r.host.Process.Pid || !bytes.Contains(stat[:at], []byte("workerd")) {
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
	a, err := http.Get(r.origin + "/api/lab/" + question)
	if err != nil {
		t.Fatal(err)
	}
	defer a.Body.Close()
	b, err := io.ReadAll(a.Body)
	if err != nil || a.StatusCode >= 300 {
		t.Fatalf("%s: %d %s, %v", question, a.StatusCode, b, err)
	}
	if to != nil {
		if err := json.Unmarshal(b, to); err != nil {
			t.Fatalf("%s: %v", question, err)
		}
	}
}

// memory is what the lab tells of the pool.
type memory struct {
	Runtimes int   `json:"runtimes"`
	Bytes    int64 `json:"bytes"`
	Held     int64 `json:"held"` // with the programs that are no longer used and not collected yet
	Peak     int64 `json:"peak"` // the most that Held was since the store was made fresh
	Most     int   `json:"most"`
	Copied   int64 `json:"copied"` // bytes that went into programs and out of them since then
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
