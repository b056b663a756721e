// Package metrics counts what a server does, and writes what it counted as text that a Prometheus server reads (exposition format 0.0.4).
//
// It keeps numbers under names and labels alone: whoever chooses the labels answers for their being few and naming nobody.
package metrics

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// Type is the content type of what Write writes.
const Type = "text/plain; version=0.0.4; charset=utf-8"

// Registry is a set of families of numbers. The zero Registry is empty. All methods of it and of its families may be called at the same time.
type Registry struct {
	mu       sync.Mutex
	families []*family
}

// family is all numbers of one name.
type family struct {
	name, help, kind string
	labels           []string
	bounds           []float64 // of a histogram

	mu     sync.Mutex
	series map[string]*series // by its label values, joined
}

// series is the numbers under one choice of label values.
type series struct {
	values []string
	at     float64  // of a counter or a gauge; the sum of a histogram
	counts []uint64 // of a histogram: how many fell into each interval, the last one without a bound
}

// add registers a family. A name or label that the format does not know, and a name that is taken, are mistakes of the program: it panics.
func (r *Registry) add(f *family) *family {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, l := range f.labels {
		if !named(l) || l == "le" || strings.Contains(l, ":") {
			panic("metrics: no label: " + l)
		}
	}
	if !named(f.name) || slices.ContainsFunc(r.families, func(o *family) bool { return o.name == f.name }) {
		panic("metrics: not a name, or taken: " + f.name)
	}
	f.series = map[string]*series{}
	r.families = append(r.families, f)
	return f
}

// named tells whether a text is a metric's name.
func named(s string) bool {
	for i, c := range s {
		if c != '_' && c != ':' && (c < 'a' || c > 'z') && (c < 'A' || c > 'Z') && (c < '0' || c > '9' || i == 0) {
			return false
		}
	}
	return s != ""
}

// under returns the series of some label values, which must be as many as there are labels.
func (f *family) under(values []string) *series {
	if len(values) != len(f.labels) {
		panic(fmt.Sprintf("metrics: %s has %d labels, not %d", f.name, len(f.labels), len(values)))
	}
	key := strings.Join(values, "\xff")
	s := f.series[key]
	if s == nil {
		s = &series{values: slices.Clone(values)}
		f.series[key] = s
	}
	return s
}

// Counter is a number that only grows, under each choice of label values.
type Counter struct{ f *family }

// Counter registers a counter. Without labels it is 0 from the start.
func (r *Registry) Counter(name, help string, labels ...string) Counter {
	c := Counter{r.add(&family{name: name, help: help, kind: "counter", labels: labels})}
	if len(labels) == 0 {
		c.Add(0)
	}
	return c
}

// Add adds n, which must not be negative.
func (c Counter) Add(n float64, values ...string) {
	if !(n >= 0) {
		panic("metrics: a counter does not fall: " + c.f.name)
	}
	c.f.mu.Lock()
	defer c.f.mu.Unlock()
	c.f.under(values).at += n
}

// Gauge is a number that rises and falls, under each choice of label values. Without a value it is not written.
type Gauge struct{ f *family }

// Gauge registers a gauge.
func (r *Registry) Gauge(name, help string, labels ...string) Gauge {
	return Gauge{r.add(&family{name: name, help: help, kind: "gauge", labels: labels})}
}

// Add adds n, of either sign.
func (g Gauge) Add(n float64, values ...string) {
	g.f.mu.Lock()
	defer g.f.mu.Unlock()
	g.f.under(values).at += n
}

// Set gives the gauge a value.
func (g Gauge) Set(to float64, values ...string) {
	g.f.mu.Lock()
	defer g.f.mu.Unlock()
	g.f.under(values).at = to
}

// Clear takes all values from the gauge.
func (g Gauge) Clear() {
	g.f.mu.Lock()
	defer g.f.mu.Unlock()
	clear(g.f.series)
}

// Histogram counts how many observations lie at or below each of some bounds, under each choice of label values.
type Histogram struct{ f *family }

// Histogram registers a histogram. Bounds rise.
func (r *Registry) Histogram(name, help string, bounds []float64, labels ...string) Histogram {
	for i := range bounds {
		if math.IsNaN(bounds[i]) || math.IsInf(bounds[i], 0) || i > 0 && bounds[i] <= bounds[i-1] {
			panic("metrics: bounds do not rise: " + name)
		}
	}
	return Histogram{r.add(&family{name: name, help: help, kind: "histogram", labels: labels, bounds: slices.Clone(bounds)})}
}

// Observe counts one observation.
func (h Histogram) Observe(x float64, values ...string) {
	h.f.mu.Lock()
	defer h.f.mu.Unlock()
	s := h.f.under(values)
	if s.counts == nil {
		s.counts = make([]uint64, len(h.f.bounds)+1)
	}
	i, _ := slices.BinarySearch(h.f.bounds, x) // the first bound that is not below x
	s.counts[i]++
	s.at += x
}

// Write writes all families in the order in which they were registered, each with its series by their label values.
func (r *Registry) Write(w io.Writer) error {
	r.mu.Lock()
	families := slices.Clone(r.families)
	r.mu.Unlock()
	b := bufio.NewWriter(w)
	for _, f := range families {
		f.write(b)
	}
	return b.Flush()
}

var (
	ofHelp  = strings.NewReplacer(`\`, `\\`, "\n", `\n`)
	ofLabel = strings.NewReplacer(`\`, `\\`, "\n", `\n`, `"`, `\"`)
)

func (f *family) write(b *bufio.Writer) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if len(f.series) == 0 {
		return
	}
	fmt.Fprintf(b, "# HELP %s %s\n# TYPE %s %s\n", f.name, ofHelp.Replace(f.help), f.name, f.kind)
	all := make([]*series, 0, len(f.series))
	for _, s := range f.series {
		all = append(all, s)
	}
	slices.SortFunc(all, func(x, y *series) int { return slices.Compare(x.values, y.values) })
	for _, s := range all {
		if f.kind != "histogram" {
			fmt.Fprintf(b, "%s%s %s\n", f.name, f.labelled(s), number(s.at))
			continue
		}
		sum := uint64(0)
		for i, n := range s.counts {
			sum += n
			le := "+Inf"
			if i < len(f.bounds) {
				le = number(f.bounds[i])
			}
			fmt.Fprintf(b, "%s_bucket%s %d\n", f.name, f.labelled(s, "le", le), sum)
		}
		fmt.Fprintf(b, "%s_sum%s %s\n%s_count%s %d\n", f.name, f.labelled(s), number(s.at), f.name, f.labelled(s), sum)
	}
}

// labelled is the labels of a series as they are written, with one more behind them.
func (f *family) labelled(s *series, more ...string) string {
	var parts []string
	for i, l := range f.labels {
		parts = append(parts, l+`="`+ofLabel.Replace(s.values[i])+`"`)
	}
	if len(more) == 2 {
		parts = append(parts, more[0]+`="`+more[1]+`"`)
	}
	if len(parts) == 0 {
		return ""
	}
	return "{" + strings.Join(parts, ",") + "}"
}

// number is a value as the format has it, which is as ParseFloat reads it.
func number(x float64) string {
	switch {
	case math.IsInf(x, 1):
		return "+Inf"
	case math.IsInf(x, -1):
		return "-Inf"
	case x == math.Trunc(x) && math.Abs(x) < 1<<53:
		return strconv.FormatFloat(x, 'f', -1, 64) // bytes and moments read better so
	}
	return strconv.FormatFloat(x, 'g', -1, 64)
}
