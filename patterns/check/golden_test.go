package check_test

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"example.org/plumb/patterns/check"
)

var update = flag.Bool("update", false, "write testdata anew from what is asked now")

const golden = "testdata/sittings.txt"

// What is asked of one fixed viewer that reckons in whole numbers, judgement by judgement. Every platform asks the same: Exp and Pow differ in their last
// bits, gains with them, and near ties go to the first.
func TestSittingsAreAsRecorded(t *testing.T) {
	var b bytes.Buffer
	b.WriteString("# what is asked of a fixed viewer and what it answers; go test ./patterns/check -update writes it anew\n")
	for _, p := range []check.Plan{plan(check.Standard, 1), plan(check.Standard, 2), only(plan(check.Long, 3), check.Tone)} {
		fmt.Fprintf(&b, "%s, seed %d\n", p.Length, p.Seed)
		r := sit(t, begin(t, p), newRule(p.Seed).key, nil)
		for _, j := range r.s.Log() {
			s := j.Stimulus
			fmt.Fprintf(&b, "%d %s %s", j.N, j.Check, j.Kind)
			switch {
			case j.Check != check.Tone:
				fmt.Fprintf(&b, ": %d in cell %d", s.Patch, s.Cell)
			case s.Of == 0:
				fmt.Fprintf(&b, ": %d and %d", s.Left, s.Right)
			default:
				fmt.Fprintf(&b, ": %d/%d of %d on %d columns=%v left=%v, plain %d", s.Lit, s.Of, s.B, s.A, s.Columns, s.PlainLeft, s.Plain)
			}
			fmt.Fprintf(&b, "; %d after %d\n", j.Response, j.Presses)
		}
		fmt.Fprintf(&b, "frames %s\n", r.frames)
	}
	if *update {
		if err := os.WriteFile(golden, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		t.Skip("written; run again without -update")
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Count(want, []byte("\n")) < 150 {
		t.Fatalf("%s is too short to say anything", golden)
	}
	if bytes.Equal(b.Bytes(), want) {
		return
	}
	was, is := strings.Split(string(want), "\n"), strings.Split(b.String(), "\n")
	for i, line := range is {
		if i >= len(was) || was[i] != line {
			t.Fatalf("line %d:\n%s\nwant\n%s", i+1, line, append(was, "")[min(i, len(was))])
		}
	}
	t.Fatal("what is asked ends too early")
}
