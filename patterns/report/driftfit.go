package report

import (
	"maps"
	"math"
	"slices"
	"sort"
	"strings"

	"example.org/plumb/patterns/check"
)

// A steadiness is how a figure scatters from sitting to sitting at a screen that stays as it is. Codes are counted from their end, and watched by their logarithm.
type steadiness struct {
	end    float64 // 0 or 255 where the figure is a code; below 0 where it is none
	bars   float64 // scatter over the bars, which also hold what every sitting gets wrong alike
	least  float64 // SD that comes on top of it
	codes  float64 // and so many codes
	viewer float64 // SD from viewer to viewer
	room   float64 // SD from one kind of room to another
}

// noCode is the end of what is no code.
const noCode = -1

// steadinesses are from rehearsals: 68 screens looked at eight times each by virtual viewers, in rooms whose light varied by a fifth. What scatters between two sittings
// is half to two thirds of the bars; codes have odd sittings too. Those of viewers and rooms are assumptions: in a brighter room the first visible code of a screen with a
// gamma of 2.2 goes from 4 in the dark to 5 at 100 lx and 7 at 500 lx (computed with the GSDF of DICOM PS3.14).
var steadinesses = map[check.Aspect]steadiness{
	check.Shadows:     {0, 0.9, 0.09, 0.3, 0.25, 0.28},
	check.Highlights:  {255, 1, 0.12, 0.35, 0.25, 0},
	check.Tone:        {noCode, 0.65, 0.028, 0, 0, 0},
	check.Neutrals:    {noCode, 0.55, 0.0005, 0, 0.0008, 0},
	check.Smoothness:  {noCode, 1, 0.25, 0, 0.2, 0},
	check.Evenness:    {noCode, 0.62, 0.005, 0, 0, 0},
	check.ColourRange: {noCode, 1, 0.1, 0, 0, 0},
	check.Channels:    {noCode, 1, 0.01, 0, 0, 0},
	check.Angle:       {noCode, 1, 0.01, 0, 0, 0},
	check.White:       {noCode, 1, 0.001, 0, 0.004, 0},
}

// ends is how many SD the end of a 90 % interval lies from its middle.
const ends = 1.6449

// A series is the counted figures of a course on the scale on which they are compared, the baseline first.
type series struct {
	steadiness
	at      []float64
	lo, hi  []float64 // ends of the bars
	below   []float64 // variance of scatter by the lower arm
	above   []float64 // and by the upper
	when    []int64
	effects []effect
}

// An effect is what some figures have in common and others do not: a viewer, a room.
type effect struct {
	of       []int // indices
	variance float64
}

// mostEffects bounds the work; figures beyond share nothing.
const mostEffects = 16

func newSeries(c Course, sittings []Record) series {
	s := series{steadiness: steadinesses[c.Aspect]}
	viewers, rooms := map[string][]int{}, map[string][]int{}
	for i, p := range c.counted() {
		at, lo, hi := s.scaled(p.Mean), s.scaled(p.Lo), s.scaled(p.Hi)
		if s.end == 255 {
			lo, hi = hi, lo
		}
		rest := s.least * s.least
		if s.end >= 0 {
			rest += math.Pow(s.codes/math.Exp(at), 2)
		}
		arm := func(x float64) float64 { return math.Pow(s.bars*x/ends, 2) + rest }
		s.at, s.lo, s.hi, s.when = append(s.at, at), append(s.lo, lo), append(s.hi, hi), append(s.when, p.At)
		s.below, s.above = append(s.below, arm(max(at-lo, 0))), append(s.above, arm(max(hi-at, 0)))
		conditions := sittings[p.Sitting].Conditions
		viewer, room := strings.ToLower(strings.TrimSpace(conditions.Viewer)), conditions.Room
		viewers[viewer], rooms[room] = append(viewers[viewer], i), append(rooms[room], i)
	}
	s.share(viewers, s.viewer)
	s.share(rooms, s.room)
	return s
}

// share notes that groups of figures have something in common, each with the same SD.
func (s *series) share(groups map[string][]int, sd float64) {
	if sd == 0 || len(groups) < 2 {
		return
	}
	list := slices.Collect(maps.Values(groups))
	sort.Slice(list, func(i, j int) bool { // slices.SortFunc would be one more sort in the program
		a, b := list[i], list[j]
		return len(a) > len(b) || len(a) == len(b) && a[0] < b[0]
	})
	for _, of := range list {
		if len(of) > 1 && len(s.effects) < mostEffects {
			s.effects = append(s.effects, effect{of, sd * sd})
			continue
		}
		for _, i := range of {
			s.below[i] += sd * sd
			s.above[i] += sd * sd
		}
	}
}

