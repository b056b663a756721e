package report_test

import (
	"image"
	"testing"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
)

// BenchmarkOf is what the end of a sitting waits for once its results are there: findings, faults, verdicts, purposes and score, and the record's bytes.
func BenchmarkOf(b *testing.B) {
	for _, l := range []check.Length{check.Short, check.Standard, check.Long} {
		b.Run(string(l), func(b *testing.B) {
			s, err := check.Begin(plan(l, 7))
			if err != nil {
				b.Fatal(err)
			}
			v, dst := virtual(b, "typical", ordinary(), 7), image.NewRGBA(image.Rect(0, 0, 640, 400))
			for {
				q, ok := s.Present(dst.Rect)
				if !ok {
					break
				}
				s.Frame(dst)
				s.Press(v(q, dst), start, time.Second)
			}
			s.Results()
			for b.Loop() {
				report.Of(s, conditions(), "benchmark").Marshal()
			}
		})
	}
}
