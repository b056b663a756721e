package app

import (
	"encoding/hex"
	"fmt"
	"time"

	"example.org/plumb/web/pages"
	"example.org/plumb/web/record"
)

// recordView is a record in readable form, text its bytes. Whether it stands, and what can be done with it, is for whoever shows it. Times are told in zone.
func recordView(r record.Record, text []byte, zone *time.Location) pages.RecordView {
	v := pages.RecordView{Title: r.Name + " " + doneWith(r), Lead: r.Asked.Title, Text: string(text)}
	v.Facts = facts{
		{true, "Asked by", orNobody(r.Asked.From), ""},
		{true, "Asked", day(r.Asked.Made.In(zone)), ""},
		{r.Asked.Round > 1, "Version", fmt.Sprint(r.Asked.Round), ""},
		{true, "Decided by", r.Name, ""},
		{true, "Signed", day(r.Told.In(zone)) + ", by the clock of who signed", ""},
		{!r.Mailbox.IsZero(), "At the mailbox", day(r.Mailbox.In(zone)) + ", by the mailbox's clock", clocks(r)},
		{r.Mailbox.IsZero(), "At the mailbox", "no time was told", ""},
		{r.Earlier != [32]byte{}, "Replaces", "an earlier record, " + short(r.Earlier), ""},
	}.known()
	v.Screen = screenFacts(r, zone)
	for i, p := range r.Asked.Pictures {
		j := r.Pictures[i]
		x := pages.RecordPicture{Name: p.Name, Size: size(p.Width, p.Height) + " pixels", Decision: string(j.Decision), Digest: hex.EncodeToString(p.Digest[:])}
		switch list := notSeen(j.HiddenKnown, j.Hidden); {
		case !j.HiddenKnown:
			x.Hidden = []string{"What the screen hid of it is not known."}
		case len(list) == 0:
			x.Hidden = []string{"Nothing of it was hidden, as far as the check could tell."}
		default:
			x.Hidden = append(list, untoldWays(j.Hidden)...)
		}
		for _, n := range j.Notes {
			x.Notes = append(x.Notes, "At "+where(area{n.X, n.Y, n.Width, n.Height})+": "+n.Text)
		}
		v.Pictures = append(v.Pictures, x)
	}
	digest := record.Digest(text)
	v.Keys = []pages.Fact{
		{Name: "This record", Value: hex.EncodeToString(digest[:])},
		{Name: "Key of who decided", Value: hex.EncodeToString(r.Signer[:])},
		{Name: "Key of who asked", Value: hex.EncodeToString(r.Asked.Asker[:])},
	}
	v.Cautions = []string{
		"A name in a record is as its owner typed it. The keys say that the same two browsers were at work, not who sat before them.",
		"An approval covers what this screen could show. What is listed as hidden was not seen, and what was not known may have been hidden.",
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
			text = append(text, capital(w.lost)+": not known.")
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

// doneWith is what was decided, after the name of who did.
func doneWith(r record.Record) string {
	approved, changes, _ := tally(r)
	n := len(r.Pictures)
	switch {
	case n == 1 && approved == 1:
		return "approved the picture"
	case n == 1 && changes == 1:
		return "asks for changes to the picture"
	case r.Whole == record.Approved:
		return fmt.Sprintf("approved all %d pictures", n)
	case approved == 0 && changes == 0:
		return "left it open"
	case changes == 0:
		return fmt.Sprintf("approved %d of %d pictures and left the others open", approved, n)
	case approved == 0:
		return fmt.Sprintf("asks for changes to %d of %d pictures", changes, n)
	}
	return fmt.Sprintf("approved %d of %d pictures and asks for changes to %d", approved, n, changes)
}

// screenFacts is what a record says of the screen.
func screenFacts(r record.Record, zone *time.Location) []pages.Fact {
	s := r.Screen
	needs := r.Asked.Needs
	if !s.Checked() {
		return facts{
			{true, "Screen", "unchecked: what it hid of the pictures is not known", ""},
			{needs != "", "Asked of the screen", needs, "It was not checked for that."},
		}.known()
	}
	list := facts{
		{true, "Screen", title(s.Name), ""},
		{true, "Checked", day(s.Ended.In(zone)), ""},
		{needs != "", "Asked of the screen", needs + ": " + s.Verdict(needs), when(!r.Fits(), "It was not fit for that.")},
	}.known()
	for _, f := range s.Fitness {
		list = append(list, pages.Fact{Name: capital(f.Purpose), Value: f.Verdict})
	}
	digest := hex.EncodeToString(s.Report[:])
	return append(list, pages.Fact{Name: "Report", Value: digest})
}

// apart is how far two clocks may differ before a record says so.
const apart = 10 * time.Minute

// clocks is what is odd about the two times of a record.
func clocks(r record.Record) string {
	if d := r.Told.Sub(r.Mailbox).Abs(); d > apart {
		return "The two clocks differ by " + spell(d) + "."
	}
	return ""
}

// where is a part of a picture, in words.
func where(p area) string {
	if p.width == 0 && p.height == 0 {
		return fmt.Sprintf("%d, %d", p.x, p.y)
	}
	return fmt.Sprintf("%d, %d to %d, %d", p.x, p.y, p.x+p.width-1, p.y+p.height-1)
}

// short is the begin of a digest.
func short(d [32]byte) string { return hex.EncodeToString(d[:4]) + "…" }

func orNobody(name string) string {
	if name == "" {
		return "somebody who gave no name"
	}
	return name
}
