package app

import (
	"slices"
	"strconv"

	"example.org/plumb/web/record"
	"example.org/plumb/web/words"
)

// showPins pins the notes to the picture.
func (a *App) showPins() {
	v := &a.viewing
	a.easel.pins = nil
	for k, n := range v.sheet.Pictures[v.sheet.At].Notes {
		a.easel.pins = append(a.easel.pins, Pin{ID: strconv.Itoa(n.N), X: n.X, Y: n.Y, Width: n.Width, Height: n.Height, Label: strconv.Itoa(k + 1), Current: n.N == v.noting})
	}
	a.hang()
}

// addNote begins a note on a part of the picture that hangs.
func (a *App) addNote(p area) {
	v := &a.viewing
	if !a.mayChange() {
		return
	}
	a.closeNote()
	l := &v.sheet.Pictures[v.sheet.At]
	if len(l.Notes) >= record.MaxNotes {
		a.say(words.Say("There are %d notes on this picture, which is as many as a record holds.", len(l.Notes)))
		return
	}
	l.Last++
	l.Notes = append(l.Notes, note{N: l.Last, X: p.x, Y: p.y, Width: p.width, Height: p.height})
	v.noting, v.text = l.Last, ""
	a.easel.noting = false
	a.showPins()
	a.fillDecisions()
}

// noteOf is a note on the picture that hangs; nil where there is none of that number.
func (v *viewing) noteOf(id string) *note {
	l := &v.sheet.Pictures[v.sheet.At]
	for k := range l.Notes {
		if strconv.Itoa(l.Notes[k].N) == id {
			return &l.Notes[k]
		}
	}
	return nil
}

// openNote opens a note to be written on, or only shows where it is when nothing may be changed.
func (a *App) openNote(id string) {
	v := &a.viewing
	n := v.noteOf(id)
	if n == nil {
		return
	}
	at := n.area()
	a.easel.reveal(at)
	if !v.settled(&a.mail) && v.signing != busySigning && v.noting != n.N {
		a.closeNote()
		if n = v.noteOf(id); n == nil {
			return
		}
		v.noting, v.text = n.N, n.Text
	}
	a.showPins()
	a.fillDecisions()
}

// closeNote ends the writing of a note. One that says nothing is dropped.
func (a *App) closeNote() {
	v := &a.viewing
	if v.noting == 0 {
		return
	}
	if n := v.noteOf(strconv.Itoa(v.noting)); n != nil && record.Tidy(n.Text, record.MaxNote) == "" {
		a.dropNote(v.noting)
	}
	v.noting = 0
	a.showPins()
}

func (a *App) dropNote(number int) {
	v := &a.viewing
	l := &v.sheet.Pictures[v.sheet.At]
	l.Notes = slices.DeleteFunc(l.Notes, func(n note) bool { return n.N == number })
	if v.noting == number {
		v.noting = 0
	}
	a.keepDraft()
}
