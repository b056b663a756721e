package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/mailboxtest"
)

// command runs a command as a process in a folder.
func command(t *testing.T, folder string, args ...string) string {
	t.Helper()
	c := exec.Command(os.Args[0], args...)
	c.Dir = folder
	c.Env = append(os.Environ(), asServer+"=1", "PLUMB_DATA=", "PLUMB_ADDR=")
	out, err := c.CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %v\n%s", args, err, out)
	}
	return string(out)
}

// What README.md says about running it for others is done line by line: a mailbox is kept, backed up while it is in use, and restored.
func TestWalk(t *testing.T) {
	if testing.Short() {
		t.Skip("starts servers")
	}
	text, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, section, found := strings.Cut(string(text), "\n## Running it for others\n")
	section, _, ends := strings.Cut(section, "\n## ")
	if !found || !ends {
		t.Fatal("README.md has no section about running it for others")
	}
	steps := map[string][]string{}
	for _, m := range regexp.MustCompile(`(?m)^    go run \./web/server +([^#\n]*)`).FindAllStringSubmatch(section, -1) {
		args := strings.Fields(m[1])
		for _, step := range []string{"backup", "restore", "purge", "-export", ""} {
			if step == "" || strings.Contains(" "+m[1], " "+step+" ") || args[len(args)-1] == step {
				if steps[step] == nil {
					steps[step] = args
				}
				break
			}
		}
	}
	for _, step := range []string{"", "backup", "restore", "purge"} {
		if steps[step] == nil {
			t.Fatalf("README.md tells no %q; it tells %v", step, steps)
		}
	}
	root := small(t)
	ctx := context.Background()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	web := newClient()
	defer web.CloseIdleConnections()
	p := start(t, root, steps[""]...)
	s := p.store(web)
	at, right := mailboxtest.NewAddress(), mailboxtest.NewRight()
	gone, mine := mailboxtest.NewAddress(), mailboxtest.NewRight()
	for a, r := range map[mailbox.Address]mailbox.Right{at: right, gone: mine} {
		must(s.Open(ctx, a, r.Owner(), time.Now().Add(48*time.Hour)))
	}
	letter, chunk := []byte("sealed, for Ines"), mailboxtest.Bytes(100_000)
	_, err = s.Put(ctx, at, mailbox.ID{1}, letter)
	must(err)
	must(s.PutChunk(ctx, at, mailbox.ID{2}, 0, int64(len(chunk)), bytes.NewReader(chunk)))
	_, err = s.Put(ctx, gone, mailbox.ID{1}, []byte("to be deleted"))
	must(err)

	if told := command(t, root, steps["backup"]...); !strings.Contains(told, "2 boxes, 2 letters, 1 chunk of a parcel") {
		t.Errorf("the backup tells %q", told)
	}
	// What comes after the backup is not in it, and what goes after it comes back.
	_, err = s.Put(ctx, at, mailbox.ID{3}, []byte("late"))
	must(err)
	must(s.Delete(ctx, gone, mine))
	if told := command(t, root, steps["purge"]...); !strings.Contains(told, "Removed 0 expired boxes") {
		t.Errorf("the purge tells %q", told)
	}
	if letters, err := s.Get(ctx, at, mailbox.Right{}, 0, 0); err != nil || len(letters) != 2 {
		t.Errorf("after backup and purge beside it the server has %d letters, %v", len(letters), err)
	}
	p.kill()
	command(t, root, steps["restore"]...)
	var restored string
	for i, a := range steps["restore"] {
		if a == "-data" {
			restored = steps["restore"][i+1]
		}
	}
	if about, err := os.Stat(filepath.Join(root, restored)); err != nil || runtime.GOOS != "windows" && about.Mode().Perm()&0o077 != 0 {
		t.Errorf("others can read %s: %v, %v", restored, about, err)
	}
	s = start(t, root, "-data", restored).store(web)
	if letters, err := s.Get(ctx, at, mailbox.Right{}, 0, 0); err != nil || len(letters) != 1 || !bytes.Equal(letters[0].Body, letter) {
		t.Errorf("restored: %d letters, %v", len(letters), err)
	}
	r, _, err := s.GetChunk(ctx, at, mailbox.Right{}, mailbox.ID{2}, 0)
	must(err)
	defer r.Close()
	if b, err := io.ReadAll(r); err != nil || !bytes.Equal(b, chunk) {
		t.Errorf("restored: a chunk of %d bytes, %v", len(b), err)
	}
	if letters, err := s.Get(ctx, gone, mailbox.Right{}, 0, 0); err != nil || len(letters) != 1 {
		t.Errorf("a box that was deleted after the backup: %d letters, %v", len(letters), err)
	}
	must(s.Delete(ctx, at, right))
}

