package pages

// A Fault is something wrong with the screen that has a name.
type Fault struct {
	Name   string // in plain words
	Seen   string // what shows it
	Cause  string // what it usually comes from
	Remedy string // what to do, or to try first
	Sure   string // how likely it is, in words
}

// More offers to go on with a sitting that ended unsure. The zero More offers nothing.
type More struct {
	Minutes int    // about how long it takes
	Settles string // what it would settle, in a sentence; may be empty
}

// A Line is one figure about the answers, and what it means in words.
type Line struct{ Name, Value, Meaning string }

// Lines is by how much lines across and lines upright disagree, in per cent of light. The zero Lines draws nothing.
type Lines struct {
	Difference, Lo, Hi float64 // estimate and its 90 % interval; positive where lines across look lighter
	Limit              float64 // beyond which tone is not judged, either way
}

// A TintPlot is how far greys are tinted against the screen's own white, in u'v' of CIE 1976. Without points it draws nothing.
type TintPlot struct {
	Limit  float64 // length of the greatest tint allowed
	Points []TintPoint
}

// A TintPoint is one grey. All lengths are in units of u'v' relative to the screen's own white, with 90 % intervals: U is positive towards pink and
// negative towards green, V positive towards yellow and negative towards blue.
type TintPoint struct {
	Level       int // code, 0 to 255
	U, ULo, UHi float64
	V, VLo, VHi float64
}

// A SeenRange is the codes of grey that part from black and from white. The zero SeenRange draws nothing.
type SeenRange struct {
	First, FirstLo, FirstHi float64 // first code that parts from black, with its 90 % interval
	Last, LastLo, LastHi    float64 // last code that parts from white; 0 when it was not checked
}

// An EvenMap is the light of places all over the screen relative to the middle one. Without places it draws nothing.
type EvenMap struct {
	Rows, Cols int
	Places     []EvenPlace // row by row; Rows times Cols of them
	Limit      float64     // per cent, lighter or darker
	Level      int         // code of the grey that was shown; 0 leaves it out
}

// An EvenPlace is by how many per cent a place is lighter (+) or darker (−) than the middle, with its 90 % interval.
type EvenPlace struct {
	Per, Lo, Hi float64
	Off         bool // beyond the limit, as far as the answers tell
}

// A GamutSketch is how far red and green reach beyond sRGB: 0 is the primary of sRGB, 1 that of Display P3; each with its 90 % interval.
// It is drawn when an interval reaches above 0.
type GamutSketch struct {
	Red, RedLo, RedHi       float64
	Green, GreenLo, GreenHi float64
	Claimed                 string // what the browser claims, in words; may be empty
}

// An EarlierSitting is one that can be compared with.
type EarlierSitting struct{ ID, When, Screen string }

// A CompareView is two sittings side by side.
type CompareView struct {
	Earlier, Later Compared
	Score          Change
	Aspects        []ComparedAspect
	Conditions     []Differing // that were not the same
	Cautions       []string
}

// Compared is one of two sittings.
type Compared struct {
	Screen, Viewer, When string
	Void                 bool
	Score                Score
}

// A Change is what can be said of a difference between two estimates. The zero Change says that they cannot be compared.
type Change struct {
	Kind string // same: no more than the error bars; moved; anything else: cannot be compared
	Why  string // by how much and which way, or why they cannot be compared
}

// A ComparedAspect is one aspect of both sittings. The two scales have one axis, and the band of the later.
type ComparedAspect struct {
	Name           string
	Earlier, Later ComparedEstimate
	Change         Change
}

// A ComparedEstimate is what one sitting said of an aspect.
type ComparedEstimate struct {
	Verdict, Figure string
	Scale           Scale
}

// Differing is a condition that was not the same in both sittings.
type Differing struct{ Name, Earlier, Later string }
