package sqlite

import (
	"archive/tar"
	"bytes"
	"context"
	"database/sql"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/mailboxtest"
	tables "example.org/plumb/web/mailbox/sql"
)

var background = context.Background()

// opened opens a store in a folder; it is shut when the test ends.
func opened(t *testing.T, folder string, s Settings) *Store {
	t.Helper()
	if s.Now == nil {
		s.Now = mailboxtest.NewClock().Now
	}
	if s.Limit == 0 {
		s.Limit = mailboxtest.Plenty
	}
	store, err := Open(folder, s)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := store.Shut(); err != nil {
			t.Error(err)
		}
	})
	return store
}

// box opens a box for 30 days.
func box(t *testing.T, s *Store) (mailbox.Address, mailbox.Right) {
	t.Helper()
	at, right := mailboxtest.NewAddress(), mailboxtest.NewRight()
	if err := s.Store.Open(background, at, right.Owner(), s.Now().Add(30*24*time.Hour)); err != nil {
		t.Fatal(err)
	}
	return at, right
}

func chunk(t *testing.T, s *Store, at mailbox.Address, parcel mailbox.ID, i int, body []byte) {
	t.Helper()
	if err := s.PutChunk(background, at, parcel, i, int64(len(body)), bytes.NewReader(body)); err != nil {
		t.Fatal(err)
	}
}

func letter(t *testing.T, s *Store, at mailbox.Address, body []byte) {
	t.Helper()
	if _, err := s.Put(background, at, mailboxtest.NewID(), body); err != nil {
		t.Fatal(err)
	}
}

// read is all of a chunk.
func read(s *Store, at mailbox.Address, parcel mailbox.ID, i int) ([]byte, error) {
	r, _, err := s.GetChunk(background, at, mailbox.Right{}, parcel, i)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	return io.ReadAll(r)
}

func TestBackup(t *testing.T) {
	folder, file := t.TempDir(), filepath.Join(t.TempDir(), "b.tar")
	s := opened(t, folder, Settings{})
	at, right := box(t, s)
	parcel, body := mailboxtest.NewID(), mailboxtest.Bytes(200_000)
	letter(t, s, at, []byte("sealed"))
	chunk(t, s, at, parcel, 0, body)
	chunk(t, s, at, parcel, 1, body[:7])
	// What is under way is no part of a backup.
	if err := s.PutChunk(background, at, parcel, 2, 5, bytes.NewReader([]byte("four"))); !errors.Is(err, io.ErrUnexpectedEOF) {
		t.Fatal(err)
	}
	if _, err := s.DB.Write(background, tables.Statement{Text: "INSERT INTO waste (blob, day) VALUES ('" + strings.Repeat("A", 26) + "', 999999)"}); err != nil {
		t.Fatal(err)
	}
	want, err := s.Content(background)
	if err != nil {
		t.Fatal(err)
	}
	got, err := Backup(background, folder, file)
	if err != nil || got != want || got.Chunks != 2 || got.Letters != 1 {
		t.Fatalf("backup: %+v, %v; want %+v", got, err, want)
	}
	if _, err := Backup(background, folder, file); err == nil || !strings.Contains(err.Error(), "is there already") {
		t.Errorf("over a file: %v", err)
	}
	if _, err := Backup(background, t.TempDir(), file+"2"); err == nil || !strings.Contains(err.Error(), "no mailbox to back up") {
		t.Errorf("of nothing: %v", err)
	}
	if left, _ := os.ReadDir(filepath.Dir(file)); len(left) != 1 {
		t.Errorf("beside the backup: %v", left)
	}
	for _, h := range entries(t, file) {
		if h.ModTime.Unix() != 0 || h.Uname != "" || h.Uid != 0 {
			t.Errorf("%s tells of a time or a user: %+v", h.Name, h)
		}
	}

	if _, err := Restore(background, folder, file); err == nil || !strings.Contains(err.Error(), "holds a mailbox") {
		t.Errorf("over a mailbox: %v", err)
	}
	other := filepath.Join(t.TempDir(), "deep", "letters")
	if got, err := Restore(background, other, file); err != nil || got != want {
		t.Fatalf("restore: %+v, %v; want %+v", got, err, want)
	}
	if left, _ := filepath.Glob(filepath.Join(other, ".restore*")); len(left) != 0 {
		t.Errorf("restoring leaves %v", left)
	}
	r := opened(t, other, Settings{})
	if rows, err := r.DB.Read(background, tables.Statement{Text: "SELECT blob FROM waste"}); err != nil || len(rows) != 0 {
		t.Errorf("waste was backed up: %v, %v", rows, err)
	}
	if letters, err := r.Get(background, at, mailbox.Right{}, 0, 0); err != nil || len(letters) != 1 || string(letters[0].Body) != "sealed" {
		t.Errorf("the letter: %v, %v", letters, err)
	}
	for i, b := range [][]byte{body, body[:7]} {
		if got, err := read(r, at, parcel, i); err != nil || !bytes.Equal(got, b) {
			t.Errorf("chunk %d: %d bytes, %v", i, len(got), err)
		}
	}
	if err := r.Store.Close(background, at, right); err != nil {
		t.Errorf("the right: %v", err)
	}
	if _, err := r.Put(background, at, mailboxtest.NewID(), []byte("late")); err != mailbox.ErrNone {
		t.Errorf("after closing: %v", err)
	}
}

