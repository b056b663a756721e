package observer

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
)

// A Kind is a kind of viewer. Noise of light is in log luminance, that of colour in u'v'.
type Kind struct {
	Name      string  `json:"name"`
	Threshold float64 `json:"threshold"` // luminance difference seen 63 % of the time, in steps of the GSDF (DICOM PS3.14)
	Plain     float64 `json:"plain"`     // SD of the noise between two plain patches side by side
	Lines     float64 `json:"lines"`     // SD of the noise between lines and a plain patch
	LineBias  float64 `json:"lineBias"`  // SD over viewers of how much lighter lines look than they are
	Lapse     float64 `json:"lapse"`     // how often the viewer guesses
	Seconds   float64 `json:"seconds"`   // median time to an answer
	Far       float64 `json:"far"`       // SD of the noise between places far apart
	Tint      float64 `json:"tint"`      // SD of the noise of pinker or greener between neighbours; bluer or yellower has 1.7 times as much
	TintBias  float64 `json:"tintBias"`  // SD over viewers of how much pinker, and how much yellower, lines look than they are
	FarTint   float64 `json:"farTint"`   // Tint between places far apart
	Ref       float64 `json:"ref"`       // Tint against a reference light beside the screen, or remembered
	Vision    string  `json:"vision"`    // "" for the normal one, Protan, Deutan or Tritan
	Severity  float64 `json:"severity"`  // of a deficiency, 0 to 1; 0 where there is none
}

// Kinds lists the kinds of viewer that rehearsals know by name. The magnitudes are judgement within the bounds of published work: repeatability and
// spread between observers of visual tone matching from Xiao et al. 2011, lapse from Wichmann and Hill 2001 (from memory), tint between
// one and four semi-axes of MacAdam's ellipse near white (1942). Those of a reference and of places far apart are assumptions.
var Kinds = []Kind{
	{"expert", 1.0, 0.010, 0.02, 0.01, 0.01, 2.0, 0.03, 0.001, 0.001, 0.002, 0.004, "", 0},
	{"typical", 1.7, 0.017, 0.04, 0.03, 0.03, 2.8, 0.05, 0.002, 0.001, 0.004, 0.006, "", 0},
	{"steady", 1.7, 0.015, 0.029, 0.01, 0.02, 2.8, 0.05, 0.002, 0.001, 0.004, 0.006, "", 0}, // the viewer for whom the bounds on tone curves were computed
	{"casual", 3.0, 0.030, 0.08, 0.04, 0.06, 2.2, 0.08, 0.004, 0.0015, 0.008, 0.010, "", 0},
	{"double", 3.4, 0.034, 0.08, 0.03, 0.03, 2.8, 0.10, 0.004, 0.0015, 0.008, 0.012, "", 0}, // typical with all noise doubled
	{"clicker", 3.0, 0.030, 0.08, 0.04, 0.95, 0.6, 0.08, 0.004, 0.001, 0.008, 0.010, "", 0},
	{"strained", 3.4, 0.034, 0.08, 0.05, 0.06, 2.8, 0.10, 0.004, 0.0015, 0.008, 0.012, "", 0}, // double with more lapses and a greater bias
	{"protan", 1.7, 0.017, 0.04, 0.03, 0.03, 2.8, 0.05, 0.002, 0.001, 0.004, 0.006, Protan, 1},
	{"deutan", 1.7, 0.017, 0.04, 0.03, 0.03, 2.8, 0.05, 0.002, 0.001, 0.004, 0.006, Deutan, 1},
	{"deuteranomalous", 1.7, 0.017, 0.04, 0.03, 0.03, 2.8, 0.05, 0.002, 0.001, 0.004, 0.006, Deutan, 0.6},
}

// KindByName returns the kind of the given name, and false if there is none.
func KindByName(name string) (Kind, bool) {
	for _, k := range Kinds {
		if k.Name == name {
			return k, true
		}
	}
	return Kind{}, false
}

// ParseKind reads a kind from JSON. A field that is missing has the value of a typical viewer, but for the name, and for the severity of a vision that
// is given, which is 1. Fields not known and values out of range are refused by name.
func ParseKind(b []byte) (Kind, error) {
	k, _ := KindByName("typical")
	k.Name = ""
	k.Severity = math.NaN() // which JSON cannot say
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(&k); err != nil {
		return Kind{}, fmt.Errorf("observer: %w", err)
	}
	if _, err := d.Token(); err != io.EOF {
		return Kind{}, errors.New("observer: there is more after the viewer; give one JSON object")
	}
	if _, ok := Deficiency(k.Vision, 0); !ok {
		return Kind{}, fmt.Errorf("observer: vision is %q; give %q, %q or %q, or leave it out", k.Vision, Protan, Deutan, Tritan)
	}
	switch {
	case math.IsNaN(k.Severity) && k.Vision == "":
		k.Severity = 0
	case math.IsNaN(k.Severity):
		k.Severity = 1
	case k.Severity > 0 && k.Vision == "":
		return Kind{}, fmt.Errorf("observer: severity is %g without a vision; give vision %q, %q or %q", k.Severity, Protan, Deutan, Tritan)
	}
	for _, f := range []struct {
		name  string
		v, hi float64
	}{
		{"threshold", k.Threshold, 100}, {"plain", k.Plain, 2}, {"lines", k.Lines, 2}, {"lineBias", k.LineBias, 2}, {"lapse", k.Lapse, 1},
		{"seconds", k.Seconds, 3600}, {"far", k.Far, 2}, {"tint", k.Tint, 0.5}, {"tintBias", k.TintBias, 0.5}, {"farTint", k.FarTint, 0.5},
		{"ref", k.Ref, 0.5}, {"severity", k.Severity, 1},
	} {
		if !(f.v >= 0 && f.v <= f.hi) {
			return Kind{}, fmt.Errorf("observer: %s is %g; give a number from 0 to %g", f.name, f.v, f.hi)
		}
	}
	if k.Threshold == 0 {
		return Kind{}, fmt.Errorf("observer: threshold is 0; give a number above 0")
	}
	return k, nil
}
