package sql

import (
	"context"
	"encoding/json"
	"fmt"
	"time"
)

const (
	// Today, how many boxes.
	gone         = `(SELECT name FROM box WHERE expires <= ?1 ORDER BY expires, name LIMIT CAST(?2 AS INTEGER))`
	sweepChunks  = `INSERT INTO waste (blob, day) SELECT blob, 0 FROM chunk WHERE box IN ` + gone
	sweepLetter  = `DELETE FROM letter WHERE box IN ` + gone
	sweepChunk   = `DELETE FROM chunk WHERE box IN ` + gone
	sweepInStore = `UPDATE store SET bytes = bytes - COALESCE((SELECT SUM(bytes) FROM box WHERE name IN ` + gone + `), 0)`
	sweepBox     = `DELETE FROM box WHERE name IN ` + gone + ` RETURNING name`

	giveUp    = `UPDATE waste SET day = 0`
	findWaste = `SELECT blob FROM waste WHERE day < ?1 LIMIT CAST(?2 AS INTEGER)`
	dropWaste = `DELETE FROM waste WHERE blob IN (SELECT value FROM json_each(?1))`
)

// boxes and blobs that one batch of a sweep removes, so that none takes long.
const atOnce = 50

// Sweep removes the boxes that have expired and the blobs that nothing needs. It returns the number of boxes. It may be stopped at any point and run again.
func (s *Store) Sweep(ctx context.Context, now time.Time) (removed int, err error) {
	today := number(now)
	for {
		args := []any{today, int64(atOnce)}
		rows, err := s.DB.Write(ctx, Statement{sweepChunks, args}, Statement{sweepLetter, args}, Statement{sweepChunk, args}, Statement{sweepInStore, args}, Statement{sweepBox, args})
		if err != nil {
			return removed, err
		}
		n := len(rows[4])
		removed += n
		if n < atOnce {
			return removed, s.tidy(ctx, today)
		}
	}
}

// GiveUp removes what chunks under way have left, all at once instead of days later. Those that are still under way fail with Busy.
func (s *Store) GiveUp(ctx context.Context) error {
	if _, err := s.DB.Write(ctx, Statement{Text: giveUp}); err != nil {
		return err
	}
	return s.tidy(ctx, s.today())
}

// tidy removes the waste of days before today.
func (s *Store) tidy(ctx context.Context, today int64) error {
	for {
		rows, err := s.DB.Read(ctx, Statement{findWaste, []any{today, int64(atOnce)}})
		if err != nil {
			return err
		}
		var blobs []string
		for _, r := range rows {
			b, ok := r[0].(string)
			if !ok {
				return fmt.Errorf("mailbox: a row of waste is damaged")
			}
			blobs = append(blobs, b)
		}
		if len(blobs) == 0 {
			return nil
		}
		if err := s.forget(ctx, blobs...); err != nil {
			return err
		}
		if len(blobs) < atOnce {
			return nil
		}
	}
}

// forget removes blobs, then the rows that list them as waste.
func (s *Store) forget(ctx context.Context, blobs ...string) error {
	if err := s.Blobs.Remove(ctx, blobs...); err != nil {
		return err
	}
	list, err := json.Marshal(blobs)
	if err != nil {
		return fmt.Errorf("mailbox: %w", err)
	}
	_, err = s.DB.Write(ctx, Statement{dropWaste, []any{string(list)}})
	return err
}
