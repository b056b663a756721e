package mailboxtest

import (
	"context"
	"io"
	"net/http"
	"sync"

	"example.org/plumb/web/mailbox/client"
)

// Dial carries requests to a server by net/http. Origin is such as http://127.0.0.1:8440.
func Dial(origin string, c *http.Client) client.Doer { return dial{origin, c} }

type dial struct {
	origin string
	client *http.Client
}

// Do sends a request as a page of the site would.
func (d dial) Do(ctx context.Context, r client.Request) (client.Answer, error) {
	q, err := http.NewRequestWithContext(ctx, r.Method, d.origin+r.Path, nil)
	if err != nil {
		return client.Answer{}, err
	}
	for name, value := range r.Header {
		q.Header.Set(name, value)
	}
	q.Header.Set("Sec-Fetch-Site", "same-origin")
	q.Header.Set("Origin", d.origin)
	var b *body
	if r.Body != nil {
		b = &body{Reader: r.Body, closed: make(chan struct{})}
		q.Body, q.ContentLength = b, r.Size
	}
	a, err := d.client.Do(q)
	if b != nil {
		<-b.closed // the transport may go on reading after an early answer
	}
	if err != nil {
		return client.Answer{}, err
	}
	return client.Answer{Status: a.StatusCode, Header: a.Header.Get, Body: a.Body}, nil
}

// body tells when the transport is through with it.
type body struct {
	io.Reader
	once   sync.Once
	closed chan struct{}
}

func (b *body) Close() error {
	b.once.Do(func() { close(b.closed) })
	return nil
}
