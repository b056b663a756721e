// Package cct ties the chromaticities of whites to temperatures: the Planckian locus and CIE daylight.
//
// A temperature says how blue a white is and nothing of how green, so each is given with the distance from its locus.
package cct

import (
	"fmt"
	"math"

	"example.org/plumb/colour"
)

// Least and Most bound, in kelvin, the temperatures that Planckian looks for.
const (
	Least = 1000
	Most  = 100000
)

// A Temperature is a correlated colour temperature. Its zero value is none.
type Temperature struct {
	Kelvin float64
	// Duv is the signed distance from the locus in the CIE 1960 diagram u, v (v = 2/3 v'); above 0 it is on the green side.
	Duv float64
}

// Planckian returns the correlated colour temperature: the temperature of the Planckian radiator whose chromaticity is nearest in CIE 1960 u, v
// (CIE 15:2018, 9.5; c2 = 1.4388e-2 m K). The CIE restricts the term to whites within 0.05 of the locus. It is an error for a chromaticity
// farther than that, or whose nearest radiator lies outside Least to Most.
func Planckian(c colour.XY) (Temperature, error) {
	t, err := nearest(c, planck, 1e6/Most, 1e6/Least)
	if err != nil {
		return Temperature{}, fmt.Errorf("cct: x %.4f, y %.4f: no Planckian radiator from %d to %d K is near: %w", c.X, c.Y, Least, Most, err)
	}
	return t, nil
}

// A uv is a chromaticity in the CIE 1960 diagram.
type uv struct{ u, v float64 }

func of(c colour.XY) uv {
	d := c.UV()
	return uv{d.U, d.V * 2 / 3}
}

func (a uv) distance(b uv) float64 { return math.Hypot(a.u-b.u, a.v-b.v) }

// nearest finds the place on a locus by its reciprocal temperature in mired, in which loci are about evenly paced: a scan, then a golden section.
func nearest(c colour.XY, locus func(kelvin float64) uv, least, most float64) (Temperature, error) {
	at := of(c)
	if !(at.u > 0 && at.v > 0 && at.u < 1 && at.v < 1) {
		return Temperature{}, fmt.Errorf("it is no chromaticity of light")
	}
	gap := func(mired float64) float64 { return at.distance(locus(1e6 / mired)) }
	const steps = 60
	best, near := 0, math.Inf(1)
	for i := range steps + 1 {
		if d := gap(least + (most-least)*float64(i)/steps); d < near {
			best, near = i, d
		}
	}
	a := least + (most-least)*float64(max(best-1, 0))/steps
	b := least + (most-least)*float64(min(best+1, steps))/steps
	lo, hi := a, b
	const golden = 0.6180339887498949
	x, y := b-golden*(b-a), a+golden*(b-a)
	fx, fy := gap(x), gap(y)
	for b-a > 1e-7 {
		if fx < fy {
			b, y, fy = y, x, fx
			x = b - golden*(b-a)
			fx = gap(x)
		} else {
			a, x, fx = x, y, fy
			y = a + golden*(b-a)
			fy = gap(y)
		}
	}
	mired := (a + b) / 2
	if (lo == least && mired-least < 1e-4) || (hi == most && most-mired < 1e-4) {
		return Temperature{}, fmt.Errorf("the nearest lies at the end of the range")
	}
	k := 1e6 / mired
	p := locus(k)
	d := at.distance(p)
	if d > 0.05 {
		return Temperature{}, fmt.Errorf("it is %.3f from the locus in u, v, and more than 0.05 is no white", d)
	}
	// The side is that of the cross product with the direction towards higher temperatures, which runs to the lower left: green is to its right.
	q := locus(1e6 / (mired - 0.01))
	if (q.u-p.u)*(at.v-p.v)-(q.v-p.v)*(at.u-p.u) > 0 {
		d = -d
	}
	return Temperature{k, d}, nil
}
