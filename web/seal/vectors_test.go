package seal

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"example.org/plumb/testdata"
)

var update = flag.Bool("update", false, "write testdata/seal/letters.json and parcels.json anew; letters sealed by an earlier version must still open")

var byName = map[string]error{
	"version": ErrVersion, "foreign": ErrForeign, "truncated": ErrTruncated, "order": ErrOrder, "extra": ErrExtra, "layout": ErrLayout, "too large": ErrTooLarge,
}

// A vector is a letter and what becomes of it.
type vector struct {
	Name    string `json:"name"`
	Key     octets `json:"key"` // Private.Bytes
	Kind    Kind   `json:"kind"`
	Context octets `json:"context"`
	Letter  []byte `json:"letter"`
	Body    []byte `json:"body,omitempty"`
	Error   string `json:"error,omitempty"`
}

// letters makes the vectors by the twin, the same each time.
func letters() (list []vector) {
	for _, suite := range []byte{short, hybrid} {
		w := twins[suite]
		private := append([]byte{suite}, w.derive(stream("reader", 32))...)
		public := append(Public{suite}, w.public(private[1:])...)
		other := append(Public{suite}, w.public(w.derive(stream("another reader", 32)))...)
		enc := map[byte]int{short: 32, hybrid: 1120}[suite]
		name := map[byte]string{short: "short", hybrid: "hybrid"}[suite] + ": "
		place, elsewhere := stream("place", 32), stream("elsewhere", 32)
		random := stream("random", 64)
		body := []byte(`{"from":"Ines","screen":"studio left"}`)
		add := func(what string, letter, body []byte, err string) {
			list = append(list, vector{name + what, private, "answer", place, letter, body, err})
		}
		good := letterTo(public, "answer", place, body)
		letter := good.write(random)

		add("opens", letter, body, "")
		add("an empty body", letterTo(public, "answer", place, nil).write(random), []byte{}, "")
		full := stream("full", 1536-2-enc-16-4)
		add("a body that fills the letter", letterTo(public, "answer", place, full).write(random), full, "")
		list = append(list, vector{name + "no context", private, "answer", nil, letterTo(public, "answer", nil, body).write(random), body, ""})

		altered := func(i int) []byte {
			b := slices.Clone(letter)
			b[i] ^= 1
			return b
		}
		add("altered in the encapsulated key", altered(5), nil, "foreign")
		add("altered in the encapsulated key's last byte", altered(1+enc), nil, "foreign")
		add("altered in the length", altered(2+enc), nil, "foreign")
		add("altered in the padding", altered(len(letter)-20), nil, "foreign")
		add("altered in the tag", altered(len(letter)-1), nil, "foreign")
		add("of version 0", append([]byte{0}, letter[1:]...), nil, "version")
		add("of version 2", append([]byte{2}, letter[1:]...), nil, "version")
		add("of a suite that is not known", append([]byte{1, 9}, letter[2:]...), nil, "version")
		add("said to be of the other suite", append([]byte{1, short + hybrid - suite}, letter[2:]...), nil, "foreign")
		add("nothing", nil, nil, "truncated")
		add("its version alone", letter[:1], nil, "truncated")
		add("its first two bytes", letter[:2], nil, "truncated")
		add("without its last byte", letter[:len(letter)-1], nil, "truncated")
		add("with a byte more", append(slices.Clone(letter), 0), nil, "truncated")
		add("with another behind it", append(slices.Clone(letter), letter...), nil, "foreign")
		longer := letterTo(public, "answer", place, stream("longer", 2000)).write(stream("more random", 64))
		add("cut to the next smaller size", longer[:len(letter)], nil, "foreign")
		add("zeros", append([]byte{1, suite}, make([]byte, len(letter)-2)...), nil, "foreign")
		add("for another reader", letterTo(other, "answer", place, body).write(random), nil, "foreign")
		add("with the encapsulated key of another letter", slices.Concat(longer[:2+enc], letter[2+enc:]), nil, "foreign")
		add("of another kind", letterTo(public, "request", place, body).write(random), nil, "foreign")
		add("of no kind", letterTo(public, "", place, body).write(random), nil, "foreign")
		add("from another place", letterTo(public, "answer", elsewhere, body).write(random), nil, "foreign")
		add("put again by another name", letterTo(public, "answer", slices.Concat(place[:16], elsewhere[:16]), body).write(random), nil, "foreign")
		add("with less context", letterTo(public, "answer", place[:31], body).write(random), nil, "foreign")
		add("with kind and context cut elsewhere", letterTo(public, Kind("answer"+string(place[:1])), place[1:], body).write(random), nil, "foreign")
		wrong := good
		wrong.label = "plumb/letter/2"
		add("sealed as by another version", wrong.write(random), nil, "foreign")
		inside := func(what string, change func(b []byte)) {
			wrong := good
			wrong.inside = slices.Clone(good.inside)
			change(wrong.inside)
			add(what, wrong.write(random), nil, "layout")
		}
		inside("padded with something", func(b []byte) { b[len(b)-1] = 1 })
		inside("longer than its inside", func(b []byte) { copy(b, number(len(b)-3, 4)) })
		inside("of 4 GB", func(b []byte) { copy(b, number(1<<32-1, 4)) })
	}
	return list
}

