package web

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"flag"
	"os"
	"strings"
	"testing"
	"time"

	"example.org/plumb/web/record"
)

var updateTour = flag.Bool("update", false, "write the record that the tour gives away anew")

// orchardRecord is the decision that the tour tells of, signed with keys that anyone can make again.
func orchardRecord(t *testing.T) []byte {
	t.Helper()
	key := func(name string) ed25519.PrivateKey {
		seed := sha256.Sum256([]byte("the orchard of the tour, " + name))
		return ed25519.NewKeyFromSeed(seed[:])
	}
	digest := func(what string) [32]byte { return sha256.Sum256([]byte("the orchard of the tour, " + what)) }
	at := func(hour, minute int) time.Time { return time.Date(2026, 11, 24, hour, minute, 0, 0, time.UTC) }
	picture := func(name string) record.Picture {
		return record.Picture{Name: name, Kind: "image/jpeg", Width: 6000, Height: 4000, Size: 9_400_000, Digest: digest(name), Source: digest(name)}
	}
	place := digest("place")
	asked, err := record.Request{
		Place: [16]byte(place[:16]), Round: 1, Made: at(9, 12), Title: "Orchard catalogue, spread 4", From: "Tomas", Note: "Please look at the crates under the trees.", Needs: "light and shade",
		Pictures: []record.Picture{picture("orchard at dusk.jpg"), picture("pears, page 12.jpg")},
	}.Sign(key("Tomas"))
	if err != nil {
		t.Fatal(err)
	}
	hidden := func(shadows, lo, hi, shifted, from, to, all, least, most int) []record.Hidden {
		return []record.Hidden{{What: "shadows", At: shadows, Lo: lo, Hi: hi}, {What: "lights"}, {What: "beyond", At: 2, Lo: 0, Hi: 6}, {What: "shifted", At: shifted, Lo: from, Hi: to}, {What: "steps", At: 1, Lo: 0, Hi: 2}, {What: "any", At: all, Lo: least, Hi: most}}
	}
	text, err := record.Statement{
		Request: asked, Name: "Ines", Told: at(14, 20), Mailbox: at(14, 20),
		Screen: record.Screen{Report: digest("report"), Ended: at(14, 5), Name: "kitchen laptop", Model: digest("model"),
			Fitness: []record.Fit{{Purpose: "layout and wording", Verdict: "holds"}, {Purpose: "light and shade", Verdict: "off"}, {Purpose: "colour", Verdict: "off"}}},
		Pictures: []record.Judged{
			{Decision: record.Changes, HiddenKnown: true, Hidden: hidden(140, 110, 170, 31, 14, 52, 165, 130, 200), Notes: []record.Note{{X: 2410, Y: 3020, Text: "The crates can't be made out."}}},
			{Decision: record.Approved, HiddenKnown: true, Hidden: hidden(0, 0, 3, 4, 0, 9, 6, 1, 14)},
		},
		Whole: record.Changes,
	}.Sign(key("Ines"))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// The record that the tour gives away stands, says what the tour says, and no longer stands when one letter is changed.
func TestTourRecord(t *testing.T) {
	const file = "assets/orchard-record.txt"
	text := orchardRecord(t)
	if *updateTour {
		if err := os.WriteFile(file, text, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if kept, err := os.ReadFile(file); err != nil || !bytes.Equal(kept, text) {
		t.Fatalf("%s is not what is signed here (%v); go test ./web -run TourRecord -update writes it anew", file, err)
	}
	r, err := record.Read(text)
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Check(record.Beside{}); err != nil {
		t.Error(err)
	}
	if r.Whole != record.Changes || r.Pictures[0].Decision != record.Changes || r.Pictures[1].Decision != record.Approved || r.Pictures[0].Hidden[0].At != 140 || r.Screen.Verdict("light and shade") != "off" {
		t.Errorf("it says something else: %+v", r.Statement)
	}
	if _, err := record.Read(bytes.Replace(text, []byte("Ines"), []byte("Inez"), 1)); err == nil {
		t.Error("it stands with a letter changed")
	}
	h, _ := site(t)
	if tour := get(t, h, "/tour").Body.String(); !strings.Contains(tour, "orchard-record") || !strings.Contains(tour, "14 % of the picture (11 to 17 %)") {
		t.Error("the tour does not give it away, or says something else")
	}
}
