package check_test

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"image"
	"math/rand/v2"
	"testing"
	"time"

	"example.org/plumb/patterns/check"
)

// bounds is small, so that sittings run fast; every check fits.
var bounds = image.Rect(0, 0, 320, check.MinHeight)

var clock = time.Date(2026, 1, 1, 9, 0, 0, 0, time.UTC)

func plan(l check.Length, seed uint64) check.Plan {
	return check.Plan{Battery: check.Battery, Length: l, Seed: seed, Aim: "usual"}
}

// all is every aspect that a check may be about.
func all() []check.Aspect {
	return append(append([]check.Aspect(nil), check.Aspects...), check.Extras...)
}

// only skips every check but some.
func only(p check.Plan, some ...check.Aspect) check.Plan {
	p.Skip = map[check.Aspect]string{}
	for _, a := range all() {
		p.Skip[a] = "not now"
	}
	for _, a := range some {
		delete(p.Skip, a)
	}
	return p
}

func begin(t testing.TB, p check.Plan) *check.Sitting {
	t.Helper()
	s, err := check.Begin(p)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A rule is a viewer that reckons in whole numbers, so that it answers alike on every platform: it sees a patch from so many codes on, and adds noise
// to the light of two sides. It answers by the task alone, and looks at nothing but the pixels where the choices point.
type rule struct {
	dark, bright int  // codes from black and from white that it sees
	noise        int  // in thousandths of light, the most to either side
	tint         int  // thousandths by which red seems stronger on plain greys than on the white of lines; a tinted screen
	fall         int  // thousandths of light that are lost at the corner places of 3 by 3
	wide         bool // it sees what lies beyond sRGB
	blind        bool // it sees no single step of quadrants
	r            *rand.Rand
}

func newRule(seed uint64) *rule {
	return &rule{dark: 6, bright: 3, noise: 60, wide: true, r: rand.New(rand.NewPCG(seed, 0x72756c65))}
}

// light is a tone curve near a gamma of 2.3, in whole numbers up to 36,090,000.
func light(c uint8) int64 { return int64(c) * int64(c) * (int64(c) + 300) }

// look is the mean light of red, green and blue over a place.
func look(dst *image.RGBA, r image.Rectangle) (rgb [3]int64) {
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			c := dst.RGBAAt(x, y)
			rgb[0], rgb[1], rgb[2] = rgb[0]+light(c.R), rgb[1]+light(c.G), rgb[2]+light(c.B)
		}
	}
	for i := range rgb {
		rgb[i] /= int64(max(r.Dx()*r.Dy(), 1))
	}
	return rgb
}

func sum(dst *image.RGBA, r image.Rectangle) int64 {
	c := look(dst, r)
	return c[0] + c[1] + c[2]
}

// flat reports whether a place has one colour only.
func flat(dst *image.RGBA, r image.Rectangle) bool {
	first := dst.RGBAAt(r.Min.X, r.Min.Y)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if dst.RGBAAt(x, y) != first {
				return false
			}
		}
	}
	return true
}

// thousand is 1000 with noise.
func (v *rule) thousand() int64 { return 1000 + int64(v.r.IntN(2*v.noise+1)-v.noise) }

// more returns 0 if the first colour is the more of what is asked, else 1.
func (v *rule) more(task check.Task, a, b [3]int64) int {
	p, q := a[0]+a[1]+a[2], b[0]+b[1]+b[2]
	switch task {
	case check.Pinker, check.PlacePinker, check.RefPinker:
		p, q = (2*a[0]+a[2])/1000*(b[1]/1000), (2*b[0]+b[2])/1000*(a[1]/1000)
	case check.Yellower, check.PlaceYellow, check.RefYellower:
		p, q = a[1]/1000*(b[2]/1000), b[1]/1000*(a[2]/1000)
	}
	if p*v.thousand() > q*1000 {
		return 0
	}
	return 1
}

// sees returns the index of the choice with what the viewer sees, or guesses: one of them, or "can't tell".
func (v *rule) sees(n int, seen func(i int) bool) int {
	for i := range n {
		if seen(i) {
			return i
		}
	}
	return v.r.IntN(n + 1)
}

