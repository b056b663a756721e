package main

import (
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/mailboxtest"
	"example.org/plumb/web/mailbox/memory"
	"example.org/plumb/web/metrics"
	"example.org/plumb/web/metrics/metricstest"
)

// scrape reads what a watch tells.
func scrape(t *testing.T, w *watch, s store) map[string]float64 {
	t.Helper()
	a := httptest.NewRecorder()
	w.told(s).ServeHTTP(a, httptest.NewRequest("GET", "/metrics", nil))
	if a.Code != 200 || a.Header().Get("Content-Type") != metrics.Type {
		t.Fatalf("/metrics: %d, %v", a.Code, a.Header())
	}
	all, err := metricstest.Parse(a.Body.String())
	if err != nil {
		t.Fatalf("%v\n%s", err, a.Body)
	}
	return all
}

// Each request is counted once, under its route and the class of its answer, with what went both ways.
func TestMeasures(t *testing.T) {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /page/{name}", func(w http.ResponseWriter, r *http.Request) { io.WriteString(w, "twelve bytes") })
	mux.HandleFunc("PUT "+mailbox.Root+"{address}", func(w http.ResponseWriter, r *http.Request) {
		io.CopyN(io.Discard, r.Body, 5)
		w.WriteHeader(http.StatusInsufficientStorage)
	})
	mux.HandleFunc("GET /file", func(w http.ResponseWriter, r *http.Request) {
		w.(io.ReaderFrom).ReadFrom(strings.NewReader("a file"))
	})
	mux.HandleFunc("GET /short", func(http.ResponseWriter, *http.Request) { panic(http.ErrAbortHandler) })
	mux.HandleFunc("GET /wrong", func(http.ResponseWriter, *http.Request) { panic("secret") })
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) { http.NotFound(w, r) })
	var log buffer
	w := newWatch(journal(&log, false), false, 4096, time.Unix(1000, 0))
	entered, go1 := make(chan bool), make(chan bool)
	h := w.over(http.HandlerFunc(func(to http.ResponseWriter, r *http.Request) {
		if r.Header.Get("Wait") != "" {
			entered <- true
			<-go1
		}
		if r.Header.Get("Refuse") != "" {
			to.WriteHeader(http.StatusTooManyRequests)
			return
		}
		mux.ServeHTTP(to, r)
	}))
	ask := func(method, path, body string, header ...string) {
		var b io.Reader
		if body != "" {
			b = strings.NewReader(body)
		}
		r := httptest.NewRequest(method, path, b)
		if body == "" {
			r.Body = http.NoBody
		}
		for _, name := range header {
			r.Header.Set(name, "1")
		}
		defer func() {
			if p := recover(); p != nil && p != http.ErrAbortHandler {
				t.Errorf("%s panics with %v", path, p)
			}
		}()
		h.ServeHTTP(httptest.NewRecorder(), r)
	}
	for range 3 {
		ask("GET", "/page/"+"one", "")
	}
	ask("GET", "/page/two", "")
	ask("GET", "/file", "")
	ask("GET", "/none/of/these", "")
	ask("GET", "/short", "")
	ask("GET", "/wrong", "")
	ask("GET", "/page/one", "", "Refuse")
	all := make(chan bool)
	for range 2 {
		go func() { ask("PUT", mailbox.Root+"box", "ten bytes.", "Wait"); all <- true }()
		<-entered
	}
	go func() { ask("GET", "/page/one", "", "Wait"); all <- true }()
	<-entered
	s := memory.New(time.Now, 4096)
	at := mailboxtest.NewAddress()
	if err := s.Open(context.Background(), at, mailboxtest.NewRight().Owner(), time.Now().Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Put(context.Background(), at, mailbox.ID{}, []byte("dear")); err != nil {
		t.Fatal(err)
	}
	if err := s.PutChunk(context.Background(), at, mailbox.ID{}, 1, 3, strings.NewReader("abc")); err != nil {
		t.Fatal(err)
	}
	during := scrape(t, w, s)
	if during["plumb_uploads_in_flight"] != 2 || during["plumb_http_requests_in_flight"] != 3 {
		t.Errorf("under way: %v uploads of %v requests, want 2 of 3", during["plumb_uploads_in_flight"], during["plumb_http_requests_in_flight"])
	}
	for range 3 {
		go1 <- true
	}
	for range 3 {
		<-all
	}
	w.failed(errors.New("no room"))
	got := scrape(t, w, s)
	const page, put = `route="GET /page/{name}"`, `route="PUT ` + mailbox.Root + `{address}"`
	for name, want := range map[string]float64{
		`plumb_http_requests_total{class="2xx",` + page + `}`:                  5,
		`plumb_http_requests_total{class="5xx",` + put + `}`:                   2,
		`plumb_http_requests_total{class="2xx",route="GET /file"}`:             1,
		`plumb_http_requests_total{class="4xx",route="nothing"}`:               1,
		`plumb_http_requests_total{class="4xx",route="refused"}`:               1,
		`plumb_http_requests_total{class="aborted",route="GET /short"}`:        1,
		`plumb_http_requests_total{class="aborted",route="GET /wrong"}`:        1,
		`plumb_http_request_seconds_count{` + page + `}`:                       5,
		`plumb_http_request_seconds_bucket{le="+Inf",` + put + `}`:             2,
		`plumb_http_sent_bytes_total{` + page + `}`:                            60,
		`plumb_http_sent_bytes_total{route="GET /file"}`:                       6,
		`plumb_http_received_bytes_total{` + put + `}`:                         10,
		"plumb_uploads_in_flight":                                              0,
		"plumb_http_requests_in_flight":                                        0,
		"plumb_faults_total":                                                   1,
		"plumb_mailbox_failures_total":                                         1,
		"plumb_mailbox_boxes":                                                  1,
		"plumb_mailbox_letters":                                                1,
		"plumb_mailbox_chunks":                                                 1,
		"plumb_mailbox_bytes":                                                  3*mailbox.Row + 7,
		"plumb_mailbox_limit_bytes":                                            4096,
		"process_start_time_seconds":                                           1000,
		`plumb_sweeps_total{outcome="failed"}`:                                 0,
		`plumb_http_request_seconds_bucket{le="+Inf",route="GET /wrong"}`:      1,
		`plumb_http_received_bytes_total{` + page + `}`:                        0,
		`plumb_http_sent_bytes_total{route="refused"}`:                         0,
		`plumb_http_request_seconds_bucket{le="+Inf",route="GET /short"}`:      1,
		`plumb_http_request_seconds_bucket{le="+Inf",route="nothing"}`:         1,
		`plumb_http_request_seconds_bucket{le="+Inf",route="GET /file"}`:       1,
		`plumb_http_request_seconds_count{route="refused"}`:                    1,
		`plumb_http_request_seconds_count{route="nothing"}`:                    1,
		`plumb_http_request_seconds_count{route="PUT /api/v1/{address}"}`:      2,
		`plumb_http_request_seconds_bucket{le="300",route="GET /page/{name}"}`: 5,
	} {
		if is, ok := got[name]; !ok || is != want {
			t.Errorf("%s is %v (%t), want %v", name, is, ok, want)
		}
	}
	if !(got["go_goroutines"] > 0) {
		t.Errorf("go_goroutines is %v", got["go_goroutines"])
	}
	// The place of the mistake is told, and not what it was about.
	told := log.String()
	if !strings.Contains(told, `msg="a request failed by a fault of this program" route="GET /wrong" place=server/measure_test.go:`) || strings.Contains(told, "secret") || strings.Count(told, "\n") != 2 {
		t.Errorf("told: %s", told)
	}
	// A store that does not answer leaves its numbers out, and not at what they were.
	after := scrape(t, w, silent{})
	for _, name := range []string{"plumb_mailbox_boxes", "plumb_mailbox_letters", "plumb_mailbox_chunks", "plumb_mailbox_bytes"} {
		if n, ok := after[name]; ok {
			t.Errorf("%s of a store that does not answer is %v", name, n)
		}
	}
	if after["plumb_mailbox_limit_bytes"] != 4096 {
		t.Error("the limit is gone")
	}
}

