package app

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"slices"
	"strconv"

	"example.org/plumb/patterns/report"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/record"
	"example.org/plumb/web/words"
)

// verify is the state of the stage Verify: a record, and what was laid beside it.
type verify struct {
	name   string // of the record's file; empty where there is none yet
	text   []byte
	record record.Record
	err    error // why it does not stand by itself
	beside []*evidence
	last   int
}

// evidence is a file beside a record: a picture, the report of a screen, or whatever else a record names.
type evidence struct {
	id, name string
	size     int64
	key      string // of a picture
	asked    int    // the study that examines it
	known    bool   // its digest is
	digest   [32]byte
	bytes    []byte // of what is no picture
	trouble  string // why nothing can be said of it
}

// openVerify shows the page on which a record is checked.
func (a *App) openVerify() {
	a.verify = verify{}
	a.at("record", words.Say("Check a record"))
	a.enter(Verify, false)
	a.pick(pickImages)
	a.fill("stage", pages.RecordsPage())
	a.fill("bar", none)
	a.fillVerify()
}

// proveFile takes a file that is no picture: a record, or a report.
func (a *App) proveFile(name string, b []byte, err error) {
	v := &a.verify
	if err != nil {
		a.say(words.Say("The file %s cannot be read: %s.", line(name), reason(err)))
		return
	}
	a.tell("message", "")
	e := &evidence{name: name, size: int64(len(b)), known: true, digest: sha256.Sum256(b), bytes: b}
	text := bytes.TrimSpace(b)
	if len(text) > 0 && json.Valid(text) || v.name != "" && v.names(e.digest) {
		v.add(e)
		a.fillVerify()
		return
	}
	// Another record takes the place of the one before, which stays beside it where the new one names it.
	was := *v
	v.name, v.text = name, b
	v.record, v.err = record.Read(b)
	if was.name != "" && v.names(sha256.Sum256(was.text)) {
		v.add(&evidence{name: was.name, size: int64(len(was.text)), known: true, digest: sha256.Sum256(was.text), bytes: was.text})
	}
	a.fillVerify()
	if v.err != nil {
		a.host.Page.Say(words.Say("The record does not stand.") + " " + whyNot(v.err))
	}
}

// add lays a file beside the record.
func (v *verify) add(e *evidence) {
	v.last++
	e.id = strconv.Itoa(v.last)
	v.beside = append(v.beside, e)
}

// names tells whether the record names a file.
func (v *verify) names(digest [32]byte) bool {
	return v.err == nil && slices.ContainsFunc(v.record.Parts(), func(p record.Part) bool { return p.Digest == digest })
}

// provePictures takes pictures that were dropped beside a record.
func (a *App) provePictures(files []Picked) {
	v := &a.verify
	for _, p := range files {
		v.add(&evidence{name: p.Name, size: p.Size, key: p.Key})
	}
	a.tell("message", "")
	a.proveNext()
	a.fillVerify()
}

// proveNext has the next picture's digest taken, one at a time.
func (a *App) proveNext() {
	v := &a.verify
	if slices.ContainsFunc(v.beside, func(e *evidence) bool { return e.asked > 0 }) {
		return
	}
	n := slices.IndexFunc(v.beside, func(e *evidence) bool { return !e.known && e.trouble == "" })
	if n < 0 {
		return
	}
	e, to := v.beside[n], encoded(chance(16))
	e.asked = a.study(study.Task{What: study.Examine, Picture: e.key, To: to, Name: e.name}, nil, func(found study.Found, err error) {
		e.asked = 0
		switch {
		case err != nil:
			e.trouble = words.Say("It could not be looked at: %s.", reason(err))
		case found.Refused != nil:
			e.trouble = words.Found(found.Refused.Why)
		default:
			e.known, e.digest = true, found.About.Source // of the file as it is here
		}
		a.dropPictures(e.key, to)
		a.proveNext()
		if a.stage == Verify {
			a.fillVerify()
		}
	})
}

// fillVerify shows the files and what stands.
func (a *App) fillVerify() {
	a.refill("files", pages.RecordFiles(a.evidenceViews()))
	a.refill("signed", pages.RecordPanel(a.verifyView()))
}

// evidenceViews are the files beside the record, each with what is to be said of it.
func (a *App) evidenceViews() []pages.RecordFile {
	v := &a.verify
	var list []pages.RecordFile
	if v.name != "" {
		f := pages.RecordFile{ID: "record", Name: v.name, Size: bytesOf(float64(len(v.text))), State: pages.Stands, Text: words.Say("The record. Both signatures are good."), Buttons: []pages.Button{{Action: "remove", ID: "record", Label: words.Say("Take it away")}}}
		if v.err != nil {
			f.State, f.Text = pages.Fails, whyNot(v.err)
		}
		list = append(list, f)
	}
	for _, e := range v.beside {
		f := pages.RecordFile{ID: e.id, Name: e.name, Size: bytesOf(float64(e.size)), Buttons: []pages.Button{{Action: "remove", ID: e.id, Label: words.Say("Take it away")}}}
		f.State, f.Text = v.judge(e)
		list = append(list, f)
	}
	return list
}

