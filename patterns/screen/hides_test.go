package screen_test

import (
	"bytes"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/colour/difference"
	"example.org/plumb/patterns/screen"
)

var usual = screen.Aims[0]

// ways are the kinds of a Hidden and of Masks, in one order.
func ways(h screen.Hidden) [6]screen.Share {
	return [6]screen.Share{h.Shadows, h.Lights, h.Merged, h.Shifted, h.Beyond, h.Any}
}

func maps(m screen.Masks) [6]*image.Alpha {
	return [6]*image.Alpha{m.Shadows, m.Lights, m.Merged, m.Shifted, m.Beyond, m.Any}
}

var wayNames = [6]string{"shadows", "lights", "merged", "shifted", "beyond", "any"}

// The slow twin: what one screen hides of one pixel, from the light of it and of its neighbours.
func hiddenAt(src *image.RGBA, x, y int, p screen.Possible, aim screen.Aim, beyond func(x, y int) float64) (hidden [6]bool) {
	fine, coarse := p, screen.Possible{Tone: screen.Tone{Gamma: 1}, Clip: 255, Bits: p.Bits}
	fine.Bits, fine.Tint = 8, screen.Tint{}
	light := func(p screen.Possible, c color.RGBA) [3]float64 {
		r, g, b := p.Light(c.R, c.G, c.B)
		return [3]float64{r, g, b}
	}
	at := src.RGBAAt(x, y)
	for dy := -1; dy <= 1; dy++ {
		for dx := -1; dx <= 1; dx++ {
			q := image.Pt(x+dx, y+dy)
			if !q.In(src.Rect) || src.RGBAAt(q.X, q.Y) == at {
				continue
			}
			near := src.RGBAAt(q.X, q.Y)
			if light(fine, at) == [3]float64{} && light(fine, near) == [3]float64{} {
				hidden[0] = true
			}
			a, b := light(fine, at), light(fine, near)
			for i, codes := range [3][2]uint8{{at.R, near.R}, {at.G, near.G}, {at.B, near.B}} {
				if a[i] >= 1 && b[i] >= 1 && codes[0] != codes[1] {
					hidden[1] = true
				}
			}
			if light(coarse, at) == light(coarse, near) {
				hidden[2] = true
			}
		}
	}
	lab := func(l [3]float64) colour.Lab {
		return colour.SRGB.Matrix().Apply(colour.XYZ{X: l[0], Y: l[1], Z: l[2]}).Lab(colour.SRGB.White())
	}
	least := math.Inf(1)
	for _, part := range []float64{0, 0.5, 1} {
		var want [3]float64
		for i, c := range []uint8{at.R, at.G, at.B} {
			v := float64(c) / 255
			want[i] = (1-part)*aim.Curves[0].Light(v) + part*aim.Curves[len(aim.Curves)-1].Light(v)
		}
		least = math.Min(least, difference.CIEDE2000(lab(light(p, at)), lab(want)))
	}
	hidden[3] = least > 2.5
	hidden[4] = beyond != nil && beyond(x, y) > p.Reach
	for _, h := range hidden {
		hidden[5] = hidden[5] || h
	}
	return hidden
}

func look(l screen.Look) (screen.Hidden, screen.Masks) {
	h := l.Start()
	last := h.Done()
	for h.Next() {
		if d := h.Done(); d < last || d > 1 {
			panic("looking goes backwards")
		} else {
			last = d
		}
	}
	return h.Hidden(), h.Masks()
}

// reaching gives screens some reach, and pixels colours beyond sRGB.
func reaching(x, y int) float64 { return math.Max(0, float64((x*7+y*3)%10)/10-0.3) }

