package record

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"
)

// keyOf is the key of somebody in the tests: its seed is the SHA-256 of their name.
func keyOf(name string) ed25519.PrivateKey {
	seed := sha256.Sum256([]byte(name))
	return ed25519.NewKeyFromSeed(seed[:])
}

func publicOf(name string) [32]byte { return [32]byte(keyOf(name)[32:]) }

// What lies beside the records of the tests. Nothing looks into it.
var (
	files  = []string{"the bytes of the orchard at dusk", "the bytes of the barn, as PNG", "the bytes of the barn, brighter"}
	source = "the bytes of the barn, as TIFF"
	report = "the bytes of the report of the kitchen laptop"
	model  = "the bytes of the model of the kitchen laptop"
)

func sum(s string) [32]byte { return sha256.Sum256([]byte(s)) }

var place = [16]byte([]byte("box of the test."))

func at(clock string) time.Time {
	t, err := time.Parse(time.RFC3339, "2026-11-28T"+clock+"Z")
	if err != nil {
		panic(err)
	}
	return t
}

func firstRequest() Request {
	return Request{
		Place: place, Round: 1, Made: at("20:15:00"),
		Title: "Orchard catalogue, spread 4", From: "Ines", Note: `Please look at the barn: is the "blue hour" still blue? C:\barn is the folder.`,
		Needs: "light and shade",
		Pictures: []Picture{
			{Name: "orchard at dusk.jpg", Kind: "image/jpeg", Width: 6000, Height: 4000, Size: int64(len(files[0])), Digest: sum(files[0]), Source: sum(files[0])},
			{Name: "barn – Äpfel 🍎.tiff", Kind: "image/png", Width: 3000, Height: 2000, Size: int64(len(files[1])), Digest: sum(files[1]), Source: sum(source)},
		},
	}
}

func secondRequest(t testing.TB) Request {
	r := firstRequest()
	r.Round, r.Earlier, r.Made, r.Note = 2, Digest(asked(t, firstRequest())), at("21:30:00"), ""
	r.Pictures[1] = Picture{Name: "barn, brighter.png", Kind: "image/png", Width: 3000, Height: 2000, Size: int64(len(files[2])), Digest: sum(files[2]), Source: sum(files[2])}
	return r
}

func checked() Screen {
	return Screen{
		Report: sum(report), Ended: at("20:52:10"), Name: "kitchen laptop", Model: sum(model),
		Fitness: []Fit{{"layout and wording", "holds"}, {"light and shade", "holds"}, {"colour", "unsure"}},
	}
}

func changes(t testing.TB) Statement {
	return Statement{
		Request: asked(t, firstRequest()), Name: "Tomas", Told: at("21:04:10"), Mailbox: at("21:04:12"), Screen: checked(), Whole: Changes,
		Pictures: []Judged{
			{Decision: Approved, HiddenKnown: true, Hidden: []Hidden{
				{"shadows", 12, 8, 17}, {"lights", 0, 0, 0}, {"beyond", 40, 0, 1000}, {"shifted", 31, 22, 41}, {"steps", 1, 0, 2}, {"any", 80, 55, 1000},
			}},
			{Decision: Changes, HiddenKnown: true, Hidden: []Hidden{{"shadows", 210, 188, 233}, {"lights", 0, 0, 0}, {"any", 225, 200, 251}}, Notes: []Note{
				{X: 1480, Y: 902, Text: `The "hinge" cannot be made out.`},
				{X: 0, Y: 0, Width: 3000, Height: 2000, Text: "All of it is too dark."},
			}},
		},
	}
}

func approved(t testing.TB) Statement {
	before := signed(t, changes(t), "tomas")
	s := changes(t)
	s.Request, s.Earlier, s.Told, s.Mailbox, s.Whole = asked(t, secondRequest(t)), Digest(before), at("21:58:00"), time.Time{}, Approved
	s.Pictures[1] = Judged{Decision: Approved, HiddenKnown: true, Hidden: []Hidden{{"shadows", 3, 1, 6}, {"any", 9, 4, 15}}}
	return s
}