// scaled returns a figure on the scale on which it is compared.
func (s series) scaled(x float64) float64 {
	if s.end < 0 {
		return x
	}
	return math.Log(max(math.Abs(x-s.end), 0.5))
}

// figure is the inverse of scaled.
func (s series) figure(y float64) float64 {
	switch {
	case s.end < 0:
		return y
	case s.end == 0:
		return math.Exp(y)
	}
	return s.end - math.Exp(y)
}

// A move is what was fitted to a series.
type move struct {
	from   float64 // level at the baseline
	by, sd float64 // how far it went; an SD of 0 says that this cannot be told
}

// sure is by how many SD a move differs from none.
func (m move) sure() float64 {
	if m.sd == 0 {
		return 0
	}
	return math.Abs(m.by) / m.sd
}

// step is a change between figures k-1 and k.
func (s series) step(k int) []float64 {
	h := make([]float64, len(s.at))
	for i := k; i < len(h); i++ {
		h[i] = 1
	}
	return h
}

// trend is a change at an even rate, 1 at the last figure.
func (s series) trend() []float64 {
	h := make([]float64, len(s.at))
	first := s.when[0]
	if span := float64(s.when[len(h)-1] - first); span > 0 {
		for i, t := range s.when {
			h[i] = float64(t-first) / span
		}
	}
	return h
}

// move fits level, change along h and effects to the figures of these indices. Of each bar the arm counts that reaches towards the others, as in subtract.
func (s series) move(h []float64, of []int) move {
	if up := s.fit(h, of, s.above, s.below); up.by > 0 {
		return up
	}
	return s.fit(h, of, s.below, s.above)
}

// fit is move by weighted least squares, with these variances of earlier and later figures.
func (s series) fit(h []float64, of []int, earlier, later []float64) move {
	n := 2 + len(s.effects)
	rows, cells := make([][]float64, n), make([]float64, n*(n+3)) // normal equations, then right sides: the figures, and the unit vector of the change
	for i := range rows {
		rows[i] = cells[i*(n+2) : (i+1)*(n+2)]
	}
	row := cells[n*(n+2):]
	var columns [][]int // which effects a figure has
	if len(s.effects) > 0 {
		columns = make([][]int, len(s.at))
	}
	for j, e := range s.effects {
		rows[2+j][2+j] = 1 / e.variance
		for _, i := range e.of {
			columns[i] = append(columns[i], 2+j)
		}
	}
	for _, i := range of {
		y, variance := s.at[i], earlier[i]
		if h[i] > 0.5 {
			variance = later[i]
		}
		clear(row)
		row[0], row[1] = 1, h[i]
		if columns != nil {
			for _, j := range columns[i] {
				row[j] = 1
			}
		}
		for a, x := range row {
			if x == 0 {
				continue
			}
			for b, z := range row {
				rows[a][b] += x * z / variance
			}
			rows[a][n] += x * y / variance
		}
	}
	rows[1][n+1] = 1
	if !solve(rows) {
		return move{}
	}
	return move{rows[0][n], rows[1][n], math.Sqrt(rows[1][n+1])}
}

// solve turns the square at the left of rows, which is symmetric and not negative, into the unit matrix, and reports whether it could.
func solve(rows [][]float64) bool {
	for i := range rows {
		whole := rows[i][i]
		if !(whole > 0) {
			return false
		}
		for j := range rows[i] {
			rows[i][j] /= whole
		}
		for k := range rows {
			if k == i {
				continue
			}
			f := rows[k][i]
			was := rows[k][k]
			for j := range rows[k] {
				rows[k][j] -= f * rows[i][j]
			}
			if k > i && !(rows[k][k] > 1e-12*was) {
				return false
			}
		}
	}
	return true
}

