package transfer

import (
	"encoding/csv"
	"strconv"
	"testing"

	"example.org/plumb/testdata"
)

// vectors returns the columns of a table by their names, and fails when there is nothing in it.
func vectors(t *testing.T, name string) map[string][]float64 {
	t.Helper()
	f, err := testdata.FS.Open("colour/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) < 2 {
		t.Fatalf("%s holds no vectors", name)
	}
	columns := map[string][]float64{}
	for i, name := range rows[0] {
		for _, row := range rows[1:] {
			v, err := strconv.ParseFloat(row[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			columns[name] = append(columns[name], v)
		}
	}
	return columns
}
