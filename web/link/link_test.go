package link

import (
	"bytes"
	"crypto/hmac"
	"crypto/sha256"
	"crypto/sha3"
	"encoding/binary"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"example.org/plumb/testdata"
)

var update = flag.Bool("update", false, "write testdata/seal/links.json anew; links made by an earlier version must still read")

const origin = "https://plumb.example"

var byName = map[string]error{
	"empty": ErrEmpty, "newer": ErrNewer, "truncated": ErrTruncated, "mistyped": ErrMistyped, "layout": ErrLayout, "too large": ErrTooLarge,
}

// stream is n bytes that a name stands for.
func stream(name string, n int) []byte { return sha3.SumSHAKE256([]byte(name), n) }

// written is a twin of encode: bit by bit.
func written(kind byte, fields []byte) string {
	b := slices.Concat([]byte{kind, byte(len(fields) >> 16), byte(len(fields) >> 8), byte(len(fields))}, fields)
	check := sha256.Sum256(append([]byte("plumb/link/1"), b...))
	b = append(b, check[:4]...)
	text := "1."
	for i := 0; i < 8*len(b); i += 6 {
		v := 0
		for j := i; j < i+6; j++ {
			v *= 2
			if j < 8*len(b) {
				v += int(b[j/8]>>(7-j%8)) & 1
			}
		}
		text += string("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"[v])
	}
	return text
}

// stored is what DEFLATE makes of bytes that it does not compress: one last block, section 3.2.4 of RFC 1951.
func stored(b []byte) []byte {
	n := binary.LittleEndian.AppendUint16([]byte{1}, uint16(len(b)))
	return append(binary.LittleEndian.AppendUint16(n, ^uint16(len(b))), b...)
}

var asked = []byte(`{"from":"Ines","screen":"packing-room tablet","minutes":8}`)

// A sample is a link, its kind and its fields as they travel.
type sample struct {
	name   string
	link   Link
	kind   byte
	fields []byte
}

func samples() []sample {
	key := append([]byte{1}, stream("key", 32)...)
	return []sample{
		{"box", Box{[16]byte(stream("address", 16)), [32]byte(stream("seed", 32))}, 1, append(stream("address", 16), stream("seed", 32)...)},
		{"request", Request{key, asked}, 2, slices.Concat(key, stored(asked))},
		{"answer", Answer{[16]byte(stream("address", 16)), [16]byte(stream("id", 16)), stream("letter", 768)}, 3, slices.Concat(stream("address", 16), stream("id", 16), stream("letter", 768))},
		{"desk", Desk{[]Secret{Secret(stream("secret", 32))}}, 4, stream("secret", 32)},
		{"desk of three", Desk{[]Secret{Secret(stream("1", 32)), Secret(stream("2", 32)), Secret(stream("3", 32))}}, 4, slices.Concat(stream("1", 32), stream("2", 32), stream("3", 32))},
	}
}

type (
	good struct {
		Name     string `json:"name"`
		Fragment string `json:"fragment"`
	}
	mangled struct {
		Name string `json:"name"`
		Text string `json:"text"`
		Of   string `json:"of"`
	}
	refused struct {
		Name  string `json:"name"`
		Text  string `json:"text"`
		Error string `json:"error"`
	}
	owner struct {
		Secret  []byte `json:"secret"`
		Address []byte `json:"address"`
		Right   []byte `json:"right"`
		Seed    []byte `json:"seed"`
		Sign    []byte `json:"sign"`
	}
	file struct {
		Good    []good    `json:"good"`
		Mangled []mangled `json:"mangled"`
		Refused []refused `json:"refused"`
		Owner   owner     `json:"owner"`
	}
)

// wrapped breaks a text after every 20 characters.
func wrapped(text, with string) string {
	var parts []string
	for p := range slices.Chunk([]byte(text), 20) {
		parts = append(parts, string(p))
	}
	return strings.Join(parts, with)
}

// percent encodes the characters for which it is asked.
func percent(text, which string) string {
	var b strings.Builder
	for _, c := range []byte(text) {
		if strings.IndexByte(which, c) >= 0 {
			fmt.Fprintf(&b, "%%%02X", c)
		} else {
			b.WriteByte(c)
		}
	}
	return b.String()
}

