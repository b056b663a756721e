// Package display models the light of a described screen: what its code values put before a viewer in a given room.
//
// The model is additive and does not move: no crosstalk between channels or pixels, no change with the angle of view, with time or with
// what else is shown, no dithering. It takes the codes that reach the screen; what a browser does to colours before that is not in it.
package display
