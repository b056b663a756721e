package main

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"example.org/plumb/web/mailbox/mailboxtest"
)

var chunksOf = flag.Int("chunks", 1, "how many chunks of 1 MiB each parcel of TestUploads has")

// 100 parcels come at once, all with a chunk half sent at the same moment, and the server's memory stays below 64 MiB.
func TestUploads(t *testing.T) {
	if testing.Short() || runtime.GOOS != "linux" {
		t.Skip("starts a server and reads its memory from /proc")
	}
	const parcels, most = 100, 64 << 10 // KiB
	root := small(t)
	p := start(t, root, "-data", filepath.Join(root, "letters"), "-rate", "1000000")
	memory := func(what string) (kib int) {
		t.Helper()
		b, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", p.command.Process.Pid))
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(string(b)) {
			if rest, ok := strings.CutPrefix(line, what+":"); ok {
				fmt.Sscan(rest, &kib)
			}
		}
		if kib == 0 {
			t.Fatalf("no %s", what)
		}
		return kib
	}
	web := newClient()
	defer web.CloseIdleConnections()
	s := p.store(web)
	before := memory("VmRSS")
	// What building the browser program took is not counted.
	if err := os.WriteFile(fmt.Sprintf("/proc/%d/clear_refs", p.command.Process.Pid), []byte("5"), 0); err != nil {
		t.Fatal(err)
	}
	body := mailboxtest.Bytes(1 << 20)
	var half, all sync.WaitGroup
	half.Add(parcels)
	began := time.Now()
	for range parcels {
		all.Go(func() {
			at, right := mailboxtest.NewAddress(), mailboxtest.NewRight()
			if err := s.Open(context.Background(), at, right.Owner(), time.Now().Add(48*time.Hour)); err != nil {
				t.Errorf("open: %v", err)
				half.Done()
				return
			}
			parcel := mailboxtest.NewID()
			for i := range *chunksOf {
				var r io.Reader = bytes.NewReader(body)
				if i == 0 {
					r = io.MultiReader(bytes.NewReader(body[:len(body)/2]), &barrier{group: &half}, bytes.NewReader(body[len(body)/2:]))
				}
				if err := s.PutChunk(context.Background(), at, parcel, i, int64(len(body)), r); err != nil {
					t.Errorf("chunk %d: %v", i, err)
					return
				}
			}
			r, _, err := s.GetChunk(context.Background(), at, right, parcel, *chunksOf-1)
			if err != nil {
				t.Errorf("get: %v", err)
				return
			}
			defer r.Close()
			if got, err := io.ReadAll(r); err != nil || !bytes.Equal(got, body) {
				t.Errorf("%d bytes came back, %v", len(got), err)
			}
		})
	}
	all.Wait()
	took := time.Since(began)
	peak := memory("VmHWM")
	t.Logf("%d parcels of %d MiB in %.1f s (%.0f MiB/s), memory %.1f MiB before, %.1f at most", parcels, *chunksOf, took.Seconds(),
		float64(parcels**chunksOf)/took.Seconds(), float64(before)/1024, float64(peak)/1024)
	if peak > most {
		t.Errorf("the server took %d KiB, more than %d", peak, most)
	}
}

// barrier gives nothing, and only once the whole group has come to it.
type barrier struct {
	group *sync.WaitGroup
	once  sync.Once
}

func (b *barrier) Read([]byte) (int, error) {
	b.once.Do(b.group.Done)
	b.group.Wait()
	return 0, io.EOF
}
