package icc

import "math"

// A Correction is what the video card is meant to do with signals before they reach the screen: the tag vcgt, which no standard defines and
// calibration commonly writes. What the profile says holds only while something has loaded it.
type Correction struct {
	curves  [3]Curve
	formula [3][3]float64 // gamma, least, most
	table   bool
	entries int
	bits    int
}

// readCorrection reads a table of 1 or 3 channels, or a formula for each of three.
func readCorrection(v view) (Correction, *Fault) {
	if f := typed(v, "vcgt"); f != nil {
		return Correction{}, f
	}
	if f := v.need(8, 4, "the kind of correction"); f != nil {
		return Correction{}, f
	}
	switch k := v.u32(8); k {
	case 0:
		if f := v.need(12, 6, "the size of the correction's table"); f != nil {
			return Correction{}, f
		}
		channels, entries, bytes := v.u16(12), v.u16(14), v.u16(16)
		// Some makers write 1 byte and mean 2.
		if channels == 3 && entries == 256 && bytes == 1 && len(v.data) == 1576 {
			bytes = 2
		}
		if channels != 1 && channels != 3 {
			return Correction{}, v.fault(12, "a correction for %d channels; 1 and 3 are defined", channels)
		}
		if entries < 2 {
			return Correction{}, v.fault(14, "a table of %d entries; two are the least", entries)
		}
		if bytes != 1 && bytes != 2 {
			return Correction{}, v.fault(16, "entries of %d bytes; 1 and 2 are defined", bytes)
		}
		if f := v.need(18, channels*entries*bytes, "the correction's table"); f != nil {
			return Correction{}, f
		}
		c := Correction{table: true, entries: entries, bits: 8 * bytes}
		for i := range c.curves {
			c.curves[i] = Curve{kind: sampled, samples: v.part(18+min(i, channels-1)*entries*bytes, entries*bytes), n: entries, is8: bytes == 1}
		}
		return c, nil
	case 1:
		if f := v.need(12, 36, "the correction's formula"); f != nil {
			return Correction{}, f
		}
		var c Correction
		for i := range c.formula {
			for j := range c.formula[i] {
				c.formula[i][j] = v.fixed(12 + 12*i + 4*j)
			}
			if g := c.formula[i][0]; g <= 0 {
				return Correction{}, v.fault(12+12*i, "gamma %.4g; above 0 is a gamma", g)
			}
		}
		return c, nil
	default:
		return Correction{}, v.fault(8, "correction of kind %d; 0, a table, and 1, a formula, are known", k)
	}
}

// Correction returns the video-card correction, and false where the profile has none.
func (p *Profile) Correction() (Correction, bool) { return get(p, "vcgt", readCorrection) }

// Table says whether the correction is a table, and if so of how many entries of how many bits.
func (c Correction) Table() (entries, bits int, is bool) { return c.entries, c.bits, c.table }

// Formula returns gamma, least and most of a channel's formula: most less least, times the signal to the power of gamma, and least.
func (c Correction) Formula(channel int) (gamma, least, most float64) {
	f := c.formula[channel]
	return f[0], f[1], f[2]
}

// Level returns what channel 0, 1 or 2 sends to the screen for a signal, both in [0,1]. The zero Correction sends 0.
func (c Correction) Level(channel int, signal float64) float64 {
	if c.table {
		return c.curves[channel].Light(signal)
	}
	f := c.formula[channel]
	if !(signal > 0) {
		signal = 0
	}
	y := float64((f[2]-f[1])*math.Pow(min(signal, 1), f[0])) + f[1]
	if !(y > 0) {
		return 0
	}
	return min(y, 1)
}

// Cost says what a correction takes from a channel.
type Cost struct {
	Lost     int     // of the 256 codes, how many fall together with their neighbour below when the card sends 8 bits
	White    float64 // level sent for full signal, 1 for none held back
	Black    float64 // level sent for no signal
	Greatest float64 // greatest change of a signal, in 8-bit codes, signed
	At       int     // the code of that change
}

// Cost returns what the correction takes from channel 0, 1 or 2.
func (c Correction) Cost(channel int) Cost {
	k := Cost{White: c.Level(channel, 1), Black: c.Level(channel, 0)}
	last := -1
	for code := range 256 {
		level := 255 * c.Level(channel, float64(code)/255)
		if d := level - float64(code); math.Abs(d) > math.Abs(k.Greatest) {
			k.Greatest, k.At = d, code
		}
		sent := int(math.Floor(level + 0.5))
		if sent == last {
			k.Lost++
		}
		last = sent
	}
	return k
}

// Changes says whether the correction moves any of the 256 codes by more than half a code.
func (c Correction) Changes() bool {
	for i := range 3 {
		if math.Abs(c.Cost(i).Greatest) > 0.5 {
			return true
		}
	}
	return false
}
