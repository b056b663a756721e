// Package plates is the patterns that are shown on their own, each under a name that stays, with the levels that a person may move.
//
// What a plate shows follows from its name, the value of each level and the size of the frame, and from nothing else: a link, a file and a screen that agree
// in these agree in every byte. No plate asks anything, and none is judged.
package plates

import (
	"fmt"
	"image"
	"slices"
	"strconv"
	"strings"

	"example.org/plumb/patterns"
)

// A Level is one number of a plate, or one choice among words.
type Level struct {
	Name, Label string // as a link has it; as a person reads it
	Min, Max    int
	Step        int      // what one press of a key moves it by
	Usual       int      // its value where nothing else is said
	Words       []string // of a choice: value i is written Words[i]; Min is 0 and Max the last of them
}

// Text is a value as a link has it.
func (l *Level) Text(v int) string {
	if l.Words != nil {
		return l.Words[min(max(v, 0), len(l.Words)-1)]
	}
	return strconv.Itoa(v)
}

// Takes says which values there are.
func (l *Level) Takes() string {
	if l.Words != nil {
		return strings.Join(l.Words, ", ")
	}
	return fmt.Sprintf("%d to %d", l.Min, l.Max)
}

// next is the value after one press up or down: the next multiple of the step or the end of the range, so that the way back has the same values.
func (l *Level) next(v int, up bool) int {
	if up {
		return min(floor(v, l.Step)+l.Step, l.Max)
	}
	return max(floor(v-1, l.Step), l.Min)
}

// floor is the greatest multiple of step, which is above 0, that is not above v.
func floor(v, step int) int {
	r := v % step
	if r < 0 {
		r += step
	}
	return v - r
}

// mostLevels is more than any plate has.
const mostLevels = 10

// A Plate is a pattern with its levels.
type Plate struct {
	Name    string // as a link has it
	Title   string
	Look    string // what to look for, in sentences
	Caution string // what can mislead or disturb; empty where nothing does
	Levels  []Level

	paint func(v []int, bounds image.Rectangle) patterns.Pattern
}

// Names are the names of all plates, in their order.
func Names() []string {
	var names []string
	for i := range table {
		names = append(names, table[i].Name)
	}
	return names
}

// Usual is the state of the plate of a name in which every level has its usual value; false if there is no such plate.
func Usual(name string) (State, bool) {
	i := slices.IndexFunc(table, func(p Plate) bool { return p.Name == name })
	if i < 0 {
		return State{}, false
	}
	s := State{plate: &table[i]}
	for k, l := range table[i].Levels {
		s.values[k] = l.Usual
	}
	return s, true
}

// A State is a plate with a value for each of its levels, all within their ranges. States are equal under == if they show the same. The zero State is no
// plate, and black.
type State struct {
	plate  *Plate
	values [mostLevels]int
}

// Plate is what it is a state of, not to be changed; nil for the zero State.
func (s State) Plate() *Plate { return s.plate }

// Levels are the levels of its plate, not to be changed.
func (s State) Levels() []Level {
	if s.plate == nil {
		return nil
	}
	return s.plate.Levels
}

// Value is the value of level i.
func (s State) Value(i int) int { return s.values[i] }

// Text is the value of level i as a link has it.
func (s State) Text(i int) string { return s.plate.Levels[i].Text(s.values[i]) }

// Step is the state after one press that moves level i up or down. At the end of the range it is the same state.
func (s State) Step(i int, up bool) State {
	if i >= 0 && i < len(s.Levels()) {
		s.values[i] = s.plate.Levels[i].next(s.values[i], up)
	}
	return s
}

// Pattern is what it shows in a frame of those bounds.
func (s State) Pattern(bounds image.Rectangle) patterns.Pattern {
	if s.plate == nil {
		return patterns.Grey(0)
	}
	return s.plate.paint(s.values[:len(s.plate.Levels)], bounds)
}

// Paint implements [patterns.Pattern].
func (s State) Paint(dst *image.RGBA, r image.Rectangle) { s.Pattern(dst.Rect).Paint(dst, r) }

// Least and Most bound each side of a frame: in less the squares of the line match have no room, and nothing that shows a picture is larger.
const (
	Least = 160
	Most  = 16384
)

// Fits says why no plate can be painted in a frame of so many pixels; nil where all can.
func Fits(width, height int) error {
	switch {
	case min(width, height) < Least:
		return fmt.Errorf("plates: %d x %d pixels leave no room; each side needs %d at least", width, height, Least)
	case max(width, height) > Most:
		return fmt.Errorf("plates: %d x %d pixels are more than any screen has; each side may have %d at most", width, height, Most)
	}
	return nil
}
