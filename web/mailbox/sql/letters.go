package sql

import (
	"context"
	"fmt"

	"example.org/plumb/web/mailbox"
)

const (
	// Name, id, body, today, what the letter counts, letters in a box, bytes of a box, bytes of the store.
	putLetter = `INSERT INTO letter (box, seq, id, body)
SELECT b.name, b.letters + 1, ?2, ?3 FROM box b, store s
WHERE b.name = ?1 AND b.state = 0 AND b.expires > ?4 AND b.letters < ?6 AND b.bytes + ?5 <= ?7 AND s.bytes + ?5 <= ?8
ON CONFLICT (box, id) DO NOTHING`
	// A letter that is not counted yet is one whose place is above the box's count.
	countLetterInStore = `UPDATE store SET bytes = bytes + ?2
WHERE (SELECT letters FROM box WHERE name = ?1) < (SELECT MAX(seq) FROM letter WHERE box = ?1)`
	countLetter = `UPDATE box SET letters = letters + 1, bytes = bytes + ?2
WHERE name = ?1 AND letters < (SELECT MAX(seq) FROM letter WHERE box = ?1)`
	// Name, id, body.
	findLetter = `SELECT b.owner, b.state, b.expires, b.letters, b.bytes, l.seq, l.body = ?3
FROM box b LEFT JOIN letter l ON l.box = b.name AND l.id = ?2 WHERE b.name = ?1`

	// Name, after, how many, how many bytes.
	getLetters = `SELECT b.owner, b.state, b.expires, b.letters, b.bytes, l.seq, l.id, l.body
FROM box b LEFT JOIN letter l ON l.box = b.name AND l.seq IN (
  SELECT seq FROM (SELECT seq, SUM(LENGTH(body)) OVER (ORDER BY seq) AS total FROM letter WHERE box = ?1 AND seq > ?2 ORDER BY seq LIMIT CAST(?3 AS INTEGER))
  WHERE total <= ?4)
WHERE b.name = ?1 ORDER BY l.seq`
)

// Put adds a letter.
func (s *Store) Put(ctx context.Context, at mailbox.Address, id mailbox.ID, body []byte) (uint64, error) {
	if err := mailbox.CheckLetter(len(body)); err != nil {
		return 0, err
	}
	today, cost := s.today(), int64(len(body)+mailbox.Row)
	rows, err := s.DB.Write(ctx,
		Statement{putLetter, []any{name(at), id[:], body, today, cost, int64(mailbox.MaxLetters), int64(mailbox.MaxBox), s.Limit}},
		Statement{countLetterInStore, []any{name(at), cost}},
		Statement{countLetter, []any{name(at), cost}},
		Statement{findLetter, []any{name(at), id[:], body}})
	if err != nil {
		return 0, err
	}
	if err := boxOf(rows[3]).write(today); err != nil {
		return 0, err
	}
	seq, same := rows[3][0][5], rows[3][0][6]
	switch {
	case seq == nil:
		return 0, mailbox.ErrFull
	case integer(same) != 1:
		return 0, mailbox.ErrConflict
	}
	return uint64(integer(seq)), nil
}

// Get returns letters.
func (s *Store) Get(ctx context.Context, at mailbox.Address, right mailbox.Right, after uint64, limit int) ([]mailbox.Letter, error) {
	if limit < 1 || limit > mailbox.MaxLetters {
		limit = mailbox.MaxLetters
	}
	rows, err := s.DB.Read(ctx, Statement{getLetters, []any{name(at), int64(min(after, mailbox.MaxLetters)), int64(limit), int64(mailbox.Page)}})
	if err != nil {
		return nil, err
	}
	if err := boxOf(rows).read(right, s.today()); err != nil {
		return nil, err
	}
	var letters []mailbox.Letter
	for _, r := range rows {
		if r[5] == nil {
			break // a box without letters is one row
		}
		l := mailbox.Letter{Seq: uint64(integer(r[5]))}
		id, _ := r[6].([]byte)
		if l.Body, _ = r[7].([]byte); len(id) != len(l.ID) || len(l.Body) == 0 {
			return nil, fmt.Errorf("mailbox: letter %d is damaged", l.Seq)
		}
		copy(l.ID[:], id)
		letters = append(letters, l)
	}
	return letters, nil
}
