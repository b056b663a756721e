package app

// wholeAction takes a press of a button in the stages that only the whole program has.
func (a *App) wholeAction(name, id string) {
	switch a.stage {
	case Asking:
		a.askingAction(name)
	case Made:
		a.madeAction(name, id)
	case Asked:
		a.askedAction(name, id)
	case MyDesk:
		a.deskAction(name, id)
	case Proofing:
		a.proofingAction(name, id)
	case Viewing:
		a.viewAction(name, id)
	case Seen:
		a.seenAction(name, id)
	case Verify:
		a.verifyAction(name, id)
	case After:
		a.afterAction(name, id)
	case Journal:
		a.journalAction(name, id)
	}
}

// wholeInput takes a change of a form field there.
func (a *App) wholeInput(name, value string) {
	switch a.stage {
	case Asking:
		a.setAsking(name, value)
	case MyDesk:
		if name == "paste" && value != "" {
			a.bring(value)
		}
	case Proofing:
		a.setProofing(name, value)
	case Viewing:
		a.viewInput(name, value)
	case Seen:
		a.setSeen(name, value)
	case After:
		a.afterInput(name, value)
	case Journal:
		a.journalInput(name, value)
	}
}

// wholePage opens what the page is for, where only the whole program has it; false on any other page.
func (a *App) wholePage() bool {
	switch a.browser.Page {
	case "ask":
		a.ask()
	case "request":
		a.arrive()
	case "desk":
		a.openDesk()
	case "proof":
		a.openProof()
	case "record":
		a.openVerify()
	case "after":
		a.openAfter()
	case "journal":
		a.openJournal()
	default:
		return false
	}
	return true
}
