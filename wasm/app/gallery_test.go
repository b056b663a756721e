package app

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"image"
	"image/draw"
	"image/png"
	"io"
	"slices"
	"strings"
	"testing"

	"example.org/plumb/patterns/screen"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/carry"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/picture"
	"example.org/plumb/web/seal"
)

// A gallery is the pictures and the easel of a browser in memory. PNG is what it can decode.
type gallery struct {
	host     *host
	blobs    map[string][]byte
	lasting  map[string]bool // keys that survive a reload
	tasks    []study.Task    // what was asked, in order
	stopped  map[int]bool
	waits    bool                                        // studies are answered when they are let go
	waiting  []func()                                    // those
	faked    func(study.Task) (study.Found, error, bool) // in place of the real answer, where it says so
	hangings []Hanging                                   // what was hung, in order
	told     map[string]bool                             // keys of which was told whether they hang
	blind    bool                                        // nothing is told of what hangs
	decodes  func(key string, w, h int) (int, int, bool) // in place of what decoding gives
	part     int                                         // above 0: the connection is lost after so many chunks of a parcel, once
	unkept   error                                       // of every Keep
}

func newGallery(h *host) *gallery {
	return &gallery{host: h, blobs: map[string][]byte{}, lasting: map[string]bool{}, stopped: map[int]bool{}, told: map[string]bool{}}
}

// reloaded takes over what another visit kept.
func (g *gallery) reloaded(from *gallery) {
	for k := range from.lasting {
		g.blobs[k], g.lasting[k] = slices.Clone(from.blobs[k]), true
	}
}

func (g *gallery) Study(n int, t study.Task) {
	g.tasks = append(g.tasks, t)
	answer := func() {
		if g.stopped[n] {
			g.host.app.Studied(n, study.Found{}, ErrStopped)
			return
		}
		g.host.app.Studying(n, 0.5)
		f, err := g.studied(t)
		g.host.app.Studied(n, f, err)
	}
	if g.waits {
		g.waiting = append(g.waiting, answer)
		return
	}
	g.host.pending = append(g.host.pending, answer)
}

// letStudies answers what waits.
func (g *gallery) letStudies() {
	g.waits = false
	g.host.pending = append(g.host.pending, g.waiting...)
	g.waiting = nil
}

func (g *gallery) Stop(n int)            { g.stopped[n] = true }
func (g *gallery) Save(key, name string) { g.host.files[name] = g.blobs[key] }

func (g *gallery) Drop(keys ...string) {
	for _, k := range keys {
		delete(g.blobs, k)
		delete(g.lasting, k)
	}
}

func (g *gallery) Keep(keys ...string) {
	for _, k := range keys {
		if g.unkept == nil {
			g.lasting[k] = true
		}
		g.host.pending = append(g.host.pending, func() { g.host.app.Kept(k, g.unkept) })
	}
}

// pick chooses a file: it returns what the page tells of it.
func (g *gallery) pick(name string, b []byte) Picked {
	key := "picked-" + name
	g.blobs[key] = b
	return Picked{key, name, int64(len(b))}
}

func (g *gallery) studied(t study.Task) (study.Found, error) {
	if g.faked != nil {
		if f, err, ok := g.faked(t); ok {
			return f, err
		}
	}
	if t.What == study.Describe {
		return t.Describe(), nil
	}
	b, ok := g.blobs[t.Picture]
	if !ok {
		return study.Found{}, ErrNoPicture
	}
	if t.What == study.Examine {
		about, err := picture.Read(bytes.NewReader(b), int64(len(b)))
		var refused *picture.Refused
		if errors.As(err, &refused) {
			return study.Found{Refused: &study.Refusal{Why: refused.Why, Do: refused.Do}}, nil
		}
		if err != nil {
			return study.Found{}, err
		}
		w, h := about.Seen()
		g.blobs[t.To] = b
		return study.Found{About: study.About{Kind: string(about.Kind), From: string(about.Kind), Width: w, Height: h, Size: int64(len(b)), Digest: sha256.Sum256(b), Source: sha256.Sum256(b), Bits: about.Bits}}, nil
	}
	m, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		return study.Found{Refused: &study.Refusal{Why: "It does not decode.", Do: "Send another."}}, nil
	}
	rgba := image.NewRGBA(m.Bounds())
	draw.Draw(rgba, rgba.Rect, m, rgba.Rect.Min, draw.Src)
	if t.What == study.Hide {
		aim, _ := screen.AimByID(t.Aim)
		hidden, masks := screen.Hides(rgba, t.Possible, aim)
		return study.Found{Hidden: hidden, Masks: study.Pack(masks)}, nil
	}
	out := image.NewRGBA(rgba.Rect)
	t.Shown.View(t.On).Show(out, rgba, rgba.Rect)
	var to bytes.Buffer
	if err := png.Encode(&to, out); err != nil {
		return study.Found{}, err
	}
	g.blobs[t.To] = to.Bytes()
	return study.Found{File: &study.File{Kind: "image/png", Size: int64(to.Len())}}, nil
}

