package edtf_test

import (
	"strconv"
	"strings"
	"testing"

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

// Words put together at random are read as the same twice, and the parts of a
// century lie inside it.
func TestDatingProperty(t *testing.T) {
	parts := []string{"", "early ", "mid ", "late ", "first half of the ", "second quarter of the ",
		"last quarter of the "}
	eras := []string{"", " BC", " AD"}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 20).Draw(t, "century")
		era := rapid.SampledFrom(eras).Draw(t, "era")
		century := []string{"", "1st", "2nd", "3rd"}
		ordinal := ""
		if n < len(century) {
			ordinal = century[n]
		} else {
			ordinal = strings.TrimLeft(string([]byte{'0' + byte(n/10), '0' + byte(n%10)}), "0") + "th"
		}
		whole, err := edtf.NormaliseDating(ordinal+" century"+era, edtf.Options{})
		if err != nil {
			t.Fatal(err)
		}
		text := rapid.SampledFrom(parts).Draw(t, "part") + ordinal + " century" + era
		part, err := edtf.NormaliseDating(text, edtf.Options{})
		if err != nil {
			t.Fatal(err)
		}
		from, to, _, _ := whole.Date.Years()
		first, last, _, _ := part.Date.Years()
		if to-from != 99 || first < from || last > to || first > last {
			t.Fatalf("%q is %v, the century is %v", text, part.Date, whole.Date)
		}
		again, err := edtf.NormaliseDating(part.Date.String(), edtf.Options{})
		if err != nil || again.Date != part.Date {
			t.Fatalf("%q gives %v, read again %v, %v", text, part.Date, again.Date, err)
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
	"d085": "the specification says only that Y is for years beyond four digits; the test list of edtf-validate refuses Y2006",
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
