// Package sql is a mailbox store made of tables and blobs: letters are rows, chunks are blobs that rows point to. What runs the statements and what keeps the blobs is
// given: SQLite and files, or D1 and R2.
//
// Every condition stands inside a statement, and statements that belong together are one batch, because D1 knows no other transactions. Statements use ?1, ?2, ...
// with int64, string and []byte only.
package sql

import (
	"context"
	"crypto/sha256"
	"io"
	"time"

	"example.org/plumb/web/mailbox"
)

// Statement is SQL with its arguments: int64, string and []byte.
type Statement struct {
	Text string
	Args []any
}

// Rows is what a statement returned, in order: int64, string, []byte or nil in each column.
type Rows [][]any

// DB runs statements. Its errors are mailbox.Busy, mailbox.ErrFull, or its own.
type DB interface {
	// Read runs a SELECT. It sees every Write that has returned.
	Read(ctx context.Context, s Statement) (Rows, error)
	// Write runs statements in order, all or none, and returns the rows of each. What it did is kept when it returns.
	Write(ctx context.Context, s ...Statement) ([]Rows, error)
}

// Blobs keeps bytes under names. Its errors are mailbox.Busy, mailbox.ErrFull, or its own.
type Blobs interface {
	// Put keeps exactly size bytes of body under a name that was never used, and returns a digest of them. They are kept when it returns. After an error something may be left.
	Put(ctx context.Context, name string, size int64, body io.Reader) (sum []byte, err error)
	// Sum returns the digest that Put would have returned, and keeps nothing.
	Sum(ctx context.Context, size int64, body io.Reader) (sum []byte, err error)
	// Get returns the bytes and their number.
	Get(ctx context.Context, name string) (io.ReadCloser, int64, error)
	// Remove removes what is there of names.
	Remove(ctx context.Context, names ...string) error
}

// Store is a mailbox.Store. All fields must be set.
type Store struct {
	DB    DB
	Blobs Blobs
	Now   func() time.Time
	Name  func() string // a new name for a blob, of letters and digits that hold whatever their case, drawn at random so that it never comes again
	Limit int64         // bytes in all boxes together, counted as in mailbox.Box.Bytes
}

var _ mailbox.Store = (*Store)(nil)

// States of a box.
const (
	open int64 = iota
	closed
	deleted
)

// today is the number of the day that it is, from 1970-01-01 in UTC.
func (s *Store) today() int64 { return number(s.Now()) }

func number(t time.Time) int64 { return mailbox.Today(t).Unix() / 86400 }

// name is the key of a box. The address itself is not kept: a copy of the tables opens no box.
func name(at mailbox.Address) []byte {
	h := sha256.Sum256(at[:])
	return h[:16]
}

// owner reads a column. Anything but an owner admits nobody.
func owner(column any) (o mailbox.Owner) {
	if b, _ := column.([]byte); len(b) == len(o) {
		copy(o[:], b)
	}
	return o
}
