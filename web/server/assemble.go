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

// assemble makes the site: it builds the browser program and packs it with the other assets.
func assemble(ctx context.Context, root string, log io.Writer) (http.Handler, error) {
	kept := filepath.Join(root, ".build")
	if err := os.MkdirAll(kept, 0o755); err != nil {
		return nil, fmt.Errorf("server: %w", err)
	}
	began := time.Now()
	fmt.Fprintln(log, "Building the browser program (about half a minute the first time).")
	browser, err := program.Browser(ctx, root)
	if err != nil {
		return nil, err
	}
	script, err := program.Script(ctx, root)
	if err != nil {
		return nil, err
	}
	fmt.Fprintf(log, "Built in %.1f s: %.2f MB. Squeezing it.\n", time.Since(began).Seconds(), float64(len(browser))/1e6)
	files := web.Own()
	files[web.Program] = browser
	files[web.Runtime] = script
	p := &press{dir: filepath.Join(kept, "squeezed")}
	assets, err := web.Pack(files, p)
	if err != nil {
		return nil, err
	}
	site, err := web.New(assets, web.Version(), p)
	if err != nil {
		return nil, err
	}
	return site, p.tidy()
}