// golden compares what was made with what is kept in a file of testdata/seal, or writes it, and reads the file into kept.
func golden(t *testing.T, name string, made, kept any) {
	t.Helper()
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetIndent("", " ")
	e.SetEscapeHTML(false)
	if err := e.Encode(made); err != nil {
		t.Fatal(err)
	}
	file := b.Bytes()
	if *update {
		if err := os.WriteFile(filepath.Join("..", "..", "testdata", "seal", name), file, 0o644); err != nil {
			t.Fatal(err)
		}
	} else {
		var err error
		if file, err = testdata.FS.ReadFile("seal/" + name); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(file, b.Bytes()) {
			t.Errorf("%s is not what the twin makes", name)
		}
	}
	if err := json.Unmarshal(file, kept); err != nil {
		t.Fatal(err)
	}
}

// Letters that were kept open or are refused as written beside them, and the twin makes the same again.
func TestLetters(t *testing.T) {
	var list []vector
	golden(t, "letters.json", letters(), &list)
	opened := 0
	for _, v := range list {
		key, err := Parse(v.Key)
		if err != nil {
			t.Fatal(err)
		}
		given := slices.Clone(v.Letter)
		got, err := key.Open(v.Kind, v.Context, v.Letter)
		if want := byName[v.Error]; err != want || want == nil && v.Error != "" {
			t.Errorf("%s: %v, want %q", v.Name, err, v.Error)
		}
		if !bytes.Equal(got, v.Body) {
			t.Errorf("%s: another body", v.Name)
		}
		if !bytes.Equal(given, v.Letter) {
			t.Errorf("%s: the letter was written to", v.Name)
		}
		if err == nil {
			opened++
		}
	}
	if opened < 6 || len(list)-opened < 40 {
		t.Errorf("%d letters open, %d do not", opened, len(list)-opened)
	}
}

// A parcelVector is a parcel, whose bytes are the start of SHAKE256 of its name, with the SHA-256 of each of its chunks sealed.
type parcelVector struct {
	Name   string   `json:"name"`
	Key    octets   `json:"key"`
	ID     octets   `json:"id"`
	Size   int      `json:"size"`
	Chunks []octets `json:"chunks"`
}

// An arrival is a sequence of chunks and the errors that reading them gives, the last of which is Close's. A chunk is written as its parcel and position, then
// perhaps ^ and the byte in which a bit is wrong, < and how many bytes are left of it, > and how many zeros follow it, or = and a byte and its value.
type arrival struct {
	Name   string   `json:"name"`
	Of     string   `json:"of"`
	Chunks []string `json:"chunks"`
	Errors []string `json:"errors"`
}

func parcels() map[string]parcelVector {
	m := map[string]parcelVector{}
	for _, p := range []parcelVector{
		{"a", stream("key a", 32), stream("id a", 16), 2*ChunkSize + 5, nil},
		{"b", stream("key a", 32), stream("id b", 16), 2*ChunkSize + 5, nil}, // as only a sender who breaks the rules makes it
		{"c", stream("key c", 32), stream("id a", 16), ChunkSize, nil},
		{"d", stream("key d", 32), stream("id d", 16), 0, nil},
	} {
		m[p.Name] = p
	}
	return m
}

