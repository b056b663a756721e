//go:build !js

package main_test

import (
	"fmt"
	"math"
	"testing"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
)

// A table is what becomes of each grey code on its way from a canvas to the screen: the code of the screenshot.
type table [256]uint8

// measure paints every grey on a canvas of an empty page and reads the codes off a screenshot. The program under test has no part in
// it; the room's own scripts have.
func (w *window) measure() table {
	w.t.Helper()
	w.load("about:blank")
	w.run(`document.body.style.margin = "0";
		const c = document.body.appendChild(document.createElement("canvas"));
		c.width = c.height = 256; c.style.cssText = "position: fixed; left: 0; top: 0; width: 256px; height: 256px";
		const x = c.getContext("2d", {alpha: false}), d = x.createImageData(256, 256);
		for (let i = 0; i < 65536; i++) { const v = (i >> 12) * 16 + ((i & 255) >> 4); d.data.set([v, v, v, 255], 4 * i) }
		x.putImageData(d, 0, 0)`)
	shot := w.shot()
	var t table
	for v := range t {
		p := shot.RGBAAt(v%16*16+8, v/16*16+8)
		// The viewer's display has one tone curve for all channels, so that a grey must stay one; a code of rounding is let pass.
		if d := int(p.R) - int(p.G); d < -3 || d > 3 {
			w.t.Fatalf("grey %d reaches the screen as %v", v, p)
		}
		t[v] = p.G
	}
	return t
}

// A truth is what a sitting should find, without noise.
type truth struct {
	shadows, highlights, gamma float64
	verdicts                   map[check.Aspect]report.Verdict
}

// known works out the truth for a kind of viewer before a display d that gets the codes of t, by the plain formulas that rehearsals use
// (patterns/rehearse). sound and smooth are d and t without crush and clip, which are aspects of their own and not counted against the tone curve too.
func known(kind string, d, sound display.Description, t, smooth table) truth {
	k, _ := observer.KindByName(kind)
	whole, plain := through(d, t), through(sound, smooth)
	var v truth
	v.shadows, v.highlights = first(&whole, k, 0, 1), 255-first(&whole, k, 255, -1)
	_, gamma, margin := screen.Aims[0].Judge().Departure(func(v float64) float64 {
		c := min(int(v*255), 254)
		part := v*255 - float64(c)
		return float64((1-part)*plain.Normalised(uint8(c))) + float64(part*plain.Normalised(uint8(c+1)))
	})
	v.gamma = gamma
	v.verdicts = map[check.Aspect]report.Verdict{}
	for _, n := range check.Uses[check.Light].Needs {
		if n.Aspect != check.Shadows && n.Aspect != check.Highlights && n.Aspect != check.Tone {
			continue // nothing here is uneven, and steps have conditions of their own
		}
		q := map[check.Aspect]float64{check.Shadows: v.shadows, check.Highlights: 255 - v.highlights, check.Tone: margin}[n.Aspect]
		v.verdicts[n.Aspect] = report.Off
		if n.Lo <= q && q <= n.Hi {
			v.verdicts[n.Aspect] = report.Holds
		}
	}
	return v
}

// through is the display that a table and d make together.
func through(d display.Description, t table) display.Model {
	m := d.Model()
	samples := make([]float64, 256)
	for c := range samples {
		samples[c] = m.Normalised(t[c])
		if c > 0 { // rounding may let a code fall behind the one before
			samples[c] = max(samples[c], samples[c-1])
		}
	}
	// The light at both ends is that of the codes which reach the display there.
	lo, hi := samples[0], samples[255]
	white, black := d.White.Luminance, d.Black
	d.White.Luminance, d.Black = black+(white-black)*hi, black+(white-black)*lo
	for c := range samples {
		samples[c] = (samples[c] - lo) / (hi - lo)
	}
	d.Tone = []display.Tone{{Curve: display.Samples, Samples: samples}}
	return d.Model()
}

// first is how many codes from an end the difference of light reaches what this kind of viewer sees 63 % of the time, linear between codes.
func first(m *display.Model, k observer.Kind, end, by int) float64 {
	ground := m.Grey(uint8(end))
	need := observer.Threshold(k, ground)
	last := 0.0
	for n := 1; n < 256; n++ {
		d := math.Abs(m.Grey(uint8(end+by*n)) - ground)
		if d >= need {
			return float64(n-1) + (need-last)/(d-last)
		}
		last = d
	}
	return 256
}

// finding is what a record says of an aspect.
func finding(t *testing.T, r report.Record, a check.Aspect) report.Finding {
	t.Helper()
	for _, f := range r.Findings {
		if f.Aspect == a {
			return f
		}
	}
	t.Fatalf("the record has no finding of %s", a)
	panic("unreachable")
}

// outside lists which of the truths lie outside their 90 % intervals.
func (v truth) outside(t *testing.T, r report.Record) map[check.Aspect]string {
	t.Helper()
	missed := map[check.Aspect]string{}
	for a, q := range map[check.Aspect]float64{check.Shadows: v.shadows, check.Highlights: v.highlights, check.Tone: v.gamma} {
		f := finding(t, r, a)
		t.Logf("%-10s %-9s %s %.2f (%.2f to %.2f), truth %.2f (%s): %s", a, f.Verdict, f.Quantity, f.Mean, f.Lo, f.Hi, q, v.verdicts[a], f.Seen)
		if q < f.Lo || q > f.Hi {
			missed[a] = fmt.Sprintf("%s: the truth is %.3f, outside %.3f to %.3f", f.Quantity, q, f.Lo, f.Hi)
		}
	}
	return missed
}

// identity is the table of a screen that nothing comes before.
func identity() (t table) {
	for v := range t {
		t[v] = uint8(v)
	}
	return t
}
