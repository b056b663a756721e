// Command build writes all that an edge host needs into a folder: the worker and its configuration, and the pages, which are written here once and for all.
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

	"example.org/plumb/web"
	"example.org/plumb/web/files"
	"example.org/plumb/web/program"
)

const usage = `Writes the site for an edge host, Cloudflare Workers, into a folder.

	go run ./web/worker/build [flags]

Flags:
	-o folder        where to (default .build/worker in the source). What an
	                 earlier run wrote there is removed.
	-name name       the worker's name (default plumb)
	-database id     the id of the D1 database, as wrangler d1 create prints it;
	                 not needed to run the site on this computer
	-bucket name     the R2 bucket for parcels (default plumb-parcels)
	-limit bytes     the most bytes in all boxes together (default 5000000000)
	-rate N          requests a second of each client that are served for long
	                 (default 40)
	-help            print this and end
`

// settings are what a build depends on beside the source.
type settings struct {
	folder   string // empty for the usual one
	name     string
	database string
	bucket   string
	limit    int64
	rate     int
}

func main() {
	s, err := configure(os.Args[1:])
	switch {
	case errors.Is(err, flag.ErrHelp):
		fmt.Print(usage)
		return
	case err != nil:
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, s, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func configure(args []string) (settings, error) {
	var s settings
	set := flag.NewFlagSet("build", flag.ContinueOnError)
	set.SetOutput(io.Discard)
	set.StringVar(&s.folder, "o", "", "")
	set.StringVar(&s.name, "name", "plumb", "")
	set.StringVar(&s.database, "database", "", "")
	set.StringVar(&s.bucket, "bucket", "plumb-parcels", "")
	set.Int64Var(&s.limit, "limit", 5_000_000_000, "")
	set.IntVar(&s.rate, "rate", 40, "")
	if err := set.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return settings{}, err
		}
		return settings{}, fmt.Errorf("build: %w", err)
	}
	switch {
	case set.NArg() > 0:
		return settings{}, fmt.Errorf("build: %q is not understood; flags only", set.Arg(0))
	case s.name == "", s.bucket == "":
		return settings{}, errors.New("build: -name and -bucket take a name")
	case s.limit < 1, s.limit >= 1<<53: // what the database takes without rounding
		return settings{}, errors.New("build: -limit takes a number of bytes from 1 up to 2^53")
	case s.rate < 1:
		return settings{}, errors.New("build: -rate takes a number above 0")
	}
	return s, nil
}

// run builds and writes.
func run(ctx context.Context, s settings, out io.Writer) error {
	root, err := program.Here()
	if err != nil {
		return err
	}
	if s.folder == "" {
		s.folder = filepath.Join(root, ".build", "worker")
	}
	own, err := program.Assets(ctx, root)
	if err != nil {
		return err
	}
	worker, err := program.Worker(ctx, root)
	if err != nil {
		return err
	}
	pages, err := site(own)
	if err != nil {
		return err
	}
	all, err := entry(root, s)
	if err != nil {
		return err
	}
	all["worker.wasm"], all[web.Runtime] = worker, own[web.Runtime]
	for name, text := range pages {
		all[filepath.Join(folder, name)] = text
	}
	if err := write(s.folder, all); err != nil {
		return err
	}
	fmt.Fprintf(out, "%s holds %d files; the program of the worker has %.2f MB.\n", s.folder, len(all), float64(len(worker))/1e6)
	return nil
}

// marks are files by which a folder is known to be of an earlier run.
var marks = []string{config, "worker.wasm", filepath.Join(folder, headers)}

// write puts files into a folder in place of what an earlier run wrote there.
func write(to string, list map[string][]byte) error {
	entries, err := os.ReadDir(to)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("build: %w", err)
	}
	if len(entries) > 0 {
		for _, name := range marks {
			if _, err := os.Stat(filepath.Join(to, name)); err != nil {
				return fmt.Errorf("build: %s holds something else; name an empty folder", to)
			}
		}
		if err := os.RemoveAll(to); err != nil {
			return fmt.Errorf("build: %w", err)
		}
	}
	return files.Write(to, list)
}
