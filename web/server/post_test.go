package main

import (
	"bufio"
	"context"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/client"
	"example.org/plumb/web/mailbox/mailboxtest"
	"example.org/plumb/web/mailbox/memory"
	tables "example.org/plumb/web/mailbox/sql"
	"example.org/plumb/web/mailbox/sqlite"
)

// The test program is the server, too: started with this variable it does what the program does.
const asServer = "PLUMB_TEST_SERVER"

func TestMain(m *testing.M) {
	if os.Getenv(asServer) != "" {
		main()
		return
	}
	os.Exit(m.Run())
}

// small makes a source whose browser programs do nothing.
func small(t testing.TB) string {
	t.Helper()
	root := t.TempDir()
	for name, text := range map[string]string{
		"go.mod":       "module example.org/plumb\n\ngo 1.26.0\n",
		"wasm/main.go": "//go:build js\n\npackage main\n\nfunc main() {}\n",

		"web/pages/small_templ.go": "package pages\n",
		"wasm/looker/main.go":      "//go:build js\n\npackage main\n\nfunc main() {}\n",
	} {
		at := filepath.Join(root, name)
		if err := os.MkdirAll(filepath.Dir(at), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(at, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return root
}

// process is a server in a process of its own.
type process struct {
	command *exec.Cmd
	origin  string
	lines   *bufio.Reader // what it prints behind its link
	log     buffer
}

// start starts a server in a source and waits for its link.
func start(t testing.TB, root string, args ...string) *process {
	t.Helper()
	p := &process{command: exec.Command(os.Args[0], append([]string{"-addr", "127.0.0.1:0"}, args...)...)}
	p.command.Dir = root
	p.command.Env = append(os.Environ(), asServer+"=1")
	for _, name := range []string{"ADDR", "DATA", "LIMIT", "RATE", "PROXY", "METRICS", "LOG", "REQUESTS"} {
		p.command.Env = append(p.command.Env, "PLUMB_"+name+"=")
	}
	p.command.Stderr = &p.log
	out, err := p.command.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := p.command.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(p.kill)
	p.lines = bufio.NewReader(out)
	line, err := p.lines.ReadString('\n')
	p.origin = strings.TrimSuffix(strings.TrimSpace(strings.TrimPrefix(line, "Plumb is at ")), "/")
	if err != nil || !strings.HasPrefix(p.origin, "http://") {
		t.Fatalf("the server does not start: %q, %v\n%s", line, err, p.log.String())
	}
	return p
}

// kill ends a server without letting it do anything more.
func (p *process) kill() {
	p.command.Process.Kill()
	p.command.Wait()
}

// store is the server's mailbox. The client waits where the server tells it to.
func (p *process) store(c *http.Client) *client.Store {
	return &client.Store{Do: mailboxtest.Dial(p.origin, c), Wait: func(ctx context.Context, d time.Duration) error {
		select {
		case <-time.After(d):
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	}}
}

// newClient returns a client with connections of its own.
func newClient() *http.Client {
	return &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 200}}
}

// obeyed carries out a command as the program does.
func obeyed(t *testing.T, args ...string) (string, error) {
	t.Helper()
	c, err := configure(args, func(string) string { return "" })
	if err != nil {
		t.Fatal(err)
	}
	var out buffer
	err = obey(context.Background(), c, &out)
	return out.String(), err
}

// A server is backed up while it runs, and a server on the restored folder has what it had.
func TestCommands(t *testing.T) {
	if testing.Short() {
		t.Skip("starts servers")
	}
	root := small(t)
	folder, other, file := filepath.Join(root, "letters"), filepath.Join(root, "other"), filepath.Join(root, "b.tar")
	p := start(t, root, "-data", folder)
	if log := p.log.String(); !strings.Contains(log, `msg="letters are kept in a folder" folder=`+folder+" boxes=0 letters=0 chunks=0 held=0 limit=10G\n") {
		t.Errorf("the start tells %q", log)
	}
	web := newClient()
	defer web.CloseIdleConnections()
	ctx := context.Background()
	at, right := mailboxtest.NewAddress(), mailboxtest.NewRight()
	s := p.store(web)
	if err := s.Open(ctx, at, right.Owner(), time.Now().Add(48*time.Hour)); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Put(ctx, at, mailboxtest.NewID(), []byte("sealed")); err != nil {
		t.Fatal(err)
	}
	if err := s.PutChunk(ctx, at, mailbox.ID{1}, 0, 6, strings.NewReader("sealed")); err != nil {
		t.Fatal(err)
	}
	const held = "1 box, 1 letter, 1 chunk of a parcel, 780"
	for _, c := range []struct {
		args []string
		want string // of what is told, or of the error
	}{
		{[]string{"-data", folder, "backup", file}, "Backed up " + folder + " to " + file + ": " + held + ".\n"},
		{[]string{"-data", folder, "backup", file}, "server: backup: sqlite: " + file + " is there already"},
		{[]string{"-data", folder, "restore", file}, "server: restore: sqlite: " + folder + " holds a mailbox"},
		{[]string{"-data", other, "purge"}, "server: purge: there is no mailbox in " + other},
		{[]string{"-data", other, "restore", file}, "Restored " + other + " from " + file + ": " + held + ".\n"},
		{[]string{"-data", other, "purge"}, "Removed 0 expired boxes from " + other + "; left: " + held + ".\n"},
		{[]string{"-data", folder, "purge"}, "Removed 0 expired boxes from " + folder + "; left: " + held + ".\n"},
	} {
		out, err := obeyed(t, c.args...)
		if err != nil {
			out = err.Error()
		}
		if !strings.HasPrefix(out, c.want) {
			t.Errorf("%v: %q, want %q", c.args, out, c.want)
		}
	}
	if _, err := s.Put(ctx, at, mailboxtest.NewID(), []byte("more")); err != nil {
		t.Errorf("the server after a purge beside it: %v", err)
	}
	p.kill()
	s = start(t, root, "-data", other).store(web)
	if letters, err := s.Get(ctx, at, mailbox.Right{}, 0, 0); err != nil || len(letters) != 1 || string(letters[0].Body) != "sealed" {
		t.Errorf("the restored server: %v, %v", letters, err)
	}
	if err := s.Delete(ctx, at, right); err != nil {
		t.Errorf("the restored right: %v", err)
	}
}

// Without a folder letters are kept in memory, and the start says so. The limit holds there too.
func TestInMemory(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a server")
	}
	p := start(t, small(t), "-limit", "2K")
	if log := p.log.String(); !strings.Contains(log, `msg="letters are kept in memory and are gone when this stops; -data FOLDER keeps them" limit=2K`+"\n") {
		t.Errorf("the start tells %q", log)
	}
	web := newClient()
	defer web.CloseIdleConnections()
	s := p.store(web)
	at := mailboxtest.NewAddress()
	if err := s.Open(context.Background(), at, mailboxtest.NewRight().Owner(), time.Now().Add(48*time.Hour)); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Put(context.Background(), at, mailboxtest.NewID(), make([]byte, 2000)); err != mailbox.ErrFull {
		t.Errorf("2000 bytes: %v", err)
	}
	if _, err := s.Put(context.Background(), at, mailboxtest.NewID(), make([]byte, 1000)); err != nil {
		t.Errorf("1000 bytes: %v", err)
	}
	for path, want := range map[string]int{"/": 200, "/api/v1/": 404, "/api/v2/": 404, "/healthz": 200, "/readyz": 200, "/metrics": 404} {
		if r, err := web.Get(p.origin + path); err != nil || r.StatusCode != want {
			t.Errorf("%s: %v, %v", path, r, err)
		}
	}
}

// A folder that cannot be used is told before anything is built.
func TestDataFails(t *testing.T) {
	root := small(t)
	t.Chdir(root)
	err := run(context.Background(), config{addr: "127.0.0.1:0", data: filepath.Join(root, "go.mod", "below"), limit: 1, rate: 1}, io.Discard, nobody)
	if err == nil || !strings.Contains(err.Error(), "server: cannot use the folder") {
		t.Errorf("a folder below a file: %v", err)
	}
}

// A start clears away what an earlier one, ended in the middle of an upload, has left.
func TestLeft(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "letters")
	c := config{data: folder, limit: 1 << 20}
	before, err := sqlite.Open(folder, sqlite.Settings{Now: time.Now, Limit: c.limit})
	if err != nil {
		t.Fatal(err)
	}
	left := strings.Repeat("A", 26)
	if _, err := before.DB.Write(context.Background(), tables.Statement{Text: "INSERT INTO waste (blob, day) VALUES (?1, 99999)", Args: []any{left}}); err != nil {
		t.Fatal(err)
	}
	before.Shut()
	at := filepath.Join(folder, "chunks", left+".part")
	write(t, at, "half a chunk")
	_, shut, err := openStore(context.Background(), c, nobody)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(at); err == nil {
		t.Error("half a chunk is left")
	}
	if err := shut(); err != nil {
		t.Error(err)
	}
}

