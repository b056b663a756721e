package pages

import (
	"math"
	"strconv"
	"strings"

	"example.org/plumb/web/words"
)

func (t TintPlot) drawn() bool {
	if len(t.Points) == 0 || !finite(t.Limit) || t.Limit < 0 {
		return false
	}
	for _, p := range t.Points {
		if !finite(p.U, p.ULo, p.UHi, p.V, p.VLo, p.VHi) || p.ULo > p.UHi || p.VLo > p.VHi {
			return false
		}
	}
	return true
}

// reach is the end of both axes: 0.004, 0.008, 0.012, 0.016, 0.02, 0.04, or whatever holds all.
func (t TintPlot) reach() float64 {
	most := t.reachOutline()
	for _, p := range t.Points {
		most = max(most, math.Abs(p.ULo), math.Abs(p.UHi), math.Abs(p.VLo), math.Abs(p.VHi), math.Abs(p.U), math.Abs(p.V))
	}
	for _, r := range []float64{0.004, 0.008, 0.012, 0.016, 0.02, 0.04} {
		if most <= r {
			return r
		}
	}
	return most
}

// skew is the cosine between the directions of pink and of yellow in u'v' near D65, which do not stand square on each other though they are drawn so.
// From the derivatives of u' = 4X/(X+15Y+3Z) and v' = 9Y/(X+15Y+3Z) by ln X and by −ln Z (CIE 15).
var skew = func() float64 {
	x, z := d65.x/d65.y, (1-d65.x-d65.y)/d65.y
	d := x + 15 + 3*z
	u, v := d65.uv()
	pu, pv := u*(1-x/d), -v*x/d
	yu, yv := u*3*z/d, v*3*z/d
	return (pu*yu + pv*yv) / (math.Hypot(pu, pv) * math.Hypot(yu, yv))
}()

// size is the length of a tint in u'v'.
func size(pink, yellow float64) float64 {
	return math.Sqrt(max(pink*pink+yellow*yellow+2*skew*pink*yellow, 0))
}

// outline is the tints of the length of the limit: an ellipse, as the axes are drawn square.
func (t TintPlot) outline() string {
	f := t.frame()
	var u, v []float64
	for i := range 60 {
		a := 2 * math.Pi * float64(i) / 60
		r := t.Limit / size(math.Cos(a), math.Sin(a))
		u, v = append(u, r*math.Cos(a)), append(v, r*math.Sin(a))
	}
	return f.path(u, v) + "Z"
}

// reachOutline is how far the outline goes along either axis.
func (t TintPlot) reachOutline() float64 { return t.Limit / math.Sqrt(1-skew*skew) }

// The square of the tint plot, in the drawing's units.
const (
	tintLeft, tintRight = 80.0, 360.0
	tintTop, tintFoot   = 42.0, 322.0
)

func (t TintPlot) frame() frame {
	r := t.reach()
	return frame{ruler{-r, r, tintLeft, tintRight}, ruler{-r, r, tintFoot, tintTop}}
}

// A mark is one grey of the tint plot where it is drawn.
type mark struct {
	x, y, radius string
	cross, label string // the two intervals and the code; empty where it bears none
	lx, ly       string
	anchor       string
}

// mostNamed is how many greys can be told apart by their codes and intervals in one plot.
const mostNamed = 6

// named tells which greys bear their code and their intervals: all where they are few, else the darkest, the lightest, two between and the one with the
// greatest tint.
func (t TintPlot) named() []bool {
	n := len(t.Points)
	out := make([]bool, n)
	worst := t.worst()
	for i, p := range t.Points {
		out[i] = n <= mostNamed || i == 0 || i == n/3 || i == 2*n/3 || i == n-1 || p == worst
	}
	return out
}

// about says what the marks are.
func (t TintPlot) about() string {
	if len(t.Points) <= mostNamed {
		return words.Say("Each mark is one grey with its code, larger where it is lighter; the crosses are 90 % intervals.")
	}
	return words.Say("Each mark is one grey, larger where it is lighter. A few have their code and, as a cross, their 90 % intervals; all are in the table.")
}