// silent is a store that does not answer.
type silent struct{ store }

func (silent) Content(context.Context) (c mailbox.Content, err error) {
	return c, errors.New("no answer")
}
func (silent) Look(context.Context, mailbox.Address, mailbox.Right) (b mailbox.Box, err error) {
	return b, errors.New("no answer")
}

// What the answer to a request could do before it is measured, it can do still.
func TestAnswer(t *testing.T) {
	watch := idle()
	h := watch.over(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		line := http.NewResponseController(w)
		if err := errors.Join(line.SetReadDeadline(time.Now().Add(time.Hour)), line.SetWriteDeadline(time.Now().Add(time.Hour)), line.EnableFullDuplex()); err != nil {
			t.Error(err)
		}
		w.WriteHeader(http.StatusEarlyHints)
		io.Copy(w, r.Body)
	}))
	host := httptest.NewServer(h)
	defer host.Close()
	a, err := http.Post(host.URL, "text/plain", strings.NewReader("there and back"))
	if err != nil {
		t.Fatal(err)
	}
	defer a.Body.Close()
	if b, err := io.ReadAll(a.Body); err != nil || string(b) != "there and back" {
		t.Errorf("%q, %v", b, err)
	}
	host.Close() // waits for the end of what was counted
	got := scrape(t, watch, memory.New(time.Now, 1))
	if got[`plumb_http_requests_total{class="2xx",route="refused"}`] != 1 || got[`plumb_http_sent_bytes_total{route="refused"}`] != 14 || got[`plumb_http_received_bytes_total{route="refused"}`] != 14 {
		t.Errorf("counted: %v", got)
	}
}

