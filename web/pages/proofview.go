package pages

import (
	"strconv"
	"strings"

	"example.org/plumb/web/words"
)

// A Progress is how far something is that takes longer than a second. The zero Progress shows nothing.
type Progress struct {
	Label string
	Share float64 // 0 to 1; below 0 where it cannot be told
	Text  string  // how much of how much, in words
}

// A Proofing is what an owner fills in to send pictures for a decision.
type Proofing struct {
	Title, Note, From string
	Alone             string     // why no proof can be sent from this site; empty where one can
	Version           string     // which version of which proof it makes, in words; empty for a new proof
	Before            []ViewNote // what was noted in the version before
	Needs             []Question // what the screen must be able to carry
	Travel            []Question // how long it lasts
}

// States of a picture on its way into a proof, and of a file beside a record.
const (
	Reading = "reading" // being looked at
	Taken   = "taken"   // goes into the proof
	Refused = "refused" // does not
	Sealing = "sealing" // being sealed and sent
	Sent    = "sent"    // lies in the box
	Stuck   = "stuck"   // its way stopped, and can go on
)

// A PictureRow is a picture on its way into a proof.
type PictureRow struct {
	ID, Name string
	Size     string   // in pixels and bytes, in words; empty while not known
	Kind     string   // the file's kind and its profile
	State    string   // Reading, Taken, Refused, Sealing, Sent, Stuck; anything else says nothing
	Share    float64  // of what is being done, 0 to 1; below 0 where it cannot be told
	Notes    []string // what the sender ought to know, of a picture that is taken
	Why, Do  string   // of one that is refused or stuck
	Buttons  []Button
}

// A ProofWay is the way on from a form of a proof: what is still missing, or how far sending is.
type ProofWay struct {
	Problem  string // why it cannot go on now; empty when it can
	Asked    string // what will happen, or happens, in words
	Progress Progress
	Buttons  []Button
}

// An AskedProof is the part of a request that asks for a decision on pictures. The zero value is none.
type AskedProof struct {
	Pictures []AskedPicture
	Version  string // which version it is, and what became of the one before; empty for the first
	Needs    string // what is asked of the screen, a sentence
	Ways     []LookWay
	Decided  []Item // records that were made here for this request
	Going    string // what happens to nothing before which click; empty for the usual sentence
}

// An AskedPicture is one of the pictures that are asked about.
type AskedPicture struct{ Name, Size string }

// A LookWay is one way to look at the pictures: after a check, with an earlier one, or unchecked.
type LookWay struct {
	Title   string
	Text    []string
	Verdict string // of the purpose that is asked for: holds, off, unsure, not checked; empty where none is asked or there is no check
	Fit     string // the same in words, such as "good enough for light and shade"
	Facts   []Fact // age and conditions of an earlier check
	Buttons []Button
}

// A Viewing is the page on which pictures are looked at and decided on. Each part is filled by itself afterwards: its element's id and its component stand beside it.
// What is in #easel and in the field "name" is never filled again.
type Viewing struct {
	Title, From string // of the proof, and who asks
	Screen      string // what the record will say of this screen, a sentence
	Note        string // of who asks, on this version
	Name        string // of who decides, as typed

	Tools    EaselTools // #tools    EaselBar; and #divider DividerOf, which holds a slider: to be filled only when the way changes
	Loading  Progress   // #loading  LoadingOf: over the easel while the picture comes
	Failed   Failed     // #failed   FailedOf: over the easel when it does not
	Pictures []ViewTab  // #pictures ViewTabs
	Hides    Hides      // #hides    HidesOf
	Notes    ViewNotes  // #notes    ViewNotesOf
	Noting   Noting     // #noting   NotingOf: the note that is being written, over the easel
	Decide   Deciding   // #decide   DecideOf
	Closing  Closing    // #closing  ClosingOf
	Signing  Signing    // #signing  SigningOf
	Record   RecordView // #signed   RecordPanel
}

// An EaselTools is the row of words under an easel. Actions: picture-back, picture-on, fit, full, closer, further, hatch, way (id of the option), swap, note (pins
// one, or leaves it), note-middle, note-sight (pins it to all that is in sight). Field: divider, 0 to 1000.
type EaselTools struct {
	Picture string   // name of what hangs there
	At, Of  int      // which of how many, from 1
	Scale   string   // as shown now, such as "43 %"; empty while nothing hangs there
	Fit     bool     // the whole picture is in the easel
	Full    bool     // one pixel of the picture to one of the screen
	Hatch   string   // on, off; empty where nothing can be hatched
	Ways    []Option // one, beside, swap, divider; fewer than two: there is nothing to compare
	Front   string   // which one is in sight while they are swapped
	Ends    [2]string
	Divider int  // per mille of the easel's width; drawn while the chosen way is divider
	Notes   bool // notes can be pinned
	Pinning bool // the next press pins one
}

