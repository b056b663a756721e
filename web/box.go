package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"strconv"
	"strings"
	"syscall"
	"time"

	"example.org/plumb/web/mailbox"
)

// Terms say how a mailbox is served. The zero value is a sound choice for all of them.
type Terms struct {
	Client  Rate                       // for each client; the zero Rate is ClientRate
	Address Rate                       // for each box; the zero Rate is AddressRate
	From    func(*http.Request) string // the client's network address; nil for that of the connection
	Now     func() time.Time           // for the rates; nil for time.Now
	Fault   func(error)                // is told when the store fails, without a name or a client; may be nil
	Drain   bool                       // reads a chunk that is refused to its end, because some clients hear no answer while they send
}

// Mailbox serves a store at mailbox.Root. It answers the site's own pages only, tells nothing of a box to those who do not know its address, and logs nothing.
//
// What is not there, is over, or is another's is one answer, the same in every byte. Bodies are bounded before they are read; chunks pass through without being held.
func Mailbox(store mailbox.Store, t Terms) http.Handler {
	if t.Client == (Rate{}) {
		t.Client = ClientRate
	}
	if t.Address == (Rate{}) {
		t.Address = AddressRate
	}
	if t.From == nil {
		t.From = peer
	}
	if t.Now == nil {
		t.Now = time.Now
	}
	b := &boxes{
		store: store, terms: t, mux: http.NewServeMux(),
		clients: newLimiter(t.Client, t.Now), addresses: newLimiter(t.Address, t.Now),
		letters: newRoom(maxLetters, lettersEach), pages: newRoom(maxPages, pagesEach), chunks: newRoom(maxChunks, chunksEach),
	}
	const box = mailbox.Root + "{address}"
	for pattern, c := range map[string]command{
		"PUT " + box:                           b.open,
		"GET " + box:                           b.look,
		"DELETE " + box:                        b.owners(store.Delete),
		"POST " + box + "/close":               b.owners(store.Close),
		"POST " + box + "/extend":              b.extend,
		"PUT " + box + "/letters/{id}":         b.putLetter,
		"GET " + box + "/letters":              b.getLetters,
		"GET " + box + "/parcels/{id}":         b.getParcel,
		"PUT " + box + "/parcels/{id}/{place}": b.putChunk,
		"GET " + box + "/parcels/{id}/{place}": b.getChunk,
	} {
		b.mux.HandleFunc(pattern, func(w http.ResponseWriter, r *http.Request) { b.serve(w, r, c) })
	}
	b.mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) { b.refuse(w, r, mailbox.ErrNone) })
	return b
}

// How many letters may be held in memory at a time, how many pages of letters, and how many chunks may pass through; and how many of each are one client's at most, which
// may be a whole office. Others wait for a moment.
const (
	maxLetters, lettersEach = 128, 24
	maxPages, pagesEach     = 24, 8
	maxChunks, chunksEach   = 256, 128
)

// A letter may be on its way for prompt, and longer by what its told length takes at pace bytes a second (120 kbit/s).
const (
	prompt = 5 * time.Second
	pace   = 15_000
)

type boxes struct {
	store              mailbox.Store
	terms              Terms
	mux                *http.ServeMux
	clients, addresses *limiter

	letters, pages, chunks *room // for those that come, are read, and pass
}

// client is whom a request counts for.
func (b *boxes) client(r *http.Request) string { return network(b.terms.From(r)) }

// command answers a request about a box, or says why it does not.
type command func(w http.ResponseWriter, r *http.Request, at mailbox.Address) error

// Refusals that are not the store's.
var (
	errForeign = errors.New("web: the request comes from another site")
	errLength  = errors.New("web: the length of a chunk has to be told")
	errRequest = errors.New("web: the request is not understood")
)

// limited is the refusal of a request that came too soon.
type limited struct{ wait time.Duration }

func (limited) Error() string { return "web: too many requests" }

func (b *boxes) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	protect(w.Header())
	w.Header().Set("Cache-Control", "no-store")
	if foreign(r) {
		b.refuse(w, r, errForeign)
		return
	}
	if wait := b.clients.take(b.client(r)); wait > 0 {
		b.refuse(w, r, limited{wait})
		return
	}
	if !plainPath(r.URL.EscapedPath()) {
		b.refuse(w, r, mailbox.ErrNone)
		return
	}
	b.mux.ServeHTTP(w, r)
}

