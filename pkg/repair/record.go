package repair

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/validate"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// records proposes repairs of people, permissions and outings.
func (p *proposer) records(s *find.Stream) {
	at := map[string]notice.List{}
	for _, n := range s.Notices {
		if record, member := find.CutRecord(n.Pointer); record != "" {
			n.Pointer = member
			at[record] = append(at[record], n)
		}
	}
	recordsOf(p, s, "people", s.Report.People, func(x *find.Person) string { return x.ID }, at)
	recordsOf(p, s, "permissions", s.Report.Permissions, func(x *find.Permission) string { return x.ID }, at)
	recordsOf(p, s, "outings", s.Report.Outings, func(x *find.Outing) string { return x.ID }, at)
}

// recordDraft makes proposals for one record.
type recordDraft[T find.Record] struct {
	p        *proposer
	s        *find.Stream
	part, id string
	nth      int
	pointer  string // of the record, from the top of the report
	record   *T
	touched  map[string]bool
}

func recordsOf[T find.Record](p *proposer, s *find.Stream, part string, list []T, id func(*T) string,
	at map[string]notice.List) {
	times := map[string]int{}
	for i := range list {
		d := &recordDraft[T]{p: p, s: s, part: part, id: id(&list[i]), pointer: fmt.Sprintf("/%s/%d", part, i),
			record: &list[i], touched: map[string]bool{}}
		if times[d.id]++; times[d.id] > 1 {
			d.nth = times[d.id]
		}
		for _, n := range at[d.pointer] {
			switch {
			case len(n.Proposals) > 0:
				d.propose(n.Pointer, textAlone, candidates(n.Kind.Code, n.Message, n.Proposals...)...)
			case n.Kind == &kinds.TermNotListed:
				d.words(n.Pointer, n.Message)
			}
		}
		d.cells()
		switch r := any(&list[i]).(type) {
		case *find.Permission:
			any(d).(*recordDraft[find.Permission]).spans(r)
			any(d).(*recordDraft[find.Permission]).turned(r)
		case *find.Outing:
			p.outings = append(p.outings, &outingDays{draft: any(d).(*recordDraft[find.Outing]), days: map[string]int{}})
		}
	}
}

// propose proposes texts for what stands at a pointer of the record. Several are a choice. What stood
// there before an earlier repair is not proposed again.
func (d *recordDraft[T]) propose(pointer, evidence string, list ...candidate) {
	to, err := slotOf[T](pointer)
	if err != nil || d.touched[pointer] {
		return
	}
	before := to.get(d.record)
	if before == "" {
		return
	}
	n := notice.Notice{Location: notice.Location{Pointer: d.pointer + pointer}}
	d.s.LocateRecord(&n)
	earlier := &sighting{repaired: *find.ColumnsOf(d.record)}
	var out []*draft
	for _, c := range list {
		again := c.after != "" && slices.ContainsFunc(out, func(x *draft) bool { return x.After == c.after })
		if c.after == before || again || earlier.stood(to.name, c.after) {
			continue
		}
		out = append(out, &draft{index: -1, Proposal: Proposal{Part: d.part, Record: d.id, Nth: d.nth, Pointer: pointer,
			Sheet: n.Sheet, Cell: n.Cell,
			Before: before, After: c.after, Rule: c.rule, Reason: c.reason, Evidence: evidence}})
	}
	if len(out) > 1 {
		d.p.choices++
		for _, x := range out {
			x.Choice = fmt.Sprintf("choice-%d", d.p.choices)
		}
	}
	d.touched[pointer] = len(out) > 0
	d.p.drafts = append(d.p.drafts, out...)
}

// words proposes the nearest words of a list for words that are on none.
func (d *recordDraft[T]) words(pointer, message string) {
	path, err := find.PathTo[T](find.NameOf(pointer))
	if err != nil || path.Field.List == "" {
		return
	}
	if list := vocabulary.Get(path.Field.List); list != nil {
		if c, distance, ok := list.Nearest(find.Get(path, d.record)); ok {
			d.propose(pointer, letters(distance, path.Field.List),
				candidate{c.Label("en"), kinds.TermNotListed.Code, message})
		}
	}
}

// cells looks at every text of the record by itself.
func (d *recordDraft[T]) cells() {
	for c := range find.Flat(d.record) {
		if strings.HasPrefix(c.Pointer, columnPointer) && strings.Contains(c.Name, beforeRepair) {
			continue // kept as it was
		}
		words := c.Field.Kind == find.TermText || c.Field.Kind == find.QuantityText || c.Field.Kind == find.Text &&
			!c.Field.Part
		if !words {
			continue
		}
		if text, damaged := validate.Undamaged(c.Text); damaged {
			d.propose(c.Pointer, "taken as Windows-1252 and read back, the bytes are whole UTF-8",
				candidate{text, "text-damaged", "the letters look as if they were once read in the wrong encoding"})
		}
		if n := utf8.RuneCountInString(c.Text); n == 255 || n == 32767 {
			d.propose(c.Pointer, fmt.Sprintf("older programs cut text at 255 characters, spreadsheets at 32767; this one has %d",
				n),
				candidate{"", "text-cut", "the text seems to be cut off; the rest is not in this file"})
		}
		switch c.Field.Name {
		case "documentNumber", "contact", "columns":
			if exponent().MatchString(c.Text) {
				d.propose(c.Pointer, "the form of the text",
					candidate{"", "number-damaged",
						"a spreadsheet has turned the number into a power of ten; its last digits are lost"})
			}
		}
	}
}

