package icc

import "example.org/plumb/colour"

// most is how many channels a table may have in or out. The standard allows 16; an index over more inputs than that cannot be stored anyway.
const most = 16

// A lut is a multi-dimensional conversion that was checked: a chain of curves, a matrix with offset and a grid, of which any may be absent.
type lut struct {
	in, out int
	legacy  bool // lut16Type: L*a*b* in the encoding of version 2 (ICC.1:2022, 10.10)
	eight   bool // lut8Type
	stages  []stage
}

// A stage changes values in place. Grids and sampled curves clip what comes to [0,1]; formulas and matrices do not.
type stage interface{ apply(v *[most]float64) }

type curves []Curve

func (c curves) apply(v *[most]float64) {
	for i := range c {
		v[i] = c[i].step(v[i])
	}
}

type matrix struct {
	m colour.Matrix
	e [3]float64
}

func (x matrix) apply(v *[most]float64) {
	c := x.m.Apply(colour.XYZ{X: v[0], Y: v[1], Z: v[2]})
	v[0], v[1], v[2] = c.X+x.e[0], c.Y+x.e[1], c.Z+x.e[2]
}

func readLUT(v view) (*lut, *Fault) {
	switch t := v.signature(0); t {
	case sig("mft1"), sig("mft2"):
		return readTables(v, t == sig("mft1"))
	case sig("mAB "), sig("mBA "):
		return readModular(v, t == sig("mAB "))
	default:
		return nil, v.fault(0, "type %s is no table; mft1, mft2, mAB and mBA are read", t)
	}
}

func readChannels(v view) (*lut, *Fault) {
	if f := v.need(8, 2, "the numbers of channels"); f != nil {
		return nil, f
	}
	l := &lut{in: v.u8(8), out: v.u8(9)}
	if l.in < 1 || l.in > most {
		return nil, v.fault(8, "%d channels in; 1 to %d are read", l.in, most)
	}
	if l.out < 1 || l.out > most {
		return nil, v.fault(9, "%d channels out; 1 to %d are read", l.out, most)
	}
	return l, nil
}

// readTables reads a lut8Type or lut16Type (ICC.1:2022, 10.11 and 10.10): matrix, input tables, grid, output tables.
func readTables(v view, eight bool) (*lut, *Fault) {
	l, f := readChannels(v)
	if f != nil {
		return nil, f
	}
	if f := v.need(10, 38, "grid points and matrix"); f != nil {
		return nil, f
	}
	l.eight, l.legacy = eight, !eight
	points := v.u8(10)
	if points < 2 {
		return nil, v.fault(10, "a grid of %d points; two are the least", points)
	}
	// The matrix is for XYZ in and is otherwise the identity; Little CMS applies it for any three channels, and so do we.
	if l.in == 3 {
		var x matrix
		for i := range 9 {
			x.m[i/3][i%3] = v.fixed(12 + 4*i)
		}
		if x.m != (colour.Matrix{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}) {
			l.stages = append(l.stages, x)
		}
	}
	at, width, nIn, nOut := 48, 1, 256, 256
	if !eight {
		if f := v.need(48, 4, "the lengths of the tables"); f != nil {
			return nil, f
		}
		at, width, nIn, nOut = 52, 2, v.u16(48), v.u16(50)
		if nIn < 2 || nIn > 4096 {
			return nil, v.fault(48, "input tables of %d entries; 2 to 4096 are allowed", nIn)
		}
		if nOut < 2 || nOut > 4096 {
			return nil, v.fault(50, "output tables of %d entries; 2 to 4096 are allowed", nOut)
		}
	}
	tables := func(count, n int, what string) *Fault {
		if f := v.need(at, count*n*width, what); f != nil {
			return f
		}
		c := make(curves, count)
		for i := range c {
			c[i] = Curve{kind: sampled, samples: v.part(at, n*width), n: n, is8: eight}
			at += n * width
		}
		l.stages = append(l.stages, c)
		return nil
	}
	if f := tables(l.in, nIn, "the input tables"); f != nil {
		return nil, f
	}
	g := &grid{in: l.in, out: l.out, is8: eight}
	for i := range l.in {
		g.points[i] = points
	}
	n, f := g.fill(v, at)
	if f != nil {
		return nil, f
	}
	at += n
	l.stages = append(l.stages, g)
	if f := tables(l.out, nOut, "the output tables"); f != nil {
		return nil, f
	}
	return l, nil
}

