package pages

import (
	"strings"

	"example.org/plumb/web/words"
)

// A Site is where a page finds what it refers to. The zero Site gives pages without style and without the browser program.
type Site struct {
	Look  string   // address of the style sheet of every page
	Stage string   // address of the style sheet of pages that carry the browser program
	After string   // address of the style sheet of the page after calibrating, and of the journal
	Type  []string // addresses of the typeface's weights, fetched early
	Icon  string   // address of the mark

	Runtime     string // address of the script that lets Go run in a browser
	Early       string // the script itself that asks for the browser program
	Boot        string // address of the module that starts it
	Program     string // address of the browser program
	ProgramSize int    // bytes as decoded, so that progress can be shown; 0 when unknown
	Plain       string // address of the same without what is done with pictures; none without it
	PlainSize   int

	Looker     string // address of the program that looks at pictures; none without it
	LookerBoot string // address of the worker's script that runs it

	TourRecord string // address of the signed record that the tour gives away; none without it

	Keep     string // address of the module that keeps the site for when there is no network
	Manifest string // address of the manifest by which the site is installed

	Languages []Language // that pages are there in; the first has no folder of its own
	Language  string     // the script itself that goes to the page in the reader's language
	Words     string     // address of what the browser program says in the language of this page; none for the first

	Version string // of this server and of the browser program it serves
}

// A Language is one that pages are there in.
type Language struct {
	Tag  string // of BCP 47, in lower case, as in "de"
	Name string // as its speakers call it
}

// tags are those of all languages, for the script that chooses one.
func (s Site) tags() string {
	var list []string
	for _, l := range s.Languages {
		list = append(list, l.Tag)
	}
	return strings.Join(list, " ")
}

// in is where a page is in another language; the start page for a page without an address.
func (s Site) in(l Language, here string) string {
	if here == "" {
		here = "/"
	}
	if l == s.Languages[0] {
		return here
	}
	return "/" + l.Tag + here
}

// A Head says which page this is.
type Head struct {
	Title string // before the name of the site; empty on the start page
	About string // one sentence
	Here  string // path of the page, to mark it among the links
	Check bool   // the page carries the browser program
	Plain bool   // and does nothing with pictures
}

func (h Head) title() string {
	if h.Title == "" {
		return words.Say("Plumb: is this screen true enough to judge by?")
	}
	return h.Title + " · Plumb"
}

// A Length is how long a check may take, as the start page offers it. Judgements is about how many it has in all, in figures.
type Length struct{ ID, Name, Minutes, Judgements, About string }

// Lengths are the lengths on offer, shortest first.
func Lengths() []Length {
	return []Length{
		{"short", words.Say("Short"), words.Say("about 4 minutes"), "50", words.Say("Finds gross faults: lost shadows, clipped lights, tones or greys that are far out. Leaves out the colour range.")},
		{"standard", words.Say("Standard"), words.Say("about 8 minutes"), "110", words.Say("All eight aspects. Enough for most decisions about light, shade and colour.")},
		{"long", words.Say("Long"), words.Say("about 15 minutes"), "210", words.Say("All eight aspects, with more places. The narrowest error bars, for a screen that others rely on.")},
	}
}
