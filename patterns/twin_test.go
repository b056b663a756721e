package patterns_test

import (
	"image"
	"image/color"
	"math/big"

	"example.org/plumb/patterns"
)

func grey(v uint8) color.RGBA { return color.RGBA{v, v, v, 255} }

// nearest is the code nearest to (from*(n-k) + to*k)/n, the higher of two that are equally near: all are tried.
func nearest(from, to uint8, k, n int) uint8 {
	exact := big.NewRat(int64(from)*int64(n-k)+int64(to)*int64(k), int64(n))
	best, off := 0, big.NewRat(1000, 1)
	for v := range 256 {
		d := new(big.Rat).Sub(big.NewRat(int64(v), 1), exact)
		if d.Abs(d); d.Cmp(off) <= 0 {
			best, off = v, d
		}
	}
	return uint8(best)
}

// remember keeps what a slow function gave.
func remember[K comparable, V any](f func(K) V) func(K) V {
	known := map[K]V{}
	return func(k K) V {
		v, ok := known[k]
		if !ok {
			v = f(k)
			known[k] = v
		}
		return v
	}
}

// lineTwin walks line by line and keeps the share that is owed.
func lineTwin(m patterns.Mix, i int) uint8 {
	of := max(m.Of, 1)
	lit := min(max(m.Lit, 0), of)
	owed, v := 0, m.A
	for range i + 1 {
		owed += lit
		v = m.A
		if owed >= of {
			owed -= of
			v = m.B
		}
	}
	return v
}

