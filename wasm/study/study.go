// Package study is what a picture can be asked in a program of its own, beside the page, and what comes back: tasks and answers, as JSON.
package study

import (
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"

	"example.org/plumb/patterns/screen"
)

// What a Task asks.
const (
	Examine = "examine" // is this a picture that can be sent and shown, and what is it?
	Hide    = "hide"    // what does a screen hide of it?
	See     = "see"     // how does it look on a screen, seen on another?
)

// A Task is one question about one picture, or about a file that travels in it. Keys are names under which whoever asks keeps files; they mean nothing here.
type Task struct {
	What    string
	Picture string // key of the picture's file
	To      string // Examine, See: key that the file made gets
	Name    string // Examine, Describe: name of the file, for its ending alone

	Possible []screen.Possible // Hide: screens drawn from what is believed, equally likely; Field is not asked about and does not travel
	Aim      string            // Hide, Describe: the id of a screen.Aim; Describe: "" for the first

	Shown     *screen.Lights // See: what the screen makes of codes
	On        *screen.Lights // See: what the screen makes of them that it is seen on; nil is one with the sRGB curve
	File      []byte         // Describe: the file
	Against   []byte         // Describe: a profile that readings are held against; nil: none
	Second    []byte         // Describe: second readings of the same patches; nil: none
	Held      string         // Describe: what readings are held against: HeldColumns, HeldProfile, the name of a standard space; "" for what fits. Aim is what a profile's tones are held against
	Table     int            // Describe: which table of readings, from 0
	Unit      string         // Describe: what XYZ is in where the file does not say: UnitCandela and its like; "" for not told
	Luminance float64        // Describe: aimed at, in cd/m²; 0: that of the profile held against, if any
	Kelvin    float64        // Describe: the daylight that white is aimed at, 4000 to 25000; 0: the white of what is held against

	Field screen.Field // See: how even the first is, laid over the picture as if it filled the screen; the zero Field is even
}

// Found is what came of a Task. The zero Found claims nothing.
type Found struct {
	Refused *Refusal      // why the file is not taken, nil if it is; then there is nothing else
	About   About         // Examine
	Hidden  screen.Hidden // Hide
	Masks   *Masks        // Hide
	File    *File         // Examine, See: the file made, where one was made
	Paper   *Paper        // Describe
}

// A Refusal says in sentences why a file is not taken and what can be done.
type Refusal struct {
	Why, Do string
	Place   string // Describe: where in the file, such as "line 12, column 3" or "byte 132"; Why tells it too. "" for the file as a whole
}

// About is what a picture is, as it would be sent.
type About struct {
	Kind          string   // of the file to send, such as "image/png"
	Width, Height int      // as seen, in pixels
	Size          int64    // of the file to send, in bytes
	Digest        Digest   // SHA-256 of the file to send
	Source        Digest   // SHA-256 of the file that it was made from; the same where it is sent as it is
	From          string   // kind of that file
	Bits          int      // for each channel, of that file
	Wide          bool     // it may hold colours beyond sRGB
	Profile       bool     // it has a colour profile
	Notes         []string // plain sentences for whoever sends it
}

// File is a file that was made. Its bytes travel beside the answer.
type File struct {
	Kind string
	Size int64
}

// Masks are screen.Masks in one piece: the probability of being hidden by cell, 0 to 255 for 0 to 1, row by row.
type Masks struct {
	Cols, Rows                                    int
	Shadows, Lights, Merged, Shifted, Beyond, Any []byte
}

// Pack returns masks in one piece; nil where they have no cells.
func Pack(m screen.Masks) *Masks {
	if m.Any == nil || len(m.Any.Pix) == 0 {
		return nil
	}
	return &Masks{
		Cols: m.Any.Rect.Dx(), Rows: m.Any.Rect.Dy(),
		Shadows: m.Shadows.Pix, Lights: m.Lights.Pix, Merged: m.Merged.Pix, Shifted: m.Shifted.Pix, Beyond: m.Beyond.Pix, Any: m.Any.Pix,
	}
}

// Digest is a SHA-256, in hexadecimal where it is text.
type Digest [32]byte

// MarshalText returns 64 digits.
func (d Digest) MarshalText() ([]byte, error) { return hex.AppendEncode(nil, d[:]), nil }

// UnmarshalText takes 64 digits in lower case and nothing else.
func (d *Digest) UnmarshalText(text []byte) error {
	if len(text) != 2*len(d) {
		return errors.New("study: a digest has 64 digits")
	}
	for _, c := range text {
		if c >= 'A' && c <= 'F' {
			return errors.New("study: a digest is in lower case")
		}
	}
	if _, err := hex.Decode(d[:], text); err != nil {
		return errors.New("study: a digest is hexadecimal")
	}
	return nil
}

// Marshal returns a task as JSON.
func (t Task) Marshal() ([]byte, error) {
	possible := make([]screen.Possible, len(t.Possible))
	for i, p := range t.Possible {
		p.Field = screen.Field{}
		possible[i] = p
	}
	t.Possible = possible
	return marshal(t)
}

// ReadTask reads what Marshal wrote.
func ReadTask(text []byte) (Task, error) {
	var t Task
	if err := json.Unmarshal(text, &t); err != nil {
		return Task{}, fmt.Errorf("study: task: %w", err)
	}
	return t, nil
}

// Marshal returns an answer as JSON.
func (f Found) Marshal() ([]byte, error) { return marshal(f) }

// ReadFound reads what Marshal wrote. Masks whose cells do not fit their size are refused.
func ReadFound(text []byte) (Found, error) {
	var f Found
	if err := json.Unmarshal(text, &f); err != nil {
		return Found{}, fmt.Errorf("study: answer: %w", err)
	}
	if m := f.Masks; m != nil {
		if m.Cols <= 0 || m.Rows <= 0 || m.Cols > mostCells || m.Rows > mostCells {
			return Found{}, fmt.Errorf("study: masks of %d by %d", m.Cols, m.Rows)
		}
		for _, b := range [][]byte{m.Shadows, m.Lights, m.Merged, m.Shifted, m.Beyond, m.Any} {
			if len(b) != m.Cols*m.Rows {
				return Found{}, fmt.Errorf("study: a mask of %d by %d has %d cells", m.Cols, m.Rows, len(b))
			}
		}
	}
	return f, nil
}

// mostCells bounds the sides of masks, far beyond screen.Cells.
const mostCells = 1 << 16

func marshal(v any) ([]byte, error) {
	b, err := json.Marshal(v)
	if err != nil {
		return nil, fmt.Errorf("study: %w", err)
	}
	return b, nil
}
