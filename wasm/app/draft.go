package app

import (
	"crypto/ed25519"
	"encoding/json"
	"slices"
	"strings"

	"example.org/plumb/web/record"
)

// Decisions is the drawer of what is decided in this browser about pictures. By request: what is in work, with the key that signs; by request, "/" and letter: a record.
const Decisions = "decisions"

// A draft is what the person at this browser thinks of the pictures of a request, as it is kept.
type draft struct {
	Version int      `json:"version"`
	Seed    []byte   `json:"seed"` // of the Ed25519 key (RFC 8032) that signs for this request, 32 bytes
	Name    string   `json:"name"` // of who decides, as typed
	Chosen  bool     `json:"chosen"`
	Sitting string   `json:"sitting,omitempty"` // whose check was chosen to look with; empty: none
	Whole   bool     `json:"whole"`             // every answer of it goes along
	Sheets  []*sheet `json:"sheets"`            // by round, the first first

	request string
}

// A sheet is a draft's part about one round.
type sheet struct {
	Request  string          `json:"request"` // record.Digest of the signed text
	Round    int             `json:"round"`
	At       int             `json:"at"` // which picture hangs
	Pictures []leaf          `json:"pictures"`
	All      record.Decision `json:"all,omitempty"`
	Changing bool            `json:"changing,omitempty"` // a record of it was signed, and another is in work
}

// A leaf is what is thought of one picture.
type leaf struct {
	Name     string          `json:"name"`
	Decision record.Decision `json:"decision,omitempty"`
	On       string          `json:"on,omitempty"`     // the screen it was decided on: see viewing.on
	Hidden   []record.Hidden `json:"hidden,omitempty"` // of the screen HidOn; empty where not known
	HidOn    string          `json:"hidOn,omitempty"`
	Notes    []note          `json:"notes,omitempty"`
	Last     int             `json:"last,omitempty"` // the number of the last note
}

type note struct {
	N      int    `json:"n"`
	X      int    `json:"x"`
	Y      int    `json:"y"`
	Width  int    `json:"width,omitempty"`
	Height int    `json:"height,omitempty"`
	Text   string `json:"text"`
}

func (n note) area() area { return area{n.X, n.Y, n.Width, n.Height} }

func (d *draft) valid() bool {
	if d.Version < 1 || d.Version > proofed || len(d.Seed) != ed25519.SeedSize {
		return false
	}
	for _, s := range d.Sheets {
		if s == nil || len(s.Pictures) == 0 || s.At < 0 || s.At >= len(s.Pictures) {
			return false
		}
	}
	return true
}

func (d *draft) key() ed25519.PrivateKey { return ed25519.NewKeyFromSeed(d.Seed) }

// sheet is the part about a round, which is begun where there is none.
func (d *draft) sheet(request []byte, asked record.Request) *sheet {
	digest := record.Digest(request)
	id := encoded(digest[:])
	for _, s := range d.Sheets {
		if s.Request == id && len(s.Pictures) == len(asked.Pictures) {
			return s
		}
	}
	s := &sheet{Request: id, Round: asked.Round, Pictures: make([]leaf, len(asked.Pictures))}
	for i, p := range asked.Pictures {
		s.Pictures[i].Name = p.Name
	}
	d.Sheets = append(slices.DeleteFunc(d.Sheets, func(x *sheet) bool { return x.Request == id }), s)
	return s
}

// begun tells whether a round was looked at.
func (d *draft) begun(request []byte) bool {
	digest := record.Digest(request)
	return slices.ContainsFunc(d.Sheets, func(s *sheet) bool { return s.Request == encoded(digest[:]) })
}

