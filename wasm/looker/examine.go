//go:build js

package main

import (
	"errors"
	"runtime"
	"slices"
	"syscall/js"

	"example.org/plumb/wasm/study"
	"example.org/plumb/web/picture"
)

// read is what the header says, or why the picture is not taken.
func read(f *file) (picture.About, *study.Refusal, error) {
	about, err := picture.Read(f, f.size)
	if refused, ok := errors.AsType[*picture.Refused](err); ok {
		return about, &study.Refusal{Why: refused.Why, Do: refused.Do}, nil
	}
	return about, nil, err
}

// Why a picture is not taken whose header is good.
var (
	undecoded = &study.Refusal{Why: "This browser cannot decode the picture: the file is damaged.", Do: "Open it in a program for pictures, look whether all of it is there, and save it anew."}
	unknown   = &study.Refusal{Why: "This browser does not decode this kind of picture.", Do: "Save it as JPEG or PNG, or use a current browser."}
	otherSize = &study.Refusal{Why: "The file says another size than the picture has.", Do: "Open it in a program for pictures and save it anew."}
	tooLarge  = &study.Refusal{Why: "As PNG, which browsers show, this picture is larger than can be sent.", Do: "Save it as JPEG of high quality, or smaller, and take that file."}
)

// decode lets the browser decode a picture, of which the header is known, and returns its size as seen.
func (j *job) decode(blob js.Value, about picture.About) (width, height int, refused *study.Refusal) {
	var bitmap js.Value
	var err error
	j.times.time("decode", func() { bitmap, err = await(hand.Call("open", blob)) })
	if err != nil {
		if about.Kind == picture.AVIF || about.Kind == picture.WebP {
			return 0, 0, unknown
		}
		return 0, 0, undecoded
	}
	width, height = bitmap.Get("width").Int(), bitmap.Get("height").Int()
	// A browser may read the orientation of a kind of file, or not; both sizes are the picture's.
	if width*height != about.Width*about.Height || width != about.Width && width != about.Height {
		return 0, 0, otherSize
	}
	return width, height, nil
}

// examine finds out whether a picture can be sent and shown, and what it is. A file that browsers do not show is made into one.
func (j *job) examine() (found study.Found, err error) {
	f := open(j.picture)
	about, refused, err := read(f)
	if err != nil || refused != nil {
		return study.Found{Refused: refused}, err
	}
	a := study.About{
		Kind: string(about.Kind), From: string(about.Kind), Size: f.size, Bits: about.Bits, Wide: about.Wide, Profile: about.Profile != nil, Notes: about.Notes,
	}
	if note := about.Misnamed(j.task.Name); note != "" {
		a.Notes = append(slices.Clone(a.Notes), note)
	}
	j.times.time("digest", func() { a.Source, err = f.digest() })
	if err != nil {
		return study.Found{}, err
	}
	j.far(0.1)
	blob := j.picture
	seen := about
	if about.Kind == picture.TIFF {
		var png []byte
		j.times.time("convert", func() {
			png, err = picture.Convert(f, f.size, about, func(share float64) { j.far(0.1 + 0.6*share) })
		})
		if refused, ok := errors.AsType[*picture.Refused](err); ok {
			return study.Found{Refused: &study.Refusal{Why: refused.Why, Do: refused.Do}}, nil
		}
		if err != nil {
			return study.Found{}, err
		}
		if len(png) > picture.MaxFile {
			return study.Found{Refused: tooLarge}, nil
		}
		blob = hand.Call("file", address(png), len(png), string(picture.PNG))
		runtime.KeepAlive(png)
		seen.Width, seen.Height = about.Seen()
		a.Kind, a.Size = string(picture.PNG), int64(len(png))
		found.File = &study.File{Kind: a.Kind, Size: a.Size}
		j.made = blob
	}
	// The browser decodes in a thread of its own; meanwhile the data are walked through, for it shows what is left of damaged ones without a word.
	sound := make(chan error, 1)
	go func() {
		notes, err := about.Walk(f, f.size, func(share float64) { j.far(0.1 + 0.7*share) })
		a.Notes = append(slices.Clip(a.Notes), notes...)
		sound <- err
	}()
	width, height, refused := j.decode(blob, seen)
	err = <-sound
	if r, ok := errors.AsType[*picture.Refused](err); ok && refused == nil {
		refused, err = &study.Refusal{Why: r.Why, Do: r.Do}, nil
	}
	if err != nil && refused == nil {
		return study.Found{}, err
	}
	if refused != nil {
		j.made = js.Undefined()
		return study.Found{Refused: refused}, nil
	}
	hand.Call("close")
	j.far(0.9)
	a.Width, a.Height, a.Digest = width, height, a.Source
	if found.File != nil {
		if a.Digest, err = open(blob).digest(); err != nil {
			return study.Found{}, err
		}
	}
	found.About = a
	return found, nil
}
