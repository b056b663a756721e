// Package client is a mailbox store that lives behind an address on the web.
package client

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"sync"
	"time"

	"example.org/plumb/web/mailbox"
)

// Request is one question to the server.
type Request struct {
	Method string
	Path   string            // from the root of the origin, query included
	Header map[string]string // without Content-Length
	Body   io.Reader         // nil for none
	Size   int64             // of Body in bytes, to be sent as Content-Length
}

// Whole is a body that lies outside this program's memory, as JavaScript's bytes do. A Doer that knows what Whole returns takes and gives it without reading it; to all
// others it is a body like any other.
type Whole interface {
	io.ReadSeeker
	Whole() any
	Size() int64 // of all in bytes
}

// Answer is the server's. The client closes Body.
type Answer struct {
	Status int
	Header func(name string) string // "" if absent
	Body   io.ReadCloser
}

// Doer carries a request to the server: fetch in a browser, net/http elsewhere. It follows no redirects, sends no cookies and keeps no cache beside it. An error means
// that no answer came. Once it has returned it reads the request's body no more.
type Doer interface {
	Do(ctx context.Context, r Request) (Answer, error)
}

// ErrOffline is the error when no answer came, or not all of it. Whether a command was carried out is not known; it can be repeated.
var ErrOffline = errors.New("client: no answer from the server")

// ErrServer is the error when the answer is none that this protocol has: a fault of the server, or something else at its address.
var ErrServer = errors.New("client: the server failed")

// tries is how often a command is sent before Busy is returned, and longest how long a server may make it wait for the next.
const (
	tries   = 4
	longest = time.Minute
)

// Store is a mailbox.Store behind a Doer. Beside the errors of a store there are ErrOffline and ErrServer, and context errors.
type Store struct {
	Do Doer
	// Wait returns after a time, or early with an error when ctx ends. With it a command that finds the server busy is sent again when the server says (Retry-After),
	// a few times; without it, or when the server asks for more than a minute, the command returns mailbox.Busy.
	Wait func(ctx context.Context, d time.Duration) error

	mu   sync.Mutex
	idle map[string]string // entity tags of answers without letters, by path
	date time.Time
}

var _ mailbox.Store = (*Store)(nil)

// Date is the time of the server's last answer by its own clock, to the second and in UTC: the header Date (RFC 9110, section 6.6.1). It is zero where there was no
// answer yet, or the last one did not tell.
func (s *Store) Date() time.Time {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.date
}

