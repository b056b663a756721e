//go:build js

package browser

import (
	"fmt"
	"slices"
	"strings"
	"syscall/js"
	"testing"
	"time"
)

// heard is what a Listener heard of files and keys.
type heard struct {
	picked []Picked
	files  []string
	keys   []string
}

// listening is a page that is listened to; it is set up once, for listeners last as long as the page.
var listening *heard
var picksBlobs *Blobs

func listen(t *testing.T) *heard {
	t.Helper()
	page(t)
	if listening == nil {
		listening = &heard{}
		picksBlobs = NewBlobs("picks test")
		c, ok := OpenCanvas("screen")
		if !ok {
			t.Fatal("no canvas")
		}
		Listen(Listener{
			Key: func(code string, _ time.Duration) bool {
				listening.keys = append(listening.keys, code)
				return true
			},
			Pointer: func(int, int, time.Duration) {}, Action: func(string, string) {}, Input: func(string, string) {},
			File: func(field, name string, data []byte, err error) {
				listening.files = append(listening.files, fmt.Sprintf("%s:%s:%s:%v", field, name, data, err))
			},
			Picked:  func(files []Picked) { listening.picked = append(listening.picked, files...) },
			Blobs:   picksBlobs,
			Surface: func() {}, Visible: func(bool) {}, Focus: func(bool) {}, Leaving: func() {}, Online: func() {}, Moved: func(string) {},
		}, c)
	}
	*listening = heard{}
	return listening
}

// Files that are chosen, dropped or pasted go where the page says.
func TestPicks(t *testing.T) {
	h := listen(t)
	defer Page{}.Set("pick", "")
	carrier := func(files ...js.Value) js.Value {
		d := global.Get("DataTransfer").New()
		for _, f := range files {
			d.Get("items").Call("add", f)
		}
		return d
	}
	field := document.Call("createElement", "input")
	field.Set("type", "file")
	field.Set("name", "files")
	field.Set("multiple", true)
	document.Get("body").Call("append", field)
	defer field.Call("remove")
	ways := map[string]func(files ...js.Value){
		"chosen": func(files ...js.Value) {
			field.Set("files", carrier(files...).Get("files"))
			field.Call("dispatchEvent", global.Get("Event").New("input", map[string]any{"bubbles": true}))
			if field.Get("files").Length() != 0 {
				t.Error("the same file cannot be chosen again")
			}
		},
		"dropped": func(files ...js.Value) {
			document.Get("body").Call("dispatchEvent", global.Get("DragEvent").New("drop", map[string]any{"bubbles": true, "cancelable": true, "dataTransfer": carrier(files...)}))
		},
		"pasted": func(files ...js.Value) {
			document.Get("body").Call("dispatchEvent", global.Get("ClipboardEvent").New("paste", map[string]any{"bubbles": true, "cancelable": true, "clipboardData": carrier(files...)}))
		},
	}
	files := []js.Value{
		fileOf([]byte("1"), "orchard.JPG", ""), fileOf([]byte("22"), "record.txt", "text/plain"), fileOf([]byte("333"), "pears", "image/webp"), fileOf([]byte("4444"), "plums.tiff", "application/octet-stream"),
		fileOf([]byte("55555"), "letter.json", "application/json"),
	}
	for _, c := range []struct{ pick, picked, files string }{
		{"all", "orchard.JPG 1, record.txt 2, pears 3, plums.tiff 4, letter.json 5", ""},
		{"pictures", "orchard.JPG 1, pears 3, plums.tiff 4", "record.txt:22:<nil>, letter.json:55555:<nil>"},
		{"", "", "orchard.JPG:1:<nil>"},
		{"nonsense", "", "orchard.JPG:1:<nil>"},
	} {
		Page{}.Set("pick", c.pick)
		for name, way := range ways {
			*h = heard{}
			way(files...)
			field, want := ":", []string(nil)
			if name == "chosen" {
				field = "files:"
			}
			if c.files != "" && !(c.picked == "" && name == "pasted") {
				want = strings.Split(c.files, ", ")
			}
			for i := range want {
				want[i] = field + want[i]
			}
			until(t, "all are read", func() bool { return len(h.files) >= len(want) })
			time.Sleep(10 * time.Millisecond)
			var got []string
			for _, p := range h.picked {
				got = append(got, fmt.Sprint(p.Name, " ", p.Size))
			}
			if strings.Join(got, ", ") != c.picked || !slices.Equal(h.files, want) {
				t.Errorf("%q, %s: picked %v, files %q; want %s and %q", c.pick, name, got, h.files, c.picked, want)
			}
			var keys []string
			for i, p := range h.picked {
				b, err := picksBlobs.Wait(p.Key)
				if err != nil || length(b) != p.Size || slices.Contains(keys, p.Key) {
					t.Errorf("%q, %s: file %d: %v", c.pick, name, i, err)
				}
				keys = append(keys, p.Key)
			}
		}
	}
	// Text that is pasted into a field stays text, even with a picture of it beside.
	Page{}.Set("pick", "all")
	note := document.Call("createElement", "textarea")
	document.Get("body").Call("append", note)
	defer note.Call("remove")
	for _, text := range []bool{true, false} {
		*h = heard{}
		d := carrier(files[0])
		if text {
			d.Get("items").Call("add", "a note", "text/plain")
		}
		kept := note.Call("dispatchEvent", global.Get("ClipboardEvent").New("paste", map[string]any{"bubbles": true, "cancelable": true, "clipboardData": d})).Bool()
		if kept != text || len(h.picked) > 0 == text {
			t.Errorf("pasted into a field, text %v: left alone %v, picked %v", text, kept, h.picked)
		}
	}
	// No more than some are read.
	Page{}.Set("pick", "pictures")
	var many []js.Value
	for i := range mostRead + 3 {
		many = append(many, fileOf([]byte{byte('a' + i)}, fmt.Sprint(i, ".txt"), ""))
	}
	*h = heard{}
	ways["dropped"](many...)
	until(t, "some are read", func() bool { return len(h.files) >= mostRead })
	time.Sleep(20 * time.Millisecond)
	if len(h.files) != mostRead || h.files[7] != ":7.txt:h:<nil>" {
		t.Errorf("read %q", h.files)
	}
	// Nothing is told of a drop without files.
	*h = heard{}
	ways["dropped"]()
	ways["pasted"]()
	if len(h.picked)+len(h.files) > 0 {
		t.Errorf("%+v of nothing", h)
	}
}
