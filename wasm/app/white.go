package app

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/a-h/templ"
	"rsc.io/qr"

	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// A second screen that white is held against shows a plain white field: this same page under its address with #white. Nothing is sent between the two.

// whiteAddress is the address of the white field.
func (a *App) whiteAddress() string { return a.browser.Address + "#white" }

// white shows the white field, reached in steps.
func (a *App) white() {
	a.enter(White, true)
	a.fill("stage", none)
	a.fill("bar", pages.BarOf(pages.Bar{Question: words.Say("White, for another screen to be held against"), Keys: []pages.Key{{Code: "Escape", Cap: "Esc", Label: words.As("leave", "go away from here")}}}))
	a.showField()
	a.to(255, a.host.Clock.Now())
	a.alarm(a.host.Clock.Now())
}

func (a *App) whiteAction(name string) {
	if name == "choose" {
		a.leaveWhite()
	}
}

// leaveWhite goes on as if the page had been opened without #white.
func (a *App) leaveWhite() {
	a.stage = ""
	a.field.stop(a.surface.Room)
	a.shelf.reading = true
	a.host.Shelf.Read()
}

// whiteLink is the address of the white field in words and as a QR code.
func (a *App) whiteLink() templ.Component {
	return templ.ComponentFunc(func(_ context.Context, w io.Writer) error {
		address := templ.EscapeString(a.whiteAddress())
		code := ""
		if c, err := qr.Encode(a.whiteAddress(), qr.M); err == nil {
			code = drawn(c, words.Say("QR code of %s", address))
		}
		_, err := io.WriteString(w, `<section class="over reference" aria-label="`+words.Say("The other screen")+`"><p>`+words.Say("On the other screen open <b>%s</b>, by typing it or by this code:", address)+`</p>`+code+`</section>`)
		return err
	})
}

// quiet is the margin of a QR code in modules, and module its side in CSS pixels. ISO/IEC 18004 asks for a margin of 4.
const quiet, module = 4, 4

// drawn is a QR code as SVG: one rectangle for each run of dark modules in a row. label is escaped already.
func drawn(c *qr.Code, label string) string {
	side := c.Size + 2*quiet
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="code" role="img" aria-label="%s" width="%d" height="%d" viewBox="0 0 %d %d" shape-rendering="crispEdges"><path fill="#ffffff" d="M0 0H%dV%dH0z"/><path fill="#000000" d="`,
		label, side*module, side*module, side, side, side, side)
	for y := range c.Size {
		for x := 0; x < c.Size; x++ {
			from := x
			for x < c.Size && c.Black(x, y) {
				x++
			}
			if x > from {
				fmt.Fprintf(&b, "M%d %dh%dv1h-%dz", from+quiet, y+quiet, x-from, x-from)
			}
		}
	}
	b.WriteString(`"/></svg>`)
	return b.String()
}

// sameDay tells whether two moments are of one day in the zone of the first.
func sameDay(a, b time.Time) bool {
	b = b.In(a.Location())
	return a.Year() == b.Year() && a.YearDay() == b.YearDay()
}
