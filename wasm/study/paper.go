package study

import "example.org/plumb/colour"

// Describe asks what a file from a calibration is: a profile, readings, or neither. The file travels in the task, and no picture is needed.
const Describe = "describe"

// What readings can be held against, beside standard spaces by their names.
const (
	HeldColumns = "columns" // the file's own columns for aims
	HeldProfile = "profile" // the profile in Against
)

// What XYZ can be in where a file does not say (Task.Unit).
const (
	UnitCandela  = "cd/m2"
	UnitPercent  = "percent"  // Y 100 for the white
	UnitRelative = "relative" // Y 1 for the white
)

// MostPaper is the most bytes of a file that Describe takes.
const MostPaper = 16 << 20

// A Paper is a file from a calibration, as it is shown. One of Profile and Readings is set. Its numbers are rounded to what is shown and drawn.
type Paper struct {
	Digest   Digest // SHA-256 of the file
	Size     int64
	Profile  *Profile
	Readings *Readings
}

// A Profile is what a colour profile promises. What it does not say is zero.
type Profile struct {
	Name, Version, Class, Space, Process string // in words
	Made, Calibrated                     int64  // ms since 1970 UTC; 0 where not told
	ID                                   string // "right", "wrong", "none": whether the profile ID is that of the file
	CICP                                 string // the space that code points of ITU-T H.273 name, in words; "" for none
	White                                *White // nil where it is not told
	WhiteBy                              string // what it was told by, in words
	Luminance                            float64
	Aim                                  string      // id of the screen.Aim that tones are held against
	AimLo, AimHi                         []float64   // the least and greatest L* that it allows for codes 0 to 255; nil without Tones
	Tones                                []Tone      // red, green, blue and grey; grey alone for grey devices
	Tint                                 []GreyTint  // of every 5th code from 0 to 255 that has a hundredth of white's light or more, against the device's own white
	TintMost                             float64     // greatest distance of such a grey from white in u'v', over all codes
	TintAt                               int         // its code
	TintChroma                           float64     // greatest C*ab of a grey, over all codes
	Primaries                            []Primary   // red, green, blue
	Adapted                              bool        // primaries, and corners of Reach, are against D50, because the device's own white is not told
	Area                                 float64     // of the triangle of Primaries in u'v', in parts of 1
	Volume                               float64     // in L*a*b*, cubic units; 0 where it could not be worked out
	Reach                                []Reach     // sRGB, Display P3, Adobe RGB (1998), BT.2020
	Correction                           *Correction // nil for none
	Notes                                []string    // what is odd about the file, each with its place
	Expected                             *Expected   // nil for what is no display of three channels with a correction
}

// Knots is at how many signals an Expected says how much light there is: every fifth code.
const Knots = 52

// An Expected is a check.Expected on its way: (*check.Expected)(e) is one. The program that works it out does without package check.
type Expected struct {
	Profile string
	Digest  string
	Loaded  [3][Knots]float64
	Bare    [3][Knots]float64
}

// A White is a chromaticity with its temperatures.
type White struct {
	XY                colour.XY
	UV                colour.UV
	Kelvin, Duv       float64 // correlated colour temperature and signed distance from the Planckian locus in CIE 1960 u, v, above 0 on the green side; 0 where there is none
	Daylight, FromDay float64 // temperature of the nearest CIE daylight and signed distance from it in u', v'; 0 where there is none
}

// A Tone is the tone curve of one channel against the aim.
type Tone struct {
	Channel    string    // red, green, blue, grey
	Form       string    // how the profile writes it, such as "256 samples", "a power of 2.2", "tables"
	Gamma      float64   // of the power that is nearest in L*
	L          []float64 // of codes 0 to 255, relative to the channel's full light
	Off        float64   // greatest departure from the aim in L*, above 0 is lighter; 0 within what it allows
	OffAt      int       // its code
	Mean       float64   // root mean square of the departures in L*
	StepLeast  float64   // smallest step between neighbouring codes, in steps of the aim: 1 on it, near 0 where codes draw together
	StepAt     int       // the lower code of that step
	StepMost   float64   // largest step
	StepMostAt int
	Equal      int // steps of 0 or less: codes that are no lighter than the one below
}

// A GreyTint is how far a grey is from white.
type GreyTint struct {
	Code   int
	DU, DV float64 // in u'v'
}

// A Primary is the colour of one channel at full.
type Primary struct {
	Channel string
	XY      colour.XY
	UV      colour.UV
}

