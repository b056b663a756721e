package record

import (
	"bytes"
	"crypto/ed25519"
	"encoding/hex"
	"encoding/json"
	"flag"
	"fmt"
	"math/big"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"
)

var update = flag.Bool("update", false, "write the vectors again")

const folder = "../../testdata/record/"

func write(t testing.TB, name string, text []byte) {
	t.Helper()
	if err := os.WriteFile(folder+name, text, 0o644); err != nil {
		t.Fatal(err)
	}
}

// A vector is a text with what lies beside it. The text is that of a file, in which the first occurrence of each first is changed into its second, in order.
type vector struct {
	Name   string      `json:"name"`
	Of     string      `json:"of"`
	Change [][2]string `json:"change,omitempty"`
	Beside *beside     `json:"beside,omitempty"`
	Error  string      `json:"error,omitempty"` // "" if it stands
}

// beside is a Beside in JSON: keys, digests and the place in hexadecimal digits, a file for the request, bytes as text.
type beside struct {
	Place    string            `json:"place,omitempty"`
	Asker    string            `json:"asker,omitempty"`
	Signer   string            `json:"signer,omitempty"`
	Earlier  string            `json:"earlier,omitempty"`
	Request  string            `json:"request,omitempty"`
	Pictures map[string]string `json:"pictures,omitempty"`
	Report   string            `json:"report,omitempty"`
	Model    string            `json:"model,omitempty"`
}

func keyFrom(t testing.TB, text string) [32]byte {
	t.Helper()
	b, err := hex.DecodeString(text)
	if err != nil || len(b) != 32 {
		t.Fatalf("%q: %v", text, err)
	}
	return [32]byte(b)
}

func (b *beside) beside(t testing.TB, texts map[string][]byte) (what Beside) {
	if b == nil {
		return what
	}
	if b.Place != "" {
		p, err := hex.DecodeString(b.Place)
		if err != nil {
			t.Fatal(err)
		}
		what.Place = (*[16]byte)(p)
	}
	for _, d := range []struct {
		text string
		into **[32]byte
	}{{b.Asker, &what.Asker}, {b.Signer, &what.Signer}, {b.Earlier, &what.Earlier}} {
		if d.text != "" {
			k := keyFrom(t, d.text)
			*d.into = &k
		}
	}
	what.Request = texts[b.Request]
	for at, text := range b.Pictures {
		i, err := strconv.Atoi(at)
		if err != nil {
			t.Fatal(err)
		}
		if what.Pictures == nil {
			what.Pictures = map[int][]byte{}
		}
		what.Pictures[i] = []byte(text)
	}
	if b.Report != "" {
		what.Report = []byte(b.Report)
	}
	if b.Model != "" {
		what.Model = []byte(b.Model)
	}
	return what
}

// text returns what a vector reads.
func (v vector) text(t testing.TB, texts map[string][]byte) []byte {
	t.Helper()
	text, ok := texts[v.Of]
	if !ok {
		t.Fatalf("%s: no file %s", v.Name, v.Of)
	}
	for _, c := range v.Change {
		again := bytes.Replace(text, []byte(c[0]), []byte(c[1]), 1)
		if bytes.Equal(again, text) {
			t.Fatalf("%s: nothing is changed by %q", v.Name, c)
		}
		text = again
	}
	return text
}

// last returns the value of the last line that begins with a name.
func last(text []byte, name string) string {
	i := bytes.LastIndex(text, []byte("\n"+name+" "))
	line, _, _ := bytes.Cut(text[i+len(name)+2:], []byte("\n"))
	return string(line)
}

// under returns the text before the signature line, and the signature that a key gives it under a label.
func under(text []byte, label, by string) string {
	i := bytes.LastIndex(text, []byte("\nsignature "))
	return hex.EncodeToString(ed25519.Sign(keyOf(by), append([]byte(label), text[:i+1]...)))
}

