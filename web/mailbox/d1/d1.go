//go:build js && wasm

// Package d1 is a mailbox store on an edge host: tables in D1, chunks of parcels in R2. The bytes of a chunk go from the request to R2 and from R2 to the answer
// without entering the program.
package d1

import (
	"crypto/rand"
	"fmt"
	"time"

	"github.com/syumai/workers/cloudflare"
	"github.com/syumai/workers/cloudflare/d1"

	tables "example.org/plumb/web/mailbox/sql"
)

// Settings say how a store is opened.
type Settings struct {
	Database string // the binding of the D1 database, whose migrations the host has run
	Bucket   string // the binding of the R2 bucket
	Now      func() time.Time
	Limit    int64 // bytes in all boxes together, counted as in mailbox.Box.Bytes
}

// Open returns the store behind two bindings. It asks nothing of them yet.
func Open(s Settings) (*tables.Store, error) {
	c, err := d1.OpenConnector(s.Database)
	if err != nil {
		return nil, fmt.Errorf("d1: no database is bound as %s", s.Database)
	}
	b := cloudflare.GetBinding(s.Bucket)
	if b.IsUndefined() {
		return nil, fmt.Errorf("d1: no bucket is bound as %s", s.Bucket)
	}
	return &tables.Store{
		DB:    db{c, cloudflare.GetBinding(s.Database)},
		Blobs: bucket{b}, Now: s.Now, Name: rand.Text, Limit: s.Limit,
	}, nil
}
