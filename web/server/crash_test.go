package main

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/mailboxtest"
	tables "example.org/plumb/web/mailbox/sql"
	"example.org/plumb/web/mailbox/sqlite"
)

var kills = flag.Int("kills", 4, "how often TestKilled kills the server")

// mail is a box as the test knows it.
type mail struct {
	at      mailbox.Address
	right   mailbox.Right
	opened  bool
	closed  bool      // told to close
	deleted bool      // told to be deleted
	ends    time.Time // no earlier, as acknowledged
	shut    bool      // closing was acknowledged
	gone    bool      // deleting was acknowledged
	letters []*sent
	chunks  []*sent
}

// sent is a letter or a chunk that was put once or more; acknowledged once the server has said so.
type sent struct {
	id           mailbox.ID
	place        int
	seq          uint64
	body         []byte
	acknowledged bool
}

// The server is killed at random moments of 500 mixed writes, and started again. What it has acknowledged is there, and nothing is there by half.
func TestKilled(t *testing.T) {
	if testing.Short() {
		t.Skip("starts servers")
	}
	const writers, writes = 5, 500
	root := small(t)
	folder := filepath.Join(root, "letters")
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	web := newClient()
	defer web.CloseIdleConnections()
	boxes := make([]*mail, writers)
	for i := range boxes {
		boxes[i] = &mail{at: mailboxtest.NewAddress(), right: mailboxtest.NewRight()}
	}
	var over []*mail // boxes that were deleted
	var written atomic.Int64
	interrupted := 0
	for round := range *kills + 1 {
		p := start(t, root, "-data", folder, "-rate", "1000000")
		s := p.store(web)
		for _, m := range append(boxes, over...) {
			verify(t, s, m)
		}
		if t.Failed() {
			t.Fatalf("after %d kills", round)
		}
		// Each round ends at its share of the writes, somewhere inside one of them; the last lets all end.
		share := int64(writes * (round + 1) / (*kills + 1))
		r := rand.New(rand.NewPCG(seed, uint64(round)))
		fuse := make(chan time.Duration, 1)
		var all sync.WaitGroup
		var lost atomic.Int64
		var mu sync.Mutex
		for i := range boxes {
			mine := rand.New(rand.NewPCG(seed, uint64(1000*(i+1)+round)))
			all.Go(func() {
				for round < *kills || written.Load() < writes {
					m := boxes[i]
					err := act(s, m, mine)
					if err != nil {
						if round == *kills {
							t.Errorf("a write in peace: %v", err)
						}
						lost.Add(1)
						return
					}
					if written.Add(1) >= share && round < *kills {
						select {
						case fuse <- time.Duration(r.IntN(4000)) * time.Microsecond:
						default:
						}
					}
					if m.gone {
						mu.Lock()
						over = append(over, m)
						mu.Unlock()
						boxes[i] = &mail{at: mailboxtest.NewAddress(), right: mailboxtest.NewRight()}
					}
				}
			})
		}
		if round < *kills {
			time.Sleep(<-fuse)
			p.kill()
		}
		all.Wait()
		interrupted += int(lost.Load())
		if round == *kills {
			for _, m := range append(boxes, over...) {
				verify(t, s, m)
			}
			p.kill()
		}
	}
	t.Logf("%d writes, %d interrupted by %d kills, %d boxes deleted", written.Load(), interrupted, *kills, len(over))
	if interrupted < *kills {
		t.Error("the kills came between the writes")
	}
	consistent(t, folder)
}

// act does one random write to a box. Errors that the server gave on purpose fail nothing here: verify knows what has to be there.
func act(s mailbox.Store, m *mail, r *rand.Rand) error {
	ctx := context.Background()
	if !m.opened {
		err := s.Open(ctx, m.at, m.right.Owner(), time.Now().Add(20*24*time.Hour))
		m.opened = m.opened || err == nil
		return err
	}
	if m.closed {
		m.deleted = m.deleted || r.IntN(4) == 0
		if m.deleted {
			err := s.Delete(ctx, m.at, m.right)
			m.gone = err == nil
			return err
		}
		err := s.Close(ctx, m.at, m.right)
		m.shut = m.shut || err == nil
		return err
	}
	// What was interrupted is sent again first, as a client would.
	next := func(list *[]*sent, size int) *sent {
		if n := len(*list); n > 0 && (!(*list)[n-1].acknowledged || r.IntN(10) == 0) {
			return (*list)[n-1]
		}
		x := &sent{id: mailboxtest.NewID(), body: mailboxtest.Bytes(size)}
		*list = append(*list, x)
		return x
	}
	switch n := r.IntN(100); {
	case n < 55:
		x := next(&m.letters, 1+r.IntN(20_000))
		seq, err := s.Put(ctx, m.at, x.id, x.body)
		if err == nil {
			if x.acknowledged && x.seq != seq {
				return fmt.Errorf("a repeat got place %d, not %d", seq, x.seq)
			}
			x.acknowledged, x.seq = true, seq
		}
		return err
	case n < 90:
		x := next(&m.chunks, 1+r.IntN(300_000))
		err := s.PutChunk(ctx, m.at, x.id, x.place, int64(len(x.body)), bytes.NewReader(x.body))
		x.acknowledged = x.acknowledged || err == nil
		return err
	case n < 98:
		ends := time.Now().Add(time.Duration(20+r.IntN(100)) * 24 * time.Hour)
		err := s.Extend(ctx, m.at, m.right, ends)
		if err == nil && ends.After(m.ends) {
			m.ends = ends
		}
		return err
	default:
		m.closed = true
		err := s.Close(ctx, m.at, m.right)
		m.shut = err == nil
		return err
	}
}

