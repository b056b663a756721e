package check

import (
	"math/rand/v2"
	"time"
)

// Battery is the revision of the checks. It rises when trials, patterns, choices or limits change, and a sitting is resumed only under the
// revision it began with.
const Battery = 6

// MinWidth and MinHeight are the smallest frame, in device pixels, on which every check fits.
const MinWidth, MinHeight = 300, 300

// An Intro is what a viewer is told before the first presentation of a check.
type Intro struct {
	Title, Text string
	Settle      int // seconds for the eyes to settle on the new surround
}

// counts says how many judgements of each kind a check has.
type counts struct{ practice, settings, trials, catches int }

// battery is what every sitting of a length asks about; what its time leaves over goes where it teaches most (see plan.go). Catch trials are about
// 1 in 8.
var battery = map[Length]map[Aspect]counts{
	Short: {
		Shadows:    {1, 0, 6, 1},
		Highlights: {1, 0, 4, 1},
		Tone:       {1, 3, 6, 1},
		Neutrals:   {1, 0, 7, 1},
		Smoothness: {1, 0, 6, 1},
		Evenness:   {1, 0, 6, 1},
	},
	Standard: {
		Shadows:     {2, 0, 9, 2},
		Highlights:  {1, 0, 6, 1},
		Tone:        {2, 4, 10, 2},
		Neutrals:    {2, 0, 18, 2},
		Smoothness:  {1, 0, 9, 1},
		Evenness:    {1, 0, 9, 1},
		ColourRange: {1, 0, 3, 0},
	},
	Long: {
		Shadows:     {2, 0, 14, 2},
		Highlights:  {1, 0, 9, 2},
		Tone:        {2, 5, 22, 3},
		Neutrals:    {2, 0, 24, 3},
		Smoothness:  {1, 0, 16, 2},
		Evenness:    {4, 0, 24, 3},
		ColourRange: {1, 0, 6, 1},
		Channels:    {2, 3, 15, 2},
		Angle:       {1, 4, 10, 1},
	},
}

// fixed is the whole of each length where it is not planned. The counts were found by simulating each check alone.
var fixed = map[Length]map[Aspect]counts{
	Short: {
		Shadows:     {2, 0, 7, 1},
		Highlights:  {2, 0, 6, 1},
		Tone:        {2, 3, 9, 1},
		Neutrals:    {2, 0, 12, 1},
		Smoothness:  {2, 0, 8, 1},
		Evenness:    {2, 0, 12, 0},
		ColourRange: {0, 0, 2, 0},
	},
	Standard: {
		Shadows:     {2, 0, 10, 1},
		Highlights:  {2, 0, 8, 1},
		Tone:        {2, 4, 14, 2},
		Neutrals:    {2, 0, 20, 2},
		Smoothness:  {2, 0, 22, 2},
		Evenness:    {2, 0, 24, 2},
		ColourRange: {1, 0, 6, 1},
	},
	Long: {
		Shadows:     {2, 0, 14, 2},
		Highlights:  {2, 0, 10, 2},
		Tone:        {2, 6, 24, 3},
		Neutrals:    {2, 0, 36, 4},
		Smoothness:  {2, 0, 34, 4},
		Evenness:    {2, 0, 40, 4},
		ColourRange: {1, 0, 8, 1},
		Channels:    {2, 3, 21, 2},
		Angle:       {1, 4, 8, 1},
	},
}

// expecting is what a sitting asks about that is held against a profile: whether the tones and greys are as with the correction or as without, and what no
// instrument says. Shadows and highlights would not tell the two apart.
var expecting = map[Aspect]counts{
	Tone:       {1, 2, 14, 1},
	Neutrals:   {1, 0, 10, 1},
	Smoothness: {1, 0, 6, 1},
	Evenness:   {1, 0, 6, 1},
}

// table is how many judgements of each kind the plan's checks have.
func (p Plan) table() map[Aspect]counts {
	switch {
	case p.Expect != nil:
		return expecting
	case p.Fixed:
		return fixed[p.Length]
	}
	return battery[p.Length]
}

// whites is how many judgements a white against a reference takes, where it is asked about.
var whites = counts{1, 0, 16, 1}

// budgets are how long each length may take.
var budgets = map[Length]time.Duration{Short: 250 * time.Second, Standard: 500 * time.Second, Long: 900 * time.Second}

// order is how checks follow each other: those that need settled eyes first.
var order = []Aspect{Shadows, Highlights, Tone, Neutrals, Channels, Angle, Smoothness, ColourRange, Evenness, White}

// A slot is one judgement that a plan asks for.
type slot struct {
	check Aspect
	kind  Kind
}

// seconds is about how long a viewer takes for one judgement of a kind, the rest before it included.
func (s slot) seconds() float64 {
	if s.kind == Setting {
		return 8
	}
	switch s.check {
	case Shadows, Highlights, Smoothness, ColourRange:
		return 3.2
	case White:
		return 4
	}
	return 3.4
}

// asks says how many judgements of each kind the plan has of a check before it looks at what is unsure.
func (p Plan) asks(a Aspect) (counts, bool) {
	if _, skip := p.Skip[a]; skip || begins[a] == nil {
		return counts{}, false
	}
	if a == White {
		return whites, p.Reference != ""
	}
	n, ok := p.table()[a]
	return n, ok
}

