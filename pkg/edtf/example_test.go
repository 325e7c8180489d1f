package edtf_test

import (
	"fmt"

	"github.com/findslip/findslip/pkg/edtf"
)

func ExampleParse() {
	d, err := edtf.Parse("1690~/1790")
	if err != nil {
		fmt.Println(err)
		return
	}
	earliest, latest, _, _ := d.Span()
	fmt.Println(d, "level", d.Level(), "from", earliest, "to", latest, "approximate", d.Approximate())
	_, err = edtf.Parse("12/04/1985")
	fmt.Println(err)
	// Output:
	// 1690~/1790 level 1 from 1690-01-01 to 1790-12-31 approximate true
	// reading "12/04/1985": a year has four digits, or Y before five or more; canonical dates are EDTF, such as 2026-04-12, 1690/1790, 186X or 1350~
}

func ExampleNormaliseFound() {
	options := edtf.Options{Order: edtf.DayMonthYear, Pivot: 1950}
	for _, text := range []string{"12/4/26 14:30", "den 12 april 2026", "12.–14. April 2026", "unknown"} {
		found, err := edtf.NormaliseFound(text, options)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Printf("%q %q %q\n", found.Date, found.Time, found.Absent)
	}
	_, err := edtf.NormaliseFound("12/4/2026", edtf.Options{})
	fmt.Println(err)
	// Output:
	// "2026-04-12" "14:30" ""
	// "2026-04-12" "" ""
	// "2026-04-12/2026-04-14" "" ""
	// "" "" "not-noted"
	// reading "12/4/2026": this may be 12 April 2026 or 4 December 2026; nothing tells which; state the order of the dates (dmy, mdy or ymd), or type year-month-day with four digits of the year
}

func ExampleNormaliseDating() {
	for _, text := range []string{"early 18th century", "fin XVIIe - début XVIIIe siècle", "c. 1350", "200 BC",
		"Roman, 2nd century", "post-medieval"} {
		dating, err := edtf.NormaliseDating(text, edtf.Options{})
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Printf("%q %q\n", dating.Date, dating.Period)
	}
	// Output:
	// "1701/1733" ""
	// "1667/1733" ""
	// "1350~" ""
	// "-0199" ""
	// "0101/0200" "Roman"
	// "" "post-medieval"
}

func ExampleProveOrder() {
	column := func(yield func(string) bool) {
		for _, text := range []string{"3/4/2025", "28/4/2025", "1/5/2025"} {
			if !yield(text) {
				return
			}
		}
	}
	order, evidence := edtf.ProveOrder(column)
	fmt.Println(order, "proven by", evidence.DayMonthYear.Count, "first at", evidence.DayMonthYear.First, "open",
		evidence.Open)
	// Output:
	// dmy proven by 1 first at 1 open 2
}

func ExampleParseDay() {
	day, err := edtf.ParseDay("2026-02-28")
	fmt.Println(day.AddDays(1), err)
	_, err = edtf.ParseDay("2026-02")
	fmt.Println(err)
	// Output:
	// 2026-03-01 <nil>
	// "2026-02" is not a day such as 2026-04-12
}
