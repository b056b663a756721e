package main

import (
	"context"
	"fmt"
	"io/fs"
	"log/slog"
	"net/http"
	"os"
	"path/filepath"
	"time"

	"example.org/plumb/web"
	"example.org/plumb/web/program"
)

// carried is what a released program carries, as program.Pack has written it; nil for one that builds the browser programs itself.
var carried fs.FS

// called is how the program is started, as people write it.
func called() string {
	if carried != nil {
		return "plumb"
	}
	return "go run ./web/server"
}

// A builder makes the assets of the site, and squeezes what is served.
type builder struct {
	root string          // the source; "" if nothing is to be built
	pack *program.Packed // what is carried; nil if it is to be built
}

// source returns a builder: of what the program carries, else of the source that it was started in.
func source() (b builder, err error) {
	if carried != nil {
		b.pack, err = program.Open(carried)
		return b, err
	}
	b.root, err = program.Here()
	return b, err
}

// gather returns all assets by name. From a source it builds the browser programs and adds them to the others.
func (b builder) gather(ctx context.Context, log *slog.Logger) (map[string][]byte, error) {
	if b.pack != nil {
		return b.pack.Assets(), nil
	}
	began := time.Now()
	log.Info("building the browser programs, about a minute the first time")
	own, err := program.Assets(ctx, b.root)
	if err != nil {
		return nil, err
	}
	log.Info("built the browser programs", "seconds", time.Since(began).Seconds(), "bytes", len(own[web.Program]), "plain", len(own[web.Plain]), "looker", len(own[web.Looker]))
	return own, nil
}

// assemble makes the site: it gathers the assets, squeezes and packs them.
func assemble(ctx context.Context, b builder, log *slog.Logger) (http.Handler, error) {
	own, err := b.gather(ctx, log)
	if err != nil {
		return nil, err
	}
	if b.pack != nil {
		return site(own, b.pack)
	}
	kept := filepath.Join(b.root, ".build")
	if err := os.MkdirAll(kept, 0o755); err != nil {
		return nil, fmt.Errorf("server: %w", err)
	}
	p := &press{dir: filepath.Join(kept, "squeezed")}
	h, err := site(own, p)
	if err != nil {
		return nil, err
	}
	return h, p.tidy()
}

func site(own map[string][]byte, c web.Compressor) (http.Handler, error) {
	assets, err := web.Pack(own, c)
	if err != nil {
		return nil, err
	}
	return web.New(assets, web.Version(), c)
}
