package app

import (
	"encoding/json"
	"errors"
	"html"
	"image"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/plumb/patterns/check"
)

// host is a browser in memory: it keeps what it is given, and time stands still until advance.
type host struct {
	t   *testing.T
	app *App

	now  time.Duration
	wake time.Duration // -1: no alarm

	frame  *image.RGBA // what is on the canvas
	wide   bool        // in Display P3
	frames []shot
	mark   string
	marks  []string
	body   map[string]string
	page   map[string]string
	said   string
	amiss  string

	rows    map[string]map[string][]byte
	pending []func()
	refuse  error // of every write
	deny    error // of every read
	writes  int
	files   map[string][]byte
	printed int
	full    bool
	others  map[string]bool // sittings that another tab has
}

// A shot is the ground of a frame and when it came.
type shot struct {
	at    time.Duration
	grey  uint8
	plain bool
}

var start = time.Date(2026, 11, 24, 14, 5, 0, 0, time.UTC)

func surface() Surface {
	return Surface{
		Width: 640, Height: 480, BoxWidth: 640, BoxHeight: 480, SheetWidth: 640, SheetHeight: 480, WindowWidth: 640,
		Ratio: 1, Pinch: 1, CanFullScreen: true, Room: 43, Gamut: "srgb", DynamicRange: "standard", ColorDepth: 24,
	}
}

// newHost makes a browser over what an earlier one kept, or over nothing.
func newHost(t *testing.T, rows map[string]map[string][]byte) *host {
	if rows == nil {
		rows = map[string]map[string][]byte{}
	}
	h := &host{t: t, wake: -1, body: map[string]string{}, page: map[string]string{}, rows: rows, files: map[string][]byte{}}
	h.app = New(Host{Canvas: h, Page: h, Clock: clock{h}, Shelf: h, Desk: desk{h}, Locks: locks{h}}, Browser{Name: "Test 1", Timer: 0.1, Wide: true, Address: "http://127.0.0.1/check"}, "test", 7)
	return h
}

// begin starts on the usual surface.
func begin(t *testing.T, rows map[string]map[string][]byte) *host {
	h := newHost(t, rows)
	h.app.Begin(surface(), map[string]string{"length": "short"})
	h.settle()
	return h
}

func (h *host) Show(f *image.RGBA, wide bool) {
	h.wide = wide
	if h.frame == nil || h.frame.Rect != f.Rect {
		h.frame = image.NewRGBA(f.Rect)
	}
	copy(h.frame.Pix, f.Pix)
	plain := true
	for i := 0; i < len(f.Pix); i += 4 {
		if f.Pix[i] != f.Pix[0] {
			plain = false
			break
		}
	}
	h.frames = append(h.frames, shot{h.now, f.Pix[0], plain})
}
func (h *host) Mark(data string) {
	h.mark = data
	if data != "" {
		h.marks = append(h.marks, data)
	}
}
func (h *host) Set(name, value string) { h.body[name] = value }
func (h *host) Fill(id, text string) {
	if id == "stage" {
		// What was inside is gone.
		h.page = map[string]string{"bar": h.page["bar"]}
	}
	h.page[id] = html.UnescapeString(text)
}
func (h *host) Say(text string)    { h.said = text }
func (h *host) Amiss(field string) { h.amiss = field }

type clock struct{ h *host }

func (c clock) Now() time.Duration       { return c.h.now }
func (c clock) Wall() time.Time          { return start.Add(c.h.now) }
func (c clock) Wake(after time.Duration) { c.h.wake = c.h.now + after }

type desk struct{ h *host }

func (d desk) Save(name, _ string, data []byte) { d.h.files[name] = data }
func (d desk) Print()                           { d.h.printed++ }
func (d desk) FullScreen(on bool)               { d.h.full = on }

type locks struct{ h *host }

func (l locks) Take(name string) {
	h := l.h
	h.pending = append(h.pending, func() { h.app.Locked(name, !h.others[name]) })
}

func (l locks) Release(string) {}

func (h *host) Read() {
	var rows []Row
	for _, drawer := range []string{Sittings, Judgements, Records, Screens, Papers} {
		var keys []string
		for k := range h.rows[drawer] {
			keys = append(keys, k)
		}
		slices.Sort(keys)
		for _, k := range keys {
			rows = append(rows, Row{drawer, k, slices.Clone(h.rows[drawer][k])})
		}
	}
	h.pending = append(h.pending, func() {
		if h.deny != nil {
			h.app.Shelved(nil, h.deny)
		} else {
			h.app.Shelved(rows, nil)
		}
	})
}

