package app

import (
	"bytes"
	"testing"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
)

// What others wrote cannot turn the order of the words around it.
func TestSeen(t *testing.T) {
	const bad = "Orch\u202eard\u2066 cat\u200balogue\u00ad\ufeff\u200e \u0645\u06cc\u200c\u062e\u200d\u0648"
	const good = "Orchard catalogue \u0645\u06cc\u200c\u062e\u200d\u0648"
	if got := line(bad); got != good {
		t.Errorf("line: %+q", got)
	}
	if got := passage(bad + "\nsecond\u2069\u0085line"); got != good+"\nsecond line" {
		t.Errorf("passage: %+q", got)
	}
	k := ask{ID: make([]byte, 16), To: []byte{1}, Title: bad, From: bad, Note: bad, Length: check.Short, Aim: screen.Aims[0].ID}
	if err := k.check(); err != nil || k.Title != good || k.From != good || k.Note != good {
		t.Errorf("a request from elsewhere: %v, %+q", err, []string{k.Title, k.From, k.Note})
	}
}

// A report is read once for the desk, however often that is shown, and one that is larger than any is not read at all.
func TestReadOnce(t *testing.T) {
	store := world()
	asker, _, _ := sent(t, store, nil)
	asker.app.Visible(true)
	asker.within(3*time.Second, "the answer", func() bool { return asker.reads("Kitchen laptop") })
	l := asker.app.mail.letters[0]
	was := l.row
	if was == nil {
		t.Fatal("the row is not kept")
	}
	if n := testing.AllocsPerRun(10, func() { answerView(l, time.UTC) }); n > 0 {
		t.Errorf("a row that is shown again allocates %v times", n)
	}
	asker.app.Focus(true) // which reads the shelf again
	asker.pass(3 * time.Second)
	if again := asker.app.mail.letters[0]; again == l || again.row != was {
		t.Error("the row of an answer that did not change is not kept when the shelf is read again")
	}
	asker.press("read", l.key())
	asker.press("desk", "")
	if asker.reads(">New<") {
		t.Error("an answer that was opened is new")
	}

	for size, want := range map[int]error{recordMost + 1: errLetterLarge, 0: nil} {
		record := []byte(l.Record)
		if size > 0 {
			record = append(record, bytes.Repeat([]byte(" "), size-len(record))...)
		}
		inside, err := pack(answer{Version: letters}, record)
		if err != nil {
			t.Fatal(err)
		}
		if _, _, _, err := readAnswer(inside); err != want {
			t.Errorf("a record of %d bytes: %v", len(record), err)
		}
	}
}

// Neither can the names in a report that somebody sent.
func TestSeenNames(t *testing.T) {
	r := report.Record{Conditions: report.Conditions{Screen: "kitchen\u202e laptop", Viewer: "I\u2066nes"}}
	if v := view(r, time.UTC); v.Screen != "kitchen laptop" || v.Viewer != "Ines" {
		t.Errorf("%+q, %+q", v.Screen, v.Viewer)
	}
}
