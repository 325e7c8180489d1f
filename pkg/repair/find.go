package repair

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/pkg/validate"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// proposer looks for damage that can be repaired. It sees each find once and keeps of it what
// only the whole log can judge.
type proposer struct {
	report  *find.Report
	asOf    edtf.Day
	drafts  []*draft
	choices int
	times   map[string]int // how often an id has come
	touched map[string]bool
	log     *logEvidence
	filling *filling // nil: nothing that finds lack is proposed
	outings []*outingDays
	open    []func() // what is only said, once nothing better is known
}

func newProposer(r *find.Report, asOf edtf.Day) *proposer {
	return &proposer{report: r, asOf: asOf, times: map[string]int{}, touched: map[string]bool{}, log: newLogEvidence()}
}

// draft is a proposal with its place in the log.
type draft struct {
	Proposal
	index  int
	column string // pointer of its column, with # for positions
	slip   string // day and sort of slip of a position
	outing string // of the find
}

// sighting is what is kept of a find when it has passed.
type sighting struct {
	id, number string
	outing     string
	nth, index int
	origin     find.Origin
	repaired   map[string]string // its texts from before earlier repairs
}

// textAlone is the evidence where nothing else speaks for a reading.
const textAlone = "the text alone"

// candidate is one text that may have been meant.
type candidate struct {
	after, rule, reason string
}

func candidates(rule, reason string, after ...string) (list []candidate) {
	for _, text := range after {
		list = append(list, candidate{text, rule, reason})
	}
	return list
}

// entry looks at one find; where open is set, cells of which nothing can be proposed are listed.
func (p *proposer) entry(e *find.Entry, open bool) {
	p.times[e.Find.ID]++
	s := &sighting{id: e.Find.ID, number: e.Find.Number, outing: e.Find.Outing, nth: p.times[e.Find.ID], index: e.Index,
		origin: e.Origin}
	for heading, text := range e.Find.Columns {
		if strings.Contains(heading, beforeRepair) {
			if s.repaired == nil {
				s.repaired = map[string]string{}
			}
			s.repaired[heading] = text
		}
	}
	for i := range e.Notices {
		p.notice(s, e.Find, &e.Notices[i])
		if n := e.Notices[i]; open && n.Kind.Severity != notice.Info && !n.Kind.Caution && len(n.Proposals) == 0 &&
			!strings.HasPrefix(n.Pointer, "/media") {
			if to, err := slotOf[find.Find](n.Pointer); err == nil {
				before := to.get(e.Find)
				p.open = append(p.open, func() {
					p.propose(s, n.Pointer, before, "", candidate{"", n.Kind.Code, n.Message})
				})
			}
		}
	}
	p.cells(s, e.Find)
	p.kind(s, e.Find)
	p.fill(s, e.Find)
	p.place(s, e.Find)
	p.log.see(s, e.Find, p.report.ID)
	p.outingDay(e.Find)
}

// at proposes texts for what stands at a pointer of a find. Several are a choice.
func (p *proposer) at(s *sighting, f *find.Find, pointer, evidence string, list ...candidate) {
	if to, err := slotOf[find.Find](pointer); err == nil {
		p.propose(s, pointer, to.get(f), evidence, list...)
	}
}

// propose does so for a find that has passed already. A text that stood there before an earlier
// repair is not proposed again, and a cell that has proposals gets no others.
func (p *proposer) propose(s *sighting, pointer, before, evidence string, list ...candidate) []*draft {
	to, err := slotOf[find.Find](pointer)
	key := fmt.Sprint(s.index, pointer)
	if err != nil || before == "" && !to.appends || p.touched[key] && !to.appends {
		return nil
	}
	n := notice.Notice{Location: notice.Location{Pointer: pointer}}
	(&find.Entry{Find: &find.Find{ID: s.id, Number: s.number}, Index: s.index, Origin: s.origin}).Locate(&n)
	var out []*draft
	for _, c := range list {
		again := c.after != "" && slices.ContainsFunc(out, func(d *draft) bool { return d.After == c.after })
		if c.after == before || again || s.stood(to.name, c.after) {
			continue
		}
		d := &draft{index: s.index, column: columnOf(pointer), outing: s.outing,
			Proposal: Proposal{Find: s.id, Number: s.number, Pointer: pointer, Sheet: n.Sheet, Cell: n.Cell,
				Before: before, After: c.after, Rule: c.rule, Reason: c.reason, Evidence: evidence}}
		if s.nth > 1 {
			d.Nth = s.nth
		}
		out = append(out, d)
	}
	if len(out) > 1 {
		p.choices++
		for _, d := range out {
			d.Choice = fmt.Sprintf("choice-%d", p.choices)
		}
	}
	p.touched[key] = p.touched[key] || len(out) > 0
	p.drafts = append(p.drafts, out...)
	return out
}

// stood reports whether a text was replaced there by an earlier repair.
func (s *sighting) stood(name, text string) bool {
	for heading, before := range s.repaired {
		if before == text && strings.HasPrefix(heading, name+beforeRepair) {
			return true
		}
	}
	return false
}

var position = text.Pattern(`/\d+(/|$)`)

// columnOf is a pointer with # in the place of positions in lists.
func columnOf(pointer string) string {
	if !strings.ContainsAny(pointer, "0123456789") {
		return pointer
	}
	return position().ReplaceAllString(pointer, "/#$1")
}

