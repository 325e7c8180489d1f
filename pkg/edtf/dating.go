package edtf

import (
	"strings"

	"github.com/findslip/findslip/pkg/lexicon"
)

// Dating is a reading of how old something is. Date, Period or both are set, or
// Absent.
type Dating struct {
	Date Date
	// Period is a period word as it was written ("late Iron Age"). It stands
	// for no years.
	Period string
	// Event is "made", "used" or "lost" where the text says so.
	Event string
	// Absent is the reason where the text says only that there is no age.
	Absent string
	// Notes say what the reading assumed.
	Notes []Note
}

// NormaliseDating reads an age as people write it: canonical EDTF, years,
// decades, centuries and their parts, ranges, before and after, in six languages
// and by the conventions of the package comment. A name of a period comes back
// as it was written, without years; a date beside it is read. What has two
// readings is refused with an [*Error] that names them. Options.Order and
// Options.Pivot serve the dates that are days, Options.Today refuses what lies
// in the future, and Options.Serial is not used. The text of a Date that it
// returns it reads again as the same Date.
func NormaliseDating(s string, o Options) (Dating, error) {
	return inLanguages(s, o.settled(), func(o Options) (Dating, uint32, *Error) {
		r := reader{input: s, text: strings.TrimSpace(s), options: o}
		dating, err := r.dating()
		dating.Notes = r.notes
		return dating, r.clash, err
	}, func(d Dating) string { return strings.TrimSpace(d.Date.String() + " " + d.Period) })
}

// Grammar: text, parts (of a dating).
func (r *reader) dating() (Dating, *Error) {
	var dating Dating
	if r.text == "" {
		return dating, r.failText("date-empty", "there is no date",
			"type how old it is, such as 1690-1790, early 18th century or Roman, or why that is not given, such as not known")
	}
	if text := capitalX(markBehind(r.text)); mayBeCanonical(text) {
		if d, f := parse(text); !f.failed() {
			r.noteYearMonth(d)
			dating.Date = d
			return dating, r.future(d)
		}
	}
	if dating.Absent, _ = lexicon.Absence(r.text, "date"); dating.Absent != "" {
		return dating, nil
	}
	var ts tokens
	short := ts.split(r.text, r.options.Language)
	if r.clash = ts.best(); !short || ts.n == 0 {
		return dating, r.datingNotRead(r.text)
	}
	dating.Event = ts.takeEvent()
	dating.Period = strings.TrimSpace(ts.takePeriod())
	ts.dropBrackets()
	if ts.n == 0 && dating.Period != "" {
		return dating, nil
	}
	if dating.Period != "" {
		if q, only := ts.onlyMarks(); only {
			r.notePeriod(q)
			return dating, nil
		}
	}
	d, err := r.age(&ts)
	if err != nil {
		return Dating{}, err
	}
	dating.Date = d
	return dating, r.future(d)
}

// noteYearMonth says how a text is read that EDTF takes for a month or season
// and many people for two years: 1701-12.
func (r *reader) noteYearMonth(d Date) {
	p := d.from
	if d.kind != kindSingle || d.clock.set || p.mask != 0 || p.negative || p.hasDay() || int32(p.month) <= p.year%100 ||
		len(r.text) != 7 {
		return
	}
	years := r.text[:4] + "/" + r.text[:2] + r.text[5:]
	r.note("year-month-or-range", "read as EDTF, a month or season of "+r.text[:4]+"; for the years "+r.text[:4]+" to "+
		r.text[:2]+r.text[5:]+" type "+years)
}

func (r *reader) notePeriod(q qualifier) {
	if q&uncertain != 0 {
		r.note("period-uncertain", "the name of the period is marked as uncertain")
	}
	if q&approximate != 0 {
		r.note("period-approximate", "the name of the period is marked as approximate")
	}
}

func (r *reader) datingNotRead(part string) *Error {
	return r.fail("dating-not-read", part, "this is not read as an age",
		"type years, such as 1690-1790, a century, such as early 18th century, or the name of a period, such as Roman; put "+
			"other words in the notes")
}

// letter returns the lower-case letter that is the whole word at i, or 0.
func (ts *tokens) letter(i int) byte {
	t := ts.at(i)
	n := t.end - t.start
	if t.dot {
		n--
	}
	if t.kind != wordToken || n != 1 {
		return 0
	}
	return ts.text[t.start] | 0x20
}

// takeEvent removes the words for made, used or lost and returns the event.
//
// Grammar: event.
func (ts *tokens) takeEvent() string {
	event := ""
	for i := 0; i < ts.n; i++ {
		if !ts.at(i).hasClass(eventWord) {
			continue
		}
		name := eventNames[ts.at(i).word.arg]
		if event != "" && event != name {
			return event // a second event stays, and is not read
		}
		event = name
		end := i + 1
		if ts.at(end).is(':') || ts.at(end).is(',') {
			end++
		}
		ts.remove(i, end)
		i--
	}
	return event
}

// dropBrackets removes what may stand around a date: brackets, quotes, commas
// at the ends, full stops.
func (ts *tokens) dropBrackets() {
	for i := 0; i < ts.n; i++ {
		t := ts.at(i)
		edge := i == 0 || i == ts.n-1
		if t.is('(') || t.is(')') || t.is('[') || t.is(']') || t.is('"') ||
			edge && (t.is(',') || t.is(';') || t.is(':') || t.is('.')) {
			ts.remove(i, i+1)
			i = max(-1, i-2)
		}
	}
}

// onlyMarks reports whether nothing but qualifiers and small words is left.
func (ts *tokens) onlyMarks() (q qualifier, only bool) {
	for i := range ts.n {
		t := ts.at(i)
		switch {
		case ts.isMark(i):
			q |= ts.markOf(i)
		case t.hasClass(fillerWord), t.is(','), t.is('.'), t.is(';'):
		default:
			return 0, false
		}
	}
	return q, true
}

// capitalX writes the x of 17xx and 176x as EDTF has it; another text stays.
func capitalX(s string) string {
	if len(s) == 4 && isDigit(s[0]) && isDigit(s[1]) && (s[2] == 'x' || isDigit(s[2])) && s[3] == 'x' {
		return strings.ToUpper(s)
	}
	return s
}

// markBehind puts the mark before a year behind it: ~1350 is 1350~. Of a year alone both say the same.
func markBehind(s string) string {
	if len(s) < 5 || s[0] != '~' && s[0] != '?' && s[0] != '%' {
		return s
	}
	for i := 1; i < len(s); i++ {
		if !isDigit(s[i]) && s[i] != 'X' {
			return s
		}
	}
	return s[1:] + s[:1]
}