func (g *gallery) Hang(h Hanging) {
	g.hangings = append(g.hangings, h)
	for k := range g.told { // what is taken down is decoded anew when it hangs again
		if !slices.ContainsFunc(h.Pictures, func(p Hung) bool { return p.Key == k }) {
			delete(g.told, k)
		}
	}
	if g.blind {
		return
	}
	for _, p := range h.Pictures {
		if g.told[p.Key] {
			continue
		}
		g.told[p.Key] = true
		g.host.pending = append(g.host.pending, func() {
			c, err := png.DecodeConfig(bytes.NewReader(g.blobs[p.Key]))
			w, h, ok := c.Width, c.Height, err == nil
			if g.decodes != nil {
				w, h, ok = g.decodes(p.Key, w, h)
			}
			g.host.app.Hung(p.Key, w, h, ok)
		})
	}
}

// hanging is what hangs now.
func (g *gallery) hanging() Hanging {
	if len(g.hangings) == 0 {
		return Hanging{}
	}
	return g.hangings[len(g.hangings)-1]
}

// filled takes that the page was made anew: an easel on it is empty, and tells its size.
func (g *gallery) filled(id, html string) {
	if id == "stage" && strings.Contains(html, `id="easel"`) {
		g.told = map[string]bool{}
		g.host.pending = append(g.host.pending, func() { g.host.app.EaselSize(800, 600) })
	}
}

// lossy is a store whose connection is lost after some chunks.
type lossy struct {
	mailbox.Store
	left *int
}

func (s lossy) PutChunk(ctx context.Context, a mailbox.Address, id mailbox.ID, i int, size int64, body io.Reader) error {
	if *s.left == 0 {
		*s.left = -1
		return ErrOffline
	}
	*s.left--
	return s.Store.PutChunk(ctx, a, id, i, size, body)
}

// carries does the errands with parcels. Like a browser's it checks the digest of what it fetches.
func (g *gallery) carries(n int, store mailbox.Store, e Errand) error {
	name := seal.Parcel(e.ID)
	far := func(bytes int64) { g.host.app.Carried(n, float64(bytes)/float64(e.Size)) }
	if e.What == PutParcel {
		b, ok := g.blobs[e.Picture]
		if !ok {
			return ErrNoPicture
		}
		if g.part > 0 {
			left := g.part
			g.part = 0
			store = lossy{store, &left}
		}
		return carry.Send(context.Background(), store, e.Box, name, seal.Key(e.Key).Cipher(), bytes.NewReader(b), e.Size, far)
	}
	var to bytes.Buffer
	err := carry.Fetch(context.Background(), store, e.Box, e.Right, name, carry.NewOpener(seal.Key(e.Key).Cipher(), name, &to), e.Size, far)
	switch {
	case errors.Is(err, carry.ErrPart):
		return ErrPart
	case errors.Is(err, seal.ErrForeign), errors.Is(err, seal.ErrTruncated), errors.Is(err, carry.ErrSize):
		return ErrAltered
	case err != nil:
		return err
	case sha256.Sum256(to.Bytes()) != e.Digest:
		return ErrDigest
	}
	g.blobs[e.Picture] = slices.Clone(to.Bytes())
	return nil
}

// painted is a PNG of some size, which paint paints.
func painted(t testing.TB, w, h int, paint func(x, y int) (r, g, b uint8)) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			i := m.PixOffset(x, y)
			m.Pix[i], m.Pix[i+1], m.Pix[i+2] = paint(x, y)
			m.Pix[i+3] = 255
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
