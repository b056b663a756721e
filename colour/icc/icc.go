// Package icc reads colour profiles of versions 2 and 4 (ICC.1:2022, which is ISO 15076-1, and ICC.1:2001-04) and says what they promise.
//
// It reads: header, tag table, descriptions, white and primaries, tone curves, adaptation, tables of the types lut8, lut16, lutAToB and lutBToA,
// the video-card correction, cicp and metadata. It does not read multi-process elements (D2B and B2D), spectral data or version 5, and writes nothing.
// Clauses are named from memory; what is read was checked against two libraries.
//
// A profile is kept as the bytes it came in and its values are views of them, so that no count in it can ask for memory: what reading and describing
// allocate is bounded by a constant and a small multiple of the file.
package icc

import (
	"bytes"
	"crypto/md5"
	"fmt"
	"time"

	"example.org/plumb/colour"
)

// Limits of what is read.
const (
	MaxSize = 64 << 20 // bytes of a profile
	MaxTags = 256      // entries of the tag table
)

// D50 is the white of the profile connection space, relative (ICC.1:2022, 7.2.16).
var D50 = colour.XYZ{X: 0.9642, Y: 1, Z: 0.8249}

// A Fault says what is broken, and where in the file. As an error of Read it keeps the profile from being used; among a Profile's Notes it does not.
type Fault struct {
	Offset int       // bytes from the start of the file
	Tag    Signature // 0: the header or the tag table
	What   string
}

func (f *Fault) Error() string { return "icc: " + f.String() }

// String returns the place and what is wrong there.
func (f *Fault) String() string {
	if f.Tag == 0 {
		return fmt.Sprintf("byte %d: %s", f.Offset, f.What)
	}
	return fmt.Sprintf("byte %d, tag %s: %s", f.Offset, f.Tag, f.What)
}

func faultAt(offset int, format string, args ...any) *Fault {
	return &Fault{Offset: offset, What: fmt.Sprintf(format, args...)}
}

// A Header is the first 128 bytes of a profile (ICC.1:2022, 7.2).
type Header struct {
	Size         int // bytes
	Major, Minor int // version, 4.4 as 4 and 4
	Revision     int
	Class        Class
	Space        Space     // of the device
	Connection   Space     // XYZ or Lab; a device link has any
	Made         time.Time // UTC; zero where it is not told or is no date
	Intent       Intent    // the one meant to be used
	Manufacturer Signature
	Model        Signature
	Creator      Signature
	Platform     Signature
}

// Version returns the version as 4.4 or 2.1.
func (h Header) Version() string {
	if h.Revision != 0 {
		return fmt.Sprintf("%d.%d.%d", h.Major, h.Minor, h.Revision)
	}
	return fmt.Sprintf("%d.%d", h.Major, h.Minor)
}

// A Tag is an entry of the tag table.
type Tag struct {
	Name Signature
	Type Signature // of the data; 0 where the tag is unused and has none
	view view
}

// Offset returns where the data begin, in bytes from the start of the file.
func (t Tag) Offset() int { return t.view.base }

// Size returns how many bytes they take.
func (t Tag) Size() int { return len(t.view.data) }

// A Profile is a profile that was read whole. It shares the bytes it was read from, which must not be changed. It is safe for use by several goroutines.
type Profile struct {
	Header
	Tags  []Tag   // in the file's order
	ID    ID      // whether the profile ID is the file's
	Notes []Fault // departures from the standard that do not stand in the way

	data []byte
}

// An ID says whether the profile ID of the header, an MD5 of the file, is that of the file (ICC.1:2022, 7.2.18). The zero value is none.
type ID int

const (
	IDNone  ID = iota // not computed, or version 2, which has none
	IDRight           // the file is as its maker left it
	IDWrong           // something was changed since
)

func (i ID) String() string {
	switch i {
	case IDRight:
		return "right"
	case IDWrong:
		return "wrong"
	}
	return "none"
}

// Read reads a profile. Errors are *Fault, with the byte where reading failed. A broken tag that only describes becomes a note.
func Read(data []byte) (*Profile, error) {
	p, f := read(data)
	if f != nil {
		return nil, f
	}
	return p, nil
}

func read(data []byte) (*Profile, *Fault) {
	p := &Profile{}
	if f := p.readHeader(data); f != nil {
		return nil, f
	}
	p.data = data[:p.Size]
	if f := p.readTable(); f != nil {
		return nil, f
	}
	p.checkID()
	for _, t := range p.Tags {
		c, ok := checkOf(t.Name)
		if !ok {
			continue
		}
		f := c.check(p, t)
		if f == nil {
			continue
		}
		f.Tag = t.Name
		if c.colours && p.Class != Named { // named colours are looked up in their list alone
			return nil, f
		}
		p.Notes = append(p.Notes, *f)
	}
	return p, nil
}

