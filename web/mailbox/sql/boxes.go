package sql

import (
	"context"
	"time"

	"example.org/plumb/web/mailbox"
)

const (
	// Name, owner, day of expiry, what a box counts, limit of the store.
	makeBox = `INSERT INTO box (name, owner, expires, state, letters, bytes)
SELECT ?1, ?2, ?3, 0, 0, 0 FROM store WHERE bytes + ?4 <= ?5
ON CONFLICT (name) DO NOTHING`
	countBoxInStore = `UPDATE store SET bytes = bytes + ?2 WHERE EXISTS (SELECT 1 FROM box WHERE name = ?1 AND bytes = 0)`
	countBox        = `UPDATE box SET bytes = ?2 WHERE name = ?1 AND bytes = 0`
	findBox         = `SELECT owner, state, expires, letters, bytes FROM box WHERE name = ?1`

	// Name, owner, today, new day.
	extendBox = `UPDATE box SET expires = MAX(expires, ?4) WHERE name = ?1 AND owner = ?2 AND expires > ?3 AND state < 2 RETURNING name`
	closeBox  = `UPDATE box SET state = 1 WHERE name = ?1 AND owner = ?2 AND expires > ?3 AND state < 2 RETURNING name`

	// Name, owner, today; the last also what a box counts.
	ours           = `(SELECT name FROM box WHERE name = ?1 AND owner = ?2 AND expires > ?3)`
	wasteChunks    = `INSERT INTO waste (blob, day) SELECT blob, 0 FROM chunk WHERE box = ` + ours
	dropLetters    = `DELETE FROM letter WHERE box = ` + ours
	dropChunks     = `DELETE FROM chunk WHERE box = ` + ours
	uncountInStore = `UPDATE store SET bytes = bytes - COALESCE((SELECT bytes - ?4 FROM box WHERE name = ` + ours + `), 0)`
	dropBox        = `UPDATE box SET state = 2, letters = 0, bytes = ?4 WHERE name = ` + ours + ` RETURNING name`
)

// box is a row of findBox.
type box struct {
	owner   mailbox.Owner
	state   int64
	expires int64
	letters int64
	bytes   int64
}

// boxOf reads the first columns of the first row. What is not there is a deleted box that nobody owns.
func boxOf(rows Rows) box {
	if len(rows) == 0 {
		return box{state: deleted}
	}
	r := rows[0]
	return box{owner(r[0]), integer(r[1]), integer(r[2]), integer(r[3]), integer(r[4])}
}

// integer reads a column, 0 for NULL.
func integer(column any) int64 {
	n, _ := column.(int64)
	return n
}

// read tells whether a box may be read: while it is open by everybody, then by its owner.
func (b box) read(right mailbox.Right, today int64) error {
	mine := b.owner.Admits(right)
	if b.expires <= today || b.state == deleted || b.state == closed && !mine || right != (mailbox.Right{}) && !mine {
		return mailbox.ErrNone
	}
	return nil
}

// write tells whether anything may be put into a box.
func (b box) write(today int64) error {
	if b.expires <= today || b.state != open {
		return mailbox.ErrNone
	}
	return nil
}

// Open makes a box.
func (s *Store) Open(ctx context.Context, at mailbox.Address, owner mailbox.Owner, expires time.Time) error {
	now := s.Now()
	end, err := mailbox.Life(now, expires)
	if err != nil {
		return err
	}
	rows, err := s.DB.Write(ctx,
		Statement{makeBox, []any{name(at), owner[:], number(end), int64(mailbox.Row), s.Limit}},
		Statement{countBoxInStore, []any{name(at), int64(mailbox.Row)}},
		Statement{countBox, []any{name(at), int64(mailbox.Row)}},
		Statement{findBox, []any{name(at)}})
	if err != nil {
		return err
	}
	b := boxOf(rows[3])
	switch {
	case len(rows[3]) == 0:
		return mailbox.ErrFull
	case b.state == deleted, b.expires <= number(now), !b.owner.Equal(owner):
		return mailbox.ErrTaken
	}
	return nil
}

// Look returns what is known about a box.
func (s *Store) Look(ctx context.Context, at mailbox.Address, right mailbox.Right) (mailbox.Box, error) {
	rows, err := s.DB.Read(ctx, Statement{findBox, []any{name(at)}})
	if err != nil {
		return mailbox.Box{}, err
	}
	b := boxOf(rows)
	if err := b.read(right, s.today()); err != nil {
		return mailbox.Box{}, err
	}
	return mailbox.Box{Expires: time.Unix(b.expires*86400, 0).UTC(), Letters: int(b.letters), Bytes: b.bytes, Closed: b.state == closed}, nil
}

// Extend moves the end of a box.
func (s *Store) Extend(ctx context.Context, at mailbox.Address, right mailbox.Right, expires time.Time) error {
	end, err := mailbox.Life(s.Now(), expires)
	if err != nil {
		return err
	}
	return s.own(ctx, at, right, Statement{extendBox, []any{number(end)}})
}

// Close ends a box for all but its owner.
func (s *Store) Close(ctx context.Context, at mailbox.Address, right mailbox.Right) error {
	return s.own(ctx, at, right, Statement{Text: closeBox})
}

// Delete empties a box for good.
func (s *Store) Delete(ctx context.Context, at mailbox.Address, right mailbox.Right) error {
	err := s.own(ctx, at, right,
		Statement{Text: wasteChunks},
		Statement{Text: dropLetters},
		Statement{Text: dropChunks},
		Statement{uncountInStore, []any{int64(mailbox.Row)}},
		Statement{dropBox, []any{int64(mailbox.Row)}})
	if err == nil {
		s.tidy(ctx, s.today()) // what fails here is left to the next sweep
	}
	return err
}

// own runs statements on a box for its owner. Each gets name, owner and today as its first arguments, and the last returns a row where it found the box.
func (s *Store) own(ctx context.Context, at mailbox.Address, right mailbox.Right, statements ...Statement) error {
	rows, err := s.DB.Read(ctx, Statement{findBox, []any{name(at)}})
	if err != nil {
		return err
	}
	b := boxOf(rows)
	if !b.owner.Admits(right) {
		return mailbox.ErrNone
	}
	for i, t := range statements {
		statements[i].Args = append([]any{name(at), b.owner[:], s.today()}, t.Args...)
	}
	done, err := s.DB.Write(ctx, statements...)
	if err != nil {
		return err
	}
	if len(done[len(done)-1]) == 0 {
		return mailbox.ErrNone
	}
	return nil
}
