package main

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"time"

	"example.org/plumb/web"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/metrics"
)

// watch counts what the server does. Nothing it counts is under a client, a box or a time of day.
type watch struct {
	log  *slog.Logger
	each bool // log each request

	all      metrics.Registry
	refresh  func() // brings what Go tells up to date
	requests metrics.Counter
	took     metrics.Histogram
	received metrics.Counter
	sent     metrics.Counter
	flying   metrics.Gauge
	uploads  metrics.Gauge
	faults   metrics.Counter

	boxes, letters, chunks, bytes metrics.Gauge
	failures                      metrics.Counter

	sweeps metrics.Counter
	swept  metrics.Counter
	last   metrics.Gauge
}

// bounds of how long a request takes, in seconds: a page is answered in a thousandth, a large chunk over a slow line may take the five minutes that it is given.
var bounds = []float64{0.001, 0.0025, 0.01, 0.025, 0.1, 0.25, 1, 2.5, 10, 30, 120, 300}

// newWatch returns a watch over a mailbox that may hold limit bytes.
func newWatch(log *slog.Logger, each bool, limit int64, now time.Time) *watch {
	w := &watch{log: log, each: each}
	m := &w.all
	m.Gauge("plumb_info", "What is running.", "version").Set(1, web.Version())
	m.Gauge("process_start_time_seconds", "When the program was started, in seconds since 1970.").Set(float64(now.Unix()))
	w.requests = m.Counter("plumb_http_requests_total", "Requests that were answered, by the pattern of their route and the class of the answer's status; aborted: the answer was cut short.", "route", "class")
	w.took = m.Histogram("plumb_http_request_seconds", "Time from a request's header to the end of its answer.", bounds, "route")
	w.received = m.Counter("plumb_http_received_bytes_total", "Bytes read of the bodies of requests.", "route")
	w.sent = m.Counter("plumb_http_sent_bytes_total", "Bytes written of the bodies of answers.", "route")
	w.flying = m.Gauge("plumb_http_requests_in_flight", "Requests that are not answered yet.")
	w.uploads = m.Gauge("plumb_uploads_in_flight", "Letters and chunks of parcels on their way in.")
	w.faults = m.Counter("plumb_faults_total", "Requests that met a mistake of the program.")
	w.boxes = m.Gauge("plumb_mailbox_boxes", "Boxes, those that were deleted and have not expired included.")
	w.letters = m.Gauge("plumb_mailbox_letters", "Letters in all boxes.")
	w.chunks = m.Gauge("plumb_mailbox_chunks", "Chunks of parcels in all boxes.")
	w.bytes = m.Gauge("plumb_mailbox_bytes", "Bytes that all boxes count.")
	m.Gauge("plumb_mailbox_limit_bytes", "The most that all boxes may count.").Set(float64(limit))
	w.failures = m.Counter("plumb_mailbox_failures_total", "Requests that failed by the mailbox.")
	w.sweeps = m.Counter("plumb_sweeps_total", "Sweeps of what has expired, by how they ended: done or failed.", "outcome")
	w.swept = m.Counter("plumb_swept_boxes_total", "Boxes that were removed because they had expired.")
	w.last = m.Gauge("plumb_last_sweep_seconds", "When a sweep was last done, in seconds since 1970.")
	for _, g := range []metrics.Gauge{w.flying, w.uploads} {
		g.Set(0)
	}
	for _, outcome := range []string{"done", "failed"} {
		w.sweeps.Add(0, outcome)
	}
	w.refresh = m.Runtime()
	return w
}

// failed tells of a failure of the store. Its errors hold no values.
func (w *watch) failed(err error) {
	w.failures.Add(1)
	w.log.Error("the mailbox failed", "error", err)
}

// swung tells how a sweep ended.
func (w *watch) swung(removed int, err error, now time.Time) {
	w.swept.Add(float64(removed))
	if err != nil {
		w.sweeps.Add(1, "failed")
		w.log.Error("sweeping failed and is tried again in an hour", "error", err)
		return
	}
	w.sweeps.Add(1, "done")
	w.last.Set(float64(now.Unix()))
}

// route is the pattern that a request was answered by.
func route(r *http.Request) string {
	switch r.Pattern {
	case "":
		return "refused" // before any pattern was looked for: from another site, too many, or no address of the mailbox
	case "/":
		return "nothing"
	}
	return r.Pattern
}

