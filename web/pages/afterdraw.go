package pages

import (
	"context"
	"io"
	"strings"

	"github.com/a-h/templ"

	"example.org/plumb/web/words"
)

// A pen writes a drawing. Drawings have many short pieces, of which a component would check each by itself; here they are joined first.
type pen struct{ strings.Builder }

// put writes markup and numbers as they are.
func (p *pen) put(parts ...string) {
	for _, s := range parts {
		p.WriteString(s)
	}
}

// text is words inside an element or an attribute, with what has a meaning in HTML escaped.
func text(s string) string { return templ.EscapeString(s) }

// path is one path of a drawing, without a fill.
func (p *pen) path(d, opacity, width, dash string) {
	p.put(`<path d="`, d, `" fill="none" stroke="currentColor" stroke-opacity="`, opacity, `" stroke-width="`, width, `" stroke-dasharray="`, dash, `" stroke-linejoin="round" stroke-linecap="round"></path>`)
}

// area is one closed path that is shaded.
func (p *pen) area(d, shade, opacity, width string) {
	p.put(`<path d="`, d, `" fill="currentColor" fill-opacity="`, shade, `" stroke="currentColor" stroke-opacity="`, opacity, `" stroke-width="`, width, `" stroke-linejoin="round"></path>`)
}

// label is text in a drawing.
func (p *pen) label(x, y, anchor, more, s string) {
	p.put(`<text x="`, x, `" y="`, y, `" text-anchor="`, anchor, `"`, more, `>`, text(s), `</text>`)
}

// begin opens a drawing with its title and what it says.
func (p *pen) begin(class, box, id, title, said string) {
	p.put(`<svg class="`, class, `" viewBox="`, box, `" role="img" aria-labelledby="`, id, `-title `, id, `-desc"><title id="`, id, `-title">`, text(title), `</title><desc id="`, id, `-desc">`, text(said), `</desc>`)
}

// small opens a little drawing that stands beside words which say the same.
func (p *pen) small(class, width, height string) {
	p.put(`<svg class="`, class, `" viewBox="0 0 `, width, ` `, height, `" width="`, width, `" height="`, height, `" aria-hidden="true" focusable="false">`)
}

// ink is what was drawn, as a component.
func (p *pen) ink() templ.Component {
	s := p.String()
	return templ.ComponentFunc(func(_ context.Context, w io.Writer) error {
		_, err := io.WriteString(w, s)
		return err
	})
}

// key opens an entry of a key, with how a line is drawn.
func (p *pen) key(n int, width string) {
	p.put("<li>")
	p.small("", "34", "16")
	p.path("M1 8h32", "1", width, way(n))
	p.put("</svg> ")
}

// ChartOf is curves over one axis, with their key.
func ChartOf(c Chart) templ.Component {
	p := &pen{}
	if !c.drawn() {
		return p.ink()
	}
	grid, nought, x, y := c.grid()
	f := c.frame()
	p.put(`<figure class="chart">`)
	p.begin("plot", "0 0 420 330", text(c.ID), c.Title, c.Said)
	p.path(grid, ".28", "1", "")
	p.path(nought, ".7", "1", "")
	for _, t := range y {
		p.label("44", t.at, "end", ` dy=".35em"`, t.label)
	}
	for _, t := range x {
		p.label(t.at, "296", "middle", "", t.label)
	}
	p.label("230", "320", "middle", "", c.Across)
	p.label("-146", "8", "middle", ` transform="rotate(-90)"`, c.Up)
	if c.Band.drawn() {
		p.area(f.area(c.Band.X, c.Band.Lo, c.Band.Hi), ".25", ".6", "1")
	}
	for _, s := range c.stretches() {
		p.path(s.d, "1", s.width, s.dash)
	}
	p.put(`</svg><figcaption><ul class="key">`)
	for _, l := range c.Lines {
		p.key(l.Way, "2.25")
		if hue := chip(l.Hue); hue != "" {
			p.small("", "12", "12")
			p.put(`<circle cx="6" cy="6" r="5.5" fill="`, hue, `" stroke="currentColor" stroke-width="1"></circle></svg> `)
		}
		p.put(text(l.Name), "</li>")
	}
	if c.Band.drawn() {
		p.put("<li>")
		p.small("", "34", "16")
		p.area("M1 2.5h32v11H1z", ".25", ".6", "1")
		p.put("</svg> ", text(c.Band.Name), "</li>")
	}
	p.put("</ul></figcaption></figure>")
	return p.ink()
}

