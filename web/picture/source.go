package picture

import (
	"bytes"
	"errors"
	"fmt"
	"io"
)

const (
	maxHeader = 2 << 20              // bytes read of a header, profiles apart
	maxBulk   = MaxProfile + 256<<10 // bytes read of profiles and of boxes that hold them
	window    = 4 << 10              // bytes read at once, where no more are asked for
)

// source reads parts of a file and counts them.
type source struct {
	r          io.ReaderAt
	size       int64
	left, bulk int // bytes that may still be read by at, by all
	win        []byte
	off        int64 // of win
}

var (
	errShort = &Refused{"The file is not whole: it ends too early.", "Copy it or export it again."}
	errLong  = &Refused{"The file's header is longer than any picture needs.", "Export the picture again, without additional data."}
)

// at returns n bytes at off, valid until the next call.
func (s *source) at(off int64, n int) ([]byte, error) {
	if off < 0 || n < 0 || int64(n) > s.size-off {
		return nil, errShort
	}
	if off >= s.off && off+int64(n) <= s.off+int64(len(s.win)) {
		return s.win[off-s.off:][:n:n], nil
	}
	more := int(min(int64(max(n, window)), s.size-off))
	if more > s.left {
		return nil, errLong
	}
	s.left -= more
	b, err := s.read(off, more)
	if err != nil {
		return nil, err
	}
	s.win, s.off = b, off
	return b[:n:n], nil
}

// all returns n bytes at off, which may be many and are the caller's.
func (s *source) all(off int64, n int) ([]byte, error) {
	if off < 0 || n < 0 || int64(n) > s.size-off {
		return nil, errShort
	}
	if n > s.bulk {
		return nil, errLong
	}
	s.bulk -= n
	return s.read(off, n)
}

func (s *source) read(off int64, n int) ([]byte, error) {
	b := make([]byte, n)
	if got, err := s.r.ReadAt(b, off); got < n {
		if err == nil || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			return nil, errShort
		}
		return nil, fmt.Errorf("picture: %w", err)
	}
	return b, nil
}

// ends checks that mark stands behind off in the last part of the file. What follows it, such as a film that a phone appends, does not matter.
func (s *source) ends(off int64, mark string) error {
	const tail = 256 << 10
	from := max(off, s.size-tail)
	b, err := s.at(from, int(s.size-from))
	if err != nil {
		return err
	}
	if !bytes.Contains(b, []byte(mark)) {
		return errShort
	}
	return nil
}