// twin is the plainest statement of what the pixel (x, y) of p is, laid out over b.
func twin(p patterns.Pattern) func(b image.Rectangle, x, y int) color.RGBA {
	type at struct{ i, n int }
	switch p := p.(type) {
	case patterns.Solid:
		return func(image.Rectangle, int, int) color.RGBA { return color.RGBA{p.R, p.G, p.B, 255} }
	case patterns.GreySteps:
		steps := min(max(p.Steps, 2), 1<<16)
		code := remember(func(a at) uint8 {
			k := steps - 1
			for a.n*k/steps > a.i {
				k--
			}
			return nearest(p.From, p.To, k, steps-1)
		})
		return func(b image.Rectangle, x, y int) color.RGBA {
			if p.Vertical {
				return grey(code(at{y - b.Min.Y, b.Dy()}))
			}
			return grey(code(at{x - b.Min.X, b.Dx()}))
		}
	case patterns.Gradient:
		code := remember(func(a at) uint8 {
			if a.n == 1 {
				return p.From
			}
			return nearest(p.From, p.To, a.i, a.n-1)
		})
		return func(b image.Rectangle, x, y int) color.RGBA {
			if p.Vertical {
				return grey(code(at{y - b.Min.Y, b.Dy()}))
			}
			return grey(code(at{x - b.Min.X, b.Dx()}))
		}
	case patterns.Cells:
		return func(b image.Rectangle, x, y int) color.RGBA {
			if p.Cell < 0 || p.Cell > 8 {
				return grey(p.Ground)
			}
			w, h := b.Dx(), b.Dy()
			left, right := w*(p.Cell%3)/3, w*(p.Cell%3+1)/3
			top, bottom := h*(p.Cell/3)/3, h*(p.Cell/3+1)/3
			side := max(min(w, h)*22/100, 1)
			x, y = x-b.Min.X-left-(right-left-side)/2, y-b.Min.Y-top-(bottom-top-side)/2
			if left < right && top < bottom && x >= 0 && x < side && y >= 0 && y < side {
				return grey(p.Patch)
			}
			return grey(p.Ground)
		}
	case patterns.Field:
		return func(b image.Rectangle, x, y int) color.RGBA {
			if p.Marks && p.Rows > 0 && p.Cols > 0 {
				for _, place := range []int{p.Place, p.Rows/2*p.Cols + p.Cols/2} {
					if !dotted(b, p.Rows, p.Cols, place, x, y) {
						continue
					}
					if p.Ground > 40 {
						return grey(p.Ground - 24)
					}
					return grey(p.Ground + 24)
				}
			}
			c := grey(spotTwin(p, int64(p.Delta), b, x, y))
			if p.Red != 0 {
				c.R = spotTwin(p, int64(p.Delta)+int64(p.Red), b, x, y)
			}
			if p.Blue != 0 {
				c.B = spotTwin(p, int64(p.Delta)+int64(p.Blue), b, x, y)
			}
			return c
		}
	case patterns.Mix:
		line := remember(func(i int) uint8 { return lineTwin(p, i) })
		return func(b image.Rectangle, x, y int) color.RGBA {
			if p.Columns {
				return grey(line(x - b.Min.X))
			}
			return grey(line(y - b.Min.Y))
		}
	case patterns.Match:
		line := remember(func(i int) uint8 { return lineTwin(p.Lines, i) })
		return func(b image.Rectangle, x, y int) color.RGBA {
			left, i, j := squares(b, p.Side, p.At, x, y)
			var c color.RGBA
			switch {
			case i < 0:
				return grey(p.Ground)
			case left == p.PlainLeft:
				c = tint(p.Plain, p.Red, p.Blue)
			case p.Lines.Columns:
				c = grey(line(i))
			default:
				c = grey(line(j))
			}
			switch p.Channel {
			case 1:
				return color.RGBA{c.R, 0, 0, 255}
			case 2:
				return color.RGBA{0, c.G, 0, 255}
			case 3:
				return color.RGBA{0, 0, c.B, 255}
			}
			return c
		}
	case patterns.Pair:
		return func(b image.Rectangle, x, y int) color.RGBA {
			left, i, _ := squares(b, p.Side, p.At, x, y)
			switch {
			case i < 0:
				return grey(p.Ground)
			case left:
				return tint(p.Left, p.LeftTint[0], p.LeftTint[1])
			}
			return tint(p.Right, p.RightTint[0], p.RightTint[1])
		}
	case patterns.Quarters:
		return func(b image.Rectangle, x, y int) color.RGBA {
			half := min(b.Dx(), b.Dy()) * 36 / 100
			x, y = x-b.Min.X-(b.Dx()-2*half)/2, y-b.Min.Y-(b.Dy()-2*half)/2
			switch {
			case x < 0 || y < 0 || x >= 2*half || y >= 2*half:
				return grey(p.Ground)
			case x/half+2*(y/half) == p.Cell:
				return grey(p.Patch)
			}
			return grey(p.Base)
		}
	case patterns.Ramps:
		code := remember(func(a at) uint8 {
			if a.n == 1 {
				return p.From
			}
			return nearest(p.From, p.To, a.i, a.n-1)
		})
		rough := remember(func(c uint8) uint8 { return roughTwin(c, min(max(p.Bits, 5), 8)) })
		return func(b image.Rectangle, x, y int) color.RGBA {
			w, h, gap := b.Dx()*9/10, b.Dy()*3/10, b.Dy()/10
			x, y = x-b.Min.X-(b.Dx()-w)/2, y-b.Min.Y-(b.Dy()-2*h-gap)/2
			top, bottom := y >= 0 && y < h, y >= h+gap && y < 2*h+gap
			if x < 0 || x >= w || !top && !bottom {
				return grey(p.Ground)
			}
			c := code(at{x, w})
			if top == p.CoarseTop {
				c = rough(c)
			}
			return grey(c)
		}
	case patterns.Fours:
		return func(b image.Rectangle, x, y int) color.RGBA {
			side := min(b.Dx(), b.Dy()) * 22 / 100
			gap := max(side/2, 1)
			x, y = x-b.Min.X-(b.Dx()-2*side-gap)/2, y-b.Min.Y-(b.Dy()-2*side-gap)/2
			cell := 0
			if x >= side+gap {
				x, cell = x-side-gap, cell+1
			}
			if y >= side+gap {
				y, cell = y-side-gap, cell+2
			}
			if x < 0 || y < 0 || x >= side || y >= side {
				return grey(p.Ground)
			}
			letter := []string{
				"H   H",
				"H   H",
				"HHHHH",
				"H   H",
				"H   H",
			}
			stroke := max((side+5)/10, 1)
			left := (side - 5*stroke) / 2
			i, j := x-left, y-left
			if cell == p.Cell && i >= 0 && j >= 0 && i < 5*stroke && j < 5*stroke && letter[j/stroke][i/stroke] == 'H' {
				return color.RGBA{p.Mark[0], p.Mark[1], p.Mark[2], 255}
			}
			return color.RGBA{p.Base[0], p.Base[1], p.Base[2], 255}
		}
	}
	panic("a pattern without a twin")
}

