package picture

import (
	"bytes"
	"encoding/binary"
)

// jpeg reads the segments before the first scan (ITU-T T.81, annex B), EXIF, and the pieces of a profile (ICC.1:2010, annex B.4).
func (a *About) jpeg(s *source) error {
	var (
		pieces  [256][]byte
		total   int // pieces of the profile, as the first one tells
		had     int
		fault   string
		twice   bool
		frame   bool
		exif    bool
		channel byte
	)
	off := int64(2)
	for {
		b, err := s.at(off, 2)
		if err != nil {
			return err
		}
		if b[0] != 0xff {
			return damaged("a segment does not start where it should")
		}
		m := b[1]
		if m == 0xff { // a filling byte
			off++
			continue
		}
		if m == 0x01 || m >= 0xd0 && m <= 0xd8 {
			off += 2
			continue
		}
		if m == 0xd9 || m == 0 {
			return damaged("its picture is missing")
		}
		if b, err = s.at(off+2, 2); err != nil {
			return err
		}
		n := int(binary.BigEndian.Uint16(b)) - 2
		if n < 0 {
			return damaged("a segment has no length")
		}
		off += 4
		if m == 0xda {
			break
		}
		if int64(n) > s.size-off {
			return errShort
		}
		switch {
		case m >= 0xc0 && m <= 0xcf && m != 0xc4 && m != 0xc8 && m != 0xcc:
			if frame {
				return damaged("it has two frames")
			}
			frame = true
			if b, err = s.at(off, n); err != nil {
				return err
			}
			if channel, err = a.frame(m, b); err != nil {
				return err
			}
		case m == 0xe1 && !exif && n >= 6:
			if b, err = s.at(off, n); err != nil {
				return err
			}
			if tiff, ok := bytes.CutPrefix(b, []byte("Exif\x00\x00")); ok {
				exif = true
				a.Orientation = upright(tiff)
			}
		case m == 0xe2 && n >= 14:
			if b, err = s.at(off, 14); err != nil {
				return err
			}
			if !bytes.HasPrefix(b, []byte("ICC_PROFILE\x00")) {
				break
			}
			i, of := b[12], int(b[13])
			if total == 0 {
				total = of
			}
			switch {
			case of != total || i == 0 || int(i) > total:
				fault = "its pieces are numbered wrongly"
			case pieces[i] != nil:
				twice = true
			case had+n-14 > MaxProfile:
				return errProfileLarge
			default:
				if pieces[i], err = s.all(off+14, n-14); err != nil {
					return err
				}
				had += n - 14
			}
		}
		off += int64(n)
	}
	if !frame {
		return damaged("its picture is missing")
	}
	a.Model = "rgb"
	if channel == 1 {
		a.Model = "grey"
	}
	// Within a scan a marker cannot be mistaken for data, so that a picture cut short has no end marker after its start.
	if err := s.ends(off, "\xff\xd9"); err != nil {
		return err
	}
	if had == 0 && fault == "" && total == 0 {
		return nil
	}
	for i := 1; i <= total && fault == ""; i++ {
		if pieces[i] == nil {
			fault = "a piece of it is missing"
		}
	}
	switch {
	case fault != "":
		a.flawed(fault)
		return nil
	case twice:
		a.doubtful("it has a piece twice")
		return nil
	}
	return a.profile(bytes.Join(pieces[1:total+1], nil))
}

// frame reads a frame header, of marker m, and returns how many channels it has.
func (a *About) frame(m byte, b []byte) (byte, error) {
	if len(b) < 6 || len(b) < 6+3*int(b[5]) {
		return 0, damaged("its frame header is too short")
	}
	h, w, n := binary.BigEndian.Uint16(b[1:]), binary.BigEndian.Uint16(b[3:]), b[5]
	if err := a.measure(uint32(w), uint32(h)); err != nil {
		return 0, err
	}
	a.Bits = int(b[0])
	const plain = "Save it as an ordinary JPEG of 8 bits."
	switch {
	case n == 4:
		return 0, errInk
	case m > 0xc2:
		return 0, refuse("This is a JPEG of a rare sort (lossless, hierarchical or arithmetic coding), which browsers do not show.", plain)
	case a.Bits != 8:
		return 0, refuse("This is a JPEG of more than 8 bits, which browsers do not show.", plain)
	case n != 1 && n != 3:
		return 0, damaged("it has neither one nor three channels")
	}
	for c := b[6:]; len(c) >= 3; c = c[3:] {
		if h, v := c[1]>>4, c[1]&15; h < 1 || h > 4 || v < 1 || v > 4 {
			return 0, damaged("its channels have no size")
		}
	}
	return n, nil
}
