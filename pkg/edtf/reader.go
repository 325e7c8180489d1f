package edtf

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/lexicon"
)

// reader is one reading of a text, with its options and the notes it gathers.
type reader struct {
	input   string // as given
	text    string // without blanks around it
	options Options
	notes   []Note
	clash   uint32 // languages that differ in a word
}

func (r *reader) note(code, message string) {
	for _, n := range r.notes {
		if n.Code == code && n.Message == message {
			return
		}
	}
	r.notes = append(r.notes, Note{Code: code, Message: message})
}

// fail makes an error about one part of the input.
func (r *reader) fail(code, part, message, help string, proposals ...string) *Error {
	part = strings.TrimSpace(part)
	return &Error{Input: r.input, Code: code, Part: part, At: max(0, strings.Index(r.input, part)),
		Message: message, Help: help, Proposals: proposals}
}

// failText makes an error about the whole text.
func (r *reader) failText(code, message, help string, proposals ...string) *Error {
	return r.fail(code, r.text, message, help, proposals...)
}

func (r *reader) notRead() *Error {
	if lexicon.Says("day-near", r.text) {
		return r.failText("date-relative", "a day counted from another day is not read",
			"type the date itself, such as 2026-04-12")
	}
	return r.failText("date-not-read", "this is not read as a date",
		"type the date as year-month-day, such as 2026-04-12, or with the month in words, such as 12 April 2026")
}

// beginsAfter reports whether even the first day of a point is after a day; of
// a season, whether its year is.
func (p point) beginsAfter(today Day) bool {
	if day, ok := p.bound(false); ok {
		return day.Compare(today) > 0
	}
	return p.yearBound(false) > today.Year
}

// future refuses a date of which one end begins after today.
func (r *reader) future(d Date) *Error {
	today := r.options.Today
	if today.IsZero() || d.IsZero() {
		return nil
	}
	if !(d.start == Stated && d.from.beginsAfter(today)) && !(d.end == Stated && d.to.beginsAfter(today)) {
		return nil
	}
	return r.failText("date-future", "this is after "+today.String()+", the day that counts as today",
		"look at the year and at the order of day and month")
}

// inLanguages reads a text with the words of all languages. Where one of its words means another thing in another
// language, it is read in each that has the word: what they read alike stands, and what they do not is refused.
func inLanguages[T any](s string, o Options, read func(Options) (T, uint32, *Error), show func(T) string) (T, error) {
	out, clash, err := read(o)
	if clash == 0 || o.Language != nil {
		return result(out, err)
	}
	var first T
	var texts, names []string
	languages := lexicon.Each(clash)
	if len(languages) == 1 {
		o.Language = languages[0]
		if one, _, bad := read(o); bad == nil {
			return one, nil
		}
		return result(out, err)
	}
	for _, l := range languages {
		o.Language = l
		one, _, bad := read(o)
		if bad != nil || slices.Contains(texts, show(one)) {
			continue
		}
		if len(texts) == 0 {
			first = one
		}
		texts, names = append(texts, show(one)), append(names, l.English)
	}
	switch {
	case len(texts) == 1:
		return first, nil
	case len(texts) == 0:
		return result(out, err)
	}
	var none T
	return none, &Error{Input: s, Code: "language-ambiguous", Part: s, Proposals: texts,
		Message: "this is one date in " + names[0] + " and another in " + names[1],
		Help:    "say which language the log is in, or write the date in figures, with the year first"}
}

// result keeps an error that is none from being one.
func result[T any](out T, err *Error) (T, error) {
	if err != nil {
		var none T
		return none, err
	}
	return out, nil
}

// Order is the order in which a written date names day, month and year. The
// zero value says that it is not known.
type Order uint8

// The orders in use.
const (
	OrderUnknown Order = iota
	DayMonthYear
	MonthDayYear
	YearMonthDay
)

// String returns "dmy", "mdy", "ymd", or "" where the order is not known.
func (o Order) String() string {
	switch o {
	case DayMonthYear:
		return "dmy"
	case MonthDayYear:
		return "mdy"
	case YearMonthDay:
		return "ymd"
	}
	return ""
}

