package main

import (
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
