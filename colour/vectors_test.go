package colour

import (
	"encoding/json"
	"math"
	"testing"

	"example.org/plumb/testdata"
)

// vectors returns the rows of a table of numbers, and fails when there is nothing in it.
func vectors(t *testing.T, name string) [][]float64 {
	t.Helper()
	_, rows := testdata.Table(t, "colour/"+name)
	var table [][]float64
	for _, row := range rows {
		numbers := make([]float64, len(row))
		for i, s := range row {
			numbers[i] = testdata.Number(t, s)
		}
		table = append(table, numbers)
	}
	return table
}

// load decodes a file of vectors.
func load(t *testing.T, name string, v any) {
	t.Helper()
	data, err := testdata.FS.ReadFile("colour/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, v); err != nil {
		t.Fatal(err)
	}
}

// apart is the greatest difference of two matrices' entries.
func apart(m, n Matrix) float64 {
	var d float64
	for i := range 3 {
		for j := range 3 {
			d = max(d, math.Abs(m[i][j]-n[i][j]))
		}
	}
	return d
}

func apartXYZ(p, q XYZ) float64 {
	return max(math.Abs(p.X-q.X), math.Abs(p.Y-q.Y), math.Abs(p.Z-q.Z))
}

func apartLab(p, q Lab) float64 {
	return max(math.Abs(p.L-q.L), math.Abs(p.A-q.A), math.Abs(p.B-q.B))
}
