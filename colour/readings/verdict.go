package readings

import "fmt"

// Tolerances say what counts as on aim. All are ours but where noted; a tolerance of 0 judges nothing.
type Tolerances struct {
	Mean, P95, Largest float64 // ΔE00 over all patches
	Greys              float64 // ΔE00, mean over the greys
	Luminance          float64 // departure as a part of the aim
	White              float64 // distance in u', v'
}

// Three sets of tolerances, the strictest first.
//
// Indistinguishable: side by side nobody tells the difference, for an edge shows from a ΔE00 of about 1 on; a repeated reading alone moves a mean by some 0.04.
// Proof: good enough to judge colour by. The white's 0.01 and the luminance's 10 % are those of ISO 12646:2008 for evenness, borrowed for want of better.
// Ordinary: a screen that somebody looks after.
var (
	Indistinguishable = Tolerances{Mean: 0.5, P95: 0.9, Largest: 1, Greys: 0.5, Luminance: 0.05, White: 0.003}
	Proof             = Tolerances{Mean: 1.5, P95: 3, Largest: 5, Greys: 1.5, Luminance: 0.1, White: 0.01}
	Ordinary          = Tolerances{Mean: 3, P95: 6, Largest: 10, Greys: 3, Luminance: 0.25, White: 0.02}
)

// A Result is on aim, off, or not judged, which is the zero value.
type Result int

const (
	NotJudged Result = iota
	OnAim
	OffAim
)

func (r Result) String() string { return [...]string{"not judged", "on aim", "off"}[r] }

// A Verdict is one quantity held against its tolerance.
type Verdict struct {
	What      string
	Value     float64
	Tolerance float64
	Result    Result
}

func (v Verdict) String() string {
	return fmt.Sprintf("%s %.3g, at most %.3g: %s", v.What, v.Value, v.Tolerance, v.Result)
}

// Verdicts judges a comparison. What was not found, or has no tolerance, is not judged.
func (c *Comparison) Verdicts(t Tolerances) []Verdict {
	all := c.Summaries[CIEDE2000][All]
	greys := c.Summaries[CIEDE2000][Greys]
	judge := func(what string, found bool, value, tolerance float64) Verdict {
		v := Verdict{What: what, Value: value, Tolerance: tolerance}
		switch {
		case !found || !(tolerance > 0):
		case value <= tolerance:
			v.Result = OnAim
		default:
			v.Result = OffAim
		}
		return v
	}
	departure := max(c.Light.Ratio-1, 1-c.Light.Ratio)
	return []Verdict{
		judge("average ΔE00", all.Patches > 0, all.Mean, t.Mean),
		judge("95th percentile of ΔE00", all.Patches > 0, all.P95, t.P95),
		judge("largest ΔE00", all.Patches > 0, all.Largest, t.Largest),
		judge("average ΔE00 of greys", greys.Patches > 0, greys.Mean, t.Greys),
		judge("luminance of white, departure", c.Light.Ratio > 0, departure, t.Luminance),
		judge("white, distance in u', v'", c.Light.judged, c.Light.Off, t.White),
	}
}

// Together is on aim when something was judged and all that was is on aim; off when anything is off.
func Together(all []Verdict) Result {
	r := NotJudged
	for _, v := range all {
		switch v.Result {
		case OffAim:
			return OffAim
		case OnAim:
			r = OnAim
		}
	}
	return r
}
