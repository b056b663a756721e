package picture

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"hash/crc32"
	"io"
	"slices"
)

// png reads the chunks before the pixels (PNG, third edition, W3C 2025).
func (a *About) png(s *source) error {
	const most = 64 << 10 // bytes of a chunk other than iCCP that is looked at
	var (
		packed      []byte // iCCP
		cicp, chrm  []byte
		srgb        bool
		first, exif = true, false
		fault       string
		twice       bool
	)
	for off := int64(8); ; {
		b, err := s.at(off, 8)
		if err != nil {
			return err
		}
		n, name := int64(binary.BigEndian.Uint32(b)), string(b[4:8])
		if n > 1<<31-1 {
			return damaged("a chunk is longer than can be")
		}
		if first != (name == "IHDR") {
			return damaged("its header does not come first, and once")
		}
		if name == "IDAT" || name == "IEND" {
			if name == "IEND" {
				return damaged("its picture is missing")
			}
			break
		}
		if n+4 > s.size-off-8 {
			return errShort
		}
		looked := name == "IHDR" || name == "acTL" || name == "iCCP" || name == "cICP" || name == "cHRM" || name == "sRGB" || name == "tRNS" || name == "eXIf"
		var body []byte
		switch {
		case name == "iCCP" && n > MaxProfile+1024:
			return errProfileLarge
		case name == "iCCP":
			if body, err = s.all(off+4, int(n)+8); err != nil {
				return err
			}
		case looked && n <= most:
			if body, err = s.at(off+4, int(n)+8); err != nil {
				return err
			}
		}
		good := false
		if body != nil {
			good = crc32.ChecksumIEEE(body[:n+4]) == binary.BigEndian.Uint32(body[n+4:])
			body = body[4 : n+4]
		}
		switch name {
		case "IHDR":
			if !good {
				return damaged("its header fails its own check")
			}
			if err := a.ihdr(body); err != nil {
				return err
			}
			first = false
		case "acTL":
			return errMoves
		case "iCCP":
			switch {
			case packed != nil || fault != "":
				twice = true
			case !good:
				fault = "it fails its own check"
			default:
				packed = body
			}
		case "cICP":
			if good && len(body) == 4 && body[2] == 0 && body[3] <= 1 {
				cicp = slices.Clone(body)
			}
		case "cHRM":
			if good && len(body) == 32 {
				chrm = slices.Clone(body)
			}
		case "sRGB":
			srgb = good
		case "tRNS":
			a.Alpha = true
		case "eXIf":
			if good && !exif {
				exif = true
				a.Orientation = upright(body)
			}
		}
		off += n + 12
	}
	if err := s.ends(8, "IEND\xaeB`\x82"); err != nil {
		return err
	}
	switch {
	case twice:
		a.doubtful("there are two")
	case fault != "":
		a.flawed(fault)
	case packed != nil:
		raw, tail, err := inflate(packed)
		switch {
		case err != nil:
			return err
		case raw == nil:
			a.flawed("it does not unpack")
		case tail:
			a.doubtful("there is more of it than it tells")
		default:
			if err := a.profile(raw); err != nil {
				return err
			}
		}
	}
	switch {
	case cicp != nil:
		a.primaries(cicp[0], cicp[1])
	case a.Profile == nil && !srgb && chrm != nil:
		var xy [6]float64
		for i := range xy {
			xy[i] = float64(binary.BigEndian.Uint32(chrm[8+4*i:])) / 100_000
		}
		a.Wide = a.Model != "grey" && apart(xy, srgbD65)
	}
	return nil
}

func (a *About) ihdr(b []byte) error {
	if len(b) != 13 {
		return damaged("its header has the wrong length")
	}
	if err := a.measure(binary.BigEndian.Uint32(b), binary.BigEndian.Uint32(b[4:])); err != nil {
		return err
	}
	a.Bits = int(b[8])
	some, ok := map[byte][]byte{0: {1, 2, 4, 8, 16}, 2: {8, 16}, 3: {1, 2, 4, 8}, 4: {8, 16}, 6: {8, 16}}[b[9]]
	if !ok || !slices.Contains(some, b[8]) || b[10] != 0 || b[11] != 0 || b[12] > 1 {
		return damaged("its header names a sort of pixels that there is not")
	}
	switch b[9] {
	case 0, 4:
		a.Model = "grey"
	case 2, 6:
		a.Model = "rgb"
	case 3:
		a.Model, a.Bits = "indexed", 8
	}
	a.Alpha = b[9] >= 4
	return nil
}

// inflate unpacks the profile in the body of an iCCP chunk: nil where it does not unpack. The profile tells its own length, so that nothing longer is kept;
// tail is whether there is more.
func inflate(body []byte) (raw []byte, tail bool, err error) {
	i := bytes.IndexByte(body, 0)
	if i < 1 || i > 79 || len(body) < i+2 || body[i+1] != 0 {
		return nil, false, nil
	}
	z, err := zlib.NewReader(bytes.NewReader(body[i+2:]))
	if err != nil {
		return nil, false, nil
	}
	head := make([]byte, 128)
	if _, err := io.ReadFull(z, head); err != nil {
		return nil, false, nil
	}
	n := max(binary.BigEndian.Uint32(head), 128)
	if n > MaxProfile {
		return nil, false, errProfileLarge
	}
	raw = append(make([]byte, 0, n), head...)[:n]
	if _, err := io.ReadFull(z, raw[128:]); err != nil {
		return nil, false, nil
	}
	more, err := io.Copy(io.Discard, io.LimitReader(z, MaxProfile))
	switch {
	case more >= MaxProfile:
		return nil, false, errProfileLarge
	case err != nil:
		return nil, false, nil
	}
	return raw, more > 0, nil
}
