package icc

import (
	"errors"
	"math"
)

// A Response is the light of red, green or blue by signal, relative to the channel's own black and full: 0 to 1 and not falling. Its zero value is dark.
type Response struct {
	tone       func(float64) float64
	correction Correction
	channel    int
	bare       bool
	dark, full float64 // of tone
	top        float64 // level that is sent for full signal
	power      float64 // by which light goes on above it
	scale      float64 // light of full level, over that of full signal under the correction
}

// Responses returns the light of a display's channels as the profile has them, with its correction in the video card, and without. Both follow from the
// profile alone: it was made with the correction in place, so that what it has for a signal is what the display does with the level that is sent for it.
// Above the highest level that is sent the display was not measured; light goes on by the power that it comes with. Below the lowest it counts as none.
// It is an error for what is no display of three channels with a correction, and where full signal gives no more light than none.
func (p *Profile) Responses() (loaded, bare [3]Response, err error) {
	c, ok := p.Correction()
	if !ok {
		return loaded, bare, errors.New("icc: the profile has no video-card correction")
	}
	if p.Class != Display || p.Space != SpaceRGB {
		return loaded, bare, errors.New("icc: the profile is not that of a display of red, green and blue")
	}
	to, err := p.Forward(Relative)
	if err != nil {
		return loaded, bare, err
	}
	for i := range 3 {
		r := Response{tone: channel(to, i), correction: c, channel: i, top: c.Level(i, 1), power: 1, scale: 1}
		r.dark, r.full = r.tone(0), r.tone(1)
		if !(r.full > r.dark) || math.IsInf(r.full-r.dark, 0) {
			return loaded, bare, errors.New("icc: a channel has no more light at full than without signal")
		}
		loaded[i] = r
		r.bare = true
		if r.top <= 0 {
			return loaded, bare, errors.New("icc: the correction sends nothing at full signal")
		}
		// By the upper fifth of levels: near enough to the end, and far enough for coarse tables.
		if s := r.signal(0.8 * r.top); s < 1 && r.share(s) > 0 && c.Level(i, s) > 0 {
			if g := math.Log(r.share(s)) / math.Log(c.Level(i, s)/r.top); g >= 1 && g <= 4 {
				r.power = g
			} else {
				r.power = min(max(g, 1), 4)
			}
		}
		if math.IsNaN(r.power) {
			r.power = 1
		}
		r.scale = math.Pow(1/r.top, r.power)
		bare[i] = r
	}
	return loaded, bare, nil
}

// share is the light of a signal under the correction, 0 to 1.
func (r Response) share(signal float64) float64 {
	v := (r.tone(signal) - r.dark) / (r.full - r.dark)
	if !(v > 0) {
		return 0
	}
	return min(v, 1)
}

// signal returns the least signal for which at least a level is sent, found by halving, and 1 for a level above all.
func (r Response) signal(level float64) float64 {
	low, high := 0.0, 1.0
	for range 50 {
		if mid := (low + high) / 2; r.correction.Level(r.channel, mid) < level {
			low = mid
		} else {
			high = mid
		}
	}
	return high
}

// Light returns the light at signals i/(len(to)-1).
func (r Response) Light(to []float64) {
	if r.tone == nil || len(to) < 2 {
		clear(to)
		return
	}
	least := 0.0
	for i := range to {
		s, v := float64(i)/float64(len(to)-1), 0.0
		switch {
		case !r.bare:
			v = r.share(s)
		case s <= r.correction.Level(r.channel, 0):
		case s < r.top:
			v = r.share(r.signal(s)) / r.scale
		default:
			v = math.Pow(s/r.top, r.power) / r.scale
		}
		least = max(least, min(v, 1))
		to[i] = least
	}
	to[0], to[len(to)-1] = 0, 1
}
