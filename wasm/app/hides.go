package app

import (
	"math"
	"slices"
	"sort"
	"strconv"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/record"
	"example.org/plumb/web/words"
)

// A way in which a screen hides a part of a picture, as record.Ways names it.
type hiding struct {
	way   string
	share func(screen.Hidden) screen.Share
	mask  func(*study.Masks) []byte
	rank  float64 // how much a share of it counts against one of another way
}

// hidings are the ways, in the order of record.Ways without "any". Differences that a step of the screen swallows count a quarter: in a picture with grain there are many
// of them, and each is a code or two.
var hidings = []hiding{
	{"shadows", func(h screen.Hidden) screen.Share { return h.Shadows }, func(m *study.Masks) []byte { return m.Shadows }, 1},
	{"lights", func(h screen.Hidden) screen.Share { return h.Lights }, func(m *study.Masks) []byte { return m.Lights }, 1},
	{"beyond", func(h screen.Hidden) screen.Share { return h.Beyond }, func(m *study.Masks) []byte { return m.Beyond }, 1},
	{"shifted", func(h screen.Hidden) screen.Share { return h.Shifted }, func(m *study.Masks) []byte { return m.Shifted }, 1},
	{"steps", func(h screen.Hidden) screen.Share { return h.Merged }, func(m *study.Masks) []byte { return m.Merged }, 0.25},
}

// said is a way in words: a heading, what it means in a sentence, and what is not seen, within a sentence.
func (w hiding) said() (what, means, lost string) {
	switch w.way {
	case "shadows":
		return words.Say("Shadows shown as black"), words.Say("There is detail in dark parts that this screen shows as plain black."), words.Say("detail in shadows that this screen shows as black")
	case "lights":
		return words.Say("Lights shown as full"), words.Say("There is detail in light parts where this screen shows a colour at its fullest, and nothing above it."), words.Say("detail in lights that this screen shows as full")
	case "beyond":
		return words.Say("Colours beyond this screen"), words.Say("These colours lie outside what this screen reaches; it shows the nearest that it has."), words.Say("colours that this screen does not reach")
	case "shifted":
		return words.Say("Tones and colours shifted"), words.Say("They are seen, but lighter, darker or tinted: off by more than 2.5 ΔE 2000 from what was meant."), words.Say("tones and colours that this screen shows shifted by more than 2.5 ΔE 2000")
	case "steps":
		return words.Say("Differences finer than its steps"), words.Say("Neighbours that differ and look alike here: fine texture and soft gradients lose some of their steps."), words.Say("differences finer than this screen's steps")
	}
	return w.way, "", w.way
}

// anyway is all ways together.
const anyway = "any"

// mille is a share in thousandths, to the nearest.
func mille(x float64) int { return int(math.Round(1000 * min(max(x, 0), 1))) }

// hiddenOf is what a record says of what was found. Nothing where nothing is known.
func hiddenOf(h screen.Hidden) []record.Hidden {
	if !h.Known() {
		return nil
	}
	var list []record.Hidden
	add := func(what string, s screen.Share) {
		at, lo, hi := mille(s.At), mille(s.Lo), mille(s.Hi)
		list = append(list, record.Hidden{What: what, At: at, Lo: min(lo, at), Hi: max(hi, at)})
	}
	for _, w := range hidings {
		add(w.way, w.share(h))
	}
	add(anyway, h.Any)
	return list
}

// least is the smallest share that is told as a figure, and below which nothing is said to be hidden: half a thousandth, which a record would round to none.
const least = 0.0005

// hidesNothing tells whether what was found amounts to nothing, with 90 % certainty.
func hidesNothing(h screen.Hidden) bool {
	return h.Known() && max(h.Any.At, h.Any.Hi) < least
}

// A found way is one with its share.
type foundWay struct {
	hiding
	share screen.Share
}

// important are the ways in which anything is hidden, the most important first.
func important(h screen.Hidden) []foundWay {
	if !h.Known() {
		return nil
	}
	var list []foundWay
	for _, w := range hidings {
		if s := w.share(h); max(s.At, s.Hi) >= least {
			list = append(list, foundWay{w, s})
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].rank*list[i].share.At > list[j].rank*list[j].share.At })
	return list
}

// percent is a share as a percentage: to a tenth below ten.
func percent(x float64) string {
	switch p := 100 * x; {
	case p <= 0:
		return "0 %"
	case p < 0.1:
		return words.Say("less than 0.1 %")
	case p < 9.95:
		return words.Number(p, 1) + " %"
	default:
		return strconv.FormatFloat(p, 'f', 0, 64) + " %"
	}
}

// extent is a share with its interval, in words.
func extent(s screen.Share) string {
	if max(s.At, s.Hi) < 0.001 {
		return words.Say("less than 0.1 % of its pixels")
	}
	lo, hi := percent(s.Lo), percent(s.Hi)
	if lo == hi {
		return words.Say("about %s of its pixels", percent(s.At))
	}
	return words.Say("about %s of its pixels (with 90 %% certainty %s to %s)", percent(s.At), lo, hi)
}

