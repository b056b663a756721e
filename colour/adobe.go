package colour

import "example.org/plumb/colour/transfer"

// AdobeRGB is the space of the Adobe RGB (1998) colour image encoding (2005), 4.3: a power of 2 51/256.
var AdobeRGB = mustSpace(XY{0.64, 0.33}, XY{0.21, 0.71}, XY{0.15, 0.06}, D65, transfer.Power(563.0/256))
