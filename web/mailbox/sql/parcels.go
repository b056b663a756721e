package sql

import (
	"bytes"
	"context"
	"errors"
	"io"
	"time"

	"example.org/plumb/web/mailbox"
)

const (
	// Name, parcel, position: a box, the chunk there, the bytes of the parcel, the number of parcels beside it, the bytes of the store.
	findChunk = `SELECT b.owner, b.state, b.expires, b.letters, b.bytes, c.size, c.sum, c.blob,
  (SELECT COALESCE(SUM(size), 0) FROM chunk WHERE box = ?1 AND parcel = ?2),
  (SELECT COUNT(*) FROM (SELECT DISTINCT parcel FROM chunk WHERE box = ?1 AND parcel <> ?2)),
  (SELECT bytes FROM store)
FROM box b LEFT JOIN chunk c ON c.box = b.name AND c.parcel = ?2 AND c.position = ?3 WHERE b.name = ?1`

	wasteBlob = `INSERT INTO waste (blob, day) VALUES (?1, ?2)`
	// Name, parcel, position, size, sum, blob, today, what the chunk counts, bytes of a box, bytes of the store, bytes of a parcel, parcels in a box. A blob that was given
	// up meanwhile makes no chunk.
	putChunk = `INSERT INTO chunk (box, parcel, position, size, sum, blob)
SELECT b.name, ?2, ?3, ?4, ?5, ?6 FROM box b, store s, waste w
WHERE b.name = ?1 AND b.state = 0 AND b.expires > ?7 AND w.blob = ?6 AND w.day > ?7 AND b.bytes + ?8 <= ?9 AND s.bytes + ?8 <= ?10
  AND (SELECT COALESCE(SUM(size), 0) FROM chunk WHERE box = ?1 AND parcel = ?2) + ?4 <= ?11
  AND (SELECT COUNT(*) FROM (SELECT DISTINCT parcel FROM chunk WHERE box = ?1 AND parcel <> ?2)) < ?12
ON CONFLICT (box, parcel, position) DO NOTHING`
	// Name, parcel, position, blob, what the chunk counts.
	came              = `EXISTS (SELECT 1 FROM chunk WHERE box = ?1 AND parcel = ?2 AND position = ?3 AND blob = ?4)`
	countChunkInStore = `UPDATE store SET bytes = bytes + ?5 WHERE ` + came
	countChunk        = `UPDATE box SET bytes = bytes + ?5 WHERE name = ?1 AND ` + came
	keepBlob          = `DELETE FROM waste WHERE blob = ?4 AND ` + came

	// Name, parcel.
	findChunks = `SELECT b.owner, b.state, b.expires, b.letters, b.bytes, c.position, c.size
FROM box b LEFT JOIN chunk c ON c.box = b.name AND c.parcel = ?2 WHERE b.name = ?1 ORDER BY c.position`
)

// place is a row of findChunk: where a chunk is or may go.
type place struct {
	box
	size   int64 // 0 where there is none
	sum    []byte
	blob   string
	parcel int64 // bytes of the parcel
	others int64 // other parcels in the box
	store  int64 // bytes of the store
}

func placeOf(rows Rows) place {
	p := place{box: boxOf(rows)}
	if len(rows) > 0 {
		r := rows[0]
		p.size, p.parcel, p.others, p.store = integer(r[5]), integer(r[8]), integer(r[9]), integer(r[10])
		p.sum, _ = r[6].([]byte)
		p.blob, _ = r[7].(string)
	}
	return p
}

// room tells whether a chunk of size bytes can be added.
func (p place) room(size, limit int64) error {
	cost := size + mailbox.Row
	switch {
	case p.parcel+size > mailbox.MaxParcel:
		return mailbox.ErrTooLarge
	case p.others >= mailbox.MaxParcels, p.bytes+cost > mailbox.MaxBox, p.store+cost > limit:
		return mailbox.ErrFull
	}
	return nil
}

// same tells whether what is in a place is what was to come.
func (p place) same(size int64, sum []byte) error {
	if p.size != size || !bytes.Equal(p.sum, sum) {
		return mailbox.ErrConflict
	}
	return nil
}

