package picture

import (
	"errors"
	"fmt"
	"io"
	"math"
)

// Walk goes through the compressed pixels of a JPEG from the first to the last, without making pixels of them, and says whether they fit together: browsers show
// what is left of a damaged picture without a word. About is what Read says of the same file. far is told how much is done, 0 to 1; nil is not told.
//
// A picture whose data break off, or that make no picture, is told by a *Refused. What some cameras and programs write too is told by a note: data beyond the last pixel, and
// squares that are a little whiter than white. What Walk does not understand it says nothing of. It cannot find what changes a picture without breaking its data, such as a
// wrong bit within one number.
//
// It takes a byte of memory for 8 pixels of a channel at most (for progressive pictures; next to none for others), and time by the length of the file and by that memory.
func (a About) Walk(r io.ReaderAt, size int64, far func(share float64)) (notes []string, err error) {
	if a.Kind != JPEG {
		return nil, nil
	}
	w := &walker{in: tape{r: r, size: size}, far: far}
	fault := w.walk()
	if w.in.err != nil {
		return nil, fmt.Errorf("picture: %w", w.in.err)
	}
	if d, ok := errors.AsType[*breach](fault); ok {
		return nil, refuse("The picture is damaged: "+d.what+". Browsers show what is left of it without a word.", "Take another copy of the file, or look at it in a program for pictures, whether all of it is as it was meant.")
	}
	if fault == nil && w.beyond > 0 {
		n := "a byte"
		if w.beyond > 1 {
			n = fmt.Sprintf("%d bytes", w.beyond)
		}
		notes = append(notes, "The file has "+n+" of picture data more than the picture has pixels for. Some cameras write such files, but it may be damaged: look at all of it.")
	}
	if fault == nil && w.glaring > 0 {
		notes = append(notes, fmt.Sprintf("In %d of its squares of 8 by 8 pixels the picture is whiter than white or blacker than black. It may be damaged: look at all of it.", w.glaring))
	}
	return notes, nil
}

// A breach is a place at which data make no picture.
type breach struct{ what string }

func (b *breach) Error() string { return b.what }

// errStrange ends a walk that would have to understand more.
var errStrange = errors.New("picture: not understood")

const (
	mostVisits = 64      // of a block, on average, after which a walk ends: ten scans are usual
	mostBeyond = 1 << 10 // bytes beyond the last pixel that cameras are known to write

	// The coefficients of 8 by 8 pixels are, together, as long as the pixels less middle grey, which is 8 times 128 at most (T.81, A.3.3; the transform keeps lengths).
	// Rounding adds half a step of each, and some encoders overshoot sharp edges by a quarter on purpose.
	longest  = 1024
	generous = 1.3

	mostZeros = 8 // bytes of zeros in a row that only a flat picture has
	mostSame  = 4 // coefficients read from such zeros that no picture has
)

// A walker knows what the segments of a JPEG say (ITU-T T.81, annex B).
type walker struct {
	in          tape
	far         func(float64)
	told        int64
	width       int
	height      int
	progressive bool
	channels    []walked
	hMost       int
	vMost       int
	mcuCols     int
	mcuRows     int
	quanta      [4][64]int // steps of coefficients; 0: not told
	codes       [2][4]*code
	interval    int   // MCUs between restarts; 0 for none
	room        int64 // visits of blocks that are left
	beyond      int64 // bytes behind the last pixel of scans
	glaring     int   // squares whose mean is beyond white or black
}

// walked is one channel.
type walked struct {
	id         byte
	h, v       int
	quantum    byte // number of its table
	step       *[64]int
	most       int64 // square of the length that its coefficients can have
	cols, rows int   // blocks of its own, without what fills up MCUs
	across     int   // blocks in a row, with what fills up
	begun      bool  // its means have been read
	full       []uint64
	// In a scan.
	mean   int
	dc, ac *code
}

