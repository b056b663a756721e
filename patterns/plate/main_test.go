package main

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"image"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/plumb/patterns"
	"example.org/plumb/patterns/plates"
)

// same compares a PNG with what is painted, byte for byte.
func same(t *testing.T, file []byte, s plates.State, size image.Point) {
	t.Helper()
	m, err := png.Decode(bytes.NewReader(file))
	if err != nil {
		t.Fatalf("%s: %v", s.Query(), err)
	}
	got, ok := m.(*image.RGBA)
	if !ok {
		t.Fatalf("%s: the file is a %T, not of 8 bits in three channels", s.Query(), m)
	}
	want := patterns.Render(s, size.X, size.Y)
	if got.Rect != want.Rect || !bytes.Equal(got.Pix, want.Pix) {
		t.Errorf("%s at %v is not as it is painted", s.Query(), size)
	}
}

// Files are pattern for pattern, level for level and pixel for pixel what the painters paint.
func TestFilesAreAsPainted(t *testing.T) {
	n := 0
	for _, name := range plates.Names() {
		s, _ := plates.Usual(name)
		states := []plates.State{s}
		for i := range s.Levels() {
			states = append(states, s.Step(i, true), s.Step(i, false))
		}
		for k, s := range states {
			size := []image.Point{{X: 160, Y: 160}, {X: 161, Y: 203}, {X: 640, Y: 360}}[k%3]
			var out bytes.Buffer
			if err := run([]string{"-size", fmt.Sprintf("%dx%d", size.X, size.Y), "-o", "-", s.Query()}, &out, io.Discard); err != nil {
				t.Fatal(err)
			}
			same(t, out.Bytes(), s, size)
			n++
		}
	}
	if n < 100 {
		t.Errorf("only %d states", n)
	}
}

func TestFolder(t *testing.T) {
	dir := t.TempDir()
	var out bytes.Buffer
	if err := run([]string{"-size", "322x181", "-o", dir, "all"}, &out, io.Discard); err != nil {
		t.Fatal(err)
	}
	for _, name := range plates.Names() {
		s, _ := plates.Usual(name)
		b, err := os.ReadFile(filepath.Join(dir, name+"-322x181.png"))
		if err != nil {
			t.Fatal(err)
		}
		same(t, b, s, image.Pt(322, 181))
		if !strings.Contains(out.String(), name+"-322x181.png: "+s.Query()+"\n") {
			t.Errorf("%s is not said to be written", name)
		}
	}
	if files, _ := os.ReadDir(dir); len(files) != len(plates.Names()) {
		t.Errorf("%d files", len(files))
	}
	at := filepath.Join(dir, "mine.png")
	if err := run([]string{"-size", "200x180", "-o", at, "match", "plain=180", "lines=columns"}, &out, io.Discard); err != nil {
		t.Fatal(err)
	}
	s, err := plates.Parse("pattern=match&plain=180&lines=columns")
	if err != nil {
		t.Fatal(err)
	}
	b, _ := os.ReadFile(at)
	same(t, b, s, image.Pt(200, 180))
	// What is there is not written over.
	err = run([]string{"-size", "200x180", "-o", at, "black"}, &out, io.Discard)
	if again, _ := os.ReadFile(at); err == nil || !strings.Contains(err.Error(), "is there already") || !bytes.Equal(again, b) {
		t.Errorf("a file was written over: %v", err)
	}
}

