package screen

import (
	"encoding/binary"
	"image"
	"math"
	"slices"
)

// Shift is the CIEDE2000, relative to the screen's own white, above which a tone or a colour counts as shifted; ours, and the same as in a score.
const Shift = 2.5

// A Share is a part of a picture's pixels, 0 to 1: the middle of what the screens that are possible hide, and the interval that holds 90 % of them, widened to hold
// their mean too, so that what few hide is not passed over, and by the error of sampling where there is one. The middle, because screens that hide much and screens
// that hide nothing are often both possible, and their mean is what none of them does; it is also where a mask passes one half.
type Share struct{ At, Lo, Hi float64 }

// Hidden is what a screen hides of a picture. A share of 0 with an upper end of 0 means that no possible screen hides any of it. The zero Hidden
// claims nothing: see Known.
type Hidden struct {
	// Shadows and Lights are detail lost in crushed shadows and in clipped lights. A pair of pixels that touch, corners included, is lost in
	// shadows if they differ and the screen shows both as black; in lights, if they differ in a channel in which the screen shows both as full. A
	// pixel is lost with any pair that it is in. Coarse steps are not in these.
	Shadows, Lights Share

	// Merged is detail finer than the screen's steps: pixels that touch and differ, and lie in the same steps in all channels at the screen's
	// effective depth, whether or not they are lost to crush or clip besides. In a picture with grain that is much of it, at any depth below 8.
	Merged Share

	// Shifted is pixels whose colour differs from the aim by more than Shift, at the nearest of both ends and the middle of the aim's band of
	// curves; relative to white, channels mixed as on an sRGB screen. Unevenness is not in it: a picture can be moved.
	Shifted Share

	// Beyond is pixels whose colour lies further from sRGB than the screen reaches; none without Look.Beyond.
	Beyond Share

	// Any is pixels hidden in one of these ways or more.
	Any Share

	Pixels  int // of the picture
	Sampled int // the pixels that Shifted, Beyond and Any are counted on; the others are counted on all
	Draws   int // how many possible screens were asked

	// Error is the greatest standard error of Shifted, Beyond and Any by sampling, as a share; 0 where every pixel was sampled. The samples are
	// spread one to a cell, which never errs more than as many drawn at random: √(1/4n).
	Error float64
}

// Known reports whether there is anything to claim: there were pixels and possible screens. Otherwise every share runs from 0 to 1.
func (h Hidden) Known() bool { return h.Pixels > 0 && h.Draws > 0 }

func unknown() Hidden {
	all := Share{1, 0, 1} // what is not known counts as hidden
	return Hidden{Shadows: all, Lights: all, Merged: all, Shifted: all, Beyond: all, Any: all}
}

// Masks are where a screen hides a picture, laid out over it from the top left corner: the probability of being hidden, 0 to 255 for 0 to 1. A
// picture of no more than Look.Cells pixels has a cell for each; of a larger one a cell stands for a rectangle of pixels, and has their mean for
// Shadows, Lights and Merged, and the one pixel sampled from it for Shifted and Beyond. Any is that of the sampled pixel, or what is greatest of
// the five. All have the same size; that of a picture without pixels is 0.
type Masks struct{ Shadows, Lights, Merged, Shifted, Beyond, Any *image.Alpha }

// Cells is how many cells a mask has at most, and how many pixels are sampled, unless a Look says otherwise: a standard error of 0.3 %.
const Cells = 1 << 15

// A Look is how to look for what a screen hides of a picture.
type Look struct {
	// Source is the picture, of 8-bit sRGB codes and opaque, as for View.Show. It is not to change meanwhile. Rows does without it.
	Source image.Image

	// Possible is screens drawn from what is believed, equally likely. All of Tone, Crush, Clip, Bits, Tint and Reach count. The fewer are known
	// to be alike, the wider the intervals.
	Possible []Possible

	// Aim is what the picture should look like. Without curves all of it counts as shifted.
	Aim Aim

	// Beyond, where not nil, is for pictures that go beyond sRGB, whose own codes Source cannot hold: how far the colour of a pixel of Source
	// lies from sRGB, as Possible.Reach: 0 inside it, 1 at the edge of Display P3. A screen that reaches less hides the pixel. It is asked about
	// sampled pixels only, and about each while its row is read or pushed.
	Beyond func(x, y int) float64

	// Cells, where above 0, is used for the constant of that name.
	Cells int
}

