package validate

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/quantity"
)

var readingRules = []*Rule{intervalReversed, unitMissing, readingDiffers}

var intervalReversed = &Rule{
	Kind: kinds.IntervalReversed,
	Check: func(c *Case, say Say) {
		if f := c.Find.Found; f != nil && strings.Contains(f.Date, "/") && dateOf(f.Date).back {
			say("/found/date", "it ends before it begins")
		}
		if c.quantities()&backwards != 0 {
			c.Find.Quantities(func(pointer, unit string, q *find.Quantity) { wrongWayRound(pointer, unit, q, say) })
		}
	},
	Header: func(c *Case, say Say) {
		for i := range c.Report.Permissions {
			p, at := &c.Report.Permissions[i], fmt.Sprintf("/permissions/%d", i)
			wrongWayRound(at+"/maxDepth", "cm", p.MaxDepth, say)
			wrongWayRound(at+"/ploughDepth", "cm", p.PloughDepth, say)
			from, ok1 := momentOf(p.ValidFrom)
			if to, ok2 := momentOf(p.ValidTo); ok1 && ok2 && to.day.Compare(from.day) < 0 {
				say(at+"/validTo", "it ends before it begins")
			}
		}
	},
}

func wrongWayRound(pointer, unit string, q *find.Quantity, say Say) {
	if q == nil {
		return
	}
	best, low, high := q.Best, q.Min, q.Max
	switch {
	case low.Known() && high.Known() && low.Decimal() > high.Decimal():
		say(pointer, fmt.Sprintf("from %s to %s is the wrong way round", amount(low, unit), amount(high, unit)))
	case best.Known() && (low.Known() && best.Decimal() < low.Decimal() || high.Known() &&
		best.Decimal() > high.Decimal()):
		say(pointer+"/best", fmt.Sprintf("%s does not lie between the smallest and the largest value", amount(best, unit)))
	}
}

// amount writes a number with its unit; a count has none.
func amount(n find.Number, unit string) string {
	if unit == "" {
		return n.String()
	}
	return n.String() + " " + unit
}

var unitMissing = &Rule{
	Kind: kinds.UnitMissing,
	Check: func(c *Case, say Say) {
		if c.quantities()&unread == 0 {
			return
		}
		c.Find.Quantities(func(pointer, unit string, q *find.Quantity) {
			if unit == "" || q.Verbatim == "" || q.HasValue() || q.Said != "" {
				return
			}
			read, o := quantity.NormaliseLength, quantity.Options{}
			if unit == "g" {
				read = quantity.NormaliseMass
			}
			if _, err := read(q.Verbatim, o); err != nil {
				if e, ok := err.(*quantity.Error); ok &&
					(e.Code == quantity.CodeUnitMissing || e.Code == quantity.CodeUnitAmbiguous) {
					say(pointer, fmt.Sprintf("%q does not say in what unit it is, and no unit is given beside it", clip(q.Verbatim)))
				}
			}
		})
	},
}

// clip shortens a text for a message.
func clip(s string) string {
	const most = 40
	for i := range s {
		if i >= most {
			return s[:i] + "…"
		}
	}
	return s
}

// agreement is how a text and the value beside it stand to each other.
type agreement uint8

const (
	agrees    agreement = iota // or cannot be read again
	differs                    // another value
	closed                     // the text leaves an end open, the value does not
	valueless                  // the text says that there is no value
	finer                      // the value is right, but its step is smaller than that of the text
)

