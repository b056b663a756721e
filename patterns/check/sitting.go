package check

import (
	"errors"
	"fmt"
	"image"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"example.org/plumb/patterns"
	"example.org/plumb/patterns/screen"
)

// A procedure asks about one aspect and learns from the answers.
type procedure interface {
	// choose picks a stimulus; n counts the judgements of that kind so far, and left says on which side the plain, the lighter or the odd one is to
	// be where there are sides.
	choose(k Kind, n int, left bool, r *rand.Rand) Stimulus
	pattern(s Stimulus, bounds image.Rectangle, degree float64) patterns.Pattern
	// ask returns the task, the question in plain words and the choices, "can't tell" left out.
	ask(s Stimulus, k Kind, bounds image.Rectangle, degree float64) (Task, string, []Choice)
	right(s Stimulus, response int) bool
	record(j Judgement) error
}

// A context is what other checks of the sitting have found that one may build on.
type context struct {
	lo, hi int           // codes that surely part from black and from white
	curve  *[256]float64 // light of grey codes relative to own black and white, as best known

	ranges [screen.Ranges]float64 // probability of each range of the screen, from the other checks alone
}

// A listener is a procedure that builds on what others have found. It is told before it chooses and before it records.
type listener interface{ hear(context) }

// heard is what a procedure keeps of what others have found; until it hears, a power of 2.2 and every code.
type heard struct {
	curve  [256]float64 // light of grey codes relative to own black and white
	lo, hi int          // codes that surely part from black and from white
}

// unheard returns what is kept before anything was heard.
func unheard() heard {
	h := heard{hi: 255}
	for c := range h.curve {
		h.curve[c] = math.Pow(float64(c)/255, 2.2)
	}
	return h
}

func (h *heard) hear(c context) {
	h.lo, h.hi = c.lo, c.hi
	if c.curve != nil {
		h.curve = *c.curve
	}
}

// A watcher is a procedure that learns from obvious differences too: whether the viewer sees what it asks about at all.
type watcher interface{ watch(Judgement) }

// A ranger is a procedure whose answers bear on the range of the screen: the log of their probability under each, up to a constant.
type ranger interface {
	ranges() [screen.Ranges]float64
}

// begins makes the procedure of each aspect that is asked about.
var begins = map[Aspect]func(Plan) procedure{
	Shadows:     func(Plan) procedure { return shadows.begin() },
	Highlights:  func(Plan) procedure { return highlights.begin() },
	Tone:        func(p Plan) procedure { return beginLines(p.Degree).expecting(p.Expect, p.Degree) },
	Neutrals:    beginNeutrals,
	Smoothness:  func(p Plan) procedure { return beginSmoothness(p) },
	Evenness:    beginEvenness,
	ColourRange: beginReach,
	Channels:    beginChannels,
	Angle:       beginAngle,
	White:       beginWhite,
}

// ErrBattery is returned by Resume for a sitting of another revision of the checks.
var ErrBattery = errors.New("check: this sitting was begun under another revision of the checks and cannot go on; save what was answered and start anew")

// errForeign refuses a judgement that this program cannot have logged.
var errForeign = errors.New("no such question or answer; the log is damaged, or of another program")

// A Sitting is one run of checks by one viewer on one screen. With the same plan and the same presses it is the same.
type Sitting struct {
	plan  Plan
	slots []slot
	log   []Judgement

	procedures map[Aspect]procedure
	done       int          // slots answered
	asked      map[slot]int // judgements that count, by check and kind
	stopped    bool
	due        bool                      // the last slot was answered, and whether more are to come is not settled yet
	found      *Results                  // nil until asked for
	glimpsed   map[Aspect]screen.Profile // what glance found, by check

	// The ranges under which glance looks at a check: as they were when a round was first planned after the check learned.
	glimpsing map[Aspect][screen.Ranges]float64

	ready   bool // current holds the stimulus of the slot to be answered
	current Stimulus
	seq     int
	step    int // of a setting: codes that the next press moves
	heading int // of a setting: the last move
	presses int

	breath func() // see Breathe; nil for none
}

// mostMore is how often a sitting can be taken further.
const mostMore = 50

// leastDegree and mostDegree bound the device pixels to a degree of visual angle: a coarse screen against the nose, and a fine one across a hall.
const leastDegree, mostDegree = 10, 2000

// Begin starts a sitting.
func Begin(p Plan) (*Sitting, error) { return Resume(p, nil) }

