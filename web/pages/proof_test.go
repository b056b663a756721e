package pages

import (
	"math"
	"strings"
	"testing"

	"github.com/a-h/templ"
)

// The pages of a proof, by the names of their golden files.
func init() {
	needs := Question{Name: "needs", Label: "What their screen must be able to carry", Advice: "A decision on a screen that can't carry it is recorded as such.", Options: []Option{
		{Value: "", Label: "Unchecked is fine", Text: "They may look without a check. The record says so.", Chosen: true},
		{Value: "layout and wording", Label: "Layout and wording"},
		{Value: "light and shade", Label: "Light and shade"},
		{Value: "colour", Label: "Colour"},
	}}
	lasts := Question{Name: "days", Label: "It can be answered for", Options: []Option{{Value: "7", Label: "a week"}, {Value: "30", Label: "30 days", Chosen: true}}}
	old := ViewNote{Label: "1", Where: "a point at 1204 × 880", Text: "Bark a touch warmer here?", By: "Ines", Version: "first version"}
	for name, c := range map[string]templ.Component{
		"carry-proof":     Proof(Site{Stage: "/s.css"}),
		"carry-record":    Records(Site{}),
		"proofing":        ProofingPage(Proofing{Title: "Orchard catalogue, spread 4", From: "Tomas", Note: "Please look at the shadows in the barn.", Needs: []Question{needs}, Travel: []Question{lasts}}),
		"proofing-alone":  ProofingPage(Proofing{Alone: "This site has no mailbox, so it can't carry pictures."}),
		"proofing-round":  ProofingPage(Proofing{Version: "Second version of Orchard catalogue, spread 4. Whoever has the link sees it there.", Before: []ViewNote{old}, Needs: []Question{needs}}),
		"picture-rows":    PictureRows(pictureRows(), "5 pictures, 41.2 MB"),
		"picture-none":    PictureRows(nil, ""),
		"proof-enter":     ProofEnter(ProofWay{Asked: "Two of three pictures are sealed and sent.", Progress: Progress{"Sealing and sending", 0.62, "25.5 of 41.2 MB"}, Buttons: []Button{{Action: "stop", Label: "Stop"}}}),
		"asked-proof":     AskedPage(askedForProof()),
		"viewing":         ViewingPage(viewing()),
		"viewing-pinning": EaselBar(EaselTools{Picture: "barn door.jpg", At: 1, Of: 1, Scale: "100 %", Full: true, Notes: true, Pinning: true}),
		"viewing-failed":  FailedOf(Failed{"This picture did not come", []string{"What came is not what was sent: its digest differs.", "Nothing is decided, and your notes are kept."}, []Button{{Action: "again-picture", ID: "2", Label: "Fetch it again", Main: true}}}),
		"viewing-loading": LoadingOf(Progress{"Fetching orchard gate.png", 0.4, "3.1 of 7.8 MB"}),
		"viewing-divider": DividerOf(EaselTools{Ways: []Option{{Value: "divider", Label: "Divider", Chosen: true}}, Ends: [2]string{"second version", "first version"}, Divider: 500}),
		"viewing-zero":    ViewingPage(Viewing{}),
		"hides-working":   HidesOf(Hides{State: HidesWorking, Progress: Progress{"Being worked out", 0.3, "7.2 of 24 megapixels"}}),
		"hides-nothing":   HidesOf(Hides{State: HidesNothing, Rests: []string{"The check would have found shadows lost below code 9."}, Unseen: []string{"Colours beyond sRGB: the colour range was not checked."}}),
		"hides-unchecked": HidesOf(Hides{State: HidesUnchecked, Theirs: true}),
		"hides-zero":      HidesOf(Hides{}),
		"decide-blocked":  DecideOf(Deciding{ID: "1", Picture: "barn door.jpg", Decision: "approved", Problem: "The picture is still coming. It can be decided on once you can see it."}),
		"decide-confirm":  DecideOf(Deciding{ID: "1", Confirm: "Approve what this screen can show?", Buttons: []Button{{Action: "covers-yes", ID: "1", Label: "Approve it"}, {Action: "covers-no", ID: "1", Label: "Not yet"}}}),
		"noting":          NotingOf(Noting{Label: "3", Where: "an area of 420 × 260 at 1810 × 1204", Text: "Brighter <here>", Buttons: []Button{{Action: "note-done", Label: "Keep the note", Main: true}, {Action: "note-delete", ID: "3", Label: "Delete it"}}}),
		"signed":          RecordPanel(signedRecord()),
		"signed-fails":    RecordPanel(RecordView{Title: "A record that does not stand", State: Fails, Says: "A byte of it is not as it was signed.", Checked: []RecordCheck{{"Signature of who decided", Fails, "It does not fit the text."}, {"The report", Absent, ""}}}),
		"seen-proof":      SeenProofPage(asSeen()),
		"seen-proof-zero": SeenProofPage(AsSeen{}),
		"records":         RecordsPage(),
		"record-files":    RecordFiles([]RecordFile{{ID: "1", Name: "record.txt", Size: "3.1 kB", State: Stands, Text: "The record."}, {ID: "2", Name: "barn door.jpg", Size: "6.2 MB", State: Fails, Text: "It is none of the pictures of this record, or was changed.", Buttons: []Button{{Action: "drop-file", ID: "2", Label: "Remove"}}}, {ID: "3", Name: "orchard gate.png", Size: "7.8 MB", State: Reading}, {ID: "4", Name: "else.txt"}}),
		"requests-proof":  Requests([]DeskRequest{{ID: "PrF", Title: "orchard catalogue, spread 4", Text: []string{"Sent 24 November 2026, under the name Tomas: three pictures, to be decided on a screen that carries light and shade."}, State: "Open until 24 December 2026, 2 decisions", Proof: deskProofs(), Buttons: []Button{{Action: "version", ID: "PrF", Label: "Send a new version"}, {Action: "close", ID: "PrF", Label: "Close it"}}}}),
	} {
		golden[name] = c
	}
}

