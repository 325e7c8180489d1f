package edtf

import (
	"strings"

	"github.com/findslip/findslip/pkg/lexicon"
)

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