// makeVectors writes down what is in sound and what is not. Each is one change of a text that stands.
func makeVectors(t testing.TB, texts map[string][]byte) (list []vector) {
	add := func(name, of, want string, change ...[2]string) {
		list = append(list, vector{Name: name, Of: of, Change: change, Error: want})
	}
	for _, name := range []string{"request.txt", "round.txt", "changes.txt", "approved.txt", "unchecked.txt", "back.txt"} {
		add(strings.TrimSuffix(name, ".txt"), name, "")
	}

	// Changed by somebody without a key.
	add("a request of a later version", "request.txt", "ErrVersion", [2]string{"plumb request 1", "plumb request 2"})
	add("a record of a later version", "approved.txt", "ErrVersion", [2]string{"plumb record 1", "plumb record 12"})
	add("a request of a later version in a record", "approved.txt", "ErrVersion", [2]string{"plumb request 1", "plumb request 2"})
	add("version 0", "approved.txt", "ErrLayout", [2]string{"plumb record 1", "plumb record 0"})
	add("a version that is no number of one", "approved.txt", "ErrLayout", [2]string{"plumb record 1", "plumb record 4294967297"})
	add("version 02", "approved.txt", "ErrLayout", [2]string{"plumb record 1", "plumb record 02"})
	add("another kind of text", "approved.txt", "ErrLayout", [2]string{"plumb record 1", "plumb request 1"})
	add("a decision turned", "changes.txt", "ErrSignature", [2]string{"decision changes asked", "decision undecided"})
	add("approved by somebody else's hand", "changes.txt", "ErrSignature", [2]string{"decision changes asked", "decision approved"})
	add("another name", "approved.txt", "ErrSignature", [2]string{`name "Tomas"`, `name "Okke"`})
	add("a note changed", "changes.txt", "ErrSignature", [2]string{"All of it is too dark.", "All of it is fine."})
	add("a note moved", "changes.txt", "ErrSignature", [2]string{"note at 1480,902", "note at 1481,902"})
	add("less hidden", "changes.txt", "ErrSignature", [2]string{"any of these: 225, 200 to 251", "any of these: 5, 0 to 251"})
	add("another screen", "approved.txt", "ErrSignature", [2]string{"kitchen laptop", "studio left"})
	add("another report", "approved.txt", "ErrSignature", [2]string{hexOf(sum(report)), hexOf(sum("the bytes of another report"))})
	add("another earlier record", "approved.txt", "ErrSignature", [2]string{"earlier " + last(texts["approved.txt"][:400], "earlier"), "earlier none"})
	add("an earlier time", "approved.txt", "ErrSignature", [2]string{"told 2026-11-28", "told 2025-11-28"})
	add("a picture exchanged in the request", "approved.txt", "ErrRequest", [2]string{hexOf(sum(files[2])), hexOf(sum("the bytes of another barn"))})
	add("another title in the request", "approved.txt", "ErrRequest", [2]string{"spread 4", "spread 5"})
	add("another box in the request", "request.txt", "ErrRequest", [2]string{"place 6", "place 7"})
	add("another asker", "request.txt", "ErrRequest", [2]string{hexOf(publicOf("ines")), hexOf(publicOf("tomas"))})
	add("the signature of another round", "round.txt", "ErrRequest", [2]string{last(texts["round.txt"], "signature"), last(texts["request.txt"], "signature")})
	add("another signer", "approved.txt", "ErrSignature", [2]string{hexOf(publicOf("tomas")), hexOf(publicOf("okke"))})
	add("the signature of another record", "approved.txt", "ErrSignature", [2]string{last(texts["approved.txt"], "signature"), last(texts["changes.txt"], "signature")})
	add("no signature", "approved.txt", "ErrSignature", [2]string{last(texts["approved.txt"], "signature"), strings.Repeat("0", 128)})
	add("a signature with S above the order", "approved.txt", "ErrSignature", [2]string{last(texts["approved.txt"], "signature"), beyondOrder(t, last(texts["approved.txt"], "signature"))})
	add("a request for a record", "request.txt", "ErrLayout", [2]string{"plumb request 1", "plumb record 1"})
	add("the request changed for that of the round before", "approved.txt", "ErrLayout", [2]string{string(texts["round.txt"]), string(texts["request.txt"])})

	// Written otherwise, saying the same.
	add("line ends of another system", "request.txt", "ErrLayout", [2]string{"round 1\n", "round 1\r\n"})
	add("a byte order mark", "request.txt", "ErrLayout", [2]string{"plumb", "\ufeffplumb"})
	add("a space at a line's end", "request.txt", "ErrLayout", [2]string{"round 1\n", "round 1 \n"})
	add("two spaces", "request.txt", "ErrLayout", [2]string{"round 1", "round  1"})
	add("a line more", "request.txt", "ErrLayout", [2]string{"round 1\n", "round 1\n\n"})
	add("a line behind", "request.txt", "ErrLayout", [2]string{last(texts["request.txt"], "signature") + "\n", last(texts["request.txt"], "signature") + "\n\n"})
	add("no last line end", "request.txt", "ErrLayout", [2]string{last(texts["request.txt"], "signature") + "\n", last(texts["request.txt"], "signature")})
	add("cut short", "approved.txt", "ErrLayout", [2]string{"signature " + last(texts["approved.txt"], "signature") + "\n", ""})
	add("capital digits", "request.txt", "ErrLayout", [2]string{last(texts["request.txt"], "signature"), strings.ToUpper(last(texts["request.txt"], "signature"))})
	add("a zero before a number", "request.txt", "ErrLayout", [2]string{"round 1", "round 01"})
	add("a plus before a number", "request.txt", "ErrLayout", [2]string{"round 1", "round +1"})
	add("a number beyond all", "request.txt", "ErrLayout", [2]string{"round 1", "round 99999999999999999999999"})
	add("an escape", "request.txt", "ErrLayout", [2]string{`"Ines"`, `"\u0049nes"`})
	add("an escape that is not needed", "request.txt", "ErrLayout", [2]string{"catalogue, ", `catalogue\/ `})
	add("a quote that is not escaped", "request.txt", "ErrLayout", [2]string{`\"blue hour\"`, `"blue hour"`})
	add("a fraction of a second", "request.txt", "ErrLayout", [2]string{"20:15:00Z", "20:15:00.0Z"})
	add("another zone", "request.txt", "ErrLayout", [2]string{"20:15:00Z", "20:15:00+00:00"})
	add("a day that is none", "request.txt", "ErrLayout", [2]string{"2026-11-28T", "2026-02-30T"})
	add("the end of a day", "request.txt", "ErrLayout", [2]string{"T20:15:00Z", "T24:00:00Z"})
	add("a source written out", "request.txt", "ErrLayout", [2]string{"source as sent", "source " + hexOf(sum(files[0]))})
	add("lines miscounted", "approved.txt", "ErrLayout", [2]string{"request of ", "request of 1"})

	// Signed by who holds the key, and nothing that may be signed.
	again := func(name, of, want string, change ...[2]string) {
		v := vector{Name: name, Of: of, Change: change, Error: want}
		text := v.text(t, texts)
		label, by := recordLabel, "tomas"
		switch {
		case isRequest(of):
			label, by = requestLabel, "ines"
		case of == "unchecked.txt":
			by = "okke"
		}
		if was, is := last(text, "signature"), under(text, label, by); was != is {
			v.Change = append(v.Change, [2]string{was, is})
		}
		list = append(list, v)
	}
	again("a name turned around", "approved.txt", "ErrLayout", [2]string{`name "Tomas"`, "name \"\u202esamoT\""})
	again("a control character", "approved.txt", "ErrLayout", [2]string{`name "Tomas"`, "name \"Tomas\u0007\""})
	again("an invisible character", "request.txt", "ErrLayout", [2]string{`from "Ines"`, "from \"Ines\u200b\""})
	again("nobody", "approved.txt", "ErrLayout", [2]string{`name "Tomas"`, `name ""`})
	again("a name too long", "approved.txt", "ErrLayout", [2]string{`name "Tomas"`, `name "` + strings.Repeat("T", 81) + `"`})
	again("a year without four digits", "approved.txt", "ErrLayout", [2]string{"told 2026", "told 12026"})
	again("a time before 1970", "approved.txt", "ErrLayout", [2]string{"told 2026", "told 1969"})
	again("a zero place", "request.txt", "ErrLayout", [2]string{"place " + hex.EncodeToString(place[:]), "place " + strings.Repeat("0", 32)})
	again("a second round without a first", "request.txt", "ErrLayout", [2]string{"round 1", "round 2"})
	again("a first round with one before", "round.txt", "ErrLayout", [2]string{"round 2", "round 1"})
	again("another need", "request.txt", "ErrLayout", [2]string{"needs light and shade", "needs everything"})
	again("no pictures", "request.txt", "ErrLayout", [2]string{"pictures 2", "pictures 0"})
	again("fewer pictures than counted", "request.txt", "ErrLayout", [2]string{"pictures 2", "pictures 3"})
	again("a picture miscounted", "request.txt", "ErrLayout", [2]string{"picture 2 of 2", "picture 1 of 2"})
	again("a picture of no width", "request.txt", "ErrLayout", [2]string{"size 6000 x", "size 0 x"})
	again("a picture of another kind", "request.txt", "ErrLayout", [2]string{"kind image/jpeg", "kind text/html"})
	again("a picture named otherwise", "approved.txt", "ErrLayout", [2]string{`picture 2 of 2 "barn, brighter.png"`, `picture 2 of 2 "barn.png"`})
	again("another decision", "approved.txt", "ErrLayout", [2]string{"decision approved", "decision Approved"})
	again("no decision", "approved.txt", "ErrLayout", [2]string{"decision approved", "decision "})
	again("asked for less than was asked", "approved.txt", "ErrLayout", [2]string{"asked light and shade: holds", "asked nothing of the screen"})
	again("asked and answered otherwise", "approved.txt", "ErrLayout", [2]string{"asked light and shade: holds", "asked light and shade: unsure"})
	again("an approval that covers more", "approved.txt", "ErrLayout", [2]string{"approval covers what the screen", "approval covers all and what the screen"})
	again("unchecked, said to be covered", "unchecked.txt", "ErrLayout", [2]string{blindCover, seenCover})
	again("a zero report", "approved.txt", "ErrLayout", [2]string{"report " + hexOf(sum(report)), "report " + strings.Repeat("0", 64)})
	again("another verdict", "approved.txt", "ErrLayout", [2]string{"purpose colour: unsure", "purpose colour: likely"})
	again("purposes out of order", "approved.txt", "ErrLayout", [2]string{"purpose layout and wording: holds\npurpose light and shade: holds\n", "purpose light and shade: holds\npurpose layout and wording: holds\n"})
	again("a share outside its interval", "approved.txt", "ErrLayout", [2]string{"detail in shadows: 12, 8 to 17", "detail in shadows: 7, 8 to 17"})
	again("a share of more than all", "approved.txt", "ErrLayout", [2]string{"any of these: 80, 55 to 1000", "any of these: 80, 55 to 1001"})
	again("a note outside the picture", "unchecked.txt", "ErrLayout", [2]string{"note at 2999,1999", "note at 3000,1999"})
	again("a rectangle outside the picture", "changes.txt", "ErrLayout", [2]string{"note at 0,0 size 3000 x 2000", "note at 1,0 size 3000 x 2000"})
	again("a rectangle of no height", "changes.txt", "ErrLayout", [2]string{"note at 0,0 size 3000 x 2000", "note at 0,0 size 3000 x 0"})
	again("an empty note", "unchecked.txt", "ErrLayout", [2]string{`"A nail?"`, `""`})
	again("a note too long", "unchecked.txt", "ErrLayout", [2]string{`"A nail?"`, `"` + strings.Repeat("ä", 401) + `"`})
	again("notes miscounted", "unchecked.txt", "ErrLayout", [2]string{"notes 1", "notes 2"})
	second := texts["unchecked.txt"]
	second = second[bytes.Index(second, []byte("picture 2 of 2")):bytes.Index(second, []byte("request of"))]
	again("one picture of two", "unchecked.txt", "ErrLayout", [2]string{"pictures 2", "pictures 1"}, [2]string{"picture 1 of 2", "picture 1 of 1"}, [2]string{string(second), ""})
	again("approved with a picture that is not", "approved.txt", "ErrClaim", [2]string{`brighter.png"` + "\ndecision approved", `brighter.png"` + "\ndecision changes asked"})
	again("approved with a picture undecided", "approved.txt", "ErrClaim", [2]string{`dusk.jpg"` + "\ndecision approved", `dusk.jpg"` + "\ndecision undecided"})
	again("unchecked, and approved with a picture undecided", "unchecked.txt", "ErrClaim", [2]string{`dusk.jpg"` + "\ndecision approved", `dusk.jpg"` + "\ndecision undecided"})
	again("changes asked for the whole with a picture undecided", "changes.txt", "ErrClaim", [2]string{`dusk.jpg"` + "\ndecision approved", `dusk.jpg"` + "\ndecision undecided"})
	again("changes asked for the whole and for no picture", "approved.txt", "ErrClaim", [2]string{"decision approved", "decision changes asked"})
	again("hidden without the sum", "approved.txt", "ErrClaim", [2]string{"any of these: 80, 55 to 1000", "any of these: not known"})
	hidden := texts["approved.txt"]
	hidden = hidden[bytes.Index(hidden, []byte("hidden ")):]
	hidden = hidden[:bytes.Index(hidden, []byte("notes "))]
	again("approved without what was hidden", "approved.txt", "ErrClaim", [2]string{string(hidden), "hidden not known\n"})
	again("hidden on an unchecked screen", "unchecked.txt", "ErrClaim", [2]string{"hidden not known\n", string(hidden)})
	earlier := last(texts["back.txt"][:400], "earlier")
	again("nothing decided and nothing taken back", "back.txt", "ErrClaim", [2]string{"earlier " + earlier, "earlier none"})

	// Signed, but not what is to be signed.
	was := last(texts["approved.txt"], "signature")
	add("signed as a request", "approved.txt", "ErrSignature", [2]string{was, under(texts["approved.txt"], requestLabel, "tomas")})
	add("signed without a label", "approved.txt", "ErrSignature", [2]string{was, under(texts["approved.txt"], "", "tomas")})
	add("a record's label under a request", "request.txt", "ErrRequest", [2]string{last(texts["request.txt"], "signature"), under(texts["request.txt"], recordLabel, "ines")})
	// Under the key of the neutral point, R = neutral point and S = 0 fit any text.
	neutral := "01" + strings.Repeat("00", 31)
	add("a key under which one signature fits all", "approved.txt", "ErrSignature", [2]string{hexOf(publicOf("tomas")), neutral}, [2]string{was, neutral + strings.Repeat("00", 32)})
	add("an asker's key under which one signature fits all", "request.txt", "ErrRequest", [2]string{hexOf(publicOf("ines")), neutral},
		[2]string{last(texts["request.txt"], "signature"), neutral + strings.Repeat("00", 32)})

	// What lies beside.
	put := func(name, of, want string, b beside) {
		list = append(list, vector{Name: name, Of: of, Beside: &b, Error: want})
	}
	whole := beside{
		Place: hex.EncodeToString(place[:]), Asker: hexOf(publicOf("ines")), Signer: hexOf(publicOf("tomas")), Earlier: hexOf(Digest(texts["changes.txt"])), Request: "round.txt",
		Pictures: map[string]string{"0": files[0], "1": files[2]}, Report: report, Model: model,
	}
	with := func(change func(*beside)) beside {
		b := whole
		change(&b)
		return b
	}
	put("all that belongs to it", "approved.txt", "", whole)
	put("a first record as a first", "changes.txt", "", beside{Earlier: strings.Repeat("0", 64), Pictures: map[string]string{"1": files[1]}})
	put("put into another box", "approved.txt", "ErrPlace", with(func(b *beside) { b.Place = strings.Repeat("42", 16) }))
	put("for the round before", "approved.txt", "ErrReplay", with(func(b *beside) { b.Request = "request.txt" }))
	put("an old record for the new round", "changes.txt", "ErrReplay", beside{Request: "round.txt"})
	put("another asker than expected", "approved.txt", "ErrForeignKey", with(func(b *beside) { b.Asker = hexOf(publicOf("okke")) }))
	put("another signer than expected", "approved.txt", "ErrForeignKey", with(func(b *beside) { b.Signer = hexOf(publicOf("okke")) }))
	put("the asker signs for who was asked", "approved.txt", "ErrForeignKey", with(func(b *beside) { b.Signer = hexOf(publicOf("ines")) }))
	put("replaces another record", "approved.txt", "ErrEarlier", with(func(b *beside) { b.Earlier = hexOf(Digest(texts["unchecked.txt"])) }))
	put("replaces one where there is none", "approved.txt", "ErrEarlier", with(func(b *beside) { b.Earlier = strings.Repeat("0", 64) }))
	put("replaces none where there is one", "changes.txt", "ErrEarlier", beside{Earlier: hexOf(Digest(texts["unchecked.txt"]))})
	put("a picture of the round before", "approved.txt", "ErrPicture", with(func(b *beside) { b.Pictures = map[string]string{"1": files[1]} }))
	put("pictures changed about", "approved.txt", "ErrPicture", with(func(b *beside) { b.Pictures = map[string]string{"0": files[2], "1": files[0]} }))
	put("a picture more", "approved.txt", "ErrPicture", with(func(b *beside) { b.Pictures = map[string]string{"2": files[0]} }))
	put("the source instead of what was sent", "changes.txt", "ErrPicture", beside{Pictures: map[string]string{"1": source}})
	put("the report of another screen", "approved.txt", "ErrReport", with(func(b *beside) { b.Report = "the bytes of the report of studio left" }))
	put("a report of a screen that was not checked", "unchecked.txt", "ErrReport", beside{Report: report})
	put("the model of another screen", "approved.txt", "ErrModel", with(func(b *beside) { b.Model = "the bytes of the model of studio left" }))
	put("a model of a screen that was not checked", "unchecked.txt", "ErrModel", beside{Model: model})
	return list
}

