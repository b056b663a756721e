package colour

import "example.org/plumb/colour/transfer"

// SRGB is the space of IEC 61966-2-1.
var SRGB = mustSpace(XY{0.64, 0.33}, XY{0.30, 0.60}, XY{0.15, 0.06}, D65, transfer.SRGB{})
