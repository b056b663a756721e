// Package check binds patterns, questions and procedures into checks of one aspect each, and checks into a sitting.
//
// A sitting is a state machine: no clock, no screen, no keyboard and no global random source. Frames are asked of it and key presses are put to it.
package check

import (
	"fmt"
	"image"
	"time"

	"example.org/plumb/patterns/screen"
)

// An Aspect is what is judged about a screen.
type Aspect string

const (
	Handling    Aspect = "handling"
	Shadows     Aspect = "shadows"
	Highlights  Aspect = "highlights"
	Tone        Aspect = "tone"
	Neutrals    Aspect = "neutrals"
	Smoothness  Aspect = "smoothness"
	Evenness    Aspect = "evenness"
	ColourRange Aspect = "colour range"
)

// Further aspects, which no purpose rests on and which are listed only where they were asked about.
const (
	Channels Aspect = "channels"
	Angle    Aspect = "viewing angle"
	White    Aspect = "white"
)

// Extras is every further aspect in the order of the report.
var Extras = []Aspect{Channels, Angle, White}

// Aspects is every aspect in the order of the report.
var Aspects = []Aspect{Handling, Shadows, Highlights, Tone, Neutrals, Smoothness, Evenness, ColourRange}

// A Length is how long a sitting may take.
type Length string

const (
	Short    Length = "short"
	Standard Length = "standard"
	Long     Length = "long"
)

// A Plan is all that a sitting depends on beside the answers.
type Plan struct {
	Battery int               `json:"battery"` // revision of the checks; see Battery
	Length  Length            `json:"length"`
	Seed    uint64            `json:"seed"`             // below 2^53, so that any JSON reader keeps it whole
	Aim     string            `json:"aim"`              // an id of screen.Aims
	Degree  float64           `json:"degree,omitempty"` // device pixels per degree of visual angle; 0 when unknown
	Skip    map[Aspect]string `json:"skip,omitempty"`   // aspects not to ask about, each with the reason to show

	More      int    `json:"more,omitempty"`      // how often the sitting was taken further after its end; see Sitting.Further
	Reference string `json:"reference,omitempty"` // what white is held against: paper, screen; empty to leave it out
	Fixed     bool   `json:"fixed,omitempty"`     // ask a fixed list of judgements instead of planning by what is unsure

	Expect *Expected `json:"expect,omitempty"` // what a profile promises: the sitting is about whether it holds; nil in every other
}

// A Kind is what a presentation is for.
type Kind string

const (
	Practice Kind = "practice" // obvious, to learn the task; never counted
	Catch    Kind = "catch"    // obvious, to see whether the viewer looks
	Trial    Kind = "trial"    // counts for the estimate
	Setting  Kind = "setting"  // an adjustment until both sides match; counts for the estimate
)

// A Stimulus says what was painted. Which fields are set depends on the check:
//
//	cells                (Ground, Patch, Cell)
//	line matches         (A, B, Lit, Of, Columns, Plain, PlainLeft, Ground), of tints also Hue, Red, Blue
//	pairs                (Left, Right, Ground), of tints also Hue, Red, Blue of the lighter or tinted side, PlainLeft
//	quadrants            (Ground, Left the code of three, Patch the odd one's, Cell)
//	ramps                (Ground, A to B, Bits of the coarse one, PlainLeft when the coarse one is on top)
//	places               (Ground, Grid, Place, Delta, Hue, Red, Blue)
//	colours beyond sRGB  (Ground, Primary, Reach, Cell)
//	a reference white    (Ground, Hue, Red, Blue)
type Stimulus struct {
	Ground    uint8      `json:"ground"`
	Patch     uint8      `json:"patch,omitempty"`
	Cell      int        `json:"cell,omitempty"` // 0 to 8, row by row; of quadrants 0 to 3
	A         uint8      `json:"a,omitempty"`
	B         uint8      `json:"b,omitempty"`
	Lit       int        `json:"lit,omitempty"`
	Of        int        `json:"of,omitempty"` // 0: not a line match
	Columns   bool       `json:"columns,omitempty"`
	Plain     uint8      `json:"plain,omitempty"` // for a setting: the code set
	PlainLeft bool       `json:"plainLeft,omitempty"`
	Left      uint8      `json:"left,omitempty"`
	Right     uint8      `json:"right,omitempty"`
	Hue       screen.Hue `json:"hue,omitempty"`  // the axis that is asked about; light where empty
	Red       int        `json:"red,omitempty"`  // codes by which red differs from the grey
	Blue      int        `json:"blue,omitempty"` // codes by which blue differs from the grey
	Grid      int        `json:"grid,omitempty"` // places in a row and in a column, 3 or 5
	Place     int        `json:"place,omitempty"`
	Delta     int        `json:"delta,omitempty"` // codes by which the place is raised
	Bits      int        `json:"bits,omitempty"`
	Primary   string     `json:"primary,omitempty"` // red or green
	Reach     float64    `json:"reach,omitempty"`   // how far the mark lies from sRGB (0) to Display P3 (1)
	Channel   int        `json:"channel,omitempty"` // of line matches: 1 red, 2 green, 3 blue alone; 0 grey
	At        int        `json:"at,omitempty"`      // of line matches: -1 at the top, 1 at the bottom of the frame
}

