package gamut

import (
	"errors"
	"math"
	"slices"
	"testing"

	"example.org/plumb/colour"
	"example.org/plumb/colour/transfer"
)

// corners clips in another way: the common part of convex areas is the hull of the corners of each within the other and the points where edges meet.
func corners(p, q Polygon) []colour.UV {
	within := func(c colour.UV, p Polygon) bool {
		var left, right bool
		for i := range p {
			a, b := p[i], p[(i+1)%len(p)]
			s := (b.U-a.U)*(c.V-a.V) - (b.V-a.V)*(c.U-a.U)
			left, right = left || s > 1e-15, right || s < -1e-15
		}
		return !(left && right)
	}
	var all []colour.UV
	for _, c := range p {
		if within(c, q) {
			all = append(all, c)
		}
	}
	for _, c := range q {
		if within(c, p) {
			all = append(all, c)
		}
	}
	for i, a := range p {
		b := p[(i+1)%len(p)]
		for j, c := range q {
			d := q[(j+1)%len(q)]
			den := (b.U-a.U)*(d.V-c.V) - (b.V-a.V)*(d.U-c.U)
			if den == 0 {
				continue
			}
			s := ((c.U-a.U)*(d.V-c.V) - (c.V-a.V)*(d.U-c.U)) / den
			t := ((c.U-a.U)*(b.V-a.V) - (c.V-a.V)*(b.U-a.U)) / den
			if s >= 0 && s <= 1 && t >= 0 && t <= 1 {
				all = append(all, colour.UV{U: a.U + s*(b.U-a.U), V: a.V + s*(b.V-a.V)})
			}
		}
	}
	if len(all) < 3 {
		return nil
	}
	var m colour.UV
	for _, c := range all {
		m.U += c.U / float64(len(all))
		m.V += c.V / float64(len(all))
	}
	slices.SortFunc(all, func(a, b colour.UV) int {
		return int(math.Copysign(1, math.Atan2(a.V-m.V, a.U-m.U)-math.Atan2(b.V-m.V, b.U-m.U)))
	})
	return all
}

func fan(p []colour.UV) float64 {
	var sum float64
	for i := 2; i < len(p); i++ {
		sum += (p[i-1].U-p[0].U)*(p[i].V-p[0].V) - (p[i-1].V-p[0].V)*(p[i].U-p[0].U)
	}
	return math.Abs(sum) / 2
}

func TestAreasAgainstAnotherClip(t *testing.T) {
	if n := len(Standards()); n != 4 {
		t.Fatalf("%d standards", n)
	}
	for _, a := range Standards() {
		for _, b := range Standards() {
			p, q := Triangle(a.Space), Triangle(b.Space)
			got := ByArea(p, q)
			own, reference, common := fan(p), fan(q), fan(corners(p, q))
			want := Cover{common / reference, common / (own + reference - common), own / reference}
			if math.Abs(got.Coverage-want.Coverage) > 1e-9 || math.Abs(got.Overlap-want.Overlap) > 1e-9 || math.Abs(got.Size-want.Size) > 1e-9 {
				t.Errorf("%s of %s: %+v, want %+v", a.Name, b.Name, got, want)
			}
			t.Logf("%s of %s: %.4f %.4f %.4f", a.Name, b.Name, got.Coverage, got.Overlap, got.Size)
			slices.Reverse(q)
			if back := ByArea(p, q); math.Abs(back.Coverage-got.Coverage) > 1e-12 {
				t.Errorf("%s of %s the other way round: %+v", a.Name, b.Name, back)
			}
		}
	}
	// From the published primaries alone, by u' = 4x/(12y-2x+3) and v' = 9y/(12y-2x+3).
	if a := Triangle(colour.SRGB).Area(); math.Abs(a-fan([]colour.UV{{U: 2.56 / 5.68, V: 2.97 / 5.68}, {U: 1.2 / 9.6, V: 5.4 / 9.6}, {U: 0.6 / 3.42, V: 0.54 / 3.42}})) > 1e-12 {
		t.Errorf("sRGB has the area %.6f", a)
	}
}

func TestAreasThatAreNone(t *testing.T) {
	p := Triangle(colour.SRGB)
	far := Polygon{{U: 5, V: 5}, {U: 6, V: 5}, {U: 5, V: 6}}
	line := Polygon{{U: 0, V: 0}, {U: 1, V: 1}, {U: 0.5, V: 0.5}}
	for _, q := range []Polygon{nil, far, line, {{U: 1, V: 1}}} {
		if c := ByArea(p, q); c.Coverage != 0 || c.Overlap != 0 {
			t.Errorf("%v: %+v", q, c)
		}
		if c := ByArea(q, p); c.Coverage != 0 || c.Overlap != 0 {
			t.Errorf("%v: %+v", q, c)
		}
	}
	if c := ByVolume(&Solid{}, OfSpace(colour.SRGB)); c != (Cover{}) {
		t.Errorf("the empty body: %+v", c)
	}
}