// Hides returns what a screen hides of a picture whose colours lie in sRGB.
func Hides(src image.Image, possible []Possible, aim Aim) (Hidden, Masks) {
	h := Look{Source: src, Possible: possible, Aim: aim}.Start()
	for h.Next() {
	}
	return h.Hidden(), h.Masks()
}

// A Hiding is a Look under way. It goes on by Next, a few milliseconds at a time, so that whoever looks can do other things between.
type Hiding struct {
	look          Look
	bounds        image.Rectangle
	width, height int // of the picture, in pixels
	cols, rows    int // of the masks, in cells

	ends              []ends         // of each possible screen
	darkest, lightest int            // the greatest crush and the least clip of them all
	depths            uint8          // the depths of them all
	words             [3][256]uint64 // by channel and code; see words
	hid               [3][256]int    // how many of the screens hide a mark of shadows, lights, merged

	filled, y   int           // the rows that are known, and those that are through
	here, below *line         // row y, and the one that is next
	marks       [3][256]int   // pixels by mark
	sum         [3][]int      // by cell, of hid
	column      []int32       // the column of cells that each column of pixels is in
	edge        []int         // where each column of cells begins, and the width
	at          []image.Point // by cell, the pixel sampled, from the top left corner
	sampled     sampled

	draw     int // the next possible screen
	index    map[uint32]int32
	colours  []uint32 // that samples have, red in the low byte
	sketcher sketcher
	bands    [][256]float64 // of the aim
	intent   [][]sketch     // by band and colour
	seen     []sketch       // by colour, on the screen at hand
	told     []uint8        // of these
	shifted  []uint8        // by colour, on the screen at hand: 1 or 0
	count    [3][]uint32    // by cell: the screens that shift it, do not reach it, hide it in any way
	shares   [kinds][]float64
}

// The ways to be hidden, as Hiding numbers them; the first three are told by marks.
const (
	inShadows = iota
	inLights
	inSteps
	byShift
	byReach
	anyWay
	kinds
)

// sampled is the pixels that were sampled, by cell: their colours, their marks and how far they lie beyond sRGB.
type sampled struct {
	colour []int32
	mark   [3][]uint8
	beyond []float64 // nil without Look.Beyond
}

// ends is where the light of a screen's greys begins and ends, coarse steps left out, and the depth.
type ends struct {
	crush, clip int   // codes up to crush are black and from clip on full; -1 and 256 for none at all
	depth       uint8 // 1, 2 and 4 for 7, 6 and 5 bits, which marks of merged pixels are made of; 0 for 8
}

func (p *Possible) ends() ends {
	fine := *p
	fine.Bits = 8
	e := ends{crush: -1, clip: 256}
	for e.crush < 255 && !(fine.Grey(uint8(e.crush+1)) > 0) {
		e.crush++
	}
	for e.clip > e.crush+1 && fine.Grey(uint8(e.clip-1)) >= 1 {
		e.clip--
	}
	if p.Bits > 0 && p.Bits < 8 {
		e.depth = 1 << (7 - max(p.Bits, leastBits))
	}
	return e
}

// leastBits is the least depth that a Possible has.
const leastBits = 5

// hides reports whether the screen hides a pixel with a mark, by kind of mark. A mark of 0 is hidden by none.
func (e ends) hides(kind int, mark uint8) bool {
	switch kind {
	case inShadows: // 256 less the least crush that hides it
		return e.crush >= 256-int(mark)
	case inLights: // 1 more than the greatest clip that hides it
		return e.clip < int(mark)
	}
	return e.depth&mark != 0
}

// Start begins to look.
func (l Look) Start() *Hiding {
	if l.Source == nil || l.Source.Bounds().Empty() {
		return new(Hiding)
	}
	return l.start(l.Source.Bounds())
}

// Rows begins to look at a picture of the given size that need not be in memory as a whole: its rows come by Push.
func (l Look) Rows(width, height int) *Hiding {
	l.Source = nil
	if width <= 0 || height <= 0 {
		return new(Hiding)
	}
	return l.start(image.Rect(0, 0, width, height))
}

