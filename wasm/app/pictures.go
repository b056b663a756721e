package app

import (
	"errors"

	"example.org/plumb/wasm/study"
)

// Pictures are files too large for the program's own memory. Each has a key, and is forgotten when the page is left unless it is to be kept.
type Pictures interface {
	// Study asks something about a picture, answered by Studied, once, and never before Study has returned; how far it is comes as Studying. After a picture was
	// examined and not refused, what is to be sent lies under the task's To, be it another file or the same; the file that was picked stays under its own key.
	Study(n int, t study.Task)
	Stop(n int)            // gives up a study: Studied tells ErrStopped, unless it was over
	Drop(keys ...string)   // forgets, kept or not
	Keep(keys ...string)   // survives a reload from now on; answered by Kept, for each
	Save(key, name string) // hands to the person as a file
}

// What may be wrong with a picture.
var (
	ErrStopped   = errors.New("it was given up")
	ErrNoPicture = errors.New("it is not in this browser any more")
	ErrDigest    = errors.New("it is not the picture that was told of")
)

// Picked is a file that the person chose, dropped or pasted, kept under a key until the page is left.
type Picked struct {
	Key, Name string
	Size      int64
}

// Picking tells the page's data-pick: which files come as Picked; others come as Opened.
const (
	pickNone   = ""         // none
	pickAll    = "all"      // all: what is no picture is refused in words
	pickImages = "pictures" // those that are pictures by their type or by the end of their name
)

// An Easel is the element #easel of the page, in which pictures hang.
type Easel interface {
	Hang(Hanging) // the whole state, each time it changes
}

// A Hanging is how pictures hang.
type Hanging struct {
	Pictures []Hung  // none: an empty easel
	Way      string  // one, beside, swap, divider
	Divider  float64 // 0 to 1 of the easel's width
	Scale    float64 // device pixels for each pixel of the picture
	X, Y     float64 // the picture's point, in its pixels, that is at the middle of the easel
	Hatch    *Hatch  // over the first picture; nil: none
	Pins     []Pin   // on the first picture
	Front    int     // way swap: which is in sight
}

// A Hung is a picture on the easel. Width and Height are of the picture as seen, in pixels.
type Hung struct {
	Key, Name     string
	Width, Height int
}

// A Hatch covers cells laid over the picture from the top left: 0 to 255 for each, row by row. The browser draws lines where it is 128 or more.
type Hatch struct {
	Cols, Rows int
	Cover      []byte
}

// A Pin is a note on the picture: a point, or a rectangle where it has width and height; in pixels of the picture.
type Pin struct {
	ID                  string
	X, Y, Width, Height int
	Label               string
	Current             bool
}

// studies are what is asked about pictures and not answered yet.
type studies struct {
	last  int
	asked map[int]*question
}

type question struct {
	then func(study.Found, error)
	far  func(share float64)
}

// study asks about a picture: far, where not nil, is told how far it is, and then, once, what came of it. The number gives it up.
func (a *App) study(t study.Task, far func(share float64), then func(study.Found, error)) int {
	s := &a.studies
	s.last++
	if s.asked == nil {
		s.asked = map[int]*question{}
	}
	s.asked[s.last] = &question{then, far}
	a.host.Pictures.Study(s.last, t)
	return s.last
}

// giveUp ends a study whose answer nobody waits for any more.
func (a *App) giveUp(n int) {
	if a.studies.asked[n] != nil {
		delete(a.studies.asked, n)
		a.host.Pictures.Stop(n)
	}
}

// Studied takes the answer to a study.
func (a *App) Studied(n int, found study.Found, err error) {
	q := a.studies.asked[n]
	if q == nil {
		return
	}
	delete(a.studies.asked, n)
	q.then(found, err)
}

// Studying takes how far a study is, 0 to 1.
func (a *App) Studying(n int, share float64) {
	if q := a.studies.asked[n]; q != nil && q.far != nil {
		q.far(share)
	}
}

// Picked takes files that were chosen, dropped or pasted.
func (a *App) Picked(files []Picked) {
	switch a.stage {
	case Proofing:
		a.addPictures(files)
	case Verify:
		a.provePictures(files)
	case After:
		a.afterPictures(files)
	default:
		for _, f := range files {
			a.host.Pictures.Drop(f.Key)
		}
	}
}
