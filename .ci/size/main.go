// Command size builds the browser program and the one that looks at pictures as they are served and fails if one is larger than allowed, compressed.
//
//	go run ./.ci/size
//
// With -parts, or of one that is too large, it also prints what they are made of.
package main

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"example.org/plumb/web"
	"example.org/plumb/web/program"
)

// limit is the most that the browser program may weigh after brotli, in bytes: 2.1 MB; plainLimit is that of the part which a check loads: 1.5 MB; and lookerLimit that of
// the program that looks at pictures and at what a calibration left, which is fetched when the first of either is there.
const (
	limit       = 2_100_000
	plainLimit  = 1_500_000
	lookerLimit = 1_100_000
)

func main() {
	most := flag.Int("limit", limit, "most bytes of the browser program after brotli")
	plainMost := flag.Int("plain", plainLimit, "most bytes of the part that a check loads, after brotli")
	lookerMost := flag.Int("looker", lookerLimit, "most bytes of the program that looks at pictures after brotli")
	parts := flag.Bool("parts", false, "print what the programs are made of even if they are small enough")
	count := flag.Int("top", 25, "how many packages to print")
	flag.Parse()
	if err := run(os.Stdout, *most, *plainMost, *lookerMost, *parts, *count); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(out io.Writer, most, plainMost, lookerMost int, parts bool, count int) error {
	dir, err := os.MkdirTemp("", "size")
	if err != nil {
		return fmt.Errorf("size: %w", err)
	}
	defer os.RemoveAll(dir)
	goroot, err := goCommand("env", "GOROOT")
	if err != nil {
		return err
	}
	slim, err := web.Slim(".", strings.TrimSpace(string(goroot)), dir)
	if err != nil {
		return fmt.Errorf("size: %w", err)
	}
	other := filepath.Join(dir, "plain")
	if err := os.Mkdir(other, 0o755); err != nil {
		return fmt.Errorf("size: %w", err)
	}
	slimmer, err := web.SlimPlain(".", strings.TrimSpace(string(goroot)), other)
	if err != nil {
		return fmt.Errorf("size: %w", err)
	}
	programs := []struct {
		name, path string
		flags      []string
		most       int
	}{
		{"browser program", "./wasm", slim, most},
		{"plain program", "./wasm", slimmer, plainMost},
		{"looker program", "./wasm/looker", nil, lookerMost},
	}
	told, faults := make([]bytes.Buffer, len(programs)), make([]error, len(programs))
	var all sync.WaitGroup
	for i, p := range programs { // squeezing takes one processor half a minute
		all.Go(func() {
			faults[i] = weigh(&told[i], dir, p.name, p.path, p.flags, p.most, parts, count)
		})
	}
	all.Wait()
	for i := range told {
		if _, err := told[i].WriteTo(out); err != nil {
			return fmt.Errorf("size: %w", err)
		}
	}
	return errors.Join(faults...)
}

// weigh builds a program with the given flags beside the usual ones, and prints its size.
func weigh(out io.Writer, dir, name, path string, flags []string, most int, parts bool, count int) error {
	at := filepath.Join(dir, name+".wasm")
	if err := build(at, path, slices.Concat(web.ProgramFlags, flags)...); err != nil {
		return err
	}
	text, err := os.ReadFile(at)
	if err != nil {
		return fmt.Errorf("size: %w", err)
	}
	zipped, squeezed, err := compress(text)
	if err != nil {
		return fmt.Errorf("size: %w", err)
	}
	fmt.Fprintf(out, "%s: %d bytes, gzip %d, brotli %d; at most %d after brotli\n", name, len(text), zipped, squeezed, most)
	if squeezed > most {
		err = fmt.Errorf("size: the %s is %d bytes too large after brotli", name, squeezed-most)
	}
	if err == nil && !parts {
		return nil
	}
	named := filepath.Join(dir, name+", named.wasm") // functions have no names in the program as it is served
	if fault := build(named, path, slices.Concat(web.ProgramFlags, flags, []string{"-ldflags="})...); fault != nil {
		return fault
	}
	module, fault := os.ReadFile(named)
	if fault != nil {
		return fmt.Errorf("size: %w", fault)
	}
	packages, fault := goCommand(append(append([]string{"list"}, flags...), "-deps", path)...)
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

func build(to, path string, flags ...string) error {
	_, err := goCommand(append(append([]string{"build", "-o", to}, flags...), path)...)
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

// compress returns how many bytes are left after gzip and after brotli, squeezed as a release squeezes.
func compress(text []byte) (zipped, squeezed int, err error) {
	g, err := program.Squeeze("gzip", text, program.Best)
	if err != nil {
		return 0, 0, err
	}
	b, err := program.Squeeze("br", text, program.Best)
	return len(g), len(b), err
}
