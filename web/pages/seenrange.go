package pages

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/plumb/web/words"
)

func (s SeenRange) drawn() bool {
	return finite(s.First, s.FirstLo, s.FirstHi, s.Last, s.LastLo, s.LastHi) && (s.dark() || s.light())
}

// dark and light tell which ends were checked.
func (s SeenRange) dark() bool {
	return s.FirstHi > 0 && s.FirstLo <= s.First && s.First <= s.FirstHi && s.FirstHi <= 255
}
func (s SeenRange) light() bool {
	return s.LastHi > 0 && s.LastLo <= s.Last && s.Last <= s.LastHi && s.LastHi <= 255
}

// The axis of codes is bent: the ends, where it matters, are drawn wider than the middle.
var bends = []struct{ code, at float64 }{{0, 12}, {32, 252}, {223, 388}, {255, 628}}

// bent is where a code lies on the axis.
func bent(code float64) float64 {
	for i := 1; i < len(bends); i++ {
		a, b := bends[i-1], bends[i]
		if code <= b.code || i == len(bends)-1 {
			return a.at + (clamp(code, a.code, b.code)-a.code)/(b.code-a.code)*(b.at-a.at)
		}
	}
	return 0
}

// A slab is one grey of the strip.
type slab struct{ x, width, fill string }

// slabs are the greys of the strip, as they are meant: coarser in the middle.
func (s SeenRange) slabs() []slab {
	var out []slab
	for code := 0.0; code < 255; {
		step := 2.0
		if code >= 32 && code < 223 {
			step = 191.0 / 24
		}
		next := math.Min(code+step, 255)
		if code < 32 {
			next = math.Min(next, 32)
		} else if code < 223 && next > 222 {
			next = 223
		}
		v := int(math.Round((code + next) / 2))
		out = append(out, slab{num(bent(code)), num(bent(next) - bent(code) + 0.3), fmt.Sprintf("#%02x%02x%02x", v, v, v)})
		code = next
	}
	return out
}

// A bound is the end of the seen range: where it lies, its interval, and the stretch that is lost.
type bound struct {
	at, whisker, lost string
	label, x, anchor  string
}

// bounds have their labels over the ends of the strip, where they never meet.
func (s SeenRange) bounds() []bound {
	var out []bound
	whisker := func(lo, hi float64) string {
		a, b := num(bent(lo)), num(bent(hi))
		return "M" + a + " 62H" + b + "M" + a + " 57v10M" + b + " 57v10"
	}
	if s.dark() {
		x := bent(s.First)
		out = append(out, bound{num(x), whisker(s.FirstLo, s.FirstHi), "M12 26H" + num(math.Max(x, 13)) + "V48H12Z", words.Say("first seen %s", code(s.First)), "12", "start"})
	}
	if s.light() {
		x := bent(s.Last)
		out = append(out, bound{num(x), whisker(s.LastLo, s.LastHi), "M" + num(math.Min(x, 627)) + " 26H628V48H" + num(math.Min(x, 627)) + "Z", words.Say("last seen %s", code(s.Last)), "628", "end"})
	}
	return out
}

// code is an estimated code, to a tenth.
func code(v float64) string { return figure(math.Round(v*10) / 10) }

// seen is the outline of what is told from both ends, as far as they were checked.
func (s SeenRange) seen() string {
	a, b := 0.0, 255.0
	if s.dark() {
		a = s.First
	}
	if s.light() {
		b = s.Last
	}
	if b <= a {
		return ""
	}
	return "M" + num(bent(a)) + " 24H" + num(bent(b)) + "V50H" + num(bent(a)) + "Z"
}

func (s SeenRange) ticks() []tick {
	var out []tick
	for _, v := range []float64{0, 8, 16, 24, 32, 128, 223, 231, 239, 247, 255} {
		out = append(out, tick{num(bent(v)), strconv.Itoa(int(v))})
	}
	return out
}

// said is the range in a sentence, for those who hear the page and as its caption.
func (s SeenRange) said() string {
	var list []string
	if s.dark() {
		switch first := math.Ceil(s.First - 1e-9); {
		case first == 2:
			list = append(list, words.Say("Code 1 looks black."))
		case first > 2:
			list = append(list, words.Say("Codes 1 to %.0f look black.", first-1))
		}
		list = append(list, words.Say("The first that is seen is %s (%s to %s).", code(s.First), code(s.FirstLo), code(s.FirstHi)))
	} else {
		list = append(list, words.Say("The dark end was not checked."))
	}
	if s.light() {
		last := math.Floor(s.Last + 1e-9)
		list = append(list, words.Say("The last that parts from white is %s (%s to %s).", code(s.Last), code(s.LastLo), code(s.LastHi)))
		switch {
		case last == 253:
			list = append(list, words.Say("Code 254 looks white."))
		case last < 253:
			list = append(list, words.Say("Codes %.0f to 254 look white.", last+1))
		}
	} else {
		list = append(list, words.Say("The light end was not checked."))
	}
	return strings.Join(list, " ")
}
