package main

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"

	"example.org/plumb/web"
	"example.org/plumb/web/program"
)

// stand returns assets whose programs stand in for the browser programs, which take a minute to build and more to squeeze.
func stand(context.Context, string) (map[string][]byte, error) {
	own := web.Own()
	for i, name := range []string{web.Program, web.Plain, web.Looker, web.Runtime} {
		own[name] = bytes.Repeat([]byte{'p', byte('0' + i)}, 5000)
	}
	return own, nil
}

func root(t *testing.T) string {
	t.Helper()
	at, err := program.Here()
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// copied copies what a server is built of to a folder of another length.
func copied(t *testing.T, from string) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "another", "place")
	for _, name := range []string{"go.mod", "go.sum", "web", "colour", "patterns", "wasm"} {
		at := filepath.Join(from, name)
		if err := filepath.WalkDir(at, func(file string, e fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			if e.IsDir() && e.Name() == "node_modules" {
				return fs.SkipDir
			}
			if e.IsDir() {
				return nil
			}
			inside, err := filepath.Rel(from, file)
			if err != nil {
				return err
			}
			text, err := os.ReadFile(file)
			if err != nil {
				return err
			}
			if err := os.MkdirAll(filepath.Dir(filepath.Join(to, inside)), 0o755); err != nil {
				return err
			}
			return os.WriteFile(filepath.Join(to, inside), text, 0o644)
		}); err != nil {
			t.Fatal(err)
		}
	}
	return to
}

// The program for this system is the same from two folders, is what SHA256SUMS says, and serves without Go, without the source and without a file beside it.
func TestRelease(t *testing.T) {
	if testing.Short() {
		t.Skip("builds servers")
	}
	here := root(t)
	system := runtime.GOOS + "/" + runtime.GOARCH
	s, err := parse([]string{system})
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	first, second := filepath.Join(t.TempDir(), "first"), filepath.Join(t.TempDir(), "second")
	// Neither copy has git's word about its commit: what differs is the place alone.
	other := copied(t, here)
	sources := []string{other, copied(t, other)}
	var programs [2][]byte
	for i, to := range []string{first, second} {
		t.Chdir(sources[i])
		if err := run(context.Background(), to, []string{system}, stand, &out); err != nil {
			t.Fatal(err)
		}
		if programs[i], err = os.ReadFile(filepath.Join(to, s[0].name())); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(programs[0], programs[1]) {
		t.Errorf("built in two folders the programs differ: %x and %x", sha256.Sum256(programs[0]), sha256.Sum256(programs[1]))
	}
	for _, place := range []string{here, other, os.TempDir() + "/plumb-"} {
		if bytes.Contains(programs[0], []byte(place)) {
			t.Errorf("the program tells where it was built: %s", place)
		}
	}
	if _, err := os.Stat(filepath.Join(other, filepath.FromSlash(carried))); err == nil {
		t.Error("what is embedded is left in the source")
	}
	summed(t, first)
	if err := run(context.Background(), first, []string{system}, stand, &out); err == nil || !strings.Contains(err.Error(), "name an empty folder") {
		t.Errorf("into a folder that holds something: %v", err)
	}
	alone(t, programs[0])
}

// summed checks SHA256SUMS against the files beside it.
func summed(t *testing.T, folder string) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(folder, "SHA256SUMS"))
	if err != nil {
		t.Fatal(err)
	}
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	if len(lines) != len(entries)-1 {
		t.Errorf("%d sums of %d files", len(lines), len(entries)-1)
	}
	for _, want := range []string{"plumb.service", "Containerfile", "LICENCES.txt", "plumb-" + runtime.GOOS} {
		if !strings.Contains(string(text), "  "+want) {
			t.Errorf("no sum of %s", want)
		}
	}
	for _, line := range lines {
		sum, name, _ := strings.Cut(line, "  ")
		b, err := os.ReadFile(filepath.Join(folder, name))
		if is := sha256.Sum256(b); err != nil || hex.EncodeToString(is[:]) != sum {
			t.Errorf("%s: %v", line, err)
		}
	}
	licences, err := os.ReadFile(filepath.Join(folder, "LICENCES.txt"))
	if err != nil {
		t.Fatal(err)
	}
	for _, part := range []string{"\nGo\n\nCopyright", "\nmodernc.org/sqlite v", "\ngithub.com/andybalholm/brotli v", "\ngithub.com/a-h/templ v", "\nrsc.io/qr v", "\nAtkinson Hyperlegible Next\n\n", "SIL OPEN FONT LICENSE"} {
		if !bytes.Contains(licences, []byte(part)) {
			t.Errorf("LICENCES.txt has no %q", part)
		}
	}
	seen := map[string]bool{}
	for part := range strings.SplitSeq(string(licences), "\n"+strings.Repeat("=", 79)+"\n") {
		if seen[part] {
			t.Errorf("a licence comes twice: %.80q", part)
		}
		seen[part] = true
	}
	if len(seen) < 15 {
		t.Errorf("only %d licences", len(seen))
	}
}

