package pipeline

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"maps"
	"slices"
	"sort"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/gpx"
	"github.com/findslip/findslip/pkg/internal/markup"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/text"
)

// Names of losses that are not fields.
const (
	lossUnknown  = "members that this version does not know"
	lossReport   = "report (id, title and the like)"
	lossNowhere  = "finds without a position"
	lossPlain    = "canonical columns, left out by --plain"
	lossHeights  = "heights of areas"
	lossInFields = ": characters that XML does not allow, or that show nothing" // behind the flat name of a field
	lossBlanks   = ": blanks at its ends"                                       // likewise
	lossNUL      = ": control characters and direction marks"                   // likewise
	lossCR       = ": carriage returns in line ends"                            // likewise
	lossNotDay   = "words in place of a day, which come back under their heading"
)

// losses counts what a target format cannot hold of a report.
type losses struct {
	to    Format
	plain bool
	mu    sync.Mutex
	count map[string]int
}

func (l *losses) add(loss string, n int) {
	l.mu.Lock()
	l.count[loss] += n
	l.mu.Unlock()
}

func newLosses(o Options) *losses {
	return &losses{to: o.To, plain: o.Plain && o.To.isTable(), count: map[string]int{}}
}

// watch counts as the finds pass, of several at the same time.
func (l *losses) watch(s *find.Stream) *find.Stream {
	if l.to == Findslip || l.to == JSONL || l.to == JSONLD || l.to == GPKG {
		return s
	}
	return s.Map(func(e *find.Entry, _ bool) bool {
		l.find(e.Find)
		return true
	})
}

// find counts what is lost of one find.
func (l *losses) find(f *find.Find) {
	if l.to == GPX && !gpx.Carries(f) {
		l.add(lossNowhere, 1)
		return
	}
	for name := range find.Unknown(f) {
		// Map formats carry the members of the find itself in one datum of their own.
		if name != "" || l.to.isTable() {
			l.add(lossUnknown, 1)
		}
	}
	countParts(l, f)
	countEnds(l, f)
	l.days(f)
	if l.to != GPX && l.to != KML {
		return
	}
	for c := range find.Flat(f) {
		if !markup.Holds(c.Text) || c.Field.Name == "columns" && !markup.Holds(c.Name) {
			l.add(strings.ReplaceAll(c.Field.Name, ".#", "")+lossInFields, 1)
		}
	}
}

// days counts the texts that a reader of tables finds to be no day, and that then stand as a column of the sheet.
func (l *losses) days(f *find.Find) {
	if !l.to.isTable() {
		return
	}
	count := func(_ string, text *string) {
		if _, err := edtf.ParseDay(*text); err != nil {
			l.add(lossNotDay, 1)
		}
	}
	f.Days(count)
	if f.Recorded != nil && f.Recorded.At != "" {
		if _, err := time.Parse(time.RFC3339, f.Recorded.At); err != nil {
			count("", &f.Recorded.At)
		}
	}
}

// countParts counts the canonical parts that --plain leaves out.
func countParts[T find.Record](l *losses, record *T) {
	if !l.plain {
		return
	}
	for c := range find.Flat(record) {
		if c.Field.Part {
			l.add(lossPlain, 1)
		}
	}
}

// countEnds counts the texts of which a table, whose readers trim every cell, loses the blanks at
// their ends, and what a text file does not hold as it is:
// control characters and direction marks, and carriage returns, which are read as parts of line ends.
func countEnds[T find.Record](l *losses, record *T) {
	if !l.to.isTable() {
		return
	}
	for c := range find.Flat(record) {
		name := strings.ReplaceAll(c.Field.Name, ".#", "")
		heading, isColumn := strings.CutPrefix(c.Name, "columns.")
		if strings.TrimSpace(c.Text) != c.Text || isColumn && (heading == "" || strings.TrimSpace(heading) != heading) {
			l.add(name+lossBlanks, 1)
		}
		if l.to == XLSX {
			continue
		}
		if text.HasHidden(c.Text) || text.HasHidden(heading) {
			l.add(name+lossNUL, 1)
		}
		if strings.Contains(c.Text, "\r") || strings.Contains(heading, "\r") {
			l.add(name+lossCR, 1)
		}
	}
}

