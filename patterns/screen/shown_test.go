package screen_test

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/colour/transfer"
	"example.org/plumb/patterns/screen"
)

// intended is a screen as it should be: the sRGB curve and no fault.
func intended() screen.Possible {
	return screen.Possible{Tone: screen.Tone{Gamma: 2.2, Toe: true}, Clip: 255, Bits: 8}
}

// faulty is some screens with a fault each, and one with many.
func faulty() []screen.Possible {
	with := func(change func(p *screen.Possible)) screen.Possible {
		p := intended()
		change(&p)
		return p
	}
	tint := screen.Tint{{0.004, 0.002, -0.003, 0.001}, {-0.006, 0.004, 0, -0.002}}
	return []screen.Possible{
		intended(),
		with(func(p *screen.Possible) { p.Tone = screen.Tone{Gamma: 1.8} }),
		with(func(p *screen.Possible) { p.Tone.S = 0.05 }),
		with(func(p *screen.Possible) { p.Tone.Squeezed = true }),
		with(func(p *screen.Possible) { p.Tone.Offset = -0.05 }),
		with(func(p *screen.Possible) { p.Crush = 20 }),
		with(func(p *screen.Possible) { p.Clip = 230 }),
		with(func(p *screen.Possible) { p.Bits = 6 }),
		with(func(p *screen.Possible) { p.Tint = tint }),
		with(func(p *screen.Possible) { p.Tint, p.Crush, p.Clip, p.Bits, p.Tone.S = tint, 12, 245, 5, -0.02 }),
	}
}

// grain is a picture with all codes in it, more of them at the ends, and runs of equal pixels.
func grain(r image.Rectangle, seed uint64) *image.RGBA {
	random := rand.New(rand.NewPCG(seed, 9))
	img := image.NewRGBA(r)
	code := func() uint8 {
		switch random.IntN(4) {
		case 0:
			return uint8(random.IntN(24))
		case 1:
			return uint8(232 + random.IntN(24))
		}
		return uint8(random.IntN(256))
	}
	last := color.RGBA{A: 255}
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			switch random.IntN(5) {
			case 0:
				last = color.RGBA{code(), code(), code(), 255}
			case 1:
				g := code()
				last = color.RGBA{g, g, g, 255}
			case 2:
				last.R, last.B = last.R^uint8(random.IntN(3)), last.B^uint8(random.IntN(3))
			}
			img.SetRGBA(x, y, last)
		}
	}
	return img
}

// The slow twin: each pixel by its light and the sRGB curve.
func TestViewIsTheLightOfEachPixel(t *testing.T) {
	src := grain(image.Rect(-3, 5, 60, 41), 1)
	moved := 0
	for n, p := range faulty() {
		dst := image.NewRGBA(src.Rect)
		p.View(nil, image.Rectangle{}).Show(dst, src, src.Rect)
		for y := src.Rect.Min.Y; y < src.Rect.Max.Y; y++ {
			for x := src.Rect.Min.X; x < src.Rect.Max.X; x++ {
				c := src.RGBAAt(x, y)
				r, g, b := p.Light(c.R, c.G, c.B)
				code := func(l float64) uint8 {
					return uint8(math.Round(255 * math.Min(math.Max(transfer.SRGB{}.Signal(l), 0), 1)))
				}
				want := color.RGBA{code(r), code(g), code(b), 255}
				if got := dst.RGBAAt(x, y); got != want {
					t.Fatalf("screen %d: %v becomes %v, want %v", n, c, got, want)
				}
				if want != c {
					moved++
				}
			}
		}
		if n == 0 && moved > 0 {
			t.Error("a screen as it should be shows another picture")
		}
	}
	if moved < 10000 {
		t.Errorf("only %d pixels were changed by a fault", moved)
	}
}

