package main

import (
	"cmp"
	"fmt"
	"io"
	"slices"
)

// neutral is the chroma C*ab up to which a colour counts as near neutral.
const neutral = 5

// figures prints what the content is like, and the same of the colours that stand for it.
func figures(out io.Writer, h *histogram) {
	whole := measure(func(yield func(r, g, b uint8, share float64)) {
		for c, share := range h.all() {
			yield(c[0], c[1], c[2], share)
		}
	})
	all := h.colours()
	few := measure(func(yield func(r, g, b uint8, share float64)) {
		for _, c := range all {
			yield(c.r, c.g, c.b, float64(c.parts)/parts)
		}
	})
	fmt.Fprintf(out, "%d pictures, %d colours that stand for them\n", len(pictures), len(all))
	for i, name := range whole.names {
		fmt.Fprintf(out, "%-28s %8.4f, by the colours %8.4f\n", name, whole.values[i], few.values[i])
	}
}

type summary struct {
	names  []string
	values []float64
}

func measure(each func(yield func(r, g, b uint8, share float64))) summary {
	type chroma struct{ c, share float64 }
	var chromas []chroma
	var s summary
	var light, tinted, dark, bright, black, white, full float64
	each(func(r, g, b uint8, share float64) {
		v := lab(float64(r), float64(g), float64(b))
		light += float64(share * v.L)
		c := v.Chroma()
		chromas = append(chromas, chroma{c, share})
		lo, hi := min(r, g, b), max(r, g, b)
		for _, k := range []struct {
			sum *float64
			is  bool
		}{{&tinted, c <= neutral}, {&dark, hi <= 16}, {&bright, lo >= 240}, {&black, hi == 0}, {&white, lo == 255}, {&full, hi == 255}} {
			if k.is {
				*k.sum += share
			}
		}
	})
	put := func(name string, v float64) {
		s.names, s.values = append(s.names, name), append(s.values, v)
	}
	put("mean L*", light)
	put("share with C*ab <= 5", tinted)
	put("share with max <= 16", dark)
	put("share with min >= 240", bright)
	put("share black", black)
	put("share white", white)
	put("share with a full channel", full)
	slices.SortFunc(chromas, func(a, b chroma) int { return cmp.Compare(a.c, b.c) })
	at, sum := 0, 0.0
	for _, q := range []float64{.1, .25, .5, .75, .9, .95, .99} {
		for at < len(chromas)-1 && sum+chromas[at].share < q {
			sum += chromas[at].share
			at++
		}
		put(fmt.Sprintf("C*ab, quantile %g", q), chromas[at].c)
	}
	return s
}
