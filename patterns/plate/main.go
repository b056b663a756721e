// Command plate writes patterns as PNG files of any size, every pixel as the page /pattern shows it.
package main

import (
	"errors"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"example.org/plumb/patterns"
	"example.org/plumb/patterns/plates"
)

const usage = `Plate writes patterns as PNG files, 8 bits a channel, every pixel as it is painted.

  go run ./patterns/plate -size 3840x2160 -o plate.png match plain=180
  go run ./patterns/plate -size 1920x1080 -o folder all

The first argument is the name of a pattern, or all. What follows sets its levels, as in a link: the part behind the question mark of a link to a pattern
may stand in place of all of it. Levels that are left out have their usual values. With all, or where -o is a folder, files are named after the pattern and
the size. A file that is there is not written over.

A file holds codes and says nothing of colour: show it without scaling and, where the codes are to reach the screen as they are, without colour management.

Flags:
`

func main() {
	if err := run(os.Args[1:], os.Stdout, os.Stderr); err != nil {
		if err != flag.ErrHelp {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
}

// run is main with its surroundings as arguments.
func run(args []string, out, errs io.Writer) error {
	flags := flag.NewFlagSet("plate", flag.ContinueOnError)
	flags.SetOutput(io.Discard) // an error is printed once, by main
	size := flags.String("size", "", fmt.Sprintf("width x height in pixels, as in 3840x2160; each side %d to %d", plates.Least, plates.Most))
	to := flags.String("o", "", "the file to write, a folder that is there, or - for the standard output")
	if err := flags.Parse(args); err == flag.ErrHelp {
		fmt.Fprint(errs, usage)
		flags.SetOutput(errs)
		flags.PrintDefaults()
		fmt.Fprint(errs, "\nPatterns and their levels:\n")
		for _, n := range plates.Names() {
			s, _ := plates.Usual(n)
			fmt.Fprintf(errs, "  %s: %s\n", n, s.Plate().Title)
			for i, l := range s.Levels() {
				fmt.Fprintf(errs, "    %s=%s (%s)\n", l.Name, s.Text(i), l.Takes())
			}
		}
		return err
	} else if err != nil {
		return fmt.Errorf("plate: %w; see -help", err)
	}
	if flags.NArg() == 0 {
		return fmt.Errorf("plate: name a pattern, or all: %s", strings.Join(plates.Names(), ", "))
	}
	for _, a := range flags.Args() {
		if strings.HasPrefix(a, "-") {
			return fmt.Errorf("plate: flags come before the name; %s stands behind it", a)
		}
	}
	at, err := sizeOf(*size)
	if err != nil {
		return err
	}
	list, err := states(flags.Args())
	if err != nil {
		return err
	}
	info, err := os.Stat(*to)
	folder := err == nil && info.IsDir()
	switch {
	case *to == "":
		return errors.New("plate: say with -o where to write")
	case len(list) > 1 && !folder:
		return fmt.Errorf("plate: all patterns go into a folder that is there, and %s is none", *to)
	case *to == "-":
		return encode(out, list[0], at)
	}
	for _, s := range list {
		name := *to
		if folder {
			name = filepath.Join(*to, fmt.Sprintf("%s-%dx%d.png", s.Plate().Name, at.X, at.Y))
		}
		if err := write(name, s, at); err != nil {
			return err
		}
		fmt.Fprintf(out, "%s: %s\n", name, s.Query())
	}
	return nil
}

// sizeOf reads a size.
func sizeOf(text string) (image.Point, error) {
	if text == "" {
		return image.Point{}, errors.New("plate: say with -size how many pixels the screen has, as in -size 3840x2160")
	}
	w, h, ok := strings.Cut(text, "x")
	width, err := strconv.Atoi(w)
	height, err2 := strconv.Atoi(h)
	if !ok || err != nil || err2 != nil {
		return image.Point{}, fmt.Errorf("plate: %q is no size; write width and height in pixels, as in 3840x2160", text)
	}
	if err := plates.Fits(width, height); err != nil {
		return image.Point{}, fmt.Errorf("plate: %w", err)
	}
	return image.Pt(width, height), nil
}

// states are what the arguments name.
func states(args []string) ([]plates.State, error) {
	name, levels := args[0], args[1:]
	if name == "all" {
		if len(levels) > 0 {
			return nil, fmt.Errorf("plate: all patterns are written with their usual levels; %q sets one", levels[0])
		}
		var list []plates.State
		for _, n := range plates.Names() {
			s, _ := plates.Usual(n)
			list = append(list, s)
		}
		return list, nil
	}
	if strings.Contains(name, "=") {
		if len(levels) > 0 {
			return nil, fmt.Errorf("plate: a link's part says everything; %q comes behind it", levels[0])
		}
		s, err := plates.Parse(name)
		if err != nil {
			return nil, fmt.Errorf("plate: %w", err)
		}
		return []plates.State{s}, nil
	}
	s, err := plates.Find(name)
	given := map[string]bool{}
	for _, a := range levels {
		if err != nil {
			break
		}
		level, value, ok := strings.Cut(a, "=")
		switch {
		case !ok:
			return nil, fmt.Errorf("plate: %q sets no level; write it as level=value", a)
		case given[level]:
			return nil, fmt.Errorf("plate: %s is given twice", level)
		}
		given[level] = true
		s, err = s.Set(level, value)
	}
	if err != nil {
		return nil, fmt.Errorf("plate: %w", err)
	}
	return []plates.State{s}, nil
}

// write makes a file, and takes it away again if it cannot be whole.
func write(name string, p patterns.Pattern, size image.Point) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, os.ErrExist) {
		return fmt.Errorf("plate: %s is there already; remove it or write elsewhere", name)
	}
	if err != nil {
		return fmt.Errorf("plate: %w", err)
	}
	err = errors.Join(encode(f, p, size), f.Close())
	if err != nil {
		os.Remove(name)
	}
	return err
}

// encode writes a pattern of that size as PNG, holding one row of it.
func encode(w io.Writer, p patterns.Pattern, size image.Point) error {
	e := png.Encoder{CompressionLevel: png.BestSpeed}
	if err := e.Encode(w, newPicture(p, size)); err != nil {
		return fmt.Errorf("plate: %w", err)
	}
	return nil
}

// A picture is a pattern as an image that holds the row last asked for: rows are to be asked for in turn.
type picture struct {
	patterns.Pattern
	row   *image.RGBA // its bounds are those of the whole; its stride is 0, so that every row lies where the first does
	y     int         // of the row that is there
	pixel pixel
}

func newPicture(p patterns.Pattern, size image.Point) *picture {
	return &picture{Pattern: p, row: &image.RGBA{Pix: make([]uint8, 4*size.X), Rect: image.Rectangle{Max: size}}, y: -1}
}

func (p *picture) ColorModel() color.Model { return color.RGBAModel }
func (p *picture) Bounds() image.Rectangle { return p.row.Rect }
func (p *picture) Opaque() bool            { return true } // every pattern is

// At is a pixel, valid until the next call.
func (p *picture) At(x, y int) color.Color {
	if y != p.y {
		p.Paint(p.row, image.Rect(0, y, p.row.Rect.Max.X, y+1))
		p.y = y
	}
	copy(p.pixel[:], p.row.Pix[4*x:])
	return &p.pixel
}

// A pixel is a colour without an allocation for each.
type pixel [4]uint8

func (p *pixel) RGBA() (r, g, b, a uint32) {
	return 0x101 * uint32(p[0]), 0x101 * uint32(p[1]), 0x101 * uint32(p[2]), 0x101 * uint32(p[3])
}
