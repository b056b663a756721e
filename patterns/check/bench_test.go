package check_test

import (
	"image"
	"slices"
	"testing"
	"time"

	"example.org/plumb/patterns/check"
)

// BenchmarkStep is one answer and the choice of what to ask next, over whole long sittings; p99-ms is the slowest of a hundred.
func BenchmarkStep(b *testing.B) {
	for _, a := range all() {
		if a == check.Handling {
			continue
		}
		b.Run(string(a), func(b *testing.B) {
			p := only(plan(check.Long, 31), a)
			p.Reference = check.Paper
			s, v := begin(b, p), newRule(31)
			dst := image.NewRGBA(bounds)
			var took []time.Duration
			b.StopTimer()
			for b.N > len(took) {
				q, ok := s.Present(bounds)
				if !ok {
					p.Seed++
					s = begin(b, p)
					continue
				}
				s.Frame(dst)
				key := v.key(q, dst)
				b.StartTimer()
				start := time.Now()
				step := s.Press(key, clock, time.Second)
				s.Present(bounds)
				d := time.Since(start)
				b.StopTimer()
				if step != check.Adjusted {
					took = append(took, d)
				}
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)*99/100])/1e6, "p99-ms")
			b.ReportMetric(float64(took[len(took)-1])/1e6, "worst-ms")
		})
	}
}

// BenchmarkRound is the slowest wait of a standard sitting: an answer after which the next round is planned.
func BenchmarkRound(b *testing.B) {
	p := plan(check.Standard, 34)
	var took []time.Duration
	s, v := begin(b, p), newRule(34)
	dst := image.NewRGBA(bounds)
	b.StopTimer()
	for b.N > len(took) {
		q, ok := s.Present(bounds)
		if !ok {
			p.Seed++
			s = begin(b, p)
			continue
		}
		s.Frame(dst)
		key := v.key(q, dst)
		done, slots := check.At(s)
		b.StartTimer()
		start := time.Now()
		step := s.Press(key, clock, time.Second)
		s.Present(bounds)
		d := time.Since(start)
		b.StopTimer()
		if step != check.Adjusted && done == slots-1 {
			took = append(took, d)
		}
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2])/1e6, "median-ms")
	b.ReportMetric(float64(took[len(took)-1])/1e6, "worst-ms")
}

// BenchmarkResults is what a report waits for.
func BenchmarkResults(b *testing.B) {
	s := begin(b, plan(check.Standard, 32))
	sit(b, s, newRule(32).key, nil)
	for b.Loop() {
		b.StopTimer() // a sitting works its results out once
		again, err := check.Resume(s.Plan(), s.Log())
		if err != nil {
			b.Fatal(err)
		}
		b.StartTimer()
		again.Results()
	}
}

// BenchmarkResume is what a reload waits for.
func BenchmarkResume(b *testing.B) {
	p := plan(check.Long, 33)
	s := begin(b, p)
	sit(b, s, newRule(33).key, nil)
	log := stored(b, s.Log())
	for b.Loop() {
		if _, err := check.Resume(p, log[:len(log)-1]); err != nil {
			b.Fatal(err)
		}
	}
}
