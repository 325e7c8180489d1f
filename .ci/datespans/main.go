// Command datespans prints the first and last day of every EDTF date in the reference table and
// the vectors, for comparison with an independent library.
package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"slices"

	"github.com/findslip/findslip/pkg/edtf"
)

func main() {
	texts := map[string]bool{}
	f, err := os.Open("testdata/reference/dates.csv")
	check(err)
	rows, err := csv.NewReader(f).ReadAll()
	check(err)
	input, valid := slices.Index(rows[0], "input"), slices.Index(rows[0], "valid_edtf")
	for _, row := range rows[1:] {
		if row[valid] == "yes" {
			texts[row[input]] = true
		}
	}
	raw, err := os.ReadFile("testdata/vectors/date-dating.json")
	check(err)
	var vectors []struct {
		Expect struct {
			Date string `json:"date"`
		} `json:"expect"`
	}
	check(json.Unmarshal(raw, &vectors))
	for _, v := range vectors {
		texts[v.Expect.Date] = true
	}
	for text := range texts {
		d, err := edtf.Parse(text)
		if text == "" || err != nil {
			continue
		}
		first, last, openFirst, openLast := d.Span()
		if !openFirst && !openLast {
			fmt.Printf("%s\t%s\t%s\n", text, first, last)
		}
	}
}

func check(err error) {
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
}
