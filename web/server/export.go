package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"

	"example.org/plumb/web/files"
)

// export writes the site into the folder c.export as plain files.
func export(ctx context.Context, c config, out io.Writer, log *slog.Logger) error {
	// The folder is looked at before the build, so that a wrong one is known at once.
	if err := files.Empty(c.export); err != nil {
		return err
	}
	build, err := source()
	if err != nil {
		return err
	}
	own, err := build.gather(ctx, log)
	if err != nil {
		return err
	}
	answers, err := files.Site(own)
	if err != nil {
		return err
	}
	list, err := files.Plain(answers)
	if err != nil {
		return err
	}
	if err := files.Write(c.export, list); err != nil {
		return err
	}
	pages, size := 0, 0
	for _, a := range answers {
		if a.Page() {
			pages++
		}
	}
	for _, text := range list {
		size += len(text)
	}
	fmt.Fprintf(out, "%s holds the site: %d files, %d of them pages, %.2f MB.\n", c.export, len(list), pages, float64(size)/1e6)
	return nil
}