func TestRefuses(t *testing.T) {
	dir := t.TempDir()
	for name, c := range map[string]struct {
		args []string
		want string
	}{
		"nothing":            {nil, "plate: name a pattern, or all: black, white,"},
		"no size":            {[]string{"-o", "-", "black"}, "plate: say with -size how many pixels the screen has, as in -size 3840x2160"},
		"no place":           {[]string{"-size", "640x480", "black"}, "plate: say with -o where to write"},
		"one side":           {[]string{"-size", "640", "-o", "-", "black"}, `plate: "640" is no size; write width and height in pixels, as in 3840x2160`},
		"words":              {[]string{"-size", "wide", "-o", "-", "black"}, `plate: "wide" is no size`},
		"three sides":        {[]string{"-size", "640x480x3", "-o", "-", "black"}, `plate: "640x480x3" is no size`},
		"parts of a pixel":   {[]string{"-size", "640.5x480", "-o", "-", "black"}, `plate: "640.5x480" is no size`},
		"none":               {[]string{"-size", "0x0", "-o", "-", "black"}, "plate: plates: 0 x 0 pixels leave no room; each side needs 160 at least"},
		"below none":         {[]string{"-size", "-640x480", "-o", "-", "black"}, "plate: plates: -640 x 480 pixels leave no room"},
		"small":              {[]string{"-size", "640x159", "-o", "-", "black"}, "plate: plates: 640 x 159 pixels leave no room"},
		"huge":               {[]string{"-size", "16385x480", "-o", "-", "black"}, "plate: plates: 16385 x 480 pixels are more than any screen has; each side may have 16384 at most"},
		"beyond numbers":     {[]string{"-size", "99999999999999999999x480", "-o", "-", "black"}, "is no size"},
		"an unknown flag":    {[]string{"-sise", "640x480"}, "plate: flag provided but not defined: -sise; see -help"},
		"a flag behind":      {[]string{"-size", "640x480", "black", "-o", "x"}, "plate: flags come before the name; -o stands behind it"},
		"no such pattern":    {[]string{"-size", "640x480", "-o", "-", "snow"}, `plate: plates: there is no pattern "snow"; there are black, white,`},
		"no such level":      {[]string{"-size", "640x480", "-o", "-", "black", "gamma=2"}, `plate: plates: black has no level "gamma"; it has patch, cell, ground`},
		"out of range":       {[]string{"-size", "640x480", "-o", "-", "black", "patch=65"}, `plate: plates: patch of black cannot be "65"; it takes 0 to 64`},
		"no value":           {[]string{"-size", "640x480", "-o", "-", "black", "patch"}, `plate: "patch" sets no level; write it as level=value`},
		"twice":              {[]string{"-size", "640x480", "-o", "-", "black", "patch=3", "patch=4"}, "plate: patch is given twice"},
		"all with a level":   {[]string{"-size", "640x480", "-o", dir, "all", "patch=3"}, `plate: all patterns are written with their usual levels; "patch=3" sets one`},
		"all into a file":    {[]string{"-size", "640x480", "-o", filepath.Join(dir, "one.png"), "all"}, "plate: all patterns go into a folder that is there, and "},
		"all to the output":  {[]string{"-size", "640x480", "-o", "-", "all"}, "plate: all patterns go into a folder that is there, and - is none"},
		"a link and a level": {[]string{"-size", "640x480", "-o", "-", "pattern=black", "patch=3"}, `plate: a link's part says everything; "patch=3" comes behind it`},
		"a wrong link":       {[]string{"-size", "640x480", "-o", "-", "?pattern=black&patch=x"}, `plate: plates: patch of black cannot be "x"`},
		"no such folder":     {[]string{"-size", "640x480", "-o", filepath.Join(dir, "none", "x.png"), "black"}, "plate: open "},
	} {
		var out bytes.Buffer
		if err := run(c.args, &out, io.Discard); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v\nwant %s", name, err, c.want)
		}
		if out.Len() > 0 {
			t.Errorf("%s: refused, and yet %d bytes were written", name, out.Len())
		}
	}
	if files, _ := os.ReadDir(dir); len(files) > 0 {
		t.Errorf("what was refused left %v", files)
	}
}

func TestHelp(t *testing.T) {
	var out, errs bytes.Buffer
	if err := run([]string{"-help"}, &out, &errs); err != flag.ErrHelp || out.Len() > 0 {
		t.Fatal(err, out.String())
	}
	for _, want := range append(plates.Names(), "-size", "-o string", "plain=188 (0 to 255)", "lit=1of2 (1of4, 1of3, 1of2, 2of3, 3of4)") {
		if !strings.Contains(errs.String(), want) {
			t.Errorf("the help does not say %s", want)
		}
	}
}

// full is a disk with room for so many bytes.
type full int

func (f *full) Write(b []byte) (int, error) {
	if *f -= full(len(b)); *f < 0 {
		return 0, errors.New("no room")
	}
	return len(b), nil
}

func TestNoRoom(t *testing.T) {
	s, _ := plates.Usual("match")
	room := full(500)
	if err := encode(&room, s, image.Pt(640, 480)); err == nil || err.Error() != "plate: no room" {
		t.Errorf("a file that is cut off passes: %v", err)
	}
}

// A picture of any size is one row in memory.
func TestOneRow(t *testing.T) {
	s, _ := plates.Usual("ramps")
	p := newPicture(s, image.Pt(plates.Most, plates.Most))
	if len(p.row.Pix) != 4*plates.Most {
		t.Errorf("%d bytes for a row of %d pixels", len(p.row.Pix), plates.Most)
	}
}
