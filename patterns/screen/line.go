package screen

import "encoding/binary"

// block is how many pixels of a row are told apart at once as perhaps dark, or perhaps full in a channel. It is even.
const block = 64

// A line is a row of pixels with what their pairs tell.
type line struct {
	bytes        []byte     // the row, and grey to the end of the last block
	dark, bright []bool     // by block: a pixel in it may be black, or full in a channel, on some screen
	mark         [2][]uint8 // of shadows and lights; 0 wherever the block is not dark, or not bright
	full         []uint32   // the pixels of bright blocks with 0 for the codes that are full on no screen; 0 in other blocks
	cell         []cell     // of pixel x at x+1, and a wall at both ends
}

// A cell is the word of a pixel, see words, and what its pairs tell of it, see same.
type cell struct{ word, apart uint64 }

func newLine(width int) *line {
	blocks := (width + block - 1) / block
	l := &line{
		bytes: make([]byte, 4*block*blocks), dark: make([]bool, blocks), bright: make([]bool, blocks),
		full: make([]uint32, width), cell: make([]cell, width+2),
	}
	for i := range l.bytes {
		l.bytes[i] = 128
	}
	for i := range l.mark {
		l.mark[i] = make([]uint8, width)
	}
	l.cell[0].word, l.cell[width+1].word = wall, wall
	return l
}

// fill sets a line to a row of the picture, without marks.
func (h *Hiding) fill(l *line, row []byte) {
	copy(l.bytes, row[:4*h.width])
	for i, flags := range [2][]bool{l.dark, l.bright} {
		for k, was := range flags {
			if was {
				clear(l.mark[i][k*block : min((k+1)*block, h.width)])
				if i == 1 {
					clear(l.full[k*block : min((k+1)*block, h.width)])
				}
			}
		}
	}
	h.flag(l)
	if h.depths != 0 {
		h.spell(l)
	}
}

// flag tells dark and bright blocks. Pairs that could be lost on no screen need no looking at: two blacks, or two fulls, are the same.
func (h *Hiding) flag(l *line) {
	const (
		low    = 0x7f7f7f7f_7f7f7f7f
		ones   = 0x01010101_01010101
		colour = 0x00808080_00808080 // the top bits of the codes of two pixels
		guards = 0x80000000_80000000
	)
	// Two pixels at a time, without branches. The top bit of a byte of low+dark is set for a code above darkest, if that is below 128; of low+bright
	// for one from lightest on, if that is above 128 and the code's own top bit is set.
	dark := uint64(127-min(max(h.darkest, 0), 127)) * ones
	bright := uint64(256-min(max(h.lightest, 129), 256)) * ones
	for k := range l.dark {
		b := l.bytes[4*block*k:][:4*block]
		above, full := uint64(guards), uint64(0)
		for i := 0; i <= len(b)-8; i += 8 {
			v := binary.LittleEndian.Uint64(b[i:])
			w := v & low
			// A pixel without a code above darkest leaves its guard unset.
			above &= ((w+dark)|v)&colour + (guards - 0x00000001_00000001)
			full |= (w + bright) & v
		}
		l.dark[k] = h.darkest > 0 && (above&guards != guards || h.darkest > 127)
		l.bright[k] = h.lightest < 255 && (full&colour != 0 || h.lightest < 129)
		if l.bright[k] {
			h.clip(l, k)
		}
	}
}

// clip sets full in a block.
func (h *Hiding) clip(l *line, k int) {
	full := l.full[k*block : min((k+1)*block, h.width)]
	b := l.bytes[4*block*k:]
	for x := range full {
		p := binary.LittleEndian.Uint32(b[4*x:]) &^ opaque
		if h.lightest < 129 {
			for s := 0; s < 24; s += 8 {
				if int(uint8(p>>s)) < h.lightest {
					p &^= 255 << s
				}
			}
			full[x] = p
			continue
		}
		// As in flag: a top bit for each code from lightest on, and from that all bits.
		top := (p&0x7f7f7f + uint32(256-h.lightest)*0x010101) & p & 0x808080
		full[x] = p & (top >> 7 * 255)
	}
}

