package app

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"slices"
	"strings"
	"time"

	"example.org/plumb/patterns/report"
)

// chapters is the revision of a chapter's row.
const chapters = 1

// never is the interval of a screen that is never due.
const never = -1

// A screenMode names a screen in one of its modes, as report.Conditions has them.
type screenMode struct {
	Screen string `json:"screen,omitempty"`
	Mode   string `json:"mode,omitempty"`
}

// key is what two names have in common that mean the same: capitals and blanks do not tell screens apart.
func (n screenMode) key() string {
	return strings.ToLower(line(n.Screen)) + "\x00" + strings.ToLower(line(n.Mode))
}

// called is the name as it is shown.
func (n screenMode) called() string {
	return title(seen(n.Screen)) + when(n.Mode != "", ", "+seen(n.Mode))
}

// A chapter of the journal is one screen in one of its modes. Its row holds what a person decided about it and nothing else; without a row it has what bears its name.
// Records are never written anew: what they are called and where they belong are two things.
type chapter struct {
	Version int    `json:"version"`
	ID      string `json:"id"`
	screenMode
	Counts   []screenMode `json:"counts"`             // the names under which sittings and papers count as it
	Sittings []string     `json:"sittings,omitempty"` // ids of those put here by hand, whatever they are called
	Papers   []string     `json:"papers,omitempty"`   // the same of papers
	Baseline string       `json:"baseline,omitempty"` // id of the sitting that others are held against; empty: the first that can be used
	Interval int          `json:"interval,omitempty"` // days from one look to the next, or never; 0: nobody said
	Changed  int64        `json:"changed"`            // ms since 1970 UTC
}

// readable tells whether a row holds what it should.
func (c *chapter) readable(key string) bool {
	return c.ID == key && len(c.Counts) > 0 && c.Interval >= never && c.Interval <= mostInterval
}

// mostInterval is the longest interval in days that is kept.
const mostInterval = 3660

// counts tells whether what bears a name counts as the chapter.
func (c *chapter) counts(key string) bool {
	return slices.ContainsFunc(c.Counts, func(n screenMode) bool { return n.key() == key })
}

// add lets a name count as the chapter.
func (c *chapter) add(n screenMode) {
	if !c.counts(n.key()) {
		c.Counts = append(c.Counts, n)
	}
}

// join adds what is not in a list yet.
func join(list, more []string) []string {
	for _, s := range more {
		if !slices.Contains(list, s) {
			list = append(list, s)
		}
	}
	return list
}

// less is a list without one of its entries.
func less(list []string, s string) []string {
	return slices.DeleteFunc(slices.Clone(list), func(t string) bool { return s == t })
}

// copied is a chapter that shares nothing with this one.
func (c *chapter) copied() *chapter {
	d := *c
	d.Counts, d.Sittings, d.Papers = slices.Clone(c.Counts), slices.Clone(c.Sittings), slices.Clone(c.Papers)
	return &d
}

// An oddity is a row that cannot be read. It stays as it is.
type oddity struct {
	Row
	newer bool // a newer version of the program wrote it
}

// A book is what the journal keeps beside the sittings.
type book struct {
	chapters []*chapter // that have rows, by id
	papers   []*paper   // the latest first
	odd      []oddity
}

// bookOf reads the rows of the journal's drawers and leaves all others alone. A program that does no more than checks knows nothing of papers.
func bookOf(rows []Row) book {
	var b book
	for _, row := range rows {
		if row.Drawer != Screens && (row.Drawer != Papers || !Whole) {
			continue
		}
		var head struct {
			Version int `json:"version"`
		}
		err := json.Unmarshal(row.Value, &head)
		newest := chapters
		if row.Drawer == Papers {
			newest = papers
		}
		switch {
		case err == nil && head.Version > newest:
			b.odd = append(b.odd, oddity{row, true})
			continue
		case err != nil || head.Version < 1:
		case row.Drawer == Screens:
			c := new(chapter)
			if json.Unmarshal(row.Value, c) == nil && c.readable(row.Key) {
				b.chapters = append(b.chapters, c)
				continue
			}
		case Whole:
			p := new(paper)
			if json.Unmarshal(row.Value, p) == nil && p.readable(row.Key) {
				b.papers = append(b.papers, p)
				continue
			}
		}
		b.odd = append(b.odd, oddity{row, false})
	}
	b.order()
	return b
}

// order puts chapters in the order of their ids and papers with the latest first.
func (b *book) order() {
	slices.SortStableFunc(b.chapters, func(x, y *chapter) int { return cmp.Compare(x.ID, y.ID) })
	slices.SortStableFunc(b.papers, func(x, y *paper) int { return cmp.Compare(y.Kept, x.Kept) })
}

// newer tells whether a newer version wrote what the chapters are: then they are not to be changed by this one.
func (b *book) newer() bool {
	return slices.ContainsFunc(b.odd, func(o oddity) bool { return o.newer && o.Drawer == Screens })
}

// A volume is a chapter with all that belongs to it.
type volume struct {
	*chapter           // its row, or what would stand in it
	kept     bool      // it has a row
	sittings []*stored // the earliest first
	papers   []*paper  // the earliest first
}

