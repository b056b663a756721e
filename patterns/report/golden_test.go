package report_test

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"testing"

	"example.org/plumb/patterns/report"
	"example.org/plumb/testdata"
)

var update = flag.Bool("update", false, "write testdata/screens/ines.json anew")

// The record of one fixed rehearsal. Judgements and words are the same on every platform; estimates differ in their last digits, as Exp and Pow do.
func TestRecordIsAsRecorded(t *testing.T) {
	is := ines(t).Marshal()
	if *update {
		if err := os.WriteFile("../../testdata/screens/ines.json", is, 0o644); err != nil {
			t.Fatal(err)
		}
		t.Skip("written; run again without -update")
	}
	was, err := testdata.FS.ReadFile("screens/ines.json")
	if err != nil {
		t.Fatal(err)
	}
	if r, err := report.Read(was); err != nil || r.Conditions.Viewer != "Ines" || r.Conditions.Screen != "kitchen laptop" || len(r.Void) > 0 || !r.Score.Given {
		t.Fatalf("what was recorded is not the record of a sitting: %v", err)
	}
	var a, b any
	if err := json.Unmarshal(was, &a); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(is, &b); err != nil {
		t.Fatal(err)
	}
	if n := same(t, "record", a, b); n < 500 {
		t.Fatalf("only %d values were compared", n)
	}
}

// same compares two JSON values, numbers to a millionth, and returns how many it has compared.
func same(t *testing.T, at string, was, is any) (n int) {
	t.Helper()
	if t.Failed() {
		return 0 // one difference tells
	}
	switch w := was.(type) {
	case map[string]any:
		v, ok := is.(map[string]any)
		if !ok || len(v) != len(w) {
			t.Errorf("%s has other fields than it had", at)
			return 1
		}
		for k := range w {
			n += same(t, at+"."+k, w[k], v[k])
		}
		return n
	case []any:
		v, ok := is.([]any)
		if !ok || len(v) != len(w) {
			t.Errorf("%s has %d values, had %d", at, len(v), len(w))
			return 1
		}
		for i := range w {
			n += same(t, fmt.Sprintf("%s[%d]", at, i), w[i], v[i])
		}
		return n
	case float64:
		if v, ok := is.(float64); !ok || math.Abs(v-w) > 1e-6*math.Max(1, math.Abs(w)) {
			t.Errorf("%s is %v, was %v", at, is, was)
		}
	default:
		if is != was {
			t.Errorf("%s is %v, was %v", at, is, was)
		}
	}
	return 1
}
