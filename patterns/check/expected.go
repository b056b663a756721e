package check

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"example.org/plumb/patterns/screen"
)

// Knots is at how many signals an Expected says how much light there is: every fifth code.
const Knots = 52

// An Expected is what a profile promises of a screen, with its correction in the video card and without. Light is of red, green and blue at signals
// i/(Knots-1), relative to the channel's own black and full: 0 to 1, not falling.
type Expected struct {
	Profile string            `json:"profile"` // its name
	Digest  string            `json:"digest"`  // SHA-256 of its bytes, in hexadecimal
	Loaded  [3][Knots]float64 `json:"loaded"`
	Bare    [3][Knots]float64 `json:"bare"`
}

// MostProfileName is how many bytes the name of a profile in an Expected has at most.
const MostProfileName = 256

// Validate says what is wrong with what came from outside; nil where a sitting can be held against it.
func (e *Expected) Validate() error {
	switch {
	case e.Profile == "" || len(e.Profile) > MostProfileName || !utf8.ValidString(e.Profile):
		return fmt.Errorf("check: the name of a profile must be 1 to %d bytes of text", MostProfileName)
	case len(e.Digest) != 64 || strings.Trim(e.Digest, "0123456789abcdef") != "":
		return errors.New("check: the digest of a profile must be 64 hexadecimal digits in small letters")
	}
	for _, channels := range [...]*[3][Knots]float64{&e.Loaded, &e.Bare} {
		for _, light := range channels {
			last := 0.0
			for i, l := range light {
				if !(l >= last && l <= 1) { // what is no number is refused too
					return fmt.Errorf("check: expected light %g at signal %d of %d; it must not fall and lie in 0 to 1", l, i, Knots-1)
				}
				last = l
			}
			if light[0] != 0 || last != 1 {
				return errors.New("check: expected light must run from 0 at signal 0 to 1 at full")
			}
		}
	}
	return nil
}

// Apart is how far what an Expected says with the correction and without are from each other.
type Apart struct {
	Loaded, Bare float64 // effective gamma of grey; see screen.EffectiveGamma
	Lightness    float64 // greatest difference of grey, L*
	Tint         float64 // greatest difference of the tint of a grey from code 64 up, u'v'
}

// Below these no eye can tell the curves, or the tints, with the correction from those without: about what a profile itself is off by. Ours.
const (
	alikeLightness = 1.2
	alikeTint      = 0.0015
)

// Alike reports whether no eye can tell the screen with the correction from that without.
func (a Apart) Alike() bool { return a.Lightness < alikeLightness && a.Tint < alikeTint }

// Apart returns how far the curves with the correction and without are from each other.
func (e *Expected) Apart() Apart {
	loaded, bare := grey(&e.Loaded), grey(&e.Bare)
	f, g := foretell(&loaded), foretell(&bare)
	a := Apart{Loaded: screen.EffectiveGamma(f.light), Bare: screen.EffectiveGamma(g.light)}
	p, q := logLight(&e.Loaded), logLight(&e.Bare)
	for c := range 256 {
		v := float64(c) / 255
		a.Lightness = max(a.Lightness, math.Abs(screen.Lightness(f.light(v))-screen.Lightness(g.light(v))))
		if v >= screen.TintFrom {
			s, t := tintOf(&p, c, 0, 0), tintOf(&q, c, 0, 0)
			a.Tint = max(a.Tint, screen.Length(s[0]-t[0], s[1]-t[1]))
		}
	}
	return a
}