// sealed are the chunks of a parcel, by a twin of SealChunk.
func (p parcelVector) sealed() (list [][]byte) {
	plain := stream(p.Name, p.Size)
	for i := 0; i == 0 || len(plain) > 0; i++ {
		n := min(len(plain), 1<<20)
		last := byte(0)
		if n == len(plain) {
			last = 1
		}
		nonce := slices.Concat(number(0, 3), number(i, 8), []byte{last})
		list = append(list, slices.Concat([]byte{1, last}, number(i, 4), aesgcm(p.Key).Seal(nil, nonce, plain[:n], append([]byte("plumb/parcel/1"), p.ID...))))
		plain = plain[n:]
	}
	return list
}

var arrivals = []arrival{
	{"whole", "a", []string{"a0", "a1", "a2"}, []string{"", "", "", ""}},
	{"whole, of one full chunk", "c", []string{"c0"}, []string{"", ""}},
	{"whole, of nothing", "d", []string{"d0"}, []string{"", ""}},
	{"a chunk is asked for again after a bad one", "a", []string{"a0", "a1^9", "a1", "a2"}, []string{"", "foreign", "", "", ""}},
	{"altered in the plain part", "a", []string{"a0^5000"}, []string{"foreign", "truncated"}},
	{"altered in the tag", "c", []string{"c0^1048597"}, []string{"foreign", "truncated"}},
	{"altered in the position", "a", []string{"a0^5"}, []string{"foreign", "truncated"}},
	{"altered in the position's first bit", "a", []string{"a0=2=128"}, []string{"foreign", "truncated"}},
	{"said to be the last", "a", []string{"a0=1=1"}, []string{"foreign", "truncated"}},
	{"said not to be the last", "a", []string{"a0", "a1", "a2=1=0"}, []string{"", "", "foreign", "truncated"}},
	{"last, in another way", "a", []string{"a0", "a1", "a2=1=2"}, []string{"", "", "foreign", "truncated"}},
	{"not the last, in another way", "a", []string{"a0=1=2"}, []string{"foreign", "truncated"}},
	{"of another version", "a", []string{"a0=0=2"}, []string{"version", "truncated"}},
	{"swapped", "a", []string{"a1", "a0"}, []string{"order", "", "truncated"}},
	{"the last too early", "a", []string{"a0", "a2"}, []string{"", "order", "truncated"}},
	{"one repeated", "a", []string{"a0", "a0", "a1", "a2"}, []string{"", "order", "", "", ""}},
	{"one left out", "a", []string{"a0", "a2", "a1"}, []string{"", "order", "", "truncated"}},
	{"the end is missing", "a", []string{"a0", "a1"}, []string{"", "", "truncated"}},
	{"nothing came", "a", nil, []string{"truncated"}},
	{"one more", "a", []string{"a0", "a1", "a2", "a2"}, []string{"", "", "", "extra", ""}},
	{"one more, of another parcel", "a", []string{"a0", "a1", "a2", "b0"}, []string{"", "", "", "extra", ""}},
	{"one of another parcel with the same key", "a", []string{"a0", "b1"}, []string{"", "foreign", "truncated"}},
	{"one with another key", "a", []string{"c0"}, []string{"foreign", "truncated"}},
	{"no bytes", "a", []string{"a0<0"}, []string{"truncated", "truncated"}},
	{"its header alone", "a", []string{"a0<6"}, []string{"truncated", "truncated"}},
	{"too short for a tag", "d", []string{"d0<21"}, []string{"truncated", "truncated"}},
	{"cut short", "a", []string{"a0<1048597"}, []string{"foreign", "truncated"}},
	{"longer", "a", []string{"a0", "a1", "a2>1"}, []string{"", "", "foreign", "truncated"}},
	{"longer than a chunk is", "a", []string{"a0>1"}, []string{"too large", "truncated"}},
}

