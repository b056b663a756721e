package mailbox_test

import (
	"bytes"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"example.org/plumb/web/mailbox"
)

func TestText(t *testing.T) {
	a := mailbox.Address{0xff, 1, 2, 15: 0xfe}
	if a.String() != "_wECAAAAAAAAAAAAAAAA_g" {
		t.Errorf("an address is written %s", a)
	}
	if b, err := mailbox.ParseAddress(a.String()); err != nil || b != a {
		t.Errorf("and read %v, %v", b, err)
	}
	id := mailbox.ID{9, 15: 1}
	if b, err := mailbox.ParseID(id.String()); err != nil || b != id {
		t.Errorf("an id: %v, %v", b, err)
	}
	r := mailbox.Right{5, 31: 7}
	if b, err := mailbox.ParseRight(r.Text()); err != nil || b != r {
		t.Errorf("a right: %v", err)
	}
	if b, err := mailbox.ParseOwner(r.Owner().String()); err != nil || b != r.Owner() {
		t.Errorf("an owner: %v, %v", b, err)
	}
	for _, s := range []string{"", "A", strings.Repeat("A", 21), strings.Repeat("A", 23), strings.Repeat("A", 20) + "==", strings.Repeat("A", 21) + "+",
		strings.Repeat("A", 21) + "/", strings.Repeat("A", 21) + "B", strings.Repeat("A", 21) + "\n", strings.Repeat("ä", 11)} {
		a, err := mailbox.ParseAddress(s)
		if err == nil {
			t.Errorf("%q is taken for an address", s)
		} else if s != "" && strings.Contains(err.Error(), s) && len(s) > 1 {
			t.Errorf("%q: the error repeats it: %v", s, err)
		}
		if a != (mailbox.Address{}) {
			t.Errorf("%q was refused, but gave %v", s, a)
		}
	}
}

// A right is not printed by accident.
func TestHidden(t *testing.T) {
	r := mailbox.Right{1, 2, 3}
	for _, s := range []string{fmt.Sprint(r), fmt.Sprintf("%v %s", r, r), fmt.Sprintf("%+v", struct{ R mailbox.Right }{r})} {
		if strings.Contains(s, "1 2 3") || strings.Contains(s, r.Text()) {
			t.Errorf("printed: %s", s)
		}
	}
}

func TestAdmits(t *testing.T) {
	r := mailbox.Right{1}
	if !r.Owner().Admits(r) {
		t.Error("an owner is refused")
	}
	if r.Owner().Admits(mailbox.Right{2}) || (mailbox.Owner{}).Admits(r) || (mailbox.Right{}).Owner().Admits(mailbox.Right{}) {
		t.Error("another is admitted")
	}
}

// Rights and what is kept of them are compared in constant time everywhere: Equal does it by crypto/subtle, and no store compares an owner in another way.
func TestConstantTime(t *testing.T) {
	files, _ := filepath.Glob("*/*.go")
	own, _ := filepath.Glob("*.go")
	comparisons, calls := 0, 0
	for _, name := range append(files, own...) {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		tree, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		isOwner := func(e ast.Expr) bool {
			s, ok := e.(*ast.SelectorExpr)
			i, plain := e.(*ast.Ident)
			return ok && s.Sel.Name == "owner" || plain && i.Name == "owner"
		}
		ast.Inspect(tree, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.BinaryExpr:
				if (n.Op == token.EQL || n.Op == token.NEQ) && (isOwner(n.X) || isOwner(n.Y)) {
					t.Errorf("%s compares an owner by %s", name, n.Op)
				}
			case *ast.CallExpr:
				f, ok := n.Fun.(*ast.SelectorExpr)
				if !ok {
					break
				}
				if f.Sel.Name == "ConstantTimeCompare" {
					comparisons++
				}
				if (f.Sel.Name == "Admits" || f.Sel.Name == "Equal") && isOwner(f.X) {
					calls++
				}
				for _, a := range n.Args {
					if s, ok := a.(*ast.SliceExpr); ok && f.Sel.Name == "Equal" && isOwner(s.X) {
						t.Errorf("%s compares an owner by %s", name, f.Sel.Name)
					}
				}
			}
			return true
		})
	}
	if comparisons != 1 || calls < 6 {
		t.Errorf("%d constant-time comparisons and %d uses were found", comparisons, calls)
	}
}