// PutChunk stores a chunk: the blob first, listed as waste, then the row that makes it a chunk. A stop between the two leaves waste, which a sweep removes.
func (s *Store) PutChunk(ctx context.Context, at mailbox.Address, parcel mailbox.ID, i int, size int64, body io.Reader) error {
	if err := mailbox.CheckChunk(i, size); err != nil {
		return err
	}
	find := Statement{findChunk, []any{name(at), parcel[:], int64(i)}}
	rows, err := s.DB.Read(ctx, find)
	if err != nil {
		return err
	}
	p := placeOf(rows)
	if err := p.write(s.today()); err != nil {
		return err
	}
	if p.size > 0 {
		if p.size != size {
			return mailbox.ErrConflict
		}
		sum, err := s.Blobs.Sum(ctx, size, body)
		if err != nil {
			return err
		}
		return p.same(size, sum)
	}
	if err := p.room(size, s.Limit); err != nil {
		return err
	}
	blob := s.Name()
	if _, err := s.DB.Write(ctx, Statement{wasteBlob, []any{blob, s.today() + 2}}); err != nil { // no chunk is under way for more than a day
		return err
	}
	sum, err := s.Blobs.Put(ctx, blob, size, body)
	if err != nil {
		return errors.Join(err, s.discard(ctx, blob))
	}
	today, cost := s.today(), size+mailbox.Row
	here := []any{name(at), parcel[:], int64(i), blob}
	done, err := s.DB.Write(ctx,
		Statement{putChunk, []any{name(at), parcel[:], int64(i), size, sum, blob, today, cost,
			int64(mailbox.MaxBox), s.Limit, int64(mailbox.MaxParcel), int64(mailbox.MaxParcels)}},
		Statement{countChunkInStore, append(here[:4:4], cost)},
		Statement{countChunk, append(here[:4:4], cost)},
		Statement{keepBlob, here},
		find)
	if err != nil {
		return err // whether it was kept is not known: the blob stays, as a chunk or as waste
	}
	p = placeOf(done[4])
	if p.blob == blob {
		return nil
	}
	if err := s.discard(ctx, blob); err != nil {
		return err
	}
	if err := p.write(today); err != nil {
		return err
	}
	if p.size > 0 {
		return p.same(size, sum)
	}
	if err := p.room(size, s.Limit); err != nil {
		return err
	}
	return mailbox.Busy{After: time.Second} // the blob was given up, or room was made just now
}

// discard removes a blob that became no chunk, even if the caller has gone meanwhile.
func (s *Store) discard(ctx context.Context, blob string) error {
	return s.forget(context.WithoutCancel(ctx), blob)
}

// Chunks returns what has arrived of a parcel.
func (s *Store) Chunks(ctx context.Context, at mailbox.Address, right mailbox.Right, parcel mailbox.ID) (mailbox.Parcel, error) {
	rows, err := s.DB.Read(ctx, Statement{findChunks, []any{name(at), parcel[:]}})
	if err != nil {
		return mailbox.Parcel{}, err
	}
	if err := boxOf(rows).read(right, s.today()); err != nil {
		return mailbox.Parcel{}, err
	}
	p := mailbox.Parcel{ID: parcel}
	for _, r := range rows {
		if r[5] == nil {
			break // a box without the parcel is one row
		}
		for int64(len(p.Chunks)) < min(integer(r[5]), mailbox.MaxChunks) {
			p.Chunks = append(p.Chunks, 0)
		}
		p.Chunks = append(p.Chunks, int(integer(r[6])))
	}
	return p, nil
}

// GetChunk returns a chunk.
func (s *Store) GetChunk(ctx context.Context, at mailbox.Address, right mailbox.Right, parcel mailbox.ID, i int) (io.ReadCloser, int64, error) {
	rows, err := s.DB.Read(ctx, Statement{findChunk, []any{name(at), parcel[:], int64(i)}})
	if err != nil {
		return nil, 0, err
	}
	p := placeOf(rows)
	if err := p.read(right, s.today()); err != nil {
		return nil, 0, err
	}
	if p.size == 0 {
		return nil, 0, mailbox.ErrNone
	}
	return s.Blobs.Get(ctx, p.blob)
}
