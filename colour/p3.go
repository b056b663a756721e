package colour

import "example.org/plumb/colour/transfer"

// DisplayP3 is the space that CSS Color 4 calls display-p3: the primaries of SMPTE EG 432-1 with D65 and the transfer function of sRGB.
var DisplayP3 = mustSpace(XY{0.680, 0.320}, XY{0.265, 0.690}, XY{0.150, 0.060}, D65, transfer.SRGB{})
