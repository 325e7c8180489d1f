package edtf_test

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

func mustParse(t testing.TB, s string) edtf.Date {
	t.Helper()
	d, err := edtf.Parse(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestCoarsen(t *testing.T) {
	for _, test := range cases.Table[[]struct {
		Date, To, Want string
	}](t, "Coarsen") {
		to := edtf.PrecisionNone
		for to.String() != test.To {
			to++
		}
		if got := mustParse(t, test.Date).Coarsen(to).String(); got != test.Want {
			t.Errorf("%s coarsened to a %s is %s, want %s", test.Date, test.To, got, test.Want)
		}
	}
}

func TestPrecision(t *testing.T) {
	for text, want := range map[string]edtf.Precision{
		"2026-04-12": edtf.PrecisionDay, "2026-04": edtf.PrecisionMonth, "2026-21": edtf.PrecisionSeason,
		"2026": edtf.PrecisionYear,
		"202X": edtf.PrecisionDecade, "20XX": edtf.PrecisionCentury, "2XXX": edtf.PrecisionMillennium,
		"2026-XX":    edtf.PrecisionYear,
		"2026-04-XX": edtf.PrecisionMonth, "1701/1800": edtf.PrecisionYear, "2026-04-12/2026-05": edtf.PrecisionMonth,
		"1950S2": edtf.PrecisionCentury,
	} {
		got := mustParse(t, text).Precision()
		if got != want {
			t.Errorf("%s has the precision %v, want %v", text, got, want)
		}
	}
}

// The forms that format.md allows for found.date: a day, month, year or season
// with ~ ? %, or one closed interval.
func TestValidFound(t *testing.T) {
	for _, text := range []string{"2026-04-12", "2026-04", "2026", "2026-22", "2026~", "2026-04?", "2026-04-12%",
		"2026-04-12/2026-04-14", "2025?/2026~"} {
		if !edtf.ValidFound(mustParse(t, text)) {
			t.Errorf("%s is refused", text)
		}
	}
	for _, text := range []string{"202X", "2026-XX", "2026-04-12/..", "/2026", "[2025,2026]", "-0199", "0000", "2026-33",
		"2026-25", "?2026-04", "2026~-04", "Y12026", "2026-04-12T10:00:00", "1950S2"} {
		if edtf.ValidFound(mustParse(t, text)) {
			t.Errorf("%s is accepted", text)
		}
	}
	if edtf.ValidFound(edtf.Date{}) {
		t.Error("no date is accepted")
	}
}

func TestZeroDate(t *testing.T) {
	var d edtf.Date
	_, _, openEarliest, openLatest := d.Span()
	_, _, hasEarliest, hasLatest := d.Years()
	if !d.IsZero() || d.String() != "" || !openEarliest || !openLatest || hasEarliest || hasLatest ||
		d.Precision() != edtf.PrecisionNone || !d.Coarsen(edtf.PrecisionYear).IsZero() {
		t.Errorf("the zero date is not nothing: %+v", d)
	}
	if err := d.UnmarshalText(nil); err != nil || !d.IsZero() {
		t.Errorf("empty text: %v, %v", d, err)
	}
	if err := d.UnmarshalText([]byte("1985-4-12")); err == nil {
		t.Error("bad text is accepted")
	}
	want := mustParse(t, "1690/1790")
	if text, err := want.MarshalText(); err != nil || d.UnmarshalText(text) != nil || d != want {
		t.Errorf("there and back: %q, %v, %v", text, err, d)
	}
}

// Forms of which the specification says nothing, and what this package does
// with them (our own decisions).
func TestParseDecisions(t *testing.T) {
	for text, why := range cases.Table[map[string]string](t, "ParseDecisions") {
		if d, err := edtf.Parse(text); err == nil {
			t.Errorf("Parse(%q) = %v: %s", text, d, why)
		}
	}
	for _, text := range []string{"2004/2004", "201X?", "-01XX", "2004-06/2004-06-11", "1985-06-30T23:59:60Z",
		"2001-21/2001-05", "[1667-06~,1668]", "Y99999S5"} {
		if _, err := edtf.Parse(text); err != nil {
			t.Error(err)
		}
	}
}

func drawDate(t *rapid.T) string {
	year := rapid.StringMatching(`-?(0[1-9]|[1-9][0-9])[0-9][0-9]|[12][0-9][0-9X]X`).Draw(t, "year")
	rest := rapid.StringMatching(`(-(0[1-9]|1[0-2])(-(0[1-9]|1[0-9]|2[0-8]))?|-2[1-4])?`).Draw(t, "month and day")
	mark := rapid.SampledFrom([]string{"", "", "?", "~", "%"}).Draw(t, "mark")
	return year + rest + mark
}

func TestParseStringProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := drawDate(t)
		switch rapid.IntRange(0, 4).Draw(t, "form") {
		case 0:
			text += "/.."
		case 1:
			text = "../" + text
		case 2:
			text = "[" + text + "," + drawDate(t) + "]"
		}
		d, err := edtf.Parse(text)
		if err != nil {
			t.Fatal(err)
		}
		if d.String() != text {
			t.Fatalf("Parse(%q).String() = %q", text, d)
		}
		dating, err := edtf.NormaliseDating(text, edtf.Options{})
		if err != nil || dating.Date != d {
			t.Fatalf("NormaliseDating(%q) = %+v, %v", text, dating, err)
		}
	})
}

// openReading lists the rows where the specification leaves the reading open or
// contradicts itself, and which side this package takes. The rows are tested
// like all others.
var openReading = map[string]string{
	"d016": "seasons have no days in the specification; the span has no bounds",
	"d025": "an open side has no bound",
	"d040": "the specification prints 171010000 to 171010999, but three significant digits give 171000000 to 171999999",
	"d051": "seasons have no days in the specification; the span has no bounds",
	"d085": "the specification says only that Y is for years beyond four digits; the test list of edtf-validate refuses " +
		"Y2006",
	"d102": "the specification does not say that the end follows the start; ISO 8601-1 does",
}

// TestReferenceDates reads testdata/reference/dates.csv: the numbered examples of the LoC EDTF specification of 4
// February 2019, ISO 8601-1 dates, and the invalid list of edtf-validate; the source stands beside each row.
func TestReferenceDates(t *testing.T) {
	rows := cases.Reference(t, "dates.csv")
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
	for _, row := range cases.Reference(t, "dates.csv") {
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

func dayOf(t time.Time) edtf.Day {
	return edtf.Day{Year: t.Year(), Month: uint8(t.Month()), Day: uint8(t.Day())}
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