func (l Look) start(bounds image.Rectangle) *Hiding {
	if l.Cells <= 0 {
		l.Cells = Cells
	}
	h := &Hiding{look: l, darkest: -1, lightest: 256}
	if len(l.Possible) == 0 {
		return h
	}
	h.bounds = bounds
	h.width, h.height = h.bounds.Dx(), h.bounds.Dy()
	h.cols, h.rows = grid(h.width, h.height, l.Cells)

	for i := range l.Possible {
		e := l.Possible[i].ends()
		h.ends = append(h.ends, e)
		h.darkest, h.lightest = max(h.darkest, e.crush), min(h.lightest, e.clip)
		h.depths |= e.depth
	}
	for kind := range h.hid {
		for mark := range h.hid[kind] {
			for _, e := range h.ends {
				if e.hides(kind, uint8(mark)) {
					h.hid[kind][mark]++
				}
			}
		}
	}
	h.words = words()

	cells := h.cols * h.rows
	for i := range h.sum {
		h.sum[i], h.count[i] = make([]int, cells), make([]uint32, cells)
	}
	h.column = make([]int32, h.width)
	for x := range h.column {
		h.column[x] = int32(x * h.cols / h.width)
	}
	h.edge = make([]int, h.cols+1)
	for i := range h.edge {
		h.edge[i] = (i*h.width + h.cols - 1) / h.cols
	}
	h.at = make([]image.Point, cells)
	h.sampled.colour = make([]int32, cells)
	for i := range h.sampled.mark {
		h.sampled.mark[i] = make([]uint8, cells)
	}
	if l.Beyond != nil {
		h.sampled.beyond = make([]float64, cells)
	}
	for c := range h.at {
		p, q := h.cell(c).Min, h.cell(c).Size()
		r := scatter(uint64(c))
		h.at[c] = image.Pt(p.X+int(r>>40)%q.X, p.Y+int(r>>16&0xffffff)%q.Y)
	}
	h.index = map[uint32]int32{}
	h.here, h.below = newLine(h.width), newLine(h.width)
	return h
}

// grid returns how many columns and rows of cells a picture is divided into, at most cells of them, and as square as they can be.
func grid(width, height, cells int) (cols, rows int) {
	if width <= cells && height <= cells/width {
		return width, height
	}
	side := math.Sqrt(float64(width) * float64(height) / float64(cells))
	cols = min(max(int(float64(width)/side), 1), width)
	rows = min(max(int(float64(height)/side), 1), height)
	if cols == 1 {
		rows = min(cells, height)
	}
	if rows == 1 {
		cols = min(cells, width)
	}
	return cols, rows
}

// cell returns the pixels of a cell, from the top left corner.
func (h *Hiding) cell(c int) image.Rectangle {
	first := func(i, size, n int) int { return (i*size + n - 1) / n } // the least x with x*n/size == i
	x, y := c%h.cols, c/h.cols
	return image.Rect(first(x, h.width, h.cols), first(y, h.height, h.rows), first(x+1, h.width, h.cols), first(y+1, h.height, h.rows))
}

