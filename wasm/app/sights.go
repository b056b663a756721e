package app

import (
	"errors"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/record"
	"example.org/plumb/web/words"
)

// A sight is a picture on its way to the easel. Nothing can be approved of the zero sight.
type sight struct {
	key     string
	picture record.Picture
	parcel  parcel
	state   sightState
	share   float64 // that has come, 0 to 1
	said    string  // why it does not come, in a sentence
	hung    bool    // it was decoded, has the size that was told, and is on the page
	bad     string  // why it is not shown as it was sent, in a sentence

	hide   hideState
	study  int
	far    float64
	hidden screen.Hidden
	masks  *study.Masks

	hatch   *Hatch // of the way hatched
	hatched string
}

type sightState int

const (
	sightAway sightState = iota
	sightComing
	sightHere // all of it, and its digest is the one that was told
	sightFailed
)

type hideState int

const (
	hideNone hideState = iota
	hideAsked
	hideDone
	hideFailed
)

// draws is how many possible screens are asked what they hide.
const draws = 200

// pictureKey is under which key a picture is kept in this browser.
func pictureKey(p record.Picture) string { return "sent-" + encoded(p.Digest[:]) }

// job names the fetching of a picture: two that are alike come by parcels of their own.
func (s *sight) job() string { return "picture " + encoded(s.parcel.Name) }

// before is the picture of the round before that a picture is a new version of: the one of the same name, else the one in the same place; nil where there is none, or
// the same.
func (v *viewing) before(i int) *sight {
	p := v.given.round(v.asked.Round - 1)
	if p == nil {
		return nil
	}
	r, err := p.read(v.asked.Place)
	if err != nil {
		return nil
	}
	at := v.match(i, len(r.Pictures), func(k int) string { return r.Pictures[k].Name })
	if at < 0 || r.Pictures[at].Digest == v.asked.Pictures[i].Digest {
		return nil
	}
	return &sight{key: pictureKey(r.Pictures[at]), picture: r.Pictures[at], parcel: p.Parcels[at]}
}

// match is the place of a picture among n others that are an earlier version; -1 where it has none.
func (v *viewing) match(i, n int, name func(int) string) int {
	for k := range n {
		if name(k) == v.asked.Pictures[i].Name {
			return k
		}
	}
	if n == len(v.asked.Pictures) {
		return i
	}
	return -1
}

// companion is what the picture that hangs can be compared with: its version in the round before, else the next picture of the same size; nil where there is neither.
func (v *viewing) companion() *sight {
	i := v.sheet.At
	if s := v.old[i]; s != nil {
		return s
	}
	for k := 1; k < len(v.sights); k++ {
		s := v.sights[(i+k)%len(v.sights)]
		if p, own := s.picture, v.asked.Pictures[i]; p.Width == own.Width && p.Height == own.Height {
			return s
		}
	}
	return nil
}

// usable reads the report of a sitting, or says in a sentence why its check cannot be used for pictures of an aim.
func usable(x *stored, aim string) (report.Record, string) {
	switch {
	case x == nil:
		return report.Record{}, words.Say("The check that was chosen is not in this browser any more.")
	case x.State != finished || x.broken != "" || len(x.record) == 0:
		return report.Record{}, words.Say("The check that was chosen cannot be read any more.")
	}
	r, err := report.Read(x.record)
	switch {
	case err != nil:
		return report.Record{}, words.Say("The check that was chosen cannot be read any more.")
	case r.Plan.Battery != check.Battery:
		return report.Record{}, words.Say("The check that was chosen was made with other questions than this version of the program knows, so what the screen hides cannot be worked out from it.")
	case len(r.Void) > 0:
		return report.Record{}, words.Say("The check that was chosen cannot be used: too many of its answers missed what is easy to see.")
	case !r.Score.Given:
		return report.Record{}, words.Say("The check that was chosen ended before anything was judged.")
	case r.Plan.Aim != aim:
		return report.Record{}, words.Say("The check that was chosen held the screen against another aim.")
	}
	return r, ""
}

// breath is how long the page is given to show that something takes a while, before that begins.
const breath = 60 * time.Millisecond

// workOut works out which screens the answers of the chosen check allow. That takes seconds, and comes after the page is up.
func (a *App) workOut() {
	visit := a.viewing.visit
	a.dismiss("work out") // of an earlier visit
	a.hire("work out", func(j *job) {
		a.dismiss(j.name)
		v := &a.viewing
		if a.stage != Viewing || v.visit != visit || v.work != workWaits {
			return
		}
		possible, model, err := workedBy(v.report, v.run)
		if err != nil {
			a.loseCheck(words.Say("The check that was chosen cannot be worked out any more: %s.", words.Found(strings.TrimPrefix(err.Error(), "check: "))))
			return
		}
		v.possible, v.model, v.work = possible, model, workDone
		a.askHides()
		a.fillDecisions()
	})
	a.post.find("work out").due = a.host.Clock.Now() + breath
	a.ring()
}

