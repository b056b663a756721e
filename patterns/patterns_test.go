package patterns_test

import (
	"bytes"
	"image"
	"image/color"
	"math/rand/v2"
	"testing"

	"example.org/plumb/patterns"
)

// sample is a pattern under test; twin says in the plainest way what one pixel of it is, laid out over b.
type sample struct {
	name string
	patterns.Pattern
	twin func(b image.Rectangle, x, y int) color.RGBA
}

// kind is the name before the first slash.
func (s sample) kind() string {
	for i, c := range s.name {
		if c == '/' {
			return s.name[:i]
		}
	}
	return s.name
}

// samples has every pattern, the ordinary case of each first.
func samples() []sample {
	var all []sample
	add := func(name string, p patterns.Pattern) { all = append(all, sample{name, p, twin(p)}) }
	add("solid/200-100-50", patterns.Solid{R: 200, G: 100, B: 50})
	add("solid/zero", patterns.Solid{})
	add("solid/grey", patterns.Grey(119))
	add("steps/0-255-11", patterns.GreySteps{From: 0, To: 255, Steps: 11})
	add("steps/255-0-11", patterns.GreySteps{From: 255, To: 0, Steps: 11})
	add("steps/64-65-2-down", patterns.GreySteps{From: 64, To: 65, Steps: 2, Vertical: true})
	add("steps/0-32-33-down", patterns.GreySteps{From: 0, To: 32, Steps: 33, Vertical: true})
	add("steps/zero", patterns.GreySteps{})
	add("steps/many", patterns.GreySteps{From: 3, To: 250, Steps: 1 << 40})
	add("cells/0-12-5", patterns.Cells{Ground: 0, Patch: 12, Cell: 5})
	add("cells/255-250-0", patterns.Cells{Ground: 255, Patch: 250, Cell: 0})
	add("cells/0-1-8", patterns.Cells{Ground: 0, Patch: 1, Cell: 8})
	add("cells/none", patterns.Cells{Ground: 0, Patch: 12, Cell: -1})
	add("cells/beyond", patterns.Cells{Ground: 0, Patch: 12, Cell: 9})
	add("gradient/0-255", patterns.Gradient{From: 0, To: 255})
	add("gradient/96-64-down", patterns.Gradient{From: 96, To: 64, Vertical: true})
	add("gradient/flat", patterns.Gradient{From: 7, To: 7})
	add("field/128-3x3-4-20", patterns.Field{Ground: 128, Rows: 3, Cols: 3, Place: 4, Delta: 20})
	add("field/64-5x5-7-minus3", patterns.Field{Ground: 64, Rows: 5, Cols: 5, Place: 7, Delta: -3})
	add("field/255-3x3-0-minus12", patterns.Field{Ground: 255, Rows: 3, Cols: 3, Place: 0, Delta: -12})
	add("field/250-1x2-1-127", patterns.Field{Ground: 250, Rows: 1, Cols: 2, Place: 1, Delta: 127})
	add("field/100-1x1-0-minus128", patterns.Field{Ground: 100, Rows: 1, Cols: 1, Place: 0, Delta: -128})
	add("field/none", patterns.Field{Ground: 128, Rows: 3, Cols: 3, Place: -1, Delta: 20})
	add("field/zero", patterns.Field{})
	add("field/tint-pink", patterns.Field{Ground: 128, Rows: 3, Cols: 3, Place: 2, Red: 9, Blue: -4})
	add("field/tint-against", patterns.Field{Ground: 119, Rows: 1, Cols: 1, Place: 0, Delta: -6, Red: 12, Blue: 6})
	add("field/tint-huge", patterns.Field{Ground: 130, Rows: 1, Cols: 1, Place: 0, Delta: 127, Red: 127, Blue: -128})
	add("field/tint-cut", patterns.Field{Ground: 253, Rows: 2, Cols: 1, Place: 1, Delta: 2, Red: 3, Blue: -5})
	add("field/marks", patterns.Field{Ground: 128, Rows: 3, Cols: 3, Place: 6, Delta: 5, Red: 2, Marks: true})
	add("field/marks-dark", patterns.Field{Ground: 40, Rows: 5, Cols: 5, Place: 12, Delta: 5, Marks: true})
	add("field/marks-even", patterns.Field{Ground: 41, Rows: 2, Cols: 4, Place: 0, Delta: -5, Marks: true})
	add("field/marks-none", patterns.Field{Ground: 255, Rows: 3, Cols: 3, Place: 9, Delta: 5, Marks: true})
	add("field/marks-no-grid", patterns.Field{Ground: 8, Cols: 3, Delta: 5, Marks: true})
	add("mix/0-255-1of2", patterns.Mix{A: 0, B: 255, Lit: 1, Of: 2})
	add("mix/0-255-3of8-columns", patterns.Mix{A: 0, B: 255, Lit: 3, Of: 8, Columns: true})
	add("mix/136-186-2of3", patterns.Mix{A: 136, B: 186, Lit: 2, Of: 3})
	add("mix/all", patterns.Mix{A: 1, B: 2, Lit: 9, Of: 4})
	add("mix/zero", patterns.Mix{})
	add("match/0-255-1of2-188", patterns.Match{Lines: patterns.Mix{A: 0, B: 255, Lit: 1, Of: 2}, Plain: 188, Ground: 119, Side: 48})
	add("match/186-255-3of8-columns-left", patterns.Match{
		Lines: patterns.Mix{A: 186, B: 255, Lit: 3, Of: 8, Columns: true}, Plain: 215, Ground: 119, Side: 24, PlainLeft: true,
	})
	add("match/odd", patterns.Match{Lines: patterns.Mix{A: 9, B: 5, Lit: 2, Of: 5}, Plain: 7, Ground: 1, Side: 7})
	add("match/negative", patterns.Match{Lines: patterns.Mix{A: 9, B: 5, Lit: 2, Of: 5}, Plain: 7, Ground: 1, Side: -7})
	add("match/tint", patterns.Match{
		Lines: patterns.Mix{A: 0, B: 255, Lit: 1, Of: 2}, Plain: 188, Ground: 119, Side: 48, Red: 11, Blue: -7,
	})
	add("match/tint-cut-top", patterns.Match{
		Lines: patterns.Mix{A: 0, B: 255, Lit: 1, Of: 2}, Plain: 100, Ground: 90, Side: 20, Red: -128, Blue: 127, At: -1,
	})
	add("match/tint-white-bottom", patterns.Match{
		Lines: patterns.Mix{A: 200, B: 255, Lit: 2, Of: 3}, Plain: 250, Ground: 90, Side: 12, Red: 6, Blue: 5, At: 1, PlainLeft: true,
	})
	add("match/red", patterns.Match{
		Lines: patterns.Mix{A: 10, B: 255, Lit: 1, Of: 2}, Plain: 188, Ground: 119, Side: 24, Red: 3, Blue: 5, Channel: 1,
	})
	add("match/green-columns", patterns.Match{
		Lines: patterns.Mix{A: 10, B: 255, Lit: 3, Of: 8, Columns: true}, Plain: 188, Ground: 119, Side: 30, Channel: 2, At: 127,
	})
	add("match/blue-columns-left", patterns.Match{
		Lines: patterns.Mix{A: 10, B: 255, Lit: 2, Of: 3, Columns: true}, Plain: 188, Ground: 119, Side: 48, Red: 3, Blue: 5, Channel: 3, PlainLeft: true,
	})
	add("match/channel-beyond", patterns.Match{
		Lines: patterns.Mix{A: 0, B: 255, Lit: 1, Of: 4, Columns: true}, Plain: 188, Ground: 119, Side: 1 << 40, Channel: 4, At: -128,
	})
	add("pair/90-160", patterns.Pair{Left: 90, Right: 160, Ground: 119, Side: 48})
	add("pair/huge", patterns.Pair{Left: 90, Right: 160, Ground: 119, Side: 1 << 40})
	add("pair/tint", patterns.Pair{Left: 119, Right: 120, Ground: 119, Side: 48, LeftTint: [2]int8{14, -9}})
	add("pair/tint-cut-top", patterns.Pair{Left: 250, Right: 3, Ground: 119, Side: 20, At: -1, LeftTint: [2]int8{9, -3}, RightTint: [2]int8{-9, 127}})
	add("pair/bottom", patterns.Pair{Left: 90, Right: 160, Ground: 119, Side: 1 << 40, At: 1})
	add("quarters/64-80-1", patterns.Quarters{Ground: 40, Base: 64, Patch: 80, Cell: 1})
	add("quarters/100-101-0", patterns.Quarters{Ground: 90, Base: 100, Patch: 101, Cell: 0})
	add("quarters/100-99-2", patterns.Quarters{Ground: 90, Base: 100, Patch: 99, Cell: 2})
	add("quarters/24-25-3", patterns.Quarters{Ground: 24, Base: 24, Patch: 25, Cell: 3})
	add("quarters/none", patterns.Quarters{Ground: 40, Base: 64, Patch: 80, Cell: -1})
	add("quarters/beyond", patterns.Quarters{Ground: 40, Base: 64, Patch: 80, Cell: 4})
	add("quarters/zero", patterns.Quarters{})
	add("ramps/32-96-6", patterns.Ramps{From: 32, To: 96, Bits: 6, Ground: 20})
	add("ramps/96-32-6-top", patterns.Ramps{From: 96, To: 32, Bits: 6, CoarseTop: true, Ground: 20})
	add("ramps/0-255-5-top", patterns.Ramps{From: 0, To: 255, Bits: 5, CoarseTop: true, Ground: 128})
	add("ramps/40-200-7", patterns.Ramps{From: 40, To: 200, Bits: 7, Ground: 30})
	add("ramps/40-200-8", patterns.Ramps{From: 40, To: 200, Bits: 8, Ground: 30})
	add("ramps/few-bits", patterns.Ramps{From: 3, To: 250, Bits: -1 << 40})
	add("ramps/many-bits", patterns.Ramps{From: 250, To: 3, Bits: 1 << 40})
	add("ramps/zero", patterns.Ramps{})
	add("fours/red-2", patterns.Fours{Ground: 60, Base: [3]uint8{200, 20, 30}, Mark: [3]uint8{170, 24, 34}, Cell: 2})
	add("fours/green-0", patterns.Fours{Ground: 60, Base: [3]uint8{0, 255, 0}, Mark: [3]uint8{20, 240, 10}, Cell: 0})
	add("fours/grey-1", patterns.Fours{Ground: 60, Base: [3]uint8{90, 91, 92}, Mark: [3]uint8{1, 2, 3}, Cell: 1})
	add("fours/blue-3", patterns.Fours{Ground: 0, Base: [3]uint8{0, 0, 255}, Mark: [3]uint8{255, 255, 255}, Cell: 3})
	add("fours/none", patterns.Fours{Ground: 60, Base: [3]uint8{200, 20, 30}, Mark: [3]uint8{170, 24, 34}, Cell: -1})
	add("fours/beyond", patterns.Fours{Ground: 60, Base: [3]uint8{200, 20, 30}, Mark: [3]uint8{170, 24, 34}, Cell: 4})
	add("fours/zero", patterns.Fours{})
	return all
}

