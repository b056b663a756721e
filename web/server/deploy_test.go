package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// What the unit starts is understood, and systemd finds nothing wrong with it. Where systemd is not, its own words alone are looked at.
func TestUnit(t *testing.T) {
	b, err := os.ReadFile(filepath.Join("deploy", "plumb.service"))
	if err != nil {
		t.Fatal(err)
	}
	unit := string(b)
	m := regexp.MustCompile(`(?m)^ExecStart=(\S+) (.+)$`).FindStringSubmatch(unit)
	if m == nil || m[1] != "/usr/local/bin/plumb" {
		t.Fatalf("it starts %q", m)
	}
	args := strings.Fields(strings.ReplaceAll(m[2], "${STATE_DIRECTORY}", "/var/lib/private/plumb"))
	c, err := configure(args, env("LIMIT=20G"))
	if want := (config{addr: home, data: "/var/lib/private/plumb", limit: 20 << 30, rate: 40, proxy: true, json: true}); err != nil || !same(c, want) {
		t.Errorf("%v is %+v, %v; want %+v", args, c, err, want)
	}
	for _, line := range []string{"DynamicUser=yes", "StateDirectory=plumb", "StateDirectoryMode=0700", "ProtectSystem=strict", "ProtectHome=yes", "NoNewPrivileges=yes", "CapabilityBoundingSet=",
		"PrivateTmp=yes", "MemoryDenyWriteExecute=yes", "SystemCallFilter=@system-service", "EnvironmentFile=-/etc/plumb.env"} {
		if !strings.Contains(unit, "\n"+line+"\n") {
			t.Errorf("no line %s", line)
		}
	}
	if _, err := exec.LookPath("systemd-analyze"); err != nil {
		t.Log("systemd-analyze is not here: the unit is not verified")
		return
	}
	// It has to find a program where the unit has one.
	here := filepath.Join(t.TempDir(), "plumb.service")
	write(t, here, strings.Replace(unit, "ExecStart="+m[1], "ExecStart="+os.Args[0], 1))
	if out, err := exec.Command("systemd-analyze", "verify", here).CombinedOutput(); err != nil || len(out) != 0 {
		t.Errorf("systemd-analyze verify: %v\n%s", err, out)
	}
	// 10 is no protection, 0 all there is.
	if out, err := exec.Command("systemd-analyze", "security", "--offline=true", "--threshold=15", here).CombinedOutput(); err != nil {
		t.Errorf("systemd-analyze security: %v\n%s", err, out)
	}
}

func same(a, b config) bool {
	x, _ := json.Marshal([]any{a.addr, a.open, a.data, a.limit, a.rate, a.proxy, a.metrics, a.json, a.requests, a.command})
	y, _ := json.Marshal([]any{b.addr, b.open, b.data, b.limit, b.rate, b.proxy, b.metrics, b.json, b.requests, b.command})
	return string(x) == string(y)
}

// The container's file names what it builds on by a version, ends as nobody in particular, and starts and asks what the program understands.
func TestContainer(t *testing.T) {
	b, err := os.ReadFile(filepath.Join("deploy", "Containerfile"))
	if err != nil {
		t.Fatal(err)
	}
	last := map[string]string{}
	for line := range strings.Lines(string(b)) {
		word, rest, _ := strings.Cut(strings.TrimSpace(line), " ")
		if word == "" || word == "#" {
			continue
		}
		known := []string{"FROM", "RUN", "ARG", "COPY", "USER", "WORKDIR", "ENV", "VOLUME", "EXPOSE", "STOPSIGNAL", "HEALTHCHECK", "ENTRYPOINT"}
		if !slices.Contains(known, word) {
			t.Errorf("an instruction that is not known here: %s", line)
		}
		if base, _, _ := strings.Cut(rest, " "); word == "FROM" && base != "scratch" && !regexp.MustCompile(`^debian:\d+\.\d+-slim$`).MatchString(base) {
			t.Errorf("it builds on %s, which names no version", base)
		}
		last[word] = rest
	}
	if last["FROM"] != "scratch" || last["USER"] != "65532:65532" || last["VOLUME"] != "/letters" || last["WORKDIR"] != "/letters" || last["EXPOSE"] != "8440" || last["STOPSIGNAL"] != "SIGTERM" {
		t.Errorf("it ends with %v", last)
	}
	begins := func(text string) config {
		t.Helper()
		var args []string
		if err := json.Unmarshal([]byte(text), &args); err != nil || len(args) == 0 || args[0] != "/plumb" {
			t.Fatalf("%s: %v", text, err)
		}
		c, err := configure(args[1:], env(""))
		if err != nil {
			t.Errorf("%s: %v", text, err)
		}
		return c
	}
	if c := begins(last["ENTRYPOINT"]); !same(c, config{addr: "0.0.0.0:8440", open: true, data: "/letters", limit: 10 << 30, rate: 40, json: true}) {
		t.Errorf("it starts with %+v", c)
	}
	_, check, _ := strings.Cut(last["HEALTHCHECK"], " CMD ")
	if c := begins(check); c.command != "ready" || c.addr != home {
		t.Errorf("it asks with %+v", c)
	}
}
