package patterns_test

import (
	"image"
	"testing"

	"example.org/plumb/patterns"
)

// screens are the patterns as a large screen shows them, for the benchmarks.
func screens(b image.Rectangle) []sample {
	side := patterns.MatchSide(b, 0)
	half := patterns.Mix{A: 0, B: 255, Lit: 1, Of: 2}
	columns := patterns.Mix{A: 0, B: 255, Lit: 3, Of: 8, Columns: true}
	return []sample{
		{name: "solid", Pattern: patterns.Grey(119)},
		{name: "steps", Pattern: patterns.GreySteps{From: 0, To: 255, Steps: 11}},
		{name: "steps-down", Pattern: patterns.GreySteps{From: 0, To: 32, Steps: 33, Vertical: true}},
		{name: "cells", Pattern: patterns.Cells{Ground: 0, Patch: 6, Cell: 4}},
		{name: "gradient", Pattern: patterns.Gradient{From: 0, To: 255}},
		{name: "gradient-down", Pattern: patterns.Gradient{From: 0, To: 255, Vertical: true}},
		{name: "field", Pattern: patterns.Field{Ground: 128, Rows: 3, Cols: 3, Place: 4, Delta: 20}},
		{name: "field-whole", Pattern: patterns.Field{Ground: 128, Rows: 1, Cols: 1, Place: 0, Delta: 20}},
		{name: "field-tint", Pattern: patterns.Field{Ground: 128, Rows: 3, Cols: 3, Place: 4, Delta: 4, Red: 16, Blue: -9, Marks: true}},
		{name: "mix", Pattern: half},
		{name: "mix-columns", Pattern: columns},
		{name: "match", Pattern: patterns.Match{Lines: half, Plain: 188, Ground: 119, Side: side}},
		{name: "match-columns", Pattern: patterns.Match{Lines: columns, Plain: 188, Ground: 119, Side: side}},
		{name: "match-tint", Pattern: patterns.Match{Lines: half, Plain: 188, Ground: 119, Side: side, Red: 9, Blue: -5, At: 1}},
		{name: "match-red-columns", Pattern: patterns.Match{Lines: columns, Plain: 188, Ground: 119, Side: side, Channel: 1}},
		{name: "pair", Pattern: patterns.Pair{Left: 90, Right: 160, Ground: 119, Side: side}},
		{name: "quarters", Pattern: patterns.Quarters{Ground: 90, Base: 100, Patch: 101, Cell: 2}},
		{name: "ramps", Pattern: patterns.Ramps{From: 32, To: 96, Bits: 6, Ground: 20}},
		{name: "fours", Pattern: patterns.Fours{Ground: 60, Base: [3]uint8{200, 20, 30}, Mark: [3]uint8{170, 24, 34}, Cell: 2}},
	}
}

func BenchmarkPaint(b *testing.B) {
	dst := image.NewRGBA(image.Rect(0, 0, 3840, 2160))
	for _, s := range screens(dst.Rect) {
		b.Run(s.name, func(b *testing.B) {
			b.SetBytes(int64(len(dst.Pix)))
			b.ReportAllocs()
			for b.Loop() {
				s.Paint(dst, dst.Rect)
			}
		})
	}
}

// BenchmarkRowCopy is the yardstick: one row, made once, copied to all the others.
func BenchmarkRowCopy(b *testing.B) {
	dst := image.NewRGBA(image.Rect(0, 0, 3840, 2160))
	patterns.Gradient{From: 0, To: 255}.Paint(dst, image.Rect(0, 0, 3840, 1))
	b.SetBytes(int64(len(dst.Pix)))
	for b.Loop() {
		for i := dst.Stride; i < len(dst.Pix); i += dst.Stride {
			copy(dst.Pix[i:i+dst.Stride], dst.Pix[:dst.Stride])
		}
	}
}
