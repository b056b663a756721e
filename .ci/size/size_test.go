package main

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// tiny is a module of one import, two functions and their names, written by hand after WebAssembly Core Specification 2.0, 5.5.
const tiny = "\x00asm\x01\x00\x00\x00" +
	"\x01\x04\x01\x60\x00\x00" + // one type: no parameters, no results
	"\x02\x07\x01\x01m\x01f\x00\x00" + // one import: the function f of m
	"\x03\x03\x02\x00\x00" + // two functions of that type
	"\x05\x03\x01\x00\x01" + // a memory
	"\x0a\x09\x02\x02\x00\x0b\x04\x00\x01\x01\x0b" + // bodies of 2 and 4 bytes
	"\x0b\x09\x01\x00\x41\x00\x0b\x03abc" + // three bytes of data
	"\x00\x22\x04name\x01\x1c\x03\x00\x01f\x01\x0ba.org_b_c.F\x02\x07x_2ey.G" // names of functions 0 to 2

func TestGroup(t *testing.T) {
	got, err := group([]byte(tiny), []string{"a.org/b/c", "x.y"})
	want := []part{{"[other sections]", 4 + 3 + 3}, {"[data: types, line tables, strings, tables]", 9}, {"x.y", 4}, {"a.org/b/c", 2}}
	if err != nil || !slices.Equal(got, want) {
		t.Errorf("%v, %v; want %v", got, err, want)
	}
}

// A module that ends too early is refused wherever it ends, and never panics.
func TestGroupCut(t *testing.T) {
	for n := range len(tiny) {
		if got, err := group([]byte(tiny[:n]), nil); err == nil {
			t.Errorf("cut after %d bytes: %v", n, got)
		}
	}
}

func FuzzGroup(f *testing.F) {
	f.Add([]byte(tiny))
	f.Fuzz(func(t *testing.T, b []byte) {
		if got, err := group(b, nil); err == nil && len(got) == 0 {
			t.Error("no part and no error")
		}
	})
}

func TestOwners(t *testing.T) {
	o := newOwners([]string{"runtime", "internal/runtime/maps", "github.com/a-h/templ", "github.com/a-h/templ/runtime", "gopkg.in/yaml.v3", "go.shape"})
	for function, want := range map[string]string{
		"main.main":                             "wasm",
		"runtime.mallocgc":                      "runtime",
		"internal_runtime_maps.__Map_.Get":      "internal/runtime/maps",
		"github.com_a_h_templ.NewComponent":     "github.com/a-h/templ",
		"github.com_a_h_templ_runtime.__B_.Put": "github.com/a-h/templ/runtime",
		"gopkg.in_yaml_2ev3.Load":               "gopkg.in/yaml.v3",
		"type_.eq.net_http.Cookie":              "[comparing of types]",
		"_rt0_wasm_js":                          "[other code]",
		"unknown.F":                             "[other code]",
	} {
		if got := o.of(function); got != want {
			t.Errorf("%s is of %s, want %s", function, got, want)
		}
	}
}

func TestCompress(t *testing.T) {
	plain := bytes.Repeat([]byte("orchard "), 1<<14)
	zipped, squeezed, err := compress(plain)
	if err != nil || zipped == 0 || squeezed == 0 || zipped > len(plain)/50 || squeezed > zipped {
		t.Errorf("%d bytes after gzip, %d after brotli, %v", zipped, squeezed, err)
	}
}

// A program over the limit is a fault that says by how much, and what it is made of; the same program under it is none.
func TestLimit(t *testing.T) {
	root := t.TempDir()
	for name, text := range map[string]string{
		"go.mod":                   "module example.org/small\n\ngo 1.26.0\n",
		"wasm/main.go":             "package main\n\nfunc main() { println(\"orchard\") }\n",
		"web/pages/small_templ.go": "package pages\n",
		"wasm/looker/main.go":      "package main\n\nfunc main() { println(\"apple\") }\n",
	} {
		at := filepath.Join(root, name)
		if err := os.MkdirAll(filepath.Dir(at), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(at, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	t.Chdir(root)
	var out strings.Builder
	for i, name := range []string{"browser program", "plain program", "looker program"} {
		most := [3]int{1_000_000, 1_000_000, 1_000_000}
		most[i] = 100_000
		out.Reset()
		err := run(&out, most[0], most[1], most[2], false, 5)
		if err == nil || !strings.Contains(err.Error(), name+" is ") || !strings.Contains(err.Error(), "bytes too large after brotli") || strings.Count(out.String(), "%  runtime\n") != 1 {
			t.Errorf("%s over the limit: %v\n%s", name, err, out.String())
		}
	}
	out.Reset()
	if err := run(&out, 1_000_000, 1_000_000, 1_000_000, false, 5); err != nil || strings.Count(out.String(), "\n") != 3 {
		t.Errorf("under the limit: %v\n%s", err, out.String())
	}
	if err := os.WriteFile("wasm/main.go", []byte("package main\n\nfunc main() { broken }\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := run(&out, 1_000_000, 1_000_000, 1_000_000, false, 5); err == nil || !strings.Contains(err.Error(), "undefined: broken") {
		t.Errorf("a program that does not build: %v", err)
	}
}
