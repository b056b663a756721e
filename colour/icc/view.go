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
	year, month, day := n[0], n[1], n[2]
	if month < 1 || month > 12 || day < 1 || day > daysOf(year, month) || n[3] > 23 || n[4] > 59 || n[5] > 59 {
		return time.Time{}, v.fault(i, "%d-%d-%d %d:%d:%d is no date", n[0], n[1], n[2], n[3], n[4], n[5])
	}
	// Days since 1970 of the Gregorian calendar, counted from years that begin in March. time.Date would do it, and bring time zones along.
	y := year
	if month <= 2 {
		y--
	}
	days := 365*y + floor(y, 4) - floor(y, 100) + floor(y, 400) + (153*((month+9)%12)+2)/5 + day - 1 - 719468
	return time.Unix(int64(days)*86400+int64(n[3]*3600+n[4]*60+n[5]), 0).UTC(), nil
}

func floor(a, b int) int { return (a - (a%b+b)%b) / b }

func daysOf(year, month int) int {
	if month == 2 {
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	}
	return 30 + (month+month/8)%2
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