// Resume takes a sitting up where its log ends. The log is what Log returned, and is not changed.
func Resume(p Plan, log []Judgement) (*Sitting, error) {
	if p.Battery != Battery {
		return nil, ErrBattery
	}
	if battery[p.Length] == nil {
		return nil, fmt.Errorf("check: length %q is not one of short, standard, long", p.Length)
	}
	if _, ok := screen.AimByID(p.Aim); !ok {
		return nil, fmt.Errorf("check: aim %q is not known", p.Aim)
	}
	if p.Degree != 0 && !(p.Degree >= leastDegree && p.Degree <= mostDegree) {
		return nil, fmt.Errorf("check: %.3g device pixels to a degree of what is seen cannot be right; look at the distance and the size of the card again", p.Degree)
	}
	if p.Seed >= 1<<53 {
		return nil, errors.New("check: seed must be below 2^53")
	}
	switch p.Reference {
	case "", "paper", "screen":
	default:
		return nil, fmt.Errorf("check: reference %q is neither paper nor screen", p.Reference)
	}
	if p.Expect != nil {
		if p.Length != Short || p.Fixed {
			return nil, errors.New("check: a sitting that is held against a profile is a short one, and planned")
		}
		if err := p.Expect.Validate(); err != nil {
			return nil, err
		}
	}
	if p.More < 0 || p.More > mostMore {
		return nil, fmt.Errorf("check: a sitting can be taken further %d times at most", mostMore)
	}
	s := &Sitting{plan: p, log: append([]Judgement(nil), log...)}
	if err := s.replay(); err != nil {
		return nil, err
	}
	return s, nil
}

// replay brings the state in line with the log.
func (s *Sitting) replay() error {
	s.procedures, s.asked, s.done, s.ready, s.found = map[Aspect]procedure{}, map[slot]int{}, 0, false, nil
	s.glimpsed, s.glimpsing = map[Aspect]screen.Profile{}, map[Aspect][screen.Ranges]float64{}
	s.slots = s.plan.slots()
	for i, j := range s.log {
		if j.N != i {
			return fmt.Errorf("check: judgement %d of the log has number %d; the log is not whole", i, j.N)
		}
		if j.Status != Counted {
			continue
		}
		if s.done >= len(s.slots) {
			s.extend(j.Check)
		}
		if err := s.learn(j); err != nil {
			return err
		}
	}
	s.due = true
	s.settle()
	return nil
}

// settle plans the next round if that is due. What it does depends on nothing that happens after the last answer, so it may wait until it matters.
func (s *Sitting) settle() {
	if !s.due {
		return
	}
	s.due = false
	if s.done >= len(s.slots) {
		s.extend("")
	}
}

// learn moves on past a judgement that counts.
func (s *Sitting) learn(j Judgement) error {
	here := slot{j.Check, j.Kind}
	if s.done >= len(s.slots) || s.slots[s.done] != here {
		if j.Kind != Practice || s.done >= len(s.slots) || s.slots[s.done].check != j.Check {
			return fmt.Errorf("check: judgement %d (%s, %s) is not what the plan asks for there; the log belongs to another sitting", j.N, j.Check, j.Kind)
		}
		s.slots = slices.Insert(s.slots, s.done, here) // asked again after a long pause
	}
	if j.Kind == Trial || j.Kind == Setting {
		p := s.procedure(j.Check)
		s.tell(p)
		if err := p.record(j); err != nil {
			return fmt.Errorf("check: judgement %d: %w", j.N, err)
		}
		s.found = nil
		delete(s.glimpsed, j.Check)
		delete(s.glimpsing, j.Check)
	} else if p, ok := s.procedure(j.Check).(watcher); ok {
		p.watch(j)
		s.found = nil
		delete(s.glimpsed, j.Check)
		delete(s.glimpsing, j.Check)
	}
	s.done++
	s.asked[here]++
	return nil
}

func (s *Sitting) procedure(a Aspect) procedure {
	p := s.procedures[a]
	if p == nil {
		if a == Smoothness {
			smoothFresh.get(s.Breath)
		}
		p = begins[a](s.plan)
		s.procedures[a] = p
	}
	return p
}

// Over reports whether there is nothing left to ask.
func (s *Sitting) Over() bool {
	s.settle()
	return s.stopped || s.done >= len(s.slots)
}