// notice takes over what a reading says may have been meant, the nearest code for one that is on no
// list, and the other order of day and month for a day that cannot be.
func (p *proposer) notice(s *sighting, f *find.Find, n *notice.Notice) {
	switch code := n.Kind.Code; {
	case len(n.Proposals) > 0:
		p.at(s, f, n.Pointer, textAlone, candidates(code, n.Message, n.Proposals...)...)
	case code == "term-not-listed":
		p.words(s, f, n)
	case code == "date-future" || code == "found-outside-outing":
		p.swappedDay(s, f, n)
	}
}

// words proposes the nearest words of a list for words that are on none.
func (p *proposer) words(s *sighting, f *find.Find, n *notice.Notice) {
	f.Terms(func(at, list string, t *find.Term) {
		if at != n.Pointer || t.Code != "" {
			return
		}
		if c, distance, ok := vocabulary.Get(list).Nearest(t.Verbatim); ok {
			p.at(s, f, at, letters(distance, list), candidate{c.Label("en"), n.Kind.Code, n.Message})
		}
	})
}

func letters(n int, list string) string {
	if n == 1 {
		return "with one letter put right it is on the list " + list
	}
	return fmt.Sprintf("with %d letters put right it is on the list %s", n, list)
}

var (
	scientific = text.Pattern(`^\d([.,]\d+)?[eE]\+?\d+$`)
	exponent   = text.Pattern(`^\d([.,]\d+)?E\+\d\d+$`) // as a spreadsheet shows it
)

// cells looks at every text of a find by itself.
func (p *proposer) cells(s *sighting, f *find.Find) {
	for c := range find.Flat(f) {
		if strings.HasPrefix(c.Pointer, columnPointer) && strings.Contains(c.Name, beforeRepair) {
			continue // kept as it was
		}
		words := c.Field.Kind == find.TermText || c.Field.Kind == find.QuantityText || c.Field.Kind == find.Text &&
			!c.Field.Part
		if words {
			p.letters(s, f, c)
		}
		switch n := utf8.RuneCountInString(c.Text); {
		case !words:
		case n == 255 || n == 32767:
			p.at(s, f, c.Pointer,
				fmt.Sprintf("older programs cut text at 255 characters, spreadsheets at 32767; this one has %d", n),
				candidate{"", "text-cut", "the text seems to be cut off; the rest is not in this file"})
		}
		switch c.Field.Name {
		case "number", "otherNumbers.#.number", "notified.#.caseNumber", "columns":
			form := scientific
			if c.Field.Name == "columns" {
				form = exponent // nobody says that these are numbers
			}
			if form().MatchString(c.Text) {
				p.at(s, f, c.Pointer, "the form of the text",
					candidate{"", "number-damaged",
						"a spreadsheet has turned the number into a power of ten; its last digits are lost"})
			}
		}
		if c.Field.Kind == find.Text && c.Field.List != "" {
			p.code(s, f, c)
		}
	}
}

// letters undoes UTF-8 that was once, or more than once, read as Windows-1252, where that gives
// whole UTF-8.
func (p *proposer) letters(s *sighting, f *find.Find, c find.Cell) {
	if text, damaged := validate.Undamaged(c.Text); damaged {
		p.at(s, f, c.Pointer, "taken as Windows-1252 and read back, the bytes are whole UTF-8",
			candidate{text, "text-damaged", "the letters look as if they were once read in the wrong encoding"})
	}
}

// code proposes the nearest code for one that is not on its list.
func (p *proposer) code(s *sighting, f *find.Find, c find.Cell) {
	list := vocabulary.Get(c.Field.List)
	if list == nil || list.Has(c.Text) || list.Open && vocabulary.IsLocal(c.Text) {
		return
	}
	reason := fmt.Sprintf("%q is not a code of the list %s", c.Text, c.Field.List)
	if m, ok := list.Match(c.Text); ok {
		p.at(s, f, c.Pointer, "it is a word for that code", candidate{m.Code, "code-not-listed", reason})
	} else if near, distance, ok := list.Nearest(c.Text); ok {
		p.at(s, f, c.Pointer, letters(distance, c.Field.List), candidate{near.Code, "code-not-listed", reason})
	}
}

// kind proposes the kind of record that the count asks for.
func (p *proposer) kind(s *sighting, f *find.Find) {
	if f.Count == nil {
		return
	}
	const rule = "kind-unlike-count"
	switch low, high := f.Count.Min, f.Count.Max; {
	case f.Kind == "single" && low.Known() && low.Float() > 1:
		p.at(s, f, "/kind", "the count is "+low.String()+" or more",
			candidate{"lot", rule, "the record is one object, but several are counted"})
	case f.Kind == "lot" && f.Lot == nil && high.Known() && high.Float() == 1:
		p.at(s, f, "/kind", "the count is 1", candidate{"single", rule, "the record is a lot, but one object is counted"})
	}
}

const foundPointer = "/found/verbatim"

var (
	isoDay     = text.Pattern(`^(\d{4})-(\d\d)-(\d\d)$`)
	numericDay = text.Pattern(`^(\d{1,2})[/.\-](\d{1,2})[/.\-](\d{4}|\d\d)(?:$|[T ,])`)
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
		if d.before = d.date; s.origin.Layout != nil && isoDay().MatchString(d.date) {
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
	m := numericDay().FindStringSubmatch(text)
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
	evidence := fmt.Sprintf("all %d dates that are text have a day after the 12th, and none of the %d that the "+
		"spreadsheet took for dates has", texts, len(cells))
	for _, d := range cells {
		p.propose(d.sighting, foundPointer, d.before, evidence,
			candidate{swap(d.date), "date-order-mixed", "the spreadsheet seems to have taken the day for the month"})
	}
}

// swap exchanges day and month of a day in ISO 8601; it is empty where that is no day.
func swap(date string) string {
	m := isoDay().FindStringSubmatch(date)
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