// alone runs a released program as a container would: where it may, it sees nothing but itself and one folder, and is nobody in particular.
func alone(t *testing.T, text []byte) {
	t.Helper()
	cell := t.TempDir()
	name := filepath.Join(cell, "plumb")
	if runtime.GOOS == "windows" {
		name += ".exe"
	}
	if err := os.WriteFile(name, text, 0o755); err != nil {
		t.Fatal(err)
	}
	letters := filepath.Join(cell, "letters")
	if err := os.Mkdir(letters, 0o700); err != nil {
		t.Fatal(err)
	}
	attributes, dir := confined(t, cell, letters)
	if attributes != nil {
		name, letters = "/plumb", "/letters"
	}
	start := func(args ...string) *exec.Cmd {
		c := exec.Command(name, args...)
		c.Dir, c.SysProcAttr = dir, attributes
		c.Env = []string{"SQLITE_TMPDIR=" + letters, "PLUMB_LOG=json"}
		return c
	}
	server := start("-addr", "127.0.0.1:0", "-data", letters)
	var log bytes.Buffer
	server.Stderr = &log
	pipe, err := server.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := server.Start(); err != nil {
		t.Fatal(err)
	}
	ended := false
	defer func() {
		if !ended {
			server.Process.Kill()
			server.Wait()
		}
	}()
	line, err := bufio.NewReader(pipe).ReadString('\n')
	origin := strings.TrimSuffix(strings.TrimSpace(strings.TrimPrefix(line, "Plumb is at ")), "/")
	if err != nil || !strings.HasPrefix(origin, "http://") {
		t.Fatalf("it does not start: %q, %v\n%s", line, err, log.Bytes())
	}
	get := func(at string) (string, http.Header) {
		t.Helper()
		r, err := http.NewRequest("GET", origin+at, nil)
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Accept-Encoding", "br")
		a, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer a.Body.Close()
		b, err := io.ReadAll(a.Body)
		if err != nil || a.StatusCode != 200 {
			t.Fatalf("%s: %s, %v", at, a.Status, err)
		}
		return string(b), a.Header
	}
	if text, _ := get("/readyz"); text != "ready\n" {
		t.Errorf("/readyz: %q", text)
	}
	own, _ := stand(t.Context(), "")
	about, _ := get("/version")
	var version struct{ Version, Program, Plain, Looker, Go string }
	sum := sha256.Sum256(own[web.Looker])
	if err := json.Unmarshal([]byte(about), &version); err != nil || version.Looker != hex.EncodeToString(sum[:]) || version.Program == "" || version.Plain == "" || version.Go != runtime.Version() {
		t.Errorf("/version: %s", about)
	}
	packed, err := program.Pack(own)
	if err != nil {
		t.Fatal(err)
	}
	programs := sha256.Sum256(own[web.Plain])
	if text, h := get(fmt.Sprintf("/assets/%x/%s", programs[:8], web.Plain)); h.Get("Content-Encoding") != "br" || text != string(packed[web.Plain+".br"]) {
		t.Errorf("the browser program comes as %q, %d bytes", h.Get("Content-Encoding"), len(text))
	}
	addr := strings.TrimPrefix(origin, "http://")
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"-addr", addr, "ready"}, "ready\n"},
		{[]string{"-data", letters, "backup", filepath.ToSlash(filepath.Join(letters, "b.tar"))}, "Backed up"},
		{[]string{"-data", letters, "purge"}, "Removed 0 expired boxes"},
		{[]string{"-help"}, "\tplumb [flags]\n"},
		{[]string{"-version"}, "plumb unreleased, go"},
	} {
		if out, err := start(c.args...).CombinedOutput(); err != nil || !strings.Contains(string(out), c.want) {
			t.Errorf("%v: %v, %s", c.args, err, out)
		}
	}
	if runtime.GOOS == "windows" {
		return
	}
	server.Process.Signal(syscall.SIGTERM)
	err = server.Wait()
	if ended = true; err != nil || !strings.Contains(log.String(), `"msg":"stopped","clean":true`) {
		t.Errorf("it ends with %v\n%s", err, log.Bytes())
	}
}

func TestParse(t *testing.T) {
	all, err := parse(strings.Fields(targets))
	if err != nil || len(all) != 6 {
		t.Fatal(all, err)
	}
	var names []string
	for _, s := range all {
		names = append(names, s.name())
	}
	want := []string{"plumb-linux-amd64", "plumb-linux-arm64", "plumb-darwin-amd64", "plumb-darwin-arm64", "plumb-windows-amd64.exe", "plumb-windows-arm64.exe"}
	if !slices.Equal(names, want) {
		t.Errorf("names %v", names)
	}
	for _, bad := range [][]string{nil, {"linux"}, {"linux/"}, {"/amd64"}, {"linux/amd64/v3"}, {"linux/amd64", "linux/amd64"}} {
		if got, err := parse(bad); err == nil {
			t.Errorf("%q is %v", bad, got)
		}
	}
}

// What deploys the server is for files that a release has, and for settings that the server has.
func TestDeploys(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(root(t), filepath.FromSlash(deploy), "Containerfile"))
	if err != nil {
		t.Fatal(err)
	}
	copies := regexp.MustCompile(`(?m)^COPY (?:--chmod=\S+ )?([^-\s]\S*) `).FindAllStringSubmatch(string(text), -1)
	if len(copies) != 2 {
		t.Fatalf("it copies %v", copies)
	}
	all, _ := parse(strings.Fields(targets))
	for _, c := range copies {
		for _, arch := range []string{"amd64", "arm64"} {
			name := strings.ReplaceAll(c[1], "${TARGETARCH}", arch)
			if !slices.ContainsFunc(all, func(s system) bool { return s.name() == name }) && name != "LICENCES.txt" {
				t.Errorf("no release holds %s", name)
			}
		}
	}
}

func TestLicenceFiles(t *testing.T) {
	folder := t.TempDir()
	if _, err := licenceFiles(folder); err == nil {
		t.Error("a module without a licence passes")
	}
	for _, name := range []string{"LICENSE", "licence.md", "COPYING.txt", "NOTICE", "PATENTS", "LICENSE-MIT", "license.go", "README.md", "unlicensed"} {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(name), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	texts, err := licenceFiles(folder)
	if err != nil || len(texts) != 6 {
		t.Errorf("%q, %v", texts, err)
	}
}
