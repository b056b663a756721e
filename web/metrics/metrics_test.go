package metrics_test

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"sync"
	"testing"

	"example.org/plumb/web/metrics"
	"example.org/plumb/web/metrics/metricstest"
)

func text(t *testing.T, r *metrics.Registry) string {
	t.Helper()
	var b bytes.Buffer
	if err := r.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// The text is the one that the format's description shows (Prometheus, Exposition formats, "Text format example").
func TestWrite(t *testing.T) {
	var r metrics.Registry
	if got := text(t, &r); got != "" {
		t.Errorf("nothing is written as %q", got)
	}
	asked := r.Counter("http_requests_total", "The total number of HTTP requests.", "method", "code")
	asked.Add(1027, "post", "200")
	asked.Add(2, "post", "400")
	asked.Add(1, "post", "400")
	path := r.Gauge("msdos_file_access_time_seconds", "A line\nand a \\ in it.", "path", "error")
	path.Set(1.458255915e9, `C:\DIR\FILE.TXT`, "Cannot find file:\n\"FILE.TXT\"")
	r.Counter("idle_total", "Nothing yet.")
	r.Gauge("unknown", "Without a value.").Clear()
	took := r.Histogram("took_seconds", "How long it took.", []float64{0.05, 0.1, 1}, "route")
	for _, x := range []float64{0.01, 0.05, 0.0625, 1, 1.5, 100} {
		took.Observe(x, "/")
	}
	up := r.Gauge("up", "Rises and falls.")
	up.Add(2)
	up.Add(-2.5)
	const want = `# HELP http_requests_total The total number of HTTP requests.
# TYPE http_requests_total counter
http_requests_total{method="post",code="200"} 1027
http_requests_total{method="post",code="400"} 3
# HELP msdos_file_access_time_seconds A line\nand a \\ in it.
# TYPE msdos_file_access_time_seconds gauge
msdos_file_access_time_seconds{path="C:\\DIR\\FILE.TXT",error="Cannot find file:\n\"FILE.TXT\""} 1458255915
# HELP idle_total Nothing yet.
# TYPE idle_total counter
idle_total 0
# HELP took_seconds How long it took.
# TYPE took_seconds histogram
took_seconds_bucket{route="/",le="0.05"} 2
took_seconds_bucket{route="/",le="0.1"} 3
took_seconds_bucket{route="/",le="1"} 4
took_seconds_bucket{route="/",le="+Inf"} 6
took_seconds_sum{route="/"} 102.6225
took_seconds_count{route="/"} 6
# HELP up Rises and falls.
# TYPE up gauge
up -0.5
`
	if got := text(t, &r); got != want {
		t.Errorf("written:\n%s\nwant:\n%s", got, want)
	}
	all, err := metricstest.Parse(text(t, &r))
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]float64{
		`http_requests_total{code="400",method="post"}`: 3, `idle_total`: 0, `up`: -0.5, `took_seconds_bucket{le="+Inf",route="/"}`: 6,
		`msdos_file_access_time_seconds{error="Cannot find file:\n\"FILE.TXT\"",path="C:\\DIR\\FILE.TXT"}`: 1458255915,
	} {
		if got, ok := all[name]; !ok || got != want {
			t.Errorf("%s reads as %v, %t", name, got, ok)
		}
	}
}

func TestNumbers(t *testing.T) {
	for x, want := range map[float64]string{0: "0", 1 << 52: "4503599627370496", 0.1: "0.1", 1e300: "1e+300", math.Inf(1): "+Inf", math.Inf(-1): "-Inf", -3: "-3"} {
		var r metrics.Registry
		r.Gauge("x", "x").Set(x)
		if got := text(t, &r); !strings.HasSuffix(got, "\nx "+want+"\n") {
			t.Errorf("%v: %q", x, got)
		}
	}
	var r metrics.Registry
	r.Gauge("x", "x").Set(math.NaN())
	if got := text(t, &r); !strings.HasSuffix(got, "\nx NaN\n") {
		t.Errorf("NaN: %q", got)
	}
}

// Mistakes of the program panic where they are made.
func TestMistakes(t *testing.T) {
	for what, do := range map[string]func(*metrics.Registry){
		"no name":        func(r *metrics.Registry) { r.Counter("", "x") },
		"a wrong name":   func(r *metrics.Registry) { r.Counter("a-b", "x") },
		"a digit first":  func(r *metrics.Registry) { r.Counter("1a", "x") },
		"a taken name":   func(r *metrics.Registry) { r.Counter("a", "x"); r.Gauge("a", "x") },
		"a wrong label":  func(r *metrics.Registry) { r.Counter("a", "x", "b:c") },
		"le":             func(r *metrics.Registry) { r.Histogram("a", "x", nil, "le") },
		"a fall":         func(r *metrics.Registry) { r.Counter("a", "x").Add(-1) },
		"NaN":            func(r *metrics.Registry) { r.Counter("a", "x").Add(math.NaN()) },
		"too few labels": func(r *metrics.Registry) { r.Counter("a", "x", "b").Add(1) },
		"wrong bounds":   func(r *metrics.Registry) { r.Histogram("a", "x", []float64{1, 1}) },
	} {
		func() {
			defer func() {
				if p := recover(); p == nil || !strings.HasPrefix(fmt.Sprint(p), "metrics: ") {
					t.Errorf("%s: %v", what, p)
				}
			}()
			do(&metrics.Registry{})
		}()
	}
}

func TestAtTheSameTime(t *testing.T) {
	var r metrics.Registry
	c, g := r.Counter("c_total", "x", "a"), r.Gauge("g", "x")
	h := r.Histogram("h", "x", []float64{1})
	refresh := r.Runtime()
	var all sync.WaitGroup
	for i := range 8 {
		all.Go(func() {
			for range 200 {
				c.Add(1, fmt.Sprint(i%2))
				g.Add(1)
				g.Add(-1)
				h.Observe(float64(i))
				if i == 0 {
					refresh()
					text(t, &r)
				}
			}
		})
	}
	all.Wait()
	got, err := metricstest.Parse(text(t, &r))
	if err != nil || got[`c_total{a="0"}`] != 800 || got[`c_total{a="1"}`] != 800 || got["g"] != 0 || got["h_count"] != 1600 || got[`h_bucket{le="1"}`] != 400 {
		t.Errorf("%v, %v", got, err)
	}
}

func TestRuntime(t *testing.T) {
	var r metrics.Registry
	refresh := r.Runtime()
	refresh()
	got, err := metricstest.Parse(text(t, &r))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"go_goroutines", "go_gomaxprocs", "go_memory_bytes", "go_heap_objects_bytes", "go_allocated_bytes_total"} {
		if !(got[name] > 0) {
			t.Errorf("%s is %v", name, got[name])
		}
	}
	for _, name := range []string{"go_gc_cycles_total", "go_cpu_user_seconds_total", "go_cpu_gc_seconds_total"} {
		if _, ok := got[name]; !ok {
			t.Errorf("no %s", name)
		}
	}
}
