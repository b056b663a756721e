// Package sqlite is a mailbox store in a folder of one computer: a SQLite database, and beside it a file for each chunk of a parcel.
package sqlite

import (
	"context"
	"crypto/rand"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"example.org/plumb/web/mailbox"
	tables "example.org/plumb/web/mailbox/sql"
)

// Names in a folder.
const (
	database = "mailbox.db"
	chunks   = "chunks"
)

// Settings say how a store is opened.
type Settings struct {
	Now   func() time.Time
	Limit int64 // bytes in all boxes together, counted as in mailbox.Box.Bytes
	Pages int64 // the most pages of 4 KiB that the database may have; 0 for as many as SQLite allows
}

// Store is a store in a folder.
type Store struct {
	tables.Store
	db *db
}

// Open opens the store in a folder, and makes both if they are not there.
func Open(folder string, s Settings) (*Store, error) {
	if err := os.MkdirAll(filepath.Join(folder, chunks), 0o700); err != nil {
		return nil, fmt.Errorf("sqlite: %w", err)
	}
	d, err := openDB(filepath.Join(folder, database), s.Pages)
	if err != nil {
		return nil, err
	}
	return &Store{Store: tables.Store{DB: d, Blobs: files{filepath.Join(folder, chunks)}, Now: s.Now, Name: rand.Text, Limit: s.Limit}, db: d}, nil
}

// Sweep removes what has expired, and what was deleted from the database's journal too.
func (s *Store) Sweep(ctx context.Context, now time.Time) (removed int, err error) {
	if removed, err = s.Store.Sweep(ctx, now); err != nil {
		return removed, err
	}
	return removed, s.db.alone(ctx, "PRAGMA wal_checkpoint(TRUNCATE)")
}

// Purge sweeps and gives the room that has become free back to the disk, for which the database is written anew.
func (s *Store) Purge(ctx context.Context, now time.Time) (removed int, err error) {
	if removed, err = s.Store.Sweep(ctx, now); err != nil {
		return removed, err
	}
	for _, text := range []string{"VACUUM", "PRAGMA wal_checkpoint(TRUNCATE)"} {
		if err := s.db.alone(ctx, text); err != nil {
			return removed, err
		}
	}
	return removed, nil
}

// Content counts what the store holds.
func (s *Store) Content(ctx context.Context) (mailbox.Content, error) {
	return content(ctx, s.db.reading)
}

func content(ctx context.Context, d *sql.DB) (c mailbox.Content, err error) {
	err = d.QueryRowContext(ctx, `SELECT (SELECT COUNT(*) FROM box), (SELECT COUNT(*) FROM letter), (SELECT COUNT(*) FROM chunk), (SELECT bytes FROM store)`).
		Scan(&c.Boxes, &c.Letters, &c.Chunks, &c.Bytes)
	return c, translate(err)
}

// Shut waits for commands under way and closes the database. Commands that come later fail.
func (s *Store) Shut() error { return s.db.shut() }

// In tells whether there is a store in a folder.
func In(folder string) bool {
	_, err := os.Stat(filepath.Join(folder, database))
	return err == nil
}