func (w *walker) walk() error {
	w.in.skip(2)
	frame, scans := false, 0
	for {
		m, ok := w.in.marker()
		if !ok {
			if scans == 0 {
				return errStrange // Read has refused it
			}
			if w.in.over {
				return &breach{"its data break off, with no end"}
			}
			return &breach{"its parts do not follow one another"}
		}
		switch {
		case m == 0xd9:
			if scans == 0 {
				return errStrange
			}
			for _, c := range w.channels {
				if !c.begun {
					return &breach{"one of its channels is missing"}
				}
			}
			return w.in.err
		case m == 0x01 || m >= 0xd0 && m <= 0xd8:
			continue
		}
		n := w.in.word() - 2
		end := w.in.at + int64(n)
		if n < 0 || end > w.in.size {
			if scans > 0 {
				return &breach{"its data break off between two scans"}
			}
			return errStrange
		}
		switch {
		case m == 0xc4:
			if err := w.huffman(end); err != nil {
				return err
			}
		case m == 0xdb:
			for w.in.at < end {
				b := w.in.next()
				if b>>4 > 1 || b&15 > 3 {
					return errStrange
				}
				for k := range 64 {
					v := int(w.in.next())
					if b>>4 == 1 {
						v = v<<8 | int(w.in.next())
					}
					w.quanta[b&15][k] = v
				}
			}
		case m == 0xdd:
			w.interval = w.in.word()
		case m >= 0xc0 && m <= 0xc2 && !frame:
			frame = true
			if err := w.frame(m == 0xc2); err != nil {
				return err
			}
		case m >= 0xc0 && m <= 0xcf && m != 0xc8 && m != 0xcc:
			return errStrange
		case m == 0xda:
			if !frame {
				return errStrange
			}
			scans++
			if err := w.scan(end); err != nil {
				return err
			}
			continue
		}
		if w.in.at > end {
			return errStrange
		}
		w.in.skip(end - w.in.at)
	}
}

func (w *walker) frame(progressive bool) error {
	w.progressive = progressive
	w.in.skip(1)
	w.height, w.width = w.in.word(), w.in.word()
	n := int(w.in.next())
	if w.height == 0 || w.width == 0 || n < 1 || n > 4 || int64(w.width)*int64(w.height) > MaxPixels {
		return errStrange
	}
	w.channels = make([]walked, n)
	for i := range w.channels {
		c := &w.channels[i]
		c.id = w.in.next()
		b := w.in.next()
		c.h, c.v, c.quantum = int(b>>4), int(b&15), w.in.next()&3
		if c.h < 1 || c.h > 4 || c.v < 1 || c.v > 4 {
			return errStrange
		}
		w.hMost, w.vMost = max(w.hMost, c.h), max(w.vMost, c.v)
	}
	up := func(a, b int) int { return (a + b - 1) / b }
	w.mcuCols, w.mcuRows = up(w.width, 8*w.hMost), up(w.height, 8*w.vMost)
	var blocks int64
	for i := range w.channels {
		c := &w.channels[i]
		c.cols, c.rows = up(up(w.width*c.h, w.hMost), 8), up(up(w.height*c.v, w.vMost), 8)
		c.across = w.mcuCols * c.h
		blocks += int64(c.across) * int64(w.mcuRows*c.v)
		if progressive {
			c.full = make([]uint64, c.across*w.mcuRows*c.v)
		}
	}
	w.room = mostVisits*blocks + 1<<20
	return nil
}

// scan walks through the data behind a scan header that ends at end.
func (w *walker) scan(end int64) error {
	n := int(w.in.next())
	if n < 1 || n > 4 {
		return errStrange
	}
	var parts []*walked
	for range n {
		id, b := w.in.next(), w.in.next()
		var c *walked
		for i := range w.channels {
			if w.channels[i].id == id {
				c = &w.channels[i]
			}
		}
		if c == nil || b>>4 > 3 || b&15 > 3 {
			return errStrange
		}
		c.dc, c.ac, c.step = w.codes[0][b>>4], w.codes[1][b&15], &w.quanta[c.quantum]
		var steps float64
		for _, q := range c.step {
			steps += float64(q) * float64(q)
		}
		c.most = int64(math.Pow(generous*longest+math.Sqrt(steps)/2, 2))
		parts = append(parts, c)
	}
	s := pass{w: w, from: int(w.in.next()), to: int(w.in.next())}
	b := w.in.next()
	s.high, s.low = int(b>>4), int(b&15)
	if w.in.over || w.in.at > end || s.low > 13 {
		return errStrange
	}
	if !w.progressive {
		s.from, s.to, s.high, s.low = 0, 63, 0, 0
	} else if s.from > s.to || s.to > 63 || s.from == 0 && s.to != 0 || s.from > 0 && n > 1 {
		return errStrange
	}
	w.in.skip(end - w.in.at)
	for _, c := range parts {
		if s.from == 0 && s.high == 0 {
			c.begun = true
			if c.dc == nil {
				return errStrange
			}
		}
		if s.to > 0 && c.ac == nil {
			return errStrange
		}
	}
	return s.walk(parts)
}

