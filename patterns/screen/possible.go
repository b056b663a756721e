package screen

import "math"

// A Field is how even a screen is: the logarithm of the light at each place of a grid, row by row, over that at the middle place. The zero Field
// is even.
type Field struct {
	Rows, Cols int
	Log        []float64
	Pink       []float64 // tint of the place against the middle along PinkGreen, u'v'; nil where not judged
	Yellow     []float64 // the same along BlueYellow
}

// Worst returns the greatest absolute logarithm of light over that at the middle.
func (f Field) Worst() float64 {
	worst := 0.0
	for _, l := range f.Log {
		worst = max(worst, math.Abs(l))
	}
	return worst
}

// A Possible is one screen that may be the one that was judged: a draw from all that is believed.
type Possible struct {
	Tone        Tone
	Range       Range
	Crush, Clip int // codes up to Crush look black, and from Clip on white; 0 and 255 for none
	Bits        int // effective depth, 5 to 8
	Tint        Tint
	Field       Field
	Reach       float64 // from sRGB (0) to Display P3 (1)
}

// Lost returns whether a code looks like black or like white though it is neither.
func (p *Possible) Lost(code uint8) (dark, light bool) {
	c := int(code)
	return c > 0 && c <= p.Crush, c < 255 && c >= p.Clip
}

// Grey returns the light of equal codes relative to the screen's own black and white, crush, clip and coarse steps included.
func (p *Possible) Grey(code uint8) float64 {
	c := int(code)
	switch {
	case c <= p.Crush:
		return 0
	case c >= p.Clip:
		return 1
	}
	// The signal path: the range first, then the depth, then the curve.
	v, tone := float64(c)/255, p.Tone
	switch p.Range {
	case Squeezed:
		tone.Squeezed = false
		return tone.Light(p.rounded(Squeeze(v)))
	case Lifted: // the curve is relative to the screen's own black and white, which are codes 16 and 235 of what is sent
		return tone.Light(min(max((255*p.rounded(Lifted.Send(v))-16)/219, 0), 1))
	}
	if p.Bits < 8 {
		v = p.rounded(v)
	}
	return tone.Light(v)
}

// rounded returns a signal at the screen's depth, halves up.
func (p *Possible) rounded(v float64) float64 {
	if p.Bits <= 0 {
		return v
	}
	top := float64(int(1)<<p.Bits - 1)
	return math.Floor(float64(v*top)+0.5) / top
}

// Light returns the linear light of red, green and blue of a colour, relative to the screen's own black and white: all 0 is black, all 1 white.
// Each channel has the grey's tone curve, moved by the tint.
func (p *Possible) Light(r, g, b uint8) (lr, lg, lb float64) {
	lr, lg, lb = p.Grey(r), p.Grey(g), p.Grey(b)
	if p.Tint == (Tint{}) {
		return lr, lg, lb
	}
	red, _ := Ratio(p.Tint.At(float64(r) / 255))
	_, blue := Ratio(p.Tint.At(float64(b) / 255))
	return lr * math.Exp(red), lg, lb * math.Exp(blue)
}

// Hides reports whether a colour is lost: every channel looks black though not all are, or a channel looks full though it is not.
func (p *Possible) Hides(r, g, b uint8) bool {
	if max(r, g, b) == 0 {
		return false
	}
	c := int(max(r, g, b))
	if c <= p.Crush {
		return true
	}
	return c >= p.Clip && c < 255
}
