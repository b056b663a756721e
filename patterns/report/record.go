// Package report records a sitting: under what conditions, what was shown and answered, and what follows.
//
// A record is read back as the bytes its maker wrote; it is never encoded again to be compared or signed.
package report

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/screen"
)

// Version is the revision of the record's form.
const Version = 3

// A Record is one viewer's sitting at one screen.
type Record struct {
	Version    int               `json:"version"`
	Program    string            `json:"program"` // which build made it
	Plan       check.Plan        `json:"plan"`
	Conditions Conditions        `json:"conditions"`
	Judgements []check.Judgement `json:"judgements"`

	Findings []Finding `json:"findings"`          // one for each of check.Aspects, in order
	Extras   []Finding `json:"extras,omitempty"`  // of check.Extras, those that were asked about
	Faults   []Fault   `json:"faults,omitempty"`  // named, the surest first
	Curve    Curve     `json:"curve"`             // zero when tone was not checked
	Greys    []Grey    `json:"greys,omitempty"`   // tint by level; empty when neutrals were not checked
	Places   *Places   `json:"places,omitempty"`  // evenness by place
	Lines    *Span     `json:"lines,omitempty"`   // log light of row lines over column lines
	Reach    *Reach    `json:"reach,omitempty"`   // colours beyond sRGB
	Scatter  []Scatter `json:"scatter,omitempty"` // of the viewer's judgements
	Purposes []Purpose `json:"purposes"`
	Score    Score     `json:"score"`
	Void     []string  `json:"void,omitempty"`  // why the sitting cannot be used; empty when it can
	Notes    []string  `json:"notes,omitempty"` // on the viewer's answers and what disturbed them

	Correction *Correction `json:"correction,omitempty"` // whether a profile's correction is loaded; nil where the sitting did not ask
}

// A Span is an estimate: its middle and the ends of its 90 % interval.
type Span struct {
	At float64 `json:"at"`
	Lo float64 `json:"lo"`
	Hi float64 `json:"hi"`
}

// A Grey is the tint of a grey against the screen's own white, along both axes of screen.Hues, as distances in CIE 1976 u'v'.
type Grey struct {
	Code   int  `json:"code"`
	Pink   Span `json:"pink"`   // above 0 is pinker
	Yellow Span `json:"yellow"` // above 0 is yellower
}

// Places are how light the places of a grid are, row by row.
type Places struct {
	Rows  int    `json:"rows"`
	Cols  int    `json:"cols"`
	Light []Span `json:"light"`          // log light over that at the middle
	Tint  *Span  `json:"tint,omitempty"` // greatest distance in u'v' from the middle
}

// A Reach is how far colours go from sRGB (0) to Display P3 (1).
type Reach struct {
	Red   Span `json:"red"`
	Green Span `json:"green"`
}

// A Scatter is how much a viewer's judgements of one kind scattered, as a multiple of a typical viewer's.
type Scatter struct {
	Aspect check.Aspect `json:"aspect"`
	Hue    screen.Hue   `json:"hue,omitempty"` // of neutrals: the axis
	Times  Span         `json:"times"`
}

// A Fault is one thing that is wrong with a screen, in plain words.
type Fault struct {
	Name   string  `json:"name"`
	Sure   float64 `json:"sure"` // probability
	Seen   string  `json:"seen"`
	Cause  string  `json:"cause"`
	Remedy string  `json:"remedy"`
}

// A Finding is what a sitting found of one aspect, against the tolerance of the strictest purpose that needs it.
type Finding struct {
	Aspect     check.Aspect `json:"aspect"`
	Verdict    Verdict      `json:"verdict"`
	Quantity   string       `json:"quantity,omitempty"`
	Mean       float64      `json:"mean"`
	Lo         float64      `json:"lo"` // ends of the 90 % interval
	Hi         float64      `json:"hi"`
	AllowedLo  float64      `json:"allowedLo"`
	AllowedHi  float64      `json:"allowedHi"`
	Within     float64      `json:"within"`             // probability of being within tolerance
	Seen       string       `json:"seen"`               // in plain words
	Why        string       `json:"why,omitempty"`      // why not checked, or what would settle an unsure one
	Smallest   string       `json:"smallest,omitempty"` // the smallest fault this sitting could have seen
	Judgements int          `json:"judgements"`         // that counted for the estimate
}

// A Curve is a tone curve with its 90 % band and the aim: L* (0 to 100) relative to the screen's own black and white over signal (0 to 1).
type Curve struct {
	Signal []float64 `json:"signal"`
	At     []float64 `json:"at"`
	Lo     []float64 `json:"lo"`
	Hi     []float64 `json:"hi"`
	AimLo  []float64 `json:"aimLo"`
	AimHi  []float64 `json:"aimHi"`
}

// A Purpose is a kind of decision and whether the screen can carry it.
type Purpose struct {
	Name    string  `json:"name"`
	Verdict Verdict `json:"verdict"`
	Why     string  `json:"why"`
}

