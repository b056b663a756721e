package check

import (
	"math"
	"testing"

	"example.org/plumb/patterns/screen"
)

// Before any answer an axis is seen as probably as beforehand; obvious tints that are missed along one axis tell that it is not, and those that are found
// along the other do not make up for it.
func TestSeen(t *testing.T) {
	p := newNeutrals(0)
	if v, want := p.seen(), 1-max(blind[0], blind[1]); math.Abs(v-want) > 1e-9 {
		t.Errorf("%g beforehand, want %g", v, want)
	}
	obvious := func(hue screen.Hue, right bool) Judgement {
		return Judgement{Check: Neutrals, Kind: Catch, Stimulus: Stimulus{Hue: hue}, Right: right}
	}
	for range 3 {
		p.watch(obvious(screen.PinkGreen, true))
		p.watch(obvious(screen.BlueYellow, true))
	}
	found := p.seen()
	if found < 0.98 {
		t.Errorf("%g after all was found", found)
	}
	for i := range 3 {
		p.watch(obvious(screen.PinkGreen, false))
		v := p.seen()
		if v >= found {
			t.Errorf("%g after %d missed, %g before", v, i+1, found)
		}
		found = v
	}
	if found > 0.05 {
		t.Errorf("%g after three were missed", found)
	}
}