// hidesView says what a screen hides of a picture, from what was found. Without an answer nothing is known, and it says so.
func hidesView(h screen.Hidden, shown string) pages.Hides {
	v := pages.Hides{State: pages.HidesUnknown}
	switch {
	case !h.Known():
		return v
	case hidesNothing(h):
		v.State = pages.HidesNothing
		v.Lead = words.Say("As far as the check can tell, this screen shows all of this picture as it was meant: what it may hide is, with 90 % certainty, less than 0.1 % of the pixels.")
	default:
		v.State = pages.HidesFound
		v.Lead = words.Say("%s are hidden or shifted in one way or another. A pixel may be in several.", capital(extent(h.Any)))
		for _, w := range important(h) {
			what, means, _ := w.said()
			v.Lines = append(v.Lines, pages.HidesLine{ID: w.way, What: what, Words: means, Figure: capital(extent(w.share)) + ".",
				Lo: 100 * w.share.Lo, At: 100 * w.share.At, Hi: 100 * w.share.Hi, Hatched: shown == w.way})
		}
		v.Lines = append(v.Lines, pages.HidesLine{ID: anyway, What: words.Say("All ways together"), Figure: capital(extent(h.Any)) + ".", Lo: 100 * h.Any.Lo, At: 100 * h.Any.At, Hi: 100 * h.Any.Hi, Hatched: shown == anyway})
		if len(v.Lines) == 2 { // one way is all ways
			v.Lines = v.Lines[:1]
		}
	}
	return v
}

// rests is what the figures rest on, in sentences.
func rests(h screen.Hidden) []string {
	if !h.Known() {
		return nil
	}
	text := words.Say("Worked out from this picture's own %s pixels on %d screens, all of which your answers allow: the interval is what they differ by.", grouped(h.Pixels), h.Draws)
	if h.Error > 0 {
		text += " " + words.Say("Shifted colours were counted on %s pixels spread over it, which adds up to %s.", grouped(h.Sampled), percent(1.645*h.Error))
	}
	return []string{text}
}

// grouped is a number with its thousands apart, by a sign that is none for decimals in the language spoken.
func grouped(n int) string {
	s, between := strconv.Itoa(n), ","
	if words.Decimal(".") == "," {
		between = "."
	}
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + between + s[i:]
	}
	return s
}

// bearing is what of a picture is hidden by an aspect; empty for one that hides nothing.
func bearing(aspect check.Aspect) string {
	switch aspect {
	case check.Shadows:
		return words.Say("lost shadows")
	case check.Highlights:
		return words.Say("clipped lights")
	case check.Tone:
		return words.Say("shifted tones")
	case check.Neutrals:
		return words.Say("tints")
	case check.Smoothness:
		return words.Say("coarse steps")
	case check.ColourRange:
		return words.Say("colours beyond its range")
	}
	return ""
}

// untold is what a sitting leaves open about what is hidden of a picture, in sentences. What was not asked about is in the figures as a guess that makes them wide.
func untold(r report.Record, wide bool) []string {
	var list []string
	for _, f := range append(slices.Clone(r.Findings), r.Extras...) {
		what := bearing(f.Aspect)
		if what == "" || f.Judgements > 0 || f.Aspect == check.ColourRange && !wide {
			continue
		}
		list = append(list, words.Say("%s: %s were not judged in this check, so they are in the figures as a guess, and make them wide.", titled(string(f.Aspect)), what))
	}
	for _, f := range r.Findings {
		if f.Aspect == check.Handling && f.Verdict == report.Off {
			list = append(list, words.Say("This browser does not handle the colours of pictures as it should. That is not in the figures."))
		}
	}
	return append(list, words.Say("The colour and the brightness of white, how even the screen is, and the light in the room are not in the figures."))
}

// notSeen is what an approval does not cover, in sentences: from what a record says of a picture.
func notSeen(known bool, list []record.Hidden) []string {
	if !known {
		return nil
	}
	var found []record.Hidden
	for _, h := range list {
		if h.What != anyway && max(h.At, h.Hi) > 0 {
			found = append(found, h)
		}
	}
	rank := func(h record.Hidden) float64 {
		for _, w := range hidings {
			if w.way == h.What {
				return w.rank * float64(h.At)
			}
		}
		return 0
	}
	sort.SliceStable(found, func(i, j int) bool { return rank(found[i]) > rank(found[j]) })
	var text []string
	for _, h := range found {
		s := shareOf(h)
		lost := h.What
		for _, w := range hidings {
			if w.way == h.What {
				_, _, lost = w.said()
			}
		}
		text = append(text, capital(lost)+": "+extent(s)+".")
	}
	return text
}

// shareOf is a share as a record has it.
func shareOf(h record.Hidden) screen.Share {
	return screen.Share{At: float64(h.At) / 1000, Lo: float64(h.Lo) / 1000, Hi: float64(h.Hi) / 1000}
}

// hatchOf is the mask of a way as a hatch; nil where there is none.
func hatchOf(m *study.Masks, way string) *Hatch {
	if m == nil {
		return nil
	}
	cover := m.Any
	for _, w := range hidings {
		if w.way == way {
			cover = w.mask(m)
		}
	}
	if len(cover) != m.Cols*m.Rows || len(cover) == 0 {
		return nil
	}
	return &Hatch{Cols: m.Cols, Rows: m.Rows, Cover: cover}
}