func entries(t *testing.T, file string) (all []*tar.Header) {
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for r := tar.NewReader(f); ; {
		h, err := r.Next()
		if err == io.EOF {
			return all
		}
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, h)
	}
}

// Backups that are made while much is written and deleted restore to stores that are whole: each box that the backup has holds a beginning of what was put into it.
func TestBackupInUse(t *testing.T) {
	folder := t.TempDir()
	s := opened(t, folder, Settings{})
	stop := make(chan struct{})
	type put struct {
		at     mailbox.Address
		parcel mailbox.ID
		body   []byte
	}
	var mu sync.Mutex
	var puts []put
	var all sync.WaitGroup
	for range 3 {
		all.Go(func() {
			for turn := 0; ; turn++ {
				at, right := mailboxtest.NewAddress(), mailboxtest.NewRight()
				if err := s.Store.Open(background, at, right.Owner(), s.Now().Add(24*time.Hour)); err != nil {
					t.Error(err)
					return
				}
				p := put{at, mailboxtest.NewID(), mailboxtest.Bytes(3000)}
				mu.Lock()
				puts = append(puts, p)
				mu.Unlock()
				for i := range 6 {
					_, err := s.Put(background, at, mailbox.ID{byte(i)}, p.body)
					if err = errors.Join(err, s.PutChunk(background, at, p.parcel, i, 3000, bytes.NewReader(p.body))); err != nil {
						t.Error(err)
						return
					}
				}
				if turn%2 == 0 {
					if err := s.Delete(background, at, right); err != nil {
						t.Error(err)
						return
					}
				}
				select {
				case <-stop:
					return
				default:
				}
			}
		})
	}
	for round := range 5 {
		time.Sleep(50 * time.Millisecond)
		file := filepath.Join(t.TempDir(), "b.tar")
		held, err := Backup(background, folder, file)
		if err != nil {
			t.Fatalf("backup %d: %v", round, err)
		}
		to := t.TempDir()
		got, err := Restore(background, to, file)
		if err != nil || got != held {
			t.Fatalf("restore %d: %+v, %v; backed up were %+v", round, got, err, held)
		}
		if round == 4 && (held.Boxes < 5 || held.Chunks < 5) {
			t.Errorf("too little was going on: %+v", held)
		}
		r := opened(t, to, Settings{})
		mu.Lock()
		sent := slices.Clone(puts)
		mu.Unlock()
		found := 0
		for _, p := range sent {
			letters, err := r.Get(background, p.at, mailbox.Right{}, 0, 0)
			if err != nil {
				continue // later, or deleted
			}
			found += len(letters)
			arrived, err := r.Chunks(background, p.at, mailbox.Right{}, p.parcel)
			if n := len(letters) - len(arrived.Chunks); err != nil || n < 0 || n > 6 {
				t.Errorf("%d letters and %d chunks, %v", len(letters), len(arrived.Chunks), err)
			}
			for _, l := range letters {
				if !bytes.Equal(l.Body, p.body) {
					t.Error("a letter is another")
				}
			}
			for i, size := range arrived.Chunks {
				if got, err := read(r, p.at, p.parcel, i); size != 0 && (err != nil || !bytes.Equal(got, p.body)) {
					t.Errorf("chunk %d: %d bytes, %v", i, len(got), err)
				}
			}
			held.Chunks -= len(slices.DeleteFunc(arrived.Chunks, func(n int) bool { return n == 0 }))
		}
		if found != held.Letters || held.Chunks != 0 {
			t.Errorf("of %+v %d letters were found, %d chunks were not", held, found, held.Chunks)
		}
		sums(t, r.db.reading)
	}
	close(stop)
	all.Wait()
}

