package validate

import (
	"fmt"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/validate/internal/law"
)

// A clock is a time limit that a rule has come upon: a row of law that may hold for a find.
type clock struct {
	row   *law.Row
	what  string // what is to be told
	place string // the law that the find stands under
	found edtf.Day
	dated bool // whether the day of the find is known to the day
	told  bool // whether a report is recorded
}

// What is to be told under a row of law.
const (
	tellTreasure = "report of what may be treasure"
	tellFind     = "report of the find"
	tellRecorded = "notice that the record names"
)

// clockFor is the time limit of a row for the find of a case.
func clockFor(c *Case, row *law.Row, what string) clock {
	k := clock{row: row, what: what, place: c.law().Code, told: reported(c.Find)}
	if found, ok := c.found(); ok {
		k.found, k.dated = found.oneDay()
	}
	return k
}

// due hands a time limit on to the list of deadlines. Copies for others have none: the one who may
// have to report is the finder.
func (c *Case) due(k clock) { c.dueOf(nil, k) }

// dueOf does the same for a find seen earlier.
func (c *Case) dueOf(ref *Ref, k clock) {
	if c.said == nil || !ours(c.Report) {
		return
	}
	d := notice.Deadline{Time: k.row.Time(), What: k.what, Source: k.row.Written(c.AsOf), Checked: k.row.Looked()}
	if k.what == tellTreasure {
		for _, r := range theTables().law.Of(k.place).On("treasure-deadline", k.found, k.found) {
			d.Source, d.Checked = r.Written(c.AsOf), r.Looked()
			break
		}
	}
	switch days, counted := k.row.Days(); {
	case counted && k.dated:
		c.setDay(&d, k.found.AddDays(days), k.told)
	case counted:
		d.Time += " from the day of the find, which the record does not give"
		c.setDay(&d, edtf.Day{}, k.told)
	case k.row.Time() == "":
		return // a duty without a time limit is told by its rule alone
	default:
		c.setDay(&d, edtf.Day{}, k.told)
	}
	c.said.due = append(c.said.due, dueSaying{c.said.rule, ref, d})
}

// setDay sets the last day of a deadline and how it stands.
func (c *Case) setDay(d *notice.Deadline, day edtf.Day, told bool) {
	d.Status = notice.DeadlineOpen
	if !day.IsZero() {
		d.Day = day.String()
		if d.Dated = !c.AsOf.IsZero(); d.Dated {
			d.Left = daysBetween(c.AsOf, day)
		}
		if d.Dated && d.Left < 0 {
			d.Status = notice.DeadlinePast
		}
	}
	if told {
		d.Status = notice.DeadlineMet
	}
}

// recordedDeadlines lists the deadlines that the record of a find states.
func recordedDeadlines(c *Case) {
	for i := range c.Find.Notified {
		n := &c.Find.Notified[i]
		end, ok := spanOf(n.Deadline)
		if n.Deadline == "" || !ok {
			continue
		}
		d := notice.Deadline{Time: "as stated", What: tellRecorded, Source: "the record itself",
			Location: notice.Location{Pointer: fmt.Sprintf("/notified/%d/deadline", i)}}
		told := (n.On != "" || n.CaseNumber != "" || !openCase(n)) && !n.Status.Is("not-sent", "returned")
		c.setDay(&d, end.last, told)
		c.said.due = append(c.said.due, dueSaying{c.said.rule, nil, d})
	}
}

// deadlines gathers those of one run.
type deadlines struct {
	list notice.Deadlines
	seen map[dueKey]int // place in the list
}

// dueKey tells which deadlines are one: of two limits to tell one thing of one find the shorter is shown.
type dueKey struct {
	index int
	what  string
}

func (l *deadlines) add(e *find.Entry, d notice.Deadline) {
	at := notice.Notice{Location: d.Location}
	e.Locate(&at)
	whole := d.Pointer == ""
	d.Location = at.Location
	if whole {
		key := dueKey{e.Index, d.What}
		if i, known := l.seen[key]; known {
			if old := &l.list[i]; d.Day != "" && (old.Day == "" || d.Day < old.Day) {
				location := old.Location
				*old, old.Location = d, location
			}
			return
		}
		if l.seen == nil {
			l.seen = map[dueKey]int{}
		}
		l.seen[key] = len(l.list)
	}
	l.list = append(l.list, d)
}

// addOf adds one about a find seen earlier, which is not at hand any more.
func (l *deadlines) addOf(ref *Ref, d notice.Deadline) {
	before := len(l.list)
	l.add(&find.Entry{Index: ref.Index, Origin: ref.Origin}, d)
	if len(l.list) == before {
		return
	}
	at := &l.list[before]
	at.Find = ref.Label
	if ref.Origin.Line == 0 {
		at.Pointer = fmt.Sprintf("/finds/%d%s", ref.Index, at.Pointer)
	}
}