// Ready works out what comes next, which is what Over and Present wait for after an answer.
func (s *Sitting) Ready() {
	if !s.Over() {
		s.prepare()
	}
}

// Stop ends the sitting early; what was answered stands.
func (s *Sitting) Stop() {
	s.settle()
	s.stopped = true
}

// Plan returns the plan.
func (s *Sitting) Plan() Plan { return s.plan }

// Log returns every judgement so far, those that do not count included, in order. The caller must not change it.
func (s *Sitting) Log() []Judgement { return s.log }

const firstStep = 8 // codes by which a setting moves at first; halved at each turn, down to 1

// mostPresses ends a setting that a viewer cannot finish.
const mostPresses = 60

// prepare chooses the stimulus of the slot to be answered.
func (s *Sitting) prepare() slot {
	here := s.slots[s.done]
	if !s.ready {
		n := s.asked[here]
		p := s.procedure(here.check)
		if here.kind == Practice {
			s.context(p) // what others found is worked out once, rather while a viewer turns to this check than before the first question that counts
		} else {
			if c, ok := p.(*cells); ok {
				c.know(s.Breath)
			}
			s.tell(p)
		}
		r := rand.New(rand.NewPCG(s.plan.Seed, uint64(len(s.log))+1))
		s.current = p.choose(here.kind, n, s.left(here, n), r)
		s.ready, s.step, s.heading, s.presses = true, firstStep, 0, 0
		s.seq++
	}
	return here
}

// left says on which side the plain or the lighter patch is: both sides come within every pair, in an order that the viewer cannot foresee.
func (s *Sitting) left(here slot, n int) bool {
	r := rand.New(rand.NewPCG(s.plan.Seed^uint64(n/2)<<8, uint64(len(here.kind))))
	return (r.Uint64()&1 == 0) != (n%2 == 0)
}

// mostLost is how far from either end codes may be left out of line matches at most: enough must be left to ask about.
const mostLost = 75

// seen returns the codes that are known to part from black and from white.
func (s *Sitting) seen() (lo, hi int) {
	lo, hi = 0, 255
	if p, ok := s.procedures[Shadows].(*cells); ok {
		lo = min(p.parts(), mostLost)
	}
	if p, ok := s.procedures[Highlights].(*cells); ok {
		hi = max(p.parts(), 255-mostLost)
	}
	return lo, hi
}

// tell lets a procedure that builds on others hear what they have found.
func (s *Sitting) tell(p procedure) {
	if c, ok := s.context(p); ok {
		p.(listener).hear(c)
	}
}

// context is what others have found that a procedure builds on, if it does.
func (s *Sitting) context(p procedure) (c context, ok bool) {
	if _, ok := p.(listener); !ok {
		return c, false
	}
	c.ranges = s.ranges(p)
	c.lo, c.hi = s.seen()
	if tone, ok := s.procedures[Tone].(*lines); ok && procedure(tone) != p {
		c.curve = tone.likeliest()
		if n, ok := p.(*neutrals); ok && n.told != nil {
			n.told.tones = math.Tanh((tone.told.fits[isLoaded].Evidence() - tone.told.fits[isBare].Evidence()) / 2)
		}
	}
	return c, true
}

// Present returns what is to be answered now, laid out over bounds in pixels of the frame, or false once the sitting is over.
func (s *Sitting) Present(bounds image.Rectangle) (Presentation, bool) {
	if s.Over() {
		return Presentation{}, false
	}
	here := s.prepare()
	p := s.procedure(here.check)
	v := Presentation{
		Seq: s.seq, Check: here.check, Kind: here.kind, Ground: s.current.Ground,
		Done: s.done, Total: len(s.slots) + s.plan.room(s.slots), Left: max(lasting(s.slots[s.done:]), s.plan.budget()-lasting(s.slots[:s.done])),
		First: true,
	}
	for k := range s.asked {
		if k.check == here.check {
			v.First = false
		}
	}
	v.Back = !v.First && s.slots[s.done-1].check != here.check
	if w, ok := p.(interface{ wide() bool }); ok {
		v.Wide = w.wide()
	}
	v.Task, v.Question, v.Choices = p.ask(s.current, here.kind, bounds, s.plan.Degree)
	if here.kind != Setting {
		v.Choices = append(v.Choices, Choice{Key: "Space", Label: "can't tell"})
	}
	return v, true
}

