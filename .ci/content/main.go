// Command content measures ordinary picture content, which scores are a share of, from openly licensed photographs.
//
//	go run ./.ci/content FOLDER
//
// FOLDER is where packages of Debian 12 were unpacked, or / if they are installed. Without it, or if a picture is missing or not the one that was
// measured, the program says which packages of which versions hold them, and how to unpack those. It writes testdata/content/colours.csv and
// greys.csv, and patterns/report/content_data.go from the first, and prints figures about the content.
//
// Every picture counts the same, and every pixel of a picture. All are in sRGB, by their profile or for want of one; none is scaled or cropped. The
// decoder of JPEG is Go 1.26's: another may differ by a code here and there.
package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
)

// what is written, from the module's own folder.
const (
	colourFile = "testdata/content/colours.csv"
	greyFile   = "testdata/content/greys.csv"
	dataFile   = "patterns/report/content_data.go"
)

func main() {
	flag.Usage = func() { fmt.Fprintf(os.Stderr, "usage: go run ./.ci/content FOLDER\n\n%s", advice()) }
	flag.Parse()
	if flag.NArg() != 1 {
		flag.Usage()
		os.Exit(2)
	}
	if err := run(flag.Arg(0), "."); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(folder, module string) error {
	h, err := photographs(folder)
	if err != nil {
		return err
	}
	files, err := render(h)
	if err != nil {
		return err
	}
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(module, name), text, 0o644); err != nil {
			return fmt.Errorf("content: %w", err)
		}
	}
	figures(os.Stdout, h)
	return nil
}

// photographs returns the histogram of all pictures below a folder, each counting the same.
func photographs(folder string) (*histogram, error) {
	h := newHistogram()
	for _, p := range pictures {
		img, err := p.read(folder)
		if err != nil {
			return nil, err
		}
		if err := h.add(img, 1/float64(len(pictures))); err != nil {
			return nil, fmt.Errorf("content: %s: %w", p.path, err)
		}
	}
	return h, nil
}

// render returns the files that hold a histogram's content, by their names.
func render(h *histogram) (map[string][]byte, error) {
	colours := h.colours()
	data, err := source(colours)
	if err != nil {
		return nil, err
	}
	return map[string][]byte{colourFile: table(colours), greyFile: h.codes().table(), dataFile: data}, nil
}
