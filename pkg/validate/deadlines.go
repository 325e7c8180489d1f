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

// A span is the days from first to last, both included.
type span struct{ first, last edtf.Day }

// foundSpan returns the days on which the find may have been made. A season counts as its whole
// year. False where no day is given or the date cannot be read.
func foundSpan(f *find.Find) (span, bool) {
	if f.Found == nil || f.Found.Date == "" {
		return span{}, false
	}
	return spanOf(f.Found.Date)
}

// spanOf returns the days that a day, month, year or closed interval covers.
func spanOf(date string) (span, bool) {
	if len(date) == len("2026-04-12") { // as most are
		if m, ok := momentOf(date); ok {
			return span{m.day, m.day}, true
		}
	}
	d := dateOf(date)
	return d.span, d.spans
}

func spanOfDate(d edtf.Date) (span, bool) {
	first, last, openFirst, openLast := d.Span()
	if !openFirst && !openLast {
		return span{first, last}, true
	}
	from, to, hasFrom, hasTo := d.Years()
	if !hasFrom || !hasTo {
		return span{}, false
	}
	if openFirst {
		first = edtf.Day{Year: from, Month: 1, Day: 1}
	}
	if openLast {
		last = edtf.Day{Year: to, Month: 12, Day: 31}
	}
	return span{first, last}, true
}

// oneDay returns the day of a span that is one day.
func (s span) oneDay() (edtf.Day, bool) { return s.first, s.first == s.last }

// A moment is a day with the time of day it may carry, as it was written.
type moment struct {
	day    edtf.Day
	minute int // of the day; -1: no time
	zone   zone
	offset int // minutes east of UTC, where the zone is stated
}

// zone says how a time tells its distance from UTC.
type zone uint8

const (
	local  zone = iota // not at all
	utc                // Z: the clock of a machine, perhaps not that of the finder
	stated             // an offset
)

// momentOf reads a day, or a day with a time (the moment of the schema). It takes memory of its
// own for nothing.
func momentOf(s string) (moment, bool) {
	if len(s) < 10 || s[4] != '-' || s[7] != '-' {
		return moment{}, false
	}
	y, ok1 := digits(s[:4])
	m, ok2 := digits(s[5:7])
	d, ok3 := digits(s[8:10])
	out := moment{day: edtf.Day{Year: y, Month: uint8(m), Day: uint8(d)}, minute: -1}
	if !ok1 || !ok2 || !ok3 || !out.day.IsValid() {
		return moment{}, false
	}
	if len(s) > 10 {
		if s[10] != 'T' {
			return moment{}, false
		}
		c, ok := clockOf(s[11:])
		if !ok {
			return moment{}, false
		}
		out.minute, out.zone, out.offset = c.minute, c.zone, c.offset
	}
	return out, true
}

// clockOf reads hh:mm or hh:mm:ss with an offset, if any; the day stays empty and the seconds are
// passed over.
func clockOf(s string) (moment, bool) {
	if len(s) < 5 || s[2] != ':' {
		return moment{}, false
	}
	h, ok1 := digits(s[:2])
	m, ok2 := digits(s[3:5])
	if !ok1 || !ok2 || h > 23 || m > 59 {
		return moment{}, false
	}
	c := moment{minute: h*60 + m}
	rest := s[5:]
	for rest != "" && (rest[0] == ':' || rest[0] == '.' || rest[0] >= '0' && rest[0] <= '9') {
		rest = rest[1:]
	}
	switch {
	case rest == "":
	case rest == "Z":
		c.zone = utc
	case len(rest) == 6 && rest[3] == ':' && (rest[0] == '+' || rest[0] == '-'):
		h, ok1 := digits(rest[1:3])
		m, ok2 := digits(rest[4:6])
		if !ok1 || !ok2 {
			return moment{}, false
		}
		c.zone, c.offset = stated, h*60+m
		if rest[0] == '-' {
			c.offset = -c.offset
		}
	default:
		return moment{}, false
	}
	return c, true
}

// digits reads a short run of decimal digits.
func digits[T string | []byte](s T) (int, bool) {
	n := 0
	for i := 0; i < len(s); i++ {
		if s[i] < '0' || s[i] > '9' {
			return 0, false
		}
		n = n*10 + int(s[i]-'0')
	}
	return n, len(s) > 0
}

// daysBetween counts the days from one day to a later one; below zero where it is earlier.
func daysBetween(from, to edtf.Day) int { return dayNumber(to) - dayNumber(from) }

// dayNumber counts days so that the day after has the next number (proleptic Gregorian calendar,
// counted from 1 March of year 0).
func dayNumber(d edtf.Day) int {
	y, m := d.Year, int(d.Month)-3
	if m < 0 {
		y, m = y-1, m+12
	}
	cycle := y / 400
	if y%400 < 0 {
		cycle--
	}
	y -= cycle * 400
	return cycle*146097 + y*365 + y/4 - y/100 + (m*153+2)/5 + int(d.Day) - 1
}

// minutesText writes a number of minutes as people say it.
func minutesText(n int) string {
	if n < 120 {
		return fmt.Sprintf("%d minutes", n)
	}
	return fmt.Sprintf("%d hours", n/60)
}

// dayOf is the day with a number of dayNumber.
func dayOf(n int) edtf.Day {
	cycle := n / 146097
	if n%146097 < 0 {
		cycle--
	}
	n -= cycle * 146097
	y := (n - n/1460 + n/36524 - n/146096) / 365
	n -= y*365 + y/4 - y/100
	m := (5*n + 2) / 153
	d := edtf.Day{Year: cycle*400 + y, Month: uint8(m + 3), Day: uint8(n - (m*153+2)/5 + 1)}
	if d.Month > 12 {
		d.Month, d.Year = d.Month-12, d.Year+1
	}
	return d
}