// loseCheck goes on as on a screen that was not checked, because the check that was chosen cannot be used: why says so in a sentence.
func (a *App) loseCheck(why string) {
	v := &a.viewing
	v.sitting, v.report, v.reportBytes, v.bare, v.work, v.lost = nil, report.Record{}, nil, nil, workNone, why
	v.draft.Sitting, v.sure, v.signing = "", false, notSigning
	if !v.settled(&a.mail) {
		v.another()
	}
	v.takenDown(nil) // the page is made anew
	a.keepDraft()
	a.enter(Viewing, false)
	a.fillViewing()
	a.say(why + " " + words.Say("This screen counts as unchecked."))
}

// errNothing is why nothing follows from a sitting.
var errNothing = errors.New("nothing in it was judged")

// worked draws screens that the answers of a sitting allow, and packs the one in the middle of them.
func worked(r report.Record) ([]screen.Possible, []byte, error) { return workedBy(r, nil) }

// workedBy is worked from a run of the sitting, which is had anew from its report where it is nil: that is most of the work.
func workedBy(r report.Record, run *check.Sitting) ([]screen.Possible, []byte, error) {
	aim, ok := screen.AimByID(r.Plan.Aim)
	if !ok {
		return nil, nil, errNothing
	}
	if run == nil {
		var err error
		if run, err = check.Resume(r.Plan, r.Judgements); err != nil {
			return nil, nil, err
		}
		run.Stop()
	}
	found := run.Results()
	if found.Tone != nil && len(r.Curve.Signal) == 0 { // lying and standing lines disagree: its report rests nothing on it either
		found.Tone, found.Neutrals = nil, nil
	}
	if len(found.Profile()) == 0 {
		return nil, nil, errNothing
	}
	possible := found.Possibles(aim, draws, rand.New(rand.NewPCG(r.Plan.Seed, 0x70726f6f66)))
	m := study.Model{Lights: *screen.MiddleLights(possible)}
	if p := r.Places; p != nil && p.Rows > 0 && p.Cols > 0 && len(p.Light) == p.Rows*p.Cols {
		m.Field = screen.Field{Rows: p.Rows, Cols: p.Cols}
		for _, l := range p.Light {
			m.Field.Log = append(m.Field.Log, l.At)
		}
	}
	model, err := m.Pack()
	if err != nil {
		return nil, nil, err
	}
	return possible, model, nil
}

// bringSights fetches the picture that hangs, and the others after it, one at a time.
func (a *App) bringSights() {
	v := &a.viewing
	a.bringSight(v.sights[v.sheet.At])
	for _, s := range v.sights {
		if s.state == sightComing {
			return
		}
	}
	for k := range v.sights {
		if s := v.sights[(v.sheet.At+k)%len(v.sights)]; s.state == sightAway {
			a.bringSight(s)
			return
		}
	}
}

// bringSight fetches a picture, unless it is here or coming.
func (a *App) bringSight(s *sight) {
	if s.state != sightAway {
		return
	}
	s.state, s.share, s.said = sightComing, 0, ""
	v := &a.viewing
	visit := v.visit
	here := func() bool { return a.stage == Viewing && v.visit == visit }
	a.hire(s.job(), func(j *job) {
		e := Errand{What: GetParcel, Box: mailbox.Address(v.given.Ask.at()), ID: mailbox.ID(s.parcel.Name), Key: [32]byte(s.parcel.Key), Size: s.picture.Size, Digest: s.picture.Digest, Picture: s.key, Kind: s.picture.Kind}
		a.carry(e, func(share float64) {
			s.share = share
			if here() {
				a.fillLoading()
			}
		}, func(_ Found, err error) {
			if !here() {
				if a.post.find(j.name) == j { // and not one of a later visit
					a.dismiss(j.name)
				}
				return
			}
			switch {
			case err == nil:
				s.state, s.said, s.share = sightHere, "", 1
			case passing(err), errors.Is(err, ErrPart):
				s.said = a.failure(err) + " " + words.Say("What has come of it is kept.")
				a.again(j, err)
				a.fillLoading()
				return
			default:
				s.state, s.said = sightFailed, a.failure(err)
				a.host.Pictures.Drop(s.key)
			}
			a.dismiss(j.name)
			a.hangSights()
			a.askHides()
			a.bringSights()
		})
	})
}

// hangSights hangs the picture at hand, and what it is compared with.
func (a *App) hangSights() {
	v := &a.viewing
	s := v.sights[v.sheet.At]
	var list []Hung
	if s.state == sightHere && s.bad == "" {
		list = append(list, Hung{Key: s.key, Name: s.picture.Name, Width: s.picture.Width, Height: s.picture.Height})
		if c := v.companion(); c != nil && v.wish != "" && c.state == sightHere {
			w, h := over(c.picture, s.picture)
			list = append(list, Hung{Key: c.key, Name: v.called(c), Width: w, Height: h})
		}
	}
	a.easel.show(list)
	v.takenDown(list)
	if len(list) > 1 {
		a.easel.look(v.wish)
	}
	a.showHatch()
	a.showPins()
	a.hang()
	a.fillDecisions()
}