// A Failed is a picture that cannot be shown. The zero Failed shows nothing.
type Failed struct {
	Title   string
	Text    []string // what happened, what is kept, what to do
	Buttons []Button
}

// A ViewTab is one of the pictures to be decided on. Action: picture (its id).
type ViewTab struct {
	ID, Name string
	Decision string // approved, changes asked; anything else is undecided
	Notes    int
	Current  bool
}

// States of what a screen hides.
const (
	HidesWorking   = "working"   // being worked out
	HidesFound     = "found"     // there are lines
	HidesNothing   = "nothing"   // nothing hidden that this sitting could find
	HidesUnchecked = "unchecked" // the screen was not checked
	HidesUnknown   = "unknown"   // it could not be worked out
)

// Hides is what a screen hides of a picture. The zero value says that it is not known. Action: hides (id of a line).
type Hides struct {
	State    string
	Theirs   bool // of somebody else's screen
	Progress Progress
	Lead     string      // a sentence; empty for the usual one
	Lines    []HidesLine // the most important first
	Unseen   []string    // what could not be judged on this screen, and why
	Rests    []string    // what the figures rest on
	Buttons  []Button
}

// A HidesLine is one way in which a part of a picture is hidden. At, Lo and Hi are per cent of its pixels.
type HidesLine struct {
	ID         string // of its hatch; empty where it has none
	What       string // such as "Shadows shown as black"
	Words      string // what it means in this picture
	Figure     string // the share with its 90 % interval, in words
	Lo, At, Hi float64
	Hatched    bool // its hatch is on
}

// A ViewNote is a note pinned to a picture. Action: note-show (its id).
type ViewNote struct {
	ID, Label string // of its pin
	Where     string // the point or rectangle, in words
	Text      string
	By        string // who wrote it; empty: who looks now
	Version   string // the earlier version it was pinned to; empty: this one
	Current   bool
	Buttons   []Button
}

// ViewNotes are the notes on the picture in sight.
type ViewNotes struct {
	List  []ViewNote
	Empty string // said where there are none; empty for the usual sentence
}

// A Noting is the note that is being written. The zero Noting shows nothing. Field: note-text.
type Noting struct {
	Label, Where string // of its pin; Where empty: no note is being written
	Text         string
	High         bool // its pin is low, so that it is written above it
	Buttons      []Button
}

// A Deciding is the decision on the picture in sight, with what it covers, said before the click. Actions: approve, changes, undecided (id of the picture).
type Deciding struct {
	ID, Picture string
	Decision    string   // approved, changes asked; anything else is undecided
	Covers      []string // what an approval covers
	NotSeen     []string // what it does not: hidden parts, the most important first
	Problem     string   // why nothing can be decided now; empty when it can
	Confirm     string   // what is asked once more before an approval counts; empty when nothing is
	Buttons     []Button // its answers
}

// A Closing is the decision for all pictures and what goes along. Actions: approve-all, changes-all, undecided-all. Fields of the questions.
type Closing struct {
	Offered  bool   // there is more than one picture to decide on together
	Decision string // for all: approved, changes asked; anything else is undecided
	Covers   string // what it covers, said before the click
	Problem  string // why it cannot be given now; empty when it can
	Choose   []Question
	Carries  []Fact   // what the record will say: each picture's decision, the screen
	Sent     []string // what is sent and where
}

// A Signing is the way to sign and send, and what became of it.
type Signing struct {
	Problem  string // why it cannot be signed now; empty when it can
	State    string // in words
	Progress Progress
	Buttons  []Button
}

// States of a record that is looked at, and of each thing checked about it.
const (
	Stands  = "stands" // everything that was checked agrees
	Fails   = "fails"
	Differs = "differs" // something beside it is none of what it names; it stands all the same
	Absent  = "absent"  // was not there to be checked
)

// A RecordView is a record in readable form. The zero RecordView shows nothing.
type RecordView struct {
	Title    string // who decided what
	Lead     string // about what
	State    string // Stands or Fails; empty on one that was just signed here
	Says     string // whether it stands, a sentence
	Checked  []RecordCheck
	Facts    []Fact // who asked whom, when by whose clock
	Screen   []Fact // the screen it was decided on
	Pictures []RecordPicture
	Keys     []Fact // digests and keys
	Cautions []string
	Replaces string // the record that it replaces, or the one that replaces it
	Text     string // the record itself
	Sending  Signing
	Buttons  []Button
}