// EncodeTold is Encode, and tells what the format cannot hold.
func EncodeTold(w io.Writer, s *find.Stream, o Options) ([]Loss, error) {
	l := newLosses(o)
	l.report(s.Report)
	err := Encode(w, l.watch(s), o)
	return l.list(), err
}

// report counts what is lost of the report itself.
func (l *losses) report(r *find.Report) {
	switch l.to {
	case CSV:
		l.parts(r)
	case XLSX, Tables:
		l.unknownParts(r)
	case GeoJSON, KML:
		for i := range r.Permissions {
			p := &r.Permissions[i]
			if !p.SoundAreas() {
				continue // they stay in the report as they are
			}
			for j := -1; j < len(p.Excluded); j++ {
				a := p.Area
				if j >= 0 {
					a = &p.Excluded[j]
				}
				l.area(a)
			}
		}
	}
}

// parts counts the parts of a report that a table of finds cannot hold.
func (l *losses) parts(r *find.Report) {
	for part, n := range map[string]int{"people": len(r.People), "permissions": len(r.Permissions),
		"outings": len(r.Outings), "accepted": len(r.Accepted)} {
		if n > 0 {
			l.add(part, n)
		}
	}
	if r.ID != "" || r.Title != "" {
		l.add(lossReport, 1)
	}
}

// unknownParts counts what the other sheets of a workbook cannot hold, or are not to.
func (l *losses) unknownParts(r *find.Report) {
	n := len(unknownOf(r))
	countEnds(l, r)
	for i := range r.People {
		n += len(unknownOf(&r.People[i]))
		countParts(l, &r.People[i])
		countEnds(l, &r.People[i])
	}
	for i := range r.Permissions {
		n += len(unknownOf(&r.Permissions[i]))
		countParts(l, &r.Permissions[i])
		countEnds(l, &r.Permissions[i])
	}
	for i := range r.Outings {
		n += len(unknownOf(&r.Outings[i]))
		countParts(l, &r.Outings[i])
		countEnds(l, &r.Outings[i])
	}
	if n > 0 {
		l.add(lossUnknown, n)
	}
}

func unknownOf[T find.Record](record *T) []string {
	var out []string
	for name := range find.Unknown(record) {
		out = append(out, name)
	}
	return out
}

// area counts what a geometry of a map file cannot hold of an area.
func (l *losses) area(a *find.Area) {
	if a == nil {
		return
	}
	if len(a.Unknown) > len("{}") {
		l.add(lossUnknown, 1)
	}
	if l.to != KML {
		return
	}
	polygons, err := a.Polygons()
	if err != nil {
		return
	}
	for _, rings := range polygons {
		for _, ring := range rings {
			for _, position := range ring {
				if strings.Count(string(position), ",") > 1 {
					l.add(lossHeights, 1)
				}
			}
		}
	}
}

func (l *losses) list() []Loss {
	var out []Loss
	for field, n := range l.count {
		out = append(out, Loss{field, n})
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Field < out[j].Field })
	return out
}

// Difference is one place in which a report that came back from a format is not what went out. It
// names the place and never what stood there.
type Difference struct {
	Part   string // finds, people, permissions, outings, report
	Record string // the number of the find, else its id; the local id of others; empty for the report
	Field  string // flat name; empty: the whole record
	What   string // lost, changed or added
	Listed string // the listed loss that it comes of; empty: it is listed nowhere
}

// LossCheck is the outcome of CheckLoss.
type LossCheck struct {
	Differences []Difference
	Lost        []Loss // what the format says that it cannot hold of this report
}

// Unlisted counts the differences that no listed loss explains.
func (c *LossCheck) Unlisted() int {
	n := 0
	for _, d := range c.Differences {
		if d.Listed == "" {
			n++
		}
	}
	return n
}

