package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"time"

	"example.org/plumb/web/mailbox"
)

// patience is how long a mailbox may take to answer a machine's question.
const patience = 3 * time.Second

// readiness answers whether a store answers: it is asked for a box that nobody has.
func readiness(s mailbox.Store) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		ctx, cancel := context.WithTimeout(r.Context(), patience)
		defer cancel()
		status, text := http.StatusOK, "ready\n"
		if _, err := s.Look(ctx, mailbox.Address{}, mailbox.Right{}); err != nil && !errors.Is(err, mailbox.ErrNone) {
			status, text = http.StatusServiceUnavailable, "the mailbox does not answer\n"
		}
		h := w.Header()
		h.Set("Content-Type", "text/plain; charset=utf-8")
		h.Set("Cache-Control", "no-store")
		h.Set("X-Content-Type-Options", "nosniff")
		w.WriteHeader(status)
		io.WriteString(w, text) // the server drops the body of an answer to HEAD
	})
}

// ask asks the server at an address of this computer whether it is ready.
func ask(ctx context.Context, addr string, out io.Writer) error {
	ctx, cancel := context.WithTimeout(ctx, 2*patience)
	defer cancel()
	at, err := net.ResolveTCPAddr("tcp", addr)
	if err != nil {
		return err
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, link(at)+"readyz", nil)
	if err != nil {
		return err
	}
	straight := &http.Client{Transport: &http.Transport{}} // by no proxy
	defer straight.CloseIdleConnections()
	a, err := straight.Do(r)
	if err != nil {
		return fmt.Errorf("no server answers at %s; start one, or name its address with -addr: %w", addr, err)
	}
	defer a.Body.Close()
	text, err := io.ReadAll(io.LimitReader(a.Body, 1<<10))
	if err != nil {
		return err
	}
	said := strings.TrimSpace(string(text))
	if a.StatusCode != http.StatusOK || said != "ready" {
		return fmt.Errorf("the server at %s is not ready: it says %d %.80q", addr, a.StatusCode, said)
	}
	fmt.Fprintln(out, "ready")
	return nil
}