// spans proposes the other order of day and month where a permission ends before it begins and that puts
// it right.
func (d *recordDraft[T]) spans(p *find.Permission) {
	if !isoDay().MatchString(p.ValidFrom) || !isoDay().MatchString(p.ValidTo) || p.ValidTo >= p.ValidFrom {
		return
	}
	const rule, reason = "date-order-mixed",
		"the permission ends before it begins; day and month seem to have changed places"
	from, to := swap(p.ValidFrom), swap(p.ValidTo)
	const evidence = "so read it ends after it begins"
	if from != "" && from <= p.ValidTo {
		d.propose("/validFrom", evidence, candidate{from, rule, reason})
	}
	if to != "" && to >= p.ValidFrom {
		d.propose("/validTo", evidence, candidate{to, rule, reason})
	}
}

// turned proposes the area of a permission with its axes exchanged, where that alone brings it into the
// country that is stated.
func (d *recordDraft[T]) turned(p *find.Permission) {
	if p.Area == nil {
		return
	}
	country, ok := validate.CountryArea(jurisdictionOf(p, new(find.Find)))
	polygons, err := p.Area.Polygons()
	if !ok || err != nil || !each(polygons, country, coordinate.Outside) {
		return
	}
	for _, rings := range polygons {
		for _, ring := range rings {
			for i, position := range ring {
				if ring[i] = exchanged(position); ring[i] == nil {
					return
				}
			}
		}
	}
	mended := find.AreaOf(polygons, p.Area.Type == "MultiPolygon").Wound()
	mended.Unknown = p.Area.Unknown
	if !each(polygons, country, coordinate.Inside) {
		return
	}
	if text, err := find.Marshal(mended); err == nil {
		d.propose("/area", "so read it lies in "+jurisdictionOf(p, new(find.Find))+
			", the country or part of it that is stated",
			candidate{string(text), "axes-swapped", "latitude and longitude of the area seem to have changed places"})
	}
}

// each reports whether all corners of an area lie on one side of the edge of a country.
func each(polygons [][]find.Ring, country coordinate.Area, side coordinate.Verdict) bool {
	n := 0
	for _, rings := range polygons {
		for _, ring := range rings {
			for _, position := range ring {
				var at []float64
				if json.Unmarshal(position, &at) != nil || len(at) < 2 {
					return false
				}
				p := coordinate.Point{Longitude: at[0], Latitude: at[1]}
				if verdict := country.Contains(p, 0); verdict != side && (side == coordinate.Inside || p.Valid()) {
					return false
				}
				n++
			}
		}
	}
	return n > 0
}

// exchanged is a position of GeoJSON with its first two numbers the other way round.
func exchanged(position jsontext.Value) jsontext.Value {
	parts := strings.Split(strings.Trim(string(position), "[] \t\r\n"), ",")
	if len(parts) < 2 {
		return nil
	}
	parts[0], parts[1] = strings.TrimSpace(parts[1]), strings.TrimSpace(parts[0])
	out := jsontext.Value("[" + strings.Join(parts, ",") + "]")
	if !out.IsValid() {
		return nil
	}
	return out
}

// outingDays are the days on which the finds of an outing were made.
type outingDays struct {
	draft *recordDraft[find.Outing]
	days  map[string]int
}

// outingDay counts the day of a find for its outing.
func (p *proposer) outingDay(f *find.Find) {
	if f.Outing == "" || f.Found == nil || !isoDay().MatchString(f.Found.Date) {
		return
	}
	for _, o := range p.outings {
		if o.draft.id == f.Outing {
			o.days[f.Found.Date]++
			return
		}
	}
}

// outingsSwapped proposes the other order of day and month for an outing all of whose finds, two at
// least, are of that day. What was proposed for the finds themselves is taken back: they agree.
func (p *proposer) outingsSwapped() {
	for _, o := range p.outings {
		day := swap(o.draft.record.Date)
		n := o.days[day]
		if day == "" || len(o.days) != 1 || n < 2 {
			continue
		}
		p.drafts = slices.DeleteFunc(p.drafts, func(d *draft) bool {
			return d.outing == o.draft.id && d.Rule == "found-outside-outing"
		})
		o.draft.propose("/date", fmt.Sprintf("all %d dated finds of the outing are of that day", n),
			candidate{day, "found-outside-outing", "day and month of the outing seem to have changed places"})
	}
}

