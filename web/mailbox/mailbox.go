// Package mailbox is the blind store of sealed letters and parcels: what a box is, what may be asked of it, how it answers, and how that travels. It cannot open what
// it carries.
//
// Who knows a box's address may put letters and parcels into it and read what is there. Who also holds its right owns it: may extend, close and delete it, and read it
// after it was closed. A store keeps neither right nor names, and no time finer than a day.
package mailbox

import (
	"context"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"time"
)

// Address names a box. It is chosen at random by the owner and is the secret by which others reach the box.
type Address [16]byte

// ID is a sender's name for a letter or a parcel, chosen at random. A repeat is known by it.
type ID [16]byte

// Right is the secret that makes an owner. The zero Right is none.
type Right [32]byte

// Owner is the SHA-256 of a Right: what a store keeps of it.
type Owner [32]byte

// Letter is a sealed message in a box. Seq counts from 1 in the order in which letters came.
type Letter struct {
	Seq  uint64
	ID   ID
	Body []byte
}

// Box is what is known about a box.
type Box struct {
	Expires time.Time // the start of a day in UTC, from which on the box is gone
	Letters int
	Bytes   int64 // what the box counts against MaxBox: every body, and Row for itself, each letter and each chunk
	Closed  bool
}

// Parcel is what has arrived of a parcel: the sealed size in bytes by position, 0 for a chunk that is missing before the last that came.
type Parcel struct {
	ID     ID
	Chunks []int
}

// Content is how much a store holds.
type Content struct {
	Boxes, Letters, Chunks int
	Bytes                  int64 // counted as in Box.Bytes
}

// Store keeps boxes. All methods may be called at the same time. Every command may be repeated: where the first was carried out, the repeat changes nothing and gives
// the same answer. What a command has answered is kept even if the store's computer stops right after.
//
// A box that was never opened, has expired or was deleted is ErrNone to everybody; a closed one to those who do not show its right; and so is a wrong right. Rights are
// compared in constant time. A store may answer Busy to anything.
type Store interface {
	// Open makes a box that lasts until the day of expires, as Life rounds it. Of a box that its owner has open or has closed it changes nothing. A box of another
	// owner, a deleted one and one that has expired but is not swept yet: ErrTaken. Errors: ErrTaken, ErrRange, ErrFull.
	Open(ctx context.Context, at Address, owner Owner, expires time.Time) error
	// Put adds a letter and returns its place. A repeat of id with the same body returns the first one's place; with another body: ErrConflict.
	// Errors: ErrNone, ErrConflict, ErrRange (empty), ErrTooLarge, ErrFull.
	Put(ctx context.Context, at Address, id ID, body []byte) (seq uint64, err error)
	// Get returns letters with a Seq above after, in order: at most limit (1 to MaxLetters; others mean MaxLetters), and no more than fit Page bytes, but at least
	// one where there is one. Without the right (zero) only from a box that is open. Errors: ErrNone.
	Get(ctx context.Context, at Address, right Right, after uint64, limit int) ([]Letter, error)
	// Look returns what is known about a box, under the same conditions as Get. Errors: ErrNone.
	Look(ctx context.Context, at Address, right Right) (Box, error)
	// PutChunk stores chunk i of a parcel, of exactly size bytes read from body, whole or not at all. The box is looked up before body is read. A chunk that is there
	// already is compared: other bytes are ErrConflict. A body that ends early or goes on after size is io.ErrUnexpectedEOF or ErrRange.
	// Errors: ErrNone, ErrConflict, ErrRange (position or size), ErrTooLarge, ErrFull, and what reading body gives.
	PutChunk(ctx context.Context, at Address, parcel ID, i int, size int64, body io.Reader) error
	// Chunks returns what has arrived of a parcel; nothing, without an error, of one that never began. Conditions as for Get. Errors: ErrNone.
	Chunks(ctx context.Context, at Address, right Right, parcel ID) (Parcel, error)
	// GetChunk returns chunk i and its size; the caller closes it. Conditions as for Get. Errors: ErrNone, also for a chunk that is not there.
	GetChunk(ctx context.Context, at Address, right Right, parcel ID, i int) (io.ReadCloser, int64, error)
	// Extend moves the end of a box to the day of expires, as Life rounds it, if that is later. Errors: ErrNone, ErrRange.
	Extend(ctx context.Context, at Address, right Right, expires time.Time) error
	// Close ends a box for all but its owner: nothing more comes in, and only the owner reads it. Errors: ErrNone.
	Close(ctx context.Context, at Address, right Right) error
	// Delete removes all that is in a box. Its address stays taken until it expires, so that nobody else can stand in for it. Errors: ErrNone.
	Delete(ctx context.Context, at Address, right Right) error
}

// Errors that stores and the client share.
var (
	ErrNone     = errors.New("mailbox: nothing here")                           // no such box to this caller, or no such chunk
	ErrTaken    = errors.New("mailbox: address is taken")                       // another box has this address
	ErrConflict = errors.New("mailbox: something else is here under this name") // other bytes were stored under the same id or position
	ErrRange    = errors.New("mailbox: outside what is allowed")                // a day, position or size that no box takes
	ErrTooLarge = errors.New("mailbox: too large")                              // a letter, chunk or parcel above its limit
	ErrFull     = errors.New("mailbox: full")                                   // the box or the store holds no more
)

// Busy is the error of a store that cannot take the command now. Nothing was changed.
type Busy struct {
	After time.Duration // how long to wait before the next try
}

func (b Busy) Error() string { return fmt.Sprintf("mailbox: busy, try again after %v", b.After) }

// Owner returns what a store keeps of a right.
func (r Right) Owner() Owner { return sha256.Sum256(r[:]) }

// String hides a right from whatever prints values.
func (r Right) String() string { return "(right)" }

// Admits tells, in constant time, whether a right is the owner's. The zero right never is.
func (o Owner) Admits(r Right) bool {
	return o.Equal(r.Owner()) && r != Right{}
}

// Equal tells, in constant time, whether two owners are the same.
func (o Owner) Equal(p Owner) bool { return subtle.ConstantTimeCompare(o[:], p[:]) == 1 }

// Text is how names and secrets are written: base64url without padding (RFC 4648, section 5).
var text = base64.RawURLEncoding.Strict()

func (a Address) String() string { return text.EncodeToString(a[:]) }

func (id ID) String() string { return text.EncodeToString(id[:]) }

// Text is a right as it is shown to a store.
func (r Right) Text() string { return text.EncodeToString(r[:]) }

func (o Owner) String() string { return text.EncodeToString(o[:]) }

// ParseAddress reads what Address.String wrote, and nothing else.
func ParseAddress(s string) (a Address, err error) { return a, parse(a[:], s, "an address") }

// ParseID reads what ID.String wrote, and nothing else.
func ParseID(s string) (id ID, err error) { return id, parse(id[:], s, "an id") }

// ParseRight reads what Right.Text wrote, and nothing else.
func ParseRight(s string) (r Right, err error) { return r, parse(r[:], s, "a right") }

// ParseOwner reads what Owner.String wrote, and nothing else.
func ParseOwner(s string) (o Owner, err error) { return o, parse(o[:], s, "an owner") }

// parse never repeats the text in its error: it may be a secret.
func parse(to []byte, s, what string) error {
	if len(s) != text.EncodedLen(len(to)) {
		return fmt.Errorf("mailbox: %d characters, %s has %d", len(s), what, text.EncodedLen(len(to)))
	}
	b, err := text.DecodeString(s)
	if err != nil {
		return fmt.Errorf("mailbox: not %s: other characters than base64url has", what)
	}
	copy(to, b)
	return nil
}