// over is the size of a picture laid over another, in the other's pixels: the same where they have the same shape, else as large as fits.
func over(p, other record.Picture) (width, height int) {
	x, y := float64(other.Width)/float64(p.Width), float64(other.Height)/float64(p.Height)
	if r := x / y; r > 0.99 && r < 1.01 {
		return other.Width, other.Height
	}
	k := min(x, y)
	return max(round(k*float64(p.Width)), 1), max(round(k*float64(p.Height)), 1)
}

// called is the name of what a picture is compared with.
func (v *viewing) called(s *sight) string {
	if slices.Contains(v.old, s) {
		return words.Say("Version %d", v.asked.Round-1)
	}
	return s.picture.Name
}

// A decoding is what came of decoding a picture that hangs: its size as seen in pixels.
type decoding struct {
	width, height int
	ok            bool
}

// viewHung takes whether a picture was decoded and is on the page.
func (a *App) viewHung(key string, width, height int, ok bool) {
	v := &a.viewing
	v.decoded[key] = decoding{width, height, ok}
	spoilt := false
	for _, s := range v.sights {
		if s.key != key || s.state != sightHere {
			continue
		}
		was := s.bad
		s.judge(v.decoded[key])
		spoilt = spoilt || s.bad != was
		if s.hung && s == v.sights[v.sheet.At] {
			a.host.Page.Say(words.Say("%s is here whole.", s.picture.Name))
		}
	}
	if spoilt {
		a.hangSights()
	}
	a.fillDecisions()
}

// judge holds a decoding against what was told of the picture.
func (s *sight) judge(d decoding) {
	s.hung, s.bad = false, ""
	switch {
	case !d.ok:
		s.bad = words.Say("This browser cannot show it: it did not decode.")
	case d.width != s.picture.Width || d.height != s.picture.Height:
		s.bad = words.Say("It came out as %s pixels, where %s were told.", size(d.width, d.height), size(s.picture.Width, s.picture.Height))
	default:
		s.hung = true
	}
}

// takenDown forgets what came of decoding what does not hang any more: it is decoded anew when it hangs again. Two pictures that are alike hang as one.
func (v *viewing) takenDown(list []Hung) {
	hangs := func(key string) bool { return slices.ContainsFunc(list, func(h Hung) bool { return h.Key == key }) }
	for key := range v.decoded {
		if !hangs(key) {
			delete(v.decoded, key)
		}
	}
	for _, s := range v.sights {
		if d, ok := v.decoded[s.key]; ok && s.state == sightHere {
			s.judge(d)
		} else {
			s.hung = false
		}
	}
}

// askHides asks what this screen hides of the pictures that are here: of the one that hangs first, and of one at a time.
func (a *App) askHides() {
	v := &a.viewing
	if v.work != workDone {
		return
	}
	for _, s := range v.sights {
		if s.hide == hideAsked {
			return
		}
	}
	for k := range v.sights {
		i := (v.sheet.At + k) % len(v.sights)
		s := v.sights[i]
		if s.state != sightHere || s.bad != "" || s.hide != hideNone {
			continue
		}
		visit := v.visit
		here := func() bool { return a.stage == Viewing && v.visit == visit }
		s.hide, s.far = hideAsked, 0
		s.study = a.study(study.Task{What: study.Hide, Picture: s.key, Possible: v.possible, Aim: v.report.Plan.Aim}, func(share float64) {
			s.far = share
			if here() && i == v.sheet.At {
				a.fillHides()
			}
		}, func(f study.Found, err error) {
			if !here() {
				return
			}
			l := &v.sheet.Pictures[i]
			if err != nil || f.Refused != nil || !f.Hidden.Known() {
				s.hide = hideFailed
				l.Hidden, l.HidOn = nil, ""
			} else {
				s.hide, s.hidden, s.masks = hideDone, f.Hidden, f.Masks
				l.Hidden, l.HidOn = hiddenOf(f.Hidden), v.on()
			}
			if i == v.sheet.At {
				a.host.Page.Say(a.hidesViewNow().Lead)
			}
			a.keepDraft()
			a.showHatch()
			a.hang()
			a.fillDecisions()
			a.askHides()
		})
		return
	}
}

// showHatch lays what is hidden over the picture.
func (a *App) showHatch() {
	v := &a.viewing
	s := v.sights[v.sheet.At]
	if s.hatch == nil || s.hatched != v.shown {
		s.hatch, s.hatched = hatchOf(s.masks, v.shown), v.shown
	}
	a.easel.hatch = s.hatch
}

// lookBy looks at the picture that hangs and at another in a way.
func (a *App) lookBy(way string) {
	v := &a.viewing
	if way == wayOne || !slices.Contains(ways, way) {
		v.wish = ""
		a.hangSights()
		return
	}
	c := v.companion()
	if c == nil {
		return
	}
	v.wish = way
	if c.state == sightFailed {
		a.say(words.Say("The picture to compare it with did not come: %s", c.said))
	}
	a.bringSight(c)
	a.hangSights()
}
