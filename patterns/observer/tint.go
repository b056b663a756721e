package observer

import (
	"image"
	"math"
	"math/rand/v2"

	"example.org/plumb/colour"
)

// The axes of tint.
const (
	PinkGreen  = 0 // pinker, less green, is more
	BlueYellow = 1 // yellower, less blue, is more
)

const (
	blueYellow = 1.7  // how much noisier blue and yellow are than pink and green: the short-wave cones
	dim        = 20.0 // cd/m², below which tints are harder to tell, by 1 + sqrt(5/L)
)

// perLog are the lengths of the moves in u', v' from D65 of a unit in ln X and in ln Z, at the same Y: 0.1894 and 0.0864.
var perLog = func() [2]float64 {
	w := colour.D65.XYZ(1)
	sum := w.X + float64(15*w.Y) + float64(3*w.Z)
	uv := w.UV()
	// u' is 4X/sum and v' is 9Y/sum, and sum grows by X for ln X and by 3Z for ln Z.
	x, z := w.X/sum, 3*w.Z/sum
	return [2]float64{math.Hypot(uv.U*(1-x), uv.V*x), math.Hypot(uv.U*z, uv.V*z)}
}()

// Tint returns where a light is on an axis, in units of u'v' at D65: 0.1894 ln(X/Y) on PinkGreen and 0.0864 ln(Y/Z) on BlueYellow, so that
// more is pinker or yellower. Only differences say something: that of a grey to the screen's white is its tint relative to it. Values of 0 and
// below count as 1e-9.
func Tint(c colour.XYZ, axis int) float64 {
	x, y, z := math.Max(c.X, 1e-9), math.Max(c.Y, 1e-9), math.Max(c.Z, 1e-9)
	if axis == BlueYellow {
		return perLog[1] * math.Log(y/z)
	}
	return perLog[0] * math.Log(x/y)
}

// TintNoise returns the SD on an axis of a comparison whose SD on PinkGreen is sd, at a luminance in cd/m²: 1.7 times as much on BlueYellow, and
// below 20 cd/m² 1 + sqrt(5/L) times as much, L not below 0.05. At 20 cd/m² the noise jumps by half, as in the rule of thumb it is.
func TintNoise(sd float64, axis int, luminance float64) float64 {
	if axis == BlueYellow {
		sd *= blueYellow
	}
	if luminance < dim {
		sd *= 1 + math.Sqrt(5/math.Max(luminance, 0.05))
	}
	return sd
}

// drawTint draws how tinted lines seem to the viewer.
func (v *Viewer) drawTint(r *rand.Rand) {
	v.tinted = true
	v.tint = [2]float64{v.kind.TintBias * r.NormFloat64(), v.kind.TintBias * r.NormFloat64()}
}

// Tinted returns 0 if a and 1 if b, its neighbour, looks pinker, on the axis PinkGreen, or yellower, on BlueYellow. Lines against plain have the viewer's
// bias of that axis; the preference for a side is that of Lighter, with the upper counting as the left; and the noise falls with the
// comparisons of tint seen as that of line matches does.
func (v *Viewer) Tinted(frame *image.RGBA, a, b image.Rectangle, axis int) int {
	if !v.tinted { // not before it is needed: viewers who are never asked draw as they always did
		v.drawTint(v.r)
	}
	d, noise := v.tintDifference(frame, a, b, axis, v.kind.Tint)
	noise *= unlearned(v.tints)
	v.tints++
	bias := v.tint[PinkGreen]
	if axis == BlueYellow {
		bias = v.tint[BlueYellow]
	}
	if lined(frame, a) {
		d += bias
	}
	if lined(frame, b) {
		d -= bias
	}
	return v.compare(d+v.side*noise*before(a, b), noise)
}

// FarTinted is Tinted of two places far apart: with the noise of FarTint, no bias, no learning, and little preference for a side.
func (v *Viewer) FarTinted(frame *image.RGBA, a, b image.Rectangle, axis int) int {
	d, noise := v.tintDifference(frame, a, b, axis, v.kind.FarTint)
	return v.compare(d+farSide*v.side*noise*before(a, b), noise)
}

// tintDifference returns by how much a is pinker or yellower than b, and the noise of a comparison whose SD on PinkGreen is sd.
func (v *Viewer) tintDifference(frame *image.RGBA, a, b image.Rectangle, axis int, sd float64) (d, noise float64) {
	p, q := v.look(frame, a), v.look(frame, b)
	return Tint(p, axis) - Tint(q, axis), TintNoise(sd, axis, (p.Y+q.Y)/2)
}

// Reference returns 0 if a region looks pinker (or yellower, on BlueYellow) than a reference light beside the screen or remembered, and 1 if it looks
// less so. Only the chromaticity of target is looked at. Noise is the kind's Ref.
func (v *Viewer) Reference(frame *image.RGBA, a image.Rectangle, target colour.XYZ, axis int) int {
	p, q := v.look(frame, a), v.see(target)
	return v.compare(Tint(p, axis)-Tint(q, axis), TintNoise(v.kind.Ref, axis, p.Y))
}
