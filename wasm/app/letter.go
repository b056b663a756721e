package app

import (
	"bytes"
	"encoding/json"
	"errors"
	"strings"
	"time"
	"unicode"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/web/link"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/seal"
)

// Kinds of letters.
const (
	requestLetter = seal.Kind("request")
	answerLetter  = seal.Kind("answer")
	ownerLetter   = seal.Kind("owner") // to the owner's desk elsewhere
)

// letters is the revision of what stands in letters about checks; proofs is that of letters about pictures, and the newest there is.
const letters = 1

// Why the inside of a letter is not taken.
var (
	errLetterNewer = errors.New("it was written by a newer version of this program; load the page again to get that version")
	errLetterLarge = errors.New("its report is larger than any that this program writes")
	errLetter      = errors.New("it is not laid out as a letter of this program")
)

// An ask is what a request says to the person who is asked. A link that carries it whole has the name and the key beside it.
type ask struct {
	Version int          `json:"version"`
	ID      []byte       `json:"id,omitempty"` // 16 bytes: the box's address, or the name that link.Request gives it
	Title   string       `json:"title"`
	Note    string       `json:"note,omitempty"`
	From    string       `json:"from,omitempty"`
	Length  check.Length `json:"length"`
	Aim     string       `json:"aim"`
	Expires int64        `json:"expires"`      // ms since 1970 UTC
	To      []byte       `json:"to,omitempty"` // what the answer is sealed with: seal.Public
	Proof   *proof       `json:"proof,omitempty"`
}

// name is the request's id as text.
func (k *ask) name() string { return encoded(k.ID) }

// at is the id as seal.Place takes it.
func (k *ask) at() [16]byte { return [16]byte(k.ID) }

// lasts takes the last day of an ask's box, and tells whether that is another than its own. The time of day stays.
func (k *ask) lasts(b mailbox.Box) bool {
	own := time.UnixMilli(k.Expires)
	if by := b.Expires.Sub(mailbox.Day(own)); by != 0 {
		k.Expires = own.Add(by).UnixMilli()
		return true
	}
	return false
}

// readAsk reads what pack wrote of an ask.
func readAsk(b []byte) (ask, error) {
	head, rest, err := unpack(b, proofs)
	if err != nil {
		return ask{}, err
	}
	var k ask
	if json.Unmarshal(head, &k) != nil || len(rest) > 0 {
		return ask{}, errLetter
	}
	return k, k.check()
}

// askOf reads a request that a link carries whole.
func askOf(l link.Request) (ask, error) {
	if err := revised(l.Body, letters); err != nil {
		return ask{}, err
	}
	var k ask
	if json.Unmarshal(l.Body, &k) != nil {
		return ask{}, errLetter
	}
	if k.Proof != nil { // pictures travel by a mailbox
		return ask{}, errProof
	}
	at := l.Address()
	k.ID, k.To = at[:], l.Key
	return k, k.check()
}

// check puts what an ask says into a form that can be shown, and is an error where that cannot be.
func (k *ask) check() error {
	if len(k.ID) != 16 || len(k.To) == 0 {
		return errLetter
	}
	if _, ok := screen.AimByID(k.Aim); !ok {
		return errLetterNewer
	}
	switch k.Length {
	case check.Short, check.Standard, check.Long:
	default:
		return errLetterNewer
	}
	k.Title, k.From, k.Note = line(k.Title), line(k.From), passage(k.Note)
	if !Whole && k.Proof != nil {
		return errLetterNewer
	}
	if Whole && k.Proof != nil {
		r, err := k.Proof.read(k.at())
		if err != nil {
			return err
		}
		// What is read first is what was signed.
		if r.Round != 1 || r.Earlier != [32]byte{} || !k.says(r) {
			return errProof
		}
	}
	return nil
}

// A copy of a request lies in its box for the owner's desk elsewhere, which knows its secret alone.
type ownersCopy struct {
	Version int    `json:"version"`
	Ask     ask    `json:"ask"`
	Made    int64  `json:"made"`
	Seed    []byte `json:"seed"`   // of the link
	Letter  []byte `json:"letter"` // the name of the request's letter
}

// An answer is what comes back. The record stands behind it, as the bytes its maker wrote. Which request it answers is bound into its seal.
type answer struct {
	Version int  `json:"version"`
	Whole   bool `json:"whole"` // the judgements are in the record
}

// recordMost is more than any record has that the program writes, in bytes.
const recordMost = 512 << 10

// readAnswer reads what pack wrote of an answer and a record.
func readAnswer(b []byte) (answer, []byte, report.Record, error) {
	head, record, err := unpack(b, letters)
	if err != nil {
		return answer{}, nil, report.Record{}, err
	}
	if len(record) > recordMost {
		return answer{}, nil, report.Record{}, errLetterLarge
	}
	var w answer
	if json.Unmarshal(head, &w) != nil {
		return answer{}, nil, report.Record{}, errLetter
	}
	r, err := report.Read(record)
	if err != nil {
		return answer{}, nil, report.Record{}, err
	}
	return w, record, r, nil
}

// pack writes the inside of a letter: a line of JSON and what follows it, compressed.
func pack(head any, rest []byte) ([]byte, error) {
	return link.Pack(append(append(encode(head), '\n'), rest...))
}

// unpack reads what pack wrote. A newer revision is told by its number before anything else is read.
func unpack(b []byte, newest int) (head, rest []byte, err error) {
	all, err := link.Unpack(b)
	if err != nil {
		return nil, nil, errLetter
	}
	head, rest, ok := bytes.Cut(all, []byte{'\n'})
	if !ok {
		return nil, nil, errLetter
	}
	return head, rest, revised(head, newest)
}

// revised tells whether JSON is of a revision that is known here, up to newest.
func revised(b []byte, newest int) error {
	var v struct {
		Version int `json:"version"`
	}
	switch {
	case json.Unmarshal(b, &v) != nil || v.Version < 1:
		return errLetter
	case v.Version > newest:
		return errLetterNewer
	}
	return nil
}

// without is a record without its judgements, written anew for whoever may see what was found but not each answer.
func without(r report.Record) []byte {
	r.Judgements = []check.Judgement{}
	return r.Marshal()
}

// passage is text of at most 400 characters, with its line breaks.
func passage(s string) string {
	s = strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) && r != '\n' {
			return ' '
		}
		return r
	}, seen(s)))
	if r := []rune(s); len(r) > 400 {
		s = string(r[:400])
	}
	return s
}
