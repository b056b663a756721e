package app

import (
	"fmt"
	"math"
	"strings"

	"example.org/plumb/patterns/check"
	"example.org/plumb/web/words"
)

// A Surface is what the page knows of the canvas and of the screen it is on.
type Surface struct {
	Width, Height       int     // of the canvas bitmap, pixels
	BoxWidth, BoxHeight int     // what the canvas covers, device pixels; 0 when the browser does not tell
	SheetWidth          float64 // what the canvas covers, CSS pixels
	SheetHeight         float64
	WindowWidth         float64  // CSS pixels
	Ratio               float64  // device pixels to a CSS pixel
	Pinch               float64  // magnification by the fingers; 1 when there is none
	Zoom                float64  // of the page by the browser; 0 where it cannot be told
	Blending            []string // styles of the canvas and what it is in that blend pixels, as "opacity 0.99"
	Filter              string   // a filter that changes colours and leaves pixels where they are; empty when there is none
	FullScreen          bool     //
	CanFullScreen       bool     //
	Room                uint8    // code of the page's own ground
	Gamut               string   // widest of srgb, p3, rec2020 that the browser claims; empty when it claims none
	DynamicRange        string   // standard or high
	ColorDepth          int      // bits
	ForcedColors        bool     //
	Contrast            string   // what the person asks their system for: more, less, custom; empty when nothing
}

// A Browser is what does not change during a visit.
type Browser struct {
	Name        string  // engine and major version
	CanvasNoise bool    // reading the canvas back gave other codes than were written
	NoReadback  bool    // the canvas could not be read back
	Timer       float64 // ms, the clock's step; 0 when unknown
	Wide        bool    // a canvas takes colours of Display P3
	Address     string  // of the page of the check, without query and fragment
	Page        string  // what the program is to do here: check (or empty), ask, desk, request
	Origin      string  // of the site, as in "https://example.org"
	Host        string  // of the site, as a person names it
	Share       bool    // it has a share sheet
	Alone       bool    // the site has no mailbox: it hands out pages and nothing else
}

// Inexact says why a pixel of the canvas is not a pixel of the device; it is empty when, as far as the page can tell, it is. It is the English of records.
//
// What no page can see: a system that scales the finished picture, a magnifier, a panel driven off its own size. That is asked of the viewer.
func (s Surface) Inexact() string {
	switch {
	case s.Width < 1 || s.Height < 1:
		return "the pattern has no size"
	case s.Pinch != 0 && math.Abs(s.Pinch-1) > 0.001:
		return fmt.Sprintf("the page is magnified %.2f times by pinching; zoom out fully", s.Pinch)
	case len(s.Blending) > 0:
		return "the page is restyled (" + strings.Join(s.Blending, ", ") + "), which blends pixels; turn off what restyles it"
	case s.BoxWidth == 0 && s.Ratio != math.Trunc(s.Ratio):
		return fmt.Sprintf("this browser does not tell how its pixels fall at a scale of %.4g; set the scale to 100 or 200 %%", s.Ratio)
	case s.BoxWidth != 0 && (s.BoxWidth != s.Width || s.BoxHeight != s.Height):
		return fmt.Sprintf("the pattern is %d × %d pixels and covers %d × %d of the screen's", s.Width, s.Height, s.BoxWidth, s.BoxHeight)
	// A box is rounded by at most a pixel at each edge.
	case math.Abs(float64(s.SheetWidth*s.Ratio)-float64(s.Width)) > 2 || math.Abs(float64(s.SheetHeight*s.Ratio)-float64(s.Height)) > 2:
		return fmt.Sprintf("the browser says it scales by %.4g, but its pixels do not agree; it may be emulating another screen", s.Ratio)
	}
	return ""
}

// changed says in words what is different in next, as far as it disturbs a presentation, in the English of records.
func (s Surface) changed(next Surface) string {
	switch {
	case s.Ratio != next.Ratio:
		return "The screen or its scale changed."
	case s.Pinch != next.Pinch:
		return "The page was magnified."
	case s.FullScreen != next.FullScreen:
		return "Full screen was switched."
	case s.Width != next.Width || s.Height != next.Height:
		return "The window changed its size."
	case s.Gamut != next.Gamut || s.DynamicRange != next.DynamicRange || s.ColorDepth != next.ColorDepth:
		return "The window moved to a screen of another kind."
	case s.ForcedColors != next.ForcedColors:
		return "Forced colours were switched."
	case s.Filter != next.Filter:
		return "A filter on the page was changed."
	case s.Inexact() != next.Inexact():
		return "The pixels of the pattern no longer fall on those of the screen as before."
	}
	return ""
}

// tight says that the canvas is too small, and what to do; it is empty when it is not.
func (a *App) tight() string {
	s := a.surface
	switch {
	case s.Width >= check.MinWidth && s.Height >= check.MinHeight:
		return ""
	case s.Width < 1 || s.Height < 1:
		return words.Say("The window leaves no room for a pattern. The patterns need at least %d × %d pixels. Make it larger.", check.MinWidth, check.MinHeight)
	}
	return words.Say("The window leaves %d × %d pixels for a pattern. The patterns need at least %d × %d pixels. Make it larger, or turn the screen.", s.Width, s.Height, check.MinWidth, check.MinHeight)
}
