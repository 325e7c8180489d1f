package edtf_test

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/testkit/cases"
	_ "github.com/findslip/findslip/pkg/testkit/heavy" // the seed of what is drawn
)

// span is a date as the days it covers; ends that are open have no day.
type span struct {
	first, last         edtf.Day
	openFirst, openLast bool
}

func spanOf(d edtf.Date) span {
	var s span
	s.first, s.last, s.openFirst, s.openLast = d.Span()
	return s
}

// holds reports whether a holds all of b.
func (a span) holds(b span) bool {
	return (a.openFirst || !b.openFirst && a.first.Compare(b.first) <= 0) &&
		(a.openLast || !b.openLast && a.last.Compare(b.last) >= 0)
}

// age reads an age that has to be read, and holds it to what is promised of each: String of Parse is the value, and
// reading twice is reading once.
func age(t *rapid.T, text string) edtf.Date {
	t.Helper()
	d, err := edtf.NormaliseDating(text, edtf.Options{})
	if err != nil || d.Date.IsZero() {
		t.Fatalf("%q: %v, %v", text, d.Date, err)
	}
	if parsed, err := edtf.Parse(d.Date.String()); err != nil || parsed != d.Date {
		t.Fatalf("%q: Parse(%q) = %v, %v", text, d.Date, parsed, err)
	}
	if again, err := edtf.NormaliseDating(d.Date.String(), edtf.Options{}); err != nil || again.Date != d.Date {
		t.Fatalf("%q: %q reads as %q, %v", text, d.Date, again.Date, err)
	}
	return d.Date
}

func TestWiderAgeIsNeverNarrower(t *testing.T) {
	parts := []string{"early", "mid", "late", "first half of the", "second half of the", "first quarter of the",
		"last quarter of the"}
	rapid.Check(t, func(t *rapid.T) {
		year := rapid.IntRange(1000, 1990).Draw(t, "year")
		century := rapid.IntRange(4, 20).Draw(t, "century")
		whole := fmt.Sprintf("%dth century", century)
		part := rapid.SampledFrom(parts).Draw(t, "part") + " " + whole
		cases := map[string][]string{
			fmt.Sprint(year): {"c. %s", "%s?", "probably %s", "about %s", "um %s", "ca. %s", "vers %s", "before %s", "after %s",
				"until %s", "since %s", "%s or later", "%s or earlier", "bis %s",
				fmt.Sprintf("%%s-%d", year+9), fmt.Sprintf("%d to %%s", year-30), fmt.Sprintf("between %%s and %d", year+1),
				fmt.Sprintf("%%s or %d", year+4), fmt.Sprintf("%d0s", year/10) + "%.0s", fmt.Sprintf("%ds", year/100*100) + "%.0s"},
			part: {"c. %s", "%s?", whole + "%.0s", fmt.Sprintf("%%s to late %dth century", century+1),
				fmt.Sprintf("%dth century to %%s", century-1), "%s or later", "until %s"},
			whole: {"c. %s", "%s or earlier", "%s onwards", fmt.Sprintf("%%s or %dth century", century+1),
				fmt.Sprintf("%d. bis %d. Jh.", century, century+2) + "%.0s", fmt.Sprintf("%de eeuw of later", century) + "%.0s"},
		}
		for text, wider := range cases {
			base := spanOf(age(t, text))
			for _, w := range wider {
				if wide := fmt.Sprintf(w, text); !spanOf(age(t, wide)).holds(base) {
					t.Fatalf("%q is %v and does not hold %q", wide, age(t, wide), text)
				}
			}
		}
	})
}

