package main

import (
	"cmp"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
)

// A part is how many bytes of a program are of one package.
type part struct {
	name string
	size int
}

// Sections of a WebAssembly module; WebAssembly Core Specification 2.0, 5.5.
const (
	customSection = 0
	importSection = 2
	codeSection   = 10
	dataSection   = 11
)

// group sums the functions of a WebAssembly module that holds their names up by package, largest first. Data cannot be told apart: it is one part.
func group(module []byte, packages []string) ([]part, error) {
	if !strings.HasPrefix(string(module), "\x00asm\x01\x00\x00\x00") {
		return nil, errors.New("size: this is no WebAssembly module of version 1")
	}
	at := map[string]int{}
	var bodies []int // sizes
	var names map[int]string
	imported := 0
	for r := (reader{b: module[8:]}); len(r.b) > 0; {
		kind := r.byte()
		body := reader{b: r.take(r.number())}
		switch size := len(body.b); kind {
		case codeSection:
			for range body.number() {
				n := body.number()
				body.take(n)
				if bodies = append(bodies, n); body.bad {
					break
				}
			}
		case dataSection:
			at["[data: types, line tables, strings, tables]"] += size
		case importSection:
			imported = body.imports()
		case customSection:
			if string(body.take(body.number())) == "name" {
				names = body.names()
				continue // left out of the program as it is served
			}
			at["[other sections]"] += size
		default:
			at["[other sections]"] += size
		}
		if r.bad || body.bad {
			return nil, errors.New("size: the WebAssembly module ends too early")
		}
	}
	if len(bodies) == 0 || len(names) == 0 {
		return nil, errors.New("size: the WebAssembly module has no functions, or no names for them")
	}
	of := newOwners(packages).of
	for i, n := range bodies {
		at[of(names[imported+i])] += n
	}
	var parts []part
	for _, name := range slices.SortedFunc(maps.Keys(at), func(a, b string) int { return cmp.Or(cmp.Compare(at[b], at[a]), cmp.Compare(a, b)) }) {
		parts = append(parts, part{name, at[name]})
	}
	return parts, nil
}

// An owners tells the package of a function, by the linker's spelling of the package.
type owners map[string]string

// newOwners makes one for packages of the given paths.
func newOwners(paths []string) owners {
	o := owners{"main": "wasm"}
	for _, p := range paths {
		o[spell(p)] = p
	}
	return o
}

// spell spells a path as the linker does in a WebAssembly module: dots after the last slash as 2e, then _ for all but letters, digits and dots.
func spell(path string) string {
	slash := strings.LastIndex(path, "/") + 1
	path = path[:slash] + strings.ReplaceAll(path[slash:], ".", "%2e")
	return strings.Map(func(r rune) rune {
		if r == '.' || r >= '0' && r <= '9' || r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z' {
			return r
		}
		return '_'
	}, path)
}

// of returns the package of a function, or a word in brackets if it is of none.
func (o owners) of(function string) string {
	if strings.HasPrefix(function, "type_.") {
		return "[comparing of types]"
	}
	for end, r := range function { // no spelling of a package followed by a dot begins another
		if r == '.' {
			if p, ok := o[function[:end]]; ok {
				return p
			}
		}
	}
	return "[other code]"
}

// write prints the largest parts.
func write(out io.Writer, parts []part, count int) {
	total := 0
	for _, p := range parts {
		total += p.size
	}
	fmt.Fprintf(out, "%9d  bytes in all, before compression\n", total)
	for _, p := range parts[:min(count, len(parts))] {
		fmt.Fprintf(out, "%9d  %4.1f %%  %s\n", p.size, 100*float64(p.size)/float64(total), p.name)
	}
}

// A reader reads a WebAssembly module. After the end it yields zeros and is bad.
type reader struct {
	b   []byte
	bad bool
}

func (r *reader) take(n int) []byte {
	if n < 0 || n > len(r.b) {
		n, r.bad = len(r.b), true
	}
	head := r.b[:n]
	r.b = r.b[n:]
	return head
}

func (r *reader) byte() byte {
	if b := r.take(1); len(b) == 1 {
		return b[0]
	}
	return 0
}

// number reads an unsigned LEB128 number.
func (r *reader) number() int {
	v, n := binary.Uvarint(r.b)
	if n <= 0 || v > 1<<32 {
		r.b, r.bad = nil, true
		return 0
	}
	r.b = r.b[n:]
	return int(v)
}

// imports counts the imported functions, which come before a module's own in the numbering.
func (r *reader) imports() (functions int) {
	for range r.number() {
		r.take(r.number())
		r.take(r.number())
		switch r.byte() {
		case 0: // function
			functions++
			r.number()
		case 1: // table
			r.byte()
			r.limits()
		case 2: // memory
			r.limits()
		case 3: // global
			r.take(2)
		default:
			r.bad = true
		}
		if r.bad {
			return 0
		}
	}
	return functions
}

func (r *reader) limits() {
	both := r.byte()&1 != 0
	r.number()
	if both {
		r.number()
	}
}

// names reads the names of functions from the section "name".
func (r *reader) names() map[int]string {
	names := map[int]string{}
	for len(r.b) > 0 {
		kind := r.byte()
		sub := reader{b: r.take(r.number())}
		if kind != 1 {
			continue
		}
		for range sub.number() {
			i := sub.number()
			names[i] = string(sub.take(sub.number()))
			if sub.bad {
				return nil
			}
		}
	}
	return names
}