// A signed decision is kept before it is sent, under a name that is chosen once: however often it is sent, it is there once.
type signed struct {
	Version int    `json:"version"`
	Record  []byte `json:"record"` // signed text
	Made    int64  `json:"made"`   // ms since 1970 UTC
	Whole   bool   `json:"whole"`  // every answer went along
	Sealed  []byte `json:"sealed,omitempty"`
	State   string `json:"state"`
	Sent    int64  `json:"sent"` // ms since 1970 UTC: when it was delivered

	request, id string
	said        string // why it is not delivered, in words
	read        record.Record
}

func (s *signed) key() string { return s.request + "/" + s.id }

// takeDecision reads a row of the drawer. What cannot be used is left alone.
func (m *mail) takeDecision(row Row, was *mail) {
	request, id, ok := strings.Cut(row.Key, "/")
	if b, err := decoded(request); err != nil || len(b) != 16 {
		return
	}
	if !ok {
		d := &draft{request: request}
		if json.Unmarshal(row.Value, d) != nil || !d.valid() {
			return
		}
		if old := was.drafts[request]; old != nil {
			d = old
		}
		if m.drafts == nil {
			m.drafts = map[string]*draft{}
		}
		m.drafts[request] = d
		return
	}
	s := &signed{request: request, id: id}
	b, err := decoded(id)
	if err != nil || len(b) != 16 || json.Unmarshal(row.Value, s) != nil || s.Version < 1 || s.Version > proofed {
		return
	}
	if s.read, err = record.Read(s.Record); err != nil {
		return
	}
	for _, old := range was.signed {
		if old.key() == s.key() {
			s = old
		}
	}
	m.signed = append(m.signed, s)
}

// signedFor is the records that were signed here for a request, the latest last.
func (m *mail) signedFor(request string) []*signed {
	var list []*signed
	for _, s := range m.signed {
		if s.request == request {
			list = append(list, s)
		}
	}
	slices.SortStableFunc(list, func(x, y *signed) int { return int(min(max(x.Made-y.Made, -1), 1)) })
	return list
}

// latest is the last record that was signed here about a round; nil where there is none.
func (m *mail) latest(request string, round []byte) *signed {
	list := m.signedFor(request)
	for i := len(list) - 1; i >= 0; i-- {
		if string(list[i].read.Request) == string(round) {
			return list[i]
		}
	}
	return nil
}

// draftOf is what is thought of a request, which is begun, with a key of its own, where there is nothing yet.
func (a *App) draftOf(g *given) *draft {
	id := g.Ask.name()
	if d := a.mail.drafts[id]; d != nil {
		return d
	}
	d := &draft{Version: proofed, Seed: chance(ed25519.SeedSize), Name: a.signer(), request: id}
	if a.mail.drafts == nil {
		a.mail.drafts = map[string]*draft{}
	}
	a.mail.drafts[id] = d
	return d
}

// signer is the name that was given last by whoever decides or checks in this browser; empty where none was.
func (a *App) signer() string {
	var last *signed
	for _, s := range a.mail.signed {
		if last == nil || s.Made > last.Made {
			last = s
		}
	}
	if last != nil {
		return last.read.Name
	}
	if a.form.viewer != "" {
		return record.Tidy(a.form.viewer, record.MaxText)
	}
	for _, x := range a.shelf.sittings {
		if x.Conditions.Viewer != "" {
			return record.Tidy(x.Conditions.Viewer, record.MaxText)
		}
	}
	return ""
}

func (a *App) keepDraft() {
	d := a.viewing.draft
	if !a.held[a.viewing.lock()] {
		return // what another tab keeps stands; it is written once this tab has the pictures
	}
	a.write(Row{Decisions, d.request, encode(d)})
}

// said are the notes that say something.
func said(list []note) []note {
	return slices.DeleteFunc(slices.Clone(list), func(n note) bool { return record.Tidy(n.Text, record.MaxNote) == "" })
}

// signedOf is the signed decision of a key; nil where there is none.
func (m *mail) signedOf(key string) *signed {
	for _, s := range m.signed {
		if s.key() == key {
			return s
		}
	}
	return nil
}
