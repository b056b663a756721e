package main

import (
	"errors"
	"slices"
	"strings"
	"testing"
)

func TestColumns(t *testing.T) {
	got := columns("3840 x 2160, medians\n     pattern  native   of 60 Hz\n       solid    3.59       11 %\n  steps down    9.73       50 %\n\nwords alone\n\n check  count  99 %\n tone     210  49.1\n")
	for name, want := range map[string][][]string{
		"pattern": {{"pattern", "native", "of 60 Hz"}, {"solid", "3.59", "11 %"}, {"steps down", "9.73", "50 %"}},
		"check":   {{"check", "count", "99 %"}, {"tone", "210", "49.1"}},
	} {
		if !slices.EqualFunc(got[name], want, slices.Equal[[]string]) {
			t.Errorf("%s: %q, want %q", name, got[name], want)
		}
	}
	if len(got) != 2 {
		t.Errorf("%d tables: %q", len(got), got)
	}
}

func TestBenchmarks(t *testing.T) {
	got := benchmarks("here", "goos: linux\npkg: example.org/plumb/patterns\nBenchmarkPaint/solid-2 \t 300\t 3900000 ns/op\t8500.00 MB/s\t       0 B/op\nBenchmarkStep/tone \t 10\t 1.5e+07 ns/op\t         4.000 p99-ms\nPASS\nok  \texample.org/plumb/patterns\t1.0s\n")
	want := [][]string{{"here", "patterns", "Paint/solid", "3.9", "8500.00 MB/s, 0 B/op"}, {"here", "patterns", "Step/tone", "15", "4.000 p99-ms"}}
	if !slices.EqualFunc(got, want, slices.Equal[[]string]) {
		t.Errorf("%q, want %q", got, want)
	}
}

// A benchmark that tells no time of its own is a row all the same.
func TestBenchmarksWithoutTime(t *testing.T) {
	got := benchmarks("", "pkg: example.org/plumb/web/worker\nBenchmarkRequest/look-2 \t 3\t 6.347 go-cpu-ms/request\t 4.560 js-cpu-ms/request\nPASS\n")
	want := [][]string{{"", "web/worker", "Request/look", "", "6.347 go-cpu-ms/request, 4.560 js-cpu-ms/request"}}
	if !slices.EqualFunc(got, want, slices.Equal[[]string]) {
		t.Errorf("%q, want %q", got, want)
	}
}

// A figure on its mark is no complaint; one beside it is, and nothing measured is an error.
func TestHeld(t *testing.T) {
	var out strings.Builder
	b := &bench{out: &out}
	for _, c := range []struct {
		v    float64
		m    mark
		want string
	}{
		{2, atMost(2, ""), "at most 2: **yes**"},
		{2.1, atMost(2, ""), "at most 2: **no**"},
		{86.9, covered["gamma"], "87 to 93: **no**"},
		{87, covered["gamma"], "87 to 93: **yes**"},
		{5, mark{}, ""},
	} {
		if got := b.held("x", c.v, c.m); got != c.want {
			t.Errorf("%g held to %q: %q", c.v, c.m.words, got)
		}
	}
	if len(b.off) != 2 {
		t.Errorf("off the mark: %q", b.off)
	}
	if err := b.table("Nothing", "", []string{"a"}, nil); err == nil {
		t.Error("an empty table is no error")
	}
	if err := b.table("One", "", []string{"a", "b"}, [][]string{{"1", "2"}}); err != nil || out.String() != "\n## One\n\n| a | b |\n| --- | --- |\n| 1 | 2 |\n" {
		t.Errorf("%q, %v", out.String(), err)
	}
}

// What cannot be measured is an error, and the rest is measured all the same; a test that fails off its mark is none.
func TestRunGoesOn(t *testing.T) {
	all := parts
	defer func() { parts = all }()
	parts = slices.Clone(parts[:2])
	parts[0].name, parts[0].measure = "broken", func(*bench) error { return errors.New("no wire") }
	parts[1].name, parts[1].measure = "sound", func(b *bench) error {
		return b.table("Sound", "", []string{"a", "b"}, [][]string{{b.tested("fast", nil), b.tested("small", errors.New("too large"))}})
	}
	var out strings.Builder
	err := (&bench{ctx: t.Context(), out: &out, share: 1}).run("")
	if err == nil || err.Error() != "broken: no wire" {
		t.Errorf("the error is %v", err)
	}
	for _, want := range []string{"Not measured: broken.", "| fast: **yes** | small: **no** |", "- mailbox, to be small\n"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("%q is not in\n%s", want, out.String())
		}
	}
	if strings.Contains(out.String(), "keeps it") {
		t.Errorf("all is well in\n%s", out.String())
	}
}

