package edtf_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

func dayOf(t time.Time) edtf.Day {
	return edtf.Day{Year: t.Year(), Month: uint8(t.Month()), Day: uint8(t.Day())}
}

// Civil days are held to package time, which also counts a proleptic Gregorian
// calendar, through a whole cycle of 400 years and over year 0.
func TestAddDaysAgainstTime(t *testing.T) {
	for _, start := range []int{-401, -1, 1599, 1899} {
		day := edtf.Day{Year: start, Month: 1, Day: 1}
		clock := time.Date(start, 1, 1, 0, 0, 0, 0, time.UTC)
		for range 150_000 {
			day, clock = day.AddDays(1), clock.AddDate(0, 0, 1)
			if day != dayOf(clock) {
				t.Fatalf("%v, time has %v", day, clock)
			}
		}
	}
}

func TestAddDaysJumps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		year, yearDay := rapid.IntRange(-9000, 9000).Draw(t, "year"), rapid.IntRange(0, 365).Draw(t, "day of the year")
		jump := rapid.IntRange(-1_000_000, 1_000_000).Draw(t, "days")
		clock := time.Date(year, 1, 1+yearDay, 0, 0, 0, 0, time.UTC)
		day := dayOf(clock)
		if got, want := day.AddDays(jump), dayOf(clock.AddDate(0, 0, jump)); got != want {
			t.Fatalf("%v + %d days = %v, time has %v", day, jump, got, want)
		}
		if back := day.AddDays(jump).AddDays(-jump); back != day {
			t.Fatalf("%v there and back is %v", day, back)
		}
	})
}

// The serials of both date systems against package time: the 1900 system counts
// from 31 December 1899 and skips 60 (ECMA-376 part 1, section 18.17.4).
func TestSerialDaysAgainstTime(t *testing.T) {
	for serial := 1; serial <= 2958465; serial++ {
		day, ok := edtf.SerialDay(serial, edtf.Epoch1900)
		if serial == 60 {
			if ok {
				t.Fatalf("serial 60 is %v", day)
			}
			continue
		}
		if !ok {
			t.Fatalf("serial %d is refused", serial)
		}
		if serial%97 != 0 && serial > 1000 {
			continue
		}
		days := serial
		if serial > 60 {
			days--
		}
		if want := dayOf(time.Date(1899, 12, 31, 0, 0, 0, 0, time.UTC).AddDate(0, 0, days)); day != want {
			t.Fatalf("serial %d is %v, time has %v", serial, day, want)
		}
	}
	for serial := 0; serial <= 2957003; serial += 89 {
		day, ok := edtf.SerialDay(serial, edtf.Epoch1904)
		if want := dayOf(time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, serial)); !ok || day != want {
			t.Fatalf("serial %d of 1904 is %v, %t; time has %v", serial, day, ok, want)
		}
	}
	for _, test := range []struct {
		serial int
		epoch  edtf.Epoch
	}{{0, edtf.Epoch1900}, {-1, edtf.Epoch1900}, {2958466, edtf.Epoch1900}, {-1, edtf.Epoch1904},
		{2957004, edtf.Epoch1904}, {5, edtf.NoSerial}} {
		if day, ok := edtf.SerialDay(test.serial, test.epoch); ok {
			t.Errorf("serial %d of %q is %v", test.serial, test.epoch, day)
		}
	}
}

// Week dates against package time (ISO 8601-1:2019, week 1 holds 4 January).
func TestWeekDatesAgainstTime(t *testing.T) {
	clock := time.Date(1999, 12, 20, 0, 0, 0, 0, time.UTC)
	for range 12_000 {
		clock = clock.AddDate(0, 0, 1)
		year, week := clock.ISOWeek()
		weekday := (int(clock.Weekday())+6)%7 + 1
		text := fmt.Sprintf("%04d-W%02d-%d", year, week, weekday)
		found, err := edtf.NormaliseFound(text, edtf.Options{})
		if err != nil || found.Date != edtf.DayDate(dayOf(clock)) {
			t.Fatalf("NormaliseFound(%q) = %v, %v; time has %v", text, found.Date, err, clock)
		}
		ordinal := clock.Format("2006-002")
		if found, err = edtf.NormaliseFound(ordinal, edtf.Options{}); err != nil || found.Date != edtf.DayDate(dayOf(clock)) {
			t.Fatalf("NormaliseFound(%q) = %v, %v; time has %v", ordinal, found.Date, err, clock)
		}
		written := clock.Format("Monday, 2 January 2006")
		if found, err = edtf.NormaliseFound(written, edtf.Options{}); err != nil ||
			found.Date != edtf.DayDate(dayOf(clock)) || len(found.Notes) > 0 {
			t.Fatalf("NormaliseFound(%q) = %+v, %v", written, found, err)
		}
	}
}