func hexOf(d [32]byte) string { return hex.EncodeToString(d[:]) }

// beyondOrder adds the order of the group to a signature's S (RFC 8032, section 5.1): the same number, written as it must not be.
func beyondOrder(t testing.TB, signature string) string {
	t.Helper()
	b, err := hex.DecodeString(signature)
	if err != nil {
		t.Fatal(err)
	}
	order, _ := new(big.Int).SetString("27742317777372353535851937790883648493", 10)
	order.Add(order, new(big.Int).Lsh(big.NewInt(1), 252))
	s := new(big.Int).SetBytes(reversed(b[32:]))
	sum := make([]byte, 32)
	s.Add(s, order).FillBytes(sum)
	return hex.EncodeToString(append(b[:32], reversed(sum)...))
}

// stored returns the texts and the vectors as they lie in testdata.
func stored(t testing.TB) (texts map[string][]byte, list []vector) {
	t.Helper()
	texts = map[string][]byte{}
	for name := range good(t) {
		text, err := os.ReadFile(folder + name)
		if err != nil {
			t.Fatal(err)
		}
		texts[name] = text
	}
	b, err := os.ReadFile(folder + "vectors.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, &list); err != nil {
		t.Fatal(err)
	}
	return texts, list
}

// visible escapes in JSON what is not seen.
func visible(b []byte) []byte {
	var out []byte
	for _, r := range string(b) {
		if r != '\n' && silent(r) {
			out = fmt.Appendf(out, "\\u%04x", r) // none is beyond plane 0 here
		} else {
			out = utf8.AppendRune(out, r)
		}
	}
	return out
}