// judge says what a file is to the record.
func (v *verify) judge(e *evidence) (state, text string) {
	switch {
	case e.trouble != "":
		return pages.Absent, e.trouble
	case !e.known:
		return pages.Reading, ""
	case v.name == "":
		return pages.Absent, words.Say("There is no record yet to hold it against.")
	case v.err != nil:
		return pages.Absent, words.Say("The record does not stand, so nothing follows for this file.")
	}
	var list []string
	for _, p := range v.record.Parts() {
		if p.Digest != e.digest {
			continue
		}
		if p.Role == record.ScreenReport {
			return v.judgeReport(e)
		}
		list = append(list, v.called(p))
	}
	switch {
	case len(list) > 0:
		return pages.Stands, words.Say("It is %s, to the byte.", listed(list))
	case e.key != "":
		return pages.Fails, words.Say("It is none of the pictures that the record is about.")
	case !v.record.Screen.Checked():
		return pages.Fails, words.Say("The record is about an unchecked screen: it names no report.")
	}
	if _, err := report.Read(e.bytes); err != nil {
		return pages.Fails, words.Say("It is nothing that the record names, and no report of a screen: %s.", reason(err))
	}
	return pages.Fails, words.Say("It is another report than the one that the record names, or none.")
}

// judgeReport holds what the record says of the screen against the report that it names.
func (v *verify) judgeReport(e *evidence) (state, text string) {
	r, err := report.Read(e.bytes)
	if err != nil {
		return pages.Fails, words.Say("It is the file that the record names as the report of the screen, but it cannot be read as one: %s.", reason(err))
	}
	if !tells(r, v.record.Screen) {
		return pages.Fails, words.Say("It is the report that the record names, but the record says something else of the screen than the report does.")
	}
	return pages.Stands, words.Say("It is the report of the screen, to the byte, and the record says of the screen what it says.")
}

// called is what a record names, in words.
func (v *verify) called(p record.Part) string {
	switch p.Role {
	case record.SentPicture:
		return words.Say("picture %d, \"%s\"", p.Picture+1, v.record.Asked.Pictures[p.Picture].Name)
	case record.SourcePicture:
		return words.Say("the file that picture %d, \"%s\", was made from before it was sent", p.Picture+1, v.record.Asked.Pictures[p.Picture].Name)
	case record.ScreenModel:
		return words.Say("the model of the screen")
	case record.TheRequest:
		return words.Say("the request")
	case record.RoundBefore:
		return words.Say("the request of the version before")
	case record.RecordBefore:
		return words.Say("the record that this one replaces")
	}
	return words.Say("what the record names as %s", string(p.Role))
}

// verifyView is the record with what was checked about it.
func (a *App) verifyView() pages.RecordView {
	v := &a.verify
	switch {
	case v.name == "":
		return pages.RecordView{}
	case v.err != nil:
		return pages.RecordView{Title: words.Say("This record does not stand"), State: pages.Fails, Says: whyNot(v.err)}
	}
	view := recordView(v.record, v.text, a.host.Clock.Wall().Location())
	view.State, view.Says = pages.Stands, words.Say("It stands by itself: every byte is as it was signed.")
	check := func(name, state, text string) {
		view.Checked = append(view.Checked, pages.RecordCheck{Name: name, State: state, Text: text})
	}
	check(words.Say("Signature of who decided"), pages.Stands, "")
	check(words.Say("Signature of who asked"), pages.Stands, "")
	stray, contradicts := 0, 0 // files that the record does not name, and that it names and that say something else
	found := map[record.Role]map[int]bool{}
	for _, e := range v.beside {
		switch state, _ := v.judge(e); state {
		case pages.Fails:
			if v.names(e.digest) {
				contradicts++
			} else {
				stray++
			}
		case pages.Stands:
			for _, p := range v.record.Parts() {
				if p.Digest == e.digest {
					if found[p.Role] == nil {
						found[p.Role] = map[int]bool{}
					}
					found[p.Role][p.Picture] = true
				}
			}
		}
	}
	for i, p := range v.record.Asked.Pictures {
		switch name := words.Say("Picture \"%s\"", p.Name); {
		case found[record.SentPicture][i]:
			check(name, pages.Stands, words.Say("The file here is the one that was decided on."))
		case found[record.SourcePicture][i]:
			check(name, pages.Stands, words.Say("The file here is the one that it was made from. What was decided on was made of it, and is not here."))
		default:
			check(name, pages.Absent, words.Say("Lay the file beside the record to have it compared."))
		}
	}
	switch {
	case !v.record.Screen.Checked():
	case found[record.ScreenReport][0]:
		check(words.Say("Report of the screen"), pages.Stands, "")
	default:
		check(words.Say("Report of the screen"), pages.Absent, words.Say("Lay it beside the record to have it compared."))
	}
	switch {
	case contradicts > 0:
		check(words.Say("Files beside it"), pages.Fails, words.Some(contradicts, "%d file says something else than the record does: see above.", "%d files say something else than the record does: see above."))
		view.State, view.Says = pages.Fails, words.Say("Its signatures are good, but it says something else than the report that it names.")
	case stray > 0:
		check(words.Say("Files beside it"), pages.Differs, words.Some(stray, "%d file does not belong to it: see above.", "%d files do not belong to it: see above."))
		view.Says = words.Say("It stands by itself, but not with all the files that were laid beside it.")
	}
	view.Buttons = []pages.Button{{Action: "print", Label: words.Say("Print")}}
	return view
}

func (a *App) verifyAction(name, id string) {
	v := &a.verify
	switch name {
	case "remove":
		if id == "record" {
			v.name, v.text, v.record, v.err = "", nil, record.Record{}, nil
			break
		}
		n := slices.IndexFunc(v.beside, func(e *evidence) bool { return e.id == id })
		if n < 0 {
			return
		}
		e := v.beside[n]
		v.beside = slices.Delete(v.beside, n, n+1)
		a.giveUp(e.asked)
		if e.key != "" && !e.known {
			a.dropPictures(e.key)
		}
		a.proveNext()
	case "print":
		a.host.Desk.Print()
		return
	default:
		return
	}
	a.fillVerify()
}
