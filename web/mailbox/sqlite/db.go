package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	driver "modernc.org/sqlite"
	codes "modernc.org/sqlite/lib"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/migrations"
	tables "example.org/plumb/web/mailbox/sql"
)

// db is a database in the WAL mode: one connection writes, a few read.
type db struct {
	reading *sql.DB
	writing *sql.DB
	writer  *sql.Conn
	queue   chan *batch
	stop    chan struct{}
	stopped chan struct{}

	mu       sync.Mutex
	prepared map[string]*sql.Stmt // of reading
	ready    map[string]*sql.Stmt // of writer, used by the goroutine that writes alone
}

// batch is a Write that waits for its turn, or a statement that no transaction may hold.
type batch struct {
	ctx        context.Context
	statements []tables.Statement
	alone      string
	rows       []tables.Rows
	err        error
	done       chan struct{}
}

// together is how many batches share one commit at most. A commit waits for the disk, some milliseconds; the batches that came meanwhile go into the next.
const together = 128

var errShut = errors.New("sqlite: the store is shut")

func openDB(file string, pages int64) (*db, error) {
	// The file is made here, so that nobody else on the computer can read it.
	f, err := os.OpenFile(file, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, fmt.Errorf("sqlite: %w", err)
	}
	f.Close()
	writing, err := connect(file, "journal_mode(wal)", "synchronous(full)", "secure_delete(on)", "journal_size_limit(8388608)")
	if err != nil {
		return nil, err
	}
	d := &db{
		writing: writing, queue: make(chan *batch, together), stop: make(chan struct{}), stopped: make(chan struct{}),
		prepared: map[string]*sql.Stmt{}, ready: map[string]*sql.Stmt{},
	}
	err = d.start(file, pages)
	if err != nil {
		d.close()
		return nil, err
	}
	go d.write()
	return d, nil
}

// connect returns connections to a file that all have the pragmas.
func connect(file string, pragmas ...string) (*sql.DB, error) {
	at, err := filepath.Abs(file)
	if err != nil {
		return nil, fmt.Errorf("sqlite: %w", err)
	}
	q := url.Values{"_pragma": append([]string{"busy_timeout(5000)"}, pragmas...)}
	path := filepath.ToSlash(at)
	if !strings.HasPrefix(path, "/") {
		path = "/" + path
	}
	c, err := sql.Open("sqlite", (&url.URL{Scheme: "file", Path: path, RawQuery: q.Encode()}).String())
	if err != nil {
		return nil, translate(err)
	}
	return c, nil
}

func (d *db) start(file string, pages int64) (err error) {
	ctx := context.Background()
	if d.writer, err = d.writing.Conn(ctx); err != nil {
		return translate(err)
	}
	if err := migrate(ctx, d.writer); err != nil {
		return err
	}
	if pages > 0 {
		if _, err := d.writer.ExecContext(ctx, fmt.Sprintf("PRAGMA max_page_count = %d", pages)); err != nil {
			return translate(err)
		}
	}
	if d.reading, err = connect(file, "query_only(on)"); err != nil {
		return err
	}
	d.reading.SetMaxOpenConns(4)
	d.reading.SetMaxIdleConns(4)
	return nil
}

// migrate runs the migrations that the database has not had. PRAGMA user_version counts them.
func migrate(ctx context.Context, c *sql.Conn) error {
	names, err := fs.Glob(migrations.Files, "*.sql")
	if err != nil {
		return fmt.Errorf("sqlite: %w", err)
	}
	var had int
	if err := c.QueryRowContext(ctx, "PRAGMA user_version").Scan(&had); err != nil {
		return translate(err)
	}
	if had > len(names) {
		return fmt.Errorf("sqlite: the database is of a newer version (%d migrations, known are %d)", had, len(names))
	}
	for i, name := range names[had:] {
		text, err := fs.ReadFile(migrations.Files, name)
		if err != nil {
			return fmt.Errorf("sqlite: %w", err)
		}
		if _, err := c.ExecContext(ctx, fmt.Sprintf("BEGIN IMMEDIATE;\n%s\nPRAGMA user_version = %d;\nCOMMIT", text, had+i+1)); err != nil {
			c.ExecContext(ctx, "ROLLBACK") // fails where nothing was begun
			return fmt.Errorf("sqlite: migration %s: %w", name, translate(err))
		}
	}
	return nil
}

// Read runs a SELECT.
func (d *db) Read(ctx context.Context, s tables.Statement) (tables.Rows, error) {
	d.mu.Lock()
	p := d.prepared[s.Text]
	if p == nil {
		var err error
		if p, err = d.reading.PrepareContext(ctx, s.Text); err != nil {
			d.mu.Unlock()
			return nil, translate(err)
		}
		d.prepared[s.Text] = p
	}
	d.mu.Unlock()
	rows, err := query(ctx, p, s.Args)
	return rows, translate(err)
}

