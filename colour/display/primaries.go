package display

import (
	"encoding/json"
	"fmt"

	"example.org/plumb/colour"
)

// Primaries are the chromaticities of the three channels: those of a space by its name, "srgb", "p3" or "adobe", or x, y of red, green and
// blue where Name is empty.
type Primaries struct {
	Name string
	XY   [3][2]float64
}

// named are the primaries of colour.SRGB, colour.DisplayP3 and colour.AdobeRGB; a test compares them.
var named = map[string][3]colour.XY{
	"srgb":  {{X: 0.64, Y: 0.33}, {X: 0.30, Y: 0.60}, {X: 0.15, Y: 0.06}},
	"p3":    {{X: 0.68, Y: 0.32}, {X: 0.265, Y: 0.69}, {X: 0.15, Y: 0.06}},
	"adobe": {{X: 0.64, Y: 0.33}, {X: 0.21, Y: 0.71}, {X: 0.15, Y: 0.06}},
}

func (p Primaries) chromaticities() ([3]colour.XY, error) {
	if p.Name != "" {
		c, ok := named[p.Name]
		if !ok {
			return c, fmt.Errorf(`primaries is %q: use "srgb", "p3", "adobe" or [[x,y],[x,y],[x,y]]`, p.Name)
		}
		return c, nil
	}
	var c [3]colour.XY
	for i, v := range p.XY {
		// Real primaries of wide gamuts may lie on the line x+y = 1, so that one is allowed here.
		if !(v[0] >= 0 && v[1] > 0 && v[0]+v[1] <= 1) {
			return c, fmt.Errorf("primaries[%d] is %v, %v: use a CIE 1931 x, y, with y above 0 and a sum of at most 1", i, v[0], v[1])
		}
		c[i] = colour.XY{X: v[0], Y: v[1]}
	}
	return c, nil
}

// MarshalJSON writes the name, or the three x, y.
func (p Primaries) MarshalJSON() ([]byte, error) {
	if p.Name != "" {
		return json.Marshal(p.Name)
	}
	return json.Marshal(p.XY)
}