// DiagramOf is a range of colours among all that can be seen. Hue is in three small discs alone, and faint.
func DiagramOf(d Diagram) templ.Component {
	p := &pen{}
	if !d.drawn() {
		return p.ink()
	}
	f, at := d.spread()
	x, y := ticks(f.x, at...), ticks(f.y, at...)
	p.put(`<figure class="diagram">`)
	p.begin("plot square", "0 0 420 420", text(d.ID), d.Title, d.Said)
	p.path(strokes(y, "M40 ", "H400")+strokes(x, "M", " 372V12"), ".22", "1", "")
	for i := range x {
		p.label(x[i].at, "390", "middle", "", x[i].label)
		p.label("34", y[i].at, "end", ` dy=".35em"`, y[i].label)
	}
	across, up := "x", "y"
	if d.UV {
		across, up = "u'", "v'"
	}
	p.label("220", "412", "middle", "", across)
	p.label("30", "20", "end", "", up)
	p.area(d.horseshoe(), ".06", ".6", "1")
	for _, w := range d.waves() {
		p.path(w.tick, ".6", "1", "")
		p.label(w.x, w.y, w.anchor, ` class="wave"`, w.label)
	}
	p.path(d.line(d.Daylight, false), ".6", "1", "")
	for _, s := range d.Standards {
		p.path(d.line(s.Corners, true), ".85", "1.25", way(s.Way))
	}
	p.area(d.own(), ".16", "1", "3")
	for _, c := range d.corners() {
		p.put(`<circle cx="`, c.x, `" cy="`, c.y, `" r="5" fill="`, c.fill, `" stroke="currentColor" stroke-width="1.25"></circle>`)
	}
	if d.White != [2]float64{} {
		p.path("M"+d.spot(d.White[0], d.White[1])+"m-6 0h12m-6 -6v12", "1", "1.75", "")
	}
	p.put(`</svg><figcaption class="quiet">`, text(d.Title), `</figcaption></figure>`)
	return p.ink()
}

// diagramKey says what the lines of a diagram are.
func diagramKey(d Diagram) templ.Component {
	p := &pen{}
	p.put(`<ul class="key">`)
	p.key(0, "3.5")
	p.put(words.Say("This profile"), "</li>")
	for _, s := range d.Standards {
		p.key(s.Way, "1.5")
		p.put(text(s.Name), "</li>")
	}
	if d.White != [2]float64{} {
		p.put("<li>")
		p.small("", "34", "16")
		p.path("M11 8h12M17 2v12", "1", "1.75", "")
		p.put("</svg> ", words.Say("Its white"), "</li>")
	}
	p.put("<li>")
	p.small("", "34", "16")
	p.path("M1 8h32", ".6", "1", "")
	p.put("</svg> ", words.Say("All that can be seen, with wavelengths in nm, and the line of daylight"), "</li></ul>")
	return p.ink()
}

// drawnSpread is one group's differences on an axis: a line from the best to the largest, a stroke where 95 of 100 lie within, the average as a bob, and what
// counts as good enough to judge by as a band.
func drawnSpread(g GroupRow) templ.Component {
	p := &pen{}
	if !g.drawn() {
		return p.ink()
	}
	r := g.rule()
	at := func(v float64) string { return num(r.at(v)) }
	p.put(`<svg class="scale" viewBox="0 -9 320 39" role="img" aria-label="`, text(g.said()), `">`)
	if g.Tolerance > 0 {
		p.area("M"+at(0)+" 3H"+at(g.Tolerance)+"V25H"+at(0)+"Z", ".2", ".55", "1")
	}
	p.path("M9 14H311", ".5", "1", "")
	p.path("M"+at(g.AtBest)+" 14H"+at(g.AtWorst)+"M"+at(g.AtBest)+" 11v6M"+at(g.AtWorst)+" 9v10M"+at(g.AtP95)+" 5v18", "1", "2.5", "")
	p.put(`<path class="bob" d="`, bob(r.at(g.AtMean), 9), `" fill="currentColor"></path></svg>`)
	return p.ink()
}

// drawnPart is a share of a whole, 0 to 1, as a bar.
func drawnPart(share float64) templ.Component {
	p := &pen{}
	w := num(120 * clamp(share, 0, 1))
	p.small("part", "120", "12")
	p.put(`<path d="M.5 .5h119v11h-119z" fill="none" stroke="currentColor" stroke-opacity=".5"></path><path d="M0 0h`, w, `v12h-`, w, `z" fill="currentColor"></path></svg>`)
	return p.ink()
}
