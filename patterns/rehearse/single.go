package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
)

// sound is how near its tolerances a screen comes at most that is to have a single fault, or none.
const sound = 0.75

// single are the faults that -fault can give to a sound screen. Each sets the fault to a strength, which ascends from none at 0; where twice is set the
// strength is found at which the quantity is twice its tolerance.
var single = map[string]struct {
	give     func(d *display.Description, strength float64)
	quantity screen.Quantity // of which the tolerance is that for colour
	most     float64         // strength beyond which no screen is looked for; 0 where there is only one
}{
	"none":               {give: func(*display.Description, float64) {}},
	report.RangeSqueezed: {give: func(d *display.Description, _ float64) { d.Range = display.FullAsLimited }},
	report.RangeLifted:   {give: func(d *display.Description, _ float64) { d.Range = display.LimitedAsFull }},
	report.LostShadows:   {give: func(d *display.Description, _ float64) { d.Crush = 17 }},
	report.LostLights:    {give: func(d *display.Description, _ float64) { d.Clip = 246 }},
	report.TooDark:       {bend(func(t *display.Tone, s float64) { t.Gamma += s }), screen.ToneMargin, 1.5},
	report.TooLight:      {bend(func(t *display.Tone, s float64) { t.Gamma -= s }), screen.ToneMargin, 1},
	report.Contrast:      {bend(func(t *display.Tone, s float64) { t.S += s }), screen.ToneMargin, 0.14},
	report.TintedGreys: {func(d *display.Description, s float64) {
		d.Tone[0].Gamma += s * d.White.XY[0] // any fixed share will do: red and blue move by different amounts
		d.Tone[2].Gamma -= s
	}, screen.GreyTint, 1},
	report.CoarseSteps: {give: func(d *display.Description, _ float64) { d.Bits = 6 }},
	report.UnevenScreen: {func(d *display.Description, s float64) {
		for i, row := range d.Evenness {
			for j := range row {
				y, x := float64(i-2)/2, float64(j-2)/2
				row[j] *= math.Exp(-s * (x*x + y*y) / 2)
			}
		}
	}, screen.Unevenness, 1.5},
	report.NoProfiles: {give: func(d *display.Description, _ float64) { d.Managed = false }},
}

// bend changes every channel's curve.
func bend(change func(t *display.Tone, strength float64)) func(d *display.Description, strength float64) {
	return func(d *display.Description, strength float64) {
		for i := range d.Tone {
			change(&d.Tone[i], strength)
		}
	}
}

// singly draws a screen of the mixture that is sound but for one fault, at twice its tolerance where it comes in strengths.
func singly(fault string, seed uint64, kind observer.Kind, plan check.Plan) display.Description {
	r := rand.New(rand.NewPCG(seed, 0x6661756c74))
	aim, _ := screen.AimByID(plan.Aim)
	for {
		d := draw(r)
		if d.Validate() != nil || !d.Managed || d.Tone[1].Curve != display.Gamma || d.Range != display.Full {
			continue
		}
		d.Tone[0].S, d.Tone[1].S, d.Tone[2].S = 0, 0, 0
		if known(d, kind, plan).margins[check.Colour] > sound {
			continue
		}
		d.Name = fmt.Sprintf("%s %d", fault, seed)
		f := single[fault]
		strength := 0.0
		if f.most > 0 {
			var limit float64
			for _, t := range check.Needs(check.Colour, aim) {
				if t.Quantity == f.quantity {
					limit = t.Hi
				}
			}
			lo, hi := 0.0, f.most
			for range 30 {
				strength = (lo + hi) / 2
				if known(given(d, f.give, strength), kind, plan).quantities[f.quantity] < 2*limit {
					lo = strength
				} else {
					hi = strength
				}
			}
			if f.most-strength < f.most/1e6 {
				continue // not even the strongest reaches it
			}
		}
		d = given(d, f.give, strength)
		if d.Validate() == nil {
			return d
		}
	}
}

// given returns a copy of a screen with a fault.
func given(d display.Description, give func(*display.Description, float64), strength float64) display.Description {
	d.Tone = append([]display.Tone(nil), d.Tone...)
	even := make([][]float64, len(d.Evenness))
	for i, row := range d.Evenness {
		even[i] = append([]float64(nil), row...)
	}
	d.Evenness = even
	give(&d, strength)
	return d
}
