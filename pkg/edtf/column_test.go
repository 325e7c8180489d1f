package edtf_test

import (
	"slices"
	"testing"

	"github.com/findslip/findslip/pkg/edtf"
)

func TestProveOrder(t *testing.T) {
	for _, test := range []struct {
		name    string
		samples []string
		want    edtf.Order
		first   int // of the deciding proof
		clash   bool
	}{
		{"day first", []string{"3/4/2025", "", "n/a", "25/12/2025", "1/2/2025"}, edtf.DayMonthYear, 3, false},
		{"month first", []string{"3/4/2025", "12/25/2025"}, edtf.MonthDayYear, 1, false},
		{"year first", []string{"2025-03-04", "2025-12-25"}, edtf.YearMonthDay, 0, false},
		{"year first tells nothing of the others", []string{"2025-03-04", "3/4/2025"}, edtf.OrderUnknown, 0, false},
		{"contradiction", []string{"13/4/2025", "4/13/2025"}, edtf.OrderUnknown, 0, true},
		{"nothing proven", []string{"3/4/2025", "5/5/2025"}, edtf.OrderUnknown, 0, false},
		{"two digits, by elimination", []string{"25/12/26", "13/10/40"}, edtf.DayMonthYear, 0, false},
		// Day before month with slashes or points is common practice in Europe; no source.
		{"two digits, day first", []string{"12/08/22", "13/08/22", "20/08/22"}, edtf.DayMonthYear, 1, false},
		{"two digits, one of them", []string{"1/8/21", "31/08/21"}, edtf.DayMonthYear, 1, false},
		{"two digits, points", []string{"17.5.20", "18.5.20"}, edtf.DayMonthYear, 0, false},
		{"two digits beside a whole date", []string{"2021-08-01", "13/08/22"}, edtf.DayMonthYear, 1, false},
		{"two digits, one year first", []string{"22/08/12", "22/08/13"}, edtf.OrderUnknown, 0, false},
		{"two digits, a year that is no day", []string{"98/08/12", "99/08/13"}, edtf.YearMonthDay, 0, false},
		{"two digits, month first", []string{"7/4/19", "7/13/19"}, edtf.MonthDayYear, 1, false},
		{"two digits, hyphens", []string{"13-08-22", "14-08-22"}, edtf.OrderUnknown, 0, false},
		{"two digits, a clash", []string{"13/08/22", "8/14/22"}, edtf.OrderUnknown, 0, true},
		{"none", nil, edtf.OrderUnknown, 0, false},
	} {
		t.Run(test.name, func(t *testing.T) {
			got, evidence := edtf.ProveOrder(slices.Values(test.samples))
			if got != test.want || evidence.Contradictory != test.clash {
				t.Fatalf("ProveOrder = %v, %+v; want %v, contradictory %t", got, evidence, test.want, test.clash)
			}
			if evidence.Samples != len(test.samples) {
				t.Errorf("Samples = %d, want %d", evidence.Samples, len(test.samples))
			}
			var proof edtf.Proof
			switch got {
			case edtf.DayMonthYear:
				proof = evidence.DayMonthYear
			case edtf.MonthDayYear:
				proof = evidence.MonthDayYear
			case edtf.YearMonthDay:
				proof = evidence.YearMonthDay
			default:
				return
			}
			if proof.Count == 0 || proof.First != test.first {
				t.Errorf("proof %+v, want first %d", proof, test.first)
			}
		})
	}
	_, evidence := edtf.ProveOrder(slices.Values([]string{"1/2/2025", "14/4/2025", "4/15/2025", "16/4/2025"}))
	if evidence.DayMonthYear != (edtf.Proof{Count: 2, First: 1}) ||
		evidence.MonthDayYear != (edtf.Proof{Count: 1, First: 2}) || evidence.Open != 1 {
		t.Errorf("evidence of a contradiction: %+v", evidence)
	}
}

func TestOrderOfHeading(t *testing.T) {
	for heading, want := range map[string]edtf.Order{
		"Datum (tt.mm.jjjj)":           edtf.DayMonthYear,
		"Date (dd/mm/yyyy)":            edtf.DayMonthYear,
		"dato (dd-mm-åååå)":            edtf.DayMonthYear,
		"Datum (ÅÅÅÅ-MM-DD)":           edtf.YearMonthDay,
		"date (jj/mm/aaaa)":            edtf.DayMonthYear,
		"datum (dd-mm-jjjj)":           edtf.DayMonthYear,
		"Date found [MM/DD/YYYY]":      edtf.MonthDayYear,
		"Date yyyy-mm-dd":              edtf.YearMonthDay,
		"found, day/month/year":        edtf.DayMonthYear,
		"Tag.Monat.Jahr":               edtf.DayMonthYear,
		"date_mdy":                     edtf.MonthDayYear,
		"Date":                         edtf.OrderUnknown,
		"":                             edtf.OrderUnknown,
		"Datum":                        edtf.OrderUnknown,
		"Weight (g)":                   edtf.OrderUnknown,
		"dd/dd/yyyy":                   edtf.OrderUnknown,
		"Tiefe mm":                     edtf.OrderUnknown,
		"day found / month / material": edtf.OrderUnknown,
	} {
		got, stated := edtf.OrderOfHeading(heading)
		if got != want || stated != (want != edtf.OrderUnknown) {
			t.Errorf("OrderOfHeading(%q) = %v, %t; want %v", heading, got, stated, want)
		}
	}
}