func pictureRows() []PictureRow {
	remove := []Button{{Action: "remove", ID: "p1", Label: "Remove"}}
	return []PictureRow{
		{ID: "p1", Name: "barn door.jpg", Size: "6016 × 4016 pixels, 12.4 MB", Kind: "JPEG, Display P3", State: Taken, Buttons: remove},
		{ID: "p2", Name: "orchard gate.tif", Size: "4000 × 3000 pixels, 68.7 MB", Kind: "TIFF, 16 bits", State: Taken, Notes: []string{"Browsers don't show TIFF: it is sent as PNG with 8 bits for each channel."}, Buttons: remove},
		{ID: "p3", Name: "crates.png", State: Reading, Share: 0.4, Buttons: remove},
		{ID: "p4", Name: "label, for print.tif", Size: "3500 × 2480 pixels", State: Refused, Why: "Its colours are CMYK, which no browser shows as a press would print them.", Do: "Convert it to RGB with the profile that the press asks for, and add it again.", Buttons: remove},
		{ID: "p5", Name: "ladder.jpg", Size: "6000 × 4000 pixels, 9.1 MB", State: Sealing, Share: 0.7},
		{ID: "p6", Name: "rows.webp", State: Stuck, Why: "The connection was lost.", Do: "It goes on by itself.", Buttons: []Button{{Action: "now", Label: "Try now", Main: true}}},
		{ID: "p7", Name: "gate.avif", State: Sent},
		{Name: "else.jpg"},
	}
}

func askedForProof() Asked {
	return Asked{
		From: "Tomas", Title: "Orchard catalogue, spread 4", Note: "Please look at the shadows in the barn.",
		Facts: []Fact{{"Can be answered", "until 24 December 2026", ""}},
		Sent:  []string{"Your decisions and notes, your name as you type it, and the time.", "The report of the check, and what is known of this screen."}, Kept: []string{"No other picture, no file, and nothing before you press Send."},
		Proof: AskedProof{
			Pictures: []AskedPicture{{"barn door.jpg", "6016 × 4016 pixels, 12.4 MB"}, {"orchard gate.png", "4000 × 3000 pixels, 7.8 MB"}},
			Version:  "This is the second version. You asked for changes in the first on 21 November 2026; your notes stand beside the pictures.",
			Needs:    "It should carry decisions on light and shade. You can decide on any screen; the record says whether it did.",
			Ways: []LookWay{
				{Title: "Check this screen first", Text: []string{"About 8 minutes. You see your own report, then the pictures with what this screen hides of them."}, Buttons: []Button{{Action: "begin", Label: "Check first", Main: true}}},
				{Title: "Use the check of kitchen laptop", Verdict: "holds", Fit: "good enough for light and shade", Facts: []Fact{{"Checked", "today, 14:05", ""}, {"Room", "dim", "It was darker then than a kitchen at noon."}}, Buttons: []Button{{Action: "use", ID: "s1", Label: "Use this check"}}},
				{Title: "Look unchecked", Text: []string{"The record says that this screen was not checked, and nobody can say what it hid."}, Buttons: []Button{{Action: "unchecked", Label: "Look unchecked"}}},
			},
			Decided: []Item{{"Changes asked on 21 November 2026", []string{"Sent. It is about the first version."}, []Button{{Action: "record", ID: "r1", Label: "See the record"}}}},
		},
	}
}