// A RecordCheck is one thing that was checked about a record.
type RecordCheck struct{ Name, State, Text string }

// A RecordPicture is what a record says of one picture.
type RecordPicture struct {
	Name, Size string
	Decision   string // approved, changes asked; anything else is undecided
	Hidden     []string
	Notes      []string
	Digest     string
}

// An AsSeen is a picture as somebody else's screen showed it, beside itself. Parts as on the page of a Viewing.
type AsSeen struct {
	Title, Lead string   // whose screen, which decision
	Against     string   // whether it is corrected for the screen it is shown on, a sentence
	Missing     []string // what is not modelled
	Tools       EaselTools
	Loading     Progress
	Failed      Failed
	Pictures    []ViewTab
	Hides       Hides
	Notes       ViewNotes
	Record      RecordView
	Buttons     []Button
}

// A DeskProof is the proof in a request. The zero value is none.
type DeskProof struct {
	Version  string // which version is out
	Pictures []DeskPicture
	Records  []DeskRecord // the latest first
}

// A DeskPicture is one picture with what became of it.
type DeskPicture struct {
	ID, Name, Size string
	States         []DeskState // one for each person who answered
	Buttons        []Button
}

// A DeskState is one person's decision on one picture.
type DeskState struct {
	By, Decision string // Decision: approved, changes asked; anything else is undecided
	Screen       string // checked or not, and whether it is fit
	Note         string
}

// A DeskRecord is a decision that came back.
type DeskRecord struct {
	ID      string
	By      string
	Made    string
	Whole   string // approved, changes asked; anything else is undecided
	State   string // Stands or Fails; anything else was not checked yet
	Says    string // why it does not stand, or which version it is about
	Screen  string
	New     bool
	Buttons []Button
}

// A RecordFile is a file beside a record on the page that checks records.
type RecordFile struct {
	ID, Name, Size string
	State          string // Reading, Stands, Fails, Absent
	Text           string
	Buttons        []Button
}

// decided is a decision in words. Whatever is no decision is undecided.
func decided(decision string) string {
	switch decision {
	case "approved":
		return words.Say("Approved")
	case "changes asked":
		return words.Say("Changes asked")
	}
	return words.Say("Undecided")
}

// told is a decision as it is recorded; empty for whatever is none.
func told(decision string) string {
	if decision == "approved" || decision == "changes asked" {
		return decision
	}
	return ""
}

// standing is whether a record stands, in a word, and the verdict whose shape it has.
func standing(state string) (word, shape string) {
	switch state {
	case Stands:
		return words.Say("Stands"), "holds"
	case Fails:
		return words.Say("Does not stand"), "off"
	case Differs:
		return words.Say("Does not agree"), "off"
	case Absent:
		return words.Say("Not there"), "not checked"
	}
	return words.Say("Not checked"), "not checked"
}

// per1000 is a share for an element that shows progress.
func per1000(share float64) string {
	return strconv.Itoa(int(min(max(share, 0), 1)*1000 + 0.5))
}

func (p Progress) shown() bool { return p.Label != "" }

func (t EaselTools) chosen(way string) bool {
	for _, w := range t.Ways {
		if w.Value == way {
			return w.Chosen
		}
	}
	return false
}

// place is which picture of how many, in words.
func (t EaselTools) place() string {
	if t.Of < 1 {
		return ""
	}
	return words.Say("%d of %d", t.At, t.Of)
}

// called is a tab for those who hear the page.
func (t ViewTab) called() string {
	word := words.Say("undecided")
	switch t.Decision {
	case "approved":
		word = words.Say("approved")
	case "changes asked":
		word = words.Say("changes asked")
	}
	s := t.Name + ", " + word
	if t.Notes > 0 {
		s += ", " + words.Some(t.Notes, "%d note", "%d notes")
	}
	return s
}

// labelled is a button's label with what it is about, for those who hear the page.
func labelled(label, name string) string {
	if label == name || name == "" {
		return label
	}
	return label + ": " + name
}

// pressed is the value of aria-pressed.
func pressed(on bool) string { return strconv.FormatBool(on) }

func (v Viewing) heading() string {
	if v.Title == "" {
		return words.Say("The pictures")
	}
	return upper(v.Title)
}

func (v Viewing) asks() string {
	if v.From == "" {
		return words.Say("Your decision is asked for.")
	}
	return words.Say("%s asks for your decision.", v.From)
}

func (v Viewing) wrote() string {
	if v.From == "" {
		return words.Say("What was written to you")
	}
	return words.Say("%s writes", v.From)
}