// highest returns the greatest code of a pixel.
func highest(p uint32) uint8 { return max(uint8(p), uint8(p>>8), uint8(p>>16)) }

// pixel returns a pixel without its alpha.
func (l *line) pixel(x int) uint32 { return binary.LittleEndian.Uint32(l.bytes[4*x:]) &^ opaque }

// shadows marks the pairs of a's pixels with their right neighbours and those below that are lost in shadows. The mark is 256 less the least crush that hides
// the pair, which is the greater of their codes.
func (h *Hiding) shadows(a, b *line) {
	darkest := uint8(max(h.darkest, 0))
	marks := a.mark[inShadows]
	for k, dark := range a.dark {
		if !dark {
			continue
		}
		for x := k * block; x < min((k+1)*block, h.width); x++ {
			p := a.pixel(x)
			top := highest(p)
			if top > darkest {
				continue
			}
			m := marks[x]
			if x+1 < h.width {
				if q := a.pixel(x + 1); q != p {
					if t := max(top, highest(q)); t <= darkest {
						m, marks[x+1] = max(m, 255-t+1), max(marks[x+1], 255-t+1)
					}
				}
			}
			if b != nil {
				below := b.mark[inShadows]
				for at := max(x-1, 0); at <= min(x+1, h.width-1); at++ {
					if q := b.pixel(at); q != p {
						if t := max(top, highest(q)); t <= darkest {
							m, below[at] = max(m, 255-t+1), max(below[at], 255-t+1)
						}
					}
				}
			}
			marks[x] = m
		}
	}
}

// lights is shadows for clipped lights. The mark is 1 more than the greatest clip that hides the pair: of the channels that differ, the one in which the
// lesser code is greatest.
func (h *Hiding) lights(a, b *line) {
	marks, lightest := a.mark[inLights], h.lightest
	for k, bright := range a.bright {
		if !bright {
			continue
		}
		for x := k * block; x < min((k+1)*block, h.width); x++ {
			p := a.full[x]
			if p == 0 {
				continue
			}
			m := marks[x]
			if x+1 < h.width {
				if q := a.full[x+1]; h.clipped(p, q) {
					if c := both(p, q); c >= lightest {
						m, marks[x+1] = max(m, uint8(c+1)), max(marks[x+1], uint8(c+1))
					}
				}
			}
			if b != nil {
				below := b.mark[inLights]
				for at := max(x-1, 0); at <= min(x+1, h.width-1); at++ {
					if q := b.full[at]; h.clipped(p, q) {
						if c := both(p, q); c >= lightest {
							m, below[at] = max(m, uint8(c+1)), max(below[at], uint8(c+1))
						}
					}
				}
			}
			marks[x] = m
		}
	}
}

// clipped reports whether two pixels, as full has them, may differ in a channel in which both may be full. Of codes from 129 on the top bit tells which may be.
func (h *Hiding) clipped(p, q uint32) bool {
	d := p ^ q
	return p&q&((d&0x7f7f7f+0x7f7f7f)|d)&0x808080 != 0 || h.lightest < 129
}

// both returns the lesser of two pixels' codes in the channel where it is greatest, of those in which they differ; -1 if they are the same.
func both(p, q uint32) int {
	most := -1
	for s := 0; s < 24; s += 8 {
		if c, d := uint8(p>>s), uint8(q>>s); c != d {
			most = max(most, int(min(c, d)))
		}
	}
	return most
}

