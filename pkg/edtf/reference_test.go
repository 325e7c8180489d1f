package edtf_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/edtf"
)

// referenceRow is one row of testdata/reference/dates.csv: the numbered
// examples of the LoC EDTF specification of 4 February 2019, ISO 8601-1 dates,
// and the invalid list of edtf-validate; the source stands beside each row.
type referenceRow map[string]string

func referenceRows(t testing.TB) []referenceRow {
	t.Helper()
	file, err := os.Open("../../testdata/reference/dates.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	records, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	rows := make([]referenceRow, 0, len(records)-1)
	for _, record := range records[1:] {
		row := referenceRow{}
		for i, name := range records[0] {
			row[name] = record[i]
		}
		rows = append(rows, row)
	}
	return rows
}

// openReading lists the rows where the specification leaves the reading open or
// contradicts itself, and which side this package takes. The rows are tested
// like all others.
var openReading = map[string]string{
	"d016": "seasons have no days in the specification; the span has no bounds",
	"d025": "an open side has no bound",
	"d040": "the specification prints 171010000 to 171010999, but three significant digits give 171000000 to 171999999",
	"d051": "seasons have no days in the specification; the span has no bounds",
	"d085": "the specification says only that Y is for years beyond four digits; the test list of edtf-validate refuses Y2006",
	"d102": "the specification does not say that the end follows the start; ISO 8601-1 does",
}

func TestReferenceDates(t *testing.T) {
	rows := referenceRows(t)
	if len(rows) != 132 {
		t.Fatalf("%d rows, want 132", len(rows))
	}
	for _, row := range rows {
		t.Run(row["id"], func(t *testing.T) {
			input := row["input"]
			d, err := edtf.Parse(input)
			if valid := row["valid_edtf"] == "yes"; valid != (err == nil) {
				t.Fatalf("Parse(%q): error %v, want valid %t (%s; %s %s)", input, err, valid, row["source"], row["note"],
					openReading[row["id"]])
			}
			if err != nil {
				return
			}
			if got := d.String(); got != input {
				t.Errorf("String() = %q, want %q", got, input)
			}
			if got := strconv.Itoa(d.Level()); got != row["edtf_level"] {
				t.Errorf("Parse(%q).Level() = %s, want %s", input, got, row["edtf_level"])
			}
			earliest, latest, _, _ := d.Span()
			if got := spanText(earliest); got != row["earliest"] {
				t.Errorf("Parse(%q) earliest %q, want %q", input, got, row["earliest"])
			}
			if got := spanText(latest); got != row["latest"] {
				t.Errorf("Parse(%q) latest %q, want %q", input, got, row["latest"])
			}
			if got := sideText(d); got != row["open_or_unknown"] {
				t.Errorf("Parse(%q) sides %q, want %q", input, got, row["open_or_unknown"])
			}
			qualifier := row["qualifier"]
			if got, want := d.Uncertain(), strings.Contains(qualifier, "uncertain"); got != want {
				t.Errorf("Parse(%q).Uncertain() = %t, want %t", input, got, want)
			}
			if got, want := d.Approximate(), strings.Contains(qualifier, "approximate"); got != want {
				t.Errorf("Parse(%q).Approximate() = %t, want %t", input, got, want)
			}
		})
	}
}

// spanText writes a day as dates.csv does: years beyond four digits without
// month and day.
func spanText(d edtf.Day) string {
	text := d.String()
	if strings.HasPrefix(text, "Y") {
		return text[:len(text)-len("-01-01")]
	}
	return text
}

func sideText(d edtf.Date) string {
	start, end := d.Sides()
	var parts []string
	if start != edtf.Stated {
		parts = append(parts, "start "+start.String())
	}
	if end != edtf.Stated {
		parts = append(parts, "end "+end.String())
	}
	return strings.Join(parts, "; ")
}

// Rows that are ISO 8601-1 but not EDTF are days to NormaliseFound: basic form,
// ordinal and week dates, a time without seconds.
func TestReferenceISOOnly(t *testing.T) {
	seen := 0
	for _, row := range referenceRows(t) {
		if row["valid_iso8601_1"] != "yes" || row["valid_edtf"] != "no" || row["earliest"] == "" {
			continue
		}
		seen++
		found, err := edtf.NormaliseFound(row["input"], edtf.Options{})
		if err != nil {
			t.Errorf("%s: NormaliseFound(%q): %v", row["id"], row["input"], err)
			continue
		}
		if got := found.Date.String(); got != row["earliest"] {
			t.Errorf("%s: NormaliseFound(%q) = %q, want %q", row["id"], row["input"], got, row["earliest"])
		}
	}
	if seen != 4 {
		t.Errorf("%d rows seen, want 4", seen)
	}
}