// marks lays the greys out, darkest first. A lighter grey has a larger mark. Each label stands at the side of its mark where it covers least of what is
// there already.
func (t TintPlot) marks() []mark {
	f := t.frame()
	type box struct{ x, y, w, h float64 }
	taken := []box{}
	cover := func(a box) float64 {
		sum := 0.0
		for _, b := range taken {
			w := math.Min(a.x+a.w, b.x+b.w) - math.Max(a.x, b.x)
			h := math.Min(a.y+a.h, b.y+b.h) - math.Max(a.y, b.y)
			if w > 0 && h > 0 {
				sum += w * h
			}
		}
		out := math.Max(0, tintLeft-a.x) + math.Max(0, a.x+a.w-tintRight) + math.Max(0, tintTop-a.y) + math.Max(0, a.y+a.h-tintFoot)
		return sum + 40*out
	}
	radius := func(p TintPoint) float64 { return 3 + 4*clamp(float64(p.Level), 0, 255)/255 }
	named := t.named()
	for i, p := range t.Points {
		x, y, r := f.x.at(p.U), f.y.at(p.V), radius(p)
		if !named[i] {
			taken = append(taken, box{x - r, y - r, 2 * r, 2 * r})
			continue
		}
		l, o := f.x.at(p.ULo), f.y.at(p.VHi)
		taken = append(taken, box{x - r, y - r, 2 * r, 2 * r}, box{l, y - 1, f.x.at(p.UHi) - l, 2}, box{x - 1, o, 2, f.y.at(p.VLo) - o})
	}
	var out []mark
	for i, p := range t.Points {
		x, y, r := f.x.at(p.U), f.y.at(p.V), radius(p)
		if !named[i] {
			out = append(out, mark{x: num(x), y: num(y), radius: num(r)})
			continue
		}
		label := strconv.Itoa(p.Level)
		w, h := 9*float64(len(label)), 14.0
		best, least := box{}, math.Inf(1)
		anchor := ""
		for _, turn := range []float64{-45, 45, 135, -135, 0, 180, -90, 90} {
			a := turn * math.Pi / 180
			cx, cy := x+(r+4)*math.Cos(a), y+(r+4)*math.Sin(a)
			b := box{cx, cy - h/2, w, h}
			side := "start"
			switch {
			case math.Abs(math.Cos(a)) < 0.1:
				b.x, side = cx-w/2, "middle"
				b.y = cy - h/2 + math.Copysign(h/2, math.Sin(a))
			case math.Cos(a) < 0:
				b.x, side = cx-w, "end"
			}
			if c := cover(b); c < least-1e-9 {
				best, least, anchor = b, c, side
			}
		}
		taken = append(taken, best)
		at := map[string]float64{"start": best.x, "middle": best.x + best.w/2, "end": best.x + best.w}[anchor]
		out = append(out, mark{
			x: num(x), y: num(y), radius: num(r), label: label, anchor: anchor, lx: num(at), ly: num(best.y + best.h - 3),
			cross: "M" + num(f.x.at(p.ULo)) + " " + num(y) + "H" + num(f.x.at(p.UHi)) + "M" + num(x) + " " + num(f.y.at(p.VLo)) + "V" + num(f.y.at(p.VHi)),
		})
	}
	return out
}

// thread joins the greys in their order, so that the way from dark to white can be followed.
func (t TintPlot) thread() string {
	f := t.frame()
	var u, v []float64
	for _, p := range t.Points {
		u, v = append(u, p.U), append(v, p.V)
	}
	return f.path(u, v)
}

// tiny is a length in u'v', to four places, as the language writes it.
func tiny(v float64) string {
	t := strings.TrimRight(strings.TrimRight(strconv.FormatFloat(v, 'f', 4, 64), "0"), ".")
	if t == "-0" {
		return "0"
	}
	return words.Decimal(strings.Replace(t, "-", "−", 1))
}

func (t TintPlot) ticks(r ruler) []tick {
	e := t.reach()
	var out []tick
	for _, v := range []float64{-e, -e / 2, 0, e / 2, e} {
		out = append(out, tick{num(r.at(v)), tiny(v)})
	}
	return out
}

// way is the direction of a tint in words.
func (p TintPoint) way() string {
	if p.neutral() {
		return words.Say("neutral")
	}
	much := 0.4 * size(p.U, p.V)
	pinker, greener, yellower, bluer := p.U > much, p.U < -much, p.V > much, p.V < -much
	switch {
	case pinker && yellower:
		return words.Say("pinker and yellower")
	case pinker && bluer:
		return words.Say("pinker and bluer")
	case greener && yellower:
		return words.Say("greener and yellower")
	case greener && bluer:
		return words.Say("greener and bluer")
	case pinker:
		return words.Say("pinker")
	case greener:
		return words.Say("greener")
	case yellower:
		return words.Say("yellower")
	}
	return words.Say("bluer")
}

// neutral tells that a tint is too small to have a direction.
func (p TintPoint) neutral() bool { return size(p.U, p.V) < 0.0005 }

// worst is the grey with the greatest tint.
func (t TintPlot) worst() TintPoint {
	var w TintPoint
	for _, p := range t.Points {
		if size(p.U, p.V) >= size(w.U, w.V) {
			w = p
		}
	}
	return w
}

// said is the plot in a sentence, for those who hear the page and as its caption.
func (t TintPlot) said() string {
	w := t.worst()
	said := ""
	if w.neutral() {
		said = words.Say("No grey differs from white by more than %s in u'v'.", tiny(0.0005))
	} else {
		said = words.Say("The greatest tint is at code %d, %s than white by %s in u'v'.", w.Level, w.way(), tiny(math.Round(size(w.U, w.V)*10000)/10000))
	}
	if t.Limit > 0 {
		said += " " + words.Say("Allowed is %s, the dashed outline.", tiny(t.Limit))
	}
	return said
}

type tintRow struct{ level, pink, pinkInterval, yellow, yellowInterval, way string }

func (t TintPlot) table() []tintRow {
	var out []tintRow
	for _, p := range t.Points {
		out = append(out, tintRow{strconv.Itoa(p.Level), tiny(p.U), span(tiny(p.ULo), tiny(p.UHi)), tiny(p.V), span(tiny(p.VLo), tiny(p.VHi)), p.way()})
	}
	return out
}

// fill is full for a grey with its code, and faint for one without.
func (m mark) fill() string {
	if m.label == "" {
		return "none"
	}
	return "currentColor"
}
