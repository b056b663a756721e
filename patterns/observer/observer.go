// Package observer simulates viewers in the psychophysical sense: a virtual viewer sees the light that a display model makes of painted pixels, adds noise, and answers.
//
// It knows the kind of question and where to look, nothing of what was meant to be there. The magnitudes are assumptions; no people have been measured.
package observer

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"io"
	"math"
	"math/rand/v2"
	"time"

	"example.org/plumb/colour/display"
	"example.org/plumb/colour/transfer"
)

// A Kind is a kind of viewer. Noise is in log luminance.
type Kind struct {
	Name      string  `json:"name"`
	Threshold float64 `json:"threshold"` // luminance difference seen 63 % of the time, in steps of the GSDF (DICOM PS3.14)
	Plain     float64 `json:"plain"`     // SD of the noise between two plain patches side by side
	Lines     float64 `json:"lines"`     // SD of the noise between lines and a plain patch
	LineBias  float64 `json:"lineBias"`  // SD over viewers of how much lighter lines look than they are
	Lapse     float64 `json:"lapse"`     // how often the viewer guesses
	Seconds   float64 `json:"seconds"`   // median time to an answer
}

// Kinds lists the kinds of viewer that rehearsals know by name. The magnitudes are judgement within the bounds of published work: repeatability and
// spread between observers of visual tone matching from Xiao et al. 2011, lapse from Wichmann and Hill 2001 (from memory).
var Kinds = []Kind{
	{"expert", 1.0, 0.010, 0.02, 0.01, 0.01, 2.0},
	{"typical", 1.7, 0.017, 0.04, 0.03, 0.03, 2.8},
	{"steady", 1.7, 0.015, 0.029, 0.01, 0.02, 2.8}, // the viewer for whom the bounds on tone curves were computed
	{"casual", 3.0, 0.030, 0.08, 0.04, 0.06, 2.2},
	{"double", 3.4, 0.034, 0.08, 0.03, 0.03, 2.8}, // typical with all noise doubled
	{"clicker", 3.0, 0.030, 0.08, 0.04, 0.95, 0.6},
}

// KindByName returns the kind of the given name, and false if there is none.
func KindByName(name string) (Kind, bool) {
	for _, k := range Kinds {
		if k.Name == name {
			return k, true
		}
	}
	return Kind{}, false
}

// ParseKind reads a kind from JSON. A field that is missing has the value of a typical viewer, but for the name. Fields not known and values out of
// range are refused by name.
func ParseKind(b []byte) (Kind, error) {
	k, _ := KindByName("typical")
	k.Name = ""
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(&k); err != nil {
		return Kind{}, fmt.Errorf("observer: %w", err)
	}
	if _, err := d.Token(); err != io.EOF {
		return Kind{}, errors.New("observer: there is more after the viewer; give one JSON object")
	}
	for _, f := range []struct {
		name  string
		v, hi float64
	}{{"threshold", k.Threshold, 100}, {"plain", k.Plain, 2}, {"lines", k.Lines, 2}, {"lineBias", k.LineBias, 2}, {"lapse", k.Lapse, 1}, {"seconds", k.Seconds, 3600}} {
		if !(f.v >= 0 && f.v <= f.hi) {
			return Kind{}, fmt.Errorf("observer: %s is %g; give a number from 0 to %g", f.name, f.v, f.hi)
		}
	}
	if k.Threshold == 0 {
		return Kind{}, fmt.Errorf("observer: threshold is 0; give a number above 0")
	}
	return k, nil
}

const (
	slope    = 2.5 // of detection over luminance difference; Weibull, range in the literature 2 to 3.5
	sideBias = 0.3 // SD over sittings of the preference for one side, in units of the noise
	learning = 0.3 // how much noisier the first match of a sitting is, falling with matches seen
	learned  = 6.0 // matches over which that falls to 1/e
	turns    = 4   // a viewer who has overshot this often takes what is there
)

// CantTell is the answer of a viewer who saw nothing.
const CantTell = -1

// A Viewer is one virtual viewer in front of one screen, for one sitting.
type Viewer struct {
	kind    Kind
	screen  *display.Model
	r       *rand.Rand
	bias    float64 // log light that lines seem to have more
	side    float64 // preference for the left, in units of noise
	matches int

	setting   bool
	criterion float64 // noise of the setting under way
	heading   int     // last step of the setting under way
	turns     int     // how often it has turned round
}

// New returns a viewer of a kind before a screen. All that is random comes from r.
func New(k Kind, screen *display.Model, r *rand.Rand) *Viewer {
	v := &Viewer{kind: k, screen: screen, r: r}
	v.bias = k.LineBias * r.NormFloat64()
	v.side = sideBias * r.NormFloat64()
	return v
}

// Time draws how long the viewer takes for an answer.
func (v *Viewer) Time() time.Duration {
	return time.Duration(v.kind.Seconds * math.Exp(0.3*v.r.NormFloat64()) * float64(time.Second))
}

