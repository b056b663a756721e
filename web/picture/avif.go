package picture

import (
	"encoding/binary"
	"strings"
)

// avif reads the boxes that describe the primary item (ISO/IEC 14496-12, 23008-12, AV1 Image File Format). Rotation and mirroring are told there; EXIF counts for nothing.
func (a *About) avif(s *source) error {
	const boxes = 1000
	var meta []byte
	for off, i := int64(0), 0; off < s.size; i++ {
		if i == boxes {
			return errLong
		}
		b, err := s.at(off, int(min(16, s.size-off)))
		if err != nil {
			return err
		}
		if len(b) < 8 {
			return errShort
		}
		n, head, name := int64(binary.BigEndian.Uint32(b)), int64(8), string(b[4:8])
		switch n {
		case 0:
			n = s.size - off
		case 1:
			if len(b) < 16 {
				return errShort
			}
			n, head = int64(binary.BigEndian.Uint64(b[8:])), 16
		}
		if n < head {
			return damaged("a box has no length")
		}
		if n > s.size-off {
			return errShort
		}
		if name == "meta" && meta == nil {
			if n-head > MaxProfile {
				return errLong
			}
			if meta, err = s.all(off+head, int(n-head)); err != nil {
				return err
			}
		}
		if name == "moov" {
			return errMoves
		}
		off += n
	}
	if len(meta) < 4 {
		return damaged("it does not describe its picture")
	}
	it := items{}
	if !it.read(meta[4:]) {
		return damaged("it does not describe its picture as it should")
	}
	if it.reach > uint64(s.size) {
		return errShort
	}
	return a.primary(&it)
}

// each calls f with the boxes in b, and tells whether they and f are all sound.
func each(b []byte, f func(name string, body []byte) bool) bool {
	for len(b) > 0 {
		if len(b) < 8 {
			return false
		}
		n, head := uint64(binary.BigEndian.Uint32(b)), uint64(8)
		switch n {
		case 0:
			n = uint64(len(b))
		case 1:
			if len(b) < 16 {
				return false
			}
			n, head = binary.BigEndian.Uint64(b[8:]), 16
		}
		if n < head || n > uint64(len(b)) {
			return false
		}
		if !f(string(b[4:8]), b[head:n]) {
			return false
		}
		b = b[n:]
	}
	return true
}

type property struct {
	name string
	body []byte
}

// long takes a number of 0, 4 or 8 bytes.
func (n *numbers) long(width int) (v uint64) {
	for ; width > 4; width -= 4 {
		v = uint64(n.take(4)) << 32
	}
	return v | uint64(n.take(width))
}

// items is what a meta box says of its items.
type items struct {
	primary    uint32
	told       bool
	properties []property
	has        map[uint32][]int  // properties of each item, from 1, in order
	kinds      map[uint32]string // of items
	beside     []uint32          // items that are auxiliary to the primary one
	tile       *uint32           // one that the primary one is put together from
	reach      uint64            // where the last of the coded pictures ends in the file
	entries    int               // of all lists together
}

// more counts an entry, and tells whether there are not yet more than any picture needs: each takes more memory than it takes of the file.
func (it *items) more() bool {
	it.entries++
	return it.entries <= 20_000
}

// numbers takes fixed-width big-endian numbers from the front of bytes; bad is set when there are none left.
type numbers struct {
	b   []byte
	bad bool
}

func (n *numbers) take(width int) (v uint32) {
	if len(n.b) < width {
		n.bad, n.b = true, nil
		return 0
	}
	for _, c := range n.b[:width] {
		v = v<<8 | uint32(c)
	}
	n.b = n.b[width:]
	return v
}

func (it *items) read(meta []byte) bool {
	it.has, it.kinds = map[uint32][]int{}, map[uint32]string{}
	var refs []byte
	sound := each(meta, func(name string, body []byte) bool {
		n := &numbers{b: body}
		switch name {
		case "pitm":
			width := 2
			if n.take(4)>>24 > 0 {
				width = 4
			}
			it.primary, it.told = n.take(width), true
			return !n.bad
		case "iinf":
			width := 2
			if n.take(4)>>24 > 0 {
				width = 4
			}
			n.take(width)
			return !n.bad && each(n.b, func(name string, body []byte) bool {
				e := &numbers{b: body}
				version := e.take(4) >> 24
				if name != "infe" || version < 2 {
					return true
				}
				width := 2
				if version > 2 {
					width = 4
				}
				id := e.take(width)
				e.take(2)
				if len(e.b) < 4 {
					return false
				}
				it.kinds[id] = string(e.b[:4])
				return it.more()
			})
		case "iloc":
			return it.locate(body)
		case "iref":
			refs = body
		case "iprp":
			return each(body, it.props)
		}
		return true
	})
	return sound && it.told && it.refer(refs)
}

// locate reads where the items lie (ISO/IEC 14496-12, 8.11.3).
func (it *items) locate(body []byte) bool {
	n := &numbers{b: body}
	version := n.take(4) >> 24
	sizes := n.take(2)
	offset, length, base, index := int(sizes>>12), int(sizes>>8&15), int(sizes>>4&15), int(sizes&15)
	width, count := 2, 2
	if version == 2 {
		width, count = 4, 4
	}
	if version == 0 {
		index = 0
	}
	for _, size := range []int{offset, length, base, index} {
		if size != 0 && size != 4 && size != 8 {
			return false
		}
	}
	for items := n.take(count); items > 0 && !n.bad; items-- {
		n.take(width)
		method := uint32(0)
		if version > 0 {
			method = n.take(2) & 15
		}
		n.take(2)
		from := n.long(base)
		for extents := n.take(2); extents > 0 && !n.bad; extents-- {
			n.long(index)
			start := from + n.long(offset)
			end := start + n.long(length)
			if start < from || end < start || !it.more() {
				return false
			}
			if method == 0 && !n.bad {
				it.reach = max(it.reach, end)
			}
		}
	}
	return !n.bad
}

