package patterns_test

import (
	"image"
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
