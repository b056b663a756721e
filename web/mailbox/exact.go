package mailbox

import "io"

// Exact returns a reader of the size bytes that r must hold: io.ErrUnexpectedEOF where it ends early, ErrRange where it goes on. The last bytes are not handed out before
// it is known that they are the last.
func Exact(r io.Reader, size int64) io.Reader { return &exact{r, size} }

type exact struct {
	r    io.Reader
	left int64
}

func (e *exact) Read(p []byte) (int, error) {
	if e.left == 0 {
		return 0, e.end()
	}
	n, err := e.r.Read(p[:min(int64(len(p)), e.left)])
	e.left -= int64(n)
	switch {
	case err == io.EOF && e.left > 0:
		err = io.ErrUnexpectedEOF
	case err == nil && e.left == 0 && n > 0:
		if err = e.end(); err != io.EOF {
			n = 0
		}
	}
	return n, err
}

// end is io.EOF if there is no more.
func (e *exact) end() error {
	var one [1]byte
	for range 100 {
		n, err := e.r.Read(one[:])
		switch {
		case n > 0:
			return ErrRange
		case err != nil:
			return err
		}
	}
	return io.ErrNoProgress
}
