package patterns

// tinted is the grey v with its red and its blue moved, each cut to 0 to 255: red, green, blue.
func tinted(v uint8, red, blue int8) [3]uint8 {
	return [3]uint8{moved(v, int(red)), v, moved(v, int(blue))}
}

// moved is the code moved by so many codes, cut to 0 to 255.
func moved(code uint8, by int) uint8 { return uint8(min(max(int(code)+by, 0), 255)) }

// only is c with nothing but its red (1), green (2) or blue (3) left; all of it is left for any other channel.
func only(c [3]uint8, channel uint8) [3]uint8 {
	if channel < 1 || channel > 3 {
		return c
	}
	var one [3]uint8
	one[channel-1] = c[channel-1]
	return one
}
