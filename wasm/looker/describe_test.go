//go:build !js

package main_test

import (
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"testing"

	"github.com/chromedp/chromedp"

	"example.org/plumb/testdata"
	"example.org/plumb/wasm/study"
)

// describe asks about files that travel in the task, without a picture, and compares with what is found natively.
func describe(t *testing.T, s *stage) {
	file := func(name string) []byte {
		b, err := testdata.Profiles.ReadFile("icc/" + name)
		if err != nil {
			b, err = testdata.FS.ReadFile("readings/" + name)
		}
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	for name, task := range map[string]study.Task{
		"a matrix":            {File: file("made/display-p3.icc"), Name: "a.icc"},
		"a correction":        {File: file("colord-data/Gamma6500K.icc")},
		"tables":              {File: file("made/mft2-xyz.icc"), Aim: "gamma 2.4"},
		"inks":                {File: file("made/mft2-cmyk.icc")},
		"readings":            {File: file("sample.txt"), Second: file("comma.csv"), Luminance: 120},
		"readings, a profile": {File: file("sample.txt"), Against: file("made/display-p3.icc")},
		"half a profile":      {File: file("made/display-p3.icc")[:600]},
		"words":               {File: []byte("words")},
		"nothing":             {},
	} {
		task.What = study.Describe
		text, err := task.Marshal()
		if err != nil {
			t.Fatal(err)
		}
		tasks++
		a, err := chromedp.Run(s.ctx, chromedp.Evaluate[answer](fmt.Sprintf("(async () => { await started; ask(%d, %q, undefined); return answered(%d); })()", tasks, text, tasks), chromedp.EvalAwaitPromise))
		if err != nil {
			t.Fatal(err)
		}
		if a.Error != "" {
			t.Errorf("%s: %s", name, a.Error)
			continue
		}
		got, err := study.ReadFound([]byte(a.Found))
		if err != nil {
			t.Fatal(err)
		}
		want := task.Describe()
		if (got.Refused == nil) != (want.Refused == nil) || (got.Paper == nil) == (got.Refused == nil) {
			t.Errorf("%s: %s", name, a.Found)
		}
		if where := apart(t, got, want); where != "" {
			t.Errorf("%s: differs from what is found natively at %s", name, where)
		}
	}
}

// apart says where two answers differ by more than the rounding of numbers.
func apart(t *testing.T, got, want study.Found) string {
	plain := func(f study.Found) (v any) {
		text, err := f.Marshal()
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(text, &v); err != nil {
			t.Fatal(err)
		}
		return v
	}
	var differ func(a, b any) string
	differ = func(a, b any) string {
		switch a := a.(type) {
		case map[string]any:
			c, ok := b.(map[string]any)
			if !ok || len(a) != len(c) {
				return "?"
			}
			for k := range a {
				if where := differ(a[k], c[k]); where != "" {
					return k + "." + where
				}
			}
			return ""
		case []any:
			c, ok := b.([]any)
			if !ok || len(a) != len(c) {
				return "?"
			}
			for i := range a {
				if where := differ(a[i], c[i]); where != "" {
					return fmt.Sprint(i, ".", where)
				}
			}
			return ""
		case float64:
			// All numbers are rounded to a decimal that is shown; the last may turn either way.
			if c, ok := b.(float64); ok && math.Abs(a-c) <= 1e-3*max(1, math.Abs(a)) {
				return ""
			}
		}
		if reflect.DeepEqual(a, b) {
			return ""
		}
		return fmt.Sprintf("%v instead of %v", a, b)
	}
	return differ(plain(got), plain(want))
}