func TestDayText(t *testing.T) {
	for _, test := range cases.Table[[]struct {
		Day  edtf.Day
		Want string
	}](t, "DayText") {
		if got := test.Day.String(); got != test.Want {
			t.Errorf("%#v: %q, want %q", test.Day, got, test.Want)
		}
	}
	if got := (edtf.Day{Year: 2026, Month: 2, Day: 30}).AddDays(1); !got.IsZero() {
		t.Errorf("a day that does not exist plus one is %v", got)
	}
}

// A day is read as it is written, and nothing that is more or less than one day.
func TestParseDay(t *testing.T) {
	for _, text := range []string{"2026-04-12", "2024-02-29", "0001-01-01", "9999-12-31"} {
		if d, err := edtf.ParseDay(text); err != nil || d.String() != text {
			t.Errorf("%s: %v, %v", text, d, err)
		}
	}
	for _, text := range []string{"", "2026", "2026-04", "2026-02-30", "2026-04-12~", "2026-04-12?", "2026-04-1X",
		"2026-04-12/2026-04-12", "2026-04-12T10:00:00", "12.4.2026", " 2026-04-12", "[2026-04-12]", "2026-21"} {
		if d, err := edtf.ParseDay(text); err == nil {
			t.Errorf("%q is taken for %v", text, d)
		}
	}
}

// Canonical forms are ISO 8601-1; the rest is everyday writing (common
// practice, no source).
func TestParseTime(t *testing.T) {
	for text, want := range cases.Table[map[string]string](t, "ParseTime") {
		got, err := edtf.ParseTime(text)
		if err != nil || got != want {
			t.Errorf("ParseTime(%q) = %q, %v; want %q", text, got, err, want)
		}
		if again, err := edtf.ParseTime(got); err != nil || again != got {
			t.Errorf("ParseTime(%q) = %q, %v; want it as it is", got, again, err)
		}
	}
	for _, text := range []string{"", "14", "1430", "24:00", "14:60", "14:30:61", "14:30+15:00", "14:30-00:00",
		"14:30 near", "pm", "13 pm", "0:30 pm", "noon", "14:3x", "-1:30", "100:30"} {
		got, err := edtf.ParseTime(text)
		if err == nil {
			t.Errorf("ParseTime(%q) = %q, want an error", text, got)
			continue
		}
		checkError(t, text, err)
	}
}

// Day before month with slashes or points is common practice in Europe; no source.
func TestProveOrder(t *testing.T) {
	for _, test := range cases.Table[[]struct {
		Name    string
		Samples []string
		Want    string // the order
		First   int    // of the deciding proof
		Clash   bool
	}](t, "ProveOrder") {
		t.Run(test.Name, func(t *testing.T) {
			got, evidence := edtf.ProveOrder(slices.Values(test.Samples))
			if got.String() != test.Want || evidence.Contradictory != test.Clash {
				t.Fatalf("ProveOrder = %v, %+v; want %s, contradictory %t", got, evidence, test.Want, test.Clash)
			}
			if evidence.Samples != len(test.Samples) {
				t.Errorf("Samples = %d, want %d", evidence.Samples, len(test.Samples))
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
			if proof.Count == 0 || proof.First != test.First {
				t.Errorf("proof %+v, want first %d", proof, test.First)
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
	for heading, want := range cases.Table[map[string]string](t, "OrderOfHeading") {
		got, stated := edtf.OrderOfHeading(heading)
		if got.String() != want || stated != (want != "") {
			t.Errorf("OrderOfHeading(%q) = %v, %t; want %s", heading, got, stated, want)
		}
	}
}
