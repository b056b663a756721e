//go:build !js

package icc

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"

	second "github.com/kovidgoyal/imaging/prism/meta/icc"

	"example.org/plumb/colour"
)

// A second library reads the same of every profile: version, kind, space, date, ID and name; and its curves, matrices and tables give the same.
func TestAgainstASecondLibrary(t *testing.T) {
	compared, curves := 0, 0
	for name, data := range profiles(t) {
		p, err := Read(data)
		if err != nil {
			t.Fatal(err)
		}
		if p.Space != SpaceRGB && p.Space != SpaceGrey && p.Space != SpaceCMYK {
			continue // it reads no others
		}
		q, err := second.DecodeProfile(bytes.NewReader(data))
		if err != nil {
			t.Errorf("%s: the second library: %v", name, err)
			continue
		}
		h := q.Header
		made := [6]uint16{}
		if !p.Made.IsZero() {
			made = [6]uint16{uint16(p.Made.Year()), uint16(p.Made.Month()), uint16(p.Made.Day()), uint16(p.Made.Hour()), uint16(p.Made.Minute()), uint16(p.Made.Second())}
		}
		if int(h.Version.Major) != p.Major || int(h.Version.MinorAndRev) != p.Minor<<4|p.Revision || uint32(h.DeviceClass) != uint32(p.Class) || uint32(h.DataColorSpace) != uint32(p.Space) ||
			uint32(h.ProfileConnectionSpace) != uint32(p.Connection) || h.CreatedAtRaw != made || h.ProfileID != [16]byte(data[84:100]) || h.RenderingIntent != second.RenderingIntent(p.Intent) {
			t.Errorf("%s: %+v, the second library has %+v", name, p.Header, h)
		}
		if d, err := q.Description(); err != nil || strings.TrimSpace(d) != p.Description().String() {
			t.Errorf("%s: %q, the second library has %q, %v", name, p.Description(), d, err)
		}
		if name == "made/mab-lab.icc" || name == "made/mab-cmyk.icc" {
			continue // grids with unequal numbers of points, where it takes the last number for all
		}
		f, err := p.Forward(Relative)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		n := f.Channels()
		to, err := q.CreateTransformerToPCS(second.RelativeColorimetricRenderingIntent, n, false)
		if err != nil {
			t.Errorf("%s: the second library: %v", name, err)
			continue
		}
		compared++
		by := 0.05
		if f.lut != nil && p.Connection == SpaceXYZ {
			by = 0.1 // it does not round to 16 bits, and near black a step of XYZ is worth 0.12
		}
		// Each channel's curve alone, then all together.
		for i := range 33 * (n + 1) {
			in, out := make([]float64, max(n, 3)), make([]float64, max(n, 3))
			for j := range n {
				if k := i / 33; k == j || k == n {
					in[j] = float64(i%33) / 32
				}
			}
			c := f.Lab(in[:n]...)
			if n == 3 {
				out[0], out[1], out[2] = to.Transform(in[0], in[1], in[2])
			} else {
				to.TransformGeneral(out, slices.Clone(in)) // it writes into what it is given
			}
			d := colour.Lab{L: out[0], A: out[1], B: out[2]}
			if p.Connection == SpaceXYZ {
				d = colour.XYZ{X: out[0], Y: out[1], Z: out[2]}.Lab(D50)
			}
			curves++
			if !(math.Abs(c.L-d.L) <= by && math.Abs(c.A-d.A) <= by && math.Abs(c.B-d.B) <= by) {
				t.Errorf("%s, %.3f: %.4f, the second library has %.4f", name, in[:n], c, d)
			}
		}
	}
	if compared < 33 || curves < 4000 {
		t.Errorf("%d profiles and %d colours compared", compared, curves)
	}
}
