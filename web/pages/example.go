package pages

import (
	_ "embed"
	"encoding/json"
	"reflect"

	"example.org/plumb/web/words"
)

//go:embed example.json
var example []byte

// Example is the report of a sitting that never was, on a screen that never was, to show what a report says, in the language spoken.
func Example() Report {
	var r Report
	if err := json.Unmarshal(example, &r); err != nil {
		panic("pages: example.json: " + err.Error())
	}
	if words.Language() != "en" {
		left := map[string]bool{"ID": true, "Verdict": true, "Why": true} // these stand for something, or are said where they are shown
		translate(reflect.ValueOf(&r).Elem(), left)
	}
	return r
}

// translate puts the texts of a value, but those of fields that are left out, into the language spoken.
func translate(v reflect.Value, left map[string]bool) {
	switch v.Kind() {
	case reflect.String:
		v.SetString(words.Found(v.String()))
	case reflect.Slice:
		for i := range v.Len() {
			translate(v.Index(i), left)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if !left[v.Type().Field(i).Name] {
				translate(v.Field(i), left)
			}
		}
	}
}