func TestHidesAgainstTheSlowTwin(t *testing.T) {
	all := append(faulty(), faulty()...)
	for i := range all {
		all[i].Reach = float64(i%5) / 6
	}
	all[3].Bits, all[11].Bits, all[12].Bits = 7, 5, 6
	src := grain(image.Rect(-4, 3, 59, 40), 21)
	for _, aim := range screen.Aims[:3] {
		h, m := look(screen.Look{Source: src, Possible: all, Aim: aim, Beyond: reaching})
		var hides [6][]float64 // by screen: how many pixels it hides
		var most [6]int
		for k := range hides {
			hides[k] = make([]float64, len(all))
		}
		for k, mask := range maps(m) {
			if mask.Rect != image.Rect(0, 0, src.Rect.Dx(), src.Rect.Dy()) {
				t.Fatalf("%s has a mask of %v", wayNames[k], mask.Rect)
			}
		}
		for y := src.Rect.Min.Y; y < src.Rect.Max.Y; y++ {
			for x := src.Rect.Min.X; x < src.Rect.Max.X; x++ {
				var n [6]int
				for i, p := range all {
					for k, hidden := range hiddenAt(src, x, y, p, aim, reaching) {
						if hidden {
							n[k]++
							hides[k][i]++
						}
					}
				}
				for k, mask := range maps(m) {
					want := float64(n[k]) / float64(len(all))
					if got := mask.AlphaAt(x-src.Rect.Min.X, y-src.Rect.Min.Y).A; math.Abs(float64(got)-255*want) > 0.5+1e-9 {
						t.Fatalf("%s, %s at %d, %d: %d of 255, want %.1f", aim.ID, wayNames[k], x, y, got, 255*want)
					}
					most[k] = max(most[k], n[k])
				}
			}
		}
		for k, s := range ways(h) {
			slices.Sort(hides[k])
			mean := 0.0
			for _, n := range hides[k] {
				mean += n / float64(len(all)*h.Pixels)
			}
			middle := (hides[k][(len(all)-1)/2] + hides[k][len(all)/2]) / 2 / float64(h.Pixels)
			if math.Abs(s.At-middle) > 1e-9 || s.Lo > mean+1e-9 || s.Hi < mean-1e-9 || most[k] == 0 {
				t.Errorf("%s, %s: %+v, pixel by pixel %.6f and %.6f in the mean, of up to %d screens", aim.ID, wayNames[k], s, middle, mean, most[k])
			}
		}
		if h.Sampled != h.Pixels || h.Error != 0 || h.Draws != len(all) || !h.Known() {
			t.Errorf("%s: %+v", aim.ID, h)
		}
	}
}

// ramp is one row of greys, each code for the given number of pixels, on the given number of rows.
func ramp(each, rows int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, 256*each, rows))
	for y := range rows {
		for x := range 256 * each {
			c := uint8(x / each)
			img.SetRGBA(x, y, color.RGBA{c, c, c, 255})
		}
	}
	return img
}

// On a ramp the shares of known faults can be counted by hand.
func TestHidesOfARamp(t *testing.T) {
	near := func(name string, got screen.Share, want float64) {
		t.Helper()
		if math.Abs(got.At-want) > 1e-12 || math.Abs(got.Lo-want) > 1e-12 || math.Abs(got.Hi-want) > 1e-12 {
			t.Errorf("%s: %+v, want %g", name, got, want)
		}
	}
	one := func(change func(p *screen.Possible), src image.Image) screen.Hidden {
		p := intended()
		change(&p)
		h, _ := screen.Hides(src, []screen.Possible{p}, usual)
		return h
	}
	for _, crush := range []int{0, 1, 2, 16, 100, 255} {
		h := one(func(p *screen.Possible) { p.Crush = crush }, ramp(1, 4))
		want := float64(crush+1) / 256 // black itself is beside 1, of which it cannot be told
		if crush == 0 {
			want = 0
		}
		near("crush", h.Shadows, want)
		near("lights of crush", h.Lights, 0)
		// Of runs of 10 the pixels beside another code: 2 of each, of the first and the last that are lost 1.
		h = one(func(p *screen.Possible) { p.Crush = crush }, ramp(10, 4))
		near("crush of runs", h.Shadows, float64(2*crush)/2560)
	}
	for _, clip := range []int{255, 254, 235, 100, 1} {
		h := one(func(p *screen.Possible) { p.Clip = clip }, ramp(1, 4))
		want := float64(256-clip) / 256
		if clip == 255 {
			want = 0
		}
		near("clip", h.Lights, want)
		near("shadows of clip", h.Shadows, 0)
	}
	h := one(func(p *screen.Possible) { p.Tone.Squeezed = true }, ramp(1, 4)) // 16 is black and 235 white
	near("shadows of the range", h.Shadows, 17.0/256)
	near("lights of the range", h.Lights, 21.0/256)
	for bits := 5; bits <= 8; bits++ {
		h := one(func(p *screen.Possible) { p.Bits = bits }, ramp(1, 4))
		in := map[int]int{} // codes of each step
		for c := range 256 {
			in[int(math.Round(float64(c)*(math.Exp2(float64(bits))-1)/255))]++
		}
		n := 0
		for _, codes := range in {
			if codes > 1 {
				n += codes
			}
		}
		near("merged", h.Merged, float64(n)/256)
		near("shadows of steps", h.Shadows, 0)
		near("lights of steps", h.Lights, 0)
		if bits == 5 && h.Any.At < h.Merged.At {
			t.Errorf("5 bits: %+v", h)
		}
	}
	// Where nothing is to be seen nothing is lost.
	flat := image.NewUniform(color.RGBA{5, 5, 5, 255})
	h = one(func(p *screen.Possible) { p.Crush, p.Bits = 20, 5 }, &window{flat, image.Rect(0, 0, 30, 30)})
	near("flat shadows", h.Shadows, 0)
	near("flat steps", h.Merged, 0)
	flat = image.NewUniform(color.RGBA{250, 250, 250, 255})
	h = one(func(p *screen.Possible) { p.Clip = 240 }, &window{flat, image.Rect(0, 0, 30, 30)})
	near("flat lights", h.Lights, 0)
}