// sizes are the frames that every sample is painted in: all the small ones, where rounding shows, and some as people have them.
func sizes() []image.Point {
	var all []image.Point
	for w := 1; w <= 17; w++ {
		for h := 1; h <= 17; h++ {
			all = append(all, image.Pt(w, h))
		}
	}
	return append(all, image.Pt(37, 23), image.Pt(96, 64), image.Pt(101, 211), image.Pt(256, 3), image.Pt(320, 568), image.Pt(641, 359))
}

func TestEveryPixelIsAsItsTwinSays(t *testing.T) {
	for _, s := range samples() {
		for _, size := range sizes() {
			if size.X*size.Y > 40000 {
				continue // slow twins
			}
			for _, origin := range []image.Point{{}, {X: -5, Y: 9}} {
				dst := image.NewRGBA(image.Rectangle{Max: size}.Add(origin))
				s.Paint(dst, dst.Rect)
				for y := dst.Rect.Min.Y; y < dst.Rect.Max.Y; y++ {
					for x := dst.Rect.Min.X; x < dst.Rect.Max.X; x++ {
						if got, want := dst.RGBAAt(x, y), s.twin(dst.Rect, x, y); got != want {
							t.Fatalf("%s in %v: (%d, %d) is %v, want %v", s.name, dst.Rect, x, y, got, want)
						}
					}
				}
			}
		}
	}
}