func TestWiderDayIsNeverNarrower(t *testing.T) {
	months := []string{"January", "februar", "maart", "avril", "maj", "Juni", "juillet", "August", "september", "oktober",
		"november", "décembre"}
	rapid.Check(t, func(t *rapid.T) {
		year, month, day := rapid.IntRange(1950, 2025).Draw(t, "year"), rapid.IntRange(1, 12).Draw(t, "month"),
			rapid.IntRange(1, 27).Draw(t, "day")
		read := func(text string) edtf.Date {
			found, err := edtf.NormaliseFound(text, edtf.Options{Order: edtf.DayMonthYear})
			if err != nil || found.Date.IsZero() {
				t.Fatalf("%q: %+v, %v", text, found, err)
			}
			again, err := edtf.NormaliseFound(found.Date.String(), edtf.Options{})
			if err != nil || again.Date != found.Date {
				t.Fatalf("%q: %q reads as %q, %v", text, found.Date, again.Date, err)
			}
			return found.Date
		}
		name := months[month-1]
		base := spanOf(read(fmt.Sprintf("%d %s %d", day, name, year)))
		for _, text := range []string{
			fmt.Sprintf("%d-%02d-%02d", year, month, day), fmt.Sprintf("%d/%d/%d", day, month, year),
			fmt.Sprintf("%d.%d.%d", day, month, year), fmt.Sprintf("ca. %d %s %d", day, name, year),
			fmt.Sprintf("%d-%d %s %d", day, day+1, name, year), fmt.Sprintf("%s %d", name, year), fmt.Sprint(year),
			fmt.Sprintf("%d %s %d?", day, name, year),
			fmt.Sprintf("%d-%02d", year, month), fmt.Sprintf("%d-%d", year, year+1),
			fmt.Sprintf("%d-%02d-%02d/%d-%02d-28", year, month, day, year, month),
		} {
			if !spanOf(read(text)).holds(base) {
				t.Fatalf("%q is %v and does not hold the day %v", text, read(text), base.first)
			}
		}
	})
}

// The aim is a million readings a second on one core for ordinary texts.

// seedVectors adds the inputs of a vector file to a fuzz corpus.
func seedVectors(f *testing.F, name string) {
	f.Helper()
	for _, v := range cases.Seeds(cases.Vectors[struct{ Input string }](f, name)) {
		f.Add(v.Input, uint8(0), 0)
		f.Add(v.Input, uint8(5), 1950)
	}
}

func fuzzOptions(bits uint8, pivot int) edtf.Options {
	return edtf.Options{Order: edtf.Order(bits & 3), Serial: edtf.Epoch(bits >> 2 % 3), Pivot: pivot}
}

func FuzzParse(f *testing.F) {
	for _, row := range cases.Reference(f, "dates.csv") {
		f.Add(row["input"])
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := edtf.Parse(s)
		if err != nil {
			if !d.IsZero() {
				t.Errorf("Parse(%q) gives %v beside an error", s, d)
			}
			return
		}
		if got := d.String(); got != s {
			t.Errorf("Parse(%q).String() = %q", s, got)
		}
		checkDate(t, d)
	})
}

// checkDate holds a date to what is promised of every date.
func checkDate(t *testing.T, d edtf.Date) {
	t.Helper()
	again, err := edtf.Parse(d.String())
	if err != nil || again != d {
		t.Fatalf("Parse(%q) = %+v, %v; want the same date again", d.String(), again, err)
	}
	earliest, latest, openEarliest, openLatest := d.Span()
	if openEarliest != earliest.IsZero() || openLatest != latest.IsZero() {
		t.Errorf("%q: Span() = %v, %v, %t, %t", d, earliest, latest, openEarliest, openLatest)
	}
	if !openEarliest && !openLatest && earliest.Compare(latest) > 0 {
		t.Errorf("%q: span from %v to %v", d, earliest, latest)
	}
	for p := edtf.PrecisionDay; p <= edtf.PrecisionMillennium; p++ {
		coarse := d.Coarsen(p)
		if coarse.IsZero() || coarse.Coarsen(p) != coarse {
			t.Errorf("%q: Coarsen(%v) = %q, and then %q", d, p, coarse, coarse.Coarsen(p))
		}
		if _, err := edtf.Parse(coarse.String()); err != nil {
			t.Errorf("%q: Coarsen(%v): %v", d, p, err)
		}
		first, _, open, _ := coarse.Span()
		if !openEarliest && !open && first.Compare(earliest) > 0 {
			t.Errorf("%q: Coarsen(%v) = %q begins later", d, p, coarse)
		}
		_, last, _, open := coarse.Span()
		if !openLatest && !open && last.Compare(latest) < 0 {
			t.Errorf("%q: Coarsen(%v) = %q ends earlier", d, p, coarse)
		}
	}
}