// over counts the requests that a handler answers. A mistake of the program is told without what it was about, and cuts the answer short.
func (w *watch) over(h http.Handler) http.Handler {
	return http.HandlerFunc(func(to http.ResponseWriter, r *http.Request) {
		began := time.Now()
		a, b := &answer{ResponseWriter: to}, &body{ReadCloser: r.Body}
		w.flying.Add(1)
		upload := r.Method == http.MethodPut && r.ContentLength != 0 && strings.HasPrefix(r.URL.Path, mailbox.Root)
		if r.Body != http.NoBody {
			r.Body = b
		}
		if upload {
			w.uploads.Add(1)
		}
		defer func() {
			took := time.Since(began).Seconds()
			class, at := strconv.Itoa(max(a.status, http.StatusOK)/100)+"xx", route(r)
			mistake := recover()
			if mistake != nil {
				class = "aborted"
			}
			w.flying.Add(-1)
			if upload {
				w.uploads.Add(-1)
			}
			w.requests.Add(1, at, class)
			w.took.Observe(took, at)
			w.received.Add(float64(b.read), at)
			w.sent.Add(float64(a.sent), at)
			if w.each {
				w.log.Info("request", "route", at, "status", max(a.status, http.StatusOK), "aborted", mistake != nil, "seconds", took, "received", b.read, "sent", a.sent)
			}
			if mistake != nil {
				if mistake != http.ErrAbortHandler {
					w.faults.Add(1)
					w.log.Error(atFault, "route", at, "place", place())
				}
				panic(http.ErrAbortHandler)
			}
		}()
		h.ServeHTTP(a, r)
	})
}

// place is where a function of ours panicked that a caller recovers from.
func place() string {
	var pcs [64]uintptr
	frames := runtime.CallersFrames(pcs[:runtime.Callers(1, pcs[:])])
	for panicked := false; ; {
		f, more := frames.Next()
		if panicked && strings.HasPrefix(f.Function, "example.org/plumb/") {
			return filepath.Base(filepath.Dir(f.File)) + "/" + filepath.Base(f.File) + ":" + strconv.Itoa(f.Line)
		}
		panicked = panicked || f.Function == "runtime.gopanic"
		if !more {
			return "unknown"
		}
	}
}

// answer notes how a request is answered.
type answer struct {
	http.ResponseWriter
	status int   // 0 until it is told
	sent   int64 // bytes of the body
}

// Unwrap is for http.ResponseController.
func (a *answer) Unwrap() http.ResponseWriter { return a.ResponseWriter }

func (a *answer) WriteHeader(status int) {
	if a.status == 0 && status >= 200 {
		a.status = status
	}
	a.ResponseWriter.WriteHeader(status)
}

func (a *answer) Write(p []byte) (int, error) {
	n, err := a.ResponseWriter.Write(p)
	a.sent += int64(n)
	return n, err
}

// ReadFrom lets a file go to the line without passing through here.
func (a *answer) ReadFrom(r io.Reader) (int64, error) {
	n, err := io.Copy(a.ResponseWriter, r)
	a.sent += n
	return n, err
}

// body notes how much of a request's body is read.
type body struct {
	io.ReadCloser
	read int64
}

func (b *body) Read(p []byte) (int, error) {
	n, err := b.ReadCloser.Read(p)
	b.read += int64(n)
	return n, err
}

// told answers at /metrics with all that was counted, and with what a store holds now.
func (w *watch) told(s store) http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /metrics", func(to http.ResponseWriter, r *http.Request) {
		ctx, cancel := context.WithTimeout(r.Context(), patience)
		defer cancel()
		held, err := s.Content(ctx)
		for g, n := range map[metrics.Gauge]float64{w.boxes: float64(held.Boxes), w.letters: float64(held.Letters), w.chunks: float64(held.Chunks), w.bytes: float64(held.Bytes)} {
			if err == nil {
				g.Set(n)
			} else {
				g.Clear() // what is not known is not told
			}
		}
		w.refresh()
		to.Header().Set("Content-Type", metrics.Type)
		to.Header().Set("Cache-Control", "no-store")
		w.all.Write(to)
	})
	return mux
}