// TestBandsMakeTheWhole paints random rectangles into part of a larger image and looks at every byte of it.
func TestBandsMakeTheWhole(t *testing.T) {
	random := rand.New(rand.NewPCG(20, 26))
	for _, s := range samples() {
		for range 60 {
			outer := image.NewRGBA(image.Rect(-4, -7, 60+random.IntN(80), 50+random.IntN(40)))
			b := image.Rect(random.IntN(20)-4, random.IntN(20)-7, 20+random.IntN(40), 20+random.IntN(30))
			dst := outer.SubImage(b).(*image.RGBA)
			whole := image.NewRGBA(b)
			s.Paint(whole, b)

			for i := range outer.Pix {
				outer.Pix[i] = uint8(random.Uint32())
			}
			before := bytes.Clone(outer.Pix)
			x, y := random.IntN(b.Dx()), random.IntN(b.Dy())
			r := image.Rect(x, y, x+1+random.IntN(b.Dx()), y+1+random.IntN(b.Dy())).Add(b.Min)
			s.Paint(dst, r)
			for y := outer.Rect.Min.Y; y < outer.Rect.Max.Y; y++ {
				for x := outer.Rect.Min.X; x < outer.Rect.Max.X; x++ {
					i := outer.PixOffset(x, y)
					want := before[i : i+4]
					if p := image.Pt(x, y); p.In(r) && p.In(b) {
						j := whole.PixOffset(x, y)
						want = whole.Pix[j : j+4]
					}
					if !bytes.Equal(outer.Pix[i:i+4], want) {
						t.Fatalf("%s over %v painted %v: (%d, %d) is %v, want %v", s.name, b, r, x, y, outer.Pix[i:i+4], want)
					}
				}
			}
		}
	}
}

