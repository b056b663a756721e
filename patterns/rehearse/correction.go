package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"strings"

	"example.org/plumb/colour/display"
	"example.org/plumb/colour/transfer"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
)

// correctionText documents the calibrated screens for -help.
const correctionText = `Calibrated screens (-correction). All magnitudes are assumptions.
  native gamma 0.2 to 0.6 below or above the aim, half of them within 0.2 to 0.35; channels differ from green by SD 0.03
  S: three in ten uniform in 0.01 to 0.05; a smooth remainder of the signal, SD 0.3 %, on one in three
  aim a gamma of 2.2, one in four the sRGB curve, one in eight L*; half of the video cards send 8 bits
  the calibration misjudges gamma by SD 0.01 and each channel's by SD 0.005; the profile misjudges by as much again
  since then gamma drifted by SD 0.02, each channel's by SD 0.006
  crush 2 to 20 on one in four, clip 238 to 252 on one in seven, 7 bits on one in ten, 6 on one in twenty, evenness as above
  neither: another mode (gamma 0.3 to 0.7 off), the correction twice, or aged colour (gammas of red and blue 0.2 to 0.5 apart from green's); from what
  the profile says, with the correction and without, it is off by 0.25 of gamma or by 0.015 in u'v' of some grey from code 128 up`

// A tone gives light, 0 to 1, for a signal in 0 to 1.
type tone func(v float64) float64

// A calibrated screen is one for which a correction was made.
type calibrated struct {
	base   display.Description // but for tones
	native [3]tone             // as it is now
	send   [3][256]float64     // level that the correction sends for a code
	expect check.Expected
	aim    string
}

// departed raises light to a power near 1, and moves the signal by a smooth remainder.
func departed(f tone, exponent float64, knots [screen.Knots]float64) tone {
	return func(v float64) float64 {
		place := v * (screen.Knots + 1)
		k := int(place)
		part := place - float64(k)
		u := v
		if k > 0 && k <= screen.Knots {
			u += (1 - part) * knots[k-1]
		}
		if k < screen.Knots {
			u += part * knots[k]
		}
		return math.Pow(f(min(max(u, 0), 1)), 1+exponent)
	}
}