// compare reads the text of a quantity again and compares it with the value beside it.
func compare(q *find.Quantity, unit, language string) agreement {
	if q.Verbatim == "" || !q.HasValue() || q.Unit != unit { // another unit is the schema's to refuse
		return agrees
	}
	r, err := readAgain(q, unit, language)
	if err != nil {
		return agrees
	}
	if r.Absent != "" {
		return valueless
	}
	low, high := sameBound(r.Min, q.Min), sameBound(r.Max, q.Max)
	switch {
	case r.Min.Known && !r.Max.Known && q.Min.Known() && q.Max.Known():
		return closed
	case !r.Min.Known && r.Max.Known && q.Min.Known() && q.Min.Decimal() > 0 && q.Max.Known():
		return closed
	case !r.Min.Known && q.Min.Known() && q.Min.Decimal() == 0: // less than 4 in begins at zero
		low = true
	}
	best := !r.Best.Known || !q.Best.Known() || sameBound(r.Best, q.Best)
	switch {
	case !low || !high || !best:
		return differs
	case q.Resolution.Known() && r.Resolution.Known && q.Resolution.Decimal() < r.Resolution.Value &&
		!sameBound(r.Resolution, q.Resolution):
		return finer
	}
	return agrees
}

// sameBound reports whether two ends are one value. A stored figure with decimals may be rounded to
// them.
func sameBound(read quantity.Bound, stored find.Number) bool {
	if read.Known != stored.Known() {
		return false
	}
	d := decimalsOf(stored)
	if d == 0 {
		return read.Value == stored.Decimal()
	}
	half := 0.5 * math.Pow10(-d)
	return math.Abs(read.Value.Float()-stored.Float()) <= half*(1+1e-9)
}

var readingDiffers = &Rule{
	Kind: kinds.ReadingDiffers,
	Check: func(c *Case, say Say) {
		f := c.Find
		if c.quantities()&disagreeing != 0 {
			quantitiesDiffer(f, c.Report.Language, say)
		}
		if f.Generalised["/found"] == "" && f.Generalised["/found/date"] == "" {
			foundDiffers(c, say)
		}
		if f.Generalised["/position"] == "" {
			positionDiffers(c, f.Position, "/position", say)
		}
		for i := range f.OtherPositions {
			positionDiffers(c, &f.OtherPositions[i], "/otherPositions/"+strconv.Itoa(i), say)
		}
		datingDiffers(f.Dating, "/dating", c.Report.Language, say)
		for i := range f.OtherDatings {
			datingDiffers(&f.OtherDatings[i], "/otherDatings/"+strconv.Itoa(i), c.Report.Language, say)
		}
	},
}

func bound(n find.Number) quantity.Bound {
	return quantity.Bound{Value: n.Decimal(), Known: n.Known()}
}

// interval writes two ends as people say them.
func interval(low, high quantity.Bound, unit string) string {
	if unit != "" {
		unit = " " + unit
	}
	switch {
	case low.Known && low == high:
		return low.Value.String() + unit
	case low.Known && high.Known:
		return low.Value.String() + " to " + high.Value.String() + unit
	case low.Known:
		return low.Value.String() + unit + " or more"
	case high.Known:
		return "at most " + high.Value.String() + unit
	}
	return "no value"
}

// quantitiesDiffer compares the quantities of a find with their texts.
func quantitiesDiffer(f *find.Find, language string, say Say) {
	f.Quantities(func(pointer, unit string, q *find.Quantity) {
		switch compare(q, unit, language) {
		case closed:
			say(pointer, fmt.Sprintf("%q leaves one end open, but both ends are given%s", clip(q.Verbatim), earlier(q)))
		case differs:
			r, _ := readAgain(q, unit, language)
			say(pointer, fmt.Sprintf("%q reads as %s, but %s is given%s", clip(q.Verbatim), interval(r.Min, r.Max, unit),
				interval(bound(q.Min), bound(q.Max), unit), earlier(q)))
		case finer:
			r, _ := readAgain(q, unit, language)
			say(pointer+"/resolution", fmt.Sprintf("%q was stated in steps of %s, but a step of %s is given", clip(q.Verbatim),
				interval(r.Resolution, r.Resolution, unit), amount(q.Resolution, unit)))
		case valueless:
			say(pointer, fmt.Sprintf("%q says that there is no value, but %s is given", clip(q.Verbatim),
				interval(bound(q.Min), bound(q.Max), unit)))
		}
	})
}