// A picture of any kind, with any bounds, comes out as its codes do; and over itself.
func TestViewOfEveryKindOfPicture(t *testing.T) {
	src := grain(image.Rect(2, -7, 39, 18), 2)
	p := faulty()[9]
	v := p.View(nil, image.Rectangle{})
	want := image.NewRGBA(src.Rect)
	v.Show(want, src, src.Rect)
	nrgba, deep := image.NewNRGBA(src.Rect), image.NewNRGBA64(src.Rect)
	for y := src.Rect.Min.Y; y < src.Rect.Max.Y; y++ {
		for x := src.Rect.Min.X; x < src.Rect.Max.X; x++ {
			nrgba.Set(x, y, src.At(x, y))
			deep.Set(x, y, src.At(x, y))
		}
	}
	over := image.NewRGBA(src.Rect)
	copy(over.Pix, src.Pix)
	for name, s := range map[string]image.Image{"NRGBA": nrgba, "NRGBA64": deep, "plain": plain{src}, "over itself": over} {
		dst := image.NewRGBA(src.Rect)
		if name == "over itself" {
			dst = over
		}
		v.Show(dst, s, src.Rect)
		if !bytes.Equal(dst.Pix, want.Pix) {
			t.Errorf("%s differs from RGBA", name)
		}
	}
	grey := image.NewGray(image.Rect(0, 0, 256, 1))
	for c := range 256 {
		grey.Pix[c] = uint8(c)
	}
	dst := image.NewRGBA(grey.Rect)
	v.Show(dst, grey, grey.Rect)
	for c := range 256 {
		r, g, b := p.Light(uint8(c), uint8(c), uint8(c))
		for i, l := range []float64{r, g, b} {
			if got, want := int(dst.Pix[4*c+i]), 255*(transfer.SRGB{}).Signal(l); math.Abs(float64(got)-math.Min(want, 255)) > 0.5+1e-9 {
				t.Errorf("grey %d, channel %d: %d, want %.2f", c, i, got, want)
			}
		}
	}
}

// plain hides what kind of picture it is.
type plain struct{ of image.Image }

func (p plain) ColorModel() color.Model { return p.of.ColorModel() }
func (p plain) Bounds() image.Rectangle { return p.of.Bounds() }
func (p plain) At(x, y int) color.Color { return p.of.At(x, y) }

// uneven is a screen that is darker and pinker towards its right and its foot.
func uneven() screen.Possible {
	p := faulty()[9]
	p.Field = screen.Field{Rows: 3, Cols: 3,
		Log:    []float64{-0.08, -0.02, -0.2, 0.03, 0, -0.1, -0.15, -0.12, -0.3},
		Pink:   []float64{0, 0.001, 0.004, -0.002, 0, 0.003, 0.001, 0.002, 0.005},
		Yellow: []float64{0.003, 0, -0.004, 0, 0, 0.002, 0.004, -0.001, -0.006},
	}
	return p
}

// Bands in any order, and pieces beyond the picture, give what the whole gives; what is outside is left alone.
func TestViewInBandsIsTheWhole(t *testing.T) {
	src := grain(image.Rect(-3, 5, 61, 42), 3)
	for _, p := range []screen.Possible{faulty()[9], uneven()} {
		v := p.View(nil, image.Rect(-20, -10, 100, 80))
		whole, bands := image.NewRGBA(src.Rect.Inset(-2)), image.NewRGBA(src.Rect.Inset(-2))
		v.Show(whole, src, whole.Rect)
		random := rand.New(rand.NewPCG(4, 4))
		for y := src.Rect.Max.Y + 3; y > src.Rect.Min.Y-4; {
			h := 1 + random.IntN(7)
			x := random.IntN(70)
			v.Show(bands, src, image.Rect(-99, y-h, x, y))
			v.Show(bands, src, image.Rect(x, y-h, 99, y))
			y -= h
		}
		if !bytes.Equal(whole.Pix, bands.Pix) {
			t.Error("bands differ from the whole")
		}
		part, r := image.NewRGBA(src.Rect), image.Rect(4, 9, 30, 22)
		v.Show(part, src, r)
		for y := src.Rect.Min.Y; y < src.Rect.Max.Y; y++ {
			for x := src.Rect.Min.X; x < src.Rect.Max.X; x++ {
				if c := part.RGBAAt(x, y); image.Pt(x, y).In(r) != (c == whole.RGBAAt(x, y)) || !image.Pt(x, y).In(r) && c != (color.RGBA{}) {
					t.Fatalf("%d, %d, when %v is shown: %v", x, y, r, c)
				}
			}
		}
		for y := whole.Rect.Min.Y; y < whole.Rect.Max.Y; y++ {
			for x := whole.Rect.Min.X; x < whole.Rect.Max.X; x++ {
				if c := whole.RGBAAt(x, y); image.Pt(x, y).In(src.Rect) != (c.A == 255) {
					t.Fatalf("%d, %d, of a picture in %v: %v", x, y, src.Rect, c)
				}
			}
		}
	}
}

