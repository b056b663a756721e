package transfer

import (
	"testing"

	"example.org/plumb/testdata"
)

// vectors returns the columns of a table by their names, and fails when there is nothing in it.
func vectors(t *testing.T, name string) map[string][]float64 {
	t.Helper()
	head, rows := testdata.Table(t, "colour/"+name)
	columns := map[string][]float64{}
	for i, name := range head {
		for _, row := range rows {
			columns[name] = append(columns[name], testdata.Number(t, row[i]))
		}
	}
	return columns
}