// A server that is told to stop takes no more, lets what is under way come to its end, and ends well.
func TestStops(t *testing.T) {
	if testing.Short() || runtime.GOOS == "windows" {
		t.Skip("starts a server and sends it a signal")
	}
	root := small(t)
	folder := filepath.Join(root, "letters")
	p := start(t, root, "-data", folder, "-metrics", "127.0.0.1:0")
	web := newClient()
	defer web.CloseIdleConnections()
	s := p.store(web)
	at := mailboxtest.NewAddress()
	if err := s.Open(context.Background(), at, mailboxtest.NewRight().Owner(), time.Now().Add(48*time.Hour)); err != nil {
		t.Fatal(err)
	}
	body := mailboxtest.Bytes(300_000)
	half, stopped := make(chan bool), make(chan bool)
	put := make(chan error, 1)
	go func() {
		put <- s.PutChunk(context.Background(), at, mailbox.ID{1}, 0, int64(len(body)), io.MultiReader(bytes.NewReader(body[:200_000]), &gate{half, stopped, false}, bytes.NewReader(body[200_000:])))
	}()
	<-half
	host := strings.TrimPrefix(p.origin, "http://")
	within(t, "the first half", 5*time.Second, func() bool {
		parts, _ := filepath.Glob(filepath.Join(folder, "chunks", "*.part"))
		return len(parts) == 1
	})
	if err := p.command.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	within(t, "the end of taking more", 4*time.Second, func() bool {
		c, err := net.Dial("tcp", host)
		if err == nil {
			c.Close()
		}
		return err != nil
	})
	close(stopped)
	if err := <-put; err != nil {
		t.Errorf("the chunk under way: %v", err)
	}
	if err := p.command.Wait(); err != nil {
		t.Errorf("the server ends with %v", err)
	}
	if log := p.log.String(); !strings.HasSuffix(log, "msg=stopped clean=true\n") {
		t.Errorf("it logs %s", log)
	}
	s = start(t, root, "-data", folder).store(web)
	if arrived, err := s.Chunks(context.Background(), at, mailbox.Right{}, mailbox.ID{1}); err != nil || len(arrived.Chunks) != 1 || arrived.Chunks[0] != len(body) {
		t.Errorf("the chunk that was under way: %v, %v", arrived, err)
	}
}

// gate tells that it was reached, and gives nothing until it is opened.
type gate struct {
	reached, opened chan bool
	was             bool
}

func (g *gate) Read([]byte) (int, error) {
	if !g.was {
		g.was = true
		g.reached <- true
	}
	<-g.opened
	return 0, io.EOF
}

// An address that is taken for the metrics is told like one for the site.
func TestMetricsTaken(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	t.Chdir(small(t))
	err = run(context.Background(), config{addr: "127.0.0.1:0", metrics: l.Addr().String(), limit: 1 << 20, rate: 40}, io.Discard, nobody)
	if err == nil || !strings.Contains(err.Error(), "-metrics 127.0.0.1:8442") || errors.Is(err, context.Canceled) {
		t.Errorf("error %v", err)
	}
}
