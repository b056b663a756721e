package sqlite

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"syscall"
	"time"

	"example.org/plumb/web/mailbox"
)

// files keeps each blob in a file of its name.
type files struct{ folder string }

// unknown stands for the times of a file.
var unknown = time.Unix(0, 0)

// buffers are what passes through memory of a chunk at a time.
var buffers = sync.Pool{New: func() any { return new([32 << 10]byte) }}

// Put writes a file to the disk and then gives it its name, so that a name stands for all of a blob or nothing.
func (f files) Put(ctx context.Context, name string, size int64, body io.Reader) ([]byte, error) {
	at := filepath.Join(f.folder, name)
	part, err := os.OpenFile(at+".part", os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return nil, full(err)
	}
	sum, err := digest(ctx, part, size, body)
	if err == nil {
		err = full(part.Sync())
	}
	if err := errors.Join(err, part.Close()); err != nil {
		os.Remove(at + ".part")
		return nil, err
	}
	// What the file system keeps about the file tells no time finer than the store does.
	err = os.Chtimes(at+".part", unknown, unknown)
	if err == nil {
		err = os.Rename(at+".part", at)
	}
	if errors.Is(err, fs.ErrNotExist) {
		return nil, mailbox.Busy{After: time.Second} // it was given up meanwhile
	}
	if err == nil {
		err = f.sync()
	}
	return sum, full(err)
}

// sync brings the names in the folder to the disk. Windows has no way to ask for that.
func (f files) sync() error {
	if runtime.GOOS == "windows" {
		return nil
	}
	d, err := os.Open(f.folder)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// Sum returns the SHA-256 of a body.
func (f files) Sum(ctx context.Context, size int64, body io.Reader) ([]byte, error) {
	return digest(ctx, io.Discard, size, body)
}

// digest copies exactly size bytes and returns their SHA-256.
func digest(ctx context.Context, to io.Writer, size int64, body io.Reader) ([]byte, error) {
	h := sha256.New()
	b := buffers.Get().(*[32 << 10]byte)
	defer buffers.Put(b)
	body = mailbox.Exact(body, size)
	for {
		n, err := body.Read(b[:])
		h.Write(b[:n])
		if _, err := to.Write(b[:n]); err != nil {
			return nil, full(err)
		}
		if err == io.EOF {
			return h.Sum(nil), nil
		}
		if err := errors.Join(err, ctx.Err()); err != nil {
			return nil, err
		}
	}
}

// Get opens a file.
func (f files) Get(_ context.Context, name string) (io.ReadCloser, int64, error) {
	file, err := os.Open(filepath.Join(f.folder, name))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, 0, mailbox.ErrNone // its box was deleted a moment ago
	}
	if err != nil {
		return nil, 0, fmt.Errorf("sqlite: %w", err)
	}
	about, err := file.Stat()
	if err != nil {
		file.Close()
		return nil, 0, fmt.Errorf("sqlite: %w", err)
	}
	return file, about.Size(), nil
}

// Remove removes files and what a stop left of them.
func (f files) Remove(_ context.Context, names ...string) error {
	for _, n := range names {
		for _, at := range []string{n, n + ".part"} {
			if err := os.Remove(filepath.Join(f.folder, at)); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return fmt.Errorf("sqlite: %w", err)
			}
		}
	}
	return nil
}

// full tells a full disk from other failures.
func full(err error) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return mailbox.ErrFull
	}
	return fmt.Errorf("sqlite: %w", err)
}