// window is a part of a picture.
type window struct {
	image.Image
	r image.Rectangle
}

func (w *window) Bounds() image.Rectangle { return w.r }

// A dark channel of a light colour is no shadow; a full channel of any colour is a light.
func TestHidesByChannel(t *testing.T) {
	pair := func(a, b color.RGBA) *image.RGBA {
		img := image.NewRGBA(image.Rect(0, 0, 2, 1))
		img.SetRGBA(0, 0, a)
		img.SetRGBA(1, 0, b)
		return img
	}
	p := intended()
	p.Crush, p.Clip = 10, 245
	for _, c := range []struct {
		a, b          color.RGBA
		shadow, light float64
	}{
		{color.RGBA{0, 0, 0, 255}, color.RGBA{0, 0, 10, 255}, 1, 0},
		{color.RGBA{0, 0, 0, 255}, color.RGBA{0, 0, 11, 255}, 0, 0},
		{color.RGBA{3, 90, 0, 255}, color.RGBA{9, 90, 0, 255}, 0, 0},
		{color.RGBA{245, 90, 0, 255}, color.RGBA{255, 60, 0, 255}, 0, 1},
		{color.RGBA{255, 90, 0, 255}, color.RGBA{255, 60, 0, 255}, 0, 0},
		{color.RGBA{244, 90, 0, 255}, color.RGBA{255, 60, 0, 255}, 0, 0},
		{color.RGBA{255, 246, 255, 255}, color.RGBA{255, 255, 255, 255}, 0, 1},
	} {
		h, _ := screen.Hides(pair(c.a, c.b), []screen.Possible{p}, usual)
		if h.Shadows.At != c.shadow || h.Lights.At != c.light {
			t.Errorf("%v beside %v: shadows %g, lights %g", c.a, c.b, h.Shadows.At, h.Lights.At)
		}
	}
}

func TestAScreenAsIntendedHidesNothing(t *testing.T) {
	src := grain(image.Rect(0, 0, 100, 80), 22)
	many := make([]screen.Possible, 30)
	for i := range many {
		many[i] = intended()
	}
	many[7].Tone = screen.Tone{Gamma: 2.2} // the other end of the aim
	h, m := screen.Hides(src, many, usual)
	for k, s := range ways(h) {
		if s != (screen.Share{}) {
			t.Errorf("%s: %+v", wayNames[k], s)
		}
	}
	for k, mask := range maps(m) {
		if len(mask.Pix) != 8000 || bytes.ContainsFunc(mask.Pix, func(r rune) bool { return r != 0 }) {
			t.Errorf("%s has a mask of %d cells that is not all 0", wayNames[k], len(mask.Pix))
		}
	}
	if !h.Known() {
		t.Error("it is not known")
	}
	// Of a picture that is sampled, the upper end says what may go unseen.
	h, _ = look(screen.Look{Source: src, Possible: many, Aim: usual, Cells: 1000})
	if s := h.Shifted; s.At != 0 || s.Lo != 0 || s.Hi < 0.002 || s.Hi > 0.005 {
		t.Errorf("sampled: shifted %+v", s)
	}
	if h.Shadows != (screen.Share{}) || h.Beyond != (screen.Share{}) {
		t.Errorf("sampled: shadows %+v", h.Shadows)
	}
}

// The more is crushed or clipped, the more is lost; and the fewer bits, the more is merged.
func TestHidesGrowsWithTheFault(t *testing.T) {
	src := grain(image.Rect(0, 0, 90, 60), 23)
	at := func(change func(p *screen.Possible, i int), kind, n int) {
		last := -1.0
		for i := range n {
			p := intended()
			change(&p, i)
			h, _ := screen.Hides(src, []screen.Possible{p}, usual)
			s := ways(h)
			if s[kind].At < last || s[5].At < s[kind].At {
				t.Errorf("%s: step %d hides %g after %g, in any way %g", wayNames[kind], i, s[kind].At, last, s[5].At)
			}
			last = s[kind].At
		}
		if last < 0.2 {
			t.Errorf("%s: at most %g", wayNames[kind], last)
		}
	}
	at(func(p *screen.Possible, i int) { p.Crush = 12 * i }, 0, 10)
	at(func(p *screen.Possible, i int) { p.Clip = 255 - 12*i }, 1, 10)
	at(func(p *screen.Possible, i int) { p.Bits = 8 - i }, 2, 4)
	at(func(p *screen.Possible, i int) { p.Tone.Gamma = 2.2 + 0.1*float64(i) }, 3, 8)
}

