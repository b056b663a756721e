// Command size builds the browser program as it is served and fails if it is larger than allowed, compressed.
//
//	go run ./.ci/size
//
// With -parts, or if it is too large, it also prints what the program is made of.
package main

import (
	"bytes"
	"compress/gzip"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"

	"github.com/andybalholm/brotli"

	"example.org/plumb/web"
)

// limit is the most that the browser program may weigh after brotli, in bytes: 1.6 MB.
const limit = 1_600_000

func main() {
	most := flag.Int("limit", limit, "most bytes after brotli")
	parts := flag.Bool("parts", false, "print what the program is made of even if it is small enough")
	count := flag.Int("top", 25, "how many packages to print")
	flag.Parse()
	if err := run(os.Stdout, *most, *parts, *count); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(out io.Writer, most int, parts bool, count int) error {
	dir, err := os.MkdirTemp("", "size")
	if err != nil {
		return fmt.Errorf("size: %w", err)
	}
	defer os.RemoveAll(dir)
	program := filepath.Join(dir, "program.wasm")
	goroot, err := goCommand("env", "GOROOT")
	if err != nil {
		return err
	}
	slim, err := web.Slim(strings.TrimSpace(string(goroot)), dir)
	if err != nil {
		return fmt.Errorf("size: %w", err)
	}
	flags := slices.Concat(web.ProgramFlags, slim)
	if err := build(program, flags...); err != nil {
		return err
	}
	text, err := os.ReadFile(program)
	if err != nil {
		return fmt.Errorf("size: %w", err)
	}
	zipped, squeezed, err := compress(text)
	if err != nil {
		return fmt.Errorf("size: %w", err)
	}
	fmt.Fprintf(out, "browser program: %d bytes, gzip %d, brotli %d; at most %d after brotli\n", len(text), zipped, squeezed, most)
	if squeezed > most {
		err = fmt.Errorf("size: the browser program is %d bytes too large after brotli", squeezed-most)
	}
	if err == nil && !parts {
		return nil
	}
	named := filepath.Join(dir, "named.wasm") // functions have no names in the program as it is served
	if fault := build(named, append(slices.Clone(flags), "-ldflags=")...); fault != nil {
		return fault
	}
	module, fault := os.ReadFile(named)
	if fault != nil {
		return fmt.Errorf("size: %w", fault)
	}
	packages, fault := goCommand(append(append([]string{"list"}, slim...), "-deps", "./wasm")...)
	if fault != nil {
		return fault
	}
	groups, fault := group(module, strings.Fields(string(packages)))
	if fault != nil {
		return fault
	}
	write(out, groups, count)
	return err
}

func build(to string, flags ...string) error {
	_, err := goCommand(append(append([]string{"build", "-o", to}, flags...), "./wasm")...)
	return err
}

// goCommand returns what the go command prints.
func goCommand(args ...string) ([]byte, error) {
	c := exec.Command("go", args...)
	c.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	var trouble bytes.Buffer
	c.Stderr = &trouble
	out, err := c.Output()
	if err != nil {
		return nil, fmt.Errorf("size: go %s: %w\n%s", strings.Join(args, " "), err, bytes.TrimSpace(trouble.Bytes()))
	}
	return out, nil
}

// compress returns how many bytes are left after gzip at level 9 and after brotli at quality 11 with a window of 2^24 bytes.
func compress(text []byte) (zipped, squeezed int, err error) {
	var g, b counter
	gw, err := gzip.NewWriterLevel(&g, gzip.BestCompression)
	if err != nil {
		return 0, 0, err
	}
	for _, w := range []io.WriteCloser{gw, brotli.NewWriterOptions(&b, brotli.WriterOptions{Quality: brotli.BestCompression, LGWin: 24})} {
		if _, err := w.Write(text); err != nil {
			return 0, 0, err
		}
		if err := w.Close(); err != nil {
			return 0, 0, err
		}
	}
	return int(g), int(b), nil
}

type counter int

func (c *counter) Write(p []byte) (int, error) {
	*c += counter(len(p))
	return len(p), nil
}