// vectors makes what testdata/seal/links.json keeps.
func vectors() (k file) {
	texts := map[string]string{}
	for _, s := range samples() {
		f := written(s.kind, s.fields)
		texts[s.name] = origin + "/r#" + f
		k.Good = append(k.Good, good{s.name, f})
	}
	box := texts["box"]
	_, fragment, _ := strings.Cut(box, "#")
	read := func(name, of, text string) { k.Mangled = append(k.Mangled, mangled{name, text, of}) }
	read("spaces and breaks around it", "box", " \t\r\n "+box+"\r\n ")
	for _, end := range []string{".", ",", ")", "]", ">", ";", ":", "!", "?", "\"", "'", "”", "’", "…", ").", "\u00a0", "*", "_", "-", "=", "&amp;", "%", "%4"} {
		read("followed by "+end, "box", box+end)
	}
	read("in angle brackets", "box", "<"+box+">")
	read("in round brackets", "box", "("+box+").")
	read("as markdown", "box", "[Check your screen]("+box+")")
	read("in a sentence", "box", "Please check your screen first: "+box+". Thank you, Ines")
	read("in a list", "box", "2. "+box)
	read("words behind it", "box", box+" Thanks")
	read("words stuck to it", "box", box+"Thanks")
	read("after another address", "box", "https://orchard.example/r#top and https://orchard.example/autumn#1.5 then "+box)
	for _, s := range []string{"box", "request", "answer"} {
		read("broken into lines", s, wrapped(texts[s], "\r\n"))
		read("broken into lines that go on", s, wrapped(texts[s], "=\r\n"))
		read("broken and quoted", s, wrapped(texts[s], "\n> "))
		read("broken and quoted twice", s, wrapped(texts[s], "\n> > "))
		read("lines joined by spaces", s, wrapped(texts[s], " "))
		read("its marks encoded", s, percent(texts[s], "#.:/-_"))
		read("all of it encoded", s, percent(texts[s], texts[s]))
		read("encoded twice", s, percent(percent(texts[s], "#.:/-_"), "%"))
		read("inside another", s, "https://mail.example/open?u="+percent(texts[s], "#:/")+"&from=ines%40orchard.example")
		read("breaks encoded", s, wrapped(texts[s], "%0D%0A%20"))
		read("hyphens as they do not break", s, strings.ReplaceAll(texts[s], "-", "\u2011"))
		read("hyphens as dashes", s, strings.ReplaceAll(strings.ReplaceAll(texts[s], "--", "\u2014"), "-", "\u2013"))
		read("places to break in it", s, wrapped(texts[s], "\u200b"))
		read("soft hyphens in it", s, wrapped(texts[s], "\u00ad"))
	}
	read("a sign of percent before it", "box", "100% of the apples: "+box)
	read("its fragment", "box", "#"+fragment)
	read("its fragment without #", "box", fragment)
	read("its fragment, encoded", "box", percent("#"+fragment, "#."))
	read("a slash more", "box", origin+"/r/#"+fragment)
	read("below a folder", "box", origin+"/screens/r#"+fragment)
	read("a zero before the version", "box", "#0"+fragment)

	not := func(name, text, err string) { k.Refused = append(k.Refused, refused{name, text, err}) }
	not("nothing", "", "empty")
	not("spaces", " \r\n ", "empty")
	not("words", "The catalogue is ready, please look at page 12.", "empty")
	not("an address of another kind", "https://orchard.example/autumn#apples", "empty")
	not("an address of another kind with a version", "https://orchard.example/autumn#"+fragment, "empty")
	not("without its fragment", origin+"/r", "empty")
	not("an empty fragment", origin+"/r#", "empty")
	not("an anchor", "#top", "empty")
	not("the start of its version", origin+"/r#1", "truncated")
	not("its version alone", origin+"/r#1.", "truncated")
	not("its kind alone", origin+"/r#"+fragment[:4], "truncated")
	not("without its last character", box[:len(box)-1], "truncated")
	not("without its second half", box[:len(box)/2], "truncated")
	not("cut, then a full stop", box[:len(box)-5]+".", "truncated")
	not("cut, then dots", box[:60]+"...", "truncated")
	not("cut, then an ellipsis", box[:60]+"…", "truncated")
	not("cut inside another", "https://mail.example/open?u="+percent(box[:60], "#:/")+"&from=ines", "truncated")
	not("a character changed", strings.Replace(box, box[60:61], "x", 1), "mistyped")
	not("a character left out", box[:50]+box[51:]+"A", "mistyped")
	not("a character too many", box[:50]+"A"+box[50:], "mistyped")
	swap := 50
	for box[swap] == box[swap+1] {
		swap++
	}
	not("two characters swapped", box[:swap]+box[swap+1:swap+2]+box[swap:swap+1]+box[swap+2:], "mistyped")
	not("a strange character in it", box[:60]+"*"+box[61:], "mistyped")
	not("all small, and so of another length", strings.ToLower(box), "truncated")
	not("its last bits changed", box[:len(box)-1]+string(box[len(box)-1]+1), "mistyped")
	not("of version 0", "#0."+fragment[2:], "mistyped")
	not("of version 2", "#2."+fragment[2:], "newer")
	not("of version 2 and of another form", origin+"/r#2.~anything", "newer")
	not("of version 10", "#10."+fragment[2:], "newer")
	not("of a version with many digits", "#99999999999999999999999.A", "newer")
	not("of kind 0", written(0, nil), "newer")
	not("of kind 5", written(5, stream("later", 20)), "newer")
	not("a box a byte short", written(1, stream("box", 47)), "layout")
	not("a box a byte long", written(1, stream("box", 49)), "layout")
	not("a box of nothing", written(1, nil), "layout")
	not("a request without a whole key", written(2, stream("key", 32)), "layout")
	not("a request without a body", written(2, stream("key", 33)), "layout")
	not("a request that does not unpack", written(2, append(stream("key", 33), 7, 7)), "layout")
	not("a request cut before the checksum", written(2, slices.Concat(stream("key", 33), stored(asked)[:30])), "layout")
	not("a request with something behind it", written(2, slices.Concat(stream("key", 33), stored(asked), []byte{0})), "layout")
	not("an answer without a letter", written(3, stream("answer", 32)), "layout")
	not("a desk of nothing", written(4, nil), "layout")
	not("a desk a byte short", written(4, stream("desk", 63)), "layout")

	secret := stream("secret", 32)
	derived := func(what string, n int) []byte { // the first block of HKDF-Expand, RFC 5869, section 2.3
		m := hmac.New(sha256.New, secret)
		m.Write([]byte("plumb/owner/1 " + what + "\x01"))
		return m.Sum(nil)[:n]
	}
	k.Owner = owner{secret, derived("address", 16), derived("right", 32), derived("seed", 32), derived("sign", 32)}
	return k
}