// A word spells a pixel so that one difference of two words tells at which depths the pixels lie in the same steps: for 7, 6 and 5 bits a field of the
// steps of all three channels, each with one bit above it that is set in a wall alone, and a guard above that; at the top what tells the two codes of a step at 7 bits
// apart. Bit 63 is free.
const (
	seven, six, five, parity = 0, 23, 43, 60 // where the fields begin; they are 21, 18 and 15 bits long

	guard7, guard6, guard5 = 1 << 22, 1 << 42, 1 << 59

	// carry is added to a difference: a guard is set then wherever its field is not 0.
	carry = guard7 - 1<<seven + guard6 - 1<<six + guard5 - 1<<five

	// wall is no pixel: it lies in no step of any.
	wall = guard7>>1 | guard6>>1 | guard5>>1

	// gather moves the guards of 7, 6 and 5 bits to bits 61, 62 and 63.
	gather = 1<<(61-22) | 1<<(62-42) | 1<<(63-59)
)

// words returns what each code of each channel adds to a word.
func words() (w [3][256]uint64) {
	for i := range w {
		for c := range w[i] {
			step := func(bits int) uint64 { // halves up
				top := 1<<bits - 1
				return uint64((2*c*top + 255) / 510)
			}
			w[i][c] = step(7)<<(seven+7*i) | step(6)<<(six+6*i) | step(5)<<(five+5*i) | uint64(c&1)<<(parity+i)
		}
	}
	return w
}

// spell sets the words of a line.
func (h *Hiding) spell(l *line) {
	red, green, blue := &h.words[0], &h.words[1], &h.words[2]
	cells := l.cell[1 : 1+h.width]
	b := l.bytes[:4*len(cells)]
	for x := range cells {
		p := binary.LittleEndian.Uint32(b[4*x:])
		cells[x].word = red[uint8(p)] | green[uint8(p>>8)] | blue[uint8(p>>16)]
	}
}

// first begins with a line that has none above.
func (h *Hiding) first(l *line) {
	for x := range l.cell {
		l.cell[x].apart = 1<<64 - 1
	}
}

// same has the guard unset of every depth at which two pixels whose words differ by d lie in the same steps, unless they are the same.
func same(d uint64) uint64 { return d + carry | uint64(int64(d-1)>>63) }

// merged returns the mark of a pixel with neighbours that same, put together by and, has guards of.
func merged(apart uint64) uint8 {
	return uint8((^apart & (guard7 | guard6 | guard5)) * gather >> 61)
}

// steps marks the pairs that are merged by coarse steps, as shadows does, counts a's marks and adds the screens that hide them to each cell of a row of cells.
func (h *Hiding) steps(a, b *line, sum []int) {
	if b == nil {
		b = &line{cell: make([]cell, h.width+2)}
		for x := range b.cell {
			b.cell[x].word = wall
		}
	}
	// Of the pairs of a pixel a0 with its neighbours a1 to the right, b0 below and b1 to the right of that; a1 and b0 touch too.
	a0, b0 := a.cell[1].word, b.cell[1].word
	before, under := uint64(1<<64-1), uint64(1<<64-1) // what the pixels to the left say of a0 and b0
	marks, hid := &h.marks[inSteps], &h.hid[inSteps]
	for c := range sum {
		for from, end := h.edge[c], h.edge[c+1]; from < end; {
			to := min(from+255, end)
			here, below := a.cell[from+1:to+2], b.cell[from+1:to+2]
			below = below[:len(here)]
			counts := uint64(0) // of 8 marks, in a byte each
			for x := 1; x < len(here); x++ {
				a1, b1 := here[x].word, below[x].word
				along, down, across, back := same(a0^a1), same(a0^b0), same(a0^b1), same(a1^b0)
				apart := here[x-1].apart & before & along & down & across
				here[x-1].apart = apart
				below[x-1].apart = under & down & back
				before, under = along&back, across
				a0, b0 = a1, b1
				counts += 1 << ((^apart & (guard7 | guard6 | guard5)) * gather >> 61 << 3)
			}
			for m := range 8 {
				if k := int(counts >> (8 * m) & 255); k != 0 {
					marks[m] += k
					sum[c] += k * hid[m]
				}
			}
			from = to
		}
	}
}
