package edtf_test

import (
	"testing"

	"github.com/findslip/findslip/pkg/edtf"
)

// TestMarksBesideAPeriod: a period bears no mark, and the marks beside one are told.
func TestMarksBesideAPeriod(t *testing.T) {
	for text, code := range map[string]string{"Roman?": "period-uncertain", "c. Roman": "period-approximate"} {
		if d, err := edtf.NormaliseDating(text, edtf.Options{}); err != nil || len(d.Notes) != 1 || d.Notes[0].Code != code {
			t.Errorf("%q: %+v, %v", text, d, err)
		}
	}
}

// TestPartsOfADate: ends, sides, time and names of precisions.
func TestPartsOfADate(t *testing.T) {
	parse := func(s string) edtf.Date {
		d, err := edtf.Parse(s)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	for text, want := range map[string][4]string{
		"1690/1790": {"1690", "1790", "stated", "stated"}, "../1790": {"", "1790", "open", "stated"},
		"1690/": {"1690", "", "stated", "unknown"}, "[1667,1668,1670..1672]": {"1667", "1672", "stated", "stated"},
		"2026-04-12": {"2026-04-12", "2026-04-12", "stated", "stated"},
	} {
		d := parse(text)
		start, end := d.Sides()
		if got := [4]string{d.Start().String(), d.End().String(), start.String(), end.String()}; got != want {
			t.Errorf("%s: %q, want %q", text, got, want)
		}
	}
	if got := parse("2026-04-12T23:20:30+04:30"); got.Time() != "23:20:30+04:30" || parse("2026").Time() != "" {
		t.Errorf("time %q", got.Time())
	}
	if b, err := parse("186X").AppendText([]byte("c. ")); err != nil || string(b) != "c. 186X" {
		t.Errorf("AppendText: %s, %v", b, err)
	}
	if !edtf.DayDate(edtf.Day{Year: 2026, Month: 2, Day: 30}).IsZero() ||
		edtf.DayDate(edtf.Day{Year: 2026, Month: 4, Day: 12}).String() != "2026-04-12" {
		t.Error("dates made of numbers")
	}
	for _, o := range []edtf.Order{edtf.OrderUnknown, edtf.DayMonthYear, edtf.MonthDayYear, edtf.YearMonthDay} {
		if got, err := edtf.ParseOrder(o.String()); err != nil || got != o {
			t.Errorf("order %q is read as %v, %v", o, got, err)
		}
	}
	for _, e := range []edtf.Epoch{edtf.NoSerial, edtf.Epoch1900, edtf.Epoch1904} {
		if got, err := edtf.ParseEpoch(e.String()); err != nil || got != e {
			t.Errorf("epoch %q is read as %v, %v", e, got, err)
		}
	}
	if _, err := edtf.ParseEpoch("1901"); err == nil {
		t.Error("1901 is no epoch")
	}
}
