package check_test

import (
	"image"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"example.org/plumb/patterns"
	"example.org/plumb/patterns/check"
)

// sizes of frames, in device pixels: the smallest, a phone held upright at two densities, a laptop, a wide desk screen, odd sides, and one laid out
// away from the origin.
var sizes = []image.Rectangle{
	image.Rect(0, 0, check.MinWidth, check.MinHeight),
	image.Rect(0, 0, 390, 844),
	image.Rect(0, 0, 1170, 2532),
	image.Rect(0, 0, 1366, 768),
	image.Rect(0, 0, 2560, 720),
	image.Rect(0, 0, 601, 397),
	image.Rect(7, 11, 407, 511),
}

// box is the smallest rectangle around all pixels that differ from the ground.
func box(dst *image.RGBA, ground uint8) image.Rectangle {
	var b image.Rectangle
	for y := dst.Rect.Min.Y; y < dst.Rect.Max.Y; y++ {
		row := dst.Pix[dst.PixOffset(dst.Rect.Min.X, y):]
		for x := range dst.Rect.Dx() {
			if row[4*x] != ground || row[4*x+1] != ground || row[4*x+2] != ground {
				b = b.Union(image.Rect(dst.Rect.Min.X+x, y, dst.Rect.Min.X+x+1, y+1))
			}
		}
	}
	return b
}

// What a presentation says of places is what the frame has there: the patch lies in the middle of its cell, and each side of a match fills its rectangle and
// nothing else; lines keep to a tenth of the frame and to 8 degrees.
func TestFramesAreWhatPresentationsSay(t *testing.T) {
	for i, size := range sizes {
		if testing.Short() && i > 1 {
			break
		}
		for _, degree := range []float64{0, 20, 45, 160} {
			if degree != 0 && i > 1 { // the rule on angles is the same everywhere
				continue
			}
			p := plan(check.Short, 21)
			p.Degree = degree
			s := begin(t, p)
			small, dst := image.NewRGBA(bounds), image.NewRGBA(size)
			v := newRule(21)
			seen := map[check.Aspect]int{}
			for !s.Over() {
				q := must(s.Present(size))
				s.Frame(dst)
				painted := box(dst, q.Ground)
				union := image.Rectangle{}
				for k, c := range q.Choices {
					if last := k == len(q.Choices)-1; last && q.Kind != check.Setting {
						if c.Key != "Space" || !c.Rect.Empty() {
							t.Fatalf("%+v", q)
						}
						continue
					}
					if c.Rect.Empty() || !c.Rect.In(size) || c.Label == "" || c.Key == "" {
						t.Fatalf("%v: choice %+v", size, c)
					}
					union = union.Union(c.Rect)
				}
				if !painted.In(union) {
					t.Fatalf("%v %s: painted %v, choices cover %v", size, q.Check, painted, union)
				}
				// Answer on a small frame, which must be the same sitting.
				before := len(s.Log())
				for len(s.Log()) == before {
					r := must(s.Present(bounds))
					s.Frame(small)
					s.Press(v.key(r, small), clock, time.Second)
				}
				m := s.Log()[before].Stimulus
				if q.Kind == check.Setting {
					continue // it has moved
				}
				seen[q.Check]++
				switch {
				case q.Check != check.Tone:
					if want := patterns.CellPatch(size, m.Cell); painted != want || !want.In(q.Choices[m.Cell].Rect) {
						t.Fatalf("%v: patch at %v, cell %d is %v", size, painted, m.Cell, q.Choices[m.Cell].Rect)
					}
					uniform(t, dst, painted, m.Patch)
				case m.Of == 0:
					uniform(t, dst, q.Choices[0].Rect, m.Left)
					uniform(t, dst, q.Choices[1].Rect, m.Right)
				default:
					lines, plain := q.Choices[0].Rect, q.Choices[1].Rect
					if m.PlainLeft {
						lines, plain = plain, lines
					}
					uniform(t, dst, plain, m.Plain)
					lit := 0
					for y := lines.Min.Y; y < lines.Max.Y; y++ {
						for x := lines.Min.X; x < lines.Max.X; x++ {
							switch dst.RGBAAt(x, y).G {
							case m.B:
								lit++
							case m.A:
							default:
								t.Fatalf("%v: lines of %d and %d have a %d", size, m.A, m.B, dst.RGBAAt(x, y).G)
							}
						}
					}
					if area := lines.Dx() * lines.Dy(); lit*m.Of != area*m.Lit {
						t.Fatalf("%v: %d of %d pixels are lit, want %d of %d", size, lit, area, m.Lit, m.Of)
					}
					if 10*lines.Dx()*lines.Dy() > size.Dx()*size.Dy() || degree > 0 && float64(lines.Dx()) > 8*degree {
						t.Fatalf("%v at %g pixels to a degree: lines fill %v", size, degree, lines)
					}
				}
			}
			if len(seen) != 3 || seen[check.Tone] < 10 {
				t.Fatalf("%v: only %v were looked at", size, seen)
			}
		}
	}
}