// drift returns how far the latest figures lie from those at the baseline, along what and by which figures that was found, and the index of the first that shows it; 0
// where none does by as many SD as bar.
func (s series) drift(bar float64) (m move, h []float64, of []int, since int) {
	n := len(s.at)
	all := indices(0, n)
	trend := s.trend()
	whole := s.move(trend, all)
	trending := n > Fewest && whole.sure() > bar && s.borne(trend, all, whole, bar/2)
	// The figures fall into stretches, each without a step. The first is the baseline's, the last is what is now: a screen that moved and came back has not moved.
	starts := s.starts(all, bar)
	if len(starts) == 0 {
		if trending {
			return whole, trend, all, s.steepest(all)
		}
		return move{}, nil, nil, 0
	}
	last := starts[len(starts)-1]
	h, of = s.step(last), slices.Concat(indices(0, starts[0]), indices(last, n))
	if m = s.move(h, of); m.sure() <= bar || !s.borne(h, of, m, bar/2) {
		return move{}, nil, nil, 0
	}
	if len(starts) == 1 && trending && whole.sure() > m.sure() {
		m, h, of = whole, trend, all
	}
	return m, h, of, starts[0]
}

// starts returns the indices at which figures step, of which there are two at least on the later side.
func (s series) starts(of []int, bar float64) []int {
	k := s.steepest(of)
	if k < 0 {
		return nil
	}
	h := s.step(k)
	if m := s.move(h, of); m.sure() <= bar || !s.borne(h, of, m, bar/2) {
		return nil
	}
	at := slices.Index(of, k)
	return slices.Concat(s.starts(of[:at], bar), []int{k}, s.starts(of[at:], bar))
}

// steepest returns where the surest step is, -1 where there are too few figures for one.
func (s series) steepest(of []int) int {
	best, at := 0.0, -1
	for i := 1; i <= len(of)-(Fewest-1); i++ {
		if m := s.move(s.step(of[i]), of); m.sure() > best || at < 0 {
			best, at = m.sure(), of[i]
		}
	}
	return at
}

// indices lists from up to to, which is left out.
func indices(from, to int) []int {
	var list []int
	for i := from; i < to; i++ {
		list = append(list, i)
	}
	return list
}

// borne reports whether no single figure carries the move: without any one of them but the first it still differs from none by as many SD as least, the same way.
func (s series) borne(h []float64, of []int, whole move, least float64) bool {
	rest := make([]int, 0, len(of))
	for i := 1; i < len(of); i++ {
		rest = append(append(rest[:0], of[:i]...), of[i+1:]...)
		if m := s.move(h, rest); m.sure() < least || m.by*whole.by < 0 {
			return false
		}
	}
	return true
}

// span is a move in figures, with its 90 % interval. Bars are as wide in a hundred sittings as in one, for much in them is the same each time; so both ends allow
// for the whole bars. Where moved says that it is none of chance's, the end towards none allows for scatter alone: an estimate is drawn towards what is usual, and what
// it has gone is rather more than less.
func (s series) span(m move, h []float64, of []int, moved bool) (by, lo, hi float64) {
	var down, up [2]float64 // mean arms of earlier and later
	var n [2]float64
	for _, i := range of {
		k := 0
		if h[i] > 0.5 {
			k = 1
		}
		down[k], up[k], n[k] = down[k]+s.at[i]-s.lo[i], up[k]+s.hi[i]-s.at[i], n[k]+1
	}
	for k := range n {
		down[k], up[k] = down[k]/max(n[k], 1), up[k]/max(n[k], 1)
	}
	d := subtract(0, -down[0], up[0], m.by, m.by-down[1], m.by+up[1])
	near := ends * m.sd
	lo, hi = min(d.Lo, m.by-near), max(d.Hi, m.by+near)
	if moved && m.by > 0 {
		lo = m.by - near
	} else if moved {
		hi = m.by + near
	}
	from := s.figure(m.from)
	by, lo, hi = s.figure(m.from+m.by)-from, s.figure(m.from+lo)-from, s.figure(m.from+hi)-from
	return by, min(lo, hi), max(lo, hi)
}

// bar is how many SD are beyond what chance does to a series that is looked at again and again, n figures by now. share is its chance over the first looks; later ones
// raise it slowly. Every step and a trend tried at every look so far are worth (n-2)^1.42 independent tries, from simulation of normal scatter.
func bar(share float64, n int) float64 {
	tries := math.Pow(float64(max(n, looks)-2), 1.42)
	return math.Sqrt2 * math.Erfcinv(share/tries)
}
