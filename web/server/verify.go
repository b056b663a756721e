package main

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"example.org/plumb/web/record"
)

// attest tells out what the record in a file says, whether it stands, and what each of the files beside it is to it. It fails unless all stand.
func attest(file string, beside []string, out io.Writer) error {
	text, err := load(file)
	if err != nil {
		return err
	}
	if strings.HasPrefix(string(text), "plumb request ") {
		return fmt.Errorf("%s is a request, in which nothing is decided; name the record first, and the request behind it", file)
	}
	r, err := record.Read(text)
	if err != nil {
		return fmt.Errorf("%s does not stand: %w; %s", file, err, advice(err))
	}
	fmt.Fprintf(out, "%s stands: it is as it was signed, and so is the request in it.\n\n", file)
	tell := telling{out}
	tell.decision(r)
	for i := range r.Pictures {
		tell.picture(r, i)
	}
	given := map[[32]byte]bool{}
	var faults []string
	for i, f := range beside {
		if i == 0 {
			fmt.Fprintln(out)
		}
		what, digest, err := belongs(r, record.Digest(text), f)
		if err != nil {
			faults = append(faults, f)
			what = err.Error()
		}
		given[digest] = true
		fmt.Fprintf(out, "%s %s.\n", f, what)
	}
	tell.rest(r, given)
	fmt.Fprintf(out, "\nAsked with the key   %x\nDecided with the key %x\n", r.Asked.Asker, r.Signer)
	fmt.Fprintln(out, "Whose keys these are, no file can tell: compare them with those that the desk and the page of the decision show.")
	switch len(faults) {
	case 0:
		return nil
	case 1:
		return fmt.Errorf("%s does not stand beside %s", faults[0], file)
	}
	return fmt.Errorf("%s do not stand beside %s", strings.Join(faults, ", "), file)
}

// load reads a file that may hold a record.
func load(file string) ([]byte, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, fmt.Errorf("cannot read the record: %w", err)
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, record.MaxRecord+1))
	if err != nil {
		return nil, fmt.Errorf("cannot read the record: %w", err)
	}
	return text, nil
}

// advice says why a record may be refused for an error and what to do.
func advice(err error) string {
	switch {
	case errors.Is(err, record.ErrVersion):
		return "verify it with a later version of this program"
	case errors.Is(err, record.ErrTooLarge):
		return "records are smaller than that; name the record first, and pictures behind it"
	case errors.Is(err, record.ErrLayout):
		return "it is no record, or was changed on its way; take the file as it was saved, because mail and editors change line ends"
	case errors.Is(err, record.ErrClaim):
		return "it was signed by a program that signs what is not so; ask for a new decision"
	}
	return "it was changed after it was signed; ask for the file again"
}

type telling struct{ io.Writer }

func (t telling) line(format string, a ...any) { fmt.Fprintf(t, format+"\n", a...) }

func clock(at time.Time) string { return at.UTC().Format("2006-01-02 15:04:05 UTC") }

func word(d record.Decision) string {
	if d == record.Undecided {
		return "undecided"
	}
	return string(d)
}

func (t telling) decision(r record.Record) {
	t.line("Decided by      %s", r.Name)
	t.line("On the whole    %s", word(r.Whole))
	mailbox := "the mailbox told no time"
	if !r.Mailbox.IsZero() {
		mailbox = clock(r.Mailbox) + " by the mailbox's"
	}
	t.line("When            %s by the signer's clock, %s", clock(r.Told), mailbox)
	if r.Earlier != [32]byte{} {
		t.line("Replaces        the record with SHA-256 %x", r.Earlier)
	}
	title, from := "without a title", ""
	if r.Asked.Title != "" {
		title = `"` + r.Asked.Title + `"`
	}
	if r.Asked.From != "" {
		from = ", from " + r.Asked.From
	}
	t.line("Asked           %s%s, round %d, made %s by the asker's clock", title, from, r.Asked.Round, clock(r.Asked.Made))
	t.line("For the box     %x", r.Asked.Place)
	if !r.Screen.Checked() {
		t.line("Screen          unchecked: what it hid is not known")
	} else {
		name := "checked"
		if r.Screen.Name != "" {
			name += `, "` + r.Screen.Name + `"`
		}
		t.line("Screen          %s, by a sitting that ended %s", name, clock(r.Screen.Ended))
		for _, f := range r.Screen.Fitness {
			t.line("                %s: %s", f.Purpose, f.Verdict)
		}
	}
	switch needs := r.Asked.Needs; {
	case needs == "":
		t.line("Asked of it     nothing")
	case r.Fits():
		t.line("Asked of it     %s, which holds", needs)
	case !r.Screen.Checked():
		t.line("Asked of it     %s, and it was not checked", needs)
	default:
		t.line("Asked of it     %s, which does not hold: %s", needs, r.Screen.Verdict(needs))
	}
	if r.Screen.Checked() {
		t.line("Approval        covers what the screen could show, and not what is listed as not seen")
	} else {
		t.line("Approval        covers what was on a screen that nobody checked")
	}
}

