package app

import (
	"errors"
	"strings"

	"example.org/plumb/patterns/report"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/record"
	"example.org/plumb/web/words"
)

// whyNot is why a record does not stand, in a sentence; empty for no error.
func whyNot(err error) string {
	switch {
	case err == nil:
		return ""
	case errors.Is(err, record.ErrVersion), errors.Is(err, study.ErrModelVersion), errors.Is(err, report.ErrNewer):
		return words.Say("It was made by a newer version of this program. Load the page again to get that version.")
	case errors.Is(err, record.ErrSignature):
		return words.Say("The signature of who decided does not fit the text: something in it was changed after it was signed.")
	case errors.Is(err, record.ErrRequest):
		return words.Say("The signature of who asked does not fit the request in it: the request was changed, or was never signed.")
	case errors.Is(err, record.ErrPlace):
		return words.Say("It is about a request that lies in another box.")
	case errors.Is(err, record.ErrReplay):
		return words.Say("It is about another request or another version than the one it came for.")
	case errors.Is(err, record.ErrForeignKey):
		return words.Say("It was signed with another key than that of this request.")
	case errors.Is(err, record.ErrEarlier):
		return words.Say("It replaces another record than it should.")
	case errors.Is(err, record.ErrPicture):
		return words.Say("A picture is not the one that it is about.")
	case errors.Is(err, record.ErrReport):
		return words.Say("The report of the screen is missing or is not the one that it names.")
	case errors.Is(err, record.ErrModel), errors.Is(err, study.ErrModelLayout), errors.Is(err, study.ErrModelValue):
		return words.Say("What it says of the screen is missing or is not what it names.")
	case errors.Is(err, record.ErrClaim):
		return words.Say("It claims what its parts do not bear out.")
	case errors.Is(err, record.ErrTooLarge):
		return words.Say("It is larger than any record.")
	case errors.Is(err, record.ErrLayout), errors.Is(err, errLetter):
		return words.Say("It is not laid out as a record: some of it is missing or was changed.")
	}
	return words.Say("It cannot be read: %s.", strings.TrimSuffix(words.Found(reason(err)), "."))
}

// onScreen is the screen that a record rests on, within a sentence, and whether it was fit for what was asked.
func onScreen(r record.Record) string {
	needs := r.Asked.Needs
	purpose := words.Found(needs)
	switch {
	case !r.Screen.Checked() && needs != "":
		return words.Say("on an unchecked screen, though it was asked to be good enough for %s", purpose)
	case !r.Screen.Checked():
		return words.Say("on an unchecked screen")
	case needs == "":
		return words.Say("on a checked screen")
	case r.Fits():
		return words.Say("on a checked screen, good enough for %s", purpose)
	}
	switch r.Screen.Verdict(needs) {
	case "off":
		return words.Say("on a checked screen that is not good enough for %s", purpose)
	case "unsure":
		return words.Say("on a checked screen; whether it is good enough for %s is unsure", purpose)
	}
	return words.Say("on a screen that was not checked for %s", purpose)
}
