package cct

import (
	"fmt"

	"example.org/plumb/colour"
)

// Daylight returns the chromaticity of CIE daylight (CIE 15:2018, 4.1.2) of a correlated colour temperature from 4000 to 25000 K. Illuminants
// named D50 and so on are at 1.4388/1.4380 times their nominal temperature, because c2 was changed since.
func Daylight(kelvin float64) (colour.XY, error) {
	if !(kelvin >= 4000 && kelvin <= 25000) {
		return colour.XY{}, fmt.Errorf("cct: daylight of %v K: it is defined from 4000 to 25000 K", kelvin)
	}
	return daylight(kelvin), nil
}

func daylight(kelvin float64) colour.XY {
	t := 1e3 / kelvin
	x := ((-4.6070*t+2.9678)*t+0.09911)*t + 0.244063
	if kelvin > 7000 {
		x = ((-2.0064*t+1.9018)*t+0.24748)*t + 0.237040
	}
	return colour.XY{X: x, Y: (-3*x+2.870)*x - 0.275}
}

// NearestDaylight returns the temperature of the daylight nearest in CIE 1960 u, v, and the distance from it there. It is an error for what is
// farther than 0.05, or nearest to an end of the locus.
func NearestDaylight(c colour.XY) (Temperature, error) {
	t, err := nearest(c, func(k float64) uv { return of(daylight(k)) }, 1e6/25000, 1e6/4000)
	if err != nil {
		return Temperature{}, fmt.Errorf("cct: x %.4f, y %.4f: no daylight from 4000 to 25000 K is near: %w", c.X, c.Y, err)
	}
	return t, nil
}