// A pass is the walk through one scan.
type pass struct {
	w         *walker
	bits      bits
	from, to  int
	high, low int
	run       int   // blocks that have nothing more to come
	length    int64 // square of the length of a block's coefficients so far, in steps of 1
	same      int   // coefficients that were read from nothing but zeros
}

func (s *pass) walk(parts []*walked) error {
	w := s.w
	s.bits.in = &w.in
	cols, rows := w.mcuCols, w.mcuRows
	alone := len(parts) == 1
	if alone {
		cols, rows = parts[0].cols, parts[0].rows
	}
	restart := func() {
		s.run = 0
		for _, c := range parts {
			c.mean = 0
		}
	}
	restart()
	total, begun := cols*rows, w.in.at
	place := func(mcu int) string {
		if !w.progressive && cols > 0 && len(parts) == len(w.channels) {
			return fmt.Sprintf("from about %d %% of its height on its data do not fit together", 100*(mcu/cols)/rows)
		}
		return "its data do not fit together in one of its scans"
	}
	for mcu := range total {
		if w.interval > 0 && mcu > 0 && mcu%w.interval == 0 {
			if s.run > 0 || s.bits.missing() {
				return &breach{place(mcu)}
			}
			spare := s.bits.drain()
			if m := byte(0xd0 + (mcu/w.interval-1)%8); s.bits.mark != m || spare > 0 {
				return &breach{place(mcu)}
			}
			s.bits.restart()
			restart()
		}
		for _, c := range parts {
			h, v := c.h, c.v
			if alone {
				h, v = 1, 1
			}
			if w.room -= int64(h * v); w.room < 0 {
				return errStrange
			}
			for y := range v {
				for x := range h {
					var full *uint64
					if c.full != nil {
						full = &c.full[(mcu/cols*v+y)*c.across+mcu%cols*h+x]
					}
					if !s.block(c, full) {
						return &breach{place(mcu)}
					}
				}
			}
		}
		if s.bits.missing() {
			if mcu == total-1 && s.bits.over-s.bits.n <= 8 {
				break // a last byte that was not written out
			}
			if w.in.err != nil {
				return w.in.err
			}
			return &breach{place(mcu)}
		}
		if w.far != nil && w.in.at-w.told > 1<<20 {
			w.told = w.in.at
			w.far(float64(w.in.at) / float64(w.in.size))
		}
	}
	if s.run > 0 {
		return &breach{place(total - 1)}
	}
	spare := s.bits.drain()
	for s.bits.mark >= 0xd0 && s.bits.mark <= 0xd7 { // what should have been part of the picture
		s.bits.restart()
		spare += 2 + s.bits.drain()
	}
	if s.bits.mark == 0 {
		return &breach{"its data break off, with no end"}
	}
	w.in.back(s.bits.mark)
	if spare > mostBeyond && spare > (w.in.at-begun)/100 {
		return &breach{"behind its last pixel there are data for more"}
	}
	w.beyond += spare
	return nil
}

// block walks through one block of a channel, and says whether it is one.
func (s *pass) block(c *walked, full *uint64) bool {
	if s.from == 0 {
		if s.high > 0 {
			s.bits.take(1)
			return true
		}
		n := c.dc.next(&s.bits)
		if n < 0 || n > 11 {
			return false
		}
		c.mean += s.bits.signed(n)
		q := c.step[0]
		m := int64(c.mean<<s.low) * int64(q)
		if s.length = m * m; s.length > c.most {
			return false
		}
		if far := max(m, -m); far > longest+8+3*int64(q<<s.low)/2 {
			s.w.glaring++
		}
		if s.to == 0 {
			return true
		}
		return s.first(c, max(s.from, 1), nil)
	}
	if s.high == 0 {
		s.length = 0
		return s.first(c, s.from, full)
	}
	return s.refine(c, full)
}

