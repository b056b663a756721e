//go:build js

// Command page paints the timed screens in a browser, on the order of page.js.
package main

import (
	"image"
	"unsafe"

	"example.org/plumb/.ci/paint/screens"
)

var (
	frame *image.RGBA // kept here, so that the memory that page.js looks at stays in use
	all   []screens.Screen
)

//go:wasmexport lay
func lay(width, height int32) unsafe.Pointer {
	frame = image.NewRGBA(image.Rect(0, 0, int(width), int(height)))
	all = screens.For(frame.Rect)
	return unsafe.Pointer(unsafe.SliceData(frame.Pix))
}

//go:wasmexport paint
func paint(i int32) { all[i].Paint(frame, frame.Rect) }

//go:wasmexport rowcopy
func rowcopy() { screens.RowCopy(frame) }

func main() { select {} }