// TestVectors compares what is kept with what the twin makes, and reads it.
func TestVectors(t *testing.T) {
	made := vectors()
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetIndent("", " ")
	e.SetEscapeHTML(false)
	if err := e.Encode(made); err != nil {
		t.Fatal(err)
	}
	text := b.Bytes()
	if *update {
		if err := os.WriteFile(filepath.Join("..", "..", "testdata", "seal", "links.json"), text, 0o644); err != nil {
			t.Fatal(err)
		}
	} else {
		var err error
		if text, err = testdata.FS.ReadFile("seal/links.json"); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(text, b.Bytes()) {
			t.Error("links.json is not what the twin makes")
		}
	}
	var k file
	if err := json.Unmarshal(text, &k); err != nil {
		t.Fatal(err)
	}
	if len(k.Good) < 5 || len(k.Mangled) < 50 || len(k.Refused) < 40 {
		t.Fatal("too little is kept")
	}

	want := map[string]Link{}
	for _, s := range samples() {
		want[s.name] = s.link
	}
	for _, g := range k.Good {
		got, err := Read(origin + Path + "#" + g.Fragment)
		if err != nil || !reflect.DeepEqual(got, want[g.Name]) {
			t.Errorf("%s: %+v, %v", g.Name, got, err)
		}
		f, err := Fragment(want[g.Name])
		if _, packed := want[g.Name].(Request); err != nil || f != g.Fragment && !packed {
			t.Errorf("%s is written as %s, %v", g.Name, f, err)
		}
		text, err := Write(origin, want[g.Name])
		if again, wrong := Read(text); err != nil || wrong != nil || text != origin+"/r#"+f || !reflect.DeepEqual(again, want[g.Name]) {
			t.Errorf("%s is written as %s, %v, %v", g.Name, text, err, wrong)
		}
	}
	for _, m := range k.Mangled {
		if got, err := Read(m.Text); err != nil || !reflect.DeepEqual(got, want[m.Of]) {
			t.Errorf("%s (%s): %v, or another", m.Name, m.Of, err)
		}
	}
	seen := map[string]bool{"too large": true} // TestLimits
	for _, r := range k.Refused {
		seen[r.Error] = true
		if got, err := Read(r.Text); got != nil || err == nil || err != byName[r.Error] {
			t.Errorf("%s: %v, want %q", r.Name, err, r.Error)
		}
	}
	for name := range byName {
		if !seen[name] {
			t.Errorf("no vector is refused as %s", name)
		}
	}
	s := Secret(k.Owner.Secret)
	if a, r, d, w := s.Address(), s.Right(), s.Seed(), s.Sign(); !bytes.Equal(a[:], k.Owner.Address) || !bytes.Equal(r[:], k.Owner.Right) || !bytes.Equal(d[:], k.Owner.Seed) || !bytes.Equal(w[:], k.Owner.Sign) {
		t.Error("other things follow from the owner's secret than did")
	}
}

