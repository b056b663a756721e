package app

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/web/pages"
)

// Pages know nothing of checks, so what they say of them is written by hand. These tests hold the words to the code.

func TestPagesSayHowLongALengthTakes(t *testing.T) {
	if len(pages.Lengths()) != 3 {
		t.Fatalf("%d lengths on the start page", len(pages.Lengths()))
	}
	for _, l := range pages.Lengths() {
		_, d := check.About(check.Length(l.ID), nil)
		if want := fmt.Sprintf("about %.0f minutes", math.Round(d.Minutes())); l.Minutes != want {
			t.Errorf("%s: the start page says %q, the battery takes %s: %q", l.ID, l.Minutes, d, want)
		}
	}
}

func TestPagesSayTheTolerances(t *testing.T) {
	said := map[string]pages.Allowance{}
	for _, a := range pages.How().Allowances() {
		said[a.Aspect] = a
	}
	for i, u := range check.Uses {
		for _, n := range u.Needs {
			a, ok := said[capital(string(n.Aspect))]
			if !ok {
				t.Errorf("%s is not on the method page", n.Aspect)
				continue
			}
			words := []string{a.Layout, a.Light, a.Colour}[i]
			var want []string
			switch n.Quantity {
			case screen.FirstVisible:
				want = []string{fmt.Sprintf("at most %.0f", n.Hi)}
			case screen.FirstBelow:
				want = []string{fmt.Sprintf("no lower than code %.0f", 255-n.Hi)}
			case screen.ToneMargin:
				want = []string{fmt.Sprintf("within %.2g of the aim", n.Hi*screen.GammaTolerance), fmt.Sprintf("further than %.0f delta E 2000", n.Hi*screen.DepartureTolerance)}
			case screen.GreyTint:
				want = []string{fmt.Sprintf("at most %.3f", n.Hi)}
			case screen.Bits:
				want = []string{fmt.Sprintf("%.0f effective bits", math.Ceil(n.Lo))} // hypotheses are whole bits, limits lie between
			case screen.Unevenness:
				want = []string{fmt.Sprintf("more than %.0f %% lighter or darker", 100*n.Hi)}
			}
			if len(want) == 0 {
				t.Errorf("no words known for %s", n.Quantity)
			}
			for _, w := range want {
				if !strings.Contains(words, w) {
					t.Errorf("%s for %s: the method page says %q, without %q", n.Aspect, u.Name, words, w)
				}
			}
		}
	}
}

// And no page claims a limit that the code has not.
func TestPagesSayNoMoreThanTheCode(t *testing.T) {
	wide, _ := screen.AimByID("wide")
	for i, u := range pages.How().Uses {
		if u.Name != check.Uses[i].Name {
			t.Errorf("the method page has %q, the code has %q", u.Name, check.Uses[i].Name)
		}
		for _, n := range u.Needs {
			if n.Aspect == string(check.Handling) && i == check.Colour {
				continue // found by probes, see patterns/report
			}
			if !slices.ContainsFunc(check.Needs(i, wide), func(t check.Tolerance) bool { return string(t.Aspect) == n.Aspect }) {
				t.Errorf("%s: the method page allows %q of %s, and the code does not judge it for that", u.Name, n.Allowed, n.Aspect)
			}
		}
	}
}

// The method page names the faults that a report can name, in its words.
func TestPagesSayTheFaults(t *testing.T) {
	if len(pages.How().Faults) != len(report.Remedies) {
		t.Fatalf("%d faults on the method page, a report can name %d", len(pages.How().Faults), len(report.Remedies))
	}
	for i, f := range pages.How().Faults {
		if r := report.Remedies[i]; f.Name != r.Name || f.Means != r.Means || f.Cause != r.Cause || f.Remedy != r.Cure {
			t.Errorf("the method page has %+v, a report %+v", f, r)
		}
	}
}

// A whole figure would round 13.2 to 13 beside "level 14 parts from it".
func TestCodesAreShownWithTheirTenth(t *testing.T) {
	v := aspect(report.Finding{Aspect: check.Shadows, Quantity: "first visible code", Mean: 13.2, Lo: 13.04, Hi: 13.41, AllowedHi: 9})
	if !strings.Contains(v.Figure, "13.2 (13.0 to 13.4), allowed up to 9") {
		t.Errorf("%q", v.Figure)
	}
}
