package record

import (
	"encoding/json"
	"math/big"
	"slices"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"
)

// What is hushed is all that Unicode calls control, format, line or paragraph separator, and nothing that can be seen.
func TestHushed(t *testing.T) {
	for r := rune(0); r <= unicode.MaxRune; r++ {
		if unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp, unicode.Noncharacter_Code_Point) && !silent(r) {
			t.Errorf("%U is written", r)
		}
		if silent(r) && unicode.In(r, unicode.L, unicode.M, unicode.N, unicode.P, unicode.S, unicode.Zs) {
			t.Errorf("%U is refused", r)
		}
	}
}

func TestTidy(t *testing.T) {
	for text, want := range map[string]string{
		"":                           "",
		"  Ines ":                    "Ines",
		"two\r\nlines\t and a tab":   "two line",
		"a\u202eb\u200dc\ufeffd\x00": "abcd",
		"a \u200b b":                 "a b",
		"a\tb\r\nc":                  "a b c",
		"\xff\xfe":                   "",
		"0123456789":                 "01234567",
		"0123456 89":                 "0123456",
		"0123456  \u202e":            "0123456",
		"äöüßéñçø!":                  "äöüßéñçø",
		`"\`:                         `"\`,
		" \n ":                       "",
	} {
		if got := Tidy(text, 8); got != want {
			t.Errorf("%q: %q", text, got)
		}
	}
}

func FuzzTidy(f *testing.F) {
	f.Add("  Ines \u202e\n x", 8)
	f.Fuzz(func(t *testing.T, text string, most int) {
		got := Tidy(text, most)
		if most >= 0 && sayable(got, most) != "" || most < 0 && got != "" || Tidy(got, most) != got || strings.TrimSpace(got) != got {
			t.Errorf("%q, %d: %q", text, most, got)
		}
	})
}

// A string is written as JSON has it, and read only so.
func FuzzQuote(f *testing.F) {
	for _, s := range []string{"", "Ines", `"`, `\`, `\\"`, "ä🍎", `\u0041`, `a/b`} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if got, ok := unquote(quote(s)); !ok || got != s {
			t.Errorf("%q reads as %q", s, got)
		}
		if utf8.ValidString(s) && sayable(s, 1<<20) == "" {
			var got string
			if err := json.Unmarshal([]byte(quote(s)), &got); err != nil || got != s {
				t.Errorf("%q is JSON for %q, %v", s, got, err)
			}
		}
		if plain, ok := unquote(s); ok && quote(plain) != s {
			t.Errorf("%q is read and written as %q", s, quote(plain))
		}
	})
}

// The keys of small order are all points of the curve whose eightfold is the neutral point, in every encoding below 2^255.
func TestSmallOrder(t *testing.T) {
	p := new(big.Int).Sub(new(big.Int).Lsh(big.NewInt(1), 255), big.NewInt(19))
	number := func(n int64) *big.Int { return new(big.Int).Mod(big.NewInt(n), p) }
	mul := func(a, b *big.Int) *big.Int { return new(big.Int).Mod(new(big.Int).Mul(a, b), p) }
	inverse := func(a *big.Int) *big.Int { return new(big.Int).ModInverse(a, p) }
	d := mul(number(-121665), inverse(number(121666)))
	// double doubles a point of -x² + y² = 1 + dx²y² (RFC 8032, section 5.1).
	double := func(x, y *big.Int) (*big.Int, *big.Int) {
		xy, xx, yy := mul(x, y), mul(x, x), mul(y, y)
		k := mul(d, mul(xx, yy))
		return mul(new(big.Int).Add(xy, xy), inverse(new(big.Int).Add(big.NewInt(1), k))), mul(new(big.Int).Add(yy, xx), inverse(new(big.Int).Mod(new(big.Int).Sub(big.NewInt(1), k), p)))
	}
	orders := map[int]int{}
	for _, text := range small {
		b := keyFrom(t, text)
		y := new(big.Int).SetBytes(reversed(b[:]))
		if y.Cmp(p) >= 0 {
			y.Sub(y, p)
		}
		yy := mul(y, y)
		xx := mul(new(big.Int).Sub(yy, big.NewInt(1)), inverse(new(big.Int).Add(mul(d, yy), big.NewInt(1))))
		x := new(big.Int).ModSqrt(xx.Mod(xx, p), p)
		if x == nil {
			t.Errorf("%s is no point", text)
			continue
		}
		order := 1
		for x.Sign() != 0 || y.Cmp(big.NewInt(1)) != 0 {
			if x, y = double(x, y); order == 8 {
				t.Fatalf("%s has an order above 8", text)
			}
			order *= 2
		}
		orders[order]++
		for _, sign := range []byte{0, 0x80} {
			b := b
			b[31] |= sign
			if !weak(b) {
				t.Errorf("%x is taken", b)
			}
		}
	}
	// Of eight points, one has order 1, one 2, two 4, four 8; a y stands for both of its x, and 0 and 1 are encoded twice.
	if orders[1] != 2 || orders[2] != 1 || orders[4] != 2 || orders[8] != 2 {
		t.Errorf("orders: %v", orders)
	}
	for _, name := range []string{"ines", "tomas", "okke"} {
		if weak(publicOf(name)) {
			t.Errorf("the key of %s is refused", name)
		}
	}
}

func reversed(b []byte) []byte {
	b = slices.Clone(b)
	slices.Reverse(b)
	return b
}