// about is what is known of a picture's file.
func (r PictureRow) about() string {
	return joined(r.Size, r.Kind)
}

// joined is what is not empty, with a dot between.
func joined(list ...string) string {
	var some []string
	for _, s := range list {
		if s != "" {
			some = append(some, s)
		}
	}
	return strings.Join(some, " · ")
}

// word is what became of a picture on its way into a proof.
func (r PictureRow) word() string {
	switch r.State {
	case Reading:
		return words.Say("Being read")
	case Taken:
		return words.Say("Ready")
	case Refused:
		return words.Say("Not taken")
	case Sealing:
		return words.Say("Being sealed and sent")
	case Sent:
		return words.Say("Sent")
	case Stuck:
		return words.Say("Stopped on its way")
	}
	return words.Say("Not read yet")
}

// aside is what a tab says beside the picture's name.
func (t ViewTab) aside() string {
	s := ""
	if t.Notes > 0 {
		s = words.Some(t.Notes, "%d note", "%d notes")
	}
	return joined(decided(t.Decision), s)
}

// decidedOf is how many pictures have a decision.
func decidedOf(list []ViewTab) string {
	n := 0
	for _, t := range list {
		if told(t.Decision) != "" {
			n++
		}
	}
	return words.Say("%d of %d decided", n, len(list))
}

func (h Hides) heading() string {
	if h.Theirs {
		return words.Say("What their screen hid")
	}
	return words.Say("What this screen hides")
}

func (h Hides) progress() Progress {
	if h.Progress.Label == "" {
		return Progress{Label: words.Say("Being worked out for this picture"), Share: -1}
	}
	return h.Progress
}

// listed tells whether there are lines to show: of what was found, and of nothing else.
func (h Hides) listed() bool { return h.State == HidesFound && len(h.Lines) > 0 }

// lead is the sentence above the lines. Only HidesNothing says that nothing is hidden, and only as far as the sitting could see.
func (h Hides) lead() string {
	switch {
	case h.Lead != "" && (h.State == HidesNothing || h.State == HidesUnchecked || h.State == HidesUnknown || h.listed()):
		return h.Lead
	case h.listed() && h.Theirs:
		return words.Say("Parts of this picture that their screen couldn't show. The most important first.")
	case h.listed():
		return words.Say("Parts of this picture that this screen can't show. The most important first.")
	case h.State == HidesNothing:
		return words.Say("Nothing hidden that the check could find. A fault smaller than it could see may be there all the same.")
	case h.State == HidesUnchecked && h.Theirs:
		return words.Say("Their screen was not checked, so nobody can say what it hides. The record says so.")
	case h.State == HidesUnchecked:
		return words.Say("This screen was not checked, so nobody can say what it hides. The record says so.")
	case h.Theirs:
		return words.Say("It is not known what their screen hides of this picture.")
	}
	return words.Say("It is not known what this screen hides of this picture.")
}

// axis is the end of the axis that the shares are drawn on, in per cent: the first of 1, 2, 5, 10, 20, 50, 100 that holds them all.
func (h Hides) axis() float64 {
	most := 0.0
	for _, l := range h.Lines {
		if l.drawn() {
			most = max(most, l.Hi)
		}
	}
	for _, end := range []float64{1, 2, 5, 10, 20, 50} {
		if most <= end {
			return end
		}
	}
	return 100
}

// drawn tells whether the shares are ones.
func (l HidesLine) drawn() bool {
	return finite(l.Lo, l.At, l.Hi) && 0 <= l.Lo && l.Lo <= l.At && l.At <= l.Hi && l.Hi <= 100 && l.Hi > 0
}

func (v ViewNotes) empty() string {
	if v.Empty == "" {
		return words.Say("None yet. Pin one to a point or a rectangle of the picture.")
	}
	return v.Empty
}

// about is who wrote a note, where, and on which version.
func (n ViewNote) about() string { return joined(n.By, n.Version, n.Where) }

// blocks tells whether a decision cannot be taken now. One that was taken can always be left.
func (d Deciding) blocks(decision string) bool {
	return d.Problem != "" && told(decision) != ""
}

// called is a record's name for those who hear the page.
func (r DeskRecord) called() string { return joined(upper(r.By), r.Made) }

// standing is what became of a file, in a word, and the verdict whose shape it has.
func (f RecordFile) standing() (word, shape string) {
	switch f.State {
	case Stands:
		return words.Say("Agrees"), "holds"
	case Fails:
		return words.Say("Does not agree"), "off"
	}
	return words.Say("Not compared"), "not checked"
}