// inverse returns the signal of a rising tone at some light.
func inverse(f tone, light float64) float64 {
	lo, hi := 0.0, 1.0
	for range 40 {
		if mid := (lo + hi) / 2; f(mid) < light {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// calibrate draws a screen and calibrates it.
func calibrate(r *rand.Rand) calibrated {
	c := calibrated{base: draw(r)}
	b := &c.base
	b.Crush, b.Clip, b.Bits, b.Range, b.Managed = 0, 255, 8, display.Full, true
	if r.IntN(4) == 0 {
		b.Crush = 2 + r.IntN(19)
	}
	if r.IntN(7) == 0 {
		b.Clip = 238 + r.IntN(15)
	}
	switch n := r.IntN(20); {
	case n < 2:
		b.Bits = 7
	case n < 3:
		b.Bits = 6
	}
	aim := tone(transfer.Power(2.2).Light)
	c.aim = "usual"
	switch n := r.IntN(8); {
	case n < 2:
		aim = transfer.SRGB{}.Light
	case n < 3:
		aim, c.aim = transfer.LStar{}.Light, "L*"
	}
	off := uniform(r, 0.2, 0.35)
	if r.IntN(2) == 0 {
		off = uniform(r, 0.2, 0.6)
	}
	if r.IntN(2) == 0 {
		off = -off
	}
	gamma := 2.2 + off
	s, none := 0.0, [screen.Knots]float64{}
	if r.IntN(10) < 3 {
		s = uniform(r, 0.01, 0.05)
	}
	knots := none
	if r.IntN(3) == 0 {
		for i := range knots {
			knots[i] = 0.003 * r.NormFloat64()
		}
	}
	eight := r.IntN(2) == 0
	for {
		common, again, drift := 0.01*r.NormFloat64(), 0.01*r.NormFloat64(), 0.02*r.NormFloat64()
		for i := range 3 {
			own := gamma
			if i != 1 {
				own += 0.03 * r.NormFloat64()
			}
			t := screen.Tone{Gamma: own, S: s}
			was := departed(t.Light, 0, knots) // when it was calibrated
			seen := departed(was, (common+0.005*r.NormFloat64())/2.2, none)
			full := 1.0
			if i != 1 && r.IntN(2) == 0 {
				full = uniform(r, 0.85, 1) // a channel held back for white
			}
			top := seen(full)
			var level tone = func(v float64) float64 {
				if v >= 1 {
					return full
				}
				return inverse(seen, top*aim(v))
			}
			send := func(v float64) float64 {
				l := level(v)
				if eight {
					l = math.Round(255*l) / 255
				}
				return l
			}
			for k := range 256 {
				c.send[i][k] = send(float64(k) / 255)
			}
			// The profile has what was read after the correction.
			top = was(full)
			promised := departed(func(v float64) float64 { return min(was(level(v))/top, 1) }, (again+0.005*r.NormFloat64())/2.2, none)
			power := 2.2
			for k := range check.Knots {
				v := float64(k) / (check.Knots - 1)
				c.expect.Loaded[i][k] = promised(v)
				if l := inverse(level, v); v < full {
					c.expect.Bare[i][k] = promised(l)
				} else { // beyond the corrected white, by the power that it has there
					if v-1.0/(check.Knots-1) < full {
						e := 0.05
						power = math.Log(promised(1)/promised(inverse(level, full-e))) / math.Log(full/(full-e))
					}
					c.expect.Bare[i][k] = math.Pow(v/full, power)
				}
			}
			for k := range check.Knots {
				c.expect.Bare[i][k] /= c.expect.Bare[i][check.Knots-1]
			}
			c.expect.Bare[i][0], c.expect.Loaded[i][0], c.expect.Loaded[i][check.Knots-1] = 0, 0, 1
			for k := 1; k < check.Knots; k++ {
				c.expect.Bare[i][k] = max(c.expect.Bare[i][k], c.expect.Bare[i][k-1])
				c.expect.Loaded[i][k] = max(c.expect.Loaded[i][k], c.expect.Loaded[i][k-1])
			}
			c.native[i] = departed(was, (drift+0.006*r.NormFloat64())/own, none)
		}
		c.expect.Profile, c.expect.Digest = "studio left", strings.Repeat("0", 64)
		if c.expect.Validate() == nil {
			return c
		}
	}
}

// with returns the screen with tones, each relative to its own full.
func (c *calibrated) with(light func(channel, code int) float64) display.Description {
	d := c.base
	d.Tone = make([]display.Tone, 3)
	for i := range d.Tone {
		full := light(i, 255)
		samples := make([]float64, 256)
		for k := range samples {
			samples[k] = min(max(light(i, k)/full, 0), 1)
			if k > 0 {
				samples[k] = max(samples[k], samples[k-1])
			}
		}
		samples[0] = 0
		d.Tone[i] = display.Tone{Curve: display.Samples, Samples: samples}
	}
	return d
}

// The states in which a calibrated screen is looked at, in the words of report.Loading, and the kinds of neither.
var (
	states = []string{report.IsLoaded.String(), report.NotLoaded.String(), report.Neither.String()}
	modes  = []string{"another mode", "twice", "aged colour"}
)

func (c *calibrated) loaded(native [3]tone) display.Description {
	return c.with(func(i, k int) float64 { return native[i](c.send[i][k]) })
}

func (c *calibrated) bare(native [3]tone) display.Description {
	return c.with(func(i, k int) float64 { return native[i](float64(k) / 255) })
}

// strange draws a state that is neither, and its name.
func (c *calibrated) strange(r *rand.Rand) (display.Description, string) {
	l, b := c.loaded(c.native), c.bare(c.native)
	for {
		var d display.Description
		var name string
		switch r.IntN(3) {
		case 0:
			off := uniform(r, 0.3, 0.7)
			if r.IntN(2) == 0 {
				off = -off
			}
			var other [3]tone
			for i := range other {
				other[i] = departed(c.native[i], off/2.2, [screen.Knots]float64{})
			}
			name = modes[0]
			if r.IntN(2) == 0 {
				d = c.loaded(other)
			} else {
				d = c.bare(other)
			}
		case 1:
			name = modes[1]
			d = c.with(func(i, k int) float64 {
				place := 255 * c.send[i][k]
				lo := min(int(place), 254)
				return c.native[i](c.send[i][lo] + (place-float64(lo))*(c.send[i][lo+1]-c.send[i][lo]))
			})
		default:
			name = modes[2]
			off := uniform(r, 0.2, 0.5)
			if r.IntN(2) == 0 {
				off = -off
			}
			aged := c.native
			aged[0] = departed(aged[0], off/2.2, [screen.Knots]float64{})
			aged[2] = departed(aged[2], -off*uniform(r, 0, 1)/2.2, [screen.Knots]float64{})
			d = c.loaded(aged)
			if r.IntN(2) == 0 {
				d = c.bare(aged)
			}
		}
		if unlike(d, l) && unlike(d, b) {
			return d, name
		}
	}
}

// unlike reports whether two screens differ by 0.25 of gamma, or by 0.015 in u'v' of some grey from half signal up.
func unlike(a, b display.Description) bool {
	a.Crush, a.Clip, a.Bits, b.Crush, b.Clip, b.Bits = 0, 255, 8, 0, 255, 8
	m, n := a.Model(), b.Model()
	if math.Abs(screen.EffectiveGamma(curve(&m))-screen.EffectiveGamma(curve(&n))) > 0.25 {
		return true
	}
	for i := range screen.Steps {
		if v := screen.Signal(i); v >= 0.5 {
			p, y := hues(&m, v)
			q, z := hues(&n, v)
			if screen.Length(p-q, y-z) > 0.015 {
				return true
			}
		}
	}
	return false
}

// A told is one sitting at a calibrated screen, as printed.
type told struct {
	Screen     string         `json:"screen"`
	Seed       uint64         `json:"seed"`
	State      string         `json:"state"` // of states
	Mode       string         `json:"mode"`  // which kind of neither; else the state
	Viewer     string         `json:"viewer"`
	Said       report.Loading `json:"said"`
	Loaded     float64        `json:"loaded"` // probabilities
	Bare       float64        `json:"bare"`
	Neither    float64        `json:"neither"`
	Gamma      float64        `json:"gamma"` // effective, of the screen
	With       float64        `json:"with"`  // as the profile has it with the correction
	Without    float64        `json:"without"`
	Judgements int            `json:"judgements"`
	Tone       int            `json:"tone"` // judgements of tone that counted
	Neutrals   int            `json:"neutrals"`
	Seconds    int            `json:"seconds"`
	Void       bool           `json:"void"`
}

// corrections sits before n calibrated screens in each of states with each kind of viewer.
func corrections(n int, seed uint64, kinds []observer.Kind, degree float64) []told {
	all := make([]told, n*len(states)*len(kinds))
	each(n, func(i int) {
		s := seed + uint64(i)
		r := rand.New(rand.NewPCG(s, 0x636f7272))
		c := calibrate(r)
		odd, mode := c.strange(r)
		for state, d := range []display.Description{c.loaded(c.native), c.bare(c.native), odd} {
			m, apart := d.Model(), c.expect.Apart()
			for k, kind := range kinds {
				plan := check.Plan{Battery: check.Battery, Length: check.Short, Seed: s, Aim: c.aim, Degree: degree, Expect: &c.expect}
				_, rec := sit(d, kind, plan, nil)
				v := rec.Correction
				t := told{
					Screen: fmt.Sprintf("calibrated %d", s), Seed: s, State: states[state], Mode: states[state], Viewer: kind.Name,
					Said: v.Loading, Loaded: v.Loaded, Bare: v.Bare, Neither: v.Neither,
					Gamma: screen.EffectiveGamma(curve(&m)), With: apart.Loaded, Without: apart.Bare,
					Judgements: len(rec.Judgements), Tone: report.Counted(rec.Judgements, check.Tone), Neutrals: report.Counted(rec.Judgements, check.Neutrals),
					Seconds: int((rec.Conditions.Ended - rec.Conditions.Started) / 1000), Void: len(rec.Void) > 0,
				}
				if state == len(states)-1 {
					t.Mode = mode
				}
				all[(i*len(states)+state)*len(kinds)+k] = t
			}
		}
	})
	return all
}

// A tally is how sittings of one sort ended.
type tally struct{ sittings, told, open, wrong, void, judgements, seconds int }

// count sums up the sittings of a sort.
func count(all []told, of func(told) bool) (n tally) {
	for _, t := range all {
		if !of(t) {
			continue
		}
		n.sittings++
		n.judgements += t.Judgements
		n.seconds += t.Seconds
		switch {
		case t.Said == report.LoadUnknown:
			n.open++
		case t.Said.String() == t.State:
			n.told++
		default:
			n.wrong++
		}
		if t.Void {
			n.void++
		}
	}
	return n
}

// tabulate prints how often each state was told, as a table.
func tabulate(w io.Writer, all []told, kinds []observer.Kind) {
	fmt.Fprintln(w, "| screen | viewer | sittings | told, % | left open, % | said wrongly, % | void | judgements | seconds |")
	fmt.Fprintln(w, "|---|---|---|---|---|---|---|---|---|")
	row := func(name, viewer string, of func(told) bool) {
		n := count(all, of)
		if n.sittings == 0 {
			return
		}
		right, wrong := newShare(n.told, n.sittings), newShare(n.wrong, n.sittings)
		fmt.Fprintf(w, "| %s | %s | %d | %.1f (%.1f to %.1f) | %.1f | %.1f (%.1f to %.1f) | %d | %d | %d |\n", name, viewer, n.sittings, right.Rate, right.Lo, right.Hi,
			100*float64(n.open)/float64(n.sittings), wrong.Rate, wrong.Lo, wrong.Hi, n.void, n.judgements/n.sittings, n.seconds/n.sittings)
	}
	for _, state := range states {
		row(state, "all", func(t told) bool { return t.State == state })
		for _, k := range kinds {
			row(state, k.Name, func(t told) bool { return t.State == state && t.Viewer == k.Name })
		}
	}
	for _, mode := range modes {
		for _, k := range kinds {
			row("neither: "+mode, k.Name, func(t told) bool { return t.Mode == mode && t.Viewer == k.Name })
		}
	}
}
