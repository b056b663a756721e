package colour

import (
	"math"
	"testing"
)

// ITU-R BT.2020-2, table 4, has luminance by four decimals of the three lights.
func TestBT2020(t *testing.T) {
	m := BT2020.Matrix()
	for i, want := range []float64{0.2627, 0.6780, 0.0593} {
		if math.Abs(m[1][i]-want) > 5e-5 {
			t.Errorf("channel %d has %.6f of the luminance, want %v", i, m[1][i], want)
		}
	}
	if w := BT2020.White().XY(); math.Abs(w.X-0.3127) > 1e-12 || math.Abs(w.Y-0.3290) > 1e-12 {
		t.Errorf("white %v", w)
	}
}