// A Task is what a viewer is to do with a presentation.
type Task string

const (
	OddCell      Task = "odd cell"       // which of 9 cells holds a patch?
	Lighter      Task = "lighter"        // which side is lighter?
	Set          Task = "set"            // make the plain side match the lines
	Pinker       Task = "pinker"         // which side is pinker, less green?
	Yellower     Task = "yellower"       // which side is yellower, less blue?
	OddQuadrant  Task = "odd quadrant"   // which of 4 quadrants differs?
	Smoother     Task = "smoother"       // which of two ramps is smoother?
	PlaceLighter Task = "place lighter"  // which of two places far apart is lighter?
	PlacePinker  Task = "place pinker"   // the same, pinker
	PlaceYellow  Task = "place yellower" // the same, yellower
	Mark         Task = "mark"           // which of 4 squares holds a mark?
	RefPinker    Task = "white pinker"   // is the screen pinker than the reference, or greener?
	RefYellower  Task = "white yellower" // is the screen yellower than the reference, or bluer?
)

// CantTell is the response of a viewer who cannot tell.
const CantTell = -1

// A Status says whether a judgement counts.
type Status string

const (
	Counted   Status = ""
	TakenBack Status = "taken back"
	Disturbed Status = "disturbed" // the page was hidden, lost focus or changed screens while it was up; asked again
)

// A Judgement is one answer of a viewer to one presentation, with all that is needed to use it without the program that asked.
type Judgement struct {
	N        int      `json:"n"` // place in the sitting's log, from 0
	Check    Aspect   `json:"check"`
	Kind     Kind     `json:"kind"`
	Stimulus Stimulus `json:"stimulus"`
	Response int      `json:"response"`          // index into the choices: the cell; 0 left or 1 right is lighter; 0 for a setting; CantTell
	Right    bool     `json:"right,omitempty"`   // practice and catch only: the answer was the right one
	At       int64    `json:"at"`                // ms since 1970 UTC, as the caller's clock tells
	Latency  int64    `json:"latency"`           // ms from the first frame to the answer
	Presses  int      `json:"presses,omitempty"` // of a setting: how many steps it took
	Status   Status   `json:"status,omitempty"`
	Reason   string   `json:"reason,omitempty"` // of a disturbance
}

// A Choice is one answer a viewer may give.
type Choice struct {
	Key   string          // KeyboardEvent.code, such as "ArrowLeft"
	Label string          // short words
	Rect  image.Rectangle // what the answer points at, in pixels of the frame; tapping it is the same as the key
}

// A Presentation is what is to be answered now.
type Presentation struct {
	Seq      int // rises with every change of the frame, a step of a setting included
	Check    Aspect
	Kind     Kind
	Task     Task
	Wide     bool          // the frame's bytes are colours of Display P3, not the canvas's usual ones
	Question string        // in plain words
	Choices  []Choice      // the last is always "can't tell" (Space) with an empty Rect, except for a setting
	First    bool          // nothing of this check has been answered in this sitting: introduce it
	Back     bool          // the check was asked about before, and another in between: let the eyes settle again
	Ground   uint8         // code of the surround, for the rest between presentations and the fade between checks
	Done     int           // judgements so far, practice and catch trials included
	Total    int           // about how many there will be
	Left     time.Duration // about how long is left
}

// A Step is what a key press did.
type Step int

const (
	Ignored  Step = iota // the key is no choice here
	Adjusted             // a setting moved; the same judgement goes on
	Judged               // a judgement was added to the log
)

// PlaceName returns the words for a place of a grid of n by n, row by row from 0.
func PlaceName(n, place int) string {
	if n == 3 {
		return cellLabels[place%len(cellLabels)]
	}
	return fmt.Sprintf("place in row %d, column %d", place/n+1, place%n+1)
}