// ParseOrder reads "dmy", "mdy" or "ymd", in any case. The empty string is
// OrderUnknown.
func ParseOrder(s string) (Order, error) {
	switch strings.ToLower(s) {
	case "":
		return OrderUnknown, nil
	case "dmy":
		return DayMonthYear, nil
	case "mdy":
		return MonthDayYear, nil
	case "ymd":
		return YearMonthDay, nil
	}
	return OrderUnknown, &Error{Input: s, Code: "date-order-unknown", Part: s,
		Message: "this is no order of day, month and year",
		Help:    "type dmy (12/4/2026 is 12 April), mdy (12 April is 4/12/2026) or ymd"}
}

// Epoch is the day from which a spreadsheet counts its serial dates. The zero
// value says that bare numbers are not serial dates.
type Epoch uint8

// The two date systems of workbooks. Epoch1900 counts 1 January 1900 as 1 and
// includes 29 February 1900, a day that never was; Epoch1904 counts 1 January
// 1904 as 0.
const (
	NoSerial Epoch = iota
	Epoch1900
	Epoch1904
)

// String returns "1900", "1904", or "" for NoSerial.
func (e Epoch) String() string {
	switch e {
	case Epoch1900:
		return "1900"
	case Epoch1904:
		return "1904"
	}
	return ""
}

// ParseEpoch reads "1900" or "1904"; the empty string is NoSerial.
func ParseEpoch(s string) (Epoch, error) {
	switch s {
	case "":
		return NoSerial, nil
	case "1900":
		return Epoch1900, nil
	case "1904":
		return Epoch1904, nil
	}
	return NoSerial, &Error{Input: s, Code: "serial-epoch-unknown", Part: s,
		Message: "this is no date system of a workbook", Help: "type 1900 or 1904"}
}

// Options say what a written date leaves open. The zero value assumes nothing.
type Options struct {
	// Order is the order of day, month and year where the numbers alone do
	// not prove it.
	Order Order
	// Pivot is the first year that a two-digit year may mean: 1950 makes "50"
	// 1950 and "49" 2049. Zero refuses two-digit years.
	Pivot int
	// Serial makes bare numbers the serial dates of a workbook. A number of
	// exactly four digits stays a year.
	Serial Epoch
	// Today is the day after which a date lies in the future and is refused.
	// The zero Day leaves that unchecked.
	Today Day
	// Language is the language of the words, which then have the meaning that they have in it. Nil reads the words
	// of all languages.
	Language *lexicon.Language

	usual Order // that of the stated language, where nothing else tells
}

// settled keeps the order of the stated language: later a text may be read in other languages.
func (o Options) settled() Options {
	if o.Language != nil {
		o.usual, _ = ParseOrder(o.Language.Order)
	}
	return o
}

// Note says what a reading had to assume or pass over.
type Note struct {
	Code    string // kebab-case, for programs
	Message string // one line, for people
}

// Error tells why a text is not read: what was written, which part of it is
// wrong, and what to write instead.
type Error struct {
	Input     string   // the text as given
	Code      string   // kebab-case, for programs
	Part      string   // the part of the input that is meant
	At        int      // byte offset of Part in Input
	Message   string   // what is wrong, one line
	Help      string   // what to do, one line
	Proposals []string // readings to choose from, or texts to type instead
}

// Error returns one line with the input, what is wrong and what to do.
func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString("reading ")
	b.WriteString(quoted(e.Input))
	b.WriteString(": ")
	if e.Part != "" && e.Part != e.Input {
		b.WriteString(quoted(e.Part))
		b.WriteString(": ")
	}
	b.WriteString(e.Message)
	if e.Help != "" {
		b.WriteString("; ")
		b.WriteString(e.Help)
	}
	return b.String()
}

// quoted sets text in quotes on one line, cut where it is long.
func quoted(s string) string {
	const most = 80
	var b strings.Builder
	b.WriteByte('"')
	for i, r := range s {
		if i >= most {
			b.WriteString("...")
			break
		}
		if r < ' ' || r == 0x7f {
			r = ' '
		}
		b.WriteRune(r)
	}
	b.WriteByte('"')
	return b.String()
}
