package repair

import (
	"fmt"
	"regexp"
	"strconv"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
)

const foundPointer = "/found/verbatim"

var (
	isoDay     = regexp.MustCompile(`^(\d{4})-(\d\d)-(\d\d)$`)
	numericDay = regexp.MustCompile(`^(\d{1,2})[/.\-](\d{1,2})[/.\-](\d{4}|\d\d)(?:$|[T ,])`)
)

// dayEvidence is what a log shows of the order of day and month.
type dayEvidence struct {
	dayFirst, monthFirst []writtenDay // those that can be read in one order only
	either               int          // those that can be read in both
	cells                []writtenDay // days that a spreadsheet holds as such
}

// writtenDay is a day of finding as written and as read.
type writtenDay struct {
	*sighting
	before, date string
}

func (v *dayEvidence) see(s *sighting, f *find.Find) {
	if f.Found == nil {
		return
	}
	d := writtenDay{s, f.Found.Verbatim, f.Found.Date}
	if d.before == "" {
		if d.before = d.date; s.origin.Layout != nil && isoDay.MatchString(d.date) {
			v.cells = append(v.cells, d)
		}
		return
	}
	a, b, _, ok := numbersOf(d.before)
	switch {
	case !ok || a == b:
	case a > 12 && b <= 12:
		v.dayFirst = append(v.dayFirst, d)
	case b > 12 && a <= 12:
		v.monthFirst = append(v.monthFirst, d)
	case a <= 12 && b <= 12:
		v.either++
	}
}

// numbersOf reads the two numbers and the year of a day such as 3/4/2026.
func numbersOf(text string) (a, b int, year string, ok bool) {
	m := numericDay.FindStringSubmatch(text)
	if m == nil {
		return 0, 0, "", false
	}
	a, _ = strconv.Atoi(m[1])
	b, _ = strconv.Atoi(m[2])
	return a, b, m[3], true
}

// days proposes what the whole log shows of its dates.
func (p *proposer) days() {
	v := &p.log.days
	few, many, order := v.monthFirst, v.dayFirst, "day"
	if len(v.monthFirst) > len(v.dayFirst) {
		few, many, order = v.dayFirst, v.monthFirst, "month"
	}
	evidence := fmt.Sprintf("%d dates of the log can only have the %s first, %d the other way round", len(many), order,
		len(few))
	for _, d := range p.drafts {
		if d.Rule == "date-order-unknown" && len(many) > 0 {
			d.Evidence = evidence
		}
	}
	if len(many) >= 2 && len(many) >= 2*len(few) {
		for _, d := range few {
			if d.date != "" {
				p.propose(d.sighting, foundPointer, d.before, evidence,
					candidate{d.date, "date-order-mixed",
						"day and month have changed places in a log that writes the " + order + " first"})
			}
		}
	}
	if len(many) >= 2 && len(few) == 0 && v.either == 0 {
		p.dayCells(len(many))
	}
}

// dayCells finds the mark of a spreadsheet that took days for months: what it could so read became
// a date, what it could not stayed text.
func (p *proposer) dayCells(texts int) {
	cells := p.log.days.cells
	if len(cells) < 2 {
		return
	}
	for _, d := range cells {
		if swap(d.date) == "" {
			return
		}
	}
	evidence := fmt.Sprintf("all %d dates that are text have a day after the 12th, and none of the %d that the spreadsheet took for dates has", texts, len(cells))
	for _, d := range cells {
		p.propose(d.sighting, foundPointer, d.before, evidence,
			candidate{swap(d.date), "date-order-mixed", "the spreadsheet seems to have taken the day for the month"})
	}
}

// swap exchanges day and month of a day in ISO 8601; it is empty where that is no day.
func swap(date string) string {
	m := isoDay.FindStringSubmatch(date)
	if m == nil || m[3] > "12" {
		return ""
	}
	return m[1] + "-" + m[3] + "-" + m[2]
}

// swappedDay proposes the other order of day and month for a day in the future or beside its
// outing, where that puts it right.
func (p *proposer) swappedDay(s *sighting, f *find.Find, n *notice.Notice) {
	to, err := slotOf[find.Find](foundPointer)
	if f.Found == nil || err != nil || member(n.Pointer) != "found" {
		return
	}
	text := to.get(f)
	days := []string{swap(text)}
	if a, b, year, ok := numbersOf(text); ok && len(year) == 4 {
		days = []string{fmt.Sprintf("%s-%02d-%02d", year, b, a), fmt.Sprintf("%s-%02d-%02d", year, a, b)}
	}
	for _, day := range days {
		d, err := edtf.Parse(day)
		if err != nil || day == f.Found.Date {
			continue
		}
		evidence := ""
		first, _, _, _ := d.Span()
		outing := p.report.Outing(f.Outing)
		switch {
		case outing != nil && outing.Date != "":
			if outing.Date == day {
				evidence = "so read it is the day of its outing"
			}
		case n.Kind.Code != "found-outside-outing" && first.Compare(p.asOf) <= 0:
			evidence = "so read it is not in the future"
		}
		if evidence != "" {
			p.at(s, f, foundPointer, evidence, candidate{day, n.Kind.Code,
				"day and month seem to have changed places: " + n.Message})
		}
	}
}
