package pages

import (
	_ "embed"
	"encoding/json"
)

//go:embed example.json
var example []byte

// Example is the report of a sitting that never was, on a screen that never was, to show what a report says.
func Example() Report {
	var r Report
	if err := json.Unmarshal(example, &r); err != nil {
		panic("pages: example.json: " + err.Error())
	}
	return r
}