// Odd looks for the cell whose middle differs from its border, and returns its index, or CantTell.
func (v *Viewer) Odd(frame *image.RGBA, cells []image.Rectangle) int {
	best, at := 0.0, 0
	for i, c := range cells {
		side := min(c.Dx(), c.Dy())
		mid := c.Min.Add(image.Pt(c.Dx()/2, c.Dy()/2))
		near := image.Rectangle{mid, mid}.Inset(-max(1, side/8))
		edge := image.Rectangle{c.Min, c.Min.Add(image.Pt(max(1, side/16), max(1, side/16)))}
		ground := v.light(frame, edge)
		d := math.Abs(v.light(frame, near)-ground) / Threshold(v.kind, ground)
		if d > best {
			best, at = d, i
		}
	}
	if v.r.Float64() < v.kind.Lapse {
		return v.r.IntN(len(cells))
	}
	if v.r.Float64() < -math.Expm1(-math.Pow(best, slope)) {
		return at
	}
	if v.r.IntN(2) == 0 && v.kind.Lapse < 0.5 {
		return CantTell
	}
	return v.r.IntN(len(cells))
}

// Threshold returns the luminance difference, in cd/m², that a kind of viewer sees 63 % of the time on a ground of the given luminance.
func Threshold(k Kind, ground float64) float64 {
	return k.Threshold * transfer.GSDFStep(math.Max(ground, 0.05))
}

// Lighter returns 0 if the left and 1 if the right region looks lighter.
func (v *Viewer) Lighter(frame *image.RGBA, left, right image.Rectangle) int {
	d, noise := v.difference(frame, left, right)
	if v.r.Float64() < v.kind.Lapse {
		return v.r.IntN(2)
	}
	if d+noise*v.r.NormFloat64() > 0 {
		return 0
	}
	return 1
}

// Adjust looks at a plain patch that is being set to match lines: 1 to make it lighter, -1 to make it darker, 0 when it matches. The viewer holds
// one criterion until it matches.
func (v *Viewer) Adjust(frame *image.RGBA, plain, lines image.Rectangle) int {
	d, noise := v.difference(frame, plain, lines)
	if !v.setting {
		v.setting, v.heading, v.turns, v.criterion = true, 0, 0, noise*v.r.NormFloat64()
	}
	if v.r.Float64() < v.kind.Lapse/4 {
		v.setting = false
		return 0
	}
	d += v.criterion
	step := 1
	if d > 0 {
		step = -1
	}
	if v.kind.Lapse > 0.5 {
		step = v.r.IntN(3) - 1
	} else if step == -v.heading {
		v.turns++
	}
	if v.kind.Lapse <= 0.5 && (math.Abs(d) < 0.006 || v.turns >= turns) {
		step = 0
	}
	if step == 0 {
		v.setting = false
	}
	v.heading = step
	return step
}

// difference returns by how much a seems lighter than b, in log light, and the noise of the comparison.
func (v *Viewer) difference(frame *image.RGBA, a, b image.Rectangle) (d, noise float64) {
	d = math.Log(v.light(frame, a)) - math.Log(v.light(frame, b))
	noise = v.kind.Plain
	la, lb := lined(frame, a), lined(frame, b)
	if la || lb {
		noise = v.kind.Lines * (1 + learning*math.Exp(-float64(v.matches)/learned))
		v.matches++
	}
	if la {
		d += v.bias
	}
	if lb {
		d -= v.bias
	}
	if a.Min.X < b.Min.X {
		d += v.side * noise
	} else {
		d -= v.side * noise
	}
	return d, noise
}

// light is the mean luminance of a region in cd/m², at least that which a dark-adapted eye adds of its own.
func (v *Viewer) light(frame *image.RGBA, r image.Rectangle) float64 {
	r = r.Intersect(frame.Rect)
	if r.Empty() {
		return 0.05
	}
	sum := 0.0
	for y := r.Min.Y; y < r.Max.Y; y++ {
		row := frame.Pix[frame.PixOffset(r.Min.X, y):frame.PixOffset(r.Max.X, y)]
		for i := 0; i+3 < len(row); i += 4 {
			sum += v.screen.Luminance(row[i], row[i+1], row[i+2])
		}
	}
	mid := r.Min.Add(image.Pt(r.Dx()/2, r.Dy()/2))
	x := float64(mid.X-frame.Rect.Min.X) / float64(frame.Rect.Dx())
	y := float64(mid.Y-frame.Rect.Min.Y) / float64(frame.Rect.Dy())
	veil := v.screen.Veil()
	return (sum/float64(r.Dx()*r.Dy())-veil)*v.screen.At(x, y) + veil
}

// lined reports whether a region holds a texture and not one code.
func lined(frame *image.RGBA, r image.Rectangle) bool {
	r = r.Intersect(frame.Rect).Inset(2)
	if r.Empty() {
		return false
	}
	first := frame.RGBAAt(r.Min.X, r.Min.Y).G
	for i := range min(r.Dx(), r.Dy()) {
		if d := int(frame.RGBAAt(r.Min.X+i, r.Min.Y+i).G) - int(first); d > 2 || d < -2 {
			return true
		}
	}
	return false
}
