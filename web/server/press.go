package main

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/andybalholm/brotli"

	"example.org/plumb/web/program"
)

// level is one that squeezes the browser program in about a second.
const level = 6

// A press squeezes and keeps what it squeezed in a folder, under the digest of what went in.
type press struct {
	dir  string
	used map[string]bool
}

// Compress squeezes for "br" or "gzip".
func (p *press) Compress(coding string, body []byte) ([]byte, error) {
	sum := sha256.Sum256(body)
	name := fmt.Sprintf("%s.%s%d", hex.EncodeToString(sum[:]), coding, level)
	if p.used == nil {
		p.used = map[string]bool{}
	}
	p.used[name] = true
	at := filepath.Join(p.dir, name)
	if kept, err := os.ReadFile(at); err == nil && restores(coding, kept, sum) {
		return kept, nil
	}
	small, err := program.Squeeze(coding, body, level)
	if err != nil {
		return nil, err
	}
	// What cannot be kept is squeezed again next time.
	if err := os.MkdirAll(p.dir, 0o755); err == nil {
		if f, err := os.CreateTemp(p.dir, "new-"); err == nil {
			_, bad := f.Write(small)
			if err := errors.Join(bad, f.Close()); err != nil || os.Rename(f.Name(), at) != nil {
				os.Remove(f.Name())
			}
		}
	}
	return small, nil
}

// restores tells whether what was kept gives back what went in. A file cut short by a full disk would otherwise be served for ever.
func restores(coding string, kept []byte, want [sha256.Size]byte) bool {
	var r io.Reader = brotli.NewReader(bytes.NewReader(kept))
	if coding == "gzip" {
		z, err := gzip.NewReader(bytes.NewReader(kept))
		if err != nil {
			return false
		}
		r = z
	}
	h := sha256.New()
	if _, err := io.Copy(h, r); err != nil {
		return false
	}
	return [sha256.Size]byte(h.Sum(nil)) == want
}

// tidy removes what an earlier start kept and this one did not use.
func (p *press) tidy() error {
	entries, err := os.ReadDir(p.dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("server: %w", err)
	}
	for _, e := range entries {
		if !p.used[e.Name()] {
			os.Remove(filepath.Join(p.dir, e.Name())) // another server may have been faster
		}
	}
	return nil
}