// readModular reads a lutAToBType or lutBToAType (ICC.1:2022, 10.12 and 10.13). Towards the connection space the order is A curves, grid, M curves,
// matrix, B curves; away from it the other way round.
func readModular(v view, toPCS bool) (*lut, *Fault) {
	l, f := readChannels(v)
	if f != nil {
		return nil, f
	}
	if f := v.need(12, 20, "the offsets of curves, matrix and grid"); f != nil {
		return nil, f
	}
	// Channels on the connection space's side, where B, matrix and M are, and on the device's, where A is.
	near, far := l.out, l.in
	if !toPCS {
		near, far = l.in, l.out
	}
	place := func(i int) (int, bool, *Fault) {
		o := v.u32(12 + 4*i)
		if o == 0 {
			return 0, false, nil
		}
		if o < 32 || uint64(o) > uint64(len(v.data)) {
			return 0, false, v.fault(12+4*i, "offset %d; the tag has %d bytes, of which the first 32 are taken", o, len(v.data))
		}
		return int(o), true, nil
	}
	set := func(i, count int) (stage, *Fault) {
		at, ok, f := place(i)
		if f != nil || !ok {
			return nil, f
		}
		c := make(curves, count)
		for j := range c {
			if f := v.need(at, 0, "a curve"); f != nil {
				return nil, f
			}
			one, used, f := readCurve(v.part(at, len(v.data)-at))
			if f != nil {
				return nil, f
			}
			c[j] = one
			at += (used + 3) &^ 3
		}
		return c, nil
	}
	b, f := set(0, near)
	if f != nil {
		return nil, f
	}
	if b == nil {
		return nil, v.fault(12, "there are no B curves, which are required")
	}
	var x, m, a stage
	if at, ok, f := place(1); f != nil {
		return nil, f
	} else if ok {
		if near != 3 {
			return nil, v.fault(16, "a matrix for %d channels; only three have one", near)
		}
		if f := v.need(at, 48, "the matrix"); f != nil {
			return nil, f
		}
		var y matrix
		for i := range 9 {
			y.m[i/3][i%3] = v.fixed(at + 4*i)
		}
		for i := range 3 {
			y.e[i] = v.fixed(at + 36 + 4*i)
		}
		x = y
	}
	if m, f = set(2, near); f != nil {
		return nil, f
	}
	if a, f = set(4, far); f != nil {
		return nil, f
	}
	var table stage
	if at, ok, f := place(3); f != nil {
		return nil, f
	} else if ok {
		if f := v.need(at, 20, "the grid's header"); f != nil {
			return nil, f
		}
		g := &grid{in: l.in, out: l.out}
		for i := range l.in {
			if g.points[i] = v.u8(at + i); g.points[i] < 2 {
				return nil, v.fault(at+i, "a grid of %d points; two are the least", g.points[i])
			}
		}
		switch v.u8(at + 16) {
		case 1:
			g.is8 = true
		case 2:
		default:
			return nil, v.fault(at+16, "grid values of %d bytes; 1 and 2 are defined", v.u8(at+16))
		}
		if _, f := g.fill(v, at+20); f != nil {
			return nil, f
		}
		table = g
	} else if near != far {
		return nil, v.fault(24, "%d channels in and %d out ask for a grid, and there is none", l.in, l.out)
	}
	order := []stage{a, table, m, x, b}
	if !toPCS {
		order = []stage{b, x, m, table, a}
	}
	for _, s := range order {
		if s != nil {
			l.stages = append(l.stages, s)
		}
	}
	return l, nil
}

func (l *lut) apply(v *[most]float64) {
	for _, s := range l.stages {
		s.apply(v)
	}
}

// trilinear makes the grid interpolate in boxes: Little CMS holds it for better where L*a*b* goes in.
func (l *lut) trilinear() {
	for _, s := range l.stages {
		if g, ok := s.(*grid); ok {
			g.boxes = true
		}
	}
}