// unseen is an approval on a screen that nobody checked, of a request that asks for none.
func unseen(t testing.TB) Statement {
	r := firstRequest()
	r.Needs, r.Title, r.Note = "", "", ""
	return Statement{
		Request: asked(t, r), Name: "Okke", Told: at("22:10:00"), Mailbox: at("22:10:01"), Whole: Approved,
		Pictures: []Judged{{Decision: Approved}, {Decision: Approved, Notes: []Note{{X: 2999, Y: 1999, Text: "A nail?"}}}},
	}
}

// takenBack decides nothing any more.
func takenBack(t testing.TB) Statement {
	s := approved(t)
	s.Earlier, s.Told, s.Whole = Digest(signed(t, approved(t), "tomas")), at("22:30:00"), Undecided
	s.Screen, s.Pictures = Screen{}, make([]Judged, 2)
	return s
}

func asked(t testing.TB, r Request) []byte {
	t.Helper()
	text, err := r.Sign(keyOf("ines"))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func signed(t testing.TB, s Statement, by string) []byte {
	t.Helper()
	text, err := s.Sign(keyOf(by))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// good returns the texts that stand, by the names of their files.
func good(t testing.TB) map[string][]byte {
	return map[string][]byte{
		"request.txt":   asked(t, firstRequest()),
		"round.txt":     asked(t, secondRequest(t)),
		"changes.txt":   signed(t, changes(t), "tomas"),
		"approved.txt":  signed(t, approved(t), "tomas"),
		"unchecked.txt": signed(t, unseen(t), "okke"),
		"back.txt":      signed(t, takenBack(t), "tomas"),
	}
}

func isRequest(file string) bool { return file == "request.txt" || file == "round.txt" }

// What is written is the same, byte by byte, in every version that writes this layout.
func TestGolden(t *testing.T) {
	for name, text := range good(t) {
		if *update {
			write(t, name, text)
		}
		want, err := os.ReadFile(folder + name)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(text, want) {
			t.Errorf("%s is written otherwise: -update writes it, and no text that was signed before reads any more", name)
		}
	}
}

// What is read is what was signed.
func TestRoundTrip(t *testing.T) {
	for _, r := range []Request{firstRequest(), secondRequest(t)} {
		text := asked(t, r)
		r.Asker = publicOf("ines")
		if got, err := ReadRequest(text); err != nil || !reflect.DeepEqual(got, r) {
			t.Errorf("%v: %+v", err, got)
		}
	}
	for by, all := range map[string][]Statement{"tomas": {changes(t), approved(t), takenBack(t)}, "okke": {unseen(t)}} {
		for _, s := range all {
			got, err := Read(signed(t, s, by))
			if err != nil {
				t.Fatal(err)
			}
			s.Signer = publicOf(by)
			q, err := ReadRequest(s.Request)
			if err != nil {
				t.Fatal(err)
			}
			if !reflect.DeepEqual(got.Statement, s) || !reflect.DeepEqual(got.Asked, q) {
				t.Errorf("%+v", got)
			}
		}
	}
	// Times are told to the second, and in UTC.
	s := changes(t)
	s.Told = s.Told.Add(999 * time.Millisecond).In(time.FixedZone("orchard", 3600))
	if !bytes.Equal(signed(t, s, "tomas"), signed(t, changes(t), "tomas")) {
		t.Error("a time is written finer than to the second, or not in UTC")
	}
}

// No byte of a text can be another, be missing or be doubled, and no line either.
func TestEveryByte(t *testing.T) {
	for name, text := range good(t) {
		read := func(text []byte) error { _, err := Read(text); return err }
		if isRequest(name) {
			read = func(text []byte) error { _, err := ReadRequest(text); return err }
		}
		if err := read(text); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		masks := []byte{1, 0x20}
		if name == "approved.txt" {
			masks = []byte{1, 2, 4, 8, 0x10, 0x20, 0x40, 0x80}
		}
		kinds := map[error]int{}
		for i := range text {
			if testing.Short() && i%11 != 0 { // in a browser signatures take long
				continue
			}
			for _, m := range masks {
				other := slices.Clone(text)
				other[i] ^= m
				err := read(other)
				if err == nil {
					t.Fatalf("%s stands with byte %d as %#x", name, i, other[i])
				}
				kinds[plain(err)]++
			}
			if read(slices.Delete(slices.Clone(text), i, i+1)) == nil {
				t.Fatalf("%s stands without byte %d", name, i)
			}
			if read(slices.Insert(slices.Clone(text), i, text[i])) == nil {
				t.Fatalf("%s stands with byte %d twice", name, i)
			}
			if read(text[:i]) == nil {
				t.Fatalf("%s stands with its first %d bytes", name, i)
			}
		}
		if kinds[nil] > 0 || kinds[ErrLayout] == 0 || len(masks) == 8 && !testing.Short() && kinds[ErrVersion] == 0 || kinds[ErrRequest] == 0 || !isRequest(name) && kinds[ErrSignature] == 0 {
			t.Errorf("%s: refused as %v", name, kinds)
		}
		if testing.Short() {
			continue
		}
		lines := strings.SplitAfter(strings.TrimSuffix(string(text), "\n"), "\n")
		for i := range lines {
			for j := range i {
				swapped := slices.Clone(lines)
				swapped[i], swapped[j] = swapped[j], swapped[i]
				if again := strings.Join(swapped, "") + "\n"; again != string(text) && read([]byte(again)) == nil {
					t.Fatalf("%s stands with lines %d and %d changed about", name, i+1, j+1)
				}
			}
		}
	}
}

var all = map[string]error{
	"ErrVersion": ErrVersion, "ErrLayout": ErrLayout, "ErrTooLarge": ErrTooLarge, "ErrKey": ErrKey, "ErrSignature": ErrSignature, "ErrRequest": ErrRequest,
	"ErrClaim": ErrClaim, "ErrPlace": ErrPlace, "ErrReplay": ErrReplay, "ErrForeignKey": ErrForeignKey, "ErrPicture": ErrPicture, "ErrReport": ErrReport,
	"ErrModel": ErrModel, "ErrEarlier": ErrEarlier,
}

// plain is which of the errors of this package an error is; nil if none, or if it is several.
func plain(err error) (found error) {
	for _, e := range all {
		if errors.Is(err, e) {
			if found != nil {
				return nil
			}
			found = e
		}
	}
	return found
}

// Statements that are not signed, each for its reason.
func TestSignRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*Statement)
		want   error
	}{
		"zero":                          {func(s *Statement) { *s = Statement{} }, ErrLayout},
		"no request":                    {func(s *Statement) { s.Request = nil }, ErrLayout},
		"a request that does not stand": {func(s *Statement) { s.Request[0] ^= 1 }, ErrLayout},
		"a request signed by nobody":    {func(s *Statement) { s.Request = bytes.Replace(s.Request, []byte("Ines"), []byte("Inez"), 1) }, ErrRequest},
		"no name":                       {func(s *Statement) { s.Name = "" }, ErrLayout},
		"a long name":                   {func(s *Statement) { s.Name = strings.Repeat("ö", MaxText+1) }, ErrLayout},
		"a line end in a name":          {func(s *Statement) { s.Name = "Tomas\ndecision approved" }, ErrLayout},
		"a name that is turned around":  {func(s *Statement) { s.Name = "\u202esamoT" }, ErrLayout},
		"a name that is no text":        {func(s *Statement) { s.Name = "Tom\xffas" }, ErrLayout},
		"no time":                       {func(s *Statement) { s.Told = time.Time{} }, ErrLayout},
		"a time without four digits":    {func(s *Statement) { s.Told = time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC) }, ErrLayout},
		"no pictures":                   {func(s *Statement) { s.Pictures = nil }, ErrClaim},
		"one picture of two":            {func(s *Statement) { s.Pictures = s.Pictures[:1] }, ErrClaim},
		"three pictures of two":         {func(s *Statement) { s.Pictures = append(s.Pictures, s.Pictures[0]) }, ErrClaim},
		"a picture not decided":         {func(s *Statement) { s.Pictures[1].Decision = Undecided }, ErrClaim},
		"a picture not approved":        {func(s *Statement) { s.Pictures[1].Decision = Changes }, ErrClaim},
		"no changes for changes":        {func(s *Statement) { s.Whole = Changes }, ErrClaim},
		"changes and one not decided": {func(s *Statement) {
			s.Whole, s.Pictures[0].Decision, s.Pictures[1].Decision = Changes, Changes, Undecided
		}, ErrClaim},
		"another decision":              {func(s *Statement) { s.Whole = "Approved" }, ErrLayout},
		"another decision on a picture": {func(s *Statement) { s.Pictures[0].Decision = "yes" }, ErrLayout},
		"hidden not worked out":         {func(s *Statement) { s.Pictures[0] = Judged{Decision: Approved} }, ErrClaim},
		"hidden known to be nothing":    {func(s *Statement) { s.Pictures[0].Hidden = nil }, ErrClaim},
		"hidden without the sum":        {func(s *Statement) { s.Pictures[0].Hidden = s.Pictures[0].Hidden[:5] }, ErrClaim},
		"hidden and not known":          {func(s *Statement) { s.Pictures[0].HiddenKnown = false }, ErrClaim},
		"hidden and not known, undecided": {func(s *Statement) {
			s.Whole, s.Pictures[0].Decision, s.Pictures[0].HiddenKnown = Undecided, Undecided, false
		}, ErrClaim},
		"a note left of the picture":       {func(s *Statement) { s.Pictures[0].Notes = []Note{{X: -1, Text: "here"}} }, ErrLayout},
		"hidden on an unchecked screen":    {func(s *Statement) { s.Screen = Screen{} }, ErrClaim},
		"a name of an unchecked screen":    {func(s *Statement) { *s = blind(*s, Screen{Name: "kitchen laptop"}) }, ErrClaim},
		"an end of an unchecked screen":    {func(s *Statement) { *s = blind(*s, Screen{Ended: s.Told}) }, ErrClaim},
		"a fitness of an unchecked screen": {func(s *Statement) { *s = blind(*s, Screen{Fitness: checked().Fitness}) }, ErrClaim},
		"a model of an unchecked screen":   {func(s *Statement) { *s = blind(*s, Screen{Model: sum(model)}) }, ErrClaim},
		"a note below the picture":         {func(s *Statement) { s.Pictures[0].Notes = []Note{{Y: 4000, Text: "here"}} }, ErrLayout},
		"a note higher than the picture":   {func(s *Statement) { s.Pictures[0].Notes = []Note{{Y: 1, Width: 1, Height: 4000, Text: "here"}} }, ErrLayout},
		"a check that never ended":         {func(s *Statement) { s.Screen.Ended = time.Time{} }, ErrLayout},
		"purposes out of order":            {func(s *Statement) { slices.Reverse(s.Screen.Fitness) }, ErrLayout},
		"a purpose twice":                  {func(s *Statement) { s.Screen.Fitness[1] = s.Screen.Fitness[0] }, ErrLayout},
		"another verdict":                  {func(s *Statement) { s.Screen.Fitness[2].Verdict = "Holds" }, ErrLayout},
		"another purpose":                  {func(s *Statement) { s.Screen.Fitness[0].Purpose = "everything" }, ErrLayout},
		"ways out of order":                {func(s *Statement) { slices.Reverse(s.Pictures[0].Hidden) }, ErrLayout},
		"a way twice":                      {func(s *Statement) { s.Pictures[0].Hidden[1] = s.Pictures[0].Hidden[0] }, ErrLayout},
		"another way":                      {func(s *Statement) { s.Pictures[0].Hidden[0].What = "blur" }, ErrLayout},
		"more than all":                    {func(s *Statement) { s.Pictures[0].Hidden[0] = Hidden{"shadows", 1001, 0, 1001} }, ErrLayout},
		"less than none":                   {func(s *Statement) { s.Pictures[0].Hidden[0] = Hidden{"shadows", 0, -1, 1} }, ErrLayout},
		"outside its interval":             {func(s *Statement) { s.Pictures[0].Hidden[0] = Hidden{"shadows", 7, 8, 17} }, ErrLayout},
		"a note that says nothing":         {func(s *Statement) { s.Pictures[0].Notes = []Note{{}} }, ErrLayout},
		"a note outside":                   {func(s *Statement) { s.Pictures[0].Notes = []Note{{X: 6000, Text: "here"}} }, ErrLayout},
		"a note before the picture":        {func(s *Statement) { s.Pictures[0].Notes = []Note{{Y: -1, Text: "here"}} }, ErrLayout},
		"a note of no width":               {func(s *Statement) { s.Pictures[0].Notes = []Note{{Height: 5, Text: "here"}} }, ErrLayout},
		"a note wider than the picture":    {func(s *Statement) { s.Pictures[0].Notes = []Note{{X: 1, Width: 6000, Height: 1, Text: "here"}} }, ErrLayout},
		"a note beyond all numbers":        {func(s *Statement) { s.Pictures[0].Notes = []Note{{X: 1, Width: 1<<63 - 1, Height: 1, Text: "here"}} }, ErrLayout},
		"a long note":                      {func(s *Statement) { s.Pictures[0].Notes = []Note{{Text: strings.Repeat("a", MaxNote+1)}} }, ErrLayout},
		"more notes than are read":         {func(s *Statement) { s.Pictures[0].Notes = slices.Repeat([]Note{{Text: "a"}}, MaxNotes+1) }, ErrLayout},
		"more text than is read": {func(s *Statement) {
			s.Pictures[0].Notes = slices.Repeat([]Note{{Text: strings.Repeat("🍎", MaxNote)}}, 90)
		}, ErrTooLarge},
		"the key of another": {func(s *Statement) { s.Signer = publicOf("ines") }, ErrKey},
		"nothing decided": {func(s *Statement) {
			*s = Statement{Request: s.Request, Name: "Tomas", Told: s.Told, Pictures: make([]Judged, 2)}
		}, ErrClaim},
		"a decision on the whole alone": {func(s *Statement) {
			s.Pictures = []Judged{{HiddenKnown: true, Hidden: s.Pictures[0].Hidden}, s.Pictures[1]}
		}, ErrClaim},
		"a picture that failed to appear": {func(s *Statement) { s.Pictures[1] = Judged{} }, ErrClaim},
	} {
		s := approved(t)
		c.change(&s)
		if text, err := s.Sign(keyOf("tomas")); plain(err) != c.want || text != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	// The same statement unchanged, decided less far, and with notes alone is signed.
	for name, change := range map[string]func(*Statement){
		"as it is":        func(s *Statement) {},
		"whole undecided": func(s *Statement) { s.Whole = Undecided },
		"one undecided":   func(s *Statement) { s.Whole, s.Pictures[0] = Undecided, Judged{} },
		"notes alone":     func(s *Statement) { *s = noteAlone(*s) },
		"all notes, all in": func(s *Statement) {
			s.Pictures[0].Notes = slices.Repeat([]Note{{X: 5999, Y: 3999, Width: 1, Height: 1, Text: "a"}}, MaxNotes)
		},
		"other purposes": func(s *Statement) { s.Screen.Fitness = s.Screen.Fitness[1:2] },
		"no purposes":    func(s *Statement) { s.Screen.Fitness = nil },
		"no model":       func(s *Statement) { s.Screen.Model = [32]byte{} },
		"the key named":  func(s *Statement) { s.Signer = publicOf("tomas") },
		"changes, not approved": func(s *Statement) {
			s.Whole, s.Pictures[0] = Changes, Judged{Decision: Changes}
		},
	} {
		s := approved(t)
		change(&s)
		text, err := s.Sign(keyOf("tomas"))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if r, err := Read(text); err != nil || r.Whole != s.Whole {
			t.Errorf("%s: reads as %v", name, err)
		}
	}
}

