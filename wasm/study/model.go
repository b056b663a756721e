package study

import (
	"encoding/binary"
	"errors"
	"math"

	"example.org/plumb/patterns/screen"
)

// A Model is what is needed to show a picture as a screen does: the light of its codes, and of its places. The zero Model is no screen.
type Model struct {
	Lights screen.Lights
	Field  screen.Field
}

// A packed model is the line "plumb screen 1", then, big-endian:
//
//	768 × uint16   for red, green and blue and each code from 0: the square root of its light over that of white, in parts of 32768
//	3 × uint8      rows, columns of places, and 1 where places have tints, else 0
//	n × int16      for each place, row by row: the logarithm of its light over the middle's, in parts of 8192
//	2n × int16     where places have tints: along PinkGreen for each, then along BlueYellow, u'v', in parts of 131072
//
// The root spends its steps as the eye does: a step is less than 0.01 codes of the sRGB curve everywhere above black, and 0 is black.
const head = "plumb screen 1\n"

const (
	rootUnit  = 1 << 15
	logUnit   = 1 << 13
	tintUnit  = 1 << 17
	mostSide  = 16 // of the grid of places
	bareSize  = len(head) + 2*3*256 + 3
	modelSize = bareSize + 2*3*mostSide*mostSide
)

// MostModel is the most bytes that a packed model has.
const MostModel = modelSize

// Errors of Unpack and Pack.
var (
	ErrModelVersion = errors.New("study: not a screen model of this version")
	ErrModelLayout  = errors.New("study: a screen model that is not laid out as it should be")
	ErrModelValue   = errors.New("study: a screen model with a value that no screen has")
)

// Pack returns the model's bytes. Light above 3.99 times white, or a place whose light or tint is beyond what an int16 holds, is set to the end.
func (m Model) Pack() ([]byte, error) {
	b := append(make([]byte, 0, modelSize), head...)
	for i := range m.Lights {
		for _, l := range m.Lights[i] {
			if math.IsNaN(l) || l < 0 {
				return nil, ErrModelValue
			}
			b = binary.BigEndian.AppendUint16(b, uint16(min(math.Floor(float64(math.Sqrt(l)*rootUnit)+0.5), math.MaxUint16)))
		}
	}
	f, n := m.Field, m.Field.Rows*m.Field.Cols
	tinted := f.Pink != nil || f.Yellow != nil
	if f.Rows < 0 || f.Cols < 0 || f.Rows > mostSide || f.Cols > mostSide || (n == 0) != (f.Rows == 0 && f.Cols == 0) || len(f.Log) != n {
		return nil, ErrModelLayout
	}
	if tinted && (len(f.Pink) != n || len(f.Yellow) != n || n == 0) {
		return nil, ErrModelLayout
	}
	b = append(b, uint8(f.Rows), uint8(f.Cols), 0)
	put := func(values []float64, unit float64) error {
		for _, v := range values {
			if math.IsNaN(v) {
				return ErrModelValue
			}
			v = min(max(math.Floor(float64(v*unit)+0.5), math.MinInt16), math.MaxInt16)
			b = binary.BigEndian.AppendUint16(b, uint16(int16(v)))
		}
		return nil
	}
	if err := put(f.Log, logUnit); err != nil {
		return nil, err
	}
	if tinted {
		b[bareSize-1] = 1
		if err := errors.Join(put(f.Pink, tintUnit), put(f.Yellow, tintUnit)); err != nil {
			return nil, ErrModelValue
		}
	}
	return b, nil
}

// Unpack reads what Pack wrote, and nothing else: packing again gives the same bytes.
func Unpack(b []byte) (Model, error) {
	if len(b) < len(head) || string(b[:len(head)]) != head {
		return Model{}, ErrModelVersion
	}
	if len(b) < bareSize || len(b) > modelSize {
		return Model{}, ErrModelLayout
	}
	var m Model
	rest := b[len(head):]
	for i := range m.Lights {
		for c := range m.Lights[i] {
			root := float64(binary.BigEndian.Uint16(rest)) / rootUnit
			m.Lights[i][c] = root * root
			rest = rest[2:]
		}
	}
	rows, cols, tinted := int(rest[0]), int(rest[1]), rest[2]
	rest = rest[3:]
	n, parts := rows*cols, 1
	if tinted == 1 {
		parts = 3
	}
	if rows > mostSide || cols > mostSide || tinted > 1 || (n == 0) != (rows == 0 && cols == 0) || n == 0 && tinted != 0 || len(rest) != 2*n*parts {
		return Model{}, ErrModelLayout
	}
	if n == 0 {
		return m, nil
	}
	m.Field.Rows, m.Field.Cols = rows, cols
	get := func(unit float64) []float64 {
		v := make([]float64, n)
		for i := range v {
			v[i] = float64(int16(binary.BigEndian.Uint16(rest))) / unit
			rest = rest[2:]
		}
		return v
	}
	m.Field.Log = get(logUnit)
	if tinted == 1 {
		m.Field.Pink, m.Field.Yellow = get(tintUnit), get(tintUnit)
	}
	return m, nil
}
