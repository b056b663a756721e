//go:build js

package browser

import (
	"math"
	"strings"
	"syscall/js"
)

// Known is what does not change during a visit.
type Known struct {
	Name        string  // engine and major version
	CanvasNoise bool    // reading a canvas back gave other codes than were written
	NoReadback  bool    // a canvas could not be read back
	Timer       float64 // ms, the clock's step; 0 when unknown
}

// Probe looks.
func Probe() Known {
	k := Known{Name: name(), Timer: step()}
	k.CanvasNoise, k.NoReadback = noise()
	return k
}

// noise writes known codes, reads them back twice and compares.
func noise() (noisy, blind bool) {
	for _, side := range []int{16, 61} {
		c := document.Call("createElement", "canvas")
		c.Set("width", side)
		c.Set("height", side)
		ctx := c.Call("getContext", "2d", map[string]any{"willReadFrequently": true})
		if !ctx.Truthy() {
			return false, true
		}
		want := make([]byte, 4*side*side)
		for i := range want {
			want[i] = byte(i * 37)
			if i%4 == 3 {
				want[i] = 255
			}
		}
		data := ctx.Call("createImageData", side, side)
		js.CopyBytesToJS(data.Get("data"), want)
		ctx.Call("putImageData", data, 0, 0)
		for range 2 {
			got := make([]byte, len(want))
			if !try(func() { js.CopyBytesToGo(got, ctx.Call("getImageData", 0, 0, side, side).Get("data")) }).IsUndefined() {
				return false, true
			}
			if string(got) != string(want) {
				return true, false
			}
		}
	}
	return false, false
}

// step is the least step of the clock that events are stamped with, of a few, in ms; 0 if it did not move.
func step() float64 {
	now := func() float64 { return global.Get("performance").Call("now").Float() }
	least := math.Inf(1)
	start := now()
	for last, steps := start, 0; steps < 2 || steps < 20 && last-start < 20; { // two at least: a busy machine may look away during one
		t := now()
		if t > last {
			least = min(least, t-last)
			last = t
			steps++
		}
	}
	if math.IsInf(least, 1) {
		return 0
	}
	return math.Round(least*1000) / 1000
}

// name is the engine with its major version, as the browser claims.
func name() string {
	n := global.Get("navigator")
	if has(n, "userAgentData", "brands") {
		brands := n.Get("userAgentData").Get("brands")
		for i := range brands.Length() {
			b := brands.Index(i)
			if b.Get("brand").String() == "Chromium" {
				return "Chromium " + b.Get("version").String()
			}
		}
	}
	if !has(n, "userAgent") {
		return ""
	}
	ua := n.Get("userAgent").String()
	for _, e := range []struct{ mark, name string }{{"Firefox/", "Gecko"}, {"Chrome/", "Chromium"}, {"Version/", "WebKit"}} {
		if _, after, ok := strings.Cut(ua, e.mark); ok {
			major, _, _ := strings.Cut(after, ".")
			return e.name + " " + strings.Fields(major + " ")[0]
		}
	}
	return ""
}
