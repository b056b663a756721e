package patterns_test

import (
	"testing"

	"example.org/plumb/patterns"
)

func TestSharesAreExact(t *testing.T) {
	for of := 1; of <= 48; of++ {
		for lit := 0; lit <= of; lit++ {
			m := patterns.Mix{A: 10, B: 20, Lit: lit, Of: of}
			for from := -of; from <= of; from++ {
				n := 0
				for i := from; i < from+of; i++ {
					switch m.At(i) {
					case m.B:
						n++
					case m.A:
					default:
						t.Fatalf("%+v: line %d is %d", m, i, m.At(i))
					}
					if m.At(i) != m.At(i+of) {
						t.Fatalf("%+v: lines %d and %d differ", m, i, i+of)
					}
				}
				if n != lit {
					t.Fatalf("%+v: %d of the %d lines from %d are lit", m, n, of, from)
				}
			}
		}
	}
}

// TestLinesAreSpread counts the lit lines in every run of every length: as near the share as whole lines can be.
func TestLinesAreSpread(t *testing.T) {
	for of := 1; of <= 24; of++ {
		for lit := 0; lit <= of; lit++ {
			m := patterns.Mix{A: 0, B: 1, Lit: lit, Of: of}
			for length := 1; length <= of; length++ {
				low, high := lit*length/of, (lit*length+of-1)/of
				for from := range of {
					n := 0
					for i := from; i < from+length; i++ {
						n += int(m.At(i))
					}
					if n < low || n > high {
						t.Fatalf("%d of %d: %d lit in %d lines from %d, want %d to %d", lit, of, n, length, from, low, high)
					}
				}
			}
		}
	}
}

func TestMixOutOfRange(t *testing.T) {
	for _, c := range []struct {
		m    patterns.Mix
		want uint8
	}{
		{patterns.Mix{A: 1, B: 2, Lit: -1, Of: 2}, 1},
		{patterns.Mix{A: 1, B: 2, Lit: 3, Of: 2}, 2},
		{patterns.Mix{A: 1, B: 2, Lit: 0, Of: 0}, 1},
		{patterns.Mix{A: 1, B: 2, Lit: 1, Of: -7}, 2},
		{patterns.Mix{A: 1, B: 2, Lit: 1 << 62, Of: 1 << 62}, 2},
		{patterns.Mix{A: 1, B: 2, Lit: 1, Of: 1 << 62}, 1},
	} {
		for i := range 100 {
			if got := c.m.At(i); got != c.want {
				t.Errorf("%+v: line %d is %d, want %d", c.m, i, got, c.want)
			}
		}
	}
}
