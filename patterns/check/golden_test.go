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
	reference := plan(check.Short, 4)
	reference.Reference = check.Paper
	for _, p := range []check.Plan{plan(check.Standard, 1), plan(check.Standard, 2), only(plan(check.Long, 3), check.Tone), reference, plan(check.Long, 5)} {
		fmt.Fprintf(&b, "%s, seed %d\n", p.Length, p.Seed)
		r := sit(t, begin(t, p), newRule(p.Seed).key, nil)
		for _, j := range r.s.Log() {
			s := j.Stimulus
			fmt.Fprintf(&b, "%d %s %s", j.N, j.Check, j.Kind)
			sides := fmt.Sprintf("columns=%v left=%v", s.Columns, s.PlainLeft)
			tint := fmt.Sprintf("%s %+d %+d", s.Hue, s.Red, s.Blue)
			switch j.Check {
			case check.Shadows, check.Highlights:
				fmt.Fprintf(&b, ": %d in cell %d", s.Patch, s.Cell)
			case check.Tone, check.Channels, check.Angle:
				if s.Of == 0 {
					fmt.Fprintf(&b, ": %d and %d", s.Left, s.Right)
					break
				}
				fmt.Fprintf(&b, ": %d/%d of %d on %d %s, plain %d, channel %d at %d", s.Lit, s.Of, s.B, s.A, sides, s.Plain, s.Channel, s.At)
			case check.Neutrals:
				if s.Of == 0 {
					fmt.Fprintf(&b, ": %d left=%v %s", s.Left, s.PlainLeft, tint)
					break
				}
				fmt.Fprintf(&b, ": %d/%d %s, plain %d %s", s.Lit, s.Of, sides, s.Plain, tint)
			case check.Smoothness:
				if s.Bits > 0 {
					fmt.Fprintf(&b, ": ramps from %d to %d, %d bits, left=%v", s.A, s.B, s.Bits, s.PlainLeft)
					break
				}
				fmt.Fprintf(&b, ": %d beside %d in cell %d", s.Patch, s.Left, s.Cell)
			case check.Evenness:
				fmt.Fprintf(&b, ": place %d of %d moved %d %s", s.Place, s.Grid*s.Grid, s.Delta, tint)
			case check.ColourRange:
				fmt.Fprintf(&b, ": %s to %g in cell %d", s.Primary, s.Reach, s.Cell)
			case check.White:
				fmt.Fprintf(&b, ": %s", tint)
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
	if bytes.Count(want, []byte("\n")) < 500 {
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
