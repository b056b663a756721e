package report_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"example.org/plumb/patterns/report"
	"example.org/plumb/testdata"
)

// saved is a record as it was saved.
func saved(t testing.TB) []byte {
	t.Helper()
	b, err := testdata.FS.ReadFile("screens/ines.json")
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestReadWhatMarshalWrote(t *testing.T) {
	for name, r := range map[string]report.Record{"a sitting": ines(t), "two answers": sit(t, plan("short", 3), virtual(t, "expert", ordinary(), 3), 2e9, 2), "no answer": sit(t, plan("long", 3), nil, 2e9, 0)} {
		b := r.Marshal()
		back, err := report.Read(b)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if again := back.Marshal(); !bytes.Equal(again, b) {
			t.Errorf("%s: read and written again it is other bytes", name)
		}
		if name == "a sitting" && !reflect.DeepEqual(back, r) {
			t.Errorf("%s: reads as another record", name)
		}
	}
}

func TestReadRefusesWhatBreaksOff(t *testing.T) {
	b := saved(t)
	step := 31
	if testing.Short() {
		step = 501
	}
	n := 0
	for cut := 0; cut < len(b)-2; { // the last two bytes are the closing brace and a line end
		if _, err := report.Read(b[:cut]); !errors.Is(err, report.ErrTruncated) {
			t.Fatalf("cut after %d of %d bytes: %v", cut, len(b), err)
		}
		n++
		if cut < 400 || cut > len(b)-200 {
			cut++
		} else {
			cut += step
		}
	}
	if n < 400 {
		t.Fatalf("only %d cuts", n)
	}
	if _, err := report.Read(b[:len(b)-1]); err != nil {
		t.Errorf("without its last line end: %v", err)
	}
}

// tree is the record as plain JSON values.
func tree(t testing.TB) map[string]any {
	t.Helper()
	var v map[string]any
	d := json.NewDecoder(bytes.NewReader(saved(t)))
	d.UseNumber()
	if err := d.Decode(&v); err != nil {
		t.Fatal(err)
	}
	return v
}

func encode(t testing.TB, v any) []byte {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// objects calls f with every object of a JSON value, one for each path; elements of an array share theirs.
func objects(at string, v any, f func(at string, o map[string]any)) {
	switch v := v.(type) {
	case map[string]any:
		f(at, v)
		for k, e := range v {
			objects(at+"."+k, e, f)
		}
	case []any:
		for _, e := range v {
			objects(at+"[]", e, f)
		}
	}
}

// These are maps of the viewer's own words, which may have any name.
var free = map[string]bool{".conditions.settings": true, ".plan.skip": true}

func TestReadNamesUnknownFields(t *testing.T) {
	v := tree(t)
	levels := map[string]bool{}
	objects("", v, func(at string, o map[string]any) {
		if levels[at] || free[at] {
			return
		}
		levels[at] = true
		o["flourish"] = 1
		_, err := report.Read(encode(t, v))
		delete(o, "flourish")
		if err == nil || !strings.HasPrefix(err.Error(), "report: ") || !strings.Contains(err.Error(), `a field "flourish" that version 3 does not know`) {
			t.Errorf("at %q: %v", at, err)
		}
	})
	for _, at := range []string{"", ".plan", ".conditions", ".judgements[]", ".judgements[].stimulus", ".findings[]", ".curve", ".purposes[]", ".score"} {
		if !levels[at] {
			t.Errorf("no object at %q", at)
		}
	}
}

// A value of another kind is refused anywhere.
func TestReadRefusesOtherKinds(t *testing.T) {
	v := tree(t)
	tried := map[string]bool{}
	objects("", v, func(at string, o map[string]any) {
		for k, was := range o {
			name := at + "." + k
			if tried[name] {
				continue
			}
			tried[name] = true
			wrong := []any{map[string]any{"a": 1}, []any{"a"}}
			switch was.(type) {
			case string:
				wrong = append(wrong, 7, true)
			case json.Number:
				wrong = append(wrong, "7", true, json.Number("1e999"))
			case bool:
				wrong = append(wrong, "yes", 1)
			case []any:
				wrong = []any{map[string]any{"a": 1}, 7, "a"}
			case map[string]any:
				wrong = []any{[]any{1}, 7, "a"}
			}
			for _, w := range wrong {
				o[k] = w
				_, err := report.Read(encode(t, v))
				if err == nil || !strings.HasPrefix(err.Error(), "report: ") {
					t.Errorf("%s as %v: %v", name, w, err)
				} else if want := "value of the wrong kind"; name != ".version" && !strings.Contains(err.Error(), want) && !strings.Contains(err.Error(), "unknown") && !strings.Contains(err.Error(), `field "a"`) {
					t.Errorf("%s as %v: %v, want %s", name, w, err, want)
				}
			}
			o[k] = was
		}
	})
	if len(tried) < 60 {
		t.Fatalf("only %d fields were tried", len(tried))
	}
}

func TestReadRefuses(t *testing.T) {
	change := func(f func(v map[string]any)) []byte {
		v := tree(t)
		f(v)
		return encode(t, v)
	}
	b := string(saved(t))
	once := func(old, new string) []byte {
		if !strings.Contains(b, old) {
			t.Fatalf("the record has no %s", old)
		}
		return []byte(strings.Replace(b, old, new, 1))
	}
	items := func(v map[string]any, k string) []any { return v[k].([]any) }
	for name, c := range map[string]struct {
		in   []byte
		want string
	}{
		"newer":                 {change(func(v map[string]any) { v["version"] = 4 }), report.ErrNewer.Error()},
		"newer, with new words": {change(func(v map[string]any) { v["version"], v["seal"] = 99, map[string]any{"by": "Tomas"} }), report.ErrNewer.Error()},
		"version 0":             {change(func(v map[string]any) { v["version"] = 0 }), report.ErrNoRecord.Error()},
		"version below 0":       {change(func(v map[string]any) { v["version"] = -1 }), report.ErrNoRecord.Error()},
		"no version":            {change(func(v map[string]any) { delete(v, "version") }), report.ErrNoRecord.Error()},
		"half a version":        {change(func(v map[string]any) { v["version"] = 1.5 }), report.ErrNoRecord.Error()},
		"a version in words":    {change(func(v map[string]any) { v["version"] = "1" }), report.ErrNoRecord.Error()},
		"a huge version":        {once(`"version": 3`, `"version": 1e99`), report.ErrNoRecord.Error()},
		"nothing":               {nil, report.ErrTruncated.Error()},
		"blanks":                {[]byte("  \n"), report.ErrTruncated.Error()},
		"null":                  {[]byte("null"), report.ErrNoRecord.Error()},
		"an empty object":       {[]byte("{}"), report.ErrNoRecord.Error()},
		"a list":                {[]byte("[]"), report.ErrNoRecord.Error()},
		"a number":              {[]byte("42"), report.ErrNoRecord.Error()},
		"a page":                {[]byte("<!doctype html><title>404</title>"), report.ErrNoRecord.Error()},
		"a picture":             {[]byte("\x89PNG\r\n\x1a\n\x00\x00"), report.ErrNoRecord.Error()},
		"two records":           {[]byte(b + b), report.ErrNoRecord.Error()},
		"depth":                 {[]byte(strings.Repeat("[", 1e5)), report.ErrNoRecord.Error()},
		"only a version":        {[]byte(`{"version": 1}`), "this record has 0 findings where 8 belong"},
		"a finding less":        {change(func(v map[string]any) { v["findings"] = items(v, "findings")[1:] }), "this record has 7 findings where 8 belong"},
		"findings swapped":      {change(func(v map[string]any) { f := items(v, "findings"); f[0], f[1] = f[1], f[0] }), `finding 1 of this record is of "shadows" where "handling" belongs`},
		"a verdict of none":     {once(`"verdict": "not checked"`, `"verdict": "fine"`), `verdict "fine" is none of not checked, unsure, holds, off`},
		"a verdict of null":     {once(`"verdict": "not checked"`, `"verdict": null`), "verdict"},
		"a short column":        {change(func(v map[string]any) { c := v["curve"].(map[string]any); c["lo"] = c["lo"].([]any)[1:] }), "columns of different lengths"},
		"a lost judgement":      {change(func(v map[string]any) { v["judgements"] = items(v, "judgements")[1:] }), "judgement 0 of this record has number 1"},
		"a code beyond 255":     {once(`"ground": 255`, `"ground": 256`), "value of the wrong kind"},
		"a seed beyond 64 bits": {once(`"seed": 7`, `"seed": 18446744073709551616`), "value of the wrong kind"},
		"two versions":          {once(`"version": 3`, `"version": 3, "version": 3`), `the field "version" twice`},
		"two scores":            {once(`"score": {`, `"score": {"given": true, "at": 100}, "score": {`), `the field "score" twice`},
		"two scores, shouted":   {once(`"score": {`, `"SCORE": {"given": true, "at": 100}, "score": {`), `the field "score" twice`},
		"two responses":         {once(`"response": `, `"response": 3, "response": `), `the field "response" twice`},
	} {
		r, err := report.Read(c.in)
		if err == nil || !strings.HasPrefix(err.Error(), "report: ") || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
		if !reflect.DeepEqual(r, report.Record{}) {
			t.Errorf("%s: refused and yet read", name)
		}
	}
}

// A record of a very long sitting, and one that is large for nothing, are read or refused like any other.
func TestReadHuge(t *testing.T) {
	v := tree(t)
	j := v["judgements"].([]any)
	many := make([]any, 0, 20000)
	for i := range cap(many) {
		one := map[string]any{}
		for k, e := range j[i%len(j)].(map[string]any) {
			one[k] = e
		}
		one["n"] = i
		many = append(many, one)
	}
	v["judgements"] = many
	r, err := report.Read(encode(t, v))
	if err != nil || len(r.Judgements) != len(many) {
		t.Errorf("%d judgements: %v", len(many), err)
	}
	large := append(append([]byte(nil), saved(t)...), bytes.Repeat([]byte(" \n"), 1<<21)...)
	if _, err := report.Read(large); err != nil {
		t.Errorf("followed by blanks: %v", err)
	}
	note := tree(t)
	note["notes"] = []any{strings.Repeat("leaf ", 1<<19)}
	if r, err := report.Read(encode(t, note)); err != nil || len(r.Notes[0]) != 5<<19 {
		t.Errorf("with a long note: %v", err)
	}
}

func FuzzRead(f *testing.F) {
	// Small records: with a whole one nearly all time would go into making what is found smaller.
	compact := func(r report.Record) []byte {
		var b bytes.Buffer
		if err := json.Compact(&b, r.Marshal()); err != nil {
			f.Fatal(err)
		}
		return b.Bytes()
	}
	r := sit(f, plan("short", 3), virtual(f, "expert", ordinary(), 3), 2e9, 3)
	r.Curve = report.Curve{Signal: []float64{0, 1}, At: []float64{0, 100}, Lo: []float64{0, 100}, Hi: []float64{0, 100}, AimLo: []float64{0, 100}, AimHi: []float64{0, 100}}
	b := compact(r)
	f.Add(b)
	f.Add(b[:len(b)/2])
	f.Add([]byte(`{"version": 1}`))
	f.Add([]byte(`{"version": 2}`))
	f.Add([]byte(`{"version": 3}`))
	f.Add([]byte{})
	f.Add(compact(sit(f, plan("short", 3), nil, 2e9, 0)))
	f.Fuzz(func(t *testing.T, b []byte) {
		r, err := report.Read(b)
		if err != nil {
			if !strings.HasPrefix(err.Error(), "report: ") {
				t.Fatal(err)
			}
			return
		}
		again, err := report.Read(r.Marshal())
		if err != nil {
			t.Fatalf("read, written and refused: %v", err)
		}
		if a, b := fmt.Sprintf("%+v", again), fmt.Sprintf("%+v", r); a != b {
			t.Fatalf("read, written and read it differs:\n%s\n%s", a, b)
		}
		sheet(t, r)
	})
}

// Records of every version there was still read.
func TestReadOlderVersions(t *testing.T) {
	for version := 1; version < report.Version; version++ {
		b, err := testdata.FS.ReadFile(fmt.Sprintf("screens/ines-%d.json", version))
		if err != nil {
			t.Fatal(err)
		}
		r, err := report.Read(b)
		if err != nil || r.Version != version || len(r.Judgements) < 50 || r.Score.At == 0 || r.Conditions.Viewer != "Ines" {
			t.Errorf("%v: version %d, %d judgements, score %g", err, r.Version, len(r.Judgements), r.Score.At)
		}
	}
}
