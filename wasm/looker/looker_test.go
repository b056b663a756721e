//go:build !js

package main_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"
	"math"
	"math/rand/v2"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"golang.org/x/image/tiff"

	"example.org/plumb/.ci/browse"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web"
	"example.org/plumb/web/program"
)

// A stage is a browser that can open pages on which a Looker runs, served with the site's own rules of what a page may load.
type stage struct {
	url   string
	files map[string][]byte
	ctx   context.Context
}

func open(t *testing.T) *stage {
	t.Helper()
	if testing.Short() {
		t.Skip("-short")
	}
	chromium := browse.Find()
	if chromium == "" {
		t.Skip("no Chromium was found")
	}
	ctx := t.Context()
	root, err := program.Here()
	if err != nil {
		t.Fatal(err)
	}
	looker, err := program.Looker(ctx, root)
	if err != nil {
		t.Fatal(err)
	}
	script, err := program.Script(ctx, root)
	if err != nil {
		t.Fatal(err)
	}
	own := web.Own()
	own[web.Looker], own[web.Runtime] = looker, script
	assets, err := web.Pack(own, nil)
	if err != nil {
		t.Fatal(err)
	}
	site, err := web.New(assets, "test", nil)
	if err != nil {
		t.Fatal(err)
	}
	there := httptest(t, site, "/check")
	policy := there.Header.Get("Content-Security-Policy")
	if !strings.Contains(policy, "worker-src 'self'") {
		t.Fatalf("the site's policy is %q", policy)
	}
	s := &stage{files: map[string][]byte{
		"/looker.wasm": looker, "/wasm_exec.js": script, "/looker.js": own["looker.js"],
		"/falls.js":  []byte("onmessage = (e) => { if (e.data.program) postMessage({ ready: true }); else throw new Error('it fell'); };"),
		"/silent.js": []byte("onmessage = (e) => { if (e.data.program) postMessage({ ready: true }); };"),
		"/mute.js":   []byte("1;"),
	}}
	out := filepath.Join(t.TempDir(), "page.wasm")
	build := exec.CommandContext(ctx, "go", "build", "-o", out, "./testdata/page")
	build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if b, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, b)
	}
	for path, name := range map[string]string{"/page.wasm": out, "/": "testdata/page/index.html", "/page.js": "testdata/page/page.js"} {
		if s.files[path], err = os.ReadFile(name); err != nil {
			t.Fatal(err)
		}
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	server := &http.Server{Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		b, ok := s.files[r.URL.Path]
		if !ok {
			http.NotFound(w, r)
			return
		}
		for name := range there.Header {
			if name != "Content-Type" && name != "Content-Length" && name != "Etag" {
				w.Header().Set(name, there.Header.Get(name))
			}
		}
		if strings.HasSuffix(r.URL.Path, ".wasm") {
			w.Header().Set("Content-Type", "application/wasm")
		}
		http.ServeContent(w, r, r.URL.Path, time.Time{}, bytes.NewReader(b))
	})}
	go server.Serve(l)
	t.Cleanup(func() { server.Close() })
	s.url = "http://" + l.Addr().String() + "/"

	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(chromium), browse.Alone, chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"))
	if os.Getuid() == 0 {
		options = append(options, chromedp.NoSandbox)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 4*time.Minute)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewExecAllocator(ctx, options...)
	t.Cleanup(cancel)
	s.ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	s.page(t, nil)
	return s
}

// httptest asks a handler for a path.
func httptest(t *testing.T, h http.Handler, path string) *http.Response {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	server := &http.Server{Handler: h}
	go server.Serve(l)
	defer server.Close()
	r, err := http.Get("http://" + l.Addr().String() + path)
	if err != nil {
		t.Fatal(err)
	}
	io.Copy(io.Discard, r.Body)
	r.Body.Close()
	return r
}

// page opens a fresh page with a Looker at other addresses than the usual ones.
func (s *stage) page(t *testing.T, addresses map[string]any) {
	t.Helper()
	b, err := json.Marshal(addresses)
	if err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(s.ctx, chromedp.Navigate("about:blank"), chromedp.Navigate(s.url+"#"+url.PathEscape(string(b)))); err != nil {
		t.Fatal(err)
	}
	if addresses == nil {
		if err := chromedp.Do(s.ctx, chromedp.Navigate("about:blank"), chromedp.Navigate(s.url)); err != nil {
			t.Fatal(err)
		}
	}
}

