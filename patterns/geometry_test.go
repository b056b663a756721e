package patterns_test

import (
	"image"
	"math"
	"testing"

	"example.org/plumb/patterns"
)

// checkTiles fails unless the places tile b, and differ by a pixel at most.
func checkTiles(t *testing.T, b image.Rectangle, places []image.Rectangle) {
	t.Helper()
	area := 0
	for i, p := range places {
		if !p.In(b) {
			t.Fatalf("place %d, %v, leaves %v", i, p, b)
		}
		area += p.Dx() * p.Dy()
		for j, q := range places {
			if i != j && p.Overlaps(q) {
				t.Fatalf("places %d and %d of %v overlap", i, j, b)
			}
			if d := p.Dx() - q.Dx(); !p.Empty() && !q.Empty() && (d < -1 || d > 1) {
				t.Fatalf("places %d and %d of %v are %d and %d wide", i, j, b, p.Dx(), q.Dx())
			}
		}
	}
	if want := b.Dx() * b.Dy(); area != want {
		t.Fatalf("the places cover %d of the %d pixels of %v", area, want, b)
	}
}

func TestPlacesTile(t *testing.T) {
	for _, size := range sizes() {
		b := image.Rectangle{Max: size}.Add(image.Pt(-3, 11))
		var cells []image.Rectangle
		for i := range 9 {
			c, p := patterns.CellRect(b, i), patterns.CellPatch(b, i)
			cells = append(cells, c)
			if !p.In(c) || p.Empty() != c.Empty() || p.Dx() != p.Dy() {
				t.Errorf("%v: patch %v in cell %v", b, p, c)
			}
			if side := min(size.X, size.Y) * 22 / 100; side > 0 && p.Dx() != side {
				t.Errorf("%v: a patch of %d, want %d", b, p.Dx(), side)
			}
		}
		checkTiles(t, b, cells)
		for rows := 1; rows <= 5; rows++ {
			for cols := 1; cols <= 5; cols++ {
				var places []image.Rectangle
				for i := range rows * cols {
					places = append(places, patterns.FieldPlace(b, rows, cols, i))
				}
				checkTiles(t, b, places)
			}
		}
	}
	b := image.Rect(0, 0, 90, 90)
	for _, i := range []int{-1, 9, math.MinInt, math.MaxInt} {
		if r := patterns.CellRect(b, i); !r.Empty() {
			t.Errorf("cell %d is %v", i, r)
		}
		if r := patterns.CellPatch(b, i); !r.Empty() {
			t.Errorf("the patch of cell %d is %v", i, r)
		}
		if r := patterns.FieldPlace(b, 3, 3, i); !r.Empty() {
			t.Errorf("place %d is %v", i, r)
		}
	}
	if r := patterns.FieldPlace(b, 0, 3, 0).Union(patterns.FieldPlace(b, 3, -1, 0)); !r.Empty() {
		t.Errorf("a grid without rows or columns has a place %v", r)
	}
}

func TestMatchSquares(t *testing.T) {
	for _, size := range append(sizes(), image.Pt(0, 0), image.Pt(0, 9)) {
		b := image.Rectangle{Max: size}.Add(image.Pt(7, -2))
		for _, side := range []int{math.MinInt, -1, 0, 1, 2, 7, 24, 48, 1000, math.MaxInt} {
			left, right := patterns.MatchRects(b, side)
			n := max(0, min(side, size.X/2, size.Y))
			if left.Size() != image.Pt(n, n) || right.Size() != left.Size() {
				t.Fatalf("%v, side %d: squares %v and %v", b, side, left, right)
			}
			if left.Max.X != right.Min.X || left.Min.Y != right.Min.Y {
				t.Fatalf("%v, side %d: %v does not touch %v", b, side, left, right)
			}
			both := left.Union(right)
			if n > 0 && !both.In(b) {
				t.Fatalf("%v, side %d: %v leaves the frame", b, side, both)
			}
			if d := (both.Min.X - b.Min.X) - (b.Max.X - both.Max.X); n > 0 && (d < -1 || d > 1) {
				t.Fatalf("%v, side %d: %v is off centre by %d", b, side, both, d)
			}
			if d := (both.Min.Y - b.Min.Y) - (b.Max.Y - both.Max.Y); n > 0 && (d < -1 || d > 1) {
				t.Fatalf("%v, side %d: %v is off centre by %d", b, side, both, d)
			}
		}
	}
}

// TestMatchSideIsSafe holds every side against the rules, and the next greater one too: one of them must forbid it.
func TestMatchSideIsSafe(t *testing.T) {
	allowed := func(b image.Rectangle, degree float64, side int) bool {
		return 2*side <= b.Dx() && side <= b.Dy() && 10*side*side <= b.Dx()*b.Dy() && (!(degree > 0) || float64(side) <= 8*degree)
	}
	some := 0
	for w := 0; w < 5200; w += 37 {
		for h := 0; h < 3000; h += 83 {
			for _, degree := range []float64{0, -1, math.NaN(), math.Inf(1), 0.1, 5.99, 6, 20, 38.2, 77, 1e300} {
				b := image.Rect(-w/2, 5, w-w/2, 5+h)
				side := patterns.MatchSide(b, degree)
				if side == 0 {
					if allowed(b, degree, 48) {
						t.Fatalf("%dx%d, %v: no side, though 48 is allowed", w, h, degree)
					}
					continue
				}
				some++
				if side < 48 || side%24 != 0 || !allowed(b, degree, side) || allowed(b, degree, side+24) {
					t.Fatalf("%dx%d, %v: side %d", w, h, degree, side)
				}
			}
		}
	}
	if some == 0 {
		t.Fatal("no frame has a side")
	}
}

func TestMatchSideOfUsualScreens(t *testing.T) {
	for _, c := range []struct {
		w, h   int
		degree float64
		want   int
	}{
		{3840, 2160, 0, 888},  // sqrt(829440) = 910.7
		{3840, 2160, 77, 600}, // 616
		{1920, 1080, 38, 288}, // 304
		{1920, 1080, 0, 432},  // sqrt(207360) = 455.4
		{750, 1334, 0, 312},   // sqrt(100050) = 316.3
		{320, 568, 0, 120},    // sqrt(18176) = 134.8
		{4000, 90, 0, 72},     // height
		{151, 151, 0, 0},      // sqrt(2280.1) = 47.7
		{152, 152, 0, 48},     // sqrt(2310.4) = 48.07
		{3840, 2160, 5.9, 0},  // 47.2
		{0, 0, 0, 0},
	} {
		if got := patterns.MatchSide(image.Rect(0, 0, c.w, c.h), c.degree); got != c.want {
			t.Errorf("%dx%d, %v pixels a degree: side %d, want %d", c.w, c.h, c.degree, got, c.want)
		}
	}
}
