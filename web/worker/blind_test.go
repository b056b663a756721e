//go:build !js

package main

import (
	"bytes"
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/mailboxtest"
	"example.org/plumb/web/seal"
)

// tool matches the lines in which the tool around the host tells of every request; the host elsewhere is told to keep none.
var tool = regexp.MustCompile(`(?m)^\[wrangler:[a-z]+\].*$`)

// Nothing that was sealed can be read in what the host keeps, nor can a box be opened with it.
func TestBlind(t *testing.T) {
	r := onHost(t)
	store, ctx := r.dial(nil), context.Background()
	at, right := mailboxtest.NewAddress(), mailboxtest.NewRight()
	if err := store.Open(ctx, at, right.Owner(), month()); err != nil {
		t.Fatal(err)
	}
	words := [][]byte{[]byte("Tomas at the packing-room tablet"), []byte("orchard in frost, page 12")}
	key, err := seal.Generate()
	if err != nil {
		t.Fatal(err)
	}
	letter, parcel := mailboxtest.NewID(), mailboxtest.NewID()
	sealed, err := seal.Seal(key.Public(), "answer", seal.Place(at, letter), bytes.Repeat(words[0], 20))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := store.Put(ctx, at, letter, sealed); err != nil {
		t.Fatal(err)
	}
	chunk, err := seal.NewKey().SealChunk(seal.Parcel(parcel), 0, true, bytes.Repeat(words[1], 2000))
	if err != nil {
		t.Fatal(err)
	}
	if err := store.PutChunk(ctx, at, parcel, 0, int64(len(chunk)), bytes.NewReader(chunk)); err != nil {
		t.Fatal(err)
	}
	if _, err := store.Look(ctx, at, right); err != nil {
		t.Fatal(err)
	}
	owner := right.Owner()
	secret := append(words, []byte(at.String()), at[:], []byte(right.Text()), right[:])
	there := map[string][]byte{"a sealed letter": sealed, "a sealed chunk": chunk[:4000], "what is kept of the right": owner[:]}
	err = filepath.WalkDir(filepath.Dir(r.Folder), func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		if path == r.Log || filepath.Base(filepath.Dir(path)) == "logs" {
			text = tool.ReplaceAll(text, nil)
		}
		for _, s := range secret {
			if bytes.Contains(text, s) || bytes.Contains([]byte(path), s) {
				t.Errorf("%s holds %q", path, s)
			}
		}
		for what, b := range there {
			if bytes.Contains(text, b) {
				delete(there, what)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for what := range there {
		t.Errorf("%s was found nowhere; the search looks in the wrong places", what)
	}
	if got, err := store.Get(ctx, at, mailbox.Right{}, 0, 0); err != nil || len(got) != 1 || !bytes.Equal(got[0].Body, sealed) {
		t.Errorf("the letter: %v", err)
	}
}
