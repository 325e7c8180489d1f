package validate

import (
	"fmt"
	"strings"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
)

var timeRules = []*Rule{foundAfterRecorded, foundInFuture, recordedLate, foundOutsideOuting,
	dateOrderMixed, dateLooksDefault, hoursImpossible, dateImpossible}

var dateImpossible = &Rule{
	Kind: kinds.DateImpossible,
	Check: func(c *Case, say Say) {
		f := c.Find
		if _, ok := c.found(); !ok && f.Found != nil && missingFromCalendar(f.Found.Date) {
			say("/found/date", noSuchDay)
		}
		moment := func(pointer, text string) {
			if _, ok := momentOf(text); !ok && len(text) >= len("2026-04-12") && missingFromCalendar(text[:len("2026-04-12")]) {
				say(pointer, noSuchDay)
			}
		}
		if f.Recorded != nil {
			moment("/recorded/at", f.Recorded.At)
		}
		if f.Position != nil {
			moment("/position/takenAt", f.Position.TakenAt)
		}
		for i := range f.OtherPositions {
			moment(fmt.Sprintf("/otherPositions/%d/takenAt", i), f.OtherPositions[i].TakenAt)
		}
		for i := range f.Media {
			moment(fmt.Sprintf("/media/%d/takenAt", i), f.Media[i].TakenAt)
		}
		if f.Identification != nil {
			moment("/identification/on", f.Identification.On)
		}
		for i := range f.Opinions {
			moment(fmt.Sprintf("/opinions/%d/on", i), f.Opinions[i].On)
		}
		for i := range f.Custody {
			moment(fmt.Sprintf("/custody/%d/on", i), f.Custody[i].On)
		}
	},
}

const noSuchDay = "the calendar has no such day"

// missingFromCalendar reports whether a date has the form of the schema, and a day that no month has.
func missingFromCalendar(date string) bool {
	for end := range strings.SplitSeq(date, "/") {
		end = strings.TrimRight(end, "~?%")
		if _, ok := momentOf(end); ok || len(end) != len("2026-04-12") || end[4] != '-' || end[7] != '-' {
			continue
		}
		month, ok1 := digits(end[5:7])
		day, ok2 := digits(end[8:])
		if ok1 && ok2 && month >= 1 && month <= 12 && day >= 1 && day <= 31 {
			return true
		}
	}
	return false
}

var foundAfterRecorded = &Rule{
	Kind: kinds.FoundAfterRecorded,
	Check: func(c *Case, say Say) {
		found, ok := c.found()
		if !ok || c.Find.Recorded == nil {
			return
		}
		at, ok := momentOf(c.Find.Recorded.At)
		if !ok {
			return
		}
		if at.zone == utc { // the finder's own day may be one later
			at.day = at.day.AddDays(1)
		}
		if found.first.Compare(at.day) > 0 {
			say("/found/date", "the day of finding is after the day of recording")
		}
	},
}

var foundInFuture = &Rule{
	Kind: kinds.DateFuture,
	Check: func(c *Case, say Say) {
		found, ok := c.found()
		if !ok {
			return
		}
		if c.AsOf.IsZero() {
			c.NotChecked()
			return
		}
		if found.first.Compare(c.AsOf) > 0 {
			say("/found/date", "this day is after "+c.AsOf.String()+", the day that counts as today")
		}
	},
}

var recordedLate = &Rule{
	Kind: kinds.RecordedLate,
	Check: func(c *Case, say Say) {
		f := c.Find
		found, ok := c.found()
		if !ok || f.Recorded == nil || f.Depth != nil && f.Depth.Basis.Is("remembered-later") {
			return
		}
		at, ok := momentOf(c.Find.Recorded.At)
		if !ok {
			return
		}
		if days := daysBetween(found.last, at.day); days > c.Settings.RecordedLate {
			say("/recorded/at",
				fmt.Sprintf("it was written down %d days after it was found; beyond %d days it counts as remembered", days,
					c.Settings.RecordedLate))
		}
	},
}

var foundOutsideOuting = &Rule{
	Kind: kinds.FoundOutsideOuting,
	Check: func(c *Case, say Say) {
		sayTimeOutsideOuting(c, say)
		if c.Outing == nil {
			return
		}
		found, ok := c.found()
		day, dated := momentOf(c.Outing.Date)
		if !ok || !dated {
			return
		}
		last := day.day
		if start, end, timed := outingHours(c.Outing); timed && end.minute < start.minute {
			last = last.AddDays(1) // it went on past midnight
		}
		if found.last.Compare(day.day) < 0 || found.first.Compare(last) > 0 {
			say("/found/date", "the outing named was on another day")
		}
	},
}

// outingHours returns the start and the end of an outing, if both are given.
func outingHours(o *find.Outing) (start, end moment, ok bool) {
	start, ok1 := clockOf(o.Start)
	end, ok2 := clockOf(o.End)
	return start, end, ok1 && ok2
}

