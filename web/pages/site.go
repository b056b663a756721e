package pages

// A Site is where a page finds what it refers to. The zero Site gives pages without style and without the browser program.
type Site struct {
	Look    string   // address of the style sheet of every page
	Sitting string   // address of the style sheet of the check
	Proof   string   // address of the style sheet of proofs
	After   string   // address of the style sheet of the page after calibrating, and of the journal
	Type    []string // addresses of the typeface's weights, fetched early
	Icon    string   // address of the mark

	Runtime     string // address of the script that lets Go run in a browser
	Boot        string // address of the module that starts the browser program
	Program     string // address of the browser program
	ProgramSize int    // bytes as decoded, so that progress can be shown; 0 when unknown
	Plain       string // address of the same without what is done with pictures; none without it
	PlainSize   int

	Looker     string // address of the program that looks at pictures; none without it
	LookerBoot string // address of the worker's script that runs it

	TourRecord string // address of the signed record that the tour gives away; none without it

	Keep     string // address of the module that keeps the site for when there is no network
	Manifest string // address of the manifest by which the site is installed

	Version string // of this server and of the browser program it serves
}

// program is the address and the size of what a page loads: plain where that is enough and there is one.
func (s Site) program(plain bool) (address string, size int) {
	if plain && s.Plain != "" {
		return s.Plain, s.PlainSize
	}
	return s.Program, s.ProgramSize
}

// A Head says which page this is.
type Head struct {
	Title string // before the name of the site; empty on the start page
	About string // one sentence
	Here  string // path of the page, to mark it among the links
	Check bool   // the page carries the browser program
}

func (h Head) title() string {
	if h.Title == "" {
		return "Plumb: is this screen true enough to judge by?"
	}
	return h.Title + " · Plumb"
}

// A Length is how long a check may take, as the start page offers it. Judgements is about how many it has in all, in figures.
type Length struct{ ID, Name, Minutes, Judgements, About string }

// Lengths are the lengths on offer, shortest first.
var Lengths = []Length{
	{"short", "Short", "about 4 minutes", "50", "Finds gross faults: lost shadows, clipped lights, tones or greys that are far out. Leaves out the colour range."},
	{"standard", "Standard", "about 8 minutes", "110", "All eight aspects. Enough for most decisions about light, shade and colour."},
	{"long", "Long", "about 15 minutes", "210", "All eight aspects, with more places. The narrowest error bars, for a screen that others rely on."},
}
