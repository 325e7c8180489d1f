// Command datespans prints the first and last day of every valid EDTF date of the reference table and
// of every date that the vectors expect, for comparison with an independent library: a line each, the
// text, the first day and the last, divided by tabs. A side without a day is "none"; a date that our
// reader does not take is "refused" on both sides.
package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"maps"
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
	delete(texts, "")
	for _, text := range slices.Sorted(maps.Keys(texts)) {
		d, err := edtf.Parse(text)
		if err != nil {
			fmt.Printf("%s\trefused\trefused\n", text)
			continue
		}
		first, last, openFirst, openLast := d.Span()
		fmt.Printf("%s\t%s\t%s\n", text, side(first, openFirst), side(last, openLast))
	}
}

// side writes a bound of a span, and "none" where there is no day.
func side(d edtf.Day, open bool) string {
	if open {
		return "none"
	}
	return d.String()
}

func check(err error) {
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
}
