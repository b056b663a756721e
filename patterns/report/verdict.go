package report

import (
	"encoding/json"
	"fmt"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// A Verdict says whether an aspect is within tolerance. The zero Verdict claims nothing.
type Verdict int

const (
	NotChecked Verdict = iota
	Unsure
	Holds
	Off
)

var verdicts = [...]string{"not checked", "unsure", "holds", "off"}

func (v Verdict) String() string { return verdicts[v] }

// MarshalJSON writes the word.
func (v Verdict) MarshalJSON() ([]byte, error) { return json.Marshal(v.String()) }

// UnmarshalJSON reads the word.
func (v *Verdict) UnmarshalJSON(b []byte) error {
	var s string
	if err := json.Unmarshal(b, &s); err != nil {
		return err
	}
	for i, w := range verdicts {
		if s == w {
			*v = Verdict(i)
			return nil
		}
	}
	return fmt.Errorf("verdict %q is none of not checked, unsure, holds, off", s)
}

// judge turns the probability of being within tolerance into a verdict.
func judge(within float64) Verdict {
	switch {
	case within > check.Sure:
		return Holds
	case within < 1-check.SureOff:
		return Off
	}
	return Unsure
}

// company is the product of the probabilities of all needs of a use, which speaks for each of them: 0 where one was not asked about, or where lines cannot
// be trusted.
func company(p screen.Profile, use int, aim screen.Aim) float64 {
	if linesOff(p[screen.RowsColumns]) {
		return 0
	}
	return check.Product(p, use, aim)
}

// within is the probability that an estimate lies in a tolerance, both ends included.
func within(e psychophysics.Estimate, t check.Tolerance) float64 { return e.Within(t.Lo, t.Hi) }
