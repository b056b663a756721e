package app

import (
	"crypto/ed25519"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"example.org/plumb/patterns/report"
	"example.org/plumb/web/link"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/seal"
	"example.org/plumb/web/words"
)

// Drawers of what travels.
const (
	Requests = "requests" // by id: a request of this browser's owner, with its keys
	Letters  = "letters"  // by request, "/" and letter: an answer to it, opened
	Asks     = "asks"     // by id: a request to the person at this browser
	Replies  = "replies"  // by sitting: the answer to one, sealed
)

// travels is the revision of the rows in them that are about checks, proofed of those about pictures, which is the newest.
const (
	travels = 1
	proofed = 2
)

// What became of a request.
const (
	placing = "placing" // its box is not open yet
	seeking = "seeking" // it came by an owner's link, and what it asks was not fetched yet
	running = "running"
	closed  = "closed"
)

// A request is what an owner asked, as it is kept.
type request struct {
	Version int      `json:"version"`
	Ask     ask      `json:"ask"`
	State   string   `json:"state"`
	Made    int64    `json:"made"`             // ms since 1970 UTC
	Served  bool     `json:"served"`           // a box of this site carries it
	Secret  []byte   `json:"secret"`           // the owner's: link.Secret
	Seed    []byte   `json:"seed,omitempty"`   // of the link, 32 bytes
	Letter  []byte   `json:"letter,omitempty"` // the name of the request's own letter in its box, 16 bytes
	Copy    []byte   `json:"copy,omitempty"`   // and of the owner's copy
	Sealed  [][]byte `json:"sealed,omitempty"` // both, until they lie there
	Saved   bool     `json:"saved,omitempty"`  // the keys were saved outside this browser

	Rounds []*version `json:"rounds,omitempty"` // of a proof, the first first; none of a check

	gone  bool   // the server has no such box
	known bool   // the server told of its box during this visit
	sure  bool   // its deletion waits for a second press
	link  bool   // its link is shown
	said  string // about the last thing done
	past  uint64 // the place in its box of the last letter that is no answer
}

// expired tells whether its time is over.
func (r *request) expired(now time.Time) bool {
	return r.State != seeking && r.Ask.Expires <= now.UnixMilli()
}

func (r *request) secret() link.Secret { return link.Secret(r.Secret) }

func (r *request) right() mailbox.Right { return r.secret().Right() }

func (r *request) box() mailbox.Address { return mailbox.Address(r.Ask.ID) }

// key opens the answers.
func (r *request) key() (*seal.Private, error) {
	seed := r.secret().Seed()
	if r.Served {
		return seal.Derive(seed[:])
	}
	return seal.DeriveShort(seed[:])
}

// valid tells whether what was kept can be used.
func (r *request) valid() bool {
	return r.Version >= 1 && r.Version <= proofed && len(r.Ask.ID) == 16 && len(r.Secret) == len(link.Secret{}) &&
		(!r.Served || r.State == seeking || len(r.Seed) == 32 && len(r.Letter) == 16 && len(r.Copy) == 16) &&
		(r.State != placing || len(r.Sealed) == 2) && (!Whole || r.proven())
}

// A letter is an answer on the desk.
type letter struct {
	Version int    `json:"version"`
	Seq     uint64 `json:"seq"`    // place in the box; 0 where no server carried it
	Came    int64  `json:"came"`   // ms since 1970 UTC
	Whole   bool   `json:"whole"`  // with judgements
	Record  string `json:"record"` // the record's bytes
	Read    bool   `json:"read"`   // was opened on the desk
	Fault   string `json:"fault"`  // why it cannot be read, in English; empty when it can
	Sealed  []byte `json:"sealed"` // the letter as it came, where a newer version can read it

	Decision []byte `json:"decision,omitempty"` // of a decision: the signed record; Record is then the report it names, or empty
	Model    []byte `json:"model,omitempty"`    // and the screen model that goes with it

	request, id string
	row         *pages.DeskAnswer // how the desk shows it; nil until it did
	held        *held             // what a decision is worth; nil until it was looked at
}

func (l *letter) key() string { return l.request + "/" + l.id }

// mail is what was asked from this browser and what came back, and what its user was asked and replied.
type mail struct {
	requests []*request // latest first
	letters  []*letter  // latest first
	given    map[string]*given
	replies  map[string]*reply // by sitting
	newer    int               // rows that a newer version wrote

	drafts map[string]*draft // what is thought of pictures here, by request
	signed []*signed         // what was decided of them here
}

