//go:build unix

// Package workertest starts the worker on its host, on this computer and with nothing to ask of others.
package workertest

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"syscall"
	"time"
)

// A Host runs the worker.
type Host struct {
	Folder string // what the build command wrote
	Log    string // a file with all that the host says
	Origin string // such as http://127.0.0.1:40001

	dir string // all that is made for it
	run *exec.Cmd
}

// Start builds the worker of the source at root and starts it over an empty mailbox; flags are those of the build command. What is built is changed by change, unless
// that is nil, before it runs.
func Start(root string, change func(folder string) error, flags ...string) (*Host, error) {
	dir, err := os.MkdirTemp("", "plumb-worker-")
	if err != nil {
		return nil, err
	}
	h := &Host{Folder: filepath.Join(dir, "build"), Log: filepath.Join(dir, "log"), dir: dir}
	tool, err := install(filepath.Join(root, "web", "worker"))
	if err == nil {
		err = h.build(root, flags)
	}
	if err == nil && change != nil {
		err = change(h.Folder)
	}
	if err == nil {
		err = h.start(tool)
	}
	if err != nil {
		h.Stop()
		return nil, err
	}
	return h, nil
}

// install returns the host's command.
func install(folder string) (string, error) {
	modules, err := Modules(folder)
	if err != nil {
		return "", err
	}
	return filepath.Abs(filepath.Join(modules, "wrangler", "bin", "wrangler.js"))
}

// Modules returns the folder node_modules of a folder with a manifest, and installs what belongs into it first if that is not there as the lock file has it. Tests of other
// packages wait meanwhile.
func Modules(folder string) (string, error) {
	name := filepath.Join(folder, "package-lock.json")
	f, err := os.Open(name)
	if err != nil {
		return "", err
	}
	defer f.Close()
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX); err != nil {
		return "", err
	}
	lock, err := os.ReadFile(name)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(lock)
	want, stamp := hex.EncodeToString(sum[:]), filepath.Join(folder, "node_modules", ".installed")
	if have, _ := os.ReadFile(stamp); string(have) != want {
		c := exec.Command("npm", "ci", "--ignore-scripts", "--no-audit", "--no-fund")
		c.Dir = folder
		if out, err := c.CombinedOutput(); err != nil {
			return "", fmt.Errorf("npm ci: %w\n%s", err, out)
		}
		if err := os.WriteFile(stamp, []byte(want), 0o644); err != nil {
			return "", err
		}
	}
	return filepath.Join(folder, "node_modules"), nil
}

func (h *Host) build(root string, flags []string) error {
	c := exec.Command("go", append([]string{"run", "./web/worker/build", "-o", h.Folder}, flags...)...)
	c.Dir = root
	if out, err := c.CombinedOutput(); err != nil {
		return fmt.Errorf("go run ./web/worker/build: %w\n%s", err, out)
	}
	return nil
}

// start makes the tables and starts the host, on loopback.
func (h *Host) start(tool string) error {
	state := filepath.Join(h.dir, "state")
	log, err := os.Create(h.Log)
	if err != nil {
		return err
	}
	defer log.Close()
	command := func(args ...string) *exec.Cmd {
		c := exec.Command("node", append([]string{tool}, args...)...)
		c.Dir = h.Folder
		c.Env = append(os.Environ(), "WRANGLER_SEND_METRICS=false", "CLOUDFLARE_CF_FETCH_ENABLED=false", "WRANGLER_HIDE_BANNER=true",
			"XDG_CONFIG_HOME="+h.dir, "WRANGLER_LOG_PATH="+filepath.Join(h.dir, "logs"), "WRANGLER_REGISTRY_PATH="+filepath.Join(h.dir, "registry"), "CI=1", "NO_COLOR=1")
		c.Stdout, c.Stderr = log, log
		c.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} // it starts others
		return c
	}
	if err := command("d1", "migrations", "apply", "DB", "--local", "--persist-to", state).Run(); err != nil {
		return fmt.Errorf("migrations: %w\n%s", err, h.Lines())
	}
	h.run = command("dev", "--ip", "127.0.0.1", "--port", "0", "--inspector-port", "0", "--show-interactive-dev-session=false", "--persist-to", state)
	if err := h.run.Start(); err != nil {
		return err
	}
	ready := regexp.MustCompile(`Ready on (http://127\.0\.0\.1:\d+)`)
	for end := time.Now().Add(5 * time.Minute); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		if m := ready.FindSubmatch(h.Lines()); m != nil {
			h.Origin = string(m[1])
			return nil
		}
	}
	return fmt.Errorf("the host did not start\n%s", h.Lines())
}

// Lines is all that the host has said so far.
func (h *Host) Lines() []byte {
	b, _ := os.ReadFile(h.Log)
	return b
}

// Group is the group of processes that the host and all that it started are in.
func (h *Host) Group() int { return h.run.Process.Pid }

// Stop ends the host and all that it started, and removes what was made for it.
func (h *Host) Stop() {
	defer os.RemoveAll(h.dir)
	if h.run == nil || h.run.Process == nil {
		return
	}
	group := -h.Group()
	syscall.Kill(group, syscall.SIGTERM)
	done := make(chan struct{})
	go func() { h.run.Wait(); close(done) }()
	select {
	case <-done:
	case <-time.After(5 * time.Second):
	}
	syscall.Kill(group, syscall.SIGKILL) // what is left of the group
}