// On the screen that it is seen on, a picture is itself, whatever the faults; and what another screen shows is met by the nearest light there is.
func TestViewOnTheSameScreen(t *testing.T) {
	src := grain(image.Rect(0, 0, 80, 50), 5)
	all := faulty()
	for n := range all {
		dst := image.NewRGBA(src.Rect)
		all[n].View(&all[n], image.Rectangle{}).Show(dst, src, src.Rect)
		if !bytes.Equal(dst.Pix, src.Pix) {
			t.Errorf("screen %d: a picture on its own screen is another", n)
		}
	}
	first := intended()
	ties, values := 0, 0
	for n := range all {
		a, b := image.NewRGBA(src.Rect), image.NewRGBA(src.Rect)
		all[n].View(&first, image.Rectangle{}).Show(a, src, src.Rect)
		all[n].View(nil, image.Rectangle{}).Show(b, src, src.Rect)
		// Both work the same curve out in another way: where light lies halfway between two codes the last bits, which differ by platform, decide.
		for i, v := range a.Pix {
			if d := int(v) - int(b.Pix[i]); d < -1 || d > 1 {
				t.Fatalf("screen %d: a screen as it should be shows %d where the sRGB curve shows %d", n, v, b.Pix[i])
			} else if d != 0 {
				ties++
			}
			values++
		}
	}
	if ties*100 > values {
		t.Errorf("%d of %d values differ by a code", ties, values)
	}
	ramp := image.NewGray(image.Rect(0, 0, 256, 1))
	for c := range 256 {
		ramp.Pix[c] = uint8(c)
	}
	for n := range all {
		for m := range all {
			v := image.NewRGBA(ramp.Rect)
			all[n].View(&all[m], image.Rectangle{}).Show(v, ramp, v.Rect)
			shown, on := all[n].Lights(), all[m].Lights()
			for i := range 3 {
				var there [256]float64
				for c, l := range on[i] {
					there[c] = transfer.SRGB{}.Signal(l)
				}
				for c := range 256 {
					want := transfer.SRGB{}.Signal(shown[i][c])
					got := int(v.Pix[4*c+i])
					off := math.Abs(there[got] - want)
					for k, s := range there {
						if math.Abs(s-want) < off {
							t.Fatalf("screen %d seen on %d, channel %d: code %d becomes %d, but %d is nearer", n, m, i, c, got, k)
						}
					}
				}
			}
		}
	}
}

