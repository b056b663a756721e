package app

import (
	"crypto/ed25519"
	"slices"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/record"
	"example.org/plumb/web/seal"
)

// A version is one round of a proof, as its owner keeps it.
type version struct {
	proof
	Pictures []string `json:"pictures"`         // by picture: its key in this browser; empty where it was never here
	There    []bool   `json:"there"`            // by picture: it lies in the box
	Letter   []byte   `json:"letter,omitempty"` // of a later round: the name of its letter, 16 bytes
	Sealed   []byte   `json:"sealed,omitempty"` // and the letter, until it lies there

	asked  record.Request // what is signed; read when the row is
	shares []float64      // by picture: how much of it has travelled
	unkept error          // why this browser does not keep all of its pictures; nil where it does
}

// digest names a round.
func (v *version) digest() [32]byte { return record.Digest(v.Request) }

// signer signs what is asked.
func (r *request) signer() ed25519.PrivateKey {
	seed := r.secret().Sign()
	return ed25519.NewKeyFromSeed(seed[:])
}

// asker is the public half of signer.
func (r *request) asker() [32]byte { return [32]byte(r.signer().Public().(ed25519.PublicKey)) }

// proven reads the rounds of a request, and tells whether they hold together. A check has none.
func (r *request) proven() bool {
	if len(r.Rounds) == 0 {
		return r.Ask.Proof == nil
	}
	if r.Ask.Proof == nil || string(r.Ask.Proof.Request) != string(r.Rounds[0].Request) {
		return false
	}
	for i, v := range r.Rounds {
		if v == nil {
			return false
		}
		asked, err := v.asked, error(nil)
		if asked.Round == 0 {
			asked, err = v.read(r.Ask.at())
		} else {
			err = v.fits(asked, r.Ask.at())
		}
		n := len(v.Parcels)
		if err != nil || asked.Round != i+1 || asked.Asker != r.asker() || len(v.Pictures) != n || len(v.There) != n {
			return false
		}
		if i > 0 && (asked.Earlier != r.Rounds[i-1].digest() || len(v.Letter) != 16) {
			return false
		}
		v.asked = asked
	}
	return true
}

// own tells whether a proof was signed with the key of this request's owner. One who has its link cannot.
func (r *request) own(p *proof) bool {
	if p == nil {
		return true
	}
	asked, err := p.read(r.Ask.at())
	return err == nil && asked.Asker == r.asker()
}

// adopt takes a proof that this desk learned of from its box.
func (r *request) adopt(p *proof) {
	if p == nil {
		return
	}
	if v := r.foreign(*p, nil); v != nil {
		r.Version, r.Rounds = proofed, []*version{v}
	}
}

// foreign is a round that was made on another desk: it lies in the box, and its pictures are not here.
func (r *request) foreign(p proof, letter []byte) *version {
	asked, err := p.read(r.Ask.at())
	if err != nil {
		return nil
	}
	v := &version{proof: p, Letter: letter, Pictures: make([]string, len(p.Parcels)), There: make([]bool, len(p.Parcels)), asked: asked}
	for i := range v.There {
		v.There[i] = true
	}
	return v
}

// trust takes what was read of rounds before, where their signed text is the same: to verify a signature takes a while.
func (r *request) trust(known []*version) {
	for i, v := range r.Rounds {
		if v != nil && i < len(known) && string(known[i].Request) == string(v.Request) {
			v.asked = known[i].asked
		}
	}
}

// merge takes the rounds of a request that was read again together with those that were known: errands on their way hold on to these, and may be further.
func (r *request) merge(known []*version) {
	for i, v := range r.Rounds {
		if i >= len(known) || string(known[i].Request) != string(v.Request) {
			continue
		}
		was := known[i]
		for k := range v.There {
			was.There[k] = was.There[k] || v.There[k]
			if v.Pictures[k] != "" {
				was.Pictures[k] = v.Pictures[k]
			}
		}
		if len(v.Sealed) == 0 {
			was.Sealed = nil
		}
		r.Rounds[i] = was
	}
}

// newest is the round that is out; nil of a check.
func (r *request) newest() *version {
	for i := len(r.Rounds) - 1; i >= 0; i-- {
		if v := r.Rounds[i]; len(v.Sealed) == 0 {
			return v
		}
	}
	return nil
}

// sending is the later round that is on its way; nil where there is none.
func (r *request) sending() *version {
	if n := len(r.Rounds); n > 1 && len(r.Rounds[n-1].Sealed) > 0 {
		return r.Rounds[n-1]
	}
	return nil
}

// unsent tells whether a later round is on its way.
func (r *request) unsent() bool { return r.sending() != nil }

// round is the round whose signed text has that digest; nil where there is none.
func (r *request) round(digest [32]byte) *version {
	for _, v := range r.Rounds {
		if v.digest() == digest {
			return v
		}
	}
	return nil
}

// keys are the pictures of a request that are in this browser, but for those of the rounds in spare.
func (r *request) keys(of []*version, spare []*version) []string {
	var kept, list []string
	for _, v := range spare {
		kept = append(kept, v.Pictures...)
	}
	for _, v := range of {
		for _, k := range v.Pictures {
			if k != "" && !slices.Contains(kept, k) && !slices.Contains(list, k) {
				list = append(list, k)
			}
		}
	}
	return list
}

// ownRound tells whether a letter in a request's box is a later round by its owner. One that is not known yet was made on another desk, and is taken in.
func (a *App) ownRound(r *request, l mailbox.Letter) bool {
	if len(r.Rounds) == 0 {
		return false
	}
	for _, v := range r.Rounds {
		if len(v.Letter) == 16 && l.ID == mailbox.ID(v.Letter) {
			return true
		}
	}
	key, err := seal.Derive(r.Seed)
	if err != nil {
		return false
	}
	inside, err := key.Open(roundLetter, seal.Place(r.Ask.at(), l.ID), l.Body)
	if err != nil {
		return false
	}
	last := r.newest()
	if last == nil || r.unsent() {
		return true // of this desk's own there is one on its way: the two do not go together, and the letter says so to nobody
	}
	p, _, err := readRound(inside, last.Request)
	if err != nil {
		return true // whoever has the link can write one; without the owner's signature it is none
	}
	if v := r.foreign(*p, l.ID[:]); v != nil {
		for i, q := range v.Parcels { // what did not change is here already
			for _, e := range r.Rounds {
				if k := slices.IndexFunc(e.Parcels, func(o parcel) bool { return string(o.Name) == string(q.Name) }); k >= 0 && v.Pictures[i] == "" {
					v.Pictures[i] = e.Pictures[k]
				}
			}
		}
		r.Rounds = append(r.Rounds, v)
		a.keepRequest(r)
	}
	return true
}
