package screen

// A Range is how the source's and the screen's ideas of black and white meet. It is one property of the whole screen: every check that can tell
// weighs the three against each other, and what one finds counts for all.
type Range int

const (
	Full     Range = iota // both ends agree
	Squeezed              // a full-range signal is taken for limited: codes 0 to 16 are lost in black and 235 to 255 in white
	Lifted                // a limited-range signal is shown as if it were full: black is lifted, white is dim and 36 of the 256 codes are lost
	Ranges                // how many there are
)

// Send returns the signal (0 to 1) that reaches the screen's own curve under the range, for a code's signal v. ITU-R BT.709 and BT.2100 put
// narrow-range black and white of 8 bits at 16 and 235.
func (r Range) Send(v float64) float64 {
	switch r {
	case Squeezed:
		return Squeeze(v)
	case Lifted:
		return (16 + float64(219*v)) / 255
	}
	return v
}

// RangePrior is the probability of each range before any judgement; ours.
var RangePrior = [Ranges]float64{0.93, 0.045, 0.025}

func (r Range) String() string {
	return [...]string{"full", "full taken for limited", "limited shown as full"}[r]
}