// first walks through coefficients that come for the first time (T.81, F.2.2.2 and G.1.2.2).
func (s *pass) first(c *walked, k int, full *uint64) bool {
	if s.run > 0 {
		s.run--
		return true
	}
	b, ac := &s.bits, c.ac
	for k <= s.to {
		// As code.next does, but without a call: this is where the time goes.
		if b.n < 32 {
			b.load()
		}
		v := int(ac.quick[byte(b.acc>>((b.n-8)&63))])
		if v != 0 {
			b.n -= uint(v >> 8)
			v &= 255
		} else if v = ac.next(b); v < 0 {
			return false
		}
		zeros, n := v>>4, v&15
		if n == 0 {
			if zeros == 15 {
				if k += 16; k > s.to+1 {
					return false
				}
				continue
			}
			if full == nil {
				return zeros == 0
			}
			s.run = 1<<zeros + s.bits.take(zeros) - 1
			return true
		}
		if k += zeros; k > s.to {
			return false
		}
		// As bits.signed does; a code takes 16 bits at most, so that there are as many left.
		b.n -= uint(n)
		m := int64(b.acc >> (b.n & 63) & (1<<n - 1))
		if m < 1<<(n-1) {
			m += -1<<n + 1
		}
		m = m << s.low * int64(c.step[k])
		if s.length += m * m; s.length > c.most {
			return false
		}
		if b.zeros < mostZeros {
			s.same = 0
		} else if s.same++; s.same > mostSame {
			return false
		}
		if full != nil {
			*full |= 1 << k
		}
		k++
	}
	return true
}

// refine walks through one more bit of coefficients (T.81, G.1.2.3): those that are not 0 have one each, and new ones come between them.
func (s *pass) refine(c *walked, full *uint64) bool {
	k := s.from
	if s.run == 0 {
		for ; k <= s.to; k++ {
			v := c.ac.next(&s.bits)
			if v < 0 {
				return false
			}
			zeros, n := v>>4, v&15
			switch {
			case n > 1:
				return false
			case n == 1:
				s.bits.take(1)
			case zeros < 15:
				s.run = 1<<zeros + s.bits.take(zeros)
			}
			if s.run > 0 {
				break
			}
			for ; k <= s.to; k++ {
				if *full>>k&1 == 1 {
					s.bits.take(1)
				} else if zeros--; zeros < 0 {
					break
				}
			}
			if n == 1 {
				if k > s.to {
					return false
				}
				*full |= 1 << k
			}
		}
	}
	if s.run > 0 {
		for ; k <= s.to; k++ {
			if *full>>k&1 == 1 {
				s.bits.take(1)
			}
		}
		s.run--
	}
	return true
}

// A code is a Huffman code (T.81, annex C).
type code struct {
	quick  [256]uint16 // by the next 8 bits: length times 256, and value; 0: longer
	least  [17]int     // first code of each length
	first  [17]int     // place of its value
	count  [17]int
	values []byte
}

func (w *walker) huffman(end int64) error {
	for w.in.at < end {
		b := w.in.next()
		if b>>4 > 1 || b&15 > 3 {
			return errStrange
		}
		c := &code{}
		total := 0
		for n := 1; n <= 16; n++ {
			c.count[n] = int(w.in.next())
			c.first[n] = total
			total += c.count[n]
		}
		if total > 256 || w.in.at+int64(total) > end {
			return errStrange
		}
		for range total {
			c.values = append(c.values, w.in.next())
		}
		at := 0
		for n := 1; n <= 16; n++ {
			c.least[n] = at
			for i := range c.count[n] {
				if n <= 8 {
					for j := range 1 << (8 - n) {
						if k := at<<(8-n) | j; k < 256 {
							c.quick[k] = uint16(n)<<8 | uint16(c.values[c.first[n]+i])
						}
					}
				}
				at++
			}
			if at > 1<<n {
				return errStrange
			}
			at <<= 1
		}
		w.codes[b>>4][b&15] = c
	}
	return nil
}

// next returns the value of the code that comes next, -1 where there is none.
func (c *code) next(b *bits) int {
	b.fill()
	if q := c.quick[byte(b.acc>>((b.n-8)&63))]; q != 0 {
		b.n -= uint(q >> 8)
		return int(q & 255)
	}
	for n := uint(9); n <= 16; n++ {
		if i := int(b.acc>>((b.n-n)&63)&(1<<n-1)) - c.least[n]; i >= 0 && i < c.count[n] {
			b.n -= n
			return int(c.values[c.first[n]+i])
		}
	}
	return -1
}

// bits are the bits of a scan's data up to the next marker, and zeros from there on.
type bits struct {
	in   *tape
	acc  uint64
	n    uint // bits in acc that are not taken, 63 at most
	over uint // of them, and of those that were taken, zeros that are none of the file's
	mark byte // the marker that ended the data; 0 for none yet
	gone bool // the file ended
	// zeros is how many bytes of zeros were read last; more than 8 are all that is in acc.
	zeros int
}

// fill sees to it that there are 32 bits.
func (b *bits) fill() {
	if b.n < 32 {
		b.load()
	}
}

