package screen

import (
	"encoding/binary"
	"image"
	"image/color"
	"math"
	"slices"

	"example.org/plumb/colour"
	"example.org/plumb/colour/transfer"
)

// Lights are what each channel's codes make on a screen: the linear light of red, green and blue by code, relative to the screen's own black
// and white.
type Lights [3][256]float64

// Lights returns the light of every code of each channel, at the middle of the screen: Light for all codes at once.
func (p *Possible) Lights() *Lights {
	l := new(Lights)
	for c := range 256 {
		grey := p.Grey(uint8(c))
		l[0][c], l[1][c], l[2][c] = grey, grey, grey
		if p.Tint == (Tint{}) || grey == 0 {
			continue
		}
		red, blue := Ratio(p.Tint.At(float64(c) / 255))
		l[0][c], l[2][c] = grey*math.Exp(red), grey*math.Exp(blue)
	}
	return l
}

// MiddleLights returns, for every code of each channel, the median of its light over screens that are equally likely; of an even number of
// screens the mean of the two in the middle. It rises wherever all screens' light rises. Without a screen it is nil.
func MiddleLights(possible []Possible) *Lights {
	if len(possible) == 0 {
		return nil
	}
	all := make([]*Lights, len(possible))
	for i := range possible {
		all[i] = possible[i].Lights()
	}
	l, values := new(Lights), make([]float64, len(all))
	for i := range l {
		for c := range l[i] {
			for k, a := range all {
				values[k] = a[i][c]
			}
			slices.Sort(values)
			n := len(values)
			l[i][c] = (values[(n-1)/2] + values[n/2]) / 2
		}
	}
	return l
}

// A View turns pictures into what another screen must be sent to look as one screen does, each relative to its own white: tone, tint, crush,
// clip, coarse steps and, where asked for, unevenness. White, primaries, brightness and the room are not in it. Many may use one View at once.
// The zero View makes everything black.
type View struct {
	table  [3][256]uint32 // what each code becomes, where it stands in a pixel whose low byte is red
	uneven *uneven        // nil where the screen is taken as even
}

// opaque is the alpha of a pixel whose low byte is red.
const opaque = 0xff000000

// View returns how p shows pictures, as seen on the screen on: the codes whose light there is nearest in sRGB signal to that on p, and of codes
// that are equally near the one nearest to the picture's own. A nil screen is one with the sRGB curve (IEC 61966-2-1) and no fault. Light that
// the other screen cannot make becomes its nearest, which is where its tint or its curve ends.
//
// frame is where the whole screen lies in the picture's coordinates: the light of places, p.Field, is then in the view too, straight between
// the middles of places and level beyond them. With an empty frame every place is as the middle. That on is uneven is never undone.
func (p *Possible) View(on *Possible, frame image.Rectangle) *View {
	var seen *Lights
	if on != nil {
		seen = on.Lights()
	}
	return p.Lights().Placed(seen, p.Field, frame)
}

// Placed is Possible.View for known lights: those of the middle of a screen whose places f has.
func (l *Lights) Placed(on *Lights, f Field, frame image.Rectangle) *View {
	v := l.View(on)
	if !frame.Empty() && f.Rows > 0 && f.Cols > 0 && len(f.Log) == f.Rows*f.Cols {
		v.uneven = newUneven(f, frame, l, newInverse(on))
	}
	return v
}

// View is Possible.View for known lights and an even screen. A nil on is the sRGB curve.
func (l *Lights) View(on *Lights) *View {
	v, back := new(View), newInverse(on)
	for i := range v.table {
		v.table[i] = back.table(i, &l[i], 1)
	}
	return v
}

// An inverse finds the code of a light on the screen that a view is seen on.
type inverse struct {
	srgb   bool
	signal [3][256]float64 // sRGB signal of each code's light
}

func newInverse(on *Lights) *inverse {
	if on == nil {
		return &inverse{srgb: true}
	}
	v := new(inverse)
	for i := range on {
		for c, l := range on[i] {
			v.signal[i][c] = transfer.SRGB{}.Signal(l)
		}
	}
	return v
}

