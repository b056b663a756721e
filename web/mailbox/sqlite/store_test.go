package sqlite

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/mailboxtest"
	tables "example.org/plumb/web/mailbox/sql"
)

// disk is all that is in a folder, file by file.
func disk(t *testing.T, folder string) map[string][]byte {
	t.Helper()
	all := map[string][]byte{}
	if err := filepath.WalkDir(folder, func(at string, e fs.DirEntry, err error) error {
		if err == nil && !e.IsDir() {
			all[at], err = os.ReadFile(at)
		}
		return err
	}); err != nil {
		t.Fatal(err)
	}
	return all
}

// holds tells which file has some bytes in it, or in its name.
func holds(files map[string][]byte, what []byte) string {
	for name, b := range files {
		if bytes.Contains(b, what) || strings.Contains(filepath.Base(name), string(what)) {
			return name
		}
	}
	return ""
}

// A store that is opened again has all it had.
func TestAgain(t *testing.T) {
	folder := t.TempDir()
	s, err := Open(folder, Settings{Now: mailboxtest.NewClock().Now, Limit: 1 << 20})
	if err != nil {
		t.Fatal(err)
	}
	at, _ := box(t, s)
	letter(t, s, at, []byte("kept"))
	chunk(t, s, at, mailbox.ID{1}, 0, []byte("kept, too"))
	if err := s.Shut(); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Put(background, at, mailbox.ID{}, []byte("late")); !errors.Is(err, errShut) {
		t.Errorf("a command after the end: %v", err)
	}
	if _, err := s.Get(background, at, mailbox.Right{}, 0, 0); err == nil {
		t.Error("letters after the end")
	}
	s = opened(t, folder, Settings{})
	if letters, err := s.Get(background, at, mailbox.Right{}, 0, 0); err != nil || len(letters) != 1 || string(letters[0].Body) != "kept" {
		t.Errorf("the letter: %v, %v", letters, err)
	}
	if b, err := read(s, at, mailbox.ID{1}, 0); err != nil || string(b) != "kept, too" {
		t.Errorf("the chunk: %q, %v", b, err)
	}
}

// Nobody else on the computer reads the folder, and no time of a file tells when it came.
func TestPrivate(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "letters")
	s := opened(t, folder, Settings{})
	at, _ := box(t, s)
	chunk(t, s, at, mailbox.ID{1}, 0, []byte("sealed"))
	letter(t, s, at, []byte("sealed"))
	seen := 0
	if err := filepath.WalkDir(folder, func(at string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		i, err := e.Info()
		if err == nil && i.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s has mode %v", at, i.Mode())
		}
		if filepath.Base(filepath.Dir(at)) == chunks {
			seen++
			if i.ModTime().Unix() != 0 {
				t.Errorf("a chunk came %v", i.ModTime())
			}
		}
		return err
	}); err != nil || seen != 1 {
		t.Errorf("%d chunks, %v", seen, err)
	}
}

// A disk that is full refuses what is new, keeps what is there, and takes again once there is room.
func TestDiskFull(t *testing.T) {
	folder := t.TempDir()
	s := opened(t, folder, Settings{Pages: 120})
	at, right := box(t, s)
	other, _ := box(t, s)
	letter(t, s, other, []byte("before"))
	var kept int
	body := mailboxtest.Bytes(20_000)
	for {
		if _, err := s.Put(background, at, mailboxtest.NewID(), body); err != nil {
			if err != mailbox.ErrFull {
				t.Fatalf("a full disk: %v", err)
			}
			break
		}
		if kept++; kept > 100 {
			t.Fatal("the disk is never full")
		}
	}
	if kept < 5 {
		t.Errorf("full after %d letters", kept)
	}
	// Some that come together: those with room are not hurt by those without.
	var all sync.WaitGroup
	for i := range 12 {
		all.Go(func() {
			size := 20_000
			if i%2 == 0 {
				size = 10
			}
			if _, err := s.Put(background, at, mailboxtest.NewID(), body[:size]); err != nil && (err != mailbox.ErrFull || size == 10) {
				t.Errorf("%d bytes: %v", size, err)
			}
		})
	}
	all.Wait()
	letters, err := s.Get(background, at, right, 0, 0)
	if err != nil || len(letters) < kept+6 {
		t.Errorf("%d letters of at least %d, %v", len(letters), kept+6, err)
	}
	for i, l := range letters {
		if l.Seq != uint64(i+1) || !bytes.Equal(l.Body, body[:len(l.Body)]) {
			t.Errorf("letter %d is in place %d", i+1, l.Seq)
		}
	}
	sums(t, s.db.reading)
	if err := s.Delete(background, at, right); err != nil {
		t.Fatalf("deleting when full: %v", err)
	}
	letter(t, s, other, body)
	sums(t, s.db.reading)
}

