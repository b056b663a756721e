package pages

import (
	"github.com/a-h/templ"

	"example.org/plumb/web/words"
)

// A Carrier is a page that carries the browser program.
type Carrier struct {
	Name    string // what the program is to do there: check, ask, desk or request
	Head    Head
	Loading string // said while the program comes
	Without string // what cannot be done without JavaScript, and why
}

// Asking is what an owner fills in to ask somebody for a check.
type Asking struct {
	Title, Note, From string
	Alone             bool       // no server carries it
	Choose            []Question // what is asked
	Travel            []Question // how it travels, and how long it lasts
}

// A Link is an address to be passed on. The zero Link shows nothing.
type Link struct {
	Label   string
	Address string
	Code    templ.Component // the same as a QR code; nil where none fits
	Share   bool            // the browser has a share sheet
	Buttons []Button        // beside copying and sharing
}

// Made is a request that is on its way: its link, or why there is none yet.
type Made struct {
	Title   string   // of the page
	Lead    string   //
	Text    []string // what the link can do
	Link    Link
	Keeping Keeping
	Buttons []Button
}

// Keeping says where the keys of a desk are, before it matters.
type Keeping struct {
	Text    []string
	Buttons []Button
	Owner   Link // opens the desk elsewhere
}

// Asked is a request as the person sees who is asked.
type Asked struct {
	From, Title, Note string
	Facts             []Fact   // how long it takes, what the screen should be, until when
	Sent, Kept        []string // what is sent and where it goes; what is not
	Done              []Item   // reports that were made for this request before
	Gone              string   // why no answer can be sent any more; empty while one can
	Buttons           []Button
	Proof             AskedProof
}

// Sending is the choice to send a report to whoever asked for it, and what became of it. The zero Sending shows nothing.
type Sending struct {
	Title   string // may be empty
	Text    []string
	Choose  []Question
	State   string // what is to be done, or is being done, in words
	Link    Link   // the answer as a link, where no server carries it
	Buttons []Button
}

// A DeskRequest is one request on the desk.
type DeskRequest struct {
	ID      string
	Title   string
	Text    []string // what was asked and when it ends
	State   string   // in words
	Link    Link
	Answers []DeskAnswer
	Proof   DeskProof
	Buttons []Button
}

// A DeskAnswer is a report that came back.
type DeskAnswer struct {
	ID       string
	Screen   string
	Made     string // by whom and when
	Score    Score
	Void     bool
	Purposes []Purpose
	New      bool // not opened yet
	Note     string
}

// called is an answer's name for those who hear the page.
func (a DeskAnswer) called() string {
	if a.Made == "" {
		return upper(a.Screen)
	}
	return upper(a.Screen) + ", " + a.Made
}

// Keeps is what a server learns of a request that it carries, said alike to who asks and who answers.
const Keeps = "It keeps that there is a box and until when, how many letters are in it and how large they are, and no time finer than a day; as every site does, it sees your network address and when you connect."

// asks is who asks, in a sentence.
func (v Asked) asks() string {
	switch n := len(v.Proof.Pictures); {
	case n == 0 && v.From == "":
		return words.Say("You are asked to check your screen")
	case n == 0:
		return words.Say("%s asks you to check your screen", v.From)
	case n == 1 && v.From == "":
		return words.Say("You are asked to decide on a picture")
	case n == 1:
		return words.Say("%s asks you to decide on a picture", v.From)
	case v.From == "":
		return words.Say("You are asked to decide on %d pictures", n)
	default:
		return words.Say("%s asks you to decide on %d pictures", v.From, n)
	}
}

// going is what happens to nothing before which click.
func (p AskedProof) going() string {
	if p.Going != "" {
		return p.Going
	}
	if len(p.Pictures) > 0 {
		return words.Say("Nothing is sent until you sign your decision and press Send.")
	}
	return words.Say("Nothing is sent until you have seen your report and press Send.")
}