// earlier says where a value is what an earlier version of the words read.
func earlier(q *find.Quantity) string {
	if e, ok := lexicon.Earlier(q.Verbatim); ok && e.Before.Min == q.Min.Float() && e.Before.Max == q.Max.Float() {
		return "; an earlier version of the words read it so"
	}
	return ""
}

// quirk is what rules may have to say of any of the quantities of a find, as bits.
type quirk uint8

const (
	backwards   quirk = 1 << iota // the ends may be the wrong way round, or the best value beyond them
	unread                        // a text has no value beside it
	disagreeing                   // a text and the value beside it differ
)

// quantities looks through the quantities of the find once, so that the rules need to do so only where
// there is something to say.
func (c *Case) quantities() quirk {
	o, _ := c.facts.readings.get(func() (found quirk, ok bool) {
		c.Find.Quantities(func(_, unit string, q *find.Quantity) {
			if q.Best.Known() || q.Min.Decimal() > q.Max.Decimal() {
				found |= backwards
			}
			if q.Verbatim != "" && !q.HasValue() {
				found |= unread
			}
			if compare(q, unit, c.Report.Language) != agrees {
				found |= disagreeing
			}
		})
		return found, true
	})
	return *o
}

// foundDiffers reads the day as written in every order and in the century of the value; where one
// of the readings is the value, the two agree.
func foundDiffers(c *Case, say Say) {
	found := c.Find.Found
	if found == nil || found.Verbatim == "" || found.Date == "" || saysPlainly(found) {
		return
	}
	stored := dateOf(found.Date)
	if stored.err != nil || !stored.years.hasFrom {
		return
	}
	year := stored.years.from
	readings, written := 0, found.Verbatim
	if len(written) == len("250517") && bareNumber(written) {
		written = written[:2] + "-" + written[2:4] + "-" + written[4:]
	}
	for _, order := range [...]edtf.Order{edtf.OrderUnknown, edtf.DayMonthYear, edtf.MonthDayYear, edtf.YearMonthDay} {
		for _, serial := range [...]edtf.Epoch{edtf.NoSerial, edtf.Epoch1900, edtf.Epoch1904} {
			if serial != edtf.NoSerial && (order != edtf.OrderUnknown || !bareNumber(found.Verbatim)) {
				continue
			}
			r, err := readFound(written, edtf.Options{Order: order, Pivot: max(year-50, 1), Serial: serial,
				Language: lexicon.ByTag(c.Report.Language)})
			if err != nil {
				continue
			}
			readings++
			if r.Absent == "" && sameDays(r.Date, stored.date) {
				timeDiffers(r.Time, found.Time, say)
				return
			}
		}
	}
	if readings > 0 {
		say("/found/date", fmt.Sprintf("%q does not read as %s in any order of day, month and year", clip(found.Verbatim),
			found.Date))
	}
}

// saysPlainly reports whether the text beside a day is that very day with the month in letters, and no other time: 12
// April 2026, 10:49. Most are so, and then nothing has to be read.
func saysPlainly(f *find.Found) bool {
	s, date := f.Verbatim, f.Date
	if len(date) != len("2026-04-12") || date[4] != '-' || date[7] != '-' {
		return false
	}
	tens := byte('0')
	if len(s) > 1 && s[1] != ' ' {
		tens, s = s[0], s[1:]
	}
	if len(s) < 2 || tens != date[8] || s[0] != date[9] || s[1] != ' ' {
		return false
	}
	month, ok := digits(date[5:7])
	if !ok || month < 1 || month > 12 {
		return false
	}
	name := monthNames[month-1]
	if s = s[2:]; len(s) < len(name)+5 || s[:len(name)] != name || s[len(name)] != ' ' {
		return false
	}
	if s = s[len(name)+1:]; s[:4] != date[:4] {
		return false
	}
	s = s[4:]
	return s == "" || len(s) == len(", 10:49") && s[:2] == ", " && len(f.Time) >= 5 && s[2:] == f.Time[:5]
}

