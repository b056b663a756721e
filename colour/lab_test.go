package colour

import (
	"math"
	"testing"
)

func TestHue(t *testing.T) {
	for _, v := range []struct {
		c           Lab
		chroma, hue float64
	}{
		{Lab{50, 0, 0}, 0, 0},
		{Lab{50, 30, 0}, 30, 0},
		{Lab{50, 30, 30}, 30 * math.Sqrt2, 45},
		{Lab{50, 0, 30}, 30, 90},
		{Lab{50, -30, 0}, 30, 180},
		{Lab{50, 0, -30}, 30, 270},
		{Lab{50, 30, -1e-300}, 30, 0},
		{Lab{50, 3, -4}, 5, 306.86989764584405},
	} {
		if math.Abs(v.c.Chroma()-v.chroma) > 1e-13 || math.Abs(v.c.Hue()-v.hue) > 1e-12 {
			t.Errorf("%v: chroma %v, hue %v, want %v, %v", v.c, v.c.Chroma(), v.c.Hue(), v.chroma, v.hue)
		}
	}
}

// CIE 15:2018, 8.2.1: the joint of the two branches is at L* 8, and below it lightness is straight, 24389/27 of the luminance factor.
func TestLabFoot(t *testing.T) {
	w := D65.XYZ(1)
	for _, v := range []struct{ y, l float64 }{{0, 0}, {0.001, 0.001 * 24389 / 27}, {216.0 / 24389, 8}, {0.18418651851244416, 50}, {1, 100}} {
		c := w.Scale(v.y).Lab(w)
		if math.Abs(c.L-v.l) > 1e-12 || math.Abs(c.A) > 1e-12 || math.Abs(c.B) > 1e-12 {
			t.Errorf("Y %v is %v, want L* %v and no a*, b*", v.y, c, v.l)
		}
	}
	// Absolute values and their white give the same.
	if d := apartLab(XYZ{20, 30, 10}.Lab(w.Scale(160)), XYZ{20.0 / 160, 30.0 / 160, 10.0 / 160}.Lab(w)); d > 1e-13 {
		t.Errorf("absolute and relative are %v apart", d)
	}
}
