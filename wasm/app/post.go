package app

import (
	"errors"
	"slices"
	"time"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/words"
)

// What is to be done at a box.
type What int

const (
	OpenBox    What = iota // opens a box for an owner until a day
	PutLetter              // puts a letter
	GetLetters             // reads the letters after a place
	LookBox                // tells what is known about a box
	ExtendBox              // moves the end
	CloseBox               // lets nothing more in
	DeleteBox              // removes all
	PutParcel              // seals a picture and sends it as a parcel, from where it stopped
	GetParcel              // fetches a parcel as a picture
)

// An Errand is one thing to do at a box. What does not belong to it is zero.
type Errand struct {
	What  What
	Box   mailbox.Address
	Right mailbox.Right
	Until time.Time
	ID    mailbox.ID // of the letter
	Body  []byte
	After uint64
	Limit int

	// Of PutParcel and GetParcel, whose ID is the parcel's name.
	Key     [32]byte // that seals the parcel: one key for one name and one sequence of bytes
	Picture string   // key of the picture that is sent, or that what is fetched gets
	Size    int64    // of the picture in bytes
	Digest  [32]byte // GetParcel: SHA-256 of the picture; another gives ErrDigest
	Kind    string   // GetParcel: media type of the picture
}

// Found is what an errand brought: letters from GetLetters, the box from LookBox, nothing from the others.
type Found struct {
	Letters []mailbox.Letter
	Box     mailbox.Box
	Date    time.Time // by the server's clock, to the second; zero where it told none and after an error
}

// A Post runs errands. Each is answered by Ran with its number, once, and never before Run has returned. Before that a parcel tells by Carried how far it is.
type Post interface {
	Run(n int, e Errand)
}

// What may be wrong with a post. A Post wraps one of these where it knows, or an error of package mailbox.
var (
	ErrOffline = errors.New("the server cannot be reached") // no answer came: the connection or the server is down
	ErrServer  = errors.New("the server failed")            // what came is no answer to what was asked
	ErrAlone   = errors.New("the site has no mailbox")      // nothing was asked: see Browser.Alone
	ErrPart    = errors.New("not all of it is there yet")   // who sends a parcel has not sent all of it
	ErrAltered = errors.New("it does not open")             // a parcel that another key sealed, or that was altered
)

// A Timer wakes the program also where nothing is painted, as in a hidden tab.
type Timer interface {
	Ring(after time.Duration) // answered by Rang, once; only the latest call counts
}

// A job is something to be done at a server until it is done: it is tried again ever more rarely while the server is down.
type job struct {
	name  string
	due   time.Duration
	tries int           // in a row that failed
	pause time.Duration // from the last failure to the next try; 0 while none failed
	busy  bool          // an errand is on its way
	run   func(j *job)
}

// outbox is the program's side of the post.
type outbox struct {
	last   int
	flying map[int]func(Found, error)
	far    map[int]func(share float64) // told how far a parcel is
	jobs   []*job
}

// errand sends off an errand; then is called with what came of it.
func (a *App) errand(e Errand, then func(Found, error)) {
	p := &a.post
	p.last++
	if p.flying == nil {
		p.flying = map[int]func(Found, error){}
	}
	p.flying[p.last] = then
	a.host.Post.Run(p.last, e)
}

// carry sends off an errand with a parcel: far is told how much of it has come across, from 0 to 1.
func (a *App) carry(e Errand, far func(share float64), then func(Found, error)) {
	p := &a.post
	if p.far == nil {
		p.far = map[int]func(float64){}
	}
	n := p.last + 1
	p.far[n] = far
	a.errand(e, func(f Found, err error) {
		delete(p.far, n)
		then(f, err)
	})
}

// Carried takes how much of the parcel of an errand has come across, from 0 to 1.
func (a *App) Carried(n int, share float64) {
	if far, ok := a.post.far[n]; ok {
		far(share)
	}
}

// Ran takes the answer to an errand.
func (a *App) Ran(n int, found Found, err error) {
	then, ok := a.post.flying[n]
	if !ok {
		return
	}
	delete(a.post.flying, n)
	then(found, err)
	a.ring()
}

// hire adds a job that is due at once. One of that name that is there already is made due.
func (a *App) hire(name string, run func(j *job)) {
	now := a.host.Clock.Now()
	if j := a.post.find(name); j != nil {
		j.due = min(j.due, now)
	} else {
		a.post.jobs = append(a.post.jobs, &job{name: name, due: now, run: run})
	}
	a.ring()
}

