package display

import (
	"encoding/json"
	"reflect"
	"strings"
	"testing"
)

// whole is a description with every field, as the documentation of screen descriptions shows it: the values of Default.
const whole = `{
  "name": "kitchen laptop",
  "white": {"luminance": 160, "xy": [0.3127, 0.3290]},
  "black": 0.16,
  "primaries": "srgb",
  "room": {"lux": 100, "reflectance": 0.01},
  "tone": [{"curve": "gamma", "gamma": 2.2, "offset": 0.0, "s": 0.0}],
  "range": "full",
  "bits": 8,
  "crush": 0, "clip": 255,
  "evenness": [[1,1,1],[1,1,1],[1,1,1]],
  "managed": true
}`

func TestParseDefaults(t *testing.T) {
	for _, text := range []string{whole, `{}`, ` {"white":{},"room":{},"tone":[{}]} `, `{"tone":[{"curve":"gamma"}]}`} {
		d, err := Parse([]byte(text))
		if err != nil {
			t.Errorf("%s: %v", text, err)
		} else if !reflect.DeepEqual(d, Default()) {
			t.Errorf("%s: %+v, want %+v", text, d, Default())
		}
	}
}

func TestParse(t *testing.T) {
	d, err := Parse([]byte(`{"name":"studio left","white":{"luminance":120},"black":0,"primaries":[[0.7,0.3],[0.2,0.7],[0.14,0.05]],
		"room":{"lux":32},"tone":[{"gamma":1.8,"s":0.1},{"curve":"srgb"},{"curve":"samples","samples":[0,0.2,1]}],
		"range":"limited-as-full","bits":6,"crush":3,"clip":250,"evenness":[[0.9,1.1]],"managed":false,
		"evennessRed":[[1.01],[1]],"evennessBlue":[[0.98,1]],"angle":-0.2,"lines":{"rows":0.05}}`))
	if err != nil {
		t.Fatal(err)
	}
	want := Description{
		Name: "studio left", White: White{120, [2]float64{0.3127, 0.3290}}, Black: 0,
		Primaries: Primaries{XY: [3][2]float64{{0.7, 0.3}, {0.2, 0.7}, {0.14, 0.05}}},
		Room:      Room{32, 0.01},
		Tone:      []Tone{{Curve: Gamma, Gamma: 1.8, S: 0.1}, {Curve: SRGB, Gamma: 2.2}, {Curve: Samples, Gamma: 2.2, Samples: []float64{0, 0.2, 1}}},
		Range:     LimitedAsFull, Bits: 6, Crush: 3, Clip: 250, Evenness: [][]float64{{0.9, 1.1}},
		EvennessRed: [][]float64{{1.01}, {1}}, EvennessBlue: [][]float64{{0.98, 1}}, Angle: -0.2, Lines: Lines{Rows: 0.05},
	}
	if !reflect.DeepEqual(d, want) {
		t.Errorf("%+v, want %+v", d, want)
	}
}

