// Command release builds Plumb's server for every system that it is released for, each as one file that needs nothing beside it: the browser programs are in it.
//
//	go run ./.ci/release
//
// Beside the programs it puts the files that deploy them, the licences of what they are made of, and SHA256SUMS. The same commit and the same release of Go give the same bytes,
// wherever and whenever it runs.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"time"

	"example.org/plumb/web/files"
	"example.org/plumb/web/program"
)

// targets are the systems that are released for.
const targets = "linux/amd64 linux/arm64 darwin/amd64 darwin/arm64 windows/amd64 windows/arm64"

const usage = `Builds the programs to release.

	go run ./.ci/release [flags]

Flags:
	-o folder          where to (default .build/release in the source); it has to
	                   be empty or not there yet
	-for "os/arch ..." for which systems (default
	                   ` + targets + `)
	-help              print this and end
`

func main() {
	set := flag.NewFlagSet("release", flag.ExitOnError)
	set.Usage = func() { fmt.Fprint(os.Stderr, usage) }
	to := set.String("o", "", "")
	systems := set.String("for", targets, "")
	set.Parse(os.Args[1:])
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	err := errors.New("release: flags only; -help tells all")
	if set.NArg() == 0 {
		err = run(ctx, *to, strings.Fields(*systems), program.Assets, os.Stdout)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// run builds into a folder, with the browser programs that assets builds from the source.
func run(ctx context.Context, to string, systems []string, assets func(ctx context.Context, root string) (map[string][]byte, error), out io.Writer) error {
	root, err := program.Here()
	if err != nil {
		return err
	}
	if to == "" {
		to = filepath.Join(root, ".build", "release")
	}
	list, err := parse(systems)
	if err != nil {
		return err
	}
	if err := files.Empty(to); err != nil {
		return err
	}
	if err := plain(root); err != nil {
		return err
	}
	began := time.Now()
	own, err := assets(ctx, root)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "The browser programs are built, %.0f s.\n", time.Since(began).Seconds())
	packed, err := program.Pack(own)
	if err != nil {
		return err
	}
	aside, err := os.MkdirTemp("", "plumb-release-")
	if err != nil {
		return fmt.Errorf("release: %w", err)
	}
	defer os.RemoveAll(aside)
	laid, err := overlay(root, aside, packed)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(to, 0o755); err != nil {
		return fmt.Errorf("release: %w", err)
	}
	fmt.Fprintf(out, "They are squeezed, %.0f s.\n", time.Since(began).Seconds())
	for _, s := range list {
		if err := build(ctx, root, filepath.Join(to, s.name()), s, laid); err != nil {
			return err
		}
		fmt.Fprintf(out, "%s is built, %.0f s.\n", s.name(), time.Since(began).Seconds())
	}
	if err := accompany(ctx, root, to, list[0]); err != nil {
		return err
	}
	text, err := sums(to)
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(to, "SHA256SUMS"), text, 0o644); err != nil {
		return fmt.Errorf("release: %w", err)
	}
	fmt.Fprintf(out, "%s holds, by SHA-256:\n%s", to, text)
	return nil
}
