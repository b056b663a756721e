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

// checkCentred fails unless r has as much room to the left as to the right and above as below, to a pixel.
func checkCentred(t *testing.T, b, r image.Rectangle) {
	t.Helper()
	dx, dy := (r.Min.X-b.Min.X)-(b.Max.X-r.Max.X), (r.Min.Y-b.Min.Y)-(b.Max.Y-r.Max.Y)
	if !r.In(b) || dx < -1 || dx > 1 || dy < -1 || dy > 1 {
		t.Fatalf("%v is off the middle of %v by %d, %d", r, b, dx, dy)
	}
}

// places is frames of all sizes, some of them empty, and not at the origin.
func places() []image.Rectangle {
	all := []image.Rectangle{{}, image.Rect(3, 3, 3, 9), {Min: image.Pt(9, 9), Max: image.Pt(3, 3)}}
	for _, size := range append(sizes(), image.Pt(1920, 1080), image.Pt(750, 1334), image.Pt(5120, 2880)) {
		all = append(all, image.Rectangle{Max: size}.Add(image.Pt(-3, 11)))
	}
	return all
}

func TestMatchSquaresAtTopAndBottom(t *testing.T) {
	free := 0
	for _, b := range places() {
		for _, side := range []int{math.MinInt, -1, 0, 1, 2, 7, 24, 48, 1000, math.MaxInt} {
			left, right := patterns.MatchRectsAt(b, side, 0)
			if l, r := patterns.MatchRects(b, side); l != left || r != right {
				t.Fatalf("%v, side %d: MatchRects has %v and %v, in the middle are %v and %v", b, side, l, r, left, right)
			}
			size := left.Size()
			for _, far := range []int{1, 127, math.MaxInt} {
				upLeft, upRight := patterns.MatchRectsAt(b, side, -far)
				downLeft, downRight := patterns.MatchRectsAt(b, side, far)
				for _, r := range []image.Rectangle{upLeft, upRight, downLeft, downRight} {
					if r.Size() != size || !r.Empty() && !r.In(b) {
						t.Fatalf("%v, side %d: a square %v, in the middle %v", b, side, r, left)
					}
				}
				if upLeft.Min.X != left.Min.X || upRight.Min.X != right.Min.X || downLeft.Min.X != left.Min.X || downRight.Min.X != right.Min.X ||
					upLeft.Min.Y != upRight.Min.Y || downLeft.Min.Y != downRight.Min.Y {
					t.Fatalf("%v, side %d: the squares are not side by side in the middle", b, side)
				}
				if upLeft.Empty() {
					continue
				}
				above, below := upLeft.Min.Y-b.Min.Y, b.Max.Y-downLeft.Max.Y
				if above != below {
					t.Fatalf("%v, side %d: %d above and %d below", b, side, above, below)
				}
				if above == 0 && 3*size.Y > b.Dy() {
					continue
				}
				free++
				if d := 6*above + 3*size.Y - b.Dy(); d < -6 || d > 0 { // sixths of a pixel from a sixth of the height
					t.Fatalf("%v, side %d: the middle is %d sixths of a pixel off", b, side, d)
				}
			}
		}
	}
	if free == 0 {
		t.Fatal("all squares touch the border")
	}
	if up, _ := patterns.MatchRectsAt(image.Rect(0, 0, 1200, 600), 100, -1); up != image.Rect(500, 50, 600, 150) {
		t.Errorf("at the top is %v", up)
	}
	if _, down := patterns.MatchRectsAt(image.Rect(0, 0, 1200, 600), 100, 1); down != image.Rect(600, 450, 700, 550) {
		t.Errorf("at the bottom is %v", down)
	}
	if up, _ := patterns.MatchRectsAt(image.Rect(0, 0, 1200, 600), 300, -1); up != image.Rect(300, 0, 600, 300) {
		t.Errorf("at the top is %v, which is to touch the border", up)
	}
}

func TestQuadrantsTile(t *testing.T) {
	some := 0
	for _, b := range places() {
		var all image.Rectangle
		var quadrants []image.Rectangle
		for i := range 4 {
			q := patterns.QuarterRect(b, i)
			if q.Empty() != quarterless(b) || q.Dx() != q.Dy() || q.Dx() != patterns.QuarterRect(b, 0).Dx() {
				t.Fatalf("%v: quadrant %d is %v", b, i, q)
			}
			all, quadrants = all.Union(q), append(quadrants, q)
		}
		for _, i := range []int{-1, 4, math.MinInt, math.MaxInt} {
			if q := patterns.QuarterRect(b, i); !q.Empty() {
				t.Fatalf("%v: quadrant %d is %v", b, i, q)
			}
		}
		if all.Empty() {
			continue
		}
		some++
		checkTiles(t, all, quadrants)
		checkCentred(t, b, all)
		if side, shorter := all.Dx(), min(b.Dx(), b.Dy()); side != all.Dy() || side%2 != 0 || 100*side > 72*shorter || 100*(side+2) <= 72*shorter {
			t.Fatalf("%v: the square is %v", b, all)
		}
		for i, want := range []image.Point{all.Min, {X: (all.Min.X + all.Max.X) / 2, Y: all.Min.Y}} {
			if q := quadrants[i]; q.Min.Y != want.Y || (q.Min.X == all.Min.X) != (i == 0) {
				t.Fatalf("%v: quadrant %d starts at %v", b, i, q.Min)
			}
		}
	}
	if some == 0 {
		t.Fatal("no frame has quadrants")
	}
	if q := patterns.QuarterRect(image.Rect(0, 0, 1920, 1080), 2); q != image.Rect(572, 540, 960, 928) { // 777.6, so 776
		t.Errorf("quadrant 2 is %v", q)
	}
}