// sums checks that what is counted is what is there.
func sums(t *testing.T, d *sql.DB) {
	t.Helper()
	var store, boxes bool
	if err := d.QueryRow(`SELECT (SELECT bytes FROM store) = (SELECT COALESCE(SUM(bytes), 0) FROM box),
		NOT EXISTS (SELECT 1 FROM box WHERE bytes <> ?1 + (SELECT COALESCE(SUM(LENGTH(body) + ?1), 0) FROM letter WHERE box = name) + (SELECT COALESCE(SUM(size + ?1), 0) FROM chunk WHERE box = name))`,
		mailbox.Row).Scan(&store, &boxes); err != nil || !store || !boxes {
		t.Errorf("the counts are the sums: %t for the store, %t for its boxes, %v", store, boxes, err)
	}
}

// A chunk that was deleted after the copy of the tables was made is taken out of the copy; one whose file is lost stops the backup.
func TestBackupWithout(t *testing.T) {
	folder := t.TempDir()
	s := opened(t, folder, Settings{})
	at, _ := box(t, s)
	gone, right := box(t, s)
	for i := range 2 {
		chunk(t, s, at, mailbox.ID{1}, i, mailboxtest.Bytes(100+i))
		chunk(t, s, gone, mailbox.ID{1}, i, mailboxtest.Bytes(100+i))
	}
	copied := filepath.Join(t.TempDir(), database)
	if err := s.db.alone(background, "VACUUM INTO '"+copied+"'"); err != nil {
		t.Fatal(err)
	}
	if err := s.Delete(background, gone, right); err != nil {
		t.Fatal(err)
	}
	d, err := connect(copied)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	var packed bytes.Buffer
	w := tar.NewWriter(&packed)
	if err := packChunks(background, w, s.db.reading, d, filepath.Join(folder, chunks)); err != nil {
		t.Fatal(err)
	}
	if c, err := content(background, d); err != nil || c != (mailbox.Content{Boxes: 2, Chunks: 2, Bytes: 201 + 4*mailbox.Row}) {
		t.Errorf("the copy holds %+v, %v", c, err)
	}
	sums(t, d)
	rows, err := chunkRows(background, s.db.reading)
	if err != nil || len(rows) != 2 {
		t.Fatal(rows, err)
	}
	if err := os.Remove(filepath.Join(folder, chunks, rows[0].blob)); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "b.tar")
	if _, err := Backup(background, folder, file); err == nil || !strings.Contains(err.Error(), "the file of a chunk is missing") {
		t.Errorf("with a lost file: %v", err)
	}
	if _, err := os.Stat(file); err == nil {
		t.Error("a backup that failed is there")
	}
}

