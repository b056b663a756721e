package main

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"time"

	"example.org/plumb/web"
	"example.org/plumb/web/program"
)

// gather returns all assets by name: it builds the browser programs and adds them to the others.
func gather(ctx context.Context, root string, log io.Writer) (map[string][]byte, error) {
	began := time.Now()
	fmt.Fprintln(log, "Building the browser programs (about a minute the first time).")
	own, err := program.Assets(ctx, root)
	if err != nil {
		return nil, err
	}
	fmt.Fprintf(log, "Built in %.1f s: %.2f MB, and %.2f for checks alone.\n", time.Since(began).Seconds(), float64(len(own[web.Program]))/1e6, float64(len(own[web.Plain]))/1e6)
	return own, nil
}

// assemble makes the site: it gathers the assets and packs them.
func assemble(ctx context.Context, root string, log io.Writer) (http.Handler, error) {
	kept := filepath.Join(root, ".build")
	if err := os.MkdirAll(kept, 0o755); err != nil {
		return nil, fmt.Errorf("server: %w", err)
	}
	own, err := gather(ctx, root, log)
	if err != nil {
		return nil, err
	}
	fmt.Fprintln(log, "Squeezing it.")
	p := &press{dir: filepath.Join(kept, "squeezed")}
	assets, err := web.Pack(own, p)
	if err != nil {
		return nil, err
	}
	site, err := web.New(assets, web.Version(), p)
	if err != nil {
		return nil, err
	}
	return site, p.tidy()
}
