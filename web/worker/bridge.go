//go:build js && wasm

package main

import (
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"os"
	"runtime/debug"
	"strconv"
	"strings"
	"syscall/js"
)

// bridge returns h as the library and worker.mjs run it, with requests and answers as net/http makes them for h elsewhere.
//
// The library would stop the program after the first answer whose body the program writes. An answer leaves here whole, as a value of the host, and the program
// goes on to the next request.
func bridge(h http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		tidy()
		mend(r)
		a := &answer{header: http.Header{}}
		if !run(h, a, r) {
			a = &answer{header: http.Header{}}
			a.header.Set("Cache-Control", "no-store")
			a.WriteHeader(http.StatusInternalServerError)
		}
		a.leave(w)
	})
}

// run tells whether h came to its end. A panic is logged without what it says, which may be of a request.
func run(h http.Handler, w http.ResponseWriter, r *http.Request) (ended bool) {
	defer func() {
		if p := recover(); p != nil {
			fmt.Fprintf(os.Stderr, "worker: a request failed: %T\n%s", p, debug.Stack())
		}
	}()
	h.ServeHTTP(w, r)
	return true
}

// lines is the header in which all others cross between worker.mjs and here: every value that crosses costs time, and the library would cut each at its commas.
const lines = "Lines"

// mend makes of a request what net/http would have made of it.
func mend(r *http.Request) {
	fields := strings.Split(strings.Join(r.Header[lines], ","), "\n") // names and values by turns
	r.Header = http.Header{}
	for i := 1; i < len(fields); i += 2 {
		r.Header.Add(fields[i-1], fields[i])
	}
	length, err := strconv.ParseInt(r.Header.Get("Content-Length"), 10, 64)
	if _, streams := r.Body.(interface{ GetRawJSBody() js.Value }); err != nil && streams {
		length = -1 // there is a body, of a length that the client did not tell
	}
	r.ContentLength, r.TransferEncoding = length, nil
	r.Host = r.URL.Host
	r.Header.Del("Host")
	r.URL.Scheme, r.URL.Host = "", ""
	r.RequestURI = r.URL.RequestURI()
	r.Proto, r.ProtoMajor, r.ProtoMinor = "HTTP/1.1", 1, 1
	if from := r.Header.Get("Cf-Connecting-Ip"); from != "" { // set by the host, whatever a client sends
		r.RemoteAddr = net.JoinHostPort(from, "0")
	}
}

// answer is an answer before it leaves: bytes, or a stream of the host. Bytes whose number was told go to the host at once, so that a large answer is not held twice.
type answer struct {
	header http.Header
	status int
	bytes  []byte   // where their number was not told
	array  js.Value // where it was; undefined before the first
	sent   int      // bytes of array that have come
	stream js.Value // undefined if none
}

func (a *answer) Header() http.Header { return a.header }

func (a *answer) WriteHeader(status int) {
	if a.status == 0 && status >= 200 {
		a.status = status
	}
}

func (a *answer) Write(b []byte) (int, error) {
	a.WriteHeader(http.StatusOK)
	told := a.header.Get("Content-Length")
	if told == "" {
		a.bytes = append(a.bytes, b...)
		return len(b), nil
	}
	size, err := strconv.Atoi(told)
	if err != nil || len(b) > size-a.sent {
		return 0, http.ErrContentLength
	}
	if a.array.IsUndefined() {
		a.array = js.Global().Get("Uint8Array").New(size)
	}
	to := a.array
	if a.sent > 0 {
		to = a.array.Call("subarray", a.sent)
	}
	a.sent += js.CopyBytesToJS(to, b)
	return len(b), nil
}

// WriteRawJSBody takes a stream of the host as the body.
func (a *answer) WriteRawJSBody(stream js.Value) {
	a.WriteHeader(http.StatusOK)
	a.stream = stream
}

// leave hands the answer to the library. The host drops the body of an answer to HEAD and keeps its length.
func (a *answer) leave(w http.ResponseWriter) {
	a.WriteHeader(http.StatusOK)
	body := js.Null()
	switch {
	case !a.stream.IsUndefined():
		body = a.stream
	case !a.array.IsUndefined():
		body = a.array
	case len(a.bytes) > 0:
		body = js.Global().Get("Uint8Array").New(len(a.bytes))
		js.CopyBytesToJS(body, a.bytes)
		a.header.Set("Content-Length", strconv.Itoa(len(a.bytes)))
	}
	text, err := json.Marshal(a.header)
	if err != nil {
		panic(err) // texts always go
	}
	w.Header()[lines] = []string{string(text)}
	w.WriteHeader(a.status)
	w.(interface{ WriteRawJSBody(js.Value) }).WriteRawJSBody(body)
}
