package readings

import (
	"fmt"
	"strconv"
	"strings"
)

// A Unit is what XYZ is measured in. The zero value is none that is known, of which no luminance is claimed.
type Unit int

const (
	Unstated Unit = iota
	Candela       // cd/m²
	Percent       // Y 100 for the white
	Relative      // Y 1 for the white
)

func (u Unit) String() string {
	switch u {
	case Candela:
		return "cd/m²"
	case Percent:
		return "relative, white 100"
	case Relative:
		return "relative, white 1"
	}
	return "not stated"
}

// Units says what the values of a set are in, and how that is known.
type Units struct {
	XYZ    Unit
	XYZBy  string  // what it was told from
	Device float64 // what full is in the file, such as 255; 0 where there are no device values
	DevBy  string
	// LabBy is what the file says of the white and observer of its L*a*b* (WEIGHTING_FUNCTION); "" where it says nothing, which by the standard is D50 and 2°.
	LabBy string
}

// An Option tells what a file leaves out. Zero values leave it to the file.
type Option struct {
	XYZ    Unit
	Device float64 // full: 1, 100, 255, 1023, 4095 or 65535
}

// stated finds a unit of luminance or a scale in words.
func stated(s string) Unit {
	s = strings.ToLower(s)
	for _, w := range []string{"cd/m2", "cd/m²", "cd/m^2", "cd m-2", "cd·m", "candela", "cd_m2", "nit"} {
		if strings.Contains(s, w) {
			return Candela
		}
	}
	switch strings.Trim(s, " []()") {
	case "%", "percent", "y=100", "0-100", "0..100":
		return Percent
	case "y=1", "0-1", "0..1":
		return Relative
	}
	return Unstated
}

// xyzUnit works out the unit from what the file says, then from the largest Y: a white of exactly 100 or 1 is relative. It returns a problem, to be
// noted, where nothing tells.
func (t *Table) xyzUnit(column Column, most float64, o Option) (Unit, string, *Problem) {
	if o.XYZ != Unstated {
		return o.XYZ, "as told by the user", nil
	}
	for _, c := range t.Columns {
		if u := stated(c.Unit); u != Unstated && strings.HasPrefix(strings.TrimPrefix(c.ID, "AIM_"), "X") {
			return u, "the name of column " + quoted(c.Name), nil
		}
	}
	for _, p := range t.Properties {
		u := stated(p.Value)
		if u == Unstated && stated(p.Keyword) == Candela {
			// WHITE_CD_M2 "120.0" and the like say it by their name.
			if _, err := strconv.ParseFloat(p.Value, 64); err == nil {
				u = Candela
			}
		}
		if u != Unstated && (u == Candela || strings.Contains(strings.ToUpper(p.Keyword), "XYZ")) {
			return u, fmt.Sprintf("%s at line %d", p.Keyword, p.Line), nil
		}
	}
	hundred, one := most >= 99.995 && most <= 100.005, most >= 0.99995 && most <= 1.00005
	for _, p := range t.Properties {
		if !strings.EqualFold(p.Keyword, "MEASUREMENT_SOURCE") || !strings.Contains(strings.ToLower(p.Value), "emissive") {
			continue
		}
		if hundred || one {
			// Light of a screen that some program has scaled to its white, or a screen of just that luminance.
			return Unstated, "", &Problem{column.line, column.column, column.Name, fmt.Sprintf("the light of a screen is in cd/m², but a white of just %.4g looks as if it was scaled: write [cd/m2] or [%%] behind the name, or say which it is", most)}
		}
		return Candela, fmt.Sprintf("%s at line %d: light of a screen is in cd/m²", p.Keyword, p.Line), nil
	}
	switch {
	case hundred:
		return Percent, "the largest Y, which is 100", nil
	case one:
		return Relative, "the largest Y, which is 1", nil
	}
	return Unstated, "", &Problem{column.line, column.column, column.Name, fmt.Sprintf("nothing says what unit it is in, and the largest Y is %.4g: write [cd/m2] or [%%] behind the name, or say which it is", most)}
}

// deviceScale takes the smallest usual full value that none is above.
func deviceScale(column Column, most float64, ink, whole bool, o Option) (float64, string, *Problem) {
	if o.Device > 0 {
		return o.Device, "as told by the user", nil
	}
	if s := strings.Trim(column.Unit, " %"); s != "" {
		if _, full, ok := strings.Cut(strings.ReplaceAll(s, "..", "-"), "-"); ok {
			s = full
		}
		if v, err := strconv.ParseFloat(s, 64); err == nil && v > 0 {
			return v, "the name of column " + quoted(column.Name), nil
		}
	}
	if ink {
		if most > 1 || most == 0 {
			return 100, "inks are in percent", nil
		}
		return 1, "inks of no more than 1", nil
	}
	for _, full := range []float64{1, 100, 255, 1023, 4095, 65535} {
		if full == 100 && whole && most < 100 {
			continue // whole numbers up to 90 are 8-bit codes as well
		}
		if most == full {
			return full, fmt.Sprintf("the largest value, which is %v", full), nil
		}
		if most < full {
			return full, fmt.Sprintf("the largest value, which is %v", most), &Problem{column.line, column.column, column.Name,
				fmt.Sprintf("no value is full, so the scale is a guess: the largest is %v, and full is taken as %v", most, full)}
		}
	}
	return 0, "", &Problem{column.line, column.column, column.Name, fmt.Sprintf("the largest value is %v, and no device has more than 65535", most)}
}