func TestAllIsOpaque(t *testing.T) {
	for _, s := range samples() {
		for _, size := range sizes() {
			img := patterns.Render(s, size.X, size.Y)
			if img.Rect.Size() != size {
				t.Fatalf("%s: a frame of %v, want %v", s.name, img.Rect.Size(), size)
			}
			for i := 3; i < len(img.Pix); i += 4 {
				if img.Pix[i] != 255 {
					t.Fatalf("%s at %v: pixel %d is not opaque", s.name, size, i/4)
				}
			}
		}
	}
}

func TestNothingToPaint(t *testing.T) {
	for _, s := range samples() {
		for _, size := range []image.Point{{}, {X: 5}, {Y: 5}, {X: -3, Y: 4}, {X: -3, Y: -4}} {
			if img := patterns.Render(s, size.X, size.Y); len(img.Pix) != 0 {
				t.Errorf("%s: %v has pixels", s.name, size)
			}
		}
		dst := image.NewRGBA(image.Rect(2, 2, 12, 12))
		for _, r := range []image.Rectangle{{}, image.Rect(0, 0, 2, 2), image.Rect(12, 2, 20, 12), image.Rect(5, 5, 5, 9), {Min: image.Pt(9, 9), Max: image.Pt(3, 3)}} {
			s.Paint(dst, r)
			for i, v := range dst.Pix {
				if v != 0 {
					t.Fatalf("%s painted %v: byte %d was set", s.name, r, i)
				}
			}
		}
	}
}

func TestPaintingAllocatesNothing(t *testing.T) {
	dst := image.NewRGBA(image.Rect(0, 0, 300, 200))
	for _, s := range samples() {
		p := s.Pattern
		if n := testing.AllocsPerRun(5, func() { p.Paint(dst, dst.Rect) }); n != 0 {
			t.Errorf("%s: %v allocations", s.name, n)
		}
	}
}
