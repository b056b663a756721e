// Package pages holds the pages and fragments a person sees, as templ components over plain view values; it knows no screen, no viewer and no colour.
package pages

// A Report is what the report page says, in words and figures ready to show.
type Report struct {
	Screen, Viewer string // as the viewer named them; may be empty
	Made           string // date and time, in words
	Judgements     int    // that counted
	Duration       string // in words

	Void       []string // why the sitting cannot be used; empty when it can
	Score      Score
	Purposes   []Purpose
	Faults     []Fault        // that were found and named, the most important first
	Correction CorrectionLine // of a profile, where the sitting was about one
	More       More           // set when the sitting ended unsure and going on would help
	Aspects    []Aspect
	Smallest   []Fact // per checked aspect, the smallest fault this sitting could have seen

	// The zero value of each shows nothing.
	Tone     Curve
	Lines    Lines
	Tint     TintPlot
	Seen     SeenRange
	Evenness EvenMap
	Gamut    GamutSketch

	Reliability []Line // how far the answers themselves can be trusted
	Vision      string // what colour vision means for this report, for the viewer to note; never a diagnosis

	Conditions []Fact
	Notes      []string // about the viewer's answers and what disturbed the sitting
	Cautions   []string

	Earlier []EarlierSitting // sittings kept here that this one can be compared with

	Theirs bool   // it is somebody else's, so that it cannot be done again here
	Bare   bool   // its judgements are not in it
	Record string // the record's own bytes, for the data block with the id "record"; empty on a page without one
	Kept   string // where the sitting is kept, or why it is not
}

// A Score is 0 to 100 with its 90 % interval, and the sentence that says of what. The zero Score is none.
type Score struct {
	Given      bool
	At, Lo, Hi int
	Sentence   string
}

// A Purpose is one kind of decision and whether the screen can carry it.
type Purpose struct{ Name, Verdict, Why string }

// An Aspect is one row of the report.
type Aspect struct {
	ID, Name string
	Seen     string // what was seen, in plain words
	Figure   string // the estimate with its interval and the allowed band, in figures
	Verdict  string // holds, off, unsure, not checked
	Settle   string // what would settle it; empty unless unsure
	Scale    Scale
}

// A Scale draws an estimate with its interval over the allowed band. All in the aspect's own unit; the zero Scale draws nothing.
type Scale struct {
	Min, Max       float64 // ends of the axis
	BandLo, BandHi float64 // allowed
	Lo, At, Hi     float64 // estimate and its 90 % interval
	Unit           string
}

// A Curve is the tone curve: L* over the signal in per cent, relative to the screen's own black and white.
type Curve struct {
	Signal             []float64 // 0 to 100, ascending
	At, Lo, Hi         []float64 // estimate and its 90 % band
	AimLo, AimHi       []float64 // the aim, or the band between the aims
	Caption, AimLegend string
}

// A Fact is a name and what is known of it; Concern says why it may matter, or is empty.
type Fact struct{ Name, Value, Concern string }
