package app

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"time"

	"example.org/plumb/patterns/report"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/record"
	"example.org/plumb/web/seal"
)

// Kinds of letters about pictures.
const (
	roundLetter    = seal.Kind("round")    // of the owner to whoever has the link: new versions
	decisionLetter = seal.Kind("decision") // back
)

// proofs is the revision of letters that hold something of a proof: programs that know only of checks refuse them by their number.
const proofs = 2

// Bounds of a proof. All its letters together stay far below seal.MaxLetter.
const (
	mostPictures = 24                 // in a round
	mostBytes    = mailbox.MaxBox / 2 // of pictures in a round, so that a second round finds room
)

var (
	errProof      = errors.New("what it says of its pictures does not hold together")
	errRound      = errors.New("it does not follow on the round before it")
	errSignedElse = errors.New("it was signed by somebody else")
)

// A proof is what an ask says of pictures that are to be decided on.
type proof struct {
	Request []byte   `json:"request"` // record.Request, signed by the asker
	Parcels []parcel `json:"parcels"` // one for each of its pictures, in their order
}

// A parcel is a picture in the box of its request.
type parcel struct {
	Name []byte `json:"name"` // 16 bytes
	Key  []byte `json:"key"`  // 32 bytes: seal.Key
}

// says tells whether an ask's words are those of a signed request.
func (k *ask) says(r record.Request) bool {
	return r.Title == record.Tidy(k.Title, record.MaxText) && r.From == record.Tidy(k.From, record.MaxText) && r.Note == record.Tidy(k.Note, record.MaxNote)
}

// read returns what was asked: the signed text, held against the box whose it is.
func (p *proof) read(box [16]byte) (record.Request, error) {
	r, err := record.ReadRequest(p.Request)
	if err != nil {
		return record.Request{}, err
	}
	return r, p.fits(r, box)
}

// fits holds a signed request against the box and the parcels that it lies with.
func (p *proof) fits(r record.Request, box [16]byte) error {
	if r.Place != box || len(r.Pictures) == 0 || len(r.Pictures) > mostPictures || len(p.Parcels) != len(r.Pictures) {
		return errProof
	}
	for _, x := range p.Parcels {
		if len(x.Name) != len(seal.Parcel{}) || len(x.Key) != len(seal.Key{}) {
			return errProof
		}
	}
	for _, x := range r.Pictures {
		if x.Size <= 0 || x.Size > mailbox.MaxParcel || x.Width <= 0 || x.Height <= 0 {
			return errProof
		}
	}
	return nil
}

// A following is a later round of a proof: what is asked now. It is sealed to the link's key and lies in the same box.
type following struct {
	Version int `json:"version"`
	proof
}

// readRound reads what pack wrote of a round, and holds it against the signed text of the one before it: the same box, the same signer, the next number.
func readRound(b []byte, before []byte) (*proof, record.Request, error) {
	head, rest, err := unpack(b, proofs)
	if err != nil {
		return nil, record.Request{}, err
	}
	var w following
	if json.Unmarshal(head, &w) != nil || len(rest) > 0 {
		return nil, record.Request{}, errLetter
	}
	last, err := record.ReadRequest(before)
	if err != nil {
		return nil, record.Request{}, err
	}
	next, err := w.read(last.Place)
	switch {
	case err != nil:
		return nil, record.Request{}, err
	case next.Asker != last.Asker:
		return nil, record.Request{}, errSignedElse
	case next.Round != last.Round+1, next.Earlier != record.Digest(before):
		return nil, record.Request{}, errRound
	}
	return &w.proof, next, nil
}

// packRound writes the inside of a round's letter.
func packRound(p proof) ([]byte, error) { return pack(following{proofs, p}, nil) }

// A decision is what comes back for pictures.
type decision struct {
	record []byte // record.Statement, signed
	report []byte // of the sitting that it names, as it was sent; empty where the screen was not checked
	model  []byte // study.Model, packed; empty where the screen was not checked
}

