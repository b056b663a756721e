package main

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"iter"
	"math"
	"slices"

	"example.org/plumb/colour"
)

// A histogram is the share of content of every colour of three 8-bit codes.
type histogram struct {
	share []float64 // by R, G, B as a number of 24 bits
	seen  []uint32  // the numbers whose share is not 0, in the order in which they came
}

func newHistogram() *histogram { return &histogram{share: make([]float64, 1<<24)} }

// add counts a picture's pixels, which together weigh as told. A picture that is not opaque has no colours of its own and is refused.
func (h *histogram) add(img image.Image, weight float64) error {
	counts, found := make([]uint32, 1<<24), []uint32(nil)
	b := img.Bounds()
	if b.Empty() {
		return errors.New("no pixels")
	}
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			var c color.NRGBA
			switch m := img.(type) {
			case *image.YCbCr:
				p := m.YCbCrAt(x, y)
				c.R, c.G, c.B = color.YCbCrToRGB(p.Y, p.Cb, p.Cr)
				c.A = 255
			case *image.NRGBA:
				c = m.NRGBAAt(x, y)
			default:
				c = color.NRGBAModel.Convert(img.At(x, y)).(color.NRGBA)
			}
			if c.A != 255 {
				return fmt.Errorf("not opaque at %d, %d", x, y)
			}
			i := uint32(c.R)<<16 | uint32(c.G)<<8 | uint32(c.B)
			if counts[i] == 0 {
				found = append(found, i)
			}
			counts[i]++
		}
	}
	each := weight / float64(b.Dx()*b.Dy())
	for _, i := range found {
		if h.share[i] == 0 {
			h.seen = append(h.seen, i)
		}
		h.share[i] += float64(float64(counts[i]) * each)
	}
	return nil
}

// all goes through the colours that there are, in the order of R, G, B.
func (h *histogram) all() iter.Seq2[[3]uint8, float64] {
	return func(yield func([3]uint8, float64) bool) {
		for _, i := range slices.Sorted(slices.Values(h.seen)) {
			if !yield([3]uint8{uint8(i >> 16), uint8(i >> 8), uint8(i)}, h.share[i]) {
				return
			}
		}
	}
}

// lab returns a colour of codes, whole or not, against the white of sRGB.
func lab(r, g, b float64) colour.Lab {
	return colour.SRGB.Lab(colour.RGB{R: r / 255, G: g / 255, B: b / 255})
}

// codes holds a share of content for every code.
type codes struct {
	grey   [256]float64 // of pixels whose grey of equal luminance rounds to the code, on the curve of sRGB
	dark   [256]float64 // no channel above the code
	bright [256]float64 // no channel below the code
	some   [256]float64 // a channel at or above the code
}

func (h *histogram) codes() *codes {
	var c codes
	luminance, curve := colour.SRGB.Matrix()[1], colour.SRGB.Transfer()
	for rgb, share := range h.all() {
		y := 0.0
		for i, v := range rgb {
			y += float64(luminance[i] * curve.Light(float64(v)/255))
		}
		grey := math.Round(255 * curve.Signal(y))
		c.grey[int(min(max(grey, 0), 255))] += share
		lo, hi := min(rgb[0], rgb[1], rgb[2]), max(rgb[0], rgb[1], rgb[2])
		c.dark[hi] += share
		c.some[hi] += share
		c.bright[lo] += share
	}
	for v := 1; v < 256; v++ {
		c.dark[v] += c.dark[v-1]
	}
	for v := 254; v >= 0; v-- {
		c.bright[v] += c.bright[v+1]
		c.some[v] += c.some[v+1]
	}
	return &c
}

func (c *codes) table() []byte {
	var b bytes.Buffer
	b.WriteString("code,grey,dark,bright,some\n")
	for v := range 256 {
		fmt.Fprintf(&b, "%d,%.6f,%.6f,%.6f,%.6f\n", v, c.grey[v], c.dark[v], c.bright[v], c.some[v])
	}
	return b.Bytes()
}
