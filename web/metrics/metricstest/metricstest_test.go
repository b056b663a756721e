package metricstest

import (
	"reflect"
	"testing"
)

func TestParse(t *testing.T) {
	got, err := Parse("# HELP a_total x\n# TYPE a_total counter\na_total{b=\"c,d}\",e=\"\\\"\"} 3\na_total 1.5e3\n# HELP g y \\\\\n# TYPE g gauge\ng NaN\n# HELP h z\n# TYPE h histogram\n" +
		"h_bucket{le=\"1\"} 2\nh_bucket{le=\"+Inf\"} 3\nh_sum 7\nh_count 3\n")
	delete(got, "g") // not equal to itself
	want := map[string]float64{`a_total{b="c,d}",e="\""}`: 3, "a_total": 1500, `h_bucket{le="1"}`: 2, `h_bucket{le="+Inf"}`: 3, "h_sum": 7, "h_count": 3}
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%v, %v", got, err)
	}
}

func TestParseRefuses(t *testing.T) {
	const counter, histogram = "# HELP a_total x\n# TYPE a_total counter\n", "# HELP h x\n# TYPE h histogram\n"
	for what, text := range map[string]string{
		"no type":           "a 1\n",
		"no end":            counter + "a_total 1",
		"no help":           "# TYPE a_total counter\na_total 1\n",
		"another's type":    "# HELP b_total x\n# TYPE a_total counter\na_total 1\n",
		"an unknown type":   "# HELP a x\n# TYPE a number\na 1\n",
		"a short name":      "# HELP a x\n# TYPE a counter\na 1\n",
		"twice":             counter + "a_total 1\na_total 1\n",
		"twice by order":    counter + "a_total{b=\"1\",c=\"2\"} 1\na_total{c=\"2\",b=\"1\"} 1\n",
		"a label twice":     counter + "a_total{b=\"1\",b=\"1\"} 1\n",
		"in two places":     counter + "a_total 1\n" + counter + "a_total{b=\"c\"} 1\n",
		"no value":          counter + "a_total\n",
		"no number":         counter + "a_total one\n",
		"a time stamp":      counter + "a_total 1 1395066363000\n",
		"two spaces":        counter + "a_total  1\n",
		"below nothing":     counter + "a_total -1\n",
		"an open label":     counter + "a_total{b=\"c} 1\n",
		"a bare quote":      counter + "a_total{b=\"c\"d\"} 1\n",
		"a lone backslash":  counter + "a_total{b=\"\\d\"} 1\n",
		"no comma":          counter + "a_total{b=\"c\"d=\"e\"} 1\n",
		"another family":    counter + "b_total 1\n",
		"a comment":         "# a_total\n",
		"no buckets' end":   histogram + "h_bucket{le=\"1\"} 2\nh_sum 1\nh_count 2\n",
		"falling buckets":   histogram + "h_bucket{le=\"1\"} 2\nh_bucket{le=\"+Inf\"} 1\nh_sum 1\nh_count 1\n",
		"falling bounds":    histogram + "h_bucket{le=\"2\"} 1\nh_bucket{le=\"1\"} 1\nh_bucket{le=\"+Inf\"} 1\nh_sum 1\nh_count 1\n",
		"another count":     histogram + "h_bucket{le=\"+Inf\"} 1\nh_sum 1\nh_count 2\n",
		"no count":          histogram + "h_bucket{le=\"+Inf\"} 1\nh_sum 1\n",
		"a bucket unbound":  histogram + "h_bucket 1\nh_sum 1\nh_count 1\n",
		"a histogram alone": histogram + "h 1\n",
	} {
		if got, err := Parse(text); err == nil {
			t.Errorf("%s: reads as %v", what, got)
		}
	}
}