// CheckLoss reads a file, writes it in the format Options.To and reads that again, all in memory,
// and lists every difference.
func CheckLoss(ctx context.Context, name string, o Options) (*LossCheck, error) {
	in, err := Open(ctx, name, o)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	read := in.reading(o.Read)
	before, _, err := find.Collect(holding(normalise.Stream(in.Stream, read), o.Limits))
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	losses := newLosses(o)
	s := find.StreamOf(before).Until(ctx)
	losses.report(s.Report)
	var out bytes.Buffer
	if err := Encode(&out, losses.watch(s), o); err != nil {
		return nil, fmt.Errorf("converting %s: %w", name, err)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	src := bytes.NewReader(out.Bytes())
	back, err := open("the converted file", src, src.Size(),
		Options{From: o.To, Read: normalise.Options{AsOf: o.Read.AsOf}, ReportID: before.ID})
	if err != nil {
		return nil, err
	}
	after, _, err := find.Collect(normalise.Stream(back.Stream,
		normalise.Options{AsOf: o.Read.AsOf, Table: o.To.isTable()}).Until(ctx))
	if err != nil {
		return nil, fmt.Errorf("reading the converted file: %w", err)
	}
	c := &comparison{ctx: ctx, losses: losses}
	c.reports(before, after)
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("comparing %s: %w", name, err)
	}
	return &LossCheck{Differences: c.out, Lost: losses.list()}, nil
}

// comparison gathers differences.
type comparison struct {
	ctx    context.Context // of the one call of CheckLoss
	losses *losses
	out    []Difference
}

func (c *comparison) add(part, record, field, what string) {
	d := Difference{Part: part, Record: record, Field: field, What: what}
	d.Listed = c.losses.explains(d)
	c.out = append(c.out, d)
}

func (c *comparison) reports(a, b *find.Report) {
	c.fields("report", "", flatOf(a), flatOf(b))
	compareLists(c, "people", a.People, b.People, func(p *find.Person) string { return p.ID })
	compareLists(c, "permissions", a.Permissions, b.Permissions, func(p *find.Permission) string { return p.ID })
	compareLists(c, "outings", a.Outings, b.Outings, func(o *find.Outing) string { return o.ID })
	var finds, again []find.Find
	for _, f := range a.Finds {
		finds = append(finds, *f)
	}
	for _, f := range b.Finds {
		again = append(again, *f)
	}
	compareLists(c, "finds", finds, again, func(f *find.Find) string { return f.ID })
}

// compareLists pairs records by id, and those that share one in their order.
func compareLists[T find.Record](c *comparison, part string, before, after []T, id func(*T) string) {
	there := map[string][]*T{}
	for i := range after {
		k := id(&after[i])
		there[k] = append(there[k], &after[i])
	}
	for i := range before {
		if c.ctx.Err() != nil {
			return // CheckLoss says so
		}
		k := id(&before[i])
		label := labelOf(&before[i], k)
		if len(there[k]) == 0 {
			c.add(part, label, "", "lost")
			continue
		}
		c.fields(part, label, flatOf(&before[i]), flatOf(there[k][0]))
		there[k] = there[k][1:]
	}
	for _, k := range slices.Sorted(maps.Keys(there)) {
		for _, record := range there[k] {
			c.add(part, labelOf(record, k), "", "added")
		}
	}
}

func labelOf[T find.Record](record *T, id string) string {
	if f, ok := any(record).(*find.Find); ok && f.Number != "" {
		return f.Number
	}
	return id
}

// flatOf returns the fields of a record by flat name, reasons of absence one by one, and what no
// flat name stands for.
func flatOf[T find.Record](record *T) map[string]string {
	out := map[string]string{}
	for cell := range find.Flat(record) {
		switch cell.Field.Kind {
		case find.PointerMap:
			for entry := range strings.SplitSeq(cell.Text, "; ") {
				name, value, _ := strings.Cut(entry, "=")
				out[cell.Name+"."+name] = value
			}
		default:
			out[cell.Name] = cell.Text
		}
	}
	if p, ok := any(record).(*find.Permission); ok {
		area := func(name string, a *find.Area) {
			if a != nil {
				if raw, err := find.Marshal(a.Wound()); err == nil {
					out[name] = string(raw)
				}
			}
		}
		area("area", p.Area)
		for i := range p.Excluded {
			area(fmt.Sprintf("excluded.%d", i+1), &p.Excluded[i])
		}
	}
	_, whole := any(record).(*find.Report)
	for name := range find.Unknown(record) {
		if part, _, _ := strings.Cut(name, "."); whole &&
			slices.Contains([]string{"people", "permissions", "outings", "finds"}, part) {
			continue // those are compared each for itself
		}
		out[strings.TrimPrefix(name+".", ".")+unknownMembers] = "given"
	}
	return out
}

