package check

import (
	"math/rand/v2"
	"time"
)

// Battery is the revision of the checks. It rises when trials, patterns, choices or limits change, and a sitting is resumed only under the
// revision it began with.
const Battery = 1

// MinWidth and MinHeight are the smallest frame, in device pixels, on which every check fits.
const MinWidth, MinHeight = 300, 300

// An Intro is what a viewer is told before the first presentation of a check.
type Intro struct {
	Title, Text string
	Settle      int // seconds for the eyes to settle on the new surround
}

// counts says how many judgements of each kind a check has in a sitting of some length.
type counts struct{ practice, settings, trials, catches int }

// battery is the plan of each length. Catch trials are about 1 in 7 while three aspects exist: fewer than 10 in a sitting could not tell a viewer
// who clicks at random from one who slips twice.
var battery = map[Length]map[Aspect]counts{
	Short: {
		Shadows:    {2, 0, 8, 3},
		Highlights: {2, 0, 6, 3},
		Tone:       {2, 4, 10, 4},
	},
	Standard: {
		Shadows:    {2, 0, 14, 3},
		Highlights: {2, 0, 10, 3},
		Tone:       {2, 5, 25, 5},
	},
	Long: {
		Shadows:    {2, 0, 24, 4},
		Highlights: {2, 0, 14, 4},
		Tone:       {2, 6, 54, 8},
	},
}

// order is how checks follow each other: those that need settled eyes first.
var order = []Aspect{Shadows, Highlights, Tone}

// A slot is one judgement that a plan asks for.
type slot struct {
	check Aspect
	kind  Kind
}

// seconds is about how long a viewer takes for one judgement of a kind, the rest before it included.
func (s slot) seconds() float64 {
	switch {
	case s.kind == Setting:
		return 8
	case s.check == Tone:
		return 3.4
	}
	return 3.2
}

// slots lays out a plan: practice first, catch trials spread so that none comes twice in a row nor at a place the viewer can foresee.
func (p Plan) slots() []slot {
	var all []slot
	r := rand.New(rand.NewPCG(p.Seed, 0x706c756d62))
	for _, a := range order {
		n, ok := battery[p.Length][a]
		if _, skip := p.Skip[a]; skip || !ok {
			continue
		}
		for range n.practice {
			all = append(all, slot{a, Practice})
		}
		for range n.settings {
			all = append(all, slot{a, Setting})
		}
		// The trials are cut into as many stretches as there are catch trials, and one falls at random inside each.
		at := 0
		for c := range n.catches {
			end := n.trials * (c + 1) / n.catches
			from := max(at, 1) // not before the first trial, and never two in a row
			place := from + r.IntN(max(end-from, 1))
			for ; at < end; at++ {
				if at == place {
					all = append(all, slot{a, Catch})
				}
				all = append(all, slot{a, Trial})
			}
		}
	}
	return all
}

// About returns how many judgements a sitting has, practice and catch trials included, and about how long it takes.
func About(l Length, skip map[Aspect]string) (judgements int, d time.Duration) {
	slots := Plan{Length: l, Skip: skip}.slots()
	return len(slots), lasting(slots)
}

// lasting adds the time for reading introductions and for eyes to settle to that of the judgements.
func lasting(slots []slot) time.Duration {
	total, last := 0.0, Aspect("")
	for _, s := range slots {
		if s.check != last {
			total += float64(intros[s.check].Settle) + 6
			last = s.check
		}
		total += s.seconds()
	}
	return time.Duration(total * float64(time.Second)).Round(time.Second)
}

// intros are what viewers are told before each check.
var intros = map[Aspect]Intro{
	Shadows: {
		"Shadows",
		"The screen turns black. In one of nine places there is a square that is a little lighter. Say where, even if you only guess. Let your eyes settle first.",
		20,
	},
	Highlights: {
		"Highlights",
		"The screen turns white. In one of nine places there is a square that is a little darker. Say where, even if you only guess.",
		6,
	},
	Tone: {
		"Tone",
		"Fine lines beside a plain grey. Lean back until the lines melt into one even tone. In the first few you set the plain side until both look the same; after that, say which side is lighter. The lines stand still; if stripes trouble you, leave this part out.",
		4,
	},
}

// Introduce returns what to tell a viewer before a check; the zero Intro for an aspect that no check asks about.
func Introduce(a Aspect) Intro { return intros[a] }

// Settings returns how many judgements of tone are settings in a sitting of a length.
func Settings(l Length) int { return battery[l][Tone].settings }