func hidesLines() []HidesLine {
	return []HidesLine{
		{ID: "shadows", What: "Shadows shown as black", Words: "Detail in the dark of the doorway and under the crates.", Figure: "6.2 % of the picture (4.8 to 7.9 %)", Lo: 4.8, At: 6.2, Hi: 7.9, Hatched: true},
		{ID: "shifted", What: "Tones that are shifted", Words: "Middle tones look darker than they are meant to.", Figure: "2.1 % (0.9 to 3.4 %)", Lo: 0.9, At: 2.1, Hi: 3.4},
		{What: "Steps too fine to tell apart", Figure: "0.3 % (0.1 to 0.6 %)", Lo: 0.1, At: 0.3, Hi: 0.6},
	}
}

func viewing() Viewing {
	ways := []Option{{Value: "one", Label: "This version", Chosen: true}, {Value: "beside", Label: "Beside"}, {Value: "swap", Label: "In place"}, {Value: "divider", Label: "Divider"}}
	return Viewing{
		Title: "Orchard catalogue, spread 4", From: "Tomas", Note: "Please look at the shadows in the barn.", Name: "Ines",
		Screen:   "Decided on kitchen laptop, checked today at 14:05: fit for light and shade, not for colour.",
		Tools:    EaselTools{Picture: "barn door.jpg", At: 1, Of: 3, Scale: "17 %", Fit: true, Hatch: "on", Ways: ways, Notes: true},
		Pictures: []ViewTab{{"0", "barn door.jpg", "changes asked", 2, true}, {"1", "orchard gate.png", "approved", 0, false}, {"2", "crates.png", "", 0, false}},
		Hides:    Hides{State: HidesFound, Lines: hidesLines(), Rests: []string{"In brackets the 90 % interval. Worked out from your answers and this picture's own pixels."}},
		Notes: ViewNotes{List: []ViewNote{
			{ID: "1", Label: "1", Where: "a point at 1204 × 880", Text: "Is there still wood grain in here?", Current: true, Buttons: []Button{{Action: "note-edit", ID: "1", Label: "Change"}, {Action: "note-delete", ID: "1", Label: "Delete"}}},
			{ID: "old1", Label: "2", Where: "an area of 420 × 260 at 1810 × 1204", Text: "Bark a touch warmer here?", Version: "on the first version"},
		}},
		Decide:  Deciding{ID: "0", Picture: "barn door.jpg", Decision: "changes asked", Covers: []string{"What this screen can show of this picture, on light and shade."}, NotSeen: []string{"6.2 % (4.8 to 7.9 %): shadows shown as black", "2.1 % (0.9 to 3.4 %): tones that are shifted"}},
		Closing: Closing{Offered: true, Problem: "One picture is undecided.", Covers: "All pictures as decided above.", Choose: []Question{{Name: "whole", Label: "What goes along", Options: []Option{{Value: "no", Label: "The report of the check", Chosen: true}, {Value: "yes", Label: "Each single answer too"}}}}, Carries: []Fact{{"Screen", "kitchen laptop", ""}}, Sent: []string{"The record, sealed for Tomas alone, to plumb.example."}},
		Signing: Signing{State: "Nothing is signed yet.", Buttons: []Button{{Action: "sign", Label: "Sign and send", Main: true}}},
	}
}

