package patterns_test

import (
	"image"
	"image/color"
	"testing"

	"example.org/plumb/patterns"
)

// TestSpotsHaveNoEdge looks at each pair of neighbours: a code apart at most, higher towards the middle, flat at the border of the place.
func TestSpotsHaveNoEdge(t *testing.T) {
	spots := 0
	for _, size := range []image.Point{{4, 4}, {9, 30}, {37, 23}, {101, 211}, {190, 151}} {
		for _, delta := range []int8{-128, -20, -1, 1, 2, 3, 20, 64, 127} {
			for _, place := range []int{0, 4, 8} {
				f := patterns.Field{Ground: 128, Rows: 3, Cols: 3, Place: place, Delta: delta}
				img := patterns.Render(f, size.X, size.Y)
				p := patterns.FieldPlace(img.Rect, 3, 3, place)
				up := func(x, y int) int {
					d := int(img.Pix[img.PixOffset(x, y)]) - int(f.Ground)
					if delta < 0 {
						d = -d
					}
					return d
				}
				peak, seen := int(f.Peak(img.Rect))-int(f.Ground), 0
				if delta < 0 {
					peak = -peak
				}
				if want := min(max(int(delta), -int(delta)), min(p.Dx(), p.Dy())/4, 127); delta > 0 && peak != want {
					t.Fatalf("%+v at %v: a peak of %d, want %d", f, size, peak, want)
				}
				for y := range size.Y {
					for x := range size.X {
						d := up(x, y)
						seen = max(seen, d)
						if d < 0 || d > 0 && !image.Pt(x, y).In(p) {
							t.Fatalf("%+v at %v: (%d, %d) is off by %d", f, size, x, y, d)
						}
						if x > 0 {
							checkStep(t, f, d-up(x-1, y), 2*x-1 < p.Min.X+p.Max.X-1)
						}
						if y > 0 {
							checkStep(t, f, d-up(x, y-1), 2*y-1 < p.Min.Y+p.Max.Y-1)
						}
					}
				}
				if seen != peak {
					t.Fatalf("%+v at %v: the middle is off by %d, Peak says %d", f, size, seen, peak)
				}
				if peak > 0 {
					spots++
				}
			}
		}
	}
	if spots == 0 {
		t.Fatal("no spot was painted")
	}
}

// checkStep fails if a step to the next pixel is more than one code, or down where the middle is still ahead.
func checkStep(t *testing.T, f patterns.Field, step int, ahead bool) {
	t.Helper()
	if step > 1 || step < -1 {
		t.Fatalf("%+v: a step of %d codes", f, step)
	}
	if ahead && step < 0 || !ahead && step > 0 {
		t.Fatalf("%+v: a step of %d codes, middle ahead: %v", f, step, ahead)
	}
}

func TestPeakStaysInRange(t *testing.T) {
	b := image.Rect(0, 0, 3000, 3000)
	for _, c := range []struct {
		ground uint8
		delta  int8
		place  int
		want   uint8
	}{{128, 20, 4, 148}, {128, -20, 4, 108}, {250, 20, 4, 255}, {3, -20, 4, 0}, {255, -128, 4, 127}, {128, 20, -1, 128}, {128, 20, 9, 128}, {128, 0, 4, 128}} {
		if got := (patterns.Field{Ground: c.ground, Rows: 3, Cols: 3, Place: c.place, Delta: c.delta}).Peak(b); got != c.want {
			t.Errorf("%+v: a peak of %d", c, got)
		}
	}
}

// TestLargeSpots compares the middle row and column of a spot as large as screens have them with the formula.
func TestLargeSpots(t *testing.T) {
	f := patterns.Field{Ground: 100, Rows: 1, Cols: 1, Place: 0, Delta: -128}
	b := image.Rect(0, 0, 5120, 2880)
	exact := twin(f)
	dst := image.NewRGBA(b)
	row, column := image.Rect(0, 1440, 5120, 1441), image.Rect(2561, 0, 2562, 2880)
	f.Paint(dst, row)
	f.Paint(dst, column)
	for x := range 5120 {
		if got, want := dst.RGBAAt(x, 1440), exact(b, x, 1440); got != want {
			t.Fatalf("column %d is %v, want %v", x, got, want)
		}
	}
	for y := range 2880 {
		if got, want := dst.RGBAAt(2561, y), exact(b, 2561, y); got != want {
			t.Fatalf("row %d is %v, want %v", y, got, want)
		}
	}
}

