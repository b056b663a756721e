package web

import (
	"slices"
	"strings"
	"testing"
)

func TestChoose(t *testing.T) {
	both := []string{"br", "gzip"}
	for _, c := range []struct {
		accept string
		have   []string
		want   string // empty: none is acceptable
	}{
		// Examples of RFC 9110, section 12.5.3, as far as codings are had here.
		{"compress, gzip", both, "gzip"},
		{"", both, "identity"},
		{"*", both, "br"},
		{"compress;q=0.5, gzip;q=1.0", both, "gzip"},
		{"gzip;q=1.0, identity; q=0.5, *;q=0", both, "gzip"},

		{"gzip, deflate, br, zstd", both, "br"},
		{"gzip, deflate, br, zstd", []string{"gzip"}, "gzip"},
		{"gzip, deflate, br, zstd", nil, "identity"},
		{"BR", both, "br"},
		{"x-gzip", both, "gzip"},
		{"br;q=0.001", both, "br"},
		{"br;q=0", both, "identity"},
		{"br;q=0.5, gzip;q=0.8", both, "gzip"},
		{"br;q=0.8, identity;q=0.9", both, "identity"},
		{"br;q=0.8, identity;q=0.8", both, "br"},
		{"*;q=0", both, ""},
		{"identity;q=0", both, ""},
		{"identity;q=0, gzip", both, "gzip"},
		{"identity;q=0.5, *;q=0", both, "identity"},
		{"br;q=2, gzip", both, "gzip"},       // no weight of the grammar
		{"br;q=0.9999, gzip", both, "gzip"},  // four decimals
		{"br;level=9, gzip", both, "gzip"},   // no weight
		{"br;q=1, br;q=0", both, "br"},       // the first one holds
		{"br ; q=0.2 ,\tgzip", both, "gzip"}, // white space
		{",,;q=1,", both, "identity"},
	} {
		got, ok := choose(c.accept, c.have)
		if ok != (c.want != "") || ok && got != c.want {
			t.Errorf("%q of %v: %q, %v; want %q", c.accept, c.have, got, ok, c.want)
		}
	}
}

func TestParseWeight(t *testing.T) {
	for s, want := range map[string]int{"q=0": 0, "q=1": 1000, "Q=0.5": 500, " q=0.125 ": 125, "q=1.000": 1000, "q=0.": 0, "q=0.01": 10} {
		if got, ok := parseWeight(s); !ok || got != want {
			t.Errorf("%q: %d, %v; want %d", s, got, ok, want)
		}
	}
	for _, s := range []string{"", "q", "q=", "q=2", "q=1.001", "q=-1", "q=.5", "q=0.1234", "q=00", "q=0.5;q=1", "q =1", "p=1", "q=0,5", "q=1e0"} {
		if got, ok := parseWeight(s); ok {
			t.Errorf("%q is taken for %d", s, got)
		}
	}
}

// refused tells, member by member and without a table, whether a list refuses a coding outright.
func refused(accept, coding string) bool {
	star, starSeen := false, false
	for _, m := range strings.Split(accept, ",") {
		name, rest, weighted := strings.Cut(m, ";")
		name = strings.ToLower(strings.Trim(name, " \t"))
		if name == "x-gzip" {
			name = "gzip"
		}
		zero := false
		if weighted {
			q, ok := parseWeight(rest)
			if !ok {
				continue
			}
			zero = q == 0
		}
		if name == coding {
			return zero
		}
		if name == "*" && !starSeen {
			star, starSeen = zero, true
		}
	}
	return star
}

func FuzzChoose(f *testing.F) {
	for _, s := range []string{"gzip, deflate, br, zstd", "br;q=0.5,*;q=0", "identity;q=0", ";;;,,,q=", "x-gzip;q=1.000", "*;q=0, identity"} {
		f.Add(s, byte(3))
	}
	f.Fuzz(func(t *testing.T, accept string, mask byte) {
		var have []string
		for i, c := range []string{"br", "gzip"} {
			if mask>>i&1 == 1 {
				have = append(have, c)
			}
		}
		got, ok := choose(accept, have)
		if !ok {
			if !refused(accept, "identity") {
				t.Fatalf("%q of %v: nothing is chosen though identity is not refused", accept, have)
			}
			for _, c := range have {
				if strings.Contains(strings.ToLower(accept), c) && !refused(accept, c) {
					// Named with a weight above 0 it would have been chosen; it may only be named inside another member.
					for _, m := range strings.Split(accept, ",") {
						if strings.EqualFold(strings.Trim(m, " \t"), c) {
							t.Fatalf("%q of %v: nothing is chosen", accept, have)
						}
					}
				}
			}
			return
		}
		if got != "identity" && !slices.Contains(have, got) {
			t.Fatalf("%q of %v: chose %q", accept, have, got)
		}
		if refused(accept, got) {
			t.Fatalf("%q of %v: chose %q, which is refused", accept, have, got)
		}
	})
}
