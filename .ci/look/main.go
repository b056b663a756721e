// Command look times how the program that looks at pictures finds what a screen hides of one, and the same arithmetic in plain JavaScript on typed arrays, in workers of one
// browser by turns, and prints a table.
//
//	go run ./.ci/look
//
// It fails if both do not find the same; times alone never fail it.
package main

import (
	"bytes"
	"context"
	"embed"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"io"
	"math"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"slices"
	"text/tabwriter"
	"time"

	"github.com/chromedp/chromedp"

	"example.org/plumb/.ci/browse"
	"example.org/plumb/colour"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web"
	"example.org/plumb/web/program"
)

//go:embed page
var page embed.FS

func main() {
	runs := flag.Int("runs", 7, "runs of which the least time is taken")
	draws := flag.Int("draws", 200, "how many screens are possible")
	quality := flag.Int("quality", 92, "of the JPEG")
	browser := flag.String("browser", "chromium", "the browser to drive")
	flag.Parse()
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Minute)
	defer cancel()
	if err := run(ctx, os.Stdout, *runs, *draws, *quality, *browser); err != nil {
		fmt.Fprintln(os.Stderr, "look:", err)
		os.Exit(1)
	}
}

// sizes are the pictures that are looked at.
var sizes = []struct {
	name          string
	width, height int
}{{"24 MP", 6000, 4000}, {"60 MP", 9504, 6336}}

func run(ctx context.Context, out io.Writer, runs, draws, quality int, browser string) error {
	root, err := program.Here()
	if err != nil {
		return err
	}
	looker, err := program.Looker(ctx, root)
	if err != nil {
		return err
	}
	start, err := program.Script(ctx, root)
	if err != nil {
		return err
	}
	possible := screens(draws)
	files := map[string][]byte{"/looker.wasm": looker, "/wasm_exec.js": start, "/looker.js": web.Own()["looker.js"]}
	for path, name := range map[string]string{"/": "index.html", "/page.js": "page.js", "/twin.js": "twin.js"} {
		if files[path], err = page.ReadFile("page/" + name); err != nil {
			return err
		}
	}
	if files["/screens.json"], err = json.Marshal(told(possible)); err != nil {
		return err
	}
	if files["/task.json"], err = (study.Task{What: study.Hide, Possible: possible, Aim: screen.Aims[0].ID}).Marshal(); err != nil {
		return err
	}
	if files["/see.json"], err = (study.Task{What: study.See, Shown: screen.MiddleLights(possible)}).Marshal(); err != nil {
		return err
	}
	for _, s := range sizes {
		var b bytes.Buffer
		if err := jpeg.Encode(&b, photograph(s.width, s.height), &jpeg.Options{Quality: quality}); err != nil {
			return err
		}
		files["/"+s.name+".jpg"] = b.Bytes()
	}
	url, stop, err := serve(files)
	if err != nil {
		return err
	}
	defer stop()
	fmt.Fprintf(out, "least times of %d runs in ms, %d possible screens; the page's gap is how long its own thread was away at most (in brackets: with nothing to do)\n", runs, draws)
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(w, "picture\tMB\t\tdecode\tread\tlook\tweigh\tlook+weigh\tall\tpage's gap\tmemory, MB\t")
	for _, s := range sizes {
		found, err := drive(ctx, url, browser, s.name+".jpg", runs)
		if err != nil {
			return fmt.Errorf("%s: %w", s.name, err)
		}
		if err := found.table(w, s.name); err != nil {
			return fmt.Errorf("%s: %w", s.name, err)
		}
	}
	return w.Flush()
}

// seen is what the page measured.
type seen struct {
	Bytes int
	Runs  []struct {
		Program, Twin map[string]float64
		Found         screen.Hidden
		Same          [5]float64 // of shadows, lights, merged, shifted, any
	}
	See       map[string]float64
	Gap, Idle float64 // of the page's own thread, while the program looks and while nothing is done
}

func (s seen) table(out io.Writer, name string) error {
	if len(s.Runs) == 0 {
		return errors.New("the page measured nothing")
	}
	least := func(of func(i int) float64) float64 {
		v := make([]float64, len(s.Runs))
		for i := range v {
			v[i] = of(i)
		}
		return slices.Min(v)
	}
	both := [2]float64{}
	for k, who := range []string{"Go", "JavaScript"} {
		part := func(name string) float64 {
			return least(func(i int) float64 { return [2]map[string]float64{s.Runs[i].Program, s.Runs[i].Twin}[k][name] })
		}
		both[k] = least(func(i int) float64 {
			m := [2]map[string]float64{s.Runs[i].Program, s.Runs[i].Twin}[k]
			return m["look"] + m["weigh"]
		})
		fmt.Fprintf(out, "%s\t%.1f\t%s\t%.0f\t%.0f\t%.0f\t%.0f\t%.0f", name, float64(s.Bytes)/1e6, who, part("decode"), part("read"), part("look"), part("weigh"), both[k])
		if k == 0 {
			fmt.Fprintf(out, "\t%.0f\t%.0f (%.0f)\t%.0f\t\n", part("all"), s.Gap, s.Idle, part("memory")/1e6)
		} else {
			fmt.Fprintf(out, "\t\t\t\t\n")
		}
	}
	fmt.Fprintf(out, "%s\t\tGo/JavaScript\t\t\t\t\t%.2f\t\t\t\t\n", name, both[0]/both[1])
	fmt.Fprintf(out, "%s\t\tas seen\t%.0f\t%.0f\t%.0f show\t%.0f put\t%.0f file\t\t%.0f\t%.0f\t\n",
		name, s.See["decode"], s.See["read"], s.See["show"], s.See["put"], s.See["file"], s.See["gap"], s.See["memory"]/1e6)
	for _, r := range s.Runs {
		h := r.Found
		for i, at := range [5]float64{h.Shadows.At, h.Lights.At, h.Merged.At, h.Shifted.At, h.Any.At} {
			most := 1e-9
			if i >= 3 {
				most = 1e-4 // a colour at the limit itself may fall on either side of it
			}
			if !h.Known() || math.Abs(at-r.Same[i]) > most || at == 0 {
				return fmt.Errorf("way %d: Go finds %.9f and JavaScript %.9f (%+v, %v)", i, at, r.Same[i], h, r.Same)
			}
		}
	}
	return nil
}

