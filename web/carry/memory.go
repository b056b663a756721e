package carry

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"

	"example.org/plumb/web/seal"
)

// sealer seals in this program's memory.
type sealer struct {
	cipher seal.Cipher
	name   seal.Parcel
	src    Source
	plain  []byte // of the chunk that is sealed
}

func (s *sealer) Seal(_ context.Context, i int, last bool, offset int64, n int) (io.ReadSeeker, error) {
	if s.plain == nil {
		s.plain = make([]byte, n)
	}
	if len(s.plain) < n {
		s.plain = make([]byte, n)
	}
	plain := s.plain[:n]
	if got, err := s.src.ReadAt(plain, offset); got < n {
		if err == nil || errors.Is(err, io.EOF) {
			err = io.ErrUnexpectedEOF
		}
		return nil, fmt.Errorf("%w: %w", ErrSource, err)
	}
	sealed, err := seal.SealChunk(s.cipher, s.name, i, last, plain)
	if err != nil {
		return nil, err
	}
	return bytes.NewReader(sealed), nil
}

// NewOpener returns an Opener in this program's memory at the first chunk. It writes what comes of the chunks to sink, one after another.
func NewOpener(c seal.Cipher, name seal.Parcel, sink io.Writer) Opener {
	return &opener{Reader: seal.NewReader(c, name), sink: sink}
}

// opener opens in this program's memory and passes on.
type opener struct {
	*seal.Reader
	sink   io.Writer
	sealed []byte
}

func (o *opener) Open(_ context.Context, sealed io.Reader, size int64) (int, error) {
	if int64(cap(o.sealed)) < size {
		o.sealed = make([]byte, size)
	}
	b := o.sealed[:size]
	if _, err := io.ReadFull(sealed, b); err != nil {
		if err == io.EOF {
			err = io.ErrUnexpectedEOF
		}
		return 0, err
	}
	plain, err := o.Next(b)
	if err != nil {
		return 0, err
	}
	if _, err := o.sink.Write(plain); err != nil {
		return 0, fmt.Errorf("%w: %w", ErrSink, err)
	}
	return len(plain), nil
}