// Frame paints the current presentation over the whole of dst. Once the sitting is over it paints nothing.
func (s *Sitting) Frame(dst *image.RGBA) {
	if s.Over() {
		return
	}
	here := s.prepare()
	s.procedure(here.check).pattern(s.current, dst.Rect, s.plan.Degree).Paint(dst, dst.Rect)
}

// Rest paints the surround of the current presentation alone, for the pause before it.
func (s *Sitting) Rest(dst *image.RGBA) {
	if s.Over() {
		return
	}
	s.prepare()
	patterns.Grey(s.current.Ground).Paint(dst, dst.Rect)
}

// Press puts a key press to the current presentation, at the time of the press and with the time since its first frame. A key that is no choice
// is ignored.
func (s *Sitting) Press(key string, at time.Time, latency time.Duration) Step {
	if s.Over() {
		return Ignored
	}
	here := s.prepare()
	response := CantTell
	if here.kind == Setting {
		switch key {
		case "ArrowUp":
			return s.adjust(1, at, latency)
		case "ArrowDown":
			return s.adjust(-1, at, latency)
		case "Enter":
			response = 0
		default:
			return Ignored
		}
	} else if key != "Space" {
		_, _, choices := s.procedure(here.check).ask(s.current, here.kind, image.Rectangle{}, s.plan.Degree)
		for i, c := range choices {
			if c.Key == key {
				response = i
			}
		}
		if response == CantTell {
			return Ignored
		}
	}
	return s.judged(response, at, latency)
}

// adjust moves a setting.
func (s *Sitting) adjust(by int, at time.Time, latency time.Duration) Step {
	if s.heading == -by {
		s.step = max(s.step/2, 1)
	}
	s.heading = by
	s.current.Plain = uint8(min(max(int(s.current.Plain)+by*s.step, 1), 254))
	s.presses++
	s.seq++
	if s.presses >= mostPresses {
		return s.judged(0, at, latency)
	}
	return Adjusted
}

func (s *Sitting) judged(response int, at time.Time, latency time.Duration) Step {
	j := s.entry(at)
	j.Response, j.Latency, j.Presses = response, latency.Milliseconds(), s.presses
	if j.Kind == Practice || j.Kind == Catch {
		j.Right = s.procedure(j.Check).right(s.current, response)
	}
	if err := s.learn(j); err != nil {
		panic("check: internal error: " + err.Error())
	}
	s.log = append(s.log, j)
	s.ready, s.due = false, true
	return Judged
}

// entry begins the log entry of the current presentation.
func (s *Sitting) entry(at time.Time) Judgement {
	here := s.slots[s.done]
	return Judgement{N: len(s.log), Check: here.check, Kind: here.kind, Stimulus: s.current, At: at.UnixMilli()}
}

// TakeBack undoes the last judgement that counts: it stays in the log, marked, and is asked again. It returns false when there is none.
func (s *Sitting) TakeBack() bool {
	for i := len(s.log) - 1; i >= 0; i-- {
		if s.log[i].Status == Counted {
			s.log[i].Status = TakenBack
			if err := s.replay(); err != nil {
				panic("check: internal error: " + err.Error())
			}
			s.stopped = false
			return true
		}
	}
	return false
}

// Disturb notes that what is up now was disturbed and asks it again, with cells in another place. A line match keeps its side, because sides come in pairs.
func (s *Sitting) Disturb(reason string, at time.Time) {
	if s.Over() {
		return
	}
	s.prepare()
	j := s.entry(at)
	j.Response, j.Status, j.Reason, j.Presses = CantTell, Disturbed, reason, s.presses
	s.log = append(s.log, j)
	s.ready = false
}

// Practise asks the practice trials of the current check once more, as after a long pause. It has no effect where there are none.
func (s *Sitting) Practise() {
	if s.Over() {
		return
	}
	here := s.slots[s.done].check
	asks, _ := s.plan.asks(here)
	n := asks.practice
	if n == 0 || s.slots[s.done].kind == Practice {
		return
	}
	again := make([]slot, 0, len(s.slots)+n)
	again = append(again, s.slots[:s.done]...)
	for range n {
		again = append(again, slot{here, Practice})
	}
	s.slots = append(again, s.slots[s.done:]...)
	s.ready = false
}

// Asks reports whether the plan asks about an aspect.
func (s *Sitting) Asks(a Aspect) bool {
	_, ok := s.plan.asks(a)
	return ok
}
