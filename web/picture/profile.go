package picture

import (
	"encoding/binary"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf16"
)

var errProfileLarge = &Refused{"The colour profile in this file has more than 4 MiB.", "Convert the picture to sRGB, or to a profile of the usual size."}

// Chromaticities x, y of red, green and blue of sRGB (IEC 61966-2-1): as they are, and adapted to D50 by Bradford's matrix as profiles tell them (ICC.1:2010, annex E).
var (
	srgbD65 = [6]float64{0.64, 0.33, 0.30, 0.60, 0.15, 0.06}
	srgbD50 = [6]float64{0.6484, 0.3309, 0.3212, 0.5979, 0.1559, 0.0660}
)

// other is how far a chromaticity lies from that of sRGB, in x or y, where primaries count as other ones. Colour spaces that go by the name of sRGB are within 0.001.
const other = 0.02

func apart(a, b [6]float64) bool {
	for i := range a {
		if !(math.Abs(a[i]-b[i]) <= other) {
			return true
		}
	}
	return false
}

// flawed notes that there is a profile that browsers do not use.
func (a *About) flawed(what string) {
	a.note("The colour profile in this file is damaged (" + what + "). Browsers show the picture as if it were sRGB.")
}

// doubtful notes that there is a profile that some browsers use and some do not.
func (a *About) doubtful(what string) {
	a.note("The colour profile in this file is damaged (" + what + "). Browsers differ in whether they use it.")
}

// primaries takes colour told by code points (ITU-T H.273), which needs no profile.
func (a *About) primaries(cp, tc byte) {
	a.Wide = cp != 1 && cp != 2 && a.Model != "grey"
	if tc == 16 || tc == 18 {
		a.note("The picture is HDR. How bright it is shown differs from browser to browser and from screen to screen.")
	}
}

// profile takes an embedded ICC profile. One that is damaged leaves a note; one that is of another colour space refuses the picture.
// What is asked of a profile is what browsers need of it (ICC.1:2010, 7 and 9).
func (a *About) profile(raw []byte) error {
	if len(raw) < 132 || string(raw[36:40]) != "acsp" {
		a.flawed("it does not start as a profile does")
		return nil
	}
	size := binary.BigEndian.Uint32(raw)
	if int64(size) > int64(len(raw)) || size < 132 {
		a.flawed("its length is not the one that it tells")
		return nil
	}
	p := raw[:size]
	if p[8] > 4 {
		a.flawed("it is of a version that browsers do not know")
		return nil
	}
	switch string(p[12:16]) {
	case "scnr", "mntr", "prtr", "spac":
	default:
		a.doubtful("it describes no colours of a picture")
		return nil
	}
	space := string(p[16:20])
	grey := a.Model == "grey"
	switch {
	case space == "CMYK":
		return refuse("The colour profile in this file is for printing inks, which its picture is not made of.", "Convert the picture to sRGB.")
	case space == "GRAY" && !grey:
		return refuse("The colour profile in this file is for greys, and its picture is in colour.", "Convert the picture to sRGB.")
	case space == "RGB " && grey && (a.Kind == PNG || a.Kind == TIFF):
		return refuse("The colour profile in this file is for colours, and its picture is in greys.", "Convert the picture to RGB, or to a profile for greys.")
	case space != "RGB " && space != "GRAY":
		return refuse("The colour profile in this file is for colours of another sort than those of its picture.", "Convert the picture to sRGB.")
	}
	if pcs := string(p[20:24]); pcs != "XYZ " && pcs != "Lab " {
		a.flawed("it leads to colours that there are not")
		return nil
	}
	tags, flaw := table(p)
	if tags == nil {
		a.flawed(flaw)
		return nil
	} else if flaw != "" {
		a.doubtful(flaw)
		return nil
	}
	xy, matrix := colorants(tags)
	tables := tags["A2B0"] != nil
	switch {
	case space == "RGB " && !tables && !(matrix && string(p[20:24]) == "XYZ " && curve(tags["rTRC"]) && curve(tags["gTRC"]) && curve(tags["bTRC"])),
		space == "GRAY" && !tables && !curve(tags["kTRC"]):
		a.flawed("it lacks the numbers that it is for")
		return nil
	}
	a.Profile, a.ProfileName = p, description(tags["desc"])
	a.Wide = space == "RGB " && (!matrix || apart(xy, srgbD50)) // tables alone: nobody knows
	if space == "RGB " && grey {
		a.note("The colour profile in this file is for colours, and its picture is in greys. Browsers differ in whether they use it.")
	}
	return nil
}