// A fault of the program ends the answer and is told without what it was about, once.
func TestServeQuiet(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	var log buffer
	ended := make(chan error, 1)
	w := newWatch(journal(&log, false), false, 0, time.Now())
	go func() {
		ended <- serve(ctx, l, w.over(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { panic("secret") })), w.log)
	}()
	if r, err := http.Get("http://" + l.Addr().String()); err == nil {
		t.Errorf("answered %v", r.Status)
	}
	stop()
	if err := <-ended; err != nil {
		t.Error(err)
	}
	if s := log.String(); strings.Count(s, atFault) != strings.Count(s, "\n") || !strings.Contains(s, atFault) || strings.Contains(s, "secret") || strings.Contains(s, "127.0.0.1") {
		t.Errorf("told: %q", s)
	}
}

func TestReadiness(t *testing.T) {
	for want, s := range map[string]store{"ready\n": memory.New(time.Now, 1), "the mailbox does not answer\n": silent{}} {
		h := mount(http.NotFoundHandler(), s, config{rate: 1}, idle())
		host := httptest.NewServer(h)
		a, err := http.Get(host.URL + "/readyz")
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(a.Body)
		a.Body.Close()
		good := want == "ready\n"
		if err != nil || string(b) != want || good != (a.StatusCode == 200) || !good && a.StatusCode != 503 || a.Header.Get("Cache-Control") != "no-store" {
			t.Errorf("%d %q, want %q", a.StatusCode, b, want)
		}
		if a, err := http.Post(host.URL+"/readyz", "", nil); err != nil || a.StatusCode != http.StatusMethodNotAllowed {
			t.Errorf("POST: %v, %v", a, err)
		}
		// The command asks the same.
		var out buffer
		addr := strings.TrimPrefix(host.URL, "http://")
		err = obey(context.Background(), config{command: "ready", addr: addr}, &out)
		if good != (err == nil) || good && out.String() != "ready\n" || !good && (!strings.HasPrefix(err.Error(), "server: ready: the server at "+addr+" is not ready: it says 503") || out.String() != "") {
			t.Errorf("ready: %q, %v", out.String(), err)
		}
		host.Close()
		if err := obey(context.Background(), config{command: "ready", addr: addr}, &out); err == nil || !strings.Contains(err.Error(), "no server answers at "+addr) {
			t.Errorf("of no server: %v", err)
		}
	}
}
