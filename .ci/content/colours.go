package main

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"slices"

	"example.org/plumb/colour"
)

// parts is how many parts the weights of colours are counted in: millionths.
const parts = 1_000_000

// least is the share below which a bin is merged into another.
const least = 0.001

// ends are the first codes of the classes that bins near black and near white are split into by their largest channel, because that decides whether
// a screen loses them: black, a few codes above it, what is neither, a few codes below full, and full. White is a class of its own.
var ends = []uint8{0, 1, 2, 3, 5, 7, 10, 13, 16, 20, 24, 28, 32, 232, 236, 240, 243, 246, 248, 250, 252, 253, 254, 255}

// middle is the class that is near neither, and white that of white alone.
const (
	middle = 12
	white  = 24
)

// class returns the class of a colour.
func class(c [3]uint8) int {
	if min(c[0], c[1], c[2]) == 255 {
		return white
	}
	i, found := slices.BinarySearch(ends, max(c[0], c[1], c[2]))
	if !found {
		i--
	}
	return i
}

// A bin is a set of pixels: its share of the content, and the sums of their channels and of their largest channels, weighted by share.
type bin struct {
	class        int
	share        float64
	r, g, b, top float64
	mean         colour.Lab
}

func (n *bin) settle() {
	n.mean = lab(n.r/n.share, n.g/n.share, n.b/n.share)
}

// A weighted colour stands for a number of millionths of the content.
type weighted struct {
	r, g, b uint8
	parts   int
}

// colours returns colours that stand for the content. Pixels are binned by the upper four bits of each channel and the class of the largest; bins
// below least are merged, the smallest first, each into the nearest of its class by its mean in L*a*b*; and each bin stands as its mean code, near the
// ends with its largest channel at the mean of largest channels. Colours come in the order of R, G, B, and their parts sum to 1,000,000.
func (h *histogram) colours() []weighted {
	table := map[int]*bin{}
	var bins []*bin
	for c, share := range h.all() {
		top := max(c[0], c[1], c[2])
		k := class(c)
		key := k<<12 | int(c[0]>>4)<<8 | int(c[1]>>4)<<4 | int(c[2]>>4)
		n := table[key]
		if n == nil {
			n = &bin{class: k}
			table[key] = n
			bins = append(bins, n)
		}
		n.share += share
		n.r += float64(share * float64(c[0]))
		n.g += float64(share * float64(c[1]))
		n.b += float64(share * float64(c[2]))
		n.top += float64(share * float64(top))
	}
	for _, n := range bins {
		n.settle()
	}
	return apportion(merge(bins))
}

// merge merges bins until none is below least but those alone in their class.
func merge(bins []*bin) []*bin {
	kept := bins[:0:0]
	for k := range white + 1 {
		var in []*bin
		for _, n := range bins {
			if n.class == k {
				in = append(in, n)
			}
		}
		for len(in) > 1 {
			small := 0
			for i, n := range in {
				if n.share < in[small].share {
					small = i
				}
			}
			s := in[small]
			if s.share >= least {
				break
			}
			in = slices.Delete(in, small, small+1)
			near, best := in[0], math.Inf(1)
			for _, n := range in {
				if d := distance(n.mean, s.mean); d < best {
					near, best = n, d
				}
			}
			near.share += s.share
			near.r, near.g, near.b, near.top = near.r+s.r, near.g+s.g, near.b+s.b, near.top+s.top
			near.settle()
		}
		kept = append(kept, in...)
	}
	return kept
}

// distance returns the square of CIE 1976 ΔE*ab.
func distance(a, b colour.Lab) float64 {
	l, m, n := a.L-b.L, a.A-b.A, a.B-b.B
	return float64(l*l) + float64(m*m) + float64(n*n)
}

// apportion gives bins their colours and millionths, those left over to the largest remainders. Bins of one colour become one.
func apportion(bins []*bin) []weighted {
	sums := map[[3]uint8]float64{}
	total := 0.0
	for _, n := range bins {
		sums[n.colour()] += n.share
		total += n.share
	}
	var all []weighted
	for c := range sums {
		all = append(all, weighted{c[0], c[1], c[2], 0})
	}
	slices.SortFunc(all, func(a, b weighted) int {
		return cmp.Or(cmp.Compare(a.r, b.r), cmp.Compare(a.g, b.g), cmp.Compare(a.b, b.b))
	})
	left, remainders, order := parts, make([]float64, len(all)), make([]int, len(all))
	for i := range all {
		exact := parts * sums[[3]uint8{all[i].r, all[i].g, all[i].b}] / total
		all[i].parts = int(exact)
		left -= all[i].parts
		remainders[i], order[i] = exact-float64(all[i].parts), i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(remainders[j], remainders[i]) })
	for _, i := range order[:left] {
		all[i].parts++
	}
	return all
}

// colour returns the codes that a bin stands as.
func (n *bin) colour() [3]uint8 {
	mean := [3]float64{n.r / n.share, n.g / n.share, n.b / n.share}
	var c [3]uint8
	first := 0
	for i, v := range mean {
		c[i] = uint8(math.Round(v))
		if v > mean[first] {
			first = i
		}
	}
	if n.class != middle {
		c[first] = uint8(math.Round(n.top / n.share))
	}
	return c
}

func table(all []weighted) []byte {
	var b bytes.Buffer
	b.WriteString("r,g,b,weight\n")
	for _, c := range all {
		fmt.Fprintf(&b, "%d,%d,%d,%d.%06d\n", c.r, c.g, c.b, c.parts/parts, c.parts%parts)
	}
	return b.Bytes()
}