// Each vector is refused for its reason and no other, or stands.
func TestVectors(t *testing.T) {
	made := makeVectors(t, good(t))
	b, err := json.MarshalIndent(made, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	b = append(visible(b), '\n')
	if *update {
		write(t, "vectors.json", b)
	}
	if on, err := os.ReadFile(folder + "vectors.json"); err != nil || !bytes.Equal(on, b) {
		t.Errorf("vectors.json is not what is made: %v", err)
	}
	texts, list := stored(t)
	seen := map[string]int{}
	for _, v := range list {
		text := v.text(t, texts)
		var err error
		if isRequest(v.Of) && !bytes.HasPrefix(text, []byte("plumb record ")) {
			if v.Beside != nil {
				t.Fatalf("%s: a request has nothing beside it", v.Name)
			}
			_, err = ReadRequest(text)
		} else {
			var r Record
			if r, err = Read(text); err == nil {
				err = r.Check(v.Beside.beside(t, texts))
			}
		}
		if plain(err) != all[v.Error] || (err == nil) != (v.Error == "") {
			t.Errorf("%s: %v, not %s", v.Name, err, v.Error)
		}
		if err != nil && (strings.Count(err.Error(), "record: ") != 1 || !strings.HasPrefix(err.Error(), "record: ")) {
			t.Errorf("%s: %q does not say once where it comes from", v.Name, err)
		}
		seen[v.Error]++
	}
	for name := range all {
		if seen[name] == 0 && !slices.Contains([]string{"ErrKey", "ErrTooLarge"}, name) {
			t.Errorf("no vector for %s", name)
		}
	}
	if seen[""] < 8 {
		t.Error("hardly any vector stands")
	}
}

// RFC 8032's own vectors: keys and signatures are those of the standard.
func TestPublished(t *testing.T) {
	b, err := os.ReadFile(folder + "rfc8032.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Vectors []struct{ Name, Seed, Public, Message, Signature string }
	}
	if err := json.Unmarshal(b, &file); err != nil || len(file.Vectors) != 4 {
		t.Fatalf("%d vectors, %v", len(file.Vectors), err)
	}
	for _, v := range file.Vectors {
		var bytes [4][]byte
		for i, text := range []string{v.Seed, v.Public, v.Message, v.Signature} {
			if bytes[i], err = hex.DecodeString(text); err != nil {
				t.Fatal(err)
			}
		}
		key := ed25519.NewKeyFromSeed(bytes[0])
		if p, err := public(key, [32]byte{}); err != nil || hexOf(p) != v.Public {
			t.Errorf("%s: the public key is %x, %v", v.Name, p, err)
		}
		if got, err := sign(key, "", string(bytes[2])); err != nil || string(got) != string(bytes[2])+"signature "+v.Signature+"\n" {
			t.Errorf("%s: %q, %v", v.Name, got, err)
		}
		if !signs([32]byte(bytes[1]), "", string(bytes[2]), bytes[3]) || signs([32]byte(bytes[1]), "x", string(bytes[2]), bytes[3]) {
			t.Errorf("%s: the signature does not fit, or fits another text", v.Name)
		}
	}
}
