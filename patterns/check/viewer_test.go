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
var bounds = image.Rect(0, 0, 320, 240)

var clock = time.Date(2026, 1, 1, 9, 0, 0, 0, time.UTC)

func plan(l check.Length, seed uint64) check.Plan {
	return check.Plan{Battery: check.Battery, Length: l, Seed: seed, Aim: "usual"}
}

// only skips every check but one.
func only(p check.Plan, a check.Aspect) check.Plan {
	p.Skip = map[check.Aspect]string{}
	for _, other := range []check.Aspect{check.Shadows, check.Highlights, check.Tone} {
		if other != a {
			p.Skip[other] = "not now"
		}
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
// to the light of two sides.
type rule struct {
	dark, bright int // codes from black and from white that it sees
	noise        int // in thousandths of light, the most to either side
	r            *rand.Rand
}

func newRule(seed uint64) *rule {
	return &rule{dark: 6, bright: 3, noise: 60, r: rand.New(rand.NewPCG(seed, 0x72756c65))}
}

// light is a tone curve near a gamma of 2.3, in whole numbers.
func light(c uint8) int64 { return int64(c) * int64(c) * (int64(c) + 300) }

func sum(dst *image.RGBA, r image.Rectangle) (total int64) {
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			total += light(dst.RGBAAt(x, y).G)
		}
	}
	return total / int64(max(r.Dx()*r.Dy(), 1))
}

// key returns what the viewer presses, having seen nothing but the frame at the choices' places.
func (v *rule) key(p check.Presentation, dst *image.RGBA) string {
	switch {
	case p.Kind == check.Setting:
		plain, lines := sum(dst, p.Choices[0].Rect), sum(dst, p.Choices[2].Rect)
		switch {
		case plain*100 < lines*98:
			return p.Choices[0].Key
		case plain*100 > lines*102:
			return p.Choices[1].Key
		}
		return p.Choices[2].Key
	case len(p.Choices) == 3:
		jitter := int64(v.r.IntN(2*v.noise+1) - v.noise)
		if sum(dst, p.Choices[0].Rect)*(1000+jitter) > sum(dst, p.Choices[1].Rect)*1000 {
			return p.Choices[0].Key
		}
		return p.Choices[1].Key
	}
	least := v.dark
	if p.Ground == 255 {
		least = v.bright
	}
	least += v.r.IntN(3) - 1
	for _, c := range p.Choices[:9] {
		mid := c.Rect.Min.Add(c.Rect.Size().Div(2))
		if d := int(dst.RGBAAt(mid.X, mid.Y).G) - int(p.Ground); d >= least || d <= -least {
			return c.Key
		}
	}
	return p.Choices[v.r.IntN(10)].Key // a guess, or "can't tell"
}

// A press is a key with its times.
type press struct {
	key     string
	at      time.Time
	latency time.Duration
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
		one := press{key(p, dst), now, 2100 * time.Millisecond}
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
