package display

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
)

// Parse reads a description from JSON. A field that is missing, at any depth, has its value of Default. Unknown and repeated fields, null,
// other types and values out of range are refused with the field's name and what to write instead.
func Parse(data []byte) (Description, error) {
	d := Default()
	if err := d.parse(data); err != nil {
		return Description{}, fmt.Errorf("display: %w", err)
	}
	if err := d.Validate(); err != nil {
		return Description{}, err
	}
	return d, nil
}

// UnmarshalJSON is Parse.
func (d *Description) UnmarshalJSON(data []byte) error {
	p, err := Parse(data)
	if err != nil {
		return err
	}
	*d = p
	return nil
}

func (d *Description) parse(data []byte) error {
	return object(data, "", fields{
		"name":      into(&d.Name, "a string"),
		"white":     d.White.parse,
		"black":     into(&d.Black, "a number"),
		"primaries": d.Primaries.parse,
		"room":      d.Room.parse,
		"tone":      d.parseTone,
		"range":     into((*string)(&d.Range), "a string"),
		"bits":      into(&d.Bits, "a whole number"),
		"crush":     into(&d.Crush, "a whole number"),
		"clip":      into(&d.Clip, "a whole number"),
		"evenness":  grid(&d.Evenness),
		"managed":   into(&d.Managed, "true or false"),

		"evennessRed":  grid(&d.EvennessRed),
		"evennessBlue": grid(&d.EvennessBlue),
		"angle":        into(&d.Angle, "a number"),
		"lines":        d.Lines.parse,
	})
}

func (w *White) parse(name string, data []byte) error {
	return object(data, name, fields{
		"luminance": into(&w.Luminance, "a number"),
		"xy":        func(name string, data []byte) error { return pair(name, data, &w.XY) },
	})
}

func (r *Room) parse(name string, data []byte) error {
	return object(data, name, fields{
		"lux":         into(&r.Lux, "a number"),
		"reflectance": into(&r.Reflectance, "a number"),
	})
}

func (p *Primaries) parse(name string, data []byte) error {
	const want = `"srgb", "p3", "adobe" or [[x,y],[x,y],[x,y]]`
	*p = Primaries{}
	if len(data) > 0 && data[0] == '"' {
		if err := into(&p.Name, want)(name, data); err != nil {
			return err
		}
		if p.Name == "" {
			return fmt.Errorf("%s is empty: use %s", name, want)
		}
		return nil
	}
	items, err := list(name, data, want)
	if err != nil {
		return err
	}
	if len(items) != 3 {
		return fmt.Errorf("%s has %d entries: use %s", name, len(items), want)
	}
	for i := range p.XY {
		if err := pair(fmt.Sprintf("%s[%d]", name, i), items[i], &p.XY[i]); err != nil {
			return err
		}
	}
	return nil
}

func (d *Description) parseTone(name string, data []byte) error {
	items, err := list(name, data, "a list of one entry, or of three")
	if err != nil {
		return err
	}
	if len(items) > 3 { // Validate says what is wrong with the number
		items = items[:4]
	}
	d.Tone = make([]Tone, len(items))
	for i := range d.Tone {
		d.Tone[i] = defaultTone()
		if err := d.Tone[i].parse(fmt.Sprintf("%s[%d]", name, i), items[i]); err != nil {
			return err
		}
	}
	return nil
}

func (t *Tone) parse(name string, data []byte) error {
	return object(data, name, fields{
		"curve":  into((*string)(&t.Curve), "a string"),
		"gamma":  into(&t.Gamma, "a number"),
		"offset": into(&t.Offset, "a number"),
		"s":      into(&t.S, "a number"),
		"samples": func(name string, data []byte) (err error) {
			t.Samples, err = numbers(name, data)
			return err
		},
	})
}

func (l *Lines) parse(name string, data []byte) error {
	return object(data, name, fields{
		"rows":    into(&l.Rows, "a number"),
		"columns": into(&l.Columns, "a number"),
	})
}

func grid(v *[][]float64) func(string, []byte) error {
	return func(name string, data []byte) error {
		rows, err := list(name, data, "a list of rows of numbers")
		if err != nil {
			return err
		}
		*v = make([][]float64, len(rows))
		for i := range rows {
			if (*v)[i], err = numbers(fmt.Sprintf("%s[%d]", name, i), rows[i]); err != nil {
				return err
			}
		}
		return nil
	}
}

// fields are the readers of an object's fields by name; each is given the field's full name for its errors.
type fields map[string]func(name string, data []byte) error

// object reads a JSON object strictly: encoding/json would match names in any case, let the last of two win and take null for nothing.
func object(data []byte, where string, known fields) error {
	prefix := where
	if where == "" {
		where = "a description"
	} else {
		prefix += "."
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	open, err := dec.Token()
	if err != nil {
		return syntax(err)
	}
	if open != json.Delim('{') {
		return fmt.Errorf("%s is not a JSON object: write {...}", where)
	}
	seen := map[string]bool{}
	for dec.More() {
		token, err := dec.Token()
		if err != nil {
			return syntax(err)
		}
		key, _ := token.(string)
		read, ok := known[key]
		if !ok {
			return fmt.Errorf("unknown field %q: check the spelling, or leave it out", prefix+key)
		}
		if seen[key] {
			return fmt.Errorf("field %q is given twice: leave one out", prefix+key)
		}
		seen[key] = true
		var raw json.RawMessage
		if err := dec.Decode(&raw); err != nil {
			return syntax(err)
		}
		if err := read(prefix+key, raw); err != nil {
			return err
		}
	}
	if _, err := dec.Token(); err != nil {
		return syntax(err)
	}
	if _, err := dec.Token(); err != io.EOF {
		return fmt.Errorf("something follows the end of %s: keep one object", where)
	}
	return nil
}

// into reads one plain value.
func into[T any](v *T, want string) func(string, []byte) error {
	return func(name string, data []byte) error {
		if isNull(data) {
			return fmt.Errorf("%s is null: write %s, or leave it out", name, want)
		}
		if err := json.Unmarshal(data, v); err != nil {
			return fmt.Errorf("%s is %s: write %s", name, excerpt(data), want)
		}
		return nil
	}
}

func list(name string, data []byte, want string) ([]json.RawMessage, error) {
	var items []json.RawMessage
	if err := into(&items, want)(name, data); err != nil {
		return nil, err
	}
	return items, nil
}

func numbers(name string, data []byte) ([]float64, error) {
	items, err := list(name, data, "a list of numbers")
	if err != nil {
		return nil, err
	}
	v := make([]float64, len(items))
	for i := range items {
		if err := into(&v[i], "a number")(fmt.Sprintf("%s[%d]", name, i), items[i]); err != nil {
			return nil, err
		}
	}
	return v, nil
}

func pair(name string, data []byte, v *[2]float64) error {
	n, err := numbers(name, data)
	if err != nil {
		return err
	}
	if len(n) != 2 {
		return fmt.Errorf("%s has %d numbers: write [x,y]", name, len(n))
	}
	*v = [2]float64(n)
	return nil
}

func isNull(data []byte) bool { return bytes.Equal(bytes.TrimSpace(data), []byte("null")) }

func excerpt(data []byte) string {
	const most = 40
	if r := []rune(string(data)); len(r) > most {
		return string(r[:most]) + "..."
	}
	return string(data)
}

func syntax(err error) error {
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return errors.New("the JSON ends too soon: check that every bracket is closed")
	}
	return fmt.Errorf("not JSON: %w", err)
}
