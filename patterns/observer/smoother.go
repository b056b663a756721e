package observer

import (
	"image"
	"math"

	"example.org/plumb/colour/transfer"
)

// smoothness is the SD of the noise in comparing two ramps, in the log of the ratio of their steps: an assumption.
const smoothness = 0.35

// Smoother returns 0 if a and 1 if b, of two horizontal ramps, looks smoother: the one with the smaller steps. Steps are typical steps of light in thresholds of
// the viewer; what is below one threshold is not told from one, so two ramps without visible steps are equal. The upper counts as the left for the
// preference for a side.
func (v *Viewer) Smoother(frame *image.RGBA, a, b image.Rectangle) int {
	p, q := math.Max(v.steps(frame, a)/v.kind.Threshold, 1), math.Max(v.steps(frame, b)/v.kind.Threshold, 1)
	return v.compare(math.Log(q/p)+v.side*smoothness*before(a, b), smoothness)
}

// steps returns the size of a typical step of light between neighbouring levels along the middle row of a region, in steps of the GSDF: the root of the
// mean square where each counts by its size, so that many small ones do not hide a few large ones. The row is looked at as it would be in the
// middle of the region, because unevenness makes no steps. It is 0 where there are none.
func (v *Viewer) steps(frame *image.RGBA, r image.Rectangle) float64 {
	r = r.Intersect(frame.Rect)
	if r.Empty() {
		return 0
	}
	x, y := place(frame.Rect, centre(r))
	row := centre(r).Y
	last := frame.RGBAAt(r.Min.X, row)
	light := v.see(v.screen.LightAt(last, x, y)).Y
	sum, cubes := 0.0, 0.0
	for at := r.Min.X + 1; at < r.Max.X; at++ {
		c := frame.RGBAAt(at, row)
		if c == last {
			continue
		}
		next := v.see(v.screen.LightAt(c, x, y)).Y
		d := math.Abs(next-light) / transfer.GSDFStep(math.Max((next+light)/2, transfer.GSDFMin))
		sum += d
		cubes += d * d * d
		last, light = c, next
	}
	if sum == 0 {
		return 0
	}
	return math.Sqrt(cubes / sum)
}
