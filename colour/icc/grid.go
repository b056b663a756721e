package icc

// A grid is a table over several channels, the last of which runs fastest.
type grid struct {
	in, out int
	points  [most]int
	is8     bool
	values  view
	boxes   bool // trilinear where there are three inputs, not tetrahedral
}

// fill takes the values from the tag and returns how many bytes they have.
func (g *grid) fill(v view, at int) (int, *Fault) {
	n := g.out
	if !g.is8 {
		n *= 2
	}
	for i := range g.in {
		// Before the product can leave an int it has left the tag.
		if n *= g.points[i]; n > len(v.data) {
			break
		}
	}
	if f := v.need(at, n, "the grid"); f != nil {
		if n > len(v.data) {
			return 0, v.fault(min(at, len(v.data)), "the grid takes more bytes than the tag has, which are %d", len(v.data))
		}
		return 0, f
	}
	g.values = v.part(at, n)
	return n, nil
}

func (g *grid) at(i int) float64 {
	if g.is8 {
		return float64(g.values.u8(i)) / 255
	}
	return float64(g.values.u16(2*i)) / 65535
}

// apply interpolates: with three inputs within the tetrahedron that the point lies in (Sakamoto and Itooka; Kasson, Nin, Plouffe and Hafner, Journal
// of Electronic Imaging 4, 1995), with more so over the last three and straight over those before, as Little CMS does. Values go in and come out to
// 16 bits.
func (g *grid) apply(v *[most]float64) {
	var cell [most]int
	var part [most]float64
	for i := range g.in {
		x := word(v[i]) * float64(g.points[i]-1)
		cell[i] = min(int(x), g.points[i]-2)
		part[i] = x - float64(cell[i])
	}
	var stride [most]int
	s := g.out
	for i := g.in - 1; i >= 0; i-- {
		stride[i] = s
		s *= g.points[i]
	}
	base := 0
	for i := range g.in {
		base += cell[i] * stride[i]
	}
	out := g.blend(0, base, &stride, &part)
	for i := range g.out {
		v[i] = word(out[i])
	}
}

func (g *grid) blend(from, base int, stride *[most]int, part *[most]float64) (out [most]float64) {
	if from == g.in {
		for k := range g.out {
			out[k] = g.at(base + k)
		}
		return out
	}
	if g.in-from == 3 && !g.boxes {
		// From the near corner towards the far one along the edge of the greatest part first.
		order := [3]int{from, from + 1, from + 2}
		for i := 1; i < 3; i++ {
			for j := i; j > 0 && part[order[j]] > part[order[j-1]]; j-- {
				order[j], order[j-1] = order[j-1], order[j]
			}
		}
		for k := range g.out {
			at := base + k
			last := g.at(at)
			out[k] = last
			for _, i := range order {
				if part[i] == 0 {
					break
				}
				at += stride[i]
				next := g.at(at)
				out[k] += float64(part[i] * (next - last))
				last = next
			}
		}
		return out
	}
	low := g.blend(from+1, base, stride, part)
	if part[from] == 0 {
		return low
	}
	high := g.blend(from+1, base+stride[from], stride, part)
	for k := range g.out {
		out[k] = low[k] + float64(part[from]*(high[k]-low[k]))
	}
	return out
}