func (it *items) props(name string, body []byte) bool {
	switch name {
	case "ipco":
		return each(body, func(name string, body []byte) bool {
			it.properties = append(it.properties, property{name, body})
			return it.more()
		})
	case "ipma":
		n := &numbers{b: body}
		head := n.take(4)
		width := 2
		if head>>24 > 0 {
			width = 4
		}
		for entries := n.take(4); entries > 0 && !n.bad; entries-- {
			id := n.take(width)
			for of := n.take(1); of > 0 && !n.bad; of-- {
				if head&1 != 0 {
					it.has[id] = append(it.has[id], int(n.take(2)&0x7fff))
				} else {
					it.has[id] = append(it.has[id], int(n.take(1)&0x7f))
				}
				if !it.more() {
					return false
				}
			}
		}
		return !n.bad
	}
	return true
}

func (it *items) refer(b []byte) bool {
	if b == nil {
		return true
	}
	n := &numbers{b: b}
	width := 2
	if n.take(4)>>24 > 0 {
		width = 4
	}
	return !n.bad && each(n.b, func(name string, body []byte) bool {
		n := &numbers{b: body}
		from := n.take(width)
		for of := n.take(2); of > 0 && !n.bad; of-- {
			to := n.take(width)
			switch {
			case name == "auxl" && to == it.primary:
				it.beside = append(it.beside, from)
			case name == "dimg" && from == it.primary:
				it.tile = &to
			}
			if !it.more() {
				return false
			}
		}
		return !n.bad
	})
}

// primary reads the properties of the primary item.
func (a *About) primary(it *items) error {
	var (
		raw      []byte
		had      bool
		sized    bool
		cp, tc   byte
		told     bool
		rotated  byte
		mirrored byte
	)
	a.Model = "rgb"
	switch k := it.kinds[it.primary]; k {
	case "av01", "grid":
	default:
		return refuse("The picture in this file is not coded as browsers expect.", "Save it as JPEG, PNG or TIFF and send that.")
	}
	depth := func(c []byte) { // an AV1CodecConfigurationRecord
		if len(c) < 4 {
			return
		}
		switch {
		case c[2]&0x40 == 0:
			a.Bits = 8
		case c[2]&0x20 == 0:
			a.Bits = 10
		default:
			a.Bits = 12
		}
		if a.Model = "rgb"; c[2]&0x10 != 0 {
			a.Model = "grey"
		}
	}
	if it.tile != nil { // of a grid, its tiles tell
		for _, i := range it.has[*it.tile] {
			if i > 0 && i <= len(it.properties) && it.properties[i-1].name == "av1C" {
				depth(it.properties[i-1].body)
			}
		}
	}
	for _, i := range it.has[it.primary] {
		if i == 0 {
			continue
		}
		if i > len(it.properties) {
			return damaged("it names a property that it does not have")
		}
		p := it.properties[i-1]
		n := &numbers{b: p.body}
		switch p.name {
		case "ispe":
			n.take(4)
			w, h := n.take(4), n.take(4)
			if n.bad {
				return damaged("its size is missing")
			}
			if err := a.measure(w, h); err != nil {
				return err
			}
			sized = true
		case "av1C":
			depth(p.body)
		case "pixi":
			n.take(4)
			if n.take(1) > 0 {
				if bits := n.take(1); !n.bad {
					a.Bits = int(bits)
				}
			}
		case "colr":
			if len(p.body) < 4 {
				break
			}
			switch string(p.body[:4]) {
			case "nclx":
				if len(p.body) >= 11 && !told {
					cp, tc, told = p.body[5], p.body[7], true
					if p.body[4] != 0 || p.body[6] != 0 {
						cp, tc = 2, 2
					}
				}
			case "prof", "rICC":
				if !had {
					raw, had = p.body[4:], true
				}
			}
		case "irot":
			rotated = byte(n.take(1)) & 3
		case "imir":
			mirrored = 1 + byte(n.take(1))&1
		case "clap":
			return refuse("The file tells browsers to crop its picture, which they do differently.", "Save it again, cropped, as JPEG, PNG or TIFF.")
		}
	}
	if !sized {
		return damaged("its size is missing")
	}
	if a.Bits == 0 {
		return damaged("it does not say how its picture is coded")
	}
	// Rotation by quarters against the clock, then the exchange of top and bottom or of left and right (ISO/IEC 23008-12, 6.5.10 and 6.5.12), in terms of EXIF.
	a.Orientation = [4][3]int{{1, 4, 2}, {8, 5, 7}, {3, 2, 4}, {6, 7, 5}}[rotated][mirrored]
	for _, id := range it.beside {
		for _, i := range it.has[id] {
			if i > 0 && i <= len(it.properties) && it.properties[i-1].name == "auxC" && strings.Contains(string(it.properties[i-1].body), "alpha") {
				a.Alpha = true
			}
		}
	}
	if told && !had {
		a.primaries(cp, tc)
	}
	if had {
		return a.profile(raw)
	}
	return nil
}