func TestForwarded(t *testing.T) {
	for _, c := range []struct {
		values []string
		want   string
	}{
		{nil, ""}, {[]string{"192.0.2.1"}, "192.0.2.1"}, {[]string{"evil, 192.0.2.1"}, "192.0.2.1"}, {[]string{"192.0.2.9", "evil,192.0.2.1 "}, "192.0.2.1"},
	} {
		if got := forwarded(&http.Request{Header: http.Header{"X-Forwarded-For": c.values}}); got != c.want {
			t.Errorf("%q: %q", c.values, got)
		}
	}
}

// The rates are of clients as -proxy tells them, and as -rate says.
func TestMount(t *testing.T) {
	for _, proxy := range []bool{false, true} {
		site := http.NotFoundHandler()
		h := mount(site, memory.New(time.Now, 1<<20), config{rate: 1, proxy: proxy}, idle())
		through := map[string]int{}
		for _, client := range []string{"192.0.2.1", "192.0.2.2"} {
			for range 40 {
				r := httptest.NewRequest("GET", mailbox.Root+"any", nil)
				r.Header.Set("X-Forwarded-For", client)
				w := httptest.NewRecorder()
				if h.ServeHTTP(w, r); w.Code != http.StatusTooManyRequests {
					through[client]++
				}
			}
		}
		first, second := through["192.0.2.1"], through["192.0.2.2"]
		if first < 30 || first > 36 || proxy != (second >= 30) { // more with every second that it takes
			t.Errorf("with a proxy %t: %v", proxy, through)
		}
	}
}