// What is unknown about the crush is in the interval: 100 equally likely screens, of which 5 lie outside each end.
func TestTheIntervalIsThatOfTheScreens(t *testing.T) {
	var all []screen.Possible
	for i := range 100 {
		p := intended()
		p.Crush = (i*37)%100 + 1
		all = append(all, p)
	}
	width := func(all []screen.Possible) screen.Share {
		h, _ := screen.Hides(ramp(1, 2), all, usual)
		return h.Shadows
	}
	// Crush of c loses c+1 of 256 codes.
	s := width(all)
	if math.Abs(s.At-51.5/256) > 1e-9 || math.Abs(s.Lo-6.5/256) > 0.51/256 || math.Abs(s.Hi-96.5/256) > 0.51/256 {
		t.Errorf("%.2f to %.2f codes about %.2f", s.Lo*256, s.Hi*256, s.At*256)
	}
	var known []screen.Possible
	for _, p := range all {
		if p.Crush >= 40 && p.Crush <= 60 {
			known = append(known, p)
		}
	}
	if k := width(known); !(k.Hi-k.Lo < (s.Hi-s.Lo)/3) || k.Lo <= s.Lo || k.Hi >= s.Hi {
		t.Errorf("the crush between 40 and 60: %+v", k)
	}
	// A fault that few screens have lies beyond the 95 % of the others; the mean is in the interval all the same.
	few := make([]screen.Possible, 50)
	for i := range few {
		few[i] = intended()
	}
	few[3].Crush = 255
	if s := width(few); s.Lo != 0 || s.At != 0 || math.Abs(s.Hi-0.02) > 1e-12 {
		t.Errorf("one in fifty crushes all: %+v", s)
	}
}

// A large picture: shadows, lights and steps are still counted on all pixels, the others within their error; and masks are means of exact ones.
func TestHidesOfALargePicture(t *testing.T) {
	src := grain(image.Rect(7, -9, 7+310, -9+207), 24)
	all := faulty()
	for i := range all {
		all[i].Reach = float64(i) / 10
	}
	l := screen.Look{Source: src, Possible: all, Aim: usual, Beyond: reaching, Cells: 1 << 20}
	exact, fine := look(l)
	l.Cells = 3000
	h, m := look(l)
	if h.Sampled > 3000 || h.Sampled < 2000 || h.Pixels != 310*207 || math.Abs(h.Error-math.Sqrt(0.25/float64(h.Sampled))) > 1e-12 || exact.Error != 0 {
		t.Fatalf("%d of %d pixels, error %g", h.Sampled, h.Pixels, h.Error)
	}
	for k, s := range ways(h) {
		e := ways(exact)[k]
		if k < 3 && s != e || math.Abs(s.At-e.At) > 3*h.Error || s.Lo > e.Lo+2*h.Error || s.Hi < e.Hi-2*h.Error || k >= 3 && s == e {
			t.Errorf("%s: %+v, exactly %+v", wayNames[k], s, e)
		}
	}
	cols, rows := m.Any.Rect.Dx(), m.Any.Rect.Dy()
	for k := range 3 {
		a, b := maps(m)[k], maps(fine)[k]
		sum, n := make([]float64, cols*rows), make([]float64, cols*rows)
		for y := range 207 {
			for x := range 310 {
				c := y*rows/207*cols + x*cols/310
				sum[c] += float64(b.AlphaAt(x, y).A)
				n[c]++
			}
		}
		for c, v := range a.Pix {
			if math.Abs(float64(v)-sum[c]/n[c]) > 1 {
				t.Fatalf("%s, cell %d: %d, exactly %.2f", wayNames[k], c, v, sum[c]/n[c])
			}
		}
	}
	for c, v := range m.Any.Pix {
		if v < max(m.Shadows.Pix[c], m.Lights.Pix[c], m.Merged.Pix[c], m.Shifted.Pix[c], m.Beyond.Pix[c]) {
			t.Fatalf("cell %d: any way is %d", c, v)
		}
	}
}

