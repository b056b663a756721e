package report

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"example.org/plumb/patterns/check"
)

// A Loading says whether a profile's correction is in the video card. The zero Loading claims nothing.
type Loading int

const (
	LoadUnknown Loading = iota
	IsLoaded
	NotLoaded
	Neither // the screen is as the profile has it neither with nor without its correction
)

// A Correction is what a sitting found of a profile's correction.
type Correction struct {
	Profile string  `json:"profile"` // name of the profile
	Digest  string  `json:"digest"`  // SHA-256 of its bytes, in hexadecimal
	Loading Loading `json:"loading"`
	Loaded  float64 `json:"loaded"`  // probability that it is loaded
	Bare    float64 `json:"bare"`    // that it is not, and the screen is else as when the profile was made
	Neither float64 `json:"neither"` // that the screen is something else
	Seen    string  `json:"seen"`    // in plain words
	Cause   string  `json:"cause,omitempty"`
	Remedy  string  `json:"remedy,omitempty"`
}

var loadings = [...]string{"unknown", "loaded", "not loaded", "neither"}

func (l Loading) String() string { return loadings[l] }

// MarshalJSON writes the word.
func (l Loading) MarshalJSON() ([]byte, error) { return json.Marshal(l.String()) }

// UnmarshalJSON reads the word.
func (l *Loading) UnmarshalJSON(b []byte) error {
	var s string
	if err := json.Unmarshal(b, &s); err != nil {
		return err
	}
	at := slices.Index(loadings[:], s)
	if at < 0 {
		return fmt.Errorf("correction %q is none of %s", s, strings.Join(loadings[:], ", "))
	}
	*l = Loading(at)
	return nil
}

// claimed is how probable it must be that a correction is loaded, that it is not, or that the screen is something else, before a sitting says so. What it says is the
// likelier of the first two by more, for most of what is left is that the screen is something else.
const claimed = 0.85

// correction fills in what the sitting found of the correction of a profile.
func (r *Record) correction(s *check.Sitting, found check.Results) {
	v, ok := s.Correction()
	if !ok {
		return
	}
	e := s.Plan().Expect
	c := &Correction{Profile: e.Profile, Digest: e.Digest, Loaded: v.Loaded, Bare: v.Bare, Neither: v.Neither}
	switch {
	case len(r.Void) > 0:
		c.Seen = "The sitting cannot be used, so nothing is said of the correction."
	case linesDisagree(found.Tone):
		c.Seen = "Row lines and column lines do not agree, so nothing is said of the correction: what rests on fine lines cannot be trusted here."
	case found.Tone == nil && found.Neutrals == nil:
		c.Seen = "Neither tones nor greys were asked about, and nothing else tells whether the correction is loaded."
	default:
		c.say(v, found)
	}
	r.Correction = c
}

// say claims what is probable enough, in words.
func (c *Correction) say(v check.CorrectionResult, found check.Results) {
	switch {
	case v.Neither > claimed:
		c.Loading = Neither
		c.Seen = "Greys have another tint than the profile promises, with its correction or without it."
		if 2*v.Tints < v.Neither && found.Tone != nil {
			c.Seen = fmt.Sprintf("Tones are not as the profile promises, neither with its correction nor without it: %s.", gammasOf(v, found.Tone))
		}
		c.Cause = "Another picture mode than when the profile was made, a correction that is loaded twice or belongs to another profile, or a screen that has changed since."
		c.Remedy = "Set the screen to the mode in which it was calibrated, load the profile's correction anew, and calibrate again if this check still says the same."
	case v.Alike:
		c.Seen = fmt.Sprintf("The correction changes so little that no eye can tell whether it is loaded: greys by %.1f L* at most, and their tint by %.4f in u'v'.", v.Apart.Lightness, v.Apart.Tint)
		if v.Loaded+v.Bare > claimed {
			c.Seen += " The screen is as the profile promises."
		}
	case v.Loaded > claimed:
		c.Loading = IsLoaded
		c.Seen = "Tones and greys are as the profile promises with its correction: it is loaded."
	case v.Bare > claimed:
		c.Loading = NotLoaded
		c.Seen = "Tones and greys are as the profile has this screen without its correction: it is not loaded."
		if found.Tone != nil {
			c.Seen = fmt.Sprintf("Tones and greys are as the profile has this screen without its correction: it is not loaded (%s).", gammasOf(v, found.Tone))
		}
		c.Cause = "The video card's table was not set, or was set back: after a restart, sleep, an update of the driver, another screen that was plugged in, or by a program that changes the screen's colours."
		c.Remedy = "Load the profile's correction anew, see that it is loaded each time you log in, and do this check again."
	default:
		c.Seen = fmt.Sprintf("The answers do not settle whether the correction is loaded: that it is has a probability of %s, that it is not %s, that the screen is something else %s.",
			percent(v.Loaded), percent(v.Bare), percent(v.Neither))
		c.Remedy = "Take the check further, or do it again when you are rested."
	}
}

// gammasOf sets the gamma that was seen beside those of the profile.
func gammasOf(v check.CorrectionResult, t *check.ToneResult) string {
	return fmt.Sprintf("gamma is about %.2f, and should be about %.2f with the correction and %.2f without", t.Gamma.Mean(), v.Apart.Loaded, v.Apart.Bare)
}

// percent is a probability in words, never more sure than it can be.
func percent(p float64) string { return fmt.Sprintf("%.0f %%", min(max(100*p, 1), 99)) }
