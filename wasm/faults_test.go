//go:build !js

package main_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
)

// table256 is a transfer that gives code v the value of(v), 0 to 1. "discrete" with 256 values gives code v the value of place v, cut down to a whole code: half a
// code more keeps it.
func table256(of func(v int) float64) string {
	values := make([]string, 256)
	for v := range values {
		values[v] = fmt.Sprintf("%.6f", min(of(v)+0.5/255, 1))
	}
	return `type="discrete" tableValues="` + strings.Join(values, " ") + `"`
}

// vignette lies over the page and darkens its corners, as a panel does whose light falls off.
const vignette = `document.addEventListener("DOMContentLoaded", () => {
	const d = document.createElement("div");
	d.style.cssText = "position: fixed; inset: 0; z-index: 99; pointer-events: none; background: radial-gradient(ellipse farthest-corner at center, transparent 30%, rgb(0 0 0 / .4) 100%)";
	document.body.append(d);
})`

// What lies between the program and the eye is found by answers alone, and named. Each sitting is one of a virtual viewer who sees screenshots; seeds are fixed, so
// that it comes out the same until the checks change. That these are found at all is tested here; how often, by rehearsals.
func TestFaults(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, script string
		length       check.Length
		more         bool           // the sitting is taken further once
		named        []string       // all of these must be named, and one of them first
		beside       []string       // may be named as well
		off          []check.Aspect // must be off
		may          []check.Aspect // may be off as well: the same cause reaches them
	}{
		{
			// Blue alone is bent, as by a correction for another screen or an evening tint that spares white: greys are yellower than white. A short sitting leaves
			// tints unsure; this viewer keeps going.
			name: "warm greys", script: filter(`<feFuncB type="gamma" amplitude="1" exponent="1.4" offset="0.00196"/>`), length: check.Short, more: true,
			named: []string{report.TintedGreys}, off: []check.Aspect{check.Neutrals},
		},
		{
			name: "6 bits", script: filter(each(table256(func(v int) float64 { return math.Round(float64(v)*63/255) / 63 }))), length: check.Standard,
			named: []string{report.CoarseSteps}, off: []check.Aspect{check.Smoothness}, may: []check.Aspect{check.Tone},
		},
		{
			// Within a cell of a corner the white falls off by more than the squares that are looked for, and this viewer takes one for the other. Six judgements of
			// evenness may leave it unsure; this viewer keeps going, too.
			name: "dark corners", script: vignette, length: check.Short, more: true,
			named: []string{report.UnevenScreen}, beside: []string{report.LostLights, report.LostShadows}, off: []check.Aspect{check.Evenness}, may: []check.Aspect{check.Highlights, check.Shadows},
		},
		{
			// Full range taken for limited: 16 becomes black and 235 white.
			name: "range squeezed", script: filter(each(table256(func(v int) float64 { return min(max(float64(v-16)/219, 0), 1) }))), length: check.Short,
			named: []string{report.RangeSqueezed}, off: []check.Aspect{check.Shadows, check.Highlights}, may: []check.Aspect{check.Tone, check.Smoothness},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			w := open(t, room{seed: 7, scripts: []string{c.script}})
			w.visit("?length=" + string(c.length))
			v := seat(t, "steady", display.Default(), 7)
			got := w.sit(v)
			if c.more {
				w.press("more")
				w.in("intro")
				got = w.sit(v)
				if got.Plan.More != 1 {
					t.Errorf("taken further %d times", got.Plan.More)
				}
			}
			if len(got.Void) > 0 {
				t.Fatalf("the sitting is void: %v", got.Void)
			}
			for _, f := range got.Findings {
				t.Logf("%-12s %-11s %.4g (%.4g to %.4g) after %d: %s", f.Aspect, f.Verdict, f.Mean, f.Lo, f.Hi, f.Judgements, f.Seen)
				switch must := slices.Contains(c.off, f.Aspect); {
				case must && f.Verdict != report.Off:
					t.Errorf("%s is %s and must be off", f.Aspect, f.Verdict)
				case !must && f.Verdict == report.Off && !slices.Contains(c.may, f.Aspect):
					t.Errorf("%s is called off", f.Aspect)
				}
			}
			var names []string
			for _, f := range got.Faults {
				names = append(names, f.Name)
			}
			for _, n := range c.named {
				if !slices.Contains(names, n) {
					t.Errorf("the record names %q and should name %q", names, n)
				}
			}
			if len(names) > 0 && !slices.Contains(append(c.named, c.beside...), names[0]) {
				t.Errorf("the record names %q before %q", names[0], c.named)
			}
			for _, n := range names {
				if text := w.text(".report"); !strings.Contains(strings.ToLower(text), strings.ToLower(n)) {
					t.Errorf("the report does not say %q", n)
				}
			}
		})
	}
}
