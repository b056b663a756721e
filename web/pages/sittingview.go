package pages

import "example.org/plumb/web/words"

// A Button is something that can be done. The browser program listens for the action, with the id of what it is done to.
type Button struct {
	Action, ID string
	Label      string
	Main       bool // the way forward
}

// An Option is one of several answers.
type Option struct {
	Value, Label, Text string
	Chosen             bool
}

// A Question has a few answers, one of which may be chosen. Name is the form field's.
type Question struct {
	Name, Label, Advice string
	Options             []Option
}

// An Item is one of a list, such as a sitting that is kept, with what can be done with it.
type Item struct {
	Title   string
	Text    []string
	Buttons []Button
}

// A Card is the outline of an ISO/IEC 7810 ID-1 card. Width and Height are in CSS pixels, in the direction they are drawn.
type Card struct {
	Width, Height int
	At, Min, Max  int    // the slider, long side in CSS pixels
	Found         string // the pixel density that follows, in words; empty while the card was not adjusted
}

// Preparing is what a person sets and says before a sitting.
type Preparing struct {
	For         []string // who asked for it, and what was asked; empty when nobody did
	Viewer      string
	Set, Choose []Question // about the screen and the room; about the check
	Distance    string     // cm, as typed
	NoStripes   bool       // the viewer leaves the line matches out
}

// A Way leads into a sitting.
type Way struct {
	Skipped []string // what is left out, and why
	Asked   string   // what will be asked and how long it takes
	Problem string   // why the sitting cannot start now; empty when it can
	Buttons []Button
}

// A Key is one answer in the bar.
type Key struct {
	Code  string // KeyboardEvent.code
	Cap   string // what is printed on the key
	Label string
}

// A Bar is the one dim bar of a sitting.
type Bar struct {
	Practice    bool
	Question    string
	Cells       []string // what is printed on the keys of answers that are places on the pattern
	Keys        []Key    // the other answers
	Back        bool     // there is something to take back
	Pause       bool
	Far         string // the check and how far the sitting is
	Left        int    // minutes left, about; 0 leaves it out
	Adaptive    bool   // the program asks more where it is unsure, so that the total may change
	Done, Total int    // Total 0 when there is nothing to count
	Storage     string // what is wrong with the storage, or empty
}

// An Over is words over the field.
type Over struct {
	Title   string
	Text    []string
	Wait    string // what is being waited for; empty when nothing is
	Buttons []Button
}

// A Notice is a page that says what happened, what was kept and what to do.
type Notice struct {
	Title, Lead string
	Text        []string
	Paste       bool // a link can be pasted
	Buttons     []Button
}

// left is the time left in words.
func (b Bar) left() string {
	if b.Left <= 0 {
		return ""
	}
	return words.Say("about %d min left", b.Left)
}

// asks says that the plan depends on the answers.
func (b Bar) asks() string {
	if b.Left <= 0 {
		return words.Say("asks more where it is unsure")
	}
	return words.Say("· asks more where it is unsure")
}
