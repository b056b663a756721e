package main

import (
	"bytes"
	"io"
	"log"
	"log/slog"
)

// journal is the program's log. What is written to it names no client, no box and no key: messages are fixed, and values are counts, times, routes and what the operator
// has named.
func journal(to io.Writer, asJSON bool) *slog.Logger {
	if asJSON {
		return slog.New(slog.NewJSONHandler(to, nil))
	}
	return slog.New(slog.NewTextHandler(to, nil))
}

// quiet is the log of net/http, whose messages name clients, with what an operator needs of it: that the program is at fault.
func quiet(to *slog.Logger) *log.Logger { return log.New(hush{to}, "", 0) }

type hush struct{ to *slog.Logger }

func (h hush) Write(p []byte) (int, error) {
	if bytes.Contains(p, []byte("panic")) {
		h.to.Error(atFault)
	}
	return len(p), nil
}

// atFault is logged where a request met a mistake of this program.
const atFault = "a request failed by a fault of this program"