// The light of places by the definition of a Field: luminance by its logarithm, straight between the middles of places; within 1 code.
func TestViewOfPlaces(t *testing.T) {
	p := uneven()
	f := p.Field
	frame := image.Rect(-40, -30, 140, 90)
	src := grain(image.Rect(-40, -30, 140, 90), 6)
	dst := image.NewRGBA(src.Rect)
	p.View(nil, frame).Show(dst, src, src.Rect)
	at := func(values []float64, x, y int) float64 { // by hats over the middles
		hat := func(v float64, size, n, k int) float64 {
			v = math.Min(math.Max(v*float64(n)/float64(size)-0.5, 0), float64(n-1))
			return math.Max(0, 1-math.Abs(v-float64(k)))
		}
		sum := 0.0
		for k, v := range values {
			sum += v * hat(float64(x-frame.Min.X)+0.5, frame.Dx(), 3, k%3) * hat(float64(y-frame.Min.Y)+0.5, frame.Dy(), 3, k/3)
		}
		return sum
	}
	share := colour.SRGB.Matrix()[1]
	var logs [3][]float64
	for k := range f.Log {
		red, blue := screen.Ratio(f.Pink[k], f.Yellow[k])
		r, b := math.Exp(red), math.Exp(blue)
		y := share[0]*r + share[1] + share[2]*b
		for i, v := range []float64{r / y, 1 / y, b / y} {
			logs[i] = append(logs[i], f.Log[k]+math.Log(v))
		}
	}
	worst := 0.0
	for y := frame.Min.Y; y < frame.Max.Y; y++ {
		for x := frame.Min.X; x < frame.Max.X; x++ {
			c := src.RGBAAt(x, y)
			r, g, b := p.Light(c.R, c.G, c.B)
			for i, l := range []float64{r, g, b} {
				want := 255 * math.Min(transfer.SRGB{}.Signal(l*math.Exp(at(logs[i], x, y))), 1)
				got := dst.Pix[dst.PixOffset(x, y)+i]
				worst = math.Max(worst, math.Abs(float64(got)-want))
			}
		}
	}
	if worst > 1 || worst < 0.4 {
		t.Errorf("the light of places is off by %.2f codes", worst)
	}
	// The middle of the frame is as it is without places, and one place alone is the middle.
	mid := image.Rect(49, 29, 51, 31)
	want := image.NewRGBA(src.Rect)
	p.View(nil, image.Rectangle{}).Show(want, src, src.Rect)
	for y := mid.Min.Y; y < mid.Max.Y; y++ {
		for x := mid.Min.X; x < mid.Max.X; x++ {
			a, b := dst.RGBAAt(x, y), want.RGBAAt(x, y)
			if max(int(a.R)-int(b.R), int(b.R)-int(a.R), int(a.G)-int(b.G), int(b.G)-int(a.G), int(a.B)-int(b.B), int(b.B)-int(a.B)) > 1 {
				t.Errorf("in the middle %v, without places %v", a, b)
			}
		}
	}
	for _, shape := range [][2]int{{1, 1}, {1, 3}, {3, 1}, {0, 3}, {3, 3}} {
		p.Field = screen.Field{Rows: shape[0], Cols: shape[1], Log: make([]float64, shape[0]*shape[1])}
		p.View(nil, frame).Show(dst, src, src.Rect)
		if !bytes.Equal(dst.Pix, want.Pix) {
			t.Errorf("%v even places change the picture", shape)
		}
	}
	p.Field = screen.Field{Rows: 3, Cols: 3, Log: []float64{1}} // no field
	p.View(nil, frame).Show(dst, src, src.Rect)
	if !bytes.Equal(dst.Pix, want.Pix) {
		t.Error("a field without its places changes the picture")
	}
}

// The middle of many screens is code by code the median.
func TestMiddleLights(t *testing.T) {
	if screen.MiddleLights(nil) != nil {
		t.Error("no screens have lights")
	}
	var all []screen.Possible
	for _, g := range []float64{2.6, 1.8, 2.2, 2.4, 2.0} {
		all = append(all, screen.Possible{Tone: screen.Tone{Gamma: g}, Clip: 255, Bits: 8})
	}
	if got, want := screen.MiddleLights(all), all[2].Lights(); *got != *want {
		t.Error("the middle of gammas about 2.2 is not 2.2")
	}
	got, a, b := screen.MiddleLights(all[2:4]), all[2].Lights(), all[3].Lights()
	if want := (a[1][100] + b[1][100]) / 2; got[1][100] != want {
		t.Errorf("two screens have %g in the middle, want %g", got[1][100], want)
	}
	if got[0][0] != 0 || got[2][255] != 1 {
		t.Error("black or white moves")
	}
	ramp := grain(image.Rect(0, 0, 50, 20), 7)
	x, y := image.NewRGBA(ramp.Rect), image.NewRGBA(ramp.Rect)
	screen.MiddleLights(all).View(all[0].Lights()).Show(x, ramp, ramp.Rect)
	all[2].View(&all[0], image.Rectangle{}).Show(y, ramp, ramp.Rect)
	if !bytes.Equal(x.Pix, y.Pix) {
		t.Error("a view by lights is another than by the screen")
	}
}