// key returns what the viewer presses, having seen nothing but the frame at the choices' places.
func (v *rule) key(p check.Presentation, dst *image.RGBA) string {
	at := func(i int) image.Rectangle { return p.Choices[i].Rect }
	n := len(p.Choices) - 1
	choice := 0
	switch p.Task {
	case check.Set:
		plain, lines := sum(dst, at(0)), sum(dst, at(2))
		switch {
		case plain*100 < lines*98:
			choice = 0
		case plain*100 > lines*102:
			choice = 1
		default:
			choice = 2
		}
	case check.OddCell:
		least := v.dark
		if p.Ground == 255 {
			least = v.bright
		}
		least += v.r.IntN(3) - 1
		choice = v.sees(n, func(i int) bool {
			mid := at(i).Min.Add(at(i).Size().Div(2))
			d := int(dst.RGBAAt(mid.X, mid.Y).G) - int(p.Ground)
			return d >= least || d <= -least
		})
	case check.Lighter, check.Pinker, check.Yellower:
		a, b := look(dst, at(0)), look(dst, at(1))
		if flat(dst, at(0)) != flat(dst, at(1)) { // lines beside plain
			if flat(dst, at(0)) {
				a[0] += a[0] * int64(v.tint) / 1000
			} else {
				b[0] += b[0] * int64(v.tint) / 1000
			}
		}
		choice = v.more(p.Task, a, b)
	case check.PlaceLighter, check.PlacePinker, check.PlaceYellow:
		var c [2][3]int64
		for i := range c {
			c[i] = look(dst, at(i))
			// 6 times the squared distance from the middle, in places of 3 by 3, so that it is whole
			x, y := 2*at(i).Min.X+at(i).Dx()-dst.Rect.Min.X-dst.Rect.Max.X, 2*at(i).Min.Y+at(i).Dy()-dst.Rect.Min.Y-dst.Rect.Max.Y
			x, y = 300*x/(2*dst.Rect.Dx()), 300*y/(2*dst.Rect.Dy()) // hundredths of a place
			for k := range c[i] {
				c[i][k] -= c[i][k] * int64(v.fall*(x*x+y*y)/20000) / 1000
			}
		}
		choice = v.more(p.Task, c[0], c[1])
	case check.RefPinker, check.RefYellower:
		white := light(255)
		choice = v.more(p.Task, look(dst, at(0)), [3]int64{white, white, white})
	case check.OddQuadrant:
		code := func(i int) int {
			mid := at(i).Min.Add(at(i).Size().Div(2))
			return int(dst.RGBAAt(mid.X, mid.Y).G)
		}
		missed := v.r.IntN(4) == 0 || v.blind
		choice = v.sees(n, func(i int) bool {
			for k := range n {
				d := code(i) - code(k)
				if k != i && (d == 0 || d*d < 16 && missed) {
					return false
				}
			}
			return true
		})
	case check.Smoother:
		levels := func(r image.Rectangle) int {
			seen := map[uint8]bool{}
			for x := r.Min.X; x < r.Max.X; x++ {
				seen[dst.RGBAAt(x, r.Min.Y+r.Dy()/2).G] = true
			}
			return len(seen)
		}
		a, b := levels(at(0)), levels(at(1))
		switch {
		case a > b:
			choice = 0
		case a < b:
			choice = 1
		default:
			choice = v.r.IntN(3)
		}
	case check.Mark:
		choice = v.sees(n, func(i int) bool {
			r, most := at(i), 0
			base := dst.RGBAAt(r.Min.X, r.Min.Y)
			dimmer := false
			for y := r.Min.Y; y < r.Max.Y; y++ {
				for x := r.Min.X; x < r.Max.X; x++ {
					c := dst.RGBAAt(x, y)
					dimmer = dimmer || int(max(base.R, base.G, base.B))-int(max(c.R, c.G, c.B)) > 40
					for _, d := range []int{int(c.R) - int(base.R), int(c.G) - int(base.G), int(c.B) - int(base.B)} {
						most = max(most, d, -d)
					}
				}
			}
			return dimmer || v.wide && most > 12
		})
	default:
		panic("no rule for the task " + string(p.Task))
	}
	return p.Choices[choice].Key
}

// A press is a key with its times, and how many judgements there were before.
type press struct {
	key     string
	at      time.Time
	latency time.Duration
	before  int
}

// A run is a sitting with all that was pressed and a digest of all that was shown.
type run struct {
	s       *check.Sitting
	presses []press
	frames  string
}

// sit lets a viewer sit to the end. watch, where not nil, is called with every presentation before it is answered.
func sit(t testing.TB, s *check.Sitting, key func(check.Presentation, *image.RGBA) string, watch func(check.Presentation, *image.RGBA)) run {
	t.Helper()
	h := sha256.New()
	dst := image.NewRGBA(bounds)
	now := clock
	r := run{s: s}
	for n := 0; ; n++ {
		if n > 20000 {
			t.Fatal("the sitting does not end")
		}
		p, ok := s.Present(dst.Rect)
		if !ok {
			break
		}
		s.Frame(dst)
		h.Write(dst.Pix)
		if watch != nil {
			watch(p, dst)
		}
		now = now.Add(2500 * time.Millisecond)
		one := press{key(p, dst), now, 2100 * time.Millisecond, len(s.Log())}
		r.presses = append(r.presses, one)
		if s.Press(one.key, one.at, one.latency) == check.Ignored {
			t.Fatalf("%s is ignored at %+v", one.key, p)
		}
	}
	r.frames = fmt.Sprintf("%x", h.Sum(nil))
	return r
}

// shape is a presentation without what a new start may change.
func shape(p check.Presentation) check.Presentation {
	p.Seq = 0
	return p
}

// stored is a log as it comes back from where it was kept.
func stored(t testing.TB, log []check.Judgement) []check.Judgement {
	t.Helper()
	b, err := json.Marshal(log)
	if err != nil {
		t.Fatal(err)
	}
	var back []check.Judgement
	if err := json.Unmarshal(b, &back); err != nil {
		t.Fatal(err)
	}
	return back
}

func text(t testing.TB, v any) string {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

var lengths = []check.Length{check.Short, check.Standard, check.Long}