// The error of sampling is what is stated: over many ways to lay out a picture, the shares err by no more, and not by a bias.
func TestTheErrorOfSampling(t *testing.T) {
	p := intended()
	p.Tone.Gamma = 2.5
	random := rand.New(rand.NewPCG(25, 25))
	sum, square, n := 0.0, 0.0, 0
	var stated float64
	for range 60 {
		src := grain(image.Rect(0, 0, 120+random.IntN(20), 100), random.Uint64())
		l := screen.Look{Source: src, Possible: []screen.Possible{p}, Aim: usual, Cells: 1 << 20}
		exact, _ := look(l)
		l.Cells = 400
		h, _ := look(l)
		d := h.Shifted.At - exact.Shifted.At
		sum, square, stated, n = sum+d, square+d*d, h.Error, n+1
	}
	mean, rms := sum/float64(n), math.Sqrt(square/float64(n))
	if rms > 1.2*stated || rms < 0.5*stated || math.Abs(mean) > 3*stated/math.Sqrt(float64(n)) {
		t.Errorf("errs by %.4f, %.4f on average; stated %.4f", rms, mean, stated)
	}
}

// Stripes as wide as the cells are sampled as they are, along both sides.
func TestSamplingOfStripes(t *testing.T) {
	p := intended()
	p.Tone.Gamma = 2.8
	for _, columns := range []bool{false, true} {
		src := image.NewRGBA(image.Rect(0, 0, 600, 600))
		for i := 0; i < len(src.Pix); i += 4 {
			at := i / 4 / 600
			if columns {
				at = i / 4 % 600
			}
			if src.Pix[i+3] = 255; at%10 == 0 {
				src.Pix[i], src.Pix[i+1], src.Pix[i+2] = 120, 120, 120
			}
		}
		h, _ := look(screen.Look{Source: src, Possible: []screen.Possible{p}, Aim: usual, Cells: 3600})
		if h.Sampled != 3600 || math.Abs(h.Shifted.At-0.1) > 3*h.Error {
			t.Errorf("columns %t: of a tenth %.4f, error %.4f", columns, h.Shifted.At, h.Error)
		}
	}
}

// Any way is never less than one of them, even where the pixel sampled says so.
func TestAnyWayIsNotLessThanOne(t *testing.T) {
	p := intended()
	p.Crush = 20
	for _, left := range []bool{false, true} {
		src := image.NewRGBA(image.Rect(0, 0, 40, 10))
		for i := 0; i < len(src.Pix); i += 4 {
			c := uint8(200)
			if x := i / 4 % 40; x < 20 == left {
				c = uint8(x % 2)
			}
			src.Pix[i], src.Pix[i+1], src.Pix[i+2], src.Pix[i+3] = c, c, c, 255
		}
		h, _ := look(screen.Look{Source: src, Possible: []screen.Possible{p}, Aim: usual, Cells: 1})
		if h.Sampled != 1 || h.Shadows.At != 0.5 || h.Any.At < 0.5 {
			t.Errorf("of %d pixels: shadows %g, any way %g", h.Sampled, h.Shadows.At, h.Any.At)
		}
	}
}

// A part of a picture is a picture of its own, of whatever kind it is, and looking twice finds the same.
func TestHidesOfAPart(t *testing.T) {
	src := grain(image.Rect(0, 0, 80, 60), 26)
	r := image.Rect(13, 5, 60, 44)
	moved := image.NewRGBA(image.Rect(0, 0, r.Dx(), r.Dy()))
	for y := range r.Dy() {
		for x := range r.Dx() {
			moved.SetRGBA(x, y, src.RGBAAt(r.Min.X+x, r.Min.Y+y))
		}
	}
	want, masks := look(screen.Look{Source: moved, Possible: faulty(), Aim: usual, Cells: 500})
	for name, s := range map[string]image.Image{"part": src.SubImage(r), "window": &window{src, r}, "again": moved} {
		h, m := look(screen.Look{Source: s, Possible: faulty(), Aim: usual, Cells: 500})
		if h != want {
			t.Errorf("%s: %+v, want %+v", name, h, want)
		}
		for k := range maps(m) {
			if !bytes.Equal(maps(m)[k].Pix, maps(masks)[k].Pix) {
				t.Errorf("%s: other masks", name)
			}
		}
	}
}

