package pages

// AfterAims are what the person aimed at, as typed.
type AfterAims struct{ Luminance, Kelvin string }

// A PaperRow is a file that was laid down: a profile or readings.
type PaperRow struct {
	ID, Name, Size string
	Kind           string   // what it is, in words
	State          string   // Reading while it is being read
	Text           []string // what it is, or why it is not taken and what to do
	Refused        bool
	Buttons        []Button
}

// A Heard is what three witnesses say of one screen: the profile, the readings and the eye. The zero Heard has heard nobody.
type Heard struct {
	Title string // the screen
	When  string // when who spoke, in words
	Lead  string // what follows
	Rows  []HeardRow
	Wants []string // what is to be known before the way
	Ways  []Button
}

// A HeardRow is one question, and what each of the three says.
type HeardRow struct {
	Name, Asks             string
	Profile, Readings, Eye Said
	Accord                 string // agree, differ, alone, unsure, open
	Says                   string // what follows
	Cause, Remedy          string // where they differ
}

// Said is what one witness says: plain words first. The zero Said has nothing to say.
type Said struct{ Text, Figure, Verdict string }

// A PromiseView is what a profile promises.
type PromiseView struct {
	Name       string
	Lead       string
	Facts      []Fact
	Tone       []Chart
	ToneSaid   string
	Channels   Table
	Tint       Chart
	TintSaid   string
	Range      RangeView
	Correction CorrectionView
	Notes      []string
}

// A RangeView is the colours that a profile reaches.
type RangeView struct {
	Said     string
	Caution  string
	Diagrams []Diagram
	Reach    Table
	Corners  Table
}

// A CorrectionView is what a profile wants loaded into the video card. The zero CorrectionView is none.
type CorrectionView struct {
	Said  string
	Chart Chart
	Costs Table
}

// A ReadingsView is what readings say.
type ReadingsView struct {
	Name    string
	Lead    string
	Verdict string // of the lead: holds, off, unsure
	Unaimed string
	Groups  []GroupRow
	Older   Table // by the older formulas
	Judged  Table // against each set of tolerances
	Light   []Fact
	Worst   []WorstRow
	Repeat  RepeatView
	Told    []string // how the file was read
	Notes   []string
}

// A GroupRow is the differences of one group of patches by ΔE00.
type GroupRow struct {
	Name                           string
	Patches                        int
	Best, Mean, P95, Largest       string
	Worst                          string
	AtBest, AtMean, AtP95, AtWorst float64
	Axis, Tolerance                float64 // end of the axis, and the largest that the middle set of tolerances allows; 0 for none
}

// A WorstRow is a patch that is far off. Aim and Measured are colours of sRGB as #rrggbb.
type WorstRow struct{ Name, By, Way, AimLab, MeasuredLab, Aim, Measured string }

// A RepeatView is what a second reading says of the first. The zero RepeatView says nothing.
type RepeatView struct {
	Said  string
	Facts []Fact
}

// A Table is figures in rows. It is drawn where it has rows.
type Table struct {
	Label string // for those who hear it
	Head  []Cell
	Rows  [][]Cell // the first of each is what the row is about
}

// A Cell is one figure. Verdict puts its sign before it; Part, above 0, draws a bar of that share; More stands below.
type Cell struct {
	Text, More, Verdict string
	Part                float64
}

// Cells are figures that are nothing but text.
func Cells(list ...string) []Cell {
	var out []Cell
	for _, s := range list {
		out = append(out, Cell{Text: s})
	}
	return out
}

// A Chart is curves over one axis. It is drawn where its axes have a length and it has a line.
type Chart struct {
	ID, Title, Said string
	Across, Up      string
	Left, Right     float64
	Foot, Top       float64
	X, Y            []float64 // places of the grid
	Band            ChartBand
	Lines           []ChartLine
}

// A ChartBand is what is allowed, or aimed at.
type ChartBand struct {
	Name      string
	X, Lo, Hi []float64
}

// A ChartLine is one curve. Way is how it is drawn: 0 whole, 1 dashes, 2 dots, 3 dashes and dots.
type ChartLine struct {
	Name string
	Way  int
	Hue  string // red, green or blue: a faint chip beside its name
	X, Y []float64
}

// A Diagram is a range of colours in a chart of chromaticities: x, y of CIE 1931, or u', v' of CIE 1976 where UV is set. All places are given in x, y.
type Diagram struct {
	ID, Title, Said string
	UV              bool
	Locus           []Wave
	Daylight        [][2]float64
	Own             []Corner
	White           [2]float64 // zero where it is not told
	Standards       []Outline
}

// A Wave is a place of the spectral locus.
type Wave struct {
	Nanometres int
	X, Y       float64
}

// A Corner is one primary.
type Corner struct {
	Name string
	X, Y float64
}

// An Outline is a standard space. Way is as in a ChartLine.
type Outline struct {
	Name    string
	Way     int
	Corners [][2]float64
}

// A CorrectionLine is what a sitting found of a profile's correction, on the page of its report. The zero CorrectionLine was not asked for.
type CorrectionLine struct {
	Word          string // loaded, not loaded, neither, or that it cannot be told
	Verdict       string // holds, off, unsure
	Profile       string
	Seen          string
	Figure        string
	Cause, Remedy string
	Link          string // leads to it beside the profile and the readings
}