// Screens that are none, and the zero View, still make opaque pixels.
func TestStrangeViews(t *testing.T) {
	src := grain(image.Rect(0, 0, 16, 16), 8)
	strange := intended()
	strange.Tint = screen.Tint{{math.NaN(), math.Inf(1)}, {1e9}}
	strange.Field = screen.Field{Rows: 1, Cols: 2, Log: []float64{math.Inf(-1), math.NaN()}, Pink: []float64{math.NaN(), 1e9}, Yellow: []float64{0, math.Inf(1)}}
	first := intended()
	views := []*screen.View{new(screen.View)}
	for _, on := range []*screen.Possible{nil, &first, &strange, {}} {
		views = append(views, strange.View(on, src.Rect), new(screen.Possible).View(on, src.Rect))
	}
	for i, v := range views {
		dst := image.NewRGBA(src.Rect)
		v.Show(dst, src, src.Rect)
		for o := 0; o < len(dst.Pix); o += 4 {
			if dst.Pix[o+3] != 255 || i == 0 && binary.LittleEndian.Uint32(dst.Pix[o:]) != 0xff000000 {
				t.Fatalf("view %d makes %v", i, dst.Pix[o:o+4])
			}
		}
	}
}

func FuzzView(f *testing.F) {
	f.Add(0, 0, 1, 1, 0, 0, 9, 9, uint8(9))
	f.Add(-3, 2, 20, 0, 5, 5, 3, 3, uint8(3))
	p := uneven()
	f.Fuzz(func(t *testing.T, x, y, w, h, fx, fy, fw, fh int, n uint8) {
		small := func(v, n int) int { return v % n }
		src := grain(image.Rect(0, 0, small(w, 40), small(h, 40)).Add(image.Pt(small(x, 1000), small(y, 1000))), uint64(n))
		frame := image.Rectangle{Min: image.Pt(small(fx, 5000), small(fy, 5000))}
		frame.Max = frame.Min.Add(image.Pt(small(fw, 5000), small(fh, 5000)))
		p.Field.Rows, p.Field.Cols = 3, 3
		if n%3 == 0 {
			p.Field.Rows, p.Field.Cols = 1, 9
		}
		v := p.View(nil, frame)
		dst := image.NewRGBA(src.Rect)
		v.Show(dst, src, dst.Rect)
		for o := 3; o < len(dst.Pix); o += 4 {
			if dst.Pix[o] != 255 {
				t.Fatal("a pixel is not opaque")
			}
		}
	})
}

func BenchmarkShow(b *testing.B) {
	r := image.Rect(0, 0, 3840, 2160)
	src := grain(r, 1)
	dst := image.NewRGBA(r)
	nrgba := &image.NRGBA{Pix: src.Pix, Stride: src.Stride, Rect: r}
	flat, places := faulty()[9], uneven()
	for _, s := range []struct {
		name string
		view *screen.View
		src  image.Image
	}{
		{"RGBA", flat.View(nil, image.Rectangle{}), src},
		{"NRGBA", flat.View(nil, image.Rectangle{}), nrgba},
		{"YCbCr", flat.View(nil, image.Rectangle{}), image.NewYCbCr(r, image.YCbCrSubsampleRatio420)},
		{"places", places.View(nil, r), src},
	} {
		b.Run(s.name, func(b *testing.B) {
			b.SetBytes(int64(len(dst.Pix)))
			for b.Loop() {
				s.view.Show(dst, s.src, r)
			}
		})
	}
	// The yardstick: one table for all bytes.
	b.Run("plain table", func(b *testing.B) {
		var table [256]uint8
		for i := range table {
			table[i] = uint8(255 - i)
		}
		b.SetBytes(int64(len(dst.Pix)))
		for b.Loop() {
			to := dst.Pix[:len(src.Pix)]
			for i, v := range src.Pix {
				to[i] = table[v]
			}
		}
	})
	b.Run("View", func(b *testing.B) {
		for b.Loop() {
			flat.View(&places, image.Rectangle{})
		}
	})
	b.Run("View with places", func(b *testing.B) {
		for b.Loop() {
			places.View(&flat, r)
		}
	})
}