func (b *bits) load() {
	if i := b.in.at - b.in.from; i >= 0 && i+4 <= int64(len(b.in.buf)) && b.mark == 0 && !b.gone {
		// Four at once, unless one of them may belong to a marker.
		p := b.in.buf[i : i+4]
		v := uint32(p[0])<<24 | uint32(p[1])<<16 | uint32(p[2])<<8 | uint32(p[3])
		if ((^v-0x01010101)&v)&0x80808080 == 0 {
			switch {
			case v == 0:
				b.zeros += 4
			case v&0xffffff == 0:
				b.zeros = 3
			case v&0xffff == 0:
				b.zeros = 2
			case v&0xff == 0:
				b.zeros = 1
			default:
				b.zeros = 0
			}
			b.in.at += 4
			b.acc, b.n = b.acc<<32|uint64(v), b.n+32
			return
		}
	}
	for b.n < 32 {
		c := byte(0)
		if b.mark != 0 || b.gone {
			b.over = min(b.over+8, 1<<20)
		} else if c = b.byte(); b.mark != 0 || b.gone {
			c = 0
			b.over += 8
		}
		b.acc, b.n = b.acc<<8|uint64(c), b.n+8
	}
}

// byte returns the next byte of data; at a marker or at the end, 0, and mark or gone are set.
func (b *bits) byte() byte {
	c := b.in.next()
	if c != 0xff {
		if c == 0 {
			b.zeros++
		} else {
			b.zeros = 0
		}
		b.gone = b.in.over
		return c
	}
	b.zeros = 0
	m := b.in.next()
	for m == 0xff && !b.in.over {
		m = b.in.next()
	}
	if b.gone = b.in.over; b.gone {
		return 0
	}
	if m != 0 {
		b.mark = m
		return 0
	}
	return 0xff
}

// take takes n bits, at most 16.
func (b *bits) take(n int) int {
	b.fill()
	b.n -= uint(n)
	return int(b.acc >> (b.n & 63) & (1<<(n&63) - 1))
}

// signed takes n bits of a number that may be below 0 (T.81, F.2.2.1).
func (b *bits) signed(n int) int {
	if n == 0 {
		return 0
	}
	v := b.take(n)
	if v < 1<<((n-1)&63) {
		v += -1<<(n&63) + 1
	}
	return v
}

// missing says whether more bits were taken than there are.
func (b *bits) missing() bool { return b.over > b.n }

// drain goes to the marker that ends the data and returns how many whole bytes lie before it that are not padding of zeros or ones.
func (b *bits) drain() (spare int64) {
	for b.n -= b.n % 8; b.n > b.over; b.n -= 8 {
		if c := byte(b.acc >> (b.n - 8)); c != 0 && c != 0xff {
			spare++
		}
	}
	for b.mark == 0 && !b.gone {
		if c := b.byte(); b.mark == 0 && !b.gone && c != 0 && c != 0xff {
			spare++
		}
	}
	return spare
}

// restart begins data behind a marker.
func (b *bits) restart() { *b = bits{in: b.in} }

// A tape reads a file byte by byte, from its begin.
type tape struct {
	r    io.ReaderAt
	size int64
	at   int64 // of the next byte
	buf  []byte
	from int64
	over bool // the end was passed
	err  error
	mark byte // put back
}

func (s *tape) next() byte {
	if i := s.at - s.from; i >= 0 && i < int64(len(s.buf)) {
		s.at++
		return s.buf[i]
	}
	return s.load()
}

func (s *tape) load() byte {
	if s.at >= s.size || s.err != nil {
		s.over = true
		return 0
	}
	if s.buf == nil {
		s.buf = make([]byte, 0, 256<<10)
	}
	n, err := s.r.ReadAt(s.buf[:min(int64(cap(s.buf)), s.size-s.at)], s.at)
	s.buf, s.from = s.buf[:n], s.at
	if n == 0 {
		s.over = true
		if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
			s.err = err
		}
		return 0
	}
	s.at++
	return s.buf[0]
}

func (s *tape) word() int {
	hi := int(s.next())
	return hi<<8 | int(s.next())
}

func (s *tape) skip(n int64) { s.at += max(n, 0) }

// back puts a marker back that was read already.
func (s *tape) back(m byte) { s.mark = m }

// marker returns the next marker, which must begin here but for filling bytes; false where there is none.
func (s *tape) marker() (byte, bool) {
	if m := s.mark; m != 0 {
		s.mark = 0
		return m, true
	}
	if s.next() != 0xff || s.over {
		return 0, false
	}
	m := s.next()
	for m == 0xff && !s.over {
		m = s.next()
	}
	return m, !s.over && m != 0
}