// A link that is cut anywhere is told to be cut, and with any one character changed it is none.
func TestEveryCharacter(t *testing.T) {
	for _, s := range samples() {
		text := "#" + written(s.kind, s.fields)
		for i := range len(text) {
			want := ErrTruncated
			if i < 2 {
				want = ErrEmpty
			}
			if _, err := Read(text[:i]); err != want {
				t.Fatalf("%s, its first %d characters: %v", s.name, i, err)
			}
		}
		for i := 3; i < len(text); i++ {
			for _, c := range "Ax-7" {
				changed := text[:i] + string(c) + text[i+1:]
				if l, err := Read(changed); changed != text && (l != nil || err != ErrMistyped && err != ErrTruncated) {
					t.Fatalf("%s with another character %d: %v", s.name, i, err)
				}
			}
		}
	}
}

// What cannot be a link is not written.
func TestLimits(t *testing.T) {
	key := stream("key", 33)
	for _, c := range []struct {
		name string
		link Link
		want error
	}{
		{"a request without a key", Request{nil, asked}, ErrLayout},
		{"a request with a large key", Request{stream("key", 1217), asked}, ErrLayout},
		{"a request as long as there are", Request{key, make([]byte, MaxBody)}, nil},
		{"a request that is longer", Request{key, make([]byte, MaxBody+1)}, ErrTooLarge},
		{"a request of nothing", Request{key, nil}, nil},
		{"an answer of nothing", Answer{}, ErrLayout},
		{"an answer as long as letters are", Answer{Letter: make([]byte, 256<<10)}, nil},
		{"an answer as long as there are", Answer{Letter: make([]byte, MaxFields-32)}, nil},
		{"an answer that is longer", Answer{Letter: make([]byte, MaxFields-31)}, ErrTooLarge},
		{"a desk of nothing", Desk{}, ErrLayout},
	} {
		text, err := Write(origin, c.link)
		if err != c.want || (err == nil) != (text != "") {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
		if err != nil {
			continue
		}
		if got, err := Read(text); err != nil || kindOf(got) != kindOf(c.link) {
			t.Errorf("%s: read: %v", c.name, err)
		}
	}
	bomb, err := Pack(make([]byte, MaxBody))
	if err != nil {
		t.Fatal(err)
	}
	if len(bomb) > 4096 {
		t.Fatalf("%d bytes are no bomb", len(bomb))
	}
	twice := slices.Concat([]byte{0}, binary.LittleEndian.AppendUint16(binary.LittleEndian.AppendUint16(nil, 1), 0xfffe), []byte{7}, bomb) // a stored block of one byte before it
	if _, err := Unpack(twice); err != ErrTooLarge {
		t.Errorf("a byte more than there may be: %v", err)
	}
	if _, err := Read(written(2, slices.Concat(key, twice))); err != ErrTooLarge {
		t.Errorf("a request with a byte more than there may be: %v", err)
	}
}

func kindOf(l Link) string { return reflect.TypeOf(l).Name() }

// Errors tell nothing of the link.
func TestErrors(t *testing.T) {
	for _, s := range samples() {
		text := origin + "/r#" + written(s.kind, s.fields)
		for _, broken := range []string{text[:len(text)-3], text[:30] + "*" + text[31:], strings.Replace(text, "#1", "#2", 1)} {
			if _, err := Read(broken); err == nil || strings.Contains(err.Error(), broken[27:30]) || errors.Unwrap(err) != nil {
				t.Errorf("%s: %v", s.name, err)
			}
		}
	}
}
