package check

import (
	"fmt"
	"image"
	"math"
	"math/rand/v2"

	"example.org/plumb/patterns"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// evenGround is the code of the field: the middle one of the three at which ISO 12646:2008/Amd 1:2010 has its limits.
const evenGround = 128

// spotShare is how high a soft spot is on average over the square where the eye looks, as a share of its height in the middle: the mean of (1 - d²/R²)²
// over a square of side R/2. See patterns.Field and patterns.FieldSpot.
const spotShare = 1 - 2.0/24 + 28.0/45/256

// evenGamma is the gamma that is taken where nothing is known of the tone curve.
const evenGamma = 2.2

// mostRaise is the largest correction of a trial either way, in codes: at a gamma of 2.2 some 58 % more light where there are 3 by 3 places, and 42 % where
// there are 5 by 5. A frame of 384 and of 480 pixels in its shorter side shows it whole; see patterns.Field for smaller ones.
func mostRaise(grid int) int {
	if grid == 3 {
		return 32
	}
	return 24
}

// Obvious differences of practice and catch trials, in codes. A place is raised where the field is the brightest, as far as is known, and lowered where
// it is the darkest, so that no vignette hides it: at a gamma of 2.2, 56 codes are 115 % more light and 40 are 53 % less.
const (
	obviousRaise = 56
	obviousLower = 40
)

// Every easyPlaceEvery-th comparison of places is easy: it shows the viewer's noise. With one in six the error would be 4 % greater.
const easyPlaceEvery = 8

// evenness is the procedure of the evenness check in one sitting.
type evenness struct {
	grid   int // places in a row and in a column
	middle int // the place that others are compared with
	light  *surface
	tints  [len(screen.Hues)]*surface // nil where tints are not asked about
	curve  [256]float64               // log light by code
}

func beginEvenness(p Plan) procedure { return newEvenness(p.Length) }

func newEvenness(l Length) *evenness {
	e := &evenness{grid: 3}
	if l == Long {
		e.grid = 5
		for i := range e.tints {
			e.tints[i] = newSurface(e.grid, &tintSurfaces[i])
		}
	}
	e.middle = e.grid * e.grid / 2
	e.light = newSurface(e.grid, &lightSurface)
	e.hear(context{})
	return e
}

func (e *evenness) hear(c context) {
	for i := range e.curve {
		l := math.Pow(float64(i)/255, evenGamma)
		if c.curve != nil {
			l = c.curve[i]
		}
		e.curve[i] = math.Log(max(l, least))
	}
}

// raised returns by how much a spot of some codes raises the log light of a channel, where the eye looks.
func (e *evenness) raised(codes int) float64 {
	code := min(max(evenGround+float64(spotShare*float64(codes)), 0), 255)
	i := min(int(code), 254)
	part := code - float64(i)
	return float64((1-part)*e.curve[i]) + float64(part*e.curve[i+1]) - e.curve[evenGround]
}

// raise returns the codes, up to most either way, that raise the log light by nearest to what is wanted.
func (e *evenness) raise(want float64, most int) int {
	best, at := math.Inf(1), 0
	for d := -most; d <= most; d++ {
		if off := math.Abs(e.raised(d) - want); off < best-1e-9 {
			best, at = off, d
		}
	}
	return at
}

func (e *evenness) choose(k Kind, n int, _ bool, r *rand.Rand) Stimulus {
	if k == Practice || k == Catch {
		return e.obvious(k, n, r)
	}
	axis, count := e.turn(n)
	off := 0.0
	if count%easyPlaceEvery == easyPlaceEvery-1 {
		off = easy
		if r.Uint64()&1 == 0 {
			off = -off
		}
	}
	if axis >= 0 {
		return e.tinted(axis, off)
	}
	most := mostRaise(e.grid)
	place, match := e.light.next(func(want float64) float64 { return e.raised(e.raise(want, most)) })
	return Stimulus{Ground: evenGround, Grid: e.grid, Place: e.light.places[place], Delta: e.raise(match+float64(off*e.light.spread()), most)}
}

// obvious returns a stimulus whose answer is sure whatever the screen. In a long sitting the third and the fourth of practice are of tints.
func (e *evenness) obvious(k Kind, n int, r *rand.Rand) Stimulus {
	if axis := n - 2; k == Practice && axis >= 0 && axis < len(e.tints) && e.tints[axis] != nil {
		return e.obviousTint(axis, r)
	}
	raise := n%2 == 0
	if k == Catch {
		raise = r.Uint64()&1 == 0
	}
	s := Stimulus{Ground: evenGround, Grid: e.grid, Delta: -obviousLower}
	if raise {
		s.Delta = obviousRaise
	}
	from, best := r.IntN(len(e.light.places)), math.Inf(-1)
	for i := range e.light.places {
		p := (from + i) % len(e.light.places)
		v := e.light.expected(p)
		if !raise {
			v = -v
		}
		if v > best+1e-9 {
			best, s.Place = v, e.light.places[p]
		}
	}
	return s
}

func (e *evenness) pattern(s Stimulus, _ image.Rectangle, _ float64) patterns.Pattern {
	return patterns.Field{
		Ground: s.Ground, Rows: s.Grid, Cols: s.Grid, Place: s.Place, Delta: int8(s.Delta), Red: int8(s.Red), Blue: int8(s.Blue), Marks: true,
	}
}

func (e *evenness) ask(s Stimulus, _ Kind, bounds image.Rectangle, _ float64) (Task, string, []Choice) {
	task, question := PlaceLighter, "Which of the two marked places is lighter?"
	switch s.Hue {
	case screen.PinkGreen:
		task, question = PlacePinker, "Which of the two marked places is pinker, less green?"
	case screen.BlueYellow:
		task, question = PlaceYellow, "Which of the two marked places is yellower, less blue?"
	}
	label := cellLabels[s.Place%len(cellLabels)]
	if e.grid != 3 {
		label = fmt.Sprintf("row %d, column %d", s.Place/e.grid+1, s.Place%e.grid+1)
	}
	return task, question, []Choice{
		{"Digit1", "the middle", patterns.FieldSpot(bounds, e.grid, e.grid, e.middle)},
		{"Digit2", label, patterns.FieldSpot(bounds, e.grid, e.grid, s.Place)},
	}
}

func (e *evenness) right(s Stimulus, response int) bool {
	more := float64(s.Delta)
	for i, hue := range screen.Hues {
		if s.Hue == hue {
			more = e.hues(s.Delta, s.Red, s.Blue)[i]
		}
	}
	return response == 1 && more > 0 || response == 0 && more < 0
}

func (e *evenness) record(j Judgement) error {
	s := j.Stimulus
	if (s != Stimulus{Ground: evenGround, Hue: s.Hue, Red: s.Red, Blue: s.Blue, Grid: e.grid, Place: s.Place, Delta: s.Delta}) ||
		s.Place < 0 || s.Place >= e.grid*e.grid || s.Place == e.middle || max(s.Delta, -s.Delta) > mostRaise(e.grid) ||
		max(s.Red, -s.Red, s.Blue, -s.Blue) > mostHue || j.Response < CantTell || j.Response > 1 {
		return errForeign
	}
	place := s.Place
	if place > e.middle {
		place--
	}
	share := 0.5
	if j.Response != CantTell {
		share = float64(j.Response) // of the place having more than the middle
	}
	if s.Hue == "" {
		if s.Red != 0 || s.Blue != 0 {
			return errForeign
		}
		return e.light.record(spot{place, e.raised(s.Delta)}, share)
	}
	for i, hue := range screen.Hues {
		if s.Hue == hue && e.tints[i] != nil {
			return e.tints[i].record(spot{place, e.hues(s.Delta, s.Red, s.Blue)[i]}, share)
		}
	}
	return errForeign
}

// FieldDraws is how many fields a result holds at most.
const FieldDraws = 400

// An EvennessResult is what the evenness check found.
type EvennessResult struct {
	Grid   int                      // places in a row and in a column
	Worst  psychophysics.Estimate   // greatest absolute log light of a place over the middle; see screen.Field.Worst
	Places []psychophysics.Estimate // log light of each place over the middle, row by row; 0 in the middle
	Noise  psychophysics.Estimate   // SD of the viewer's comparisons of light, log light
	Tint   psychophysics.Estimate   // greatest distance of a place from the middle, u'v'; the zero Estimate where tints were not asked about

	Draws   []screen.Field // from the posterior; with tints where they were asked about along both axes
	Weights []float64      // their weights, which sum to 1
}

// result returns what was found, from n draws.
func (e *evenness) result(n int, r *rand.Rand) EvennessResult {
	res := EvennessResult{Grid: e.grid, Noise: e.light.noise()}
	logs := e.light.draw(n, r)
	var hues [len(screen.Hues)][][]float64
	tinted := true
	for _, t := range e.tints {
		tinted = tinted && t != nil && t.asked > 0
	}
	for i, t := range e.tints {
		if tinted {
			hues[i] = t.draw(n, r)
		}
	}
	equal, worst, tint, at := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range n {
		equal[i] = 1 / float64(n)
		f := screen.Field{Rows: e.grid, Cols: e.grid, Log: logs[i]}
		worst[i] = f.Worst()
		if tinted {
			f.Pink, f.Yellow = hues[0][i], hues[1][i]
			for p := range f.Pink {
				tint[i] = max(tint[i], screen.Length(f.Pink[p], f.Yellow[p]))
			}
		}
		if kept := min(n, FieldDraws); i < kept {
			res.Draws, res.Weights = append(res.Draws, f), append(res.Weights, 1/float64(kept))
		}
	}
	res.Worst = psychophysics.NewEstimate(worst, equal)
	if tinted {
		res.Tint = psychophysics.NewEstimate(tint, equal)
	}
	for p := range e.grid * e.grid {
		for i := range at {
			at[i] = logs[i][p]
		}
		res.Places = append(res.Places, psychophysics.NewEstimate(at, equal))
	}
	return res
}

// UnseenEvenness returns what is believed of evenness before any judgement, at 3 by 3 places.
func UnseenEvenness(r *rand.Rand) EvennessResult { return newEvenness(Standard).result(Draws, r) }