func signedRecord() RecordView {
	digest := strings.Repeat("3f7a 90c1 ", 8)
	return RecordView{
		Title: "Ines asks for changes", Lead: "Orchard catalogue, spread 4, second version, asked by Tomas",
		State: Stands, Says: "Every byte is as it was signed, and everything that was added agrees.",
		Checked:  []RecordCheck{{"Signature of who decided", Stands, ""}, {"Signature of who asked", Stands, ""}, {"The report", Stands, "It is the one that the record names."}, {"The pictures", Absent, "Add them to have them compared."}},
		Facts:    []Fact{{"Asked by", "Tomas, 24 November 2026, 09:12", ""}, {"Decided by", "Ines, 24 November 2026, 14:20 by the signer's clock", ""}, {"Mailbox", "24 November 2026, 14:20", ""}, {"Asked of the screen", "light and shade", ""}},
		Screen:   []Fact{{"Screen", "kitchen laptop, checked 24 November 2026, 14:05", ""}, {"Layout and wording", "fit to decide", ""}, {"Light and shade", "fit to decide", ""}, {"Colour", "not fit", ""}},
		Pictures: []RecordPicture{{"barn door.jpg", "6016 × 4016 pixels", "changes asked", []string{"6.2 % (4.8 to 7.9 %): shadows shown as black"}, []string{"1: Is there still wood grain in here?"}, digest}, {"orchard gate.png", "4000 × 3000 pixels", "approved", nil, nil, digest}, {"crates.png", "2400 × 1600 pixels", "", nil, nil, digest}},
		Keys:     []Fact{{"This record", digest, ""}, {"Ines's key", digest, ""}, {"Tomas's key", digest, ""}, {"Report", digest, ""}},
		Cautions: []string{"A judgement by eye, not a measurement.", "A name is what was typed; a key belongs to whoever had the link."},
		Replaces: "It replaces the record of 21 November 2026.",
		Text:     "a record\n<signed>\n",
		Buttons:  []Button{{Action: "save-record", Label: "Save the record", Main: true}, {Action: "print", Label: "Print"}},
	}
}

func asSeen() AsSeen {
	return AsSeen{
		Title: "As Ines saw it", Lead: "barn door.jpg on kitchen laptop, 24 November 2026. She asks for changes.",
		Against:  "Left as you sent it, right as her screen showed it, corrected for your own screen, studio left, checked today.",
		Missing:  []string{"The colour of white and how bright it is: you see both against your own white.", "The room: its light, and what it reflected.", "Her eyes."},
		Tools:    EaselTools{Picture: "barn door.jpg", At: 1, Of: 2, Scale: "23 %", Hatch: "off", Ways: []Option{{Value: "one", Label: "As sent"}, {Value: "beside", Label: "Beside"}, {Value: "swap", Label: "In place"}, {Value: "divider", Label: "Divider", Chosen: true}}, Ends: [2]string{"as sent", "as seen"}, Divider: 480},
		Pictures: []ViewTab{{"0", "barn door.jpg", "changes asked", 1, true}, {"1", "orchard gate.png", "approved", 0, false}},
		Hides:    Hides{State: HidesFound, Theirs: true, Lines: hidesLines()},
		Notes:    ViewNotes{List: []ViewNote{{ID: "1", Label: "1", Text: "Is there still wood grain in here?", By: "Ines", Where: "a point at 1204 × 880"}}},
		Record:   signedRecord(),
		Buttons:  []Button{{Action: "desk", Label: "Back to my desk"}, {Action: "version", ID: "PrF", Label: "Send a new version"}},
	}
}

func deskProofs() DeskProof {
	return DeskProof{
		Version: "The second version is out since 24 November 2026.",
		Pictures: []DeskPicture{
			{ID: "0", Name: "barn door.jpg", Size: "6016 × 4016 pixels", States: []DeskState{{"Ines", "changes asked", "kitchen laptop, fit for light and shade", "2 notes"}, {"Okke", "approved", "unchecked", "first version"}}, Buttons: []Button{{Action: "as-seen", ID: "0", Label: "As they saw it"}}},
			{ID: "1", Name: "crates.png", Size: "2400 × 1600 pixels"},
		},
		Records: []DeskRecord{
			{ID: "r2", By: "Ines", Made: "24 November 2026, 14:20", Whole: "changes asked", State: Stands, Says: "About the second version.", Screen: "Kitchen laptop, checked: fit for light and shade", New: true, Buttons: []Button{{Action: "as-seen", ID: "r2", Label: "As they saw it"}, {Action: "record", ID: "r2", Label: "See the record"}}},
			{ID: "r1", By: "okke", Made: "22 November 2026", Whole: "approved", State: Fails, Says: "It was signed with another key than the one this link gave out."},
			{ID: "r0", By: "a person without a name"},
		},
	}
}

