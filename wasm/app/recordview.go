package app

import (
	"encoding/hex"
	"fmt"
	"time"

	"example.org/plumb/web/pages"
	"example.org/plumb/web/record"
	"example.org/plumb/web/words"
)

// recordView is a record in readable form, text its bytes. Whether it stands, and what can be done with it, is for whoever shows it. Times are told in zone.
func recordView(r record.Record, text []byte, zone *time.Location) pages.RecordView {
	v := pages.RecordView{Title: doneWith(r), Lead: r.Asked.Title, Text: string(text)}
	v.Facts = facts{
		{true, words.Say("Asked by"), orNobody(r.Asked.From), ""},
		{true, words.Say("Asked"), day(r.Asked.Made.In(zone)), ""},
		{r.Asked.Round > 1, words.Say("Version"), fmt.Sprint(r.Asked.Round), ""},
		{true, words.Say("Decided by"), r.Name, ""},
		{true, words.Say("Signed"), words.Say("%s, by the clock of who signed", day(r.Told.In(zone))), ""},
		{!r.Mailbox.IsZero(), words.Say("At the mailbox"), words.Say("%s, by the mailbox's clock", day(r.Mailbox.In(zone))), clocks(r)},
		{r.Mailbox.IsZero(), words.Say("At the mailbox"), words.Say("no time was told"), ""},
		{r.Earlier != [32]byte{}, words.Say("Replaces"), words.Say("an earlier record, %s", short(r.Earlier)), ""},
	}.known()
	v.Screen = screenFacts(r, zone)
	for i, p := range r.Asked.Pictures {
		j := r.Pictures[i]
		x := pages.RecordPicture{Name: p.Name, Size: words.Say("%s pixels", size(p.Width, p.Height)), Decision: string(j.Decision), Digest: hex.EncodeToString(p.Digest[:])}
		switch list := notSeen(j.HiddenKnown, j.Hidden); {
		case !j.HiddenKnown:
			x.Hidden = []string{words.Say("What the screen hid of it is not known.")}
		case len(list) == 0:
			x.Hidden = []string{words.Say("Nothing of it was hidden, as far as the check could tell.")}
		default:
			x.Hidden = append(list, untoldWays(j.Hidden)...)
		}
		for _, n := range j.Notes {
			x.Notes = append(x.Notes, words.Say("At %s: %s", where(area{n.X, n.Y, n.Width, n.Height}), n.Text))
		}
		v.Pictures = append(v.Pictures, x)
	}
	digest := record.Digest(text)
	v.Keys = []pages.Fact{
		{Name: words.Say("This record"), Value: hex.EncodeToString(digest[:])},
		{Name: words.Say("Key of who decided"), Value: hex.EncodeToString(r.Signer[:])},
		{Name: words.Say("Key of who asked"), Value: hex.EncodeToString(r.Asked.Asker[:])},
	}
	v.Cautions = []string{
		words.Say("A name in a record is as its owner typed it. The keys say that the same two browsers were at work, not who sat before them."),
		words.Say("An approval covers what this screen could show. What is listed as hidden was not seen, and what was not known may have been hidden."),
	}
	return v
}

// untoldWays names the ways of which a record says that they are not known.
func untoldWays(list []record.Hidden) []string {
	told := map[string]bool{}
	for _, h := range list {
		told[h.What] = true
	}
	var text []string
	for _, w := range hidings {
		if !told[w.way] {
			_, _, lost := w.said()
			text = append(text, words.Say("%s: not known.", capital(lost)))
		}
	}
	return text
}

// tally is how many pictures a record approves and asks to be changed, and how many notes it has.
func tally(r record.Record) (approved, changes, notes int) {
	for _, j := range r.Pictures {
		switch j.Decision {
		case record.Approved:
			approved++
		case record.Changes:
			changes++
		}
		notes += len(j.Notes)
	}
	return approved, changes, notes
}

// doneWith is who decided what.
func doneWith(r record.Record) string {
	approved, changes, _ := tally(r)
	n := len(r.Pictures)
	switch {
	case n == 1 && approved == 1:
		return words.Say("%s approved the picture", r.Name)
	case n == 1 && changes == 1:
		return words.Say("%s asks for changes to the picture", r.Name)
	case r.Whole == record.Approved:
		return words.Say("%s approved all %d pictures", r.Name, n)
	case approved == 0 && changes == 0:
		return words.Say("%s left it open", r.Name)
	case changes == 0:
		return words.Say("%s approved %d of %d pictures and left the others open", r.Name, approved, n)
	case approved == 0:
		return words.Say("%s asks for changes to %d of %d pictures", r.Name, changes, n)
	}
	return words.Say("%s approved %d of %d pictures and asks for changes to %d", r.Name, approved, n, changes)
}

// screenFacts is what a record says of the screen.
func screenFacts(r record.Record, zone *time.Location) []pages.Fact {
	s := r.Screen
	needs := r.Asked.Needs
	if !s.Checked() {
		return facts{
			{true, words.Say("Screen"), words.Say("unchecked: what it hid of the pictures is not known"), ""},
			{needs != "", words.Say("Asked of the screen"), words.Found(needs), words.Say("It was not checked for that.")},
		}.known()
	}
	list := facts{
		{true, words.Say("Screen"), title(s.Name), ""},
		{true, words.Say("Checked"), day(s.Ended.In(zone)), ""},
		{needs != "", words.Say("Asked of the screen"), words.Found(needs) + ": " + words.Found(s.Verdict(needs)), when(!r.Fits(), words.Say("It was not fit for that."))},
	}.known()
	for _, f := range s.Fitness {
		list = append(list, pages.Fact{Name: titled(f.Purpose), Value: words.Found(f.Verdict)})
	}
	digest := hex.EncodeToString(s.Report[:])
	return append(list, pages.Fact{Name: words.Say("Report"), Value: digest})
}

// apart is how far two clocks may differ before a record says so.
const apart = 10 * time.Minute

// clocks is what is odd about the two times of a record.
func clocks(r record.Record) string {
	if d := r.Told.Sub(r.Mailbox).Abs(); d > apart {
		return words.Say("The two clocks differ by %s.", spell(d))
	}
	return ""
}

// where is a part of a picture, in words.
func where(p area) string {
	if p.width == 0 && p.height == 0 {
		return fmt.Sprintf("%d, %d", p.x, p.y)
	}
	return words.Say("%d, %d to %d, %d", p.x, p.y, p.x+p.width-1, p.y+p.height-1)
}

// short is the begin of a digest.
func short(d [32]byte) string { return hex.EncodeToString(d[:4]) + "…" }

func orNobody(name string) string {
	if name == "" {
		return words.Say("somebody who gave no name")
	}
	return name
}
