package intake

import (
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// A log with one column for the period and one for the age; a file of ours with words and EDTF.
func TestPartsOfADating(t *testing.T) {
	for _, c := range []struct {
		words, age     string
		verbatim, date string
	}{
		{"Middeleeuwen", "13e eeuw", "Middeleeuwen, 13e eeuw", ""},
		{"", "13e eeuw", "13e eeuw", ""},
		{"Roman", "", "Roman", ""},
		{"early 18th century", "1701/1733", "early 18th century", "1701/1733"},
		{"18th century", "18th century", "18th century", "18th century"},
	} {
		var f find.Find
		(&Parts{Dating: c.age, DatingVerbatim: c.words}).Join(&f)
		if f.Dating == nil || f.Dating.Verbatim != c.verbatim || f.Dating.Date != c.date {
			t.Errorf("%q and %q give %+v", c.words, c.age, f.Dating)
		}
	}
}
