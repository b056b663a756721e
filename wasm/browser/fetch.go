//go:build js

package browser

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"syscall/js"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/client"
)

// Fetch carries requests to the server that the page came from, and to no other: a client.Doer. It waits, so it is called from a goroutine of its own and never
// inside a callback.
type Fetch struct{}

// patience is how long an answer may take to begin, and then to end, in ms. Bodies may take their time at the slowest rate beside, in bytes per ms.
const (
	patience = 30_000
	slowest  = 8
)

// Do sends a request and returns its answer, read to its end.
func (Fetch) Do(ctx context.Context, r client.Request) (client.Answer, error) {
	if len(r.Path) < 2 || r.Path[0] != '/' || r.Path[1] == '/' {
		return client.Answer{}, fmt.Errorf("browser: %q is no path below this site", r.Path)
	}
	headers := map[string]any{}
	for name, value := range r.Header {
		headers[name] = value
	}
	stop := global.Get("AbortController").New()
	options := map[string]any{
		"method": r.Method, "headers": headers, "credentials": "omit", "redirect": "error", "cache": "no-store", "mode": "same-origin", "referrerPolicy": "no-referrer",
		"signal": stop.Get("signal"),
	}
	if w, ok := r.Body.(client.Whole); ok {
		options["body"] = w.Whole()
	} else if r.Body != nil {
		b, err := io.ReadAll(r.Body)
		if err != nil {
			return client.Answer{}, err
		}
		options["body"] = array(b)
	}
	var timer js.Value
	allow := func(size int64) {
		window.Call("clearTimeout", timer)
		timer = window.Call("setTimeout", stop.Get("abort").Call("bind", stop), patience+min(max(size, 0), mailbox.MaxParcel)/slowest)
	}
	allow(r.Size)
	defer func() { window.Call("clearTimeout", timer) }()
	defer context.AfterFunc(ctx, func() { stop.Call("abort") })()
	response, err := await(global.Call("fetch", r.Path, options))
	if err != nil {
		return client.Answer{}, err
	}
	header := func(name string) string {
		if v := response.Get("headers").Call("get", name); v.Type() == js.TypeString {
			return v.String()
		}
		return ""
	}
	size, _ := strconv.ParseInt(header("Content-Length"), 10, 64)
	allow(size)
	buffer, err := await(response.Call("arrayBuffer"))
	if err != nil {
		return client.Answer{}, err
	}
	return client.Answer{
		Status: response.Get("status").Int(),
		Header: header,
		Body:   &outside{bytes: global.Get("Uint8Array").New(buffer)},
	}, nil
}

// await waits until a promise is settled.
func await(promise js.Value) (js.Value, error) {
	type outcome struct {
		value js.Value
		err   error
	}
	settled := make(chan outcome, 1)
	then(promise, func(v js.Value) { settled <- outcome{v, nil} }, func(why js.Value) { settled <- outcome{js.Undefined(), errors.New("browser: " + complaint(why))} })
	o := <-settled
	return o.value, o.err
}
