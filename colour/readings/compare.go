package readings

import (
	"fmt"
	"math"
	"slices"

	"example.org/plumb/colour"
	"example.org/plumb/colour/cct"
	"example.org/plumb/colour/difference"
)

// An Aim is what a set is held against. Its zero value aims at nothing.
type Aim struct {
	// Lab gives what a patch should be, against the aim's own white, and false where nothing is aimed at.
	Lab func(Patch) (colour.Lab, bool)
	// White is the chromaticity that white should have; zero where none is.
	White colour.XY
	// Luminance is that of white, in cd/m²; 0 where none is aimed at.
	Luminance float64
}

// FromColumns aims at what the file's own columns say, such as AIM_LAB_L.
func FromColumns() Aim {
	return Aim{Lab: func(p Patch) (colour.Lab, bool) { return p.Aim, p.HasAim }}
}

// FromDevice aims at what a function makes of the device values: a space, or a profile.
func FromDevice(f func(device []float64) (colour.Lab, bool)) Aim {
	return Aim{Lab: func(p Patch) (colour.Lab, bool) {
		if p.Device == nil {
			return colour.Lab{}, false
		}
		return f(p.Device)
	}}
}

// FromSpace aims at a standard space: at its colours, and its white.
func FromSpace(s *colour.Space) Aim {
	a := FromDevice(func(v []float64) (colour.Lab, bool) {
		if len(v) != 3 {
			return colour.Lab{}, false
		}
		return s.Lab(colour.RGB{R: v[0], G: v[1], B: v[2]}), true
	})
	a.White = s.White().XY()
	return a
}

// A Group is a kind of patch.
type Group int

const (
	All       Group = iota
	Greys           // equal signals, black and white with them
	Primaries       // each channel at 0 or at full, and not grey: red, green, blue, cyan, magenta, yellow
	SkinLike        // aims as light and of such a hue as skin of any kind: L* 25 to 90, C*ab 8 to 45, hue 30 to 80 degrees. The bounds are ours
	groups
)

func (g Group) String() string {
	return [...]string{"all patches", "greys", "primaries", "skin-like"}[g]
}

// in says whether a patch with such an aim belongs to a group.
func (g Group) in(p Patch, aim colour.Lab) bool {
	switch g {
	case Greys:
		if len(p.Device) == 3 {
			return p.Device[0] == p.Device[1] && p.Device[1] == p.Device[2]
		}
		if len(p.Device) == 1 {
			return true
		}
		return aim.Chroma() < 1
	case Primaries:
		if len(p.Device) != 3 || Greys.in(p, aim) {
			return false
		}
		return !slices.ContainsFunc(p.Device, func(v float64) bool { return v != 0 && v != 1 })
	case SkinLike:
		return aim.L >= 25 && aim.L <= 90 && aim.Chroma() >= 8 && aim.Chroma() <= 45 && aim.Hue() >= 30 && aim.Hue() <= 80
	}
	return true
}

// A Summary is of differences of one kind. The zero value is of none.
type Summary struct {
	Patches int
	Best    float64
	Mean    float64
	P95     float64 // the least that 95 of 100 patches do not exceed, one of the differences itself
	Largest float64
	Worst   int // index of the patch with the largest
}

func summarise(values []float64, patches []int) Summary {
	if len(values) == 0 {
		return Summary{}
	}
	s := Summary{Patches: len(values), Best: math.Inf(1), Largest: -1}
	for i, v := range values {
		s.Mean += v / float64(len(values))
		s.Best = min(s.Best, v)
		if v > s.Largest {
			s.Largest, s.Worst = v, patches[i]
		}
	}
	sorted := slices.Sorted(slices.Values(values))
	s.P95 = sorted[(95*len(sorted)+99)/100-1]
	return s
}

// A Formula is one of the colour differences.
type Formula int

const (
	CIE76 Formula = iota
	CIE94
	CIEDE2000
	formulas
)

func (f Formula) String() string { return [...]string{"ΔE*ab", "ΔE*94", "ΔE00"}[f] }

// Between returns the difference of a sample from what it should be.
func (f Formula) Between(aim, sample colour.Lab) float64 {
	switch f {
	case CIE94:
		return difference.CIE94(aim, sample)
	case CIEDE2000:
		return difference.CIEDE2000(aim, sample)
	}
	return difference.CIE76(aim, sample)
}

// A Difference is what one patch is off by.
type Difference struct {
	Patch    int // index in the set
	Measured colour.Lab
	Aim      colour.Lab
	By       [formulas]float64
	Groups   [groups]bool
}

// A Comparison is a set held against an aim. Its zero value has compared nothing.
type Comparison struct {
	Patches   []Difference
	Summaries [formulas][groups]Summary
	Light     Light
}

// Light is what was found of white and black. Zeros are what was not found or not aimed at.
type Light struct {
	Luminance float64 // of white, cd/m²; 0 unless the file is in cd/m²
	Black     float64 // cd/m²
	Contrast  float64 // white over black

	White       colour.XY
	Temperature cct.Temperature // correlated, of white
	Daylight    cct.Temperature // of the nearest daylight

	Ratio  float64 // luminance over the aim
	Off    float64 // distance of white from the aim in u', v'
	Kelvin float64 // correlated temperature of white less that of the aim; valid where both have one
	Told   bool    // whether Kelvin is

	judged bool // whether a white was aimed at
}