// quarterless tells whether b has no room for quadrants of a pixel.
func quarterless(b image.Rectangle) bool { return b.Dx() < 3 || b.Dy() < 3 }

func TestRampsHaveRoom(t *testing.T) {
	some := 0
	for _, b := range places() {
		top, bottom := patterns.RampRects(b)
		if top.Size() != bottom.Size() {
			t.Fatalf("%v: ramps %v and %v", b, top, bottom)
		}
		if top.Empty() {
			if b.Dx() >= 2 && b.Dy() >= 4 {
				t.Fatalf("%v has no ramps", b)
			}
			continue
		}
		some++
		checkCentred(t, b, top.Union(bottom))
		if top.Min.X != bottom.Min.X {
			t.Fatalf("%v: ramps %v and %v", b, top, bottom)
		}
		gap := bottom.Min.Y - top.Max.Y
		for _, c := range [][3]int{{top.Dx(), b.Dx(), 90}, {top.Dy(), b.Dy(), 30}, {gap, b.Dy(), 10}} {
			if c[0] < 0 || 100*c[0] > c[1]*c[2] || 100*(c[0]+1) <= c[1]*c[2] {
				t.Fatalf("%v: %d of %d pixels, want %d %%", b, c[0], c[1], c[2])
			}
		}
	}
	if some == 0 {
		t.Fatal("no frame has ramps")
	}
	top, bottom := patterns.RampRects(image.Rect(0, 0, 1920, 1080))
	if top != image.Rect(96, 162, 1824, 486) || bottom != image.Rect(96, 594, 1824, 918) {
		t.Errorf("ramps %v and %v", top, bottom)
	}
}

func TestFourSquaresStandApart(t *testing.T) {
	some := 0
	for _, b := range places() {
		var all image.Rectangle
		var squares []image.Rectangle
		area := 0
		for i := range 4 {
			r := patterns.FoursRect(b, i)
			m := patterns.FoursMark(b, i)
			if r.Dx() != max(0, min(b.Dx(), b.Dy()))*22/100 || r.Dx() != r.Dy() || m.Empty() != r.Empty() || !m.In(r) {
				t.Fatalf("%v: square %d is %v, its mark %v", b, i, r, m)
			}
			for j, q := range squares {
				if !r.Empty() && r.Inset(-1).Overlaps(q) {
					t.Fatalf("%v: squares %d and %d touch: %v, %v", b, j, i, q, r)
				}
			}
			if r.Dx() >= 10 {
				checkCentred(t, r, m)
				if 10*m.Dx() < 3*r.Dx() || 10*m.Dx() > 8*r.Dx() || m.Dx() != m.Dy() {
					t.Fatalf("%v: square %v, mark %v", b, r, m)
				}
			}
			if r.Dx() >= 100 && (100*m.Dx() < 47*r.Dx() || 100*m.Dx() > 53*r.Dx()) {
				t.Fatalf("%v: square %v, mark %v", b, r, m)
			}
			all, squares = all.Union(r), append(squares, r)
			area += r.Dx() * r.Dy()
		}
		for _, i := range []int{-1, 4, math.MinInt, math.MaxInt} {
			if r := patterns.FoursRect(b, i).Union(patterns.FoursMark(b, i)); !r.Empty() {
				t.Fatalf("%v: square %d is %v", b, i, r)
			}
		}
		if all.Empty() {
			continue
		}
		some++
		checkCentred(t, b, all)
		if 4*area >= b.Dx()*b.Dy() {
			t.Fatalf("%v: the squares have %d of %d pixels", b, area, b.Dx()*b.Dy())
		}
	}
	if some == 0 {
		t.Fatal("no frame has squares")
	}
	b := image.Rect(0, 0, 1920, 1080) // sides of 237, 118 apart: 592 in all
	if r := patterns.FoursRect(b, 1); r != image.Rect(1019, 244, 1256, 481) {
		t.Errorf("square 1 is %v", r)
	}
	if r := patterns.FoursMark(b, 1); r != image.Rect(1077, 302, 1197, 422) { // strokes of 24
		t.Errorf("mark 1 is %v", r)
	}
}

func TestSpotsToLookAt(t *testing.T) {
	some := 0
	for _, b := range places() {
		for _, grid := range []int{1, 3, 5} {
			for i := range grid * grid {
				p, s := patterns.FieldPlace(b, grid, grid, i), patterns.FieldSpot(b, grid, grid, i)
				if p.Empty() {
					if !s.Empty() {
						t.Fatalf("%v: spot %v in no place", b, s)
					}
					continue
				}
				some++
				checkCentred(t, p, s)
				if want := max(1, min(p.Dx(), p.Dy())/4); s.Dx() != want || s.Dy() != want {
					t.Fatalf("%v: spot %v in place %v", b, s, p)
				}
			}
		}
		if s := patterns.FieldSpot(b, 3, 3, 9).Union(patterns.FieldSpot(b, 0, 3, 0)); !s.Empty() {
			t.Fatalf("%v: a spot %v outside the grid", b, s)
		}
	}
	if some == 0 {
		t.Fatal("no frame has spots")
	}
}