// take reads the rows of what travels. What cannot be used is left alone, and stays where it is.
func (a *App) take(rows []Row) {
	m := mail{given: map[string]*given{}, replies: map[string]*reply{}}
	var unread []*letter
	was := map[string]*request{}
	for _, r := range a.mail.requests {
		was[r.Ask.name()] = r
	}
	for _, row := range rows {
		var v struct {
			Version int `json:"version"`
		}
		if !travelling(row.Drawer) || json.Unmarshal(row.Value, &v) != nil {
			continue
		}
		if v.Version > proofed || !Whole && v.Version > travels {
			m.newer++
			continue
		}
		switch row.Drawer {
		case Requests:
			r := new(request)
			if json.Unmarshal(row.Value, r) != nil {
				break
			}
			if old := was[row.Key]; Whole && old != nil {
				r.trust(old.Rounds)
			}
			if r.valid() && r.Ask.name() == row.Key {
				if old := was[row.Key]; old != nil { // errands on their way hold on to it
					r.gone, r.known, r.sure, r.link, r.said, r.past = old.gone, old.known, old.sure, old.link, old.said, old.past
					if Whole {
						r.merge(old.Rounds)
					}
					*old = *r
					r = old
				}
				m.requests = append(m.requests, r)
			}
		case Letters:
			l := new(letter)
			of, id, ok := strings.Cut(row.Key, "/")
			if ok && json.Unmarshal(row.Value, l) == nil {
				l.request, l.id = of, id
				if old := a.mail.letter(row.Key); old != nil && old.Record == l.Record && string(old.Decision) == string(l.Decision) {
					l.row, l.held = old.row, old.held
				}
				m.letters = append(m.letters, l)
				if len(l.Sealed) > 0 {
					unread = append(unread, l)
				}
			}
		case Decisions:
			if Whole {
				m.takeDecision(row, &a.mail)
			}
		case Asks:
			g := new(given)
			if json.Unmarshal(row.Value, g) == nil && g.valid() && g.Ask.name() == row.Key {
				m.given[row.Key] = g
			}
		case Replies:
			p := new(reply)
			if json.Unmarshal(row.Value, p) == nil && p.valid() {
				p.sitting = row.Key
				if old := a.mail.replies[row.Key]; old != nil {
					*old = *p
					p = old
				}
				m.replies[row.Key] = p
			}
		}
	}
	m.order()
	a.mail = m
	for _, l := range unread { // another version of the program may be able to
		if r := m.find(l.request); r != nil {
			a.unseal(r, l, l.Sealed)
		}
	}
	for _, p := range m.replies {
		a.deliver(p)
	}
	if Whole {
		a.resendDecisions()
	}
	for _, r := range m.requests {
		a.goOnPlacing(r)
	}
}

// goOnPlacing sends what of a request has not arrived yet.
func (a *App) goOnPlacing(r *request) {
	switch {
	case r.State == placing:
		a.place(r)
	case Whole && r.State == running && r.unsent():
		a.placeRound(r)
	}
}

// order puts the latest first.
func (m *mail) order() {
	slices.SortStableFunc(m.requests, func(x, y *request) int { return int(min(max(y.Made-x.Made, -1), 1)) })
	slices.SortStableFunc(m.letters, func(x, y *letter) int { return int(min(max(y.Came-x.Came, -1), 1)) })
}

// find is the request of an id, or nil.
func (m *mail) find(id string) *request {
	for _, r := range m.requests {
		if r.Ask.name() == id {
			return r
		}
	}
	return nil
}

// letter is the answer of a key, or nil.
func (m *mail) letter(key string) *letter {
	for _, l := range m.letters {
		if l.key() == key {
			return l
		}
	}
	return nil
}

// of is the answers to a request, latest first.
func (m *mail) of(r *request) []*letter {
	var list []*letter
	for _, l := range m.letters {
		if l.request == r.Ask.name() {
			list = append(list, l)
		}
	}
	return list
}

// last is the place in its box of the last answer that came.
func (m *mail) last(r *request) uint64 {
	last := uint64(0)
	if r.State != seeking {
		last = 2 // the request and its copy, which were there before anybody knew of the box
	}
	for _, l := range m.of(r) {
		last = max(last, l.Seq)
	}
	return max(last, r.past)
}

// keepRequest queues a request's row.
func (a *App) keepRequest(r *request) { a.write(Row{Requests, r.Ask.name(), encode(r)}) }

func (a *App) keepLetter(l *letter) { a.write(Row{Letters, l.key(), encode(l)}) }

// chance is n bytes at random, for names and secrets.
func chance(n int) []byte {
	b := make([]byte, n)
	rand.Read(b) // never fails
	return b
}

