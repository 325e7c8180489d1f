package spreadsheet

import (
	"cmp"
	"fmt"
	"iter"
	"maps"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// recordBook are the people, permissions and outings of a workbook while they are read, with what can be
// settled only when all sheets have been: who is meant by a name.
type recordBook struct {
	report  *find.Report
	origins map[string]find.Origin
	names   []intake.Alias
	pending []reference
	own     bool // a program wrote the workbook: what stands below flat names are ids
}

// reference is a name in a cell that is to become a local id.
type reference struct {
	kind string // person or permission
	text string
	key  bool // the heading is a flat name
	set  func(r *find.Report, id string)
}

// settle gives the names their ids and makes people and permissions of those that no sheet has.
func (s *recordBook) settle() *intake.References {
	x := intake.NewReferences(s.report)
	x.Also(s.names)
	for _, p := range s.pending {
		if s.own && p.key {
			p.set(s.report, p.text)
			continue
		}
		id, known := x.Lookup(p.kind, p.text)
		if !known && !(p.key && find.IsLocalID(p.text)) {
			if p.kind == "person" {
				x.AddPerson(p.text)
			} else {
				x.AddPermission(p.text)
			}
			id, _ = x.Lookup(p.kind, p.text)
		}
		p.set(s.report, id)
	}
	return x
}

// recordSheet is a sheet of records of one part of the report.
type recordSheet[T find.Record] struct {
	*headerSheet
	*recordBook
	part    string // people, permissions or outings
	stem    string // of ids that are made
	role    string // of people without one, by the name of the sheet
	file    string
	columns map[int]*recordColumn[T]
	order   []*recordColumn[T]
	layout  *find.Layout
	row     int // of the headings
	list    []T
}

type recordColumn[T find.Record] struct {
	heading.Meaning
	column  int
	heading string
	path    *find.Path // nil: the text is kept under the heading, or makes a member together with others
	codes   bool       // short words, each once, that finds have in place of the name
}

// readRecords reads a sheet of records: its headings by their meaning, a record in each row below.
func readRecords[T find.Record](s *recordSheet[T], rows iter.Seq2[grid.Row, error]) ([]T, error) {
	var head []grid.Row // kept until it is known which row has the headings
	begun := false
	begin := func() {
		begun = true
		best, at := 0, 0
		for i, row := range head {
			score := 0
			for _, c := range row.Cells {
				if c.Kind == grid.Text && heading.UnderstandIn(s.part, c.Text).Taken != heading.TakenNone {
					score++
				}
			}
			if score > best {
				best, at = score, i
			}
		}
		if len(head) == 0 {
			return
		}
		s.headings(head[at], head[at+1:])
		if best > 0 || len(head) > 1 {
			s.prove(head[at+1:])
		}
		for _, row := range head[at+1:] {
			s.record(row)
		}
	}
	for row, err := range rows {
		if err != nil {
			return nil, err
		}
		if begun {
			s.record(row)
			continue
		}
		row.Cells = slices.Clone(row.Cells)
		if head = append(head, row); len(head) > searchRows {
			begin()
		}
	}
	if !begun {
		begin()
	}
	s.mint()
	return s.list, nil
}

// headings settles what the columns are, by what stands below them where the words leave it open.
func (s *recordSheet[T]) headings(row grid.Row, below []grid.Row) {
	s.row = row.Number
	s.columns = map[int]*recordColumn[T]{}
	s.layout = &find.Layout{Sheet: s.sheet}
	claimed := map[string]*recordColumn[T]{}
	coded := false
	for _, cell := range row.Cells {
		text := strings.TrimSpace(cell.Text)
		if text == "" {
			continue
		}
		c := &recordColumn[T]{Meaning: heading.UnderstandIn(s.part, text), column: cell.Column, heading: text}
		samples := samplesBelow(below, c.column)
		known := c.Field != "" || c.Keep != ""
		if c.Field == "place.region" && c.Taken == heading.TakenLabel && !areNames(samples) {
			c.Field = "" // the state of a field, and no region
		}
		if c.Field == "place.country" && c.Taken == heading.TakenLabel && areCodes(samples) {
			c.Field = "" // Land, which is a field in English
		}
		first := claimed[c.Field]
		switch {
		case c.Field == "" || s.own || first == nil || c.Field == "contact":
		case areCodes(samplesBelow(below, first.column)) && longest(samplesBelow(below, first.column)) < longest(samples):
			first.Field, first.codes, coded = "", true, true
		default:
			s.say(headingClaimed, row.Number, c.column, text,
				"another column is taken for the same; this one is kept under its heading")
			c.Field = ""
		}
		if c.Field == "" && c.Keep == "" && !coded && areCodes(samples) {
			c.codes, coded = true, true
		}
		if !known && !c.codes {
			s.say(headingUnknown, row.Number, c.column, text, "the column is not understood; its text is kept under its heading")
		}
		claimed[c.Field] = c
		s.columns[c.column] = c
		s.order = append(s.order, c)
	}
	for _, c := range s.order {
		pointer := columnPointer(c.keep())
		if c.Field != "" {
			c.path, _ = find.PathTo[T](c.Field)
			pointer = find.PointerOf(strings.TrimSuffix(strings.TrimSuffix(c.Field, ".first"), ".last"))
		}
		s.layout.Columns = append(s.layout.Columns,
			find.LayoutColumn{Column: c.column, Heading: c.heading, Pointers: []string{pointer}, Hints: c.Hints})
	}
}

func longest(texts []string) (n int) {
	for _, s := range texts {
		n = max(n, utf8.RuneCountInString(s))
	}
	return n
}

// areNames reports whether most texts begin as a name does.
func areNames(samples []string) bool {
	small := 0
	for _, s := range samples {
		first, _ := utf8.DecodeRuneInString(s)
		if _, ground := vocabulary.Get("land-use").Match(s); ground || unicode.IsLower(first) {
			small++
		}
	}
	return small*2 <= len(samples)
}

func columnPointer(heading string) string { return "/columns/" + notice.Escape(heading) }

// prove tells the order of day and month from the days of the first rows.
func (s *recordSheet[T]) prove(rows []grid.Row) {
	order, _ := edtf.ProveOrder(func(yield func(string) bool) {
		for _, row := range rows {
			for _, cell := range row.Cells {
				if c := s.columns[cell.Column]; c != nil && cell.Kind == grid.Text && isDay(c.Field) && !yield(cell.Text) {
					return
				}
			}
		}
	})
	if order != edtf.OrderUnknown {
		s.layout.Hints.Order = order.String()
	}
}

func isDay(field string) bool { return field == "date" || field == "validFrom" || field == "validTo" }

// keep is the heading under which the text of a column is kept.
func (c *recordColumn[T]) keep() string {
	if c.Keep != "" {
		return c.Keep
	}
	return c.heading
}

// record reads one row.
func (s *recordSheet[T]) record(row grid.Row) {
	if len(s.columns) == 0 || !s.own && (s.repeats(row) || s.units(row)) {
		return
	}
	r := new(T)
	v := recordParts[T]{sheet: s, record: r, row: row}
	filled := false
	for _, cell := range row.Cells {
		if cell.Kind == grid.Error {
			s.say(cellError, row.Number, cell.Column, s.headingAt(cell.Column), "the cell holds a failed formula")
			continue
		}
		text := cellText(cell)
		if text == "" {
			continue
		}
		filled = true
		v.set(cell, text)
	}
	if !filled {
		return
	}
	v.finish()
	s.origins[fmt.Sprintf("/%s/%d", s.part, len(s.list))] = find.Origin{File: s.file, Row: row.Number, Layout: s.layout}
	s.list = append(s.list, *r)
}

func (s *recordSheet[T]) headingAt(column int) string {
	if c := s.columns[column]; c != nil {
		return c.heading
	}
	return ""
}

// repeats tells a row that has the headings once more.
func (s *recordSheet[T]) repeats(row grid.Row) bool {
	same := 0
	for _, cell := range row.Cells {
		if c := s.columns[cell.Column]; c != nil && cell.Kind == grid.Text &&
			heading.Fold(c.heading) == heading.Fold(cell.Text) && strings.TrimSpace(cell.Text) != "" {
			same++
		}
	}
	return same > 1 && same*2 >= len(row.Cells)
}

// units takes a row of units below the headings over.
func (s *recordSheet[T]) units(row grid.Row) bool {
	if row.Number != s.row+1 {
		return false
	}
	words := 0
	for _, cell := range row.Cells {
		if cell.Kind != grid.Text || !isUnitWord(cell.Text) {
			return false
		}
		if strings.Trim(cell.Text, "()[] -") != "" {
			words++
		}
	}
	if words == 0 {
		return false
	}
	for _, cell := range row.Cells {
		if u, ok := quantity.UnitOfHeading("x (" + strings.Trim(cell.Text, "()[] ") + ")"); ok {
			for i := range s.layout.Columns {
				if s.layout.Columns[i].Column == cell.Column && s.layout.Columns[i].Hints.Unit == "" {
					s.layout.Columns[i].Hints.Unit = u.String()
				}
			}
		}
	}
	s.say(unitsRow, row.Number, 0, "", "the row below the headings is taken for units")
	return true
}

// recordParts fills one record.
type recordParts[T find.Record] struct {
	sheet       *recordSheet[T]
	record      *T
	row         grid.Row
	id          string // as the sheet has it
	first, last string
	role        string // that the heading of the name tells
	names       []string
}

// set puts a cell where its column says.
func (v *recordParts[T]) set(cell grid.Cell, text string) {
	c := v.sheet.columns[cell.Column]
	switch {
	case c == nil:
		v.column(find.ColumnLetters(cell.Column), text)
		return
	case c.Field == "":
		if v.column(c.keep(), text); c.codes {
			v.names = append(v.names, text)
		}
		return
	}
	switch c.Field {
	case "id":
		v.id = text
		return
	case "name.first":
		v.first = text
		return
	case "name.last":
		v.last = text
		return
	case "hours":
		if hours, ok := hoursOf(text); ok {
			text = hours
		}
	}
	if v.refer(c, text) || v.consent(c, text) {
		return
	}
	if before := find.Get(c.path, v.record); before != "" { // of several columns for the contact
		text = before + "; " + text
	}
	if err := find.Set(c.path, v.record, text); err != nil {
		v.sheet.say(cellUnreadable, v.row.Number, c.column, c.heading,
			fmt.Sprintf("the cell does not fit the field %s; its text is kept under the heading", c.Field))
		v.column(c.heading, text)
		return
	}
	switch c.Field {
	case "name", "handle", "place.name", "date":
		v.names = append(v.names, text)
	}
	if m, ok := vocabulary.Get("role").Match(c.heading); ok && c.Field == "name" && c.Taken == heading.TakenLabel {
		v.role = m.Code
	}
}

// consent takes the answer to the question whether the recorder may have a name, or the audiences that may.
func (v *recordParts[T]) consent(c *recordColumn[T], text string) bool {
	p, ok := any(v.record).(*find.Person)
	if !ok || c.Field != "consents.1.audience" || v.sheet.own {
		return false
	}
	if yes, known := heading.Answer(text); yes {
		p.Consents = append(p.Consents, find.Consent{Audience: consentTo})
		return true
	} else if known {
		v.column(c.heading, text) // a no is nothing that a record has; the word stays
		return true
	}
	audiences := vocabulary.Get("audience")
	for one := range strings.FieldsFuncSeq(text, func(r rune) bool { return r == ',' || r == ';' || r == '+' }) {
		if m, ok := audiences.Match(strings.TrimSpace(one)); ok {
			p.Consents = append(p.Consents, find.Consent{Audience: m.Code})
		} else {
			v.column(c.heading, strings.TrimSpace(one))
		}
	}
	return true
}

// refer keeps the names of people and land for when all sheets are read.
func (v *recordParts[T]) refer(c *recordColumn[T], text string) bool {
	at := len(v.sheet.list)
	later := func(kind, text string, set func(*find.Report, string)) {
		v.sheet.pending = append(v.sheet.pending, reference{kind, text, c.Taken == heading.TakenKey, set})
	}
	switch v.sheet.part + "." + c.Field {
	case "permissions.grantedBy":
		later("person", text, func(r *find.Report, id string) { r.Permissions[at].GrantedBy = id })
	case "permissions.occupier":
		later("person", text, func(r *find.Report, id string) { r.Permissions[at].Occupier = id })
	case "outings.permission":
		later("permission", text, func(r *find.Report, id string) { r.Outings[at].Permission = id })
	case "outings.people":
		for one := range strings.FieldsFuncSeq(text,
			func(r rune) bool { return r == ',' || r == ';' || r == '&' || r == '+' || r == '/' || r == '\n' }) {
			if one = strings.TrimSpace(one); one != "" {
				later("person", one, func(r *find.Report, id string) { r.Outings[at].People = append(r.Outings[at].People, id) })
			}
		}
	default:
		return false
	}
	return true
}

// column keeps a text under its heading.
func (v *recordParts[T]) column(heading, text string) {
	columns := find.ColumnsOf(v.record)
	if *columns == nil {
		*columns = map[string]string{}
	}
	if first := (*columns)[heading]; first != "" {
		text = first + "; " + text
	}
	(*columns)[heading] = text
}

// finish gives the record its id and its name. An id of the sender's own that cannot be one of ours is
// kept under its heading, and still leads to the record.
func (v *recordParts[T]) finish() {
	s := v.sheet
	if whole := strings.TrimSpace(v.first + " " + v.last); whole != "" {
		if path, err := find.PathTo[T]("name"); err == nil && find.Get(path, v.record) == "" {
			_ = find.Set(path, v.record, whole)
			v.names = append(v.names, whole)
		} else {
			v.column("name.first", v.first)
		}
	}
	path, err := find.PathTo[T]("id")
	if err != nil {
		return
	}
	id := v.id
	if !s.own && !find.IsLocalID(id) {
		if id != "" {
			v.names = append(v.names, id)
			v.column(s.columnOf("id").heading, id)
		}
		id = "" // made when all that the sheet states are known
	}
	_ = find.Set(path, v.record, id)
	if p, ok := any(v.record).(*find.Person); ok && len(p.Roles) == 0 && !s.own {
		if code := cmp.Or(v.role, s.role); code != "" {
			p.Roles = []find.Term{{Code: code}}
		}
	}
	for _, name := range v.names {
		if s.own {
			break // the finds name ids
		}
		s.names = append(s.names, intake.Alias{Kind: s.stem, Text: name, At: len(s.list)})
	}
}

func (s *recordSheet[T]) columnOf(field string) *recordColumn[T] {
	for _, c := range s.order {
		if c.Field == field {
			return c
		}
	}
	return nil
}

// mint gives ids to the records that have none, and tells the names what they lead to.
func (s *recordSheet[T]) mint() {
	path, err := find.PathTo[T]("id")
	if err != nil || s.own {
		return
	}
	taken := map[string]bool{}
	for i := range s.list {
		taken[find.Get(path, &s.list[i])] = true
	}
	n := 0
	for i := range s.list {
		if find.Get(path, &s.list[i]) != "" {
			continue
		}
		id := ""
		for id == "" || taken[id] {
			n++
			id = fmt.Sprintf("%s-%d", s.stem, n)
		}
		taken[id] = true
		_ = find.Set(path, &s.list[i], id)
	}
	for i := range s.names {
		if a := &s.names[i]; a.Kind == s.stem && a.ID == "" {
			a.ID = find.Get(path, &s.list[a.At])
		}
	}
}

var hours = sync.OnceValue(func() *regexp.Regexp {
	words := slices.Collect(maps.Keys(lexicon.In("hour")))
	return regexp.MustCompile(`^(\d+)(?:[.,](\d+))?\s*(?:(?:` + strings.Join(words, "|") + `)\.?)?$`)
})

// hoursOf reads a number of hours with a decimal comma or a unit.
func hoursOf(text string) (string, bool) {
	m := hours().FindStringSubmatch(strings.ToLower(text))
	switch {
	case m == nil:
		return "", false
	case m[2] == "":
		return m[1], true
	}
	return m[1] + "." + m[2], true
}