// What must be refused, each with words that its message must hold.
var refused = []struct{ text, words string }{
	{``, "ends too soon"},
	{`{`, "ends too soon"},
	{`{"black":`, "ends too soon"},
	{`{"tone":[{"gamma":2.2}`, "ends too soon"},
	{`[]`, "not a JSON object"},
	{`null`, "not a JSON object"},
	{`"x"`, "not a JSON object"},
	{`{} {}`, "something follows"},
	{`{}x`, "something follows"},
	{`{x}`, "not JSON"},
	{`{"gama":2.2}`, `unknown field "gama"`},
	{`{"Black":1}`, `unknown field "Black"`}, // no other case
	{`{"white":{"lum":1}}`, `unknown field "white.lum"`},
	{`{"room":{"lx":1}}`, `unknown field "room.lx"`},
	{`{"tone":[{},{},{"gama":1}]}`, `unknown field "tone[2].gama"`},
	{`{"black":1,"black":2}`, `field "black" is given twice`},
	{`{"white":{"luminance":1,"luminance":2}}`, `field "white.luminance" is given twice`},

	{`{"name":null}`, "name is null"},
	{`{"white":null}`, "white is not a JSON object"},
	{`{"white":{"xy":null}}`, "white.xy is null"},
	{`{"white":{"xy":[0.3,null]}}`, "white.xy[1] is null"},
	{`{"tone":null}`, "tone is null"},
	{`{"tone":[null]}`, "tone[0] is not a JSON object"},
	{`{"evenness":[null]}`, "evenness[0] is null"},
	{`{"evenness":[[1,null]]}`, "evenness[0][1] is null"},
	{`{"primaries":null}`, "primaries is null"},
	{`{"managed":null}`, "managed is null"},

	{`{"name":1}`, "name is 1: write a string"},
	{`{"black":"0.1"}`, `black is "0.1": write a number`},
	{`{"black":1e999}`, "black is 1e999: write a number"},
	{`{"bits":8.5}`, "bits is 8.5: write a whole number"},
	{`{"managed":1}`, "managed is 1: write true or false"},
	{`{"white":[]}`, "white is not a JSON object"},
	{`{"tone":{}}`, "tone is {}: write a list"},
	{`{"evenness":1}`, "evenness is 1: write a list"},
	{`{"evenness":[1]}`, "evenness[0] is 1: write a list of numbers"},

	{`{"white":{"luminance":0}}`, "white.luminance is 0"},
	{`{"white":{"luminance":-1}}`, "white.luminance is -1"},
	{`{"white":{"luminance":20000}}`, "white.luminance is 20000"},
	{`{"white":{"xy":[0.3]}}`, "white.xy has 1 numbers: write [x,y]"},
	{`{"white":{"xy":[0.3,0.3,0.3]}}`, "white.xy has 3 numbers"},
	{`{"white":{"xy":[0.3,0]}}`, "white.xy is 0.3, 0"},
	{`{"white":{"xy":[0.6,0.5]}}`, "white.xy is 0.6, 0.5"},
	{`{"white":{"xy":[0.7,0.25]}}`, "outside the triangle"},
	{`{"black":-0.1}`, "black is -0.1"},
	{`{"black":160}`, "black 160 is not below white.luminance 160"},
	{`{"primaries":"rec2020"}`, `primaries is "rec2020"`},
	{`{"primaries":""}`, "primaries is empty"},
	{`{"primaries":1}`, "primaries is 1"},
	{`{"primaries":[]}`, "primaries has 0 entries"},
	{`{"primaries":[[0.64,0.33],[0.3,0.6]]}`, "primaries has 2 entries"},
	{`{"primaries":[[0.64,0.33],[0.3,0.6],[0.15]]}`, "primaries[2] has 1 numbers"},
	{`{"primaries":[[0.64,0.33],[0.3,0.6],[0.15,0]]}`, "primaries[2] is 0.15, 0"},
	{`{"primaries":[[0.2,0.2],[0.3,0.3],[0.4,0.4]]}`, "triangle"},
	{`{"room":{"lux":-1}}`, "room.lux is -1"},
	{`{"room":{"reflectance":1.1}}`, "room.reflectance is 1.1"},
	{`{"tone":[]}`, "tone has 0 entries"},
	{`{"tone":[{},{}]}`, "tone has 2 entries"},
	{`{"tone":[{},{},{},{}]}`, "tone has 4 entries"},
	{`{"tone":[{"curve":"pq"}]}`, `curve is "pq"`},
	{`{"tone":[{"curve":""}]}`, `curve is ""`},
	{`{"tone":[{"gamma":0.4}]}`, "tone[0]: gamma is 0.4"},
	{`{"tone":[{"gamma":5.1}]}`, "gamma is 5.1"},
	{`{"tone":[{"offset":0.6}]}`, "offset is 0.6"},
	{`{"tone":[{"s":0.16}]}`, "s is 0.16: use 0 to 0.15"},
	{`{"tone":[{"s":-0.01}]}`, "s is -0.01"},
	{`{"tone":[{"samples":[0,1]}]}`, `samples are given but curve is "gamma"`},
	{`{"tone":[{"curve":"samples"}]}`, "with 0 samples"},
	{`{"tone":[{"curve":"samples","samples":[0]}]}`, "with 1 samples"},
	{`{"tone":[{"curve":"samples","samples":[0,0.5,0.4]}]}`, "sample 2 falls"},
	{`{"tone":[{"curve":"samples","samples":[0,2]}]}`, "sample 1 is 2"},
	{`{"tone":[{"curve":"samples","samples":[0.5,0.5]}]}`, "samples are all 0.5"},
	{`{"tone":[{"curve":"samples","samples":["0"]}]}`, `tone[0].samples[0] is "0"`},
	{`{"range":"limited"}`, `range is "limited"`},
	{`{"bits":4}`, "bits is 4: use 5 to 10"},
	{`{"bits":11}`, "bits is 11"},
	{`{"crush":-1}`, "crush is -1"},
	{`{"crush":255}`, "crush is 255"},
	{`{"clip":0}`, "clip is 0"},
	{`{"clip":256}`, "clip is 256"},
	{`{"crush":100,"clip":100}`, "crush 100 is not below clip 100"},
	{`{"evenness":[]}`, "evenness has 0 rows"},
	{`{"evenness":[[]]}`, "evenness has 0 columns"},
	{`{"evenness":[[1,1],[1]]}`, "evenness[1] has 1 columns"},
	{`{"evenness":[[1,0]]}`, "evenness[0][1] is 0"},
	{`{"evenness":[[1,-1]]}`, "evenness[0][1] is -1"},
	{`{"evenness":[` + strings.Repeat(`[1],`, MaxGrid) + `[1]]}`, "evenness has 65 rows"},
	{`{"tone":[{"curve":"samples","samples":[` + strings.Repeat(`0,`, MaxSamples) + `1]}]}`, "with 4097 samples"},
	{`{"evennessRed":[]}`, "evennessRed has 0 rows"},
	{`{"evennessRed":[[]]}`, "evennessRed has 0 columns"},
	{`{"evennessRed":null}`, "evennessRed is null"},
	{`{"evennessRed":[[1],[1,1]]}`, "evennessRed[1] has 2 columns and evennessRed[0] has 1"},
	{`{"evennessBlue":[[1,0]]}`, "evennessBlue[0][1] is 0"},
	{`{"evennessBlue":[["1"]]}`, `evennessBlue[0][0] is "1"`},
	{`{"evennessGreen":[[1]]}`, `unknown field "evennessGreen"`},
	{`{"angle":0.51}`, "angle is 0.51: use -0.5 to 0.5"},
	{`{"angle":-0.51}`, "angle is -0.51"},
	{`{"angle":null}`, "angle is null"},
	{`{"lines":{"rows":0.6}}`, "lines.rows is 0.6: use -0.5 to 0.5"},
	{`{"lines":{"columns":-0.6}}`, "lines.columns is -0.6"},
	{`{"lines":{"row":0}}`, `unknown field "lines.row"`},
	{`{"lines":0.1}`, "lines is not a JSON object"},
	{`{"lines":null}`, "lines is not a JSON object"},
	{`{"name":"` + strings.Repeat("o", 201) + `"}`, "name has 201 characters"},
}

