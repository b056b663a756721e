package colour

import "example.org/plumb/colour/transfer"

// BT2020 is the space of ITU-R BT.2020-2, table 3, as a display shows it: the transfer function is that of ITU-R BT.1886 for a black of 0, a power of 2.4.
var BT2020 = mustSpace(XY{0.708, 0.292}, XY{0.170, 0.797}, XY{0.131, 0.046}, D65, transfer.Power(2.4))