// plainPath tells whether a path is one that the mux takes as it is, without leading the client to another.
func plainPath(path string) bool {
	return strings.HasPrefix(path, mailbox.Root) && !strings.Contains(path, "//") && !strings.ContainsFunc(path, func(c rune) bool { return !strings.ContainsRune(characters, c) })
}

// characters are what paths of a mailbox are made of.
const characters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_/"

func (b *boxes) serve(w http.ResponseWriter, r *http.Request, c command) {
	at, err := mailbox.ParseAddress(r.PathValue("address"))
	if err != nil {
		b.refuse(w, r, mailbox.ErrNone)
		return
	}
	if wait := b.addresses.take(string(at[:])); wait > 0 {
		b.refuse(w, r, limited{wait})
		return
	}
	if err := c(w, r, at); err != nil {
		b.refuse(w, r, err)
	}
}

// refuse answers with a status and a word, which depend on the error alone.
func (b *boxes) refuse(w http.ResponseWriter, r *http.Request, err error) {
	status := mailbox.Status(err)
	var wait time.Duration
	var busy mailbox.Busy
	var soon limited
	switch {
	case status != 0:
	case errors.As(err, &soon):
		status, wait = http.StatusTooManyRequests, soon.wait
	case errors.As(err, &busy):
		status, wait = http.StatusServiceUnavailable, busy.After
	case errors.Is(err, errForeign):
		status = http.StatusForbidden
	case errors.Is(err, errLength):
		status = http.StatusLengthRequired
	case errors.Is(err, os.ErrDeadlineExceeded):
		status = http.StatusRequestTimeout
	case errors.Is(err, errRequest), errors.Is(err, mailbox.ErrWire), errors.Is(err, io.ErrUnexpectedEOF):
		status = http.StatusBadRequest
	case b.fault(r, err):
		status = http.StatusInternalServerError
	default:
		status = http.StatusBadRequest // nobody hears it
	}
	if status == http.StatusTooManyRequests || status == http.StatusServiceUnavailable {
		w.Header().Set("Retry-After", strconv.FormatInt(max(1, int64((wait+time.Second-1)/time.Second)), 10))
	}
	send(w, status, "text/plain; charset=utf-8", []byte(http.StatusText(status)+"\n"))
}

// fault tells of an error if it is the store's, and whether it is: not where the line to the client broke.
func (b *boxes) fault(r *http.Request, err error) bool {
	var line *net.OpError
	if errors.As(err, &line) {
		if line.Op != "readfrom" || ofLine(line.Err) {
			return false
		}
		err = line.Err // copying to the line gives its name, and so the client's, to errors of what is copied
	}
	if r.Context().Err() != nil {
		return false
	}
	if b.terms.Fault != nil {
		b.terms.Fault(err)
	}
	return true
}

// ofLine tells whether an error is one of a line.
func ofLine(err error) bool {
	return errors.Is(err, syscall.EPIPE) || errors.Is(err, syscall.ECONNRESET) || errors.Is(err, net.ErrClosed) || errors.Is(err, os.ErrDeadlineExceeded)
}

func send(w http.ResponseWriter, status int, kind string, body []byte) {
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Length", strconv.Itoa(len(body)))
	w.WriteHeader(status)
	w.Write(body)
}

// tell answers with JSON.
func tell(w http.ResponseWriter, body []byte) error {
	send(w, http.StatusOK, "application/json", body)
	return nil
}

// done answers that a command was carried out.
func done(w http.ResponseWriter) error {
	w.Header().Set("Content-Length", "0")
	w.WriteHeader(http.StatusOK)
	return nil
}

// foreign tells whether a request was made by a page of another site. The scheme is not compared: behind a proxy it is not known here.
func foreign(r *http.Request) bool {
	for _, site := range r.Header.Values("Sec-Fetch-Site") {
		if site != "same-origin" {
			return true
		}
	}
	for _, origin := range r.Header.Values("Origin") {
		if u, err := url.Parse(origin); err != nil || u.Host == "" || !strings.EqualFold(u.Host, r.Host) {
			return true
		}
	}
	return false
}

// shown returns the right that a request shows, zero if it shows none. What is no right is as good as a wrong one.
func shown(r *http.Request) (mailbox.Right, error) {
	a := r.Header.Values("Authorization")
	if len(a) == 0 {
		return mailbox.Right{}, nil
	}
	text, ok := strings.CutPrefix(a[0], mailbox.Bearer)
	right, err := mailbox.ParseRight(text)
	if !ok || err != nil || len(a) > 1 || right == (mailbox.Right{}) {
		return mailbox.Right{}, mailbox.ErrNone
	}
	return right, nil
}

