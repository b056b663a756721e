package observer

import (
	"image"
	"image/color"
	"math"

	"example.org/plumb/colour"
	"example.org/plumb/colour/difference"
)

// The colour difference that a viewer with the threshold of a typical one sees half of the time between abutting patches, and the SD of that, in
// CIEDE2000: judgement. Others have both in proportion to their thresholds.
const (
	half      = 1.3
	spread    = 0.6
	threshold = 1.7 // of the typical viewer, to which these belong
)

// OddColour looks for the cell that holds a mark of another colour, and returns its index, or CantTell. In each cell the colours of the middle, each on at
// least a hundredth of it, are set against that of a corner: the greatest CIEDE2000, relative to the screen's white there, is what is seen. With p3
// the frame is a canvas in Display P3.
func (v *Viewer) OddColour(frame *image.RGBA, cells []image.Rectangle, p3 bool) int {
	best, at := 0.0, 0
	for i, c := range cells {
		if d := v.mark(frame, c, p3); d > best {
			best, at = d, i
		}
	}
	if best == 0 && len(cells) > 0 {
		at = v.r.IntN(len(cells))
	}
	k := v.kind.Threshold / threshold
	return v.find(len(cells), at, normal((best-half*k)/(spread*k)))
}

// mark returns the greatest CIEDE2000 between a colour in the middle of a cell and that in its corner.
func (v *Viewer) mark(frame *image.RGBA, cell image.Rectangle, p3 bool) float64 {
	x, y := place(frame.Rect, centre(cell))
	light := func(c color.RGBA) colour.XYZ {
		if p3 {
			c = v.screen.FromP3(c)
		}
		return v.see(v.screen.LightAt(c, x, y))
	}
	white := light(color.RGBA{255, 255, 255, 255})
	side := min(cell.Dx(), cell.Dy())
	middle := image.Rectangle{centre(cell), centre(cell)}.Inset(-max(1, side/4)).Intersect(frame.Rect)
	corner := cell.Min
	if middle.Empty() || !corner.In(frame.Rect) || !(white.X > 0 && white.Y > 0 && white.Z > 0) {
		return 0
	}
	ground := frame.RGBAAt(corner.X, corner.Y)
	counts := map[color.RGBA]int{}
	for y := middle.Min.Y; y < middle.Max.Y; y++ {
		run, last := 0, color.RGBA{}
		for x := middle.Min.X; x < middle.Max.X; x++ {
			if c := frame.RGBAAt(x, y); c != last {
				counts[last] += run
				run, last = 0, c
			}
			run++
		}
		counts[last] += run
	}
	lab := light(ground).Lab(white)
	best := 0.0
	for c, n := range counts {
		if c != ground && 100*n >= middle.Dx()*middle.Dy() {
			best = math.Max(best, difference.CIEDE2000(light(c).Lab(white), lab))
		}
	}
	return best
}

// normal is the distribution function of the normal distribution.
func normal(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }
