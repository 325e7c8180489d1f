package edtf_test

import (
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// vector is one entry of testdata/vectors/date-*.json: a text, the options, the
// expected reading, why it is expected and where that stands.
type vector struct {
	ID, Kind, Input      string
	Order, Serial, Today string
	Pivot                int
	Expect               outcome
	Why, Source          string
	Language             string
	Stated               bool // the language is stated, and not only that of the words
}

// outcome is a reading as the vectors write it. Earliest and Latest are
// astronomical years and stand for datings only.
type outcome struct {
	Date, Time, Period, Event string
	Earliest, Latest          *int
	Absent, Error             string
}

func (v vector) options(t *testing.T, stated bool) edtf.Options {
	t.Helper()
	o := edtf.Options{Pivot: v.Pivot}
	if stated {
		o.Language = lexicon.ByTag(v.Language)
	}
	var err error
	if o.Order, err = edtf.ParseOrder(v.Order); err != nil {
		t.Fatal(err)
	}
	if o.Serial, err = edtf.ParseEpoch(v.Serial); err != nil {
		t.Fatal(err)
	}
	if v.Today != "" {
		today, err := edtf.Parse(v.Today)
		if err != nil {
			t.Fatal(err)
		}
		o.Today, _, _, _ = today.Span()
	}
	return o
}

func readVectors(t *testing.T, name string) []vector {
	t.Helper()
	vectors := cases.Vectors[vector](t, name)
	seen := make(map[string]bool)
	for _, v := range vectors {
		if v.ID == "" || seen[v.ID] || v.Source == "" || v.Why == "" {
			t.Errorf("vector %q: an id of its own, a reason and a source are needed", v.ID)
		}
		seen[v.ID] = true
	}
	return vectors
}

func failure(err error) outcome {
	var e *edtf.Error
	if !errors.As(err, &e) {
		return outcome{Error: "not an *edtf.Error: " + err.Error()}
	}
	return outcome{Error: e.Code}
}

func TestFoundVectors(t *testing.T) {
	for _, v := range readVectors(t, "date-found") {
		t.Run(v.ID, func(t *testing.T) {
			found, err := edtf.NormaliseFound(v.Input, v.options(t, v.Stated))
			// A stated language changes nothing where the vector does not say so.
			if again, bad := edtf.NormaliseFound(v.Input, v.options(t, true)); again.Date != found.Date ||
				again.Absent != found.Absent {
				t.Errorf("%q in %q: %v, %v; %v without", v.Input, v.Language, again.Date, bad, found.Date)
			}
			got := outcome{Date: found.Date.String(), Time: found.Time, Absent: found.Absent}
			if err != nil {
				got = failure(err)
				checkError(t, v.Input, err)
			}
			if diff := cmp.Diff(v.Expect, got); diff != "" {
				t.Errorf("NormaliseFound(%q), %s (%s):\n%s", v.Input, v.Why, v.Source, diff)
			}
		})
	}
}

func TestDatingVectors(t *testing.T) {
	for _, v := range readVectors(t, "date-dating") {
		t.Run(v.ID, func(t *testing.T) {
			dating, err := edtf.NormaliseDating(v.Input, v.options(t, v.Stated))
			if again, bad := edtf.NormaliseDating(v.Input, v.options(t, true)); again.Date != dating.Date ||
				again.Absent != dating.Absent || again.Period != dating.Period {
				t.Errorf("%q in %q: %v %q, %v; %v without", v.Input, v.Language, again.Date, again.Period, bad, dating.Date)
			}
			got := outcome{Date: dating.Date.String(), Period: dating.Period, Event: dating.Event, Absent: dating.Absent}
			if err != nil {
				got = failure(err)
				checkError(t, v.Input, err)
			}
			earliest, latest, hasEarliest, hasLatest := dating.Date.Years()
			if hasEarliest {
				got.Earliest = &earliest
			}
			if hasLatest {
				got.Latest = &latest
			}
			if diff := cmp.Diff(v.Expect, got); diff != "" {
				t.Errorf("NormaliseDating(%q), %s (%s):\n%s", v.Input, v.Why, v.Source, diff)
			}
		})
	}
}

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