// compose makes a request and its secrets, and seals its letters. Of a proof, first makes the first round for a box. Nothing leaves the program.
func (a *App) compose(k ask, served bool, first func(place [16]byte, signer ed25519.PrivateKey) (*version, error)) (*request, error) {
	owner := link.NewSecret()
	r := &request{Version: travels, State: running, Made: a.host.Clock.Wall().UnixMilli(), Served: served, Secret: owner[:]}
	key, err := r.key()
	if err != nil {
		return nil, err
	}
	k.Version, k.To = letters, key.Public()
	if !served {
		at := link.Request{Key: k.To}.Address()
		k.ID = at[:]
		r.Ask = k
		return r, nil
	}
	box := link.NewBox(owner)
	k.ID = box.Address[:]
	own := letters
	if Whole && first != nil {
		v, err := first(box.Address, r.signer())
		if err != nil {
			return nil, err
		}
		own = proofs
		k.Version, k.Proof, r.Version, r.Rounds = proofs, &v.proof, proofed, []*version{v}
	}
	r.Ask, r.State, r.Seed, r.Letter, r.Copy = k, placing, box.Seed[:], chance(16), chance(16)
	reader, err := seal.Derive(r.Seed)
	if err != nil {
		return nil, err
	}
	copied := ownersCopy{Version: own, Ask: k, Made: r.Made, Seed: r.Seed, Letter: r.Letter}
	copied.Ask.To = nil // follows from the secret
	for _, l := range []struct {
		to   seal.Public
		kind seal.Kind
		name []byte
		head any
	}{{reader.Public(), requestLetter, r.Letter, k}, {k.To, ownerLetter, r.Copy, copied}} {
		inside, err := pack(l.head, nil)
		if err != nil {
			return nil, err
		}
		sealed, err := seal.Seal(l.to, l.kind, seal.Place(k.at(), [16]byte(l.name)), inside)
		if err != nil {
			return nil, err
		}
		r.Sealed = append(r.Sealed, sealed)
	}
	return r, nil
}

// place opens a request's box and puts its letters there, as often as it takes.
func (a *App) place(r *request) {
	a.hire("place "+r.Ask.name(), func(j *job) {
		list := []step{{Errand: Errand{What: OpenBox, Box: r.box(), Right: r.right(), Until: time.UnixMilli(r.Ask.Expires)}}}
		if Whole && len(r.Rounds) > 0 {
			list = append(list, a.parcels(r, r.Rounds[0])...)
		}
		list = append(list,
			step{Errand: Errand{What: PutLetter, Box: r.box(), ID: mailbox.ID(r.Letter), Body: r.Sealed[0]}},
			step{Errand: Errand{What: PutLetter, Box: r.box(), ID: mailbox.ID(r.Copy), Body: r.Sealed[1]}})
		a.walk(r, list, func(err error) { a.placed(r, j, err) })
	})
}

// A step is an errand on the way of a request into its box.
type step struct {
	Errand
	far  func(share float64) // of a parcel
	done func()
}

// walk takes one step after the other, and stops where the request was deleted or read anew meanwhile.
func (a *App) walk(r *request, list []step, then func(error)) {
	if a.working() { // the network could disturb the timing
		then(errJudging)
		return
	}
	s := list[0]
	next := func(_ Found, err error) {
		if err == nil && s.done != nil {
			s.done()
		}
		if err != nil || len(list) == 1 || a.mail.find(r.Ask.name()) != r {
			then(err)
			return
		}
		a.walk(r, list[1:], then)
	}
	if s.far == nil {
		a.errand(s.Errand, next)
	} else {
		a.carry(s.Errand, s.far, next)
	}
}

// placed takes the outcome of placing a request.
func (a *App) placed(r *request, j *job, err error) {
	switch {
	case a.mail.find(r.Ask.name()) != r: // deleted, or read again, meanwhile
		a.dismiss(j.name)
		return
	case err == nil:
		a.dismiss(j.name)
		r.State, r.Sealed, r.said = running, nil, ""
		a.keepRequest(r)
		a.watch()
	default:
		a.notPlaced(r, j, err)
		return
	}
	a.changedRequest(r)
	if len(r.Rounds) > 0 {
		a.host.Page.Say(words.Say("The proof lies in its box, and the link is ready."))
	}
}

// notPlaced plans the next try of bringing something of a request to its box, or gives it up, and says why.
func (a *App) notPlaced(r *request, j *job, err error) {
	switch {
	case errors.Is(err, errJudging):
		j.busy, j.due = false, a.host.Clock.Now()
		return
	case passing(err):
		a.again(j, err)
	default:
		a.dismiss(j.name)
	}
	r.said = a.failure(err)
	a.changedRequest(r)
}