// dismiss ends a job.
func (a *App) dismiss(name string) {
	a.post.jobs = slices.DeleteFunc(a.post.jobs, func(j *job) bool { return j.name == name })
}

// find is the job of a name, or nil.
func (p *outbox) find(name string) *job {
	for _, j := range p.jobs {
		if j.name == name {
			return j
		}
	}
	return nil
}

// The pause after a failure doubles from the first to the second of these.
const (
	retryFirst = time.Second
	retryLast  = time.Minute
)

// again plans the next try of a job after a failure that may pass.
func (a *App) again(j *job, err error) {
	j.busy = false
	j.tries++
	j.pause = min(retryFirst<<min(j.tries-1, 10), retryLast)
	// Many who wait for one server do not come back at the same moment.
	j.pause += j.pause / 4 * time.Duration(a.next53()%1000) / 1000
	var busy mailbox.Busy
	if errors.As(err, &busy) {
		j.pause = max(j.pause, busy.After)
	}
	j.due = a.host.Clock.Now() + j.pause
}

// passing tells whether an error may go away by itself.
func passing(err error) bool {
	var busy mailbox.Busy
	return errors.Is(err, ErrOffline) || errors.Is(err, ErrServer) || errors.As(err, &busy)
}

// ring sets the timer for the job that is due first. While a sitting runs nothing is sent: the network could disturb its timing.
func (a *App) ring() {
	if a.working() {
		return
	}
	now := a.host.Clock.Now()
	first, any := time.Duration(0), false
	for _, j := range a.post.jobs {
		if !j.busy && (!any || j.due < first) {
			first, any = j.due, true
		}
	}
	if any {
		a.host.Timer.Ring(max(0, first-now))
	}
}

// Rang takes the alarm set by Ring: what is due is done.
func (a *App) Rang() {
	if a.working() {
		return
	}
	now := a.host.Clock.Now()
	for _, j := range slices.Clone(a.post.jobs) {
		if !j.busy && j.due <= now {
			j.busy = true
			j.run(j)
		}
	}
	a.ring()
}

// hurry makes everything that waits due: the tab was woken, or the connection came back.
func (a *App) hurry() {
	if len(a.post.jobs) == 0 {
		return
	}
	now := a.host.Clock.Now()
	for _, j := range a.post.jobs {
		j.due = min(j.due, now)
	}
	a.ring()
}

// Online takes the connection coming back.
func (a *App) Online() {
	if Whole {
		a.hurry()
	}
}

// working tells whether a viewer is judging.
func (a *App) working() bool { return a.stage == Sitting || a.stage == Intro }

// server is who carries letters, as it is called on the page.
func (a *App) server() string { return a.browser.Host }

// failure is what an error of the post means, in a sentence.
func (a *App) failure(err error) string {
	var busy mailbox.Busy
	switch {
	case errors.As(err, &busy):
		return words.Say("%s is busy.", a.server())
	case errors.Is(err, ErrOffline):
		return words.Say("%s cannot be reached: it is down, or there is no connection.", a.server())
	case errors.Is(err, ErrServer):
		return words.Say("%s answers, but not as it should: something is wrong with it, or with what lies between.", a.server())
	case errors.Is(err, ErrAlone):
		return words.Say("%s has no mailbox: it hands out pages and carries nothing.", a.server())
	case errors.Is(err, ErrPart):
		return words.Say("Not all of the picture has been sent yet.")
	case errors.Is(err, ErrAltered), errors.Is(err, mailbox.ErrConflict):
		return words.Say("What lies at %s is not what was sent: it was altered, or something else was put in its place.", a.server())
	case errors.Is(err, ErrDigest):
		return words.Say("The picture that came is not the one that was told of.")
	case errors.Is(err, ErrNoPicture):
		return words.Say("The picture is no longer in this browser.")
	case errors.Is(err, mailbox.ErrNone):
		return words.Say("There is no such box at %s: it has expired, or was closed or deleted.", a.server())
	case errors.Is(err, mailbox.ErrFull):
		return words.Say("%s has no more room for this.", a.server())
	case errors.Is(err, mailbox.ErrTooLarge):
		return words.Say("It is larger than %s takes.", a.server())
	case errors.Is(err, mailbox.ErrRange):
		return words.Say("%s does not keep a box for so long.", a.server())
	}
	return words.Say("It did not work: %s.", words.Found(err.Error()))
}

// wait is what becomes of a job that failed, in words; empty of one that did not.
func (a *App) wait(j *job) string {
	if j == nil || j.pause == 0 {
		return ""
	}
	return words.Say("It is tried again by itself.")
}
