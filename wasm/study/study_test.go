package study_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"image"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"example.org/plumb/patterns/screen"
	"example.org/plumb/wasm/study"
)

func possible() []screen.Possible {
	return []screen.Possible{
		{
			Tone: screen.Tone{Gamma: 2.31, Offset: 0.01, S: -0.02, Knots: [screen.Knots]float64{0.001, 0, 0, 0, 0, 0, -1.0 / 3}, Toe: true}, Range: screen.Squeezed,
			Crush: 7, Clip: 250, Bits: 6, Tint: screen.Tint{{0.001, 0.2}, {1e-9}}, Reach: 0.35,
		},
		{},
	}
}

func TestTasksComeBack(t *testing.T) {
	p := possible()
	lights := p[0].Lights()
	for _, task := range []study.Task{
		{},
		{What: study.Examine, Picture: "a", To: "b", Name: "été.jpg"},
		{What: study.Hide, Picture: "a", Possible: p, Aim: "usual"},
		{What: study.Describe, Name: "été.icc", File: []byte("\x00\xff"), Against: []byte{1}, Second: []byte{2}, Held: study.HeldProfile, Aim: "L*", Table: 3, Unit: study.UnitCandela, Luminance: 160.5, Kelvin: 5003},
		{What: study.See, Picture: "a", To: "b", Shown: lights, On: lights, Field: screen.Field{Rows: 1, Cols: 2, Log: []float64{0.1, -0.2}}},
	} {
		text, err := task.Marshal()
		if err != nil {
			t.Fatal(err)
		}
		got, err := study.ReadTask(text)
		if len(task.Possible) == 0 {
			task.Possible = []screen.Possible{}
		}
		if err != nil || !reflect.DeepEqual(got, task) {
			t.Errorf("%v: %+v, was %+v", err, got, task)
		}
	}
	p[0].Field = screen.Field{Rows: 1, Cols: 1, Log: []float64{1}}
	text, err := study.Task{Possible: p}.Marshal()
	if got, other := study.ReadTask(text); err != nil || other != nil || got.Possible[0].Field.Rows != 0 || p[0].Field.Rows != 1 {
		t.Errorf("%v, %v: the places of screens travel", err, other)
	}
	p[0].Reach = math.NaN()
	if _, err := (study.Task{Possible: p}).Marshal(); err == nil {
		t.Error("what is no number has JSON")
	}
	if _, err := study.ReadTask([]byte("{")); err == nil {
		t.Error("half a task is a task")
	}
}

func TestAnswersComeBack(t *testing.T) {
	img := image.NewRGBA(image.Rect(0, 0, 30, 20))
	for i := range img.Pix {
		img.Pix[i] = uint8(i * 7)
	}
	hidden, masks := screen.Hides(img, possible(), screen.Aims[0])
	packed := study.Pack(masks)
	if packed.Cols != 30 || packed.Rows != 20 || !bytes.Equal(packed.Any, masks.Any.Pix) || bytes.Equal(packed.Any, packed.Beyond) {
		t.Errorf("masks of %d by %d", packed.Cols, packed.Rows)
	}
	if study.Pack(screen.Masks{}) != nil {
		t.Error("no masks are masks")
	}
	for _, f := range []study.Found{
		{},
		{Refused: &study.Refusal{Why: "It is torn.", Do: "Mend it."}},
		{About: study.About{Kind: "image/png", Width: 3, Height: 2, Size: 1 << 40, Digest: study.Digest{1, 0xab}, Notes: []string{"a"}, Wide: true}, File: &study.File{Kind: "image/png", Size: 9}},
		{Hidden: hidden, Masks: packed},
	} {
		text, err := f.Marshal()
		if err != nil {
			t.Fatal(err)
		}
		if got, err := study.ReadFound(text); err != nil || !reflect.DeepEqual(got, f) {
			t.Errorf("%v: %+v, was %+v", err, got, f)
		}
	}
	for name, spoil := range map[string]func(m *study.Masks){
		"no columns":    func(m *study.Masks) { m.Cols = 0 },
		"less columns":  func(m *study.Masks) { m.Cols-- },
		"less than no":  func(m *study.Masks) { m.Cols, m.Rows = -m.Cols, -m.Rows },
		"a mask cut":    func(m *study.Masks) { m.Shifted = m.Shifted[1:] },
		"a mask gone":   func(m *study.Masks) { m.Any = nil },
		"endless masks": func(m *study.Masks) { m.Cols, m.Rows = 1<<31, 1<<33 },
	} {
		m := *packed
		spoil(&m)
		text, err := study.Found{Masks: &m}.Marshal()
		if err != nil {
			t.Fatal(err)
		}
		if f, err := study.ReadFound(text); err == nil || f.Masks != nil {
			t.Errorf("%s: taken", name)
		}
	}
	for _, text := range []string{"", "[]", `{"About":{"Digest":"ab"}}`, `{"About":{"Digest":"` + string(bytes.Repeat([]byte("AB"), 32)) + `"}}`, `{"About":{"Digest":"` + string(bytes.Repeat([]byte("gg"), 32)) + `"}}`} {
		if _, err := study.ReadFound([]byte(text)); err == nil {
			t.Errorf("%q: taken", text)
		}
	}
}

