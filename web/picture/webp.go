package picture

import (
	"bytes"
	"encoding/binary"
)

// webp reads the chunks of a WebP (RFC 9649).
func (a *About) webp(s *source) error {
	const ( // flags of VP8X
		moves, exif, alpha, profile = 1 << 1, 1 << 3, 1 << 4, 1 << 5
		chunks                      = 1000
	)
	b, err := s.at(4, 4)
	if err != nil {
		return err
	}
	end := int64(binary.LittleEndian.Uint32(b)) + 8
	if end > s.size {
		return errShort
	}
	a.Model, a.Bits = "rgb", 8
	var (
		flags    byte
		extended bool
		pixels   bool
		raw      []byte
		had      bool
	)
	off := int64(12)
	for i := 0; off+8 <= end; i++ {
		if i == chunks {
			return errLong
		}
		if b, err = s.at(off, 8); err != nil {
			return err
		}
		name, n := string(b[:4]), int64(binary.LittleEndian.Uint32(b[4:]))
		off += 8
		if n > end-off {
			return errShort
		}
		switch {
		case name == "VP8X" && i == 0:
			if n < 10 {
				return damaged("its header is too short")
			}
			if b, err = s.at(off, 10); err != nil {
				return err
			}
			extended, flags = true, b[0]
			if flags&moves != 0 {
				return errMoves
			}
			a.Alpha = flags&alpha != 0
			if err := a.measure(1+little24(b[4:]), 1+little24(b[7:])); err != nil {
				return err
			}
		case name == "ANIM" || name == "ANMF":
			return errMoves
		case (name == "VP8 " || name == "VP8L") && !pixels:
			pixels = true
			w, h, see, err := stream(s, off, n, name)
			if err != nil {
				return err
			}
			if extended && (int(w) != a.Width || int(h) != a.Height) {
				return damaged("it tells two sizes")
			}
			if err := a.measure(w, h); err != nil {
				return err
			}
			a.Alpha = a.Alpha || see && !extended
		case name == "ICCP" && flags&profile != 0 && !had:
			if n > MaxProfile {
				return errProfileLarge
			}
			had = true
			if raw, err = s.all(off, int(n)); err != nil {
				return err
			}
		case name == "EXIF" && flags&exif != 0 && n <= 64<<10:
			if b, err = s.at(off, int(n)); err != nil {
				return err
			}
			if upright(bytes.TrimPrefix(b, []byte("Exif\x00\x00"))) != 1 { // which Chromium, at least, leaves as stored
				return refuse("The file tells browsers to turn its picture, which in a WebP they do differently.", "Save it again, turned, or as JPEG or PNG.")
			}
		}
		if !extended && pixels {
			break
		}
		off += n + n&1
	}
	if !pixels {
		return damaged("its picture is missing")
	}
	if had {
		return a.profile(raw)
	}
	return nil
}

func little24(b []byte) uint32 { return uint32(b[0]) | uint32(b[1])<<8 | uint32(b[2])<<16 }

// stream reads the size in the first bytes of a lossy (RFC 6386, 9.1) or lossless stream, and whether the latter has transparent parts.
func stream(s *source, off, n int64, name string) (w, h uint32, alpha bool, err error) {
	b, err := s.at(off, int(min(n, 10)))
	if err != nil {
		return 0, 0, false, err
	}
	if name == "VP8 " {
		if len(b) < 10 || b[0]&1 != 0 || string(b[3:6]) != "\x9d\x01\x2a" {
			return 0, 0, false, damaged("its picture does not start as it should")
		}
		return uint32(binary.LittleEndian.Uint16(b[6:])) & 0x3fff, uint32(binary.LittleEndian.Uint16(b[8:])) & 0x3fff, false, nil
	}
	if len(b) < 5 || b[0] != 0x2f || b[4]>>5 != 0 {
		return 0, 0, false, damaged("its picture does not start as it should")
	}
	v := binary.LittleEndian.Uint32(b[1:])
	return 1 + v&0x3fff, 1 + v>>14&0x3fff, v>>28&1 != 0, nil
}
