package pages

import (
	"math"
	"strconv"
	"strings"

	"example.org/plumb/web/words"
)

func (c Chart) drawn() bool {
	if !finite(c.Left, c.Right, c.Foot, c.Top) || c.Right <= c.Left || c.Top <= c.Foot || len(c.Lines) == 0 {
		return false
	}
	for _, l := range c.Lines {
		if len(l.X) < 2 || len(l.X) != len(l.Y) || !finite(l.X...) || !finite(l.Y...) {
			return false
		}
	}
	return c.Band.drawn() || len(c.Band.X) == 0
}

func (b ChartBand) drawn() bool {
	return len(b.X) > 1 && len(b.Lo) == len(b.X) && len(b.Hi) == len(b.X) && finite(b.X...) && finite(b.Lo...) && finite(b.Hi...)
}

func (c Chart) frame() frame {
	return frame{ruler{c.Left, c.Right, plotLeft, plotRight}, ruler{c.Foot, c.Top, plotFoot, plotTop}}
}

// A stretch is a line of a chart as it is drawn.
type stretch struct{ d, width, dash string }

// dashes are the ways of lines: whole, dashes, dots, dashes and dots.
var dashes = [...]string{"", "9 5", "1.5 4", "10 4 1.5 4"}

func way(n int) string {
	if n < 0 || n >= len(dashes) {
		return ""
	}
	return dashes[n]
}

func (c Chart) stretches() []stretch {
	f := c.frame()
	var out []stretch
	for _, l := range c.Lines {
		s := stretch{f.path(l.X, l.Y), "2", way(l.Way)}
		if l.Way == 0 {
			s.width = "2.5"
		}
		out = append(out, s)
	}
	return out
}

// grid is the lines of both axes, and the one through nought where it lies within.
func (c Chart) grid() (lines, nought string, x, y []tick) {
	f := c.frame()
	x, y = ticks(f.x, c.X...), ticks(f.y, c.Y...)
	lines = strokes(y, "M"+num(plotLeft)+" ", "H"+num(plotRight)) + strokes(x, "M", " "+num(plotFoot)+"V"+num(plotTop))
	if c.Foot < 0 && c.Top > 0 {
		nought = "M" + num(plotLeft) + " " + num(f.y.at(0)) + "H" + num(plotRight)
	}
	// Lengths in u'v' have more places than figure gives.
	if c.Top-c.Foot < 0.1 {
		for i, v := range c.Y {
			y[i].label = tiny(v)
		}
	}
	return lines, nought, x, y
}

// chip is the faint grey-red, grey-green or grey-blue beside a channel's name.
func chip(hue string) string {
	switch hue {
	case "red":
		return faint[0]
	case "green":
		return faint[1]
	case "blue":
		return faint[2]
	}
	return ""
}

func (d Diagram) drawn() bool { return len(d.Own) == 3 && len(d.Locus) > 2 }

// spread is the square of a diagram: both axes have one unit.
func (d Diagram) spread() (frame, []float64) {
	if d.UV {
		return frame{ruler{-0.06, 0.64, 40, 400}, ruler{-0.06, 0.64, 372, 12}}, []float64{0, 0.2, 0.4, 0.6}
	}
	return frame{ruler{-0.07, 0.89, 40, 400}, ruler{-0.07, 0.89, 372, 12}}, []float64{0, 0.2, 0.4, 0.6, 0.8}
}

// at is where a chromaticity lies in the drawing.
func (d Diagram) at(x, y float64) (float64, float64) {
	f, _ := d.spread()
	if d.UV {
		x, y = xy{x, y}.uv()
	}
	return f.x.at(x), f.y.at(y)
}

func (d Diagram) spot(x, y float64) string {
	a, b := d.at(x, y)
	return num(a) + " " + num(b)
}

func (d Diagram) line(list [][2]float64, closed bool) string {
	var b strings.Builder
	for i, p := range list {
		b.WriteByte("ML"[min(i, 1)])
		b.WriteString(d.spot(p[0], p[1]))
	}
	if closed {
		b.WriteByte('Z')
	}
	return b.String()
}

func (d Diagram) horseshoe() string {
	var list [][2]float64
	for _, w := range d.Locus {
		list = append(list, [2]float64{w.X, w.Y})
	}
	return d.line(list, true)
}

func (d Diagram) own() string {
	var list [][2]float64
	for _, c := range d.Own {
		list = append(list, [2]float64{c.X, c.Y})
	}
	return d.line(list, true)
}

// A waveMark is a wavelength at the locus.
type waveMark struct{ tick, x, y, label, anchor string }

// waves are the wavelengths that are named: those that stand well apart.
func (d Diagram) waves() []waveMark {
	named := map[int]bool{460: true, 480: true, 500: true, 520: true, 540: true, 560: true, 580: true, 600: true, 620: true}
	cx, cy := d.at(1.0/3, 1.0/3)
	var out []waveMark
	for _, w := range d.Locus {
		if !named[w.Nanometres] {
			continue
		}
		x, y := d.at(w.X, w.Y)
		l := math.Hypot(x-cx, y-cy)
		ux, uy := (x-cx)/l, (y-cy)/l
		m := waveMark{tick: "M" + num(x) + " " + num(y) + "L" + num(x+5*ux) + " " + num(y+5*uy), x: num(x + 10*ux), y: num(y + 10*uy + 4), label: strconv.Itoa(w.Nanometres), anchor: "start"}
		if ux < -0.3 {
			m.anchor = "end"
		} else if ux < 0.3 {
			m.anchor = "middle"
		}
		out = append(out, m)
	}
	return out
}

// A cornerMark is a primary as it is drawn.
type cornerMark struct{ x, y, fill, hx, hy, label, anchor string }

func (d Diagram) corners() []cornerMark {
	wx, wy := d.at(1.0/3, 1.0/3)
	var out []cornerMark
	for i, c := range d.Own {
		x, y := d.at(c.X, c.Y)
		l := math.Max(math.Hypot(x-wx, y-wy), 1)
		ux, uy := (x-wx)/l, (y-wy)/l
		m := cornerMark{x: num(x), y: num(y), fill: faint[min(i, 2)], label: c.Name, hx: num(x - 16*ux), hy: num(y - 16*uy + 4), anchor: "middle"}
		out = append(out, m)
	}
	return out
}

// drawn tells whether the row's differences can be drawn: they are a group's differences on one axis: from the best to the largest, the average as a bob, and what is allowed as a band.
func (g GroupRow) drawn() bool {
	return finite(g.AtBest, g.AtMean, g.AtP95, g.AtWorst, g.Axis, g.Tolerance) && g.Axis > 0 && g.AtBest <= g.AtMean && g.AtMean <= g.AtWorst
}

func (g GroupRow) rule() ruler { return ruler{0, g.Axis, scaleInset, scaleWidth - scaleInset} }

func (g GroupRow) said() string {
	return words.Say("%s: best %s, average %s, 95 of 100 within %s, largest %s, in ΔE00.", g.Name, g.Best, g.Mean, g.P95, g.Largest)
}

// accordWord is whether witnesses agree, as shown.
func accordWord(accord string) string {
	switch accord {
	case "agree":
		return words.Say("Agree")
	case "differ":
		return words.Say("Disagree")
	case "unsure":
		return words.Say("Can't tell yet")
	case "better":
		return words.Say("Better than promised")
	case "missing":
		return words.Say("Not known")
	case "alone":
		return words.Say("One voice")
	}
	return words.Say("The eye is missing")
}