// Compare holds a set against an aim. XYZ is taken against the set's own white, so that an aim's white and luminance are judged by themselves and not once
// more in every patch. The file's own L*a*b* is taken as it is, but for sets in cd/m² that have XYZ as well. It is an error when no patch can be compared.
func Compare(s *Set, aim Aim) (*Comparison, error) {
	c := &Comparison{}
	c.Light = s.light(aim)
	if aim.Lab == nil {
		return c, fmt.Errorf("readings: nothing is aimed at")
	}
	for i, p := range s.Patches {
		want, ok := aim.Lab(p)
		if !ok {
			continue
		}
		got, ok := s.lab(p)
		if !ok {
			continue
		}
		d := Difference{Patch: i, Measured: got, Aim: want}
		for f := range formulas {
			d.By[f] = f.Between(want, got)
		}
		for g := range groups {
			d.Groups[g] = g.in(p, want)
		}
		c.Patches = append(c.Patches, d)
	}
	if len(c.Patches) == 0 {
		return c, fmt.Errorf("readings: no patch has both a reading and an aim")
	}
	for f := range formulas {
		for g := range groups {
			c.Summaries[f][g] = c.summary(f, g)
		}
	}
	return c, nil
}

func (c *Comparison) summary(f Formula, g Group) Summary {
	var v []float64
	var at []int
	for _, d := range c.Patches {
		if d.Groups[g] {
			v, at = append(v, d.By[f]), append(at, d.Patch)
		}
	}
	return summarise(v, at)
}

// lab returns what was measured of a patch in L*a*b*: for the light of screens from XYZ against the set's white; else the file's own, where it has any.
func (s *Set) lab(p Patch) (colour.Lab, bool) {
	if p.HasLab && s.Units.XYZ != Candela {
		return p.Lab, true
	}
	if p.HasXYZ && s.White.X > 0 && s.White.Y > 0 && s.White.Z > 0 {
		return p.XYZ.Lab(s.White), true
	}
	return p.Lab, p.HasLab
}

func (s *Set) light(aim Aim) Light {
	var l Light
	if !(s.White.X > 0 && s.White.Y > 0 && s.White.Z > 0) {
		return l
	}
	l.White = s.White.XY()
	if s.Units.XYZ == Candela {
		l.Luminance, l.Black = s.White.Y, max(s.Black.Y, 0)
		if aim.Luminance > 0 {
			l.Ratio = l.Luminance / aim.Luminance
		}
	}
	if s.Black.Y > 0 {
		l.Contrast = s.White.Y / s.Black.Y
	}
	t, err := cct.Planckian(l.White)
	if err == nil {
		l.Temperature = t
	}
	if d, err := cct.NearestDaylight(l.White); err == nil {
		l.Daylight = d
	}
	if aim.White != (colour.XY{}) {
		l.judged = true
		l.Off = l.White.UV().Distance(aim.White.UV())
		if a, err2 := cct.Planckian(aim.White); err == nil && err2 == nil {
			l.Kelvin, l.Told = t.Kelvin-a.Kelvin, true
		}
	}
	return l
}

// A Repeat says how far two readings of the same patches are apart. Its zero value has compared nothing.
type Repeat struct {
	Between [formulas]Summary // of one reading from the other
	// Moved is by how much the mean difference from the aim moved, for each formula.
	Moved [formulas]float64
	// Noise is the part of the mean squared ΔE*ab from the aim that is noise of reading, 0 to 1: what two readings differ by has the noise of both, one
	// reading's distance from the aim the noise of one. It is 0 where both are on their aim.
	Noise     float64
	Luminance float64 // of the second white less that of the first, over the first
	White     float64 // distance of the whites in u', v'
}

// Again compares two sets of readings of the same patches, in any order. Patches are known by their device values, or where there are none by ID.
// It is an error when no patch is in both.
func Again(first, second *Set, aim Aim) (*Repeat, error) {
	name := func(p Patch) string {
		if len(p.Device) > 0 {
			return fmt.Sprintf("%.4f", p.Device)
		}
		return p.ID
	}
	// A patch that stands in a set more than once is taken in order.
	places := map[string][]int{}
	for i, p := range second.Patches {
		places[name(p)] = append(places[name(p)], i)
	}
	var r Repeat
	var by [formulas][]float64
	var at []int
	var off [2][formulas]float64
	var apart, from float64
	aimed := 0
	for i, p := range first.Patches {
		n := name(p)
		if len(places[n]) == 0 || n == "" {
			continue
		}
		q := second.Patches[places[n][0]]
		places[n] = places[n][1:]
		a, ok := first.lab(p)
		b, ok2 := second.lab(q)
		if !ok || !ok2 {
			continue
		}
		at = append(at, i)
		for f := range formulas {
			by[f] = append(by[f], f.Between(a, b))
		}
		if aim.Lab == nil {
			continue
		}
		if want, ok := aim.Lab(p); ok {
			aimed++
			for f := range formulas {
				off[0][f] += f.Between(want, a)
				off[1][f] += f.Between(want, b)
			}
			apart += square(CIE76.Between(a, b)) / 2
			from += (square(CIE76.Between(want, a)) + square(CIE76.Between(want, b))) / 2
		}
	}
	if len(at) == 0 {
		return nil, fmt.Errorf("readings: no patch is in both sets")
	}
	for f := range formulas {
		r.Between[f] = summarise(by[f], at)
		if aimed > 0 {
			r.Moved[f] = math.Abs(off[0][f]-off[1][f]) / float64(aimed)
		}
	}
	if from > 0 {
		r.Noise = min(apart/from, 1)
	}
	if first.White.Y > 0 && second.White.Y > 0 {
		r.White = first.White.UV().Distance(second.White.UV())
		if first.Units.XYZ == second.Units.XYZ {
			r.Luminance = second.White.Y/first.White.Y - 1
		}
	}
	return &r, nil
}

func square(v float64) float64 { return v * v }