// A Reach is how much of a standard space the profile covers. Shares are 0 to 1: coverage is the common part over the standard, overlap over all that either holds.
type Reach struct {
	Name                                      string
	Corners                                   []Primary // of the standard
	AreaCoverage, AreaOverlap, AreaSize       float64   // in u'v'; size is the profile's over the standard's
	VolumeCoverage, VolumeOverlap, VolumeSize float64   // in L*a*b*
	HasVolume                                 bool
}

// A Correction is what a profile wants loaded into the video card.
type Correction struct {
	Form    string       // "table of 256 entries of 16 bits", "formula"
	Changes bool         // it moves some code by more than half a code
	Curves  [3][]float64 // of red, green and blue: level 0 to 1 for each code 0 to 255
	Costs   [3]Cost
}

// A Cost is what a correction takes from a channel.
type Cost struct {
	Lost         int     // of 256 codes, how many fall together with the one below when the card sends 8 bits
	White, Black float64 // level sent for full signal and for none, 0 to 1
	Greatest     float64 // greatest change in 8-bit codes, signed
	At           int     // the code of that change
}

// Readings are measured patches held against an aim.
type Readings struct {
	Kind       string   // of the file, such as CGATS.17 or CSV
	Tables     int      // how many tables it has
	Table      int      // which of them this is, from 0
	Patches    int      // how many it has
	Compared   int      // how many were held against an aim
	Size       string   // "small", "medium", "large"
	Unit       string   // of XYZ: one of the Unit constants; "" where there is no XYZ or nothing says
	UnitOpen   bool     // there is XYZ, nothing in the file says what it is in, and the task may tell
	Units      []string // how the units are known, in sentences
	Notes      []string // each with line and column
	Device     bool     // it has device values of three channels, so that it can be held against a space or a profile
	OwnAims    bool     // it has columns for aims
	Aims       []string // what it can be held against: HeldColumns, HeldProfile where one is given, names of standard spaces
	Aim        string   // which of them it was held against; "" where nothing could be
	AimName    string   // name of the profile or space; "" for columns
	Unaimed    string   // why nothing could be compared, a sentence; "" where something was
	Groups     []GroupSummary
	Light      *Light
	Worst      []Worst  // patches with the greatest difference, ten at most, the worst first
	Verdicts   []Judged // by the strictest set of tolerances first
	Best       string   // name of the strictest set of tolerances that is kept; "" for none
	Repeat     *Repeat  // nil unless a second file was laid beside it
	AgainstOff string   // why the profile in Against is not held against, a sentence with the place; "" otherwise
	SecondOff  string   // why second readings could not be compared, a sentence with the place; "" otherwise
}

// Names of the sets of tolerances, the strictest first.
const (
	SetIndistinguishable = "indistinguishable"
	SetProof             = "proof"
	SetOrdinary          = "ordinary"
)

// A GroupSummary is the differences of one group of patches.
type GroupSummary struct {
	Group   string    // "all patches", "greys", "primaries", "skin-like"
	Patches int       // groups of none are left out
	By      []Summary // ΔE*ab, ΔE*94, ΔE00
}

// A Summary is of differences by one formula.
type Summary struct {
	Formula                  string
	Best, Mean, P95, Largest float64
	Worst                    string // name of the patch with the largest
}

// Light is what was found of white and black; zeros are not found.
type Light struct {
	Luminance, Black, Contrast float64 // cd/m², cd/m², ratio
	AimLuminance               float64
	White                      *White
	AimWhite                   *White  // nil where none is aimed at
	Off                        float64 // of white from the aim in u'v'
	Kelvin                     float64 // of white less that of the aim
	HasKelvin                  bool
}

// Worst is one of the patches that are farthest off.
type Worst struct {
	Name          string // SAMPLE_NAME, else SAMPLE_ID, else its line
	Device        string // its device values on the file's own scale, such as "136 136 136"; "" where it has none
	Measured, Aim colour.Lab
	By            float64     // ΔE00
	Shown         [2][3]uint8 // aim and measured in 8-bit codes of sRGB, each against its white, clipped
}

// Judged is a quantity held against the tolerance of one set.
type Judged struct {
	Set, What        string
	Value, Tolerance float64
	Result           string // ResultOn, ResultOff, ResultNot
}

// Results of Judged.
const (
	ResultNot = "not judged"
	ResultOn  = "on aim"
	ResultOff = "off"
)

// A Repeat says how far two readings of the same patches are apart.
type Repeat struct {
	Patches   int // that are in both
	Between   []Summary
	Moved     []float64 // by how much the mean difference from the aim moved, by formula
	Noise     float64   // part of the mean squared difference from the aim that is noise of reading, 0 to 1
	Luminance float64   // of the second white less the first, over the first; 0 where units differ
	White     float64   // distance of the whites in u'v'
}
