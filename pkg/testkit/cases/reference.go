package cases

import (
	"encoding/csv"
	"os"
	"testing"
)

// Reference reads a table of testdata/reference, for a test of a package below pkg: each row by the names of its columns.
func Reference(t testing.TB, name string) []map[string]string {
	t.Helper()
	r, err := os.Open("../../testdata/reference/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	lines, err := csv.NewReader(r).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, cell := range line {
			row[lines[0][i]] = cell
		}
		rows = append(rows, row)
	}
	return rows
}
