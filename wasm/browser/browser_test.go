//go:build js

package browser

import (
	"errors"
	"image"
	"syscall/js"
	"testing"
)

// Run in a browser by TestInBrowser, and what needs no page under Node, too: GOOS=js GOARCH=wasm go test -exec="$(go env GOROOT)/lib/wasm/go_js_wasm_exec" ./wasm/browser

func TestFailures(t *testing.T) {
	for name, want := range map[string]error{
		"QuotaExceededError": ErrFull,
		"SecurityError":      ErrDenied,
		"InvalidStateError":  ErrDenied,
		"VersionError":       ErrNewer,
		"UnknownError":       ErrCorrupt,
		"TimeoutError":       ErrBlocked,
	} {
		if got := failure(global.Get("DOMException").New("made up", name)); !errors.Is(got, want) {
			t.Errorf("%s: %v", name, got)
		}
	}
	if got := failure(global.Get("DOMException").New("made up", "SyntaxError")); got == nil || got.Error() != "browser: SyntaxError: made up" {
		t.Errorf("another: %v", got)
	}
	if failure(js.Null()) == nil || failure(js.Undefined()) == nil {
		t.Error("a failure without a reason is none")
	}
}

func TestNoStorage(t *testing.T) {
	if has(global, "indexedDB") {
		t.Skip("this JavaScript has IndexedDB")
	}
	d := NewDatabase("test", 1, "rows")
	calls := 0
	d.Write([]Row{{"rows", "a", []byte("1")}}, func(err error) {
		calls++
		if !errors.Is(err, ErrDenied) {
			t.Error(err)
		}
	})
	d.Read(func(rows []Row, err error) {
		calls++
		if rows != nil || !errors.Is(err, ErrDenied) {
			t.Error(rows, err)
		}
	})
	d.Persist(func(granted bool) {
		calls++
		if granted {
			t.Error("granted by nobody")
		}
	})
	if calls != 3 {
		t.Errorf("%d answers to 3 questions", calls)
	}
}

func TestTry(t *testing.T) {
	if v := try(func() {}); !v.IsUndefined() {
		t.Error(v)
	}
	if v := try(func() { global.Call("eval", "throw new RangeError('far')") }); complaint(v) != "far" {
		t.Error(complaint(v))
	}
	defer func() {
		if recover() == nil {
			t.Error("a panic of Go was swallowed")
		}
	}()
	try(func() { panic("ours") })
}

func TestHas(t *testing.T) {
	v := global.Call("eval", "({a:{b:0},n:null})")
	for _, c := range []struct {
		path []string
		want bool
	}{{nil, true}, {[]string{"a", "b"}, true}, {[]string{"a", "c"}, false}, {[]string{"a", "b", "c"}, false}, {[]string{"n"}, false}, {[]string{"n", "x"}, false}} {
		if has(v, c.path...) != c.want {
			t.Errorf("%v", c.path)
		}
	}
}

// Where the program's memory cannot be seen, pixels are copied; where it can, none is.
func TestPixels(t *testing.T) {
	if memory := global.Get("goMem"); memory.Truthy() {
		global.Set("goMem", js.Undefined())
		defer global.Set("goMem", memory)
	}
	if real := global.Get("ImageData"); real.Truthy() {
		defer global.Set("ImageData", real)
	}
	global.Call("eval", "globalThis.ImageData = class { constructor(a, b, c) { if (typeof a == 'number') { this.data = new Uint8ClampedArray(4*a*b); this.width = a; this.height = b } else { this.data = a; this.width = b; this.height = c } } }")
	f := image.NewRGBA(image.Rect(0, 0, 5, 3))
	for i := range f.Pix {
		f.Pix[i] = uint8(7 * i)
	}
	d := copied(f, 0)
	if d.Get("width").Int() != 5 || d.Get("height").Int() != 3 {
		t.Fatal("size")
	}
	for i, v := range f.Pix {
		if got := d.Get("data").Index(i).Int(); got != int(v) {
			t.Fatalf("byte %d is %d, want %d", i, got, v)
		}
	}
	c := new(Canvas)
	if v := c.view(f, 0); !v.Get("data").Index(8).Equal(js.ValueOf(int(f.Pix[8]))) {
		t.Error("not copied")
	}
}
