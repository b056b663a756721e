package observer

import (
	"image"
	"image/color"
	"math"

	"example.org/plumb/colour"
)

// light is the mean luminance of a region in cd/m², as the viewer's vision has it.
func (v *Viewer) light(frame *image.RGBA, r image.Rectangle) float64 { return v.look(frame, r).Y }

// look is the mean light of a region in cd/m², as the screen makes it there and as the viewer's vision has it.
func (v *Viewer) look(frame *image.RGBA, r image.Rectangle) colour.XYZ {
	return v.lookAt(frame, r, centre(r.Intersect(frame.Rect)))
}

// lookAt is the mean light that a region would have at a place. Of a region outside of the frame it is the 0.05 cd/m² at which the GSDF starts.
func (v *Viewer) lookAt(frame *image.RGBA, r image.Rectangle, at image.Point) colour.XYZ {
	r = r.Intersect(frame.Rect)
	if r.Empty() {
		return colour.D65.XYZ(0.05)
	}
	x, y := place(frame.Rect, at)
	first := frame.RGBAAt(r.Min.X, r.Min.Y)
	if plain(frame, r, first) {
		return v.see(v.screen.LightAt(first, x, y))
	}
	light := v.mean(frame, r, x, y)
	if by := v.altered(frame, r); by != 0 {
		veil := v.screen.Reflected()
		light = veil.Add(light.Add(veil.Scale(-1)).Scale(math.Exp(by)))
	}
	return v.see(light)
}

// plain reports whether every pixel of a region within the frame has one colour.
func plain(frame *image.RGBA, r image.Rectangle, c color.RGBA) bool {
	for y := r.Min.Y; y < r.Max.Y; y++ {
		row := frame.Pix[frame.PixOffset(r.Min.X, y):frame.PixOffset(r.Max.X, y)]
		for i := 0; i+3 < len(row); i += 4 {
			if row[i] != c.R || row[i+1] != c.G || row[i+2] != c.B {
				return false
			}
		}
	}
	return true
}

// mean is the mean light of a region within the frame, as if all of it were at one place.
func (v *Viewer) mean(frame *image.RGBA, r image.Rectangle, x, y float64) colour.XYZ {
	// Channels add, so that it is enough to count the codes of each.
	var counts [3][256]int
	for y := r.Min.Y; y < r.Max.Y; y++ {
		row := frame.Pix[frame.PixOffset(r.Min.X, y):frame.PixOffset(r.Max.X, y)]
		for i := 0; i+3 < len(row); i += 4 {
			counts[0][row[i]]++
			counts[1][row[i+1]]++
			counts[2][row[i+2]]++
		}
	}
	dark := v.screen.LightAt(color.RGBA{}, x, y)
	light := dark
	n := float64(r.Dx() * r.Dy())
	for channel := range counts {
		for code, count := range counts[channel] {
			if count == 0 {
				continue
			}
			var c [3]uint8
			c[channel] = uint8(code)
			one := v.screen.LightAt(color.RGBA{c[0], c[1], c[2], 255}, x, y)
			light = light.Add(one.Add(dark.Scale(-1)).Scale(float64(count) / n))
		}
	}
	return light
}

// place returns where a pixel is in a frame, from 0 to 1.
func place(frame image.Rectangle, at image.Point) (x, y float64) {
	return float64(at.X-frame.Min.X) / float64(frame.Dx()), float64(at.Y-frame.Min.Y) / float64(frame.Dy())
}

// altered is the log of how much lighter the screen makes a region for being lines: rows or columns, not both crossed.
func (v *Viewer) altered(frame *image.RGBA, r image.Rectangle) float64 {
	lines := v.screen.Lines()
	if lines.Rows == 0 && lines.Columns == 0 || !lined(frame, r) {
		return 0
	}
	r = r.Inset(2)
	first := frame.RGBAAt(r.Min.X, r.Min.Y)
	down, across := false, false
	for y := r.Min.Y; y < r.Max.Y && !down; y++ {
		down = unlike(frame.RGBAAt(r.Min.X, y), first)
	}
	for x := r.Min.X; x < r.Max.X && !across; x++ {
		across = unlike(frame.RGBAAt(x, r.Min.Y), first)
	}
	switch {
	case down && !across:
		return lines.Rows
	case across && !down:
		return lines.Columns
	}
	return 0
}

// lined reports whether a region holds a texture and not one code.
func lined(frame *image.RGBA, r image.Rectangle) bool {
	r = r.Intersect(frame.Rect).Inset(2)
	if r.Empty() {
		return false
	}
	first := frame.RGBAAt(r.Min.X, r.Min.Y)
	for i := range min(r.Dx(), r.Dy()) {
		if unlike(frame.RGBAAt(r.Min.X+i, r.Min.Y+i), first) {
			return true
		}
	}
	return false
}

// unlike reports whether two codes differ by more than a step or two in any channel.
func unlike(a, b color.RGBA) bool {
	return far(a.R, b.R) || far(a.G, b.G) || far(a.B, b.B)
}

func far(a, b uint8) bool { return max(a, b)-min(a, b) > 2 }
