package link

import (
	"bytes"
	"reflect"
	"testing"
)

// FuzzRead: what reads as a link writes one that reads the same; nothing panics.
func FuzzRead(f *testing.F) {
	k := vectors()
	for _, m := range k.Mangled {
		f.Add(m.Text)
	}
	for _, r := range k.Refused {
		f.Add(r.Text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		l, err := Read(text)
		if (l == nil) == (err == nil) {
			t.Fatalf("%v, %v", l, err)
		}
		if err != nil {
			return
		}
		s, err := Write(origin, l)
		if err != nil {
			t.Fatal(err)
		}
		if again, err := Read(s); err != nil || !reflect.DeepEqual(again, l) {
			t.Errorf("%+v reads as %+v, %v", l, again, err)
		}
	})
}

// FuzzFields: any fields of any kind are read or refused, and read the same when written again.
func FuzzFields(f *testing.F) {
	for _, s := range samples() {
		f.Add(s.kind, s.fields)
	}
	f.Fuzz(func(t *testing.T, kind byte, fields []byte) {
		if len(fields) > MaxBody {
			return
		}
		l, err := Read(written(kind, fields))
		if err == ErrMistyped || err == ErrTruncated || err == ErrEmpty {
			t.Errorf("a whole link: %v", err)
		}
		if err != nil {
			return
		}
		text, err := Fragment(l)
		if err != nil {
			t.Fatal(err)
		}
		if again, err := Read(text); err != nil || !reflect.DeepEqual(again, l) {
			t.Errorf("%+v reads as %+v, %v", l, again, err)
		}
		if kind != 2 && text != written(kind, fields) {
			t.Errorf("kind %d, %x: written as %s", kind, fields, text)
		}
	})
}

// FuzzPack: what is packed unpacks, and what unpacks is no longer than allowed.
func FuzzPack(f *testing.F) {
	f.Add([]byte(nil))
	f.Add(asked)
	f.Add(stored(asked))
	f.Fuzz(func(t *testing.T, b []byte) {
		if len(b) > MaxBody {
			return
		}
		packed, err := Pack(b)
		if err != nil {
			t.Fatal(err)
		}
		if again, err := Unpack(packed); err != nil || !bytes.Equal(again, b) {
			t.Errorf("%x unpacks as %x, %v", b, again, err)
		}
		if body, err := Unpack(b); err == nil && len(body) > MaxBody || err != nil && body != nil {
			t.Errorf("%d bytes, %v", len(body), err)
		}
	})
}