func (h *host) Write(rows []Row) {
	rows = slices.Clone(rows)
	h.pending = append(h.pending, func() {
		h.writes++
		if h.refuse != nil {
			h.app.Stored(h.refuse)
			return
		}
		for _, r := range rows {
			if h.rows[r.Drawer] == nil {
				h.rows[r.Drawer] = map[string][]byte{}
			}
			if r.Value == nil {
				delete(h.rows[r.Drawer], r.Key)
			} else {
				h.rows[r.Drawer][r.Key] = slices.Clone(r.Value)
			}
		}
		h.app.Stored(nil)
	})
}

func (h *host) Fetch(drawer, key string) {
	value := slices.Clone(h.rows[drawer][key])
	h.pending = append(h.pending, func() { h.app.Fetched(drawer, key, value, h.deny) })
}

func (h *host) Persist() { h.pending = append(h.pending, func() { h.app.Persisted(true) }) }

// settle answers what the program waits for.
func (h *host) settle() {
	for n := 0; len(h.pending) > 0; n++ {
		if n > 1000 {
			h.t.Fatal("the shelf is asked without end")
		}
		f := h.pending[0]
		h.pending = h.pending[1:]
		f()
	}
}

const animation = 16 * time.Millisecond

// advance lets time pass by animation frames.
func (h *host) advance(d time.Duration) {
	for end := h.now + d; h.now < end; {
		h.now += animation
		if h.wake >= 0 && h.now >= h.wake {
			h.wake = -1
			h.app.Woke()
		}
		h.settle()
	}
}

// until lets time pass until done, which must be within a minute.
func (h *host) until(what string, done func() bool) {
	h.t.Helper()
	for end := h.now + time.Minute; !done(); h.advance(animation) {
		if h.now > end {
			h.t.Fatalf("waited a minute for %s; stage %q", what, h.app.Stage())
		}
	}
}

func (h *host) click(action, id string) {
	h.app.Action(action, id)
	h.settle()
}

// offers tells whether a button with that action is on the page.
func (h *host) offers(action string) bool {
	return strings.Contains(h.page["stage"]+h.page["start"]+h.page["bar"], `data-action="`+action+`"`)
}

func (h *host) stage(want Stage) {
	h.t.Helper()
	if got := h.app.Stage(); got != want || h.body["stage"] != string(want) {
		h.t.Fatalf("stage %q, on the page %q, want %q", got, h.body["stage"], want)
	}
}

// marked is what the canvas says is to be answered.
type marked struct {
	Seq      int
	Check    string
	Task     check.Task
	Question string
	Choices  []struct {
		Key, Label string
		Rect       struct{ X, Y, Width, Height int }
	}
}

func (h *host) presentation() (m marked) {
	h.t.Helper()
	if err := json.Unmarshal([]byte(h.mark), &m); err != nil {
		h.t.Fatalf("data-presentation %q: %v", h.mark, err)
	}
	return m
}