// table returns what channel i must be sent for each code, for its light times factor.
func (v *inverse) table(i int, light *[256]float64, factor float64) (t [256]uint32) {
	for c, l := range light {
		s := transfer.SRGB{}.Signal(float64(l * factor))
		t[c] = uint32(v.code(i, s, c)) << (8 * i)
	}
	return t
}

// code returns the code nearest to an sRGB signal, and of those equally near the one nearest to own, then the lower.
func (v *inverse) code(i int, signal float64, own int) int {
	if math.IsNaN(signal) {
		return 0
	}
	if v.srgb {
		return int(min(max(math.Floor(float64(255*signal)+0.5), 0), 255))
	}
	best, least := 0, math.Inf(1)
	for c, at := range v.signal[i] {
		d := math.Abs(at - signal)
		if d < least || d == least && distance(c, own) < distance(best, own) {
			best, least = c, d
		}
	}
	return best
}

func distance(a, b int) int { return max(a-b, b-a) }

// levelStep is how finely the light of places is told apart, as a natural logarithm: half a step is at most 0.45 codes of an sRGB curve, at white.
const levelStep = 1.0 / 128

// mostLog bounds the logarithm of the light of a place over the middle: e² times more or less is no panel.
const mostLog = 2

// uneven is the light of places in a view.
type uneven struct {
	frame      image.Rectangle
	rows, cols int
	level      [3][]float64     // by channel and place: the level, with 0.5 added so that its integer part is the nearest
	table      [3][][256]uint32 // by channel and level
}

func newUneven(f Field, frame image.Rectangle, shown *Lights, back *inverse) *uneven {
	u := &uneven{frame: frame, rows: f.Rows, cols: f.Cols}
	share := colour.SRGB.Matrix()[1] // of the channels in luminance
	tinted := len(f.Pink) == len(f.Log) && len(f.Yellow) == len(f.Log)
	for i := range u.level {
		u.level[i] = make([]float64, len(f.Log))
	}
	for k, l := range f.Log {
		var red, blue float64
		if tinted {
			red, blue = Ratio(f.Pink[k], f.Yellow[k])
		}
		// Log is of luminance, to which the tint adds.
		green := l - math.Log(float64(share[0]*math.Exp(red))+share[1]+float64(share[2]*math.Exp(blue)))
		for i, log := range [3]float64{green + red, green, green + blue} {
			if math.IsNaN(log) {
				log = 0
			}
			u.level[i][k] = min(max(log, -mostLog), mostLog) / levelStep
		}
	}
	for i := range u.level {
		lo := math.Floor(slices.Min(u.level[i]))
		hi := math.Ceil(slices.Max(u.level[i]))
		u.table[i] = make([][256]uint32, int(hi-lo)+1)
		for n := range u.table[i] {
			u.table[i][n] = back.table(i, &shown[i], math.Exp((lo+float64(n))*levelStep))
		}
		for k := range u.level[i] {
			u.level[i][k] += 0.5 - lo
		}
	}
	return u
}

// between returns the place left of (or above) the middle of a pixel of a frame of the given size, and the part of the way to the next.
func between(at, from, size, places int) (k int, part float64) {
	v := (float64(at-from)+0.5)*float64(places)/float64(size) - 0.5
	v = min(max(v, 0), float64(places-1))
	k = min(int(v), max(places-2, 0))
	return k, v - float64(k)
}