func (b *boxes) open(w http.ResponseWriter, r *http.Request, at mailbox.Address) error {
	owner, err := mailbox.ParseOwner(r.Header.Get(mailbox.OwnerHeader))
	if err != nil {
		return errRequest
	}
	expires, err := mailbox.ParseDay(r.Header.Get(mailbox.ExpiresHeader))
	if err != nil {
		return err
	}
	if err := b.store.Open(r.Context(), at, owner, expires); err != nil {
		return err
	}
	return done(w)
}

func (b *boxes) look(w http.ResponseWriter, r *http.Request, at mailbox.Address) error {
	right, err := shown(r)
	if err != nil {
		return err
	}
	box, err := b.store.Look(r.Context(), at, right)
	if err != nil {
		return err
	}
	return tell(w, box.Marshal())
}

// owners makes a command of one of the owner's.
func (b *boxes) owners(do func(context.Context, mailbox.Address, mailbox.Right) error) command {
	return func(w http.ResponseWriter, r *http.Request, at mailbox.Address) error {
		right, err := shown(r)
		if err != nil {
			return err
		}
		if err := do(r.Context(), at, right); err != nil {
			return err
		}
		return done(w)
	}
}

func (b *boxes) extend(w http.ResponseWriter, r *http.Request, at mailbox.Address) error {
	expires, err := mailbox.ParseDay(r.Header.Get(mailbox.ExpiresHeader))
	if err != nil {
		return err
	}
	return b.owners(func(ctx context.Context, at mailbox.Address, right mailbox.Right) error {
		return b.store.Extend(ctx, at, right, expires)
	})(w, r, at)
}

// putLetter reads a letter, not for longer than it needs.
func (b *boxes) putLetter(w http.ResponseWriter, r *http.Request, at mailbox.Address) error {
	id, err := mailbox.ParseID(r.PathValue("id"))
	if err != nil {
		return mailbox.ErrNone
	}
	if r.ContentLength > mailbox.MaxLetter {
		return mailbox.ErrTooLarge
	}
	// Where places grow scarce nobody gets one for a box that is not there. Else the store says so with the letter, which spares a look for each.
	if b.letters.scarce() {
		if _, err := b.store.Look(r.Context(), at, mailbox.Right{}); err != nil {
			return err
		}
	}
	seat, err := b.letters.enter(r.Context(), b.client(r))
	if err != nil {
		return err
	}
	defer seat.leave()
	line := http.NewResponseController(w)
	line.SetReadDeadline(time.Now().Add(prompt + time.Duration(max(0, r.ContentLength))*time.Second/pace)) // a host that has no deadlines has its own
	body, err := io.ReadAll(io.LimitReader(r.Body, mailbox.MaxLetter+1))
	if err != nil {
		return fmt.Errorf("%w: %w", errRequest, err)
	}
	if err := mailbox.CheckLetter(len(body)); err != nil {
		return err
	}
	line.SetReadDeadline(time.Time{}) // all is here: what the store takes is not the client's to answer for
	seq, err := b.store.Put(r.Context(), at, id, body)
	if err != nil {
		return err
	}
	return tell(w, mailbox.MarshalSeq(seq))
}

func (b *boxes) getLetters(w http.ResponseWriter, r *http.Request, at mailbox.Address) error {
	right, err := shown(r)
	if err != nil {
		return err
	}
	var after, limit uint64
	for name, to := range map[string]*uint64{"after": &after, "limit": &limit} {
		if text := r.URL.Query().Get(name); text != "" {
			if *to, err = strconv.ParseUint(text, 10, 64); err != nil {
				return errRequest
			}
		}
	}
	seat, err := b.pages.enter(r.Context(), b.client(r))
	if err != nil {
		return err
	}
	defer seat.leave()
	letters, err := b.store.Get(r.Context(), at, right, after, int(min(limit, mailbox.MaxLetters)))
	if err != nil {
		return err
	}
	text := mailbox.AppendLetters(nil, letters)
	sum := sha256.Sum256(text)
	h := w.Header()
	h.Set("Content-Type", "application/octet-stream")
	h.Set("Cache-Control", "no-cache")
	h.Set("ETag", `"`+base64.RawURLEncoding.EncodeToString(sum[:12])+`"`)
	r.Header.Del("Range") // letters come whole
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(text))
	return nil
}