func TestParseRefuses(t *testing.T) {
	for _, v := range refused {
		d, err := Parse([]byte(v.text))
		if err == nil {
			t.Errorf("%s: no error", v.text)
			continue
		}
		if !reflect.DeepEqual(d, Description{}) {
			t.Errorf("%s: refused, but a description came back", v.text)
		}
		if !strings.HasPrefix(err.Error(), "display: ") || strings.Count(err.Error(), "display: ") != 1 || !strings.Contains(err.Error(), v.words) {
			t.Errorf("%s: %q, want \"display: ...%s...\"", v.text, err, v.words)
		}
	}
}

func TestZeroDescription(t *testing.T) {
	if (Description{}).Validate() == nil {
		t.Error("the zero Description is a screen")
	}
	defer func() {
		if recover() == nil {
			t.Error("the zero Description has a Model")
		}
	}()
	(Description{}).Model()
}

func TestMarshal(t *testing.T) {
	p3 := Default()
	p3.Primaries.Name = "p3"
	custom := Default()
	custom.Primaries = Primaries{XY: [3][2]float64{{0.7, 0.3}, {0.2, 0.7}, {0.14, 0.05}}}
	custom.Tone = []Tone{{Curve: LStar, Gamma: 2.2}, {Curve: BT1886, Gamma: 2.2, S: 0.05}, {Curve: Samples, Gamma: 2.2, Samples: []float64{0, 1}}}
	custom.EvennessRed, custom.EvennessBlue = [][]float64{{1, 1.02}}, [][]float64{{1}, {0.97}}
	custom.Angle, custom.Lines = 0.15, Lines{Rows: -0.03, Columns: 0.04}
	for _, d := range []Description{Default(), p3, custom} {
		data, err := json.Marshal(d)
		if err != nil {
			t.Fatal(err)
		}
		back, err := Parse(data)
		if err != nil {
			t.Fatalf("%s: %v", data, err)
		}
		if !reflect.DeepEqual(d, back) {
			t.Errorf("%s: comes back as %+v", data, back)
		}
	}
	// What is written has the fields of whole, and no others.
	var want, got map[string]any
	data, _ := json.Marshal(Default())
	if json.Unmarshal([]byte(whole), &want) != nil || json.Unmarshal(data, &got) != nil || !reflect.DeepEqual(want, got) {
		t.Errorf("%s, want %s", data, whole)
	}
	// Within a larger value the same rules hold.
	var in struct{ Screen Description }
	if err := json.Unmarshal([]byte(`{"screen":{"gama":1}}`), &in); err == nil {
		t.Error("json.Unmarshal takes an unknown field")
	}
	if err := json.Unmarshal([]byte(`{"screen":{"bits":6}}`), &in); err != nil || in.Screen.Bits != 6 || in.Screen.Clip != 255 {
		t.Errorf("%+v, %v", in.Screen, err)
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(whole))
	f.Add([]byte(`{"evennessRed":[[1.01],[1]],"evennessBlue":[[0.98,1]],"angle":-0.2,"lines":{"rows":0.05,"columns":-0.1}}`))
	f.Add([]byte(`{"primaries":[[0.7,0.3],[0.2,0.7],[0.14,0.05]],"tone":[{"curve":"samples","samples":[0,0.2,1]}]}`))
	for _, v := range refused {
		f.Add([]byte(v.text))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		d, err := Parse(data)
		if err != nil {
			if !strings.HasPrefix(err.Error(), "display: ") {
				t.Fatalf("%q", err)
			}
			return
		}
		text, err := json.Marshal(d)
		if err != nil {
			t.Fatal(err)
		}
		back, err := Parse(text)
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		if !reflect.DeepEqual(d, back) {
			t.Fatalf("%+v comes back as %+v", d, back)
		}
		sound(t, d)
	})
}
