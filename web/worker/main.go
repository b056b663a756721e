//go:build js && wasm

package main

import (
	"context"
	"fmt"
	"os"
	"strconv"
	"time"

	"github.com/syumai/workers"
	"github.com/syumai/workers/cloudflare"
	"github.com/syumai/workers/cloudflare/cron"

	"example.org/plumb/web"
	"example.org/plumb/web/mailbox/d1"
)

func main() {
	store, err := d1.Open(d1.Settings{Database: "DB", Bucket: "PARCELS", Now: time.Now, Limit: number("LIMIT")})
	if err != nil {
		panic(err)
	}
	rate := int(number("RATE"))
	workers.ServeNonBlock(bridge(web.Mailbox(store, web.Terms{Client: web.Rate{Burst: 30 * rate, Each: rate}, Fault: fault})))
	cron.ScheduleTaskNonBlock(func(ctx context.Context) error {
		// The library ends the program if this returns an error. What a sweep did not get done, the next one does.
		if _, err := store.Sweep(ctx, time.Now()); err != nil {
			fault(err)
		}
		return nil
	})
	workers.Ready()
	select {} // the library's own wait ends with the first request
}

// number reads a variable of the configuration.
func number(name string) int64 {
	n, err := strconv.ParseInt(cloudflare.Getenv(name), 10, 64)
	if err != nil {
		panic("worker: " + name + " is no number")
	}
	return n
}

// fault logs what went wrong. Errors of the store hold no values.
func fault(err error) { fmt.Fprintln(os.Stderr, "worker:", err) }
