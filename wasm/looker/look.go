//go:build js

package main

import (
	"errors"
	"image"
	"runtime"

	"example.org/plumb/patterns/screen"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/picture"
)

// A band is some rows of a picture: at most bandRows, and about bandPixels.
const (
	bandRows   = 256
	bandPixels = 1 << 21
)

// bands reads the picture that is open, band by band. With wide it is read in Display P3 too; where the browser cannot, p3 is nil. The bytes are used again.
func (j *job) bands(width, height int, wide bool, each func(y, rows int, rgb, p3 []byte) error) error {
	most := min(max(bandPixels/width, 1), bandRows, height)
	rgb := make([]byte, 4*width*most)
	var p3 []byte
	if wide {
		p3 = make([]byte, len(rgb))
	}
	for y := 0; y < height; y += most {
		rows := min(most, height-y)
		ok := true
		j.times.time("read", func() {
			ok = hand.Call("band", y, rows, "srgb", address(rgb)).Bool()
			if p3 != nil && !hand.Call("band", y, rows, "display-p3", address(p3)).Bool() {
				p3 = nil
			}
		})
		if !ok {
			return errors.New("looker: this browser gives no canvas to read a picture from")
		}
		part := p3
		if p3 != nil {
			part = p3[:4*width*rows]
		}
		if err := each(y, rows, rgb[:4*width*rows], part); err != nil {
			return err
		}
	}
	runtime.KeepAlive(rgb)
	runtime.KeepAlive(p3)
	return nil
}

// open reads the picture's header and has the browser decode it.
func (j *job) open() (about picture.About, width, height int, refused *study.Refusal, err error) {
	about, refused, err = read(open(j.picture))
	if err == nil && refused == nil {
		width, height, refused = j.decode(j.picture, about)
	}
	return about, width, height, refused, err
}

// hide finds what a screen hides of a picture.
func (j *job) hide() (study.Found, error) {
	aim, ok := screen.AimByID(j.task.Aim)
	if !ok {
		return study.Found{}, errors.New("looker: no such aim")
	}
	about, width, height, refused, err := j.open()
	if err != nil || refused != nil {
		return study.Found{Refused: refused}, err
	}
	j.far(0.1)
	var p3 []byte // the rows from top on
	top, unread := 0, false
	look := screen.Look{Possible: j.task.Possible, Aim: aim}
	if about.Wide {
		look.Beyond = func(x, y int) float64 {
			if p3 == nil {
				unread = true
				return 0
			}
			at := 4 * ((y-top)*width + x)
			return screen.Beyond(p3[at], p3[at+1], p3[at+2])
		}
	}
	var hiding *screen.Hiding
	j.times.time("look", func() { hiding = look.Rows(width, height) })
	err = j.bands(width, height, about.Wide, func(y, rows int, rgb, wide []byte) error {
		p3, top = wide, y
		j.times.time("look", func() { hiding.Push(rgb) })
		j.far(0.1 + 0.6*float64(y+rows)/float64(height))
		return nil
	})
	if err != nil {
		return study.Found{}, err
	}
	hand.Call("close")
	begun := hiding.Done()
	j.times.time("weigh", func() {
		for hiding.Next() {
			j.far(0.7 + 0.3*(hiding.Done()-begun)/(1-begun))
		}
	})
	found := study.Found{Hidden: hiding.Hidden(), Masks: study.Pack(hiding.Masks())}
	if unread && found.Hidden.Known() {
		// Nobody has looked for colours beyond sRGB: what is not known counts as hidden.
		found.Hidden.Beyond = screen.Share{At: 1, Hi: 1}
		found.Hidden.Any.Hi = 1
	}
	return found, nil
}

// see makes the picture as a screen shows it, seen on another.
func (j *job) see() (study.Found, error) {
	if j.task.Shown == nil {
		return study.Found{}, errors.New("looker: no screen to see the picture on")
	}
	_, width, height, refused, err := j.open()
	if err != nil || refused != nil {
		return study.Found{Refused: refused}, err
	}
	j.far(0.2)
	if !hand.Call("lay").Bool() {
		return study.Found{}, errors.New("looker: this browser gives no canvas of the size of the picture")
	}
	view := j.task.Shown.Placed(j.task.On, j.task.Field, image.Rect(0, 0, width, height))
	err = j.bands(width, height, false, func(y, rows int, rgb, _ []byte) error {
		band := &image.RGBA{Pix: rgb, Stride: 4 * width, Rect: image.Rect(0, y, width, y+rows)}
		j.times.time("show", func() { view.Show(band, band, band.Rect) })
		j.times.time("put", func() { hand.Call("put", y, rows, address(rgb)) })
		j.far(0.2 + 0.4*float64(y+rows)/float64(height))
		return nil
	})
	if err != nil {
		return study.Found{}, err
	}
	const kind = "image/png"
	j.times.time("file", func() { j.made, err = await(hand.Call("take", kind)) })
	if err != nil {
		return study.Found{}, err
	}
	return study.Found{File: &study.File{Kind: kind, Size: int64(j.made.Get("size").Float())}}, nil
}