// slots lays out the first part of a plan: practice first, catch trials spread so that none comes twice in a row nor at a place the viewer can foresee.
func (p Plan) slots() []slot {
	var all []slot
	r := rand.New(rand.NewPCG(p.Seed, 0x706c756d62))
	for _, a := range order {
		n, ok := p.asks(a)
		if !ok {
			continue
		}
		for range n.practice {
			all = append(all, slot{a, Practice})
		}
		for range n.settings {
			all = append(all, slot{a, Setting})
		}
		all = append(all, spread(a, n.trials, n.catches, r)...)
	}
	return all
}

// spread cuts trials into as many stretches as there are catch trials, and puts one of these at random inside each.
func spread(a Aspect, trials, catches int, r *rand.Rand) []slot {
	var all []slot
	at := 0
	for c := range catches {
		end := trials * (c + 1) / catches
		from := max(at, 1) // not before the first trial, and never two in a row
		place := from + r.IntN(max(end-from, 1))
		for ; at < end; at++ {
			if at == place {
				all = append(all, slot{a, Catch})
			}
			all = append(all, slot{a, Trial})
		}
	}
	for ; at < trials; at++ {
		all = append(all, slot{a, Trial})
	}
	return all
}

// About returns about how many judgements a sitting has, practice and catch trials included, and about how long it takes.
func About(l Length, skip map[Aspect]string) (judgements int, d time.Duration) {
	return Plan{Length: l, Skip: skip}.About()
}

// About returns about how many judgements a sitting of the plan has, practice and catch trials included, and about how long it takes.
func (p Plan) About() (judgements int, d time.Duration) {
	slots := p.slots()
	return len(slots) + p.room(slots), max(lasting(slots), p.budget())
}

// usual is about how long a judgement of a later round takes, in seconds, its share of settling and catch trials included.
const usual = 4.4

// room is how many judgements fit into the time that is left after slots.
func (p Plan) room(slots []slot) int {
	return max(0, int((p.budget()-lasting(slots)).Seconds()/usual))
}

// further is how long a sitting goes on each time it is taken further.
const further = 4 * time.Minute

// budget is how long the sitting may take.
func (p Plan) budget() time.Duration {
	if p.Fixed {
		return 0
	}
	whole, mine := 0.0, 0.0 // what all checks take, and those that are asked
	for _, a := range order {
		if n, ok := p.table()[a]; ok {
			k := float64(n.trials + 2*n.settings)
			whole += k
			if _, ok := p.asks(a); ok {
				mine += k
			}
		}
	}
	d := time.Duration(float64(budgets[p.Length]) * mine / max(whole, 1))
	if p.Reference != "" {
		d += time.Duration(float64(whites.trials)*slot{White, Trial}.seconds()) * time.Second
	}
	return d + time.Duration(p.More)*further
}

// lasting adds the time for reading introductions and for eyes to settle to that of the judgements.
func lasting(slots []slot) time.Duration {
	total, last, met := 0.0, Aspect(""), map[Aspect]bool{}
	for _, s := range slots {
		if s.check != last {
			total += turning(s.check, met[s.check])
			last, met[s.check] = s.check, true
		}
		total += s.seconds()
	}
	return time.Duration(total * float64(time.Second)).Round(time.Second)
}

// turning is about how long, in seconds, it takes to turn to a check: reading, which is less where it was met before, and settling.
func turning(a Aspect, met bool) float64 {
	if met {
		return float64(intros[a].Settle) + 2
	}
	return float64(intros[a].Settle) + 6
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
	Neutrals: {
		"Neutrals",
		"Fine lines beside a plain side again. This time never mind which is lighter: say which side is pinker, or which is yellower. The differences are small; go by the first look.",
		3,
	},
	Smoothness: {
		"Smoothness",
		"A square in four quarters. One of them is a very little lighter or darker than the other three. Say which, even if you only guess. Now and then there are two slow ramps instead: say which runs more smoothly.",
		3,
	},
	Evenness: {
		"Evenness",
		"A plain grey over the whole screen with two small dots. Say at which of the two the grey is lighter. Keep your head in the middle, and never mind the dots themselves.",
		4,
	},
	ColourRange: {
		"Colour range",
		"Four squares of one strong colour. In one of them there may be a letter in a still stronger colour. Say which, even if you only guess.",
		3,
	},
	Channels: {
		"Channels",
		"Fine lines beside a plain side, in red, green or blue alone. Lean back until the lines melt, and say which side is lighter.",
		3,
	},
	Angle: {
		"Viewing angle",
		"Fine lines beside a plain side, at the top or at the bottom of the screen. Keep your head where it is, and say which side is lighter.",
		3,
	},
	White: {
		"White",
		"A white field. Hold it against your reference: the sheet of paper under its lamp, or the other screen that shows the same. Say how this screen differs.",
		10,
	},
}

// Introduce returns what to tell a viewer before a check; the zero Intro for an aspect that no check asks about.
func Introduce(a Aspect) Intro { return intros[a] }

// Settings returns how many judgements of tone are settings in a sitting of a length.
func Settings(l Length) int { return battery[l][Tone].settings }
