package edtf_test

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"github.com/findslip/findslip/pkg/edtf"
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
