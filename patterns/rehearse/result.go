package main

import (
	"slices"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
)

// A figure is an estimate beside its truth.
type figure struct {
	Mean   float64 `json:"mean"`
	Lo     float64 `json:"lo"`
	Hi     float64 `json:"hi"`
	Truth  float64 `json:"truth"`
	Inside bool    `json:"inside"`
}

// A scored is a score beside its truth.
type scored struct {
	Value  float64 `json:"value"`
	Lo     float64 `json:"lo"`
	Hi     float64 `json:"hi"`
	Truth  float64 `json:"truth"`
	Inside bool    `json:"inside"`
}

// A result is one sitting, as printed.
type result struct {
	Screen     string                     `json:"screen"`
	Seed       uint64                     `json:"seed"`
	Judgements int                        `json:"judgements"`
	Seconds    int                        `json:"seconds"`
	Estimates  map[screen.Quantity]figure `json:"estimates"`
	Lightness  *float64                   `json:"lightness,omitempty"` // rms error of the tone curve, L*
	After      map[int]float64            `json:"after,omitempty"`     // the same after so many judgements of tone
	Bound      map[int]float64            `json:"bound,omitempty"`     // the least it could be on average; see check.ToneBound
	Verdicts   map[string]report.Verdict  `json:"verdicts"`
	Purposes   map[string]report.Verdict  `json:"purposes"`
	Score      *scored                    `json:"score,omitempty"`
	Parts      map[string]float64         `json:"parts,omitempty"` // the score with parts of the screen as they truly are; see replaced
	Truth      map[string]report.Verdict  `json:"truth"`           // of aspects and purposes; not checked where there is no check yet
	Void       bool                       `json:"void"`
	Spent      map[check.Aspect]int       `json:"spent"`            // judgements that counted
	Margins    map[string]float64         `json:"margins"`          // by purpose: the greatest of the true quantities over their tolerances
	Within     map[string]float64         `json:"within,omitempty"` // by aspect: probability of being within tolerance
	Faults     []string                   `json:"faults,omitempty"` // as named
	Tint       *float64                   `json:"tint,omitempty"`   // rms error of grey tint over levels and axes, u'v'
	Places     *float64                   `json:"places,omitempty"` // rms error of evenness over places, log light
}

// short are the names of check.Uses in results.
var short = []string{"layout", "light", "colour"}

// marks are the judgements of tone after which a curve is looked at.
var marks = []int{20, 40}

// A further is what else a rehearsal looks at: tone curves at marks, beside what is reachable there, and what each part of a screen costs the score.
type further struct{ bounds, parts bool }

// rehearse runs one sitting and sets it beside the truth.
func rehearse(d display.Description, kind observer.Kind, plan check.Plan, more further) result {
	aim, _ := screen.AimByID(plan.Aim)
	want := known(d, kind, plan)
	at, bound := map[int]float64{}, map[int]float64{}
	after := func(s *check.Sitting) {
		log := s.Log()
		if last := log[len(log)-1]; last.Check != check.Tone || last.Kind == check.Practice || last.Kind == check.Catch {
			return
		}
		if n := report.Counted(log, check.Tone); slices.Contains(marks, n) {
			at[n] = want.rms(report.CurveOf(s.Results().Tone, aim).At)
			settings := min(n, check.Settings(plan.Length))
			tone := screen.Tone{Gamma: want.quantities[screen.Gamma]}
			bound[n] = check.ToneBound(tone, kind.Lines, kind.LineBias, settings, n-settings)
		}
	}
	if !more.bounds {
		after = nil
	}
	s, rec := sit(d, kind, plan, after)
	r := result{
		Screen: d.Name, Seed: plan.Seed, Judgements: len(rec.Judgements), Seconds: int((rec.Conditions.Ended - rec.Conditions.Started) / 1000),
		Estimates: map[screen.Quantity]figure{}, Verdicts: map[string]report.Verdict{}, Purposes: map[string]report.Verdict{},
		Truth: map[string]report.Verdict{}, Void: len(rec.Void) > 0, Spent: map[check.Aspect]int{},
		Margins: map[string]float64{}, Within: map[string]float64{},
	}
	for _, f := range rec.Faults {
		r.Faults = append(r.Faults, f.Name)
	}
	for q, e := range s.Results().Profile() {
		truth, ok := want.quantities[q]
		if !ok {
			continue
		}
		f := figure{Mean: e.Mean(), Truth: truth}
		f.Lo, f.Hi = e.Interval(0.9)
		if q == screen.GreyTint { // as it is reported
			f.Lo, f.Hi = report.TintInterval(e)
		}
		f.Inside = f.Lo <= truth && truth <= f.Hi
		r.Estimates[q] = f
	}
	if len(rec.Curve.At) > 0 {
		rms := want.rms(rec.Curve.At)
		r.Lightness, r.After, r.Bound = &rms, at, bound
	}
	for _, f := range rec.Findings {
		r.Verdicts[string(f.Aspect)] = f.Verdict
		r.Truth[string(f.Aspect)] = want.verdicts[f.Aspect]
		if f.Judgements > 0 {
			r.Spent[f.Aspect] = f.Judgements
			r.Within[string(f.Aspect)] = f.Within
		}
	}
	for i, p := range rec.Purposes {
		r.Purposes[short[i]] = p.Verdict
		r.Truth[short[i]] = want.uses[i]
		r.Margins[short[i]] = want.margins[i]
	}
	if n := s.Results().Neutrals; n != nil {
		e := want.tinted(n)
		r.Tint = &e
	}
	if n := s.Results().Evenness; n != nil {
		e := want.uneven(n)
		r.Places = &e
	}
	if rec.Score.Given {
		r.Score = &scored{rec.Score.At, rec.Score.Lo, rec.Score.Hi, want.score, rec.Score.Lo <= want.score && want.score <= rec.Score.Hi}
		if more.parts {
			r.Parts = want.parts(s.Results(), aim, plan.Seed)
		}
	}
	return r
}