// Nothing is claimed without a picture, without screens, without an aim or before the end.
func TestNothingIsClaimedOfNothing(t *testing.T) {
	src := grain(image.Rect(0, 0, 500, 500), 27)
	under := screen.Look{Source: src, Possible: faulty(), Aim: usual}.Start()
	under.Next()
	var zero screen.Hidden
	if zero.Known() {
		t.Error("the zero Hidden is known")
	}
	none, _ := screen.Hides(src, nil, usual)
	empty, masks := screen.Hides(image.NewRGBA(image.Rect(5, 5, 5, 9)), faulty(), usual)
	missing, _ := screen.Hides(nil, faulty(), usual)
	for name, h := range map[string]screen.Hidden{"no screens": none, "an empty picture": empty, "no picture": missing, "a look under way": under.Hidden()} {
		if h.Known() {
			t.Errorf("%s is known", name)
		}
		for k, s := range ways(h) {
			if s.Lo != 0 || s.Hi != 1 || s.At != 1 {
				t.Errorf("%s: %s %+v", name, wayNames[k], s)
			}
		}
	}
	without := maps(masks)
	for _, m := range append(without[:], under.Masks().Any) {
		if m == nil || len(m.Pix) != 0 {
			t.Error("a mask of nothing has cells")
		}
	}
	h, _ := screen.Hides(src, []screen.Possible{intended()}, screen.Aim{})
	if h.Shifted.At != 1 {
		t.Errorf("without an aim %g is shifted", h.Shifted.At)
	}
	h, _ = screen.Hides(src, make([]screen.Possible, 1), usual)
	if h.Any.At < 0.5 || h.Lights.At < 0.5 {
		t.Errorf("the zero Possible hides %+v", h)
	}
}

// The quick way to tell a shift tells what CIEDE2000 does, wherever it tells at all; and it nearly always does for colours that keep their hue.
func TestShiftedIsCIEDE2000(t *testing.T) {
	random := rand.New(rand.NewPCG(28, 28))
	const n = 400000
	for name, spread := range map[string]struct{ hue, least float64 }{"any": {1, 0.6}, "kept": {0.05, 0.98}} {
		yes, known := 0, 0
		for range n {
			// Half of the colours are near greys or blue, where the weights and the cross term are at their ends.
			c := math.Abs(random.NormFloat64()) * 40 * float64(random.IntN(2))
			h := random.Float64() * 2 * math.Pi
			if random.IntN(2) == 0 {
				h = (275 + 20*random.NormFloat64()) * math.Pi / 180
			}
			p := colour.Lab{L: 100 * random.Float64(), A: c * math.Cos(h), B: c * math.Sin(h)}
			along, across := 2*random.NormFloat64(), 2*spread.hue*random.NormFloat64()
			q := colour.Lab{L: p.L + 2*random.NormFloat64(), A: p.A + along*math.Cos(h) - across*math.Sin(h), B: p.B + along*math.Sin(h) + across*math.Cos(h)}
			want := difference.CIEDE2000(p, q) > 2.5
			if want {
				yes++
			}
			got, ok := screen.Shifted(p, q)
			if ok {
				known++
			}
			if ok && got != want {
				t.Fatalf("%v against %v, ΔE00 %g: %t", p, q, difference.CIEDE2000(p, q), got)
			}
		}
		if yes < n/10 || yes > n*9/10 || float64(known) < spread.least*n {
			t.Errorf("hue %s: %d of %d are shifted, %d are told", name, yes, n, known)
		}
	}
}

// The bounds that the quick way takes for what depends on hue alone are those of equation 15 of Sharma, Wu and Dalal 2005.
func TestTheBoundsOfT(t *testing.T) {
	least, most := math.Inf(1), math.Inf(-1)
	for i := range 360000 {
		h := float64(i) / 1000 * math.Pi / 180
		v := 1 - 0.17*math.Cos(h-math.Pi/6) + 0.24*math.Cos(2*h) + 0.32*math.Cos(3*h+math.Pi/30) - 0.20*math.Cos(4*h-63*math.Pi/180)
		least, most = math.Min(least, v), math.Max(most, v)
	}
	if least < screen.LeastT || most > screen.MostT || least > screen.LeastT+0.01 || most < screen.MostT-0.01 {
		t.Errorf("T is %.4f to %.4f, taken as %g to %g", least, most, screen.LeastT, screen.MostT)
	}
}

// The quick way to a colour errs by no more than it says.
func TestTheErrorOfSketches(t *testing.T) {
	random := rand.New(rand.NewPCG(29, 29))
	worst := 0.0
	for i := range 300000 {
		scale := math.Pow(10, -4*random.Float64()) * 1.3
		c := [3]float64{scale * random.Float64(), scale * random.Float64(), scale * random.Float64()}
		if i%3 == 0 {
			c = [3]float64{2.5 * random.Float64(), 0, 2.5 * random.Float64()}
		}
		p, q := screen.Sketch(c[0], c[1], c[2]), screen.Lab(c[0], c[1], c[2])
		worst = math.Max(worst, math.Max(math.Abs(p.L-q.L), math.Max(math.Abs(p.A-q.A), math.Abs(p.B-q.B))))
	}
	if worst > screen.SketchError || worst == 0 {
		t.Errorf("errs by %g", worst)
	}
}

