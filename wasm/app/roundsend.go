package app

import (
	"errors"
	"slices"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/words"
)

// parcels are the steps that bring the pictures of a round into the box.
func (a *App) parcels(r *request, v *version) []step {
	var list []step
	if len(v.shares) != len(v.Parcels) {
		v.shares = make([]float64, len(v.Parcels))
	}
	for i, p := range v.Parcels {
		if v.There[i] {
			continue
		}
		list = append(list, step{
			Errand: Errand{What: PutParcel, Box: r.box(), ID: mailbox.ID(p.Name), Key: [32]byte(p.Key), Picture: v.Pictures[i], Size: v.asked.Pictures[i].Size},
			far: func(share float64) {
				v.shares[i] = share
				a.sendingChanged(r)
			},
			done: func() {
				v.There[i] = true
				if a.mail.find(r.Ask.name()) == r {
					a.keepRequest(r)
					a.sendingChanged(r)
				}
			},
		})
	}
	return list
}

// placeRound brings a later round into the box of its request, as often as it takes: the pictures first, the letter that tells of them last.
func (a *App) placeRound(r *request) {
	a.hire("round "+r.Ask.name(), func(j *job) {
		v := r.sending()
		if v == nil {
			a.dismiss(j.name)
			return
		}
		list := append(a.parcels(r, v), step{Errand: Errand{What: PutLetter, Box: r.box(), ID: mailbox.ID(v.Letter), Body: v.Sealed}})
		a.walk(r, list, func(err error) { a.placedRound(r, v, j, err) })
	})
}

// placedRound takes the outcome of it.
func (a *App) placedRound(r *request, v *version, j *job, err error) {
	switch {
	case a.mail.find(r.Ask.name()) != r || r.sending() != v: // deleted or called off meanwhile
		a.dismiss(j.name)
		return
	case err == nil:
		a.dismiss(j.name)
		v.Sealed, r.said = nil, ""
		a.keepRequest(r)
		a.watch()
		a.host.Page.Say(words.Say("The new version lies in the box."))
	default:
		a.notPlaced(r, j, err)
		return
	}
	a.changedRequest(r)
}

// callOff gives up a later round that is on its way. What of it lies in the box stays there until the box ends: without its letter nobody can open it.
func (a *App) callOff(r *request) {
	v := r.sending()
	if v == nil {
		return
	}
	a.dismiss("round " + r.Ask.name())
	r.Rounds = r.Rounds[:len(r.Rounds)-1]
	r.said = ""
	a.dropPictures(r.keys([]*version{v}, r.Rounds)...)
	a.keepRequest(r)
}

// dropPictures forgets pictures, but for those that are in the form.
func (a *App) dropPictures(keys ...string) {
	keys = slices.DeleteFunc(slices.Clone(keys), func(k string) bool {
		return k == "" || slices.ContainsFunc(a.proofing.rows, func(e *entry) bool { return e.key == k })
	})
	if len(keys) > 0 && a.host.Pictures != nil {
		a.host.Pictures.Drop(keys...)
	}
}

// errJudging is of what waits while a viewer judges.
var errJudging = errors.New("a screen is being judged")

// progress is how much of a round has travelled, and how many of its pictures lie in the box.
func (v *version) progress() (share float64, there int, text string) {
	var all, sent float64
	for i, p := range v.asked.Pictures {
		all += float64(p.Size)
		switch {
		case v.There[i]:
			there++
			sent += float64(p.Size)
		case i < len(v.shares):
			sent += float64(p.Size) * v.shares[i]
		}
	}
	if all == 0 {
		return 0, there, ""
	}
	return sent / all, there, words.As("%s of %s", "sent of all", bytesOf(sent), bytesOf(all))
}
