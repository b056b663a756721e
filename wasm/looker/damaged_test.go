//go:build !js

package main_test

import (
	"bytes"
	"io/fs"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"example.org/plumb/testdata"
	"example.org/plumb/wasm/study"
)

// damaged examines JPEGs whose data are broken between a sound header and a sound end: the browser shows them without a word, and they are refused all the same.
func damaged(t *testing.T, s *stage) {
	shows := func(file []byte) bool {
		s.files["/picture"] = file
		ok, err := chromedp.Run(s.ctx, chromedp.Evaluate[bool]("(async () => { await started; return createImageBitmap(await fetched('/picture')).then(() => true, () => false); })()", chromedp.EvalAwaitPromise))
		if err != nil {
			t.Fatal(err)
		}
		return ok
	}
	whole, err := testdata.Photos.ReadFile("photos/coffee.jpg")
	if err != nil {
		t.Fatal(err)
	}
	middle, end := len(whole)/2, len(whole)-2
	for name, c := range map[string]struct {
		file    []byte
		refused bool
		word    string
	}{
		"zeros in the middle": {slices.Concat(whole[:middle], make([]byte, 64), whole[middle+64:]), true, "% of its height"},
		"a part left out":     {slices.Concat(whole[:middle], whole[middle+3000:]), true, "damaged"},
		"broken off":          {slices.Concat(whole[:middle], whole[end:]), true, "damaged"},
		"a few bytes more":    {slices.Concat(whole[:end], []byte("abcdefgh"), whole[end:]), false, "8 bytes"},
	} {
		if !shows(c.file) {
			t.Errorf("%s: this browser does not show it, so that nothing is tested", name)
		}
		a := s.look(t, study.Task{What: study.Examine, Name: "a.jpg"}, c.file)
		text := strings.Join(a.found.About.Notes, " ")
		if a.found.Refused != nil {
			text = a.found.Refused.Why
		}
		if a.Error != "" || (a.found.Refused != nil) != c.refused || !strings.Contains(text, c.word) {
			t.Errorf("%s: %s%s", name, a.Error, a.Found)
		}
	}
	n := 0
	err = fs.WalkDir(testdata.Photos, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".jpg") || strings.Contains(path, "cmyk") {
			return err
		}
		n++
		file, err := testdata.Photos.ReadFile(path)
		if err != nil {
			return err
		}
		a := s.look(t, study.Task{What: study.Examine, Name: "a.jpg"}, file)
		if a.Error != "" || a.found.Refused != nil || strings.Contains(strings.Join(a.found.About.Notes, " "), "damaged") || !bytes.Equal(a.found.About.Digest[:], a.found.About.Source[:]) {
			t.Errorf("%s: %s%s", path, a.Error, a.Found)
		}
		return nil
	})
	if err != nil || n < 8 {
		t.Errorf("%v, %d sound files", err, n)
	}
}