// unknownMembers stands for the members of an object that have no flat name.
const unknownMembers = "(unknown members)"

func (c *comparison) fields(part, record string, before, after map[string]string) {
	names := map[string]bool{}
	for name := range before {
		names[name] = true
	}
	for name := range after {
		names[name] = true
	}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		a, hasA := before[name]
		b, hasB := after[name]
		switch {
		case a == b && hasA == hasB:
		case !hasB:
			c.add(part, record, name, "lost")
		case !hasA && strings.HasPrefix(name, "absent.") && b == "blank":
			c.add(part, record, name, "blank")
		case !hasA:
			c.add(part, record, name, "added")
		default:
			c.add(part, record, name, "changed")
		}
	}
}

// explains returns the listed loss that a difference comes of, empty if there is none.
func (l *losses) explains(d Difference) string {
	listed := func(loss string) string {
		if l.count[loss] > 0 {
			return loss
		}
		return ""
	}
	switch {
	case l.to == CSV && d.Part == "report" && strings.HasPrefix(d.Field, "accepted."):
		return listed("accepted")
	case l.to == CSV && d.Part == "report":
		return listed(lossReport)
	case l.to == CSV && d.Part != "finds":
		return listed(d.Part)
	case l.plain && ofPlain(d):
		return listed(lossPlain)
	case d.What == "blank" && l.to.isTable():
		return "members that were merely missing come back as blank"
	case l.to == GPX && d.Part == "finds" && d.Field == "" && d.What == "lost":
		return listed(lossNowhere)
	case strings.HasSuffix(d.Field, unknownMembers) && d.What == "lost":
		return listed(lossUnknown)
	case d.Part == "permissions" && (d.Field == "area" || strings.HasPrefix(d.Field, "excluded.")):
		heights, unknown := listed(lossHeights), listed(lossUnknown)
		if heights != "" && unknown != "" {
			return heights + ", or " + unknown
		}
		return heights + unknown
	}
	if field, ok := fieldOf(d); d.Part == "finds" && l.count[lossNotDay] > 0 &&
		(strings.HasPrefix(d.Field, "columns.") || ok && field.Kind == find.Text) {
		return lossNotDay
	}
	for _, loss := range []string{lossInFields, lossBlanks, lossNUL, lossCR} {
		if l.count[patternOf(d.Field)+loss] > 0 {
			return patternOf(d.Field) + loss
		}
	}
	return ""
}

// ofPlain reports whether a difference is one in a canonical part of a quantity or term, or in the
// words that stand in for it where nobody wrote any.
func ofPlain(d Difference) bool {
	field, ok := fieldOf(d)
	return ok && (field.Part || d.What == "added" && (field.Kind == find.TermText || field.Kind == find.QuantityText))
}

func fieldOf(d Difference) (find.Field, bool) {
	var path *find.Path
	var err error
	switch d.Part {
	case "finds":
		path, err = find.PathTo[find.Find](d.Field)
	case "people":
		path, err = find.PathTo[find.Person](d.Field)
	case "permissions":
		path, err = find.PathTo[find.Permission](d.Field)
	case "outings":
		path, err = find.PathTo[find.Outing](d.Field)
	default:
		path, err = find.PathTo[find.Report](d.Field)
	}
	if err != nil {
		return find.Field{}, false
	}
	return path.Field, true
}

// patternOf takes the positions out of a flat name: materials.2.note becomes materials.note.
func patternOf(name string) string {
	if strings.HasPrefix(name, "columns.") {
		return "columns"
	}
	var out []string
	for part := range strings.SplitSeq(name, ".") {
		if _, err := strconv.Atoi(part); err != nil {
			out = append(out, part)
		}
	}
	return strings.Join(out, ".")
}