func model(tinted bool) study.Model {
	random := rand.New(rand.NewPCG(1, 2))
	p := possible()[0]
	m := study.Model{Lights: *p.Lights(), Field: screen.Field{Rows: 5, Cols: 5}}
	for range 25 {
		m.Field.Log = append(m.Field.Log, 0.1*random.NormFloat64())
		if tinted {
			m.Field.Pink, m.Field.Yellow = append(m.Field.Pink, 0.01*random.NormFloat64()), append(m.Field.Yellow, 0.01*random.NormFloat64())
		}
	}
	return m
}

// A model comes back as near as it says, and the same from then on; black stays black.
func TestModelsComeBack(t *testing.T) {
	for _, tinted := range []bool{false, true} {
		m := model(tinted)
		b, err := m.Pack()
		if err != nil {
			t.Fatal(err)
		}
		got, err := study.Unpack(b)
		if err != nil {
			t.Fatal(err)
		}
		again, err := got.Pack()
		if err != nil || !bytes.Equal(again, b) || len(b) > study.MostModel {
			t.Errorf("packed again: %v, %d bytes", err, len(b))
		}
		for i := range m.Lights {
			for c, l := range m.Lights[i] {
				v := got.Lights[i][c]
				if (l == 0) != (v == 0) || math.Abs(math.Sqrt(l)-math.Sqrt(v)) > 0.5/32768+1e-12 {
					t.Fatalf("channel %d, code %d: %g, was %g", i, c, v, l)
				}
			}
		}
		for k, l := range m.Field.Log {
			if math.Abs(got.Field.Log[k]-l) > 1.0/8192 || tinted && math.Abs(got.Field.Pink[k]-m.Field.Pink[k])+math.Abs(got.Field.Yellow[k]-m.Field.Yellow[k]) > 1.0/65536 {
				t.Errorf("place %d: %+v", k, got.Field)
			}
		}
		if got.Field.Rows != 5 || (got.Field.Pink != nil) != tinted {
			t.Errorf("%+v", got.Field)
		}
		// A picture shown by what came back is, but for codes that lie between two, the picture.
		for c := range 256 {
			img, want := image.NewRGBA(image.Rect(0, 0, 1, 1)), image.NewRGBA(image.Rect(0, 0, 1, 1))
			src := image.NewRGBA(image.Rect(0, 0, 1, 1))
			src.Pix = []uint8{uint8(c), uint8(c), uint8(c), 255}
			got.Lights.View(nil).Show(img, src, img.Rect)
			m.Lights.View(nil).Show(want, src, img.Rect)
			for i := range 3 {
				if d := int(img.Pix[i]) - int(want.Pix[i]); d < -1 || d > 1 {
					t.Errorf("code %d becomes %v, was %v", c, img.Pix, want.Pix)
				}
			}
		}
	}
	var none study.Model
	b, err := none.Pack()
	if got, other := study.Unpack(b); err != nil || other != nil || !reflect.DeepEqual(got, none) {
		t.Errorf("%v, %v: %+v", err, other, got)
	}
}

