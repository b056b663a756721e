// Package metricstest reads the text of metrics strictly, so that tests can tell what is not of the format.
package metricstest

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

var (
	name   = regexp.MustCompile(`^[a-zA-Z_:][a-zA-Z0-9_:]*`)
	label  = regexp.MustCompile(`^([a-zA-Z_][a-zA-Z0-9_]*)="((?:[^"\\\n]|\\[\\n"])*)"`)
	help   = regexp.MustCompile(`^(?:[^\\]|\\[\\n])*$`)
	kinds  = []string{"counter", "gauge", "histogram"}
	behind = []string{"_bucket", "_sum", "_count"} // what stands behind a histogram's name
)

// Parse reads a text in the exposition format 0.0.4 and returns each sample's value under its name and its labels, by their names and as they are written:
// name{a="x",b="y"}. It refuses more than the format does: a sample without HELP and TYPE before it, a family in two places, a series that comes twice, a time stamp, a counter
// that is negative or whose name does not end in _total, and buckets that do not rise or end in +Inf with the count.
func Parse(text string) (map[string]float64, error) {
	all := map[string]float64{}
	seen := map[string]bool{}
	family, kind, helped := "", "", ""
	var buckets []bucket
	if text != "" && !strings.HasSuffix(text, "\n") {
		return nil, fmt.Errorf("metricstest: the last line does not end")
	}
	n := 0
	for line := range strings.Lines(text) {
		n++
		line = strings.TrimSuffix(line, "\n")
		fail := func(what string) (map[string]float64, error) {
			return nil, fmt.Errorf("metricstest: line %d: %s: %q", n, what, line)
		}
		if rest, ok := strings.CutPrefix(line, "# HELP "); ok {
			of, words, _ := strings.Cut(rest, " ")
			if name.FindString(of) != of || words == "" || !help.MatchString(words) || seen[of] {
				return fail("no help, or a second one")
			}
			helped, seen[of] = of, true
			continue
		}
		if rest, ok := strings.CutPrefix(line, "# TYPE "); ok {
			of, k, _ := strings.Cut(rest, " ")
			if of != helped || of == family || !slices.Contains(kinds, k) || k == "counter" && !strings.HasSuffix(of, "_total") {
				return fail("no type, or not of what was helped with")
			}
			family, kind = of, k
			continue
		}
		of := name.FindString(line)
		rest := line[len(of):]
		base := of
		if kind == "histogram" {
			for _, b := range behind {
				base = strings.TrimSuffix(base, b)
			}
		}
		if of == "" || base != family || kind == "histogram" && base == of {
			return fail("a sample of another family, or none")
		}
		labels := map[string]string{}
		if strings.HasPrefix(rest, "{") {
			rest = rest[1:]
			for {
				m := label.FindStringSubmatch(rest)
				if m == nil {
					return fail("a label")
				}
				if _, twice := labels[m[1]]; twice {
					return fail("a label that comes twice")
				}
				labels[m[1]] = m[2]
				rest = rest[len(m[0]):]
				if strings.HasPrefix(rest, "}") {
					rest = rest[1:]
					break
				}
				if !strings.HasPrefix(rest, ",") {
					return fail("what comes behind a label")
				}
				rest = rest[1:]
			}
		}
		value, ok := strings.CutPrefix(rest, " ")
		x, err := strconv.ParseFloat(value, 64)
		if !ok || err != nil || value != strings.TrimSpace(value) {
			return fail("a value")
		}
		if kind == "counter" && !(x >= 0) {
			return fail("a counter below nothing")
		}
		key := of + written(labels)
		if _, twice := all[key]; twice {
			return fail("a series that comes twice")
		}
		all[key] = x
		if strings.HasSuffix(of, "_bucket") && kind == "histogram" {
			le, ok := labels["le"]
			bound, err := strconv.ParseFloat(le, 64)
			if !ok || err != nil {
				return fail("a bucket without a bound")
			}
			delete(labels, "le")
			buckets = append(buckets, bucket{family + "_count" + written(labels), le, bound, x})
		}
	}
	for i, b := range buckets {
		last := i == len(buckets)-1 || buckets[i+1].of != b.of
		if count, ok := all[b.of]; !ok || last && (b.le != "+Inf" || b.n != count) || !last && (buckets[i+1].bound <= b.bound || buckets[i+1].n < b.n) {
			return nil, fmt.Errorf("metricstest: the buckets of %s do not rise, or do not end with its count", b.of)
		}
	}
	return all, nil
}

// bucket is one of a histogram's.
type bucket struct {
	of       string // the count that it belongs to
	le       string
	bound, n float64
}

// written is labels by their names.
func written(labels map[string]string) string {
	if len(labels) == 0 {
		return ""
	}
	var parts []string
	for _, l := range slices.Sorted(maps.Keys(labels)) {
		parts = append(parts, l+`="`+labels[l]+`"`)
	}
	return "{" + strings.Join(parts, ",") + "}"
}