func uniform(t *testing.T, dst *image.RGBA, r image.Rectangle, code uint8) {
	t.Helper()
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if c := dst.RGBAAt(x, y); c.R != code || c.G != code || c.B != code || c.A != 255 {
				t.Fatalf("pixel %d,%d is %v, want %d", x, y, c, code)
			}
		}
	}
}

// Known distance leaves out lines that are coarser than 8 to a degree.
func TestCoarseLines(t *testing.T) {
	for _, c := range []struct {
		degree float64
		most   int
	}{{0, 8}, {160, 8}, {45, 5}, {25, 3}, {17, 2}} {
		p := only(plan(check.Short, 22), check.Tone)
		p.Degree = c.degree
		widest := 0
		s := begin(t, p)
		sit(t, s, newRule(22).key, nil)
		for _, j := range s.Log() {
			widest = max(widest, j.Stimulus.Of)
		}
		if widest == 0 || widest > c.most {
			t.Errorf("%g pixels to a degree: a line in %d", c.degree, widest)
		}
	}
}

// Nothing that goes out with a presentation tells the right answer: question, choices and ground are the same whatever the stimulus is.
func TestPresentationsGiveNoHint(t *testing.T) {
	type kind struct {
		a check.Aspect
		k check.Kind
	}
	words := map[kind]check.Presentation{}
	stimuli := map[kind]map[check.Stimulus]bool{}
	for seed := range uint64(5) {
		s := begin(t, plan(check.Short, seed))
		var shown []check.Presentation
		sit(t, s, newRule(seed).key, func(p check.Presentation, _ *image.RGBA) {
			if n := len(s.Log()); len(shown) == n {
				shown = append(shown, p)
			}
		})
		for i, j := range s.Log() {
			p := shown[i]
			p.Seq, p.Done, p.Left, p.First = 0, 0, 0, false
			if p.Kind == check.Setting { // which side is plain is for all to see, and no answer
				p.Choices = append([]check.Choice(nil), p.Choices...)
				for c := range p.Choices {
					p.Choices[c].Rect = image.Rectangle{}
				}
			}
			at := kind{p.Check, p.Kind}
			if want, ok := words[at]; ok && !reflect.DeepEqual(p, want) {
				t.Fatalf("%v: %+v, and for another stimulus %+v", at, p, want)
			}
			words[at] = p
			if stimuli[at] == nil {
				stimuli[at] = map[check.Stimulus]bool{}
			}
			stimuli[at][j.Stimulus] = true
		}
	}
	if len(words) != 10 {
		t.Errorf("%d kinds of presentation, want 10", len(words))
	}
	for at, m := range stimuli {
		if len(m) < 3 {
			t.Errorf("%v: only %d stimuli", at, len(m))
		}
	}
	// Trials and catch trials of a check do not differ either, but for their kind.
	for at, p := range words {
		if q := words[kind{at.a, check.Trial}]; at.k == check.Catch && (p.Question != q.Question || !reflect.DeepEqual(p.Choices, q.Choices) || p.Ground != q.Ground) {
			t.Errorf("%v: %+v, trials have %+v", at, p, q)
		}
	}
	for i := range reflect.TypeFor[check.Presentation]().NumField() {
		switch name := reflect.TypeFor[check.Presentation]().Field(i).Name; name {
		case "Seq", "Check", "Kind", "Question", "Choices", "First", "Ground", "Done", "Total", "Left":
		default:
			t.Errorf("a presentation has %s, and nobody has thought about whether that is a hint", name)
		}
	}
	for at, p := range words {
		for _, c := range p.Choices {
			if strings.ContainsAny(c.Label+p.Question, "0123456789") {
				t.Errorf("%v: %q, %q", at, p.Question, c.Label)
			}
		}
	}
}

