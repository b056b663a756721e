package program

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"sync"

	"github.com/andybalholm/brotli"

	"example.org/plumb/web"
)

// carried are the assets that are built and not written, in the order in which they are packed.
var carried = []string{web.Program, web.Plain, web.Looker, web.Runtime}

// Best is the level that takes longest and squeezes most.
const Best = 9

// Squeeze squeezes a body for a content coding, "br" or "gzip", at a level from 1 to 9; a brotli level of 9 is taken for its highest, 11.
func Squeeze(coding string, body []byte, level int) ([]byte, error) {
	var b bytes.Buffer
	var w io.WriteCloser
	switch {
	case level < 1 || level > Best:
		return nil, fmt.Errorf("program: no level %d", level)
	case coding == "br" && level == Best:
		// The window is the largest that RFC 7932 knows, which holds most of a program.
		w = brotli.NewWriterOptions(&b, brotli.WriterOptions{Quality: brotli.BestCompression, LGWin: 24})
	case coding == "br":
		w = brotli.NewWriterLevel(&b, level)
	case coding == "gzip":
		w, _ = gzip.NewWriterLevel(&b, level) // fails for an unknown level only
	default:
		return nil, fmt.Errorf("program: no content coding %q is known here", coding)
	}
	if _, err := w.Write(body); err != nil {
		return nil, fmt.Errorf("program: %w", err)
	}
	if err := w.Close(); err != nil {
		return nil, fmt.Errorf("program: %w", err)
	}
	return b.Bytes(), nil
}

// Pack squeezes what is built of some assets as much as can be, for a server that carries it: files by name, NAME.br and NAME.gzip. The same assets give the same bytes.
func Pack(assets map[string][]byte) (map[string][]byte, error) {
	for _, name := range carried {
		if len(assets[name]) == 0 {
			return nil, fmt.Errorf("program: there is no %s to pack", name)
		}
	}
	files := map[string][]byte{}
	var trouble error
	var mu sync.Mutex
	var all sync.WaitGroup // a minute's work for each program, and half a gigabyte
	for _, name := range carried {
		for _, coding := range []string{"br", "gzip"} {
			all.Go(func() {
				small, err := Squeeze(coding, assets[name], Best)
				mu.Lock()
				defer mu.Unlock()
				files[name+"."+coding] = small
				trouble = errors.Join(trouble, err)
			})
		}
	}
	all.Wait()
	if trouble != nil {
		return nil, trouble
	}
	return files, nil
}

// Packed is what Pack has packed, and a web.Compressor that need not squeeze it again.
type Packed struct {
	assets   map[string][]byte
	squeezed map[[sha256.Size]byte]map[string][]byte // by the digest of what was squeezed, and coding
}

var _ web.Compressor = (*Packed)(nil)

// Open reads what Pack has packed from a folder.
func Open(folder fs.FS) (*Packed, error) {
	p := &Packed{web.Own(), map[[sha256.Size]byte]map[string][]byte{}}
	for _, name := range carried {
		forms := map[string][]byte{}
		for _, coding := range []string{"br", "gzip"} {
			text, err := fs.ReadFile(folder, path.Clean(name+"."+coding))
			if err != nil {
				return nil, fmt.Errorf("program: what this program carries is not whole: %w", err)
			}
			forms[coding] = text
		}
		whole, err := io.ReadAll(brotli.NewReader(bytes.NewReader(forms["br"])))
		if err == nil && len(whole) == 0 {
			err = errors.New("it is empty")
		}
		if err != nil {
			return nil, fmt.Errorf("program: what this program carries is damaged: %s: %w", name, err)
		}
		p.assets[name], p.squeezed[sha256.Sum256(whole)] = whole, forms
	}
	return p, nil
}

// Assets returns the site's own assets by name, as the function Assets does.
func (p *Packed) Assets() map[string][]byte { return p.assets }

// Compress returns what was packed, and squeezes what was not: the pages and style sheets, which are small.
func (p *Packed) Compress(coding string, body []byte) ([]byte, error) {
	if small, ok := p.squeezed[sha256.Sum256(body)][coding]; ok {
		return small, nil
	}
	return Squeeze(coding, body, Best-1)
}