// look answers from the pixels of the canvas, as a sharp eye on a screen of gamma 2.2 would.
func (h *host) look() string {
	m := h.presentation()
	// The mean light of the middle of a place, whole periods of lines, by channel.
	light := func(i int) (c [3]float64) {
		r := m.Choices[i].Rect
		w, t := min(r.Width, 24), min(r.Height, 24)
		for y := range t {
			for x := range w {
				p := h.frame.RGBAAt(r.X+(r.Width-w)/2+x, r.Y+(r.Height-t)/2+y)
				for k, v := range [3]uint8{p.R, p.G, p.B} {
					c[k] += math.Pow(float64(v)/255, 2.2) / float64(w*t)
				}
			}
		}
		return c
	}
	pick := func(first bool) string {
		if first {
			return m.Choices[0].Key
		}
		return m.Choices[1].Key
	}
	// most is the choice of the first n that differs most from the others.
	most := func(n int, of func(i int) float64) string {
		best, at := -1.0, 0
		for i := range n {
			d := 0.0
			for k := range n {
				d += math.Abs(of(i) - of(k))
			}
			if d > best {
				best, at = d, i
			}
		}
		return m.Choices[at].Key
	}
	pink := func(c [3]float64) float64 { return c[0] + c[2] - 2*c[1] }
	yellow := func(c [3]float64) float64 { return c[0] + c[1] - 2*c[2] }
	// kinds counts the codes of green in a place.
	kinds := func(i int) float64 {
		r := m.Choices[i].Rect
		seen := map[uint32]bool{}
		for y := r.Y; y < r.Y+r.Height; y += max(1, r.Height/40) {
			for x := r.X; x < r.X+r.Width; x++ {
				p := h.frame.RGBAAt(x, y)
				seen[uint32(p.R)<<16|uint32(p.G)<<8|uint32(p.B)] = true
			}
		}
		return float64(len(seen))
	}
	switch m.Task {
	case check.OddCell:
		ground := h.frame.RGBAAt(0, 0).G
		for i := range 9 {
			if r := m.Choices[i].Rect; h.frame.RGBAAt(r.X+r.Width/2, r.Y+r.Height/2).G != ground {
				return m.Choices[i].Key
			}
		}
		return "Space"
	case check.Lighter, check.PlaceLighter:
		return pick(light(0)[1] > light(1)[1])
	case check.Set:
		plain, lines := light(0)[1], light(2)[1]
		if math.Abs(plain-lines) < 0.02 {
			return "Enter"
		}
		return pick(plain < lines)
	case check.Pinker, check.PlacePinker:
		return pick(pink(light(0)) > pink(light(1)))
	case check.Yellower, check.PlaceYellow:
		return pick(yellow(light(0)) > yellow(light(1)))
	case check.RefPinker:
		return pick(pink(light(0)) > 0)
	case check.RefYellower:
		return pick(yellow(light(0)) > 0)
	case check.OddQuadrant:
		return most(4, func(i int) float64 { return light(i)[1] })
	case check.Smoother:
		return pick(kinds(0) > kinds(1))
	case check.Mark:
		return most(4, kinds)
	}
	h.t.Fatalf("no eye for the task %q", m.Task)
	return ""
}

// start leads from the preparation to the first introduction.
func (h *host) toIntro() {
	h.t.Helper()
	h.stage(Prepare)
	h.click("continue", "")
	if h.app.Stage() == Prepare { // the look at fine lines
		h.click("continue", "")
	}
	h.stage(Intro)
}

// toTrial leads to the next presentation, through introductions.
func (h *host) toTrial() {
	h.t.Helper()
	h.until("a presentation", func() bool {
		if h.app.Stage() == Intro && !h.app.sitting.eager {
			h.click("continue", "")
		}
		return h.mark != ""
	})
}

// answer answers n judgements with a latency that a person has.
func (h *host) answer(n int) {
	h.t.Helper()
	for had := len(h.app.sitting.run.Log()); len(h.app.sitting.run.Log()) < had+n; {
		h.toTrial()
		h.advance(720 * time.Millisecond)
		if !h.app.Key(h.look(), h.now) {
			h.t.Fatal("a key that is a choice was not taken")
		}
		h.settle()
		if h.app.sitting == nil || h.app.sitting.closing > 0 {
			return
		}
		h.advance(2 * animation)
	}
}

// finish answers to the end, up to the report.
func (h *host) finish() {
	h.t.Helper()
	for h.app.Stage() != Report {
		if s := h.app.sitting; s != nil && s.closing == 0 {
			h.answer(1)
		} else {
			h.advance(animation)
		}
	}
}

var errTest = errors.New("made up by the test")

// log is the judgements kept on the shelf for the only sitting there, in order.
func kept(t *testing.T, rows map[string]map[string][]byte) []check.Judgement {
	t.Helper()
	var keys []string
	for k := range rows[Judgements] {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	var log []check.Judgement
	for _, k := range keys {
		var j check.Judgement
		if err := json.Unmarshal(rows[Judgements][k], &j); err != nil {
			t.Fatal(err)
		}
		log = append(log, j)
	}
	return log
}

// copied is a copy of what is kept, as a crash at this moment would leave it.
func copied(rows map[string]map[string][]byte) map[string]map[string][]byte {
	c := map[string]map[string][]byte{}
	for d, list := range rows {
		c[d] = map[string][]byte{}
		for k, v := range list {
			c[d][k] = slices.Clone(v)
		}
	}
	return c
}
