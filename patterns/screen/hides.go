package screen

import (
	"encoding/binary"
	"image"
	"math"
	"slices"

	"example.org/plumb/colour"
	"example.org/plumb/colour/difference"
)

// Shift is the CIEDE2000, relative to the screen's own white, above which a tone or a colour counts as shifted; ours, and the same as in a score.
const Shift = 2.5

// A Share is a part of a picture's pixels, 0 to 1: the mean over the screens that are possible, and the interval that holds 90 % of them, widened
// to hold the mean and by the error of sampling where there is one.
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
	// Source is the picture, of 8-bit sRGB codes and opaque, as for View.Show. It is not to change meanwhile.
	Source image.Image

	// Possible is screens drawn from what is believed, equally likely. All of Tone, Crush, Clip, Bits, Tint and Reach count. The fewer are known
	// to be alike, the wider the intervals.
	Possible []Possible

	// Aim is what the picture should look like. Without curves all of it counts as shifted.
	Aim Aim

	// Beyond, where not nil, is for pictures that go beyond sRGB, whose own codes Source cannot hold: how far the colour of a pixel of Source
	// lies from sRGB, as Possible.Reach: 0 inside it, 1 at the edge of Display P3. A screen that reaches less hides the pixel. It is asked about
	// sampled pixels only.
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

	ends              []ends // of each possible screen
	darkest, lightest int    // the greatest crush and the least clip of them all
	depths            uint8  // the depths of them all
	step              [3][256]uint64
	prob              [3][256]float64 // the part of the screens that hide a mark of shadows, lights, merged

	y           int // the next row
	here, below *line
	marks       [3][256]int   // pixels by mark
	sum         [3][]float64  // by cell, of prob
	column      []int32       // the column of cells that each column of pixels is in
	at          []image.Point // by cell, the pixel sampled, from the top left corner
	sample      []sample

	draw    int // the next possible screen
	index   map[uint32]int32
	colours []uint32 // that samples have, red in the low byte
	intent  [][]colour.Lab
	shifted []bool      // by colour, on the screen at hand
	count   [3][]uint32 // by cell: the screens that shift it, do not reach it, hide it in any way
	shares  [kinds][]float64
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

