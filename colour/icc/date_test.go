package icc

import (
	"encoding/binary"
	"testing"
	"time"
)

// Dates are those that the time package knows, and nothing else is a date.
func TestDates(t *testing.T) {
	read := func(n ...int) (time.Time, *Fault) {
		var b []byte
		for _, v := range n {
			b = binary.BigEndian.AppendUint16(b, uint16(v))
		}
		return view{data: b}.time(0)
	}
	count := 0
	for _, year := range []int{0, 1, 4, 1600, 1900, 1969, 1970, 1999, 2000, 2023, 2024, 2100, 9999, 65535} {
		for month := 0; month <= 13; month++ {
			for day := 0; day <= 32; day++ {
				got, f := read(year, month, day, 23, 59, 58)
				want := time.Date(year, time.Month(month), day, 23, 59, 58, 0, time.UTC)
				if ok := want.Year() == year && int(want.Month()) == month && want.Day() == day; ok != (f == nil) || ok && got != want {
					t.Fatalf("%d-%d-%d: %v, %v; want %v, %v", year, month, day, got, f, want, ok)
				} else if ok {
					count++
				}
			}
		}
	}
	if count < 5000 {
		t.Errorf("%d dates were tried", count)
	}
	for _, n := range [][]int{{2026, 1, 1, 24, 0, 0}, {2026, 1, 1, 0, 60, 0}, {2026, 1, 1, 0, 0, 60}} {
		if got, f := read(n...); f == nil {
			t.Errorf("%v is %v", n, got)
		}
	}
	if got, f := read(0, 0, 0, 0, 0, 0); f != nil || !got.IsZero() {
		t.Errorf("no date is %v, %v", got, f)
	}
}