// An answer is what a task came to.
type answer struct {
	Found, Error, Made string
	Shares             []float64
	Times              int
	found              study.Found
	made               []byte
}

var tasks int

// look asks about a picture, and takes the answer apart.
func (s *stage) look(t *testing.T, task study.Task, picture []byte) answer {
	t.Helper()
	text, err := task.Marshal()
	if err != nil {
		t.Fatal(err)
	}
	tasks++
	s.files["/picture"] = picture
	a, err := chromedp.Run(s.ctx, chromedp.Evaluate[answer](fmt.Sprintf("look(%d, %q, '/picture')", tasks, text), chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	if a.Error == "" {
		if a.found, err = study.ReadFound([]byte(a.Found)); err != nil {
			t.Fatal(err)
		}
		if a.made, err = base64.StdEncoding.DecodeString(a.Made); err != nil {
			t.Fatal(err)
		}
	}
	if !slices.IsSorted(a.Shares) || a.Times != 1 {
		t.Errorf("answered %d times, on the way %v", a.Times, a.Shares)
	}
	return a
}

// photograph is a picture with soft forms, grain, deep shadows and clipped lights.
func photograph(w, h int, seed uint64) *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	random := rand.New(rand.NewPCG(seed, 1))
	for y := range h {
		fy := float64(y) / float64(h)
		for x := range w {
			fx := float64(x) / float64(w)
			v := 120 + 140*math.Sin(5*fx+3*fy)*math.Cos(4*fy)
			n := random.NormFloat64() * 2
			code := func(v float64) uint8 { return uint8(min(max(v+n, 0), 255)) }
			img.SetNRGBA(x, y, color.NRGBA{code(v * 1.1), code(v), code(v*0.9 + 3*fx), 255})
		}
	}
	return img
}

func pngOf(t *testing.T, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// chunk puts a chunk into a PNG behind its header.
func chunk(file []byte, kind string, data []byte) []byte {
	c := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	c = append(append(c, kind...), data...)
	c = binary.BigEndian.AppendUint32(c, crc32.ChecksumIEEE(c[4:]))
	const header = 8 + 25
	return slices.Concat(file[:header], c, file[header:])
}

// turned is a JPEG with an orientation in its EXIF.
func turned(t *testing.T, img image.Image, orientation int) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	exif := []byte("Exif\x00\x00II*\x00\x08\x00\x00\x00\x01\x00\x12\x01\x03\x00\x01\x00\x00\x00")
	exif = append(exif, byte(orientation), 0, 0, 0, 0, 0, 0, 0)
	head := append([]byte{0xff, 0xd8, 0xff, 0xe1}, byte((len(exif)+2)>>8), byte(len(exif)+2))
	return slices.Concat(head, exif, b.Bytes()[2:])
}

func intended() screen.Possible {
	return screen.Possible{Tone: screen.Tone{Gamma: 2.2, Toe: true}, Crush: 0, Clip: 255, Bits: 8}
}

func TestLooker(t *testing.T) {
	s := open(t)

	t.Run("describe", func(t *testing.T) { describe(t, s) })
	t.Run("damaged", func(t *testing.T) { damaged(t, s) })

	t.Run("examine", func(t *testing.T) {
		img := photograph(90, 60, 1)
		for orientation := 1; orientation <= 8; orientation++ {
			file := turned(t, img, orientation)
			a := s.look(t, study.Task{What: study.Examine, Name: "a.jpg"}, file)
			about := a.found.About
			w, h := 90, 60
			if orientation >= 5 {
				w, h = h, w
			}
			if a.Error != "" || a.found.Refused != nil || about.Width != w || about.Height != h || about.Kind != "image/jpeg" || about.Bits != 8 || about.Size != int64(len(file)) {
				t.Errorf("orientation %d: %s%s", orientation, a.Error, a.Found)
			}
			if about.Digest != study.Digest(sha256.Sum256(file)) || about.Source != about.Digest || a.found.File != nil || len(a.made) != 0 {
				t.Errorf("orientation %d: digests %x %x, made %d bytes", orientation, about.Digest, about.Source, len(a.made))
			}
		}
		right, wrong := s.look(t, study.Task{What: study.Examine, Name: "a.JPG"}, turned(t, img, 1)), s.look(t, study.Task{What: study.Examine, Name: "a.png"}, turned(t, img, 1))
		if len(right.found.About.Notes) != 0 || len(wrong.found.About.Notes) != 1 || wrong.found.About.Kind != "image/jpeg" {
			t.Errorf("notes %q of a right name and %q of a wrong one", right.found.About.Notes, wrong.found.About.Notes)
		}
		var b bytes.Buffer
		if err := tiff.Encode(&b, img, &tiff.Options{Compression: tiff.Deflate}); err != nil {
			t.Fatal(err)
		}
		a := s.look(t, study.Task{What: study.Examine, Name: "a.tif"}, b.Bytes())
		about := a.found.About
		if a.Error != "" || about.Kind != "image/png" || about.From != "image/tiff" || a.found.File == nil || about.Source != study.Digest(sha256.Sum256(b.Bytes())) ||
			about.Digest != study.Digest(sha256.Sum256(a.made)) || about.Size != int64(len(a.made)) {
			t.Fatalf("TIFF: %s%s", a.Error, a.Found)
		}
		back, err := png.Decode(bytes.NewReader(a.made))
		if err != nil {
			t.Fatal(err)
		}
		for y := range 60 {
			for x := range 90 {
				if color.NRGBAModel.Convert(back.At(x, y)) != img.NRGBAAt(x, y) {
					t.Fatalf("TIFF: %d, %d is %v, was %v", x, y, back.At(x, y), img.NRGBAAt(x, y))
				}
			}
		}
	})

	t.Run("refused", func(t *testing.T) {
		img := photograph(300, 200, 2)
		whole, shot := pngOf(t, img), turned(t, img, 1)
		spoilt := slices.Clone(whole)
		for i := len(spoilt) / 2; i < len(spoilt)/2+64; i++ {
			spoilt[i] ^= 0x55
		}
		for name, file := range map[string][]byte{
			"words": []byte("no picture at all"), "half a PNG": whole[:len(whole)/2], "half a JPEG": shot[:len(shot)/2], "a spoilt PNG": spoilt, "nothing": {},
		} {
			a := s.look(t, study.Task{What: study.Examine, Name: "a.png"}, file)
			if a.Error != "" || a.found.Refused == nil || a.found.Refused.Why == "" || a.found.Refused.Do == "" || a.found.About.Width != 0 || len(a.made) != 0 {
				t.Errorf("%s: %s%s", name, a.Error, a.Found)
			}
		}
		// The next is none the worse for it.
		if a := s.look(t, study.Task{What: study.Examine, Name: "a.png"}, whole); a.Error != "" || a.found.Refused != nil || a.found.About.Width != 300 {
			t.Errorf("the next: %s%s", a.Error, a.Found)
		}
		for name, task := range map[string]study.Task{"no such task": {What: "dance"}, "no such aim": {What: study.Hide, Aim: "none"}, "no screen": {What: study.See}} {
			if a := s.look(t, task, whole); a.Error == "" {
				t.Errorf("%s: %s", name, a.Found)
			}
		}
	})

	t.Run("hide", func(t *testing.T) {
		img := photograph(700, 500, 3)
		var possible []screen.Possible
		for i := range 20 {
			p := intended()
			p.Tone.Gamma += 0.02 * float64(i)
			p.Crush, p.Clip, p.Bits, p.Reach = i%9, 255-i%5, 6+i%3, float64(i%5)/5
			possible = append(possible, p)
		}
		want, masks := screen.Hides(img, possible, screen.Aims[0])
		a := s.look(t, study.Task{What: study.Hide, Possible: possible, Aim: screen.Aims[0].ID}, pngOf(t, img))
		if a.Error != "" || len(a.Shares) < 3 {
			t.Fatalf("%s, on the way %v", a.Error, a.Shares)
		}
		got := a.found.Hidden
		// What is counted is the same; what is computed may differ where it is at a limit.
		if got.Shadows != want.Shadows || got.Lights != want.Lights || got.Merged != want.Merged || got.Sampled != want.Sampled || got.Pixels != want.Pixels {
			t.Errorf("%+v, natively %+v", got, want)
		}
		if math.Abs(got.Shifted.At-want.Shifted.At) > 1e-4 || math.Abs(got.Any.At-want.Any.At) > 1e-4 || want.Shadows.At == 0 || want.Merged.At == 0 || want.Shifted.At == 0 {
			t.Errorf("%+v, natively %+v", got, want)
		}
		packed := study.Pack(masks)
		if m := a.found.Masks; m == nil || !bytes.Equal(m.Shadows, packed.Shadows) || !bytes.Equal(m.Lights, packed.Lights) || !bytes.Equal(m.Merged, packed.Merged) || m.Cols != packed.Cols {
			t.Error("other masks")
		}
		// However a picture is turned, it is the same picture.
		var first screen.Hidden
		for orientation := 1; orientation <= 8; orientation++ {
			a := s.look(t, study.Task{What: study.Hide, Possible: possible, Aim: screen.Aims[0].ID}, turned(t, img, orientation))
			h := a.found.Hidden
			if orientation == 1 {
				first = h
			}
			if a.Error != "" || !h.Known() || h.Shadows != first.Shadows || h.Lights != first.Lights || h.Merged != first.Merged || math.Abs(h.Shifted.At-first.Shifted.At) > 0.02 {
				t.Errorf("orientation %d: %s %+v, first %+v", orientation, a.Error, h, first)
			}
			if w := a.found.Masks.Cols > a.found.Masks.Rows; w != (orientation < 5) {
				t.Errorf("orientation %d: masks of %d by %d", orientation, a.found.Masks.Cols, a.found.Masks.Rows)
			}
		}
	})

	t.Run("wide", func(t *testing.T) {
		// A quarter is the red of Display P3, which sRGB does not hold, a quarter that of sRGB; the rest is grey.
		img := image.NewNRGBA(image.Rect(0, 0, 200, 100))
		for y := range 100 {
			for x := range 200 {
				c := color.NRGBA{130, 130, 130, 255}
				switch {
				case x < 50:
					c = color.NRGBA{255, 0, 0, 255}
				case x < 100:
					c = color.NRGBA{234, 51, 35, 255}
				}
				img.SetNRGBA(x, y, c)
			}
		}
		file := chunk(pngOf(t, img), "cICP", []byte{12, 13, 0, 1})
		if a := s.look(t, study.Task{What: study.Examine, Name: "a.png"}, file); !a.found.About.Wide {
			t.Errorf("%s%s", a.Error, a.Found)
		}
		for _, reach := range []float64{0, 0.5, 1} {
			p := intended()
			p.Reach = reach
			a := s.look(t, study.Task{What: study.Hide, Possible: []screen.Possible{p}, Aim: "wide"}, file)
			want := 0.25
			if reach == 1 {
				want = 0
			}
			if a.Error != "" || math.Abs(a.found.Hidden.Beyond.At-want) > 1e-9 {
				t.Errorf("reach %g: %s %+v, want %g", reach, a.Error, a.found.Hidden.Beyond, want)
			}
		}
		// Without the mark the same codes are of sRGB.
		p := intended()
		if a := s.look(t, study.Task{What: study.Hide, Possible: []screen.Possible{p}, Aim: "wide"}, pngOf(t, img)); a.found.Hidden.Beyond.At != 0 || !a.found.Hidden.Known() {
			t.Errorf("%s %+v", a.Error, a.found.Hidden)
		}
	})

	t.Run("see", func(t *testing.T) {
		img := photograph(500, 301, 4)
		p := intended()
		p.Crush, p.Tone.Gamma = 12, 2.6
		field := screen.Field{Rows: 3, Cols: 3, Log: []float64{-0.2, 0, -0.1, 0, 0, 0, -0.3, 0, 0.1}}
		for _, f := range []screen.Field{{}, field} {
			lights := p.Lights()
			a := s.look(t, study.Task{What: study.See, Shown: lights, Field: f}, pngOf(t, img))
			if a.Error != "" || a.found.File == nil || a.found.File.Size != int64(len(a.made)) {
				t.Fatalf("%s%s", a.Error, a.Found)
			}
			got, err := png.Decode(bytes.NewReader(a.made))
			if err != nil {
				t.Fatal(err)
			}
			want := image.NewRGBA(img.Rect)
			lights.Placed(nil, f, img.Rect).Show(want, img, img.Rect)
			bad := 0
			for y := range 301 {
				for x := range 500 {
					r, g, b, _ := got.At(x, y).RGBA()
					c := want.RGBAAt(x, y)
					for i, v := range [3]uint32{r, g, b} {
						if d := int(v>>8) - int([3]uint8{c.R, c.G, c.B}[i]); d != 0 {
							bad++ // a table made here and there may differ in a code that lies between two
							if d < -1 || d > 1 {
								t.Fatalf("%d, %d: %v, want %v", x, y, got.At(x, y), c)
							}
						}
					}
				}
			}
			if got.Bounds() != img.Rect || bad > 500 {
				t.Errorf("%v, %d codes of %d are others", got.Bounds(), bad, 3*500*301)
			}
		}
		// What a picture lets through is seen on the grey that pictures hang on.
		clear := image.NewNRGBA(image.Rect(0, 0, 40, 30))
		even := intended()
		a := s.look(t, study.Task{What: study.See, Shown: even.Lights()}, pngOf(t, clear))
		if got, err := png.Decode(bytes.NewReader(a.made)); err != nil {
			t.Error(err)
		} else if r, g, b, _ := got.At(20, 20).RGBA(); r>>8 != 119 || g>>8 != 119 || b>>8 != 119 {
			t.Errorf("nothing is seen as %v", got.At(20, 20))
		}
	})

	t.Run("stopped", func(t *testing.T) {
		text, err := (study.Task{What: study.Hide, Aim: "usual", Possible: []screen.Possible{intended()}}).Marshal()
		if err != nil {
			t.Fatal(err)
		}
		s.files["/picture"] = turned(t, photograph(1500, 1000, 5), 1)
		type three struct{ One, Two, Three answer }
		got, err := chromedp.Run(s.ctx, chromedp.Evaluate[three](fmt.Sprintf(`(async () => {
			await started;
			const picture = await fetched("/picture");
			for (const n of [901, 902, 903]) ask(n, %q, picture);
			while (!told.some((m) => m.n === 901)) await new Promise((f) => setTimeout(f, 1));
			stop(901);
			stop(902);
			stop(77);
			return { One: await answered(901), Two: await answered(902), Three: await answered(903) };
		})()`, text), chromedp.EvalAwaitPromise))
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(got.One.Error, "given up") || !strings.Contains(got.Two.Error, "given up") || got.Three.Error != "" || got.Three.Found == "" || got.One.Times+got.Two.Times+got.Three.Times != 3 {
			t.Errorf("%q, %q, %q", got.One.Error, got.Two.Error, got.Three.Error)
		}
	})

	for name, c := range map[string]struct {
		addresses map[string]any
		want      string
	}{
		"no program":            {map[string]any{"program": "/nowhere.wasm"}, "could not be loaded"},
		"no script":             {map[string]any{"boot": "/nowhere.js"}, "could not be loaded"},
		"another's script":      {map[string]any{"boot": "https://example.net/looker.js"}, "could not be loaded"},
		"a program that falls":  {map[string]any{"boot": "/falls.js"}, "stopped"},
		"a silent one":          {map[string]any{"boot": "/silent.js", "patience": 600}, "does not answer"},
		"one that says nothing": {map[string]any{"boot": "/mute.js", "patience": 600}, "could not be loaded"},
	} {
		t.Run(name, func(t *testing.T) {
			s.page(t, c.addresses)
			for range 2 { // the next has a new worker
				if a := s.look(t, study.Task{What: study.Examine}, []byte("words")); !strings.Contains(a.Error, c.want) {
					t.Errorf("%q%s, want %q", a.Error, a.Found, c.want)
				}
			}
		})
	}
}