// target is the cell that a proposal mends.
func (x *Proposal) target() (mends string, appends bool, err error) {
	if x.Part != "" && x.Find != "" {
		return "", false, fmt.Errorf("it names a find and a record of %s; it can speak of one only", x.Part)
	}
	switch x.Part {
	case "":
		to, err := slotOf[find.Find](x.Pointer)
		return to.mends, to.appends, err
	case "people":
		to, err := slotOf[find.Person](x.Pointer)
		return to.mends, false, err
	case "permissions":
		to, err := slotOf[find.Permission](x.Pointer)
		return to.mends, false, err
	case "outings":
		to, err := slotOf[find.Outing](x.Pointer)
		return to.mends, false, err
	}
	return "", false, fmt.Errorf("part is %q; it is people, permissions or outings, or left out for a find", x.Part)
}

// head applies what is accepted for people, permissions and outings and reads them anew.
func (a *applier) head(s *find.Stream, read normalise.Options) error {
	if len(a.records) == 0 {
		return nil
	}
	head := *s.Report
	head.People, head.Permissions, head.Outings = slices.Clone(head.People), slices.Clone(head.Permissions),
		slices.Clone(head.Outings)
	mended := map[string]bool{}
	before, err := recordTexts(&head)
	if err != nil {
		return err
	}
	for _, x := range a.records {
		pointer, err := a.mend(&head, x)
		if err != nil {
			return fmt.Errorf("proposal %s, %s %s: %w", x.ID, x.Part, x.Record, err)
		}
		mended[pointer] = true
		a.applied++
	}
	if read.Language == "" {
		read.Language = head.Language
	}
	read.Origins = s.Origins
	said := slices.DeleteFunc(slices.Clone(s.Notices),
		func(n notice.Notice) bool { return mended[memberOfRecord(n.Pointer)] })
	for _, n := range normalise.Header(&head, read) {
		if mended[memberOfRecord(n.Pointer)] {
			s.LocateRecord(&n)
			said.Add(n)
		}
	}
	s.Report, s.Notices, s.Raw = &head, said, nil
	after, err := recordTexts(&head)
	if err != nil {
		return err
	}
	for _, part := range []string{"people", "permissions", "outings"} {
		for i := range after[part] {
			changes, err := patch(fmt.Sprintf("/%s/%d", part, i), before[part][i], after[part][i])
			if err != nil {
				return err
			}
			a.patch = append(a.patch, changes...)
		}
	}
	return nil
}

// recordTexts are the records of a header as JSON.
func recordTexts(head *find.Report) (map[string][]jsontext.Value, error) {
	raw, err := find.CanonicalHeader(head)
	if err != nil {
		return nil, err
	}
	var out struct {
		People      []jsontext.Value `json:"people"`
		Permissions []jsontext.Value `json:"permissions"`
		Outings     []jsontext.Value `json:"outings"`
	}
	if err := json.Unmarshal(raw, &out); err != nil {
		return nil, err
	}
	return map[string][]jsontext.Value{"people": out.People, "permissions": out.Permissions, "outings": out.Outings}, nil
}

// memberOfRecord is a pointer up to the member of a record: /permissions/0/validFrom.
func memberOfRecord(pointer string) string {
	record, inside := find.CutRecord(pointer)
	return record + "/" + member(inside)
}

// mend applies one proposal to a header and returns the pointer of the member.
func (a *applier) mend(head *find.Report, x Proposal) (string, error) {
	switch x.Part {
	case "people":
		return mendIn(head.People, func(r *find.Person) string { return r.ID }, x, nil)
	case "permissions":
		return mendIn(head.Permissions, func(r *find.Permission) string { return r.ID }, x, func(p *find.Permission) {
			for pointer, q := range map[string]**find.Quantity{"/ploughDepth": &p.PloughDepth, "/maxDepth": &p.MaxDepth} {
				if x.Pointer == pointer && *q != nil {
					*q = &find.Quantity{Said: (*q).Said, Verbatim: (*q).Verbatim, Unknown: (*q).Unknown}
				}
			}
			if p.Place != nil { // its text may be set, and the caller's place is left alone
				place := *p.Place
				p.Place = &place
			}
		})
	case "outings":
		return mendIn(head.Outings, func(r *find.Outing) string { return r.ID }, x, func(o *find.Outing) {
			o.People = slices.Clone(o.People)
		})
	}
	return "", fmt.Errorf("nothing is repaired in %q", x.Part)
}

// mendIn applies a proposal to the record of a list that it names.
func mendIn[T find.Record](list []T, id func(*T) string, x Proposal, clear func(*T)) (string, error) {
	to, err := slotOf[T](x.Pointer)
	if err != nil {
		return "", err
	}
	met := 0
	for i := range list {
		if id(&list[i]) != x.Record {
			continue
		}
		if met++; met < max(x.Nth, 1) {
			continue
		}
		columns := find.ColumnsOf(&list[i])
		copied := make(map[string]string, len(*columns)+1)
		for heading, text := range *columns {
			copied[heading] = text
		}
		*columns = copied
		pointer := fmt.Sprintf("/%s/%d/%s", x.Part, i, member(x.Pointer))
		return pointer, put(to, &list[i], x, func() {
			if clear != nil {
				clear(&list[i])
			}
		})
	}
	return "", fmt.Errorf("nothing in the file has this id; make the proposals anew")
}