// photograph is a picture with soft forms and a little grain, shadows and lights in it.
func photograph(w, h int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	random := rand.New(rand.NewPCG(1, 1))
	noise := make([]float64, 1<<16)
	for i := range noise {
		noise[i] = 2 * random.NormFloat64()
	}
	sin := make([]float64, w)
	for x := range sin {
		sin[x] = 5 * float64(x) / float64(w)
	}
	for y := range h {
		fy := float64(y) / float64(h)
		depth := 140 * math.Cos(4*fy)
		for x := range w {
			v := 128 + depth*math.Sin(sin[x]+3*fy)
			n := noise[random.Uint32()>>16]
			code := func(v float64) uint8 { return uint8(min(max(v+n, 0), 255)) }
			img.SetRGBA(x, y, color.RGBA{code(v * 1.1), code(v), code(v*0.9 + sin[x]), 255})
		}
	}
	return img
}

// screens are those that a sitting could leave possible: the tone known to 0.1 of gamma, the ends to a few codes.
func screens(n int) []screen.Possible {
	random := rand.New(rand.NewPCG(2, 2))
	all := make([]screen.Possible, n)
	for i := range all {
		p := screen.Possible{
			Tone:  screen.Tone{Gamma: 2.2 + 0.1*random.NormFloat64(), Offset: 0.01 * random.NormFloat64(), S: 0.01 * random.NormFloat64()},
			Crush: random.IntN(6), Clip: 255 - random.IntN(4), Bits: 6 + random.IntN(3),
		}
		p.Tint[0][0], p.Tint[1][0] = 0.002*random.NormFloat64(), 0.002*random.NormFloat64()
		all[i] = p
	}
	return all
}

// facts are what the same in JavaScript is told.
type facts struct {
	Cells  int
	Matrix [3][3]float64
	White  [3]float64
	Bands  [][]float64 // the light of codes at the ends of the aim and in the middle
	Draws  []draw
}

type draw struct {
	Crush, Clip, Bits int
	Light             screen.Lights
}

func told(possible []screen.Possible) facts {
	m, white := colour.SRGB.Matrix(), colour.SRGB.White()
	f := facts{Cells: screen.Cells, Matrix: m, White: [3]float64{white.X, white.Y, white.Z}}
	curves := screen.Aims[0].Curves
	for _, part := range []float64{0, 0.5, 1} {
		band := make([]float64, 256)
		for c := range band {
			v := float64(c) / 255
			band[c] = float64((1-part)*curves[0].Light(v)) + float64(part*curves[1].Light(v))
		}
		f.Bands = append(f.Bands, band)
	}
	for _, p := range possible {
		d := draw{Crush: -1, Clip: 256, Bits: p.Bits, Light: *p.Lights()}
		p.Bits = 8
		for d.Crush < 255 && p.Grey(uint8(d.Crush+1)) <= 0 {
			d.Crush++
		}
		for d.Clip > d.Crush+1 && p.Grey(uint8(d.Clip-1)) >= 1 {
			d.Clip--
		}
		f.Draws = append(f.Draws, d)
	}
	return f
}

// serve serves files on a free port of the loopback interface until stop is called.
func serve(files map[string][]byte) (url string, stop func(), err error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", nil, err
	}
	s := &http.Server{Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		b, ok := files[r.URL.Path]
		if !ok {
			http.NotFound(w, r)
			return
		}
		// An isolated page has a finer clock.
		w.Header().Set("Cross-Origin-Opener-Policy", "same-origin")
		w.Header().Set("Cross-Origin-Embedder-Policy", "require-corp")
		http.ServeContent(w, r, r.URL.Path, time.Time{}, bytes.NewReader(b))
	})}
	go s.Serve(l)
	return "http://" + l.Addr().String() + "/", func() { s.Close() }, nil
}

func drive(ctx context.Context, url, browser, picture string, runs int) (seen, error) {
	ctx, stop, err := browse.Start(ctx, browser)
	if err != nil {
		return seen{}, err
	}
	defer stop()
	if err := chromedp.Do(ctx, chromedp.Navigate(url)); err != nil {
		return seen{}, err
	}
	return chromedp.Run(ctx, chromedp.Evaluate[seen](fmt.Sprintf("measure(%q, %d)", picture, runs), chromedp.EvalAwaitPromise))
}
