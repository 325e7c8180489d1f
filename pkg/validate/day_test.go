package validate

import (
	"testing"
	"time"

	"github.com/findslip/findslip/pkg/edtf"
)

// TestDayNumber holds the count of days to that of package time.
func TestDayNumber(t *testing.T) {
	day := func(t time.Time) edtf.Day {
		return edtf.Day{Year: t.Year(), Month: uint8(t.Month()), Day: uint8(t.Day())}
	}
	first := time.Date(1890, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range 100_000 {
		if got := daysBetween(day(first), day(first.AddDate(0, 0, i))); got != i {
			t.Fatalf("from 1890-01-01 to %s are %d days, want %d", first.AddDate(0, 0, i).Format(time.DateOnly), got, i)
		}
	}
	if got := daysBetween(edtf.Day{Year: -1, Month: 12, Day: 31}, edtf.Day{Month: 1, Day: 1}); got != 1 {
		t.Errorf("over the turn to year 0 are %d days, want 1", got)
	}
}

// TestMoment checks the forms of ISO 8601-1 that the schema lets through, and some that it does not.
func TestMoment(t *testing.T) {
	april := edtf.Day{Year: 2026, Month: 4, Day: 12}
	for text, want := range map[string]moment{
		"2026-04-12":                   {day: april, minute: -1},
		"2026-04-12T14:30":             {day: april, minute: 870},
		"2026-04-12T14:30:59.5Z":       {day: april, minute: 870, zone: utc},
		"2026-04-12T00:00:00+02:00":    {day: april, zone: stated, offset: 120},
		"2026-04-12T23:59-05:30":       {day: april, minute: 1439, zone: stated, offset: -330},
		"2026-04-31":                   {},
		"2026-04":                      {},
		"2026-04-12 14:30":             {},
		"2026-04-12T24:30":             {},
		"2026-04-12T14:30+2":           {},
		"":                             {},
		"2026-04-12T":                  {},
		"２０２６-04-12":                   {},
		"2026-04-12T14:30:00+99:99:99": {},
	} {
		got, ok := momentOf(text)
		if got != want || ok != (want != moment{}) {
			t.Errorf("momentOf(%q) = %+v, %v, want %+v", text, got, ok, want)
		}
	}
}