// dated keeps the time of an answer. Only the form that servers must write is read.
func (s *Store) dated(text string) {
	t, err := time.Parse(dateForm, text)
	if err != nil {
		t = time.Time{}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.date = t
}

// dateForm is IMF-fixdate, RFC 9110, section 5.6.7.
const dateForm = "Mon, 02 Jan 2006 15:04:05 GMT"

// Open makes a box.
func (s *Store) Open(ctx context.Context, at mailbox.Address, owner mailbox.Owner, expires time.Time) error {
	end := mailbox.Day(expires)
	_, err := s.ask(ctx, Request{Method: "PUT", Path: path(at), Header: map[string]string{
		mailbox.OwnerHeader: owner.String(), mailbox.ExpiresHeader: mailbox.FormatDay(end),
	}}, 0)
	if errors.Is(err, mailbox.ErrConflict) {
		return mailbox.ErrTaken
	}
	return err
}

// Put adds a letter.
func (s *Store) Put(ctx context.Context, at mailbox.Address, id mailbox.ID, body []byte) (uint64, error) {
	if err := mailbox.CheckLetter(len(body)); err != nil {
		return 0, err
	}
	b, err := s.ask(ctx, Request{Method: "PUT", Path: path(at, "letters", id.String()), Body: bytes.NewReader(body), Size: int64(len(body))}, short)
	if err != nil {
		return 0, err
	}
	seq, err := mailbox.ParseSeq(b)
	return seq, odd(err)
}

// Get returns letters.
func (s *Store) Get(ctx context.Context, at mailbox.Address, right mailbox.Right, after uint64, limit int) ([]mailbox.Letter, error) {
	r := Request{Method: "GET", Path: path(at, "letters") + "?after=" + strconv.FormatUint(after, 10) + "&limit=" + strconv.Itoa(max(0, limit)), Header: show(right)}
	s.mu.Lock()
	if tag := s.idle[r.Path]; tag != "" {
		r.Header["If-None-Match"] = tag
	}
	s.mu.Unlock()
	a, err := s.send(ctx, r)
	if err != nil {
		return nil, err
	}
	defer a.Body.Close()
	if a.Status == 304 {
		return nil, nil
	}
	b, err := read(ctx, a, mailbox.MaxWire)
	if err != nil {
		return nil, err
	}
	letters, err := mailbox.ParseLetters(b)
	if err != nil {
		return nil, odd(err)
	}
	s.note(r.Path, a.Header("ETag"), len(letters) == 0)
	return letters, nil
}

// note keeps the tag of an answer without letters. There is one such place in a box at a time, the end.
func (s *Store) note(path, tag string, empty bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	box, _, _ := strings.Cut(path, "?")
	for p := range s.idle {
		if strings.HasPrefix(p, box) {
			delete(s.idle, p)
		}
	}
	if empty && tag != "" {
		if s.idle == nil {
			s.idle = map[string]string{}
		}
		s.idle[path] = tag
	}
}

// Look returns what is known about a box.
func (s *Store) Look(ctx context.Context, at mailbox.Address, right mailbox.Right) (mailbox.Box, error) {
	b, err := s.ask(ctx, Request{Method: "GET", Path: path(at), Header: show(right)}, short)
	if err != nil {
		return mailbox.Box{}, err
	}
	box, err := mailbox.ParseBox(b)
	return box, odd(err)
}

// PutChunk stores a chunk. It is sent again to a busy server only if body is an io.Seeker.
func (s *Store) PutChunk(ctx context.Context, at mailbox.Address, parcel mailbox.ID, i int, size int64, body io.Reader) error {
	if err := mailbox.CheckChunk(i, size); err != nil {
		return err
	}
	_, err := s.ask(ctx, Request{Method: "PUT", Path: path(at, "parcels", parcel.String(), strconv.Itoa(i)), Body: body, Size: size}, 0)
	return err
}

// Chunks returns what has arrived of a parcel.
func (s *Store) Chunks(ctx context.Context, at mailbox.Address, right mailbox.Right, parcel mailbox.ID) (mailbox.Parcel, error) {
	b, err := s.ask(ctx, Request{Method: "GET", Path: path(at, "parcels", parcel.String()), Header: show(right)}, short)
	if err != nil {
		return mailbox.Parcel{}, err
	}
	p, err := mailbox.ParseParcel(parcel, b)
	return p, odd(err)
}

// GetChunk returns a chunk. If reading it fails or ends early, that is ErrOffline. A chunk that the Doer gave as Whole is returned so.
func (s *Store) GetChunk(ctx context.Context, at mailbox.Address, right mailbox.Right, parcel mailbox.ID, i int) (io.ReadCloser, int64, error) {
	a, err := s.send(ctx, Request{Method: "GET", Path: path(at, "parcels", parcel.String(), strconv.Itoa(i)), Header: show(right)})
	if err != nil {
		return nil, 0, err
	}
	size, err := strconv.ParseInt(a.Header("Content-Length"), 10, 64)
	if err != nil || mailbox.CheckChunk(0, size) != nil {
		a.Body.Close()
		return nil, 0, fmt.Errorf("%w: a chunk without its size", ErrServer)
	}
	if w, ok := a.Body.(Whole); ok && w.Size() == size {
		return a.Body, size, nil
	}
	return &arriving{ctx, mailbox.Exact(a.Body, size), a.Body}, size, nil
}

// arriving is a body on its way.
type arriving struct {
	ctx context.Context
	io.Reader
	io.Closer
}

func (a *arriving) Read(p []byte) (int, error) {
	n, err := a.Reader.Read(p)
	if err != nil && err != io.EOF {
		err = lost(a.ctx, err)
	}
	return n, err
}

// Extend moves the end of a box.
func (s *Store) Extend(ctx context.Context, at mailbox.Address, right mailbox.Right, expires time.Time) error {
	h := show(right)
	h[mailbox.ExpiresHeader] = mailbox.FormatDay(mailbox.Day(expires))
	_, err := s.ask(ctx, Request{Method: "POST", Path: path(at, "extend"), Header: h}, 0)
	return err
}

// Close ends a box for all but its owner.
func (s *Store) Close(ctx context.Context, at mailbox.Address, right mailbox.Right) error {
	_, err := s.ask(ctx, Request{Method: "POST", Path: path(at, "close"), Header: show(right)}, 0)
	return err
}

// Delete empties a box for good.
func (s *Store) Delete(ctx context.Context, at mailbox.Address, right mailbox.Right) error {
	_, err := s.ask(ctx, Request{Method: "DELETE", Path: path(at), Header: show(right)}, 0)
	return err
}

func path(at mailbox.Address, parts ...string) string {
	return mailbox.Root + strings.Join(append([]string{at.String()}, parts...), "/")
}

// show returns the headers of one who has a right, or of one who has none.
func show(right mailbox.Right) map[string]string {
	h := map[string]string{}
	if right != (mailbox.Right{}) {
		h["Authorization"] = mailbox.Bearer + right.Text()
	}
	return h
}

// short is more than any answer in JSON has.
const short = 4 << 10

// ask sends a request and returns the answer's body, of at most the most bytes.
func (s *Store) ask(ctx context.Context, r Request, most int) ([]byte, error) {
	a, err := s.send(ctx, r)
	if err != nil {
		return nil, err
	}
	defer a.Body.Close()
	return read(ctx, a, most)
}

func read(ctx context.Context, a Answer, most int) ([]byte, error) {
	if most == 0 {
		return nil, nil
	}
	b, err := io.ReadAll(io.LimitReader(a.Body, int64(most)+1))
	if err != nil {
		return nil, lost(ctx, err)
	}
	if len(b) > most {
		return nil, fmt.Errorf("%w: the answer is too long", ErrServer)
	}
	return b, nil
}

// send sends a request until there is an answer other than busy. An answer without an error has the status 200, 201 or 304.
func (s *Store) send(ctx context.Context, r Request) (Answer, error) {
	body, again := r.Body.(io.Seeker)
	again = again || r.Body == nil
	var start int64
	if body != nil {
		var err error
		if start, err = body.Seek(0, io.SeekCurrent); err != nil {
			again = false
		}
	}
	given := r.Body
	for try := 1; ; try++ {
		var source *source
		if w, ok := given.(Whole); ok && w.Size() == r.Size {
			r.Body = w
		} else if given != nil {
			source = newSource(given, r.Size)
			r.Body = source
		}
		a, err := s.Do.Do(ctx, r)
		if source != nil && source.err != nil {
			if err == nil {
				a.Body.Close()
			}
			return Answer{}, source.err
		}
		if err != nil {
			return Answer{}, lost(ctx, err)
		}
		s.dated(a.Header("Date"))
		if a.Status == 200 || a.Status == 201 || a.Status == 304 && r.Header["If-None-Match"] != "" {
			return a, nil
		}
		after := a.Header("Retry-After")
		a.Body.Close()
		switch {
		case mailbox.Refusal(a.Status) != nil:
			return Answer{}, mailbox.Refusal(a.Status)
		case a.Status != 429 && a.Status != 503:
			return Answer{}, fmt.Errorf("%w: status %d", ErrServer, a.Status)
		}
		busy := mailbox.Busy{After: pause(after, try)}
		if s.Wait == nil || !again || try == tries || busy.After > longest {
			return Answer{}, busy
		}
		if err := s.Wait(ctx, busy.After); err != nil {
			return Answer{}, err
		}
		if body != nil {
			if _, err := body.Seek(start, io.SeekStart); err != nil {
				return Answer{}, fmt.Errorf("client: %w", err)
			}
		}
	}
}

// pause reads Retry-After in seconds (RFC 9110, section 10.2.3). Where it is absent, or a date, the pause doubles with every try.
func pause(after string, try int) time.Duration {
	if n, err := strconv.ParseUint(after, 10, 31); err == nil {
		return time.Duration(n) * time.Second
	}
	return time.Second << (try - 1)
}

// lost is the error of a request or an answer that did not go all the way.
func lost(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	return fmt.Errorf("%w: %w", ErrOffline, err)
}

// odd marks an answer that is not what the protocol says as the server's fault.
func odd(err error) error {
	if err != nil {
		return fmt.Errorf("%w: %w", ErrServer, err)
	}
	return nil
}

// source is a request's body, which remembers its own error: a Doer may not hand it on.
type source struct {
	io.Reader
	err error
}

func newSource(r io.Reader, size int64) *source { return &source{Reader: mailbox.Exact(r, size)} }

func (s *source) Read(p []byte) (int, error) {
	n, err := s.Reader.Read(p)
	if err != nil && err != io.EOF {
		s.err = err
	}
	return n, err
}