// Show sets the pixels of dst inside r to what the view makes of the pixels of src at the same coordinates, opaque. What lies outside dst or src
// is left as it is, so that a picture shown in bands is the picture shown at once. src holds 8-bit sRGB codes, or is read as such, and is to be
// opaque: what is behind it is not known here. dst may be src.
func (v *View) Show(dst *image.RGBA, src image.Image, r image.Rectangle) {
	r = r.Intersect(dst.Rect).Intersect(src.Bounds())
	if r.Empty() {
		return
	}
	var line []byte // of a row of src that has to be read pixel by pixel
	var across []span
	if v.uneven != nil {
		across = v.uneven.across(r)
	}
	for y := r.Min.Y; y < r.Max.Y; y++ {
		from := bytesOf(src, r.Min.X, r.Max.X, y)
		if from == nil {
			if line == nil {
				line = make([]byte, 4*r.Dx())
			}
			from = line
			read(line, src, r.Min.X, y)
		}
		o := dst.PixOffset(r.Min.X, y)
		to := dst.Pix[o : o+4*r.Dx()]
		if v.uneven != nil {
			v.uneven.row(to, from, across, y)
			continue
		}
		red, green, blue := &v.table[0], &v.table[1], &v.table[2]
		for len(from) >= 4 && len(to) >= 4 {
			p := binary.LittleEndian.Uint32(from)
			binary.LittleEndian.PutUint32(to, red[p&255]|green[p>>8&255]|blue[p>>16&255]|opaque)
			from, to = from[4:], to[4:]
		}
	}
}

// A span is where a pixel lies among the columns of places.
type span struct {
	k    int
	part float64
}

func (u *uneven) across(r image.Rectangle) []span {
	s := make([]span, r.Dx())
	for i := range s {
		s[i].k, s[i].part = between(r.Min.X+i, u.frame.Min.X, u.frame.Dx(), u.cols)
	}
	return s
}

func (u *uneven) row(to, from []byte, across []span, y int) {
	k, part := between(y, u.frame.Min.Y, u.frame.Dy(), u.rows)
	var level [3][]float64 // of the columns at this height
	for i := range level {
		level[i] = make([]float64, u.cols+1)
		a := u.level[i][k*u.cols:]
		b := a
		if u.rows > 1 {
			b = a[u.cols:]
		}
		for c := range u.cols {
			level[i][c] = a[c] + float64(part*(b[c]-a[c]))
		}
		level[i][u.cols] = level[i][u.cols-1] // one column of places alone has no next
	}
	for x, s := range across {
		p := binary.LittleEndian.Uint32(from[4*x:])
		q := uint32(opaque)
		for i := range level {
			a := level[i][s.k]
			n := int(a + float64(s.part*(level[i][s.k+1]-a)))
			q |= u.table[i][n][p>>(8*i)&255]
		}
		binary.LittleEndian.PutUint32(to[4*x:], q)
	}
}

// bytesOf returns the bytes of a row from x0 up to x1, 4 a pixel in the order red, green, blue, alpha, of a picture that holds them so; nil for others.
func bytesOf(src image.Image, x0, x1, y int) []byte {
	switch s := src.(type) {
	case *image.RGBA:
		o := s.PixOffset(x0, y)
		return s.Pix[o : o+4*(x1-x0)]
	case *image.NRGBA:
		o := s.PixOffset(x0, y)
		return s.Pix[o : o+4*(x1-x0)]
	}
	return nil
}

// read sets row to the pixels of a picture of any kind, from x0 on, as bytesOf has them.
func read(row []byte, src image.Image, x0, y int) {
	deep, _ := src.(image.RGBA64Image)
	for i := 0; i < len(row); i += 4 {
		x := x0 + i/4
		var r, g, b, a uint32
		if deep != nil {
			c := deep.RGBA64At(x, y)
			r, g, b, a = uint32(c.R), uint32(c.G), uint32(c.B), uint32(c.A)
		} else {
			r, g, b, a = src.At(x, y).RGBA()
		}
		if a != 0xffff {
			c := color.NRGBA64Model.Convert(color.RGBA64{uint16(r), uint16(g), uint16(b), uint16(a)}).(color.NRGBA64)
			r, g, b = uint32(c.R), uint32(c.G), uint32(c.B)
		}
		row[i], row[i+1], row[i+2], row[i+3] = uint8(r>>8), uint8(g>>8), uint8(b>>8), 255
	}
}
