package icc

import "strings"

// A Signature is a name of four characters (ICC.1:2022, 7.2 and 7.3).
type Signature uint32

func sig(s string) Signature {
	return Signature(s[0])<<24 | Signature(s[1])<<16 | Signature(s[2])<<8 | Signature(s[3])
}

// String returns the four characters without trailing blanks; what is not printable becomes a point. 0 gives "none".
func (s Signature) String() string {
	if s == 0 {
		return "none"
	}
	b := []byte{byte(s >> 24), byte(s >> 16), byte(s >> 8), byte(s)}
	for i, c := range b {
		if c < 32 || c > 126 {
			b[i] = '.'
		}
	}
	return strings.TrimRight(string(b), " ")
}

// A Class is what kind of device or conversion a profile is for (ICC.1:2022, 7.2.5).
type Class Signature

const (
	Input      Class = 0x73636e72 // scnr
	Display    Class = 0x6d6e7472 // mntr
	Output     Class = 0x70727472 // prtr
	Link       Class = 0x6c696e6b // link
	Conversion Class = 0x73706163 // spac
	Abstract   Class = 0x61627374 // abst
	Named      Class = 0x6e6d636c // nmcl
)

var classes = map[Class]string{
	Input:      "input",
	Display:    "display",
	Output:     "output",
	Link:       "device link",
	Conversion: "colour space",
	Abstract:   "abstract",
	Named:      "named colours",
}

// String returns the kind in words.
func (c Class) String() string {
	if s, ok := classes[c]; ok {
		return s
	}
	return Signature(c).String()
}

// A Space is a colour space of a device, or one that profiles meet in (ICC.1:2022, 7.2.6).
type Space Signature

const (
	SpaceXYZ   Space = 0x58595a20 // XYZ
	SpaceLab   Space = 0x4c616220 // Lab
	SpaceLuv   Space = 0x4c757620 // Luv
	SpaceYCbCr Space = 0x59436272 // YCbr
	SpaceYxy   Space = 0x59787920 // Yxy
	SpaceRGB   Space = 0x52474220 // RGB
	SpaceGrey  Space = 0x47524159 // GRAY
	SpaceHSV   Space = 0x48535620 // HSV
	SpaceHLS   Space = 0x484c5320 // HLS
	SpaceCMYK  Space = 0x434d594b // CMYK
	SpaceCMY   Space = 0x434d5920 // CMY
)

var spaces = map[Space]struct {
	name     string
	channels int
}{
	SpaceXYZ:   {"XYZ", 3},
	SpaceLab:   {"L*a*b*", 3},
	SpaceLuv:   {"L*u*v*", 3},
	SpaceYCbCr: {"YCbCr", 3},
	SpaceYxy:   {"Yxy", 3},
	SpaceRGB:   {"RGB", 3},
	SpaceGrey:  {"grey", 1},
	SpaceHSV:   {"HSV", 3},
	SpaceHLS:   {"HLS", 3},
	SpaceCMYK:  {"CMYK", 4},
	SpaceCMY:   {"CMY", 3},
}

// Channels returns how many values a colour has, 1 to 15, and 0 for what is no colour space.
func (s Space) Channels() int {
	if d, ok := spaces[s]; ok {
		return d.channels
	}
	// 2CLR to FCLR: any 2 to 15 colorants.
	if s&0xffffff == Space(sig("0CLR"))&0xffffff {
		if n := strings.IndexByte("0123456789ABCDEF", byte(s>>24)); n >= 2 {
			return n
		}
	}
	return 0
}

// String returns the space in words.
func (s Space) String() string {
	if d, ok := spaces[s]; ok {
		return d.name
	}
	return Signature(s).String()
}

// An Intent is how colours that a device cannot make are dealt with (ICC.1:2022, 7.2.15).
type Intent int

const (
	Perceptual Intent = iota
	Relative          // media-relative colorimetric: white stays white
	Saturation
	Absolute // ICC-absolute colorimetric: the medium's own white shows
)

func (i Intent) String() string {
	switch i {
	case Perceptual:
		return "perceptual"
	case Relative:
		return "media-relative colorimetric"
	case Saturation:
		return "saturation"
	case Absolute:
		return "ICC-absolute colorimetric"
	}
	return "unknown"
}