// TestTintsHaveNoEdge looks at each channel by itself: what it is at the middle, and a code at most between neighbours.
func TestTintsHaveNoEdge(t *testing.T) {
	b := image.Rect(0, 0, 420, 300) // places of 140 x 100: at most 25 codes
	tints := 0
	for _, c := range []struct {
		ground           uint8
		delta, red, blue int8
		want             color.RGBA
	}{
		{128, 0, 6, 0, color.RGBA{134, 128, 128, 255}},
		{128, 0, 0, -5, color.RGBA{128, 128, 123, 255}},
		{128, 7, 3, -9, color.RGBA{138, 135, 126, 255}},
		{128, -7, 7, 14, color.RGBA{128, 121, 135, 255}},
		{250, 4, 4, -4, color.RGBA{255, 254, 250, 255}},
		{3, -2, -4, 1, color.RGBA{0, 1, 2, 255}},
		{128, 127, 127, -128, color.RGBA{153, 153, 127, 255}},
		{128, -128, -128, 127, color.RGBA{103, 103, 127, 255}},
	} {
		f := patterns.Field{Ground: c.ground, Rows: 3, Cols: 3, Place: 1, Delta: c.delta, Red: c.red, Blue: c.blue}
		img := patterns.Render(f, b.Dx(), b.Dy())
		p := patterns.FieldPlace(b, 3, 3, 1)
		mid := image.Pt((p.Min.X+p.Max.X)/2, (p.Min.Y+p.Max.Y)/2)
		if got := img.RGBAAt(mid.X, mid.Y); got != c.want {
			t.Errorf("%+v: the middle is %v, want %v", f, got, c.want)
		}
		if got := f.Peak(b); got != c.want.G {
			t.Errorf("%+v: a peak of %d, want %d", f, got, c.want.G)
		}
		for y := range b.Dy() {
			for x := range b.Dx() {
				here := img.RGBAAt(x, y)
				if !image.Pt(x, y).In(p) && here != grey(c.ground) {
					t.Fatalf("%+v: (%d, %d) is %v", f, x, y, here)
				}
				if here.R != here.G || here.G != here.B {
					tints++
				}
				for _, next := range []color.RGBA{img.RGBAAt(max(x-1, 0), y), img.RGBAAt(x, max(y-1, 0))} {
					for _, d := range []int{int(here.R) - int(next.R), int(here.G) - int(next.G), int(here.B) - int(next.B)} {
						if d < -1 || d > 1 {
							t.Fatalf("%+v: a step of %d codes at (%d, %d)", f, d, x, y)
						}
					}
				}
			}
		}
	}
	if tints == 0 {
		t.Fatal("no tint was painted")
	}
}

// TestMarksSayWhichPlaces compares a field with marks with the same field without, pixel by pixel.
func TestMarksSayWhichPlaces(t *testing.T) {
	for _, c := range []struct {
		ground     uint8
		rows, cols int
		place      int
		width      int
		side       int
		want       uint8
		middles    []image.Point // of the dots, in pixels from the top left
	}{
		{128, 3, 3, 0, 900, 3, 104, []image.Point{{150, 100}, {450, 300}}},
		{128, 3, 3, 4, 900, 3, 104, []image.Point{{450, 300}}},
		{41, 5, 5, 24, 1500, 5, 17, []image.Point{{750, 500}, {1350, 900}}},
		{40, 5, 5, 24, 1500, 5, 64, []image.Point{{750, 500}, {1350, 900}}},
		{0, 3, 3, 2, 300, 2, 24, []image.Point{{150, 100}, {250, 33}}},
		{255, 3, 3, -1, 300, 2, 231, []image.Point{{150, 100}}},
		{255, 2, 2, 1, 300, 2, 231, []image.Point{{225, 50}, {225, 150}}},
		{255, 0, 2, 0, 300, 2, 0, nil},
	} {
		f := patterns.Field{Ground: c.ground, Rows: c.rows, Cols: c.cols, Place: c.place, Delta: 8, Blue: 3}
		bare := patterns.Render(f, c.width, c.width*2/3)
		f.Marks = true
		img := patterns.Render(f, c.width, c.width*2/3)
		dots := 0
		for y := range img.Rect.Dy() {
			for x := range img.Rect.Dx() {
				if img.RGBAAt(x, y) == bare.RGBAAt(x, y) {
					continue
				}
				dots++
				near := false
				for _, m := range c.middles {
					near = near || x >= m.X-c.side && x <= m.X+c.side && y >= m.Y-c.side && y <= m.Y+c.side
				}
				if got := img.RGBAAt(x, y); got != grey(c.want) || !near {
					t.Fatalf("%+v: (%d, %d) is %v", f, x, y, got)
				}
			}
		}
		if want := len(c.middles) * c.side * c.side; dots != want {
			t.Errorf("%+v: %d pixels of dots, want %d", f, dots, want)
		}
		if p := patterns.FieldSpot(img.Rect, c.rows, c.cols, c.place); !p.Empty() && 8*c.side*c.side > p.Dx()*p.Dy() {
			t.Errorf("%+v: a dot of %d pixels is not small in %v", f, c.side, p)
		}
	}
}
