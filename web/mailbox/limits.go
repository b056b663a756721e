package mailbox

import "time"

// What a box takes. Sizes are of sealed bytes.
const (
	MaxLetter  = 256 << 10                   // bytes of a letter
	MaxLetters = 500                         // letters in a box
	Overhead   = 1 << 10                     // bytes that sealing may add to a chunk
	MaxChunk   = 4<<20 + Overhead            // bytes of a chunk
	MaxChunks  = 128                         // chunks of a parcel
	MaxParcel  = 64<<20 + MaxChunks*Overhead // bytes of a parcel
	MaxParcels = 64                          // parcels in a box
	MaxBox     = 256 << 20                   // bytes of a box, counted as in Box.Bytes
	Row        = 256                         // bytes that a box, a letter or a chunk counts beside its body
	Page       = 1 << 20                     // bytes of letters in one answer
)

// MaxLife is how far ahead a box may expire.
const MaxLife = 180 * 24 * time.Hour

const day = 24 * time.Hour

// Life is the day on which a box expires that is to last until t at least: the start of a day in UTC, rounded up. ErrRange if that is not after now or is further
// ahead than MaxLife, rounded up too.
func Life(now, t time.Time) (time.Time, error) {
	end := Day(t)
	if !end.After(now) || end.After(Day(now.Add(MaxLife))) {
		return time.Time{}, ErrRange
	}
	return end, nil
}

// Day is the start of the first day in UTC that is not before t.
func Day(t time.Time) time.Time {
	start := Today(t)
	if start.Before(t) {
		start = start.Add(day)
	}
	return start
}

// Today is the start of the day in UTC that t is in.
func Today(t time.Time) time.Time {
	y, m, d := t.UTC().Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// CheckLetter tells whether a letter of size bytes can be put: ErrRange, ErrTooLarge.
func CheckLetter(size int) error {
	switch {
	case size < 1:
		return ErrRange
	case size > MaxLetter:
		return ErrTooLarge
	}
	return nil
}

// CheckChunk tells whether a chunk of size bytes can be at position i: ErrRange, ErrTooLarge.
func CheckChunk(i int, size int64) error {
	switch {
	case i < 0 || i >= MaxChunks || size < 1:
		return ErrRange
	case size > MaxChunk:
		return ErrTooLarge
	}
	return nil
}
