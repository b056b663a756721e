package mailbox

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"
)

// Where boxes are on the web: Root, the address, and then
//
//	                       PUT opens, GET tells about the box, DELETE deletes
//	/extend  /close        POST
//	/letters/{id}          PUT
//	/letters?after=&limit= GET
//	/parcels/{id}          GET: what has arrived
//	/parcels/{id}/{i}      PUT, GET
const Root = "/api/v1/"

// Headers beside the usual ones. A right travels as a bearer token (RFC 6750, section 2.1).
const (
	OwnerHeader   = "Plumb-Owner"   // Owner.String
	ExpiresHeader = "Plumb-Expires" // a day, as FormatDay writes it
	Bearer        = "Bearer "       // before Right.Text
)

// ErrWire is the error of bytes that are not what the protocol says.
var ErrWire = errors.New("mailbox: not understood")

// statuses give the errors of a store as HTTP statuses. ErrTaken travels as ErrConflict does: what was asked tells them apart.
var statuses = []struct {
	err    error
	status int
}{
	{ErrNone, 404},
	{ErrConflict, 409},
	{ErrTaken, 409},
	{ErrTooLarge, 413},
	{ErrRange, 400},
	{ErrFull, 507},
}

// Status is the HTTP status of a store's error, 0 for one that has none.
func Status(err error) int {
	for _, s := range statuses {
		if errors.Is(err, s.err) {
			return s.status
		}
	}
	return 0
}

// Refusal is the error that an HTTP status stands for, nil for one that stands for none.
func Refusal(status int) error {
	for _, s := range statuses {
		if status == s.status {
			return s.err
		}
	}
	return nil
}

// head is what stands before a letter's body: its place in 8 bytes, its id, and the body's length in 4 bytes; numbers are big endian.
const head = 8 + len(ID{}) + 4

// MaxWire is the most bytes that letters in one answer have as they travel.
const MaxWire = Page + MaxLetters*head

// AppendLetters appends letters as they travel.
func AppendLetters(b []byte, letters []Letter) []byte {
	size := 0
	for _, l := range letters {
		size += head + len(l.Body)
	}
	b = slices.Grow(b, size)
	for _, l := range letters {
		b = binary.BigEndian.AppendUint64(b, l.Seq)
		b = append(b, l.ID[:]...)
		b = binary.BigEndian.AppendUint32(b, uint32(len(l.Body)))
		b = append(b, l.Body...)
	}
	return b
}

// ParseLetters reads what AppendLetters wrote: letters in rising order, each of a size that CheckLetter allows, no more than MaxLetters. Bodies share b's memory.
func ParseLetters(b []byte) ([]Letter, error) {
	var letters []Letter
	for last := uint64(0); len(b) > 0; {
		if len(b) < head {
			return nil, fmt.Errorf("%w: letters end early", ErrWire)
		}
		l := Letter{Seq: binary.BigEndian.Uint64(b)}
		copy(l.ID[:], b[8:])
		size := binary.BigEndian.Uint32(b[head-4:])
		b = b[head:]
		switch {
		case l.Seq <= last:
			return nil, fmt.Errorf("%w: letters out of order", ErrWire)
		case size < 1 || size > MaxLetter || len(letters) == MaxLetters:
			return nil, fmt.Errorf("%w: more than a box holds", ErrWire)
		case uint64(len(b)) < uint64(size):
			return nil, fmt.Errorf("%w: letters end early", ErrWire)
		}
		l.Body, b = b[:size:size], b[size:]
		last = l.Seq
		letters = append(letters, l)
	}
	return letters, nil
}

// FormatDay writes the day in UTC that t is in, as 2026-12-31.
func FormatDay(t time.Time) string { return t.UTC().Format(time.DateOnly) }

// ParseDay reads what FormatDay wrote: the start of that day in UTC.
func ParseDay(s string) (time.Time, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return time.Time{}, fmt.Errorf("%w: no day such as 2026-12-31", ErrWire)
	}
	return t, nil
}

// Short answers are JSON.
type (
	seqWire struct {
		Seq uint64 `json:"seq"`
	}
	boxWire struct {
		Expires string `json:"expires"`
		Letters int    `json:"letters"`
		Bytes   int64  `json:"bytes"`
		Closed  bool   `json:"closed"`
	}
	parcelWire struct {
		Chunks []int `json:"chunks"`
	}
)

// MarshalSeq writes the answer to Put, {"seq":1}.
func MarshalSeq(seq uint64) []byte { return marshal(seqWire{seq}) }

// ParseSeq reads what MarshalSeq wrote.
func ParseSeq(b []byte) (uint64, error) {
	var w seqWire
	if err := unmarshal(b, &w); err != nil {
		return 0, err
	}
	if w.Seq < 1 || w.Seq > MaxLetters {
		return 0, fmt.Errorf("%w: no place of a letter", ErrWire)
	}
	return w.Seq, nil
}

// Marshal writes {"expires":"2026-12-31","letters":1,"bytes":1024,"closed":false}.
func (b Box) Marshal() []byte {
	return marshal(boxWire{FormatDay(b.Expires), b.Letters, b.Bytes, b.Closed})
}

// ParseBox reads what Box.Marshal wrote.
func ParseBox(b []byte) (Box, error) {
	var w boxWire
	if err := unmarshal(b, &w); err != nil {
		return Box{}, err
	}
	day, err := ParseDay(w.Expires)
	if err != nil {
		return Box{}, err
	}
	if w.Letters < 0 || w.Letters > MaxLetters || w.Bytes < 0 || w.Bytes > MaxBox {
		return Box{}, fmt.Errorf("%w: no box", ErrWire)
	}
	return Box{day, w.Letters, w.Bytes, w.Closed}, nil
}

// Marshal writes {"chunks":[1048592,0,52]}.
func (p Parcel) Marshal() []byte { return marshal(parcelWire{append([]int{}, p.Chunks...)}) }

// ParseParcel reads what Parcel.Marshal wrote.
func ParseParcel(id ID, b []byte) (Parcel, error) {
	var w parcelWire
	if err := unmarshal(b, &w); err != nil {
		return Parcel{}, err
	}
	if len(w.Chunks) > MaxChunks {
		return Parcel{}, fmt.Errorf("%w: more chunks than a parcel has", ErrWire)
	}
	for _, size := range w.Chunks {
		if size < 0 || size > MaxChunk {
			return Parcel{}, fmt.Errorf("%w: no chunk", ErrWire)
		}
	}
	p := Parcel{ID: id}
	if len(w.Chunks) > 0 {
		p.Chunks = w.Chunks
	}
	return p, nil
}

func marshal(w any) []byte {
	b, err := json.Marshal(w)
	if err != nil {
		panic(err) // numbers, texts and truth values always go
	}
	return b
}

func unmarshal(b []byte, w any) error {
	if err := json.Unmarshal(b, w); err != nil {
		return fmt.Errorf("%w: %w", ErrWire, err)
	}
	return nil
}
