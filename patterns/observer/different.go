package observer

import (
	"image"
	"math"
	"slices"
)

// Different returns which of the cells, each of one code, differs in light from the others, or CantTell. A cell's difference is to the median of the
// others, in thresholds, and it is seen as in Odd. Cells are compared where they meet, in the middle of them all: what a viewer sees of a step is
// its border, and unevenness is the same on both sides of it.
func (v *Viewer) Different(frame *image.RGBA, cells []image.Rectangle) int {
	var all image.Rectangle
	for _, c := range cells {
		all = all.Union(c)
	}
	light := make([]float64, len(cells))
	for i, c := range cells {
		light[i] = v.lookAt(frame, c, centre(all)).Y
	}
	best, at := 0.0, 0
	for i := range cells {
		others := slices.Delete(slices.Clone(light), i, i+1)
		if len(others) == 0 {
			break
		}
		ground := median(others)
		if d := math.Abs(light[i]-ground) / Threshold(v.kind, ground); d > best {
			best, at = d, i
		}
	}
	return v.find(len(cells), at, seen(best))
}

func median(v []float64) float64 {
	slices.Sort(v)
	n := len(v)
	return (v[(n-1)/2] + v[n/2]) / 2
}