func TestLife(t *testing.T) {
	at := func(s string) time.Time {
		x, err := time.Parse(time.RFC3339Nano, s)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	now := at("2026-09-14T15:04:05Z")
	for _, c := range []struct{ to, want string }{
		{"2026-09-14T15:04:06Z", "2026-09-15T00:00:00Z"},
		{"2026-09-14T00:00:00.000000001Z", "2026-09-15T00:00:00Z"},
		{"2026-09-15T00:00:00Z", "2026-09-15T00:00:00Z"},
		{"2026-09-15T00:00:00.000000001Z", "2026-09-16T00:00:00Z"},
		{"2026-09-15T01:30:00+02:00", "2026-09-15T00:00:00Z"},
		{"2026-09-14T23:30:00-02:00", "2026-09-16T00:00:00Z"},
		{"2027-03-14T00:00:00Z", "2027-03-14T00:00:00Z"},
		{"2027-03-13T15:04:05Z", "2027-03-14T00:00:00Z"},
		{"2027-03-14T00:00:01Z", ""}, {"2026-09-14T00:00:00Z", ""}, {"2025-01-01T00:00:00Z", ""}, {"9999-01-01T00:00:00Z", ""},
	} {
		got, err := mailbox.Life(now, at(c.to))
		if c.want == "" {
			if err != mailbox.ErrRange {
				t.Errorf("%s: %v, %v", c.to, got, err)
			}
		} else if err != nil || got != at(c.want) {
			t.Errorf("%s: %v, %v; want %s", c.to, got, err, c.want)
		}
	}
}

func TestExact(t *testing.T) {
	for _, wrap := range []func(io.Reader) io.Reader{
		func(r io.Reader) io.Reader { return r }, iotest.OneByteReader, iotest.DataErrReader, iotest.HalfReader,
	} {
		for n := range 12 {
			for size := int64(1); size < 12; size++ {
				want, kept := error(nil), int(size)
				switch {
				case int64(n) < size:
					want, kept = io.ErrUnexpectedEOF, n
				case int64(n) > size:
					want, kept = mailbox.ErrRange, int(size)-1 // at most
				}
				got, err := io.ReadAll(mailbox.Exact(wrap(strings.NewReader("elevenchars"[:min(n, 11)]+strings.Repeat("x", max(0, n-11)))), size))
				if !errors.Is(err, want) || want == nil && (err != nil || len(got) != kept) || len(got) > kept {
					t.Errorf("%d bytes for %d: %d, %v; want %d, %v", n, size, len(got), err, kept, want)
				}
			}
		}
	}
	broken := errors.New("broken")
	if _, err := io.ReadAll(mailbox.Exact(io.MultiReader(strings.NewReader("ab"), iotest.ErrReader(broken)), 2)); err != broken {
		t.Errorf("broken at the end: %v", err)
	}
	if _, err := io.ReadAll(mailbox.Exact(idle{}, 2)); err == nil {
		t.Error("a reader that gives nothing was read to its end")
	}
}

// idle never ends, and gives nothing to who asks for one byte.
type idle struct{}

func (idle) Read(p []byte) (int, error) {
	if len(p) == 1 {
		return 0, nil
	}
	return copy(p, "ab"), nil
}

func TestStatus(t *testing.T) {
	for status, err := range map[int]error{404: mailbox.ErrNone, 409: mailbox.ErrConflict, 413: mailbox.ErrTooLarge, 400: mailbox.ErrRange, 507: mailbox.ErrFull, 500: nil, 200: nil} {
		if got := mailbox.Refusal(status); got != err {
			t.Errorf("%d stands for %v, want %v", status, got, err)
		}
		if err != nil && mailbox.Status(fmt.Errorf("more: %w", err)) != status {
			t.Errorf("%v is %d", err, mailbox.Status(err))
		}
	}
	if mailbox.Status(mailbox.ErrTaken) != 409 || mailbox.Status(errors.New("any")) != 0 || mailbox.Status(nil) != 0 {
		t.Error("statuses of others")
	}
}

func TestWire(t *testing.T) {
	letters := []mailbox.Letter{{1, mailbox.ID{1}, []byte{7}}, {2, mailbox.ID{2}, bytes.Repeat([]byte{8}, mailbox.MaxLetter)}, {500, mailbox.ID{3}, []byte("last")}}
	wire := mailbox.AppendLetters(nil, letters)
	if head := []byte{0, 0, 0, 0, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 7}; !bytes.HasPrefix(wire, head) {
		t.Errorf("a letter travels as % x", wire[:29])
	}
	got, err := mailbox.ParseLetters(wire)
	if err != nil || !slices.EqualFunc(got, letters, func(a, b mailbox.Letter) bool {
		return a.Seq == b.Seq && a.ID == b.ID && bytes.Equal(a.Body, b.Body)
	}) {
		t.Errorf("letters: %v", err)
	}
	if got, err := mailbox.ParseLetters(nil); err != nil || len(got) != 0 {
		t.Errorf("no letters: %v, %v", got, err)
	}
	for n := 1; n < len(wire); n += 1 + n/40 {
		if n == 29 || n == 29+28+mailbox.MaxLetter {
			continue
		}
		if _, err := mailbox.ParseLetters(wire[:n]); !errors.Is(err, mailbox.ErrWire) {
			t.Errorf("%d of %d bytes: %v", n, len(wire), err)
		}
	}
	one := mailbox.AppendLetters(nil, letters[:1])
	for what, b := range map[string][]byte{
		"twice the same place": append(slices.Clone(one), one...),
		"place 0":              mailbox.AppendLetters(nil, []mailbox.Letter{{0, mailbox.ID{1}, []byte{7}}}),
		"empty":                mailbox.AppendLetters(nil, []mailbox.Letter{{1, mailbox.ID{1}, nil}}),
		"too large":            mailbox.AppendLetters(nil, []mailbox.Letter{{1, mailbox.ID{1}, make([]byte, mailbox.MaxLetter+1)}}),
	} {
		if _, err := mailbox.ParseLetters(b); !errors.Is(err, mailbox.ErrWire) {
			t.Errorf("%s: %v", what, err)
		}
	}
	var many []mailbox.Letter
	for i := range mailbox.MaxLetters + 1 {
		many = append(many, mailbox.Letter{Seq: uint64(i + 1), Body: []byte{1}})
	}
	if _, err := mailbox.ParseLetters(mailbox.AppendLetters(nil, many)); !errors.Is(err, mailbox.ErrWire) {
		t.Errorf("too many: %v", err)
	}
	if got, err := mailbox.ParseLetters(mailbox.AppendLetters(nil, many[:mailbox.MaxLetters])); err != nil || len(got) != mailbox.MaxLetters {
		t.Errorf("as many as there may be: %d, %v", len(got), err)
	}
}

func TestShort(t *testing.T) {
	b := mailbox.Box{Expires: time.Date(2026, 12, 31, 0, 0, 0, 0, time.UTC), Letters: 3, Bytes: 4096, Closed: true}
	if s := string(b.Marshal()); s != `{"expires":"2026-12-31","letters":3,"bytes":4096,"closed":true}` {
		t.Errorf("a box travels as %s", s)
	}
	if got, err := mailbox.ParseBox(b.Marshal()); err != nil || got != b {
		t.Errorf("and comes as %+v, %v", got, err)
	}
	p := mailbox.Parcel{ID: mailbox.ID{4}, Chunks: []int{1048592, 0, 52}}
	if s := string(p.Marshal()); s != `{"chunks":[1048592,0,52]}` {
		t.Errorf("a parcel travels as %s", s)
	}
	if s := string(mailbox.Parcel{}.Marshal()); s != `{"chunks":[]}` {
		t.Errorf("an empty parcel travels as %s", s)
	}
	if got, err := mailbox.ParseParcel(p.ID, p.Marshal()); err != nil || got.ID != p.ID || !slices.Equal(got.Chunks, p.Chunks) {
		t.Errorf("and comes as %+v, %v", got, err)
	}
	if s := string(mailbox.MarshalSeq(7)); s != `{"seq":7}` {
		t.Errorf("a place travels as %s", s)
	}
	if got, err := mailbox.ParseSeq(mailbox.MarshalSeq(7)); err != nil || got != 7 {
		t.Errorf("and comes as %d, %v", got, err)
	}
	for _, s := range []string{"", "{}", `{"seq":0}`, `{"seq":-1}`, `{"seq":501}`, `{"seq":1.5}`, `[]`, `{"seq":1}{"seq":1}`} {
		if got, err := mailbox.ParseSeq([]byte(s)); !errors.Is(err, mailbox.ErrWire) {
			t.Errorf("%s is place %d, %v", s, got, err)
		}
	}
	for _, s := range []string{"", "{}", `{"expires":"2026-12-32"}`, `{"expires":"31.12.2026"}`, `{"expires":"2026-12-31","letters":-1}`, `{"expires":"2026-12-31","letters":501}`,
		`{"expires":"2026-12-31","bytes":-1}`, `{"expires":"2026-12-31","bytes":268435457}`} {
		if got, err := mailbox.ParseBox([]byte(s)); !errors.Is(err, mailbox.ErrWire) {
			t.Errorf("%s is box %+v, %v", s, got, err)
		}
	}
	for _, s := range []string{"", `{"chunks":[-1]}`, `{"chunks":[4195329]}`, `{"chunks":["1"]}`, `{"chunks":[` + strings.Repeat("1,", mailbox.MaxChunks) + `1]}`} {
		if got, err := mailbox.ParseParcel(mailbox.ID{}, []byte(s)); !errors.Is(err, mailbox.ErrWire) {
			t.Errorf("%s is parcel %+v, %v", s, got, err)
		}
	}
}

func FuzzLetters(f *testing.F) {
	f.Add(mailbox.AppendLetters(nil, []mailbox.Letter{{1, mailbox.ID{1}, []byte("a")}, {3, mailbox.ID{2}, []byte("bc")}}))
	f.Fuzz(func(t *testing.T, b []byte) {
		letters, err := mailbox.ParseLetters(b)
		if err == nil && !bytes.Equal(mailbox.AppendLetters(nil, letters), b) {
			t.Errorf("% x comes back as % x", b, mailbox.AppendLetters(nil, letters))
		}
	})
}

func FuzzShort(f *testing.F) {
	for _, s := range []string{`{"seq":1}`, `{"expires":"2026-12-31","letters":3,"bytes":4096,"closed":true}`, `{"chunks":[1048592,0,52]}`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		if seq, err := mailbox.ParseSeq(b); err == nil {
			if again, err := mailbox.ParseSeq(mailbox.MarshalSeq(seq)); err != nil || again != seq {
				t.Errorf("place %d comes back as %d, %v", seq, again, err)
			}
		}
		if box, err := mailbox.ParseBox(b); err == nil {
			if again, err := mailbox.ParseBox(box.Marshal()); err != nil || again != box {
				t.Errorf("%+v comes back as %+v, %v", box, again, err)
			}
		}
		if p, err := mailbox.ParseParcel(mailbox.ID{}, b); err == nil {
			if again, err := mailbox.ParseParcel(mailbox.ID{}, p.Marshal()); err != nil || !slices.Equal(again.Chunks, p.Chunks) {
				t.Errorf("%v comes back as %v, %v", p, again, err)
			}
		}
	})
}

func FuzzText(f *testing.F) {
	f.Add("_wECAAAAAAAAAAAAAAAA_g")
	f.Add("2026-12-31")
	f.Fuzz(func(t *testing.T, s string) {
		if a, err := mailbox.ParseAddress(s); err == nil && a.String() != s {
			t.Errorf("%q comes back as %s", s, a)
		}
		if r, err := mailbox.ParseRight(s); err == nil && r.Text() != s {
			t.Errorf("%q comes back otherwise", s)
		}
		if d, err := mailbox.ParseDay(s); err == nil && mailbox.FormatDay(d) != s {
			t.Errorf("%q comes back as %s", s, mailbox.FormatDay(d))
		}
	})
}
