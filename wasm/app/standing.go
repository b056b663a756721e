package app

import (
	"errors"
	"strings"

	"example.org/plumb/patterns/report"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/record"
)

// whyNot is why a record does not stand, in a sentence; empty for no error.
func whyNot(err error) string {
	switch {
	case err == nil:
		return ""
	case errors.Is(err, record.ErrVersion), errors.Is(err, study.ErrModelVersion), errors.Is(err, report.ErrNewer):
		return "It was made by a newer version of this program. Load the page again to get that version."
	case errors.Is(err, record.ErrSignature):
		return "The signature of who decided does not fit the text: something in it was changed after it was signed."
	case errors.Is(err, record.ErrRequest):
		return "The signature of who asked does not fit the request in it: the request was changed, or was never signed."
	case errors.Is(err, record.ErrPlace):
		return "It is about a request that lies in another box."
	case errors.Is(err, record.ErrReplay):
		return "It is about another request or another version than the one it came for."
	case errors.Is(err, record.ErrForeignKey):
		return "It was signed with another key than that of this request."
	case errors.Is(err, record.ErrEarlier):
		return "It replaces another record than it should."
	case errors.Is(err, record.ErrPicture):
		return "A picture is not the one that it is about."
	case errors.Is(err, record.ErrReport):
		return "The report of the screen is missing or is not the one that it names."
	case errors.Is(err, record.ErrModel), errors.Is(err, study.ErrModelLayout), errors.Is(err, study.ErrModelValue):
		return "What it says of the screen is missing or is not what it names."
	case errors.Is(err, record.ErrClaim):
		return "It claims what its parts do not bear out."
	case errors.Is(err, record.ErrTooLarge):
		return "It is larger than any record."
	case errors.Is(err, record.ErrLayout), errors.Is(err, errLetter):
		return "It is not laid out as a record: some of it is missing or was changed."
	}
	return "It cannot be read: " + strings.TrimSuffix(reason(err), ".") + "."
}

// onScreen is the screen that a record rests on, within a sentence, and whether it was fit for what was asked.
func onScreen(r record.Record) string {
	needs := r.Asked.Needs
	switch {
	case !r.Screen.Checked() && needs != "":
		return "on an unchecked screen, though it was asked to be good enough for " + needs
	case !r.Screen.Checked():
		return "on an unchecked screen"
	case needs == "":
		return "on a checked screen"
	case r.Fits():
		return "on a checked screen, good enough for " + needs
	}
	switch r.Screen.Verdict(needs) {
	case "off":
		return "on a checked screen that is not good enough for " + needs
	case "unsure":
		return "on a checked screen; whether it is good enough for " + needs + " is unsure"
	}
	return "on a screen that was not checked for " + needs
}
