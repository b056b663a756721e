//go:build js

package browser

import (
	"strings"
	"syscall/js"
)

// Picked is a file that lies in Blobs.
type Picked struct {
	Key, Name string
	Size      int64
}

// picks is the body's data-pick, which files the page wants as Blobs: "all"; "pictures", those that look like pictures; empty for anything else, none.
func picks() string {
	switch v := document.Get("body").Get("dataset").Get("pick"); {
	case v.Type() != js.TypeString:
	case v.String() == "all", v.String() == "pictures":
		return v.String()
	}
	return ""
}

// pictureEnds are the ends of names of pictures.
var pictureEnds = []string{".jpg", ".jpeg", ".png", ".webp", ".avif", ".tif", ".tiff"}

// looksLikePicture goes by a file's media type and the end of its name, not by what is in it.
func looksLikePicture(file js.Value) bool {
	if strings.HasPrefix(file.Get("type").String(), "image/") {
		return true
	}
	name := strings.ToLower(file.Get("name").String())
	for _, end := range pictureEnds {
		if strings.HasSuffix(name, end) {
			return true
		}
	}
	return false
}

// mostRead is how many files that are not picked are read at once where pictures are: a record and what belongs to it.
const mostRead = 8

// take passes on files of a form field; an empty field is for those that were dropped or pasted. Where no pictures are wanted one file is read, and no more.
func (l Listener) take(field string, files []js.Value) {
	want := picks()
	most := mostRead
	if want == "" {
		most = 1
	}
	var picked []Picked
	var others []js.Value
	for _, f := range files {
		if want == "all" || want == "pictures" && looksLikePicture(f) {
			p := Picked{l.Blobs.Key(), f.Get("name").String(), length(f)}
			l.Blobs.Put(p.Key, global.Get("Blob").New([]any{f}, map[string]any{"type": f.Get("type")}))
			picked = append(picked, p)
		} else if len(others) < most {
			others = append(others, f)
		}
	}
	if len(picked) > 0 {
		l.Picked(picked)
	}
	// One after another, so that they come in the order they were given in.
	var next func(i int)
	next = func(i int) {
		if i < len(others) {
			read(others[i], func(name string, data []byte, err error) {
				l.File(field, name, data, err)
				next(i + 1)
			})
		}
	}
	next(0)
}

// typing tells whether text is pasted into a field: some programs copy a picture of it along.
func typing(paste js.Value) bool {
	target := paste.Get("target")
	if !has(target, "matches") || !target.Call("matches", "input, textarea").Bool() {
		return false
	}
	return paste.Get("clipboardData").Get("types").Call("includes", "text/plain").Bool()
}

// list is a FileList that no longer changes.
func list(files js.Value) []js.Value {
	all := make([]js.Value, files.Length())
	for i := range all {
		all[i] = files.Index(i)
	}
	return all
}