func (t telling) picture(r record.Record, i int) {
	p, j := r.Asked.Pictures[i], r.Pictures[i]
	t.line("\nPicture %d of %d  \"%s\": %s", i+1, len(r.Pictures), p.Name, word(j.Decision))
	t.line("                %s, %d x %d pixels, SHA-256 %x", p.Kind, p.Width, p.Height, p.Digest)
	if !j.HiddenKnown {
		t.line("                what the screen hid is not known")
	}
	for _, h := range j.Hidden {
		t.line("                not seen, %s: %d of 1000 pixels (%d to %d)", record.Way(h.What), h.At, h.Lo, h.Hi)
	}
	for _, n := range j.Notes {
		if n.Width == 0 {
			t.line("                note at %d,%d: %s", n.X, n.Y, n.Text)
		} else {
			t.line("                note at %d,%d, %d x %d: %s", n.X, n.Y, n.Width, n.Height, n.Text)
		}
	}
}

// role says what a file is to a record.
func role(p record.Part) string {
	switch p.Role {
	case record.SentPicture:
		return fmt.Sprintf("picture %d as it was sent", p.Picture+1)
	case record.SourcePicture:
		return fmt.Sprintf("the file that picture %d was made from", p.Picture+1)
	case record.ScreenReport:
		return "the report of the screen"
	case record.ScreenModel:
		return "the model of the screen"
	case record.TheRequest:
		return "the request"
	case record.RoundBefore:
		return "the request of the round before"
	}
	return "the record that this one replaces"
}

// belongs says what a file is to a record with a digest of its own, or why it does not stand beside it.
func belongs(r record.Record, own [32]byte, file string) (what string, digest [32]byte, err error) {
	f, err := os.Open(file)
	if err != nil {
		return "", digest, fmt.Errorf("cannot be read: %w", err)
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", digest, fmt.Errorf("cannot be read: %w", err)
	}
	digest = [32]byte(h.Sum(nil))
	var all []string
	for _, p := range r.Parts() {
		if p.Digest == digest {
			all = append(all, "is "+role(p))
		}
	}
	if digest == own {
		all = append(all, "is the record itself")
	}
	// What is another record has to stand itself, and to be of the same hand.
	text, err := load(file)
	if err != nil {
		return "", digest, err
	}
	if strings.HasPrefix(string(text), "plumb record ") {
		other, err := record.Read(text)
		switch {
		case err != nil:
			return "", digest, fmt.Errorf("does not stand: %w; %s", err, advice(err))
		case other.Signer != r.Signer:
			return "", digest, errors.New("is a record that was signed with another key")
		case other.Earlier == own:
			all = append(all, "is a later record, which replaces this one")
		}
	}
	if len(all) == 0 {
		return "", digest, errors.New("is nothing that the record names: it is another file, or was changed; pictures have to be as they were sent, or as the file they were made from")
	}
	return strings.Join(all, " and "), digest, nil
}

// rest tells what was seen by who decided and was not given.
func (t telling) rest(r record.Record, given map[[32]byte]bool) {
	var missing []string
	for _, p := range r.Parts() {
		switch p.Role {
		case record.SentPicture, record.ScreenReport, record.ScreenModel:
			if !given[p.Digest] {
				missing = append(missing, role(p))
			}
		}
	}
	if len(missing) > 0 {
		t.line("\nNot compared, because no such file was given: %s.", strings.Join(missing, ", "))
	}
}
