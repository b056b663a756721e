package record

import (
	"bytes"
	"reflect"
	"strings"
	"testing"
	"time"
)

// resigned puts a known key and its signature under a text, in place of what stands there, so that the layout alone decides.
func resigned(text []byte, name, label, by string) []byte {
	i := bytes.LastIndex(text, []byte("\n"+name+" "))
	if i < 0 {
		return text
	}
	text = append(bytes.Clone(text[:i+1]), name+" "+hexOf(publicOf(by))+"\nsignature "...)
	text = append(text, under(text, label, by)...)
	return append(text, '\n')
}

func seeds(f *testing.F, requests bool) {
	texts, list := stored(f)
	for _, v := range list {
		if isRequest(v.Of) == requests {
			f.Add(v.text(f, texts))
		}
	}
	f.Add([]byte{})
}

// FuzzReadRequest: what reads is written as the same bytes by whoever has the key.
func FuzzReadRequest(f *testing.F) {
	seeds(f, true)
	f.Fuzz(func(t *testing.T, text []byte) {
		r, err := ReadRequest(text)
		if err == nil && r.Asker == publicOf("ines") {
			if again, err := r.Sign(keyOf("ines")); err != nil || !bytes.Equal(again, text) {
				t.Errorf("%q is written as %q, %v", text, again, err)
			}
		}
		if err != nil && (!reflect.DeepEqual(r, Request{}) || plain(err) == nil) {
			t.Errorf("%v, with a request", err)
		}
		text = resigned(text, "asker", requestLabel, "ines")
		if r, err := ReadRequest(text); err == nil {
			if again, err := r.Sign(keyOf("ines")); err != nil || !bytes.Equal(again, text) {
				t.Errorf("%q is written as %q, %v", text, again, err)
			}
		}
	})
}

// FuzzRead: what reads is written as the same bytes by whoever has the key, and what cannot be signed does not read.
func FuzzRead(f *testing.F) {
	seeds(f, false)
	f.Fuzz(func(t *testing.T, text []byte) {
		if r, err := Read(text); err != nil && (!reflect.DeepEqual(r, Record{}) || plain(err) == nil) {
			t.Errorf("%v, with a record", err)
		}
		text = resigned(text, "signer", recordLabel, "tomas")
		r, err := Read(text)
		if err != nil {
			return
		}
		if again, err := r.Statement.Sign(keyOf("tomas")); err != nil || !bytes.Equal(again, text) {
			t.Errorf("%q is written as %q, %v", text, again, err)
		}
		if r.Whole == Approved {
			for _, j := range r.Pictures {
				if j.Decision != Approved || r.Screen.Checked() != j.HiddenKnown {
					t.Errorf("reads as approved: %q", text)
				}
			}
		}
	})
}

// FuzzSign: what is signed reads, as what was said.
func FuzzSign(f *testing.F) {
	request := asked(f, firstRequest())
	f.Add("Tomas", "approved", "approved", "approved", "a nail", 1, 2, 3, 4, 5, 4, 6, int64(1796000000), true, true, "kitchen laptop")
	f.Add("Tomas", "changes asked", "changes asked", "", "", 0, 0, 0, 0, 0, 0, 0, int64(0), false, false, "")
	f.Fuzz(func(t *testing.T, name, whole, first, second, note string, x, y, w, h, at, lo, hi int, told int64, checked, known bool, screen string) {
		s := Statement{Request: request, Name: name, Whole: Decision(whole), Told: time.Unix(told, 0).UTC(), Pictures: []Judged{{Decision: Decision(first)}, {Decision: Decision(second)}}}
		if note != "" {
			s.Pictures[1].Notes = []Note{{x, y, w, h, note}}
		}
		if checked {
			s.Screen = Screen{Report: sum(report), Ended: s.Told, Name: screen}
		}
		if known {
			for i := range s.Pictures {
				s.Pictures[i].HiddenKnown, s.Pictures[i].Hidden = true, []Hidden{{"any", at, lo, hi}}
			}
		}
		text, err := s.Sign(keyOf("tomas"))
		if err != nil {
			if plain(err) == nil || text != nil {
				t.Errorf("%v, with a text", err)
			}
			return
		}
		s.Signer = publicOf("tomas")
		if r, err := Read(text); err != nil || !reflect.DeepEqual(r.Statement, s) {
			t.Errorf("%q reads as %+v, %v", text, r, err)
		}
		if strings.Count(string(text), "\ndecision ") != 3 {
			t.Errorf("it says more than was decided: %q", text)
		}
	})
}