// chunk makes what an arrival's word says.
func chunk(word string, from map[string][][]byte) []byte {
	end := strings.IndexAny(word, "^<>=")
	if end < 0 {
		end = len(word)
	}
	b := slices.Clone(from[word[:1]][must(strconv.Atoi(word[1:end]))])
	if end == len(word) {
		return b
	}
	first, second, _ := strings.Cut(word[end+1:], "=")
	n := must(strconv.Atoi(first))
	switch word[end] {
	case '^':
		b[n] ^= 1
	case '<':
		b = b[:n]
	case '>':
		b = append(b, make([]byte, n)...)
	case '=':
		b[n] = byte(must(strconv.Atoi(second)))
	}
	return b
}

// Parcels that were kept are read or refused as written beside them, and the twin makes the same again.
func TestParcels(t *testing.T) {
	type file struct {
		Parcels  []parcelVector `json:"parcels"`
		Arrivals []arrival      `json:"arrivals"`
	}
	all, sealed := parcels(), map[string][][]byte{}
	made := file{Arrivals: arrivals}
	for _, name := range []string{"a", "b", "c", "d"} {
		p := all[name]
		sealed[name] = p.sealed()
		for _, c := range sealed[name] {
			sum := sha256.Sum256(c)
			p.Chunks = append(p.Chunks, sum[:])
		}
		made.Parcels = append(made.Parcels, p)
	}
	var kept file
	golden(t, "parcels.json", made, &kept)
	if len(kept.Parcels) < 4 || len(kept.Arrivals) < 20 {
		t.Fatal("too little is kept")
	}

	for _, p := range kept.Parcels {
		key, id, plain := Key(p.Key), Parcel(p.ID), stream(p.Name, p.Size)
		if n := Chunks(p.Size); n != len(p.Chunks) {
			t.Errorf("parcel %s has %d chunks", p.Name, n)
		}
		for i, want := range p.Chunks {
			last := i == len(p.Chunks)-1
			part := plain[min(i*ChunkSize, len(plain)):min((i+1)*ChunkSize, len(plain))]
			c, err := key.SealChunk(id, i, last, part)
			if sum := sha256.Sum256(c); err != nil || !bytes.Equal(sum[:], want) {
				t.Errorf("parcel %s, chunk %d: %v, or another", p.Name, i, err)
			}
			if len(c) != len(part)+Overhead {
				t.Errorf("parcel %s, chunk %d: %d bytes", p.Name, i, len(c))
			}
		}
	}
	for _, a := range kept.Arrivals {
		p := all[a.Of]
		r := NewReader(Key(p.Key).Cipher(), Parcel(p.ID))
		var got []byte
		var errs []error
		for _, word := range a.Chunks {
			plain, err := r.Next(chunk(word, sealed))
			got, errs = append(got, plain...), append(errs, err)
		}
		errs = append(errs, r.Close())
		for i, err := range errs {
			if want := byName[a.Errors[i]]; err != want || want == nil && a.Errors[i] != "" {
				t.Errorf("%s: step %d gives %v, want %q", a.Name, i, err, a.Errors[i])
			}
		}
		if len(errs) != len(a.Errors) {
			t.Errorf("%s: %d steps", a.Name, len(errs))
		}
		whole := stream(a.Of, p.Size)
		if r.Close() == nil && !bytes.Equal(got, whole) || !bytes.HasPrefix(whole, got) {
			t.Errorf("%s: other bytes", a.Name)
		}
		if r.Ended() != (r.Close() == nil) {
			t.Errorf("%s: ended and not", a.Name)
		}
	}
}

// Every error of opening has its own vector.
func TestVectorsOfEachError(t *testing.T) {
	seen := map[string]bool{}
	for _, v := range letters() {
		seen[v.Error] = true
	}
	for _, a := range arrivals {
		for _, e := range a.Errors {
			seen[e] = true
		}
	}
	for name, err := range byName {
		if !seen[name] {
			t.Errorf("no vector is refused as %s", name)
		}
		for other, same := range byName {
			if name != other && (errors.Is(err, same) || fmt.Sprint(err) == fmt.Sprint(same)) {
				t.Errorf("%s and %s are one", name, other)
			}
		}
	}
}