func TestLoadings(t *testing.T) {
	text := `| screen | viewer | sittings | told, % | left open, % | said wrongly, % | void | judgements | seconds |
|---|---|---|---|---|---|---|---|---|
| loaded | all | 20 | 92.5 (90.0 to 95.0) | 7.5 | 0.0 (0.0 to 1.0) | 0 | 60 | 200 |
| loaded | typical | 10 | 97.0 (90.0 to 99.0) | 3.0 | 0.0 (0.0 to 1.0) | 0 | 60 | 200 |
| loaded | strained | 10 | 88.0 (80.0 to 95.0) | 12.0 | 0.0 (0.0 to 1.0) | 0 | 60 | 200 |
| not loaded | typical | 10 | 94.0 (90.0 to 95.0) | 3.5 | 2.5 (0.0 to 5.0) | 0 | 60 | 200 |
| neither | typical | 10 | 70.0 (60.0 to 80.0) | 27.0 | 3.0 (1.0 to 5.0) | 1 | 60 | 200 |
| neither | strained | 10 | 70.0 (60.0 to 80.0) | 20.0 | 10.0 (8.0 to 15.0) | 1 | 60 | 200 |
| neither: twice | typical | 5 | 50.0 (40.0 to 60.0) | 40.0 | 10.0 (1.0 to 20.0) | 0 | 60 | 200 |
`
	b := &bench{}
	rows, err := loadings(b, text)
	if err != nil || len(rows) != 6 || rows[0][0] != "loaded" || rows[0][3] != "97.0 (90.0 to 99.0)" || rows[0][4] != "at least 95: **yes**" || rows[1][4] != "" || rows[3][7] == "" || rows[4][7] != "" {
		t.Errorf("%q, %v", rows, err)
	}
	want := []string{"correction told, not loaded, typical: 94, to be at least 95", "correction claimed wrongly, not loaded, typical: 2.5, to be at most 2", "correction claimed wrongly, neither, typical: 3, to be at most 2"}
	if !slices.Equal(b.off, want) {
		t.Errorf("off the mark: %q", b.off)
	}
	for _, less := range []string{"", strings.ReplaceAll(text, "| not loaded", "| unknown"), strings.ReplaceAll(text, "97.0 (", "many (")} {
		if rows, err := loadings(&bench{}, less); err == nil {
			t.Errorf("%q is no error", rows)
		}
	}
}

func TestWatches(t *testing.T) {
	text := `200 random screens, standard sittings, typical viewers, a week between two. Shares with their 95 % intervals.

Unchanged, asked after each of six  flagged     share                flags
  the same viewer                   9 of 200    4.5 %   2.4 to 8.3    tone 5 shadows 4
  another viewer, named             11 of 200   5.5 %   3.1 to 9.6

Drift, at the second sitting after it  flagged      share                  in its aspect  move in the interval  flags
  gamma +0.15 after 2                  114 of 200   57.0 %  50.1 to 63.7  110            101                    tone 110
`
	b := &bench{}
	rows, err := watches(b, text)
	want := [][]string{
		{"unchanged, the same viewer", "9 of 200", "4.5 (2.4 to 8.3)", "at most 5: **yes**"},
		{"unchanged, another viewer, named", "11 of 200", "5.5 (3.1 to 9.6)", "at most 5: **no**"},
		{"gamma +0.15 after 2", "114 of 200", "57.0 (50.1 to 63.7)", ""},
	}
	if err != nil || !slices.EqualFunc(rows, want, slices.Equal[[]string]) || len(b.off) != 1 {
		t.Errorf("%q, %q, %v", rows, b.off, err)
	}
	for _, less := range []string{"", text[:strings.Index(text, "Drift")], strings.ReplaceAll(text, "Unchanged", "Other")} {
		if rows, err := watches(&bench{}, less); err == nil {
			t.Errorf("%q is no error", rows)
		}
	}
}
