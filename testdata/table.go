package testdata

import (
	"encoding/csv"
	"strconv"
	"testing"
)

// Table returns the head and the rows, at least one, of a file of vectors in CSV, such as colour/gsdf.csv. The test fails where there are none.
func Table(t testing.TB, name string) (head []string, rows [][]string) {
	t.Helper()
	f, err := FS.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err = csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	if len(rows) < 2 {
		t.Fatalf("%s holds no vectors", name)
	}
	return rows[0], rows[1:]
}

// Number returns the number that a text of a table is. The test fails where it is none.
func Number(t testing.TB, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
