package app

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"example.org/plumb/patterns/screen"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/record"
)

// What the method page says of proofs is written by hand too.
func TestPagesSayWhatAScreenHides(t *testing.T) {
	var b strings.Builder
	if err := pages.MethodPage(pages.Site{}).Render(context.Background(), &b); err != nil {
		t.Fatal(err)
	}
	_, text, ok := strings.Cut(b.String(), `id="hides"`)
	if !ok {
		t.Fatal("the method page says nothing of what a screen hides")
	}
	thousands := func(n int) string { return fmt.Sprintf("%d %03d", n/1000, n%1000) }
	for _, want := range []string{
		fmt.Sprintf("more than %.1f delta E 2000", screen.Shift),
		"up to " + thousands(screen.Cells) + " of them",
		fmt.Sprintf("errs by %.1f %% at most", 100*math.Sqrt(1/(4*float64(screen.Cells)))), // see screen.Hidden.Error
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the method page does not say %q", want)
		}
	}
}

// The words that a decision, a purpose and a verdict have in a record are those that pages know; whatever pages do not know they show as undecided and unchecked.
func TestPagesKnowTheWordsOfARecord(t *testing.T) {
	show := func(d record.Decision) string {
		var b strings.Builder
		if err := pages.DecisionWord(string(d)).Render(context.Background(), &b); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	for d, word := range map[record.Decision]string{record.Approved: "Approved", record.Changes: "Changes asked", record.Undecided: "Undecided", "approve": "Undecided"} {
		if !strings.Contains(show(d), word) {
			t.Errorf("%q is shown as %s", d, show(d))
		}
	}
	for _, v := range record.Verdicts {
		var b strings.Builder
		if err := pages.Purposes([]pages.Purpose{{Name: "x", Verdict: v}}).Render(context.Background(), &b); err != nil {
			t.Fatal(err)
		}
		if strings.Contains(b.String(), "Not checked") != (v == "not checked") {
			t.Errorf("%q is shown as %s", v, b.String())
		}
	}
}
