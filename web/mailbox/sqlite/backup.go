package sqlite

import (
	"archive/tar"
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/migrations"
)

// A backup is a tar file: chunks/NAME for each chunk, then mailbox.db. Its entries tell no times and no users.

// Backup writes what the store in a folder holds to a new file. The store may be in use meanwhile: the backup is of one moment, less what is deleted while it is written.
func Backup(ctx context.Context, folder, file string) (c mailbox.Content, err error) {
	if _, err := os.Stat(filepath.Join(folder, database)); err != nil {
		return c, fmt.Errorf("sqlite: no mailbox to back up: %w", err)
	}
	if _, err := os.Lstat(file); !errors.Is(err, fs.ErrNotExist) {
		return c, fmt.Errorf("sqlite: %s is there already", file)
	}
	aside, err := os.MkdirTemp(filepath.Dir(file), ".backup-")
	if err != nil {
		return c, fmt.Errorf("sqlite: %w", err)
	}
	defer os.RemoveAll(aside)
	part := filepath.Join(aside, "part")
	to, err := os.OpenFile(part, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return c, fmt.Errorf("sqlite: %w", err)
	}
	defer to.Close() // again, if all went well
	if c, err = backup(ctx, folder, filepath.Join(aside, database), to); err != nil {
		return c, err
	}
	for _, step := range []func() error{to.Sync, to.Close, func() error { return os.Rename(part, file) }, files{filepath.Dir(file)}.sync} {
		if err := step(); err != nil {
			return c, full(err)
		}
	}
	return c, nil
}

func backup(ctx context.Context, folder, copied string, to io.Writer) (c mailbox.Content, err error) {
	live, err := connect(filepath.Join(folder, database))
	if err != nil {
		return c, err
	}
	defer live.Close()
	if _, err := live.ExecContext(ctx, "VACUUM INTO ?1", copied); err != nil {
		return c, translate(err)
	}
	d, err := connect(copied)
	if err != nil {
		return c, err
	}
	defer d.Close()
	w := tar.NewWriter(to)
	if err := packChunks(ctx, w, live, d, filepath.Join(folder, chunks)); err != nil {
		return c, err
	}
	if _, err := d.ExecContext(ctx, "DELETE FROM waste"); err != nil {
		return c, translate(err)
	}
	if c, err = content(ctx, d); err != nil {
		return c, err
	}
	if err := d.Close(); err != nil {
		return c, translate(err)
	}
	about, err := os.Stat(copied)
	if err != nil {
		return c, full(err)
	}
	if err := pack(w, copied, database, about.Size()); err != nil {
		return c, err
	}
	return c, full(w.Close())
}

// packChunks adds the files that the rows of a copy point to. A chunk that was deleted since the copy was made is taken out of it.
func packChunks(ctx context.Context, w *tar.Writer, live, copied *sql.DB, folder string) error {
	rows, err := chunkRows(ctx, copied)
	if err != nil {
		return err
	}
	for _, r := range rows {
		err := pack(w, filepath.Join(folder, r.blob), chunks+"/"+r.blob, r.size)
		if errors.Is(err, fs.ErrNotExist) {
			var there int
			if err := live.QueryRowContext(ctx, "SELECT COUNT(*) FROM chunk WHERE blob = ?1", r.blob).Scan(&there); err != nil {
				return translate(err)
			}
			if there > 0 {
				return fmt.Errorf("sqlite: the file of a chunk is missing: %s", r.blob)
			}
			err = drop(ctx, copied, r)
		}
		if err := errors.Join(err, ctx.Err()); err != nil {
			return err
		}
	}
	return nil
}

// drop takes the row of a chunk out of a copy.
func drop(ctx context.Context, d *sql.DB, r chunkRow) error {
	for _, s := range []struct {
		text string
		args []any
	}{
		{"UPDATE box SET bytes = bytes - ?2 WHERE name = ?1", []any{r.box, r.size + mailbox.Row}},
		{"UPDATE store SET bytes = bytes - ?1", []any{r.size + mailbox.Row}},
		{"DELETE FROM chunk WHERE blob = ?1", []any{r.blob}},
	} {
		if _, err := d.ExecContext(ctx, s.text, s.args...); err != nil {
			return translate(err)
		}
	}
	return nil
}

// pack adds a file of a known size.
func pack(w *tar.Writer, from, name string, size int64) error {
	f, err := os.Open(from)
	if err != nil {
		return fmt.Errorf("sqlite: %w", err)
	}
	defer f.Close()
	if err := w.WriteHeader(&tar.Header{Name: name, Mode: 0o600, Size: size, ModTime: unknown, Format: tar.FormatPAX}); err != nil {
		return full(err)
	}
	_, err = io.Copy(w, mailbox.Exact(f, size))
	return full(err)
}

// chunkRow is where a chunk is.
type chunkRow struct {
	box  []byte
	blob string
	size int64
	sum  []byte
}