var monthNames = [...]string{"January", "February", "March", "April", "May", "June", "July", "August", "September",
	"October", "November", "December"}

func bareNumber(s string) bool {
	if strings.Trim(s, "0123456789.,+-eE ") != "" { // as most texts of days; an error costs memory
		return false
	}
	_, err := strconv.ParseFloat(s, 64)
	return err == nil
}

// timeDiffers compares hours and minutes; a time that is given only once is no difference.
func timeDiffers(read, stored string, say Say) {
	a, ok1 := clockOf(read)
	b, ok2 := clockOf(stored)
	if ok1 && ok2 && a.minute != b.minute {
		say("/found/time", "the time in the text as written is another than the one given")
	}
}

// sameDays reports whether two dates cover the same days; about and unsure make no difference.
func sameDays(a, b edtf.Date) bool {
	if a == b {
		return true
	}
	first, last, openFirst, openLast := a.Span()
	first2, last2, openFirst2, openLast2 := b.Span()
	if openFirst || openLast || openFirst2 || openLast2 { // seasons: they have no days
		return unqualified(a) == unqualified(b)
	}
	return first == first2 && last == last2
}

// unqualified writes a date without what says how sure it is.
func unqualified(d edtf.Date) string {
	return strings.Map(func(r rune) rune {
		if r == '~' || r == '?' || r == '%' {
			return -1
		}
		return r
	}, d.String())
}

func positionDiffers(c *Case, p *find.Position, pointer string, say Say) {
	point, ok := pointOf(p)
	if !ok || p.Verbatim == "" {
		return
	}
	o := coordinate.Options{System: p.ReferenceSystem, Language: c.Report.Language}
	r, err := readPosition(p.Verbatim, o)
	if err != nil {
		return
	}
	if r.Absent != "" {
		say(pointer, "the text as written says that there is no position, but one is given")
		return
	}
	allowed := 1.0
	for _, part := range r.Budget {
		if part.Name != "stated" && part.Name != "device" {
			allowed += part.Metres
		}
	}
	if d := apart(r.Point, point); d > allowed {
		if system, known := coordinate.SystemByName(p.ReferenceSystem); known && datumIgnored(p, system) {
			return // said by datum-unknown
		}
		say(pointer, fmt.Sprintf("the text as written reads as a spot about %s m away; its last figure allows %s m",
			distance(d), figure(math.Ceil(allowed))))
	}
}

// distance writes metres with no more figures than mean something.
func distance(d float64) string {
	if d < 100 {
		return figure(math.Round(d))
	}
	step := math.Pow10(int(math.Log10(d)) - 1)
	return figure(math.Round(d/step) * step)
}

// datingDiffers speaks only where the two have no year in common: a dating may rest on more than
// the words beside it.
func datingDiffers(d *find.Dating, pointer, language string, say Say) {
	if d == nil || d.Verbatim == "" || d.Date == "" {
		return
	}
	stored := dateOf(d.Date)
	if stored.err != nil {
		return
	}
	r, err := readDating(d.Verbatim, language)
	if err != nil || r.Date.IsZero() {
		return
	}
	if e, ok := lexicon.Earlier(d.Verbatim); ok && e.Before.Date == d.Date {
		say(pointer+"/date", fmt.Sprintf("%q was read as %s by an earlier version of the words, and is %s now",
			clip(d.Verbatim), d.Date, r.Date))
		return
	}
	from, to, hasFrom, hasTo := r.Date.Years()
	from2, to2, hasFrom2, hasTo2 := stored.years.from, stored.years.to, stored.years.hasFrom, stored.years.hasTo
	if hasTo && hasFrom2 && to < from2 || hasTo2 && hasFrom && to2 < from {
		say(pointer+"/date", fmt.Sprintf("%q reads as %s, which has no year in common with %s", clip(d.Verbatim), r.Date,
			d.Date))
	}
}
