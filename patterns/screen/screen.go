// Package screen holds what is believed about one screen: its quantities, its tone curve and what they should be.
//
// Everything is relative to the screen's own black and white. Peak luminance, contrast and white point cannot be judged by eye without a
// reference and have no place here.
package screen

import "example.org/plumb/patterns/psychophysics"

// A Quantity is something a check estimates.
type Quantity string

const (
	FirstVisible Quantity = "first visible code"   // the lowest code that parts from black, where the viewer's threshold is crossed; code values
	FirstBelow   Quantity = "first visible step"   // the least difference from 255 that parts from white; code values
	Gamma        Quantity = "gamma"                // slope of log light over log signal through white, signal 0.1 to 0.9; see EffectiveGamma
	Departure    Quantity = "departure"            // greatest CIEDE2000 of the tone curve outside the aim; see Aim.Departure
	ToneMargin   Quantity = "tone margin"          // departure from the aim in units of the tolerance; 1 is at the limit
	RowsColumns  Quantity = "rows against columns" // log light of row lines over that of column lines
	Noise        Quantity = "matching noise"       // standard deviation of the viewer's line matches, log light
	GreyTint     Quantity = "grey tint"            // greatest distance in u'v' of a grey from the screen's own white; see Tint.Greatest
	Bits         Quantity = "effective bits"       // depth of the greys that part from each other, 5 to 8; 9 and more cannot be told from 8
	Unevenness   Quantity = "unevenness"           // greatest absolute log light of a place over the middle; see Field.Worst
	FieldTint    Quantity = "tint of places"       // greatest distance in u'v' of a place from the middle
	Reach        Quantity = "reach"                // how far colours go from sRGB (0) to Display P3 (1)
	WhiteOffset  Quantity = "white offset"         // distance in u'v' of white from a reference white
)

// A Profile is the estimated quantities of one screen. A quantity that no check has reached is absent, never assumed.
type Profile map[Quantity]psychophysics.Estimate
