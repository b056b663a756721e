package icc

// readTable reads the tag table (ICC.1:2022, 7.3). Data may be shared by tags as a whole. Data that overlap in part are a fault where
// colours rest on both, and else a note.
func (p *Profile) readTable() *Fault {
	v := view{data: p.data}
	count := v.u32(128)
	if count > MaxTags {
		return faultAt(128, "%d tags; more than %d are not read", count, MaxTags)
	}
	n := int(count)
	if room := (len(p.data) - 132) / 12; n > room {
		return faultAt(128, "%d tags, and the profile has room for %d", n, room)
	}
	end := 132 + 12*n
	p.Tags = make([]Tag, 0, n)
	for i := range n {
		at := 132 + 12*i
		name, offset, size := v.signature(at), v.u32(at+4), v.u32(at+8)
		if _, ok := p.Tag(name); ok {
			return &Fault{at, name, "the tag stands in the table twice"}
		}
		if uint64(offset)+uint64(size) > uint64(len(p.data)) {
			f := faultAt(at+4, "%d bytes from byte %d on, and the profile ends at %d", size, offset, len(p.data))
			f.Tag = name
			return f
		}
		if int(offset) < end {
			f := faultAt(at+4, "its data begin at byte %d, within header and tag table, which end at %d", offset, end)
			f.Tag = name
			return f
		}
		if size < 8 {
			f := faultAt(at+8, "%d bytes; a type and four reserved bytes take 8", size)
			f.Tag = name
			return f
		}
		if offset%4 != 0 && len(p.Notes) < 16 {
			p.note(at+4, name, "its data begin at byte %d, which is no multiple of 4", offset)
		}
		t := Tag{Name: name, view: v.part(int(offset), int(size))}
		t.Type = t.view.signature(0)
		p.Tags = append(p.Tags, t)
	}
	for _, n := range []string{"D2B0", "D2B1", "D2B2", "D2B3"} {
		if t, ok := p.Tag(sig(n)); ok {
			p.note(t.Offset(), t.Name, "multi-process elements are not read; what there is of tables or curves is used in their place")
		}
	}
	for i, a := range p.Tags {
		for _, b := range p.Tags[:i] {
			if a.Offset() == b.Offset() && a.Size() == b.Size() {
				continue
			}
			if a.Offset() < b.Offset()+b.Size() && b.Offset() < a.Offset()+a.Size() {
				later, other := a, b
				if b.Offset() > a.Offset() {
					later, other = b, a
				}
				f := Fault{later.Offset(), later.Name, "its data overlap those of tag " + other.Name.String() + " in part"}
				one, _ := checkOf(a.Name)
				two, _ := checkOf(b.Name)
				if one.colours && two.colours {
					return &f
				}
				// Some makers save bytes by letting texts run into what follows.
				if len(p.Notes) < 16 {
					p.Notes = append(p.Notes, f)
				}
			}
		}
	}
	return nil
}

// A check reads a tag's data in full and says what is broken.
type check struct {
	colours bool // colours rest on it: a fault keeps the profile from being used
	check   func(*Profile, Tag) *Fault
}

// checkOf returns the check of a tag, and none for one that nothing here rests on.
func checkOf(name Signature) (check, bool) {
	whole := func(colours bool, read func(view) *Fault) (check, bool) {
		return check{colours, func(_ *Profile, t Tag) *Fault { return read(t.view) }}, true
	}
	switch n := name.String(); n {
	case "desc", "cprt", "dmnd", "dmdd":
		return whole(false, func(v view) *Fault {
			x, f := readText(v)
			if f == nil && x.short != "" {
				f = v.fault(0, "%s", x.short)
			}
			return f
		})
	case "wtpt", "rXYZ", "gXYZ", "bXYZ", "lumi":
		return whole(true, func(v view) *Fault { _, f := readXYZ(v); return f })
	case "rTRC", "gTRC", "bTRC", "kTRC":
		return whole(true, func(v view) *Fault { _, _, f := readCurve(v); return f })
	case "A2B0", "A2B1", "A2B2", "B2A0", "B2A1", "B2A2":
		return check{true, func(p *Profile, t Tag) *Fault {
			l, f := readLUT(t.view)
			if f != nil {
				return f
			}
			in, out := p.Space.Channels(), p.Connection.Channels()
			if n[0] == 'B' {
				in, out = out, in
			}
			if l.in != in || l.out != out {
				return t.view.fault(8, "the table has %d channels in and %d out, and the header asks for %d and %d", l.in, l.out, in, out)
			}
			return nil
		}}, true
	case "chad":
		return whole(true, func(v view) *Fault { _, f := readMatrix(v); return f })
	case "vcgt":
		return whole(true, func(v view) *Fault { _, f := readCorrection(v); return f })
	case "cicp":
		return whole(true, func(v view) *Fault { _, f := readCICP(v); return f })
	case "meta":
		return whole(false, func(v view) *Fault { _, f := readDict(v); return f })
	case "calt":
		return whole(false, func(v view) *Fault { _, f := readTime(v); return f })
	case "tech":
		return whole(false, func(v view) *Fault { _, f := readSignature(v); return f })
	}
	return check{}, false
}