// volumes puts every sitting, the latest first, and every paper where it belongs: where it was put by hand, else where its name counts, else into a chapter of its own name. Of two
// rows that claim the same the first by id has it. The screen looked at last comes first, and with it all of its modes.
func (b *book) volumes(sittings []*stored) []*volume {
	var list []*volume
	byKey, bySitting, byPaper := map[string]*volume{}, map[string]*volume{}, map[string]*volume{}
	ids := map[string]bool{}
	claim := func(m map[string]*volume, key string, v *volume) {
		if m[key] == nil {
			m[key] = v
		}
	}
	for _, c := range b.chapters {
		v := &volume{chapter: c, kept: true}
		list, ids[c.ID] = append(list, v), true
		for _, n := range c.Counts {
			claim(byKey, n.key(), v)
		}
		for _, id := range c.Sittings {
			claim(bySitting, id, v)
		}
		for _, id := range c.Papers {
			claim(byPaper, id, v)
		}
	}
	named := func(n screenMode) *volume {
		n = screenMode{line(n.Screen), line(n.Mode)}
		key := n.key()
		if byKey[key] == nil {
			c := &chapter{Version: chapters, ID: chapterID(key), screenMode: n, Counts: []screenMode{n}}
			for ids[c.ID] { // a chapter that does not count this name any more
				c.ID += "x"
			}
			ids[c.ID] = true
			byKey[key] = &volume{chapter: c}
			list = append(list, byKey[key])
		}
		return byKey[key]
	}
	for _, x := range slices.Backward(sittings) { // a chapter is called what its first sitting was
		if !x.tells() {
			continue
		}
		v := bySitting[x.ID]
		if v == nil {
			c := x.told()
			v = named(screenMode{c.Screen, c.Mode})
		}
		v.sittings = append(v.sittings, x)
	}
	for _, p := range slices.Backward(b.papers) {
		v := byPaper[p.ID]
		if v == nil {
			v = named(screenMode{p.Screen, p.Mode})
		}
		v.papers = append(v.papers, p)
	}
	latest := map[string]int64{} // by the name of a screen
	for _, v := range list {
		slices.SortStableFunc(v.sittings, func(x, y *stored) int { return cmp.Compare(x.ended(), y.ended()) })
		slices.SortStableFunc(v.papers, func(x, y *paper) int { return cmp.Compare(x.Kept, y.Kept) })
		name := screenMode{Screen: v.Screen}.key()
		latest[name] = max(latest[name], v.last())
	}
	slices.SortStableFunc(list, func(x, y *volume) int {
		xn, yn := screenMode{Screen: x.Screen}.key(), screenMode{Screen: y.Screen}.key()
		return cmp.Or(cmp.Compare(latest[yn], latest[xn]), cmp.Compare(xn, yn), cmp.Compare(y.last(), x.last()), cmp.Compare(x.ID, y.ID))
	})
	return list
}

// owner is the chapter in which a name counts; nil for none.
func owner(list []*volume, n screenMode) *volume {
	var v *volume
	for _, x := range list {
		if x.counts(n.key()) && (v == nil || x.ID < v.ID) {
			v = x
		}
	}
	return v
}

// chapterID is the id that a chapter gets with its first row: the same in every tab and browser.
func chapterID(key string) string {
	sum := sha256.Sum256([]byte(key))
	return hex.EncodeToString(sum[:8])
}

// last is when something was last found of it, ms since 1970 UTC; 0 for never.
func (v *volume) last() int64 {
	t := int64(0)
	for _, x := range v.sittings {
		t = max(t, x.ended())
	}
	for _, p := range v.papers {
		t = max(t, p.Kept)
	}
	return t
}

// looked is when a sitting at it last came to a report, ms since 1970 UTC; 0 for never.
func (v *volume) looked() int64 {
	t := int64(0)
	for _, x := range v.sittings {
		if x.over() {
			t = max(t, x.ended())
		}
	}
	return t
}

// due is when the next look is due, and whether one ever is.
func (v *volume) due(zone *time.Location) (time.Time, bool) {
	looked := v.looked()
	if v.Interval <= 0 || looked == 0 {
		return time.Time{}, false
	}
	return time.UnixMilli(looked).In(zone).AddDate(0, 0, v.Interval), true
}

// named tells whether a chapter bears or counts a name.
func (v *volume) named(n screenMode) bool { return v.screenMode.key() == n.key() || v.counts(n.key()) }

// ended is when a sitting ended, or was last touched: ms since 1970 UTC.
func (s *stored) ended() int64 { return cmp.Or(s.told().Ended, s.Touched) }

// told is the conditions of a sitting. Where what was kept of it is damaged, its record tells them, if that can be read.
func (s *stored) told() report.Conditions {
	if s.broken != "" {
		if r := s.read(); r != nil {
			return r.Conditions
		}
	}
	return s.Conditions
}

// tells tells whether anything can be told of a sitting in the journal.
func (s *stored) tells() bool { return s.broken == "" || s.read() != nil }

// over tells whether a sitting has come to a report, be it taken further since.
func (s *stored) over() bool {
	return s.broken == "" && len(s.record) > 0 || s.broken != "" && s.read() != nil
}

// read is the record of a sitting, read once; nil where there is none that can be read.
func (s *stored) read() *report.Record {
	if s.reading != nil && string(s.reading.of) == string(s.record) {
		return s.reading.record
	}
	s.reading = &reading{of: s.record}
	if len(s.record) > 0 {
		if r, err := report.Read(s.record); err == nil {
			s.reading.record = &r
		} else {
			s.reading.err = err
		}
	}
	return s.reading.record
}

// A reading is what came of reading a record.
type reading struct {
	of     []byte
	record *report.Record
	err    error
}
