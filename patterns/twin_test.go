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
			if p.Rows < 1 || p.Cols < 1 || p.Place < 0 || p.Place >= p.Rows*p.Cols {
				return grey(p.Ground)
			}
			w, h := b.Dx(), b.Dy()
			row, col := p.Place/p.Cols, p.Place%p.Cols
			left, right := w*col/p.Cols, w*(col+1)/p.Cols
			top, bottom := h*row/p.Rows, h*(row+1)/p.Rows
			radius := int64(min(right-left, bottom-top)) // in half pixels
			dx, dy := int64(2*(x-b.Min.X)+1-left-right), int64(2*(y-b.Min.Y)+1-top-bottom)
			rest := radius*radius - dx*dx - dy*dy
			if rest <= 0 {
				return grey(p.Ground)
			}
			up, sign := int64(p.Delta), 1
			if up < 0 {
				up, sign = -up, -1
			}
			up = min(up, radius/4)
			// up * (rest/radius^2)^2 + 1/2, rounded down
			full := radius * radius * radius * radius
			k := int(new(big.Int).Div(big.NewInt(2*up*rest*rest+full), big.NewInt(2*full)).Int64())
			return grey(uint8(min(max(int(p.Ground)+sign*k, 0), 255)))
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
			left, i, j := squares(b, p.Side, x, y)
			switch {
			case i < 0:
				return grey(p.Ground)
			case left == p.PlainLeft:
				return grey(p.Plain)
			case p.Lines.Columns:
				return grey(line(i))
			}
			return grey(line(j))
		}
	case patterns.Pair:
		return func(b image.Rectangle, x, y int) color.RGBA {
			left, i, _ := squares(b, p.Side, x, y)
			switch {
			case i < 0:
				return grey(p.Ground)
			case left:
				return grey(p.Left)
			}
			return grey(p.Right)
		}
	}
	panic("a pattern without a twin")
}

// squares tells in which of two squares side by side (x, y) lies, and where in it; i is -1 outside both.
func squares(b image.Rectangle, side, x, y int) (left bool, i, j int) {
	x, y = x-b.Min.X, y-b.Min.Y
	side = max(min(side, b.Dx()/2, b.Dy()), 0)
	j = y - (b.Dy()-side)/2
	if j < 0 || j >= side {
		return false, -1, -1
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