// Within a check the surround never changes and only small fields do: no jump of the whole field. The mean light, on an sRGB screen, moves by at most
// a fifth of white, and that only where two sides of a match change at once.
func TestNoJumpOfTheWholeField(t *testing.T) {
	levels := make([]float64, 256)
	for c := range levels {
		levels[c] = math.Pow(float64(c)/255, 2.2)
	}
	mean := func(dst *image.RGBA) float64 {
		total := 0.0
		for i := 1; i < len(dst.Pix); i += 4 {
			total += levels[dst.Pix[i]]
		}
		return total / float64(len(dst.Pix)/4)
	}
	s := begin(t, plan(check.Standard, 23))
	var last check.Presentation
	was, jump := 0.0, map[check.Aspect]float64{}
	rest := image.NewRGBA(bounds)
	sit(t, s, newRule(23).key, func(p check.Presentation, dst *image.RGBA) {
		s.Rest(rest)
		uniform(t, rest, bounds, p.Ground)
		changed := 0
		for i := 0; i < len(dst.Pix); i += 4 {
			if dst.Pix[i] != p.Ground {
				changed++
			}
		}
		if share := float64(4*changed) / float64(len(dst.Pix)); share > 0.2 {
			t.Fatalf("%s: %.0f %% of the frame is not the surround", p.Check, 100*share)
		}
		now := mean(dst)
		if last.Check == p.Check {
			if p.Ground != last.Ground {
				t.Fatalf("%s: surround %d after %d", p.Check, p.Ground, last.Ground)
			}
			jump[p.Check] = max(jump[p.Check], math.Abs(now-was), math.Abs(now-mean(rest)))
		}
		last, was = p, now
	})
	for _, a := range []check.Aspect{check.Shadows, check.Highlights, check.Tone} {
		t.Logf("%s: mean light moves by %.3f of white at most", a, jump[a])
		if most := map[check.Aspect]float64{check.Shadows: 0.01, check.Highlights: 0.06, check.Tone: 0.2}[a]; jump[a] == 0 || jump[a] > most {
			t.Errorf("%s: the mean light moves by %.3f of white", a, jump[a])
		}
	}
}

// Cells are drawn evenly, for trials and for obvious differences alike.
func TestCellsAreEven(t *testing.T) {
	counts := map[check.Kind]*[9]int{check.Trial: {}, check.Catch: {}, check.Practice: {}}
	n := map[check.Kind]int{}
	for seed := range uint64(60) {
		p := only(plan(check.Long, seed), check.Shadows)
		s := begin(t, p)
		for !s.Over() {
			s.Press("Space", clock, time.Second)
		}
		for _, j := range s.Log() {
			counts[j.Kind][j.Stimulus.Cell]++
			n[j.Kind]++
		}
	}
	for k, c := range counts {
		chi := 0.0
		for _, v := range c {
			want := float64(n[k]) / 9
			chi += (float64(v) - want) * (float64(v) - want) / want
		}
		if n[k] < 100 || chi > 26.1 { // chi-squared of 8 degrees of freedom, 0.1 %
			t.Errorf("%s: %v, chi-squared %.1f", k, *c, chi)
		}
	}
}