func TestAmount(t *testing.T) {
	for n, want := range map[int64]string{0: "0", 1023: "1023", 1024: "1K", 1536: "1.5K", 10 << 30: "10G", 256 << 20: "256M", 3 << 40: "3072G"} {
		if got := amount(n); got != want {
			t.Errorf("%d: %s, want %s", n, got, want)
		}
	}
}

// idle is a watch that nobody looks at.
func idle() *watch { return newWatch(nobody, false, 0, time.Time{}) }

// A mailbox is swept when the server starts, and again later; a sweep that fails is told, without an end of the server.
func TestSweep(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, stop := context.WithCancel(context.Background())
		s := &swept{}
		var log buffer
		w := newWatch(journal(&log, false), false, 0, time.Now())
		go sweep(ctx, s, w)
		synctest.Wait()
		if n := s.n.Load(); n != 1 {
			t.Errorf("at the start: %d sweeps", n)
		}
		began := time.Now()
		time.Sleep(150 * time.Minute)
		synctest.Wait()
		if n := s.n.Load(); n != 3 {
			t.Errorf("after two and a half hours: %d sweeps", n)
		}
		if got := log.String(); !strings.HasSuffix(got, "level=ERROR msg=\"sweeping failed and is tried again in an hour\" error=\"no room\"\n") || strings.Count(got, "\n") != 1 {
			t.Errorf("told: %q", got)
		}
		counted := scrape(t, w, memory.New(time.Now, 1))
		if counted[`plumb_sweeps_total{outcome="done"}`] != 2 || counted[`plumb_sweeps_total{outcome="failed"}`] != 1 || counted["plumb_swept_boxes_total"] != 6 ||
			counted["plumb_last_sweep_seconds"] != float64(began.Add(2*time.Hour).Unix()) {
			t.Errorf("counted: %v", counted)
		}
		stop()
		synctest.Wait()
	})
}

// swept counts sweeps, each of which removes three boxes, and fails the second.
type swept struct {
	store
	n atomic.Int64
}

func (s *swept) Sweep(context.Context, time.Time) (int, error) {
	if s.n.Add(1) == 2 {
		return 0, errors.New("no room")
	}
	return 3, nil
}