// Write hands statements to the goroutine that writes, and waits for it even if ctx ends: only so is known what was done.
func (d *db) Write(ctx context.Context, s ...tables.Statement) ([]tables.Rows, error) {
	b := &batch{ctx: ctx, statements: s}
	err := d.wait(b)
	return b.rows, err
}

// alone runs a statement outside a transaction.
func (d *db) alone(ctx context.Context, text string) error {
	return d.wait(&batch{ctx: ctx, alone: text})
}

func (d *db) wait(b *batch) error {
	b.done = make(chan struct{})
	select {
	case <-d.stop:
		return errShut
	case <-b.ctx.Done():
		return b.ctx.Err()
	case d.queue <- b:
	}
	select {
	case <-b.done:
		return b.err
	case <-d.stopped:
	}
	select {
	case <-b.done:
		return b.err
	default:
		return errShut // it was queued when nobody took from the queue any more
	}
}

// write carries out what is queued, as much at once as has come.
func (d *db) write() {
	defer close(d.stopped)
	for {
		var group []*batch
		select {
		case <-d.stop:
			select {
			case b := <-d.queue:
				group = append(group, b)
			default:
				return
			}
		case b := <-d.queue:
			group = append(group, b)
		}
	more:
		for len(group) < together {
			select {
			case b := <-d.queue:
				group = append(group, b)
			default:
				break more
			}
		}
		d.commit(slices.DeleteFunc(slices.Clone(group), func(b *batch) bool { return b.alone != "" }))
		for _, b := range group {
			if b.alone != "" {
				_, b.err = d.writer.ExecContext(b.ctx, b.alone)
				b.err = translate(b.err)
			}
			close(b.done)
		}
	}
}

// commit carries out a group in one transaction. If anything in it fails, each batch gets a transaction of its own, so that none suffers from another's fault.
func (d *db) commit(group []*batch) {
	err := d.transact(group)
	if err == nil {
		return
	}
	for _, b := range group {
		if len(group) > 1 {
			err = d.transact([]*batch{b})
		}
		if err != nil {
			b.rows, b.err = nil, err
		}
	}
}

func (d *db) transact(group []*batch) (err error) {
	if len(group) == 0 {
		return nil
	}
	ctx := context.Background() // a statement that was begun is brought to its end
	if _, err := d.writer.ExecContext(ctx, "BEGIN IMMEDIATE"); err != nil {
		return translate(err)
	}
	defer func() {
		if err != nil {
			d.writer.ExecContext(ctx, "ROLLBACK") // fails where SQLite has rolled back by itself
		}
	}()
	for _, b := range group {
		b.rows, b.err = nil, b.ctx.Err()
		if b.err != nil {
			continue
		}
		for _, s := range b.statements {
			p := d.ready[s.Text]
			if p == nil {
				if p, err = d.writer.PrepareContext(ctx, s.Text); err != nil {
					return translate(err)
				}
				d.ready[s.Text] = p
			}
			rows, err := query(ctx, p, s.Args)
			if err != nil {
				return translate(err)
			}
			b.rows = append(b.rows, rows)
		}
	}
	_, err = d.writer.ExecContext(ctx, "COMMIT")
	return translate(err)
}

// query runs a prepared statement to its end.
func query(ctx context.Context, p *sql.Stmt, args []any) (tables.Rows, error) {
	found, err := p.QueryContext(ctx, args...)
	if err != nil {
		return nil, err
	}
	defer found.Close()
	columns, err := found.Columns()
	if err != nil {
		return nil, err
	}
	var rows tables.Rows
	for found.Next() {
		row := make([]any, len(columns))
		to := make([]any, len(columns))
		for i := range row {
			to[i] = &row[i]
		}
		if err := found.Scan(to...); err != nil {
			return nil, err
		}
		rows = append(rows, row)
	}
	return rows, found.Err()
}

func (d *db) shut() error {
	close(d.stop)
	<-d.stopped
	return d.close()
}

func (d *db) close() error {
	var err error
	if d.reading != nil {
		err = d.reading.Close()
	}
	if d.writer != nil {
		err = errors.Join(err, d.writer.Close())
	}
	return errors.Join(err, d.writing.Close())
}

// translate gives an error of SQLite its meaning for a store. Its own text holds no values.
func translate(err error) error {
	var e *driver.Error
	switch {
	case err == nil:
		return nil
	case !errors.As(err, &e):
		return fmt.Errorf("sqlite: %w", err)
	}
	switch e.Code() & 0xff {
	case codes.SQLITE_FULL:
		return mailbox.ErrFull
	case codes.SQLITE_BUSY, codes.SQLITE_LOCKED:
		return mailbox.Busy{After: time.Second}
	}
	return fmt.Errorf("sqlite: %w", err)
}
