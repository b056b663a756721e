package pages

import (
	"math"
	"strconv"
	"strings"

	"example.org/plumb/web/words"
)

// num is a length for a drawing, to a tenth.
func num(v float64) string {
	return strings.TrimSuffix(strconv.FormatFloat(v, 'f', 1, 64), ".0")
}

func finite(list ...float64) bool {
	for _, v := range list {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

func clamp(v, lo, hi float64) float64 { return math.Min(math.Max(v, lo), hi) }

// A ruler lays values from lo to hi onto lengths from a to b; what lies outside is held at the end.
type ruler struct{ lo, hi, a, b float64 }

func (r ruler) at(v float64) float64 {
	return r.a + (clamp(v, r.lo, r.hi)-r.lo)/(r.hi-r.lo)*(r.b-r.a)
}

func (s Scale) drawn() bool {
	return finite(s.Min, s.Max, s.BandLo, s.BandHi, s.Lo, s.At, s.Hi) && s.Max > s.Min && s.Lo <= s.At && s.At <= s.Hi
}

const (
	scaleWidth = 320.0
	scaleInset = 9.0 // room for the point at either end
)

func (s Scale) ruler() ruler { return ruler{s.Min, s.Max, scaleInset, scaleWidth - scaleInset} }

// band is the outline of the allowed band; at least a hairline wide.
func (s Scale) band() string {
	r := s.ruler()
	lo, hi := r.at(s.BandLo), r.at(s.BandHi)
	return "M" + num(lo) + " 3H" + num(math.Max(hi, lo+1)) + "V25H" + num(lo) + "Z"
}

// interval is the line of the interval, with a cap at each end that lies on the axis.
func (s Scale) interval() string {
	r := s.ruler()
	lo, hi := num(r.at(s.Lo)), num(r.at(s.Hi))
	d := "M" + lo + " 14H" + hi
	if s.Lo >= s.Min {
		d += "M" + lo + " 9v10"
	}
	if s.Hi <= s.Max {
		d += "M" + hi + " 9v10"
	}
	return d
}

// arrows are the heads at the ends of the axis beyond which the interval reaches.
func (s Scale) arrows() string {
	d := ""
	if s.Lo < s.Min {
		d += "M0 14l9-6v12z"
	}
	if s.Hi > s.Max {
		d += "M320 14l-9-6v12z"
	}
	return d
}

// bob is a plumb bob that hangs with its tip at a place: the mark of every estimate on a line.
func bob(x, tip float64) string {
	return "M" + num(x-5.5) + " " + num(tip-15) + "h11v5l-5.5 10l-5.5-10z"
}

// figure is a number for this axis: four places where it is short, else two.
func (s Scale) figure(v float64) string {
	if s.Max-s.Min < 0.1 {
		return tiny(v)
	}
	return figure(v)
}

// inside tells whether the estimate lies on the axis.
func (s Scale) inside() bool { return s.At >= s.Min && s.At <= s.Max }

// figure is a number for an axis: short, without a false minus, as the language writes it.
func figure(v float64) string {
	t := strconv.FormatFloat(v, 'f', 2, 64)
	t = strings.TrimRight(strings.TrimRight(t, "0"), ".")
	if t == "-0" {
		return "0"
	}
	return words.Decimal(strings.Replace(t, "-", "−", 1))
}

// tenth is a number to a tenth, without a false minus, as the language writes it.
func tenth(v float64) string {
	t := words.Number(v, 1)
	if rest, ok := strings.CutPrefix(t, "-"); ok {
		if strings.Trim(rest, "0.,") == "" {
			return rest
		}
		return "−" + rest
	}
	return t
}

// span is from one figure to another.
func span(lo, hi string) string {
	return words.As("%s to %s", "from one figure to another", lo, hi)
}

func (s Scale) unit() string {
	if s.Unit == "" {
		return ""
	}
	return " " + s.Unit
}

// said is the scale in a sentence, for those who hear the page.
func (s Scale) said(name string) string {
	f := s.figure
	return words.Say("%s: estimate %s, 90 %% interval %s to %s, allowed %s to %s, on an axis from %s to %s.", name, f(s.At)+s.unit(), f(s.Lo), f(s.Hi), f(s.BandLo), f(s.BandHi), f(s.Min), f(s.Max))
}

// said is the score in a sentence, for those who hear the page.
func (s Score) said() string {
	return words.Say("Score %d, 90 %% interval %d to %d, of 100", s.At, s.Lo, s.Hi)
}

// drawn tells whether the curve is one: ascending, of one length, finite.
func (c Curve) drawn() bool {
	n := len(c.Signal)
	if n < 2 || len(c.At) != n || len(c.Lo) != n || len(c.Hi) != n || len(c.AimLo) != n || len(c.AimHi) != n {
		return false
	}
	for i := range c.Signal {
		if !finite(c.Signal[i], c.At[i], c.Lo[i], c.Hi[i], c.AimLo[i], c.AimHi[i]) || i > 0 && c.Signal[i] <= c.Signal[i-1] {
			return false
		}
	}
	return true
}

// A frame is a plot's inner rectangle with its two axes.
type frame struct{ x, y ruler }

const plotLeft, plotRight, plotTop, plotFoot = 52.0, 408.0, 16.0, 276.0

func (c Curve) frame() frame {
	return frame{ruler{0, 100, plotLeft, plotRight}, ruler{0, 100, plotFoot, plotTop}}
}

// path joins points of y over x by straight lines.
func (f frame) path(x, y []float64) string {
	var b strings.Builder
	for i := range x {
		b.WriteByte("ML"[min(i, 1)])
		b.WriteString(num(f.x.at(x[i])) + " " + num(f.y.at(y[i])))
	}
	return b.String()
}

// area is the closed path between two curves.
func (f frame) area(x, lo, hi []float64) string {
	var b strings.Builder
	b.WriteString(f.path(x, hi))
	for i := len(x) - 1; i >= 0; i-- {
		b.WriteString("L" + num(f.x.at(x[i])) + " " + num(f.y.at(lo[i])))
	}
	b.WriteByte('Z')
	return b.String()
}

func (c Curve) aim(i int) float64 { return (c.AimLo[i] + c.AimHi[i]) / 2 }

// distance is the curve with the middle of the aim taken away.
func (c Curve) distance() Curve {
	d := Curve{Signal: c.Signal}
	for i := range c.Signal {
		m := c.aim(i)
		d.At = append(d.At, c.At[i]-m)
		d.Lo = append(d.Lo, c.Lo[i]-m)
		d.Hi = append(d.Hi, c.Hi[i]-m)
		d.AimLo = append(d.AimLo, c.AimLo[i]-m)
		d.AimHi = append(d.AimHi, c.AimHi[i]-m)
	}
	return d
}

// reach is the end of an axis that holds all of a distance: 5, 10, 20, 50 or 100.
func (c Curve) reach() float64 {
	most := 0.0
	for i := range c.Signal {
		most = max(most, math.Abs(c.Lo[i]), math.Abs(c.Hi[i]), math.Abs(c.AimLo[i]), math.Abs(c.AimHi[i]))
	}
	for _, r := range []float64{5, 10, 20, 50} {
		if most <= r {
			return r
		}
	}
	return 100
}

func (c Curve) away(reach float64) frame {
	return frame{ruler{0, 100, plotLeft, plotRight}, ruler{-reach, reach, plotFoot, plotTop}}
}

// A drawing is what one plot shows. The plots of a page come from one loop: each place that names a component holds a copy of it in the program.
type drawing struct {
	id, title, label, said string
	curve                  Curve
	frame                  frame
	levels                 []float64 // of the upright axis
}

// drawings are lightness over signal, and the same with the aim taken away, so that small faults show.
func (c Curve) drawings() []drawing {
	d := c.distance()
	r := d.reach()
	return []drawing{
		{"curve", words.Say("Lightness over signal"), words.Say("Lightness, L*"), c.said(), c, c.frame(), []float64{0, 20, 40, 60, 80, 100}},
		{"distance", words.Say("Distance from the aim over signal"), words.Say("Lighter (+) or darker (−), L*"), c.said(), d, d.away(r), []float64{-r, -r / 2, 0, r / 2, r}},
	}
}

// A tick is a place on an axis and its label.
type tick struct{ at, label string }

func ticks(r ruler, values ...float64) []tick {
	var out []tick
	for _, v := range values {
		out = append(out, tick{num(r.at(v)), figure(v)})
	}
	return out
}

// strokes is a path with one stroke per tick.
func strokes(list []tick, before, after string) string {
	d := ""
	for _, t := range list {
		d += before + t.at + after
	}
	return d
}

// worst is the signal at which the estimate is farthest from the aim, and how far; positive is lighter.
func (c Curve) worst() (signal, by float64) {
	for i := range c.Signal {
		if d := c.At[i] - c.aim(i); math.Abs(d) > math.Abs(by) {
			signal, by = c.Signal[i], d
		}
	}
	return signal, by
}

// said is the plot in a sentence, for those who hear the page.
func (c Curve) said() string {
	signal, by := c.worst()
	if math.Abs(by) < 0.05 {
		return words.Say("The estimate lies on the aim throughout. The figures are in the table after the plots.")
	}
	at, far := words.Number(signal, 0), words.Number(math.Abs(by), 1)
	if by < 0 {
		return words.Say("The estimate is farthest from the aim at %s %% signal, where it is %s L* darker. The figures are in the table after the plots.", at, far)
	}
	return words.Say("The estimate is farthest from the aim at %s %% signal, where it is %s L* lighter. The figures are in the table after the plots.", at, far)
}

type point struct{ signal, at, interval, aim, off string }

func (c Curve) table() []point {
	var out []point
	for i := range c.Signal {
		p := point{signal: words.Decimal(num(c.Signal[i])), at: tenth(c.At[i]), interval: span(tenth(c.Lo[i]), tenth(c.Hi[i])), off: tenth(c.At[i] - c.aim(i))}
		p.aim = tenth(c.AimLo[i])
		if hi := tenth(c.AimHi[i]); hi != p.aim {
			p.aim = span(p.aim, hi)
		}
		out = append(out, p)
	}
	return out
}
