package pages

import (
	"fmt"
	"math"
	"strconv"
	"strings"
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
	part := func(at, n int, first, last string) string {
		switch {
		case at == n/2 && n%2 == 1:
			return ""
		case at == 0:
			return first
		case at == n-1:
			return last
		case at < n/2:
			return "towards the " + first
		}
		return "towards the " + last
	}
	row, col := part(i/m.Cols, m.Rows, "top", "bottom"), part(i%m.Cols, m.Cols, "left", "right")
	switch {
	case row == "" && col == "":
		return "middle"
	case strings.HasPrefix(row, "towards") && strings.HasPrefix(col, "towards"):
		return row + " " + strings.TrimPrefix(col, "towards the ")
	case row == "":
		return col
	case col == "":
		return row
	case strings.HasPrefix(col, "towards") || strings.HasPrefix(row, "towards"):
		return row + ", " + col
	}
	return row + " " + col
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
	interval := ""
	switch {
	case a >= 0:
		interval = fmt.Sprintf("%.0f to %.0f", a, b)
	case b <= 0:
		interval = fmt.Sprintf("%.0f to %.0f", -b, -a)
	default:
		interval = per(p.Lo) + " to " + per(p.Hi)
	}
	switch r := math.Round(p.Per); {
	case r > 0:
		return fmt.Sprintf("%.0f %% lighter than the middle (%s)", r, interval)
	case r < 0:
		return fmt.Sprintf("%.0f %% darker than the middle (%s)", -r, interval)
	}
	return "as light as the middle (" + interval + ")"
}

// intro says what the figures are.
func (m EvenMap) intro() string {
	at := ""
	if m.Level > 0 {
		at = " at code " + strconv.Itoa(m.Level)
	}
	return "Per cent lighter (+) or darker (−) than the middle" + at + ", with 90 % intervals. " + m.said() + " The drawing's differences are larger than the screen's."
}

// said is the map in a sentence, for those who hear the page and as its caption.
func (m EvenMap) said() string {
	s := ""
	if i := m.farthest(); i >= 0 {
		s = "Farthest from the middle: " + m.place(i) + ", " + m.Places[i].words() + "."
	} else {
		s = "All places are as light as the middle."
	}
	if m.Limit > 0 {
		s += " Allowed: " + strings.Replace(figure(m.Limit), "-", "−", 1) + " %."
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
			c.number, c.interval = "0", "middle"
		} else if m.Cols > 3 {
			c.interval = per(p.Lo) + "…" + per(p.Hi)
		} else {
			c.interval = per(p.Lo) + " to " + per(p.Hi)
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
