package pipeline

import (
	"sort"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/gpx"
	"github.com/findslip/findslip/pkg/internal/markup"
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
	return &losses{to: o.To, plain: o.Plain && (o.To == CSV || o.To == XLSX), count: map[string]int{}}
}

// watch counts as the finds pass, of several at the same time.
func (l *losses) watch(s *find.Stream) *find.Stream {
	if l.to == Findslip || l.to == JSONL {
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
		if name != "" || l.to == CSV || l.to == XLSX {
			l.add(lossUnknown, 1)
		}
	}
	countParts(l, f)
	countEnds(l, f)
	if l.to != GPX && l.to != KML {
		return
	}
	for c := range find.Flat(f) {
		if !markup.Holds(c.Text) || c.Field.Name == "columns" && !markup.Holds(c.Name) {
			l.add(strings.ReplaceAll(c.Field.Name, ".#", "")+lossInFields, 1)
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
	if l.to != CSV && l.to != XLSX {
		return
	}
	for c := range find.Flat(record) {
		name := strings.ReplaceAll(c.Field.Name, ".#", "")
		heading, isColumn := strings.CutPrefix(c.Name, "columns.")
		if strings.TrimSpace(c.Text) != c.Text || isColumn && (heading == "" || strings.TrimSpace(heading) != heading) {
			l.add(name+lossBlanks, 1)
		}
		if l.to != CSV {
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

// report counts what is lost of the report itself.
func (l *losses) report(r *find.Report) {
	switch l.to {
	case CSV:
		l.parts(r)
	case XLSX:
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
