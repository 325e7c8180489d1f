package spreadsheet

import (
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/quantity"
)

// The canonical text that stands in for words is read as the same quantity again.
func TestPlainQuantitiesAreRead(t *testing.T) {
	for _, c := range []struct {
		unit, said, min, max, best, step string
		about                            bool
		want                             string
	}{
		{"cm", "in", "20.32", "20.32", "", "2.54", false, "20.32 cm (said in; step 2.54)"},
		{"cm", "ft", "30.48", "", "", "30.48", false, ">=30.48 cm (said ft; step 30.48)"},
		{"cm", "in", "", "10.16", "", "2.54", true, "~<=10.16 cm (said in; step 2.54)"},
		{"cm", "cm", "18", "22", "20", "1", false, "18..22 cm (best 20)"},
		{"mm", "mm", "23", "23", "", "1", false, "23 mm"},
		{"g", "g", "18", "18", "", "1", false, "18 g"},
		{"g", "gr", "1.42", "1.42", "", "0.06479891", false, "1.42 g (said gr; step 0.06479891)"},
		{"", "", "12", "12", "", "", false, "12"},
		{"", "", "12", "", "", "", false, ">=12"},
		{"", "", "5", "7", "", "1", true, "~5..7"},
	} {
		q := find.Quantity{Unit: c.unit, Said: c.said, Approximate: c.about, Min: number(t, c.min), Max: number(t, c.max),
			Best: number(t, c.best), Resolution: number(t, c.step)}
		got := quantityInWords("", q.Value(), c.unit)
		if got != c.want {
			t.Errorf("%+v is written %q, want %q", c, got, c.want)
		}
		var r quantity.Reading
		var err error
		switch c.unit {
		case "":
			r, err = quantity.NormaliseCount(got, quantity.Options{})
		case "g":
			r, err = quantity.NormaliseMass(got, quantity.Options{Into: quantity.G})
		case "mm":
			r, err = quantity.NormaliseLength(got, quantity.Options{Into: quantity.MM})
		default:
			r, err = quantity.NormaliseLength(got, quantity.Options{Into: quantity.CM})
		}
		if want := q.Value(); err != nil || r.Min != want.Min || r.Max != want.Max || r.Best != want.Best ||
			r.Said != want.Said || r.Approximate != want.Approximate {
			t.Errorf("%q is read as %+v, %v", got, r.Quantity, err)
		}
	}
}

func TestUnitOfAHeadingGoesIntoThePlainCell(t *testing.T) {
	for _, c := range []struct{ words, unit, said, min, max, want string }{
		{"8", "cm", "in", "20.32", "20.32", "8 in"},
		{"7-9", "cm", "in", "17.78", "22.86", "7-9 in"},
		{"8 in", "cm", "in", "20.32", "20.32", "8 in"},
		{"8\"", "cm", "in", "20.32", "20.32", "8\""},
		{"8", "cm", "in", "25", "25", "8"},           // would not read as the value
		{"spit 2", "cm", "cm", "20", "20", "spit 2"}, // nor would this
		{"18", "g", "g", "18", "18", "18 g"},
		{"12", "", "", "12", "12", "12"},
		{"8", "cm", "", "", "", "8"}, // not read: nothing is known of a unit
	} {
		q := find.Quantity{Unit: c.unit, Said: c.said, Min: number(t, c.min), Max: number(t, c.max), Verbatim: c.words}
		if got := quantityInWords(c.words, q.Value(), c.unit); got != c.want {
			t.Errorf("%+v: %q", c, got)
		}
	}
}

func TestCanonicalValueIsLeftOutWhereTheWordsSayIt(t *testing.T) {
	for _, c := range []struct {
		field, words, value string
		want                bool
	}{
		{"found.date", "12 April 2026", "2026-04-12", true},
		{"found.date", "2026-04-12", "2026-04-12", true},
		{"found.date", "3/4/2026", "2026-04-03", false},
		{"found.date", "12/4/26", "2026-04-12", false},
		{"found.date", "", "2026-04-12", false},
		{"dating.date", "early 18th century", "1701/1733", true},
		{"dating.date", "Georgian", "1714/1837", false},
		{"dating.earliest", "early 18th century", "1701", true},
		{"dating.latest", "early 18th century", "1733", true},
		{"dating.latest", "early 18th century", "1740", false},
		{"otherDatings.2.date", "1860s", "186X", true},
		{"position.latitude", "SP 5270 9011", "52.5012", true},
		{"position.latitude", "452700 290110", "52.5012", false},
		{"otherPositions.1.longitude", "by the oak", "-1.2", false},
	} {
		if got := saysItself(c.field, c.words, c.value); got != c.want {
			t.Errorf("%s %q beside %q: %v", c.field, c.value, c.words, got)
		}
	}
}