// verify compares a box with what was sent to it.
func verify(t *testing.T, s mailbox.Store, m *mail) {
	t.Helper()
	ctx := context.Background()
	var letters []mailbox.Letter
	for {
		more, err := s.Get(ctx, m.at, m.right, uint64(len(letters)), 0)
		if m.gone && !errors.Is(err, mailbox.ErrNone) {
			t.Errorf("a box is there after it was deleted: %v", err)
		}
		if errors.Is(err, mailbox.ErrNone) && (!m.opened || m.deleted) {
			return
		}
		if err != nil {
			t.Errorf("get: %v", err)
			return
		}
		if len(more) == 0 {
			break
		}
		letters = append(letters, more...)
	}
	bytesOf := int64(mailbox.Row)
	here := map[mailbox.ID]mailbox.Letter{}
	for i, l := range letters {
		if l.Seq != uint64(i+1) {
			t.Errorf("letter %d is in place %d", i+1, l.Seq)
		}
		here[l.ID] = l
		bytesOf += int64(len(l.Body)) + mailbox.Row
	}
	known := 0
	for _, x := range m.letters {
		l, ok := here[x.id]
		switch {
		case ok && !bytes.Equal(l.Body, x.body):
			t.Errorf("a letter of %d bytes came back as %d others", len(x.body), len(l.Body))
		case x.acknowledged && (!ok || l.Seq != x.seq):
			t.Errorf("an acknowledged letter is gone, or moved from place %d to %d", x.seq, l.Seq)
		}
		if ok {
			known++
		}
	}
	if known != len(letters) {
		t.Errorf("%d letters are there, %d were sent", len(letters), known)
	}
	for _, x := range m.chunks {
		p, err := s.Chunks(ctx, m.at, m.right, x.id)
		if err != nil {
			t.Errorf("chunks: %v", err)
			continue
		}
		if len(p.Chunks) == 0 {
			if x.acknowledged {
				t.Error("an acknowledged chunk is gone")
			}
			continue
		}
		body, size, err := s.GetChunk(ctx, m.at, m.right, x.id, x.place)
		if err != nil {
			t.Errorf("a chunk that is told of: %v", err)
			continue
		}
		got, err := io.ReadAll(body)
		body.Close()
		if err != nil || !bytes.Equal(got, x.body) || size != int64(len(x.body)) || p.Chunks[0] != len(x.body) {
			t.Errorf("a chunk of %d bytes came back as %d, %v", len(x.body), len(got), err)
		}
		bytesOf += int64(len(x.body)) + mailbox.Row
	}
	b, err := s.Look(ctx, m.at, m.right)
	if err != nil || b.Letters != len(letters) || b.Bytes != bytesOf || b.Expires.Before(m.ends) || m.shut && !b.Closed {
		t.Errorf("the box counts %+v, %v; there are %d letters and %d bytes, until %v, closed %v", b, err, len(letters), bytesOf, m.ends, m.shut)
	}
}

// consistent looks into a folder that no server uses: the whole is the sum of its parts, and once what was under way is given up no file is left that nothing points to.
func consistent(t *testing.T, folder string) {
	t.Helper()
	s, err := sqlite.Open(folder, sqlite.Settings{Now: time.Now, Limit: 1 << 30})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Shut()
	if err := s.GiveUp(context.Background()); err != nil {
		t.Fatal(err)
	}
	held, err := s.Content(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(folder, "chunks", "*"))
	if err != nil || len(files) != held.Chunks || held.Chunks == 0 || held.Letters == 0 {
		t.Errorf("%d files for %+v, %v", len(files), held, err)
	}
	rows, err := s.DB.Read(context.Background(), tables.Statement{Text: `SELECT (SELECT bytes FROM store) = (SELECT SUM(bytes) FROM box),
		NOT EXISTS (SELECT 1 FROM box WHERE bytes <> ?1 + (SELECT COALESCE(SUM(LENGTH(body) + ?1), 0) FROM letter WHERE box = name) + (SELECT COALESCE(SUM(size + ?1), 0) FROM chunk WHERE box = name))`,
		Args: []any{int64(mailbox.Row)}})
	if err != nil || rows[0][0] != int64(1) || rows[0][1] != int64(1) {
		t.Errorf("the counts are not the sums: %v, %v", rows, err)
	}
}