// The share lost in shadows is that which a known filter takes: where pixels that touch differ, and both are black behind it. Of a filter that makes codes up to one
// black, seen on a screen of which as much is known, to the code or to one up and down, and however the picture is turned.
func TestTheShadowsOfAKnownFilter(t *testing.T) {
	const w, h = 900, 600
	src := photograph(w, h)
	for i, c := range src.Pix { // darker, for deep shadows
		if i%4 != 3 {
			src.Pix[i] = uint8(max(int(c)-28, 0))
		}
	}
	turn := func(n int, x, y int) (int, int) { // of the eight ways of EXIF
		if n&1 != 0 {
			x = w - 1 - x
		}
		if n&2 != 0 {
			y = h - 1 - y
		}
		if n&4 != 0 {
			x, y = y, x
		}
		return x, y
	}
	for way := range 8 {
		img := image.NewRGBA(image.Rect(0, 0, w, h))
		if way&4 != 0 {
			img = image.NewRGBA(image.Rect(0, 0, h, w))
		}
		for y := range h {
			for x := range w {
				tx, ty := turn(way, x, y)
				img.SetRGBA(tx, ty, src.RGBAAt(x, y))
			}
		}
		for _, k := range []int{6, 14, 30} {
			filtered := func(x, y int) bool { // black behind the filter
				c := img.RGBAAt(x, y)
				return int(max(c.R, c.G, c.B)) <= k
			}
			lost := 0
			for y := range img.Rect.Dy() {
				for x := range img.Rect.Dx() {
					if !filtered(x, y) {
						continue
					}
					gone := false
					for _, d := range [8]image.Point{{-1, -1}, {0, -1}, {1, -1}, {-1, 0}, {1, 0}, {-1, 1}, {0, 1}, {1, 1}} {
						q := image.Pt(x+d.X, y+d.Y)
						gone = gone || q.In(img.Rect) && filtered(q.X, q.Y) && img.RGBAAt(q.X, q.Y) != img.RGBAAt(x, y)
					}
					if gone {
						lost++
					}
				}
			}
			want := float64(lost) / (w * h)
			if want < 0.02 {
				t.Fatalf("codes up to %d are lost in %.4f of the picture", k, want)
			}
			for _, spread := range []int{0, 1} {
				var possible []screen.Possible
				for i := range 30 {
					p := intended()
					p.Crush = k + i%(2*spread+1) - spread
					possible = append(possible, p)
				}
				looking := screen.Look{Possible: possible, Aim: usual}.Rows(img.Rect.Dx(), img.Rect.Dy())
				looking.Push(img.Pix)
				for looking.Next() {
				}
				got := looking.Hidden()
				if off := math.Abs(got.Shadows.At - want); off > 0.015 || spread == 0 && off > 1e-12 || got.Shadows.Lo > want+1e-12 || got.Shadows.Hi < want-1e-12 {
					t.Errorf("way %d, up to %d and %d about it: %+v, the filter takes %.5f", way, k, spread, got.Shadows, want)
				}
			}
		}
	}
}

// A picture that comes in bands is the picture that is there at once.
func TestBandsAreTheWhole(t *testing.T) {
	all := faulty()
	all[2].Bits, all[5].Bits = 6, 5
	random := rand.New(rand.NewPCG(30, 30))
	for _, size := range []image.Point{{1, 1}, {1, 300}, {300, 1}, {2, 2}, {63, 41}, {64, 40}, {65, 77}, {700, 130}, {129, 300}} {
		src := grain(image.Rectangle{Max: size}, uint64(size.X))
		l := screen.Look{Source: src, Possible: all, Aim: usual, Cells: 900, Beyond: reaching}
		want, masks := look(l)
		for _, most := range []int{1, 3, 256, 1 << 20} {
			h := l.Rows(size.X, size.Y)
			band := make([]byte, 0, len(src.Pix))
			for y := 0; y < size.Y; {
				if h.Next() && y < size.Y {
					t.Fatal("there is something to do without rows")
				}
				if h.Hidden().Known() {
					t.Fatal("half a picture is known")
				}
				n := min(1+random.IntN(most), size.Y-y)
				band = append(band[:0], src.Pix[y*src.Stride:(y+n)*src.Stride]...)
				h.Push(band)
				clear(band) // it is not kept
				y += n
			}
			h.Push(src.Pix) // more than there is
			for h.Next() {
			}
			if got := h.Hidden(); got != want {
				t.Errorf("%v in bands of up to %d: %+v, want %+v", size, most, got, want)
			}
			got := h.Masks()
			for k := range maps(masks) {
				if !bytes.Equal(maps(got)[k].Pix, maps(masks)[k].Pix) {
					t.Errorf("%v in bands of up to %d: other masks", size, most)
				}
			}
		}
	}
	var none screen.Look
	for _, h := range []*screen.Hiding{none.Rows(5, 5), screen.Look{Possible: all}.Rows(0, 5), screen.Look{Possible: all}.Rows(5, -1), none.Start()} {
		h.Push(make([]byte, 400))
		if h.Next() || h.Hidden().Known() || h.Done() != 1 {
			t.Error("something is known of nothing")
		}
	}
}