// What was deleted leaves the disk with the next sweep: tables, journal and files.
func TestDeletedIsGone(t *testing.T) {
	folder := t.TempDir()
	clock := mailboxtest.NewClock()
	s := opened(t, folder, Settings{Now: clock.Now})
	for _, how := range []string{"deleted", "expired"} {
		at, right := box(t, s)
		keep, _ := box(t, s)
		sealed, piece, kept := mailboxtest.Bytes(30_000), mailboxtest.Bytes(30_000), mailboxtest.Bytes(300)
		letter(t, s, at, sealed)
		chunk(t, s, at, mailbox.ID{1}, 0, piece)
		for name, b := range map[string][]byte{"letter": sealed, "chunk": piece} {
			if holds(disk(t, folder), b[100:132]) == "" {
				t.Errorf("the %s is nowhere to begin with", name)
			}
		}
		if how == "deleted" {
			if err := s.Delete(background, at, right); err != nil {
				t.Fatal(err)
			}
			if holds(disk(t, folder), piece[100:132]) != "" {
				t.Error("the file of a deleted chunk is there")
			}
		} else {
			clock.Advance(29 * 24 * time.Hour)
			letter(t, s, func() mailbox.Address { keep, _ = box(t, s); return keep }(), kept)
			clock.Advance(3 * 24 * time.Hour)
		}
		if how == "deleted" {
			letter(t, s, keep, kept)
		}
		if _, err := s.Sweep(background, clock.Now()); err != nil {
			t.Fatal(err)
		}
		files := disk(t, folder)
		for name, b := range map[string][]byte{"letter": sealed[100:132], "end of the letter": sealed[29_900:29_932], "chunk": piece[100:132], "owner": func() []byte { o := right.Owner(); return o[:] }()} {
			if at := holds(files, b); at != "" && (how == "expired" || name != "owner") {
				t.Errorf("%s: the %s is still in %s", how, name, filepath.Base(at))
			}
		}
		if holds(files, kept) == "" {
			t.Errorf("%s: a letter of another box is gone", how)
		}
	}
}

func TestPurge(t *testing.T) {
	folder := t.TempDir()
	clock := mailboxtest.NewClock()
	s := opened(t, folder, Settings{Now: clock.Now})
	at, _ := box(t, s)
	for range 40 {
		letter(t, s, at, mailboxtest.Bytes(50_000))
	}
	size := func() int64 {
		var n int64
		for _, b := range disk(t, folder) {
			n += int64(len(b))
		}
		return n
	}
	before := size()
	clock.Advance(40 * 24 * time.Hour)
	keep, _ := box(t, s)
	letter(t, s, keep, []byte("kept"))
	if n, err := s.Purge(background, clock.Now()); n != 1 || err != nil {
		t.Errorf("purge: %d, %v", n, err)
	}
	if after := size(); before < 2_000_000 || after > 200_000 {
		t.Errorf("the folder had %d bytes and has %d", before, after)
	}
	if letters, err := s.Get(background, keep, mailbox.Right{}, 0, 0); err != nil || len(letters) != 1 {
		t.Errorf("what is kept: %v, %v", letters, err)
	}
}

