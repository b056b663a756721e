package app

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"slices"

	"example.org/plumb/wasm/study"
)

// Kinds of papers.
const (
	profilePaper  = "profile"
	readingsPaper = "readings"
)

// papers is the revision of a paper's rows.
const papers = 1

// mostFile is the most bytes of a file that are kept with its paper. A larger file is known by what was found in it alone.
const mostFile = 4 << 20

// A paper is a profile, or readings, that was laid beside a screen. What was found in the file is kept, and the file itself in a row of its own, which is fetched when it
// is asked for.
type paper struct {
	Version int         `json:"version"`
	ID      string      `json:"id"`
	Screen  string      `json:"screen,omitempty"` // as report.Conditions has it
	Mode    string      `json:"mode,omitempty"`
	Kind    string      `json:"kind"` // profile, readings
	Name    string      `json:"name"` // of the file
	Kept    int64       `json:"kept"` // ms since 1970 UTC
	Digest  string      `json:"digest"`
	Size    int64       `json:"size"`
	Whole   bool        `json:"whole,omitempty"` // the file is kept too
	Paper   study.Paper `json:"paper"`

	File []byte `json:"-"` // nil until it was fetched
}

// readable tells whether a row holds what it should.
func (p *paper) readable(key string) bool {
	switch p.Kind {
	case profilePaper:
		return p.ID == key && p.Paper.Profile != nil
	case readingsPaper:
		return p.ID == key && p.Paper.Readings != nil
	}
	return false
}

// A keptFile is the row of a file.
type keptFile struct {
	Version int    `json:"version"`
	ID      string `json:"id"`
	Bytes   []byte `json:"bytes"`
}

// Why a file is not there.
var (
	errNoFile   = errors.New("it was too large to be kept here")
	errFileGone = errors.New("it is not in this browser any more")
	errFileOdd  = errors.New("what was kept of it is damaged")
)

// keepPaper keeps a paper, and its file where p.File is set and not too large: both or neither. It fills in version, id, kind and time, and digest and size from what was
// found. The same file beside the same screen takes the place of what was found in it before. Then, where not nil, is told once it is written, or that it cannot be.
func (a *App) keepPaper(p *paper, then func(error)) {
	p.Version, p.Kind = papers, readingsPaper
	if p.Paper.Profile != nil {
		p.Kind = profilePaper
	}
	p.Screen, p.Mode, p.Name = line(p.Screen), line(p.Mode), line(p.Name)
	p.Digest, p.Size = hex.EncodeToString(p.Paper.Digest[:]), p.Paper.Size
	p.Whole = len(p.File) > 0 && len(p.File) <= mostFile
	p.ID = paperID(p)
	p.Kept = a.host.Clock.Wall().UnixMilli()
	if was := a.journal.book.paper(p.ID); was != nil {
		p.Kept = was.Kept // when it came, whatever was found in it since
	}
	rows := []Row{{Papers, p.ID, encode(p)}}
	if p.Whole {
		rows = append(rows, Row{Files, p.ID, encode(keptFile{papers, p.ID, p.File})})
	}
	if !a.shelf.asked {
		a.shelf.asked = true
		a.host.Shelf.Persist()
	}
	a.attempt(func(err error) {
		if err == nil {
			b := &a.journal.book
			b.papers = slices.DeleteFunc(b.papers, func(q *paper) bool { return q.ID == p.ID })
			b.papers = slices.Insert(b.papers, 0, p)
		}
		if then != nil {
			then(err)
		}
	}, rows...)
}

// paperID names a file beside a screen: the same file there again has the same name.
func paperID(p *paper) string {
	sum := sha256.Sum256([]byte(p.Digest + "\x00" + screenMode{p.Screen, p.Mode}.key()))
	return hex.EncodeToString(sum[:12])
}

// paper finds a paper; nil where there is none.
func (b *book) paper(id string) *paper {
	for _, p := range b.papers {
		if p.ID == id {
			return p
		}
	}
	return nil
}

// papersOf are the papers of a screen in one of its modes, the latest first: those of the journal's chapter in which that name counts.
func (a *App) papersOf(screen, mode string) []*paper {
	v := owner(a.journal.book.volumes(nil), screenMode{screen, mode})
	if v == nil {
		return nil
	}
	list := slices.Clone(v.papers)
	slices.Reverse(list)
	return list
}

// paperFile passes on the bytes of a paper's file, or why they are not there.
func (a *App) paperFile(p *paper, then func([]byte, error)) {
	switch {
	case p.File != nil:
		then(p.File, nil)
	case !p.Whole:
		then(nil, errNoFile)
	default:
		a.getRow(Files, p.ID, func(value []byte, err error) {
			if err != nil {
				then(nil, err)
				return
			}
			b, err := fileOf(p, value)
			then(b, err)
		})
	}
}

// fileOf reads the row of a paper's file. What is not the file that the paper is about is damaged.
func fileOf(p *paper, value []byte) ([]byte, error) {
	if value == nil {
		return nil, errFileGone
	}
	var f keptFile
	if json.Unmarshal(value, &f) != nil || f.Version < 1 || f.ID != p.ID {
		return nil, errFileOdd
	}
	if sum := sha256.Sum256(f.Bytes); hex.EncodeToString(sum[:]) != p.Digest {
		return nil, errFileOdd
	}
	return f.Bytes, nil
}

// getRow passes on one row of the shelf; nil where there is none.
func (a *App) getRow(drawer, key string, then func([]byte, error)) {
	s := &a.shelf
	if s.fetching == nil {
		s.fetching = map[string][]func([]byte, error){}
	}
	at := drawer + "/" + key
	s.fetching[at] = append(s.fetching[at], then)
	if len(s.fetching[at]) == 1 {
		a.host.Shelf.Fetch(drawer, key)
	}
}

// Fetched takes the answer to Fetch.
func (a *App) Fetched(drawer, key string, value []byte, err error) {
	at := drawer + "/" + key
	list := a.shelf.fetching[at]
	delete(a.shelf.fetching, at)
	for _, then := range list {
		then(value, err)
	}
}
