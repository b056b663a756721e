package icc

import (
	"encoding/binary"
	"time"

	"example.org/plumb/colour"
)

// A view is a part of the file. Its readers do not check: whoever reads has called need before.
type view struct {
	data []byte
	base int // where data begin in the file
}

func (v view) u8(i int) int              { return int(v.data[i]) }
func (v view) u16(i int) int             { return int(binary.BigEndian.Uint16(v.data[i:])) }
func (v view) u32(i int) uint32          { return binary.BigEndian.Uint32(v.data[i:]) }
func (v view) signature(i int) Signature { return Signature(v.u32(i)) }

// fixed reads an s15Fixed16Number (ICC.1:2022, 4.6).
func (v view) fixed(i int) float64 { return float64(int32(v.u32(i))) / 65536 }

// xyz reads an XYZNumber (ICC.1:2022, 4.14).
func (v view) xyz(i int) colour.XYZ {
	return colour.XYZ{X: v.fixed(i), Y: v.fixed(i + 4), Z: v.fixed(i + 8)}
}

// time reads a dateTimeNumber (ICC.1:2022, 4.2). Twelve zero bytes are no date and no fault.
func (v view) time(i int) (time.Time, *Fault) {
	var n [6]int
	some := false
	for j := range n {
		n[j] = v.u16(i + 2*j)
		some = some || n[j] != 0
	}
	if !some {
		return time.Time{}, nil
	}
	t := time.Date(n[0], time.Month(n[1]), n[2], n[3], n[4], n[5], 0, time.UTC)
	if t.Year() != n[0] || int(t.Month()) != n[1] || t.Day() != n[2] || t.Hour() != n[3] || t.Minute() != n[4] || t.Second() != n[5] {
		return time.Time{}, v.fault(i, "%d-%d-%d %d:%d:%d is no date", n[0], n[1], n[2], n[3], n[4], n[5])
	}
	return t, nil
}

func (v view) fault(i int, format string, args ...any) *Fault {
	return faultAt(v.base+i, format, args...)
}

// need returns a fault unless there are n bytes from i on.
func (v view) need(i, n int, what string) *Fault {
	if i < 0 || n < 0 || i > len(v.data) || n > len(v.data)-i {
		return v.fault(min(max(i, 0), len(v.data)), "%s takes %d bytes from here, and the tag has %d left", what, n, max(len(v.data)-i, 0))
	}
	return nil
}

// part returns n bytes from i on, for which need was called.
func (v view) part(i, n int) view { return view{v.data[i : i+n], v.base + i} }
