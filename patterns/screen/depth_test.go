package screen_test

import (
	"math"
	"testing"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/screen"
)

// A possible screen of some range and depth has the light, and merges the codes, that a described screen of these has. Limited range shown as full is
// compared at 8 bits: at fewer its black and white move.
func TestPossibleAgainstADisplay(t *testing.T) {
	compared := 0
	for _, c := range []struct {
		of   screen.Range
		as   display.Range
		tone screen.Tone
		from int
	}{
		{screen.Full, display.Full, screen.Tone{Gamma: 2.2}, 5},
		{screen.Squeezed, display.FullAsLimited, screen.Tone{Gamma: 2.2, Squeezed: true}, 5},
		{screen.Lifted, display.LimitedAsFull, screen.Tone{Gamma: 2.2, Offset: 16.0 / 235}, 8},
	} {
		for bits := c.from; bits <= 8; bits++ {
			d := display.Default()
			d.Range, d.Bits = c.as, bits
			m := d.Model()
			p := screen.Possible{Tone: c.tone, Range: c.of, Clip: 255, Bits: bits}
			for code := range 256 {
				if got, want := p.Grey(uint8(code)), m.Normalised(uint8(code)); math.Abs(got-want) > 1e-9 {
					t.Fatalf("%v, %d bits, code %d: light %.9f, a display has %.9f", c.of, bits, code, got, want)
				}
				compared++
			}
		}
	}
	if compared == 0 {
		t.Fatal("nothing was compared")
	}
}