// blind is a statement on a screen of which nothing is known to hide anything.
func blind(s Statement, on Screen) Statement {
	s.Screen, s.Pictures = on, []Judged{{Decision: Approved}, {Decision: Approved}}
	return s
}

func noteAlone(s Statement) Statement {
	return Statement{Request: s.Request, Name: "Tomas", Told: s.Told, Pictures: []Judged{{Notes: []Note{{Text: "Which apple is this?"}}}, {}}}
}

func TestRequestSignRefuses(t *testing.T) {
	picture := func(change func(*Picture)) func(*Request) {
		return func(r *Request) { change(&r.Pictures[1]) }
	}
	for name, c := range map[string]struct {
		change func(*Request)
		want   error
	}{
		"zero":                       {func(r *Request) { *r = Request{} }, ErrLayout},
		"no place":                   {func(r *Request) { r.Place = [16]byte{} }, ErrLayout},
		"no round":                   {func(r *Request) { r.Round = 0 }, ErrLayout},
		"a round below none":         {func(r *Request) { r.Round, r.Earlier = 0, sum("a") }, ErrLayout},
		"too many rounds":            {func(r *Request) { r.Round, r.Earlier = MaxRound+1, sum("a") }, ErrLayout},
		"a round before the first":   {func(r *Request) { r.Earlier = sum("a") }, ErrLayout},
		"no round before the second": {func(r *Request) { r.Round = 2 }, ErrLayout},
		"no time":                    {func(r *Request) { r.Made = time.Time{} }, ErrLayout},
		"a long title":               {func(r *Request) { r.Title = strings.Repeat("a", MaxText+1) }, ErrLayout},
		"a long note":                {func(r *Request) { r.Note = strings.Repeat("a", MaxNote+1) }, ErrLayout},
		"a tab":                      {func(r *Request) { r.From = "Ines\t" }, ErrLayout},
		"another purpose":            {func(r *Request) { r.Needs = "Colour" }, ErrLayout},
		"the words for none":         {func(r *Request) { r.Needs = needNothing }, ErrLayout},
		"no pictures":                {func(r *Request) { r.Pictures = nil }, ErrLayout},
		"65 pictures":                {func(r *Request) { r.Pictures = slices.Repeat(r.Pictures[:1], MaxPictures+1) }, ErrLayout},
		"no name of a picture":       {picture(func(p *Picture) { p.Name = "" }), ErrLayout},
		"a long name of a picture":   {picture(func(p *Picture) { p.Name = strings.Repeat("a", MaxText+1) }), ErrLayout},
		"no kind":                    {picture(func(p *Picture) { p.Kind = "" }), ErrLayout},
		"a kind of nothing":          {picture(func(p *Picture) { p.Kind = "image/" }), ErrLayout},
		"another kind":               {picture(func(p *Picture) { p.Kind = "text/html" }), ErrLayout},
		"a kind with a line end":     {picture(func(p *Picture) { p.Kind = "image/png\nsize" }), ErrLayout},
		"no width":                   {picture(func(p *Picture) { p.Width = 0 }), ErrLayout},
		"a height below none":        {picture(func(p *Picture) { p.Height = -1 }), ErrLayout},
		"no bytes":                   {picture(func(p *Picture) { p.Size = 0 }), ErrLayout},
		"too many bytes":             {picture(func(p *Picture) { p.Size = MaxSize + 1 }), ErrLayout},
		"no digest":                  {picture(func(p *Picture) { p.Digest = [32]byte{} }), ErrLayout},
		"no digest of the source":    {picture(func(p *Picture) { p.Source = [32]byte{} }), ErrLayout},
		"the key of another":         {func(r *Request) { r.Asker = publicOf("tomas") }, ErrKey},
	} {
		r := firstRequest()
		c.change(&r)
		if text, err := r.Sign(keyOf("ines")); plain(err) != c.want || text != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	// The largest request there can be fits, with room for a decision on it.
	r := firstRequest()
	long := strings.Repeat("🍎", MaxText)
	r.Title, r.From, r.Note = long, long, strings.Repeat("🍎", MaxNote)
	for i := range r.Pictures {
		r.Pictures[i] = Picture{long, "image/" + strings.Repeat("a", 40), MaxSide, MaxSide, MaxSize, sum("a"), sum("b")}
	}
	r.Pictures = slices.Repeat(r.Pictures, MaxPictures/2)
	s := changes(t)
	s.Request = asked(t, r)
	s.Pictures = slices.Repeat(s.Pictures[:1], MaxPictures)
	s.Whole = Approved
	text := signed(t, s, "tomas")
	t.Logf("the largest request has %d bytes, with a decision on each picture %d", len(s.Request), len(text))
	if _, err := Read(text); err != nil {
		t.Error(err)
	}
}

func TestKeys(t *testing.T) {
	mixed := slices.Concat(keyOf("ines")[:32], keyOf("tomas")[32:])
	for name, key := range map[string]ed25519.PrivateKey{"none": nil, "a seed": ed25519.PrivateKey(keyOf("ines").Seed()), "two halves of two": mixed} {
		if text, err := firstRequest().Sign(key); err != ErrKey || text != nil {
			t.Errorf("a request by %s: %v", name, err)
		}
		if text, err := approved(t).Sign(key); err != ErrKey || text != nil {
			t.Errorf("a record by %s: %v", name, err)
		}
	}
}

// Too large a text is refused before it is looked at.
func TestTooLarge(t *testing.T) {
	if _, err := ReadRequest(make([]byte, MaxRequest+1)); err != ErrTooLarge {
		t.Error(err)
	}
	if _, err := Read(make([]byte, MaxRecord+1)); err != ErrTooLarge {
		t.Error(err)
	}
}

// Zero values claim nothing.
func TestZero(t *testing.T) {
	var r Record
	if r.Fits() || r.Whole == Approved || r.Check(Beside{}) == nil || r.Screen.Checked() || r.Screen.Verdict("") == "holds" {
		t.Error("a record of nothing claims something")
	}
	if _, err := Read(nil); plain(err) != ErrLayout {
		t.Error(err)
	}
	if _, err := ReadRequest(nil); plain(err) != ErrLayout {
		t.Error(err)
	}
}

// A text that somebody opens says what is to be known, in words.
func TestReadable(t *testing.T) {
	says := func(text []byte, all ...string) {
		t.Helper()
		for _, line := range all {
			if !strings.Contains(string(text), "\n"+line+"\n") {
				t.Errorf("it does not say %q:\n%s", line, text)
			}
		}
	}
	says(signed(t, unseen(t), "okke"), "screen unchecked", "decision approved", "asked nothing of the screen",
		"approval covers what was on a screen that nobody checked: what it hid is not known", "hidden not known", "mailbox 2026-11-28T22:10:01Z by the mailbox's clock")
	says(signed(t, approved(t), "tomas"), `screen checked "kitchen laptop"`, "asked light and shade: holds", "mailbox told no time",
		"approval covers what the screen above could show: what is listed as not seen is not covered", "detail in shadows: 12, 8 to 17", "detail in lights: not known")
	s := noteAlone(approved(t))
	says(signed(t, s, "tomas"), "decision undecided", "asked light and shade: screen unchecked")
	s = approved(t)
	s.Screen.Fitness = s.Screen.Fitness[:1]
	says(signed(t, s, "tomas"), "asked light and shade: not checked")
}

func TestFits(t *testing.T) {
	for name, c := range map[string]struct {
		needs  string
		screen Screen
		want   bool
	}{
		"nothing, unchecked": {"", Screen{}, true},
		"nothing, checked":   {"", checked(), true},
		"holds":              {"light and shade", checked(), true},
		"unsure":             {"colour", checked(), false},
		"unchecked":          {"light and shade", Screen{}, false},
		"not looked at":      {"light and shade", Screen{Report: sum(report), Ended: at("20:00:00")}, false},
		"without a report":   {"light and shade", Screen{Fitness: checked().Fitness}, false},
	} {
		r := Record{Statement: Statement{Screen: c.screen}, Asked: firstRequest()}
		r.Asked.Needs = c.needs
		if r.Fits() != c.want {
			t.Errorf("%s: %v", name, r.Fits())
		}
	}
}

// Pictures that are not at hand are compared by their digests.
func TestCheckDigests(t *testing.T) {
	r, err := Read(signed(t, approved(t), "tomas"))
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Check(Beside{Digests: map[int][32]byte{0: sum(files[0]), 1: sum(files[2])}}); err != nil {
		t.Error(err)
	}
	for i, d := range map[int][32]byte{0: sum(files[2]), 1: {}, 2: sum(files[0]), -1: sum(files[0])} {
		if err := r.Check(Beside{Digests: map[int][32]byte{i: d}}); plain(err) != ErrPicture {
			t.Errorf("picture %d: %v", i, err)
		}
	}
}

func TestParts(t *testing.T) {
	first, before := asked(t, firstRequest()), signed(t, changes(t), "tomas")
	for name, c := range map[string]struct {
		text []byte
		want []Part
	}{
		"approved": {signed(t, approved(t), "tomas"), []Part{
			{SentPicture, 0, sum(files[0])}, {SentPicture, 1, sum(files[2])}, {ScreenReport, 0, sum(report)}, {ScreenModel, 0, sum(model)},
			{TheRequest, 0, Digest(asked(t, secondRequest(t)))}, {RoundBefore, 0, Digest(first)}, {RecordBefore, 0, Digest(before)},
		}},
		"unchecked": {signed(t, unseen(t), "okke"), []Part{
			{SentPicture, 0, sum(files[0])}, {SentPicture, 1, sum(files[1])}, {SourcePicture, 1, sum(source)}, {TheRequest, 0, Digest(unseen(t).Request)},
		}},
	} {
		r, err := Read(c.text)
		if err != nil {
			t.Fatal(err)
		}
		if got := r.Parts(); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: %v", name, got)
		}
	}
	if (Record{}).Parts() != nil {
		t.Error("a record of nothing names something")
	}
}