// byCubes works volumes out from within: the cube of signals is cut up, each piece's volume is that of the six tetrahedra of its corners in L*a*b*,
// and a piece is common if its middle can be made by the other space.
func byCubes(s, other *colour.Space) (own, common float64) {
	const n = 48
	white := colour.XYZ{X: 0.9642, Y: 1, Z: 0.8249}
	to := colour.Bradford(s.White(), white)
	back := colour.Bradford(white, other.White())
	at := func(i, j, k float64) colour.Lab {
		return to.Apply(s.XYZ(colour.RGB{R: i / n, G: j / n, B: k / n})).Lab(white)
	}
	corner := make([]colour.Lab, (n+1)*(n+1)*(n+1))
	for i := range n + 1 {
		for j := range n + 1 {
			for k := range n + 1 {
				corner[(i*(n+1)+j)*(n+1)+k] = at(float64(i), float64(j), float64(k))
			}
		}
	}
	for i := range n {
		for j := range n {
			for k := range n {
				v := func(b int) colour.Lab { return corner[((i+b&1)*(n+1)+j+b>>1&1)*(n+1)+k+b>>2&1] }
				var size float64
				for _, p := range [][2]int{{1, 3}, {3, 2}, {2, 6}, {6, 4}, {4, 5}, {5, 1}} {
					o, a, b, c := v(0), v(p[0]), v(p[1]), v(7)
					size += (a.L-o.L)*((b.A-o.A)*(c.B-o.B)-(b.B-o.B)*(c.A-o.A)) - (a.A-o.A)*((b.L-o.L)*(c.B-o.B)-(b.B-o.B)*(c.L-o.L)) + (a.B-o.B)*((b.L-o.L)*(c.A-o.A)-(b.A-o.A)*(c.L-o.L))
				}
				size = math.Abs(size) / 6
				own += size
				l := other.Inverse().Apply(back.Apply(at(float64(i)+0.5, float64(j)+0.5, float64(k)+0.5).XYZ(white)))
				if min(l.X, l.Y, l.Z) >= -1e-12 && max(l.X, l.Y, l.Z) <= 1+1e-12 {
					common += size
				}
			}
		}
	}
	return own, common
}

func TestVolumesAgainstThoseFromWithin(t *testing.T) {
	if testing.Short() {
		t.Skip("a second's work for each pair")
	}
	all := Standards()
	solids := make([]*Solid, len(all))
	for i, a := range all {
		solids[i] = a.Solid()
	}
	for i, a := range all {
		for j, b := range all {
			own, common := byCubes(a.Space, b.Space)
			if g := solids[i].Volume(); math.Abs(g-own) > 0.005*own {
				t.Errorf("%s: %.0f, from within %.0f", a.Name, g, own)
			}
			got := ByVolume(solids[j], solids[i]).Coverage
			if math.Abs(got-common/own) > 0.005 {
				t.Errorf("%s of %s: %.4f, from within %.4f", b.Name, a.Name, got, common/own)
			}
			t.Logf("%s of %s: %.4f, from within %.4f; volume %.0f and %.0f", b.Name, a.Name, got, common/own, solids[i].Volume(), own)
		}
	}
}

// A body whose volume is known: signals as L*a*b* themselves, in a box that no line of the grid touches.
func TestABox(t *testing.T) {
	box := func(l, a, b, size float64) *Solid {
		s, err := NewSolid(func(c colour.RGB) (colour.Lab, error) {
			return colour.Lab{L: l + size*c.G, A: a + size*c.B, B: b + size*c.R}, nil
		})
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	p, q := box(10, 0, 0, 40), box(30, 20, 20, 40)
	if v := p.Volume(); math.Abs(v-64000) > 1e-6 {
		t.Errorf("volume %v", v)
	}
	if v := p.Common(q); math.Abs(v-8000) > 1e-6 {
		t.Errorf("common %v", v)
	}
	if c := ByVolume(p, p); math.Abs(c.Coverage-1) > 1e-12 || math.Abs(c.Overlap-1) > 1e-12 {
		t.Errorf("itself: %+v", c)
	}
	// The other handedness, as a profile that swaps two channels has it.
	r, err := NewSolid(func(c colour.RGB) (colour.Lab, error) {
		return colour.Lab{L: 10 + 40*c.G, A: 40 * c.R, B: 40 * c.B}, nil
	})
	if err != nil || math.Abs(r.Volume()-64000) > 1e-6 || math.Abs(r.Common(p)-64000) > 1e-6 {
		t.Errorf("mirrored: %v, %v", r.Volume(), err)
	}
}

func TestSolidsThatAreRefused(t *testing.T) {
	for _, c := range []colour.Lab{{L: math.NaN()}, {A: 401}, {B: math.Inf(-1)}, {L: 1e9}} {
		if _, err := NewSolid(func(colour.RGB) (colour.Lab, error) { return c, nil }); err == nil {
			t.Errorf("%v was taken", c)
		}
	}
	// A table of noise folds so often that its crossings would not fit into memory.
	n := 0
	if _, err := NewSolid(func(colour.RGB) (colour.Lab, error) {
		n++
		return colour.Lab{L: float64(n * 37 % 100), A: float64(n*101%255 - 128), B: float64(n*173%255 - 128)}, nil
	}); err == nil {
		t.Error("noise was taken")
	}
	fail := errors.New("no")
	if _, err := NewSolid(func(colour.RGB) (colour.Lab, error) { return colour.Lab{}, fail }); !errors.Is(err, fail) {
		t.Errorf("an error came back as %v", err)
	}
}

// The transfer function moves nothing in or out.
func TestVolumesDoNotDependOnTheCurve(t *testing.T) {
	s, err := colour.NewSpace(colour.XY{X: 0.64, Y: 0.33}, colour.XY{X: 0.30, Y: 0.60}, colour.XY{X: 0.15, Y: 0.06}, colour.D65, transfer.LStar{})
	if err != nil {
		t.Fatal(err)
	}
	if c := ByVolume(OfSpace(s), OfSpace(colour.SRGB)); math.Abs(c.Overlap-1) > 0.005 {
		t.Errorf("%+v", c)
	}
}

func BenchmarkOfSpace(b *testing.B) {
	for b.Loop() {
		OfSpace(colour.SRGB)
	}
}