// decisionHead is the line of JSON before the three. What is left of the letter's inside is the record.
type decisionHead struct {
	Version int `json:"version"`
	Record  int `json:"record"` // bytes
	Report  int `json:"report"`
	Model   int `json:"model"`
}

// decisionMost is more than any signed record has that the program writes, in bytes.
const decisionMost = 256 << 10

// packDecision writes the inside of a decision's letter.
func packDecision(d decision) ([]byte, error) {
	all := append(append(append([]byte(nil), d.record...), d.report...), d.model...)
	return pack(decisionHead{proofs, len(d.record), len(d.report), len(d.model)}, all)
}

// readDecision reads what packDecision wrote. Whether the record stands is another question: see stands.
func readDecision(b []byte) (decision, error) {
	head, rest, err := unpack(b, proofs)
	if err != nil {
		return decision{}, err
	}
	var h decisionHead
	if json.Unmarshal(head, &h) != nil || h.Record <= 0 || h.Report < 0 || h.Model < 0 {
		return decision{}, errLetter
	}
	if h.Record > decisionMost || h.Report > recordMost || h.Model > study.MostModel {
		return decision{}, errLetterLarge
	}
	if len(rest) != h.Record+h.Report+h.Model {
		return decision{}, errLetter
	}
	return decision{rest[:h.Record:h.Record], rest[h.Record : h.Record+h.Report : h.Record+h.Report], rest[h.Record+h.Report:]}, nil
}

// stands reads the record of a decision and holds it against all that came with it and against the request that it must be about: its signed text.
func (d *decision) stands(request []byte) (record.Record, error) {
	asked, err := record.ReadRequest(request)
	if err != nil {
		return record.Record{}, err
	}
	r, err := record.Read(d.record)
	if err != nil {
		return record.Record{}, err
	}
	beside := record.Beside{Place: &asked.Place, Asker: &asked.Asker, Request: request}
	if len(d.report) > 0 {
		beside.Report = d.report
	}
	if len(d.model) > 0 {
		beside.Model = d.model
	}
	if err := r.Check(beside); err != nil {
		return record.Record{}, err
	}
	// What the record names has to be there, and what is there has to be named.
	checked := r.Screen.Report != [32]byte{}
	switch {
	case checked != (len(d.report) > 0):
		return record.Record{}, record.ErrReport
	case (r.Screen.Model != [32]byte{}) != (len(d.model) > 0):
		return record.Record{}, record.ErrModel
	}
	if checked {
		told, err := report.Read(d.report)
		if err != nil {
			return record.Record{}, err
		}
		// A record claims no more than the report that goes with it.
		if !tells(told, r.Screen) {
			return record.Record{}, record.ErrReport
		}
	}
	if len(d.model) > 0 {
		if _, err := study.Unpack(d.model); err != nil {
			return record.Record{}, err
		}
	}
	return r, nil
}

// tells reports whether a record says of its screen what a report does.
func tells(r report.Record, s record.Screen) bool {
	want := screenOf(r)
	return want.Name == s.Name && want.Ended.Equal(s.Ended) && slices.Equal(want.Fitness, s.Fitness)
}

// screenOf is what a record says of the screen that a report is about, but for the digests.
func screenOf(r report.Record) record.Screen {
	s := record.Screen{Name: record.Tidy(r.Conditions.Screen, record.MaxText), Ended: time.UnixMilli(r.Conditions.Ended).UTC().Truncate(time.Second)}
	for _, purpose := range record.Purposes {
		verdict := report.NotChecked
		for _, p := range r.Purposes {
			if strings.EqualFold(p.Name, purpose) && len(r.Void) == 0 {
				verdict = p.Verdict
			}
		}
		s.Fitness = append(s.Fitness, record.Fit{Purpose: purpose, Verdict: verdict.String()})
	}
	return s
}