func TestDigest(t *testing.T) {
	// FIPS 180-4's example of SHA-256, from memory.
	if d := Digest([]byte("abc")); hex.EncodeToString(d[:]) != "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad" {
		t.Errorf("%x", d)
	}
}

func BenchmarkSign(b *testing.B) {
	s, key := approved(b), keyOf("tomas")
	for b.Loop() {
		if _, err := s.Sign(key); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkRead(b *testing.B) {
	text := signed(b, approved(b), "tomas")
	for b.Loop() {
		if _, err := Read(text); err != nil {
			b.Fatal(err)
		}
	}
}

func Example() {
	key := keyOf("ines")
	request, err := Request{
		Place: [16]byte{15: 1}, Round: 1, Made: at("20:15:00"), Title: "Orchard catalogue", From: "Ines",
		Pictures: []Picture{{Name: "barn.png", Kind: "image/png", Width: 300, Height: 200, Size: 9, Digest: sum("the barn."), Source: sum("the barn.")}},
	}.Sign(key)
	if err != nil {
		fmt.Println(err)
		return
	}
	text, err := Statement{Request: request, Name: "Okke", Told: at("21:00:00"), Pictures: []Judged{{Decision: Approved}}, Whole: Approved}.Sign(keyOf("okke"))
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := Read(text)
	fmt.Println(r.Name, r.Whole, r.Screen.Checked(), err)
	fmt.Println(r.Check(Beside{Pictures: map[int][]byte{0: []byte("the bard.")}}))
	// Output:
	// Okke approved false <nil>
	// record: a picture is not the one that was sent: picture 1
}
