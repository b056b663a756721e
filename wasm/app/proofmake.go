package app

import (
	"crypto/ed25519"
	"errors"
	"fmt"
	"slices"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/web/record"
	"example.org/plumb/web/seal"
	"example.org/plumb/web/words"
)

// holds tells whether a picture is in a proof.
func (m *mail) holds(key string) bool {
	return slices.ContainsFunc(m.requests, func(r *request) bool {
		return slices.ContainsFunc(r.Rounds, func(v *version) bool { return slices.Contains(v.Pictures, key) })
	})
}

// makeProof makes the request or the round that the form describes, keeps its keys and pictures, and only then lets anything leave the browser.
func (a *App) makeProof() {
	f := &a.proofing
	if field, what := f.lacks(); what != "" {
		f.lacking = field
		a.fillProofWay(what)
		a.host.Page.Amiss(field)
		a.host.Page.Say(what)
		return
	}
	r, v := f.of, (*version)(nil)
	var err error
	if r != nil {
		v, err = a.composeRound(r)
	} else {
		until := a.host.Clock.Wall().Add(time.Duration(f.days) * 24 * time.Hour)
		k := ask{Title: f.title, Note: f.note, From: f.from, Length: check.Standard, Aim: screen.Aims[0].ID, Expires: until.UnixMilli()}
		r, err = a.compose(k, true, func(place [16]byte, signer ed25519.PrivateKey) (*version, error) {
			v, err = a.versionOf(place, 1, [32]byte{}, signer)
			return v, err
		})
	}
	if err != nil {
		a.fillProofWay(words.Say("It cannot be sealed: %s.", reason(err)))
		return
	}
	if f.of == nil {
		a.mail.requests = append([]*request{r}, a.mail.requests...)
	} else {
		r.Rounds = append(r.Rounds, v)
	}
	if !a.shelf.asked {
		a.shelf.asked = true
		a.host.Shelf.Persist()
	}
	a.host.Pictures.Keep(r.keys([]*version{v}, r.Rounds[:len(r.Rounds)-1])...)
	a.made, r.said = r, ""
	a.desk.owner = false
	a.enter(Made, false)
	a.fillMade()
	a.keepFirst(func() { a.goOnPlacing(r) }, Row{Requests, r.Ask.name(), encode(r)})
}

// versionOf makes a round of the pictures in the form, signed.
func (a *App) versionOf(place [16]byte, n int, earlier [32]byte, signer ed25519.PrivateKey) (*version, error) {
	f := &a.proofing
	v := &version{}
	asked := record.Request{
		Place: place, Round: n, Earlier: earlier, Made: a.host.Clock.Wall().UTC().Truncate(time.Second), Needs: f.needs,
		Title: record.Tidy(f.title, record.MaxText), From: record.Tidy(f.from, record.MaxText), Note: record.Tidy(f.note, record.MaxNote),
	}
	names := map[string]bool{}
	for _, e := range f.list() {
		if !e.taken() {
			continue
		}
		if e.old > 0 {
			was := f.of.newest()
			asked.Pictures = append(asked.Pictures, was.asked.Pictures[e.old-1])
			v.Parcels, v.Pictures, v.There = append(v.Parcels, was.Parcels[e.old-1]), append(v.Pictures, was.Pictures[e.old-1]), append(v.There, true)
			names[was.asked.Pictures[e.old-1].Name] = true
			continue
		}
		key := seal.NewKey()
		v.Parcels, v.Pictures, v.There = append(v.Parcels, parcel{chance(16), key[:]}), append(v.Pictures, e.key), append(v.There, false)
		name := e.name
		if e.instead > 0 { // versions of a picture have one name
			name = f.of.newest().asked.Pictures[e.instead-1].Name
		}
		for k := 2; names[name]; k++ {
			end := fmt.Sprintf(" (%d)", k)
			name = record.Tidy(e.name, record.MaxText-len(end)) + end
		}
		names[name] = true
		asked.Pictures = append(asked.Pictures, record.Picture{
			Name: name, Kind: e.about.Kind, Width: e.about.Width, Height: e.about.Height, Size: e.about.Size, Digest: e.about.Digest, Source: e.about.Source,
		})
	}
	text, err := asked.Sign(signer)
	if err != nil {
		return nil, err
	}
	v.Request = text
	if v.asked, err = v.read(place); err != nil {
		return nil, err
	}
	return v, nil
}

// composeRound makes the next round of a request and seals its letter.
func (a *App) composeRound(r *request) (*version, error) {
	was := r.newest()
	if was == nil || r.unsent() {
		return nil, errors.New("another version is on its way")
	}
	v, err := a.versionOf(r.Ask.at(), was.asked.Round+1, was.digest(), r.signer())
	if err != nil {
		return nil, err
	}
	inside, err := packRound(v.proof)
	if err != nil {
		return nil, err
	}
	reader, err := seal.Derive(r.Seed)
	if err != nil {
		return nil, err
	}
	v.Letter = chance(16)
	v.Sealed, err = seal.Seal(reader.Public(), roundLetter, seal.Place(r.Ask.at(), [16]byte(v.Letter)), inside)
	return v, err
}

// Kept takes whether a picture survives a reload.
func (a *App) Kept(key string, err error) {
	for _, r := range a.mail.requests {
		for _, v := range r.Rounds {
			if err != nil && slices.Contains(v.Pictures, key) {
				v.unkept = err
				a.sendingChanged(r)
			}
		}
	}
}