// A chunk whose upload was cut off by the end of the program leaves a file, which goes with GiveUp, or with a sweep some days later.
func TestGiveUp(t *testing.T) {
	folder := t.TempDir()
	clock := mailboxtest.NewClock()
	s := opened(t, folder, Settings{Now: clock.Now})
	at, _ := box(t, s)
	files := func() int {
		e, err := os.ReadDir(filepath.Join(folder, chunks))
		if err != nil {
			t.Fatal(err)
		}
		return len(e)
	}
	left := func() {
		for i, end := range []string{"", ".part"} {
			name := strings.Repeat("A", 25) + string(rune('A'+i))
			if _, err := s.DB.Write(background, tables.Statement{Text: "INSERT INTO waste (blob, day) VALUES (?1, ?2)", Args: []any{name, clock.Now().Unix()/86400 + 2}}); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(folder, chunks, name+end), []byte("left"), 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	chunk(t, s, at, mailbox.ID{1}, 0, []byte("kept"))
	left()
	for days, want := range []int{3, 3, 3, 1} {
		if _, err := s.Sweep(background, clock.Now()); err != nil || files() != want {
			t.Errorf("after %d days: %d files, want %d, %v", days, files(), want, err)
		}
		clock.Advance(24 * time.Hour)
	}
	left()
	if err := s.GiveUp(background); err != nil || files() != 1 {
		t.Errorf("given up: %d files, %v", files(), err)
	}
	// One that is under way meanwhile fails, and can be repeated.
	for name, giveUp := range map[string]func() error{
		"to the end": func() error { return s.GiveUp(background) },
		"not yet to the end": func() error {
			_, err := s.DB.Write(background, tables.Statement{Text: "UPDATE waste SET day = 0"})
			return err
		},
	} {
		slow := &gate{entered: make(chan bool), open: make(chan bool), Reader: bytes.NewReader([]byte("slow"))}
		done := make(chan error)
		go func() { done <- s.PutChunk(background, at, mailbox.ID{1}, 1, 4, slow) }()
		<-slow.entered
		if err := giveUp(); err != nil {
			t.Fatal(err)
		}
		close(slow.open)
		var busy mailbox.Busy
		if err := <-done; !errors.As(err, &busy) || files() != 1 {
			t.Errorf("given up %s: %v, %d files", name, err, files())
		}
	}
	chunk(t, s, at, mailbox.ID{1}, 1, []byte("slow"))
	if b, err := read(s, at, mailbox.ID{1}, 1); err != nil || string(b) != "slow" {
		t.Errorf("the repeat: %q, %v", b, err)
	}
}

// gate is a reader that says when it is read and waits.
type gate struct {
	entered, open chan bool
	once          sync.Once
	*bytes.Reader
}

func (g *gate) Read(p []byte) (int, error) {
	g.once.Do(func() { g.entered <- true; <-g.open })
	return g.Reader.Read(p)
}

func TestVersions(t *testing.T) {
	folder := t.TempDir()
	s, err := Open(folder, Settings{Now: time.Now, Limit: 1})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.db.alone(background, "PRAGMA user_version = 99"); err != nil {
		t.Fatal(err)
	}
	s.Shut()
	if _, err := Open(folder, Settings{Now: time.Now, Limit: 1}); err == nil || !strings.Contains(err.Error(), "newer version") {
		t.Errorf("a newer database: %v", err)
	}
	if err := os.WriteFile(filepath.Join(folder, database), []byte(strings.Repeat("no database ", 1000)), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(folder, Settings{Now: time.Now, Limit: 1}); err == nil {
		t.Error("what is no database was opened")
	}
	if _, err := Open(filepath.Join(folder, database, "below"), Settings{Now: time.Now, Limit: 1}); err == nil {
		t.Error("a folder below a file was opened")
	}
}

// A batch that fails does not hurt those that share its commit, and leaves nothing of itself.
func TestGroups(t *testing.T) {
	s := opened(t, t.TempDir(), Settings{})
	good := func(n int64) tables.Statement {
		return tables.Statement{Text: "INSERT INTO waste (blob, day) VALUES (?1, ?2)", Args: []any{strings.Repeat("X", int(n)), n}}
	}
	batches := []*batch{}
	for i := range int64(9) {
		b := &batch{ctx: background, statements: []tables.Statement{good(i + 1)}}
		if i%3 == 1 {
			b.statements = append(b.statements, good(100+i), tables.Statement{Text: "INSERT INTO waste (blob, day) VALUES (NULL, 1)"})
		}
		if i%3 == 2 {
			gone, cancel := context.WithCancel(background)
			cancel()
			b.ctx = gone
		}
		batches = append(batches, b)
	}
	s.db.commit(batches)
	for i, b := range batches {
		if (b.err == nil) != (i%3 == 0) || i%3 == 2 && b.err != context.Canceled {
			t.Errorf("batch %d: %v", i, b.err)
		}
	}
	rows, err := s.DB.Read(background, tables.Statement{Text: "SELECT day FROM waste ORDER BY day"})
	if err != nil || len(rows) != 3 || rows[0][0] != int64(1) || rows[1][0] != int64(4) || rows[2][0] != int64(7) {
		t.Errorf("kept: %v, %v", rows, err)
	}
}

// Two processes may have the folder, as a command and the server do.
func TestTwo(t *testing.T) {
	folder := t.TempDir()
	a, b := opened(t, folder, Settings{}), opened(t, folder, Settings{})
	at, right := box(t, a)
	var all sync.WaitGroup
	for _, s := range []*Store{a, b} {
		all.Go(func() {
			for range 40 {
				letter(t, s, at, []byte("one"))
			}
		})
	}
	all.Wait()
	for _, s := range []*Store{a, b} {
		if x, err := s.Look(background, at, right); err != nil || x.Letters != 80 {
			t.Errorf("look: %+v, %v", x, err)
		}
		sums(t, s.db.reading)
	}
}