func TestRestoreRefuses(t *testing.T) {
	folder, good := t.TempDir(), filepath.Join(t.TempDir(), "good.tar")
	s := opened(t, folder, Settings{})
	at, _ := box(t, s)
	letter(t, s, at, mailboxtest.Bytes(5000))
	chunk(t, s, at, mailbox.ID{1}, 0, mailboxtest.Bytes(3000))
	chunk(t, s, at, mailbox.ID{1}, 1, mailboxtest.Bytes(3000))
	if _, err := Backup(background, folder, good); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(good)
	if err != nil {
		t.Fatal(err)
	}
	type entry struct {
		h    *tar.Header
		body []byte
	}
	var parts []entry
	for r := tar.NewReader(bytes.NewReader(whole)); ; {
		h, err := r.Next()
		if err != nil {
			break
		}
		b, _ := io.ReadAll(r)
		parts = append(parts, entry{h, b})
	}
	if len(parts) != 3 || parts[2].h.Name != database {
		t.Fatalf("%d parts", len(parts))
	}
	pack := func(parts ...entry) []byte {
		var b bytes.Buffer
		w := tar.NewWriter(&b)
		for _, p := range parts {
			h := *p.h
			h.Size = int64(len(p.body))
			if err := errors.Join(w.WriteHeader(&h), func() error { _, err := w.Write(p.body); return err }()); err != nil {
				t.Fatal(err)
			}
		}
		w.Close()
		return b.Bytes()
	}
	named := func(name string, kind byte) entry {
		return entry{&tar.Header{Name: name, Typeflag: kind, Mode: 0o600}, nil}
	}
	flipped := func(b []byte, i int) []byte { b = slices.Clone(b); b[i] ^= 1; return b }
	newer := slices.Clone(parts[2].body)
	newer[63] = 200 // user_version, at 60 in big endian (SQLite file format, section 1.3)
	for what, c := range map[string]struct {
		b    []byte
		want string
	}{
		"nothing":           {nil, "the database is missing"},
		"cut in the middle": {whole[:len(whole)/2], "not unpacked whole"},
		"cut in a chunk":    {whole[:2000], "not unpacked whole"},
		"cut in a header":   {whole[:200], "not a whole backup"},
		"no database":       {pack(parts[:2]...), "the database is missing"},
		"a chunk missing":   {pack(parts[1:]...), "not a whole backup"},
		"a chunk altered":   {pack(entry{parts[0].h, flipped(parts[0].body, 77)}, parts[1], parts[2]), "a chunk of the backup is damaged"},
		"a chunk cut":       {pack(entry{parts[0].h, parts[0].body[:99]}, parts[1], parts[2]), "a chunk of the backup is damaged"},
		"chunks swapped":    {pack(entry{parts[0].h, parts[1].body}, entry{parts[1].h, parts[0].body}, parts[2]), "a chunk of the backup is damaged"},
		"one chunk more":    {pack(parts[0], parts[1], entry{&tar.Header{Name: "chunks/ABCDEFGHIJKLMNOPQRSTUVWXYZ", Mode: 0o600}, []byte("more")}, parts[2]), "holds 3 chunks, its database knows of 2"},
		"database damaged":  {pack(parts[0], parts[1], entry{parts[2].h, flipped(flipped(flipped(parts[2].body, 4096), 8192), 12288)}), "sqlite:"},
		"no database at all": {pack(parts[0], parts[1], entry{parts[2].h, []byte("this is no database, but it is long enough to be taken for one " + strings.Repeat("x", 5000))}),
			"the database of the backup is damaged"},
		"a newer version":  {pack(parts[0], parts[1], entry{parts[2].h, newer}), "of another version"},
		"a path upwards":   {pack(named("../mailbox.db", tar.TypeReg)), "holds something else"},
		"a path in chunks": {pack(named("chunks/../ABCDEFGHIJKLMNOPQRSTUVWXYZ", tar.TypeReg)), "holds something else"},
		"a link":           {pack(entry{&tar.Header{Name: "mailbox.db", Typeflag: tar.TypeSymlink, Linkname: "elsewhere"}, nil}), "holds something else"},
		"a short name":     {pack(named("chunks/A", tar.TypeReg)), "holds something else"},
	} {
		file, to := filepath.Join(t.TempDir(), "b.tar"), t.TempDir()
		if err := os.WriteFile(file, c.b, 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Restore(background, to, file); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v; want %q in it", what, err, c.want)
		}
		if left, _ := os.ReadDir(to); len(left) != 0 {
			t.Errorf("%s leaves %v", what, left)
		}
	}
	if _, err := Restore(background, t.TempDir(), filepath.Join(t.TempDir(), "none")); err == nil {
		t.Error("a file that is not there is restored")
	}
	if got, err := Restore(background, t.TempDir(), good); err != nil || got.Chunks != 2 {
		t.Errorf("the whole one: %+v, %v", got, err)
	}
}

func FuzzRestore(f *testing.F) {
	f.Add([]byte("not a backup"))
	var b bytes.Buffer
	w := tar.NewWriter(&b)
	w.WriteHeader(&tar.Header{Name: database, Size: 3, Mode: 0o600})
	w.Write([]byte("abc"))
	w.Close()
	f.Add(b.Bytes())
	f.Fuzz(func(t *testing.T, b []byte) {
		folder := t.TempDir()
		err := unpack(background, bytes.NewReader(b), folder)
		entries, _ := os.ReadDir(folder)
		for _, e := range entries {
			if e.Name() != chunks && e.Name() != database {
				t.Errorf("%s was unpacked, %v", e.Name(), err)
			}
		}
	})
}