// A sample is a pixel with its marks.
type sample struct {
	colour int32
	mark   [3]uint8
	beyond float64
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
	if l.Cells <= 0 {
		l.Cells = Cells
	}
	h := &Hiding{look: l, darkest: -1, lightest: 256}
	if l.Source == nil || l.Source.Bounds().Empty() || len(l.Possible) == 0 {
		return h
	}
	h.bounds = l.Source.Bounds()
	h.width, h.height = h.bounds.Dx(), h.bounds.Dy()
	h.cols, h.rows = grid(h.width, h.height, l.Cells)

	for i := range l.Possible {
		e := l.Possible[i].ends()
		h.ends = append(h.ends, e)
		h.darkest, h.lightest = max(h.darkest, e.crush), min(h.lightest, e.clip)
		h.depths |= e.depth
	}
	for kind := range h.prob {
		for mark := range h.prob[kind] {
			n := 0
			for _, e := range h.ends {
				if e.hides(kind, uint8(mark)) {
					n++
				}
			}
			h.prob[kind][mark] = float64(n) / float64(len(h.ends))
		}
	}
	// The steps that a code lies in at 7, 6 and 5 bits: for each depth 21 bits, for each channel 7 of them.
	for i := range h.step {
		for c := range 256 {
			for k := range 3 {
				top := float64(int(1)<<(7-k) - 1)
				h.step[i][c] |= uint64(math.Floor(float64(float64(c)/255*top)+0.5)) << (21*k + 7*i)
			}
		}
	}

	cells := h.cols * h.rows
	for i := range h.sum {
		h.sum[i], h.count[i] = make([]float64, cells), make([]uint32, cells)
	}
	h.column = make([]int32, h.width)
	for x := range h.column {
		h.column[x] = int32(x * h.cols / h.width)
	}
	h.at, h.sample = make([]image.Point, cells), make([]sample, cells)
	for c := range h.at {
		p, q := h.cell(c).Min, h.cell(c).Size()
		r := scatter(uint64(c))
		h.at[c] = image.Pt(p.X+int(r>>40)%q.X, p.Y+int(r>>16&0xffffff)%q.Y)
	}
	h.index = map[uint32]int32{}
	h.here, h.below = newLine(h.width), newLine(h.width)
	h.fill(h.here, 0)
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

// A line is a row of pixels with what their pairs tell.
type line struct {
	bytes        []byte
	pixel        []uint32 // red in the low byte, no alpha
	top          []uint8  // the greatest code of each pixel
	step         []uint64 // see Hiding.step
	mark         [3][]uint8
	dark, bright bool // whether any pixel can be black, or full in a channel, on any screen
}

func newLine(width int) *line {
	l := &line{bytes: make([]byte, 4*width), pixel: make([]uint32, width), top: make([]uint8, width), step: make([]uint64, width)}
	for i := range l.mark {
		l.mark[i] = make([]uint8, width)
	}
	return l
}

// fill sets a line to a row of the picture, without marks.
func (h *Hiding) fill(l *line, y int) {
	b := bytesOf(h.look.Source, h.bounds.Min.X, h.bounds.Max.X, h.bounds.Min.Y+y)
	if b == nil {
		b = l.bytes
		read(b, h.look.Source, h.bounds.Min.X, h.bounds.Min.Y+y)
	}
	least, most := uint8(255), uint8(0)
	for x := range l.pixel {
		p := binary.LittleEndian.Uint32(b[4*x:]) &^ opaque
		l.pixel[x] = p
		top := max(uint8(p), uint8(p>>8), uint8(p>>16))
		l.top[x] = top
		least, most = min(least, top), max(most, top)
	}
	if h.depths != 0 {
		for x, p := range l.pixel {
			l.step[x] = h.step[0][p&255] | h.step[1][p>>8&255] | h.step[2][p>>16]
		}
	}
	l.dark, l.bright = int(least) <= h.darkest, int(most) >= h.lightest
	for i := range l.mark {
		clear(l.mark[i])
	}
}

// pair marks pixels that touch: those of a from the i-th on with those of b from the j-th on.
func (h *Hiding) pair(a, b *line, i, j int) {
	n := h.width - max(i, j)
	p, q := a.pixel[i:i+n], b.pixel[j:j+n]
	tp, tq := a.top[i:i+n], b.top[j:j+n]
	tq = tq[:len(tp)]
	if a.dark && b.dark {
		mp, mq := a.mark[inShadows][i:i+n], b.mark[inShadows][j:j+n]
		darkest := uint8(h.darkest)
		for x, t := range tp {
			if t = max(t, tq[x]); t <= darkest && p[x] != q[x] {
				mark := 255 - t + 1
				mp[x], mq[x] = max(mp[x], mark), max(mq[x], mark)
			}
		}
	}
	if a.bright && b.bright {
		mp, mq := a.mark[inLights][i:i+n], b.mark[inLights][j:j+n]
		lightest := uint8(h.lightest)
		for x, t := range tp {
			if min(t, tq[x]) < lightest || p[x] == q[x] {
				continue
			}
			most := -1 // the least of both codes, in the channel where it is greatest, of those that differ
			for s := 0; s < 24; s += 8 {
				if c, d := uint8(p[x]>>s), uint8(q[x]>>s); c != d {
					most = max(most, int(min(c, d)))
				}
			}
			if most >= h.lightest {
				mark := uint8(most + 1)
				mp[x], mq[x] = max(mp[x], mark), max(mq[x], mark)
			}
		}
	}
	if h.depths != 0 {
		const (
			seven = 1<<21 - 1
			six   = seven << 21
			five  = seven << 42
		)
		mp, mq := a.mark[inSteps][i:i+n], b.mark[inSteps][j:j+n]
		sp, sq := a.step[i:i+n], b.step[j:j+n]
		for x, v := range p {
			// Without branches, which grain would make a guess of: v-1 has its top bit set only for a v of 0, of those below 1<<63.
			d, same := sp[x]^sq[x], (uint64(v^q[x])-1)>>63
			mark := (d&seven-1)>>63 | (d&six-1)>>63<<1 | (d&five-1)>>63<<2
			m := uint8(mark & (same - 1))
			mp[x] |= m
			mq[x] |= m
		}
	}
}

// portion is about how many pixels Next looks at.
const portion = 1 << 17

// Next looks on for a few milliseconds. It returns false when there is nothing left to do.
func (h *Hiding) Next() bool {
	switch {
	case h.y < h.height:
		for range max(portion/h.width, 1) {
			if h.scan(); h.y == h.height {
				h.intend()
				break
			}
		}
	case h.draw < len(h.ends):
		h.weigh()
	}
	return h.y < h.height || h.draw < len(h.ends)
}

// Done returns how much of the looking is done, 0 to 1.
func (h *Hiding) Done() float64 {
	// A pixel sampled takes about as long on one screen as 8 pixels do that are only compared with their neighbours.
	each := 8 * float64(len(h.sample))
	all := float64(h.width)*float64(h.height) + each*float64(len(h.ends))
	if all == 0 {
		return 1
	}
	return (float64(h.width)*float64(h.y) + each*float64(h.draw)) / all
}

// scan does one row: what it still lacks are the pairs along it and with the row below.
func (h *Hiding) scan() {
	a := h.here
	h.pair(a, a, 0, 1)
	if h.y+1 < h.height {
		b := h.below
		h.fill(b, h.y+1)
		h.pair(a, b, 0, 0)
		h.pair(a, b, 0, 1)
		h.pair(a, b, 1, 0)
	}
	row := h.y * h.rows / h.height * h.cols
	for kind, needed := range [3]bool{a.dark, a.bright, h.depths != 0} {
		if !needed {
			h.marks[kind][0] += h.width
			continue
		}
		marks, prob, sum := &h.marks[kind], &h.prob[kind], h.sum[kind][row:row+h.cols]
		for x, m := range a.mark[kind] {
			marks[m]++
			if m != 0 {
				sum[h.column[x]] += prob[m]
			}
		}
	}
	for c := row; c < row+h.cols; c++ {
		if h.at[c].Y != h.y {
			continue
		}
		x := h.at[c].X
		p := a.pixel[x]
		i, ok := h.index[p]
		if !ok {
			i = int32(len(h.colours))
			h.index[p] = i
			h.colours = append(h.colours, p)
		}
		s := sample{colour: i, mark: [3]uint8{a.mark[0][x], a.mark[1][x], a.mark[2][x]}}
		if h.look.Beyond != nil {
			s.beyond = h.look.Beyond(h.bounds.Min.X+x, h.bounds.Min.Y+h.y)
		}
		h.sample[c] = s
	}
	h.here, h.below = h.below, h.here
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

// intend works out what the colours of the samples are to look like.
func (h *Hiding) intend() {
	bands := h.look.Aim.bands()
	matrix, white := colour.SRGB.Matrix(), colour.SRGB.White()
	h.shifted = make([]bool, len(h.colours))
	h.intent = make([][]colour.Lab, len(h.colours))
	all := make([]colour.Lab, 0, len(bands)*len(h.colours))
	for i, p := range h.colours {
		for k := range bands {
			light := &bands[k]
			all = append(all, matrix.Apply(colour.XYZ{X: light[p&255], Y: light[p>>8&255], Z: light[p>>16]}).Lab(white))
		}
		h.intent[i] = all[len(all)-len(bands):]
	}
}

// weigh does one possible screen.
func (h *Hiding) weigh() {
	p, e := &h.look.Possible[h.draw], h.ends[h.draw]
	light := p.Lights()
	matrix, white := colour.SRGB.Matrix(), colour.SRGB.White()
	for i, c := range h.colours {
		lab := matrix.Apply(colour.XYZ{X: light[0][c&255], Y: light[1][c>>8&255], Z: light[2][c>>16]}).Lab(white)
		h.shifted[i] = shifted(lab, h.intent[i])
	}
	var found [kinds]int
	for c := range h.sample {
		s := &h.sample[c]
		hidden := false
		if h.shifted[s.colour] {
			h.count[0][c]++
			found[byShift]++
			hidden = true
		}
		if s.beyond > p.Reach {
			h.count[1][c]++
			found[byReach]++
			hidden = true
		}
		if hidden || e.hides(inShadows, s.mark[inShadows]) || e.hides(inLights, s.mark[inLights]) || e.hides(inSteps, s.mark[inSteps]) {
			h.count[2][c]++
			found[anyWay]++
		}
	}
	var share [kinds]float64
	for kind := range h.marks {
		n := 0
		for mark, pixels := range h.marks[kind] {
			if e.hides(kind, uint8(mark)) {
				n += pixels
			}
		}
		share[kind] = float64(n) / (float64(h.width) * float64(h.height))
	}
	for kind := byShift; kind < kinds; kind++ {
		share[kind] = float64(found[kind]) / float64(len(h.sample))
	}
	for kind, s := range share {
		// What is known of all pixels holds for the whole, whatever the sample says.
		share[anyWay] = max(share[anyWay], s)
		h.shares[kind] = append(h.shares[kind], share[kind])
	}
	h.draw++
}

// shifted reports whether a colour is more than Shift from all that are intended. Most are told without CIEDE2000: in its terms (Sharma, Wu and
// Dalal 2005) a' is at most 1.5 a*, no weight is below 1, and the cross term, whose factor is at most 2 sin 60°, adds at most 0.8661 of the
// other two; and the whole is never less than the term of lightness.
func shifted(seen colour.Lab, intended []colour.Lab) bool {
	for i := range intended {
		want := &intended[i]
		l, a, b := seen.L-want.L, seen.A-want.A, seen.B-want.B
		if l*l+1.8661*(2.25*a*a+b*b) <= Shift*Shift {
			return false
		}
		if greys(seen.L, want.L) > Shift+1e-9 {
			continue
		}
		if difference.CIEDE2000(seen, *want) <= Shift {
			return false
		}
	}
	return true
}

// Hidden returns what was found, once Next has returned false; before that nothing is known.
func (h *Hiding) Hidden() Hidden {
	if h.height == 0 || h.draw < len(h.ends) {
		return unknown()
	}
	f := Hidden{Pixels: h.width * h.height, Sampled: len(h.sample), Draws: len(h.ends)}
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
	s := Share{sum / float64(len(sorted)), quantile(sorted, 0.05), quantile(sorted, 0.95)}
	if n > 0 {
		s.Lo, s.Hi = max(s.Lo-sampling(s.Lo, n), 0), min(s.Hi+sampling(s.Hi, n), 1)
	}
	s.Lo, s.Hi = min(s.Lo, s.At), max(s.Hi, s.At)
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
				v = h.sum[k][c] / (float64(r.Dx()) * float64(r.Dy()))
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