// scatter returns bits that look random, always the same for the same x: the finalizer of SplitMix64 (Steele, Lea and Flood 2014).
func scatter(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// portion is about how many pixels Next looks at.
const portion = 1 << 17

// Next looks on for a few milliseconds. It returns false when there is nothing left to do, or nothing without further rows.
func (h *Hiding) Next() bool {
	switch {
	case h.filled < h.height:
		if h.look.Source == nil {
			return false
		}
		line := make([]byte, 4*h.width)
		for range min(max(portion/h.width, 1), h.height-h.filled) {
			y := h.bounds.Min.Y + h.filled
			b := bytesOf(h.look.Source, h.bounds.Min.X, h.bounds.Max.X, y)
			if b == nil {
				b = line
				read(b, h.look.Source, h.bounds.Min.X, y)
			}
			h.take(b)
		}
	case h.draw < len(h.ends):
		h.weigh()
	}
	return h.y < h.height || h.draw < len(h.ends)
}

// Push looks at the next rows of a picture that Rows began with: 4 bytes for each pixel, in the order red, green, blue and one that is not asked about. What
// is less than a row, or more than the picture has, is left out. The bytes are not kept.
func (h *Hiding) Push(rows []byte) {
	if h.look.Source != nil {
		return
	}
	for each := 4 * h.width; h.filled < h.height && len(rows) >= each; rows = rows[each:] {
		h.take(rows[:each])
	}
}

// take looks at the next row.
func (h *Hiding) take(b []byte) {
	h.fill(h.below, b)
	h.choose(b)
	if h.filled++; h.filled > 1 {
		h.scan(h.here, h.below)
	} else {
		h.first(h.below)
	}
	h.here, h.below = h.below, h.here
	if h.filled == h.height {
		h.scan(h.here, nil)
		h.intend()
	}
}

// choose samples pixels of the row that is about to be known.
func (h *Hiding) choose(b []byte) {
	row := h.filled * h.rows / h.height * h.cols
	for c := row; c < row+h.cols; c++ {
		if h.at[c].Y != h.filled {
			continue
		}
		x := h.at[c].X
		p := binary.LittleEndian.Uint32(b[4*x:]) &^ opaque
		i, ok := h.index[p]
		if !ok {
			i = int32(len(h.colours))
			h.index[p] = i
			h.colours = append(h.colours, p)
		}
		h.sampled.colour[c] = i
		if h.look.Beyond != nil {
			h.sampled.beyond[c] = h.look.Beyond(h.bounds.Min.X+x, h.bounds.Min.Y+h.filled)
		}
	}
}

// Done returns how much of the looking is done, 0 to 1.
func (h *Hiding) Done() float64 {
	// A pixel sampled takes about as long on one screen as 8 pixels do that are only compared with their neighbours.
	each := 8 * float64(len(h.at))
	all := float64(h.width)*float64(h.height) + each*float64(len(h.ends))
	if all == 0 {
		return 1
	}
	return (float64(h.width)*float64(h.y) + each*float64(h.draw)) / all
}

// scan does row y, a, whose pairs with the row above are known: what it still lacks are those along it and with the row below, b, if there is one.
func (h *Hiding) scan(a, b *line) {
	row := h.y * h.rows / h.height * h.cols
	h.shadows(a, b)
	h.lights(a, b)
	for kind, flags := range [2][]bool{a.dark, a.bright} {
		marks, hid, sum, mark := &h.marks[kind], &h.hid[kind], h.sum[kind][row:row+h.cols], a.mark[kind]
		for k, needed := range flags {
			from, to := k*block, min((k+1)*block, h.width)
			if !needed {
				marks[0] += to - from
				continue
			}
			for x := from; x < to; x++ {
				m := mark[x]
				marks[m]++
				if m != 0 {
					sum[h.column[x]] += hid[m]
				}
			}
		}
	}
	if h.depths == 0 {
		h.marks[inSteps][0] += h.width
	} else {
		h.steps(a, b, h.sum[inSteps][row:row+h.cols])
	}
	for c := row; c < row+h.cols; c++ {
		if h.at[c].Y == h.y {
			x, mark := h.at[c].X, &h.sampled.mark
			mark[inShadows][c], mark[inLights][c] = a.mark[inShadows][x], a.mark[inLights][x]
			if h.depths != 0 {
				mark[inSteps][c] = merged(a.cell[x+1].apart)
			}
		}
	}
	h.y++
}

// places is at how many places of an aim's band of curves a colour is compared: both ends, and the middle.
const places = 3

// bands returns the light of the codes at the places of an aim's band: none without a curve, one where the band is a line.
func (a Aim) bands() [][256]float64 {
	n := min(len(a.Curves), 2)
	if n == 2 {
		n = places
	}
	b := make([][256]float64, n)
	for k := range b {
		share := float64(k) / (places - 1)
		for c := range b[k] {
			v := float64(c) / 255
			first, last := a.Curves[0].Light(v), a.Curves[len(a.Curves)-1].Light(v)
			b[k][c] = float64((1-share)*first) + float64(share*last)
		}
	}
	return b
}

// weigh does one possible screen.
func (h *Hiding) weigh() {
	p, e := &h.look.Possible[h.draw], h.ends[h.draw]
	h.shift(p.Lights())
	var hidden [3][256]uint8
	var share [kinds]float64
	for kind := range hidden {
		n := 0
		for mark, pixels := range h.marks[kind] {
			if e.hides(kind, uint8(mark)) {
				hidden[kind][mark] = 1
				n += pixels
			}
		}
		share[kind] = float64(n) / (float64(h.width) * float64(h.height))
	}
	var found [kinds]uint32
	s := &h.sampled
	shadows, lights, steps := s.mark[inShadows][:len(s.colour)], s.mark[inLights][:len(s.colour)], s.mark[inSteps][:len(s.colour)]
	moved, any := h.count[0][:len(s.colour)], h.count[2][:len(s.colour)]
	if s.beyond == nil {
		for c, colour := range s.colour {
			is := h.shifted[colour]
			in := uint32(is | hidden[inShadows][shadows[c]] | hidden[inLights][lights[c]] | hidden[inSteps][steps[c]])
			moved[c] += uint32(is)
			any[c] += in
			found[byShift] += uint32(is)
			found[anyWay] += in
		}
	} else {
		for c, colour := range s.colour {
			is, far := h.shifted[colour], uint8(0)
			if s.beyond[c] > p.Reach {
				far = 1
			}
			in := uint32(is | far | hidden[inShadows][shadows[c]] | hidden[inLights][lights[c]] | hidden[inSteps][steps[c]])
			moved[c] += uint32(is)
			h.count[1][c] += uint32(far)
			any[c] += in
			found[byShift] += uint32(is)
			found[byReach] += uint32(far)
			found[anyWay] += in
		}
	}
	for kind := byShift; kind < kinds; kind++ {
		share[kind] = float64(found[kind]) / float64(len(h.at))
	}
	for kind, s := range share {
		// What is known of all pixels holds for the whole, whatever the sample says.
		share[anyWay] = max(share[anyWay], s)
		h.shares[kind] = append(h.shares[kind], share[kind])
	}
	h.draw++
}

// Hidden returns what was found, once Next has returned false; before that nothing is known.
func (h *Hiding) Hidden() Hidden {
	if h.height == 0 || h.draw < len(h.ends) {
		return unknown()
	}
	f := Hidden{Pixels: h.width * h.height, Sampled: len(h.at), Draws: len(h.ends)}
	n := 0 // how many pixels a sample is of; 0 where it is all
	if f.Sampled < f.Pixels {
		n = f.Sampled
		f.Error = math.Sqrt(1 / (4 * float64(n)))
	}
	f.Shadows, f.Lights, f.Merged = share(h.shares[inShadows], 0), share(h.shares[inLights], 0), share(h.shares[inSteps], 0)
	f.Shifted, f.Any = share(h.shares[byShift], n), share(h.shares[anyWay], n)
	if h.look.Beyond != nil {
		f.Beyond = share(h.shares[byReach], n)
	}
	return f
}

// share sums up the shares of equally likely screens, each counted on n pixels, or on all of them with an n of 0.
func share(of []float64, n int) Share {
	sorted := slices.Clone(of)
	slices.Sort(sorted)
	sum := 0.0
	for _, v := range sorted {
		sum += v
	}
	mean := sum / float64(len(sorted))
	s := Share{quantile(sorted, 0.5), quantile(sorted, 0.05), quantile(sorted, 0.95)}
	if n > 0 {
		s.Lo, s.Hi = max(s.Lo-sampling(s.Lo, n), 0), min(s.Hi+sampling(s.Hi, n), 1)
	}
	s.Lo, s.Hi = min(s.Lo, s.At, mean), max(s.Hi, s.At, mean)
	return s
}

// quantile returns the value below which the part p of sorted values lies, straight between them. Estimate.Quantile is not for this: where most
// screens hide nothing at all, it would put the end of the interval on the way to what the few others hide.
func quantile(sorted []float64, p float64) float64 {
	at := p * float64(len(sorted)-1)
	i := int(at)
	v := sorted[i]
	if i+1 < len(sorted) {
		v += float64((at - float64(i)) * (sorted[i+1] - v))
	}
	return v
}

// sampling is how far a share counted on n pixels may be off, at 90 %: 1.645 standard errors, or 3/n where that is more, which is how much can go
// unseen by n at one end (the rule of three, 95 %).
func sampling(share float64, n int) float64 {
	return max(1.645*math.Sqrt(share*(1-share)/float64(n)), 3/float64(n))
}

// Masks returns where it was found, once Next has returned false; before that every mask has a size of 0.
func (h *Hiding) Masks() Masks {
	var all [kinds]*image.Alpha
	size := image.Rect(0, 0, h.cols, h.rows)
	if h.draw < len(h.ends) {
		size = image.Rectangle{}
	}
	for k := range all {
		all[k] = image.NewAlpha(size)
	}
	for c := range all[anyWay].Pix {
		most := uint8(0)
		for k := range all {
			v := 0.0
			if k < byShift {
				r := h.cell(c)
				v = float64(h.sum[k][c]) / (float64(r.Dx()) * float64(r.Dy()) * float64(len(h.ends)))
			} else {
				v = float64(h.count[k-byShift][c]) / float64(len(h.ends))
			}
			p := uint8(math.Floor(float64(255*min(v, 1)) + 0.5))
			most = max(most, p) // the last is any way
			all[k].Pix[c] = p
		}
		all[anyWay].Pix[c] = most
	}
	return Masks{Shadows: all[inShadows], Lights: all[inLights], Merged: all[inSteps], Shifted: all[byShift], Beyond: all[byReach], Any: all[anyWay]}
}
