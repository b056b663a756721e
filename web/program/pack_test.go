package program

import (
	"bytes"
	"compress/gzip"
	"io"
	"maps"
	"reflect"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/andybalholm/brotli"

	"example.org/plumb/web"
)

func stretch(coding string, small []byte) ([]byte, error) {
	if coding == "br" {
		return io.ReadAll(brotli.NewReader(bytes.NewReader(small)))
	}
	z, err := gzip.NewReader(bytes.NewReader(small))
	if err != nil {
		return nil, err
	}
	return io.ReadAll(z)
}

func TestSqueeze(t *testing.T) {
	body := []byte(strings.Repeat("the same again, or nearly; ", 500))
	for _, coding := range []string{"br", "gzip"} {
		last := len(body)
		for _, level := range []int{1, 6, Best} {
			small, err := Squeeze(coding, body, level)
			if err != nil || len(small) > last {
				t.Errorf("%s at %d: %d bytes after %d, %v", coding, level, len(small), last, err)
			}
			last = len(small)
			if back, err := stretch(coding, small); err != nil || !bytes.Equal(back, body) {
				t.Errorf("%s at %d comes back as %d bytes, %v", coding, level, len(back), err)
			}
		}
	}
	for _, c := range []struct {
		coding string
		level  int
	}{{"zstd", 6}, {"", 6}, {"br", 0}, {"gzip", 10}} {
		if _, err := Squeeze(c.coding, body, c.level); err == nil {
			t.Errorf("%q at %d squeezes", c.coding, c.level)
		}
	}
}

// What is packed opens as what it was, and is served squeezed as it was packed.
func TestPack(t *testing.T) {
	assets := web.Own()
	for i, name := range carried {
		assets[name] = bytes.Repeat([]byte{'a' + byte(i), ' '}, 3000)
	}
	files, err := Pack(assets)
	if err != nil || len(files) != 2*len(carried) {
		t.Fatalf("%d files, %v", len(files), err)
	}
	if again, err := Pack(assets); err != nil || !reflect.DeepEqual(again, files) {
		t.Errorf("packed again it differs: %v", err)
	}
	folder := fstest.MapFS{}
	for name, text := range files {
		folder[name] = &fstest.MapFile{Data: text}
	}
	p, err := Open(folder)
	if err != nil || !reflect.DeepEqual(p.Assets(), assets) {
		t.Fatalf("opened: %d assets, want %d, %v", len(p.Assets()), len(assets), err)
	}
	for _, name := range carried {
		for _, coding := range []string{"br", "gzip"} {
			if small, err := p.Compress(coding, assets[name]); err != nil || !bytes.Equal(small, files[name+"."+coding]) {
				t.Errorf("%s, %s: %d bytes, %v", name, coding, len(small), err)
			}
		}
	}
	page := []byte(strings.Repeat("a page ", 100))
	for _, coding := range []string{"br", "gzip"} {
		small, err := p.Compress(coding, page)
		if err != nil || len(small) >= len(page) {
			t.Errorf("a page, %s: %d bytes, %v", coding, len(small), err)
		}
		if back, err := stretch(coding, small); err != nil || !bytes.Equal(back, page) {
			t.Errorf("a page, %s, comes back as %q, %v", coding, back, err)
		}
	}
	if _, err := p.Compress("zstd", page); err == nil {
		t.Error("an unknown coding squeezes")
	}

	for _, name := range carried {
		less := maps.Clone(assets)
		delete(less, name)
		if _, err := Pack(less); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("without %s: %v", name, err)
		}
		for _, coding := range []string{"br", "gzip"} {
			gone := maps.Clone(folder)
			delete(gone, name+"."+coding)
			if _, err := Open(gone); err == nil || !strings.Contains(err.Error(), "is not whole") {
				t.Errorf("without %s.%s: %v", name, coding, err)
			}
		}
		for what, text := range map[string][]byte{"cut": files[name+".br"][:5], "empty": {}, "of nothing": {0x06}} {
			bad := maps.Clone(folder)
			bad[name+".br"] = &fstest.MapFile{Data: text}
			if _, err := Open(bad); err == nil || !strings.Contains(err.Error(), "is damaged") {
				t.Errorf("%s %s: %v", name, what, err)
			}
		}
	}
}