// What is not said is not claimed: zero values approve nothing, hide nothing, and say nothing of a record.
func TestProofZero(t *testing.T) {
	for name, c := range map[string]templ.Component{
		"record": RecordPanel(RecordView{}), "note": NotingOf(Noting{}), "loading": LoadingOf(Progress{}), "failed": FailedOf(Failed{}), "tabs": ViewTabs(nil),
		"divider": DividerOf(EaselTools{Divider: 400}), "files": RecordFiles(nil), "desk": deskProof(DeskProof{}), "signing": SigningOf(Signing{}),
	} {
		if text := render(t, c); text != "" {
			t.Errorf("%s: %q", name, text)
		}
	}
	for name, c := range map[string]templ.Component{
		"viewing": ViewingPage(Viewing{}), "tab": ViewTabs([]ViewTab{{}, {Decision: "yes"}}), "record": RecordPanel(RecordView{Title: "x", Pictures: []RecordPicture{{}}, Checked: []RecordCheck{{}}}),
		"desk": deskProof(DeskProof{Pictures: []DeskPicture{{States: []DeskState{{}}}}, Records: []DeskRecord{{}}}),
	} {
		text := render(t, c)
		for _, claim := range []string{">Approved<", " Approved", `aria-pressed="true" aria-label="Approve`, "Nothing hidden", "Stands", "Agrees"} {
			if strings.Contains(text, claim) {
				t.Errorf("%s claims %q", name, claim)
			}
		}
		if !strings.Contains(text, "Undecided") {
			t.Errorf("%s does not say that nothing is decided", name)
		}
	}
}

// Nothing hidden is said in one state alone, and lines are shown in one state alone.
func TestHidesClaims(t *testing.T) {
	for _, state := range []string{"", "else", HidesWorking, HidesFound, HidesNothing, HidesUnchecked, HidesUnknown} {
		bare := render(t, HidesOf(Hides{State: state}))
		if strings.Contains(bare, "Nothing hidden") != (state == HidesNothing) {
			t.Errorf("%q: %s", state, bare)
		}
		full := render(t, HidesOf(Hides{State: state, Lines: hidesLines()}))
		if strings.Contains(full, "6.2 %") != (state == HidesFound) {
			t.Errorf("%q with lines: %s", state, full)
		}
	}
	for name, l := range map[string]HidesLine{"no number": {Lo: 1, At: math.NaN(), Hi: 2}, "unordered": {Lo: 3, At: 2, Hi: 4}, "too much": {Lo: 3, At: 20, Hi: 101}, "below": {Lo: -1, At: 0, Hi: 1}, "zero": {}} {
		if l.drawn() {
			t.Errorf("%s: drawn", name)
		}
	}
	for most, want := range map[float64]float64{0.2: 1, 1: 1, 1.1: 2, 7.9: 10, 51: 100} {
		if got := (Hides{Lines: []HidesLine{{Hi: most}}}).axis(); got != want {
			t.Errorf("an axis for %v %% ends at %v, want %v", most, got, want)
		}
	}
}

// While a decision is not possible an approval can't be pressed, and what was decided can still be left.
func TestDecideBlocked(t *testing.T) {
	text := render(t, DecideOf(Deciding{Picture: "a", Decision: "approved", Problem: "Still coming."}))
	for action, off := range map[string]bool{"approve": true, "changes": true, "undecided": false} {
		i := strings.Index(text, `data-action="`+action+`"`)
		if i < 0 {
			t.Fatalf("no %s: %s", action, text)
		}
		tag, _, _ := strings.Cut(text[i:], ">")
		if strings.Contains(tag, " disabled") != off {
			t.Errorf("%s: %s", action, tag)
		}
	}
}

// What others wrote is text.
func TestProofEscapes(t *testing.T) {
	bad := `</p><script>alert(1)</script><i>"`
	for name, c := range map[string]templ.Component{
		"asked":   AskedPage(Asked{From: bad, Proof: AskedProof{Pictures: []AskedPicture{{bad, bad}}}}),
		"viewing": ViewingPage(Viewing{Title: bad, From: bad, Note: bad, Name: bad, Tools: EaselTools{Picture: bad, Of: 1}, Pictures: []ViewTab{{ID: bad, Name: bad}, {}}, Notes: ViewNotes{List: []ViewNote{{ID: bad, Text: bad, By: bad}}}, Record: RecordView{Title: bad, Text: bad, Pictures: []RecordPicture{{Name: bad, Notes: []string{bad}}}}}),
		"desk":    deskProof(DeskProof{Pictures: []DeskPicture{{Name: bad, States: []DeskState{{By: bad}}}}, Records: []DeskRecord{{By: bad, Says: bad}}}),
		"rows":    PictureRows([]PictureRow{{Name: bad, State: Refused, Why: bad}}, bad),
	} {
		if text := render(t, c); strings.Contains(text, "<script") || strings.Contains(text, "<i>") {
			t.Errorf("%s: what others wrote is taken for a part of the page: %s", name, text)
		}
	}
}
