// Package display models the light of a described screen: what its code values put before a viewer in a given room.
//
// The model is additive and does not move: no crosstalk between channels, none between pixels but that a panel may show fine lines lighter or darker
// than they are, no change with time or with what else is shown, no dithering; the angle of view changes the curve with the height on the
// screen and nothing else. It takes the codes that reach the screen; of what a browser does to colours before that it knows the conversion of Display P3.
package display