func TestModelsRefused(t *testing.T) {
	good, err := model(true).Pack()
	if err != nil {
		t.Fatal(err)
	}
	const places = 15 + 2*768 // where the grid of places begins
	for name, c := range map[string]struct {
		change func(b []byte) []byte
		want   error
	}{
		"nothing":        {func(b []byte) []byte { return nil }, study.ErrModelVersion},
		"a newer one":    {func(b []byte) []byte { b[13] = '2'; return b }, study.ErrModelVersion},
		"cut":            {func(b []byte) []byte { return b[:len(b)-1] }, study.ErrModelLayout},
		"cut early":      {func(b []byte) []byte { return b[:100] }, study.ErrModelLayout},
		"longer":         {func(b []byte) []byte { return append(b, 0) }, study.ErrModelLayout},
		"no rows":        {func(b []byte) []byte { b[places] = 0; return b }, study.ErrModelLayout},
		"other rows":     {func(b []byte) []byte { b[places] = 4; return b }, study.ErrModelLayout},
		"many rows":      {func(b []byte) []byte { b[places], b[places+1] = 25, 1; return b }, study.ErrModelLayout},
		"half tinted":    {func(b []byte) []byte { b[places+2] = 2; return b }, study.ErrModelLayout},
		"tinted nothing": {func(b []byte) []byte { return append(b[:places], 0, 0, 1) }, study.ErrModelLayout},
	} {
		if m, err := study.Unpack(c.change(bytes.Clone(good))); !errors.Is(err, c.want) || !reflect.DeepEqual(m, study.Model{}) {
			t.Errorf("%s: %v", name, err)
		}
	}
	for name, spoil := range map[string]func(m *study.Model){
		"no light":       func(m *study.Model) { m.Lights[1][9] = math.NaN() },
		"less than none": func(m *study.Model) { m.Lights[1][9] = -0.1 },
		"places gone":    func(m *study.Model) { m.Field.Log = m.Field.Log[1:] },
		"tints gone":     func(m *study.Model) { m.Field.Yellow = nil },
		"a place of no":  func(m *study.Model) { m.Field.Pink[3] = math.NaN() },
		"too many":       func(m *study.Model) { m.Field.Rows = 17 },
		"rows alone":     func(m *study.Model) { m.Field = screen.Field{Rows: 3} },
	} {
		m := model(true)
		spoil(&m)
		if b, err := m.Pack(); err == nil || b != nil {
			t.Errorf("%s: packed", name)
		}
	}
	// What is beyond the ends is set to them.
	m := model(true)
	m.Lights[0][255], m.Field.Log[0], m.Field.Pink[1] = 1e9, 1e9, math.Inf(-1)
	b, err := m.Pack()
	if got, other := study.Unpack(b); err != nil || other != nil || got.Lights[0][255] < 3.99 || got.Lights[0][255] > 4 || got.Field.Log[0] < 3.9 || got.Field.Pink[1] > -0.24 {
		t.Errorf("%v, %v", err, other)
	}
}

func FuzzUnpack(f *testing.F) {
	for _, m := range []study.Model{{}, model(false), model(true)} {
		b, err := m.Pack()
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		m, err := study.Unpack(b)
		if err != nil {
			return
		}
		again, err := m.Pack()
		if err != nil || !bytes.Equal(again, b) {
			t.Fatalf("packed again: %v", err)
		}
	})
}

func FuzzReadFound(f *testing.F) {
	f.Add([]byte(`{"Masks":{"Cols":1,"Rows":1,"Any":"AA=="}}`))
	f.Add([]byte(`{"About":{"Digest":"00"},"Hidden":{"Pixels":1}}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		found, err := study.ReadFound(b)
		if err != nil {
			return
		}
		text, err := found.Marshal()
		if err != nil {
			t.Fatal(err)
		}
		if again, err := study.ReadFound(text); err != nil || !json.Valid(text) || again.Hidden != found.Hidden || !reflect.DeepEqual(again.About, found.About) {
			t.Fatalf("%v: %+v, was %+v", err, again, found)
		}
	})
}
