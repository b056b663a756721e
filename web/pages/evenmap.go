package pages

import (
	"fmt"
	"math"
	"strconv"

	"example.org/plumb/web/words"
)

func (m EvenMap) drawn() bool {
	if m.Rows < 1 || m.Cols < 1 || m.Rows > 9 || m.Cols > 9 || len(m.Places) != m.Rows*m.Cols || !finite(m.Limit) {
		return false
	}
	for _, p := range m.Places {
		if !finite(p.Per, p.Lo, p.Hi) || p.Lo > p.Hi {
			return false
		}
	}
	return true
}

// middle is the place the others are compared with, or -1 where there is none.
func (m EvenMap) middle() int {
	if m.Rows%2 == 0 || m.Cols%2 == 0 {
		return -1
	}
	return len(m.Places) / 2
}

// farthest is the place that differs most from the middle, or -1.
func (m EvenMap) farthest() int {
	at, most := -1, 0.0
	for i, p := range m.Places {
		if i != m.middle() && math.Abs(p.Per) > most {
			at, most = i, math.Abs(p.Per)
		}
	}
	return at
}

// place is where a place lies, in words.
func (m EvenMap) place(i int) string {
	// part is which fifth of the way a row or a column lies in: 0 is the first, 4 the last, 2 the middle.
	part := func(at, n int) int {
		switch {
		case at == n/2 && n%2 == 1:
			return 2
		case at == 0:
			return 0
		case at == n-1:
			return 4
		case at < n/2:
			return 1
		}
		return 3
	}
	switch 5*part(i/m.Cols, m.Rows) + part(i%m.Cols, m.Cols) {
	case 0:
		return words.Say("top left")
	case 1:
		return words.Say("top, towards the left")
	case 2:
		return words.Say("top")
	case 3:
		return words.Say("top, towards the right")
	case 4:
		return words.Say("top right")
	case 5:
		return words.Say("towards the top, left")
	case 6:
		return words.Say("towards the top left")
	case 7:
		return words.Say("towards the top")
	case 8:
		return words.Say("towards the top right")
	case 9:
		return words.Say("towards the top, right")
	case 10:
		return words.Say("left")
	case 11:
		return words.Say("towards the left")
	case 13:
		return words.Say("towards the right")
	case 14:
		return words.Say("right")
	case 15:
		return words.Say("towards the bottom, left")
	case 16:
		return words.Say("towards the bottom left")
	case 17:
		return words.Say("towards the bottom")
	case 18:
		return words.Say("towards the bottom right")
	case 19:
		return words.Say("towards the bottom, right")
	case 20:
		return words.Say("bottom left")
	case 21:
		return words.Say("bottom, towards the left")
	case 22:
		return words.Say("bottom")
	case 23:
		return words.Say("bottom, towards the right")
	case 24:
		return words.Say("bottom right")
	}
	return words.Say("middle")
}

// per is a difference in per cent with its sign, without places after the point.
func per(v float64) string {
	r := math.Round(v)
	switch {
	case r > 0:
		return "+" + strconv.FormatFloat(r, 'f', 0, 64)
	case r < 0:
		return "−" + strconv.FormatFloat(-r, 'f', 0, 64)
	}
	return "0"
}

func (p EvenPlace) words() string {
	a, b := math.Round(p.Lo), math.Round(p.Hi)
	lo, hi := per(p.Lo), per(p.Hi)
	switch {
	case a >= 0:
		lo, hi = words.Number(a, 0), words.Number(b, 0)
	case b <= 0:
		lo, hi = words.Number(-b, 0), words.Number(-a, 0)
	}
	switch r := math.Round(p.Per); {
	case r > 0:
		return words.Say("%.0f %% lighter than the middle (%s to %s)", r, lo, hi)
	case r < 0:
		return words.Say("%.0f %% darker than the middle (%s to %s)", -r, lo, hi)
	}
	return words.Say("as light as the middle (%s to %s)", lo, hi)
}

// intro says what the figures are.
func (m EvenMap) intro() string {
	what := words.Say("Per cent lighter (+) or darker (−) than the middle, with 90 % intervals.")
	if m.Level > 0 {
		what = words.Say("Per cent lighter (+) or darker (−) than the middle at code %d, with 90 %% intervals.", m.Level)
	}
	return what + " " + m.said() + " " + words.Say("The drawing's differences are larger than the screen's.")
}

// said is the map in a sentence, for those who hear the page and as its caption.
func (m EvenMap) said() string {
	s := ""
	if i := m.farthest(); i >= 0 {
		s = words.Say("Farthest from the middle: %s, %s.", m.place(i), m.Places[i].words())
	} else {
		s = words.Say("All places are as light as the middle.")
	}
	if m.Limit > 0 {
		s += " " + words.Say("Allowed: %s %%.", figure(m.Limit))
	}
	return s
}

// A cell is one place of the map where it is drawn.
type cell struct {
	x, y, cx        string
	number, numberY string
	interval, intY  string
	ground, ink     string // neutral
	far, off        bool
	frame, corner   string
}

const (
	evenWidth = 400.0
	evenGap   = 2.0
)

// height is that of the whole drawing.
func (m EvenMap) height() float64 { return float64(m.Rows) * m.cellHeight() }

func (m EvenMap) cellHeight() float64 {
	if m.Cols > 3 {
		return 62
	}
	return 84
}

// cells lays the places out. Greys are those of the light, three codes to the per cent about code 150, so that they can be told apart; the ink is black or
// white, whichever has the contrast of 4.5 to 1 (WCAG 2.2, 1.4.3): from code 118 up black has it.
func (m EvenMap) cells() []cell {
	w, h := evenWidth/float64(m.Cols), m.cellHeight()
	far := m.farthest()
	var out []cell
	for i, p := range m.Places {
		x, y := float64(i%m.Cols)*w, float64(i/m.Cols)*h
		code := int(clamp(math.Round(150+3*p.Per), 32, 246))
		c := cell{
			x: num(x + evenGap/2), y: num(y + evenGap/2), cx: num(x + w/2), number: per(p.Per), numberY: num(y + h/2), intY: num(y + h/2 + 20),
			ground: fmt.Sprintf("#%02x%02x%02x", code, code, code), ink: "#000000", far: i == far, off: p.Off,
		}
		if code < 118 {
			c.ink = "#ffffff"
		}
		if i == m.middle() {
			c.number, c.interval = "0", words.Say("middle")
		} else if m.Cols > 3 {
			c.interval = per(p.Lo) + "…" + per(p.Hi)
		} else {
			c.interval = span(per(p.Lo), per(p.Hi))
		}
		c.frame = "M" + num(x+5) + " " + num(y+5) + "h" + num(w-10) + "v" + num(h-10) + "h" + num(10-w) + "z"
		c.corner = "M" + num(x+evenGap/2) + " " + num(y+evenGap/2) + "h18l-18 18z"
		out = append(out, c)
	}
	return out
}

func (m EvenMap) cellWidth() string       { return num(evenWidth/float64(m.Cols) - evenGap) }
func (m EvenMap) cellHeightDrawn() string { return num(m.cellHeight() - evenGap) }

// anyOff tells whether a place lies beyond the limit.
func (m EvenMap) anyOff() bool {
	for _, p := range m.Places {
		if p.Off {
			return true
		}
	}
	return false
}