// A Score is 0 to 100 with its 90 % interval.
type Score struct {
	Given    bool    `json:"given"`
	At       float64 `json:"at"` // mean
	Lo       float64 `json:"lo"`
	Hi       float64 `json:"hi"`
	Sentence string  `json:"sentence"`
}

// Marshal returns the record's encoding: JSON, indented by one space. Keep these bytes.
func (r Record) Marshal() []byte {
	b, err := json.MarshalIndent(r, "", " ")
	if err != nil {
		panic("report: internal error: " + err.Error())
	}
	return append(b, '\n')
}

// What Read refuses, beside fields it does not know.
var (
	ErrNewer     = errors.New("report: this record was made by a newer version of Plumb; open it there, or reload this page to get the newer version")
	ErrTruncated = errors.New("report: this record breaks off before its end; save or copy the file again from where it came")
	ErrNoRecord  = errors.New("report: this is not a record of a sitting; choose a .json file that Plumb saved")
)

// Read reads a record. It refuses a newer version, a record that breaks off, fields it does not know or finds twice (by name), and what is no record.
func Read(b []byte) (Record, error) {
	var head struct {
		Version *int `json:"version"`
	}
	if err := json.Unmarshal(b, &head); err != nil {
		if broken(err, len(b)) {
			return Record{}, ErrTruncated
		}
		return Record{}, ErrNoRecord
	}
	switch {
	case head.Version == nil || *head.Version < 1:
		return Record{}, ErrNoRecord
	case *head.Version > Version:
		return Record{}, ErrNewer
	}
	if name, ok := repeated(b); ok {
		return Record{}, fmt.Errorf("report: this record has the field %q twice; it was changed after Plumb saved it, so use the file as it was saved", name)
	}
	var r Record
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(&r); err != nil {
		if name, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
			return Record{}, fmt.Errorf("report: this record has a field %s that version %d does not know; it was changed after Plumb saved it, so use the file as it was saved", name, Version)
		}
		return Record{}, fmt.Errorf("report: this record has a value of the wrong kind (%s); use the file as it was saved", strings.TrimPrefix(err.Error(), "json: "))
	}
	if len(r.Findings) != len(check.Aspects) {
		return Record{}, fmt.Errorf("report: this record has %d findings where %d belong; use the file as it was saved", len(r.Findings), len(check.Aspects))
	}
	for i, f := range r.Findings {
		if f.Aspect != check.Aspects[i] {
			return Record{}, fmt.Errorf("report: finding %d of this record is of %q where %q belongs; use the file as it was saved", i+1, f.Aspect, check.Aspects[i])
		}
	}
	if p := r.Places; p != nil && (p.Rows < 1 || p.Rows > 9 || p.Cols < 1 || p.Cols > 9 || len(p.Light) != p.Rows*p.Cols) {
		return Record{}, errors.New("report: the places of this record do not fill their grid; use the file as it was saved")
	}
	if c := r.Correction; c != nil {
		for _, p := range [...]float64{c.Loaded, c.Bare, c.Neither} {
			if p < 0 || p > 1 {
				return Record{}, fmt.Errorf("report: this record gives a correction the probability %g; use the file as it was saved", p)
			}
		}
	}
	c := r.Curve
	for _, v := range [][]float64{c.At, c.Lo, c.Hi, c.AimLo, c.AimHi} {
		if len(v) != len(c.Signal) {
			return Record{}, errors.New("report: the curve of this record has columns of different lengths; use the file as it was saved")
		}
	}
	for i, j := range r.Judgements {
		if j.N != i {
			return Record{}, fmt.Errorf("report: judgement %d of this record has number %d; use the file as it was saved", i, j.N)
		}
	}
	return r, nil
}

// repeated returns a name that some object of JSON has twice, capitals or not: readers differ in which of the two they take.
func repeated(b []byte) (name string, ok bool) {
	d := json.NewDecoder(bytes.NewReader(b))
	var seen []map[string]bool // by depth; nil for an array
	named := false             // in an object: a name was read and its value comes next
	for {
		token, err := d.Token()
		if err != nil {
			return "", false
		}
		switch v := token.(type) {
		case json.Delim:
			switch v {
			case '{':
				seen, named = append(seen, map[string]bool{}), false
				continue
			case '[':
				seen = append(seen, nil)
				continue
			}
			seen = seen[:len(seen)-1]
		case string:
			if len(seen) > 0 && seen[len(seen)-1] != nil && !named {
				key := strings.ToLower(v)
				if seen[len(seen)-1][key] {
					return v, true
				}
				seen[len(seen)-1][key], named = true, true
				continue
			}
		}
		named = false // that was a value
	}
}

// broken reports whether JSON of the given size ends before it is whole. In the middle of a number the end is read as a blank that does not belong there.
func broken(err error, size int) bool {
	var s *json.SyntaxError
	if !errors.As(err, &s) {
		return false
	}
	return s.Error() == "unexpected end of JSON input" || s.Offset >= int64(size) && strings.HasPrefix(s.Error(), "invalid character ' '")
}