func FuzzHides(f *testing.F) {
	f.Add(1, 1, 1, uint8(3), uint8(250), uint8(5), uint64(1))
	f.Add(0, 7, 5, uint8(0), uint8(0), uint8(9), uint64(2))
	f.Add(1, 39, 3, uint8(255), uint8(255), uint8(0), uint64(3))
	f.Add(39, 2, 7, uint8(9), uint8(250), uint8(6), uint64(4))
	f.Fuzz(func(t *testing.T, w, h, cells int, crush, clip, bits uint8, seed uint64) {
		src := grain(image.Rect(0, 0, w%40, h%40), seed)
		p := intended()
		p.Crush, p.Clip, p.Bits = int(crush), int(clip), int(bits%12)
		found, m := look(screen.Look{Source: src, Possible: []screen.Possible{p, intended()}, Aim: usual, Cells: cells % 2000, Beyond: reaching})
		if found.Known() != (src.Rect.Dx()*src.Rect.Dy() > 0) || found.Sampled > found.Pixels || cells%2000 > 0 && found.Sampled > cells%2000 {
			t.Fatalf("%v: %+v", src.Rect, found)
		}
		for k, s := range ways(found) {
			if !(0 <= s.Lo && s.Lo <= s.At && s.At <= s.Hi && s.Hi <= 1) {
				t.Fatalf("%s: %+v", wayNames[k], s)
			}
			if n := len(maps(m)[k].Pix); n != found.Sampled {
				t.Fatalf("%s: a mask of %d cells for %d samples", wayNames[k], n, found.Sampled)
			}
		}
	})
}

// photograph is a picture with soft forms and a little grain, shadows and lights in it.
func photograph(w, h int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	random := rand.New(rand.NewPCG(1, 1))
	for y := range h {
		fy := float64(y) / float64(h)
		for x := range w {
			fx := float64(x) / float64(w)
			v := 128 + 140*math.Sin(5*fx+3*fy)*math.Cos(4*fy)
			n := random.NormFloat64() * 2
			code := func(v float64) uint8 { return uint8(min(max(v+n, 0), 255)) }
			o := img.PixOffset(x, y)
			img.Pix[o], img.Pix[o+1], img.Pix[o+2], img.Pix[o+3] = code(v*1.1), code(v), code(v*0.8+20*fx), 255
		}
	}
	return img
}

func BenchmarkHides(b *testing.B) {
	src := photograph(6000, 4000)
	random := rand.New(rand.NewPCG(2, 2))
	all := make([]screen.Possible, 250)
	for i := range all {
		p := intended()
		p.Tone = screen.Tone{Gamma: 2.2 + 0.1*random.NormFloat64(), Offset: 0.01 * random.NormFloat64(), S: 0.01 * random.NormFloat64()}
		p.Crush, p.Clip, p.Bits = random.IntN(6), 255-random.IntN(4), 6+random.IntN(3)
		p.Tint[0][0], p.Tint[1][0] = 0.002*random.NormFloat64(), 0.002*random.NormFloat64()
		all[i] = p
	}
	b.Run("24 megapixels", func(b *testing.B) {
		var longest float64
		for b.Loop() {
			h := screen.Look{Source: src, Possible: all, Aim: usual}.Start()
			for h.Next() {
			}
			h.Masks()
			longest = max(longest, h.Hidden().Any.At)
		}
		b.ReportMetric(longest, "share")
	})
	b.Run("pixels alone", func(b *testing.B) {
		for b.Loop() {
			screen.Look{Source: src, Possible: all[:1], Aim: usual, Cells: 1}.Start()
			h := screen.Look{Source: src, Possible: all[:30], Aim: usual, Cells: 1}.Start()
			for h.Next() {
			}
		}
	})
}
