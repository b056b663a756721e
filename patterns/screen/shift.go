package screen

import (
	"math"
	"sync"

	"example.org/plumb/colour"
	"example.org/plumb/colour/difference"
)

// A sketch is a colour of which CIE L*a*b* is known to within sketchError in each, and chroma with it.
type sketch struct{ l, a, b, chroma float64 }

// sketchError is more than roots can put a sketch off: its error is 3e-9, and a* has 1000 times two of them.
const sketchError = 1e-5

// A sketcher makes sketches of the light of the channels of sRGB, relative to white.
type sketcher struct {
	m     [3][3]float64 // to tristimulus values over those of white
	roots *[rootsPerOne*rootsUpTo + 2]float64
}

func newSketcher() sketcher {
	t := sketcher{m: colour.SRGB.Matrix(), roots: roots()}
	white := colour.SRGB.White()
	for i, w := range [3]float64{white.X, white.Y, white.Z} {
		for j := range t.m[i] {
			t.m[i][j] /= w
		}
	}
	return t
}

const (
	rootsPerOne = 2048
	rootsUpTo   = 2
)

// roots is the cube roots of light in steps of 1/rootsPerOne.
var roots = sync.OnceValue(func() *[rootsPerOne*rootsUpTo + 2]float64 {
	r := new([rootsPerOne*rootsUpTo + 2]float64)
	for i := range r {
		r[i] = math.Cbrt(float64(i) / rootsPerOne)
	}
	return r
})

// sketch sets to to the colours, red in the low byte, in a light. Cube roots are taken straight between roots, and by one step of Newton's from there. It calls nothing
// for each colour: calls are dear in WebAssembly.
func (t *sketcher) sketch(to []sketch, colours []uint32, red, green, blue *[256]float64) {
	const (
		d      = 6. / 29
		corner = d * d * d // CIE 15, as is what lies below it
	)
	m := t.m
	to = to[:len(colours)]
	for i, p := range colours {
		r, g, b := red[p&255], green[p>>8&255], blue[p>>16&255]
		f := [3]float64{m[0][0]*r + m[0][1]*g + m[0][2]*b, m[1][0]*r + m[1][1]*g + m[1][2]*b, m[2][0]*r + m[2][1]*g + m[2][2]*b}
		for k, v := range f {
			switch {
			case v <= corner:
				f[k] = v/(3*d*d) + 4./29
			case v < rootsUpTo:
				at := v * rootsPerOne
				n := uint32(at)
				y := t.roots[n]
				y += (at - float64(n)) * (t.roots[n+1] - y)
				f[k] = y - (y*y*y-v)/(3*y*y)
			default:
				f[k] = math.Cbrt(v)
			}
		}
		s := &to[i]
		s.l, s.a, s.b = 116*f[1]-16, 500*(f[0]-f[1]), 200*(f[1]-f[2])
		s.chroma = math.Sqrt(s.a*s.a + s.b*s.b)
	}
}

// lab is a sketch as exactly as it can be had.
func (t *sketcher) lab(r, g, b float64) colour.Lab {
	return colour.SRGB.Matrix().Apply(colour.XYZ{X: r, Y: g, Z: b}).Lab(colour.SRGB.White())
}

// What compare tells of two sketches.
const (
	apart  = iota // more than Shift apart
	within        // no more than Shift apart
	open          // one or the other
)

// Bounds of what goes into CIEDE2000 by hue alone: T (equation 15 of Sharma, Wu and Dalal 2005) and the factor of the cross term, 2 sin 60°.
const (
	leastT, mostT = 0.36, 1.58
	mostCross     = 1.7320509
)

// compare compares sketches with what is intended, without angles, and sets told to what it finds; but within stays within, and open does not become apart. In
// CIEDE2000 hue goes into two factors, which have bounds; ΔH' is what is left of the distance in a' and b' when that in chroma is taken off. Nearly all pairs of a picture
// and a screen are told so, for a screen moves hues little. That compilers fuse some of it does not matter: it is far within the margin.
func compare(told []uint8, seen, intended []sketch) {
	const (
		full   = 25 * 25 * 25 * 25 * 25 * 25 * 25
		margin = 1e-3 // far above what sketchError does to the square near Shift
	)
	told, intended = told[:len(seen)], intended[:len(seen)]
	for i := range seen {
		if told[i] == within {
			continue
		}
		p, q := &seen[i], &intended[i]
		d := (p.l+q.l)/2 - 50
		d *= d
		x := (p.l - q.l) / (1 + 0.015*d/math.Sqrt(20+d))
		if x *= x; x > Shift*Shift+margin {
			continue
		}
		mean := (p.chroma + q.chroma) / 2
		c7 := mean * mean * mean
		c7 *= c7 * mean
		g := 1.5 - 0.5*math.Sqrt(c7/(c7+full))
		pa, qa := g*p.a, g*q.a
		cp, cq := math.Sqrt(pa*pa+p.b*p.b), math.Sqrt(qa*qa+q.b*q.b)
		c, dc := (cp+cq)/2, cp-cq
		dh := (pa-qa)*(pa-qa) + (p.b-q.b)*(p.b-q.b) - dc*dc // squared
		if dh < 0 {
			dh = 0
		}
		y := dc / (1 + 0.045*c)
		y *= y
		most, least := 1+0.015*leastT*c, 1+0.015*mostT*c
		most, least = dh/(most*most), dh/(least*least)
		c7 = c * c * c
		c7 *= c7 * c
		cross := mostCross * math.Sqrt(c7/(c7+full)*y*most)
		if x+y+most+cross < Shift*Shift-margin {
			told[i] = within
		} else if x+y+least-cross <= Shift*Shift+margin {
			told[i] = open
		}
	}
}

// intend works out what the colours of the samples are to look like.
func (h *Hiding) intend() {
	h.sketcher, h.bands = newSketcher(), h.look.Aim.bands()
	n := len(h.colours)
	h.shifted, h.told, h.seen = make([]uint8, n), make([]uint8, n), make([]sketch, n)
	h.intent = make([][]sketch, len(h.bands))
	for k := range h.bands {
		h.intent[k] = make([]sketch, n)
		h.sketcher.sketch(h.intent[k], h.colours, &h.bands[k], &h.bands[k], &h.bands[k])
	}
}

// shift tells which colours a screen of the given light shifts: those that are more than Shift from all that are intended.
func (h *Hiding) shift(light *Lights) {
	t := &h.sketcher
	t.sketch(h.seen, h.colours, &light[0], &light[1], &light[2])
	clear(h.told)
	for _, intended := range h.intent {
		compare(h.told, h.seen, intended)
	}
	for i, told := range h.told {
		switch told {
		case apart:
			h.shifted[i] = 1
		case within:
			h.shifted[i] = 0
		default:
			h.shifted[i] = 1
			p := h.colours[i]
			seen := t.lab(light[0][p&255], light[1][p>>8&255], light[2][p>>16])
			for k := range h.bands {
				l := &h.bands[k]
				if difference.CIEDE2000(seen, t.lab(l[p&255], l[p>>8&255], l[p>>16])) <= Shift {
					h.shifted[i] = 0
					break
				}
			}
		}
	}
}