// sayTimeOutsideOuting is the part of foundOutsideOuting of which the last sentences of its condition speak.
func sayTimeOutsideOuting(c *Case, say Say) {
	if c.Outing == nil || c.Find.Found == nil || c.Find.Found.Time == "" {
		return
	}
	at, ok := clockOf(c.Find.Found.Time)
	start, end, timed := outingHours(c.Outing)
	if !ok || !timed {
		return
	}
	if !sameZone(at, start) || !sameZone(at, end) {
		c.NotChecked() // one clock tells its offset and the other does not
		return
	}
	slack, length := c.Settings.OutingSlack, sinceMidnight(end.minute-start.minute)
	after := sinceMidnight(at.minute - start.minute)
	if after > length+slack && after < 24*60-slack {
		say("/found/time", fmt.Sprintf("this is more than %s before the start or after the end of the outing",
			minutesText(slack)))
	}
}

// sameZone reports whether two clocks can be compared as they are written.
func sameZone(a, b moment) bool { return a.zone == b.zone && a.offset == b.offset }

// sinceMidnight brings minutes into one day.
func sinceMidnight(m int) int { return (m%(24*60) + 24*60) % (24 * 60) }

var dateOrderMixed = &Rule{
	Kind: kinds.DateOrderMixed,
	Across: func() Across {
		var dayFirst, monthFirst int
		var unsure []Ref
		more := 0
		return Across{
			Find: func(c *Case, ref Ref, say Say) {
				if c.Find.Found == nil || c.Find.Found.Verbatim == "" {
					return
				}
				a, b, ok := numericDate(c.Find.Found.Verbatim)
				_, dated := c.found()
				switch {
				case !ok || a == b || !dated && max(a, b) > 12: // no day was read of it, which is told there
				case a > 12 && b <= 12:
					dayFirst++
				case b > 12 && a <= 12:
					monthFirst++
				case a <= 12 && b <= 12 && !onOutingDay(c):
					if len(unsure) < mixedDatesNamed {
						unsure = append(unsure, ref)
					} else {
						more++
					}
				}
			},
			End: func(c *Case, say SayOf) {
				few, most := min(dayFirst, monthFirst), max(dayFirst, monthFirst)
				if few == 0 || few == 1 && most >= 4 { // one against many is a slip
					return
				}
				for i, ref := range unsure {
					message := "this log holds dates with the day first and dates with the month first; this one can be read either " +
						"way"
					if i == len(unsure)-1 && more > 0 {
						message += fmt.Sprintf(", and so can %d more", more)
					}
					say(ref, "/found/date", message)
				}
			},
		}
	},
}

// mixedDatesNamed is the number of finds that are named one by one; the rest are counted.
const mixedDatesNamed = 100

// numericDate reads the first two numbers of a date such as 3/4/2026 or 03.04.26, all in numbers
// and with the year last.
func numericDate(s string) (a, b int, ok bool) {
	var n [3]int
	part, seen := 0, 0
	for i := 0; i < len(s); i++ {
		switch ch := s[i]; {
		case ch >= '0' && ch <= '9':
			if seen++; seen > 4 {
				return 0, 0, false
			}
			n[part] = n[part]*10 + int(ch-'0')
		case ch == '/' || ch == '.' || ch == '-':
			if seen == 0 || seen > 2 || part == 2 {
				return 0, 0, false
			}
			part, seen = part+1, 0
		case ch == ' ' && part == 2 && seen >= 2: // a time may follow
			return n[0], n[1], n[0] > 0 && n[1] > 0
		default:
			return 0, 0, false
		}
	}
	return n[0], n[1], part == 2 && seen >= 2 && n[0] > 0 && n[1] > 0
}

// onOutingDay reports whether the outing bears the day of finding out.
func onOutingDay(c *Case) bool {
	if c.Outing == nil {
		return false
	}
	found, ok := c.found()
	day, one := found.oneDay()
	of, dated := momentOf(c.Outing.Date)
	return ok && one && dated && of.day == day
}

var dateLooksDefault = &Rule{
	Kind:   kinds.DateLooksDefault,
	Across: newDefaultDates,
}

// defaultDates counts the days on which finds were made. One day in thirty is the first of a
// month; a log where a quarter of at least three such days are firsts was filled in by a machine.
type defaultDates struct {
	days   map[edtf.Day]bool
	firsts []firstOfMonth
	at     map[edtf.Day]int
}

type firstOfMonth struct {
	ref  Ref
	more int
}

func newDefaultDates() Across {
	d := &defaultDates{days: map[edtf.Day]bool{}, at: map[edtf.Day]int{}}
	return Across{Find: d.see, End: d.end}
}

func (d *defaultDates) see(c *Case, ref Ref, say Say) {
	found, ok := c.found()
	day, one := found.oneDay()
	if !ok || !one {
		return
	}
	d.days[day] = true
	if day.Day != 1 || onOutingDay(c) {
		return
	}
	if i, seen := d.at[day]; seen {
		d.firsts[i].more++
		return
	}
	d.at[day] = len(d.firsts)
	d.firsts = append(d.firsts, firstOfMonth{ref: ref})
}

func (d *defaultDates) end(c *Case, say SayOf) {
	if n := len(d.firsts); n < c.Settings.DefaultDates || n*4 < len(d.days) {
		return
	}
	for _, f := range d.firsts {
		message := fmt.Sprintf("%d of the %d days in this log are the first of a month", len(d.firsts), len(d.days))
		if f.more > 0 {
			message += fmt.Sprintf("; %d more finds bear this day", f.more)
		}
		say(f.ref, "/found/date", message)
	}
}