// changedRequest shows what became of a request, where it is shown.
func (a *App) changedRequest(r *request) {
	switch {
	case a.stage == Made && a.made == r:
		a.fillMade()
	case a.stage == MyDesk:
		a.fillRequests()
	}
}

// arrived takes letters from a request's box. It returns how many are new answers.
func (a *App) arrived(r *request, list []mailbox.Letter) int {
	if r.State == seeking && !a.sought(r, list) {
		return 0
	}
	n := 0
	for _, l := range list {
		if l.ID == mailbox.ID(r.Letter) || l.ID == mailbox.ID(r.Copy) || Whole && a.ownRound(r, l) {
			r.past = max(r.past, l.Seq)
			continue
		}
		if a.receive(r, encoded(l.ID[:]), l.Seq, l.Body) {
			n++
		}
	}
	return n
}

// sought finds the owner's copy among the letters of a box, and learns from it what was asked.
func (a *App) sought(r *request, list []mailbox.Letter) bool {
	key, err := r.key()
	if err != nil {
		return false
	}
	for _, l := range list {
		inside, err := key.Open(ownerLetter, seal.Place(r.Ask.at(), l.ID), l.Body)
		if err != nil {
			continue
		}
		head, _, err := unpack(inside, proofs)
		var c ownersCopy
		if err != nil || json.Unmarshal(head, &c) != nil || len(c.Seed) != 32 || len(c.Letter) != 16 || string(c.Ask.ID) != string(r.Ask.ID) {
			continue
		}
		k := c.Ask
		k.To = key.Public()
		if k.check() == nil && (!Whole || r.own(k.Proof)) {
			r.Ask, r.State, r.Made, r.Seed, r.Letter, r.Copy, r.said = k, running, c.Made, c.Seed, c.Letter, l.ID[:], ""
			if Whole {
				r.adopt(k.Proof)
			}
			a.mail.order()
			a.keepRequest(r)
			return true
		}
	}
	r.said = words.Say("What it asks cannot be read: the letter that says so is not in its box.")
	return false
}

// receive opens one answer to a request and keeps it; false when it is there already.
func (a *App) receive(r *request, id string, seq uint64, sealed []byte) bool {
	l := &letter{Version: travels, Seq: seq, Came: a.host.Clock.Wall().UnixMilli(), request: r.Ask.name(), id: id}
	if a.mail.letter(l.key()) != nil {
		return false
	}
	a.unseal(r, l, sealed)
	a.mail.letters = append([]*letter{l}, a.mail.letters...)
	a.keepLetter(l)
	return true
}

// unseal opens a letter, or says why it cannot be opened.
func (a *App) unseal(r *request, l *letter, sealed []byte) {
	l.Fault, l.Sealed, l.row = "", nil, nil
	switch err := opened(r, l, sealed); {
	case errors.Is(err, seal.ErrVersion), errors.Is(err, errLetterNewer), errors.Is(err, report.ErrNewer):
		l.Sealed = sealed
		l.Fault = "It was written by a newer version of this program. It is kept; load the page again to get that version."
	case err != nil:
		l.Fault = fault(err)
	}
}

// opened opens what was sealed into l.
func opened(r *request, l *letter, sealed []byte) error {
	name, err := decoded(l.id)
	if err != nil || len(name) != 16 {
		return errLetter
	}
	key, err := r.key()
	if err != nil {
		return err
	}
	inside, err := key.Open(answerLetter, seal.Place(r.Ask.at(), [16]byte(name)), sealed)
	if Whole && err != nil && len(r.Rounds) > 0 && errors.Is(err, seal.ErrForeign) {
		return openedDecision(key, r, l, [16]byte(name), sealed)
	}
	if err != nil {
		return err
	}
	w, record, _, err := readAnswer(inside)
	if err != nil {
		return err
	}
	l.Whole, l.Record = w.Whole, string(record)
	return nil
}

// fault is why a letter cannot be read, in an English sentence that is kept with it.
func fault(err error) string {
	switch {
	case errors.Is(err, seal.ErrForeign):
		return "It does not open with this request's key: it was altered on the way, or was not sealed for this request."
	case errors.Is(err, seal.ErrTruncated), errors.Is(err, seal.ErrLayout), errors.Is(err, seal.ErrTooLarge):
		return "It is not whole."
	}
	return fmt.Sprintf("It opens, but %s.", strings.TrimPrefix(err.Error(), "report: "))
}
