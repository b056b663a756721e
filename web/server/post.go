package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"strings"
	"time"

	"example.org/plumb/web"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/memory"
	"example.org/plumb/web/mailbox/sqlite"
)

// store is a mailbox that is swept and counted.
type store interface {
	mailbox.Store
	Sweep(ctx context.Context, now time.Time) (removed int, err error)
	Content(ctx context.Context) (mailbox.Content, error)
}

// openStore opens the mailbox that a start asks for, and tells log where letters are. Shut closes it.
func openStore(ctx context.Context, c config, log *slog.Logger) (s store, shut func() error, err error) {
	if c.data == "" {
		log.Warn("letters are kept in memory and are gone when this stops; -data FOLDER keeps them", "limit", amount(c.limit))
		return memory.New(time.Now, c.limit), func() error { return nil }, nil
	}
	kept, err := sqlite.Open(c.data, sqlite.Settings{Now: time.Now, Limit: c.limit})
	if err != nil {
		return nil, nil, fmt.Errorf("server: cannot use the folder %s: %w", c.data, err)
	}
	held, err := kept.Content(ctx)
	if err == nil {
		err = kept.GiveUp(ctx)
	}
	if err != nil {
		return nil, nil, errors.Join(fmt.Errorf("server: cannot use the folder %s: %w", c.data, err), kept.Shut())
	}
	log.Info("letters are kept in a folder", "folder", c.data, "boxes", held.Boxes, "letters", held.Letters, "chunks", held.Chunks, "held", amount(held.Bytes), "limit", amount(c.limit))
	return kept, kept.Shut, nil
}

// sweep removes what has expired, now and every hour until ctx is done.
func sweep(ctx context.Context, s store, w *watch) {
	hour := time.NewTicker(time.Hour)
	defer hour.Stop()
	for {
		if removed, err := s.Sweep(ctx, time.Now()); ctx.Err() == nil {
			w.swung(removed, err, time.Now())
		}
		select {
		case <-ctx.Done():
			return
		case <-hour.C:
		}
	}
}

// mount puts a mailbox and its readiness beside the site.
func mount(site http.Handler, s mailbox.Store, c config, w *watch) http.Handler {
	terms := web.Terms{
		Client: web.Rate{Burst: c.rate * 30, Each: c.rate},
		Fault:  w.failed,
		Drain:  true,
	}
	if c.proxy {
		terms.From = forwarded
	}
	boxes := web.Mailbox(s, terms)
	ready := http.NewServeMux()
	ready.Handle("GET /readyz", readiness(s))
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch {
		case strings.HasPrefix(r.URL.Path, mailbox.Root):
			boxes.ServeHTTP(w, r)
		case r.URL.Path == "/readyz":
			ready.ServeHTTP(w, r)
		default:
			site.ServeHTTP(w, r)
		}
	})
}

// forwarded is the address that a proxy has written last into X-Forwarded-For; what stands before it is the client's word.
func forwarded(r *http.Request) string {
	all := r.Header.Values("X-Forwarded-For")
	if len(all) == 0 {
		return ""
	}
	last := all[len(all)-1]
	return strings.TrimSpace(last[strings.LastIndexByte(last, ',')+1:])
}

// obey carries out a command and tells out what it did.
func obey(ctx context.Context, c config, out io.Writer) error {
	switch c.command {
	case "backup":
		held, err := sqlite.Backup(ctx, c.data, c.file)
		if err != nil {
			return fmt.Errorf("server: backup: %w", err)
		}
		fmt.Fprintf(out, "Backed up %s to %s: %s.\n", c.data, c.file, tell(held))
	case "restore":
		held, err := sqlite.Restore(ctx, c.data, c.file)
		if err != nil {
			return fmt.Errorf("server: restore: %w", err)
		}
		fmt.Fprintf(out, "Restored %s from %s: %s.\n", c.data, c.file, tell(held))
	case "purge":
		if err := purge(ctx, c, out); err != nil {
			return fmt.Errorf("server: purge: %w", err)
		}
	case "ready":
		if err := ask(ctx, c.addr, out); err != nil {
			return fmt.Errorf("server: ready: %w", err)
		}
	case "verify":
		if err := attest(c.file, c.beside, out); err != nil {
			return fmt.Errorf("server: verify: %w", err)
		}
	}
	return nil
}

func purge(ctx context.Context, c config, out io.Writer) error {
	if !sqlite.In(c.data) {
		return fmt.Errorf("there is no mailbox in %s", c.data)
	}
	s, err := sqlite.Open(c.data, sqlite.Settings{Now: time.Now, Limit: c.limit})
	if err != nil {
		return err
	}
	removed, err := s.Purge(ctx, time.Now())
	held, more := s.Content(ctx)
	if err := errors.Join(err, more, s.Shut()); err != nil {
		return err
	}
	fmt.Fprintf(out, "Removed %s from %s; left: %s.\n", count(removed, "expired box", "expired boxes"), c.data, tell(held))
	return nil
}

func tell(c mailbox.Content) string {
	return strings.Join([]string{count(c.Boxes, "box", "boxes"), count(c.Letters, "letter", "letters"), count(c.Chunks, "chunk of a parcel", "chunks of parcels"), amount(c.Bytes)}, ", ")
}

func count(n int, one, many string) string {
	if n == 1 {
		many = one
	}
	return fmt.Sprint(n, " ", many)
}

// amount writes a number of bytes as -limit reads it, rounded.
func amount(n int64) string {
	switch {
	case n >= 1<<30:
		return fmt.Sprintf("%.4gG", float64(n)/(1<<30))
	case n >= 1<<20:
		return fmt.Sprintf("%.4gM", float64(n)/(1<<20))
	case n >= 1<<10:
		return fmt.Sprintf("%.4gK", float64(n)/(1<<10))
	}
	return fmt.Sprint(n)
}