// table returns the tags of a profile by their signatures, and what is wrong with it. There are no tags where one does not lie within the profile.
func table(p []byte) (tags map[string][]byte, flaw string) {
	const wrong = "its table of contents is wrong"
	n := int64(binary.BigEndian.Uint32(p[128:]))
	first := 132 + 12*n
	if n > 1000 || first > int64(len(p)) {
		return nil, wrong
	}
	tags = map[string][]byte{}
	for e := p[132:first]; len(e) > 0; e = e[12:] {
		off, size := int64(binary.BigEndian.Uint32(e[4:])), int64(binary.BigEndian.Uint32(e[8:]))
		if size < 8 || off+size > int64(len(p)) {
			return nil, wrong
		}
		if off < first || tags[string(e[:4])] != nil {
			flaw = "its table of contents contradicts itself"
		}
		tags[string(e[:4])] = p[off : off+size]
	}
	return tags, flaw
}

// colorants returns the chromaticities of a profile's red, green and blue, and whether it has them.
func colorants(tags map[string][]byte) (xy [6]float64, ok bool) {
	for i, name := range []string{"rXYZ", "gXYZ", "bXYZ"} {
		t := tags[name]
		if len(t) < 20 || string(t[:4]) != "XYZ " {
			return xy, false
		}
		var v [3]float64
		for j := range v {
			v[j] = float64(int32(binary.BigEndian.Uint32(t[8+4*j:]))) / 65536
		}
		sum := v[0] + v[1] + v[2]
		if !(sum > 0) {
			return xy, false
		}
		xy[2*i], xy[2*i+1] = v[0]/sum, v[1]/sum
	}
	return xy, true
}

// curve tells whether t is a curve, sampled or of a formula, that is all there.
func curve(t []byte) bool {
	if len(t) < 12 {
		return false
	}
	switch string(t[:4]) {
	case "curv":
		return int64(binary.BigEndian.Uint32(t[8:]))*2+12 <= int64(len(t))
	case "para":
		kind := binary.BigEndian.Uint16(t[8:])
		return kind <= 4 && len(t) >= 12+4*[]int{1, 3, 4, 5, 7}[kind]
	}
	return false
}

// description returns the text of a desc (ICC.1:2001) or mluc (ICC.1:2010) tag, the English one where there are several: at most 80 characters, each of which can be seen.
func description(t []byte) string {
	const most = 80
	var text string
	switch {
	case len(t) >= 12 && string(t[:4]) == "desc":
		n := min(int64(binary.BigEndian.Uint32(t[8:])), int64(len(t)-12), 4*most)
		for _, c := range t[12 : 12+n] {
			if c == 0 {
				break
			}
			text += string(rune(c))
		}
	case len(t) >= 16 && string(t[:4]) == "mluc":
		found := false
		for i, n := 0, int(min(binary.BigEndian.Uint32(t[8:]), 100)); i < n && 16+12*i+12 <= len(t); i++ {
			r := t[16+12*i:]
			size, off := int64(binary.BigEndian.Uint32(r[4:])), int64(binary.BigEndian.Uint32(r[8:]))
			english := string(r[:2]) == "en"
			if off+size > int64(len(t)) || found && !english {
				continue
			}
			var units []uint16
			for b := t[off : off+min(size, 4*most)]; len(b) >= 2; b = b[2:] {
				units = append(units, binary.BigEndian.Uint16(b))
			}
			text, found = string(utf16.Decode(units)), true
			if english {
				break
			}
		}
	}
	text = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case !unicode.IsPrint(r) || r == unicode.ReplacementChar:
			return -1
		}
		return r
	}, text)
	letters := []rune(strings.Join(strings.Fields(text), " "))
	return string(slices.Clip(letters[:min(len(letters), most)]))
}