// placed is a place of a grid, counted from the top left corner of b: its first column and row, and those just beyond it.
func placed(b image.Rectangle, rows, cols, place int) (left, top, right, bottom int, ok bool) {
	if rows < 1 || cols < 1 || place < 0 || place >= rows*cols {
		return 0, 0, 0, 0, false
	}
	w, h := b.Dx(), b.Dy()
	row, col := place/cols, place%cols
	return w * col / cols, h * row / rows, w * (col + 1) / cols, h * (row + 1) / rows, true
}

// dotted tells whether (x, y) lies in the mark of a place.
func dotted(b image.Rectangle, rows, cols, place, x, y int) bool {
	left, top, right, bottom, ok := placed(b, rows, cols, place)
	side := max(2, min(b.Dx(), b.Dy())/200)
	x, y = x-b.Min.X, y-b.Min.Y
	in := ok && x >= left && x < right && y >= top && y < bottom
	i, j := x-left-(right-left-side)/2, y-top-(bottom-top-side)/2
	return in && i >= 0 && i < side && j >= 0 && j < side
}

// spotTwin is the code at (x, y) of the one channel that is moved by delta at the middle.
func spotTwin(p patterns.Field, delta int64, b image.Rectangle, x, y int) uint8 {
	left, top, right, bottom, ok := placed(b, p.Rows, p.Cols, p.Place)
	if !ok {
		return p.Ground
	}
	radius := int64(min(right-left, bottom-top)) // in half pixels
	dx, dy := int64(2*(x-b.Min.X)+1-left-right), int64(2*(y-b.Min.Y)+1-top-bottom)
	rest := radius*radius - dx*dx - dy*dy
	if rest <= 0 || delta == 0 {
		return p.Ground
	}
	up, sign := delta, 1
	if up < 0 {
		up, sign = -up, -1
	}
	up = min(up, radius/4)
	// up * (rest/radius^2)^2 + 1/2, rounded down
	full := radius * radius * radius * radius
	k := int(new(big.Int).Div(big.NewInt(2*up*rest*rest+full), big.NewInt(2*full)).Int64())
	return uint8(min(max(int(p.Ground)+sign*k, 0), 255))
}

// roughTwin looks for the level nearest to c in exact arithmetic, and then for the code nearest to that level.
func roughTwin(c uint8, bits int) uint8 {
	last := int64(1)<<bits - 1
	distance := func(code, level int64) *big.Rat {
		d := new(big.Rat).Sub(big.NewRat(code, 1), big.NewRat(255*level, last))
		return d.Abs(d)
	}
	level := int64(0)
	for l := range last + 1 {
		if distance(int64(c), l).Cmp(distance(int64(c), level)) < 0 {
			level = l
		}
	}
	code := int64(0)
	for v := range int64(256) {
		if distance(v, level).Cmp(distance(code, level)) < 0 {
			code = v
		}
	}
	return uint8(code)
}

// tint is a grey with red and blue moved.
func tint(v uint8, red, blue int8) color.RGBA {
	cut := func(by int8) uint8 { return uint8(min(max(int(v)+int(by), 0), 255)) }
	return color.RGBA{cut(red), v, cut(blue), 255}
}

// squares tells in which of two squares side by side (x, y) lies, and where in it; i is -1 outside both.
func squares(b image.Rectangle, side int, place int8, x, y int) (left bool, i, j int) {
	x, y = x-b.Min.X, y-b.Min.Y
	side = max(min(side, b.Dx()/2, b.Dy()), 0)
	if place > 0 {
		y = b.Dy() - 1 - y // the bottom is the top in a mirror
	}
	top := (b.Dy() - side) / 2
	if place != 0 {
		for top = 0; 6*(top+1) <= b.Dy()-3*side; top++ {
		}
	}
	j = y - top
	if j < 0 || j >= side {
		return false, -1, -1
	}
	if place > 0 {
		j = side - 1 - j
	}
	i = x - b.Dx()/2 + side
	switch {
	case i >= 0 && i < side:
		return true, i, j
	case i >= side && i < 2*side:
		return false, i - side, j
	}
	return false, -1, -1
}
