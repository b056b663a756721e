package app

import (
	"slices"
	"strconv"
	"strings"

	"example.org/plumb/wasm/study"
	"example.org/plumb/web/record"
	"example.org/plumb/web/words"
)

// mostParcel is the most bytes of a picture that a parcel takes: see mailbox.MaxParcel.
const mostParcel = 64 << 20

// addPictures takes files into the form.
func (a *App) addPictures(files []Picked) {
	f := &a.proofing
	over := 0
	for _, p := range files {
		if len(f.list()) >= mostPictures {
			over++
			a.dropPictures(p.Key)
			continue
		}
		f.last++
		e := &entry{id: strconv.Itoa(f.last), name: record.Tidy(p.Name, record.MaxText), size: p.Size, picked: p.Key, share: -1}
		if e.name == "" {
			e.name = "Picture " + e.id
		}
		if f.of != nil { // by name, where nothing new has that place yet
			for i, was := range f.of.newest().asked.Pictures {
				if strings.EqualFold(was.Name, e.name) && !slices.ContainsFunc(f.rows, func(o *entry) bool { return o.instead == i+1 }) {
					e.instead = i + 1
				}
			}
		}
		f.rows = append(f.rows, e)
	}
	if over > 0 {
		a.say(words.Some(over, "A proof takes %[2]d pictures. %[1]d picture was left out: send them by another link.", "A proof takes %[2]d pictures. %[1]d pictures were left out: send them by another link.", mostPictures))
	} else {
		a.tell("message", "")
	}
	a.examine()
	a.fillPictures()
	a.fillProofWay("")
}

// examine has the next picture looked at: one at a time, for each may need much memory.
func (a *App) examine() {
	f := &a.proofing
	if slices.ContainsFunc(f.rows, func(e *entry) bool { return e.asked > 0 }) {
		return
	}
	n := slices.IndexFunc(f.rows, (*entry).pending)
	if n < 0 {
		return
	}
	e := f.rows[n]
	to := encoded(chance(16))
	e.share = -1
	e.asked = a.study(study.Task{What: study.Examine, Picture: e.picked, To: to, Name: e.name}, func(share float64) {
		if e.share = float64(round(50*share)) / 50; a.stage == Proofing {
			a.fillPictures()
		}
	}, func(found study.Found, err error) {
		e.asked = 0
		a.examined(e, to, found, err)
		a.examine()
		if a.stage == Proofing {
			a.fillPictures()
			a.fillProofWay("")
		}
	})
}

// examined takes what a picture is.
func (a *App) examined(e *entry, to string, found study.Found, err error) {
	e.failed = false
	switch {
	case err != nil:
		e.refused, e.failed = &study.Refusal{Why: words.Say("It could not be looked at: %s.", reason(err)), Do: words.Say("Try it again, or save it anew in the program that it came from.")}, true
	case found.Refused != nil:
		e.refused = &study.Refusal{Why: words.Found(found.Refused.Why), Do: words.Found(found.Refused.Do)}
	case found.About.Size <= 0 || found.About.Width <= 0 || found.About.Height <= 0 || found.About.Digest == study.Digest{}:
		e.refused, e.failed = &study.Refusal{Why: words.Say("It could not be looked at: what was found of it is not whole."), Do: words.Say("Try it again.")}, true
	case found.About.Size > mostParcel:
		e.refused = &study.Refusal{Why: words.Say("As it would be sent it has %s, and a mailbox takes %s for one picture.", bytesOf(float64(found.About.Size)), bytesOf(float64(mostParcel))), Do: words.Say("Save it as a JPEG, or smaller.")}
		a.dropPictures(to)
	default:
		e.about, e.key = found.About, to
		a.dropPictures(e.picked)
		e.picked = ""
		a.host.Page.Say(words.Say("%s is ready.", e.name))
		return
	}
	if !e.failed {
		a.dropPictures(e.picked)
		e.picked = ""
	}
	a.host.Page.Say(words.Say("%s is not taken.", e.name) + " " + e.refused.Why)
}

// reason is an error without the name of the package that it comes from, in the language spoken.
func reason(err error) string {
	text := err.Error()
	if _, after, ok := strings.Cut(text, ": "); ok && !strings.Contains(strings.TrimSuffix(text, ": "+after), " ") {
		return words.Found(after)
	}
	return words.Found(text)
}

// sized is a picture's size in words.
func sized(width, height int, size int64) string {
	return words.Say("%d × %d pixels, %s", width, height, bytesOf(float64(size)))
}

// kindOf is what kind of picture goes, in words.
func kindOf(p study.About) string {
	name := func(kind string) string {
		_, name, _ := strings.Cut(kind, "/")
		switch name {
		case "webp":
			return "WebP"
		}
		return strings.ToUpper(name)
	}
	text := name(p.Kind)
	if p.From != "" && p.From != p.Kind {
		text = words.Say("%s made into %s", name(p.From), text)
	}
	if p.Bits > 8 {
		text += ", " + words.Say("%d bits", p.Bits)
	}
	return text + when(p.Profile, ", "+words.Say("with a colour profile"))
}