// note keeps a departure that does not stand in the way.
func (p *Profile) note(offset int, tag Signature, format string, args ...any) {
	p.Notes = append(p.Notes, Fault{offset, tag, fmt.Sprintf(format, args...)})
}

// Tag returns the tag of a name, and false where there is none.
func (p *Profile) Tag(name Signature) (Tag, bool) {
	for _, t := range p.Tags {
		if t.Name == name {
			return t, true
		}
	}
	return Tag{}, false
}

func (p *Profile) readHeader(data []byte) *Fault {
	if len(data) < 132 {
		return faultAt(len(data), "the file ends here; a profile has a header of 128 bytes and a count of tags")
	}
	if !bytes.Equal(data[36:40], []byte("acsp")) {
		return faultAt(36, "%q instead of \"acsp\": this is no colour profile", data[36:40])
	}
	v := view{data: data}
	size := v.u32(0)
	switch {
	case uint64(size) > uint64(len(data)):
		return faultAt(0, "the profile says that it has %d bytes and the file has %d: it is cut short", size, len(data))
	case size < 132:
		return faultAt(0, "the profile says that it has %d bytes; header and tag count alone have 132", size)
	case size > MaxSize:
		return faultAt(0, "the profile has %d bytes; more than %d are not read", size, MaxSize)
	}
	p.Size = int(size)
	if p.Size < len(data) {
		p.note(p.Size, 0, "%d bytes follow the profile's end and are not part of it", len(data)-p.Size)
	}
	p.Major, p.Minor, p.Revision = int(data[8]), int(data[9]>>4), int(data[9]&15)
	if p.Major != 2 && p.Major != 4 {
		return faultAt(8, "version %d.%d: versions 2 and 4 are read", p.Major, p.Minor)
	}
	p.Class = Class(v.u32(12))
	if _, ok := classes[p.Class]; !ok {
		return faultAt(12, "%s is no class of profile", Signature(p.Class))
	}
	p.Space, p.Connection = Space(v.u32(16)), Space(v.u32(20))
	if p.Space.Channels() == 0 {
		return faultAt(16, "%s is no colour space", Signature(p.Space))
	}
	if p.Class == Link && p.Connection.Channels() == 0 {
		return faultAt(20, "%s is no colour space", Signature(p.Connection))
	}
	if p.Class != Link && p.Connection != SpaceXYZ && p.Connection != SpaceLab {
		return faultAt(20, "%s is no profile connection space; XYZ and Lab are", Signature(p.Connection))
	}
	var f *Fault
	if p.Made, f = v.time(24); f != nil {
		p.Notes = append(p.Notes, *f)
	}
	p.Platform, p.Manufacturer, p.Model, p.Creator = v.signature(40), v.signature(48), v.signature(52), v.signature(80)
	p.Intent = Intent(v.u32(64) & 0xffff)
	if p.Intent > Absolute {
		p.note(64, 0, "rendering intent %d is none; 0 to 3 are", p.Intent)
		p.Intent = Perceptual
	}
	if w := v.xyz(68); max(abs(w.X-D50.X), abs(w.Y-D50.Y), abs(w.Z-D50.Z)) > 2.0/65536 {
		p.note(68, 0, "the white of the connection space is %.4f %.4f %.4f and should be D50", w.X, w.Y, w.Z)
	}
	return nil
}

// checkID compares the profile ID with the MD5 of the file, taken with flags, intent and the ID itself as zeros.
func (p *Profile) checkID() {
	id := p.data[84:100]
	if bytes.Equal(id, make([]byte, 16)) {
		return
	}
	if p.Major < 4 {
		p.note(84, 0, "bytes that version 2 reserves are not zero")
		return
	}
	h := md5.New()
	var zero [16]byte
	for _, part := range [...][]byte{p.data[:44], zero[:4], p.data[48:64], zero[:4], p.data[68:84], zero[:], p.data[100:]} {
		h.Write(part)
	}
	p.ID = IDRight
	if !bytes.Equal(h.Sum(nil), id) {
		p.ID = IDWrong
		p.note(84, 0, "the profile ID is not the MD5 of this file: it was changed after it was made")
	}
}

func abs(v float64) float64 { return max(v, -v) }