func FuzzNormaliseFound(f *testing.F) {
	seedVectors(f, "date-found")
	f.Fuzz(func(t *testing.T, s string, bits uint8, pivot int) {
		o := fuzzOptions(bits, pivot)
		found, err := edtf.NormaliseFound(s, o)
		if err != nil {
			checkError(t, s, err)
			return
		}
		if (found.Absent == "") == found.Date.IsZero() {
			t.Fatalf("NormaliseFound(%q) = %+v: a date or a reason", s, found)
		}
		if found.Absent != "" {
			return
		}
		if !edtf.ValidFound(found.Date) {
			t.Errorf("NormaliseFound(%q) = %q, which found.date may not hold", s, found.Date)
		}
		checkDate(t, found.Date)
		again, err := edtf.NormaliseFound(strings.TrimSpace(found.Date.String()+" "+found.Time), o)
		if err != nil || again.Date != found.Date || again.Time != found.Time {
			t.Errorf("NormaliseFound(%q) = %q %q, read again as %+v, %v", s, found.Date, found.Time, again, err)
		}
		if found.Time != "" {
			if time, err := edtf.ParseTime(found.Time); err != nil || time != found.Time {
				t.Errorf("ParseTime(%q) = %q, %v", found.Time, time, err)
			}
		}
	})
}

func FuzzNormaliseDating(f *testing.F) {
	seedVectors(f, "date-dating")
	f.Fuzz(func(t *testing.T, s string, bits uint8, pivot int) {
		o := fuzzOptions(bits, pivot)
		dating, err := edtf.NormaliseDating(s, o)
		if err != nil {
			checkError(t, s, err)
			return
		}
		if given := !dating.Date.IsZero() || dating.Period != ""; given == (dating.Absent != "") {
			t.Fatalf("NormaliseDating(%q) = %+v: a date, a period or a reason", s, dating)
		}
		if !strings.Contains(s, dating.Period) {
			t.Errorf("NormaliseDating(%q): the period %q is not as written", s, dating.Period)
		}
		if dating.Date.IsZero() {
			return
		}
		checkDate(t, dating.Date)
		again, err := edtf.NormaliseDating(dating.Date.String(), o)
		if err != nil || again.Date != dating.Date {
			t.Errorf("NormaliseDating(%q) = %q, read again as %+v, %v", s, dating.Date, again, err)
		}
	})
}

// checkError holds an error to what is promised of every error.
func checkError(t *testing.T, s string, err error) {
	t.Helper()
	e, ok := err.(*edtf.Error)
	if !ok {
		t.Fatalf("reading %q: error of type %T", s, err)
	}
	if e.Input != s || e.Code == "" || e.Message == "" || e.Help == "" {
		t.Errorf("reading %q: error %+v lacks a part", s, e)
	}
	if e.At < 0 || e.At > len(s) || !strings.HasPrefix(s[e.At:], e.Part) {
		t.Errorf("reading %q: part %q does not stand at %d", s, e.Part, e.At)
	}
	if strings.ContainsAny(err.Error(), "\n\r") {
		t.Errorf("reading %q: the error has more than one line", s)
	}
	for _, proposal := range e.Proposals {
		if _, err := edtf.Parse(proposal); err != nil {
			t.Errorf("reading %q: proposal: %v", s, err)
		}
	}
}