func chunkRows(ctx context.Context, d *sql.DB) (all []chunkRow, err error) {
	rows, err := d.QueryContext(ctx, "SELECT box, blob, size, sum FROM chunk")
	if err != nil {
		return nil, translate(err)
	}
	defer rows.Close()
	for rows.Next() {
		var r chunkRow
		if err := rows.Scan(&r.box, &r.blob, &r.size, &r.sum); err != nil {
			return nil, translate(err)
		}
		all = append(all, r)
	}
	return all, translate(rows.Err())
}

// Restore makes the store that a backup is of in a folder that holds none. All is checked before anything gets its name: the database, and each chunk by its digest.
func Restore(ctx context.Context, folder, file string) (c mailbox.Content, err error) {
	from, err := os.Open(file)
	if err != nil {
		return c, fmt.Errorf("sqlite: %w", err)
	}
	defer from.Close()
	_, there := os.Lstat(filepath.Join(folder, database))
	held, err := os.ReadDir(filepath.Join(folder, chunks))
	if !errors.Is(there, fs.ErrNotExist) || len(held) > 0 || err != nil && !errors.Is(err, fs.ErrNotExist) {
		return c, fmt.Errorf("sqlite: %s holds a mailbox; a backup is restored to a folder without one", folder)
	}
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return c, fmt.Errorf("sqlite: %w", err)
	}
	aside, err := os.MkdirTemp(folder, ".restore-")
	if err != nil {
		return c, fmt.Errorf("sqlite: %w", err)
	}
	defer os.RemoveAll(aside)
	if err := unpack(ctx, from, aside); err != nil {
		return c, err
	}
	if c, err = check(ctx, aside); err != nil {
		return c, err
	}
	os.Remove(filepath.Join(folder, chunks)) // empty, if it is there
	// The database is last: without it there is no store.
	for _, name := range []string{chunks, database} {
		if err := os.Rename(filepath.Join(aside, name), filepath.Join(folder, name)); err != nil {
			return c, full(err)
		}
	}
	return c, full(files{folder}.sync())
}

// blobName is what a blob is called.
var blobName = regexp.MustCompile(`^[A-Z2-7]{26}$`)

// unpack writes the entries of a backup to a folder. An entry that no backup has is an error.
func unpack(ctx context.Context, from io.Reader, folder string) error {
	to := files{filepath.Join(folder, chunks)}
	if err := os.Mkdir(to.folder, 0o700); err != nil {
		return full(err)
	}
	r := tar.NewReader(from)
	for {
		h, err := r.Next()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return fmt.Errorf("sqlite: not a whole backup: %w", err)
		}
		in, name := to, ""
		switch dir, base := filepath.Split(h.Name); {
		case h.Typeflag != tar.TypeReg:
		case h.Name == database:
			in, name = files{folder}, database
		case dir == chunks+"/" && blobName.MatchString(base) && mailbox.CheckChunk(0, h.Size) == nil:
			name = base
		}
		if name == "" {
			return errors.New("sqlite: not a backup of a mailbox: it holds something else")
		}
		if _, err := in.Put(ctx, name, h.Size, r); err != nil {
			return fmt.Errorf("sqlite: not unpacked whole: %w", err)
		}
	}
}

// check makes sure that a folder holds a whole store and nothing else.
func check(ctx context.Context, folder string) (c mailbox.Content, err error) {
	if _, err := os.Stat(filepath.Join(folder, database)); err != nil {
		return c, errors.New("sqlite: not a whole backup: the database is missing")
	}
	d, err := connect(filepath.Join(folder, database))
	if err != nil {
		return c, err
	}
	defer d.Close()
	var state string
	if err := d.QueryRowContext(ctx, "PRAGMA integrity_check").Scan(&state); err != nil || state != "ok" {
		return c, errors.New("sqlite: the database of the backup is damaged")
	}
	known, err := fs.Glob(migrations.Files, "*.sql")
	if err != nil {
		return c, fmt.Errorf("sqlite: %w", err)
	}
	var had int
	if err := d.QueryRowContext(ctx, "PRAGMA user_version").Scan(&had); err != nil || had < 1 || had > len(known) {
		return c, fmt.Errorf("sqlite: the backup is of another version (%d migrations, known are %d)", had, len(known))
	}
	rows, err := chunkRows(ctx, d)
	if err != nil {
		return c, err
	}
	for _, r := range rows {
		if err := matches(filepath.Join(folder, chunks, r.blob), r); err != nil {
			return c, err
		}
	}
	entries, err := os.ReadDir(filepath.Join(folder, chunks))
	if err != nil {
		return c, full(err)
	}
	if len(entries) != len(rows) {
		return c, fmt.Errorf("sqlite: the backup holds %d chunks, its database knows of %d", len(entries), len(rows))
	}
	if c, err = content(ctx, d); err != nil {
		return c, err
	}
	return c, translate(d.Close())
}

// matches tells whether a file holds the chunk of a row.
func matches(file string, r chunkRow) error {
	f, err := os.Open(file)
	if err != nil {
		return fmt.Errorf("sqlite: not a whole backup: %w", err)
	}
	defer f.Close()
	h := sha256.New()
	if n, err := io.Copy(h, f); err != nil || n != r.size || !bytes.Equal(h.Sum(nil), r.sum) {
		return fmt.Errorf("sqlite: a chunk of the backup is damaged: %s", r.blob)
	}
	return nil
}
